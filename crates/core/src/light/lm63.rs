//! ANSI/IES LM-63 files, in the forms of 1986, 1991, 1995, 2002 and 2019.
//!
//! The numbers may stand on any number of lines, parted by blanks or commas, as the older forms allow.
//! Written for this project: no permissively licensed library reads them.

use crate::plan::{CandelaTable, MAX_CANDELA_BYTES, Photometry};
use tapemark_words::say;

/// Why a file is no candela table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lm63Error {
    /// What is wrong.
    pub what: String,
    /// Line, from 1; 0 for the whole file.
    pub line: usize,
    /// What to do.
    pub remedy: String,
}

/// Most angles one way.
const MAX_ANGLES: usize = 1_000;
/// Most entries of a table.
const MAX_ENTRIES: usize = 200_000;

struct Numbers<'a> {
    words: std::iter::Peekable<Box<dyn Iterator<Item = (usize, &'a str)> + 'a>>,
    last_line: usize,
}

fn fault(line: usize, what: impl Into<String>, remedy: &str) -> Lm63Error {
    Lm63Error { what: what.into(), line, remedy: remedy.into() }
}

impl Numbers<'_> {
    fn next(&mut self, of: &str) -> Result<f64, Lm63Error> {
        let Some((line, word)) = self.words.next() else {
            return Err(fault(
                self.last_line,
                say!("the-file-ends-where-should-stand", of),
                say!("get-the-file-again-it-is"),
            ));
        };
        self.last_line = line;
        let shown: String = word.chars().take(24).collect();
        let value: f64 =
            word.parse().map_err(|_| fault(line, say!("is-no-number-for", shown, of), say!("write-a-number-there")))?;
        if !value.is_finite() || value.abs() > 1e12 {
            return Err(fault(line, say!("is-no-measure-for", shown, of), say!("write-a-finite-number-there")));
        }
        Ok(value)
    }
    fn count(&mut self, of: &str, most: usize) -> Result<usize, Lm63Error> {
        let v = self.next(of)?;
        if v.fract() != 0.0 || v < 1.0 || v > most as f64 {
            return Err(fault(
                self.last_line,
                say!("is-no-count-for", v, of),
                &say!("write-a-whole-number-from-1", most),
            ));
        }
        Ok(v as usize)
    }
    fn list(&mut self, n: usize, of: &str) -> Result<Vec<f64>, Lm63Error> {
        (0..n).map(|_| self.next(of)).collect()
    }
}

/// Text of the usual encodings: UTF-8 with or without a mark, UTF-16 with a mark, else Latin-1, in which
/// every byte is a letter.
fn decoded(bytes: &[u8]) -> String {
    let wide = |swap: bool| {
        let units: Vec<u16> = bytes[2..]
            .chunks_exact(2)
            .map(|c| if swap { u16::from_be_bytes([c[0], c[1]]) } else { u16::from_le_bytes([c[0], c[1]]) })
            .collect();
        String::from_utf16_lossy(&units)
    };
    match bytes {
        [0xFF, 0xFE, ..] => wide(false),
        [0xFE, 0xFF, ..] => wide(true),
        _ => match std::str::from_utf8(bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes)) {
            Ok(text) => text.to_string(),
            Err(_) => bytes.iter().map(|b| char::from(*b)).collect(),
        },
    }
}

