//! Geometry, optics, photometry and blocking for planning film shots in small rooms.
//!
//! Everything here is pure: a [`plan::Plan`] goes in, numbers come out. This crate knows nothing
//! of files, windows or clocks. Lengths are metres, illuminance is lux, angles in the plan file
//! are degrees with bearings clockwise from +y; `x` runs east on the plan, `y` up, `z` up.
#![deny(missing_docs)]

pub mod aim;
pub mod attempt;
pub mod blocking;
pub mod colour;
pub mod continuity;
pub mod cover;
pub mod day;
pub mod edit;
pub mod facts;
pub mod frame;
pub mod geometry;
pub mod grip;
pub mod kit;
pub mod light;
pub mod margins;
pub mod notices;
pub mod optics;
pub mod order;
pub mod plan;
pub mod power;
pub mod progress;
pub mod scene;
pub mod taping;
pub mod units;
pub mod walk;
