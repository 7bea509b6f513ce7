//! Planted causes: sites are drawn, a cause is planted, readings are made by a generator whose
//! constants are off and whose readings scatter twice as far as the explainer believes, and the
//! explanation is held against the best that anybody could do who knows the generator.

use super::super::candidates::{Candidate, candidates, limit_row};
use super::super::cause::{Cause, Change, causes};
use super::super::effect::{Effect, rates};
use super::super::evidence::{Evidence, Noticed};
use super::super::inference::{Inference, Posterior, Weights};
use super::super::judged::Judged;
use super::super::observed::{Observed, Scatter};
use super::super::places::Places;
use super::super::reading::{Amount, RateReading, Reading, Remark, What};
use super::super::scenarios::{Ask, Scenarios};
use super::super::{Observations, evidence, families_of};
use super::drawn::{Luck, OFF, bent, site_text};
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Measure};
use crate::site::read;
use crate::work::Direction;
use rand_pcg::Pcg64Mcg;
use std::collections::BTreeMap;
use std::fmt::Write;

/// Different sites; each has its own perturbed truth.
const SITES: usize = 64;
/// Readings planted at each: so many that the difference of a rare family is not luck.
const EACH: usize = 288;
/// Draws of the explainer: fewer than usual, for time; its probabilities get coarser by that.
const DRAWS: usize = 512;
/// Scatter of readings over what the explainer believes.
pub(super) const NOISIER: f64 = 2.0;
/// Within so much of the best that could be reached, in each family.
const WITHIN: f64 = 0.10;
/// Stated and true share of right answers may differ by this much.
pub(super) const CALIBRATED: f64 = 0.07;
/// A bin of the calibration holds at least so many answers.
pub(super) const BIN: usize = 400;
/// Trials, all told.
const TRIALS: usize = 4000;
/// A family with fewer trials says nothing about a tenth.
const FEW: usize = 60;

/// One site with both views of it.
struct Place<'a> {
    base: &'a Observations,
    places: Places,
    believed: Scenarios<'a>,
    truth: Scenarios<'a>,
    believed_candidates: Vec<Candidate>,
    true_candidates: Vec<Candidate>,
}

/// The desk of every drawn site.
const DESK: &str = "cut-1";

const ASKS: [(What, Direction); 6] = [
    (What::Copy, Direction::Read),
    (What::Copy, Direction::Write),
    (What::RawTcp, Direction::Read),
    (What::RawTcp, Direction::Write),
    (What::LocalArray, Direction::Read),
    (What::LocalArray, Direction::Write),
];

fn ask(what: What, direction: Direction) -> Ask {
    Ask {
        what,
        direction,
        streams: 1,
        desk: DESK.to_owned(),
        random: None,
    }
}

fn every_reading() -> Vec<Reading> {
    ASKS.iter()
        .map(|&(what, direction)| reading(what, direction, DataRate::from_base(1e8)))
        .collect()
}

fn reading(what: What, direction: Direction, rate: DataRate) -> Reading {
    Reading {
        text: String::new(),
        desk: None,
        what,
        direction: Some(direction),
        amount: Amount::Rate(RateReading::plain(rate)),
        size: None,
        streams: 1,
        again: false,
        random: None,
    }
}

/// Which families a posterior belongs to, the likeliest first.
fn ranked(inference: &Inference<'_>, posteriors: &[Posterior]) -> Vec<(String, f64)> {
    let mut sums: Vec<(String, f64)> = Vec::new();
    for posterior in posteriors {
        for (family, share) in families_of(inference, posterior) {
            match sums.iter_mut().find(|(f, _)| *f == family) {
                Some((_, sum)) => *sum += share,
                None => sums.push((family, share)),
            }
        }
    }
    sums.sort_by(|a, b| b.1.total_cmp(&a.1));
    sums
}

#[derive(Clone, Copy, Default)]
struct Score {
    trials: usize,
    first: usize,
    third: usize,
    best: usize,
}

#[derive(Default)]
struct Outcome {
    families: BTreeMap<String, Score>,
    /// Stated probability of the first family, and whether it was right.
    stated: Vec<(f64, bool)>,
}

/// What is planted: nothing, or a candidate, by the weights that the explainer believes in.
fn planted(luck: &mut Luck, place: &Place<'_>, weights: Weights) -> Option<usize> {
    if luck.share() < weights.healthy / (1.0 - weights.other) {
        return None;
    }
    let priors: Vec<f64> = place.true_candidates.iter().map(|s| s.prior).collect();
    Some(luck.weighted(&priors))
}

struct Known<'a> {
    causes: &'a [Cause],
    evidence: &'a Evidence,
    scatter: Scatter,
    weights: Weights,
    judged: &'a Judged,
}

impl Known<'_> {
    fn inference<'b>(
        &'b self,
        candidates: &'b [Candidate],
        observed: &'b [Observed],
        places: &'b Places,
        remarks: &'b [Noticed],
        scatter: Scatter,
    ) -> Inference<'b> {
        Inference {
            causes: self.causes,
            candidates,
            observed,
            places,
            remarks,
            evidence: self.evidence,
            scatter,
            weights: self.weights,
            shown: &[],
        }
    }
}

