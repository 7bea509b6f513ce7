use super::*;
use crate::budget::{Answer, Written, better};

fn question() -> Question {
    Question {
        work: Work::plain(Activity::Copy),
        desk: None,
        working: false,
        need: None,
    }
}

/// The budget of a site, with what could take the place of each part.
fn with_better_parts(text: &str, catalogue: &Catalogue, draws: &mut Draws) -> Answer {
    let site = site_with(text, &[]);
    let mut found = answer(&site, &question(), catalogue, draws).unwrap();
    let bytes = text.as_bytes();
    let written = Written { bytes, edits: &[] };
    better(&mut found, (&site, written), &question(), catalogue, draws).unwrap();
    found
}

/// What a part gives is the budget of the site with its edits, by the same draws.
#[test]
fn verify_a_better_part_is_the_budget_of_its_edit() {
    let catalogue = Catalogue::embedded().unwrap();
    let mut draws = Draws::new(512);
    let found = with_better_parts(EXAMPLE, &catalogue, &mut draws);
    let mut parts = Vec::new();
    for flow in &found.flows {
        for hop in &flow.hops {
            let Some(better) = &hop.next_better else {
                continue;
            };
            parts.push(better.part.clone());
            let sets: Vec<&str> = better.set.iter().map(String::as_str).collect();
            let edited = site_with(EXAMPLE, &sets);
            let after = answer(&edited, &question(), &catalogue, &mut draws).unwrap();
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
        "10 Gb/s ports at colour and attic",
        "a medium processor in store",
        "8 drives in vault",
    ] {
        assert!(parts.iter().any(|p| p == part), "{part} in {parts:?}");
    }
}

/// Where every link of a path is equally slow, no port alone helps: the part is all of them together.
#[test]
fn two_places_alike_are_raised_together() {
    let catalogue = Catalogue::embedded().unwrap();
    let sites = narrows_data::SITES;
    let (_, text) = sites.iter().find(|(name, _)| *name == "one-desk").unwrap();
    let found = with_better_parts(text, &catalogue, &mut Draws::new(512));
    let flow = &found.flows[0];
    let links: Vec<_> = flow
        .hops
        .iter()
        .filter(|hop| hop.kind == HopKind::Link)
        .collect();
    assert!(links.len() > 1);
    for hop in links {
        let better = hop.next_better.as_ref().unwrap();
        assert!(better.set.len() > 2, "{better:?}");
        assert!(better.megabytes_per_s.p50 > flow.megabytes_per_s.p50);
    }
}
