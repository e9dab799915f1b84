//! The command line.

mod args;
mod day;
mod exchange;
mod frame;

pub use day::{underlay_of, write_crew_page, write_lists, write_phones};
pub use exchange::{read_outlines, write_on};

use crate::editor::{Start, language_of};
use crate::files;
use crate::words::{
    clear_text, cover_lines, daylight_text, facts_text, framing_lines, goal_lines, no_suggestion_lines, reading_text,
    severity, spot_text, suggestion_lines,
};
use args::{Cli, Command};
use clap::Parser;
use glam::DVec3;
use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::mpsc::RecvTimeoutError;
use std::time::Duration;
use tapemark_core::attempt::{Answer, attempt};
use tapemark_core::blocking::{Framing, Moments, clear_map, lens_for_size, place_for_size, suggest, unclear};
use tapemark_core::colour::CurveOf;
use tapemark_core::cover::cover;
use tapemark_core::edit::{Edit, Item, apply};
use tapemark_core::facts::facts_of_shots;
use tapemark_core::geometry::OwnerIx;
use tapemark_core::kit::{KitFile, kit_schema};
use tapemark_core::light::{FINE_PATCH_M, Goal, Reading, Receiver, SunSpell, Transport, reach, reading, sun_spells};
use tapemark_core::notices;
use tapemark_core::plan::{Fixture, PersonId, Plan, PlanError, Shot, schema, to_json};
use tapemark_core::progress::Progress;
use tapemark_core::scene::Scene;
use tapemark_sheet::{SheetSpec, compose, to_pdf, to_png, to_svg};
use tapemark_words::{Language, say, speak};

fn fail(what: impl Into<String>, place: impl Into<String>, remedy: impl Into<String>) -> PlanError {
    PlanError { what: what.into(), place: place.into(), remedy: remedy.into() }
}

/// Works an answer out for a command that asks for it alone.
///
/// # Errors
/// When it could not be worked out.
fn worked_out<T>(answer: Answer, work: impl FnOnce() -> T) -> Result<T, PlanError> {
    attempt(answer, work).map_err(|f| fail(notices::failed_text(&f), say!("the-plan"), say!("the-other-answers-stand")))
}

/// Runs the program; what it returns is its exit status.
#[must_use]
pub fn main() -> ExitCode {
    let cli = Cli::parse();
    // What scripts read stays English unless they ask for another language.
    speak(cli.language.unwrap_or_default());
    let done = match (run(cli), UNTOLD.get()) {
        (Ok(_), Some(e)) => Err(fail(
            say!("standard-output-could-not-be-written", e),
            "standard output",
            say!("give-it-room-or-write-elsewhere"),
        )),
        (done, _) => done,
    };
    done.unwrap_or_else(|e| {
        let _ = writeln!(std::io::stderr().lock(), "{}", shown(&e.to_string()));
        ExitCode::from(2)
    })
}

/// The first failure of standard output.
static UNTOLD: std::sync::OnceLock<String> = std::sync::OnceLock::new();

/// A text in which what a terminal would obey is shown instead.
fn shown(text: &str) -> String {
    let shown = |c: char| if c.is_control() && c != '\n' && c != '\t' { char::REPLACEMENT_CHARACTER } else { c };
    text.chars().map(shown).collect()
}

/// Prints to standard output; [`main`] tells when that fails.
fn tell(text: &str) {
    let mut out = std::io::stdout().lock();
    if let Err(e) = writeln!(out, "{}", shown(text)).and_then(|()| out.flush()) {
        let _ = UNTOLD.set(e.to_string());
    }
}

/// Does long work; a person at a terminal is told how far it has come. The interrupt key ends the program, and nothing
/// is written before all is worked out.
fn told_on_the_way<T>(work: impl FnOnce(&Progress) -> T) -> T {
    /// Work that is done sooner is not told of.
    const SOON: Duration = Duration::from_secs(1);
    let progress = Progress::default();
    if !std::io::stderr().is_terminal() {
        return work(&progress);
    }
    let (end, ended) = std::sync::mpsc::channel::<()>();
    let watched = &progress;
    std::thread::scope(move |scope| {
        scope.spawn(move || {
            let mut told = false;
            while ended.recv_timeout(SOON) == Err(RecvTimeoutError::Timeout) {
                let (done, of) = watched.steps();
                told = true;
                let _ = write!(std::io::stderr().lock(), "\r\x1b[K{}", say!("so-many-steps-of", done, of));
            }
            if told {
                let _ = write!(std::io::stderr().lock(), "\r\x1b[K");
            }
        });
        let done = work(watched);
        drop(end);
        done
    })
}

