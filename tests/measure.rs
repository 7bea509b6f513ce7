//! What a machine says of itself and what it measures, end to end: a made-up root, a folder of its own, loopback.
#![cfg(unix)]
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{Ran, narrows};
use serde_json::Value;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

const EXAMPLE: &str = "data/sites/granary-lane.toml";

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn fine(arguments: &[&str]) -> Ran {
    let ran = narrows(arguments);
    assert_eq!(ran.code, 0, "{arguments:?}: {}{}", ran.err, ran.out);
    ran
}

fn answer(arguments: &[&str]) -> Value {
    let ran = fine(&[arguments, &["--format", "json"]].concat());
    let top: Value = serde_json::from_str(&ran.out).unwrap();
    top["answer"].clone()
}

fn tree(files: &[(&str, &str)]) -> TempDir {
    let root = TempDir::new().unwrap();
    for (path, text) in files {
        let at = root.path().join(path);
        std::fs::create_dir_all(at.parent().unwrap()).unwrap();
        std::fs::write(at, text).unwrap();
    }
    root
}

/// A desk whose link came up slow, with a signed share.
fn slow_desk() -> TempDir {
    tree(&[
        ("sys/class/net/enp3s0/operstate", "up\n"),
        ("sys/class/net/enp3s0/carrier", "1\n"),
        ("sys/class/net/enp3s0/speed", "1000\n"),
        ("sys/class/net/enp3s0/duplex", "full\n"),
        ("sys/class/net/enp3s0/mtu", "9000\n"),
        ("sys/class/net/enp3s0/type", "1\n"),
        ("sys/class/net/enp3s0/carrier_changes", "37\n"),
        ("sys/class/net/enp3s0/device/vendor", "0x0000\n"),
        ("proc/meminfo", "MemTotal:       16319540 kB\n"),
        (
            "proc/cpuinfo",
            "processor\t: 0\ncore id\t: 0\nflags\t: fpu aes\n",
        ),
        (
            "proc/self/mountinfo",
            "88 31 0:57 / /mnt/vault rw,relatime shared:44 - cifs //someone@store/vault rw,vers=3.1.1,sec=ntlmsspi,username=someone,seal\n",
        ),
    ])
}

#[test]
fn a_made_up_machine_says_what_it_is() {
    let root = slow_desk();
    let at = root.path().to_str().unwrap();
    let ran = fine(&["measure", "machine", "--root", at, "--why"]);
    assert!(
        ran.out.starts_with("enp3s0 runs at 1 Gb/s.\n"),
        "{}",
        ran.out
    );
    for part in [
        "port.enp3s0 = { rate = \"1 Gb/s\", mtu = 9000 }",
        "16.7 GB of memory",
        "/mnt/vault",
        "yes",
    ] {
        assert!(flat(&ran.out).contains(part), "{part}: {}", ran.out);
    }
    assert!(!ran.out.contains("someone"), "{}", ran.out);
    for line in ran.out.lines().filter(|line| !line.contains("port.")) {
        assert!(line.chars().count() <= 80, "{line:?}");
    }
    let answer = answer(&["measure", "machine", "--root", at]);
    assert_eq!(answer["links"][0]["link_megabits_per_s"], 1000.0);
    assert_eq!(answer["links"][0]["came_and_went"], 37);
    assert_eq!(answer["shares"][0]["signed"], true);
    assert!(answer["links"][0]["slot"].is_null());
}

