//! What is expected of a reading is what a budget says of one stream, and what everybody at once gets
//! of several.

use super::super::observed::Observed;
use super::super::predicted::Changes;
use super::super::reading::{Reading, What};
use super::super::scenarios::Scenarios;
use super::reasoning::{copy, told};
use crate::budget;
use crate::catalogue::Catalogue;
use crate::quantity::Measure;
use crate::site::{Site, read, read_bytes_with_tasks};
use crate::spread::Draws;
use crate::together;
use crate::work::{Activity, Direction, Work};
use std::fmt::Write;

/// Few draws, so that the tests are quick.
const DRAWS: usize = 128;

/// Filling keeps the rounding of its sums beside them, and equal shares are one division.
const FILLING: f64 = 1e-12;

const SIX_DRIVES: &str = r#"
[array.vault]
nas = "store"
layout = "raid6"
drives = "6 x 10 TB hdd-7200"
[nas.store]
cpu = "medium, 4 cores"
service = "smb"
port.a = { rate = "10 Gb/s" }
[desk.cut-1]
disk = "nvme-gen3"
port.a = { rate = "10 Gb/s" }
[[run]]
from = "desk.cut-1"
to = "nas.store"
cable = "cat6a"
length = "20 m"
"#;

fn reading(what: What, desk: &str, direction: Direction, streams: u32) -> Reading {
    Reading {
        what,
        streams,
        ..copy(desk, direction, 100.0)
    }
}

/// What is expected of a reading, one number a draw in bytes a second.
fn expected(site: &str, reading: Reading) -> Vec<f64> {
    let catalogue = Catalogue::embedded().unwrap();
    let told = told(site, vec![reading]);
    let mut scenarios = Scenarios::new(&told, &catalogue, DRAWS).unwrap();
    let observed = Observed::all(&told);
    let ask = &observed[0].asks[0].0;
    let predicted = scenarios.predict(ask).unwrap().unwrap();
    // the parts that causes change, put together again with none of them changed
    let not = Changes::none();
    let rates: Vec<f64> = (0..DRAWS).map(|d| predicted.rate(&not, d)).collect();
    assert_eq!(rates, predicted.healthy, "{ask:?}");
    rates
}

fn of_budget(site: &Site, desk: &str, activity: Activity, direction: Direction) -> Vec<f64> {
    let question = budget::Question {
        work: Work::plain(activity),
        desk: (activity != Activity::AtTheArray).then(|| desk.to_owned()),
        working: false,
        need: None,
    };
    let catalogue = Catalogue::embedded().unwrap();
    let answer = budget::answer(site, &question, &catalogue, &mut Draws::new(DRAWS)).unwrap();
    let flow = answer.flows.into_iter().find(|f| f.direction == direction);
    flow.unwrap().rates
}

/// The sum of what so many copies of one desk get at once.
fn of_together(site: &str, desk: &str, direction: Direction, streams: u32) -> Vec<f64> {
    let catalogue = Catalogue::embedded().unwrap();
    let mut tasks = String::new();
    for _ in 0..streams {
        let _ = writeln!(
            tasks,
            "[[task]]\ndesk = \"{desk}\"\ndoes = \"copy\"\ndirection = \"{}\"",
            direction.word()
        );
    }
    let site = read_bytes_with_tasks(site.as_bytes(), Some(tasks.as_bytes()), &[], &catalogue)
        .unwrap()
        .with_usual_clients();
    let question = together::Question {
        everyone: Activity::Copy,
        direction,
        need: None,
    };
    let mut draws = Draws::new(DRAWS);
    let network =
        together::Network::of(&site, &question, &catalogue, &mut draws, &mut Vec::new()).unwrap();
    let rates = network.shared();
    (0..DRAWS)
        .map(|d| rates.iter().map(|flow| flow[d].base()).sum())
        .collect()
}

#[test]
fn verify_one_stream_is_expected_to_be_what_a_budget_says() {
    let catalogue = Catalogue::embedded().unwrap();
    let asked = [
        (What::Copy, Activity::Copy),
        (What::RawTcp, Activity::Wire),
        (What::LocalArray, Activity::AtTheArray),
    ];
    for (name, text) in narrows_data::SITES {
        // desks that reach their files as most do, where nobody said how: what slows down without that
        // is a cause to look for, so that it is not in what is expected
        let site = read(text, &[], &catalogue).unwrap().with_usual_clients();
        for desk in &site.desks {
            for direction in Direction::BOTH {
                for (what, activity) in asked {
                    assert_eq!(
                        expected(text, reading(what, &desk.name, direction, 1)),
                        of_budget(&site, &desk.name, activity, direction),
                        "{name} {} {what:?} {direction:?}",
                        desk.name
                    );
                }
            }
        }
    }
}

#[test]
fn verify_several_streams_are_expected_to_be_what_everybody_at_once_gets() {
    let catalogue = Catalogue::embedded().unwrap();
    let joined = SIX_DRIVES.replace(
        "port.a = { rate = \"10 Gb/s\" }",
        "port.a = { rate = \"1 Gb/s\", members = 2 }",
    );
    let sites = narrows_data::SITES.iter().map(|(_, text)| *text);
    // each stream backs off by itself, and all of them have what arrives
    let lossy = SIX_DRIVES.replace("length = \"20 m\"", "length = \"20 m\"\nlost = \"0.01 %\"");
    for text in sites.chain([SIX_DRIVES, joined.as_str(), lossy.as_str()]) {
        let site = read(text, &[], &catalogue).unwrap();
        for desk in &site.desks {
            for direction in Direction::BOTH {
                for streams in [2, 4] {
                    let ours = expected(text, reading(What::Copy, &desk.name, direction, streams));
                    let theirs = of_together(text, &desk.name, direction, streams);
                    for (ours, theirs) in ours.iter().zip(&theirs) {
                        assert!(
                            (ours / theirs - 1.0).abs() < FILLING,
                            "{} {direction:?} {streams}: {ours} {theirs}",
                            desk.name
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn cores_of_the_nas_count_where_several_streams_share_them() {
    let middle = |cores: &str| {
        let site = SIX_DRIVES
            .replace("6 x 10 TB hdd-7200", "6 x 4 TB nvme-gen4")
            .replace("medium, 4 cores", cores);
        let reading = reading(What::Copy, "cut-1", Direction::Read, 8);
        crate::working::middle(&expected(&site, reading))
    };
    assert!(middle("tiny, 4 cores") > 1.5 * middle("tiny, 1 cores"));
}
