//! Plan files on disk: bounded reads, atomic writes through links, the version before kept beside.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use tapemark_core::colour::{CurveOf, read_curve};
use tapemark_core::kit::{KitFile, MAX_KIT_BYTES, kit_from_json};
use tapemark_core::light::read_lm63;
use tapemark_core::plan::{
    CandelaTable, Curve, MAX_CANDELA_BYTES, MAX_PLAN_BYTES, Plan, PlanError, from_json, from_json_with_unknown_keys,
    from_newer_json, to_json,
};
use tapemark_words::say;

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
        ErrorKind::NotFound => say!("check-the-name-and-the-folder"),
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            say!("choose-a-folder-you-may-write")
        }
        ErrorKind::StorageFull => say!("make-room-on-the-disk-or"),
        ErrorKind::IsADirectory => say!("name-a-file-not-a-folder"),
        _ => say!("try-again-or-save-to-another"),
    };
    PlanError { what: format!("{what}: {e}"), place: path.display().to_string(), remedy: remedy.into() }
}

/// Reads a plan.
///
/// # Errors
/// Names what is wrong, the file and the place in it, and the remedy.
pub fn read(path: &Path) -> Result<Plan, PlanError> {
    let bytes = read_bytes(path, MAX_PLAN_BYTES, say!("the-plan"))?;
    from_json(&bytes).map_err(|e| PlanError { place: format!("{}: {}", path.display(), e.place), ..e })
}

/// A plan as its file has it.
#[derive(Debug, Clone)]
pub struct Opened {
    /// The plan.
    pub plan: Plan,
    /// Why it may be looked at but not changed.
    pub read_only: Option<String>,
    /// Tells whether the file is still the same, see [`fingerprint`].
    pub fingerprint: u32,
}

/// Opens a plan for the editor; one of a newer program may be looked at.
///
/// # Errors
/// As [`read`].
pub fn open(path: &Path) -> Result<Opened, PlanError> {
    let bytes = read_bytes(path, MAX_PLAN_BYTES, say!("the-plan"))?;
    let at = |e: PlanError| PlanError { place: format!("{}: {}", path.display(), e.place), ..e };
    let fingerprint = crc32fast::hash(&bytes);
    match from_json(&bytes) {
        Ok(plan) => Ok(Opened { plan, read_only: None, fingerprint }),
        Err(e) => {
            let newer =
                || from_newer_json(&bytes).map(|(p, version)| (p, say!("written-by-a-newer-tapemark-file", version)));
            let unknown =
                || from_json_with_unknown_keys(&bytes).map(|(p, key)| (p, say!("a-key-would-be-lost-file", key)));
            let (plan, why) = newer().or_else(unknown).ok_or_else(|| at(e))?;
            Ok(Opened { plan, read_only: Some(why), fingerprint })
        }
    }
}

/// What a file holds, as one number; none when it cannot be read.
#[must_use]
pub fn fingerprint(path: &Path) -> Option<u32> {
    read_bytes(path, MAX_PLAN_BYTES, say!("the-plan")).ok().map(|b| crc32fast::hash(&b))
}

fn read_bytes(path: &Path, most: usize, what: &str) -> Result<Vec<u8>, PlanError> {
    let failed = |what: &str, e: &std::io::Error| match e.kind() {
        std::io::ErrorKind::StorageFull => io_error(path, what, e),
        _ => PlanError { remedy: say!("check-the-name-and-the-folder").into(), ..io_error(path, what, e) },
    };
    let found = fs::metadata(path).map_err(|e| failed(&say!("could-not-be-opened", what), &e))?;
    if !found.is_file() && !found.is_dir() {
        return Err(no_regular_file(path));
    }
    let file = File::open(path).map_err(|e| failed(&say!("could-not-be-opened", what), &e))?;
    let mut bytes = Vec::new();
    // What the system makes up while it is read has no length, and may have no end.
    let most = if found.is_file() && found.len() == 0 { 0 } else { most as u64 + 1 };
    file.take(most).read_to_end(&mut bytes).map_err(|e| failed(&say!("could-not-be-read", what), &e))?;
    Ok(bytes)
}

/// A pipe, a device or the like where a file is wanted: reading it may never end.
fn no_regular_file(path: &Path) -> PlanError {
    PlanError {
        what: say!("that-is-no-regular-file").into(),
        place: path.display().to_string(),
        remedy: say!("name-a-file-on-a-disk").into(),
    }
}

