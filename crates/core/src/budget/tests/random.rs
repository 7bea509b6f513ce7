//! Pieces at random places, and small files several at once.

use super::*;
use crate::quantity::units::operation_rate::operation_per_second;
use crate::quantity::{Information, parse};
use crate::work::Files;

/// Between the digits of a published figure and a fill of 99 %.
const PRINTED: f64 = 0.01;

/// Medians of the same draws on both sides.
const EXACT: f64 = 1e-9;

/// Drives of one and of several reach another share of what their class says; 4 KiB are .2 % of a piece's time.
const TRANSFER: f64 = 2e-3;

fn of_pieces(site: &Site, size: &str, activity: Activity) -> Answer {
    of(
        site,
        Work {
            random: Some(parse::<Information>(size).unwrap()),
            ..Work::plain(activity)
        },
    )
}

fn of(site: &Site, work: Work) -> Answer {
    let catalogue = Catalogue::embedded().unwrap();
    let question = Question {
        work,
        desk: None,
        working: false,
        need: None,
    };
    answer(site, &question, &catalogue, &mut Draws::new(2048)).unwrap()
}

fn of_direction(answer: &Answer, direction: Direction) -> &Flow {
    let found = answer.flows.iter().find(|f| f.direction == direction);
    found.unwrap()
}

fn ceiling(answer: &Answer, direction: Direction, hop: &str) -> f64 {
    let flow = of_direction(answer, direction);
    in_megabytes_per_second(flow.hop(hop).unwrap().ceiling_megabytes_per_s.p50)
}

/// One spinning drive, nearly full, behind 10 Gb/s.
fn one_drive(edits: &[&str]) -> Site {
    let text = chain(TEN, TEN, TEN, "1 x 10 TB hdd-7200").replace("raid6", "single");
    let mut all = vec!["array.vault.fill=\"99 %\"", "desk.cut-1.requests=1"];
    all.extend(edits);
    site_with(&text, &all)
}

#[test]
fn validate_pieces_of_one_drive() {
    // 7200 turns a minute and 8.5 ms: 78.3 a second one at a time; in its own order of 32 twice as many
    let rate = |site: &Site| {
        let answer = of_pieces(site, "4096 B", Activity::Play);
        ceiling(&answer, Direction::Read, "array.vault") * 1e6 / 4096.0
    };
    let one = rate(&one_drive(&[]));
    assert!((one / 78.3 - 1.0).abs() < PRINTED, "{one}");
    let many = rate(&one_drive(&["desk.cut-1.requests=32"]));
    assert!((many / 156.6 - 1.0).abs() < PRINTED, "{many}");
}

#[test]
fn verify_pieces_of_an_array_are_those_of_its_layout() {
    // reads of eight drives are eight drives' worth, writes under two parities 8 / 6 (as many under way a drive)
    let of_level = |layout: &str, drives: &str, requests: u32| {
        let text = chain(TEN, TEN, TEN, drives).replace("raid6", layout);
        let requests = format!("desk.cut-1.requests={requests}");
        let site = site_with(&text, &["array.vault.fill=\"60 %\"", &requests]);
        let answer = of_pieces(&site, "4096 B", Activity::Play);
        Direction::BOTH.map(|direction| ceiling(&answer, direction, "array.vault"))
    };
    let [read, write] = of_level("single", "1 x 10 TB hdd-7200", 32);
    for (layout, reads, writes) in [("raid6", 8.0, 8.0 / 6.0), ("raid10", 8.0, 4.0)] {
        let [r, w] = of_level(layout, "8 x 10 TB hdd-7200", 256);
        assert!(
            (r / read - reads).abs() < TRANSFER * reads,
            "{layout} {}",
            r / read
        );
        assert!(
            (w / write - writes).abs() < TRANSFER * writes,
            "{layout} {}",
            w / write
        );
    }
}

#[test]
fn verify_who_waits_for_each_piece_gets_one_drives_worth() {
    let text = chain(TEN, TEN, TEN, "8 x 10 TB hdd-7200");
    let rate = |requests: u32| {
        let requests = format!("desk.cut-1.requests={requests}");
        let site = site_with(&text, &["array.vault.fill=\"60 %\"", &requests]);
        let answer = of_pieces(&site, "16 KiB", Activity::Play);
        let read = of_direction(&answer, Direction::Read);
        read.requests_per_s
            .unwrap()
            .p50
            .get::<operation_per_second>()
    };
    let (one, eight, many) = (rate(1), rate(8), rate(2000));
    assert!((60.0..110.0).contains(&one), "{one}");
    assert!((eight / one - 8.0).abs() < 0.2, "{}", eight / one);
    // all drives, in their own order: no more than that
    assert!(many / one > 12.0 && many / one < 24.0, "{}", many / one);
    // a program on the machine itself waits for the drives all the same
    let site = site_with(&text, &["array.vault.fill=\"60 %\""]);
    let answer = of_pieces(&site, "16 KiB", Activity::AtTheArray);
    let read = of_direction(&answer, Direction::Read);
    assert!(read.hop("array.vault.requests").is_some());
    assert!(
        read.megabytes_per_s.p50 < read.hop("array.vault").unwrap().ceiling_megabytes_per_s.p95
    );
}

#[test]
fn more_under_way_is_never_slower_and_larger_pieces_carry_more() {
    for drives in [
        "6 x 10 TB hdd-7200",
        "6 x 4 TB ssd-sata",
        "4 x 4 TB nvme-gen3",
    ] {
        let text = chain(TEN, TEN, TEN, drives);
        let mut before = [0.0; 2];
        for requests in [1, 2, 8, 64, 1000] {
            let requests = format!("desk.cut-1.requests={requests}");
            let answer = of_pieces(&site_with(&text, &[&requests]), "16 KiB", Activity::Play);
            let now = Direction::BOTH.map(|d| range(of_direction(&answer, d)).1);
            assert!(
                now[0] >= before[0] && now[1] >= before[1],
                "{drives} {requests}"
            );
            before = now;
        }
        let rate = |size: &str| {
            let answer = of_pieces(&site_with(&text, &[]), size, Activity::Play);
            let read = of_direction(&answer, Direction::Read);
            let pieces = read.requests_per_s.unwrap().p50;
            (range(read).1, pieces.get::<operation_per_second>())
        };
        let (small, large) = (rate("4 KiB"), rate("64 KiB"));
        assert!(large.0 > small.0 && large.1 <= small.1, "{drives}");
    }
}

#[test]
fn verify_files_at_once_share_their_waits() {
    let text = chain(TEN, TEN, TEN, SIX);
    let files = Work {
        files: Some(Files::parse("1000 x 100 kB").unwrap()),
        ..Work::plain(Activity::Copy)
    };
    for direction in Direction::BOTH {
        let waits = |edits: &[&str]| {
            let answer = of(&site_with(&text, edits), files);
            ["nas.store.files", "nas.store.start"].map(|hop| ceiling(&answer, direction, hop))
        };
        let (one, four) = (waits(&[]), waits(&["desk.cut-1.files-at-once=4"]));
        for (one, four) in one.into_iter().zip(four) {
            assert!((four / one - 4.0).abs() < EXACT, "{}", four / one);
        }
    }
}
