use super::*;
use crate::cable::{Advice, Asked, Carried, RateRow, Report, of_site};
use crate::change::Edit;
use crate::copper::{Change, Copper, Installation, Optic, Standing};
use crate::hop::copper::chances;
use crate::quantity::metres;
use crate::site::{Site, read};
use crate::spread::normal_share;

fn report(text: &str) -> Report {
    cabling().report(&said(text), Asked::default()).unwrap()
}

fn rows(report: &Report) -> Vec<RateRow> {
    match &report.carried {
        Carried::Copper(rows) => rows.clone(),
        other => panic!("{other:?}"),
    }
}

fn row(report: &Report, megabits: u64) -> RateRow {
    *rows(report)
        .iter()
        .find(|r| r.rate == rate(megabits))
        .unwrap()
}

#[test]
fn verify_one_run_has_the_verdict_of_its_physics() {
    let copper = Copper::new(&catalogue()).unwrap();
    for text in [
        "cat5e 45 m",
        "cat6 55 m, tight",
        "cat6a 3 m",
        "cat8 35 m, 2 connections",
    ] {
        let run = said(text);
        let expected = copper.carries(&physics(&run)).unwrap();
        let found = report(text);
        for (rate, verdict) in &expected {
            let row = row(&found, rate.megabits() as u64);
            assert_eq!(row.today, *verdict, "{text} {rate}");
        }
    }
}

#[test]
fn verify_slow_rates_have_the_chances_of_the_budget() {
    // 1 Gb/s over a run of 45 m is as good as certain
    let sound = row(&report("cat5e 45 m, tight, ports 1 Gb/s"), 1000);
    assert!(one(sound.today.p_hold) > 0.99);
    // but not over copper-clad aluminium at its end, nor over two pairs
    let clad = row(
        &report("cat5e 95 m, tight, copper-clad, ports 1 Gb/s"),
        1000,
    );
    assert!(one(clad.today.p_hold) < 0.99);
    let two = report("cat5e 45 m, two pairs");
    assert_eq!(row(&two, 1000).today.standing, Standing::TooFewPairs);
    assert!(one(row(&two, 1000).today.p_hold) == 0.0);
    assert!(one(row(&two, 100).today.p_hold) > 0.98);
    let clad = report("cat5e 45 m, copper-clad, ports 100 Mb/s");
    assert!(one(row(&clad, 100).today.p_hold) < one(row(&two, 100).today.p_hold));
}

#[test]
fn verify_chances_are_nested_and_in_order() {
    for text in [
        "cat5e 60 m, tight",
        "unknown 20..90 m",
        "cat6 40 m, 6 neighbours at 1 Gb/s",
    ] {
        let rows = rows(&report(text));
        for pair in rows.windows(2) {
            assert!(pair[0].rate < pair[1].rate);
            for (slow, fast) in [
                (Some(pair[0].today), Some(pair[1].today)),
                (pair[0].upgraded, pair[1].upgraded),
            ] {
                let (Some(slow), Some(fast)) = (slow, fast) else {
                    continue;
                };
                assert!(slow.p_hold >= fast.p_hold && slow.p_link >= fast.p_link);
                assert!(fast.p_hold <= fast.p_link);
            }
        }
    }
}

#[test]
fn verify_upgraded_neighbours_are_those_at_the_same_rate() {
    let today = row(&report("cat6 55 m, tight, 6 neighbours at 1 Gb/s"), 10_000);
    let later = row(&report("cat6 55 m, tight, 6 neighbours"), 10_000);
    assert_eq!(today.upgraded, Some(later.today));
    assert_eq!(later.upgraded, None);
    assert!(one(today.today.p_hold) > 0.9 && one(later.today.p_hold) < 0.9);
    assert_eq!(today.advice, Advice::KeepNeighbours);
    let Advice::Change { change, p_hold } = later.advice else {
        panic!("{later:?}")
    };
    assert_eq!(change, Change::NeighboursAtOneGigabit);
    assert_eq!(p_hold, today.today.p_hold);
}

#[test]
fn verify_the_best_improvement_is_the_best_there_is() {
    // nobody to quieten, nothing to untie: a lower rate holds
    let lone = report("cat5e 80 m, alone, 2 connections, cords 2 m, 20 C");
    let ten = row(&lone, 10_000);
    let Advice::LowerRate {
        rate: lower,
        p_hold,
    } = ten.advice
    else {
        panic!("{ten:?}")
    };
    assert_eq!(lower, rate(5000));
    assert_eq!(p_hold, row(&lone, 5000).today.p_hold);
    assert_eq!(row(&lone, 5000).advice, Advice::Nothing);
    // nothing at all helps beyond the promise where no slower rate is known
    let only = said("cat8 45 m, 2 connections");
    let Joint::Copper { cases, typical, .. } = only.joint.clone() else {
        panic!()
    };
    let fast = CableRun {
        joint: Joint::Copper {
            cases,
            typical,
            rates: vec![rate(25_000)],
        },
        ..only
    };
    let found = cabling().report(&fast, Asked::default()).unwrap();
    assert_eq!(row(&found, 25_000).advice, Advice::Fibre);
    assert_eq!(found.best(), None);
}

