use super::*;
use crate::allocate::{Demand, Problem, Resource, Visit, fill};
use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::quantity::{DataRate, Measure, in_megabytes_per_second, ratio};
use crate::site::read;
use crate::work::Activity;

mod arrays;
mod better;
mod clear;
mod faster;
mod random;
mod runs;
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

#[test]
fn verify_workers_do_not_change_the_answer() {
    let catalogue = Catalogue::embedded().unwrap();
    let site = site_with(EXAMPLE, &[]);
    let question = Question {
        work: Work::plain(Activity::Copy),
        desk: None,
        working: false,
        need: None,
    };
    let desks: Vec<&Desk> = site.desks.iter().collect();
    let with = |workers: usize| {
        let mut answer = asked(&site, Some("cut-1"), Activity::Copy);
        answer.flows.clear();
        answer.warnings.clear();
        let cabling = Cabling::new(&catalogue).unwrap();
        let mut draws = Draws::new(256);
        let known = (&cabling, &mut draws);
        let of = (&site, &question, &catalogue);
        on_workers(&desks, workers, of, known, &mut answer).unwrap();
        format!("{:?} {:?}", answer.flows, answer.warnings)
    };
    let one = with(1);
    assert!(one.len() > 10_000);
    for workers in [2, 3, 5, 9] {
        assert!(with(workers) == one, "{workers} workers");
    }
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
const KERNEL: &str = "desk.cut-1.client=kernel";

#[test]
fn validate_plateau_of_one_gigabit() {
    // the window that healthy copies over 1 Gb/s keep: 0.9 of IPv4 with timestamps to IPv4
    let site = site_with(&chain(ONE, ONE, ONE, SIX), &[KERNEL]);
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
fn a_need_is_met_where_nineteen_in_twenty_reach_it() {
    let catalogue = Catalogue::embedded().unwrap();
    let site = site_with(&chain(ONE, ONE, ONE, SIX), &[KERNEL]);
    for (need, met) in [(100.0, true), (117.5, false), (130.0, false)] {
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

#[test]
fn what_only_loses_is_noticed_and_what_gains_or_loses_is_counted_both_ways() {
    let flow = |rates: Vec<f64>, before: &Flow| Flow {
        rates,
        ..before.clone()
    };
    let catalogue = Catalogue::embedded().unwrap();
    let question = Question {
        work: Work::plain(Activity::Copy),
        desk: Some("sound".to_owned()),
        working: false,
        need: None,
    };
    let site = site_with(EXAMPLE, &[]);
    let answer = answer(&site, &question, &catalogue, &mut Draws::new(64)).unwrap();
    let like = |rates: Vec<f64>| Answer {
        flows: vec![flow(rates, &answer.flows[0])],
        ..answer.clone()
    };
    let before = like(vec![100.0; 20]);
    let of = |gain: usize, lose: usize| {
        let mut rates = vec![120.0; gain];
        rates.extend(vec![80.0; lose]);
        rates.resize(20, 100.0);
        compare(&before, &like(rates)).remove(0)
    };
    // one case of ten is enough, whichever way it goes or both together; less is not
    for (gain, lose, noticed) in [
        (0, 0, false),
        (1, 0, false),
        (0, 1, false),
        (2, 0, true),
        (0, 2, true),
        (1, 1, true),
    ] {
        let change = of(gain, lose);
        assert_eq!(change.noticeable, noticed, "{gain} gain, {lose} lose");
        let share = |count: usize| count as f64 / 20.0;
        assert!((change.gains_probability - share(gain)).abs() < 1e-12);
        assert!((change.loses_probability - share(lose)).abs() < 1e-12);
    }
}
