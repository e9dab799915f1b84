//! Plan files on disk: bounded reads, atomic writes, a backup of what was there.

use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use tapemark_core::colour::{CurveOf, read_curve};
use tapemark_core::light::read_lm63;
use tapemark_core::plan::{
    CandelaTable, Curve, MAX_CANDELA_BYTES, MAX_PLAN_BYTES, Plan, PlanError, from_json, to_json,
};

/// The demo, part of the program.
pub const DEMO_JSON: &str = include_str!("../../../assets/demo/last-firing.tapemark.json");

/// The demo plan.
///
/// # Panics
/// Never: a test reads it.
#[must_use]
pub fn demo() -> Plan {
    from_json(DEMO_JSON.as_bytes()).expect("the demo is a plan")
}

fn io_error(path: &Path, what: &str, e: &std::io::Error) -> PlanError {
    use std::io::ErrorKind;
    let remedy = match e.kind() {
        ErrorKind::NotFound => "check the name and the folder",
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            "choose a folder you may write to (save as), or ask for the right to"
        }
        ErrorKind::StorageFull => "make room on the disk or save to another one; the old file is untouched",
        ErrorKind::IsADirectory => "name a file, not a folder",
        _ => "try again, or save to another place; the old file is untouched",
    };
    PlanError { what: format!("{what}: {e}"), place: path.display().to_string(), remedy: remedy.into() }
}

/// Reads a plan.
///
/// # Errors
/// Names what is wrong, the file and the place in it, and the remedy.
pub fn read(path: &Path) -> Result<Plan, PlanError> {
    let file = File::open(path).map_err(|e| io_error(path, "the plan could not be opened", &e))?;
    let mut bytes = Vec::new();
    file.take(MAX_PLAN_BYTES as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| io_error(path, "the plan could not be read", &e))?;
    from_json(&bytes).map_err(|e| PlanError { place: format!("{}: {}", path.display(), e.place), ..e })
}

fn read_bytes(path: &Path, most: usize, what: &str) -> Result<Vec<u8>, PlanError> {
    let file = File::open(path).map_err(|e| io_error(path, &format!("{what} could not be opened"), &e))?;
    let mut bytes = Vec::new();
    file.take(most as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| io_error(path, &format!("{what} could not be read"), &e))?;
    Ok(bytes)
}

fn stem(path: &Path) -> String {
    path.file_stem().map(|s| s.to_string_lossy().chars().take(60).collect()).unwrap_or_default()
}

fn line_of(path: &Path, line: usize) -> String {
    if line == 0 { path.display().to_string() } else { format!("{}: line {line}", path.display()) }
}

/// Reads a lamp's measured candelas (ANSI/IES LM-63).
///
/// # Errors
/// Names what is wrong, the file and line, and the remedy.
pub fn candela(path: &Path) -> Result<CandelaTable, PlanError> {
    let bytes = read_bytes(path, MAX_CANDELA_BYTES, "the candela file")?;
    read_lm63(&bytes, &stem(path)).map_err(|e| PlanError {
        what: e.what,
        place: line_of(path, e.line),
        remedy: e.remedy,
    })
}

/// Reads a spectrum or a gel's transmission.
///
/// # Errors
/// Names what is wrong, the file and line, and the remedy.
pub fn curve(path: &Path, of: CurveOf) -> Result<Curve, PlanError> {
    let bytes = read_bytes(path, 1 << 20, "the curve")?;
    let text = String::from_utf8(bytes).map_err(|e| PlanError {
        what: "the file is not text".into(),
        place: format!("{}: byte {}", path.display(), e.utf8_error().valid_up_to()),
        remedy: "choose a table saved as text (CSV)".into(),
    })?;
    read_curve(&text, &stem(path), of).map_err(|e| PlanError {
        what: e.what,
        place: line_of(path, e.line),
        remedy: e.remedy,
    })
}

/// Writes bytes so that the file is either the old one or the new one, never half of each.
///
/// # Errors
/// Names the file and the remedy; the old file is untouched.
pub fn write_atomically(path: &Path, bytes: &[u8]) -> Result<(), PlanError> {
    let folder = match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p.to_path_buf(),
        _ => PathBuf::from("."),
    };
    if path.is_dir() {
        return Err(io_error(path, "the file could not be written", &std::io::ErrorKind::IsADirectory.into()));
    }
    let fail = |e: &std::io::Error| io_error(path, "the file could not be written", e);
    let mut temporary = tempfile::Builder::new().prefix(".tapemark-").tempfile_in(&folder).map_err(|e| fail(&e))?;
    temporary.write_all(bytes).map_err(|e| fail(&e))?;
    if let Ok(old) = fs::metadata(path) {
        let _ = temporary.as_file().set_permissions(old.permissions());
    } else {
        open_to_readers(temporary.as_file());
    }
    temporary.as_file().sync_all().map_err(|e| fail(&e))?;
    temporary.persist(path).map_err(|e| fail(&e.error))?;
    // The rename itself is on disk once its folder is.
    if let Ok(folder) = File::open(&folder) {
        let _ = folder.sync_all();
    }
    Ok(())
}

/// A new file is readable as any other, not private as temporary files are.
fn open_to_readers(file: &File) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let _ = file.set_permissions(fs::Permissions::from_mode(0o644));
    }
    #[cfg(not(unix))]
    let _ = file;
}

/// Writes a plan atomically.
///
/// # Errors
/// As [`write_atomically`].
pub fn write(path: &Path, plan: &Plan) -> Result<(), PlanError> {
    write_atomically(path, to_json(plan).as_bytes())
}

/// What the editor remembers between runs.
#[derive(Debug, Clone, Default, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Memory {
    /// Plans opened, newest first.
    #[serde(default)]
    pub recent: Vec<PathBuf>,
}

/// Most plans remembered.
const RECENT: usize = 8;

impl Memory {
    fn path() -> Option<PathBuf> {
        use etcetera::BaseStrategy;
        etcetera::choose_base_strategy().ok().map(|d| d.config_dir().join("tapemark").join("recent.json"))
    }
    /// Reads it; a missing or broken file is an empty memory.
    #[must_use]
    pub fn load() -> Memory {
        Memory::path().and_then(|p| fs::read(p).ok()).and_then(|b| serde_json::from_slice(&b).ok()).unwrap_or_default()
    }
    /// Notes a plan as the last one used, and writes the memory; failing to is no reason to stop.
    pub fn note(&mut self, plan: &Path) {
        let plan = plan.canonicalize().unwrap_or_else(|_| plan.to_path_buf());
        self.recent.retain(|p| p != &plan);
        self.recent.insert(0, plan);
        self.recent.truncate(RECENT);
        if let Some(path) = Memory::path()
            && let Some(folder) = path.parent()
            && fs::create_dir_all(folder).is_ok()
            && let Ok(text) = serde_json::to_string_pretty(self)
        {
            let _ = write_atomically(&path, text.as_bytes());
        }
    }
}
