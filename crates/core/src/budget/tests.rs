use super::*;
use crate::allocate::{Demand, Problem, Resource, Visit, fill};
use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::quantity::{DataRate, Measure, in_megabytes_per_second, ratio};
use crate::site::read;
use crate::work::Activity;

mod clear;
mod states;
mod tiring;

const EXAMPLE: &str = narrows_data::SITES[0].1;

fn site_with(text: &str, edits: &[&str]) -> Site {
    let catalogue = Catalogue::embedded().unwrap();
    let edits = Edit::parse_all(edits).unwrap();
    read(text, &edits, &catalogue).unwrap_or_else(|faults| panic!("{faults}"))
}

fn asked(site: &Site, desk: Option<&str>, activity: Activity) -> Answer {
    let catalogue = Catalogue::embedded().unwrap();
    let question = Question {
        work: Work::plain(activity),
        desk: desk.map(str::to_owned),
        working: false,
        need: None,
    };
    answer(site, &question, &catalogue, &mut Draws::new(2048)).unwrap()
}

fn copy(site: &Site) -> Answer {
    asked(site, None, Activity::Copy)
}

/// A healthy chain of one desk, with whatever is put between.
fn chain(nas: &str, desk: &str, switch: &str, drives: &str) -> String {
    format!(
        r#"
[array.vault]
nas = "store"
layout = "raid6"
drives = "{drives}"
[nas.store]
cpu = "medium"
service = "smb"
signed = "plain"
encrypted = "no"
port.a = {{ {nas} }}
[switch.attic]
port.any = {{ {switch}, count = 4 }}
[desk.cut-1]
disk = "nvme-gen3"
cpu = "large"
overlap = "yes"
port.a = {{ {desk} }}
[[run]]
from = "nas.store"
to = "switch.attic"
cable = "cat6a"
length = "3 m"
[[run]]
from = "desk.cut-1"
to = "switch.attic"
cable = "cat6a"
length = "20 m"
"#
    )
}

fn range(flow: &Flow) -> (f64, f64, f64) {
    let r = flow.megabytes_per_s;
    (
        in_megabytes_per_second(r.p05),
        in_megabytes_per_second(r.p50),
        in_megabytes_per_second(r.p95),
    )
}

const ONE: &str = r#"rate = "1 Gb/s""#;
const TEN: &str = r#"rate = "10 Gb/s""#;
const SIX: &str = "6 x 10 TB hdd-7200";

#[test]
fn validate_plateau_of_one_gigabit() {
    // the window that healthy copies over 1 Gb/s keep: 0.9 of IPv4 with timestamps to IPv4
    let site = site_with(&chain(ONE, ONE, ONE, SIX), &[]);
    for flow in copy(&site).flows {
        let (p05, _, p95) = range(&flow);
        assert!(p05 >= 106.0 && p95 <= 119.0, "{p05} {p95}");
        // two links in a row are equally slow: neither alone is to blame
        assert_eq!(flow.limits[0].hops, ["run.2", "run.1"]);
        let sum: f64 = flow.limits.iter().map(|l| l.share).sum();
        assert!((sum - 1.0).abs() < 1e-9);
    }
}

