//! What a remark says beside a number.

use super::super::{Explanation, RateReading, Remark, Verdict, What, explain};
use super::reasoning::{ONE_DESK, copy, told};
use crate::catalogue::Catalogue;
use crate::quantity::{Information, Measure, megabytes_per_second};
use crate::work::Direction;

fn remark(id: &str) -> Remark {
    Remark {
        text: id.to_owned(),
        id: id.to_owned(),
        desk: None,
        rate: None,
        size: None,
        time: None,
    }
}

fn explained(site: &str, megabytes: f64, remarks: Vec<Remark>) -> Explanation {
    let mut all = told(site, vec![copy("cut-1", Direction::Read, megabytes)]);
    all.remarks = remarks;
    explain(&all, &Catalogue::embedded().unwrap()).unwrap()
}

fn cause(found: &Explanation, id: &str) -> f64 {
    let all = found.causes.iter().filter(|c| c.id == id);
    all.map(|c| c.probability).sum()
}

#[test]
fn one_piece_at_a_time_has_the_size_that_was_told() {
    // 64 KiB each 2 ms and what the server takes: 30 MB/s
    let far = format!("{ONE_DESK}\n[network]\nround-trip = \"2 ms\"\n");
    let at = |kibibytes: f64| {
        let size = Some(Information::from_base(kibibytes * 1024.0));
        let asked = Remark {
            size,
            ..remark("one-request")
        };
        cause(&explained(&far, 30.0, vec![asked]), "one-request")
    };
    let (fits, larger) = (at(64.0), at(256.0));
    assert!(fits > 0.5 && larger < fits / 2.0, "{fits} {larger}");
}

#[test]
fn a_better_figure_that_the_place_can_give_is_no_good_news() {
    let beside = |id: &str, rate: Option<f64>| {
        let better = Remark {
            rate: rate.map(|rate| RateReading::plain(megabytes_per_second(rate))),
            ..remark(id)
        };
        explained(ONE_DESK, 85.0, vec![better]).verdict
    };
    assert_eq!(
        explained(ONE_DESK, 112.0, Vec::new()).verdict,
        Verdict::Normal
    );
    assert_eq!(beside("other-computer-better", Some(112.0)), Verdict::Slow);
    assert_eq!(beside("other-computer-better", None), Verdict::Slow);
}

#[test]
fn a_number_beyond_the_link_is_too_much_whatever_is_noticed() {
    let found = explained(ONE_DESK, 290.0, vec![remark("traffic-elsewhere")]);
    assert_eq!(found.verdict, Verdict::TooFast, "{}", found.in_words);
}

#[test]
fn joined_links_may_be_told_without_their_number() {
    let family = |remarks: Vec<Remark>| {
        let found = explained(ONE_DESK, 112.0, remarks);
        let of = found.families.iter().find(|f| f.family == "bond-flow");
        (found.verdict, of.map_or(0.0, |f| f.probability))
    };
    let (verdict, share) = family(vec![remark("joined-links")]);
    assert_eq!(verdict, Verdict::Normal);
    assert!(share > 0.5, "{share}");
    assert!(family(Vec::new()).1 < 1e-9);
    assert!(family(vec![remark("uneven-links")]).1 > 0.5);
}

#[test]
fn what_is_far_waits_for_its_round_trip() {
    let slow = explained(ONE_DESK, 3.0, Vec::new());
    let far = Remark {
        text: "between continents".to_owned(),
        ..remark("long-distance")
    };
    let found = explained(ONE_DESK, 3.0, vec![far]);
    let low = |found: &Explanation| found.readings[0].expected[0].rates[0];
    assert!(low(&found) < low(&slow));
    assert_eq!(found.readings[0].what, What::Copy);
    // where the site states a round trip, that counts
    let near = format!("{ONE_DESK}\n[network]\nround-trip = \"0.2 ms\"\n");
    let stated = explained(&near, 3.0, vec![remark("long-distance")]);
    let plain = explained(&near, 3.0, Vec::new());
    assert_eq!(low(&stated), low(&plain));
}