/// Whether two names lead to one file.
#[must_use]
pub fn is_same(a: &Path, b: &Path) -> bool {
    #[cfg(unix)]
    if let (Ok(a), Ok(b)) = (fs::metadata(a), fs::metadata(b)) {
        use std::os::unix::fs::MetadataExt;
        return (a.dev(), a.ino()) == (b.dev(), b.ino());
    }
    a.canonicalize().is_ok_and(|a| b.canonicalize().is_ok_and(|b| a == b))
}

/// A file's one full name: without links where it exists, from the working folder where it does not yet.
#[must_use]
pub fn full_name(path: &Path) -> PathBuf {
    path.canonicalize().or_else(|_| std::path::absolute(path)).unwrap_or_else(|_| path.to_path_buf())
}

/// Reads a kit file.
///
/// # Errors
/// Names what is wrong, the file and the place in it, and the remedy.
pub fn read_kit(path: &Path) -> Result<KitFile, PlanError> {
    let bytes = read_bytes(path, MAX_KIT_BYTES, say!("the-kit-file"))?;
    kit_from_json(&bytes).map_err(|e| PlanError { place: format!("{}: {}", path.display(), e.place), ..e })
}

/// A file's name without its folders.
#[must_use]
pub fn name_of(path: &Path) -> String {
    path.file_name().map(|n| n.to_string_lossy().to_string()).unwrap_or_default()
}

/// Reads a drawing to be brought in.
///
/// # Errors
/// Names the file and the remedy.
pub fn drawing(path: &Path) -> Result<Vec<u8>, PlanError> {
    read_bytes(path, tapemark_exchange::MAX_DRAWING_BYTES, say!("the-drawing"))
}

/// Reads a file that is no larger than a plan may be.
///
/// # Errors
/// Names the file and the remedy.
pub fn small(path: &Path) -> Result<Vec<u8>, PlanError> {
    let bytes = read_bytes(path, MAX_PLAN_BYTES, say!("the-file"))?;
    if bytes.len() > MAX_PLAN_BYTES {
        return Err(PlanError {
            what: say!("the-file-is-too-large").into(),
            place: path.display().to_string(),
            remedy: say!("choose-one-under-64-mib").into(),
        });
    }
    Ok(bytes)
}

/// Makes a folder, with those above it.
///
/// # Errors
/// Names the folder and the remedy.
pub fn make_folder(path: &Path) -> Result<(), PlanError> {
    fs::create_dir_all(path).map_err(|e| io_error(path, say!("the-folder-could-not-be-made"), &e))
}

fn stem(path: &Path) -> String {
    path.file_stem().map(|s| s.to_string_lossy().chars().take(60).collect()).unwrap_or_default()
}

fn line_of(path: &Path, line: usize) -> String {
    if line == 0 { path.display().to_string() } else { say!("path-line", path = path.display(), line) }
}

/// Reads a lamp's measured candelas (ANSI/IES LM-63).
///
/// # Errors
/// Names what is wrong, the file and line, and the remedy.
pub fn candela(path: &Path) -> Result<CandelaTable, PlanError> {
    let bytes = read_bytes(path, MAX_CANDELA_BYTES, say!("the-candela-file"))?;
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
    let bytes = read_bytes(path, 1 << 20, say!("the-curve"))?;
    let text = String::from_utf8(bytes).map_err(|e| PlanError {
        what: say!("the-file-is-not-text").into(),
        place: say!("path-byte", path = path.display(), e = e.utf8_error().valid_up_to()),
        remedy: say!("choose-a-table-saved-as-text").into(),
    })?;
    read_curve(&text, &stem(path), of).map_err(|e| PlanError {
        what: e.what,
        place: line_of(path, e.line),
        remedy: e.remedy,
    })
}

/// Most bytes of a picture that is read, pixels a side, and pixels in all.
const MAX_PICTURE_BYTES: usize = 64 << 20;
const MAX_PICTURE_SIDE: u32 = 12_000;
const MAX_PIXELS: u64 = 64 << 20;
/// Pictures are kept no larger than this, pixels a side.
const KEPT_SIDE: u32 = 2_048;

/// Reads a picture (PNG or JPEG).
///
/// # Errors
/// Names what is wrong, the file and the remedy; files and pictures too large to be meant are refused.
pub fn picture(path: &Path) -> Result<image::RgbaImage, PlanError> {
    let bytes = read_bytes(path, MAX_PICTURE_BYTES, say!("the-picture"))?;
    decode_picture(&bytes, &path.display().to_string())
}

