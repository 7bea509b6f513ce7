//! The program itself, stopped, killed, starved and run twice at once: nothing is lost, and it is said clearly.
//!
//! Needs, for most, a system with `/proc` and `ulimit`; what cannot be had is skipped aloud.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::print_stdout)] // a test that unwraps says enough when it fails

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;

const LANE: &str = "data/sites/granary-lane.toml";

/// The program, which is built with this test.
const PROGRAM: &str = env!("CARGO_BIN_EXE_narrows");

/// Root of the workspace.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn narrows() -> Command {
    let mut command = Command::new(PROGRAM);
    command.current_dir(root()).env("RUST_BACKTRACE", "0");
    command
}

/// The program under a shell that takes something away first.
fn under(limits: &str, arguments: &[&str]) -> Output {
    let mut command = Command::new("sh");
    command
        .current_dir(root())
        .env("RUST_BACKTRACE", "0")
        .arg("-c")
        .arg(format!("{limits}; exec \"$0\" \"$@\""))
        .arg(PROGRAM)
        .args(arguments);
    command.output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Waits until the program takes care of being interrupted and has worked for so many hundredths of a second, then
/// interrupts it.
fn interrupt(child: &Child, worked: u64) -> bool {
    const INTERRUPTED: u64 = 1 << 1;
    let status = format!("/proc/{}/status", child.id());
    let caught = || {
        let status = std::fs::read_to_string(&status).ok()?;
        let line = status.lines().find(|l| l.starts_with("SigCgt:"))?;
        u64::from_str_radix(line.split_whitespace().nth(1)?, 16).ok()
    };
    for _ in 0..2000 {
        match caught() {
            None => return false,
            Some(mask) if mask & INTERRUPTED != 0 => break,
            Some(_) => std::thread::sleep(Duration::from_millis(5)),
        }
    }
    // into the work, which takes far longer; fields 14 and 15 of proc(5) are times in hundredths of a second
    let stat = format!("/proc/{}/stat", child.id());
    let spent = || -> Option<u64> {
        let stat = std::fs::read_to_string(&stat).ok()?;
        let after = stat.rsplit_once(')')?.1;
        let mut fields = after.split_whitespace().skip(11);
        let (user, system) = (fields.next()?, fields.next()?);
        Some(user.parse::<u64>().ok()? + system.parse::<u64>().ok()?)
    };
    while spent().is_some_and(|spent| spent < worked) {
        std::thread::sleep(Duration::from_millis(5));
    }
    let told = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status();
    told.is_ok_and(|status| status.success())
}

/// A place of so many desks, two in three with a card that no port is fast enough for.
fn large(desks: usize) -> String {
    let mut site = String::from(
        "[array.vault]\nnas = \"store\"\nlayout = \"raid6\"\ndrives = \"8 x 10 TB hdd-7200\"\n\
         [nas.store]\nport.a.rate = \"10 Gb/s\"\n[switch.core]\n",
    );
    let _ = write!(
        site,
        "port.fast = {{ rate = \"10 Gb/s\", count = {} }}\n\
         port.slow = {{ rate = \"1 Gb/s\", count = {desks} }}\n",
        desks / 3 + 1
    );
    for desk in 0..desks {
        let rate = if desk % 3 == 0 { "1 Gb/s" } else { "10 Gb/s" };
        let _ = writeln!(site, "[desk.d{desk}]\nport.a.rate = \"{rate}\"");
    }
    site.push_str("[[run]]\nfrom = \"nas.store.a\"\nto = \"switch.core.fast\"\ncable = \"cat6a\"\nlength = \"5 m\"\n");
    for desk in 0..desks {
        let _ = write!(
            site,
            "[[run]]\nfrom = \"desk.d{desk}.a\"\nto = \"switch.core.slow\"\ncable = \"cat5e\"\nlength = \"{} m\"\n",
            10 + desk % 60
        );
    }
    site
}

/// As many offers as there may be, all for the example site.
fn offers() -> String {
    let mut list = String::new();
    for (number, cable) in ["cat5e", "cat6", "cat6a"]
        .iter()
        .cycle()
        .take(20)
        .enumerate()
    {
        let run = number % 7 + 1;
        let _ = write!(
            list,
            "[[offer]]\nid = \"o{number}\"\nprice = \"{} EUR\"\nset = ['run.{run}.cable=\"{cable}\"']\n",
            10 + number * 7
        );
    }
    list
}

/// What an interrupted search prints.
fn stopped(arguments: &[&str], worked: u64) -> Option<Output> {
    let child = narrows()
        .args(arguments)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    if !interrupt(&child, worked) {
        let done = child.wait_with_output().unwrap();
        println!("skipped: not interrupted, {}", done.status);
        return None;
    }
    Some(child.wait_with_output().unwrap())
}

#[test]
fn a_search_that_is_interrupted_tells_what_is_known() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("large.toml");
    std::fs::write(&site, large(1000)).unwrap();
    let list = folder.path().join("offers.toml");
    std::fs::write(&list, offers()).unwrap();
    let (site, list) = (site.to_str().unwrap(), list.to_str().unwrap());
    let choices: Vec<String> = (1..=12).map(|n| format!("{} TB hdd-7200", 2 * n)).collect();
    let mut layouts = vec!["layouts", "--bays", "100"];
    for choice in &choices {
        layouts.extend(["--drives", choice]);
    }
    let ports = vec!["ports", site];
    let buy = vec!["buy", LANE, "--offers", list];
    // what is drawn before the search takes longest where many drives are to be chosen from
    for (arguments, worked) in [(layouts, 300), (ports, 60), (buy, 30)] {
        let Some(ran) = stopped(&arguments, worked) else {
            continue;
        };
        let out = text(&ran.stdout);
        if arguments[0] == "buy" && !out.starts_with("You stopped") {
            // twenty offers are soon looked at
            println!("skipped: ended by itself, {}", ran.status);
            continue;
        }
        assert!(
            out.starts_with("You stopped this after "),
            "{}: {:?}\n{out}{}",
            arguments[0],
            ran.status,
            text(&ran.stderr)
        );
        assert!(matches!(ran.status.code(), Some(0 | 1)), "{out}");
        assert!(out.contains("An array is not a backup") || arguments[0] == "ports");
        let json = [&arguments[..], &["--format", "json"]].concat();
        let json = stopped(&json, worked);
        if let Some(ran) = json {
            let answer: serde_json::Value = serde_json::from_slice(&ran.stdout).unwrap();
            if arguments[0] == "buy" && answer["answer"]["stopped"].is_null() {
                continue;
            }
            let stopped = &answer["answer"]["stopped"];
            assert!(
                stopped["done"].as_u64() < stopped["of"].as_u64(),
                "{stopped}"
            );
        }
    }
}

