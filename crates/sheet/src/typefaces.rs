//! Typefaces for scripts that the drawing's own does not cover: looked for among the system's when a text first needs
//! one. A text becomes runs in the order they are seen, each in one typeface and one direction.

use crate::font::{own_width_em, owns};
use crate::marks::Weight;
use fontdb::{Database, ID, Source, Style};
use std::collections::{BTreeSet, HashMap};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use unicode_bidi::BidiInfo;
use unicode_script::{Script, UnicodeScript};
use unicode_segmentation::UnicodeSegmentation;

/// A typeface of the system.
#[derive(Clone)]
pub struct Typeface {
    /// The file's bytes.
    pub data: Arc<Vec<u8>>,
    /// Its place in the file.
    pub index: u32,
    /// Family name.
    pub family: String,
}

/// What a run is drawn in.
#[derive(Clone)]
pub(crate) enum Face {
    /// The drawing's own typeface; boxes for what no typeface covers.
    Own,
    /// One of the system's.
    System(Arc<Typeface>),
}

/// A part of a text in one typeface and one direction.
pub(crate) struct Run<'a> {
    pub text: &'a str,
    pub face: Face,
    pub right_to_left: bool,
    /// Width at a type size of one.
    pub width_em: f64,
}

/// Whether a text is written from the left in the drawing's own typeface: nearly all are.
pub(crate) fn is_plain(text: &str) -> bool {
    text.is_ascii() || text.chars().all(|c| owns(c) && !is_right_to_left(c))
}

fn is_right_to_left(c: char) -> bool {
    use unicode_bidi::BidiClass::{AL, AN, R, RLE, RLI, RLO};
    matches!(unicode_bidi::bidi_class(c), R | AL | AN | RLE | RLI | RLO)
}

/// A text's runs from the left (UAX #9; clusters by UAX #29).
pub(crate) fn runs(text: &str, weight: Weight) -> Vec<Run<'_>> {
    if is_plain(text) {
        let width_em = own_width_em(text, weight);
        return vec![Run { text, face: Face::Own, right_to_left: false, width_em }];
    }
    let mut out = Vec::new();
    let bidi = BidiInfo::new(text, None);
    for paragraph in &bidi.paragraphs {
        let (levels, seen) = bidi.visual_runs(paragraph, paragraph.range.clone());
        for range in seen {
            let right_to_left = levels[range.start].is_rtl();
            let mut parts = of_one_face(&text[range], text, weight, right_to_left);
            if right_to_left {
                parts.reverse();
            }
            out.append(&mut parts);
        }
    }
    out
}

/// A part of one direction, cut where the typeface changes; in reading order.
fn of_one_face<'a>(part: &'a str, whole: &str, weight: Weight, right_to_left: bool) -> Vec<Run<'a>> {
    let mut shelf = shelf();
    let mut list: Vec<(usize, Option<ID>)> = Vec::new();
    for (at, cluster) in part.grapheme_indices(true) {
        let last = list.last().and_then(|l| l.1);
        let id = if cluster.chars().all(|c| owns(c) || is_unseen(c)) {
            None
        } else {
            last.filter(|id| shelf.covers(*id, cluster)).or_else(|| shelf.find(cluster, whole, weight))
        };
        if list.is_empty() || id != last {
            list.push((at, id));
        }
    }
    let ends = list.iter().skip(1).map(|l| l.0).chain([part.len()]).collect::<Vec<_>>();
    let run = |((from, id), to): (&(usize, Option<ID>), usize)| {
        let text = &part[*from..to];
        match id.and_then(|id| shelf.typeface(id)) {
            None => Run { text, face: Face::Own, right_to_left, width_em: own_width_em(text, weight) },
            Some(face) => {
                let width_em = shaped_width_em(&face, text, right_to_left);
                Run { text, face: Face::System(face), right_to_left, width_em }
            }
        }
    };
    list.iter().zip(ends).map(run).collect()
}

fn shaped_width_em(face: &Typeface, text: &str, right_to_left: bool) -> f64 {
    let Some(shaper) = rustybuzz::Face::from_slice(&face.data, face.index) else { return 0.0 };
    let mut buffer = rustybuzz::UnicodeBuffer::new();
    buffer.push_str(text);
    buffer.guess_segment_properties();
    buffer.set_direction(match right_to_left {
        true => rustybuzz::Direction::RightToLeft,
        false => rustybuzz::Direction::LeftToRight,
    });
    let units = f64::from(shaper.units_per_em().max(1));
    let glyphs = rustybuzz::shape(&shaper, &[], buffer);
    glyphs.glyph_positions().iter().map(|p| f64::from(p.x_advance)).sum::<f64>() / units
}

