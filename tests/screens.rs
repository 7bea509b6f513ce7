//! What people see first, and whether it fits: every command at three widths.

use narrows_tests::{Ran, narrows, narrows_at};

const LANE: &str = "data/sites/granary-lane.toml";

/// Every command that answers in words, with what it needs.
fn commands() -> Vec<Vec<&'static str>> {
    vec![
        vec!["budget", LANE],
        vec!["budget", LANE, "--desk", "cut-1"],
        vec!["budget", LANE, "--set", "nas.store.signed=unsigned"],
        vec!["budget", LANE, "--size", "400 GB"],
        vec!["budget", LANE, "--random", "16 kB"],
        vec!["budget", LANE, "--need", "200 MB/s"],
        vec!["budget", LANE, "--plays", "--desk", "colour"],
        vec!["budget", "--port", "10 Gb/s"],
        vec!["together", LANE, "--tasks", "data/tasks/granary-lane.toml"],
        vec!["together", LANE, "--day", "data/jobs/granary-lane.csv"],
        vec!["ports", LANE, "--jacks", "data/jacks/granary-lane.csv"],
        vec!["buy", LANE, "--offers", "data/offers/granary-lane.toml"],
        vec!["buy", LANE, "--spend", "500 EUR"],
        vec!["layouts", LANE],
        vec!["layouts", "--bays", "4", "--bays", "6", "--drives", "12 TB"],
        vec!["capacity", LANE],
        vec!["capacity", "--need", "60 TB", "--drives", "10 TB"],
        vec!["cable", "cat5e 31 m"],
        vec!["cable", LANE],
        vec!["check", LANE],
        vec!["facts", "hdd-7200"],
    ]
}

/// What else is printed for people, without a need for a beginning of three lines.
fn others() -> Vec<Vec<&'static str>> {
    let whole = "data/sites/granary-lane-whole.toml";
    vec![
        vec![],
        vec!["example"],
        vec!["check", whole],
        vec!["check", "tests/forms/short.toml"],
        vec!["budget", "tests/forms/short.toml"],
        vec!["growth", whole],
        vec!["outage", whole],
        vec!["backup", whole],
        vec!["wireless", whole],
        vec!["wireless", whole, "--place", "2"],
        vec!["explain", LANE, "--measured", "colour copy read 11.2 MB/s"],
        vec!["buy", LANE, "--offer", "10 Gb/s card for colour, 95 EUR"],
        vec!["cable", "cat6 55 m, tight", "--need", "10 Gb/s"],
        vec!["cable", "data/jacks/granary-lane.csv"],
        vec!["facts", "codecs"],
        vec!["budget", LANE, "--why", "array.vault", "--desk", "cut-1"],
    ]
}

/// What a person copies cannot be broken: an edit, a command, a word longer than the screen.
fn is_to_be_copied(line: &str) -> bool {
    line.trim().split(' ').count() == 1 || line.contains("--set") || line.contains("  narrows ")
}

/// A row of a table: columns with two spaces and more between them, or what is left of a cell far to the right.
fn is_of_a_table(line: &str) -> bool {
    let folded = line.starts_with(&" ".repeat(12));
    folded
        || line
            .trim()
            .split("  ")
            .filter(|cell| !cell.trim().is_empty())
            .count()
            >= 4
}

/// Columns that the numbers of the widest table take on a narrow screen.
const TABLE: usize = 82;

#[test]
fn what_was_understood_is_said_back_by_every_command() {
    let forms = "tests/forms/short.toml";
    for command in [
        "budget", "together", "ports", "buy", "layouts", "capacity", "cable", "growth",
    ] {
        let ran = narrows(&[command, forms]);
        if ran.code == 2 {
            // what the place does not describe has no answer
            continue;
        }
        let last = ran
            .out
            .rsplit_once("Understood: ")
            .map_or("", |(_, last)| last);
        let last = last.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            last.starts_with("'NAS - switch attic: Cat 6A 3m' as from NAS"),
            "{command}: {}",
            ran.out
        );
        assert!(
            last.ends_with("All: narrows check tests/forms/short.toml"),
            "{last}"
        );
        // a program reads what was said in check
        let json = narrows(&[command, forms, "--format", "json"]);
        assert!(!json.out.contains("Understood"), "{command}");
        // what is written as it is stored needs no word
        assert!(
            !narrows(&[command, LANE]).out.contains("Understood"),
            "{command}"
        );
    }
}

