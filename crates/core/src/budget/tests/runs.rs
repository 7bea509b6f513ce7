//! Which rate a run comes up with, and whether it comes up at all.

use super::*;

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

/// Ends that agree on a rate that the cable rarely carries are told so in place of a chance; a rate that is
/// likely carried is not said to come and go.
#[test]
fn a_rate_that_is_rarely_carried_is_said_to_come_and_go() {
    let kinds = |edits: &[&str]| {
        let found = copy(&site_with(&chain(TEN, TEN, TEN, SIX), edits)).warnings;
        let here = found.iter().filter(|w| w.place == "run.2");
        here.map(|w| w.kind).collect::<Vec<_>>()
    };
    let rare = kinds(&["run.2.cable=\"cat5e\"", "run.2.length=\"90 m\""]);
    assert!(rare.contains(&WarningKind::ComesAndGoes), "{rare:?}");
    assert!(!rare.contains(&WarningKind::CableMayFallBack), "{rare:?}");
    let sound = kinds(&[]);
    assert!(!sound.contains(&WarningKind::ComesAndGoes), "{sound:?}");
}

/// A switch that passes from 10 Gb/s to 1 Gb/s is said to lose frames, unless somebody says what it does
/// with them; where all is equally fast nothing is said.
#[test]
fn a_switch_between_far_rates_is_said_to_lose_frames() {
    let warned = |desk: &str, edits: &[&str]| {
        let site = site_with(&chain(TEN, desk, TEN, SIX), edits);
        let found = copy(&site).warnings;
        let steps = found.iter().filter(|w| w.kind == WarningKind::FastToSlow);
        steps.count()
    };
    assert_eq!(warned(ONE, &[]), 1);
    assert_eq!(warned(TEN, &[]), 0);
    assert_eq!(warned(ONE, &["switch.attic.pause=\"yes\""]), 0);
    assert_eq!(warned(ONE, &["run.2.drops=\"0.1 %\""]), 0);
}

/// A radio link that may not come up is told once, whichever way the data go.
#[test]
fn a_weak_radio_link_is_told_once() {
    let sites = narrows_data::SITES;
    let (_, text) = sites
        .iter()
        .find(|(name, _)| *name == "granary-lane-whole")
        .unwrap();
    let found = copy(&site_with(text, &[])).warnings;
    let dead = found
        .iter()
        .filter(|w| w.kind == WarningKind::MayNotComeUp && w.place == "run.9");
    assert_eq!(dead.count(), 1);
}
