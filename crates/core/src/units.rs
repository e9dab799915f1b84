//! Lengths as people call them out, and the presentation units.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use tapemark_words::{figure, localized, say};

/// Metres in one foot (exact, international foot of 1959).
pub const M_PER_FT: f64 = 0.3048;
/// Metres in one inch (exact).
pub const M_PER_IN: f64 = 0.0254;
/// Lux in one foot-candle (1 lm/ft²).
pub const LX_PER_FC: f64 = 1.0 / (M_PER_FT * M_PER_FT);

/// The unit lengths are shown in. Files always hold metres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LengthUnit {
    /// Metres with centimetre resolution.
    #[default]
    Metres,
    /// Feet and inches to the half inch.
    FeetInches,
}

/// Why a typed length was not understood, with what would be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LengthError(pub String);

impl std::fmt::Display for LengthError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&say!("type-a-length-like", what = self.0))
    }
}
impl std::error::Error for LengthError {}

/// Longest length accepted from a person, in metres.
pub const MAX_LENGTH_M: f64 = 10_000.0;

/// Reads a length as one would call out a tape measurement.
///
/// Accepts `3.6`, `3,6`, `3.6m`, `360cm`, `3600mm`, `11'10"`, `11' 10 1/2"`, `11ft 10 1/2in`,
/// `10"`, and a leading minus. A bare number is in `bare`: metres, or feet when the plan shows
/// feet and inches.
///
/// # Errors
/// Names what could not be read. Non-finite and absurd lengths are refused.
pub fn parse_length_m(text: &str, bare: LengthUnit) -> Result<f64, LengthError> {
    let cleaned: String = text
        .trim()
        .to_lowercase()
        .replace(['′', '’'], "'")
        .replace(['″', '”', '“'], "\"")
        .replace("''", "\"")
        .replace(',', ".")
        .replace('½', " 1/2")
        .replace('¼', " 1/4")
        .replace('¾', " 3/4");
    let (negative, body) = match cleaned.strip_prefix(['-', '−']) {
        Some(rest) => (true, rest.trim_start()),
        None => (false, cleaned.as_str()),
    };
    if body.is_empty() {
        return Err(LengthError(say!("nothing-was-typed").into()));
    }
    let mut total_m = 0.0;
    let mut pending: Option<f64> = None;
    let mut last_unit: Option<f64> = None;
    for token in tokens(body)? {
        match token {
            Token::Number(n) => {
                pending = Some(match pending {
                    // "10 1/2": a whole number followed by a fraction below one.
                    Some(whole) if n < 1.0 => whole + n,
                    Some(_) => {
                        return Err(LengthError(say!("two-numbers-without-a-unit-between", text)));
                    }
                    None => n,
                });
            }
            Token::Unit(unit_m) => {
                let Some(n) = pending.take() else {
                    return Err(LengthError(say!("a-unit-without-a-number-in", text)));
                };
                if last_unit.is_some_and(|last| last <= unit_m) {
                    return Err(LengthError(say!("units-run-from-small-to-large", text)));
                }
                total_m += n * unit_m;
                last_unit = Some(unit_m);
            }
        }
    }
    if let Some(n) = pending {
        total_m += n * match last_unit {
            None if bare == LengthUnit::FeetInches => M_PER_FT,
            None => 1.0,
            // "11' 10" is heard as feet and inches, "3m 60" as metres and centimetres.
            Some(last) if last == M_PER_FT => M_PER_IN,
            Some(1.0) => 0.01,
            Some(_) => return Err(LengthError(say!("a-number-without-a-unit-at", text))),
        };
    }
    if !total_m.is_finite() || total_m > MAX_LENGTH_M {
        return Err(LengthError(say!("text-is-longer-than-max-length", text, max_length_m = MAX_LENGTH_M)));
    }
    Ok(if negative { -total_m } else { total_m })
}

enum Token {
    Number(f64),
    Unit(f64),
}

fn tokens(body: &str) -> Result<Vec<Token>, LengthError> {
    let mut out = Vec::new();
    let mut rest = body.trim();
    while !rest.is_empty() {
        let number_len = rest.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '/')).unwrap_or(rest.len());
        if number_len > 0 {
            let (text, tail) = rest.split_at(number_len);
            out.push(Token::Number(number(text)?));
            rest = tail.trim_start();
            continue;
        }
        let unit_len = match rest.chars().next() {
            Some('\'' | '"') => 1,
            _ => rest
                .find(|c: char| !c.is_alphabetic())
                .unwrap_or(rest.len())
                .max(rest.chars().next().map_or(1, char::len_utf8)),
        };
        let (text, tail) = rest.split_at(unit_len);
        out.push(Token::Unit(match text {
            "m" | "metre" | "metres" | "meter" | "meters" => 1.0,
            "cm" => 0.01,
            "mm" => 0.001,
            "'" | "ft" | "foot" | "feet" => M_PER_FT,
            "\"" | "in" | "inch" | "inches" => M_PER_IN,
            other => return Err(LengthError(say!("is-not-a-unit-of-length", other))),
        }));
        rest = tail.trim_start_matches(['.', ' ']).trim_start();
    }
    Ok(out)
}

