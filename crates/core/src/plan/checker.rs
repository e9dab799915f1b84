//! Collects what is wrong with a plan, with place and remedy.

use super::too_many::is_longer;
use super::{Curve, MOST};
use crate::colour::MAX_POINTS;
use crate::geometry::{polygon_self_crossing, signed_area};
use glam::DVec2;
use std::collections::HashMap;
use std::fmt::Display;
use tapemark_words::say;

/// Something that keeps a file from being a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// What is wrong.
    pub what: String,
    /// JSON path.
    pub path: String,
    /// What to do.
    pub remedy: String,
}

/// What has been found so far.
#[derive(Default)]
pub(super) struct Checker<'a> {
    pub(super) problems: Vec<Problem>,
    /// Where each id stands; nowhere when all that matters is whether there are problems.
    ids: HashMap<&'a str, String>,
    quick: bool,
    /// The ids are those of a plan that is known to be good.
    same_ids: bool,
}

/// Furthest from the origin anything may stand, metres.
pub(super) const MAX_M: f64 = 10_000.0;
impl<'a> Checker<'a> {
    /// One that finds whether there are problems, and does not say all of them well; of ids, nothing when they
    /// are those of a good plan.
    pub(super) fn quick(same_ids: bool) -> Checker<'a> {
        let ids = HashMap::with_capacity(if same_ids { 0 } else { 2_048 });
        Checker { quick: true, same_ids, ids, ..Checker::default() }
    }
    pub(super) fn at_most(&mut self, path: &str, what: &str, n: usize, most: usize) {
        if n > most {
            let remedy = say!("keep-at-most-draw-what-the", most);
            self.say(path, say!("n-what-are-too-many", n, what), remedy);
        }
    }
    /// As [`Checker::at_most`], of what belongs to one thing.
    pub(super) fn at_most_of(&mut self, path: impl Display, what: &str, n: usize, most: usize) {
        if n > most {
            self.say(path.to_string(), say!("n-what-are-too-many", n, what), say!("keep-at-most", most));
        }
    }
    pub(super) fn text(&mut self, path: impl Display, text: &str, most: usize) {
        if is_longer(text, most) {
            self.say(path.to_string(), say!("the-text-is-too-long"), say!("shorten-it-to-most-letters", most));
        }
    }
    pub(super) fn say(&mut self, path: impl Into<String>, what: impl Into<String>, remedy: impl Into<String>) {
        self.problems.push(Problem { what: what.into(), path: path.into(), remedy: remedy.into() });
    }
    pub(super) fn range(&mut self, path: impl Display, value: f64, low: f64, high: f64, unit: &str) {
        if !value.is_finite() {
            self.say(path.to_string(), say!("not-a-finite-number"), say!("write-a-number-from-to", low, high, unit));
        } else if value < low || value > high {
            self.say(
                path.to_string(),
                say!("value-is-outside-low-to-high", value, low, high, unit),
                say!("write-a-number-from-to", low, high, unit),
            );
        }
    }
    pub(super) fn point(&mut self, path: impl Display, p: [f64; 2]) {
        self.range(format_args!("{path}[0]"), p[0], -MAX_M, MAX_M, "m");
        self.range(format_args!("{path}[1]"), p[1], -MAX_M, MAX_M, "m");
    }
    pub(super) fn angle(&mut self, path: impl Display, a: f64) {
        self.range(path, a, -3600.0, 3600.0, say!("degrees"));
    }
    /// Takes ids that are known to be good, without saying where they stand.
    pub(super) fn take_ids(&mut self, ids: impl Iterator<Item = &'a str>) {
        if !self.same_ids {
            self.ids.extend(ids.map(|id| (id, String::new())));
        }
    }
    pub(super) fn id(&mut self, path: impl Display, id: &'a str) {
        if self.same_ids {
            return;
        }
        self.text(format_args!("{path}.id"), id, MOST.letters);
        if id.is_empty() {
            self.say(format!("{path}.id"), say!("the-id-is-empty"), say!("give-the-item-an-id-of"));
        } else if let Some(first) = self.ids.insert(id, if self.quick { String::new() } else { path.to_string() }) {
            self.say(
                format!("{path}.id"),
                say!("the-id-is-already-used-by", id, first),
                say!("give-one-of-the-two-another"),
            );
        }
    }
    pub(super) fn known(&mut self, path: impl Display, id: &str, kind: &str, found: bool) {
        if !found {
            self.say(path.to_string(), say!("there-is-no-kind-id", kind, id), say!("name-a-that-the-plan-has", kind));
        }
    }
    pub(super) fn curve(&mut self, path: &str, curve: &Curve, most: f64) {
        let path = format!("{path}.points");
        if curve.points.len() < 2 || curve.points.len() > MAX_POINTS {
            self.say(
                &path,
                say!("a-curve-of-points", points = curve.points.len()),
                say!("give-2-to-points-from-380", max_points = MAX_POINTS),
            );
            return;
        }
        for (i, p) in curve.points.iter().enumerate() {
            self.range(format_args!("{path}[{i}][0]"), p[0], 100.0, 10_000.0, "nm");
            self.range(format_args!("{path}[{i}][1]"), p[1], 0.0, most, "");
        }
        if curve.points.windows(2).any(|w| w[0][0] >= w[1][0]) {
            self.say(&path, say!("the-wavelengths-do-not-rise"), say!("sort-the-points-by-wavelength-each"));
        }
    }
    pub(super) fn outline(&mut self, path: impl Display, points: &[[f64; 2]]) {
        for (i, p) in points.iter().enumerate() {
            self.point(format_args!("{path}[{i}]"), *p);
        }
        let pts: Vec<DVec2> = points.iter().map(|p| DVec2::from_array(*p)).collect();
        if pts.iter().any(|p| !p.is_finite()) {
            return;
        }
        if pts.len() < 3 {
            self.say(
                path.to_string(),
                say!("an-outline-needs-three-corners-this", pts = pts.len()),
                say!("add-corners-or-delete-the-item"),
            );
            return;
        }
        if pts.len() > 2_000 {
            self.say(
                path.to_string(),
                say!("corners-are-too-many", pts = pts.len()),
                say!("simplify-the-outline-to-at-most"),
            );
            return;
        }
        for i in 0..pts.len() {
            if pts[i].distance(pts[(i + 1) % pts.len()]) < 1e-3 {
                self.say(
                    format!("{path}[{i}]"),
                    say!("two-corners-lie-on-one-another"),
                    say!("delete-one-of-the-two-corners"),
                );
                return;
            }
        }
        if let Some((a, b)) = polygon_self_crossing(&pts) {
            self.say(
                path.to_string(),
                say!("the-outline-crosses-itself-edge-meets", a, b),
                say!("move-a-corner-so-that-no"),
            );
        } else if signed_area(&pts).abs() < 1e-4 {
            self.say(path.to_string(), say!("the-outline-encloses-no-floor"), say!("move-a-corner-so-that-the"));
        }
    }
}