/// Reads a table of candelas from an LM-63 file.
///
/// # Errors
/// Names the line and the remedy: no TILT line, a tilt kept in another file, counts that do not fit the
/// numbers, angles that do not rise or lie outside the type of photometry, a negative candela, more than
/// 8 MiB or 200 000 entries, nothing but darkness.
pub fn read_lm63(bytes: &[u8], name: &str) -> Result<CandelaTable, Lm63Error> {
    if bytes.len() > MAX_CANDELA_BYTES {
        return Err(fault(
            0,
            say!("the-file-is-mib", bytes = bytes.len() >> 20),
            &say!("choose-an-lm-63-file-of", max_candela_bytes = MAX_CANDELA_BYTES >> 20),
        ));
    }
    let text = decoded(bytes);
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    let tilt_at = lines
        .iter()
        .position(|l| l.get(..5).is_some_and(|k| k.eq_ignore_ascii_case("TILT=")))
        .ok_or_else(|| fault(0, say!("it-has-no-tilt-line"), say!("choose-an-lm-63-file-usually")))?;
    let title = lines[..tilt_at]
        .iter()
        .find_map(|l| l.strip_prefix("[LUMINAIRE]").map(|t| t.trim().chars().take(60).collect::<String>()))
        .filter(|t| !t.is_empty());
    let after = lines[tilt_at + 1..].iter().enumerate().flat_map(move |(i, l)| {
        l.split([' ', '\t', ',', '\0']).filter(|w| !w.is_empty()).map(move |w| (tilt_at + 2 + i, w))
    });
    let boxed: Box<dyn Iterator<Item = (usize, &str)>> = Box::new(after);
    let mut n = Numbers { words: boxed.peekable(), last_line: tilt_at + 1 };
    match lines[tilt_at][5..].trim().to_ascii_uppercase().as_str() {
        "NONE" => {}
        "INCLUDE" => {
            n.next(say!("the-lamps-geometry"))?;
            let pairs = n.count(say!("the-pairs-of-the-tilt"), MAX_ANGLES)?;
            n.list(pairs, say!("a-tilt-angle"))?;
            // The factors tell how output changes when the luminaire is tilted from the position it was
            // measured in; film heads are listed as measured, so they are read and not applied.
            n.list(pairs, say!("a-tilt-factor"))?;
        }
        other => {
            return Err(fault(
                tilt_at + 1,
                say!("its-tilt-is-kept-elsewhere", other = other.chars().take(40).collect::<String>()),
                say!("copy-the-tilts-numbers-into-the"),
            ));
        }
    }
    n.next(say!("the-number-of-lamps"))?;
    n.next(say!("the-lumens-of-a-lamp"))?;
    let multiplier = n.next(say!("the-candela-multiplier"))?;
    let verticals = n.count(say!("the-number-of-vertical-angles"), MAX_ANGLES)?;
    let horizontals = n.count(say!("the-number-of-horizontal-angles"), MAX_ANGLES)?;
    if verticals * horizontals > MAX_ENTRIES {
        return Err(fault(
            n.last_line,
            say!("candelas-are-too-many", verticals, horizontals),
            &say!("choose-a-file-with-at-most", max_entries = MAX_ENTRIES),
        ));
    }
    let photometry = match n.next(say!("the-type-of-photometry"))? {
        1.0 => Photometry::C,
        2.0 => Photometry::B,
        3.0 => Photometry::A,
        other => {
            return Err(fault(n.last_line, say!("is-no-type-of-photometry", other), say!("write-1-c-2-b-or")));
        }
    };
    n.next(say!("the-type-of-units"))?;
    for side in [say!("the-width"), say!("the-length"), say!("the-height")] {
        n.next(side)?;
    }
    let ballast = n.next(say!("the-ballast-factor"))?;
    // Called "future use", the ballast-lamp factor before 1995, and the kind of file since 2019.
    let next = n.next(say!("the-ballast-lamp-factor"))?;
    n.next(say!("the-input-watts"))?;
    let lamp_factor = if (0.05..1.0).contains(&next) { next } else { 1.0 };
    let factor = multiplier * ballast * lamp_factor;
    if factor <= 0.0 {
        return Err(fault(n.last_line, say!("its-candelas-are-multiplied-by", factor), say!("write-factors-above-0")));
    }
    let vertical_deg = n.list(verticals, say!("a-vertical-angle"))?;
    let horizontal_deg = n.list(horizontals, say!("a-horizontal-angle"))?;
    let mut candela = Vec::with_capacity(horizontals);
    for _ in 0..horizontals {
        let mut row = n.list(verticals, say!("a-candela"))?;
        if let Some(v) = row.iter().find(|v| **v < 0.0) {
            return Err(fault(n.last_line, say!("v-candelas-are-negative", v), say!("light-is-never-below-0")));
        }
        row.iter_mut().for_each(|v| *v *= factor);
        candela.push(row);
    }
    if let Some((line, _)) = n.words.next() {
        return Err(fault(
            line,
            say!("more-numbers-follow-than-candelas", verticals, horizontals),
            say!("get-the-file-again-its-counts"),
        ));
    }
    let table =
        CandelaTable { name: title.unwrap_or_else(|| name.into()), photometry, vertical_deg, horizontal_deg, candela };
    match table.flaw() {
        Some(what) => Err(fault(0, what, say!("get-the-file-again-from-who"))),
        None => Ok(table),
    }
}
