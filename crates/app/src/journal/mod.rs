//! The journal: a plan's edits written aside as they are made, so that nothing is lost when the program ends
//! before the plan is saved.
//!
//! A journal is a text file in the user's state folder, a line for each entry: the CRC-32 of the rest of the line
//! in eight hexadecimal digits, a space, and JSON. The first entry holds the plan's path and the whole plan, the
//! others what changed since the entry before them as a JSON Patch (RFC 6902). A line cut short ends the file; what cannot
//! be read for another reason is set aside, never deleted. The
//! window that writes it holds a lock on an empty file beside it, so that the journal itself can be read wherever locks
//! keep readers out; a journal without a lock was left behind.

mod keeper;

pub use keeper::{Keeper, Kept};

use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::fs::{self, File};
use std::io::{BufRead, BufReader, Read, Seek, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tapemark_core::plan::{Plan, from_json};

/// Largest journal that is read, bytes.
const MAX_BYTES: u64 = 512 << 20;
/// A journal with more bytes of changes than this is begun anew.
const LONG: u64 = 8 << 20;
const ENDING: &str = "tapemark-journal";
/// Ending of the file whose lock says that a journal is being written.
const HELD: &str = "tapemark-held";

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Entry {
    Begun { version: u32, plan_file: Option<PathBuf>, plan: Value },
    Changed(json_patch::Patch),
}

/// The folder of journals: `TAPEMARK_STATE`, or the user's state folder, or a temporary one.
#[must_use]
pub fn folder() -> PathBuf {
    use etcetera::BaseStrategy;
    if let Some(given) = std::env::var_os("TAPEMARK_STATE") {
        return PathBuf::from(given);
    }
    let base = etcetera::choose_base_strategy().ok();
    let state = base.and_then(|b| b.state_dir().or_else(|| Some(b.data_dir())));
    state.unwrap_or_else(std::env::temp_dir).join("tapemark").join("unsaved")
}

fn line(entry: &Entry) -> std::io::Result<Vec<u8>> {
    let json = serde_json::to_string(entry).map_err(std::io::Error::other)?;
    Ok(format!("{:08x} {json}\n", crc32fast::hash(json.as_bytes())).into_bytes())
}

/// The entry of one line without its end; none when it was cut short or damaged.
fn entry(line: &[u8]) -> Option<Entry> {
    let (sum, json) = (line.get(..8)?, line.get(9..)?);
    let sum = u32::from_str_radix(std::str::from_utf8(sum).ok()?, 16).ok()?;
    (crc32fast::hash(json) == sum).then(|| serde_json::from_slice(json).ok())?
}

/// What a journal holds.
#[derive(Debug, Clone)]
pub struct Found {
    /// The journal.
    pub journal: PathBuf,
    /// The plan's file; none for one that was never saved.
    pub plan_file: Option<PathBuf>,
    /// The plan as it was last.
    pub plan: Plan,
    /// When it was last written, if the disk says.
    pub when: Option<std::time::SystemTime>,
    /// Whether it changed after it was begun.
    pub changed: bool,
    /// Whether there is more in it that could not be read.
    pub fault: bool,
}

/// Reads what a journal holds, up to the first line that is not whole or does not lead to a plan; none when nothing of
/// it can be read.
#[must_use]
pub fn read(path: &Path) -> Option<Found> {
    let file = File::open(path).ok()?;
    let when = file.metadata().ok().and_then(|m| m.modified().ok());
    let mut bytes = Vec::new();
    file.take(MAX_BYTES).read_to_end(&mut bytes).ok()?;
    let mut lines = bytes
        .split_inclusive(|b| *b == b'\n')
        .filter_map(|l| l.strip_suffix(b"\n"))
        .map(|l| l.strip_suffix(b"\r").unwrap_or(l));
    let Entry::Begun { version: 1, plan_file, plan: first } = entry(lines.next()?)? else { return None };
    let plan = from_json(first.to_string().as_bytes()).ok()?;
    // A line cut short at the end was being written; a whole one that cannot be read is a fault.
    let mut fault = false;
    let mut patches = Vec::new();
    for line in lines {
        let Some(Entry::Changed(patch)) = entry(line) else {
            fault = true;
            break;
        };
        patches.push(patch);
    }
    let mut found = Found { journal: path.to_path_buf(), plan_file, plan, when, changed: false, fault };
    let mut value = first.clone();
    let applied = patches.iter().take_while(|p| json_patch::patch(&mut value, p).is_ok()).count();
    if applied > 0 {
        match from_json(value.to_string().as_bytes()) {
            Ok(plan) => (found.plan, found.changed) = (plan, true),
            Err(_) => found.step_by_step(first, &patches),
        }
    }
    found.fault |= applied < patches.len();
    Some(found)
}

impl Found {
    /// The last change that leads to a plan, change by change.
    fn step_by_step(&mut self, mut value: Value, patches: &[json_patch::Patch]) {
        self.fault = true;
        for patch in patches {
            let whole = json_patch::patch(&mut value, patch).is_ok();
            match from_json(value.to_string().as_bytes()) {
                Ok(plan) if whole => (self.plan, self.changed) = (plan, true),
                _ => return,
            }
        }
    }
}

/// The journals in a folder.
#[must_use]
pub fn journals(folder: &Path) -> Vec<PathBuf> {
    let list = fs::read_dir(folder).into_iter().flatten().flatten().map(|e| e.path());
    let mut list: Vec<PathBuf> = list.filter(|p| p.extension().is_some_and(|e| e == ENDING)).collect();
    list.sort();
    list
}

/// Takes a journal's lock, for as long as the file is open. A journal without one is better than none.
fn hold(path: &Path) -> Option<Arc<File>> {
    let held = File::create(path.with_extension(HELD)).ok()?;
    held.try_lock().ok()?;
    Some(Arc::new(held))
}

/// Removes a journal that nobody needs any more.
pub fn remove(path: &Path) {
    let _ = fs::remove_file(path);
    let _ = fs::remove_file(path.with_extension(HELD));
}

/// Whether a living window holds a journal.
fn is_held(path: &Path) -> bool {
    File::open(path.with_extension(HELD)).is_ok_and(|f| matches!(f.try_lock(), Err(fs::TryLockError::WouldBlock)))
}

/// Folder beside the journals for those that could not be read.
const NOT_READ: &str = "not-read";

/// Puts a journal that was not understood aside, where nothing looks for it; where it is now.
///
/// # Errors
/// When it cannot be moved: it stays where it is.
pub fn set_aside(path: &Path) -> std::io::Result<PathBuf> {
    let folder = path.parent().unwrap_or(Path::new("")).join(NOT_READ);
    fs::create_dir_all(&folder)?;
    let to = folder.join(path.file_name().unwrap_or_default());
    fs::rename(path, &to)?;
    let _ = fs::remove_file(path.with_extension(HELD));
    Ok(to)
}

/// What earlier windows left in a folder.
#[derive(Debug, Default)]
pub struct Left {
    /// Journals with work in them that is not in the plan's file, newest first.
    pub found: Vec<Found>,
    /// Journals that could not be read, where they are now. None was deleted.
    pub not_read: Vec<PathBuf>,
}

/// Looks at the journals that were left behind. Those with nothing to offer are removed, those that cannot be read are
/// set aside.
#[must_use]
pub fn look(folder: &Path) -> Left {
    let mut out = Left::default();
    for path in journals(folder).into_iter().filter(|p| !is_held(p)) {
        match read(&path) {
            Some(found) => {
                let same =
                    || found.plan_file.as_deref().is_some_and(|f| crate::files::read(f).is_ok_and(|p| p == found.plan));
                if !found.fault && (!found.changed || same()) {
                    remove(&path);
                } else {
                    out.found.push(found);
                }
            }
            // Not a byte was written.
            None if fs::metadata(&path).is_ok_and(|m| m.len() == 0) => remove(&path),
            None => out.not_read.push(set_aside(&path).unwrap_or(path)),
        }
    }
    out.found.sort_by_key(|f| std::cmp::Reverse(f.when));
    out
}

/// Whether another living window has a plan's file open, under whatever name.
#[must_use]
pub fn open_elsewhere(folder: &Path, plan_file: &Path, own: Option<&Path>) -> bool {
    let others = journals(folder).into_iter().filter(|p| Some(p.as_path()) != own && is_held(p));
    others.filter_map(|p| plan_file_of(&p)).any(|f| crate::files::is_same(&f, plan_file))
}

/// The plan's file that a journal names, by its first line.
fn plan_file_of(path: &Path) -> Option<PathBuf> {
    let mut first = Vec::new();
    BufReader::new(File::open(path).ok()?.take(MAX_BYTES)).read_until(b'\n', &mut first).ok()?;
    match entry(first.strip_suffix(b"\n")?)? {
        Entry::Begun { plan_file, .. } => plan_file,
        Entry::Changed(_) => None,
    }
}

/// A journal being written.
struct Journal {
    file: Arc<File>,
    held: Option<Arc<File>>,
    last: Value,
    begun_bytes: u64,
    bytes: u64,
}

impl Journal {
    /// Begins one, beside any older one of the same name until it is whole.
    /// With `now`, what changed up to it is in it from the start. The lock of the one before goes on.
    fn begin(
        path: &Path,
        plan_file: Option<&Path>,
        plan: &Plan,
        now: Option<&Plan>,
        before: Option<&Journal>,
    ) -> std::io::Result<Journal> {
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)?;
        }
        let last = serde_json::to_value(plan).map_err(std::io::Error::other)?;
        // In full: whoever brings it back may stand in another folder.
        let plan_file = plan_file.map(crate::files::full_name);
        let first = line(&Entry::Begun { version: 1, plan_file, plan: last.clone() })?;
        let fresh = path.with_extension("new");
        let file = Arc::new(File::create(&fresh)?);
        // Its owner's mark, before it is seen under its name.
        let kept = before.and_then(|b| b.held.clone()).filter(|_| path.with_extension(HELD).exists());
        let held = kept.or_else(|| hold(path));
        (&*file).write_all(&first)?;
        let bytes = first.len() as u64;
        let mut journal = Journal { file, held, last, begun_bytes: bytes, bytes };
        if let Some(now) = now {
            journal.note(now)?;
            // It takes the place of a file that holds what is nowhere else.
            journal.file.sync_data()?;
        }
        journal.begun_bytes = journal.bytes;
        fs::rename(&fresh, path)?;
        Ok(journal)
    }

    /// Notes how the plan now is. A program that is killed loses nothing of it; that it outlasts a power cut is the
    /// keeper's care, which forces it to the disk.
    fn note(&mut self, plan: &Plan) -> std::io::Result<()> {
        let next = serde_json::to_value(plan).map_err(std::io::Error::other)?;
        let patch = json_patch::diff(&self.last, &next);
        if patch.0.is_empty() {
            return Ok(());
        }
        let text = line(&Entry::Changed(patch))?;
        if let Err(e) = (&*self.file).write_all(&text) {
            // Half a line would end the journal for the reader: back to where it was whole.
            let _ = self.file.set_len(self.bytes);
            let _ = (&*self.file).seek(std::io::SeekFrom::Start(self.bytes));
            return Err(e);
        }
        self.bytes += text.len() as u64;
        self.last = next;
        Ok(())
    }

    fn is_long(&self) -> bool {
        self.bytes - self.begun_bytes > LONG.max(2 * self.begun_bytes)
    }
}
