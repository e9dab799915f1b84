//! `docs/accuracy.md`: how far every answer is off, law by law and reference by reference.
//!
//! `TAPEMARK_DOCS=write` asks every law anew and writes the page; `TAPEMARK_PLANS` says about how many plans.
//! Otherwise its rows must be the laws and references there are; figures are not compared.

use std::fmt::Write;
use std::path::{Path, PathBuf};
use tapemark_acceptance::laws::{Found, Law, all};
use tapemark_acceptance::shrink::Asked;

/// Between these lines stands what other programs traced; it is kept as it is.
const TRACED: [&str; 2] = ["<!-- path tracer: from here -->", "<!-- path tracer: to here -->"];

/// Tests that check no value from outside.
const OWN: [&str; 16] = [
    "absurd",
    "absurd_drawings",
    "accuracy",
    "bad_light",
    "corpora",
    "crash",
    "docs",
    "laws",
    "long_day",
    "model",
    "plan_file",
    "plausible",
    "power_cut",
    "program",
    "specimens",
    "words",
];

fn page() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/accuracy.md")
}

/// A file of checks against values from outside: its name, how many checks, and what they are against.
struct Reference {
    name: String,
    checks: usize,
    says: String,
}

fn references() -> Vec<Reference> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let entries = std::fs::read_dir(folder).expect("the tests are there").flatten();
    let mut out: Vec<Reference> = entries
        .filter_map(|e| {
            let name = e.file_name().to_string_lossy().strip_suffix(".rs")?.to_string();
            let text = std::fs::read_to_string(e.path()).ok()?;
            let header: Vec<&str> = text.lines().map_while(|l| l.strip_prefix("//!")).map(str::trim).collect();
            let says = header.split(|l| l.is_empty()).next().unwrap_or_default().join(" ");
            let checks = text.lines().filter(|l| l.trim() == "#[test]").count();
            (!OWN.contains(&name.as_str())).then_some(Reference { name, checks, says })
        })
        .collect();
    out.sort_by(|a, b| a.name.cmp(&b.name));
    out
}

fn row_of_law(law: &Law, asked: Asked, found: &Found) -> String {
    let mut off = found.off.clone();
    off.sort_by(|a, b| a.1.total_cmp(&b.1));
    let figure = |v: f64| if v < 5e-4 { "0".to_string() } else { format!("{v:.3}") };
    let median = off.get(off.len() / 2).map_or("–".into(), |o| figure(o.1));
    let (worst, seed) = match (found.broken.first(), off.last()) {
        (Some((seed, _)), _) => (format!("broken by {}", found.broken.len()), seed.to_string()),
        (None, Some((seed, v))) => (figure(*v), if *v < 5e-4 { "–".into() } else { seed.to_string() }),
        (None, None) => ("–".into(), "–".into()),
    };
    format!(
        "| {} | {} | {} | {median} | {worst} | {seed} | {} | `TAPEMARK_PLANS={} cargo test --release -p \
         tapemark-acceptance --test laws {}` |\n",
        law.says,
        law.allows,
        asked.plans,
        law.source,
        asked.plans,
        law.name.replace('-', "_"),
    )
}

fn row_of_reference(r: &Reference) -> String {
    format!("| {} | {} | `cargo test -p tapemark-acceptance --test {}` |\n", r.says, r.checks, r.name)
}

/// What stands between the two lines of the page as it is.
fn kept(text: &str) -> String {
    let inside = text.split_once(TRACED[0]).and_then(|(_, rest)| rest.split_once(TRACED[1]));
    inside.map_or("\n\nTo be filled in.\n\n".into(), |(inside, _)| inside.to_string())
}

const HEAD: &str = "# How far the answers are off

Written by `TAPEMARK_DOCS=write cargo test --release -p tapemark-acceptance --test accuracy`. Whoever acts on a number \
should know how far to trust it; this page says by which checks, and how far off the worst of them was.

## Laws

Each law is asked about plans drawn by lot from seeds. How far off an answer is, is told as a share of what the law \
allows: 0 is the same to the last digit, 1 as far off as it may be. The seed is that of the worst plan.

| law | allows | plans | median | worst | seed | source | command |
| --- | --- | --- | --- | --- | --- | --- | --- |
";

const OUTSIDE: &str = "
## Values from outside

Each file names the source of every value beside the check, and how far off it may be. A value that the trade uses \
and nobody publishes is marked \"common practice, no source\".

| what and against what | checks | command |
| --- | --- | --- |
";

fn written(text: &str) -> String {
    let mut out = HEAD.to_string();
    for law in all() {
        let asked = Asked { plans: Asked::usually(100).plans, seed: 1 };
        out += &row_of_law(&law, asked, &law.found(asked));
    }
    out += OUTSIDE;
    references().iter().for_each(|r| out += &row_of_reference(r));
    let _ = write!(out, "\n## Light against a path tracer\n\n{}{}{}\n", TRACED[0], kept(text), TRACED[1]);
    out
}

#[test]
fn the_page_tells_the_laws_and_references_there_are() {
    let text = std::fs::read_to_string(page()).unwrap_or_default();
    if std::env::var("TAPEMARK_DOCS").is_ok_and(|v| v == "write") {
        std::fs::write(page(), written(&text)).expect("the page can be written");
        return;
    }
    let cells = |n: usize| -> Vec<String> {
        let part = text.split("\n## ").nth(n).unwrap_or_default();
        let rows = part.lines().filter(|l| l.starts_with("| ")).skip(2);
        rows.map(|l| l.split(" | ").next().unwrap_or_default().trim_start_matches("| ").to_string()).collect()
    };
    let laws: Vec<String> = all().iter().map(|l| l.says.to_string()).collect();
    assert_eq!(cells(1), laws, "write the page anew");
    let outside: Vec<String> = references().iter().map(|r| r.says.clone()).collect();
    assert_eq!(cells(2), outside, "write the page anew");
}
