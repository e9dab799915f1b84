//! The fuzzers' corpora, kept small, replayed: an answer or an error to each, never a panic.

use std::path::Path;
use tapemark_acceptance::fuzzed;

fn replay(name: &str, target: impl Fn(&[u8])) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fuzz/corpus").join(name);
    let mut count = 0;
    for entry in std::fs::read_dir(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display())) {
        let path = entry.unwrap().path();
        println!("{}", path.display());
        target(&std::fs::read(&path).unwrap());
        count += 1;
    }
    assert!(count > 0, "{} holds something", folder.display());
}

#[test]
fn plans() {
    replay("plan", fuzzed::plan);
}

#[test]
fn candela_files() {
    replay("candela", fuzzed::candela);
}

#[test]
fn drawings() {
    replay("drawing", fuzzed::drawing);
}

#[test]
fn pictures() {
    replay("picture", fuzzed::picture);
}

#[test]
fn lengths() {
    replay("length", fuzzed::length);
}

#[test]
fn journals() {
    replay("journal", fuzzed::journal);
}
