//! What a cause says of the site can be said to the site, and the site then says the same.

use super::super::candidates::candidates;
use super::super::cause::{At, Cause, Change, causes};
use super::super::effect::rates;
use super::super::judged::Judged;
use super::super::observed::Observed;
use super::super::places::Places;
use super::super::reading::{Reading, What};
use super::super::scenarios::Scenarios;
use super::super::{Explanation, explain};
use super::reasoning::{copy, lane, told};
use crate::budget::{Question, answer};
use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::change::state::set;
use crate::quantity::in_megabytes_per_second;
use crate::site::{Site, read};
use crate::spread::Draws;
use crate::work::{Activity, Direction, Work};

/// Few draws, so that the tests are quick.
const DRAWS: usize = 256;

const ASKED: [(What, Activity); 3] = [
    (What::Copy, Activity::Copy),
    (What::RawTcp, Activity::Wire),
    (What::LocalArray, Activity::AtTheArray),
];

/// The desk whose way goes through the air.
const THROUGH_THE_AIR: &str = "producer";

/// The example, for a desk through the air with its rooms.
fn text_of(desk: &str) -> &'static str {
    if desk == THROUGH_THE_AIR {
        let mut sites = narrows_data::SITES.iter();
        return sites
            .find(|(name, _)| *name == "granary-lane-whole")
            .unwrap()
            .1;
    }
    lane()
}

/// The example, with a switch port and a desk at a gigabit where a cause needs them.
fn site(desk: &str, edits: &[&str]) -> Site {
    let edits: Vec<Edit> = edits.iter().map(|e| Edit::parse(e, 0).unwrap()).collect();
    let read = read(text_of(desk), &edits, &Catalogue::embedded().unwrap());
    read.unwrap_or_else(|f| panic!("{f}")).with_usual_clients()
}

fn edits() -> impl Iterator<Item = (Cause, String)> {
    let all = causes().unwrap().into_iter();
    all.filter(|cause| cause.change == Change::Edit)
        .map(|cause| {
            let text = cause.edit.clone().unwrap();
            (cause, text)
        })
}

/// The desk that an edit is tried at, and the edit at a place of its path.
fn tried(cause: &Cause, text: &str) -> (&'static str, String) {
    let of = |field: &str| text.contains(field);
    let (desk, place) = if cause.at == At::Cell {
        (THROUGH_THE_AIR, "access-point.landing")
    } else if cause.at == At::Uplink {
        (THROUGH_THE_AIR, "run.8")
    } else if of(".band") || of(".weaker") || of(".relayed") {
        (THROUGH_THE_AIR, "run.9")
    } else if of(".negotiated=\"2.5") || of(".negotiated=\"1 G") {
        ("cut-1", "run.2")
    } else if of(".negotiated=\"10 M") {
        ("sound", "run.6")
    } else if of(".negotiated") || of(".lost") || of(".drops") {
        ("colour", "run.4")
    } else if of(".duplex") {
        ("sound", "run.6")
    } else if [".failed", ".rebuilding", ".fill", ".slowest", ".others"]
        .into_iter()
        .any(of)
    {
        ("cut-1", "array.vault")
    } else if of(".signed") || of(".sync") {
        ("cut-1", "nas.store")
    } else {
        ("cut-1", "desk.cut-1")
    };
    let text = text.replace("{place}", place).replace("{port}", "a");
    (desk, text)
}

/// What a budget of a site says of everything that could be measured at a desk.
fn of_budget(site: &Site, desk: &str, draws: usize) -> Vec<(What, Direction, Vec<f64>, f64)> {
    let catalogue = Catalogue::embedded().unwrap();
    let mut found = Vec::new();
    for (what, activity) in ASKED {
        let question = Question {
            work: Work::plain(activity),
            desk: (activity != Activity::AtTheArray).then(|| desk.to_owned()),
            working: false,
            need: None,
        };
        let answer = answer(site, &question, &catalogue, &mut Draws::new(draws)).unwrap();
        for flow in answer.flows {
            let middle = in_megabytes_per_second(flow.megabytes_per_s.p50);
            found.push((what, flow.direction, flow.rates, middle));
        }
    }
    found
}