fn json(value: &impl serde::Serialize) -> Result<String, PlanError> {
    let text = serde_json::to_string_pretty(value)
        .map_err(|e| fail(say!("the-answer-could-not-be-written", e), "standard output", say!("report-this")))?;
    // JSON lets these stand in a text as they are; a terminal obeys them.
    if !text.contains(|c: char| c.is_control() && c != '\n') {
        return Ok(text);
    }
    let escaped = |c: char| match c {
        '\u{7f}'..='\u{9f}' => format!("\\u{:04x}", u32::from(c)),
        c => c.to_string(),
    };
    Ok(text.chars().map(escaped).collect())
}

fn run(cli: Cli) -> Result<ExitCode, PlanError> {
    match cli.command {
        None => open(cli.plan.as_deref(), cli.language),
        Some(Command::Demo) => open_demo(cli.language),
        Some(Command::Facts { plan, shot, at, json: as_json }) => {
            let plan = files::read(&plan)?;
            let all = facts_of_shots(&plan, &shots(&plan, shot.as_deref())?, at);
            if as_json {
                tell(&if shot.is_some() { json(&all[0])? } else { json(&all)? });
            } else {
                for facts in &all {
                    tell(&facts_text(&plan, facts));
                }
            }
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Reading { plan, rig, point, toward, receptor, json: as_json }) => {
            let mut plan = files::read(&plan)?;
            if let Some(r) = receptor {
                plan.exposure.receptor = r;
            }
            let r = one_reading(&plan, &rig, point, toward)?;
            tell(&if as_json { json(&r)? } else { reading_text(&r) });
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Sheet {
            plan: path,
            shot,
            output,
            scale,
            paper,
            kit,
            cover,
            light,
            shows,
            clear_view,
            at,
            dpi,
        }) => {
            let plan = files::read(&path)?;
            let underlay = underlay_of(&plan, Some(&path));
            files::not_over_its_source(&output, &path)?;
            let spec = SheetSpec {
                paper,
                scale,
                light_height_m: light,
                light_shows: shows,
                clear_view,
                cover,
                underlay,
                at_s: at,
            };
            let with = With { kit: day::read_kit(kit.as_deref())?, beside: Some(path) };
            told_on_the_way(|progress| write_sheet(&plan, shot.as_deref(), &output, &spec, (dpi, &with), progress))?;
            tell_of_boxes(&plan);
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Share { plan: path, kit, output }) => {
            files::not_over_its_source(&output, &path)?;
            let plan = files::read(&path)?;
            let kit = day::read_kit(kit.as_deref())?;
            told_on_the_way(|progress| write_crew_page(&plan, &kit, &output, progress))?;
            tell_of_boxes(&plan);
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Phone { plan: path, shot, output, force }) => {
            let plan = files::read(&path)?;
            let into = (replace(force), Some(path.as_path()));
            for name in told_on_the_way(|progress| write_phones(&plan, shot.as_deref(), &output, into, progress))? {
                tell(&name.display().to_string());
            }
            tell_of_boxes(&plan);
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Frame { plan, shot, at, output, width, over, levels }) => {
            files::not_over_its_source(&output, &plan)?;
            let plan = files::read(&plan)?;
            let shot = shots(&plan, Some(&shot))?[0];
            let asked = frame::Asked { width: usize::from(width), over: over.concat(), levels };
            let bytes = frame::frame(&plan, shot, at, &output, &asked)?;
            files::write_atomically(&output, &bytes)?;
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::ClearView { plan, shot, cell, json: as_json }) => {
            let plan = files::read(&plan)?;
            let shot = shots(&plan, Some(&shot))?[0];
            if !(0.02..=5.0).contains(&cell) {
                return Err(fail(say!("that-is-no-size-of-a"), "--cell", say!("write-metres-from-0-02-to")));
            }
            let moments = Moments::of(&plan, shot);
            let map = clear_map(&plan, shot, &moments, cell).ok_or_else(|| {
                fail(
                    say!("there-is-nothing-to-look-at"),
                    say!("shot-named", shot = shot.name),
                    say!("place-a-camera-and-want-a"),
                )
            })?;
            if as_json {
                tell(&json(&map)?);
            } else {
                tell(&clear_text(&plan, &map));
            }
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Cover { plan, shot, json: as_json }) => {
            let plan = files::read(&plan)?;
            let asked = shots(&plan, shot.as_deref())?;
            let found = worked_out(Answer::Cover, || cover(&plan, asked))?;
            tell(&if as_json { json(&found)? } else { cover_lines(&plan, &found).join("\n") });
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Suggest { plan, shot, share, size, person, output, json: as_json }) => {
            let plan = files::read(&plan)?;
            let shot = shots(&plan, Some(&shot))?[0];
            let share = share.unwrap_or(plan.limits.face_share);
            if !(0.0..=1.0).contains(&share) {
                return Err(fail(say!("that-is-no-share"), "--share", say!("write-a-number-from-0-to")));
            }
            let moments = Moments::of(&plan, shot);
            let scene = Scene::of(&plan, shot, 0.0);
            let (edits, text) = match size {
                None => {
                    let list = suggest(&plan, shot, &moments, share);
                    let words = if list.is_empty() {
                        no_suggestion_lines(&unclear(&plan, shot, &moments, share)).join("\n")
                    } else {
                        list.iter().flat_map(suggestion_lines).collect::<Vec<_>>().join("\n")
                    };
                    let text = if as_json { json(&list)? } else { words };
                    (list.into_iter().map(|s| s.edit).collect::<Vec<_>>(), text)
                }
                Some(size) => {
                    let who: PersonId =
                        person.map(Into::into).or_else(|| shot.faces.first().cloned()).ok_or_else(|| {
                            fail(say!("no-face-is-wanted"), "--person", say!("name-a-person-of-the-shot"))
                        })?;
                    let list: Vec<Framing> = [
                        lens_for_size(&plan, shot, &scene, &who, size),
                        place_for_size(&plan, shot, &scene, &moments, &who, size),
                    ]
                    .into_iter()
                    .flatten()
                    .collect();
                    let words = || list.iter().flat_map(|f| framing_lines(&plan, f)).collect::<Vec<_>>().join("\n");
                    let text = if as_json { json(&list)? } else { words() };
                    (list.into_iter().filter(|f| f.refused.is_none()).map(|f| f.edit).collect(), text)
                }
            };
            if let Some(file) = output {
                let first = edits.first().ok_or_else(|| {
                    fail(
                        say!("there-is-no-suggestion-to-carry"),
                        say!("shot-named", shot = shot.name),
                        say!("leave-o-away"),
                    )
                })?;
                files::write(&file, &changed(&plan, first)?)?;
            }
            tell(&text);
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Daylight { plan, shot, json: as_json }) => {
            let plan = files::read(&plan)?;
            let list: Vec<ShotDaylight> = shots(&plan, shot.as_deref())?
                .into_iter()
                .map(|s| shot_daylight(&plan, s))
                .collect::<Result<_, _>>()?;
            if as_json {
                tell(&json(&list)?);
            } else {
                list.iter().for_each(|d| tell(&daylight_text(d)));
            }
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Goal { plan, shot, person, stop, ratio, background, at, output, json: as_json }) => {
            let plan = files::read(&plan)?;
            let shot = shots(&plan, Some(&shot))?[0];
            let scene = Scene::of(&plan, shot, at);
            let transport = Transport::of(&plan, plan.shot_rig(shot).as_deref(), &scene, FINE_PATCH_M, None);
            let who = person
                .map(Into::into)
                .or_else(|| shot.faces.first().cloned())
                .or_else(|| scene.people.first().map(|p| p.person.clone()))
                .ok_or_else(|| fail(say!("nobody-is-in-the-shot"), "--person", say!("put-a-persons-mark-in-the")))?;
            let goal = Goal { person: who, t_stop: stop, ratio, background_stops: background };
            let found = reach(&plan, shot, &scene, &transport, &goal)
                .map_err(|why| fail(why, say!("shot-named", shot = shot.name), say!("change-the-plan-or-the-wish")))?;
            if let Some(file) = output {
                files::write(&file, &changed(&plan, &found.edit())?)?;
            }
            tell(&if as_json { json(&found)? } else { goal_lines(&plan, &found).join("\n") });
            Ok(if found.met { ExitCode::SUCCESS } else { ExitCode::from(1) })
        }
        Some(Command::Spot { plan, shot, through, json: as_json }) => {
            let plan = files::read(&plan)?;
            let shot = shots(&plan, Some(&shot))?[0];
            let scene = Scene::of(&plan, shot, 0.0);
            let transport = Transport::of(&plan, plan.shot_rig(shot).as_deref(), &scene, FINE_PATCH_M, None);
            let eye = scene.view.as_ref().map(|v| v.eye).ok_or_else(|| {
                fail(say!("the-shot-has-no-camera"), say!("shot-named", shot = shot.name), say!("place-its-camera"))
            })?;
            let found = match through {
                Some(p) => tapemark_core::light::spot(&plan, &scene, &transport, eye, p - eye),
                None => tapemark_core::light::background(&plan, shot, &scene, &transport),
            };
            let found = found
                .ok_or_else(|| fail(say!("there-is-no-surface-in-that"), "--through", say!("look-at-a-wall-or-a")))?;
            tell(&if as_json { json(&found)? } else { spot_text(&found) });
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Attach { plan: path, fixture, candela, spectrum, gel }) => {
            let plan = files::read(&path)?;
            let attach = |f: &mut Fixture| -> Result<(), PlanError> {
                if let Some(file) = &candela {
                    f.candela = Some(files::candela(file)?.into());
                }
                if let Some(file) = &spectrum {
                    f.spectrum = tapemark_core::plan::Spectrum::Measured(files::curve(file, CurveOf::Lamp)?);
                }
                if let Some(file) = &gel {
                    f.gels.push(tapemark_core::plan::Gel::Measured(files::curve(file, CurveOf::Gel)?));
                }
                Ok(())
            };
            let item = with_lamp(&plan, &fixture, attach)?;
            files::write(&path, &changed(&plan, &Edit::Put(item))?)?;
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Notices { plan, json: as_json }) => {
            let plan = files::read(&plan)?;
            let list = notices::of_plan(&plan);
            if as_json {
                tell(&json(&list)?);
            } else {
                for n in &list {
                    let shot = n
                        .shot
                        .as_ref()
                        .and_then(|s| plan.shot(s))
                        .map(|s| say!("shot-name", name = s.name))
                        .unwrap_or_default();
                    tell(&say!(
                        "severity-shot-what-code-at-item",
                        severity = severity(n.severity),
                        shot,
                        what = n.what,
                        code = n.code,
                        item = n.item,
                        remedy = n.remedy
                    ));
                }
            }
            Ok(if list.is_empty() { ExitCode::SUCCESS } else { ExitCode::from(1) })
        }
        Some(Command::Continuity { plan, shot, json }) => day::continuity(&plan, shot.as_deref(), json),
        Some(Command::CarryOver { plan, from, to, person, output, json }) => {
            day::carry(&plan, (&from, &to), person, output, json)
        }
        Some(Command::Power { plan, shot, output, json }) => day::power(&plan, shot.as_deref(), output, json),
        Some(Command::Kit { plan, kit, json }) => day::kit(&plan, kit.as_deref(), json),
        Some(Command::Order { plan, pin, output, json }) => day::day(&plan, pin, output, json),
        Some(Command::BringIn { plan, drawing, unit, output }) => {
            exchange::bring_in(&plan, &drawing, unit, output.as_deref())
        }
        Some(Command::HandOn { plan, shot, at, output }) => exchange::hand_on(&plan, shot.as_deref(), at, &output),
        Some(Command::Put { plan, items, output }) => exchange::put(&plan, &items, output.as_deref()),
        Some(Command::Underlay { plan, picture, from, to, length, origin, output }) => {
            let known = exchange::Known { from, to, length };
            exchange::underlay(&plan, picture.as_deref(), &known, origin, output.as_deref())
        }
        Some(Command::Lists { plan, output, kit, force }) => day::lists(&plan, &output, kit.as_deref(), replace(force)),
        Some(Command::Schema { kit }) => {
            tell(&json(&if kit { kit_schema() } else { schema() })?);
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::New { output }) => {
            if output.exists() {
                return Err(fail(
                    say!("there-is-a-file-of-that"),
                    output.display().to_string(),
                    say!("choose-another-name-or-move-the"),
                ));
            }
            files::write(&output, &Plan::empty())?;
            Ok(ExitCode::SUCCESS)
        }
    }
}