#[test]
fn every_command_fits_its_screen() {
    for width in [60, 80, 120] {
        for arguments in commands().into_iter().chain(others()) {
            let ran = narrows_at(width, &arguments);
            assert!(ran.code < 2, "{arguments:?}: {}", ran.err);
            for line in ran.out.lines() {
                // a table cannot be narrower than its numbers
                let most = match width {
                    60 if is_of_a_table(line) => TABLE,
                    width => width,
                };
                assert!(
                    line.chars().count() <= most || is_to_be_copied(line),
                    "{arguments:?} at {width}: {} columns\n{line}",
                    line.chars().count()
                );
            }
        }
    }
}

#[test]
fn every_answer_begins_with_what_and_soon_says_what_next() {
    for arguments in commands() {
        let ran = narrows(&arguments);
        let head: Vec<&str> = ran
            .out
            .lines()
            .take_while(|line| !line.trim().is_empty())
            .collect();
        let text = head.join(" ");
        assert!(
            (1..=14).contains(&head.len()),
            "{arguments:?} begins with {} lines\n{text}",
            head.len()
        );
        let says = head.iter().any(|l| l.starts_with("Why: "))
            || head.iter().any(|l| l.starts_with("Next: "));
        assert!(says, "{arguments:?}\n{text}");
        assert!(!head[0].starts_with("Why") && !head[0].starts_with("Next"));
    }
}

#[test]
fn words_of_the_workshop_stay_inside() {
    for arguments in commands() {
        let ran = narrows(&arguments);
        let text = ran.out.to_lowercase();
        for word in [
            "lifted",
            "same luck",
            "draw by draw",
            "eaten by",
            "one thread",
            "of its second",
            "by rule",
            "in print",
            "signed, plain",
            "scatter",
            "percentile",
        ] {
            assert!(
                !text.contains(word),
                "{arguments:?} says '{word}'\n{}",
                ran.out
            );
        }
    }
}

fn first(ran: &Ran) -> &str {
    ran.out.lines().next().unwrap_or_default()
}

#[test]
fn a_need_that_is_not_met_is_in_the_first_line() {
    let ran = narrows(&["budget", LANE, "--need", "200 MB/s"]);
    assert_eq!(ran.code, 1);
    assert!(
        first(&ran).starts_with("Not the 200 MB/s that are needed"),
        "{}",
        ran.out
    );
    let ran = narrows(&["cable", "cat5e 55 m", "--need", "10 Gb/s"]);
    assert_eq!(ran.code, 1);
    assert!(first(&ran).starts_with("10 Gb/s is not met"), "{}", ran.out);
    let ran = narrows(&["together", LANE, "--need", "50 MB/s"]);
    assert_eq!(ran.code, 1);
    assert!(first(&ran).starts_with("Not the 50"), "{}", ran.out);
}

#[test]
fn a_change_that_does_nothing_says_at_once_what_is_missing() {
    // the card alone: the port of the switch stays at 1 Gb/s
    let ran = narrows(&[
        "budget",
        LANE,
        "--set",
        "desk.colour.port.a.rate=\"10 Gb/s\"",
    ]);
    let head: Vec<&str> = ran.out.lines().take(6).collect();
    assert!(
        head[0].starts_with("Still 117 MB/s for colour"),
        "{}",
        ran.out
    );
    let text = head.join(" ");
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("1 Gb/s ports of attic"), "{text}");
    assert!(
        text.contains("with 10 Gb/s ports at attic too it reads"),
        "{text}"
    );
}

#[test]
fn what_was_taken_for_a_nas_that_nobody_described_is_in_the_first_lines() {
    let ran = narrows(&["budget", "--port", "10 Gb/s"]);
    let head: Vec<&str> = ran.out.lines().take_while(|l| !l.is_empty()).collect();
    let text = head.join(" ");
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("You did not say"), "{text}");
    assert!(text.contains("a NAS with a 10 Gb/s port"), "{text}");
}

