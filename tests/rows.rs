//! Rows of the catalogue are there to be used: none that nothing reads.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_core::catalogue::Catalogue;
use std::path::Path;

/// Every text in quotes outside tests, in all that is no test.
fn texts(folder: &Path, found: &mut Vec<String>) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            let name = path.file_name().and_then(|n| n.to_str());
            if !matches!(name, Some("tests" | "target" | "benches" | "examples")) {
                texts(&path, found);
            }
        } else if path.extension().is_some_and(|e| e == "rs") {
            let text = std::fs::read_to_string(&path).expect("a source");
            let code = text.split("#[cfg(test)]\nmod tests {").next();
            in_quotes(code.unwrap_or_default(), found);
        }
    }
}

fn in_quotes(code: &str, found: &mut Vec<String>) {
    for line in code.lines().filter(|l| !l.trim_start().starts_with("//")) {
        // quotes inside quotes only cut a text that is no id short
        found.extend(line.split('"').skip(1).step_by(2).map(str::to_owned));
    }
}

/// A text with places that are filled in, as what stands between them.
fn pattern(text: &str) -> Option<Vec<String>> {
    let mut parts = Vec::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        parts.push(before.to_owned());
        rest = after.split_once('}')?.1;
    }
    parts.push(rest.to_owned());
    let plain = |part: &String| {
        part.chars()
            .all(|c| c.is_ascii_alphanumeric() || ".-@ ".contains(c))
    };
    // an id begins with a word of its own
    let begins = parts.first().is_some_and(|p| p.contains('.'));
    (parts.len() > 1 && begins && parts.iter().all(plain)).then_some(parts)
}

fn fits(parts: &[String], id: &str) -> bool {
    let Some((first, rest)) = parts.split_first() else {
        return id.is_empty();
    };
    let Some(mut left) = id.strip_prefix(first.as_str()) else {
        return false;
    };
    for (at, part) in rest.iter().enumerate() {
        let last = at + 1 == rest.len();
        let found = if part.is_empty() && last {
            (!left.is_empty()).then_some(left.len())
        } else {
            // what is filled in is at least a letter
            left.char_indices().skip(1).map(|(i, _)| i).find(|&i| {
                left[i..].starts_with(part.as_str()) && (!last || left.len() == i + part.len())
            })
        };
        let Some(found) = found else { return false };
        left = left.get(found + part.len()..).unwrap_or_default();
    }
    true
}

/// Whether something outside tests names a row: as it stands, or with parts filled in. A row under one
/// word and a part (`copper.{name}`) counts only where that part is named somewhere too.
fn is_read(id: &str, texts: &[String], patterns: &[Vec<String>]) -> bool {
    let named = |name: &str| texts.iter().any(|text| text == name);
    let fits = |parts: &Vec<String>| {
        let rest = parts
            .first()
            .and_then(|first| id.strip_prefix(first.as_str()));
        let whole = parts.len() == 2 && parts[1].is_empty();
        fits(parts, id) && (!whole || rest.is_some_and(|rest| named(rest) || !rest.contains('.')))
    };
    named(id) || patterns.iter().any(fits)
}

/// Constants that stand in code, which tests hold to these rows.
const HELD_BY_TESTS: [&str; 10] = [
    "copper.temperature",
    "copper.neighbours",
    "copper.connections",
    "cable.holds",
    "room.few-streams",
    "array.chunk",
    "array.record",
    "array.fill.rewriting",
    "array.fill.copying",
    "array.btrfs-trees",
];

/// Groups of rows whose names are put together in two steps, by grade and optic or by class.
const BY_GROUP: [&str; 2] = ["fibre.", "powering."];

