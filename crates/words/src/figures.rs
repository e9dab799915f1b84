//! Numbers as a language writes them.

use crate::{Language, spoken};

/// A number that can be written as a figure.
pub trait Real {
    /// Its value.
    fn real(&self) -> f64;
}

macro_rules! real {
    ($($t:ty),+) => { $(impl Real for $t { fn real(&self) -> f64 { f64::from(*self) } })+ };
}
real!(f64, f32, u32, i32, u16, u8);

impl<T: Real + ?Sized> Real for &T {
    fn real(&self) -> f64 {
        (**self).real()
    }
}

/// Digits written with a point, as the spoken language writes them.
#[must_use]
pub fn localized(digits: String) -> String {
    match spoken() {
        Language::English => digits,
        Language::German => digits.replace('.', ","),
    }
}

/// A number with so many decimals.
#[must_use]
pub fn figure(value: impl Real, decimals: usize) -> String {
    localized(format!("{:.decimals$}", value.real()))
}

/// A number with its sign, plus too, and so many decimals.
#[must_use]
pub fn signed(value: impl Real, decimals: usize) -> String {
    localized(format!("{:+.decimals$}", value.real()))
}