fn readings(desk: &str, rates: &[(What, Direction, Vec<f64>, f64)]) -> Vec<Reading> {
    let reading = |(what, direction, _, middle): &(What, Direction, Vec<f64>, f64)| Reading {
        what: *what,
        ..copy(desk, *direction, *middle)
    };
    rates.iter().map(reading).collect()
}

#[test]
fn verify_a_state_that_is_set_is_what_the_text_with_the_edit_says() {
    for (cause, text) in edits() {
        let (desk, text) = tried(&cause, &text);
        if text.contains("2.5 Gb/s") {
            // ports of the example know no such rate
            assert!(!set(&mut site(desk, &[]), &Edit::parse(&text, 0).unwrap()));
            continue;
        }
        let mut set_there = site(desk, &[]);
        assert!(
            set(&mut set_there, &Edit::parse(&text, 0).unwrap()),
            "{}: {text} changes nothing",
            cause.id
        );
        let said = site(desk, &[&text]);
        assert_eq!(set_there.arrays, said.arrays, "{text}");
        assert_eq!(set_there.nas, said.nas, "{text}");
        assert_eq!(set_there.desks, said.desks, "{text}");
        assert_eq!(set_there.runs, said.runs, "{text}");
        assert_eq!(set_there.switches, said.switches, "{text}");
        assert!(
            !set(&mut set_there, &Edit::parse(&text, 0).unwrap()),
            "{text} twice"
        );
    }
    // a link that comes up slower is another neighbour to the runs of its duct
    let ducts = ["run.2.duct=riser", "run.3.duct=riser"];
    let slower = "run.3.negotiated=\"1 Gb/s\"";
    let mut set_there = site("cut-1", &ducts);
    let before = set_there.runs[1].clone();
    assert!(set(&mut set_there, &Edit::parse(slower, 0).unwrap()));
    assert_eq!(
        set_there.runs,
        site("cut-1", &[&ducts[..], &[slower]].concat()).runs
    );
    assert_ne!(set_there.runs[1], before);
    // air has nothing to do with a way of cables, and a box that is not there has none
    let mut lane = site("cut-1", &[]);
    for nothing in [
        "run.2.band=\"2.4 GHz\"",
        "run.2.weaker=\"12 dB\"",
        "run.2.relayed=\"yes\"",
        "access-point.none.busy=\"50 %\"",
        "access-point.attic.busy=\"50 %\"",
        "run.99.lost=\"1 %\"",
        "run.1.negotiated=\"2.5 Gb/s\"",
        "run.1.length=\"3 m\"",
        "array.vault.failed=9",
        "array.none.failed=1",
        "nas.store.sync=\"perhaps\"",
        "desk.cut-1.port.z.slot=\"pcie 1 x1\"",
        "desk.cut-1.port.a.slot=\"isa\"",
    ] {
        let edit = Edit::parse(nothing, 0).unwrap();
        assert!(!set(&mut lane, &edit), "{nothing}");
    }
    let mut air = site(THROUGH_THE_AIR, &[]);
    for nothing in [
        "run.9.band=\"5 GHz\"",
        "run.9.band=\"7 GHz\"",
        "run.9.weaker=\"a lot\"",
        "run.9.relayed=\"no\"",
        "access-point.landing.colour=\"50 %\"",
        "access-point.landing.busy=\"much\"",
    ] {
        let edit = Edit::parse(nothing, 0).unwrap();
        assert!(!set(&mut air, &edit), "{nothing}");
    }
    // a rate that is shown is of the band and the signal that there are
    let mut shown = site(THROUGH_THE_AIR, &["run.9.wireless=\"shown 576.5 Mb/s\""]);
    for nothing in ["run.9.band=\"2.4 GHz\"", "run.9.weaker=\"12 dB\""] {
        let edit = Edit::parse(nothing, 0).unwrap();
        assert!(!set(&mut shown, &edit), "{nothing}");
    }
}

