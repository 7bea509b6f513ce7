//! Readings of several desks: a cause is held where it can be, for the desks that pass there.

use super::super::{
    Amount, CauseFound, Exactness, Explanation, LeftOut, Meaning, Observations, RateReading,
    RateUnit, Reading, Remark, Verdict, What, explain,
};
use super::reasoning::{copy, lane, link_at, told};
use crate::catalogue::Catalogue;
use crate::quantity::{LinkRate, in_megabytes_per_second, megabytes_per_second};
use crate::site::Site;
use crate::work::Direction::{self, Read, Write};

fn explained(readings: Vec<Reading>) -> Explanation {
    of(&told(lane(), readings))
}

fn of(told: &Observations) -> Explanation {
    explain(told, &Catalogue::embedded().unwrap()).unwrap()
}

/// Probability of all causes that are told of at a place.
fn at(found: &Explanation, place: &str) -> f64 {
    let here = found.causes.iter().filter(|c| c.place == place);
    here.map(|c| c.probability).sum()
}

fn places(found: &Explanation) -> Vec<(&str, &str, f64)> {
    let shown = |c: &'_ CauseFound| c.probability;
    let all = found.causes.iter();
    all.map(|c| (c.id.as_str(), c.place.as_str(), shown(c)))
        .collect()
}

/// The desk that colour hangs on is slow, cut-1 on the same switch is as it should be.
fn one_slow_run() -> Vec<Reading> {
    vec![
        copy("cut-1", Read, 600.0),
        copy("colour", Read, 11.2),
        copy("colour", Write, 11.1),
    ]
}

#[test]
fn a_fault_on_one_run_is_named_there_and_nowhere_else() {
    let found = explained(one_slow_run());
    let first = &found.causes[0];
    assert_eq!(
        (first.id.as_str(), first.place.as_str()),
        ("run-at-100", "run.4")
    );
    assert!(
        first.words.contains("run 4 (colour to attic)"),
        "{}",
        first.words
    );
    assert_eq!(found.verdict, Verdict::Slow);
    // 600 MB/s over the trunk, the switch, the NAS and the array clear them, and cut-1's own run
    for clear in [
        "run.1",
        "run.2",
        "switch.attic",
        "nas.store",
        "array.vault",
        "desk.cut-1",
    ] {
        assert!(at(&found, clear) < 0.01, "{clear}: {:?}", places(&found));
    }
    // a second fault that changes no number is none
    let second = found.causes.iter().filter(|c| c.together_with.is_some());
    let second: f64 = second.map(|c| c.probability).sum();
    assert!(second < 0.02, "{second}: {:?}", places(&found));
    // what is said after it is of colour, whose link carries 118 MB/s at most
    let fixed = in_megabytes_per_second(first.once_fixed[0].rates[1]);
    assert!((100.0..118.7).contains(&fixed), "{fixed}");
    assert!(
        found.in_words.contains("what colour should read"),
        "{}",
        found.in_words
    );
    assert!(
        found.next_tests[0].place == "at colour",
        "{:?}",
        found.next_tests
    );
}

#[test]
fn what_another_computer_passes_faster_is_hardly_at_fault() {
    let slow = || told(lane(), vec![copy("colour", Read, 11.2)]);
    // nobody else was measured: the trunk may be it as well
    assert!(at(&of(&slow()), "run.1") > 0.1);
    let mut better = slow();
    better.remarks.push(remark(None, "other-computer-better"));
    let found = of(&better);
    assert_eq!(found.causes[0].place, "run.4");
    assert!(at(&found, "run.1") < 0.02, "{:?}", places(&found));
    // said of another desk's way, it says nothing of this one's
    better.remarks[0].desk = Some("sound".to_owned());
    assert!(at(&of(&better), "run.1") > 0.05);
}

#[test]
fn a_fault_at_a_shared_run_is_named_when_all_are_slow() {
    let slow = |desk| copy(desk, Read, 11.2);
    let found = explained(vec![slow("cut-1"), slow("cut-2"), slow("colour")]);
    let first = &found.causes[0];
    assert_eq!(
        (first.id.as_str(), first.place.as_str()),
        ("run-at-100", "run.1")
    );
    for own in ["run.2", "run.3", "run.4"] {
        assert!(at(&found, own) < 0.05, "{own}: {:?}", places(&found));
    }
}

