//! The page for the team: its numbers are those of the commands, its names stay text, its file costs no
//! other.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

mod files;
mod hostile;
mod markup;
mod numbers;
mod pictures;

use narrows_tests::narrows;

const SITE: &str = "data/sites/granary-lane.toml";
const WHOLE: &str = "data/sites/granary-lane-whole.toml";
const JACKS: &str = "data/jacks/closet.csv";
const TASKS: &str = "data/tasks/granary-lane.toml";
const DAY: &str = "data/jobs/granary-lane.csv";
const OFFERS: &str = "data/offers/granary-lane.toml";
const READINGS: &str = "data/readings/granary-lane.csv";

/// Everything that a page can be given, of the example.
const ALL: [&str; 11] = [
    SITE,
    "--jacks",
    JACKS,
    "--tasks",
    TASKS,
    "--day",
    DAY,
    "--offers",
    OFFERS,
    "--readings",
    READINGS,
];

/// The page that arguments make.
fn page(arguments: &[&str]) -> String {
    let ran = narrows(&[&["report"], arguments, &["-o", "-"]].concat());
    assert_eq!(ran.code, 0, "{arguments:?}: {}", ran.err);
    ran.out
}

/// A folder of its own, gone when it is dropped.
struct Folder(std::path::PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("narrows-page-{}-{name}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn path(&self, name: &str) -> String {
        self.0.join(name).to_str().unwrap().to_owned()
    }

    fn file(&self, name: &str, text: &str) -> String {
        let path = self.path(name);
        std::fs::write(&path, text).unwrap();
        path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

#[test]
fn parts_that_nothing_was_given_for_are_left_out() {
    let all = page(&ALL);
    let plain = page(&[SITE]);
    for part in ["reading", "buy", "labels", "day"] {
        let mark = format!("<section id=\"{part}\"");
        assert!(all.contains(&mark), "{part} is missing");
        assert!(!plain.contains(&mark), "{part} is invented");
    }
    let order = [
        "place",
        "desks",
        "together",
        "cables",
        "space",
        "reading",
        "buy",
        "patching",
        "labels",
        "tracing",
        "afterwards",
        "day",
        "assumed",
        "cautions",
        "commands",
    ];
    let found: Vec<usize> = order
        .iter()
        .map(|part| {
            all.find(&format!("<section id=\"{part}\""))
                .or_else(|| all.find(&format!("id=\"{part}\"")))
                .unwrap()
        })
        .collect();
    assert!(found.is_sorted(), "{found:?}");
    assert!(all.contains("An array is not a backup"));
    let whole = page(&[WHOLE]);
    let kept = [
        "cables", "air", "space", "growth", "copies", "outage", "assumed",
    ];
    let found: Vec<usize> = kept
        .iter()
        .map(|part| whole.find(&format!("<section id=\"{part}\"")).unwrap())
        .collect();
    assert!(found.is_sorted(), "{found:?}");
    for part in ["air", "growth", "copies", "outage"] {
        assert!(!all.contains(&format!("<section id=\"{part}\"")), "{part}");
    }
    assert!(whole.contains("stays outside, for its exhaust"));
}

#[test]
fn the_page_is_small_and_asks_for_nothing() {
    for page in [
        page(&ALL),
        page(&[WHOLE]),
        page(&["data/sites/one-desk.toml"]),
    ] {
        assert!(page.len() < 1_000_000, "{} bytes", page.len());
        assert!(page.starts_with("<!DOCTYPE html>"));
        assert!(page.contains("Content-Security-Policy\" content=\"default-src 'none'"));
        for word in [
            "<script",
            "<img",
            "<link",
            "<iframe",
            "@import",
            "http://",
            "https://",
            "javascript:",
        ] {
            let body = page.replace("http://www.w3.org/2000/svg", "");
            assert!(!body.contains(word), "{word}");
        }
    }
}

#[test]
fn every_part_names_its_command_and_every_link_leads_somewhere() {
    let text = page(&ALL);
    for tag in markup::tags(&text).iter().filter(|tag| tag.name == "a") {
        let to = tag.value("href").unwrap();
        let id = to
            .strip_prefix('#')
            .unwrap_or_else(|| panic!("{to} leads away"));
        assert!(text.contains(&format!("id=\"{id}\"")), "{to} leads nowhere");
    }
    for command in [
        "budget", "together", "cable", "capacity", "layouts", "explain", "buy", "ports", "check",
    ] {
        assert!(
            text.contains(&format!("<code>narrows {command} {SITE}")),
            "{command}"
        );
    }
}

#[test]
fn the_first_lines_are_those_of_the_command() {
    let text = markup::visible(&page(&[SITE]));
    let said = narrows(&["budget", SITE]).out;
    let first: Vec<&str> = said.lines().take_while(|line| !line.is_empty()).collect();
    let joined = first.join(" ");
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words(&text).contains(&words(&joined)), "{joined}");
}