/// Decodes a picture (PNG or JPEG); its size is looked at before its pixels.
///
/// # Errors
/// As [`picture`].
pub fn decode_picture(bytes: &[u8], place: &str) -> Result<image::RgbaImage, PlanError> {
    let bad = |what: String, remedy: &str| PlanError { what, place: place.into(), remedy: remedy.into() };
    if bytes.len() > MAX_PICTURE_BYTES {
        return Err(bad(say!("the-picture-file-is-too-large").into(), say!("choose-one-under-64-mb")));
    }
    let unreadable =
        |e: &dyn std::fmt::Display| bad(say!("the-picture-could-not-be-read", e), say!("choose-a-png-or-jpeg-of"));
    let mut limits = image::Limits::default();
    limits.max_image_width = Some(MAX_PICTURE_SIDE);
    limits.max_image_height = Some(MAX_PICTURE_SIDE);
    limits.max_alloc = Some(512 << 20);
    let open = || image::ImageReader::new(std::io::Cursor::new(bytes)).with_guessed_format();
    let size = open().map_err(|e| unreadable(&e))?.into_dimensions().map_err(|e| unreadable(&e))?;
    if u64::from(size.0) * u64::from(size.1) > MAX_PIXELS {
        return Err(bad(
            say!("the-picture-has-pixels", size = size.0, size_2 = size.1),
            say!("choose-one-of-at-most-64"),
        ));
    }
    let mut reader = open().map_err(|e| unreadable(&e))?;
    reader.limits(limits);
    let picture = reader.decode().map_err(|e| unreadable(&e))?;
    Ok(picture.into_rgba8())
}

/// A picture kept beside the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptPicture {
    /// Its name relative to the plan.
    pub name: String,
    /// What its pixels were scaled by.
    pub scale: f64,
}

/// Keeps a picture for a shot beside the plan, scaled down where it is very large; its name relative to the plan.
///
/// # Errors
/// When it cannot be read or written.
pub fn keep_picture(plan: &Path, shot: &str, from: &Path) -> Result<String, PlanError> {
    Ok(keep(plan, shot, picture(from)?)?.name)
}

/// Keeps the picture that lies under a plan beside it.
///
/// # Errors
/// When it cannot be read or written.
pub fn keep_underlay(plan: &Path, from: &Path) -> Result<KeptPicture, PlanError> {
    keep(plan, "underlay", picture(from)?)
}

/// Keeps a picture beside the plan, under a name of its own.
///
/// # Errors
/// When it cannot be written.
pub fn keep(plan: &Path, stem_of_name: &str, read: image::RgbaImage) -> Result<KeptPicture, PlanError> {
    let side = read.width().max(read.height());
    let scale = (f64::from(KEPT_SIDE) / f64::from(side.max(1))).min(1.0);
    let kept = if scale < 1.0 {
        let to = |n: u32| ((f64::from(n) * scale).round() as u32).max(1);
        image::imageops::resize(&read, to(read.width()), to(read.height()), image::imageops::FilterType::Triangle)
    } else {
        read
    };
    let folder = format!("{}-pictures", clean_name(&plan_stem(plan)));
    let mut bytes = Vec::new();
    kept.write_to(&mut std::io::Cursor::new(&mut bytes), image::ImageFormat::Png).map_err(|e| PlanError {
        what: say!("the-picture-could-not-be-written", e),
        place: plan.display().to_string(),
        remedy: say!("choose-another-picture").into(),
    })?;
    // Told apart by what it shows: the picture before stays where undo finds it, and no other's is written over.
    let name = format!("{folder}/{}-{:08x}.png", clean_name(stem_of_name), crc32fast::hash(&bytes));
    let at = plan.parent().unwrap_or(Path::new("")).join(&name);
    if let Some(f) = at.parent() {
        make_folder(f)?;
    }
    if !fs::read(&at).is_ok_and(|old| old == bytes) {
        write_atomically(&at, &bytes)?;
    }
    Ok(KeptPicture { name, scale })
}

/// Start of the names of files that are being written.
const WRITING: &str = ".tapemark-";
/// A file that was being written longer ago than this, and is held by nobody, was left by a program that was killed.
const LEFT: std::time::Duration = std::time::Duration::from_secs(10);