#[test]
fn a_fault_behind_a_shared_place_is_no_desk_s_own() {
    let slow = |desk, way| copy(desk, way, 55.0);
    let found = explained(vec![
        slow("cut-1", Read),
        slow("cut-2", Read),
        slow("colour", Read),
        slow("cut-1", Write),
    ]);
    let own = |place: &str| {
        let is_of = |desk| place == format!("desk.{desk}") || place.contains(&format!("{desk} to"));
        ["cut-1", "cut-2", "colour"].into_iter().any(is_of)
            || ["run.2", "run.3", "run.4"].contains(&place)
    };
    let alone = found
        .causes
        .iter()
        .filter(|c| own(&c.place) && c.together_with.is_none());
    let alone: f64 = alone.map(|c| c.probability).sum();
    assert!(alone < 0.05, "{alone}: {:?}", places(&found));
    // frames that the trunk loses hold all desks to one rate as well
    let shared = ["array.vault", "nas.store", "run.1"];
    let shared: f64 = shared.into_iter().map(|place| at(&found, place)).sum();
    assert!(shared > 0.4, "{shared}: {:?}", places(&found));
}

#[test]
fn two_desks_each_with_a_fault_of_its_own_are_both_named() {
    // a tenth of colour's link; cut-2 as over a bus of 480 Mb/s; cut-1 clears what they share
    let mut readings = one_slow_run();
    readings.extend([copy("cut-2", Read, 36.0), copy("cut-2", Write, 36.5)]);
    let found = explained(readings);
    let first = &found.causes[0];
    let both = [
        first.place.as_str(),
        first.together_at.as_deref().unwrap_or(""),
    ];
    assert!(both.contains(&"run.4"), "{:?}", places(&found));
    assert!(
        ["desk.cut-2", "run.3"].iter().any(|p| both.contains(p)),
        "{both:?}"
    );
    assert!(first.words.contains(", and "), "{}", first.words);
    let pairs = found.causes.iter().filter(|c| c.together_with.is_some());
    let pairs: f64 = pairs.map(|c| c.probability).sum();
    assert!(pairs > 0.6, "{pairs}: {:?}", places(&found));
}

#[test]
fn the_same_cause_may_be_at_two_desks() {
    let mut readings = one_slow_run();
    readings.extend([copy("cut-2", Read, 11.3), copy("cut-2", Write, 11.2)]);
    let found = explained(readings);
    let first = &found.causes[0];
    assert_eq!(first.id, "run-at-100", "{:?}", places(&found));
    assert_eq!(first.together_with.as_deref(), Some("run-at-100"));
    let mut both = [first.place.as_str(), first.together_at.as_deref().unwrap()];
    both.sort_unstable();
    assert_eq!(both, ["run.3", "run.4"]);
}

#[test]
fn a_cable_that_came_up_slow_elsewhere_is_named_besides() {
    let mut readings = vec![copy("colour", Read, 11.2), copy("colour", Write, 11.1)];
    readings.extend([copy("cut-2", Read, 112.0), copy("cut-2", Write, 111.0)]);
    let found = explained(readings);
    let first = &found.causes[0];
    assert_eq!(
        (first.id.as_str(), first.place.as_str()),
        ("run-at-100", "run.4")
    );
    // the long run of unknown kind holds 10 Gb/s in three cases of four only
    assert!(first.words.contains("run 3"), "{}", first.words);
}

#[test]
fn something_that_limits_one_desk_is_not_hidden_by_another_that_is_well() {
    let found = explained(vec![
        copy("colour", Read, 112.0),
        copy("cut-2", Read, 112.0),
        copy("cut-2", Write, 111.0),
    ]);
    // one place in ten like this has a cable that falls back: possible, and named
    assert_eq!(found.verdict, Verdict::Normal, "{:?}", places(&found));
    assert_eq!(found.causes[0].place, "run.3", "{:?}", places(&found));
    assert!(found.why.contains("run 3"), "{}", found.why);
}

