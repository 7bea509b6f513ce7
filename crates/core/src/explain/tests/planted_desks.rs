//! Planted causes at a place with several desks: whether it is named at the desks that it touches.
//!
//! The generator is the explainer's own, with readings that scatter twice as far as it believes:
//! what is checked is the reasoning about places, not the weights.

use super::super::Observations;
use super::super::candidates::{Candidate, candidates};
use super::super::cause::{Cause, Change, causes};
use super::super::effect::{Effect, rates};
use super::super::evidence::Evidence;
use super::super::inference::{Hypothesis, Inference, Posterior, Weights};
use super::super::judged::Judged;
use super::super::likelihood::alone;
use super::super::observed::{Observed, Scatter};
use super::super::places::Places;
use super::super::reading::{Amount, RateReading, Reading};
use super::super::scenarios::Scenarios;
use super::drawn::Luck;
use super::reasoning::{copy, lane, told};
use super::simulated::{BIN, CALIBRATED, NOISIER, bins};
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Measure};
use crate::work::Direction;
use rand_pcg::Pcg64Mcg;

/// Desks that are measured: two on fast ports, one on a slow one, one behind a second switch.
const DESKS: [&str; 4] = ["cut-1", "cut-2", "colour", "sound"];

/// Trials with a planted cause that matters.
const TRIALS: usize = 1200;

/// Draws of the explainer; fewer than usual, for time.
const DRAWS: usize = 384;

/// Share of trials whose fault changes a reading by a third or more in which the desks are right.
const PLACED: f64 = 0.85;

/// The desks that a posterior blames; all for what is at fault nowhere.
fn blamed(candidates: &[Candidate], hypothesis: &Hypothesis) -> Vec<String> {
    let of = |s: usize| candidates[s].effect.desks.clone();
    match hypothesis {
        Hypothesis::One(s) => of(*s),
        Hypothesis::Two(a, b) => {
            let mut both = of(*a);
            both.extend(of(*b));
            both
        }
        Hypothesis::Healthy { .. } | Hypothesis::Other => Vec::new(),
    }
}

/// Sets of desks with the probability that the fault is at a place that just these pass.
fn by_desks(candidates: &[Candidate], posteriors: &[Posterior]) -> Vec<(Vec<String>, f64)> {
    let mut sums: Vec<(Vec<String>, f64)> = Vec::new();
    for posterior in posteriors {
        let desks = blamed(candidates, &posterior.what);
        match sums.iter_mut().find(|(known, _)| *known == desks) {
            Some((_, sum)) => *sum += posterior.probability,
            None => sums.push((desks, posterior.probability)),
        }
    }
    sums.sort_by(|a, b| b.1.total_cmp(&a.1));
    sums
}

fn read(reading: &Reading, rate: f64) -> Reading {
    Reading {
        amount: Amount::Rate(RateReading::plain(DataRate::from_base(rate))),
        ..reading.clone()
    }
}

/// What the explainer knows of the example when these desks are measured.
struct Bench {
    catalogue: Catalogue,
    causes: Vec<Cause>,
    evidence: Evidence,
    told: Observations,
}

impl Bench {
    fn new() -> Self {
        let each = DESKS.iter().flat_map(|desk| {
            let ways = Direction::BOTH.into_iter();
            ways.map(|way| copy(desk, way, 100.0))
        });
        Self {
            catalogue: Catalogue::embedded().unwrap(),
            causes: causes().unwrap(),
            evidence: Evidence::embedded().unwrap(),
            told: told(lane(), each.collect()),
        }
    }

    fn scenarios(&self) -> Scenarios<'_> {
        let mut scenarios = Scenarios::new(&self.told, &self.catalogue, DRAWS).unwrap();
        for (ask, _) in Observed::all(&self.told).iter().flat_map(|h| &h.asks) {
            scenarios.predict(ask).unwrap();
        }
        scenarios
    }

    fn places(&self) -> Places {
        let judged = Judged::new(&self.catalogue).unwrap();
        let site = &self.told.sites[0].0;
        Places::of(site, &self.told, &Observed::all(&self.told), &[], &judged)
    }

    fn inference<'b>(
        &'b self,
        candidates: &'b [Candidate],
        observed: &'b [Observed],
        places: &'b Places,
    ) -> Inference<'b> {
        Inference {
            causes: &self.causes,
            candidates,
            observed,
            places,
            remarks: &[],
            evidence: &self.evidence,
            scatter: Scatter::new(&self.catalogue).unwrap(),
            weights: Weights::new(&self.catalogue).unwrap(),
            shown: &[],
        }
    }
}

