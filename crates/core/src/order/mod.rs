//! The order of the day: set-ups in the order that costs least, on the clock, with what to strike and keep.

mod solve;

pub use solve::{EXACT_SETUPS, Problem, Solved, Window, cost_of, solve};

use crate::geometry::normalize_deg;
use crate::plan::{CameraId, Clock, Fixture, FixtureId, PersonId, Pin, Plan, RigId, Shot, ShotId};
use glam::DVec2;
use serde::Serialize;
use tapemark_words::{figure, say};

/// Shots taken from one camera place in one light: taken together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Setup {
    /// Its shots, in the order of the storyboard.
    pub shots: Vec<ShotId>,
    /// Their names.
    pub names: Vec<String>,
    /// Lighting state.
    pub rig: RigId,
    /// Camera place; absent: not placed yet.
    pub camera: Option<CameraId>,
    /// Who is in it.
    pub cast: Vec<PersonId>,
    /// Rehearsal and takes, minutes.
    pub minutes: f64,
    /// Not before, minutes after midnight.
    pub earliest_min: Option<f64>,
    /// Done by, minutes after midnight.
    pub latest_min: Option<f64>,
}

/// What is done with a lamp between two set-ups.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LampTask {
    /// Stays as it stands.
    Keep,
    /// Stays where it stands; dimmer, gel or aim change.
    Reset,
    /// Goes to another place.
    Move,
    /// Comes in.
    Set,
    /// Goes out.
    Strike,
}

impl LampTask {
    /// The trade's word.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            LampTask::Keep => say!("keep"),
            LampTask::Reset => say!("reset"),
            LampTask::Move => say!("move"),
            LampTask::Set => say!("set"),
            LampTask::Strike => say!("strike"),
        }
    }
}

/// One lamp at a change.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LampChange {
    /// Its name.
    pub name: String,
    /// The lamp after the change, or the one struck.
    pub fixture: FixtureId,
    /// What is done.
    pub task: LampTask,
}

/// A line of the call sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Call {
    /// The set-up.
    pub setup: Setup,
    /// Its place in the day, from 1.
    pub place: usize,
    /// Whether the place is kept by hand.
    pub pinned: bool,
    /// The change begins.
    pub change_at: Clock,
    /// The change takes, minutes.
    pub change_min: f64,
    /// Nothing to do but wait for the hour, minutes.
    pub wait_min: f64,
    /// Rehearsal begins.
    pub from: Clock,
    /// Last take ends.
    pub to: Clock,
    /// How much later it could end and still be in time, minutes; negative: late. Absent: no hour set.
    pub slack_min: Option<f64>,
    /// Lamps at the change, worst work first.
    pub lamps: Vec<LampChange>,
    /// Whether the camera goes to another place.
    pub camera_moves: bool,
}

/// When a person is called and let go.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PersonDay {
    /// Who.
    pub person: PersonId,
    /// Name.
    pub name: String,
    /// Called for.
    pub call: Clock,
    /// Free again.
    pub release: Clock,
    /// Waits between, minutes.
    pub waits_min: f64,
}

/// The day.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct DayOrder {
    /// Line by line.
    pub calls: Vec<Call>,
    /// Cast.
    pub people: Vec<PersonDay>,
    /// Day's cost: minutes, with waiting and lateness weighed in.
    pub cost: f64,
    /// Cost in the order of the storyboard.
    pub storyboard_cost: f64,
    /// Whether no order costs less.
    pub exact: bool,
    /// Last line ends.
    pub ends: Clock,
    /// Time left until the place must be left, minutes; negative: over.
    pub slack_min: f64,
    /// What cannot be kept, a line each.
    pub troubles: Vec<String>,
}

/// Minutes as a clock of one day; past midnight stays at 23:59.
fn clock(minutes: f64) -> Clock {
    Clock { minutes: (minutes.round().max(0.0) as u32).min(1439) }
}