/// Joiners, marks of direction and variation selectors: no typeface has to draw them.
pub(crate) fn is_unseen(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{fe00}'..='\u{fe0f}')
}

/// Typefaces of the system that texts are written in, beside the drawing's own: each once, in the order they are
/// first needed.
#[must_use]
pub fn typefaces_for<'a>(texts: impl IntoIterator<Item = &'a str>, weight: Weight) -> Vec<Arc<Typeface>> {
    let mut out: Vec<Arc<Typeface>> = Vec::new();
    for run in texts.into_iter().filter(|t| !is_plain(t)).flat_map(|t| runs(t, weight)) {
        if let Face::System(face) = run.face
            && !out.iter().any(|f| Arc::ptr_eq(f, &face))
        {
            out.push(face);
        }
    }
    out
}

/// The scripts of some texts, by their English names, for which no typeface is found: boxes are drawn for them.
#[must_use]
pub fn scripts_without_typeface<'a>(texts: impl IntoIterator<Item = &'a str>) -> BTreeSet<&'static str> {
    let mut out = BTreeSet::new();
    for text in texts.into_iter().filter(|t| !is_plain(t)) {
        for run in runs(text, Weight::Regular).into_iter().filter(|r| matches!(r.face, Face::Own)) {
            let strange = run.text.chars().filter(|c| !owns(*c) && !is_unseen(*c) && !c.is_control());
            out.extend(strange.map(|c| c.script().full_name()));
        }
    }
    out
}

/// The system's typefaces, and what is known of them.
struct Shelf {
    all: Database,
    /// Upright ones, the best first, by weight.
    order: [Vec<ID>; 2],
    /// What was found for a first character that the own typeface lacks.
    found: HashMap<(char, &'static str, bool), Option<ID>>,
    /// Scripts of which nothing was found.
    missing: BTreeSet<&'static str>,
    loaded: HashMap<ID, Arc<Typeface>>,
    /// Files read, by path.
    files: HashMap<PathBuf, Arc<Vec<u8>>>,
}

fn shelf() -> std::sync::MutexGuard<'static, Shelf> {
    static SHELF: OnceLock<Mutex<Shelf>> = OnceLock::new();
    SHELF.get_or_init(|| Mutex::new(Shelf::of_system())).lock().unwrap_or_else(PoisonError::into_inner)
}

/// Which regional forms of shared Chinese characters a text is written in, by the other scripts in it.
fn region(text: &str) -> &'static str {
    let has = |script: Script| text.chars().any(|c| c.script() == script);
    if has(Script::Hiragana) || has(Script::Katakana) {
        "JP"
    } else if has(Script::Hangul) {
        "KR"
    } else if has(Script::Bopomofo) {
        "TC"
    } else {
        "SC"
    }
}

fn is_picture(c: char) -> bool {
    matches!(c, '\u{1f000}'..='\u{1faff}')
}

impl Shelf {
    fn of_system() -> Shelf {
        let mut all = Database::new();
        all.load_system_fonts();
        let rank = |family: &str| match family {
            f if f.contains("Mono") || f.contains("Symbols") || f.contains("Emoji") => 4,
            f if f.starts_with("Noto Sans") => 0,
            f if f.contains("Sans") || f.contains("Gothic") => 1,
            f if f.contains("Serif") => 3,
            _ => 2,
        };
        let order = [400_u16, 600].map(|wanted| {
            let mut list: Vec<_> = all
                .faces()
                .filter(|f| f.style == Style::Normal && f.stretch == fontdb::Stretch::Normal)
                .map(|f| {
                    let family = f.families.first().map(|n| n.0.clone()).unwrap_or_default();
                    ((rank(&family), f.weight.0.abs_diff(wanted), family, f.index), f.id)
                })
                .collect();
            list.sort();
            list.into_iter().map(|l| l.1).collect()
        });
        Shelf {
            all,
            order,
            found: HashMap::new(),
            missing: BTreeSet::new(),
            loaded: HashMap::new(),
            files: HashMap::new(),
        }
    }