#[test]
fn verify_cases_are_weighted() {
    // a run that is one of two is as good as their weighted mean
    let (short, long) = (said("cat5e 30 m"), said("cat5e 80 m"));
    let holds = |run: &CableRun| {
        let found = cabling().report(run, Asked::default()).unwrap();
        one(row(&found, 10_000).today.p_hold)
    };
    let mut both = short.clone();
    let (Joint::Copper { cases, .. }, Joint::Copper { cases: more, .. }) =
        (&mut both.joint, &long.joint)
    else {
        panic!()
    };
    cases.extend(more.iter().cloned());
    cases[0].weight = 0.7;
    cases[1].weight = 0.3;
    let expected = 0.7 * holds(&short) + 0.3 * holds(&long);
    assert!((holds(&both) - expected).abs() < 1e-12);
}

#[test]
fn verify_threads_do_not_change_the_answer() {
    let cabling = cabling();
    let runs: Vec<CableRun> = (0..9)
        .map(|i| said(&format!("cat5e {} m, 3 neighbours at 1 Gb/s", 10 + 10 * i)))
        .collect();
    let asked = Asked {
        need: Some(rate(5000)),
    };
    let together = cabling.reports(&runs, asked).unwrap();
    let alone: Vec<Report> = runs
        .iter()
        .map(|r| cabling.report(r, asked).unwrap())
        .collect();
    assert_eq!(together, alone);
    assert_eq!(cabling.reports(&[], asked).unwrap(), []);
}

#[test]
fn verify_a_need_is_met_by_any_rate_that_is_fast_enough() {
    let cabling = cabling();
    let held = |text: &str, megabits: u64| {
        let asked = Asked {
            need: Some(rate(megabits)),
        };
        cabling.report(&said(text), asked).unwrap().held.unwrap()
    };
    let three = held("cat5e 45 m", 3000);
    assert_eq!(three.p_hold, row(&report("cat5e 45 m"), 5000).today.p_hold);
    assert!(three.met && !held("cat5e 60 m", 10_000).met);
    assert!(held("om3 80 m", 40_000).met && !held("om3 80 m", 25_000_000).met);
    // 100GBASE-SR4 ends at 70 m of OM3
    assert!(!held("om3 80 m", 100_000).met);
    assert!(held("twinax 3 m", 25_000).met && !held("twinax 4 m, 1 connections", 200_000).met);
    assert!(one(held("cat6 10 m", 25_000).p_hold) == 0.0);
}

#[test]
fn verify_fibre_of_unknown_grade_shows_every_grade() {
    let Carried::Fibre(rows) = report("fibre 80 m").carried else {
        panic!()
    };
    assert!(
        rows.iter().any(|r| r.grade.word() == "om1")
            && rows.iter().any(|r| r.grade.word() == "os2")
    );
    let Carried::Fibre(rows) = report("fibre om1 60 m, 2 connections").carried else {
        panic!()
    };
    let short = rows.iter().find(|r| r.optic == Optic::TenSr).unwrap();
    assert!(!short.verdict.carries());
}

#[test]
fn verify_the_curve_passes_through_the_run() {
    let run = said("cat6 55 m, tight");
    let curve = cabling().curve(&run, rate(10_000)).unwrap();
    assert_eq!(
        (curve[0].0, curve[curve.len() - 1].0),
        (metres(5.0), metres(100.0))
    );
    let here = curve.iter().find(|(l, _)| *l == metres(55.0)).unwrap();
    let margin = row(&report("cat6 55 m, tight"), 10_000)
        .today
        .margin
        .unwrap();
    assert_eq!(here.1, [margin.low, margin.likely, margin.high]);
    assert!(curve.windows(2).all(|w| w[1].1[1] < w[0].1[1]));
    // 25 Gb/s ends at 30 m
    let fast = cabling().curve(&said("cat8 20 m"), rate(25_000)).unwrap();
    assert_eq!(fast[fast.len() - 1].0, metres(30.0));
    assert_eq!(
        cabling().curve(&said("om3 20 m"), rate(10_000)).unwrap(),
        []
    );
}

/// A desk on one run, with ports of one rate.
fn lone(cable: &str, length: &str, ports: &str) -> Site {
    edited((cable, length, ports), &[])
}