#[test]
fn property_a_desk_of_which_nothing_is_told_changes_nothing() {
    let readings = vec![copy("colour", Read, 40.0), copy("colour", Write, 80.0)];
    let cut = lane().find("[[run]]\nfrom   = \"desk.ingest\"").unwrap();
    let desk = "[desk.ingest]\ndisk   = \"nvme-gen3\"\nport.a = { rate = \"1 Gb/s\" }\n";
    let without = lane()[..cut].replace(desk, "");
    assert!(!without.contains("ingest"));
    let (with, without) = (explained(readings.clone()), of(&told(&without, readings)));
    assert_eq!(with.causes.len(), without.causes.len());
    for (a, b) in with.causes.iter().zip(&without.causes) {
        assert!(a.id == b.id && a.probability.to_bits() == b.probability.to_bits());
    }
}

#[test]
fn probabilities_of_several_desks_add_up() {
    let found = explained(one_slow_run());
    let sum: f64 = found.families.iter().map(|f| f.probability).sum();
    assert!((sum - 1.0).abs() < 1e-9, "{sum}");
}

fn remark(desk: Option<&str>, id: &str) -> Remark {
    Remark {
        text: id.to_owned(),
        id: id.to_owned(),
        desk: desk.map(str::to_owned),
        rate: None,
        size: None,
        time: None,
    }
}

#[test]
fn a_remark_of_one_desk_tells_of_what_that_desk_passes() {
    let loss = |remarks: Vec<Remark>| {
        let readings = vec![copy("cut-1", Read, 600.0), copy("colour", Read, 40.0)];
        let told = Observations {
            remarks,
            ..told(lane(), readings)
        };
        let found = of(&told);
        let all = found.families.iter();
        let loss = all.filter(|f| f.family == "loss-or-step-down");
        loss.map(|f| f.probability).sum::<f64>()
    };
    let none = loss(Vec::new());
    let own = loss(vec![remark(Some("colour"), "retransmissions")]);
    let other = loss(vec![remark(Some("cut-1"), "retransmissions")]);
    assert!(own > 2.0 * none, "{own} {none}");
    // packets lost on another desk's way say little: only what both share is less likely by them
    assert!(
        other < 1.5 * none && other < own / 1.5,
        "{other} {own} {none}"
    );
}

#[test]
fn a_shown_rate_is_of_its_own_desk() {
    let run_4 = |shown: Option<(&str, u64)>| {
        let mut readings = one_slow_run();
        readings.extend(shown.map(|(desk, megabits)| link_at(desk, megabits)));
        at(&explained(readings), "run.4")
    };
    let without = run_4(None);
    assert!(run_4(Some(("colour", 100))) > without);
    assert!(run_4(Some(("colour", 1000))) < without / 1.5);
    // what cut-1's port shows is as it should be, and leaves colour alone
    assert!((run_4(Some(("cut-1", 10_000))) / without - 1.0).abs() < 0.02);
}

#[test]
fn a_unit_may_be_mistaken_at_one_desk_only() {
    let plain = copy("sound", Read, 11.4);
    let of_bits = |factor: f64, weight, slip| Meaning {
        unit: if slip {
            RateUnit::Megabits
        } else {
            RateUnit::Megabytes
        },
        low: megabytes_per_second(900.0 * factor),
        middle: megabytes_per_second(900.0 * factor),
        high: megabytes_per_second(900.0 * factor),
        weight,
        slip,
    };
    let wrong = Reading {
        amount: Amount::Rate(RateReading {
            meanings: vec![of_bits(1.0, 0.6, false), of_bits(0.125, 0.4, true)],
            exactness: Exactness::Point,
        }),
        ..copy("colour", Read, 0.0)
    };
    let found = explained(vec![plain, wrong]);
    let first = &found.causes[0];
    assert_eq!(first.id, "unit-mistaken", "{:?}", places(&found));
    assert_eq!(first.place, "desk.colour to array.vault");
    assert!(first.words.ends_with("(colour)"), "{}", first.words);
}