fn replace(force: bool) -> files::Replace {
    if force { files::Replace::Any } else { files::Replace::Own }
}

fn shots<'a>(plan: &'a Plan, wanted: Option<&str>) -> Result<Vec<&'a Shot>, PlanError> {
    match wanted {
        None => Ok(plan.shots.iter().collect()),
        Some(w) => plan
            .shots
            .iter()
            .find(|s| s.id.as_str() == w)
            .or_else(|| plan.shots.iter().find(|s| s.name == w))
            .map(|s| vec![s])
            .ok_or_else(|| {
                let have: Vec<&str> = plan.shots.iter().map(|s| s.id.as_str()).collect();
                fail(say!("there-is-no-shot", w), "--shot", say!("name-one-of", names = have.join(", ")))
            }),
    }
}

fn one_reading(plan: &Plan, rig: &str, point: DVec3, toward: DVec3) -> Result<Reading, PlanError> {
    let found = plan
        .rigs
        .iter()
        .find(|r| r.id.as_str() == rig)
        .or_else(|| plan.rigs.iter().find(|r| r.name == rig))
        .ok_or_else(|| {
            let have: Vec<&str> = plan.rigs.iter().map(|r| r.id.as_str()).collect();
            fail(say!("there-is-no-rig", rig), "--rig", say!("name-one-of", names = have.join(", ")))
        })?;
    let toward = toward
        .try_normalize()
        .ok_or_else(|| fail(say!("the-direction-has-no-length"), "--toward", say!("write-a-direction-like-0-1")))?;
    // The rig in its rooms with nobody there: a meter is read before the cast arrives.
    let empty = Shot::new("meter", "meter", found.id.clone());
    let scene = Scene::of(plan, &empty, 0.0);
    let to = Receiver { at: point, toward, receptor: plan.exposure.receptor };
    let transport = Transport::of(plan, Some(found), &scene, FINE_PATCH_M, None);
    Ok(reading(plan, &scene, &transport, &to, OwnerIx::NONE))
}