#[test]
fn a_machine_is_held_against_the_site() {
    let root = slow_desk();
    let at = root.path().to_str().unwrap();
    let arguments = [
        "measure", "machine", "--root", at, "--site", EXAMPLE, "--desk", "cut-1",
    ];
    let found = answer(&arguments);
    let sets: Vec<&str> = found["differences"]
        .as_array()
        .unwrap()
        .iter()
        .map(|d| d["set"].as_str().unwrap())
        .collect();
    assert_eq!(
        sets,
        [
            "desk.cut-1.port.a.mtu=9000",
            "run.2.negotiated=\"1 Gb/s\"",
            "nas.store.signed=\"signed\"",
            "nas.store.encrypted=\"yes\"",
        ]
    );
    // and what is offered is understood
    let mut all = vec!["check", EXAMPLE];
    for set in &sets {
        all.extend(["--set", *set]);
    }
    fine(&all);
    let text = fine(&arguments).out;
    assert!(flat(&text).contains("run.2.negotiated: the site says a port of 10 Gb/s, this machine says that its link runs at 1 Gb/s."), "{text}");
    // each with the place in the file where it stands, or would
    let file = std::fs::read_to_string(
        Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("..")
            .join(EXAMPLE),
    )
    .unwrap();
    let number = |beginning: &str| file.lines().position(|l| l.starts_with(beginning)).unwrap() + 1;
    let nas = number("[nas.store]");
    for part in [
        format!(
            "{EXAMPLE}, line {}: nas.store.signed: the site says not known, this machine says signed.",
            nas + 4
        ),
        format!("{EXAMPLE}, below line {nas}, where it is not said: nas.store.encrypted:"),
        format!(
            "{EXAMPLE}, below line {}, where it is not said: desk.cut-1.port.a.mtu:",
            number("[desk.cut-1]") + 2
        ),
    ] {
        assert!(flat(&text).contains(&part), "{part}: {text}");
    }
    assert_eq!(found["differences"][2]["line"], nas + 4);
    assert_eq!(found["differences"][2]["in_file"], true);
    let nobody = narrows(&["measure", "machine", "--root", at, "--site", EXAMPLE]);
    assert_eq!(nobody.code, 2);
    assert!(
        nobody.err.contains("--desk NAME") && nobody.err.contains("cut-1"),
        "{}",
        nobody.err
    );
}

