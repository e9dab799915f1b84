//! The power goes at any instant: what the disk then holds is either plan whole, and what was forced to it is there.
//!
//! A run of the editor is traced call by call (strace). After each call the test puts together what a disk may hold
//! by POSIX: what was written is there only after `fsync` of the file, names made, moved or removed only after
//! `fsync` of their folder; until then any of them may be there or not, and a file may be short. It follows the
//! method of T. S. Pillai et al., "All File Systems Are Not Created Equal", OSDI 2014.

#![cfg(target_os = "linux")]

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::process::Command;
use tapemark::editor::Editor;
use tapemark::{files, journal};
use tapemark_core::edit::{Edit, Settings};
use tapemark_core::plan::Plan;

const CHILD: &str = "TAPEMARK_TRACED_FOLDER";

/// The calls by which a program changes files; with `statx` it tells the tracer something.
const CALLS: &str = "open,openat,close,write,pwrite64,writev,fsync,fdatasync,rename,renameat,renameat2,unlink,unlinkat,\
                     link,linkat,ftruncate,truncate,statx,stat,newfstatat";

fn plan_file(folder: &Path) -> PathBuf {
    folder.join("plan.tapemark.json")
}

fn edit(editor: &mut Editor, n: u32) {
    let settings = Settings { notes: n.to_string(), ..Settings::of(&editor.plan) };
    assert!(editor.edit(&Edit::Settings(Box::new(settings))));
}

/// Not a test of its own: the run that is traced. The calls of `say` tell the tracer what is promised from there on.
#[test]
fn traced() {
    let Some(folder) = std::env::var_os(CHILD).map(PathBuf::from) else { return };
    let say = |n: u32| drop(std::fs::metadata(folder.join(format!("promised-{n}"))));
    let journals = folder.join("journals");
    std::fs::create_dir_all(&journals).unwrap();
    // Both folders are there before anything happens.
    for f in [&folder, &journals] {
        std::fs::File::open(f).unwrap().sync_all().unwrap();
    }
    let mut editor = Editor::new(Plan::empty(), None);
    edit(&mut editor, 0);
    assert!(editor.save_to(&plan_file(&folder)));
    say(0);
    editor.keep_journal(&journals);
    for n in 1..=2 {
        edit(&mut editor, n);
        editor.settle_journal();
        say(n);
    }
    assert!(editor.save_to(&plan_file(&folder)));
    say(2);
    edit(&mut editor, 3);
    editor.settle_journal();
    say(3);
    // Killed and opened again: the work is brought back, and worked on.
    std::mem::forget(editor);
    let found = journal::read(&journal::journals(&journals)[0]).unwrap();
    let mut editor = Editor::new(Plan::empty(), None);
    editor.keep_journal(&journals);
    editor.bring_back(found);
    say(3);
    edit(&mut editor, 4);
    editor.settle_journal();
    say(4);
    assert!(editor.save_to(&plan_file(&folder)));
    say(4);
}

type Node = usize;

#[derive(Clone, Debug)]
enum Change {
    Name(PathBuf, Node),
    Move(PathBuf, PathBuf, Node),
    Away(PathBuf),
}

impl Change {
    fn folder(&self) -> &Path {
        match self {
            Change::Name(p, _) | Change::Away(p) | Change::Move(_, p, _) => p.parent().unwrap(),
        }
    }
    fn carry_out(&self, names: &mut BTreeMap<PathBuf, Node>) {
        match self {
            Change::Name(p, n) => {
                names.insert(p.clone(), *n);
            }
            Change::Move(from, to, n) => {
                names.remove(from);
                names.insert(to.clone(), *n);
            }
            Change::Away(p) => {
                names.remove(p);
            }
        }
    }
}

/// What the disk surely holds, and what it may hold besides.
#[derive(Default)]
struct Disk {
    names: BTreeMap<PathBuf, Node>,
    pending: Vec<Change>,
    /// What is forced to the disk, and what has been written, of each file.
    nodes: Vec<(Vec<u8>, Vec<u8>)>,
    /// Names as running programs see them.
    seen: BTreeMap<PathBuf, Node>,
}

/// What of a file's unforced bytes reached the disk.
#[derive(Clone, Copy)]
enum Reached {
    None,
    Half,
    All,
    /// The length did, the bytes did not.
    Zeros,
}

