//! One answer that cannot be worked out takes no other down: it says so in its place.

use serde::Serialize;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// What was to be worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Answer {
    /// The light that surfaces return.
    Bounces,
    /// The meter at every face.
    Readings,
    /// The spot meter behind the face.
    Background,
    /// The camera's numbers.
    Camera,
    /// Who is seen from the first second to the last.
    Lanes,
    /// Cloth over what the lens sees.
    Cover,
    /// By how much answers hold.
    Margins,
    /// The numbers of the people.
    People,
    /// The lamps' numbers.
    Lamps,
    /// Flags, drapes and boards.
    Grip,
    /// Sun and sky.
    Daylight,
    /// Load per circuit.
    Circuits,
    /// Cables from outlet to lamp.
    Cables,
    /// What the shot gets wrong.
    Notices,
    /// How shots that cut together match.
    Matches,
    /// What to bring.
    Kit,
    /// The order of the day.
    Order,
    /// What the lens sees, as a picture.
    Picture,
}

impl Answer {
    /// All answers.
    pub const ALL: [Answer; 18] = [
        Answer::Bounces,
        Answer::Readings,
        Answer::Background,
        Answer::Camera,
        Answer::Lanes,
        Answer::Cover,
        Answer::Margins,
        Answer::People,
        Answer::Lamps,
        Answer::Grip,
        Answer::Daylight,
        Answer::Circuits,
        Answer::Cables,
        Answer::Notices,
        Answer::Matches,
        Answer::Kit,
        Answer::Order,
        Answer::Picture,
    ];
}

/// An answer that could not be worked out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Failed {
    /// Which.
    pub answer: Answer,
    /// What went wrong, as the code that failed says it: for a report, not for the crew.
    pub cause: String,
}

/// Works an answer out; a panic in it is its value.
///
/// # Errors
/// When working it out panicked.
pub fn attempt<T>(answer: Answer, work: impl FnOnce() -> T) -> Result<T, Failed> {
    let guarded = || {
        #[cfg(test)]
        tests::fail_if_asked(answer);
        work()
    };
    catch_unwind(AssertUnwindSafe(guarded)).map_err(|panic| {
        let text = panic.downcast_ref::<&str>().map(ToString::to_string);
        let cause = text.or_else(|| panic.downcast_ref::<String>().cloned()).unwrap_or_default();
        Failed { answer, cause }
    })
}

/// Takes an answer, or notes that it failed and takes an empty one.
pub(crate) fn kept<T: Default>(failed: &mut Vec<Failed>, result: Result<T, Failed>) -> T {
    result.unwrap_or_else(|f| {
        failed.push(f);
        T::default()
    })
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::facts::shot_facts;
    use crate::kit::KitFile;
    use crate::plan::{Camera, Fixture, HeadClass, Mark, Person, Plan, Room};
    use std::cell::Cell;

    thread_local! {
        /// The answer that is made to fail in a pool of one thread, beside tests that know nothing of it.
        static FAULT: Cell<Option<Answer>> = const { Cell::new(None) };
    }

    pub(crate) fn fail_if_asked(answer: Answer) {
        assert!(FAULT.get() != Some(answer), "made to fail");
    }

    fn with_fault<T: Send>(answer: Answer, work: impl FnOnce() -> T + Send) -> T {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
        pool.install(|| {
            FAULT.set(Some(answer));
            work()
        })
    }

    fn portrait() -> Plan {
        let mut plan = Plan::empty();
        plan.location.rooms.push(Room::new("room", "Room", vec![[0., 0.], [5., 0.], [5., 4.], [0., 4.]]));
        plan.cast.push(Person {
            id: "a".into(),
            name: "A".into(),
            height_m: 1.75,
            build: Default::default(),
            from: None,
            until: None,
            unknown: Default::default(),
        });
        plan.cameras.push(Camera::new("cam", "Cam", [2.5, 1.0], 0.0));
        plan.rigs[0].fixtures.push(Fixture::new("lamp", HeadClass::OpenFace, [1.0, 1.0], 30.0));
        let shot = &mut plan.shots[0];
        shot.camera = Some("cam".into());
        shot.faces.push("a".into());
        shot.marks.push(Mark {
            id: "m".into(),
            person: "a".into(),
            position_m: [2.5, 3.0],
            facing_deg: 180.0,
            from_s: 0.0,
            to_s: None,
            pose: Default::default(),
            unknown: Default::default(),
        });
        plan
    }

    /// Each answer made to fail in turn: it alone is missing, it says so, and a notice does.
    #[test]
    fn one_failing_answer_takes_no_other_down() {
        let plan = portrait();
        let whole = shot_facts(&plan, &plan.shots[0], 0.0);
        assert!(whole.failed.is_empty());
        for answer in Answer::ALL {
            let facts = with_fault(answer, || shot_facts(&plan, &plan.shots[0], 0.0));
            let day = with_fault(answer, || crate::day::DayFacts::of(&plan, &KitFile::default(), 0.0));
            let of_shot = !matches!(answer, Answer::Matches | Answer::Kit | Answer::Order | Answer::Picture);
            assert_eq!(facts.failed.iter().any(|f| f.answer == answer), of_shot, "{answer:?}");
            assert!(facts.failed.iter().all(|f| f.answer == answer), "{answer:?}: {:?}", facts.failed);
            let told = facts.notices.iter().filter(|n| n.code == "not-worked-out").count();
            assert_eq!(told, usize::from(of_shot), "{answer:?}");
            let of_day = matches!(answer, Answer::Matches | Answer::Kit | Answer::Order | Answer::Cables);
            assert_eq!(day.failed.iter().any(|f| f.answer == answer), of_day, "{answer:?}");
            let same = |other: Answer| other == answer;
            assert!(same(Answer::Camera) || facts.camera.is_some(), "{answer:?}");
            assert!(same(Answer::Cover) || same(Answer::Camera) || facts.cover == whole.cover, "{answer:?}");
            assert!(same(Answer::Lanes) || facts.lanes == whole.lanes, "{answer:?}");
            assert!(same(Answer::Lamps) || same(Answer::Margins) || facts.fixtures == whole.fixtures, "{answer:?}");
            assert!(same(Answer::Circuits) || facts.circuits == whole.circuits, "{answer:?}");
        }
    }
}
