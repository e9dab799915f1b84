//! Collects what is wrong with a plan, with place and remedy.

use super::Curve;
use crate::colour::MAX_POINTS;
use crate::geometry::{polygon_self_crossing, signed_area};
use glam::DVec2;
use std::collections::HashMap;
use std::fmt::Display;

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
pub(super) struct Checker {
    pub(super) problems: Vec<Problem>,
    ids: HashMap<String, String>,
}

/// Furthest from the origin anything may stand, metres.
pub(super) const MAX_M: f64 = 10_000.0;
impl Checker {
    pub(super) fn at_most(&mut self, path: &str, what: &str, n: usize, most: usize) {
        if n > most {
            let remedy = format!("keep at most {most}: draw what the shots use, and the rest in a plan of its own");
            self.say(path, format!("{n} {what} are too many"), remedy);
        }
    }
    pub(super) fn say(&mut self, path: impl Into<String>, what: impl Into<String>, remedy: impl Into<String>) {
        self.problems.push(Problem { what: what.into(), path: path.into(), remedy: remedy.into() });
    }
    pub(super) fn range(&mut self, path: impl Display, value: f64, low: f64, high: f64, unit: &str) {
        if !value.is_finite() {
            self.say(path.to_string(), "not a finite number", format!("write a number from {low} to {high} {unit}"));
        } else if value < low || value > high {
            self.say(
                path.to_string(),
                format!("{value} is outside {low} to {high} {unit}"),
                format!("write a number from {low} to {high} {unit}"),
            );
        }
    }
    pub(super) fn point(&mut self, path: impl Display, p: [f64; 2]) {
        self.range(format_args!("{path}[0]"), p[0], -MAX_M, MAX_M, "m");
        self.range(format_args!("{path}[1]"), p[1], -MAX_M, MAX_M, "m");
    }
    pub(super) fn angle(&mut self, path: impl Display, a: f64) {
        self.range(path, a, -3600.0, 3600.0, "degrees");
    }
    pub(super) fn id(&mut self, path: &str, id: &str) {
        if id.is_empty() {
            self.say(format!("{path}.id"), "the id is empty", "give the item an id of its own");
        } else if let Some(first) = self.ids.insert(id.into(), path.into()) {
            self.say(
                format!("{path}.id"),
                format!("the id \"{id}\" is already used by {first}"),
                "give one of the two another id",
            );
        }
    }
    pub(super) fn known(&mut self, path: impl Display, id: &str, kind: &str, found: bool) {
        if !found {
            self.say(
                path.to_string(),
                format!("there is no {kind} \"{id}\""),
                format!("name a {kind} that the plan has, or delete the item"),
            );
        }
    }
    pub(super) fn curve(&mut self, path: &str, curve: &Curve, most: f64) {
        let path = format!("{path}.points");
        if curve.points.len() < 2 || curve.points.len() > MAX_POINTS {
            self.say(
                &path,
                format!("a curve of {} points", curve.points.len()),
                format!("give 2 to {MAX_POINTS} points from 380 to 780 nm"),
            );
            return;
        }
        for (i, p) in curve.points.iter().enumerate() {
            self.range(format_args!("{path}[{i}][0]"), p[0], 100.0, 10_000.0, "nm");
            self.range(format_args!("{path}[{i}][1]"), p[1], 0.0, most, "");
        }
        if curve.points.windows(2).any(|w| w[0][0] >= w[1][0]) {
            self.say(&path, "the wavelengths do not rise", "sort the points by wavelength, each once");
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
                format!("an outline needs three corners, this has {}", pts.len()),
                "add corners or delete the item",
            );
            return;
        }
        if pts.len() > 2_000 {
            self.say(
                path.to_string(),
                format!("{} corners are too many", pts.len()),
                "simplify the outline to at most 2000 corners",
            );
            return;
        }
        for i in 0..pts.len() {
            if pts[i].distance(pts[(i + 1) % pts.len()]) < 1e-3 {
                self.say(format!("{path}[{i}]"), "two corners lie on one another", "delete one of the two corners");
                return;
            }
        }
        if let Some((a, b)) = polygon_self_crossing(&pts) {
            self.say(
                path.to_string(),
                format!("the outline crosses itself: edge {a} meets edge {b}"),
                "move a corner so that no two edges cross",
            );
        } else if signed_area(&pts).abs() < 1e-4 {
            self.say(
                path.to_string(),
                "the outline encloses no floor",
                "move a corner so that the outline has an inside",
            );
        }
    }
}