    fn covers(&self, id: ID, cluster: &str) -> bool {
        let has_all = |data: &[u8], index: u32| {
            ttf_parser::Face::parse(data, index)
                .is_ok_and(|f| cluster.chars().all(|c| is_unseen(c) || f.glyph_index(c).is_some()))
        };
        match self.loaded.get(&id) {
            Some(face) => has_all(&face.data, face.index),
            None => self.all.with_face_data(id, has_all).unwrap_or(false),
        }
    }

    /// The best typeface for a cluster that the own one does not cover.
    fn find(&mut self, cluster: &str, whole: &str, weight: Weight) -> Option<ID> {
        let first = cluster.chars().find(|c| !owns(*c) && !is_unseen(*c))?;
        let script = first.script();
        let name = script.full_name();
        let bold = weight == Weight::Bold;
        let region = if script == Script::Han { region(whole) } else { "" };
        if let Some(known) = self.found.get(&(first, region, bold))
            && known.is_none_or(|id| self.covers(id, cluster))
        {
            return *known;
        }
        let common = matches!(script, Script::Common | Script::Inherited | Script::Unknown);
        let id = if self.missing.contains(name) && !common {
            None
        } else {
            let wanted = |family: &str| match script {
                _ if is_picture(first) => family.contains("Emoji"),
                Script::Han | Script::Hiragana | Script::Katakana => {
                    family.contains("CJK") && family.ends_with(if region.is_empty() { "JP" } else { region })
                }
                Script::Hangul => family.contains("CJK") && family.ends_with("KR"),
                _ => family.contains(name),
            };
            let family_of = |id: &ID| self.all.face(*id).and_then(|f| f.families.first()).map_or("", |n| n.0.as_str());
            let order = &self.order[usize::from(bold)];
            let likely = order.iter().filter(|id| wanted(family_of(id)));
            likely.chain(order).copied().find(|id| self.covers(*id, cluster))
        };
        if id.is_none() && !common {
            self.missing.insert(name);
        }
        self.found.insert((first, region, bold), id);
        id
    }

    fn typeface(&mut self, id: ID) -> Option<Arc<Typeface>> {
        if let Some(face) = self.loaded.get(&id) {
            return Some(face.clone());
        }
        let info = self.all.face(id)?;
        let family = info.families.first().map(|n| n.0.clone()).unwrap_or_default();
        let index = info.index;
        let data = match &info.source {
            Source::Binary(data) => Arc::new(data.as_ref().as_ref().to_vec()),
            Source::File(path) | Source::SharedFile(path, _) => match self.files.get(path) {
                // Another face of the same file.
                Some(data) => data.clone(),
                None => {
                    let data = Arc::new(std::fs::read(path).ok()?);
                    self.files.insert(path.clone(), data.clone());
                    data
                }
            },
        };
        let face = Arc::new(Typeface { data, index, family });
        self.loaded.insert(id, face.clone());
        Some(face)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plain_text_is_one_run() {
        let list = runs("Mara, Ωmega, Жанна", Weight::Regular);
        assert_eq!(list.len(), 1);
        assert!(!list[0].right_to_left && matches!(list[0].face, Face::Own));
    }

    #[test]
    fn words_from_the_right_are_seen_in_their_order() {
        // By UAX #9: a text that begins from the left keeps its order, and the words from the right between turn.
        let list = runs("Shot 4: \u{5e0}\u{5d5}\u{5e2}\u{5d4} and \u{5d3}\u{5df}", Weight::Regular);
        let seen: Vec<(&str, bool)> = list.iter().map(|r| (r.text, r.right_to_left)).collect();
        let words: Vec<_> = seen.iter().filter(|r| r.1).map(|r| r.0).collect();
        assert_eq!(words, ["\u{5e0}\u{5d5}\u{5e2}\u{5d4}", "\u{5d3}\u{5df}"], "{seen:?}");
        // One that begins from the right is seen from its end.
        let list = runs("\u{5e0}\u{5d5}\u{5e2}\u{5d4} abc", Weight::Regular);
        assert_eq!(list[0].text, "abc", "{:?}", list.iter().map(|r| r.text).collect::<Vec<_>>());
    }

    #[test]
    fn no_character_is_lost_or_doubled() {
        let text = "é한국어 日本 नमस्ते ไทย שלום عربي 👩‍🎬!";
        let mut all: Vec<char> = runs(text, Weight::Bold).iter().flat_map(|r| r.text.chars()).collect();
        let mut wanted: Vec<char> = text.chars().collect();
        all.sort_unstable();
        wanted.sort_unstable();
        assert_eq!(all, wanted);
    }
}
