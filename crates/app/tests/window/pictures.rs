//! Pictures of the window, compared with the guide's.

use super::paint::Painter;
use super::{Window, until};
use egui_kittest::Harness;
use image::RgbaImage;
use std::path::PathBuf;
use tapemark::editor::Editor;
use tapemark::files;

/// The demo in a window of so many pixels.
pub fn opened<'a>(size: [f32; 2], per_point: f32) -> (Window<'a>, Painter) {
    let painter = Painter::default();
    let mut editor = Editor::new(files::demo(), None);
    editor.patient = true;
    let mut h = Harness::builder()
        .with_size(egui::Vec2::from(size) / per_point)
        .with_pixels_per_point(per_point)
        .with_max_steps(60)
        .with_context_setup(tapemark::editor::load_fonts)
        .renderer(painter.clone())
        .build_eframe(|_| editor);
    finished(&mut h);
    (h, painter)
}

/// Waits for what is worked out beside the frames.
pub fn finished(h: &mut Window<'_>) {
    until(h, "the pictures are finished", |h| {
        let clear_view = !h.state().clear_view_shown() || h.state().clear_view_is_current();
        h.state().lens_is_finished() && clear_view && h.state().worked_out()
    });
    h.run_steps(12);
}

/// Compares a picture with the guide's: a pixel here and there may be rounded otherwise on another machine.
pub fn compare(name: &str, drawn: &RgbaImage) {
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/pictures").join(name);
    if std::env::var_os("TAPEMARK_PICTURES").is_some_and(|v| v == "write") {
        drawn.save(&file).unwrap();
    }
    let there = files::picture(&file).unwrap();
    assert_eq!(there.dimensions(), drawn.dimensions(), "{name}");
    let differs = |(a, b): (&image::Rgba<u8>, &image::Rgba<u8>)| a.0.iter().zip(b.0).any(|(a, b)| a.abs_diff(b) > 24);
    let off = there.pixels().zip(drawn.pixels()).filter(|p| differs(*p)).count();
    let share = off as f64 / f64::from(drawn.width() * drawn.height());
    assert!(share < 0.004, "{name}: {:.2} % differ; TAPEMARK_PICTURES=write draws it anew", share * 100.0);
}

/// What the window shows.
pub fn shown(h: &Window<'_>, painter: &Painter) -> RgbaImage {
    painter.paint(&h.ctx, h.output())
}
