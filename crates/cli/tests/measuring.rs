//! The program itself while it measures a folder: interrupted, killed, without its folder, without room.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::print_stdout)] // a test that unwraps says enough when it fails

use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, SystemTime};
use tempfile::TempDir;

/// The program, which is built with this test.
const PROGRAM: &str = env!("CARGO_BIN_EXE_narrows");

fn flat(bytes: &[u8]) -> String {
    let said = String::from_utf8_lossy(bytes);
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A folder with room, in memory where the system has such a place.
fn roomy() -> TempDir {
    TempDir::new_in("/dev/shm")
        .or_else(|_| TempDir::new())
        .unwrap()
}

fn names(folder: &Path) -> Vec<PathBuf> {
    std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect()
}

fn fine(arguments: &[&str]) -> Output {
    let ran = Command::new(PROGRAM).args(arguments).output().unwrap();
    assert!(ran.status.success(), "{arguments:?}: {}", flat(&ran.stderr));
    ran
}

/// Starts a test of a folder that lasts for a while, and waits until its file is there.
fn begun(folder: &Path, more: &[&str]) -> Child {
    let child = Command::new(PROGRAM)
        .args([
            "measure",
            "files",
            folder.to_str().unwrap(),
            "--as-administrator",
        ])
        .args(more)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    for _ in 0..6000 {
        if !names(folder).is_empty() {
            break;
        }
        std::thread::sleep(Duration::from_millis(2));
    }
    assert_eq!(names(folder).len(), 1);
    child
}

/// What it said, and its exit code.
fn ended(child: Child) -> (Option<i32>, String) {
    let out = child.wait_with_output().unwrap();
    (out.status.code(), flat(&out.stderr))
}

const LONG: [&str; 4] = ["--size", "3 GB", "--small", "0"];

#[test]
fn the_program_leaves_nothing_when_it_is_interrupted() {
    let folder = roomy();
    let child = begun(folder.path(), &LONG);
    let told = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(told.success());
    let (code, said) = ended(child);
    assert_eq!(code, Some(2), "{said}");
    assert!(said.contains("stopped; the test file is removed"), "{said}");
    assert!(names(folder.path()).is_empty());
}

#[test]
fn what_a_killed_program_left_is_found_by_the_next_run() {
    let folder = roomy();
    let at = folder.path().to_str().unwrap();
    let mut child = begun(folder.path(), &LONG);
    child.kill().unwrap();
    child.wait().unwrap();
    let left = names(folder.path());
    assert_eq!(left.len(), 1);
    let short = [
        "measure",
        "files",
        at,
        "--as-administrator",
        "--size",
        "2 MB",
        "--small",
        "0",
    ];
    // it was written to a moment ago: perhaps a run goes on, so nothing is said and nothing removed
    fine(&short);
    assert_eq!(names(folder.path()), left);
    // three minutes later
    let old = SystemTime::now() - Duration::from_secs(180);
    let file = std::fs::OpenOptions::new()
        .write(true)
        .open(&left[0])
        .unwrap();
    file.set_modified(old).unwrap();
    let told = fine(&short);
    assert!(
        flat(&told.stderr).contains("is left of an earlier test; --yes removes it"),
        "{}",
        flat(&told.stderr)
    );
    assert_eq!(names(folder.path()), left);
    fine(&[&short[..], &["--yes"]].concat());
    assert!(names(folder.path()).is_empty());
}

#[test]
fn a_folder_that_goes_away_ends_with_its_reason() {
    let around = roomy();
    let (share, away) = (around.path().join("share"), around.path().join("away"));
    std::fs::create_dir(&share).unwrap();
    let child = begun(&share, &["--size", "400 MB", "--small", "20"]);
    std::fs::rename(&share, &away).unwrap();
    let (code, said) = ended(child);
    assert_eq!(code, Some(2), "{said}");
    for part in [
        "failed: no such file or directory",
        "if the folder is still there",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
}

/// A file system that takes so many files and no more, where this user may mount one.
#[cfg(target_os = "linux")]
#[test]
fn a_drive_that_is_full_in_mid_test_ends_with_its_reason() {
    let folder = TempDir::new().unwrap();
    let at = folder.path().to_str().unwrap();
    // the root and four more: the fifth small file finds none left
    let script = format!(
        "mount -t tmpfs -o size=3g,nr_inodes=6 none {at} || exit 77; {PROGRAM} measure files {at} --as-administrator --size '2 MB' --at-once 0 --small 50; echo code $?; ls -A {at} | wc -l"
    );
    let ran = Command::new("unshare")
        .args(["--user", "--map-root-user", "--mount", "sh", "-c", &script])
        .output();
    let Some(ran) = ran.ok().filter(|ran| ran.status.code() == Some(0)) else {
        println!("skipped: no file system can be mounted here");
        return;
    };
    let said = flat(&ran.stderr);
    assert!(
        said.contains("there is no room left; the test file is removed"),
        "{said}"
    );
    // ended with 2, and the folder is empty
    assert_eq!(flat(&ran.stdout), "code 2 0", "{said}");
}

/// A drive that goes away while it is written to: a file system on a file, which is shut down as one is whose drive is pulled.
/// Only the administrator may do that.
#[cfg(target_os = "linux")]
#[test]
fn a_drive_that_goes_away_in_mid_test_ends_with_its_reason() {
    let folder = roomy();
    let at = folder.path().to_str().unwrap();
    // 0x8004587d asks a file system to shut down, 2 without writing what is left
    let script = format!(
        "truncate -s 6G {at}/drive && mkfs.ext4 -q -m 0 {at}/drive && mkdir {at}/share && mount -o loop {at}/drive {at}/share || exit 77
         rmdir {at}/share/lost+found
         {PROGRAM} measure files {at}/share --as-administrator --yes --size '1500 MB' --at-once 0 --small 0 &
         test=$!
         for turn in $(seq 2000); do [ -n \"$(ls -A {at}/share)\" ] && break; sleep 0.005; done
         sleep 0.1
         python3 -c 'import fcntl, os, struct, sys; fcntl.ioctl(os.open(sys.argv[1], os.O_RDONLY), 0x8004587d, struct.pack(\"I\", 2))' {at}/share || code=77
         wait $test; echo code $?
         umount {at}/share
         exit ${{code:-0}}"
    );
    let ran = Command::new("unshare")
        .args(["--mount", "sh", "-c", &script])
        .output();
    let Some(ran) = ran.ok().filter(|ran| ran.status.code() == Some(0)) else {
        println!("skipped: no file system can be mounted here");
        return;
    };
    let said = flat(&ran.stderr);
    assert_eq!(flat(&ran.stdout), "code 2", "{said}");
}
