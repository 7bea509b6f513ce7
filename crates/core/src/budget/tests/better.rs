use super::*;
use crate::budget::{Written, better};

/// What a part gives is the budget of the site with its edits, by the same draws.
#[test]
fn verify_a_better_part_is_the_budget_of_its_edit() {
    let catalogue = Catalogue::embedded().unwrap();
    let question = Question {
        work: Work::plain(Activity::Copy),
        desk: None,
        working: false,
        need: None,
    };
    let site = site_with(EXAMPLE, &[]);
    let mut draws = Draws::new(512);
    let mut found = answer(&site, &question, &catalogue, &mut draws).unwrap();
    let written = Written {
        bytes: EXAMPLE.as_bytes(),
        edits: &[],
    };
    better(
        &mut found,
        (&site, written),
        &question,
        &catalogue,
        &mut draws,
    )
    .unwrap();
    let mut parts = Vec::new();
    for flow in &found.flows {
        for hop in &flow.hops {
            let Some(better) = &hop.next_better else {
                continue;
            };
            parts.push(better.part.clone());
            let sets: Vec<&str> = better.set.iter().map(String::as_str).collect();
            let edited = site_with(EXAMPLE, &sets);
            let after = answer(&edited, &question, &catalogue, &mut draws).unwrap();
            let same = |other: &&Flow| {
                (&other.desk, &other.port, other.direction)
                    == (&flow.desk, &flow.port, flow.direction)
            };
            let after = after.flows.iter().find(same).unwrap();
            assert_eq!(after.megabytes_per_s, better.megabytes_per_s, "{better:?}");
            assert!(after.megabytes_per_s.p50 > flow.megabytes_per_s.p50);
        }
    }
    for part in [
        "2.5 Gb/s at both ends",
        "a processor medium",
        "drives ssd-sata",
    ] {
        assert!(parts.iter().any(|p| p == part), "{part} in {parts:?}");
    }
}
