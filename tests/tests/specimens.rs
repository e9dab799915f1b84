//! Plans that once broke a law or an answer, as small as they could be made: each is asked everything.

use tapemark_acceptance::every::ask;
use tapemark_acceptance::shrink::specimens;
use tapemark_core::plan::from_json;

#[test]
fn every_specimen_has_every_answer() {
    let mut files: Vec<_> = std::fs::read_dir(specimens())
        .expect("the folder of specimens is there")
        .filter_map(|e| Some(e.ok()?.path()))
        .filter(|p| p.to_string_lossy().ends_with(".tapemark.json"))
        .collect();
    files.sort();
    for file in files {
        let bytes = std::fs::read(&file).expect("a specimen can be read");
        let plan = from_json(&bytes).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
        println!("{}", file.display());
        ask(&plan);
    }
}
