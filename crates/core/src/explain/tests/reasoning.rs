//! How numbers are reasoned about, on the example and on one desk.

use super::super::{
    Amount, Exactness, Explanation, LeftOut, Meaning, Observations, RateReading, RateUnit, Reading,
    Remark, Verdict, What, explain,
};
use crate::catalogue::Catalogue;
use crate::quantity::{LinkRate, megabytes_per_second, milliseconds};
use crate::site::read;
use crate::work::Direction;

pub(in crate::explain) fn lane() -> &'static str {
    let found = narrows_data::SITES
        .iter()
        .find(|(name, _)| *name == "granary-lane");
    found.unwrap().1
}

/// A desk on a link of 1 Gb/s.
pub(super) const ONE_DESK: &str = r#"
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

pub(super) fn told(site: &str, readings: Vec<Reading>) -> Observations {
    let catalogue = Catalogue::embedded().unwrap();
    Observations {
        sites: vec![(read(site, &[], &catalogue).unwrap(), 1.0)],
        path_told: true,
        array_told: true,
        readings,
        draws: 1024,
        ..Observations::default()
    }
}

fn reading(what: What, direction: Option<Direction>, amount: Amount) -> Reading {
    Reading {
        text: what.word().to_owned(),
        desk: None,
        what,
        direction,
        amount,
        size: None,
        streams: 1,
        again: false,
        random: None,
    }
}

fn rate(what: What, direction: Direction, megabytes: f64) -> Reading {
    let rate = RateReading::plain(megabytes_per_second(megabytes));
    reading(what, Some(direction), Amount::Rate(rate))
}

pub(in crate::explain) fn copy(desk: &str, direction: Direction, megabytes: f64) -> Reading {
    Reading {
        desk: Some(desk.to_owned()),
        ..rate(What::Copy, direction, megabytes)
    }
}

/// What a port on the way of a desk shows.
pub(in crate::explain) fn link_at(desk: &str, megabits: u64) -> Reading {
    let amount = Amount::Link(LinkRate::from_megabits(megabits));
    Reading {
        desk: Some(desk.to_owned()),
        ..reading(What::LinkRate, None, amount)
    }
}

fn explained(told: &Observations) -> Explanation {
    explain(told, &Catalogue::embedded().unwrap()).unwrap()
}

fn of(found: &Explanation, family: &str) -> f64 {
    let found = found.families.iter().find(|f| f.family == family);
    found.map_or(0.0, |f| f.probability)
}

fn ruled_out(found: &Explanation, id: &str) -> bool {
    found.ruled_out.iter().any(|r| r.id == id)
}

#[test]
fn what_the_link_carries_is_normal() {
    let found = explained(&told(
        ONE_DESK,
        vec![rate(What::Copy, Direction::Read, 112.0)],
    ));
    assert_eq!(found.verdict, Verdict::Normal);
    assert_eq!(found.causes[0].id, "limit-link");
    assert!(ruled_out(&found, "run-at-100"), "{:?}", found.ruled_out);
    assert!(found.why.starts_with("Nothing is wrong"), "{}", found.why);
    // lifted, the drives decide
    assert!(found.causes[0].once_fixed[0].rates[1] > megabytes_per_second(150.0));
}

#[test]
fn a_tenth_of_it_is_a_link_that_came_up_slow() {
    let readings = vec![
        rate(What::Copy, Direction::Read, 11.4),
        rate(What::Copy, Direction::Write, 11.3),
    ];
    let found = explained(&told(ONE_DESK, readings));
    assert_eq!(found.verdict, Verdict::Slow);
    assert_eq!(found.causes[0].id, "run-at-100", "{:?}", found.causes);
    // the longer and older cable is the likelier place
    assert_eq!(found.causes[0].place, "run.1");
    let fixed = found.causes[0].once_fixed[0].rates;
    assert!(fixed[1] > megabytes_per_second(105.0) && fixed[1] < megabytes_per_second(119.0));
}