/// What a sheet of the whole day needs beside the plan.
#[derive(Debug, Clone, Default)]
pub struct With {
    /// What is owned and what the rest costs.
    pub kit: KitFile,
    /// The plan's own file: pictures are looked for beside it.
    pub beside: Option<PathBuf>,
}

/// Says, beside what was asked for, which scripts of a plan no typeface of this machine draws.
fn tell_of_boxes(plan: &Plan) {
    let json = to_json(plan);
    if json.is_ascii() {
        return;
    }
    let missing: Vec<&str> = tapemark_sheet::scripts_without_typeface(json.lines()).into_iter().collect();
    if !missing.is_empty() {
        eprintln!("{}", say!("notice-script-without-typeface", scripts = missing.join(", ")));
    }
}

/// Writes the sheet of one shot, or of the whole day as a PDF.
///
/// # Errors
/// When the ending is none of the three, the shot is not there, it was stopped, or the file cannot be written.
pub fn write_sheet(
    plan: &Plan,
    shot: Option<&str>,
    output: &Path,
    spec: &SheetSpec,
    (dpi, with): (f64, &With),
    progress: &Progress,
) -> Result<(), PlanError> {
    let ending = exchange::ending(output);
    let list = shots(plan, shot)?;
    let first = list.first().copied().ok_or_else(|| fail(say!("the-plan-has-no-shot"), "shots", say!("add-a-shot")))?;
    let bad = |e: tapemark_sheet::SheetError| {
        fail(e.to_string(), output.display().to_string(), say!("choose-another-paper-scale-or-resolution"))
    };
    let bytes = match ending.as_str() {
        "pdf" if shot.is_none() => {
            let pages = day::pages(plan, &with.kit, spec, with.beside.as_deref(), progress).map_err(day::stopped)?;
            to_pdf(&pages).map_err(bad)?
        }
        "pdf" => to_pdf(&[compose(plan, first, spec)]).map_err(bad)?,
        "svg" => to_svg(&compose(plan, first, spec)).into_bytes(),
        "png" => to_png(&compose(plan, first, spec), dpi).map_err(bad)?,
        _ => {
            return Err(fail(
                say!("is-no-kind-of-sheet", ending),
                output.display().to_string(),
                say!("end-the-name-in-pdf-svg"),
            ));
        }
    };
    files::write_atomically(output, &bytes)
}

