//! Readings of pieces at random places.

use super::super::{Explanation, Reading, Verdict, What, explain};
use super::reasoning::{copy, lane, told};
use crate::budget;
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Information, Measure, in_megabytes_per_second};
use crate::site::read;
use crate::spread::{Draws, USUAL_DRAWS};
use crate::work::{Activity, Direction, Work};
use crate::working::percentiles;

/// Bytes of a piece.
const PIECE: f64 = 4096.0;

fn of_pieces(what: What, way: Direction, megabytes: f64) -> Explanation {
    let reading = Reading {
        what,
        random: Some(Information::from_base(PIECE)),
        ..copy("cut-1", way, megabytes)
    };
    explain(
        &told(lane(), vec![reading]),
        &Catalogue::embedded().unwrap(),
    )
    .unwrap()
}

#[test]
fn verify_what_is_expected_of_pieces_is_the_budget_of_pieces() {
    let catalogue = Catalogue::embedded().unwrap();
    let site = read(lane(), &[], &catalogue).unwrap();
    for (what, activity) in [
        (What::Copy, Activity::Play),
        (What::LocalArray, Activity::AtTheArray),
    ] {
        let question = budget::Question {
            work: Work {
                random: Some(Information::from_base(PIECE)),
                ..Work::plain(activity)
            },
            desk: None,
            working: false,
            need: None,
        };
        let mut draws = Draws::new(USUAL_DRAWS);
        let budget = budget::answer(&site, &question, &catalogue, &mut draws).unwrap();
        for way in Direction::BOTH {
            let flows = &budget.flows;
            let flow = flows.iter().find(|f| {
                f.direction == way && (f.desk == "cut-1" || activity == Activity::AtTheArray)
            });
            let p = percentiles::<DataRate>(&flow.unwrap().rates);
            let found = of_pieces(what, way, 1.0);
            assert_eq!(
                found.readings[0].expected[0].rates,
                [p.p05, p.p50, p.p95],
                "{what:?} {way:?}"
            );
        }
    }
}

#[test]
fn what_drives_give_in_pieces_is_no_fault_and_a_tenth_of_it_is() {
    for what in [What::Copy, What::LocalArray] {
        let [low, middle, _] = of_pieces(what, Direction::Read, 1.0).readings[0].expected[0].rates;
        let right = of_pieces(what, Direction::Read, in_megabytes_per_second(middle));
        assert_eq!(right.verdict, Verdict::Normal, "{}", right.in_words);
        assert!(
            right.in_words.contains("in pieces of") && right.in_words.contains("random places"),
            "{}",
            right.in_words
        );
        let slow = of_pieces(what, Direction::Read, in_megabytes_per_second(low) / 10.0);
        assert_eq!(slow.verdict, Verdict::Slow, "{}", slow.in_words);
    }
    // a large file at that rate would be next to nothing
    let middle = of_pieces(What::Copy, Direction::Read, 1.0).readings[0].expected[0].rates[1];
    let file = explain(
        &told(
            lane(),
            vec![copy(
                "cut-1",
                Direction::Read,
                in_megabytes_per_second(middle),
            )],
        ),
        &Catalogue::embedded().unwrap(),
    );
    assert_eq!(file.unwrap().verdict, Verdict::Slow);
}