/// Every cause that is an edit predicts what a budget of the edited site says, to the last bit: hops that
/// were taken over are those that would have been made anew.
#[test]
fn verify_a_cause_predicts_what_a_budget_of_the_edited_site_says() {
    let catalogue = Catalogue::embedded().unwrap();
    let judged = Judged::new(&catalogue).unwrap();
    let all = causes().unwrap();
    let mut seen: Vec<&str> = Vec::new();
    for desk in ["cut-1", "colour", "sound", THROUGH_THE_AIR] {
        let asked = of_budget(&site(desk, &[]), desk, DRAWS);
        let told = told(text_of(desk), readings(desk, &asked));
        let mut scenarios = Scenarios::new(&told, &catalogue, DRAWS).unwrap();
        let observed = Observed::all(&told);
        for (ask, _) in observed.iter().flat_map(|o| &o.asks) {
            scenarios.predict(ask).unwrap().unwrap();
        }
        let places = Places::of(&told.sites[0].0, &told, &observed, &[], &judged);
        let candidates = candidates(&all, &places, &observed, &mut scenarios);
        for candidate in &candidates {
            let Some(edit) = candidate.effect.edit else {
                continue;
            };
            let text = scenarios.edit_text(edit);
            // the radio of a desk is a port that stands in no text
            if text.contains(".port.air.") {
                continue;
            }
            let edited = site(desk, &[text]);
            for (what, direction, expected, _) in of_budget(&edited, desk, DRAWS) {
                let mut asks = observed.iter().map(|o| &o.asks[0].0);
                let ask = asks.find(|a| a.what == what && a.direction == direction);
                let ask = ask.unwrap();
                if candidate.effect.touches(ask) {
                    let found = rates(ask, &[&candidate.effect], &scenarios).unwrap();
                    assert_eq!(*found, *expected, "{text} {what:?} {direction:?}");
                }
            }
            let id = all[candidate.cause].id.as_str();
            if !seen.contains(&id) {
                seen.push(id);
            }
        }
    }
    // some need a path that the example has not
    let missing = edits().filter(|(cause, _)| !seen.contains(&cause.id.as_str()));
    let missing: Vec<String> = missing.map(|(cause, _)| cause.id).collect();
    assert!(missing.len() <= 2, "{missing:?}");
}

/// Causes that leave the numbers of a desk such as they are without them, or as another family makes
/// them, and why.
const ALIKE: [(&str, &str); 2] = [
    (
        "duplex-mismatch",
        "one way suffers, nobody knows which: the middles of both ways are of no one case",
    ),
    (
        "old-bus",
        "an old shared bus carries about what 1 Gb/s does",
    ),
];

/// Readings that a site with the fault written into it gives are explained by that fault: its family is
/// the first, or one of three.
#[test]
fn verify_what_an_edited_site_gives_is_explained_by_the_cause_with_that_edit() {
    let catalogue = Catalogue::embedded().unwrap();
    let (mut first, mut tried_all) = (0, 0);
    let mut not: Vec<String> = Vec::new();
    for (cause, text) in edits() {
        let (desk, text) = tried(&cause, &text);
        if text.contains("2.5 Gb/s") {
            continue;
        }
        let faulty = of_budget(&site(desk, &[&text]), desk, 1024);
        let readings = readings(desk, &faulty);
        let found: Explanation = explain(&told(text_of(desk), readings), &catalogue).unwrap();
        let at = found.families.iter().position(|f| f.family == cause.family);
        tried_all += 1;
        first += usize::from(at == Some(0));
        let alike = ALIKE.iter().any(|(id, _)| *id == cause.id);
        if at.is_none_or(|at| at > 2) != alike {
            let families = found.families.iter().take(4);
            let families: Vec<String> = families
                .map(|f| format!("{} {:.2}", f.family, f.probability))
                .collect();
            not.push(format!("{}: {at:?} of {}", cause.id, families.join(", ")));
        }
    }
    assert!(not.is_empty(), "{}", not.join("\n"));
    // three in ten are the first that is named: wide expectations of arrays leave more to them
    assert!(first * 10 >= 3 * tried_all, "{first} of {tried_all}");
}