#[derive(serde::Serialize)]
pub(crate) struct ShotDaylight {
    pub(crate) shot: String,
    #[serde(flatten)]
    pub(crate) now: tapemark_core::facts::DaylightFacts,
    pub(crate) direct_sun: Vec<SunSpell>,
}

fn shot_daylight(plan: &Plan, shot: &Shot) -> Result<ShotDaylight, PlanError> {
    let scene = Scene::of(plan, shot, 0.0);
    let now = tapemark_core::facts::daylight_facts(plan, &scene)
        .ok_or_else(|| fail(say!("the-plan-has-no-daylight"), "daylight", say!("write-the-plans-daylight-and-the")))?;
    Ok(ShotDaylight { shot: shot.name.clone(), now, direct_sun: sun_spells(plan, shot) })
}

fn display_exists() -> bool {
    cfg!(not(target_os = "linux"))
        || ["DISPLAY", "WAYLAND_DISPLAY"].iter().any(|v| std::env::var_os(v).is_some_and(|v| !v.is_empty()))
}

/// What the editor remembers; from here on the language of the person at the window is spoken.
fn remembered(asked: Option<Language>) -> files::Memory {
    let memory = files::Memory::load();
    speak(language_of(asked, &memory, sys_locale::get_locale().as_deref()));
    memory
}

