//! What Tapemark says, in each language: every text is there, whole, with the same values.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use tapemark_words::{Language, figure, say, signed, speak, texts_of};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_path_buf()
}

fn rust_files(folder: &Path, out: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()) {
        if entry.is_dir() {
            rust_files(&entry, out);
        } else if entry.extension().is_some_and(|e| e == "rs") {
            out.push(entry);
        }
    }
}

/// The program's sources, without their tests.
fn sources() -> Vec<(PathBuf, String)> {
    let mut files = Vec::new();
    for name in ["core", "sheet", "exchange", "app"] {
        rust_files(&root().join("crates").join(name).join("src"), &mut files);
    }
    let text = |p: &PathBuf| fs::read_to_string(p).unwrap();
    files.iter().map(|p| (p.clone(), text(p).split("#[cfg(test)]\nmod").next().unwrap().to_string())).collect()
}

fn texts(language: Language) -> BTreeMap<String, Vec<String>> {
    let (all, errors) = texts_of(language);
    assert!(errors.is_empty(), "{language:?}: {errors:?}");
    let count = all.len();
    let by_id: BTreeMap<_, _> = all.into_iter().collect();
    assert_eq!(by_id.len(), count, "an identifier stands twice in {language:?}");
    by_id
}

#[test]
fn both_languages_say_the_same_with_the_same_values() {
    let (english, german) = (texts(Language::English), texts(Language::German));
    assert!(english.len() > 1300, "{}", english.len());
    let (e, g): (BTreeSet<_>, BTreeSet<_>) = (english.keys().collect(), german.keys().collect());
    assert!(e == g, "only in one: {:?}", e.symmetric_difference(&g).collect::<Vec<_>>());
    for (id, values) in &english {
        let of_german = &german[id];
        assert_eq!(values, of_german, "{id}");
    }
}

/// What a call of the macro gives, from its first argument to its closing bracket.
fn arguments(after: &str) -> Vec<&str> {
    let (mut depth, mut start, mut quoted, mut escaped) = (0_i32, 0, false, false);
    let mut out = Vec::new();
    for (i, c) in after.char_indices() {
        if quoted {
            quoted = escaped || c != '"';
            escaped = !escaped && c == '\\';
            continue;
        }
        match c {
            '"' => quoted = true,
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' if depth == 0 => {
                out.push(after[start..i].trim());
                break;
            }
            ')' | ']' | '}' => depth -= 1,
            ',' if depth == 0 => {
                out.push(after[start..i].trim());
                start = i + 1;
            }
            _ => {}
        }
    }
    out.retain(|a| !a.is_empty());
    out
}

#[test]
fn every_text_asked_for_is_there_and_every_text_there_is_asked_for() {
    let english = texts(Language::English);
    let sources = sources();
    let (mut calls, mut wrong) = (0, Vec::new());
    for (file, source) in &sources {
        for (at, _) in source.match_indices("say!(") {
            let args = arguments(&source[at + 5..]);
            let Some(id) = args.first().and_then(|a| a.strip_prefix('"')).and_then(|a| a.strip_suffix('"')) else {
                continue;
            };
            calls += 1;
            let place = || format!("{}: {id}", file.display());
            let Some(wanted) = english.get(id) else {
                wrong.push(format!("{} is not in the words", place()));
                continue;
            };
            let mut given: Vec<String> =
                args[1..].iter().map(|a| a.split('=').next().unwrap().trim().to_string()).collect();
            given.sort();
            // A word given to a text is a text too; what has an underline is a key.
            let bare = args[1..].iter().flat_map(|a| a.split('"').skip(1).step_by(2));
            let words = |w: &&str| w.chars().filter(|c| c.is_alphabetic()).count() > 2 && !w.contains('_');
            wrong.extend(
                bare.filter(words).filter(|w| !english.contains_key(*w)).map(|w| format!("{} is given {w:?}", place())),
            );
            if &given != wanted {
                wrong.push(format!("{} is given {given:?}, wants {wanted:?}", place()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(calls > 1300, "{calls}");
    let all: String = sources.iter().map(|s| s.1.as_str()).collect();
    let idle: Vec<_> = english.keys().filter(|id| !all.contains(&format!("\"{id}\""))).collect();
    assert!(idle.is_empty(), "nothing says {idle:?}");
}

/// Decimal marks and plurals as the Common Locale Data Repository has them for English and German (from memory): a
/// full stop and a comma; one and other. Nothing else in this program asks which language is spoken.
#[test]
fn numbers_are_written_as_in_the_language() {
    let said = || {
        let stops = 2.8_f64;
        [
            figure(1234.56, 1),
            signed(0.5_f32, 2),
            signed(-3, 0),
            say!("s-days", s = 1),
            say!("s-days", s = 2),
            say!("so-many-stops", stops),
            say!("shot-named", shot = "1.5"),
        ]
    };
    speak(Language::English);
    assert_eq!(said(), ["1234.6", "+0.50", "-3", "1 day", "2 days", "2.8 stops", "shot 1.5"]);
    speak(Language::German);
    assert_eq!(said(), ["1234,6", "+0,50", "-3", "1 Tag", "2 Tagen", "2,8 Blenden", "Einstellung 1.5"]);
    speak(Language::English);
}
