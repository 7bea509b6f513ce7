//! How well a state of things predicts what was heard, draw by draw.

use super::cause::Change;
use super::effect::{Effect, rate};
use super::heard::{Heard, Unit};
use super::limits::{MainWay, limit_of};
use super::posterior::{Court, Held};
use super::reading::What;
use super::ways::World;

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
    pub(super) fn add(&mut self, density: f64, d: usize, ways: &[MainWay<'_>]) {
        self.sum += density;
        for (fallen, way) in self.fallen.iter_mut().zip(ways) {
            if way.columns.fallen[d] {
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
    pub ways: Vec<MainWay<'w>>,
}

/// What effects make of one reading that they touch.
pub(super) struct Touched {
    of: Vec<f64>,
    /// Whether they change its rate, or what it means.
    binds: Vec<bool>,
}

/// What a suspect makes of each reading; nothing of those that it does not touch.
pub(super) type Marks = Vec<Option<Touched>>;

impl Court<'_> {
    /// Weights of all draws given what was heard, under each of some beliefs; they add up to one.
    pub(crate) fn draws_of(&self, held: &[&Held], world: &World<'_>) -> Vec<Vec<f64>> {
        let ways = self.main_ways(world);
        held.iter()
            .map(|held| {
                let effects = self.effects(held);
                let mut weights = world.weights.clone();
                for heard in self.heard {
                    let touching = touching(heard, &effects);
                    let rates = Self::rates(heard, &touching, world);
                    let of = self.densities(heard, &rates, unit(&touching), world.count());
                    multiply(&mut weights, &of);
                }
                if let Held::Healthy { limit, desk, .. } = held {
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
    fn rates(heard: &Heard, effects: &[&Effect], world: &World<'_>) -> Vec<Vec<f64>> {
        heard
            .asks
            .iter()
            .map(|(ask, _)| {
                let Some(columns) = world.made(ask) else {
                    return Vec::new();
                };
                let touching: Vec<&Effect> =
                    effects.iter().copied().filter(|e| e.touches(ask)).collect();
                (0..world.count())
                    .map(|d| rate(columns, &touching, heard.streams, d))
                    .collect()
            })
            .collect()
    }

    fn densities(&self, heard: &Heard, rates: &[Vec<f64>], unit: Unit, count: usize) -> Vec<f64> {
        let mut all = vec![0.0; count];
        for ((_, weight), rates) in heard.asks.iter().zip(rates) {
            for (sum, &rate) in all.iter_mut().zip(rates) {
                *sum += weight * heard.density(rate, unit, &self.scatter);
            }
        }
        all
    }

    pub(super) fn healthy<'w>(&'w self, world: &'w World<'_>) -> Healthy<'w> {
        let rates: Vec<_> = self
            .heard
            .iter()
            .map(|h| Self::rates(h, &[], world))
            .collect();
        Healthy {
            of: self
                .heard
                .iter()
                .zip(&rates)
                .map(|(h, r)| self.densities(h, r, Unit::Written, world.count()))
                .collect(),
            rates,
            ways: self.main_ways(world),
        }
    }

    /// What some effects make of each reading.
    pub(super) fn marks(
        &self,
        effects: &[&Effect],
        healthy: &Healthy<'_>,
        world: &World<'_>,
    ) -> Marks {
        (0..self.heard.len())
            .map(|index| self.touched(index, effects, healthy, world))
            .collect()
    }

    fn touched(
        &self,
        index: usize,
        effects: &[&Effect],
        healthy: &Healthy<'_>,
        world: &World<'_>,
    ) -> Option<Touched> {
        let count = world.count();
        let heard = &self.heard[index];
        let effects = touching(heard, effects);
        if effects.is_empty() {
            return None;
        }
        let before = &healthy.rates[index];
        if unit(&effects) == Unit::Slipped {
            return Some(Touched {
                of: self.densities(heard, before, Unit::Slipped, count),
                binds: vec![true; count],
            });
        }
        let rates = Self::rates(heard, &effects, world);
        let mut binds = vec![false; count];
        for (now, before) in rates.iter().zip(before) {
            for ((bound, now), before) in binds.iter_mut().zip(now).zip(before) {
                *bound |= (now / before - 1.0).abs() > self.weights.binds;
            }
        }
        Some(Touched {
            of: self.densities(heard, &rates, Unit::Written, count),
            binds,
        })
    }

    /// The mean density of all readings under two suspects. Where they touch no reading in common both have to matter.
    pub(super) fn together(
        &self,
        (effects, marks): ([&Effect; 2], [&Marks; 2]),
        apart: bool,
        healthy: &Healthy<'_>,
        world: &World<'_>,
    ) -> Likelihood {
        let count = world.count();
        let [one, two] = marks.map(|m| m.iter().map(Option::as_ref).collect::<Vec<_>>());
        // what both touch is neither's own
        let both: Vec<Option<Touched>> = (0..self.heard.len())
            .map(|index| {
                let shared = one[index].is_some() && two[index].is_some();
                shared
                    .then(|| self.touched(index, &effects, healthy, world))
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
        weigh(&all, &binds, healthy, world)
    }

    /// A cause that is not in the list may hit one desk or all, one kind of reading or all of them,
    /// and bring any rate.
    pub(super) fn other(&self, healthy: &Healthy<'_>, world: &World<'_>) -> f64 {
        let n = self.heard.len();
        if n == 0 {
            return 1.0;
        }
        let mean: Vec<f64> = healthy
            .of
            .iter()
            .map(|of| of.iter().zip(&world.weights).map(|(d, w)| d * w).sum())
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
                    .heard
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
fn touching<'e>(heard: &Heard, effects: &[&'e Effect]) -> Vec<&'e Effect> {
    let touches = |e: &&Effect| heard.asks.iter().any(|(ask, _)| e.touches(ask));
    effects.iter().copied().filter(touches).collect()
}

fn unit(effects: &[&Effect]) -> Unit {
    if effects.iter().any(|e| e.change == Change::Slip) {
        Unit::Slipped
    } else {
        Unit::Written
    }
}

/// The mean density of all readings under a suspect, over the draws in which it matters.
pub(super) fn alone(marks: &Marks, healthy: &Healthy<'_>, world: &World<'_>) -> Likelihood {
    let marks: Vec<Option<&Touched>> = marks.iter().map(Option::as_ref).collect();
    weigh(&marks, &matters(&marks, world.count()), healthy, world)
}

/// The mean density of all readings over the draws in which something matters.
fn weigh(
    marks: &[Option<&Touched>],
    binds: &[bool],
    healthy: &Healthy<'_>,
    world: &World<'_>,
) -> Likelihood {
    let mut product: Vec<f64> = world.weights.clone();
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