/// The plan's shots gathered to set-ups, in the order of the storyboard. Variants are not taken.
#[must_use]
pub fn setups(plan: &Plan) -> Vec<Setup> {
    let mut out: Vec<Setup> = Vec::new();
    for shot in plan.shots.iter().filter(|s| s.variant_of.is_none()) {
        let minutes = takes_min(plan, shot);
        let hour = hours_of(plan, shot);
        let cast: Vec<PersonId> =
            plan.cast.iter().filter(|p| shot.marks.iter().any(|m| m.person == p.id)).map(|p| p.id.clone()).collect();
        let joins = |s: &&mut Setup| {
            let first = s.shots.first().and_then(|id| plan.shot(id));
            s.rig == shot.rig
                && s.camera.is_some()
                && s.camera == shot.camera
                && first.is_some_and(|f| f.lamps == shot.lamps && f.clock == shot.clock)
        };
        if let Some(s) = out.iter_mut().find(joins) {
            s.shots.push(shot.id.clone());
            s.names.push(shot.name.clone());
            s.minutes += minutes;
            s.cast.extend(cast.into_iter().filter(|p| !s.cast.contains(p)).collect::<Vec<_>>());
            s.earliest_min = later(s.earliest_min, hour.0);
            s.latest_min = sooner(s.latest_min, hour.1);
        } else {
            out.push(Setup {
                shots: vec![shot.id.clone()],
                names: vec![shot.name.clone()],
                rig: shot.rig.clone(),
                camera: shot.camera.clone(),
                cast,
                minutes: plan.day.rehearse_min + minutes,
                earliest_min: hour.0,
                latest_min: hour.1,
            });
        }
    }
    out
}

fn later(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    a.zip(b).map(|(a, b)| a.max(b)).or(a).or(b)
}
fn sooner(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    a.zip(b).map(|(a, b)| a.min(b)).or(a).or(b)
}

/// Minutes a shot's takes take.
fn takes_min(plan: &Plan, shot: &Shot) -> f64 {
    f64::from(shot.takes.unwrap_or(plan.day.takes)) * (shot.length_s / 60.0 + plan.day.between_takes_min)
}

/// Not before and done by: the shot's own hour of daylight, and the hours of its cast.
fn hours_of(plan: &Plan, shot: &Shot) -> (Option<f64>, Option<f64>) {
    let of_sun = shot.clock.map(|c| f64::from(c.minutes));
    let window = plan.day.window_min;
    let cast = || plan.cast.iter().filter(|p| shot.marks.iter().any(|m| m.person == p.id));
    let from = cast().filter_map(|p| p.from).map(|c| f64::from(c.minutes)).reduce(f64::max);
    let until = cast().filter_map(|p| p.until).map(|c| f64::from(c.minutes)).reduce(f64::min);
    (later(of_sun.map(|m| m - window), from), sooner(of_sun.map(|m| m + window), until))
}

/// A lamp counts as the same place within this, metres and degrees.
const SAME_PLACE_M: f64 = 0.1;
const SAME_AIM_DEG: f64 = 5.0;

/// What is done with the lamps between two sets of them: lamps of one kind are the same lamp.
#[must_use]
pub fn lamp_changes(before: &[&Fixture], after: &[&Fixture]) -> Vec<LampChange> {
    // Lamps of the place itself stay.
    let brought = |f: &&&Fixture| !matches!(f.mount, crate::plan::Mount::Ceiling | crate::plan::Mount::Set);
    let mut left: Vec<&Fixture> = before.iter().filter(brought).copied().collect();
    let mut out = Vec::new();
    let same_kind = |a: &Fixture, b: &Fixture| {
        a.head.class() == b.head.class() && a.lamp == b.lamp && (a.watts - b.watts).abs() < 0.5
    };
    let distance = |a: &Fixture, b: &Fixture| {
        DVec2::from_array(a.position_m).distance(DVec2::from_array(b.position_m)) + (a.height_m - b.height_m).abs()
    };
    // The nearest of its kind first, so that what can stay stays.
    let mut wanted: Vec<&Fixture> = after.iter().filter(brought).copied().collect();
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for (i, a) in wanted.iter().enumerate() {
        for (j, b) in left.iter().enumerate().filter(|(_, b)| same_kind(a, b)) {
            pairs.push((distance(a, b), i, j));
        }
    }
    pairs.sort_by(|x, y| x.0.total_cmp(&y.0));
    let (mut used_w, mut used_l) = (vec![false; wanted.len()], vec![false; left.len()]);
    for (d, i, j) in pairs {
        if used_w[i] || used_l[j] {
            continue;
        }
        (used_w[i], used_l[j]) = (true, true);
        let (a, b) = (wanted[i], left[j]);
        let turned = normalize_deg(a.pan_deg - b.pan_deg);
        let same_aim = turned.min(360.0 - turned) < SAME_AIM_DEG && (a.tilt_deg - b.tilt_deg).abs() < SAME_AIM_DEG;
        let same_light = a.on == b.on
            && (a.dimmer - b.dimmer).abs() < 0.01
            && a.gels == b.gels
            && a.diffusion == b.diffusion
            && a.scrim_stops == b.scrim_stops
            && a.barn_doors == b.barn_doors;
        let task = if d > SAME_PLACE_M {
            LampTask::Move
        } else if same_aim && same_light {
            LampTask::Keep
        } else {
            LampTask::Reset
        };
        out.push(LampChange { name: a.label(), fixture: a.id.clone(), task });
    }
    let mut i = 0;
    wanted.retain(|_| {
        i += 1;
        !used_w[i - 1]
    });
    i = 0;
    left.retain(|_| {
        i += 1;
        !used_l[i - 1]
    });
    out.extend(wanted.iter().map(|f| LampChange { name: f.label(), fixture: f.id.clone(), task: LampTask::Set }));
    out.extend(left.iter().map(|f| LampChange { name: f.label(), fixture: f.id.clone(), task: LampTask::Strike }));
    out.sort_by_key(|c| std::cmp::Reverse(c.task as u8));
    out
}

