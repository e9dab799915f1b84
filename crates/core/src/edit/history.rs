//! Undo and redo as differences between plans: only what changed is kept.

use crate::plan::{Camera, Circuit, Opening, Outlet, Person, Piece, Plan, Rig, Room, Shot};

/// What one list lost and gained: the run between the first and last place where the two differ.
#[derive(Debug, Clone)]
struct Splice<T> {
    at: usize,
    before: Vec<T>,
    after: Vec<T>,
}

impl<T: PartialEq + Clone> Splice<T> {
    fn between(before: &[T], after: &[T]) -> Option<Splice<T>> {
        let front = before.iter().zip(after).take_while(|(a, b)| a == b).count();
        if front == before.len() && front == after.len() {
            return None;
        }
        let back = before[front..].iter().rev().zip(after[front..].iter().rev()).take_while(|(a, b)| a == b).count();
        Some(Splice {
            at: front,
            before: before[front..before.len() - back].to_vec(),
            after: after[front..after.len() - back].to_vec(),
        })
    }
    fn forward(&self, list: &mut Vec<T>) {
        list.splice(self.at..self.at + self.before.len(), self.after.iter().cloned());
    }
    fn back(&self, list: &mut Vec<T>) {
        list.splice(self.at..self.at + self.after.len(), self.before.iter().cloned());
    }
}

macro_rules! delta {
    ($($field:ident : $type:ty = $($path:ident).+),+ $(,)?) => {
        /// The difference between two plans.
        #[derive(Debug, Clone)]
        struct Delta {
            label: String,
            header: Option<Box<(Plan, Plan)>>,
            $($field: Option<Splice<$type>>,)+
        }
        impl Delta {
            fn between(label: String, before: &Plan, after: &Plan) -> Delta {
                let (a, b) = (header(before), header(after));
                Delta {
                    label,
                    header: (a != b).then(|| Box::new((a, b))),
                    $($field: Splice::between(&before.$($path).+, &after.$($path).+),)+
                }
            }
            fn is_empty(&self) -> bool {
                self.header.is_none() $(&& self.$field.is_none())+
            }
            fn forward(&self, plan: &mut Plan) {
                if let Some(h) = &self.header { set_header(plan, &h.1); }
                $(if let Some(s) = &self.$field { s.forward(&mut plan.$($path).+); })+
            }
            fn back(&self, plan: &mut Plan) {
                if let Some(h) = &self.header { set_header(plan, &h.0); }
                $(if let Some(s) = &self.$field { s.back(&mut plan.$($path).+); })+
            }
        }
        /// A plan without its lists.
        fn header(plan: &Plan) -> Plan {
            let mut bare = Plan { rigs: Vec::new().into(), shots: Vec::new().into(), ..Plan::empty() };
            set_header(&mut bare, plan);
            bare
        }
        fn set_header(plan: &mut Plan, from: &Plan) {
            plan.title.clone_from(&from.title);
            plan.notes.clone_from(&from.notes);
            plan.length_unit = from.length_unit;
            plan.exposure = from.exposure.clone();
            plan.limits = from.limits.clone();
            plan.daylight.clone_from(&from.daylight);
            plan.day = from.day.clone();
            plan.unknown = from.unknown.clone();
            let l = &mut plan.location;
            let f = &from.location;
            l.name.clone_from(&f.name);
            l.north_deg = f.north_deg;
            l.latitude_deg = f.latitude_deg;
            l.longitude_deg = f.longitude_deg;
            l.wall_thickness_m = f.wall_thickness_m;
            l.mains_v = f.mains_v;
            l.underlay = f.underlay.clone();
            l.unknown = f.unknown.clone();
        }
    };
}

delta! {
    rooms: Room = location.rooms,
    openings: Opening = location.openings,
    pieces: Piece = location.pieces,
    circuits: Circuit = location.circuits,
    outlets: Outlet = location.outlets,
    cast: Person = cast,
    cameras: Camera = cameras,
    rigs: Rig = rigs,
    shots: Shot = shots,
}

/// Most steps that can be taken back: a long day's memory stays bounded.
pub const MOST_STEPS: usize = 1000;

/// What was done, and what was undone: at most [`MOST_STEPS`].
#[derive(Debug, Clone, Default)]
pub struct History {
    done: Vec<Delta>,
    undone: Vec<Delta>,
}

impl History {
    /// Notes a change that has been made; one that changes nothing is not noted.
    pub fn note(&mut self, label: String, before: &Plan, after: &Plan) -> bool {
        let delta = Delta::between(label, before, after);
        if delta.is_empty() {
            return false;
        }
        self.undone.clear();
        self.done.push(delta);
        if self.done.len() > MOST_STEPS {
            self.done.drain(..self.done.len() - MOST_STEPS);
        }
        true
    }
    /// Takes the last change back; what it was.
    pub fn undo(&mut self, plan: &mut Plan) -> Option<String> {
        let delta = self.done.pop()?;
        delta.back(plan);
        let label = delta.label.clone();
        self.undone.push(delta);
        Some(label)
    }
    /// Makes the last change taken back again; what it was.
    pub fn redo(&mut self, plan: &mut Plan) -> Option<String> {
        let delta = self.undone.pop()?;
        delta.forward(plan);
        let label = delta.label.clone();
        self.done.push(delta);
        Some(label)
    }
    /// What undo would take back.
    #[must_use]
    pub fn undo_label(&self) -> Option<&str> {
        self.done.last().map(|d| d.label.as_str())
    }
    /// What redo would make again.
    #[must_use]
    pub fn redo_label(&self) -> Option<&str> {
        self.undone.last().map(|d| d.label.as_str())
    }
    /// How many changes can be taken back.
    #[must_use]
    pub fn depth(&self) -> usize {
        self.done.len()
    }
}
