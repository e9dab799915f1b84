//! Everything computed of a whole plan: each shot, each lighting state, the cuts, the kit and the order.

use crate::aim::{Aim, aim};
use crate::attempt::{Answer, Failed, attempt, kept};
use crate::blocking::Moments;
use crate::continuity::{self, Match};
use crate::facts::{ShotFacts, facts_of_scene, light_of, one_then_all, with_failed};
use crate::kit::{KitFile, KitList, kit_list};
use crate::light::Transport;
use crate::order::{DayOrder, order};
use crate::plan::{Plan, Rig, Shot, lighting_states};
use crate::power::{CableRun, CircuitLoad, Floorway, Rebalance, cable_runs_on, loads, rebalance, tripods};
use crate::progress::{Progress, Stopped};
use crate::scene::Scene;
use serde::Serialize;
use std::convert::Infallible;
use tapemark_words::say;

/// A shot with its light solved.
pub struct WorkedShot<'a> {
    /// Which.
    pub shot: &'a Shot,
    /// Its first moment.
    pub scene: Scene,
    /// Its light.
    pub light: Transport,
    /// Everything computed of it.
    pub facts: ShotFacts,
}

/// A lighting state's wiring.
#[derive(Debug, Clone, Serialize)]
pub struct RigFacts {
    /// The lamps as they stand.
    #[serde(flatten)]
    pub rig: Rig,
    /// Names of the shots lit so.
    pub shots: Vec<String>,
    /// Load per circuit.
    pub circuits: Vec<CircuitLoad>,
    /// Cables from outlet to lamp.
    pub cables: Vec<CableRun>,
    /// A better spread of the plugs.
    pub suggestion: Rebalance,
    /// What each of its lamps is aimed at as the first of those shots begins.
    #[serde(skip)]
    pub aims: Vec<Option<Aim>>,
}

/// Everything computed of a plan.
pub struct DayFacts<'a> {
    /// Shot by shot, in the order of the storyboard.
    pub shots: Vec<WorkedShot<'a>>,
    /// Lighting state by lighting state.
    pub rigs: Vec<RigFacts>,
    /// Shots that cut together.
    pub matches: Vec<Match>,
    /// What to bring.
    pub kit: KitList,
    /// The order of the day.
    pub order: DayOrder,
    /// Answers about the whole plan that could not be worked out; their places are empty.
    pub failed: Vec<Failed>,
}

impl<'a> DayFacts<'a> {
    /// Works everything out, each shot at a moment given in seconds.
    #[must_use]
    pub fn of(plan: &'a Plan, kit: &KitFile, at_s: f64) -> DayFacts<'a> {
        let Ok(day) = DayFacts::built(plan, kit, |shot| Ok::<_, Infallible>(worked(plan, shot, at_s)));
        day
    }

    /// The same, a step a shot.
    ///
    /// # Errors
    /// When it was stopped.
    pub fn watched(plan: &'a Plan, kit: &KitFile, at_s: f64, progress: &Progress) -> Result<DayFacts<'a>, Stopped> {
        progress.expect(plan.shots.len());
        DayFacts::built(plan, kit, |shot| progress.step(|| worked(plan, shot, at_s)))
    }

    fn built<E: Send>(
        plan: &'a Plan,
        kit: &KitFile,
        shot: impl Fn(&'a Shot) -> Result<WorkedShot<'a>, E> + Sync,
    ) -> Result<DayFacts<'a>, E> {
        let all: Vec<&Shot> = plan.shots.iter().collect();
        let whole = || {
            let kit = attempt(Answer::Kit, || kit_list(plan, kit));
            (kit, attempt(Answer::Order, || order(plan)), attempt(Answer::Cables, || rig_facts(plan)))
        };
        let (shots, (kit, order, rigs)) = rayon::join(|| one_then_all(&all, &shot), whole);
        let shots: Vec<WorkedShot<'_>> = shots.into_iter().collect::<Result<_, E>>()?;
        let light = |shot: &Shot| shots.iter().find(|w| w.shot.id == shot.id).map(|w| &w.light);
        let pairs = || continuity::of_pairs(plan, &continuity::pairs(plan), light);
        let mut failed = Vec::new();
        let matches = kept(&mut failed, attempt(Answer::Matches, pairs));
        let kit = kept(&mut failed, kit);
        let order = kept(&mut failed, order);
        let rigs = kept(&mut failed, rigs);
        Ok(DayFacts { shots, rigs, matches, kit, order, failed })
    }
}

/// A shot with everything worked out at a moment.
#[must_use]
pub fn worked<'a>(plan: &Plan, shot: &'a Shot, at_s: f64) -> WorkedShot<'a> {
    let moments = Moments::of(plan, shot);
    let scene = moments.stage.scene(plan, shot, at_s);
    let (light, failed) = light_of(plan, shot, &scene);
    let facts = with_failed(facts_of_scene(plan, shot, &scene, &light, &moments), plan, failed);
    WorkedShot { shot, scene, light: light.settled(), facts }
}

/// The wiring of every lighting state, in the order of the storyboard.
#[must_use]
pub fn rig_facts(plan: &Plan) -> Vec<RigFacts> {
    let floor = Floorway::of(plan);
    lighting_states(plan)
        .into_iter()
        .filter_map(|state| {
            let mut rig = plan.shot_rig(state.first)?.into_owned();
            if !state.first.lamps.is_empty() {
                rig.name = say!("with-lamps-of-its-own", rig = rig.name);
            }
            let scene = Scene::of(plan, state.first, 0.0);
            Some(RigFacts {
                aims: rig.fixtures.iter().map(|f| aim(plan, &scene, f)).collect(),
                shots: state.shots.iter().map(|s| s.name.clone()).collect(),
                circuits: loads(plan, &rig),
                cables: cable_runs_on(plan, &rig, &floor, &tripods(plan, state.shots.iter().copied())),
                suggestion: rebalance(plan, &rig),
                rig,
            })
        })
        .collect()
}
