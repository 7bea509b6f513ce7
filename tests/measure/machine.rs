//! This machine, below a made-up root.

use super::{EXAMPLE, answer, fine, flat, tree};
use narrows_tests::narrows;
use std::path::Path;
use tempfile::TempDir;

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