#[test]
fn validate_plateau_of_a_forgotten_slow_switch() {
    let site = site_with(&chain(ONE, ONE, r#"rate = "100 Mb/s""#, SIX), &[]);
    let answer = copy(&site);
    for flow in &answer.flows {
        let (p05, _, p95) = range(flow);
        assert!(p05 >= 10.6 && p95 <= 11.9, "{p05} {p95}");
        assert!(flow.limits[0].hops.contains(&"run.2".to_owned()));
        let link = flow.hop("run.2").unwrap();
        assert!(
            link.note.contains("attic any knows no more"),
            "{}",
            link.note
        );
    }
    let warning = &answer.warnings[0];
    assert_eq!(warning.kind, WarningKind::SlowPortInTheWay);
    assert!(warning.place.contains("switch.attic"));
}

#[test]
fn six_spinning_drives_behind_ten_gigabit_are_held_back_by_array_or_nas() {
    let site = site_with(&chain(TEN, TEN, TEN, SIX), &[]);
    for flow in copy(&site).flows {
        let blamed: f64 = flow
            .limits
            .iter()
            .filter(|l| {
                l.hops
                    .iter()
                    .all(|h| h.starts_with("array.") || h.starts_with("nas."))
            })
            .map(|l| l.share)
            .sum();
        assert!(blamed > 0.9, "{:?}", flow.limits);
        assert!(flow.limits[0].hops == ["array.vault"]);
    }
}

#[test]
fn a_fast_card_in_a_narrow_slot_is_named() {
    let narrow = r#"rate = "10 Gb/s", slot = "pcie 2 x1""#;
    let site = site_with(&chain(narrow, TEN, TEN, "8 x 4 TB ssd-sata"), &[]);
    let answer = copy(&site);
    for flow in &answer.flows {
        assert_eq!(flow.limits[0].hops, ["nas.store.port.a"]);
        let (_, p50, _) = range(flow);
        // the slot carries 420 to 426 MB/s of what the link could
        assert!((350.0..430.0).contains(&p50), "{p50}");
    }
    assert!(
        answer
            .warnings
            .iter()
            .any(|w| w.kind == WarningKind::NarrowSlot)
    );
}

#[test]
fn ports_link_at_the_highest_rate_that_both_know() {
    let older = r#"rate = "10 Gb/s""#;
    let middle = r#"rate = "2.5 Gb/s""#;
    let site = site_with(&chain(older, older, middle, SIX), &[]);
    for flow in copy(&site).flows {
        let link = flow.hop("run.2").unwrap().link_megabits_per_s.unwrap();
        assert!((link.megabits() - 1000.0).abs() < 1e-9);
        let (_, _, p95) = range(&flow);
        assert!(p95 < 119.0);
    }
    let newer = r#"rate = "10 Gb/s", rates = "1 Gb/s, 2.5 Gb/s, 10 Gb/s""#;
    let site = site_with(&chain(newer, newer, middle, SIX), &[]);
    let link = copy(&site).flows[0]
        .hop("run.2")
        .unwrap()
        .link_megabits_per_s
        .unwrap();
    assert!((link.megabits() - 2500.0).abs() < 1e-9);
}

#[test]
fn an_unknown_cable_gives_branches_whose_chances_add_up() {
    let site = site_with(EXAMPLE, &[]);
    let answer = asked(&site, Some("cut-2"), Activity::Copy);
    for flow in &answer.flows {
        assert!(flow.branches.len() >= 2, "{:?}", flow.branches);
        let sum: f64 = flow.branches.iter().map(|b| b.probability).sum();
        assert!((sum - 1.0).abs() < 1e-9);
        let back = flow
            .branches
            .iter()
            .find(|b| b.when.contains("falls back"))
            .unwrap();
        let rate = in_megabytes_per_second(back.megabytes_per_s.p50);
        assert!((106.0..119.0).contains(&rate), "{rate}");
    }
    assert!(
        answer
            .warnings
            .iter()
            .any(|w| w.kind == WarningKind::CableMayFallBack && w.place == "run.3")
    );
}

#[test]
fn a_run_that_is_too_long_is_no_better_than_even_and_then_falls_to_a_hundred_megabits() {
    // 2048 draws: one in two to a hundredth
    const HUNDREDTH: f64 = 0.01;
    let at = |length: &str| {
        let text = chain(ONE, ONE, ONE, SIX).replace(
            "length = \"3 m\"\n[[run]]",
            &format!("length = \"{length}\"\n[[run]]"),
        );
        copy(&site_with(&text, &[])).flows.remove(0)
    };
    let long = at("110 m");
    let share = |word: &str| {
        let branch = long.branches.iter().find(|b| b.when.contains(word));
        let branch = branch.unwrap();
        let rate = in_megabytes_per_second(branch.megabytes_per_s.p50);
        (branch.probability, rate)
    };
    let (full, fast) = share("links at 1 Gb/s");
    assert!(
        (full - 0.5).abs() < HUNDREDTH && fast > 100.0,
        "{full} {fast}"
    );
    let (back, slow) = share("falls back to 100 Mb/s");
    assert!(
        (back - 0.5).abs() < HUNDREDTH && (10.0..11.9).contains(&slow),
        "{back} {slow}"
    );
    // nothing comes up there but what is slowest
    let (_, middle, most) = range(&at("400 m"));
    assert!(middle < 1.2 && most < 1.2, "{middle} {most}");
}

#[test]
fn every_route_of_a_desk_with_two_ports_is_budgeted_and_named() {
    let text = chain(ONE, ONE, ONE, SIX);
    let site = site_with(
        &text.replace(
            "[[run]]\nfrom = \"nas.store\"",
            "[[run]]\nfrom = \"desk.cut-1.b\"\nto = \"nas.store.b\"\nlength = \"5 m\"\n[[run]]\nfrom = \"nas.store.a\"",
        )
        .replace("from = \"desk.cut-1\"", "from = \"desk.cut-1.a\""),
        &[
            "desk.cut-1.port.b={ rate = \"10 Gb/s\" }",
            "nas.store.port.b={ rate = \"10 Gb/s\" }",
        ],
    );
    let answer = copy(&site);
    let ports: Vec<&str> = answer.flows.iter().map(|f| f.port.as_str()).collect();
    assert_eq!(ports, ["b", "b", "a", "a"]);
    assert!(range(&answer.flows[0]).1 > 2.0 * range(&answer.flows[2]).1);
}

#[test]
fn streaming_leaves_the_own_disk_out_and_wire_leaves_out_everything_but_the_wire() {
    let site = site_with(EXAMPLE, &[]);
    let of = |activity| asked(&site, Some("cut-1"), activity).flows.remove(0);
    assert!(of(Activity::Copy).hop("desk.cut-1.disk").is_some());
    assert!(of(Activity::Play).hop("desk.cut-1.disk").is_none());
    let wire = of(Activity::Wire);
    assert!(wire.hop("array.vault").is_none() && wire.hop("run.2").is_some());
    let local = asked(&site, None, Activity::AtTheArray).flows.remove(0);
    assert_eq!(local.hops.len(), 1);
    assert!(local.desk.is_empty());
}

#[test]
fn verify_filling_gives_one_flow_what_the_budget_gives_it() {
    let site = site_with(&chain(TEN, TEN, TEN, SIX), &[]);
    let flow = asked(&site, None, Activity::Play).flows.remove(0);
    // ceilings at their medians, one resource a hop
    let ceilings: Vec<DataRate> = flow
        .hops
        .iter()
        .map(|h| h.ceiling_megabytes_per_s.p50)
        .collect();
    let problem = Problem {
        flows: vec![Demand {
            weight: 1.0,
            most: None,
        }],
        resources: vec![Resource::default(); ceilings.len()],
        visits: ceilings
            .iter()
            .enumerate()
            .map(|(resource, &c)| Visit {
                flow: 0,
                resource,
                cost: ratio(1.0) / c,
                turn: None,
            })
            .collect(),
    };
    let filled = fill(&problem).unwrap();
    let least = ceilings
        .iter()
        .map(|c| c.base())
        .fold(f64::INFINITY, f64::min);
    assert!((filled.rates[0].base() - least).abs() <= 1e-9 * least);
    let binding = &flow.hops[filled.binding[0][0]].id;
    assert_eq!(*binding, flow.limits[0].hops[0]);
}

#[test]
fn a_change_is_compared_draw_by_draw() {
    let catalogue = Catalogue::embedded().unwrap();
    let question = Question {
        work: Work::plain(Activity::Copy),
        desk: None,
        working: false,
        need: None,
    };
    let mut draws = Draws::new(1024);
    let mut ask = |edits: &[&str]| {
        answer(
            &site_with(EXAMPLE, edits),
            &question,
            &catalogue,
            &mut draws,
        )
        .unwrap()
    };
    let before = ask(&[]);
    let same = compare(&before, &ask(&["desk.cut-1.port.a.rate=10 Gb/s"]));
    assert!(
        same.iter()
            .all(|c| !c.noticeable && (c.factor_p50 - 1.0).abs() < 1e-12)
    );
    let changes = compare(&before, &ask(&["switch.stairs.port.any.rate=1 Gb/s"]));
    for change in &changes {
        let behind = ["sound", "ingest"].contains(&change.desk.as_str());
        assert_eq!(change.noticeable, behind, "{change:?}");
        if behind {
            assert!((change.factor_p50 - 10.0).abs() < 0.5, "{change:?}");
        }
    }
}

#[test]
fn property_a_better_part_never_lowers_a_desk_alone() {
    let catalogue = Catalogue::embedded().unwrap();
    let question = Question {
        work: Work::plain(Activity::Copy),
        desk: None,
        working: false,
        need: None,
    };
    let better = [
        "nas.store.signed=plain",
        "nas.store.port.a.slot=pcie 3 x8",
        "run.3.cable=cat6a",
        "run.2.length=5 m",
        "switch.stairs.port.any.rate=1 Gb/s",
        "desk.colour.port.a={ rate = \"10 Gb/s\" }",
        "array.vault.drives=8 x 10 TB hdd-7200",
        "network.round-trip=0.05 ms",
    ];
    let mut draws = Draws::new(512);
    let before = answer(&site_with(EXAMPLE, &[]), &question, &catalogue, &mut draws).unwrap();
    for edit in better {
        let after = answer(
            &site_with(EXAMPLE, &[edit]),
            &question,
            &catalogue,
            &mut draws,
        )
        .unwrap();
        for (b, a) in before.flows.iter().zip(&after.flows) {
            // a factor belongs to a speed; compare what the ceilings allow
            let (low, high) = (b.megabytes_per_s.p05, a.megabytes_per_s.p05);
            assert!(
                high >= low * ratio(0.99),
                "{edit}: {} {low:?} {high:?}",
                b.desk
            );
            for hop in &b.hops {
                if let Some(same) = a.hop(&hop.id) {
                    let (x, y) = (
                        hop.ceiling_megabytes_per_s.p50,
                        same.ceiling_megabytes_per_s.p50,
                    );
                    assert!(y >= x * ratio(1.0 - 1e-9), "{edit}: {}", hop.id);
                }
            }
        }
    }
}

#[test]
fn property_no_rate_exceeds_a_ceiling() {
    let site = site_with(EXAMPLE, &[]);
    for activity in [Activity::Copy, Activity::Play, Activity::Wire] {
        for flow in asked(&site, None, activity).flows {
            for hop in &flow.hops {
                assert!(flow.megabytes_per_s.p95 <= hop.ceiling_megabytes_per_s.p95);
                assert!(flow.megabytes_per_s.p50 <= hop.ceiling_megabytes_per_s.p50);
            }
        }
    }
}

#[test]
fn property_lowering_a_low_end_never_raises_p05() {
    let low = |text: &str| {
        let site = site_with(EXAMPLE, &[text]);
        in_megabytes_per_second(
            asked(&site, Some("cut-1"), Activity::Copy).flows[0]
                .megabytes_per_s
                .p05,
        )
    };
    let pairs = [
        (
            "array.vault.drive-rate=150..230..260 MB/s",
            "array.vault.drive-rate=90..230..260 MB/s",
        ),
        (
            "array.vault.local-read=300..500..600 MB/s",
            "array.vault.local-read=100..500..600 MB/s",
        ),
    ];
    for (narrow, wide) in pairs {
        assert!(low(wide) <= low(narrow) * (1.0 + 1e-9));
    }
}

#[test]
fn a_long_copy_drops_where_a_cache_fills() {
    let catalogue = Catalogue::embedded().unwrap();
    let text = chain(TEN, TEN, TEN, SIX);
    let site = site_with(
        &text,
        &["nas.store.memory=32 GB", "array.vault.local-write=200 MB/s"],
    );
    let question = Question {
        work: Work {
            activity: Activity::Copy,
            files: None,
            size: Some(crate::quantity::terabytes(0.2)),
        },
        desk: None,
        working: false,
        need: None,
    };
    let answer = answer(&site, &question, &catalogue, &mut Draws::new(512)).unwrap();
    let write = answer
        .flows
        .iter()
        .find(|f| f.direction == Direction::Write)
        .unwrap();
    let t = write.transfer.as_ref().unwrap();
    assert!(t.first_megabytes_per_s.p50 > t.later_megabytes_per_s.p50 * ratio(2.0));
    assert!(t.drops_probability > 0.99 && t.because.as_ref().unwrap().contains("memory"));
    assert!(t.data_safe_s.p50 > t.dialog_closes_s.p50);
    // 200 GB at 200 MB/s times what a real copy reaches
    let safe = t.data_safe_s.p50.value;
    assert!((1000.0..1450.0).contains(&safe), "{safe}");
}

#[test]
fn weights_of_a_service_count() {
    let text = chain(ONE, ONE, ONE, SIX);
    let of = |service: &str| {
        let edits = [
            &*format!("nas.store.service={service}"),
            // far enough for the number of requests to decide
            "network.round-trip=20 ms",
        ];
        let flow = asked(&site_with(&text, &edits), None, Activity::Play)
            .flows
            .remove(0);
        let requests = flow
            .hop("nas.store.requests")
            .unwrap()
            .ceiling_megabytes_per_s
            .p50;
        let share = flow
            .unknowns
            .iter()
            .find(|u| u.id == "nas.store.service")
            .map(|u| u.share);
        (in_megabytes_per_second(requests), share)
    };
    let (few, many) = (of("afp"), of("iscsi"));
    assert!(
        few.0 < many.0 * 0.8 && few.1.is_none() && many.1.is_none(),
        "{few:?} {many:?}"
    );
    let mixed = of("afp 50 %, iscsi 50 %");
    assert!(
        few.0 < mixed.0 && mixed.0 < many.0,
        "{few:?} {mixed:?} {many:?}"
    );
    assert!(mixed.1.is_some_and(|share| share > 0.1), "{mixed:?}");
    // a service that is only a little likelier does not stand for both
    let other = of("iscsi 51 %, afp 49 %");
    assert!((other.0 / mixed.0 - 1.0).abs() < 0.1, "{other:?} {mixed:?}");
}

#[test]
fn weights_of_tags_and_rebuilding_count() {
    let text = chain(ONE, ONE, ONE, "6 x 4 TB ssd-sata");
    let middle = |activity, hop: &str, edit: &str| {
        let flow = asked(&site_with(&text, &[edit]), None, activity)
            .flows
            .remove(0);
        let range = flow.hop(hop).unwrap().ceiling_megabytes_per_s;
        [range.p05, range.p95].map(in_megabytes_per_second)
    };
    // certain, then even odds: the upper end stays that of the better, the lower that of the worse
    for (activity, hop, field) in [
        (Activity::Play, "run.2", "network.tagged"),
        (
            Activity::AtTheArray,
            "array.vault",
            "array.vault.rebuilding",
        ),
        (Activity::AtTheArray, "array.vault", "array.vault.scrubbing"),
    ] {
        let of = |word: &str| middle(activity, hop, &format!("{field}={word}"));
        let (no, yes, perhaps) = (of("no"), of("yes"), of("yes 50 %, no 50 %"));
        assert!(yes[1] < no[1], "{field}: {yes:?} {no:?}");
        assert!(
            perhaps[0] < no[0] && perhaps[1] > yes[1],
            "{field}: {perhaps:?}"
        );
    }
}

#[test]
fn a_shingled_drive_falls_off_a_cliff_where_it_holds_data() {
    let ask = |fill: &str, class: &str, size: f64| {
        let text = chain(TEN, TEN, TEN, &format!("4 x 8 TB {class}"));
        let edits = [
            "array.vault.layout=raid0".to_owned(),
            format!("array.vault.fill={fill}"),
        ];
        let edits: Vec<&str> = edits.iter().map(String::as_str).collect();
        let catalogue = Catalogue::embedded().unwrap();
        let mut work = Work::plain(Activity::AtTheArray);
        work.size = Some(crate::quantity::terabytes(size));
        let question = Question {
            work,
            desk: None,
            working: false,
            need: None,
        };
        let site = site_with(&text, &edits);
        let found = answer(&site, &question, &catalogue, &mut Draws::new(2048)).unwrap();
        let write = found.flows.into_iter().next_back().unwrap();
        assert_eq!(write.direction, crate::work::Direction::Write);
        write.transfer.unwrap()
    };
    let middle = |range: crate::budget::RateRange| in_megabytes_per_second(range.p50);
    // four drives keep 100 GB or so aside; most of a full drive is put together anew, at 30 MB/s each
    let full = ask("80 %", "hdd-smr", 4.0);
    // in four of five cases, less those in which something else is as slow
    assert!(
        full.drops_probability > 0.7 && full.drops_probability < 0.82,
        "{full:?}"
    );
    assert!(middle(full.later_megabytes_per_s) < 4.0 * 100.0, "{full:?}");
    assert!(middle(full.first_megabytes_per_s) > 4.0 * 100.0, "{full:?}");
    // an empty one is written as any other
    let empty = ask("0 %", "hdd-smr", 4.0);
    assert!(empty.drops_probability <= 0.0, "{empty:?}");
    let plain = ask("80 %", "hdd-5400", 4.0);
    assert!(plain.drops_probability <= 0.0, "{plain:?}");
    // what fits aside drops nowhere
    let small = ask("80 %", "hdd-smr", 0.01);
    assert!(small.drops_probability < 0.01, "{small:?}");
}

#[test]
fn one_desk_assumes_nothing_of_other_desks_and_runs() {
    let site = site_with(EXAMPLE, &[]);
    let all = copy(&site).assumptions;
    let one = asked(&site, Some("cut-1"), Activity::Copy).assumptions;
    let has = |of: &[crate::site::Assumption], id: &str| of.iter().any(|a| a.id.starts_with(id));
    // cut-1 goes by run 2 to the switch and by run 1 to the NAS
    for id in ["desk.cut-1.", "run.1.", "nas.store.", "network."] {
        assert!(has(&one, id), "{id}");
    }
    for id in ["desk.cut-2.", "desk.sound.", "run.3.", "run.5."] {
        assert!(has(&all, id) && !has(&one, id), "{id}");
    }
}

#[test]
fn a_run_that_gives_no_link_is_said_and_meets_no_need() {
    let catalogue = Catalogue::embedded().unwrap();
    let text = chain(TEN, TEN, TEN, SIX);
    let ask = |length: &str| {
        let edit = format!("run.2.length={length}");
        let question = Question {
            work: Work::plain(Activity::Copy),
            desk: None,
            working: false,
            need: Some(crate::quantity::megabytes_per_second(1.0)),
        };
        let site = site_with(&text, &[&edit]);
        answer(&site, &question, &catalogue, &mut Draws::new(2048)).unwrap()
    };
    let said = |answer: &Answer| {
        let mut kinds = answer.warnings.iter().map(|w| w.kind);
        kinds.any(|kind| kind == WarningKind::MayNotComeUp)
    };
    let near = ask("20 m");
    assert!(!said(&near));
    for flow in &near.flows {
        assert!(flow.no_link_probability <= 0.0 && flow.need.as_ref().unwrap().met);
    }
    // twice the length that every standard ends at: no chance is better than even there
    let far = ask("200 m");
    assert!(said(&far));
    for flow in &far.flows {
        assert!(
            flow.no_link_probability >= 0.5,
            "{}",
            flow.no_link_probability
        );
        let need = flow.need.as_ref().unwrap();
        assert!(!need.met && need.probability <= 1.0 - flow.no_link_probability);
        assert!(in_megabytes_per_second(flow.megabytes_per_s.p50) > 1.0);
    }
}

#[test]
fn a_need_is_met_where_nineteen_in_twenty_reach_it() {
    let catalogue = Catalogue::embedded().unwrap();
    let site = site_with(&chain(ONE, ONE, ONE, SIX), &[]);
    for (need, met) in [(100.0, true), (114.0, false), (130.0, false)] {
        let question = Question {
            work: Work::plain(Activity::Copy),
            desk: None,
            working: false,
            need: Some(crate::quantity::megabytes_per_second(need)),
        };
        for flow in answer(&site, &question, &catalogue, &mut Draws::new(512))
            .unwrap()
            .flows
        {
            let found = flow.need.unwrap();
            assert_eq!(found.met, met, "{need}: {found:?}");
            assert_eq!(found.probability <= 0.0, need > 120.0);
        }
    }
}

#[test]
fn a_loop_that_fits_is_read_from_memory_and_a_larger_one_is_not() {
    let text = chain(TEN, TEN, TEN, SIX);
    let read = |edits: &[&str]| {
        let site = site_with(&text, edits);
        let flow = asked(&site, None, Activity::Play).flows.remove(0);
        in_megabytes_per_second(flow.hop("array.vault").unwrap().ceiling_megabytes_per_s.p50)
    };
    let drives = read(&[]);
    let memory = "nas.store.memory=32 GB";
    let fits = read(&[memory, "array.vault.working-set=10 GB"]);
    let cliff = read(&[memory, "array.vault.working-set=30 GB"]);
    assert!(
        fits > 4.0 * drives && (cliff / drives - 1.0).abs() < 1e-9,
        "{drives} {fits} {cliff}"
    );
    let half = read(&["array.vault.hits=50 %"]);
    assert!(
        half > 1.5 * drives && half < 2.0 * drives,
        "{drives} {half}"
    );
}

#[test]
fn failed_drives_and_rebuilding_cost_reads_and_are_warned_of() {
    let text = chain(TEN, TEN, TEN, "6 x 4 TB ssd-sata");
    let ask = |edits: &[&str]| asked(&site_with(&text, edits), None, Activity::AtTheArray);
    let ceiling = |answer: &Answer| {
        in_megabytes_per_second(
            answer.flows[0]
                .hop("array.vault")
                .unwrap()
                .ceiling_megabytes_per_s
                .p50,
        )
    };
    let (healthy, failed) = (ask(&[]), ask(&["array.vault.failed=2"]));
    let rebuilding = ask(&["array.vault.failed=2", "array.vault.rebuilding=yes"]);
    assert!(ceiling(&healthy) > ceiling(&failed) && ceiling(&failed) > ceiling(&rebuilding));
    let scrubbing = ask(&["array.vault.scrubbing=yes"]);
    assert!(ceiling(&healthy) > ceiling(&scrubbing));
    let note = &scrubbing.flows[0].hop("array.vault").unwrap().note;
    assert!(note.ends_with(", scrubbing"), "{note}");
    // both at once leave less than either
    let both = ask(&[
        "array.vault.failed=2",
        "array.vault.rebuilding=yes",
        "array.vault.scrubbing=yes",
    ]);
    assert!(ceiling(&both) < ceiling(&rebuilding));
    assert!(
        failed
            .warnings
            .iter()
            .any(|w| w.kind == WarningKind::Degraded)
    );
    assert!(
        healthy
            .warnings
            .iter()
            .all(|w| w.kind != WarningKind::Degraded)
    );
}

#[test]
fn small_files_wait_for_their_round_trips() {
    let catalogue = Catalogue::embedded().unwrap();
    let site = site_with(&chain(TEN, TEN, TEN, SIX), &[]);
    let mut question = Question {
        work: Work::plain(Activity::Copy),
        desk: None,
        working: false,
        need: None,
    };
    question.work.files = Some(crate::work::Files::parse("10000 x 50 kB").unwrap());
    let answer = answer(&site, &question, &catalogue, &mut Draws::new(512)).unwrap();
    for flow in &answer.flows {
        assert_eq!(flow.limits[0].hops, ["nas.store.files"]);
        assert!(range(flow).1 < 110.0, "{:?}", range(flow));
    }
}

#[test]
fn a_desk_that_is_not_there_is_refused_with_the_nearest() {
    let catalogue = Catalogue::embedded().unwrap();
    let site = site_with(EXAMPLE, &[]);
    let question = Question {
        work: Work::plain(Activity::Copy),
        desk: Some("cut-l".to_owned()),
        working: false,
        need: None,
    };
    let fault = answer(&site, &question, &catalogue, &mut Draws::new(16)).unwrap_err();
    assert!(
        fault.to_string().contains("did you mean 'cut-1'"),
        "{fault}"
    );
}

#[test]
fn ports_that_share_no_rate_are_refused_before_any_budget() {
    let text = chain(ONE, ONE, ONE, SIX);
    let cages = r#"rate = "40 Gb/s", rates = "40 Gb/s""#;
    let changed = text.replace(
        "port.a = { rate = \"1 Gb/s\" }\n[switch",
        &format!("port.a = {{ {cages} }}\n[switch"),
    );
    assert_ne!(changed, text);
    let faults = read(&changed, &[], &Catalogue::embedded().unwrap()).unwrap_err();
    assert!(faults.to_string().contains("rate"), "{faults}");
}

#[test]
fn the_working_names_formulas_and_sources() {
    let catalogue = Catalogue::embedded().unwrap();
    let site = site_with(EXAMPLE, &[]);
    let question = Question {
        work: Work::plain(Activity::Copy),
        desk: Some("cut-1".to_owned()),
        working: true,
        need: None,
    };
    let answer = answer(&site, &question, &catalogue, &mut Draws::new(64)).unwrap();
    for flow in &answer.flows {
        for hop in &flow.hops {
            let step = &flow.steps[hop.step.unwrap()];
            assert!(!step.result.is_empty());
        }
        for step in &flow.steps {
            // a choice between options explains itself; all else has a source
            assert!(
                !step.source.is_empty() || step.formula == "whichever it is",
                "{step:?}"
            );
        }
    }
}
