//! The window in German: nothing of it is left in English.
//!
//! A program of its own, because a process speaks one language.

mod window;

use egui_kittest::kittest::NodeT;
use std::collections::{HashMap, HashSet};
use std::sync::LazyLock;
use tapemark::editor::{Editor, language_of};
use tapemark::files::{self, Memory};
use tapemark_words::{Language, speak, text, texts_of};
use window::pictures::{compare, opened, shown};
use window::walk::{every_screen, nodes};

/// English texts whose German differs, and which are not German texts of something else. Whoever asks for them speaks
/// German from then on: the tests run side by side, in one process.
static ENGLISH_ALONE: LazyLock<HashMap<&str, &str>> = LazyLock::new(|| {
    let ids: Vec<&'static str> =
        texts_of(Language::English).0.into_iter().filter(|t| t.1.is_empty()).map(|t| &*t.0.leak()).collect();
    let said = |language| {
        speak(language);
        ids.iter().map(|id| text(id)).collect::<Vec<_>>()
    };
    let (english, german) = (said(Language::English), said(Language::German));
    let meant: HashSet<&str> = german.iter().copied().collect();
    english.into_iter().zip(german).filter(|(e, g)| e != g && !meant.contains(e)).collect()
});

/// Words that no German text has, but English ones are full of.
const TELLTALES: [&str; 24] = [
    "the", "of", "and", "from", "with", "to", "is", "are", "not", "by", "no", "up", "seen", "shot", "shots", "lamp",
    "lamps", "face", "faces", "wall", "stops", "light", "behind", "camera",
];

#[test]
fn nothing_is_left_in_english() {
    let english = &*ENGLISH_ALONE;
    assert!(english.len() > 800, "{}", english.len());
    let mut editor = Editor::new(files::demo(), None);
    editor.patient = true;
    // The plan's own names are the user's, in whatever language.
    let own = tapemark_core::plan::to_json(&editor.plan);
    let mut left = Vec::new();
    let mut commas = 0;
    let mut seen = HashSet::new();
    let mut h = window::window(editor);
    // A metre of the plan stays as long as it is: no panel is wider for German words.
    let metre = |h: &window::Window<'_>| [0.0, 1.0].map(|x| h.state().on_screen([x, 0.0].into()));
    let before = metre(&h);
    every_screen(&mut h, |screen, h| {
        assert_eq!(metre(h), before, "{screen}");
        for node in nodes(h) {
            let n = node.accesskit_node();
            for words in [n.label(), n.value()].into_iter().flatten() {
                seen.insert(words.clone());
                let telltale = words.split(|c: char| !c.is_alphanumeric()).find(|w| TELLTALES.contains(w));
                if let Some(word) = telltale
                    && !own.contains(words.trim_end_matches('…'))
                {
                    left.push(format!("{screen}: {words} (\"{word}\")"));
                }
                commas += usize::from(words.contains(" lx") && words.contains(','));
                let bare = words.trim_end_matches(['…', ':']).trim();
                if let Some(german) = english.get(bare).or(english.get(words.as_str()))
                    && !own.contains(&format!("\"{bare}\""))
                {
                    left.push(format!("{screen}: {words} ({german})"));
                }
            }
        }
    });
    left.sort();
    left.dedup();
    assert!(left.is_empty(), "{}", left.join("\n"));
    assert!(seen.len() > 300, "only {} texts were seen", seen.len());
    // Common locale data (CLDR, from memory): German writes the decimal comma.
    assert!(commas > 0, "no decimal comma");
    for words in ["Datei", "Messwerte", "Klebeband", "Drehfolge"] {
        assert!(seen.contains(words), "{words}");
    }
}

#[test]
fn the_language_is_the_one_asked_for_or_chosen_or_the_systems() {
    let chosen = Memory { language: Some("de".into()), ..Memory::default() };
    let none = Memory::default();
    assert_eq!(language_of(Some(Language::English), &chosen, Some("de-AT")), Language::English);
    assert_eq!(language_of(None, &chosen, Some("en-GB")), Language::German);
    // Tags by BCP 47 and locale names by POSIX.
    assert_eq!(language_of(None, &none, Some("de-CH")), Language::German);
    assert_eq!(language_of(None, &none, Some("de_AT.UTF-8")), Language::German);
    assert_eq!(language_of(None, &none, Some("fr-FR")), Language::English);
    assert_eq!(language_of(None, &none, Some("C")), Language::English);
    assert_eq!(language_of(None, &none, None), Language::English);
}

#[test]
fn the_window_in_german() {
    LazyLock::force(&ENGLISH_ALONE);
    let (h, painter) = opened([1280.0, 800.0], 1.0);
    compare("editor-de-1280x800.png", &shown(&h, &painter));
}

/// What the command line answers in German, without a line that an English word gives away.
#[test]
fn the_command_line_answers_in_german() {
    let plan = concat!(env!("CARGO_MANIFEST_DIR"), "/../../assets/demo/last-firing.tapemark.json");
    let own = std::fs::read_to_string(plan).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let sheet = folder.path().join("blatt.svg");
    let told = |args: &[&str]| {
        let mut run = std::process::Command::new(env!("CARGO_BIN_EXE_tapemark"));
        let out = run.args(args).args(["--language", "de"]).env_remove("DISPLAY").output().unwrap();
        let words = String::from_utf8(out.stdout).unwrap() + std::str::from_utf8(&out.stderr).unwrap();
        assert!(!words.is_empty() || args.contains(&"sheet"), "{args:?}");
        words
    };
    let mut all = String::new();
    for args in [
        vec!["facts", plan],
        vec!["notices", plan],
        vec!["cover", plan],
        vec!["continuity", plan],
        vec!["power", plan],
        vec!["kit", plan],
        vec!["order", plan],
        vec!["facts", "nicht-da.json"],
        vec!["sheet", plan, "--shot", "2", "-o", sheet.to_str().unwrap()],
    ] {
        all += &told(&args);
    }
    let drawn = std::fs::read_to_string(&sheet).unwrap();
    let texts = drawn.split("<text").skip(1).filter_map(|t| t.split_once('>')?.1.split_once("</text>"));
    all.extend(texts.map(|t| format!("{}\n", t.0)));
    let left: Vec<&str> = all
        .lines()
        // The code of a notice is for scripts.
        .map(|l| l.split(" [").next().unwrap())
        .filter(|l| l.split(|c: char| !c.is_alphanumeric()).any(|w| TELLTALES.contains(&w)))
        .filter(|l| !own.contains(l.trim().trim_end_matches('…')))
        .collect();
    assert!(left.is_empty(), "{}", left.join("\n"));
    assert!(all.contains("Einstellung 2") && all.contains("2,"), "{all}");
}