/// What goes wrong in the air is looked for where there is air, and nowhere else; what the cable of an access
/// point does is told once.
#[test]
fn causes_of_the_air_stand_where_there_is_air() {
    let catalogue = Catalogue::embedded().unwrap();
    let judged = Judged::new(&catalogue).unwrap();
    let all = causes().unwrap();
    let air = [
        "weak-signal",
        "wrong-band",
        "slow-neighbour",
        "hidden-relay",
        "channel-too-wide",
        "cell-on-slow-jack",
    ];
    let found = |text: &str, desk: &str, edits: &[&str]| -> Vec<(String, Vec<String>)> {
        let edits: Vec<Edit> = edits.iter().map(|e| Edit::parse(e, 0).unwrap()).collect();
        let site = read(text, &edits, &catalogue).unwrap();
        let asked = of_budget(&site, desk, 64);
        let mut told = told(text, readings(desk, &asked));
        told.sites = vec![(site, 1.0)];
        let mut scenarios = Scenarios::new(&told, &catalogue, 64).unwrap();
        let observed = Observed::all(&told);
        let places = Places::of(&told.sites[0].0, &told, &observed, &[], &judged);
        let candidates = candidates(&all, &places, &observed, &mut scenarios);
        let of = |c: &super::super::candidates::Candidate| {
            let paths = c.spots.iter().map(|spot| spot.path.clone()).collect();
            (all[c.cause].id.clone(), paths)
        };
        candidates.iter().map(of).collect()
    };
    let names = |found: &[(String, Vec<String>)]| -> Vec<&str> {
        air.into_iter()
            .filter(|id| found.iter().any(|(name, _)| name == id))
            .collect()
    };
    assert!(names(&found(lane(), "cut-1", &[])).is_empty());
    let whole = text_of(THROUGH_THE_AIR);
    // the same site has air, but not on this desk's way
    assert!(names(&found(whole, "cut-1", &[])).is_empty());
    let there = found(whole, THROUGH_THE_AIR, &[]);
    assert_eq!(names(&there), air);
    for (id, paths) in &there {
        assert!(
            id != "run-at-100" || !paths.contains(&"run.8".to_owned()),
            "{paths:?}"
        );
        if id == "cell-on-slow-jack" {
            assert_eq!(paths, &["run.8"]);
        }
        if id == "slow-neighbour" {
            assert_eq!(paths, &["access-point.landing"]);
        }
    }
    // whoever has looked at the channel, or set it to the least width, is not asked again
    let looked = [
        "access-point.landing.busy=\"10 %\"",
        "access-point.landing.width=\"20 MHz\"",
    ];
    let looked = found(whole, THROUGH_THE_AIR, &looked);
    assert_eq!(
        names(&looked),
        [
            "weak-signal",
            "wrong-band",
            "hidden-relay",
            "cell-on-slow-jack"
        ]
    );
    // a radio whose payload alone is told has nothing that an edit could say
    let told = found(
        whole,
        THROUGH_THE_AIR,
        &["run.9.wireless=\"measured 300 Mb/s\""],
    );
    assert_eq!(names(&told), ["cell-on-slow-jack"]);
    assert!(told.iter().any(|(id, _)| id == "poor-air"));
    assert!(there.iter().all(|(id, _)| id != "poor-air"));
}