fn edited((cable, length, ports): (&str, &str, &str), edits: &[&str]) -> Site {
    let text = "name = \"one run\"\n\
        [array.vault]\nnas = \"store\"\nlayout = \"raid6\"\ndrives = \"6 x 10 TB hdd-7200\"\n\
        [nas.store]\nservice = \"smb\"\nport.a = { rate = \"PORTS\" }\n\
        [desk.cut-1]\nport.a = { rate = \"PORTS\" }\n\
        [[run]]\nfrom = \"desk.cut-1\"\nto = \"nas.store\"\ncable = \"CABLE\"\nlength = \"LENGTH\"\nbundle = \"loose\"\n";
    let text = text.replace("CABLE", cable).replace("LENGTH", length);
    let edits = Edit::parse_all(edits).unwrap();
    read(&text.replace("PORTS", ports), &edits, &catalogue()).unwrap()
}

#[test]
fn verify_neighbours_told_in_a_site_are_those_told_in_words() {
    // the budget draws 4096 times
    const APART: f64 = 0.03;
    let mut chances = Vec::new();
    for (edits, words) in [
        (&[][..], "cat6 55 m, tight"),
        (&["run.1.neighbours=6"], "cat6 55 m, tight, 6 neighbours"),
        (
            &["run.1.neighbours=6 at 1 Gb/s"],
            "cat6 55 m, tight, 6 neighbours at 1 Gb/s",
        ),
        (
            &[
                "run.1.neighbours=24",
                "run.1.temperature=45 C",
                "run.1.connections=2",
            ],
            "cat6 55 m, tight, 24 neighbours, 45 C, 2 connections",
        ),
    ] {
        let told = edited(
            ("cat6", "55 m", "10 Gb/s"),
            &[&["run.1.bundle=tight"], edits].concat(),
        );
        let found = of_site(&told);
        let of_site = cabling().report(&found.runs[0], Asked::default()).unwrap();
        let in_words = report(words);
        assert_eq!(
            row(&of_site, 10_000).today,
            row(&in_words, 10_000).today,
            "{words}"
        );
        let here = one(row(&in_words, 10_000).today.p_hold);
        if here < 0.98 {
            let there = budgeted(&told);
            assert!((here - there).abs() <= APART, "{words}: {here} {there}");
        }
        chances.push(here);
    }
    // as many at a slower rate disturb less, more of them and warmth disturb more
    assert_eq!(chances[0].to_bits(), chances[1].to_bits());
    assert!(chances[2] > chances[1] + 0.1, "{chances:?}");
    assert!(chances[3] < chances[1], "{chances:?}");
}

/// The chance that the budget warns with.
fn budgeted(site: &Site) -> f64 {
    use crate::budget::WarningKind::{CableMayFallBack, ComesAndGoes};
    use crate::budget::{Question, answer};
    use crate::spread::{Draws, USUAL_DRAWS};
    use crate::work::{Activity, Work};
    let question = Question {
        work: Work::plain(Activity::Wire),
        desk: None,
        working: false,
        need: None,
    };
    let mut draws = Draws::new(USUAL_DRAWS);
    let answer = answer(site, &question, &catalogue(), &mut draws).unwrap();
    let of_run = |w: &&crate::budget::Warning| {
        w.place == "run.1" && matches!(w.kind, CableMayFallBack | ComesAndGoes)
    };
    let warning = answer.warnings.iter().find(of_run).unwrap();
    let percent = warning.message.rsplit_once(" of 100").unwrap().0;
    let percent: f64 = percent.rsplit(' ').next().unwrap().parse().unwrap();
    percent / 100.0
}

#[test]
fn verify_the_cable_in_the_budget_is_the_cable_here() {
    // both ask the same physics with the same assumptions, the budget by draws:
    // 4096 of them and straight lines between four lengths there, four lengths here
    const APART: f64 = 0.03;
    for (cable, length) in [
        ("cat5e", "40..55 m"),
        ("unknown", "50..80 m"),
        ("cat6", "70 m"),
    ] {
        let site = lone(cable, length, "10 Gb/s");
        let found = of_site(&site);
        let here = cabling().report(&found.runs[0], Asked::default()).unwrap();
        let here = one(row(&here, 10_000).today.p_hold);
        let there = budgeted(&site);
        assert!(
            (here - there).abs() <= APART,
            "{cable} {length}: {here} and {there}"
        );
    }
}

