//! Going through everything that the window can show.

use super::{Window, worked_out};
use egui::Key;
use egui_kittest::kittest::NodeT;
use egui_kittest::{Node, kittest::Queryable};
use tapemark::editor::{Command, Leaf};
use tapemark_core::edit::ItemRef;
use tapemark_words::say;

/// Every node that a screen reader finds, outermost first.
pub fn nodes<'h>(h: &'h Window<'_>) -> Vec<Node<'h>> {
    let mut out = Vec::new();
    let mut rest: Vec<_> = vec![h.root()];
    while let Some(node) = rest.pop() {
        rest.extend(node.children());
        out.push(node);
    }
    out
}

/// Selects each kind of thing of the plan, opens every page, menu and question, and looks at each.
pub fn every_screen(h: &mut Window<'_>, mut look: impl FnMut(&str, &Window<'_>)) {
    let plan = h.state().plan.clone();
    let l = &plan.location;
    let things: Vec<(&str, Option<ItemRef>)> = vec![
        ("nothing", None),
        ("a room", Some(ItemRef::Room(l.rooms[0].id.clone()))),
        ("a door", Some(ItemRef::Opening(l.openings[0].id.clone()))),
        ("a window", Some(ItemRef::Opening(l.openings[1].id.clone()))),
        ("a piece", Some(ItemRef::Piece(l.pieces[0].id.clone()))),
        ("an outlet", Some(ItemRef::Outlet(l.outlets[0].id.clone()))),
        ("a camera", Some(ItemRef::Camera(plan.cameras[0].id.clone()))),
        ("a mark", Some(ItemRef::Mark(plan.shots[0].marks[0].id.clone()))),
        ("a lamp", Some(ItemRef::Fixture(plan.rigs[0].fixtures[0].id.clone()))),
        ("another lamp", Some(ItemRef::Fixture(plan.rigs[0].fixtures[1].id.clone()))),
    ];
    for (what, item) in things {
        h.state_mut().selected = item.into_iter().collect();
        h.run_steps(3);
        look(what, h);
    }
    h.state_mut().selected.clear();
    for leaf in [Leaf::Readings, Leaf::Find, Leaf::Shot] {
        h.run_steps(2);
        h.state_mut().leaf = leaf;
        h.run_steps(3);
        look(&format!("leaf {leaf:?}"), h);
    }
    for key in [Key::F3, Key::F4] {
        h.key_press(key);
        worked_out(h);
        look(key.name(), h);
    }
    h.key_press(Key::F2);
    h.run_steps(3);
    let ctx = h.ctx.clone();
    for command in [Command::Find, Command::Export] {
        h.state_mut().run(command, &ctx);
        h.run_steps(3);
        look(command.label(), h);
        h.key_press(Key::Escape);
        h.run_steps(3);
    }
    for menu in [say!("file"), say!("edit-label"), say!("view"), say!("shot-menu")] {
        h.get_all_by_label(menu).next().unwrap().click();
        h.run_steps(3);
        look(menu, h);
        h.key_press(Key::Escape);
        h.run_steps(3);
    }
}
