//! How well a state of things predicts what was observed, draw by draw.

use super::cause::Change;
use super::effect::{Effect, rates};
use super::inference::{Hypothesis, Inference};
use super::limits::{MainPath, limit_of};
use super::observed::{Observed, Unit};
use super::reading::What;
use super::scenarios::Scenarios;

/// The mean density of all readings, and for each desk the part of it from draws in which a link of
/// its way has fallen back.
#[derive(Clone, Debug, Default)]
pub(super) struct Likelihood {
    pub sum: f64,
    pub fallen: Vec<f64>,
}

impl Likelihood {
    pub(super) fn of(sum: f64) -> Self {
        Self {
            sum,
            fallen: Vec::new(),
        }
    }

    pub(super) fn nothing(ways: usize) -> Self {
        Self {
            sum: 0.0,
            fallen: vec![0.0; ways],
        }
    }

    /// Adds one draw.
    pub(super) fn add(&mut self, density: f64, d: usize, ways: &[MainPath<'_>]) {
        self.sum += density;
        for (fallen, way) in self.fallen.iter_mut().zip(ways) {
            if way.predicted.fallen[d] {
                *fallen += density;
            }
        }
    }
}

/// The readings with nothing at fault.
pub(super) struct Healthy<'w> {
    /// Density of each reading in each draw.
    pub of: Vec<Vec<f64>>,
    /// Rate of each reading, one list a direction that it may be of.
    rates: Vec<Vec<Vec<f64>>>,
    /// The way of each desk.
    pub ways: Vec<MainPath<'w>>,
}

/// What effects make of one reading that they touch.
pub(super) struct Touched {
    of: Vec<f64>,
    /// Whether they change its rate, or what it means.
    binds: Vec<bool>,
}

/// What a candidate makes of each reading; nothing of those that it does not touch.
pub(super) type Marks = Vec<Option<Touched>>;

impl Inference<'_> {
    /// Weights of all draws given what was observed, under each of some posteriors; they add up to one.
    pub(crate) fn draws_of(
        &self,
        hypothesis: &[&Hypothesis],
        scenarios: &Scenarios<'_>,
    ) -> Vec<Vec<f64>> {
        let ways = self.main_paths(scenarios);
        hypothesis
            .iter()
            .map(|hypothesis| {
                let effects = self.effects(hypothesis);
                let mut weights = scenarios.weights.clone();
                for observed in self.observed {
                    let touching = touching(observed, &effects);
                    let rates = Self::rates(observed, &touching, scenarios);
                    let of = self.densities(observed, &rates, unit(&touching), scenarios.count());
                    multiply(&mut weights, &of);
                }
                if let Hypothesis::Healthy { limit, desk, .. } = hypothesis {
                    for (d, weight) in weights.iter_mut().enumerate() {
                        let here = limit_of(&ways, d);
                        if !here.is_some_and(|(at, l)| l == *limit && ways[at].desk == desk) {
                            *weight = 0.0;
                        }
                    }
                }
                let sum: f64 = weights.iter().sum();
                if sum > 0.0 {
                    for weight in &mut weights {
                        *weight /= sum;
                    }
                }
                weights
            })
            .collect()
    }

    /// Rates of one reading, one list a direction that it may be of.
    fn rates(observed: &Observed, effects: &[&Effect], scenarios: &Scenarios<'_>) -> Vec<Vec<f64>> {
        observed
            .asks
            .iter()
            .map(|(ask, _)| rates(ask, effects, scenarios).unwrap_or_default())
            .collect()
    }

    fn densities(
        &self,
        observed: &Observed,
        rates: &[Vec<f64>],
        unit: Unit,
        count: usize,
    ) -> Vec<f64> {
        let mut all = vec![0.0; count];
        for ((_, weight), rates) in observed.asks.iter().zip(rates) {
            for (sum, &rate) in all.iter_mut().zip(rates) {
                *sum += weight * observed.density(rate, unit, &self.scatter);
            }
        }
        all
    }

    pub(super) fn healthy<'w>(&'w self, scenarios: &'w Scenarios<'_>) -> Healthy<'w> {
        let rates: Vec<_> = self
            .observed
            .iter()
            .map(|h| Self::rates(h, &[], scenarios))
            .collect();
        Healthy {
            of: self
                .observed
                .iter()
                .zip(&rates)
                .map(|(h, r)| self.densities(h, r, Unit::Written, scenarios.count()))
                .collect(),
            rates,
            ways: self.main_paths(scenarios),
        }
    }

    /// What some effects make of each reading.
    pub(super) fn marks(
        &self,
        effects: &[&Effect],
        healthy: &Healthy<'_>,
        scenarios: &Scenarios<'_>,
    ) -> Marks {
        (0..self.observed.len())
            .map(|index| self.touched(index, effects, healthy, scenarios))
            .collect()
    }

    fn touched(
        &self,
        index: usize,
        effects: &[&Effect],
        healthy: &Healthy<'_>,
        scenarios: &Scenarios<'_>,
    ) -> Option<Touched> {
        let count = scenarios.count();
        let observed = &self.observed[index];
        let effects = touching(observed, effects);
        if effects.is_empty() {
            return None;
        }
        let before = &healthy.rates[index];
        if unit(&effects) == Unit::Slipped {
            return Some(Touched {
                of: self.densities(observed, before, Unit::Slipped, count),
                binds: vec![true; count],
            });
        }
        let rates = Self::rates(observed, &effects, scenarios);
        let mut binds = vec![false; count];
        for (now, before) in rates.iter().zip(before) {
            for ((bound, now), before) in binds.iter_mut().zip(now).zip(before) {
                *bound |= (now / before - 1.0).abs() > self.weights.binds;
            }
        }
        Some(Touched {
            of: self.densities(observed, &rates, Unit::Written, count),
            binds,
        })
    }

    /// The mean density of all readings under two candidates. Where they touch no reading in common both have to matter.
    pub(super) fn together(
        &self,
        (effects, marks): ([&Effect; 2], [&Marks; 2]),
        apart: bool,
        healthy: &Healthy<'_>,
        scenarios: &Scenarios<'_>,
    ) -> Likelihood {
        let count = scenarios.count();
        let [one, two] = marks.map(|m| m.iter().map(Option::as_ref).collect::<Vec<_>>());
        // what both touch is neither's own
        let both: Vec<Option<Touched>> = (0..self.observed.len())
            .map(|index| {
                let shared = one[index].is_some() && two[index].is_some();
                shared
                    .then(|| self.touched(index, &effects, healthy, scenarios))
                    .flatten()
            })
            .collect();
        let all: Vec<Option<&Touched>> = both
            .iter()
            .zip(one.iter().zip(&two))
            .map(|(both, (one, two))| both.as_ref().or(*one).or(*two))
            .collect();
        let mut binds = matters(&all, count);
        if apart {
            let each = matters(&one, count).into_iter().zip(matters(&two, count));
            binds = each.map(|(one, two)| one && two).collect();
        }
        weigh(&all, &binds, healthy, scenarios)
    }

    /// A cause that is not in the list may hit one desk or all, one kind of reading or all of them,
    /// and bring any rate.
    pub(super) fn other(&self, healthy: &Healthy<'_>, scenarios: &Scenarios<'_>) -> f64 {
        let n = self.observed.len();
        if n == 0 {
            return 1.0;
        }
        let mean: Vec<f64> = healthy
            .of
            .iter()
            .map(|of| of.iter().zip(&scenarios.weights).map(|(d, w)| d * w).sum())
            .collect();
        // any of the subsets that a place could cause: the copies, the raw tests, the local ones, all
        let groups: [&dyn Fn(What) -> bool; 4] = [
            &|w| matches!(w, What::Copy | What::ManyFiles),
            &|w| matches!(w, What::Copy | What::ManyFiles | What::RawTcp),
            &|w| matches!(w, What::Copy | What::ManyFiles | What::LocalArray),
            &|_| true,
        ];
        let mut whose: Vec<Option<&str>> = vec![None];
        if healthy.ways.len() > 1 {
            whose.extend(healthy.ways.iter().map(|way| Some(way.desk)));
        }
        let mut sum = 0.0;
        for desk in &whose {
            for hit in groups {
                sum += self
                    .observed
                    .iter()
                    .zip(&mean)
                    .map(|(h, mean)| {
                        let here = desk.is_none_or(|desk| desk == h.desk);
                        if here && hit(h.what) {
                            self.weights.anything
                        } else {
                            *mean
                        }
                    })
                    .product::<f64>();
            }
        }
        sum / (groups.len() * whose.len()) as f64
    }
}

