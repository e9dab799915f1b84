//! Commands about the shooting day: continuity, power, kit, order and lists.

use super::{changed, fail, json, shots, tell};
use crate::files::{self, Replace};
use crate::words::{carry_lines, kit_lines, match_lines, order_lines, power_lines};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use tapemark_core::continuity::{self, Match, carry_over};
use tapemark_core::day::rig_facts;
use tapemark_core::edit::{Edit, Settings};
use tapemark_core::facts::one_then_all;
use tapemark_core::kit::{KitFile, kit_list};
use tapemark_core::order::order;
use tapemark_core::plan::{Pin, Plan, PlanError, Shot};
use tapemark_core::progress::{Progress, Stopped};
use tapemark_sheet::{Page, Picture, SheetSpec};
use tapemark_words::say;

type Done = Result<ExitCode, PlanError>;

pub(super) fn continuity(plan: &Path, shot: Option<&str>, as_json: bool) -> Done {
    let plan = files::read(plan)?;
    let only = shot.map(|s| shots(&plan, Some(s)).map(|l| l[0].id.clone())).transpose()?;
    let pairs = continuity::pairs(&plan);
    let asked = pairs.into_iter().filter(|(a, b)| only.as_ref().is_none_or(|id| &a.id == id || &b.id == id));
    let found: Vec<Match> = asked.flat_map(|(a, b)| continuity::matched(&plan, a, b)).collect();
    let all = found.iter().all(|m| m.matches);
    if as_json {
        tell(&json(&found)?);
    } else if found.is_empty() {
        tell(say!("no-shots-cut-together-on-a"));
    } else {
        found.iter().for_each(|m| tell(&match_lines(&plan, m).join("\n")));
    }
    Ok(if all { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

pub(super) fn carry(
    plan: &Path,
    (from, to): (&str, &str),
    person: Option<String>,
    output: Option<PathBuf>,
    as_json: bool,
) -> Done {
    let plan = files::read(plan)?;
    let (a, b) = (shots(&plan, Some(from))?[0], shots(&plan, Some(to))?[0]);
    let both = |s: &Shot, p: &tapemark_core::plan::PersonId| s.marks.iter().any(|m| &m.person == p);
    let person = person
        .map(Into::into)
        .or_else(|| b.faces.iter().chain(&a.faces).find(|p| both(a, p) && both(b, p)).cloned())
        .ok_or_else(|| fail(say!("no-face-is-in-both-shots"), "--person", say!("name-somebody-with-a-mark-in")))?;
    let found = carry_over(&plan, a, b, &person).map_err(|why| {
        fail(why, say!("shots-name-and-name-2", name = a.name, name_2 = b.name), say!("change-the-plan-or-name-other"))
    })?;
    if let (Some(file), Some(edit)) = (output, &found.edit) {
        files::write(&file, &changed(&plan, edit)?)?;
    }
    tell(&if as_json { json(&found)? } else { carry_lines(&plan, &found).join("\n") });
    Ok(if found.matches && found.broken.is_empty() { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

pub(super) fn power(plan: &Path, shot: Option<&str>, output: Option<PathBuf>, as_json: bool) -> Done {
    let plan = files::read(plan)?;
    let asked = shot.map(|s| shots(&plan, Some(s)).map(|l| l[0].name.clone())).transpose()?;
    let mut out = rig_facts(&plan);
    out.retain(|r| asked.as_ref().is_none_or(|name| r.shots.contains(name)));
    if as_json {
        tell(&json(&out)?);
    } else {
        for p in &out {
            tell(&say!("rig-shots", rig = p.rig.name, shots = p.shots.join(", ")));
            tell(&power_lines(&plan, &p.circuits, &p.cables, &p.suggestion).join("\n"));
        }
        tell(tapemark_core::power::power_caution());
    }
    if let Some(file) = output {
        let mut next = plan.clone();
        for r in out.iter().filter(|r| !r.suggestion.moves.is_empty()) {
            next = changed(&next, &r.suggestion.edit())?;
        }
        files::write(&file, &next)?;
    }
    let holds = out.iter().all(|p| p.circuits.iter().all(|c| c.current_a <= c.limit_a + 1e-9));
    Ok(if holds { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

/// The kit file named, or an empty one.
pub(super) fn read_kit(path: Option<&Path>) -> Result<KitFile, PlanError> {
    path.map_or_else(|| Ok(KitFile::default()), files::read_kit)
}

pub(super) fn kit(plan: &Path, kit: Option<&Path>, as_json: bool) -> Done {
    let plan = files::read(plan)?;
    let list = kit_list(&plan, &read_kit(kit)?);
    tell(&if as_json { json(&list)? } else { kit_lines(&list).join("\n") });
    Ok(ExitCode::SUCCESS)
}

pub(super) fn day(plan: &Path, pins: Vec<(String, usize)>, output: Option<PathBuf>, as_json: bool) -> Done {
    let mut plan = files::read(plan)?;
    if !pins.is_empty() {
        let mut day = plan.day.clone();
        for (shot, place) in pins {
            let id = shots(&plan, Some(&shot))?[0].id.clone();
            day.pins.retain(|p| p.shot != id && p.place != place);
            day.pins.push(Pin { shot: id, place });
        }
        plan = changed(&plan, &Edit::Settings(Box::new(Settings { day, ..Settings::of(&plan) })))?;
    }
    let found = order(&plan);
    tell(&if as_json { json(&found)? } else { order_lines(&plan, &found).join("\n") });
    if let Some(file) = output {
        files::write(&file, &plan)?;
    }
    Ok(if found.troubles.is_empty() { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

pub(super) fn lists(plan: &Path, folder: &Path, kit: Option<&Path>, replace: Replace) -> Done {
    for path in write_lists(&files::read(plan)?, &read_kit(kit)?, folder, replace, Some(plan))? {
        tell(&path.display().to_string());
    }
    Ok(ExitCode::SUCCESS)
}

/// Writes every list of a plan as CSV into a folder; their paths.
///
/// # Errors
/// As [`files::write_into`].
pub fn write_lists(
    plan: &Plan,
    kit: &KitFile,
    folder: &Path,
    replace: Replace,
    source: Option<&Path>,
) -> Result<Vec<PathBuf>, PlanError> {
    let list = |l: tapemark_sheet::List| (l.file_name(), l.csv().into_bytes());
    let all: Vec<(String, Vec<u8>)> = tapemark_sheet::lists(plan, kit).into_iter().map(list).collect();
    files::write_into(folder, &all, replace, source)
}

fn picture_of(file: &Path) -> Option<Picture> {
    let p = files::picture(file).ok()?;
    Some(Picture { width: p.width() as usize, height: p.height() as usize, rgba: p.into_raw() })
}

/// The picture that lies under a plan, read from beside its file; none when it has none or it is gone.
#[must_use]
pub fn underlay_of(plan: &Plan, file: Option<&Path>) -> Option<Arc<Picture>> {
    let name = &plan.location.underlay.as_ref()?.file;
    picture_of(&file?.parent()?.join(name)).map(Arc::new)
}

/// The pages of the whole day, with the storyboard pictures that are beside the plan's file.
pub(super) fn pages(
    plan: &Plan,
    kit: &KitFile,
    spec: &SheetSpec,
    beside: Option<&Path>,
    progress: &Progress,
) -> Result<Vec<Page>, Stopped> {
    let pictures = |shot: &Shot| picture_of(&beside?.parent()?.join(shot.picture.as_ref()?));
    tapemark_sheet::day_pages(plan, kit, spec, &pictures, progress)
}

/// What is told of work that was stopped.
pub(super) fn stopped(_: Stopped) -> PlanError {
    fail(say!("stopped-before-the-end"), "", say!("nothing-was-written-ask-again"))
}

/// Writes the page for the crew's phones.
///
/// # Errors
/// When the name does not end in `.html`, when it was stopped, or when the file cannot be written.
pub fn write_crew_page(plan: &Plan, kit: &KitFile, output: &Path, progress: &Progress) -> Result<(), PlanError> {
    let ending = super::exchange::ending(output);
    if ending != "html" && ending != "htm" {
        return Err(fail(say!("is-no-crew-page", ending), output.display().to_string(), say!("end-the-name-in-html")));
    }
    let page = tapemark_sheet::to_html(plan, kit, progress).map_err(stopped)?;
    files::write_atomically(output, page.as_bytes())
}

/// Writes a phone-sized picture of each shot; their paths.
///
/// # Errors
/// When a shot is not there, when it was stopped, or as [`files::write_into`].
pub fn write_phones(
    plan: &Plan,
    shot: Option<&str>,
    folder: &Path,
    (replace, source): (Replace, Option<&Path>),
    progress: &Progress,
) -> Result<Vec<PathBuf>, PlanError> {
    let day = order(plan);
    let names = files::names_apart(&plan.shots.iter().map(|s| s.name.as_str()).collect::<Vec<_>>());
    let picture = |s: &Shot| {
        let call = day.calls.iter().find(|c| c.setup.shots.contains(&s.id)).map(|c| c.from);
        let page = tapemark_sheet::phone_page(plan, &tapemark_core::day::worked(plan, s, 0.0), call);
        let place = plan.shots.iter().position(|o| o.id == s.id).unwrap_or_default();
        let name = format!("shot-{}.png", names[place]);
        let bytes = tapemark_sheet::to_png(&page, tapemark_sheet::PHONE_DPI)
            .map_err(|e| fail(e.to_string(), &name, say!("report-this")))?;
        Ok((name, bytes))
    };
    let asked = shots(plan, shot)?;
    progress.expect(asked.len());
    let one = |s| progress.step(|| picture(s)).unwrap_or_else(|e| Err(stopped(e)));
    let pictures = one_then_all(&asked, one).into_iter().collect::<Result<Vec<_>, PlanError>>()?;
    files::write_into(folder, &pictures, replace, source)
}