const TWO_NAS: &str = r#"
[array.new]
nas = "fast"
layout = "raid0"
drives = "4 x 4 TB nvme-gen3"
[array.old]
nas = "slow"
layout = "single"
drives = "1 x 4 TB hdd-5400"
[nas.fast]
port.a = { rate = "10 Gb/s" }
[nas.slow]
port.a = { rate = "1 Gb/s" }
[desk.one]
port.a = { rate = "10 Gb/s" }
[desk.two]
port.a = { rate = "1 Gb/s" }
[[run]]
from = "desk.one"
to = "nas.fast"
cable = "cat6a"
length = "3 m"
[[run]]
from = "desk.two"
to = "nas.slow"
cable = "cat6a"
length = "3 m"
"#;

#[test]
fn the_array_is_that_of_the_desk_s_own_nas() {
    let local = |desk: &str| Reading {
        what: What::LocalArray,
        ..copy(desk, Read, 180.0)
    };
    let found = of(&told(TWO_NAS, vec![local("one"), local("two")]));
    let expected = |at: usize| in_megabytes_per_second(found.readings[at].expected[0].rates[1]);
    // four flash drives of gigabytes a second, and one that spins at 5400
    assert!(expected(0) > 1000.0 && expected(1) < 250.0);
    // the same rate is right for one, and far too little for the other
    assert_eq!(found.verdict, Verdict::Slow);
    assert!(at(&found, "array.new") > 0.5, "{:?}", places(&found));
    assert!(at(&found, "array.old") < 0.05, "{:?}", places(&found));
}

#[test]
fn what_the_site_has_no_way_for_is_said_to_be_left_out() {
    type Change<'a> = &'a dyn Fn(&mut Site);
    let whole = told(TWO_NAS, vec![copy("one", Read, 600.0)]);
    let desk = |name: &str| copy(name, Read, 60.0);
    let unwired = |site: &mut Site| drop(site.runs.pop());
    let strangers = |site: &mut Site| {
        site.desks[1].ports[0].knows = vec![LinkRate::from_megabits(10_000)];
        site.nas[1].ports[0].knows = vec![LinkRate::from_megabits(1000)];
    };
    let cases: [(Change<'_>, Reading, LeftOut); 3] = [
        (&|_| {}, desk("three"), LeftOut::NoDesk),
        (&unwired, desk("two"), LeftOut::NoWay),
        (&strangers, desk("two"), LeftOut::NoLink),
    ];
    for (change, reading, why) in cases {
        let mut alone = whole.clone();
        change(&mut alone.sites[0].0);
        let mut both = alone.clone();
        both.readings.push(reading);
        let (alone, both) = (of(&alone), of(&both));
        assert_eq!(both.readings[0].left_out, None, "{why:?}");
        assert!(!both.readings[0].expected.is_empty(), "{why:?}");
        assert_eq!(both.readings[1].left_out, Some(why));
        assert!(both.readings[1].expected.is_empty(), "{why:?}");
        // a desk that no place can be told of leaves the others as they are
        if why != LeftOut::NoLink {
            for (a, b) in both.families.iter().zip(&alone.families) {
                assert_eq!(a.probability.to_bits(), b.probability.to_bits(), "{why:?}");
            }
        }
    }
    let mut arrayless = whole.clone();
    arrayless.sites[0].0.arrays.clear();
    arrayless.readings[0].what = What::LocalArray;
    let found = of(&arrayless);
    assert_eq!(found.readings[0].left_out, Some(LeftOut::NoArray));
    assert!(found.in_words.contains("no array"), "{}", found.in_words);
}

#[test]
fn nothing_is_at_fault_with_several_desks_as_they_should_be() {
    let found = explained(vec![
        copy("cut-1", Read, 610.0),
        copy("colour", Read, 112.0),
        copy("sound", Direction::Read, 11.4),
    ]);
    assert_eq!(found.verdict, Verdict::Normal, "{:?}", places(&found));
    assert!(found.causes[0].id.starts_with("limit-"));
}
