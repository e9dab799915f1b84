//! The program itself, as it was built, run as scripts run it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;
use std::time::SystemTime;

/// The newest time of any file below a folder.
fn newest(folder: &Path) -> SystemTime {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let time = |e: std::fs::DirEntry| match e.file_type() {
        Ok(t) if t.is_dir() => newest(&e.path()),
        _ => e.metadata().and_then(|m| m.modified()).unwrap_or(SystemTime::UNIX_EPOCH),
    };
    entries.map(time).max().unwrap_or(SystemTime::UNIX_EPOCH)
}

/// Where the program is: `TAPEMARK_PROGRAM`, or beside these tests, built now when its sources are newer.
///
/// # Panics
/// When it cannot be built.
#[must_use]
pub fn program() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| {
        if let Some(named) = std::env::var_os("TAPEMARK_PROGRAM") {
            return named.into();
        }
        let test = std::env::current_exe().expect("this test is a program");
        let folder = test.ancestors().nth(2).expect("tests are built in a folder of their own");
        let path = folder.join(format!("tapemark{}", std::env::consts::EXE_SUFFIX));
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
        let sources = newest(&root.join("crates")).max(newest(&root.join("assets")));
        if !path.metadata().and_then(|m| m.modified()).is_ok_and(|built| built >= sources) {
            let mut build = Command::new(option_env!("CARGO").unwrap_or("cargo"));
            build.current_dir(&root).args(["build", "--offline", "-p", "tapemark", "--bin", "tapemark"]);
            if folder.ends_with("release") {
                build.arg("--release");
            }
            assert!(build.status().is_ok_and(|s| s.success()), "the program could not be built");
        }
        path
    })
}

/// Runs the program, without a display.
///
/// # Panics
/// When it cannot be started.
#[must_use]
pub fn run(args: &[&str], prepare: impl FnOnce(&mut Command)) -> Output {
    let mut command = Command::new(program());
    command.args(args).env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY");
    prepare(&mut command);
    command.output().expect("the program can be started")
}
