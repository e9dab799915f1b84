//! The fuzzers' corpora, kept small, replayed: an answer or an error to each, never a panic.

use std::path::Path;
use tapemark_acceptance::{Lot, fuzzed};

const NUMBERS: [&str; 14] = [
    "0",
    "-1",
    "1e308",
    "-1e308",
    "5e-324",
    "NaN",
    "1e999",
    "65536",
    "4294967296",
    "0.001",
    "-0",
    "1000000",
    "",
    "null",
];

/// A seed with a few bytes turned, cut, doubled, or numbers put in the place of numbers.
fn mutated(seed: &[u8], other: &[u8], lot: &mut Lot) -> Vec<u8> {
    let mut out = seed.to_vec();
    for _ in 0..=lot.below(4) {
        let at = lot.below(out.len() + 1);
        let to = (at + 1 + lot.below(24)).min(out.len());
        match lot.below(7) {
            0 if at < out.len() => out[at] ^= 1 << lot.below(8),
            1 if at < out.len() => out[at] = lot.below(256) as u8,
            2 if at < to => drop(out.drain(at..to)),
            3 if at < to => {
                let twice = out[at..to].to_vec();
                out.splice(at..at, twice);
            }
            4 if !other.is_empty() => {
                let from = lot.below(other.len());
                let upto = (from + 1 + lot.below(64)).min(other.len());
                out.splice(at..at, other[from..upto].iter().copied());
            }
            5 => out.truncate(at),
            _ => {
                // The next number from here on.
                let number = |c: &u8| c.is_ascii_digit() || b"+-.eE".contains(c);
                let Some(start) = out[at.min(out.len())..].iter().position(u8::is_ascii_digit).map(|n| n + at) else {
                    continue;
                };
                let end = out[start..].iter().position(|c| !number(c)).map_or(out.len(), |n| n + start);
                out.splice(start..end, NUMBERS[lot.below(NUMBERS.len())].bytes());
            }
        }
    }
    out
}

/// Replays a corpus, and each of it changed by lot: `TAPEMARK_MUTATIONS` says how often.
fn replay(name: &str, target: impl Fn(&[u8])) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fuzz/corpus").join(name);
    let list = std::fs::read_dir(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    let mut paths: Vec<_> = list.map(|e| e.unwrap().path()).collect();
    paths.sort();
    let seeds: Vec<Vec<u8>> = paths.iter().map(|p| std::fs::read(p).unwrap()).collect();
    assert!(!seeds.is_empty(), "{} holds something", folder.display());
    for (path, seed) in paths.iter().zip(&seeds) {
        println!("{}", path.display());
        target(seed);
    }
    let times: usize = std::env::var("TAPEMARK_MUTATIONS").ok().and_then(|n| n.parse().ok()).unwrap_or(40);
    let mut lot = Lot(name.len() as u64);
    for n in 0..times {
        for (path, seed) in paths.iter().zip(&seeds) {
            let other = lot.below(seeds.len());
            let bytes = mutated(seed, &seeds[other], &mut lot);
            let started = std::time::Instant::now();
            let done = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| target(&bytes)));
            if let Some(keep) = std::env::var_os("TAPEMARK_MUTATIONS_KEEP")
                && (done.is_err() || started.elapsed().as_secs() >= 2)
            {
                std::fs::write(Path::new(&keep).join(format!("{name}-{n}-{:?}", started.elapsed())), &bytes).unwrap();
                continue;
            }
            if let Err(why) = done {
                panic!("change {n} of {}: {why:?}", path.display());
            }
        }
    }
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
