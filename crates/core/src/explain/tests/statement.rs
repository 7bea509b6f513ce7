//! What is said first, and what goes before it.

use super::super::{Explanation, Observations, Reading, Remark, Verdict, What, explain};
use super::reasoning::{copy, lane, told};
use crate::budget;
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Measure, megabytes_per_second};
use crate::site::read;
use crate::spread::{Draws, USUAL_DRAWS};
use crate::work::{Activity, Direction, Work};
use crate::working::percentiles;

fn explained(told: &Observations) -> Explanation {
    explain(told, &Catalogue::embedded().unwrap()).unwrap()
}

fn remark(id: &str, rate: Option<f64>) -> Remark {
    Remark {
        text: id.to_owned(),
        id: id.to_owned(),
        desk: None,
        rate: rate.map(|r| super::super::RateReading::plain(megabytes_per_second(r))),
        size: None,
        time: None,
    }
}

fn of(found: &Explanation, family: &str) -> f64 {
    let found = found.families.iter().find(|f| f.family == family);
    found.map_or(0.0, |f| f.probability)
}

fn cause(found: &Explanation, id: &str) -> f64 {
    let all = found.causes.iter().filter(|c| c.id == id);
    all.map(|c| c.probability).sum()
}

#[test]
fn verify_what_is_expected_is_the_budget() {
    let catalogue = Catalogue::embedded().unwrap();
    for (name, text) in narrows_data::SITES {
        let site = read(text, &[], &catalogue).unwrap();
        let question = budget::Question {
            work: Work::plain(Activity::Copy),
            desk: None,
            working: false,
            need: None,
        };
        let mut draws = Draws::new(USUAL_DRAWS);
        let budget = budget::answer(&site, &question, &catalogue, &mut draws).unwrap();
        for desk in &site.desks {
            let readings = Direction::BOTH.map(|way| copy(&desk.name, way, 50.0));
            let found = explained(&told(text, readings.to_vec()));
            for (reading, way) in found.readings.iter().zip(Direction::BOTH) {
                let flow = budget
                    .flows
                    .iter()
                    .find(|f| f.desk == desk.name && f.direction == way);
                let p = percentiles::<DataRate>(&flow.unwrap().rates);
                assert_eq!(
                    reading.expected[0].rates,
                    [p.p05, p.p50, p.p95],
                    "{name} {} {way:?}",
                    desk.name
                );
            }
        }
    }
}

#[test]
fn what_may_be_several_places_is_expected_by_their_weights() {
    let slow = lane().replace("rate = \"1 Gb/s\"", "rate = \"100 Mb/s\"");
    let catalogue = Catalogue::embedded().unwrap();
    let mut told = told(lane(), vec![copy("colour", Direction::Read, 50.0)]);
    told.sites = vec![
        (read(lane(), &[], &catalogue).unwrap(), 0.97),
        (read(&slow, &[], &catalogue).unwrap(), 0.03),
    ];
    let [low, middle, _] = explained(&told).readings[0].expected[0].rates;
    // three places in a hundred are slow ones: not even one in twenty gives as little as they do
    assert!(low > megabytes_per_second(15.0) && middle > megabytes_per_second(100.0));
}

#[test]
fn a_drive_in_trouble_comes_before_every_number() {
    let mut told = told(lane(), vec![copy("cut-1", Direction::Read, 400.0)]);
    assert!(explained(&told).before_all.is_empty());
    for id in [
        "drive-reports-errors",
        "array-alarm",
        "after-power-cut",
        "rebuild-running",
    ] {
        told.remarks = vec![remark(id, None)];
        let found = explained(&told).before_all;
        assert!(found[0].contains("second copy"), "{id}: {found:?}");
        assert!(found[1].starts_with("Until then"), "{id}: {found:?}");
        // raid6 that lacks a drive bears one more
        assert!(
            found[2].contains("one more drive may fail"),
            "{id}: {found:?}"
        );
    }
    // told in the site, without a remark
    let lacks = lane().replace("[array.vault]", "[array.vault]\nfailed = 1");
    told = super::reasoning::told(&lacks, vec![copy("cut-1", Direction::Read, 400.0)]);
    assert!(explained(&told).before_all[0].starts_with("Vault lacks a drive"));
}

#[test]
fn a_better_figure_from_before_speaks_for_a_change() {
    let site = ONE_GIGABIT;
    let slow = copy("cut-1", Direction::Read, 40.0);
    let mut told = told(site, vec![slow]);
    let never = explained(&told);
    told.remarks = vec![remark("better-before", Some(112.0))];
    let since = explained(&told);
    assert!(
        of(&since, "unit-slip") < of(&never, "unit-slip"),
        "{since:?}"
    );
    assert!(
        of(&since, "wire-limit") + of(&since, "array-media")
            < of(&never, "wire-limit") + of(&never, "array-media")
    );
    assert_eq!(since.verdict, Verdict::Slow);
    // the same reading and a figure that the site cannot give either way say no more than the remark
    told.remarks = vec![remark("better-before", None)];
    let plain = explained(&told);
    assert!(of(&since, "slot-or-adapter") >= 0.9 * of(&plain, "slot-or-adapter"));
}