#[test]
fn a_nas_in_trouble_says_so_first() {
    let root = tree(&[(
        "proc/mdstat",
        "md1 : active raid6 sdg1[5] sdh1[6](S) sdd1[3] sdc1[2] sdb1[1](F) sda1[0]\n      11720779776 blocks super 1.2 level 6, 64k chunk, algorithm 2 [6/5] [UUUUU_]\n      [==>..]  recovery = 12.6% (1/2) finish=341.2min speed=166784K/sec\n",
    )]);
    let at = root.path().to_str().unwrap();
    let text = flat(&fine(&["measure", "machine", "--root", at, "--nas", "store"]).out);
    for part in [
        "is the second copy of the pictures complete",
        "md1 lacks 1 drive. Before anything else: is the second copy",
        "failed = 1",
        "rebuilding = \"yes\"",
        "An array is not a backup",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    let found = answer(&[
        "measure", "machine", "--root", at, "--site", EXAMPLE, "--nas", "store",
    ]);
    let sets: Vec<&str> = found["differences"]
        .as_array()
        .unwrap()
        .iter()
        .map(|d| d["set"].as_str().unwrap())
        .collect();
    assert_eq!(
        sets,
        [
            "array.vault.spares=1",
            "array.vault.failed=1",
            "array.vault.rebuilding=\"yes\""
        ]
    );
}

#[test]
fn an_empty_root_is_no_fault() {
    let root = TempDir::new().unwrap();
    let text = fine(&[
        "measure",
        "machine",
        "--root",
        root.path().to_str().unwrap(),
    ])
    .out;
    assert!(
        text.starts_with("No link to other machines is up."),
        "{text}"
    );
    assert_eq!(
        narrows(&["measure", "machine", "--root", "/no/such/root"]).code,
        2
    );
    // and this machine itself, whatever it is
    fine(&["measure", "machine"]);
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

#[test]
fn files_are_measured_and_explain_takes_it() {
    let folder = roomy();
    let lists = TempDir::new().unwrap();
    let list = lists.path().join("readings.csv");
    let (at, list) = (folder.path().to_str().unwrap(), list.to_str().unwrap());
    let arguments = [
        "measure",
        "files",
        at,
        "--size",
        "60 MB",
        "--small",
        "20",
        "--as-administrator",
        "--desk",
        "cut-1",
        "--readings",
        list,
    ];
    let ran = fine(&arguments);
    assert!(flat(&ran.out).contains("is written at"), "{}", ran.out);
    assert!(
        flat(&ran.err).contains("Writing wears flash"),
        "{}",
        ran.err
    );
    assert!(names(folder.path()).is_empty());
    let text = std::fs::read_to_string(list).unwrap();
    assert!(
        text.starts_with(
            "desk,what,direction,value,low,high,unit,exactness,size,streams,again,remark\n"
        ),
        "{text}"
    );
    let explained = answer(&["explain", EXAMPLE, "--readings", list]);
    let readings = explained["readings"].as_array().unwrap();
    assert_eq!(
        (readings.len(), readings[0]["what"].as_str()),
        (4, Some("local-disk")),
        "{explained}"
    );
    // of a run that is over in a moment no reading says "next to nothing"
    for reading in readings {
        assert!(
            reading["megabytes_per_s"].as_f64().unwrap() > 1.0,
            "{reading}"
        );
    }
    // a second run adds to the list
    fine(&arguments);
    assert!(std::fs::read_to_string(list).unwrap().lines().count() >= 2 * text.lines().count() - 1);
    // a file that is no list of ours stays as it is
    let other = lists.path().join("notes.txt");
    std::fs::write(&other, "notes").unwrap();
    let refused = narrows(&[
        "measure",
        "files",
        at,
        "--size",
        "2 MB",
        "--small",
        "0",
        "--as-administrator",
        "--readings",
        other.to_str().unwrap(),
    ]);
    assert_eq!(refused.code, 2);
    assert_eq!(std::fs::read_to_string(&other).unwrap(), "notes");
}

#[test]
fn what_must_be_agreed_to_is_asked() {
    let folder = roomy();
    let at = folder.path().to_str().unwrap();
    let refused = narrows(&[
        "measure",
        "files",
        at,
        "--size",
        "11 GB",
        "--as-administrator",
    ]);
    assert_eq!(refused.code, 2, "{}", refused.out);
    assert!(refused.err.contains("--yes"), "{}", refused.err);
    for (arguments, part) in [
        (
            vec!["measure", "files", "/proc", "--as-administrator"],
            "belongs to the system",
        ),
        (
            vec!["measure", "files", "/no/such/folder", "--as-administrator"],
            "opening the folder failed",
        ),
        (
            vec![
                "measure",
                "files",
                at,
                "--size",
                "banana",
                "--as-administrator",
            ],
            "--size",
        ),
        (
            vec!["measure", "network", "--as-administrator"],
            "neither --wait nor --ask",
        ),
        (
            vec![
                "measure",
                "network",
                "--ask",
                "store.local",
                "--as-administrator",
            ],
            "names are not looked up",
        ),
        (
            vec![
                "measure",
                "network",
                "--ask",
                "127.0.0.1",
                "--token-file",
                "/no/such/file",
                "--as-administrator",
            ],
            "no such file",
        ),
        (vec!["explain", EXAMPLE, "--measure"], "--desk NAME"),
    ] {
        let ran = narrows(&arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(
            flat(&ran.err).contains(part),
            "{arguments:?} {part}: {}",
            ran.err
        );
    }
    assert!(names(folder.path()).is_empty());
}

/// A port that nobody uses now.
fn free() -> String {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    listener.local_addr().unwrap().to_string()
}

/// Starts a waiting side and gives its address and the file of its token.
fn waiting(folder: &Path) -> (String, String, std::thread::JoinHandle<Ran>) {
    let address = free();
    let token = folder.join("token");
    let text = token.to_str().unwrap().to_owned();
    let (at, file) = (address.clone(), text.clone());
    let thread = std::thread::spawn(move || {
        narrows(&[
            "measure",
            "network",
            "--wait",
            "--at",
            &at,
            "--token-file",
            &file,
            "--as-administrator",
            "--minutes",
            "2",
        ])
    });
    for _ in 0..500 {
        // the token is written when the port listens
        if std::fs::read_to_string(&token).is_ok_and(|text| text.ends_with('\n')) {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(10));
    }
    (address, text, thread)
}

#[test]
fn the_network_is_measured_over_loopback_and_explain_takes_it() {
    let folder = TempDir::new().unwrap();
    let (address, token, thread) = waiting(folder.path());
    let list = folder.path().join("readings.csv");
    let list = list.to_str().unwrap();
    let ran = fine(&[
        "measure",
        "network",
        "--ask",
        &address,
        "--token-file",
        &token,
        "--seconds",
        "1",
        "--as-administrator",
        "--desk",
        "cut-1",
        "--readings",
        list,
    ]);
    let text = flat(&ran.out);
    for part in [
        "Memory to memory this machine reads",
        "Round trip, ms:",
        "under load",
        "This program alone, over loopback",
    ] {
        assert!(text.contains(part), "{part}: {}", ran.out);
    }
    let waited = thread.join().unwrap();
    assert_eq!(waited.code, 0, "{}", waited.err);
    assert!(
        waited.out.contains("Token: ") && waited.out.contains("Done: 8 runs"),
        "{}",
        waited.out
    );
    let rows = std::fs::read_to_string(list).unwrap();
    let count = |what: &str| rows.lines().filter(|row| row.contains(what)).count();
    assert_eq!(
        (
            count(",raw tcp,read"),
            count(",raw tcp,write"),
            count(",ping,")
        ),
        (3, 3, 1),
        "{rows}"
    );
    let explained = answer(&["explain", EXAMPLE, "--readings", list]);
    assert!(
        explained["readings"].as_array().unwrap().len() >= 7,
        "{explained}"
    );
}

#[test]
fn a_wrong_token_ends_with_two() {
    let folder = TempDir::new().unwrap();
    let (address, token, thread) = waiting(folder.path());
    let wrong = folder.path().join("wrong");
    std::fs::write(&wrong, "0000-0000-0000-0000-0000-0000-0000-0000").unwrap();
    for _ in 0..3 {
        let ran = narrows(&[
            "measure",
            "network",
            "--ask",
            &address,
            "--token-file",
            wrong.to_str().unwrap(),
            "--as-administrator",
        ]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""));
        assert!(
            ran.err.contains("the token is not that of the other side"),
            "{}",
            ran.err
        );
    }
    assert_eq!(thread.join().unwrap().code, 2);
    // nobody waits any more
    let ran = narrows(&[
        "measure",
        "network",
        "--ask",
        &address,
        "--token-file",
        &token,
        "--as-administrator",
    ]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("connecting failed"), "{}", ran.err);
}

#[test]
fn explain_measures_at_its_desk() {
    let folder = TempDir::new().unwrap();
    let share = roomy();
    let (address, token, thread) = waiting(folder.path());
    let arguments = [
        "explain",
        EXAMPLE,
        "--measure",
        "--desk",
        "cut-1",
        "--folder",
        share.path().to_str().unwrap(),
        "--ask",
        &address,
        "--token-file",
        &token,
        "--measure-seconds",
        "1",
        "--as-administrator",
    ];
    // without consent nothing happens
    let refused = narrows(&arguments);
    assert_eq!(refused.code, 2, "{}", refused.out);
    assert!(refused.err.contains("answer with --yes"), "{}", refused.err);
    let explained = answer(&[&arguments[..], &["--yes"]].concat());
    let what: Vec<&str> = explained["readings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| r["what"].as_str().unwrap())
        .collect();
    for wanted in ["local-disk", "raw-tcp", "ping"] {
        assert!(what.contains(&wanted), "{wanted}: {what:?}");
    }
    assert_eq!(thread.join().unwrap().code, 0);
    assert!(names(share.path()).is_empty());
}