/// What somebody measures: a copy, and some of the rest.
fn measured(luck: &mut Luck) -> Vec<(What, Direction)> {
    let mut chosen: Vec<(What, Direction)> = vec![ASKS[luck.below(2)]];
    for (what, direction) in ASKS {
        let chance = match what {
            What::Copy => 0.6,
            What::RawTcp => 0.35,
            _ => 0.3,
        };
        if !chosen.contains(&(what, direction)) && luck.share() < chance {
            chosen.push((what, direction));
        }
    }
    chosen
}

fn trial(luck: &mut Luck, place: &Place<'_>, known: &Known<'_>, outcome: &mut Outcome) {
    let copy = ask(What::Copy, Direction::Read);
    let predicted = place.truth.made(&copy).unwrap();
    // a draw and a cause that matters in it
    let (d, candidate, family) = loop {
        let d = luck.below(place.truth.count());
        let Some(index) = planted(luck, place, known.weights) else {
            let row = limit_row(known.causes, predicted.limit[d], place.places.tags(DESK)).unwrap();
            break (d, None, known.causes[row].family.clone());
        };
        let candidate = &place.true_candidates[index];
        let cause = &known.causes[candidate.cause];
        // a slip of the unit has no weight where the unit is certain, as it is here
        if cause.change == Change::Slip {
            continue;
        }
        break (d, Some(index), cause.family.clone());
    };
    let effects: Vec<&Effect> = candidate
        .map(|i| &place.true_candidates[i].effect)
        .into_iter()
        .collect();
    let chosen = measured(luck);
    let mut told = Observations {
        path_told: true,
        array_told: true,
        desk: Some(DESK.to_owned()),
        ..Observations::default()
    };
    let mut matters = candidate.is_none();
    for (what, direction) in chosen {
        let asked = ask(what, direction);
        let healthy = place.truth.made(&asked).unwrap().healthy[d];
        let real = rates(&asked, &effects, &place.truth).unwrap()[d];
        matters |= (real / healthy - 1.0).abs() > known.weights.binds;
        let seen = real * libm::exp(NOISIER * known.scatter.point * luck.normal());
        told.readings
            .push(reading(what, direction, DataRate::from_base(seen)));
    }
    if !matters {
        return;
    }
    if let Some(index) = candidate {
        let cause = &known.causes[place.true_candidates[index].cause];
        for id in [
            "parallel-adds",
            "other-computer-better",
            "bursts",
            "drops-after",
            "core-busy-high",
        ] {
            if luck.share() < known.evidence.of(id, &cause.id, &cause.family) {
                told.remarks.push(Remark {
                    text: id.to_owned(),
                    id: id.to_owned(),
                    desk: None,
                    rate: None,
                    size: None,
                    time: None,
                });
            }
        }
    }
    let observed = Observed::all(&told);
    let remarks = evidence::remarks(&told, known.judged);
    let own = known.inference(
        &place.believed_candidates,
        &observed,
        &place.places,
        &remarks,
        known.scatter,
    );
    let answer = ranked(&own, &own.judge(&place.believed));
    let noisy = Scatter {
        point: known.scatter.point * NOISIER,
        ..known.scatter.exact()
    };
    let best = known.inference(
        &place.true_candidates,
        &observed,
        &place.places,
        &remarks,
        noisy,
    );
    let best = ranked(&best, &best.judge(&place.truth));
    let score = outcome.families.entry(family.clone()).or_default();
    score.trials += 1;
    let first = answer.first().is_some_and(|(f, _)| *f == family);
    score.first += usize::from(first);
    score.third += usize::from(answer.iter().take(3).any(|(f, _)| *f == family));
    score.best += usize::from(best.first().is_some_and(|(f, _)| *f == family));
    outcome
        .stated
        .push((answer.first().map_or(0.0, |(_, p)| *p), first));
}