#[test]
fn a_figure_from_before_says_which_place_this_can_be() {
    // the drives of the example read 113 to 993: who read 900 here before has fast ones
    let mut told = told(lane(), vec![copy("cut-1", Direction::Read, 250.0)]);
    let never = explained(&told);
    told.remarks = vec![remark("better-before", Some(900.0))];
    let since = explained(&told);
    let healthy = |found: &Explanation| -> f64 {
        let all = found.causes.iter().filter(|c| c.id.starts_with("limit-"));
        all.map(|c| c.probability).sum()
    };
    assert!(
        healthy(&since) < healthy(&never) / 4.0,
        "{} {}",
        healthy(&since),
        healthy(&never)
    );
}

#[test]
fn a_stated_full_duplex_rules_out_a_duplex_fault() {
    let slow = vec![
        copy("cut-1", Direction::Read, 3.0),
        copy("cut-1", Direction::Write, 9.0),
    ];
    let site = ONE_GIGABIT.replace("1 Gb/s", "100 Mb/s");
    let open = explained(&told(&site, slow.clone()));
    assert!(of(&open, "duplex") > 0.05, "{:?}", open.families);
    let full = site.replace("cable = ", "duplex = \"full\"\ncable = ");
    let stated = explained(&told(&full, slow));
    assert!(cause(&stated, "half-duplex") < 1e-9, "{:?}", stated.causes);
    assert!(cause(&stated, "duplex-mismatch") < 1e-9);
}

#[test]
fn the_desk_s_own_disk_is_expected_as_it_is_stated() {
    // a class of flash that reads 530 MB/s and writes 500 while its fast cache lasts
    let site = ONE_GIGABIT.replace("\"nvme-gen3\"", "\"ssd-sata-qlc\"");
    let of = |way| Reading {
        what: What::LocalDisk,
        ..copy("cut-1", way, 40.0)
    };
    let found = explained(&told(&site, Direction::BOTH.map(of).to_vec()));
    let middle = |at: usize| found.readings[at].expected[0].rates[1];
    let near = |at: usize, rate: f64| {
        (middle(at).base() / megabytes_per_second(rate).base() - 1.0).abs() < 0.03
    };
    assert!(
        near(0, 530.0) && near(1, 500.0),
        "{:?} {:?}",
        middle(0),
        middle(1)
    );
    // what fills is its cache, and that is written: the array is read then
    let tired = Reading {
        what: What::LocalDisk,
        ..copy("cut-1", Direction::Write, 180.0)
    };
    let found = explained(&told(&site, vec![tired]));
    assert!(
        cause(&found, "desk-flash-tired") > 0.05,
        "{:?}",
        found.causes
    );
}

#[test]
fn one_slow_drive_is_a_drive_and_not_a_joined_link() {
    let mut told = told(lane(), vec![copy("cut-1", Direction::Read, 60.0)]);
    let before = explained(&told);
    told.remarks = vec![remark("uneven-members", None)];
    let after = explained(&told);
    assert!(cause(&after, "bad-drive") > 5.0 * cause(&before, "bad-drive").max(0.01));
    assert!(of(&after, "bond-flow") < 0.01);
}

#[test]
fn others_on_a_link_are_a_cause() {
    let mut told = told(ONE_GIGABIT, vec![copy("cut-1", Direction::Read, 55.0)]);
    told.remarks = vec![remark("varies", None), remark("traffic-elsewhere", None)];
    let found = explained(&told);
    assert!(of(&found, "traffic") > 0.05, "{:?}", found.families);
}

#[test]
fn what_comes_from_memory_lifts_all_that_must_come_from_it() {
    // four drives read some 600; a copy over 10 Gb/s and a test at the array both show more
    let site = ONE_GIGABIT
        .replace("1 Gb/s", "10 Gb/s")
        .replace("6 x 10 TB", "4 x 4 TB");
    let local = Reading {
        what: What::LocalArray,
        ..copy("cut-1", Direction::Read, 1900.0)
    };
    let found = explained(&told(
        &site,
        vec![copy("cut-1", Direction::Read, 950.0), local],
    ));
    assert_eq!(found.causes[0].id, "from-memory", "{:?}", found.causes);
}

#[test]
fn losses_on_a_full_duplex_link_are_named_where_they_are_counted() {
    let site = ONE_GIGABIT.replace("cable = \"cat5e\"", "cable = \"cat5e\"\nduplex = \"full\"");
    let mut told = told(&site, vec![copy("cut-1", Direction::Read, 25.0)]);
    told.remarks = vec![remark("retransmissions", None)];
    let found = explained(&told);
    assert_eq!(
        found.families[0].family, "loss-or-step-down",
        "{:?}",
        found.families
    );
}

const ONE_GIGABIT: &str = r#"
[array.vault]
nas = "store"
layout = "raid6"
drives = "6 x 10 TB hdd-7200"
[nas.store]
cpu = "medium"
service = "smb"
signed = "plain"
encrypted = "no"
port.a = { rate = "1 Gb/s" }
[desk.cut-1]
disk = "nvme-gen3"
port.a = { rate = "1 Gb/s" }
[switch.attic]
port.any = { rate = "1 Gb/s", count = 4 }
[[run]]
from = "desk.cut-1"
to = "switch.attic"
cable = "cat5e"
length = "20 m"
[[run]]
from = "nas.store"
to = "switch.attic"
cable = "cat6"
length = "2 m"
"#;
