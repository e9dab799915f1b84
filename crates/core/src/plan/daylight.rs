//! Day, hour and sky.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use tapemark_words::say;

/// A day of the calendar, written `2026-06-21`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(try_from = "String", into = "String")]
#[schemars(with = "String")]
pub struct Date {
    /// Year.
    pub year: i32,
    /// Month, 1–12.
    pub month: u32,
    /// Day, 1–31.
    pub day: u32,
}

impl TryFrom<String> for Date {
    type Error = String;
    fn try_from(text: String) -> Result<Date, String> {
        let bad = || say!("is-no-date-write-it-like", text);
        let parts: Vec<u32> = text.split('-').map(|p| p.parse().map_err(|_| bad())).collect::<Result<_, _>>()?;
        let [year, month, day] = parts[..] else { return Err(bad()) };
        let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
        let days = match month {
            2 => 28 + u32::from(leap),
            4 | 6 | 9 | 11 => 30,
            _ => 31,
        };
        if !(1900..=2200).contains(&year) || !(1..=12).contains(&month) || day < 1 || day > days {
            return Err(bad());
        }
        Ok(Date { year: year as i32, month, day })
    }
}
impl From<Date> for String {
    fn from(d: Date) -> String {
        format!("{:04}-{:02}-{:02}", d.year, d.month, d.day)
    }
}

/// A time on the clock at the place, written `14:30`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize, JsonSchema)]
#[serde(try_from = "String", into = "String")]
#[schemars(with = "String")]
pub struct Clock {
    /// Minutes after midnight, below 1440.
    pub minutes: u32,
}

impl Clock {
    /// Hours after midnight.
    #[must_use]
    pub fn hours(self) -> f64 {
        f64::from(self.minutes) / 60.0
    }
}
impl TryFrom<String> for Clock {
    type Error = String;
    fn try_from(text: String) -> Result<Clock, String> {
        let bad = || say!("is-no-time-write-it-like", text);
        let (h, m) = text.split_once(':').ok_or_else(bad)?;
        let (h, m): (u32, u32) = (h.parse().map_err(|_| bad())?, m.parse().map_err(|_| bad())?);
        if h > 23 || m > 59 {
            return Err(bad());
        }
        Ok(Clock { minutes: h * 60 + m })
    }
}
impl From<Clock> for String {
    fn from(c: Clock) -> String {
        c.to_string()
    }
}
impl std::fmt::Display for Clock {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:02}:{:02}", self.minutes / 60, self.minutes % 60)
    }
}

/// What comes in at the windows. Needs the location's latitude and longitude; absent: it is dark outside.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Daylight {
    /// Day of the shoot.
    pub date: Date,
    /// Clock time, where a shot names none of its own.
    pub clock: Clock,
    /// What the place's clock is ahead of UTC, hours (summer time included).
    pub utc_offset_h: f64,
    /// Sky by its number in CIE S 011: 1 overcast, 7 partly cloudy, 12 clear; 1 to 15.
    pub sky_type: u8,
    /// Share of light the ground outside returns (0–1).
    #[serde(default = "default_ground")]
    pub ground_reflectance: f64,
}

fn default_ground() -> f64 {
    0.2
}

impl Default for Daylight {
    fn default() -> Self {
        Daylight {
            date: Date { year: 2026, month: 6, day: 21 },
            clock: Clock { minutes: 12 * 60 },
            utc_offset_h: 0.0,
            sky_type: 12,
            ground_reflectance: default_ground(),
        }
    }
}