fn simulate(seed: u64, sites: std::ops::Range<usize>) -> Outcome {
    let catalogue = Catalogue::embedded().unwrap();
    let all = causes().unwrap();
    let evidence = Evidence::embedded().unwrap();
    let judged = Judged::new(&catalogue).unwrap();
    let known = Known {
        causes: &all,
        evidence: &evidence,
        scatter: Scatter::new(&catalogue).unwrap(),
        weights: Weights::new(&catalogue).unwrap(),
        judged: &judged,
    };
    let mut outcome = Outcome::default();
    for index in sites {
        let mut luck = Luck(Pcg64Mcg::new(
            u128::from(seed) << 64 | (index as u128) << 1 | 1,
        ));
        let text = site_text(&mut luck);
        let off = bent(&catalogue, &mut luck);
        let told = |c: &Catalogue| Observations {
            sites: vec![(
                read(&text, &[], c).unwrap_or_else(|f| panic!("{f}\n{text}")),
                1.0,
            )],
            path_told: true,
            array_told: true,
            readings: every_reading(),
            ..Observations::default()
        };
        let (base, real) = (told(&catalogue), told(&off));
        let mut believed = Scenarios::new(&base, &catalogue, DRAWS).unwrap();
        let mut truth = Scenarios::new(&real, &off, DRAWS).unwrap();
        for (what, direction) in ASKS {
            believed.predict(&ask(what, direction)).unwrap();
            truth.predict(&ask(what, direction)).unwrap();
        }
        if believed.made(&ask(What::Copy, Direction::Read)).is_none()
            || truth.made(&ask(What::Copy, Direction::Read)).is_none()
        {
            continue;
        }
        let observed = Observed::all(&base);
        let places = Places::of(&base.sites[0].0, &base, &observed, &[], &judged);
        let believed_candidates = candidates(&all, &places, &observed, &mut believed);
        let mut true_candidates = candidates(&all, &places, &observed, &mut truth);
        for candidate in &mut true_candidates {
            let factor = 1.0 + OFF * (2.0 * luck.share() - 1.0);
            if matches!(
                candidate.effect.change,
                Change::Cap | Change::Scale | Change::Window | Change::Requests
            ) {
                for amount in &mut candidate.effect.amount {
                    *amount *= factor;
                }
            }
        }
        let place = Place {
            base: &base,
            places,
            believed,
            truth,
            believed_candidates,
            true_candidates,
        };
        debug_assert!(!place.base.sites.is_empty());
        for _ in 0..EACH {
            trial(&mut luck, &place, &known, &mut outcome);
        }
    }
    outcome
}

fn merged(mut a: Outcome, b: Outcome) -> Outcome {
    for (family, score) in b.families {
        let sum = a.families.entry(family).or_default();
        sum.trials += score.trials;
        sum.first += score.first;
        sum.third += score.third;
        sum.best += score.best;
    }
    a.stated.extend(b.stated);
    a
}

pub(super) fn bins(stated: &[(f64, bool)]) -> Vec<(f64, f64, usize)> {
    let mut sorted = stated.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let count = (sorted.len() / BIN).clamp(1, 8);
    let size = sorted.len() / count;
    (0..count)
        .map(|i| {
            let end = if i + 1 == count {
                sorted.len()
            } else {
                (i + 1) * size
            };
            let part = &sorted[i * size..end];
            let n = part.len() as f64;
            let said = part.iter().map(|p| p.0).sum::<f64>() / n;
            let right = part.iter().filter(|p| p.1).count() as f64 / n;
            (said, right, part.len())
        })
        .collect()
}

#[test]
fn verify_planted_causes_are_found_as_well_as_anybody_could() {
    let half = SITES / 2;
    let (a, b) = std::thread::scope(|s| {
        let other = s.spawn(move || simulate(11, half..SITES));
        (simulate(11, 0..half), other.join().unwrap())
    });
    let outcome = merged(a, b);
    let trials = outcome.stated.len();
    let mut text = String::from(
        "| family | trials | first of ours | among our first three | first of the best |\n| --- | ---: | ---: | ---: | ---: |\n",
    );
    for (family, s) in &outcome.families {
        let share = |n: usize| (n as f64 / s.trials as f64 * 100.0).round();
        let _ = writeln!(
            text,
            "| {family} | {} | {} % | {} % | {} % |",
            s.trials,
            share(s.first),
            share(s.third),
            share(s.best)
        );
    }
    text.push_str("\n| answers | stated | right |\n| ---: | ---: | ---: |\n");
    for (said, right, n) in bins(&outcome.stated) {
        let _ = writeln!(
            text,
            "| {n} | {:.0} % | {:.0} % |",
            said * 100.0,
            right * 100.0
        );
    }
    assert!(trials >= TRIALS, "{trials} trials");
    for (family, s) in outcome.families.iter().filter(|(_, s)| s.trials >= FEW) {
        let (ours, best) = (
            s.first as f64 / s.trials as f64,
            s.best as f64 / s.trials as f64,
        );
        assert!(
            ours >= best - WITHIN,
            "{family}: {ours} where {best} could be reached"
        );
    }
    for (said, right, n) in bins(&outcome.stated) {
        assert!(
            n >= BIN && (said - right).abs() <= CALIBRATED,
            "said {said}, right {right} of {n}"
        );
    }
    kept(&text);
}

const BEGIN: &str = "<!-- planted begin -->\n";
const END: &str = "<!-- planted end -->\n";

/// The tables of `docs/explaining.md` are what this test finds.
fn kept(tables: &str) {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/explaining.md");
    let text = std::fs::read_to_string(&path).unwrap();
    let (before, rest) = text.split_once(BEGIN).unwrap();
    let (kept, after) = rest.split_once(END).unwrap();
    if std::env::var_os("NARROWS_REWRITE").is_some() {
        std::fs::write(&path, format!("{before}{BEGIN}{tables}{END}{after}")).unwrap();
    } else {
        assert_eq!(kept, tables, "write anew with NARROWS_REWRITE=1");
    }
}