#[test]
fn a_fast_wire_clears_the_cable() {
    let slow = rate(What::Copy, Direction::Read, 55.0);
    let alone = explained(&told(ONE_DESK, vec![slow.clone()]));
    assert!(
        of(&alone, "loss-or-step-down") > 0.02,
        "{:?}",
        alone.families
    );
    let wire = rate(What::RawTcp, Direction::Read, 117.0);
    let both = explained(&told(ONE_DESK, vec![slow, wire]));
    assert!(ruled_out(&both, "half-duplex"), "{:?}", both.ruled_out);
    // a cable that loses next to nothing leaves both numbers as they are, and so explains neither
    assert!(of(&both, "loss-or-step-down") < 0.01);
    assert!(of(&both, "client-software") > of(&alone, "client-software"));
}

#[test]
fn none_of_these_grows_where_nothing_fits() {
    let wire = rate(What::RawTcp, Direction::Read, 117.0);
    let fits = explained(&told(
        ONE_DESK,
        vec![rate(What::Copy, Direction::Read, 110.0), wire.clone()],
    ));
    // a tenth of a percent of what is expected, with a wire in order
    let odd = explained(&told(
        ONE_DESK,
        vec![rate(What::Copy, Direction::Read, 0.06), wire],
    ));
    assert!(fits.none_of_these < 0.03, "{}", fits.none_of_these);
    assert!(odd.none_of_these > 0.3, "{}", odd.none_of_these);
    assert_eq!(odd.verdict, Verdict::Slow);
}

#[test]
fn more_than_the_wire_is_memory() {
    let found = explained(&told(
        ONE_DESK,
        vec![rate(What::Copy, Direction::Read, 900.0)],
    ));
    assert_eq!(found.verdict, Verdict::TooFast);
    assert_eq!(found.causes[0].family, "cache-effect");
}

#[test]
fn megabits_that_were_called_megabytes_are_recognised() {
    let of = |unit, factor: f64, weight, slip| Meaning {
        unit,
        low: megabytes_per_second(900.0 * factor),
        middle: megabytes_per_second(900.0 * factor),
        high: megabytes_per_second(900.0 * factor),
        weight,
        slip,
    };
    let amount = Amount::Rate(RateReading {
        meanings: vec![
            of(RateUnit::Megabytes, 1.0, 0.6, false),
            of(RateUnit::Megabits, 0.125, 0.4, true),
        ],
        exactness: Exactness::Point,
    });
    let found = explained(&told(
        ONE_DESK,
        vec![reading(What::Copy, Some(Direction::Read), amount)],
    ));
    assert_eq!(found.causes[0].id, "unit-mistaken", "{:?}", found.causes);
}

#[test]
fn a_port_that_shows_the_slow_rate_settles_it() {
    let slow = rate(What::Copy, Direction::Read, 11.0);
    let alone = explained(&told(ONE_DESK, vec![slow.clone()]));
    let shown = |megabits| {
        reading(
            What::LinkRate,
            None,
            Amount::Link(LinkRate::from_megabits(megabits)),
        )
    };
    let seen = explained(&told(ONE_DESK, vec![slow.clone(), shown(100)]));
    let cleared = explained(&told(ONE_DESK, vec![slow, shown(1000)]));
    assert!(of(&seen, "slow-hop") > 0.9 && of(&seen, "slow-hop") > of(&alone, "slow-hop"));
    assert!(of(&cleared, "slow-hop") < of(&alone, "slow-hop") / 2.0);
}

#[test]
fn a_long_way_makes_the_window_the_likelier_cause() {
    let slow = rate(What::Copy, Direction::Read, 6.0);
    let near = explained(&told(ONE_DESK, vec![slow.clone()]));
    let ping = reading(What::Ping, None, Amount::Time(milliseconds(40.0)));
    let far = explained(&told(ONE_DESK, vec![slow, ping]));
    assert!(
        of(&far, "latency-window") > 3.0 * of(&near, "latency-window"),
        "{:?}",
        far.families
    );
}