fn open(path: Option<&Path>, language: Option<Language>) -> Result<ExitCode, PlanError> {
    let memory = remembered(language);
    let (opened, path) = match path {
        Some(p) => (files::open(p)?, p.to_path_buf()),
        None => match memory.recent.first().and_then(|p| files::open(p).ok().map(|opened| (opened, p.clone()))) {
            Some(last) => last,
            None => return open_demo(language),
        },
    };
    if !display_exists() {
        return without_display(&opened.plan);
    }
    crate::editor::run(Start::File(Box::new(opened), path), memory)
}

fn open_demo(language: Option<Language>) -> Result<ExitCode, PlanError> {
    let memory = remembered(language);
    if display_exists() {
        crate::editor::run(Start::Unsaved(Box::new(files::demo())), memory)
    } else {
        without_display(&files::demo())
    }
}

fn without_display(plan: &Plan) -> Result<ExitCode, PlanError> {
    let output = PathBuf::from("tapemark-sheet.pdf");
    write_sheet(plan, None, &output, &SheetSpec::default(), (150.0, &With::default()), &Progress::default())?;
    tell(&say!("there-is-no-display-here-so", title = plan.title, output = output.display()));
    Ok(ExitCode::SUCCESS)
}

/// A lamp of a rig, or one that a shot has its own way, after a change: as the item that carries it.
fn with_lamp(plan: &Plan, id: &str, change: impl Fn(&mut Fixture) -> Result<(), PlanError>) -> Result<Item, PlanError> {
    for rig in &plan.rigs {
        if let Some(f) = rig.fixtures.iter().find(|f| f.id.as_str() == id) {
            let mut fixture = f.clone();
            change(&mut fixture)?;
            return Ok(Item::Fixture { rig: rig.id.clone(), fixture });
        }
    }
    for shot in &plan.shots {
        if let Some(i) = shot.lamps.iter().position(|l| l.fixture.id.as_str() == id) {
            let mut shot = Shot::clone(shot);
            change(&mut shot.lamps[i].fixture)?;
            return Ok(Item::Shot(shot));
        }
    }
    let of_rigs = plan.rigs.iter().flat_map(|r| &r.fixtures);
    let all = of_rigs.chain(plan.shots.iter().flat_map(|s| s.lamps.iter().map(|l| &l.fixture)));
    let names = all.map(|f| f.id.as_str()).collect::<Vec<_>>().join(", ");
    Err(fail(say!("there-is-no-fixture", fixture = id), "--fixture", say!("name-one-of", names)))
}

/// A plan after an edit.
fn changed(plan: &Plan, edit: &Edit) -> Result<Plan, PlanError> {
    apply(plan, edit).map_err(|e| fail(e.to_string(), say!("the-change-asked-for"), say!("change-the-plan-or-ask-for")))
}