#[test]
fn verify_planted_causes_are_named_at_the_desks_that_they_touch() {
    let bench = Bench::new();
    let mut scenarios = bench.scenarios();
    let places = bench.places();
    let asked = Observed::all(&bench.told);
    let candidates = candidates(&bench.causes, &places, &asked, &mut scenarios);
    let priors: Vec<f64> = candidates.iter().map(|s| s.prior).collect();
    let mut luck = Luck(Pcg64Mcg::new(0x5eed_0001));
    let mut stated: Vec<(f64, bool)> = Vec::new();
    let (mut clear, mut placed) = (0usize, 0usize);
    while stated.len() < TRIALS {
        let d = luck.below(scenarios.count());
        let planted = &candidates[luck.weighted(&priors)];
        if planted.effect.change == Change::Slip {
            continue;
        }
        let mut most = 0.0f64;
        let mut told = bench.told.clone();
        let before = bench.inference(&candidates, &asked, &places);
        for (reading, observed) in told.readings.iter_mut().zip(&asked) {
            let (ask, _) = &observed.asks[0];
            let healthy = scenarios.made(ask).unwrap().healthy[d];
            let real = rates(ask, &[&planted.effect], &scenarios).unwrap()[d];
            most = most.max((real / healthy - 1.0).abs());
            let noise = libm::exp(NOISIER * before.scatter.point * luck.normal());
            *reading = read(reading, real * noise);
        }
        if most <= before.weights.binds {
            continue;
        }
        let observed = Observed::all(&told);
        let inference = bench.inference(&candidates, &observed, &places);
        let found = by_desks(&candidates, &inference.judge(&scenarios));
        // where nothing is at fault is no question here: a fault is planted
        let faults = found.iter().filter(|(desks, _)| !desks.is_empty());
        let sum: f64 = faults.clone().map(|(_, p)| p).sum();
        let Some((desks, p)) = faults.clone().next() else {
            continue;
        };
        let right = *desks == planted.effect.desks;
        stated.push((p / sum, right));
        if most > 1.0 / 3.0 {
            clear += 1;
            placed += usize::from(right);
        }
    }
    let share = placed as f64 / clear as f64;
    assert!(clear > TRIALS / 3, "{clear}");
    assert!(share >= PLACED, "{placed} of {clear}: {share}");
    for (said, right, n) in bins(&stated) {
        assert!(
            n >= BIN && (said - right).abs() <= CALIBRATED,
            "said {said}, right {right} of {n}"
        );
    }
}

#[test]
fn what_a_candidate_leaves_alone_need_not_be_worked_out() {
    let bench = Bench::new();
    let mut scenarios = bench.scenarios();
    let places = bench.places();
    // the same way twelve times over, so that rates are looked up
    let mut told = bench.told.clone();
    told.readings
        .extend((0..11).map(|i| copy("cut-1", Direction::Read, 90.0 + f64::from(i))));
    let observed = Observed::all(&told);
    let candidates = candidates(&bench.causes, &places, &observed, &mut scenarios);
    let inference = bench.inference(&candidates, &observed, &places);
    let healthy = inference.healthy(&scenarios);
    let mut some = 0;
    for candidate in &candidates {
        let marks = inference.marks(&[&candidate.effect], &healthy, &scenarios);
        let whole = alone(&marks, &healthy, &scenarios);
        let under = inference.under(&candidate.effect, &healthy, &scenarios);
        assert_eq!((whole.sum, &whole.fallen), (under.sum, &under.fallen));
        some += usize::from(under.sum > 0.0);
    }
    assert!(some > candidates.len() / 2);
}

#[test]
fn a_second_fault_at_another_desk_has_to_change_a_number() {
    let bench = Bench::new();
    let mut scenarios = bench.scenarios();
    let places = bench.places();
    let observed = Observed::all(&bench.told);
    let candidates = candidates(&bench.causes, &places, &observed, &mut scenarios);
    let inference = bench.inference(&candidates, &observed, &places);
    let healthy = inference.healthy(&scenarios);
    let of = |id: &str, desk: &str| {
        let is = |s: &&Candidate| bench.causes[s.cause].id == id && s.effect.desks == [desk];
        &candidates.iter().find(is).unwrap().effect
    };
    let colour = of("run-at-100", "colour");
    let first = inference.marks(&[colour], &healthy, &scenarios);
    let alone = alone(&first, &healthy, &scenarios).sum;
    let with = |other: &Effect| {
        let second = inference.marks(&[other], &healthy, &scenarios);
        let pair = ([colour, other], [&first, &second]);
        inference.together(pair, true, &healthy, &scenarios).sum / alone
    };
    // a disk of 15 MB/s or more is no limit at 100 Mb/s, and changes a number in few draws only
    assert!(with(of("desk-disk-slow", "sound")) < FEW_DRAWS);
    // a link of 100 Mb/s in place of 10 Gb/s does in all, whatever it is worth
    assert!(with(of("run-at-100", "cut-1")) > 0.0);
}

/// Share of the likelihood that may lie in draws from beyond the 5th percentile of a cause.
const FEW_DRAWS: f64 = 0.1;