#[test]
fn a_remark_moves_the_answer_its_way() {
    let slow = vec![rate(What::Copy, Direction::Read, 55.0)];
    let mut told = told(ONE_DESK, slow);
    let before = explained(&told);
    told.remarks.push(Remark {
        text: "another computer gets 110".to_owned(),
        id: "other-computer-better".to_owned(),
        desk: None,
        rate: None,
        size: None,
        time: None,
    });
    let after = explained(&told);
    assert!(of(&after, "client-software") > of(&before, "client-software"));
    assert!(of(&after, "array-state") < of(&before, "array-state"));
}

#[test]
fn the_first_test_of_a_slow_copy_parts_wire_and_drives() {
    let found = explained(&told(
        ONE_DESK,
        vec![rate(What::Copy, Direction::Read, 55.0)],
    ));
    let first = &found.next_tests[0];
    assert!(
        first.id.starts_with("raw-tcp") || first.id == "core-busy",
        "{first:?}"
    );
    assert!(
        first.gain_bits > 0.3 && first.outcomes.len() > 1,
        "{first:?}"
    );
    assert!(found.next_tests.len() == 2);
    let gain = |at: usize| found.next_tests[at].gain_bits / found.next_tests[at].minutes;
    assert!(gain(0) >= gain(1));
}

#[test]
fn probabilities_add_up_and_repeat() {
    let told = told(
        lane(),
        vec![
            copy("cut-1", Direction::Read, 95.0),
            copy("cut-1", Direction::Write, 60.0),
        ],
    );
    let (a, b) = (explained(&told), explained(&told));
    let sum: f64 = a.families.iter().map(|f| f.probability).sum();
    assert!((sum - 1.0).abs() < 1e-9, "{sum}");
    for (x, y) in a.families.iter().zip(&b.families) {
        assert!(x.family == y.family && x.probability.to_bits() == y.probability.to_bits());
    }
}

#[test]
fn nothing_told_gives_no_causes() {
    let found = explained(&Observations::default());
    assert!(found.causes.is_empty() && found.verdict == Verdict::Unclear);
    let found = explained(&told(ONE_DESK, Vec::new()));
    assert_eq!(found.verdict, Verdict::Unclear, "{}", found.in_words);
}

#[test]
fn a_desk_that_is_not_there_is_explained_without_numbers() {
    let found = explained(&told(ONE_DESK, vec![copy("attic", Direction::Read, 95.0)]));
    assert!(found.readings[0].expected.is_empty());
    assert_eq!(found.readings[0].left_out, Some(LeftOut::NoDesk));
    assert!(
        found.in_words.contains("no such desk"),
        "{}",
        found.in_words
    );
}

#[test]
fn a_direction_that_is_not_told_is_shown_both_ways() {
    let both = Reading {
        direction: None,
        ..rate(What::Copy, Direction::Read, 112.0)
    };
    let found = explained(&told(ONE_DESK, vec![both]));
    let ways: Vec<Direction> = found.readings[0]
        .expected
        .iter()
        .map(|w| w.direction)
        .collect();
    assert_eq!(ways, Direction::BOTH);
    assert_eq!(found.causes[0].once_fixed.len(), 2);
    let told = explained(&told(
        ONE_DESK,
        vec![rate(What::Copy, Direction::Write, 112.0)],
    ));
    // each as if it had been told
    assert_eq!(told.readings[0].expected, found.readings[0].expected[1..]);
}

#[test]
fn two_faults_are_both_named() {
    // the wire shows a link at a tenth of its rate, and the copy is slower still
    let told = told(
        lane(),
        vec![
            copy("cut-1", Direction::Read, 40.0),
            Reading {
                desk: Some("cut-1".to_owned()),
                ..rate(What::RawTcp, Direction::Read, 117.0)
            },
        ],
    );
    let found = explained(&told);
    assert!(of(&found, "slow-hop") > 0.3, "{:?}", found.families);
    let first = &found.causes[0];
    assert!(first.together_with.is_some(), "{first:?}");
}