/// Writes bytes so that the file is either the old one or the new one, never half of each.
///
/// A link is written through; the mode, and where the system lets it the owner, stay. A file with further names (hard
/// links) is written in place once the bytes are safe beside it.
///
/// # Errors
/// Names the file and the remedy; the old file is untouched. A file that may not be written and what is no regular
/// file are refused.
pub fn write_atomically(path: &Path, bytes: &[u8]) -> Result<(), PlanError> {
    Staged::of(path, bytes)?.put(bytes)
}

/// Bytes that are safe on the disk beside the file they are to be.
struct Staged {
    path: PathBuf,
    target: PathBuf,
    folder: PathBuf,
    temporary: tempfile::NamedTempFile,
    in_place: bool,
}

impl Staged {
    fn fail(path: &Path, e: &std::io::Error) -> PlanError {
        io_error(path, say!("the-file-could-not-be-written"), e)
    }

    fn of(path: &Path, bytes: &[u8]) -> Result<Staged, PlanError> {
        let fail = |e: &std::io::Error| Staged::fail(path, e);
        let target = behind_links(path).map_err(|e| fail(&e))?;
        let old = match fs::metadata(&target) {
            Ok(old) if old.is_dir() => return Err(fail(&std::io::ErrorKind::IsADirectory.into())),
            Ok(old) if !old.is_file() => return Err(no_regular_file(path)),
            Ok(old) if old.permissions().readonly() => {
                return Err(PlanError {
                    remedy: say!("allow-writing-it-or-save-elsewhere").into(),
                    ..fail(&std::io::ErrorKind::PermissionDenied.into())
                });
            }
            Ok(old) => Some(old),
            Err(_) => None,
        };
        let folder = match target.parent() {
            Some(p) if !p.as_os_str().is_empty() => p.to_path_buf(),
            _ => PathBuf::from("."),
        };
        clear_left(&folder);
        let mut builder = tempfile::Builder::new();
        builder.prefix(WRITING);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // As any new file: what the user's mask leaves of it.
            builder.permissions(fs::Permissions::from_mode(0o666));
        }
        let mut temporary = builder.tempfile_in(&folder).map_err(|e| fail(&e))?;
        let _ = temporary.as_file().try_lock();
        temporary.write_all(bytes).map_err(|e| fail(&e))?;
        if let Some(old) = &old {
            keep_owner(temporary.path(), old);
            let _ = temporary.as_file().set_permissions(old.permissions());
        }
        temporary.as_file().sync_all().map_err(|e| fail(&e))?;
        let in_place = old.as_ref().is_some_and(has_more_names);
        Ok(Staged { path: path.to_path_buf(), target, folder, temporary, in_place })
    }

    /// Makes them the file.
    fn put(self, bytes: &[u8]) -> Result<(), PlanError> {
        let fail = |e: &std::io::Error| Staged::fail(&self.path, e);
        if self.in_place {
            let mut file =
                fs::OpenOptions::new().write(true).truncate(true).open(&self.target).map_err(|e| fail(&e))?;
            let written = file.write_all(bytes).and_then(|()| file.sync_all());
            if let Err(e) = written {
                // The whole of it is beside the file.
                let kept = self.temporary.keep().map(|(_, name)| name.display().to_string()).unwrap_or_default();
                let said = Staged::fail(&self.path, &e);
                return Err(PlanError { remedy: say!("what-was-written-is-in", name = kept), ..said });
            }
            return Ok(());
        }
        self.temporary.persist(&self.target).map_err(|e| Staged::fail(&self.path, &e.error))?;
        // The rename itself is on disk once its folder is.
        if let Ok(folder) = File::open(&self.folder) {
            let _ = folder.sync_all();
        }
        Ok(())
    }
}

/// In a folder that files are written into, the names of those that were: these may be replaced unasked.
const WRITTEN: &str = ".written-by-tapemark";
/// Most bytes of that list that are read.
const MOST_WRITTEN: usize = 1 << 20;

/// What may be replaced in a folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Replace {
    /// What an earlier run wrote there.
    Own,
    /// Whatever has the name.
    Any,
}