/// The effects that touch a reading in a direction that it may be of.
fn touching<'e>(observed: &Observed, effects: &[&'e Effect]) -> Vec<&'e Effect> {
    let touches = |e: &&Effect| observed.asks.iter().any(|(ask, _)| e.touches(ask));
    effects.iter().copied().filter(touches).collect()
}

fn unit(effects: &[&Effect]) -> Unit {
    if effects.iter().any(|e| e.change == Change::Slip) {
        Unit::Slipped
    } else {
        Unit::Written
    }
}

/// The mean density of all readings under a candidate, over the draws in which it matters.
pub(super) fn alone(marks: &Marks, healthy: &Healthy<'_>, scenarios: &Scenarios<'_>) -> Likelihood {
    let marks: Vec<Option<&Touched>> = marks.iter().map(Option::as_ref).collect();
    weigh(
        &marks,
        &matters(&marks, scenarios.count()),
        healthy,
        scenarios,
    )
}

/// The mean density of all readings over the draws in which something matters.
fn weigh(
    marks: &[Option<&Touched>],
    binds: &[bool],
    healthy: &Healthy<'_>,
    scenarios: &Scenarios<'_>,
) -> Likelihood {
    let mut product: Vec<f64> = scenarios.weights.clone();
    for (mark, healthy) in marks.iter().zip(&healthy.of) {
        multiply(&mut product, mark.map_or(healthy, |m| &m.of));
    }
    let mut found = Likelihood::nothing(healthy.ways.len());
    for (d, p) in product.iter().enumerate().filter(|(d, _)| binds[*d]) {
        found.add(*p, d, &healthy.ways);
    }
    found
}

/// The draws in which any reading is changed.
fn matters(marks: &[Option<&Touched>], count: usize) -> Vec<bool> {
    let mut any = vec![false; count];
    for mark in marks.iter().flatten() {
        for (any, binds) in any.iter_mut().zip(&mark.binds) {
            *any |= binds;
        }
    }
    any
}

pub(super) fn multiply(product: &mut [f64], by: &[f64]) {
    for (p, b) in product.iter_mut().zip(by) {
        *p *= b;
    }
}
