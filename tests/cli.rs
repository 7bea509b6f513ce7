//! The command line: what it prints, where, and how it exits.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_tests::{kept, narrows, root};

const EXAMPLE: &str = "data/sites/granary-lane.toml";

#[test]
fn every_broken_site_is_refused_with_the_kept_words() {
    let mut names: Vec<_> = std::fs::read_dir(root().join("tests/sites/broken"))
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "toml"))
        .collect();
    names.sort();
    assert!(names.len() > 30);
    let mut wrong = Vec::new();
    for path in names {
        let relative = path.strip_prefix(root()).unwrap().display().to_string();
        let ran = narrows(&["check", &relative]);
        if ran.code != 2 || !ran.out.is_empty() {
            wrong.push(format!(
                "{relative}: exit {} and output {:?}",
                ran.code, ran.out
            ));
            continue;
        }
        for line in ran.err.lines() {
            if line.ends_with(' ') {
                wrong.push(format!("{relative}: blanks at the end of {line:?}"));
            }
        }
        if let Err(message) = kept(&path.with_extension("txt"), &ran.err) {
            wrong.push(message);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

#[test]
fn answers_go_out_and_faults_go_to_standard_error() {
    let good = narrows(&["budget", EXAMPLE]);
    assert_eq!((good.code, good.err.as_str()), (0, ""));
    let bad = narrows(&["budget", "tests/sites/broken/unknown-key.toml"]);
    assert_eq!((bad.code, bad.out.as_str()), (2, ""));
    assert!(bad.err.contains("unknown-key.toml:"), "{}", bad.err);
}

#[test]
fn files_that_are_no_sites_are_refused_in_words() {
    for (path, word) in [
        ("data/sites", "is a folder"),
        ("data/sites/nothing.toml", "no such file"),
        ("Cargo.lock", "no field 'package'"),
    ] {
        let ran = narrows(&["budget", path]);
        assert_eq!(ran.code, 2, "{path}");
        let said = ran.err.contains(word) || (path == "Cargo.lock" && ran.err.contains("package"));
        assert!(said, "{path}: {}", ran.err);
    }
}

#[test]
fn huge_and_binary_files_are_refused_before_they_are_parsed() {
    let folder = std::env::temp_dir().join(format!("narrows-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let huge = folder.join("huge.toml");
    // ten gigabytes that take no room on the disk
    std::fs::File::create(&huge)
        .unwrap()
        .set_len(10_000_000_000)
        .unwrap();
    let ran = narrows(&["check", huge.to_str().unwrap()]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("10000000000 bytes"), "{}", ran.err);
    let binary = folder.join("binary.toml");
    std::fs::write(&binary, [0x89, b'P', b'N', b'G', 0, 1, 2, 0xff]).unwrap();
    let ran = narrows(&["check", binary.to_str().unwrap()]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("not a text file"), "{}", ran.err);
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn byte_order_mark_and_windows_line_ends_change_nothing() {
    let text = std::fs::read_to_string(root().join(EXAMPLE)).unwrap();
    let path = std::env::temp_dir().join(format!("narrows-crlf-{}.toml", std::process::id()));
    std::fs::write(&path, format!("\u{feff}{}", text.replace('\n', "\r\n"))).unwrap();
    let plain = narrows(&["budget", EXAMPLE, "--format", "json"]);
    let other = narrows(&["budget", path.to_str().unwrap(), "--format", "json"]);
    std::fs::remove_file(&path).unwrap();
    assert_eq!(other.code, 0, "{}", other.err);
    assert_eq!(plain.out, other.out);
}

#[test]
fn text_fits_eighty_columns_and_has_no_blanks_at_the_ends_of_lines() {
    let runs: [&[&str]; 6] = [
        &["budget", EXAMPLE],
        &["budget", EXAMPLE, "--desk", "cut-1"],
        &["budget", EXAMPLE, "--why", "nas.store.cpu"],
        &["budget", EXAMPLE, "--set", "nas.store.signed=plain"],
        &["budget", EXAMPLE, "--size", "200 GB"],
        &["check", EXAMPLE],
    ];
    for arguments in runs {
        let ran = narrows(arguments);
        assert_eq!(ran.code, 0, "{arguments:?}: {}", ran.err);
        for line in ran.out.lines() {
            assert!(line.chars().count() <= 80, "{arguments:?}: {line:?}");
            assert!(!line.ends_with(' '), "{arguments:?}: {line:?}");
        }
    }
}

#[test]
fn the_same_question_gets_the_same_answer() {
    let once = narrows(&["budget", EXAMPLE, "--format", "json"]);
    assert_eq!(once, narrows(&["budget", EXAMPLE, "--format", "json"]));
}

#[test]
fn tables_for_programs_and_documents() {
    let csv = narrows(&["budget", EXAMPLE, "--format", "csv"]);
    assert!(
        csv.out.starts_with("desk,direction,MB/s,5 %,95 %,"),
        "{}",
        csv.out
    );
    assert_eq!(csv.out.lines().count(), 11);
    let markdown = narrows(&["budget", EXAMPLE, "--format", "markdown"]);
    assert!(markdown.out.starts_with("| desk | direction | MB/s |"));
}

#[test]
fn hops_and_desks_that_are_not_there_are_refused_with_what_is() {
    let ran = narrows(&["budget", EXAMPLE, "--why", "array.vaul"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("array.vault"), "{}", ran.err);
    let ran = narrows(&["budget", EXAMPLE, "--desk", "cut-l"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("did you mean 'cut-1'"), "{}", ran.err);
}

#[test]
fn a_desk_can_be_described_without_a_file() {
    let full = narrows(&[
        "budget",
        "--disk",
        "nvme-gen3",
        "--port",
        "10 Gb/s",
        "--cable",
        "cat6 22 m",
        "--switch",
        "10 Gb/s",
        "--nas",
        "small, 4 cores, 10 Gb/s, smb",
        "--array",
        "raid6 6 x 10 TB hdd-7200",
    ]);
    assert_eq!(full.code, 0, "{}", full.err);
    assert!(full.out.contains("\nNext: find out "), "{}", full.out);
    for part in [
        ["--disk", "ssd-sata"],
        ["--port", "2.5 Gb/s, usb 5 Gb/s"],
        ["--cable", "cat5e"],
        ["--switch", "1 Gb/s"],
        ["--nas", "tiny"],
        ["--array", "raid1 2 x 8 TB hdd-5400"],
    ] {
        let ran = narrows(&["budget", part[0], part[1]]);
        assert_eq!(ran.code, 0, "{part:?}: {}", ran.err);
        assert!(ran.out.contains("Assumed, because nobody said"), "{part:?}");
    }
    let nothing = narrows(&["budget"]);
    assert_eq!(nothing.code, 2);
    let stray = narrows(&["budget", "--nas", "smal, 4 cores"]);
    assert!(stray.err.contains("did you mean 'small'"), "{}", stray.err);
    let both = narrows(&["budget", EXAMPLE, "--disk", "hdd"]);
    assert_eq!(both.code, 2);
}

#[test]
fn bad_sizes_files_and_edits_are_drawn_in_their_own_text() {
    for (arguments, word) in [
        (["--size", "200"], "no unit"),
        (["--size", "0 GB"], "above zero"),
        (["--files", "many"], "no 'x'"),
        (["--random", "0 kB"], "--random is nothing"),
        (["--random", "16 furlongs"], "not a unit"),
        (["--random", "10 TB"], "no small piece"),
        (["--set", "nas.stor.cpu=small"], "did you mean 'store'"),
        (["--set", "nonsense"], "no '='"),
    ] {
        let ran = narrows(&["budget", EXAMPLE, arguments[0], arguments[1]]);
        assert_eq!(ran.code, 2, "{arguments:?}");
        assert!(ran.err.contains(word), "{arguments:?}: {}", ran.err);
    }
}

#[test]
fn a_need_that_is_missed_is_named_and_gives_exit_code_one() {
    let missed = narrows(&["budget", EXAMPLE, "--work", "play", "--need", "880 Mb/s"]);
    assert_eq!(missed.code, 1, "{}", missed.err);
    assert!(
        missed.out.starts_with("Not the 110 MB/s that are needed"),
        "{}",
        missed.out
    );
    let met = narrows(&["budget", EXAMPLE, "--need", "10 MB/s"]);
    assert_eq!(met.code, 0);
    assert!(
        met.out
            .starts_with("The 10.0 MB/s that are needed are there in at least 95 of 100 cases."),
        "{}",
        met.out
    );
    assert_eq!(narrows(&["budget", EXAMPLE, "--need", "880"]).code, 2);
}

#[test]
fn a_run_is_judged_rate_by_rate_with_its_caution() {
    let ran = narrows(&["cable", "cat5e 31 m, loose, 6 neighbours at 1 Gb/s"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for word in [
        "10 Gb/s",
        "holds %",
        "only a certification",
        "licensed",
        "Margin in dB",
    ] {
        assert!(ran.out.contains(word), "{word}: {}", ran.out);
    }
    assert!(
        ran.out.lines().all(|l| l.chars().count() <= 80),
        "{}",
        ran.out
    );
    let site = narrows(&["cable", EXAMPLE]);
    assert_eq!(site.code, 0, "{}", site.err);
    assert!(site.out.contains("run.2"), "{}", site.out);
    let stray = narrows(&["cable", "cat9 31 m"]);
    assert_eq!((stray.code, stray.out.as_str()), (2, ""));
    // another category is never offered for one that is not there
    assert!(!stray.err.contains("did you mean"), "{}", stray.err);
    let json = narrows(&["cable", "cat6 40 m", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    assert_eq!(json["command"], "cable");
}

#[test]
fn every_example_site_is_answered() {
    for (name, _) in narrows_data::SITES {
        let path = format!("data/sites/{name}.toml");
        for command in ["budget", "check"] {
            let ran = narrows(&[command, &path]);
            assert_eq!(ran.code, 0, "{command} {path}: {}", ran.err);
        }
    }
}

#[test]
fn facts_are_listed_with_their_sources_and_words_of_every_list() {
    let all = narrows(&["facts", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&all.out).unwrap();
    assert!(json["answer"]["facts"].as_array().unwrap().len() > 200);
    for (word, expected) in [
        ("hdd-7200", "hard disk at 7200 rpm"),
        ("words cpu", "workstation or server class"),
        ("words service", "NFS 3 or 4"),
        ("pcie.lane.3", "128b/130b"),
        ("phy.1000.noise-floor", "-137..-127.5..-118 dBm/Hz"),
    ] {
        let ran = narrows(&["facts", word]);
        assert!(ran.out.contains(expected), "{word}: {}", ran.out);
    }
    assert_eq!(narrows(&["facts", "zzz"]).code, 2);
}

#[test]
fn help_is_there_for_everything() {
    for arguments in [
        &["--help"][..],
        &["budget", "--help"],
        &["check", "--help"],
        &["facts", "--help"],
    ] {
        let ran = narrows(arguments);
        assert_eq!(ran.code, 0);
        assert!(ran.out.len() > 200);
    }
    assert_eq!(narrows(&["budgt"]).code, 2);
}

#[test]
fn a_long_copy_tells_where_it_slows_down_and_how_that_comes_about() {
    let long = ["budget", EXAMPLE, "--desk", "cut-1", "--size", "400 GB"];
    let text = narrows(&long).out;
    for said in [
        "the fast cache of the",
        "the flash folds what its",
        "the NAS's memory is full",
        "It fits on cut-1's disk in",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    let short = ["budget", EXAMPLE, "--desk", "colour", "--size", "1 GB"];
    let text = narrows(&short).out;
    assert!(text.contains("No row slows down on the way"), "{text}");
    assert!(!text.contains("There may be no room"), "{text}");
    let why = |size: &[&str]| {
        let asked = [
            "budget",
            EXAMPLE,
            "--desk",
            "cut-1",
            "--why",
            "desk.cut-1.disk",
        ];
        narrows(&[&asked[..], size].concat()).out
    };
    let text = why(&["--size", "400 GB"]);
    for said in ["  B = ", "  F = ", "  X2 = ", "  X3 = ", "C (1 - f)"] {
        assert!(text.contains(said), "{said}: {text}");
    }
    assert!(!why(&[]).contains("X2"));
}

/// Places that are alike are raised together and told once, of all desks that gain.
#[test]
fn the_next_better_parts_are_told_once_each() {
    let text = narrows(&["budget", "data/sites/one-desk.toml", "--better"]).out;
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = "With 2.5 Gb/s ports at cut-1, attic and store: cut-1 reads ";
    assert_eq!(flat.matches(said).count(), 1, "{text}");
    assert!(flat.contains("--set 'desk.cut-1.port.a.rate=\"2.5 Gb/s\"'"));
    let stated = [
        "--set",
        "array.vault.local-read=\"20 MB/s\"",
        "--set",
        "array.vault.local-write=\"20 MB/s\"",
    ];
    let held = narrows(
        &[
            &["budget", "data/sites/one-desk.toml", "--better"],
            &stated[..],
        ]
        .concat(),
    );
    assert!(
        held.out.contains("No better part of any one place"),
        "{}{}",
        held.out,
        held.err
    );
}
