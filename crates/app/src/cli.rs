//! The command line.

use crate::files;
use clap::{Parser, Subcommand};
use glam::DVec3;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use tapemark_core::blocking::{
    ClearMap, Framing, Moments, Suggestion, clear_map, lens_for_size, place_for_size, suggest,
};
use tapemark_core::colour::CurveOf;
use tapemark_core::cover::{Cover, SurfaceKind, cover};
use tapemark_core::facts::{ShotFacts, shot_facts};
use tapemark_core::frame::{FrameSpec, Overlay, guides, picture};
use tapemark_core::geometry::OwnerIx;
use tapemark_core::light::{
    FINE_PATCH_M, Goal, Reached, Reading, Receiver, Role, Spot, SunSpell, Sunlit, Transport, reach, reading, sun_spells,
};
use tapemark_core::notices::{self, Severity};
use tapemark_core::plan::{PersonId, Plan, PlanError, Receptor, Shot, ShotSize, schema};
use tapemark_core::scene::Scene;
use tapemark_core::units::{format_length, format_stop};
use tapemark_sheet::{Paper, Scale, SheetSpec, compose, to_pdf, to_png, to_svg};

/// Plan a film shoot in small rooms: camera, people and lamps on a floor plan, with the numbers.
#[derive(Debug, Parser)]
#[command(version, args_conflicts_with_subcommands = true)]
struct Cli {
    #[command(subcommand)]
    command: Option<Command>,
    /// The plan to open in the editor; none: the last one, or the demo.
    plan: Option<PathBuf>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Everything computed of the shots.
    Facts {
        /// The plan file.
        plan: PathBuf,
        /// Only this shot, by id or name.
        #[arg(long)]
        shot: Option<String>,
        /// Seconds from the start of the shot.
        #[arg(long, default_value_t = 0.0)]
        at: f64,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// One incident-meter reading, with each fixture's part.
    Reading {
        /// The plan file.
        plan: PathBuf,
        /// The rig that burns, by id or name.
        #[arg(long)]
        rig: String,
        /// Where, metres: X,Y,Z.
        #[arg(long, value_parser = triple, allow_hyphen_values = true)]
        point: DVec3,
        /// Which way the receptor looks: DX,DY,DZ.
        #[arg(long, value_parser = triple, allow_hyphen_values = true)]
        toward: DVec3,
        /// The receptor; none: the plan's.
        #[arg(long, value_parser = receptor)]
        receptor: Option<Receptor>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// The crew's sheet as PDF, SVG or PNG.
    Sheet {
        /// The plan file.
        plan: PathBuf,
        /// Only this shot, by id or name; a PDF without it has a page for every shot.
        #[arg(long)]
        shot: Option<String>,
        /// File to write; its ending chooses the kind.
        #[arg(short)]
        output: PathBuf,
        /// Scale as 1:50, or fit.
        #[arg(long, default_value = "fit", value_parser = scale)]
        scale: Scale,
        /// Paper: a4, a3 or letter.
        #[arg(long, default_value = "a4", value_parser = paper)]
        paper: Paper,
        /// Draw what black cloth would cover.
        #[arg(long)]
        cover: bool,
        /// Draw the light at this height, metres.
        #[arg(long)]
        light: Option<f64>,
        /// Seconds from the start of the shot.
        #[arg(long, default_value_t = 0.0)]
        at: f64,
        /// Dots an inch of a PNG.
        #[arg(long, default_value_t = 150.0)]
        dpi: f64,
    },
    /// What the lens sees, exposed at the shot's stop, as a PNG picture.
    Frame {
        /// The plan file.
        plan: PathBuf,
        /// The shot, by id or name.
        #[arg(long)]
        shot: String,
        /// Seconds from the start of the shot.
        #[arg(long, default_value_t = 0.0)]
        at: f64,
        /// File to write.
        #[arg(short)]
        output: PathBuf,
        /// Pixels across.
        #[arg(long, default_value_t = 1280, value_parser = clap::value_parser!(u16).range(16..=8192))]
        width: u16,
        /// Lines over the picture: thirds, safe-area, head-room, horizon, focus, or all.
        #[arg(long, value_delimiter = ',', value_parser = overlays)]
        over: Vec<Vec<Overlay>>,
        /// Levels in stops from middle grey instead of the picture.
        #[arg(long)]
        levels: bool,
    },
    /// From where else the camera sees every wanted face through the whole move.
    ClearView {
        /// The plan file.
        plan: PathBuf,
        /// The shot, by id or name.
        #[arg(long)]
        shot: String,
        /// Size of a cell, metres.
        #[arg(long, default_value_t = 0.1)]
        cell: f64,
        /// As JSON, every cell.
        #[arg(long)]
        json: bool,
    },
    /// How much black cloth covers what the lens sees: of one shot, or of all together.
    Cover {
        /// The plan file.
        plan: PathBuf,
        /// Only this shot, by id or name.
        #[arg(long)]
        shot: Option<String>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// The smallest shifts that keep every wanted face clear, or lens and place for a wanted shot size.
    Suggest {
        /// The plan file.
        plan: PathBuf,
        /// The shot, by id or name.
        #[arg(long)]
        shot: String,
        /// Least share of each face seen, 0–1; none: the plan's limit.
        #[arg(long)]
        share: Option<f64>,
        /// A shot size instead: wide, full, medium-full, medium, medium-close, close, extreme-close.
        #[arg(long, value_parser = size)]
        size: Option<ShotSize>,
        /// On whom, by id; none: the first face the shot needs.
        #[arg(long)]
        person: Option<String>,
        /// Write the plan with the first suggestion carried out to this file.
        #[arg(short)]
        output: Option<PathBuf>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// Sun and sky: where the sun stands, and when it falls on faces, floors and the lens.
    Daylight {
        /// The plan file.
        plan: PathBuf,
        /// Only this shot, by id or name.
        #[arg(long)]
        shot: Option<String>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// What to do to each lamp for a wanted key stop, ratio and background.
    Goal {
        /// The plan file.
        plan: PathBuf,
        /// The shot, by id or name.
        #[arg(long)]
        shot: String,
        /// Whose face, by id; none: the first the shot needs.
        #[arg(long)]
        person: Option<String>,
        /// Stop the meter at the face shall read.
        #[arg(long)]
        stop: f64,
        /// Key and fill over fill: 4:1 or 4.
        #[arg(long, value_parser = ratio)]
        ratio: f64,
        /// Where the wall behind shall fall, stops from middle grey.
        #[arg(long, allow_hyphen_values = true)]
        background: Option<f64>,
        /// Seconds from the start of the shot.
        #[arg(long, default_value_t = 0.0)]
        at: f64,
        /// Write the plan with the changes made to this file.
        #[arg(short)]
        output: Option<PathBuf>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// The spot meter: luminance of what the lens sees in a direction, and the stop it falls at.
    Spot {
        /// The plan file.
        plan: PathBuf,
        /// The shot, by id or name.
        #[arg(long)]
        shot: String,
        /// A point to look through, metres: X,Y,Z; none: behind the first face.
        #[arg(long, value_parser = triple, allow_hyphen_values = true)]
        through: Option<DVec3>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// Reads a lamp's files into the plan: measured candelas, a spectrum, a gel's curve.
    Attach {
        /// The plan file; it is written back.
        plan: PathBuf,
        /// The fixture, by id.
        #[arg(long)]
        fixture: String,
        /// An ANSI/IES LM-63 file.
        #[arg(long)]
        candela: Option<PathBuf>,
        /// A spectrum: nanometres and relative power, a pair a line.
        #[arg(long)]
        spectrum: Option<PathBuf>,
        /// A gel to add: nanometres and transmission, a pair a line.
        #[arg(long)]
        gel: Option<PathBuf>,
    },
    /// What the plan gets wrong: exit 0 none, 1 some, 2 the file could not be read.
    Notices {
        /// The plan file.
        plan: PathBuf,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// The JSON Schema of the plan file.
    Schema,
    /// Writes an empty plan.
    New {
        /// File to write; an existing one is not overwritten.
        #[arg(short)]
        output: PathBuf,
    },
    /// Opens the demo plan in the editor; without a display, writes its sheet.
    Demo,
}

fn triple(text: &str) -> Result<DVec3, String> {
    let parts: Vec<f64> = text
        .split(',')
        .map(|p| p.trim().parse::<f64>().map_err(|e| format!("\"{p}\": {e}")))
        .collect::<Result<_, _>>()?;
    match parts[..] {
        [x, y, z] if parts.iter().all(|v| v.is_finite()) => Ok(DVec3::new(x, y, z)),
        _ => Err("write three finite numbers as X,Y,Z".into()),
    }
}

fn ratio(text: &str) -> Result<f64, String> {
    let number = |t: &str| t.trim().parse::<f64>().map_err(|e| format!("\"{t}\": {e}"));
    let value = match text.split_once(':') {
        Some((a, b)) => number(a)? / number(b)?,
        None => number(text)?,
    };
    if value > 1.0 && value.is_finite() { Ok(value) } else { Err("write a ratio above 1, like 4:1".into()) }
}

fn overlays(text: &str) -> Result<Vec<Overlay>, String> {
    let name = |o: Overlay| serde_json::to_value(o).ok().and_then(|v| v.as_str().map(str::to_string));
    if text == "all" {
        return Ok(Overlay::ALL.to_vec());
    }
    let found = Overlay::ALL.into_iter().find(|o| name(*o).as_deref() == Some(text));
    found.map(|o| vec![o]).ok_or_else(|| "thirds, safe-area, head-room, horizon, focus, or all".into())
}

fn size(text: &str) -> Result<ShotSize, String> {
    serde_json::from_value(serde_json::Value::String(text.into()))
        .map_err(|_| "wide, full, medium-full, medium, medium-close, close or extreme-close".into())
}

fn receptor(text: &str) -> Result<Receptor, String> {
    match text {
        "flat" => Ok(Receptor::Flat),
        "dome" => Ok(Receptor::Dome),
        _ => Err("flat or dome".into()),
    }
}

fn scale(text: &str) -> Result<Scale, String> {
    if text == "fit" {
        return Ok(Scale::Fit);
    }
    let n = text.strip_prefix("1:").unwrap_or(text);
    match n.parse::<u32>() {
        Ok(n) if (1..=10_000).contains(&n) => Ok(Scale::OneTo(n)),
        _ => Err("write a scale like 1:50, or fit".into()),
    }
}

fn paper(text: &str) -> Result<Paper, String> {
    match text.to_lowercase().as_str() {
        "a4" => Ok(Paper::A4),
        "a3" => Ok(Paper::A3),
        "letter" => Ok(Paper::Letter),
        _ => Err("a4, a3 or letter".into()),
    }
}

fn fail(what: impl Into<String>, place: impl Into<String>, remedy: impl Into<String>) -> PlanError {
    PlanError { what: what.into(), place: place.into(), remedy: remedy.into() }
}

/// Runs the program; what it returns is its exit status.
#[must_use]
pub fn main() -> ExitCode {
    let cli = Cli::parse();
    match run(cli) {
        Ok(code) => code,
        Err(e) => {
            let mut err = std::io::stderr().lock();
            let _ = writeln!(err, "{e}");
            ExitCode::from(2)
        }
    }
}

/// Prints to standard output; a closed pipe is no error.
fn say(text: &str) {
    let mut out = std::io::stdout().lock();
    let _ = out.write_all(text.as_bytes());
    let _ = out.write_all(b"\n");
}

fn json(value: &impl serde::Serialize) -> Result<String, PlanError> {
    serde_json::to_string_pretty(value)
        .map_err(|e| fail(format!("the answer could not be written as JSON: {e}"), "standard output", "report this"))
}

fn run(cli: Cli) -> Result<ExitCode, PlanError> {
    match cli.command {
        None => open(cli.plan.as_deref()),
        Some(Command::Demo) => open_demo(),
        Some(Command::Facts { plan, shot, at, json: as_json }) => {
            let plan = files::read(&plan)?;
            let all: Vec<ShotFacts> =
                shots(&plan, shot.as_deref())?.into_iter().map(|s| shot_facts(&plan, s, at)).collect();
            if as_json {
                say(&if shot.is_some() { json(&all[0])? } else { json(&all)? });
            } else {
                for facts in &all {
                    say(&facts_text(&plan, facts));
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
            say(&if as_json { json(&r)? } else { reading_text(&r) });
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Sheet { plan, shot, output, scale, paper, cover, light, at, dpi }) => {
            let plan = files::read(&plan)?;
            let spec = SheetSpec { paper, scale, light_height_m: light, cover, at_s: at };
            write_sheet(&plan, shot.as_deref(), &output, &spec, dpi)?;
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Frame { plan, shot, at, output, width, over, levels }) => {
            let plan = files::read(&plan)?;
            let shot = shots(&plan, Some(&shot))?[0];
            let bytes = frame_png(&plan, shot, at, usize::from(width), &over.concat(), levels)?;
            files::write_atomically(&output, &bytes)?;
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::ClearView { plan, shot, cell, json: as_json }) => {
            let plan = files::read(&plan)?;
            let shot = shots(&plan, Some(&shot))?[0];
            if !(0.02..=5.0).contains(&cell) {
                return Err(fail("that is no size of a cell", "--cell", "write metres from 0.02 to 5"));
            }
            let moments = Moments::of(&plan, shot);
            let map = clear_map(&plan, shot, &moments, cell).ok_or_else(|| {
                fail("there is nothing to look at", format!("shot {}", shot.name), "place a camera and want a face")
            })?;
            if as_json {
                say(&json(&map)?);
            } else {
                say(&clear_text(&plan, &map));
            }
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Cover { plan, shot, json: as_json }) => {
            let plan = files::read(&plan)?;
            let found = cover(&plan, shots(&plan, shot.as_deref())?);
            say(&if as_json { json(&found)? } else { cover_lines(&plan, &found).join("\n") });
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Suggest { plan, shot, share, size, person, output, json: as_json }) => {
            let plan = files::read(&plan)?;
            let shot = shots(&plan, Some(&shot))?[0];
            let share = share.unwrap_or(plan.limits.face_share);
            if !(0.0..=1.0).contains(&share) {
                return Err(fail("that is no share", "--share", "write a number from 0 to 1"));
            }
            let moments = Moments::of(&plan, shot);
            let scene = Scene::of(&plan, shot, 0.0);
            let (edits, text) = match size {
                None => {
                    let list = suggest(&plan, shot, &moments, share);
                    let words = if list.is_empty() {
                        "nothing is hidden that a small shift would clear".into()
                    } else {
                        let line = |s: &Suggestion| format!("{}: {:.0} % seen", s.what, s.least_clear_share * 100.0);
                        list.iter().map(line).collect::<Vec<_>>().join("\n")
                    };
                    let text = if as_json { json(&list)? } else { words };
                    (list.into_iter().map(|s| s.edit).collect::<Vec<_>>(), text)
                }
                Some(size) => {
                    let who: PersonId = person
                        .map(Into::into)
                        .or_else(|| shot.faces.first().cloned())
                        .ok_or_else(|| fail("no face is wanted", "--person", "name a person of the shot"))?;
                    let list: Vec<Framing> = [
                        lens_for_size(&plan, shot, &scene, &who, size),
                        place_for_size(&plan, shot, &scene, &moments, &who, size),
                    ]
                    .into_iter()
                    .flatten()
                    .collect();
                    let l = |m: f64| format_length(m, plan.length_unit);
                    let line = |f: &Framing| {
                        let no = f.refused.as_ref().map_or(String::new(), |w| format!(", not possible: {w}"));
                        let [x, y] = f.position_m;
                        format!("{:.1} mm from {} at {}, {}{no}", f.focal_mm, l(f.distance_m), l(x), l(y))
                    };
                    let text =
                        if as_json { json(&list)? } else { list.iter().map(line).collect::<Vec<_>>().join("\n") };
                    (list.into_iter().filter(|f| f.refused.is_none()).map(|f| f.edit).collect(), text)
                }
            };
            if let Some(file) = output {
                let first = edits.first().ok_or_else(|| {
                    fail("there is no suggestion to carry out", format!("shot {}", shot.name), "leave -o away")
                })?;
                let changed = tapemark_core::edit::apply(&plan, first)
                    .map_err(|e| fail(e.to_string(), format!("shot {}", shot.name), "report this"))?;
                files::write(&file, &changed)?;
            }
            say(&text);
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Daylight { plan, shot, json: as_json }) => {
            let plan = files::read(&plan)?;
            let list: Vec<ShotDaylight> = shots(&plan, shot.as_deref())?
                .into_iter()
                .map(|s| shot_daylight(&plan, s))
                .collect::<Result<_, _>>()?;
            if as_json {
                say(&json(&list)?);
            } else {
                list.iter().for_each(|d| say(&daylight_text(d)));
            }
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Goal { plan, shot, person, stop, ratio, background, at, output, json: as_json }) => {
            let plan = files::read(&plan)?;
            let shot = shots(&plan, Some(&shot))?[0];
            let scene = Scene::of(&plan, shot, at);
            let transport = Transport::of(&plan, plan.rig(&shot.rig), &scene, FINE_PATCH_M, None);
            let who = person
                .map(Into::into)
                .or_else(|| shot.faces.first().cloned())
                .or_else(|| scene.people.first().map(|p| p.person.clone()))
                .ok_or_else(|| fail("nobody is in the shot", "--person", "put a person's mark in the shot"))?;
            let goal = Goal { person: who, t_stop: stop, ratio, background_stops: background };
            let found = reach(&plan, shot, &scene, &transport, &goal)
                .map_err(|why| fail(why, format!("shot {}", shot.name), "change the plan or the wish"))?;
            if let Some(file) = output {
                let mut changed = plan.clone();
                changed.rigs.iter_mut().filter(|r| r.id == found.rig.id).for_each(|r| *r = found.rig.clone());
                files::write(&file, &changed)?;
            }
            say(&if as_json { json(&found)? } else { goal_lines(&plan, &found).join("\n") });
            Ok(if found.met { ExitCode::SUCCESS } else { ExitCode::from(1) })
        }
        Some(Command::Spot { plan, shot, through, json: as_json }) => {
            let plan = files::read(&plan)?;
            let shot = shots(&plan, Some(&shot))?[0];
            let scene = Scene::of(&plan, shot, 0.0);
            let transport = Transport::of(&plan, plan.rig(&shot.rig), &scene, FINE_PATCH_M, None);
            let eye = scene
                .view
                .as_ref()
                .map(|v| v.eye)
                .ok_or_else(|| fail("the shot has no camera", format!("shot {}", shot.name), "place its camera"))?;
            let found = match through {
                Some(p) => tapemark_core::light::spot(&plan, &scene, &transport, eye, p - eye),
                None => tapemark_core::light::background(&plan, shot, &scene, &transport),
            };
            let found = found.ok_or_else(|| {
                fail("there is no surface in that direction", "--through", "look at a wall or a piece")
            })?;
            say(&if as_json { json(&found)? } else { spot_text(&found) });
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Attach { plan: path, fixture, candela, spectrum, gel }) => {
            let mut plan = files::read(&path)?;
            let found = plan.rigs.iter_mut().flat_map(|r| &mut r.fixtures).find(|f| f.id.as_str() == fixture);
            let Some(f) = found else {
                let have: Vec<&str> = plan.rigs.iter().flat_map(|r| &r.fixtures).map(|f| f.id.as_str()).collect();
                return Err(fail(
                    format!("there is no fixture \"{fixture}\""),
                    "--fixture",
                    format!("name one of: {}", have.join(", ")),
                ));
            };
            if let Some(file) = candela {
                f.candela = Some(files::candela(&file)?.into());
            }
            if let Some(file) = spectrum {
                f.spectrum = tapemark_core::plan::Spectrum::Measured(files::curve(&file, CurveOf::Lamp)?);
            }
            if let Some(file) = gel {
                f.gels.push(tapemark_core::plan::Gel::Measured(files::curve(&file, CurveOf::Gel)?));
            }
            files::write(&path, &plan)?;
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::Notices { plan, json: as_json }) => {
            let plan = files::read(&plan)?;
            let list = notices::of_plan(&plan);
            if as_json {
                say(&json(&list)?);
            } else {
                for n in &list {
                    let shot = n
                        .shot
                        .as_ref()
                        .and_then(|s| plan.shot(s))
                        .map(|s| format!("shot {}: ", s.name))
                        .unwrap_or_default();
                    say(&format!(
                        "{}: {shot}{} [{}]\n  at: {}\n  remedy: {}",
                        severity(n.severity),
                        n.what,
                        n.code,
                        n.item,
                        n.remedy
                    ));
                }
            }
            Ok(if list.is_empty() { ExitCode::SUCCESS } else { ExitCode::from(1) })
        }
        Some(Command::Schema) => {
            say(&json(&schema())?);
            Ok(ExitCode::SUCCESS)
        }
        Some(Command::New { output }) => {
            if output.exists() {
                return Err(fail(
                    "there is a file of that name",
                    output.display().to_string(),
                    "choose another name, or move the file away",
                ));
            }
            files::write(&output, &Plan::empty())?;
            Ok(ExitCode::SUCCESS)
        }
    }
}

/// Severity in words.
#[must_use]
pub fn severity(s: Severity) -> &'static str {
    match s {
        Severity::Hint => "hint",
        Severity::Problem => "problem",
        Severity::Caution => "caution",
    }
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
                fail(format!("there is no shot \"{w}\""), "--shot", format!("name one of: {}", have.join(", ")))
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
            fail(format!("there is no rig \"{rig}\""), "--rig", format!("name one of: {}", have.join(", ")))
        })?;
    let toward = toward
        .try_normalize()
        .ok_or_else(|| fail("the direction has no length", "--toward", "write a direction like 0,-1,0"))?;
    // The rig in its rooms with nobody there: a meter is read before the cast arrives.
    let empty = Shot::new("meter", "meter", found.id.clone());
    let scene = Scene::of(plan, &empty, 0.0);
    let to = Receiver { at: point, toward, receptor: plan.exposure.receptor };
    let transport = Transport::of(plan, Some(found), &scene, FINE_PATCH_M, None);
    Ok(reading(plan, &scene, &transport, &to, OwnerIx::NONE))
}

/// Writes the sheet of one shot, or of all in a PDF.
///
/// # Errors
/// When the ending is none of the three, the shot is not there, or the file cannot be written.
pub fn write_sheet(
    plan: &Plan,
    shot: Option<&str>,
    output: &Path,
    spec: &SheetSpec,
    dpi: f64,
) -> Result<(), PlanError> {
    let ending = output.extension().and_then(|e| e.to_str()).unwrap_or_default().to_lowercase();
    let list = shots(plan, shot)?;
    let first = list.first().copied().ok_or_else(|| fail("the plan has no shot", "shots", "add a shot"))?;
    let bad = |e: tapemark_sheet::SheetError| {
        fail(e.to_string(), output.display().to_string(), "choose another paper, scale or resolution")
    };
    let bytes = match ending.as_str() {
        "pdf" => to_pdf(&list.iter().map(|s| compose(plan, s, spec)).collect::<Vec<_>>()).map_err(bad)?,
        "svg" => to_svg(&compose(plan, first, spec)).into_bytes(),
        "png" => to_png(&compose(plan, first, spec), dpi).map_err(bad)?,
        _ => {
            return Err(fail(
                format!("\"{ending}\" is no kind of sheet"),
                output.display().to_string(),
                "end the name in .pdf, .svg or .png",
            ));
        }
    };
    files::write_atomically(output, &bytes)
}

/// What the lens sees of walls, floors and ceilings, a line each.
#[must_use]
pub fn cover_lines(plan: &Plan, c: &Cover) -> Vec<String> {
    let l = |m: f64| format_length(m, plan.length_unit);
    let mut out = vec![format!(
        "in frame: {:.1} m² of wall, {:.1} m² of floor, {:.1} m² of ceiling",
        c.wall_m2, c.floor_m2, c.ceiling_m2
    )];
    if c.wall_cloth_m > 0.0 {
        out.push(format!("cloth for the walls: {} off a roll {} wide", l(c.wall_cloth_m), l(c.roll_width_m)));
    }
    for s in &c.surfaces {
        let drops = if s.drops == 1 { "1 drop".to_string() } else { format!("{} drops", s.drops) };
        out.push(match s.kind {
            SurfaceKind::Wall => format!(
                "{}: {} along, {} to {} up, {:.1} m²: {drops} of {}",
                s.name,
                l(s.running_m),
                l(s.heights_m[0]),
                l(s.heights_m[1]),
                s.area_m2,
                l(s.heights_m[1] - s.heights_m[0])
            ),
            _ => format!("{}: {:.1} m²", s.name, s.area_m2),
        });
    }
    out
}

/// A clear-view map in words: how much of the floor is open, why the rest is not, and the best places.
fn clear_text(plan: &Plan, map: &ClearMap) -> String {
    let l = |m: f64| format_length(m, plan.length_unit);
    let share = |n: usize| 100.0 * n as f64 / map.least.len().max(1) as f64;
    let open: Vec<usize> = (0..map.least.len()).filter(|i| map.ruled_out[*i].is_none()).collect();
    let clear = open.iter().filter(|i| f64::from(map.least[**i]) >= plan.limits.face_share).count();
    let mut out = vec![format!(
        "{:.0} % of the floor's box is open to the camera; from {:.0} % every face is clear through the whole move",
        share(open.len()),
        share(clear)
    )];
    let mut reasons: Vec<(usize, &str)> = Vec::new();
    for r in map.ruled_out.iter().flatten() {
        match reasons.iter_mut().find(|x| x.1 == r.label()) {
            Some(x) => x.0 += 1,
            None => reasons.push((1, r.label())),
        }
    }
    reasons.sort_by_key(|r| std::cmp::Reverse(r.0));
    out.extend(reasons.iter().map(|(n, why)| format!("  {:.0} % ruled out: {why}", share(*n))));
    let mut best = open;
    best.sort_by(|a, b| map.least[*b].total_cmp(&map.least[*a]));
    for i in best.iter().take(3) {
        let p = map.middle(*i);
        out.push(format!("  east {}, north {}: at worst {:.0} % seen", l(p.x), l(p.y), map.least[*i] * 100.0));
    }
    out.join("\n")
}

/// Pixels folded into one, each way, for smooth edges.
const FOLD: usize = 2;

/// What the lens sees as PNG.
fn frame_png(
    plan: &Plan,
    shot: &Shot,
    at: f64,
    width: usize,
    over: &[Overlay],
    levels: bool,
) -> Result<Vec<u8>, PlanError> {
    let place = format!("shot {}", shot.name);
    let scene = Scene::of(plan, shot, at);
    let (Some(camera), Some(view)) = (plan.shot_camera(shot), &scene.view) else {
        return Err(fail("the shot has no camera", place, "place its camera"));
    };
    let rig = plan.rig(&shot.rig);
    let transport = Transport::of(plan, rig, &scene, FINE_PATCH_M, None);
    let spec = FrameSpec::for_view(view, width).cut_finer(FOLD);
    let picture = picture(plan, &scene, rig, &transport, spec)
        .ok_or_else(|| fail("the shot has no camera", place.clone(), "place its camera"))?;
    let developed = if levels {
        picture.false_levels(camera, &plan.exposure, FOLD, tapemark_sheet::stops_colour)
    } else {
        picture.developed(camera, &plan.exposure, FOLD)
    };
    let facts = tapemark_core::facts::facts_of_scene(plan, shot, &scene, &transport, &Moments::of(plan, shot));
    let lines: Vec<_> = over.iter().flat_map(|o| guides(*o, shot, &scene, &facts)).collect();
    let page = tapemark_sheet::frame_page(&developed, &lines);
    to_png(&page, developed.width as f64 / tapemark_sheet::FRAME_WIDTH_MM * 25.4)
        .map_err(|e| fail(e.to_string(), place, "ask for fewer pixels"))
}

/// A spot reading in words.
#[must_use]
pub fn spot_text(s: &Spot) -> String {
    let falls = s.falls_at_stops.map_or(String::new(), |f| format!(", {f:+.1} stops from middle grey"));
    format!("{}: {:.1} cd/m², {}{falls}", s.surface, s.luminance_cd_m2, format_stop(s.t_stop))
}

/// What the goal solver found, a line each.
#[must_use]
pub fn goal_lines(plan: &Plan, r: &Reached) -> Vec<String> {
    let behind = r.background_stops.map_or(String::new(), |b| format!(", wall behind {b:+.1} stops"));
    let lead = if r.met { "Reached" } else { "Nearest" };
    let mut out = vec![format!("{lead}: {}, {:.1}:1{behind}", format_stop(r.t_stop), r.ratio)];
    for c in &r.changes {
        let level = if !c.on {
            "off".into()
        } else if c.scrim_stops > 0.0 {
            format!("{:.1} stops of scrim, dimmer {:.1} %", c.scrim_stops, c.dimmer * 100.0)
        } else {
            format!("dimmer {:.1} %", c.dimmer * 100.0)
        };
        let place = if c.position_m.is_some() {
            format!(", to {} from the face", format_length(c.distance_m, plan.length_unit))
        } else {
            String::new()
        };
        out.push(format!("{}: {level}{place}", c.name));
    }
    if r.changes.is_empty() {
        out.push("nothing to change".into());
    }
    out.extend(r.reasons.iter().map(|why| format!("Because {why}")));
    out
}

#[derive(serde::Serialize)]
struct ShotDaylight {
    shot: String,
    #[serde(flatten)]
    now: tapemark_core::facts::DaylightFacts,
    direct_sun: Vec<SunSpell>,
}

fn shot_daylight(plan: &Plan, shot: &Shot) -> Result<ShotDaylight, PlanError> {
    let scene = Scene::of(plan, shot, 0.0);
    let now = tapemark_core::facts::daylight_facts(plan, &scene).ok_or_else(|| {
        fail(
            "the plan has no daylight",
            "daylight",
            "write the plan's daylight, and the location's latitude_deg and longitude_deg",
        )
    })?;
    Ok(ShotDaylight { shot: shot.name.clone(), now, direct_sun: sun_spells(plan, shot) })
}

fn daylight_text(d: &ShotDaylight) -> String {
    let mut out = vec![format!(
        "shot {} at {}: sun {:.1}° up at azimuth {:.1}°, sky {:.0} lx, sun {:.0} lx",
        d.shot, d.now.clock, d.now.sun.elevation_deg, d.now.sun.azimuth_deg, d.now.sky_lx, d.now.sun_lx
    )];
    out.extend(d.direct_sun.iter().map(|s| format!("  {}", spell_text(s))));
    if d.direct_sun.is_empty() {
        out.push("  no direct sun on faces, floor or lens all day".into());
    }
    out.join("\n")
}

/// A stretch of direct sun in words.
#[must_use]
pub fn spell_text(s: &SunSpell) -> String {
    let what = match &s.what {
        Sunlit::Face { name } => format!("{name}'s face"),
        Sunlit::Floor { name } => format!("the floor of {name}"),
        Sunlit::Lens => "the lens".into(),
    };
    format!("sun on {what} from {} to {}", s.from, s.to)
}

fn facts_text(plan: &Plan, f: &ShotFacts) -> String {
    let l = |m: f64| format_length(m, plan.length_unit);
    let mut out = vec![format!("shot {} at {:.1} s", f.name, f.at_s)];
    match &f.camera {
        None => out.push("  no camera placed".into()),
        Some(c) => {
            out.push(format!(
                "  {}: {} mm T{}, {:.1}° × {:.1}°, lens {} up",
                c.name,
                c.focal_mm,
                c.t_stop,
                c.horizontal_angle_deg,
                c.vertical_angle_deg,
                l(c.position_m[2])
            ));
            out.push(format!(
                "    focus {}: {} to {} (close focus {})",
                l(c.focus_m),
                l(c.near_m),
                c.far_m.map_or("infinity".into(), l),
                l(c.close_focus_m)
            ));
            out.push(format!(
                "    behind the camera {}{}",
                c.room_behind_m.map_or("open".into(), l),
                if c.operator_fits { "" } else { ": the operator does not fit" }
            ));
            out.push(format!("    exposure wants {:.0} lx", c.wanted_lx));
            if let Some(s) = &c.background {
                out.push(format!("    behind the face: {}", spot_text(s)));
            }
        }
    }
    for p in &f.people {
        out.push(format!("  {}{}: {}", p.name, if p.required { "" } else { " (face not needed)" }, p.sight));
        if let (Some(d), Some(w)) = (p.distance_m, p.field_width_m) {
            out.push(format!(
                "    {} away, frame {} wide{}",
                l(d),
                l(w),
                p.size.map_or(String::new(), |s| format!(", {}", s.label()))
            ));
        }
        if let Some(r) = &p.reading {
            for line in reading_text(r).lines() {
                out.push(format!("    {line}"));
            }
        }
    }
    for lane in &f.lanes {
        for s in &lane.spans {
            out.push(format!("  {}", crate::editor::span_text(lane, s)));
        }
    }
    for w in &f.walks {
        let name = plan.person(&w.person).map_or("", |p| p.name.as_str());
        out.push(format!(
            "  {name} walks {} from {:.1} s to {:.1} s: {:.2} m/s",
            l(w.distance_m),
            w.from_s,
            w.to_s,
            w.speed_m_s
        ));
    }
    for x in f.fixtures.iter().filter(|x| x.on) {
        let colour = match (x.cct_k, x.duv) {
            (Some(k), Some(d)) => format!("{k:.0} K, Duv {d:+.4}"),
            _ => x.xy.map_or("no colour".into(), |[px, py]| format!("x {px:.3} y {py:.3}")),
        };
        out.push(format!(
            "  lamp {}: {:.0} lm, {:.0} cd on its axis, {colour}, {:.1} stops lost before it",
            x.name,
            x.rated_lm,
            x.peak_cd,
            x.loss_stops.unwrap_or(0.0) + 0.0
        ));
    }
    if let Some(d) = &f.daylight {
        out.push(format!("  daylight at {}: sky {:.0} lx, sun {:.0} lx", d.clock, d.sky_lx, d.sun_lx));
    }
    for c in f.circuits.iter().filter(|c| c.load_w > 0.0) {
        out.push(format!(
            "  circuit {}: {:.0} W, {:.1} A of {:.1} A continuous",
            c.name, c.load_w, c.current_a, c.limit_a
        ));
    }
    for n in &f.notices {
        out.push(format!("  {}: {} ({})", severity(n.severity), n.what, n.remedy));
    }
    out.join("\n")
}

fn reading_text(r: &Reading) -> String {
    let colour = match (r.cct_k, r.duv) {
        (Some(k), Some(d)) => format!(", {k:.0} K, Duv {d:+.4}"),
        _ => String::new(),
    };
    let mut out =
        vec![format!("{:.0} lx ({:.1} fc), {}{colour}", r.illuminance_lx, r.illuminance_fc, format_stop(r.t_stop))];
    for p in &r.parts {
        let role = match p.role {
            Role::Key => "key",
            Role::Fill => "fill",
            Role::Back => "back",
            Role::None => "does not reach",
        };
        out.push(format!("  {}: {:.1} lx direct, {:.1} lx bounced ({role})", p.name, p.direct_lx, p.bounced_lx));
    }
    out.join("\n")
}

fn display_exists() -> bool {
    cfg!(not(target_os = "linux"))
        || ["DISPLAY", "WAYLAND_DISPLAY"].iter().any(|v| std::env::var_os(v).is_some_and(|v| !v.is_empty()))
}

fn open(path: Option<&Path>) -> Result<ExitCode, PlanError> {
    let memory = files::Memory::load();
    let (plan, path) = match path {
        Some(p) => (files::read(p)?, Some(p.to_path_buf())),
        None => match memory.recent.first().and_then(|p| files::read(p).ok().map(|plan| (plan, p.clone()))) {
            Some((plan, p)) => (plan, Some(p)),
            None => return open_demo(),
        },
    };
    if !display_exists() {
        return without_display(&plan);
    }
    crate::editor::run(plan, path, memory)
}

fn open_demo() -> Result<ExitCode, PlanError> {
    if display_exists() {
        crate::editor::run(files::demo(), None, files::Memory::load())
    } else {
        without_display(&files::demo())
    }
}

fn without_display(plan: &Plan) -> Result<ExitCode, PlanError> {
    let output = PathBuf::from("tapemark-sheet.pdf");
    write_sheet(plan, None, &output, &SheetSpec::default(), 150.0)?;
    say(&format!(
        "There is no display here, so the editor cannot open. The sheet of \"{}\" is in {}.",
        plan.title,
        output.display()
    ));
    Ok(ExitCode::SUCCESS)
}