fn number(text: &str) -> Result<f64, LengthError> {
    let bad = || LengthError(say!("text-is-not-a-number", text));
    let value = match text.split_once('/') {
        Some((top, bottom)) => {
            let (top, bottom): (f64, f64) = (top.parse().map_err(|_| bad())?, bottom.parse().map_err(|_| bad())?);
            if bottom == 0.0 {
                return Err(LengthError(say!("text-divides-by-zero", text)));
            }
            top / bottom
        }
        None => text.parse().map_err(|_| bad())?,
    };
    if value.is_finite() { Ok(value) } else { Err(bad()) }
}

/// Writes a length in the plan's unit: `3.60 m` or `11'10"` (rounded to the half inch).
#[must_use]
pub fn format_length(length_m: f64, unit: LengthUnit) -> String {
    if !length_m.is_finite() {
        return "∞".into();
    }
    match unit {
        LengthUnit::Metres => format!("{} m", figure(length_m, 2)),
        LengthUnit::FeetInches => {
            let half_inches = (length_m.abs() / M_PER_IN * 2.0).round() as i64;
            let sign = if length_m < 0.0 && half_inches > 0 { "−" } else { "" };
            let (feet, rest) = (half_inches / 24, half_inches % 24);
            let half = if rest % 2 == 1 { "½" } else { "" };
            match (feet, rest / 2, half) {
                (0, inches, half) => format!("{sign}{inches}{half}\""),
                (feet, inches, half) => format!("{sign}{feet}'{inches}{half}\""),
            }
        }
    }
}

/// The unit a level of light is shown in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LevelUnit {
    /// Lux.
    #[default]
    Lux,
    /// Foot-candles.
    FootCandles,
    /// Stops over or under the shot's exposure.
    Stops,
}

/// Writes a stop as lens markings do: a full-stop mark and thirds, `T2.8 1/3`.
#[must_use]
pub fn format_stop(n: f64) -> String {
    if !(n.is_finite() && n > 0.0) {
        return "—".into();
    }
    let thirds = (n.log2() * 6.0).round() as i64;
    let (full, third) = (thirds.div_euclid(3), thirds.rem_euclid(3));
    const MARKS: [&str; 15] =
        ["0.5", "0.7", "1", "1.4", "2", "2.8", "4", "5.6", "8", "11", "16", "22", "32", "45", "64"];
    let Some(mark) = usize::try_from(full + 2).ok().and_then(|i| MARKS.get(i)) else {
        return if full < 0 { say!("under-t0-5").into() } else { say!("over-t64").into() };
    };
    localized(format!("T{mark}{}", ["", " 1/3", " 2/3"][third as usize]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_people_call_out() {
        let m = |t: &str| parse_length_m(t, LengthUnit::Metres).unwrap();
        assert_eq!(m("3.6"), 3.6);
        assert_eq!(m("3,6"), 3.6);
        assert_eq!(m(" 3.6 m "), 3.6);
        assert!((m("360cm") - 3.6).abs() < 1e-12);
        assert!((m("3m 60") - 3.6).abs() < 1e-12);
        assert!((m("11'10\"") - 142.0 * M_PER_IN).abs() < 1e-12);
        assert!((m("11′10″") - 142.0 * M_PER_IN).abs() < 1e-12);
        assert!((m("11ft 10 1/2in") - 142.5 * M_PER_IN).abs() < 1e-12);
        assert!((m("11'10½\"") - 142.5 * M_PER_IN).abs() < 1e-12);
        assert!((m("11' 10") - 142.0 * M_PER_IN).abs() < 1e-12);
        assert!((m("-10in") + 10.0 * M_PER_IN).abs() < 1e-12);
        assert_eq!(parse_length_m("10", LengthUnit::FeetInches).unwrap(), 3.048);
    }

    #[test]
    fn refuses_nonsense_in_words() {
        for bad in ["", "abc", "3 4", "1/0", "m", "1e400", "99999999", "10in 3ft", "nan", "3..4", "5 fathoms", "ß"] {
            let error = parse_length_m(bad, LengthUnit::Metres).unwrap_err().to_string();
            assert!(error.contains("type a length like"), "{bad}: {error}");
        }
    }

    #[test]
    fn writes_feet_to_the_half_inch() {
        assert_eq!(format_length(142.5 * M_PER_IN, LengthUnit::FeetInches), "11'10½\"");
        assert_eq!(format_length(3.6, LengthUnit::Metres), "3.60 m");
        assert_eq!(format_length(0.3047, LengthUnit::FeetInches), "1'0\"");
    }

    #[test]
    fn stops_round_to_thirds() {
        assert_eq!(format_stop(2.0_f64.powf(1.5)), "T2.8");
        assert_eq!(format_stop(2.0_f64.powf(1.5 + 1.0 / 6.0)), "T2.8 1/3");
        assert_eq!(format_stop(f64::NAN), "—");
    }
}