#[test]
fn verify_the_chances_of_the_budget_are_those_here_at_every_length() {
    // the budget keeps scores, and chances no closer to nothing and to certainty than this
    const SCORED: f64 = 1e-9;
    let copper = Copper::new(&catalogue()).unwrap();
    let rates: Vec<LinkRate> = [100, 1000, 2500, 5000, 10_000].map(rate).to_vec();
    for category in ["cat5", "cat5e", "cat6", "cat6a", "cat7"] {
        for bundle in ["tight", "loose", "alone"] {
            for length in [3.0, 45.0, 99.0, 100.0, 101.0, 130.0, 180.0, 400.0] {
                let there = chances(
                    &copper,
                    (category, bundle),
                    &Installation::default(),
                    metres(length),
                    &rates,
                );
                let here = report(&format!("{category} {length} m, {bundle}"));
                for chance in there {
                    let today = row(&here, chance.rate.megabits() as u64).today;
                    let what = format!("{category} {bundle} {length} m {}", chance.rate);
                    for (score, share) in [(chance.link, today.p_link), (chance.hold, today.p_hold)]
                    {
                        let there = normal_share(score);
                        assert!(
                            (there - one(share)).abs() < SCORED,
                            "{what}: {there} {share:?}"
                        );
                        assert!(length <= 100.0 || one(share) <= 0.5, "{what}: {share:?}");
                    }
                }
            }
        }
    }
}

#[test]
fn verify_a_promise_that_ends_within_a_length_ends_there_in_the_budget() {
    // the chance steps from nearly one down to one half at 100 m: the budget by draws, here the
    // mean over 1000 slices of the length; straight lines across the step would be 0.1 off
    const APART: f64 = 0.02;
    let copper = Copper::new(&catalogue()).unwrap();
    for length in ["80..140 m", "95..102 m"] {
        let site = lone("cat6", length, "1 Gb/s");
        let law = super::super::describe::length(length).unwrap();
        let each = |i: i32| {
            let at = law.quantile((f64::from(i) + 0.5) / 1000.0);
            let found = chances(
                &copper,
                ("cat6", "loose"),
                &Installation::default(),
                at,
                &[rate(1000)],
            );
            normal_share(found[0].hold)
        };
        let expected = (0..1000).map(each).sum::<f64>() / 1000.0;
        let there = budgeted(&site);
        assert!(
            (expected - there).abs() <= APART,
            "{length}: {expected} {there}"
        );
        assert!((0.6..0.95).contains(&expected));
    }
}

#[test]
fn fibre_and_twinax_of_a_site_are_judged_where_their_length_is_told() {
    let text = "name = \"one run\"\n\
        [array.vault]\nnas = \"store\"\nlayout = \"raid6\"\ndrives = \"6 x 10 TB hdd-7200\"\n\
        [nas.store]\nport.a = { rate = \"10 Gb/s\", socket = \"cage\" }\n\
        [desk.cut-1]\nport.a = { rate = \"10 Gb/s\", socket = \"cage\" }\n\
        [[run]]\nfrom = \"desk.cut-1\"\nto = \"nas.store\"\n";
    let judged = |lines: &str| {
        let site = read(&format!("{text}{lines}"), &[], &catalogue()).unwrap();
        of_site(&site)
    };
    let told =
        judged("cable = \"fibre\"\nlength = \"80 m\"\ngrade = \"om3\"\nnegotiated = \"1 Gb/s\"");
    let run = &told.runs[0];
    assert_eq!(
        (run.label.as_str(), run.negotiated),
        ("run.1", Some(rate(1000)))
    );
    assert_eq!(run.joint, said("om3 80 m").joint);
    let mixed =
        judged("cable = \"fibre\"\nlength = \"80 m\"\ngrade = \"om3\"\ncord-grade = \"om1\"");
    assert_eq!(mixed.runs[0].joint, said("om3 80 m, cords om1").joint);
    let ten = |run: &CableRun| {
        let Carried::Fibre(rows) = cabling().report(run, Asked::default()).unwrap().carried else {
            panic!()
        };
        // its ports know 1 and 10 Gb/s
        assert!(
            rows.iter().all(|r| r.verdict.rate <= rate(10_000)),
            "{rows:?}"
        );
        rows.iter()
            .find(|r| r.optic == Optic::TenSr)
            .unwrap()
            .verdict
    };
    // 0.24 dB of fibre and two mated pairs, and the step between the cores
    assert!((ten(&told.runs[0]).loss.0 - 1.74).abs() < 1e-9 && ten(&told.runs[0]).carries());
    assert!((ten(&mixed.runs[0]).loss.0 - 6.44).abs() < 1e-9 && !ten(&mixed.runs[0]).carries());
    let twinax = judged("cable = \"twinax\"\nlength = \"3 m\"");
    assert_eq!(twinax.runs[0].joint, said("twinax 3 m").joint);
    let judged_twinax = cabling().report(&twinax.runs[0], Asked::default()).unwrap();
    let Carried::Twinax(rows) = judged_twinax.carried else {
        panic!()
    };
    assert_eq!(
        (rows.len(), rows[0].rate, rows[0].carries_plain),
        (1, rate(10_000), true)
    );
    for (lines, word) in [("cable = \"fibre\"", "fibre"), ("", "twinax")] {
        let untold = judged(lines);
        assert!(untold.runs.is_empty());
        assert_eq!(untold.others, [("run.1".to_owned(), word.to_owned())]);
    }
}