/// Writes files into a folder, all or none; their paths. The folder is made where it is not there. A file there that no
/// earlier run wrote is not replaced unless that is asked for, and `source`, which they were made from, never is.
///
/// # Errors
/// Names what may not be replaced or cannot be written, and the remedy; nothing was written then.
pub fn write_into(
    folder: &Path,
    files: &[(String, Vec<u8>)],
    replace: Replace,
    source: Option<&Path>,
) -> Result<Vec<PathBuf>, PlanError> {
    make_folder(folder)?;
    let list = folder.join(WRITTEN);
    let known = read_bytes(&list, MOST_WRITTEN, say!("the-file")).unwrap_or_default();
    let mut own: BTreeSet<String> = String::from_utf8_lossy(&known).lines().map(String::from).collect();
    let paths: Vec<PathBuf> = files.iter().map(|(name, _)| folder.join(name)).collect();
    let mut others = Vec::new();
    for ((name, bytes), path) in files.iter().zip(&paths) {
        if let Some(source) = source {
            not_over_its_source(path, source)?;
        }
        let there = || fs::symlink_metadata(path).is_ok();
        let same = || fs::read(path).is_ok_and(|old| &old == bytes);
        if replace == Replace::Own && !own.contains(name) && there() && !same() {
            others.push(name.as_str());
        }
    }
    if !others.is_empty() {
        return Err(PlanError {
            what: say!("files-there-are-not-ours", count = others.len(), names = others.join(", ")),
            place: folder.display().to_string(),
            remedy: say!("choose-another-folder-or-force").into(),
        });
    }
    let staged: Vec<Staged> =
        files.iter().zip(&paths).map(|((_, bytes), path)| Staged::of(path, bytes)).collect::<Result<_, _>>()?;
    own.extend(files.iter().map(|(name, _)| name.clone()));
    // The list first: what is written after it was written by this program, whenever it is stopped.
    let lines: String = own.iter().map(|name| format!("{name}\n")).collect();
    write_atomically(&list, lines.as_bytes())?;
    for (staged, (_, bytes)) in staged.into_iter().zip(files) {
        staged.put(bytes)?;
    }
    Ok(paths)
}

/// Names for files made of other names, each different from all others even where a disk does not tell capitals apart;
/// those that would be alike are told apart by their place in the list.
#[must_use]
pub fn names_apart(names: &[&str]) -> Vec<String> {
    let clean: Vec<String> = names.iter().map(|n| clean_name(n)).collect();
    let folded: Vec<String> = clean.iter().map(|n| n.to_lowercase()).collect();
    let alone = |i: usize| !clean[i].is_empty() && folded.iter().filter(|o| **o == folded[i]).count() == 1;
    let mut taken: BTreeSet<String> = (0..clean.len()).filter(|i| alone(*i)).map(|i| folded[i].clone()).collect();
    let named = |i: usize| {
        if alone(i) {
            return clean[i].clone();
        }
        let mut name = format!("{}-no-{}", clean[i], i + 1);
        while !taken.insert(name.to_lowercase()) {
            name.push_str("-again");
        }
        name
    };
    (0..clean.len()).map(named).collect()
}

/// The file that a name leads to in the end, whether it is there yet or not.
fn behind_links(path: &Path) -> std::io::Result<PathBuf> {
    /// As many as Linux follows.
    const LINKS: usize = 40;
    let mut at = path.to_path_buf();
    for _ in 0..LINKS {
        match fs::read_link(&at) {
            Ok(to) => at = at.parent().unwrap_or(Path::new("")).join(to),
            Err(_) => return Ok(at),
        }
    }
    Err(std::io::Error::other("too many links"))
}

/// Takes away what a program that was killed left half written in a folder, once a folder and run.
fn clear_left(folder: &Path) {
    static CLEARED: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());
    if !CLEARED.lock().is_ok_and(|mut c| c.insert(folder.to_path_buf())) {
        return;
    }
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let ours = entry.file_name().to_string_lossy().starts_with(WRITING);
        let old = || entry.metadata().is_ok_and(|m| m.is_file() && m.modified().is_ok_and(is_long_ago));
        if ours && old() && File::open(entry.path()).is_ok_and(|f| f.try_lock().is_ok()) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

fn is_long_ago(when: std::time::SystemTime) -> bool {
    when.elapsed().is_ok_and(|since| since > LEFT)
}

#[cfg(unix)]
fn has_more_names(old: &fs::Metadata) -> bool {
    std::os::unix::fs::MetadataExt::nlink(old) > 1
}
#[cfg(not(unix))]
fn has_more_names(_: &fs::Metadata) -> bool {
    false
}

#[cfg(unix)]
fn keep_owner(path: &Path, old: &fs::Metadata) {
    use std::os::unix::fs::MetadataExt;
    if fs::metadata(path).is_ok_and(|new| (new.uid(), new.gid()) != (old.uid(), old.gid())) {
        let _ = std::os::unix::fs::chown(path, Some(old.uid()), Some(old.gid()));
    }
}
#[cfg(not(unix))]
fn keep_owner(_: &Path, _: &fs::Metadata) {}