#[test]
fn every_row_is_read_by_something() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("../crates");
    let mut all = Vec::new();
    texts(&crates, &mut all);
    let patterns: Vec<Vec<String>> = all.iter().filter_map(|text| pattern(text)).collect();
    let catalogue = Catalogue::embedded().expect("the catalogue");
    let unread: Vec<&str> = catalogue
        .numbers()
        .map(|row| row.id.as_str())
        .filter(|id| !HELD_BY_TESTS.contains(id))
        .filter(|id| !BY_GROUP.iter().any(|group| id.starts_with(group)))
        // rows at some capacities or speeds only
        .filter(|id| {
            let whole = id.split('@').next().unwrap_or(id);
            !is_read(id, &all, &patterns) && !is_read(whole, &all, &patterns)
        })
        .collect();
    assert!(unread.is_empty(), "nothing reads {}", unread.join(", "));
}

#[test]
fn a_row_that_nothing_names_is_found() {
    let texts: Vec<String> = [
        "cpu.{word}.{what}",
        "tcp.window",
        "copper.{name}",
        "reach.beyond",
    ]
    .map(str::to_owned)
    .to_vec();
    let patterns: Vec<Vec<String>> = texts.iter().filter_map(|text| pattern(text)).collect();
    let read = |id: &str| is_read(id, &texts, &patterns);
    assert!(read("cpu.small.stack") && read("tcp.window") && read("copper.reach.beyond"));
    assert!(!read("copper.reach.most") && !read("array.read-ahead") && !read("cpu.small"));
}

/// Whether a name with `*` for anything is that of a row.
fn is_named(name: &str, id: &str) -> bool {
    match name.split_once('*') {
        None => name == id,
        Some((before, after)) => id
            .strip_prefix(before)
            .is_some_and(|rest| (0..=rest.len()).any(|at| is_named(after, &rest[at..]))),
    }
}

#[test]
fn names_of_rows_are_whole() {
    assert!(is_named("drive.*.outer-rate", "drive.hdd-7200.outer-rate"));
    assert!(is_named(
        "copper.installed.*",
        "copper.installed.loss-scale"
    ));
    for wrong in ["outer-rate", "drive.*.rate", "drive.hdd-7200"] {
        assert!(!is_named(wrong, "drive.hdd-7200.outer-rate"), "{wrong}");
    }
}

/// The document on judgement counts rows as they are, and names rows that are there.
#[test]
fn the_document_on_judgement_counts_right() {
    let mut counted = [0_usize; 5];
    for entry in std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("../data")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "csv") {
            continue;
        }
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .from_path(&path)
            .unwrap();
        let heads = reader.headers().unwrap().clone();
        let Some(source) = heads.iter().position(|head| head == "source") else {
            continue;
        };
        for row in reader.records() {
            let row = row.unwrap();
            let source = row.get(source).unwrap_or_default().to_lowercase();
            let judged = source.contains("judgement");
            counted[0] += 1;
            counted[1] += usize::from(judged);
            counted[2] += usize::from(source.contains("memory"));
            counted[3] += usize::from(judged && name == "evidence");
            counted[4] += usize::from(judged && name == "units");
        }
    }
    let root = narrows_tests::root();
    let text = std::fs::read_to_string(root.join("docs/judgements.md")).unwrap();
    let first = text.split("## ").next().unwrap();
    let numbers = first
        .split(|c: char| !c.is_ascii_digit() && c != ',')
        .map(|word| word.trim_matches(',').replace(',', ""))
        .filter_map(|word| word.parse::<usize>().ok());
    assert_eq!(numbers.collect::<Vec<_>>(), counted, "docs/judgements.md");
    let catalogue = Catalogue::embedded().unwrap();
    let known = |name: &str| {
        let numbers = catalogue.numbers().map(|row| row.id.as_str());
        let weights = catalogue.weights().iter().map(|row| row.id.as_str());
        numbers.chain(weights).any(|id| {
            // rows at some capacities or speeds go by one name
            is_named(name, id.split('@').next().unwrap_or(id))
        })
    };
    let cells = text.lines().filter(|line| line.starts_with("| ")).skip(2);
    for line in cells {
        let rows = line.split('|').nth(3).unwrap_or_default();
        for id in rows.split('`').skip(1).step_by(2) {
            assert!(known(id), "{id}");
        }
    }
}