impl Disk {
    fn change(&mut self, c: Change) {
        c.carry_out(&mut self.seen);
        self.pending.push(c);
    }
    fn force_folder(&mut self, folder: &Path) {
        let (now, later): (Vec<_>, Vec<_>) = self.pending.drain(..).partition(|c| c.folder() == folder);
        self.pending = later;
        for c in now {
            c.carry_out(&mut self.names);
        }
    }
    fn holds(&self, n: Node, reached: Reached) -> Vec<u8> {
        let (forced, written) = &self.nodes[n];
        if forced == written {
            return forced.clone();
        }
        match reached {
            Reached::None => forced.clone(),
            Reached::All => written.clone(),
            Reached::Half => written[..(forced.len() + written.len()) / 2].to_vec(),
            Reached::Zeros => {
                let mut z = forced.clone();
                z.resize(written.len(), 0);
                z
            }
        }
    }
    /// Everything the disk may hold if the power goes now.
    fn after_the_cut(&self) -> BTreeSet<Vec<(PathBuf, Vec<u8>)>> {
        assert!(self.pending.len() < 14, "{:?}", self.pending);
        let mut out = BTreeSet::new();
        for some in 0..1_u32 << self.pending.len() {
            let mut names = self.names.clone();
            for (i, c) in self.pending.iter().enumerate() {
                if some >> i & 1 == 1 {
                    c.carry_out(&mut names);
                }
            }
            for reached in [Reached::None, Reached::Half, Reached::All, Reached::Zeros] {
                out.insert(names.iter().map(|(p, n)| (p.clone(), self.holds(*n, reached))).collect());
            }
        }
        out
    }
}

/// Strings of a call as strace writes them with `-xx`.
fn strings(call: &str) -> Vec<Vec<u8>> {
    call.split('"')
        .skip(1)
        .step_by(2)
        .map(|s| s.split("\\x").skip(1).map(|h| u8::from_str_radix(&h[..2], 16).unwrap()).collect())
        .collect()
}

/// A traced call that came back: its name, what it was given, what it answered.
fn calls(trace: &str) -> Vec<(String, String, i64)> {
    let mut begun: HashMap<String, String> = HashMap::new();
    let mut out = Vec::new();
    for line in trace.lines() {
        let (pid, rest) = line.split_once(' ').unwrap_or(("", line));
        let rest = rest.trim_start();
        let whole = if let Some((first, _)) = rest.split_once(" <unfinished ...>") {
            begun.insert(pid.into(), first.into());
            continue;
        } else if let Some((_, last)) = rest.split_once(" resumed>") {
            format!("{}{last}", begun.remove(pid).unwrap_or_default())
        } else {
            rest.to_string()
        };
        let (Some((name, given)), Some((_, answer))) = (whole.split_once('('), whole.rsplit_once(" = ")) else {
            continue;
        };
        let number = answer.split(['<', ' ']).next().and_then(|n| n.parse().ok()).unwrap_or(-1);
        out.push((name.to_string(), given.to_string(), number));
    }
    out
}

struct Check {
    folder: PathBuf,
    disk: Disk,
    open: HashMap<i64, Node>,
    folders: HashMap<i64, PathBuf>,
    promised: Option<u32>,
    states: usize,
}

impl Check {
    fn path(&self, bytes: &[u8]) -> Option<PathBuf> {
        let p = PathBuf::from(String::from_utf8(bytes.to_vec()).ok()?);
        p.starts_with(&self.folder).then_some(p)
    }