/// Minutes a lamp's task takes, in lamps set.
fn work(task: LampTask) -> f64 {
    match task {
        LampTask::Keep => 0.0,
        LampTask::Reset => 0.25,
        LampTask::Move | LampTask::Set => 1.0,
        LampTask::Strike => 0.5,
    }
}

/// The lamps of a set-up: those of any of its shots.
fn lamps<'a>(plan: &'a Plan, setup: &Setup) -> Vec<&'a Fixture> {
    setup.shots.first().and_then(|id| plan.shot(id)).map(|s| plan.shot_fixtures(s)).unwrap_or_default()
}

/// Minutes from one set-up to another; from nothing at the start of the day.
fn change_min(plan: &Plan, from: Option<&Setup>, to: &Setup) -> f64 {
    let before = from.map(|s| lamps(plan, s)).unwrap_or_default();
    let changes = lamp_changes(&before, &lamps(plan, to));
    let d = &plan.day;
    let lamp_min: f64 = changes.iter().map(|c| work(c.task) * d.lamp_min).sum();
    let rig = from.is_none_or(|f| f.rig != to.rig);
    let camera = from.is_none_or(|f| f.camera != to.camera);
    lamp_min + if rig { d.rig_change_min } else { 0.0 } + if camera { d.camera_move_min } else { 0.0 }
}

/// The plan's day as a problem to solve.
#[must_use]
pub fn problem(plan: &Plan, setups: &[Setup]) -> Problem {
    let mask = |s: &Setup| {
        plan.cast.iter().enumerate().filter(|(_, p)| s.cast.contains(&p.id)).fold(0u64, |m, (i, _)| m | 1 << (i % 64))
    };
    let mut pinned = vec![None; setups.len()];
    for pin in &plan.day.pins {
        if let Some(i) = setups.iter().position(|s| s.shots.contains(&pin.shot)) {
            let taken = pinned.contains(&Some(pin.place - 1));
            if pin.place <= setups.len() && !taken {
                pinned[i] = Some(pin.place - 1);
            }
        }
    }
    Problem {
        start_min: f64::from(plan.day.start.minutes),
        minutes: setups.iter().map(|s| s.minutes).collect(),
        first_change: setups.iter().map(|s| change_min(plan, None, s)).collect(),
        change: setups.iter().map(|a| setups.iter().map(|b| change_min(plan, Some(a), b)).collect()).collect(),
        windows: setups
            .iter()
            .map(|s| Window {
                earliest: s.earliest_min.unwrap_or(f64::NEG_INFINITY),
                latest: s.latest_min.unwrap_or(f64::INFINITY),
            })
            .collect(),
        people: setups.iter().map(mask).collect(),
        waiting_weight: plan.day.waiting_weight,
        pinned,
    }
}