#[test]
fn an_interrupted_description_keeps_what_was_said() {
    let folder = tempfile::tempdir().unwrap();
    let mut child = narrows()
        .current_dir(folder.path())
        .args(["describe", "place.toml"])
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    std::io::Write::write_all(&mut input, b"Granary Lane\ncut-1, nvme\nsound\n\n").unwrap();
    let kept = folder.path().join("place.answers");
    let both = || std::fs::read_to_string(&kept).is_ok_and(|k| k.contains("sound"));
    for _ in 0..2000 {
        if both() {
            break;
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    let killed = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(killed.success());
    assert_ne!(child.wait().unwrap().code(), Some(0));
    let answers = std::fs::read_to_string(&kept).unwrap();
    assert!(answers.starts_with("Granary Lane\n"), "{answers}");
    assert!(!folder.path().join("place.toml").exists());
    // and goes on from there
    let rest = narrows()
        .current_dir(folder.path())
        .args(["describe", "place.toml", "--answers", "place.answers"])
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let out = text(&rest.stdout);
    assert!(
        out.contains("> Granary Lane") && out.contains("> sound"),
        "{out}"
    );
    assert!(out.contains("nothing is lost"), "{out}");
}

/// Writes a page, and what stands there afterwards.
struct Page {
    folder: tempfile::TempDir,
    file: String,
}

impl Page {
    fn made() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("page.html").to_str().unwrap().to_owned();
        let made = narrows().args(Self::command(&file)).output().unwrap();
        assert!(made.status.success(), "{}", text(&made.stderr));
        Self { folder, file }
    }

    fn command(file: &str) -> [&str; 4] {
        ["report", "data/sites/one-desk.toml", "-o", file]
    }

    fn now(&self) -> Vec<u8> {
        std::fs::read(&self.file).unwrap()
    }

    fn files(&self) -> usize {
        std::fs::read_dir(self.folder.path()).unwrap().count()
    }
}

#[test]
fn a_full_disk_leaves_the_page_that_was_there() {
    let page = Page::made();
    let before = page.now();
    // a file may have no more than a few blocks: what is written fails as on a full disk
    let full = under("trap '' XFSZ; ulimit -f 8", &Page::command(&page.file));
    assert_eq!(full.status.code(), Some(2), "{}", text(&full.stderr));
    assert!(
        text(&full.stderr).contains("cannot write"),
        "{}",
        text(&full.stderr)
    );
    assert_eq!(page.now(), before);
    assert_eq!(page.files(), 1, "nothing half written is left");
    if !Path::new("/dev/full").exists() {
        println!("skipped: no /dev/full");
        return;
    }
    let out = narrows()
        .args(["budget", LANE])
        .stdout(
            std::fs::File::options()
                .write(true)
                .open("/dev/full")
                .unwrap(),
        )
        .output()
        .unwrap();
    assert_eq!(out.status.code(), Some(2));
    assert!(text(&out.stderr).contains("cannot write the answer"));
    let picture = ["budget", LANE, "--desk", "cut-1", "--svg", "/dev/full"];
    let out = narrows().args(picture).output().unwrap();
    assert_eq!(out.status.code(), Some(2));
    assert!(text(&out.stderr).contains("cannot write /dev/full"));
}

#[test]
fn who_is_killed_while_writing_loses_nothing() {
    let page = Page::made();
    let before = page.now();
    // the system kills whoever writes more than a few blocks
    let killed = under("ulimit -f 8", &Page::command(&page.file));
    assert_eq!(killed.status.code(), None, "{}", text(&killed.stderr));
    assert_eq!(page.now(), before);
    // what is left beside it is in nobody's way
    let again = narrows().args(Page::command(&page.file)).output().unwrap();
    assert!(again.status.success(), "{}", text(&again.stderr));
    assert_eq!(page.now(), before);
}

#[test]
fn without_memory_or_threads_nothing_is_lost() {
    let page = Page::made();
    let before = page.now();
    let mut starved = 0;
    let with = |kilobytes: usize, arguments: &[&str]| {
        let limits = format!("ulimit -c 0; ulimit -v {kilobytes}");
        under(&limits, arguments)
    };
    // with less than it takes to begin, the system ends it without a word
    let begins = (1..10_000)
        .map(|n| n * 2_000)
        .find(|least| with(*least, &["--version"]).status.success())
        .unwrap();
    for more in [0, 2_000, 5_000, 12_000, 35_000, 65_000, 105_000] {
        let kilobytes = begins + more;
        let ran = with(kilobytes, &Page::command(&page.file));
        assert_eq!(page.now(), before, "{kilobytes}");
        let said = text(&ran.stderr);
        assert!(!said.contains("stack backtrace"), "{said}");
        if !ran.status.success() {
            starved += 1;
            assert!(!said.is_empty(), "{kilobytes}: {:?}", ran.status);
        }
    }
    assert!(starved > 0, "none of these is too little");
    assert_eq!(page.files(), 1);
}

#[test]
fn two_runs_on_one_file_leave_a_whole_one() {
    let page = Page::made();
    let before = page.now();
    let runs: Vec<Child> = (0..4)
        .map(|_| {
            narrows()
                .args(Page::command(&page.file))
                .stdout(Stdio::null())
                .stderr(Stdio::piped())
                .spawn()
                .unwrap()
        })
        .collect();
    for run in runs {
        let ran = run.wait_with_output().unwrap();
        assert!(ran.status.success(), "{}", text(&ran.stderr));
    }
    assert_eq!(page.now(), before);
    assert_eq!(page.files(), 1);
}

#[test]
fn a_file_saved_while_the_clock_is_set_back_is_seen() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.toml");
    std::fs::copy(root().join("data/sites/one-desk.toml"), &site).unwrap();
    let said = folder.path().join("said");
    let mut child = narrows()
        .args(["check", "--watch", site.to_str().unwrap()])
        .stdout(std::fs::File::create(&said).unwrap())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let checks = |wanted: usize| {
        for _ in 0..2000 {
            let found = std::fs::read_to_string(&said).unwrap_or_default();
            if found.matches("waiting for the next save").count() >= wanted {
                return true;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        false
    };
    let first = checks(1);
    // an hour before the file was last saved
    let file = std::fs::File::options().write(true).open(&site).unwrap();
    let back = file.metadata().unwrap().modified().unwrap() - Duration::from_secs(3600);
    file.set_modified(back).unwrap();
    let second = checks(2);
    let _ = child.kill();
    let _ = child.wait();
    assert!(first && second);
}