    /// Takes a call in; whether the disk may hold something else after it.
    fn take(&mut self, name: &str, given: &str, answer: i64) -> bool {
        let text = strings(given);
        let fd = || given.split([',', ')']).next().and_then(|n| n.trim().parse::<i64>().ok()).unwrap_or(-1);
        match name {
            "statx" | "stat" | "newfstatat" => {
                let n = text
                    .first()
                    .and_then(|t| self.path(t))
                    .and_then(|p| p.file_name()?.to_str()?.strip_prefix("promised-")?.parse().ok());
                self.promised = n.or(self.promised);
                n.is_some()
            }
            _ if answer < 0 => false,
            "open" | "openat" => {
                let Some(p) = text.first().and_then(|t| self.path(t)) else {
                    self.open.remove(&answer);
                    self.folders.remove(&answer);
                    return false;
                };
                if let Some(n) = self.disk.seen.get(&p).copied() {
                    self.open.insert(answer, n);
                    if given.contains("O_TRUNC") {
                        self.disk.nodes[n].1.clear();
                        return true;
                    }
                } else if given.contains("O_CREAT") {
                    let n = self.disk.nodes.len();
                    self.disk.nodes.push(Default::default());
                    self.open.insert(answer, n);
                    self.disk.change(Change::Name(p, n));
                    return true;
                } else {
                    self.folders.insert(answer, p);
                }
                false
            }
            "close" => {
                self.open.remove(&fd());
                self.folders.remove(&fd());
                false
            }
            "write" => {
                let Some(n) = self.open.get(&fd()) else { return false };
                let bytes = &text[0][..answer as usize];
                self.disk.nodes[*n].1.extend_from_slice(bytes);
                true
            }
            "fsync" | "fdatasync" => {
                if let Some(n) = self.open.get(&fd()) {
                    self.disk.nodes[*n].0 = self.disk.nodes[*n].1.clone();
                    return true;
                }
                if let Some(f) = self.folders.get(&fd()).cloned() {
                    self.disk.force_folder(&f);
                    return true;
                }
                false
            }
            "rename" | "renameat" | "renameat2" => {
                let Some((from, to)) = self.path(&text[0]).zip(self.path(&text[1])) else { return false };
                let n = self.disk.seen[&from];
                self.disk.change(Change::Move(from, to, n));
                true
            }
            "unlink" | "unlinkat" => {
                let Some(p) = self.path(&text[0]) else { return false };
                self.disk.change(Change::Away(p));
                true
            }
            "ftruncate" | "pwrite64" | "writev" | "link" | "linkat" | "mmap" if self.open.contains_key(&fd()) => {
                panic!("the test does not know what {name} does")
            }
            _ => false,
        }
    }

    /// Opens the disk as it may be after a power cut, as the editor would.
    fn look(&mut self, after: &str) {
        for state in self.disk.after_the_cut() {
            self.states += 1;
            let journals = self.folder.join("journals");
            let _ = std::fs::remove_dir_all(&self.folder);
            std::fs::create_dir_all(&journals).unwrap();
            for (p, bytes) in &state {
                std::fs::write(p, bytes).unwrap();
            }
            let path = plan_file(&self.folder);
            let number = |p: &Plan| p.notes.parse::<u32>().unwrap_or(0);
            let in_file = path.exists().then(|| {
                let read = files::open(&path);
                number(&read.unwrap_or_else(|e| panic!("after {after}: {e}, {:?}", std::fs::read(&path))).plan)
            });
            let offered = journal::look(&journals).found.iter().map(|f| number(&f.plan)).max();
            if let Some(promised) = self.promised {
                let best = in_file.max(offered);
                assert!(best >= Some(promised), "after {after}: {promised} was promised, {best:?} is there");
                assert!(in_file.is_some(), "after {after}: the plan's file is gone");
            }
        }
    }
}

#[test]
fn the_power_goes_at_any_instant() {
    let folder = tempfile::tempdir().unwrap();
    let (work, trace) = (folder.path().join("work"), folder.path().join("trace"));
    std::fs::create_dir(&work).unwrap();
    let run = Command::new("strace")
        .args(["-f", "-xx", "-s", "100000000", "-o"])
        .arg(&trace)
        .arg(format!("--trace={CALLS}"))
        .arg(std::env::current_exe().unwrap())
        .args(["--exact", "traced", "--test-threads", "1"])
        .env(CHILD, &work)
        .env("XDG_CONFIG_HOME", folder.path().join("config"))
        .output();
    let run = match run {
        Ok(run) => run,
        Err(e) => {
            assert!(std::env::var_os("TAPEMARK_TOOLS").is_none_or(|v| v != "required"), "strace: {e}");
            eprintln!("not checked: strace is not there ({e})");
            return;
        }
    };
    let said = String::from_utf8_lossy(&run.stderr);
    if said.contains("Operation not permitted") {
        eprintln!("not checked: this machine lets nothing be traced");
        return;
    }
    assert!(run.status.success(), "{said}{}", String::from_utf8_lossy(&run.stdout));
    let mut check = Check {
        folder: work,
        disk: Disk::default(),
        open: HashMap::new(),
        folders: HashMap::new(),
        promised: None,
        states: 0,
    };
    for (name, given, answer) in calls(&std::fs::read_to_string(&trace).unwrap()) {
        if check.take(&name, &given, answer) {
            check.look(&format!("{name} {}", &given[..given.len().min(200)]));
        }
    }
    assert_eq!(check.promised, Some(4), "the whole run was seen");
    assert!(check.states > 100, "{} states", check.states);
    println!("{} states of the disk", check.states);
}