/// The order of the day that costs least.
#[must_use]
pub fn order(plan: &Plan) -> DayOrder {
    let list = setups(plan);
    let p = problem(plan, &list);
    let solved = solve(&p);
    let story: Vec<usize> = (0..list.len()).collect();
    laid_out(plan, &list, &p, &solved, cost_of(&p, &story).cost)
}

fn laid_out(plan: &Plan, list: &[Setup], p: &Problem, solved: &Solved, storyboard_cost: f64) -> DayOrder {
    let run = cost_of(p, &solved.order);
    let mut calls = Vec::with_capacity(list.len());
    let mut before: Option<usize> = None;
    let mut now = p.start_min;
    for (place, &i) in solved.order.iter().enumerate() {
        let change = before.map_or(p.first_change[i], |b| p.change[b][i]);
        let from = run.starts[place];
        let to = from + p.minutes[i];
        let earlier = before.map(|b| lamps(plan, &list[b])).unwrap_or_default();
        calls.push(Call {
            setup: list[i].clone(),
            place: place + 1,
            pinned: p.pinned[i].is_some(),
            change_at: clock(now),
            change_min: change,
            wait_min: (from - now - change).max(0.0),
            from: clock(from),
            to: clock(to),
            slack_min: list[i].latest_min.map(|l| l - to),
            lamps: lamp_changes(&earlier, &lamps(plan, &list[i])),
            camera_moves: before.is_none_or(|b| list[b].camera != list[i].camera),
        });
        now = to;
        before = Some(i);
    }
    let people = plan
        .cast
        .iter()
        .filter_map(|c| {
            let at: Vec<usize> = (0..calls.len()).filter(|k| calls[*k].setup.cast.contains(&c.id)).collect();
            let (first, last) = (*at.first()?, *at.last()?);
            let own: f64 = at.iter().map(|k| p.minutes[solved.order[*k]]).sum();
            let (from, to) = (run.starts[first], run.starts[last] + p.minutes[solved.order[last]]);
            Some(PersonDay {
                person: c.id.clone(),
                name: c.name.clone(),
                call: clock(from),
                release: clock(to),
                waits_min: (to - from - own).max(0.0),
            })
        })
        .collect();
    let slack_min = f64::from(plan.day.wrap.minutes) - now;
    let mut troubles: Vec<String> = calls
        .iter()
        .filter(|c| c.slack_min.is_some_and(|s| s < -0.5))
        .map(|c| {
            say!(
                "shot-ends-min-too-late-for",
                names = c.setup.names.join(", "),
                slack_min = figure(-c.slack_min.unwrap_or(0.0), 0)
            )
        })
        .collect();
    if slack_min < -0.5 {
        troubles.push(say!("the-day-runs-min-past-the", slack_min = figure(-slack_min, 0), wrap = plan.day.wrap));
    }
    for pin in &plan.day.pins {
        if !calls.iter().any(|c| c.place == pin.place && c.setup.shots.contains(&pin.shot)) {
            troubles.push(say!(
                "shot-cannot-be-kept-at-place",
                shot = plan.shot(&pin.shot).map_or("", |s| s.name.as_str()),
                place = pin.place
            ));
        }
    }
    DayOrder {
        calls,
        people,
        cost: run.cost,
        storyboard_cost,
        exact: solved.exact,
        ends: clock(now),
        slack_min,
        troubles,
    }
}

/// Pins that keep the day as it is ordered now, up to a place.
#[must_use]
pub fn pins_of(day: &DayOrder, up_to: usize) -> Vec<Pin> {
    let shots = day.calls.iter().take(up_to).filter_map(|c| Some((c.setup.shots.first()?.clone(), c.place)));
    shots.map(|(shot, place)| Pin { shot, place }).collect()
}

/// Lamps at a change: `strike back; move key; keep fill`.
#[must_use]
pub fn tasks_in_words(lamps: &[LampChange]) -> String {
    let tasks = [LampTask::Strike, LampTask::Set, LampTask::Move, LampTask::Reset, LampTask::Keep];
    let said = tasks.into_iter().filter_map(|t| {
        let names: Vec<&str> = lamps.iter().filter(|l| l.task == t).map(|l| l.name.as_str()).collect();
        (!names.is_empty()).then(|| format!("{} {}", t.label(), names.join(", ")))
    });
    said.collect::<Vec<_>>().join("; ")
}