#[test]
fn another_layout_and_a_second_failed_drive_are_warned_of_first() {
    let ran = narrows(&["budget", LANE, "--set", "array.vault.layout=raid5"]);
    let head: Vec<&str> = ran.out.lines().take_while(|l| !l.is_empty()).collect();
    assert!(
        head.join(" ").contains("usually erases the array"),
        "{head:?}"
    );
    let ran = narrows(&["budget", LANE, "--set", "array.vault.failed=2"]);
    assert!(ran.out.contains("one more loses all"), "{}", ran.out);
    let at_once = narrows(&["together", LANE, "--set", "array.vault.failed=2"]);
    assert!(
        first(&at_once).contains("2 failed drives"),
        "{}",
        at_once.out
    );
}

#[test]
fn two_places_are_compared() {
    let other = "data/sites/one-desk.toml";
    let ran = narrows(&["budget", LANE, "--compare", other]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        first(&ran).starts_with("At Granary Lane, the first week cut-1"),
        "{}",
        ran.out
    );
    assert!(
        ran.out.contains("In one of the two only: cut-2"),
        "{}",
        ran.out
    );
    let ran = narrows(&["together", LANE, "--compare", other, "--format", "json"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let both = narrows(&[
        "budget",
        LANE,
        "--compare",
        other,
        "--set",
        "nas.store.signed=no",
    ]);
    assert_eq!(both.code, 2);
}

#[test]
fn what_a_desk_plays_grows_with_its_port() {
    let faster = "desk.colour.port.a.rate=\"10 Gb/s\"";
    let port = "switch.attic.port.slow.rate=\"10 Gb/s\"";
    let ran = narrows(&[
        "budget", LANE, "--plays", "--desk", "colour", "--set", faster, "--set", port, "--format",
        "json",
    ]);
    let answer: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let codecs = answer["answer"]["desks"][0]["codecs"].as_array().unwrap();
    assert!(codecs.len() > 40, "{}", codecs.len());
    for codec in codecs {
        let (before, after) = (&codec["layers"], &codec["layers_after"]);
        assert!(before.as_u64() <= after.as_u64(), "{codec}");
    }
    let grows = |c: &serde_json::Value| c["layers"].as_u64() < c["layers_after"].as_u64();
    assert!(codecs.iter().any(grows));
}

#[test]
fn a_need_in_hours_of_footage_is_counted_in_bytes() {
    let hours = "500 h of ProRes 422 HQ UHD 25 fps";
    let ran = narrows(&["capacity", "--need", hours, "--drives", "20 TB"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    // 500 x 3600 s x 737 Mb/s / 8
    assert!(first(&ran).contains("166 TB"), "{}", ran.out);
    let ran = narrows(&[
        "capacity",
        "--need",
        "500 h of nothing",
        "--drives",
        "20 TB",
    ]);
    assert_eq!(ran.code, 2);
}

#[test]
fn offers_need_no_file() {
    let card = "10 Gb/s card for colour, $95";
    let port = "10 Gb/s port at attic for colour, 110";
    let ran = narrows(&[
        "buy",
        LANE,
        "--set",
        "switch.stairs.port.any.rate=\"1 Gb/s\"",
        "--offer",
        card,
        "--offer",
        port,
        "--currency",
        "usd",
        "--spend",
        "$500",
        "--format",
        "json",
    ]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let answer: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    // each alone does nothing, both together do
    let purchases = answer["answer"]["purchases"].as_array().unwrap();
    assert_eq!(purchases.len(), 1, "{}", ran.out);
    assert_eq!(purchases[0]["offers"].as_array().unwrap().len(), 2);
    let ran = narrows(&["buy", LANE, "--offer", "a sofa for colour, 90 EUR"]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("10 Gb/s card for grade, 90 EUR"),
        "{}",
        ran.err
    );
}

#[test]
fn layouts_without_a_need_are_a_handful() {
    let few = narrows(&["layouts", "--bays", "6", "--drives", "12 TB"]);
    let all = narrows(&["layouts", "--bays", "6", "--drives", "12 TB", "--all"]);
    assert_eq!((few.code, all.code), (0, 0));
    assert!(few.out.lines().count() < 40, "{}", few.out);
    assert!(all.out.lines().count() > 200);
    for word in [
        "most space",
        "fastest writing",
        "fewest drives",
        "safest",
        "balanced",
    ] {
        assert!(few.out.contains(word), "{word}\n{}", few.out);
    }
    let two = narrows(&["layouts", "--bays", "6", "--bays", "8", "--drives", "12 TB"]);
    assert!(two.out.contains("6 bays, 12 TB hdd") && two.out.contains("8 bays, 12 TB hdd"));
}
