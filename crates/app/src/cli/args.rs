//! What can be asked on the command line.

use clap::{Parser, Subcommand};
use glam::DVec3;
use std::path::PathBuf;
use tapemark_core::frame::Overlay;
use tapemark_core::light::MapShows;
use tapemark_core::plan::{Receptor, ShotSize};
use tapemark_sheet::{Paper, Scale};
use tapemark_words::Language;

/// Plan a film shoot in small rooms: camera, people and lamps on a floor plan, with the numbers.
#[derive(Debug, Parser)]
#[command(version, subcommand_precedence_over_arg = true)]
pub(super) struct Cli {
    #[command(subcommand)]
    pub(super) command: Option<Command>,
    /// The plan to open in the editor; none: the last one, or the demo.
    pub(super) plan: Option<PathBuf>,
    /// The language: en or de. None: English; in the editor the one chosen there, or the system's.
    #[arg(long, global = true, value_parser = language)]
    pub(super) language: Option<Language>,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Everything computed of the shots.
    Facts {
        /// The plan file.
        plan: PathBuf,
        /// Only this shot, by id or name.
        #[arg(long)]
        shot: Option<String>,
        /// Seconds from the start of the shot.
        #[arg(value_parser = finite, long, default_value_t = 0.0)]
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
    /// The crew's paper: of one shot as PDF, SVG or PNG; of the whole day as one PDF.
    Sheet {
        /// The plan file.
        plan: PathBuf,
        /// Only this shot, by id or name; a PDF without it holds the whole day: cover, rigs, shots, kit, power
        /// and order.
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
        /// What is owned and what the rest costs, for the whole day's kit.
        #[arg(long)]
        kit: Option<PathBuf>,
        /// Draw what black cloth would cover.
        #[arg(long)]
        cover: bool,
        /// Draw the light at this height, metres.
        #[arg(value_parser = finite, long)]
        light: Option<f64>,
        /// What of the light: level, key-fill or colour.
        #[arg(long, default_value = "level", value_parser = map_shows)]
        shows: MapShows,
        /// Draw from where the camera would see every face.
        #[arg(long)]
        clear_view: bool,
        /// Seconds from the start of the shot.
        #[arg(value_parser = finite, long, default_value_t = 0.0)]
        at: f64,
        /// Dots an inch of a PNG.
        #[arg(value_parser = finite, long, default_value_t = 150.0)]
        dpi: f64,
    },
    /// What the lens sees: exposed at the shot's stop as a PNG picture, or its luminance in cd/m² as Radiance RGBE.
    Frame {
        /// The plan file.
        plan: PathBuf,
        /// The shot, by id or name.
        #[arg(long)]
        shot: String,
        /// Seconds from the start of the shot.
        #[arg(value_parser = finite, long, default_value_t = 0.0)]
        at: f64,
        /// File to write: .png, or .hdr for luminance (linear sRGB scaled so that Y is in cd/m²).
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
        #[arg(value_parser = finite, long, default_value_t = 0.1)]
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
        #[arg(value_parser = finite, long)]
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
        #[arg(value_parser = finite, long)]
        stop: f64,
        /// Key and fill over fill: 4:1 or 4.
        #[arg(long, value_parser = ratio)]
        ratio: f64,
        /// Where the wall behind shall fall, stops from middle grey.
        #[arg(value_parser = finite, long, allow_hyphen_values = true)]
        background: Option<f64>,
        /// Seconds from the start of the shot.
        #[arg(value_parser = finite, long, default_value_t = 0.0)]
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
    /// Whether the light of shots that cut together matches.
    Continuity {
        /// The plan file.
        plan: PathBuf,
        /// Only cuts of this shot, by id or name.
        #[arg(long)]
        shot: Option<String>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// Lamp places that give a face in one shot the light it has in another.
    CarryOver {
        /// The plan file.
        plan: PathBuf,
        /// The shot whose light is carried, by id or name.
        #[arg(long)]
        from: String,
        /// The shot that receives it, by id or name.
        #[arg(long)]
        to: String,
        /// Whose face, by id; none: the first that both want.
        #[arg(long)]
        person: Option<String>,
        /// Write the plan with the lamps so placed to this file.
        #[arg(short)]
        output: Option<PathBuf>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// Circuits, cables and a better spread of the plugs, rig by rig.
    Power {
        /// The plan file.
        plan: PathBuf,
        /// Only the rig of this shot, by id or name.
        #[arg(long)]
        shot: Option<String>,
        /// Write the plan with the plugs moved as suggested to this file.
        #[arg(short)]
        output: Option<PathBuf>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// What to bring, against a kit file.
    Kit {
        /// The plan file.
        plan: PathBuf,
        /// What is owned and what the rest costs; none: nothing is owned.
        #[arg(long)]
        kit: Option<PathBuf>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// The order of the day on the clock, with what to strike and keep.
    Order {
        /// The plan file.
        plan: PathBuf,
        /// Keep a shot's set-up at a place in the day: SHOT=PLACE, several times.
        #[arg(long, value_parser = pin)]
        pin: Vec<(String, usize)>,
        /// Write the plan with these pins to this file.
        #[arg(short)]
        output: Option<PathBuf>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// One page for the crew's phones: shots, marks, lamps, kit and the day in a single HTML file.
    Share {
        /// The plan file.
        plan: PathBuf,
        /// What is owned and what the rest costs: a kit file.
        #[arg(long)]
        kit: Option<PathBuf>,
        /// The .html file to write.
        #[arg(short)]
        output: PathBuf,
    },
    /// A phone-sized picture of each shot, to send to a friend.
    Phone {
        /// The plan file.
        plan: PathBuf,
        /// Only this shot, by id or name.
        #[arg(long)]
        shot: Option<String>,
        /// Folder to write into; made if it is not there.
        #[arg(short)]
        output: PathBuf,
        /// Replace files there that no earlier run wrote.
        #[arg(long)]
        force: bool,
    },
    /// Brings room outlines into a plan from a DXF or SVG drawing.
    BringIn {
        /// The plan file.
        plan: PathBuf,
        /// The drawing: .dxf or .svg.
        drawing: PathBuf,
        /// How long the drawing's unit is: mm, cm, m, in, ft, or metres as a number; none: as the drawing says.
        #[arg(long, value_parser = unit)]
        unit: Option<f64>,
        /// File to write; none: the plan is written back.
        #[arg(short)]
        output: Option<PathBuf>,
    },
    /// Hands a shot on to other programs: .dxf a drawing, .glb a scene with lens and lamps.
    HandOn {
        /// The plan file.
        plan: PathBuf,
        /// The shot, by id or name; none: the first.
        #[arg(long)]
        shot: Option<String>,
        /// Seconds from the start of the shot.
        #[arg(value_parser = finite, long, default_value_t = 0.0)]
        at: f64,
        /// File to write; its ending chooses the kind.
        #[arg(short)]
        output: PathBuf,
    },
    /// Lays a picture under the plan, scaled by one length that is known in it.
    Underlay {
        /// The plan file.
        plan: PathBuf,
        /// The picture: PNG or JPEG; a copy is kept beside the plan. None: the underlay is taken away.
        picture: Option<PathBuf>,
        /// One end of the known length, pixels from the picture's upper left: X,Y.
        #[arg(long, value_parser = pair)]
        from: Option<[f64; 2]>,
        /// The other end.
        #[arg(long, value_parser = pair)]
        to: Option<[f64; 2]>,
        /// The known length: 3.6, 360cm, 11'10".
        #[arg(long)]
        length: Option<String>,
        /// Where the picture's lower left corner lies, metres: X,Y.
        #[arg(long, value_parser = pair, allow_hyphen_values = true, default_value = "0,0")]
        origin: [f64; 2],
        /// File to write; none: the plan is written back.
        #[arg(short)]
        output: Option<PathBuf>,
    },
    /// Every list as CSV.
    Lists {
        /// The plan file.
        plan: PathBuf,
        /// Folder to write into; made if it is not there.
        #[arg(short)]
        output: PathBuf,
        /// What is owned and what the rest costs.
        #[arg(long)]
        kit: Option<PathBuf>,
        /// Replace files there that no earlier run wrote.
        #[arg(long)]
        force: bool,
    },
    /// Puts items into a plan, or merges settings into it: for scripts.
    Put {
        /// The plan file.
        plan: PathBuf,
        /// JSON: a list of items (`{"item": "room", "id": …}`; one with a known id replaces it), or an object merged
        /// into the plan (RFC 7396).
        items: PathBuf,
        /// File to write; none: the plan is written back.
        #[arg(short)]
        output: Option<PathBuf>,
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
    Schema {
        /// Of the kit file instead.
        #[arg(long)]
        kit: bool,
    },
    /// Writes an empty plan.
    New {
        /// File to write; an existing one is not overwritten.
        #[arg(short)]
        output: PathBuf,
    },
    /// Opens the demo plan in the editor; without a display, writes its sheet.
    Demo,
}

/// Finite numbers between commas, as many as are asked for.
fn numbers<const N: usize>(text: &str) -> Result<[f64; N], String> {
    let parts: Vec<f64> = text
        .split(',')
        .map(|p| p.trim().parse::<f64>().map_err(|e| format!("\"{p}\": {e}")))
        .collect::<Result<_, _>>()?;
    let wanted = || format!("write {N} finite numbers with commas between them");
    let parts: [f64; N] = parts.try_into().map_err(|_| wanted())?;
    if parts.iter().all(|v| v.is_finite()) { Ok(parts) } else { Err(wanted()) }
}

/// A number that is one: not infinite, not "nan".
fn finite(text: &str) -> Result<f64, String> {
    numbers::<1>(text).map(|[n]| n)
}

fn triple(text: &str) -> Result<DVec3, String> {
    numbers(text).map(DVec3::from_array)
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

fn unit(text: &str) -> Result<f64, String> {
    match text {
        "mm" => Ok(0.001),
        "cm" => Ok(0.01),
        "m" => Ok(1.0),
        "in" => Ok(0.0254),
        "ft" => Ok(0.3048),
        _ => text
            .parse::<f64>()
            .ok()
            .filter(|v| *v > 0.0 && v.is_finite())
            .ok_or_else(|| "mm, cm, m, in, ft, or metres a unit as a number above 0".into()),
    }
}

fn pair(text: &str) -> Result<[f64; 2], String> {
    numbers(text)
}

fn pin(text: &str) -> Result<(String, usize), String> {
    let bad = || "write SHOT=PLACE, like 2=1".to_string();
    let (shot, place) = text.split_once('=').ok_or_else(bad)?;
    let place: usize = place.trim().parse().map_err(|_| bad())?;
    if place == 0 { Err(bad()) } else { Ok((shot.trim().to_string(), place)) }
}

fn language(text: &str) -> Result<Language, String> {
    Language::of_tag(text).ok_or_else(|| "write en or de".into())
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

fn map_shows(text: &str) -> Result<MapShows, String> {
    match text.to_lowercase().as_str() {
        "level" => Ok(MapShows::Level),
        "key-fill" => Ok(MapShows::KeyFill),
        "colour" => Ok(MapShows::Colour),
        _ => Err("level, key-fill or colour".into()),
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