/// A plan file's name without its endings.
fn plan_stem(path: &Path) -> String {
    name_of(path).trim_end_matches(".json").trim_end_matches(".tapemark").to_string()
}

/// A name as part of a file's: letters and digits as they are, at most 120 bytes of them.
#[must_use]
pub fn clean_name(name: &str) -> String {
    const MOST: usize = 120;
    let clean = |c: char| if c.is_alphanumeric() { c } else { '-' };
    let within = |(at, c): &(usize, char)| at + c.len_utf8() <= MOST;
    name.char_indices().take_while(within).map(|(_, c)| clean(c)).collect()
}

/// Ending of the name under which the version before is kept.
const PREVIOUS: &str = ".previous.tapemark.json";

/// The name under which the version before is kept beside a plan.
#[must_use]
pub fn previous_name(path: &Path) -> PathBuf {
    path.with_file_name(format!("{}{PREVIOUS}", plan_stem(path)))
}

/// Writes a plan atomically. What the file held before is kept beside it under [`previous_name`], where the folder can
/// be written and it was a plan.
///
/// # Errors
/// As [`write_atomically`].
pub fn write(path: &Path, plan: &Plan) -> Result<(), PlanError> {
    let text = to_json(plan);
    if let Ok(target) = behind_links(path)
        && let Ok(before) = read_bytes(&target, MAX_PLAN_BYTES, say!("the-plan"))
        && before != text.as_bytes()
        && from_json(&before).is_ok()
        && !name_of(&target).ends_with(PREVIOUS)
    {
        let _ = write_atomically(&previous_name(&target), &before);
    }
    write_atomically(path, text.as_bytes())
}

/// Refuses a file to be written that is the one just read.
///
/// # Errors
/// When both names lead to one file.
pub fn not_over_its_source(output: &Path, source: &Path) -> Result<(), PlanError> {
    if is_same(output, source) {
        return Err(PlanError {
            what: say!("the-output-is-the-plan-itself").into(),
            place: output.display().to_string(),
            remedy: say!("name-another-file-to-write").into(),
        });
    }
    Ok(())
}

/// What the editor remembers between runs.
#[derive(Debug, Clone, Default, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Memory {
    /// Plans opened, newest first.
    #[serde(default)]
    pub recent: Vec<PathBuf>,
    /// The kit file in use.
    #[serde(default)]
    pub kit: Option<PathBuf>,
    /// How the window looks.
    #[serde(default)]
    pub look: Option<crate::editor::Shade>,
    /// The language chosen, by its tag.
    #[serde(default)]
    pub language: Option<String>,
    /// How the window is laid out.
    #[serde(default)]
    pub layout: Layout,
    /// Whether it is the user's own, to be written when it changes.
    #[serde(skip)]
    pub kept: bool,
}

/// How the window is laid out.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(default)]
pub struct Layout {
    /// Type and controls by this much larger than usual.
    pub type_size: f32,
    /// Snapping to the grid and right angles.
    pub snap: bool,
    /// Room dimensions on the plan.
    pub dimensions: bool,
    /// Distances to tape on the plan.
    pub taping: bool,
    /// Light over the floor.
    pub light: bool,
    /// The picture of what the lens sees.
    pub lens: bool,
}

impl Default for Layout {
    fn default() -> Layout {
        Layout { type_size: 1.0, snap: true, dimensions: true, taping: false, light: true, lens: true }
    }
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
        let read = Memory::path().and_then(|p| fs::read(p).ok()).and_then(|b| serde_json::from_slice(&b).ok());
        Memory { kept: true, ..read.unwrap_or_default() }
    }
    /// Notes a plan as the last one used, and writes the memory.
    pub fn note(&mut self, plan: &Path) {
        let plan = full_name(plan);
        self.recent.retain(|p| p != &plan);
        self.recent.insert(0, plan);
        self.recent.truncate(RECENT);
        self.write();
    }
    /// Writes the memory; failing to is no reason to stop.
    pub fn write(&self) {
        if let Some(path) = Memory::path().filter(|_| self.kept)
            && let Some(folder) = path.parent()
            && fs::create_dir_all(folder).is_ok()
            && let Ok(text) = serde_json::to_string_pretty(self)
        {
            let _ = write_atomically(&path, text.as_bytes());
        }
    }
}
