//! How well a state of things predicts what was observed, draw by draw.

use super::cause::Change;
use super::densities::{at_log, density, product};
use super::effect::{Effect, rates};
use super::inference::{Hypothesis, Inference};
use super::limits::{MainPath, limit_of};
use super::observed::{Density, Observed, Unit, log_of};
use super::reading::What;
use super::scaled::{Scaled, power};
use super::scenarios::Scenarios;
use std::borrow::Cow;
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

/// The mean density of all readings, and for each desk the part of it from draws in which a link of
/// its way has fallen back; all of it times two to a power.
#[derive(Clone, Debug, Default)]
pub(super) struct Likelihood {
    pub sum: f64,
    pub fallen: Vec<f64>,
    pub power: i32,
}

impl Likelihood {
    pub(super) fn nothing(ways: usize, power: i32) -> Self {
        Self {
            sum: 0.0,
            fallen: vec![0.0; ways],
            power,
        }
    }

    /// Over two to another power.
    pub(super) fn bring_to(&mut self, power: i32) {
        let over = |value: f64| Scaled::of(value).shifted(self.power).over(power);
        self.sum = over(self.sum);
        self.fallen = self.fallen.iter().map(|&part| over(part)).collect();
        self.power = power;
    }

    /// The sum as a number that can be compared with others.
    pub(super) fn scaled(&self) -> Scaled {
        Scaled::of(self.sum).shifted(self.power)
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

/// Readings of the same ways: whatever touches one of them touches all, and makes the same of them.
pub(super) type Group = Vec<usize>;

/// The readings with nothing at fault.
pub(super) struct Healthy<'w> {
    groups: Vec<Group>,
    /// Density of each group in each draw.
    pub of: Vec<Vec<Scaled>>,
    /// Mean density of each reading.
    means: Vec<f64>,
    /// Rate of each group, one list a direction that it may be of.
    rates: Vec<Vec<Rc<[f64]>>>,
    /// What each reading of each group is told by.
    laws: Vec<Vec<Density<'w>>>,
    /// Density of each group by rate, where it is large; of a very large one by the step of a table.
    known: Vec<RefCell<HashMap<u64, Scaled>>>,
    /// The way of each desk.
    pub ways: Vec<MainPath<'w>>,
}

/// What effects make of the rates of a group.
enum Changed {
    /// They are those of another unit than written.
    Slipped,
    /// They are others, one list a direction that it may be of.
    Rates(Vec<Rc<[f64]>>),
}

/// What effects make of one group that they touch.
pub(super) struct Touched {
    of: Vec<Scaled>,
    /// Whether they change its rate, or what it means.
    binds: Vec<bool>,
}

/// What a candidate makes of each group; nothing of those that it does not touch.
pub(super) type Marks = Vec<Option<Touched>>;

/// Densities of so many readings are worth looking up.
const LARGE: usize = 8;

/// Of so many they are worked out at the steps of a table, and lie on a straight line between.
const TABLED: usize = 128;

/// Steps of the table in a factor of e: a thousand readings that scatter by a twentieth are then right to less than a hundredth.
const STEPS: f64 = 4096.0;

impl Inference<'_> {
    fn groups(&self) -> Vec<Group> {
        let mut groups: Vec<Group> = Vec::new();
        for (index, one) in self.observed.iter().enumerate() {
            let same = |group: &&mut Group| self.observed[group[0]].asks == one.asks;
            match groups.iter_mut().find(same) {
                Some(group) => group.push(index),
                None => groups.push(vec![index]),
            }
        }
        groups
    }

    /// Weights of all draws given what was observed, under each of some posteriors; they add up to one.
    pub(crate) fn draws_of(
        &self,
        hypothesis: &[&Hypothesis],
        scenarios: &Scenarios<'_>,
    ) -> Vec<Vec<f64>> {
        let ways = self.main_paths(scenarios);
        let groups = self.groups();
        hypothesis
            .iter()
            .map(|hypothesis| {
                let effects = self.effects(hypothesis);
                let of: Vec<Vec<Scaled>> = groups
                    .iter()
                    .map(|group| {
                        let observed = &self.observed[group[0]];
                        let touching = touching(observed, &effects);
                        let rates = Self::rates(observed, &touching, scenarios);
                        let laws = self.laws(group, unit(&touching));
                        (0..scenarios.count())
                            .map(|d| density(&laws, &rates, d))
                            .collect()
                    })
                    .collect();
                let parts: Vec<&[Scaled]> = of.iter().map(Vec::as_slice).collect();
                let (mut weights, _) = product(&parts, scenarios);
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
    fn rates(
        observed: &Observed,
        effects: &[&Effect],
        scenarios: &Scenarios<'_>,
    ) -> Vec<Rc<[f64]>> {
        observed
            .asks
            .iter()
            .map(|(ask, _)| rates(ask, effects, scenarios).unwrap_or_default())
            .collect()
    }

    /// What each reading of a group is told by.
    fn laws<'w>(&'w self, group: &[usize], unit: Unit) -> Vec<Density<'w>> {
        let of = |&index: &usize| self.observed[index].law(unit, &self.scatter);
        group.iter().map(of).collect()
    }

    pub(super) fn healthy<'w>(&'w self, scenarios: &'w Scenarios<'_>) -> Healthy<'w> {
        let groups = self.groups();
        let rates: Vec<_> = groups
            .iter()
            .map(|group| Self::rates(&self.observed[group[0]], &[], scenarios))
            .collect();
        let count = scenarios.count();
        let mut means = vec![0.0; self.observed.len()];
        let mut of = Vec::with_capacity(groups.len());
        let laws: Vec<Vec<Density<'w>>> = groups
            .iter()
            .map(|group| self.laws(group, Unit::Written))
            .collect();
        for ((group, rates), laws) in groups.iter().zip(&rates).zip(&laws) {
            let mut all = vec![Scaled::ONE; count];
            for (&index, law) in group.iter().zip(laws) {
                let weights = scenarios.weights.iter();
                for ((d, all), weight) in all.iter_mut().enumerate().zip(weights) {
                    let density = density(std::slice::from_ref(law), rates, d);
                    means[index] += density.over(0) * weight;
                    *all = all.times(density);
                }
            }
            of.push(all);
        }
        Healthy {
            laws,
            known: groups.iter().map(|_| RefCell::default()).collect(),
            groups,
            of,
            means,
            rates,
            ways: self.main_paths(scenarios),
        }
    }

    /// What some effects make of each group.
    pub(super) fn marks(
        &self,
        effects: &[&Effect],
        healthy: &Healthy<'_>,
        scenarios: &Scenarios<'_>,
    ) -> Marks {
        (0..healthy.groups.len())
            .map(|index| self.touched(index, effects, healthy, scenarios))
            .collect()
    }

    /// What some effects make of the rates of a group; nothing where they do not touch it.
    fn changed(
        &self,
        index: usize,
        effects: &[&Effect],
        healthy: &Healthy<'_>,
        scenarios: &Scenarios<'_>,
    ) -> Option<Changed> {
        let observed = &self.observed[healthy.groups[index][0]];
        let effects = touching(observed, effects);
        if effects.is_empty() {
            return None;
        }
        if unit(&effects) == Unit::Slipped {
            return Some(Changed::Slipped);
        }
        Some(Changed::Rates(Self::rates(observed, &effects, scenarios)))
    }

    /// The draws in which a change makes a difference.
    fn bound(&self, changed: &Changed, before: &[Rc<[f64]>], binds: &mut [bool]) {
        let Changed::Rates(rates) = changed else {
            binds.fill(true);
            return;
        };
        for (now, before) in rates.iter().zip(before) {
            for ((bound, now), before) in binds.iter_mut().zip(now.iter()).zip(before.iter()) {
                *bound |= (now / before - 1.0).abs() > self.weights.binds;
            }
        }
    }

    fn touched(
        &self,
        index: usize,
        effects: &[&Effect],
        healthy: &Healthy<'_>,
        scenarios: &Scenarios<'_>,
    ) -> Option<Touched> {
        let changed = self.changed(index, effects, healthy, scenarios)?;
        let count = scenarios.count();
        let mut binds = vec![false; count];
        self.bound(&changed, &healthy.rates[index], &mut binds);
        let laws = self.laws_of(index, &changed, healthy);
        let of = (0..count).map(|d| healthy.density(index, &changed, &laws, d));
        Some(Touched {
            of: of.collect(),
            binds,
        })
    }

    /// What the readings of a group are told by under a change.
    fn laws_of<'h>(
        &'h self,
        index: usize,
        changed: &Changed,
        healthy: &'h Healthy<'_>,
    ) -> Cow<'h, [Density<'h>]> {
        match changed {
            Changed::Slipped => Cow::Owned(self.laws(&healthy.groups[index], Unit::Slipped)),
            Changed::Rates(_) => Cow::Borrowed(healthy.laws[index].as_slice()),
        }
    }

    /// The mean density of all readings under one candidate, over the draws in which it matters: as
    /// [`alone`] of its marks, without what the other draws would have.
    pub(super) fn under(
        &self,
        effect: &Effect,
        healthy: &Healthy<'_>,
        scenarios: &Scenarios<'_>,
    ) -> Likelihood {
        let mut binds = vec![false; scenarios.count()];
        let mut changes = Vec::with_capacity(healthy.groups.len());
        for index in 0..healthy.groups.len() {
            let changed = self.changed(index, &[effect], healthy, scenarios);
            changes.push(changed.map(|changed| {
                self.bound(&changed, &healthy.rates[index], &mut binds);
                let laws = self.laws_of(index, &changed, healthy);
                (changed, laws)
            }));
        }
        let draws = binds.iter().enumerate().filter(|(_, binds)| **binds);
        let all: Vec<(usize, Scaled)> = draws
            .map(|(d, _)| {
                let each = changes.iter().zip(&healthy.of).enumerate();
                let densities = each.map(|(index, (change, healthy_of))| match change {
                    Some((changed, laws)) => healthy.density(index, changed, laws, d),
                    None => healthy_of[d],
                });
                let weight = Scaled::of(scenarios.weights[d]);
                (d, densities.fold(weight, Scaled::times))
            })
            .collect();
        let power = power(all.iter().map(|(_, product)| *product));
        let mut found = Likelihood::nothing(healthy.ways.len(), power);
        for (d, product) in all {
            found.add(product.over(power), d, &healthy.ways);
        }
        found
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
        let both: Vec<Option<Touched>> = (0..healthy.groups.len())
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
    pub(super) fn other(&self, healthy: &Healthy<'_>) -> Likelihood {
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
        let mut all: Vec<Scaled> = Vec::new();
        for desk in &whose {
            for hit in groups {
                let each = self.observed.iter().zip(&healthy.means).map(|(h, mean)| {
                    let here = desk.is_none_or(|desk| desk == h.desk);
                    if here && hit(h.what) {
                        self.weights.anything
                    } else {
                        *mean
                    }
                });
                all.push(each.fold(Scaled::ONE, |product, one| product.times(Scaled::of(one))));
            }
        }
        let power = power(all.iter().copied());
        let sum: f64 = all.iter().map(|product| product.over(power)).sum();
        Likelihood {
            sum: sum / all.len() as f64,
            fallen: Vec::new(),
            power,
        }
    }
}

impl Healthy<'_> {
    /// The density of a group in a draw under a change.
    fn density(&self, index: usize, changed: &Changed, laws: &[Density<'_>], d: usize) -> Scaled {
        let before = &self.rates[index];
        let Changed::Rates(rates) = changed else {
            return density(laws, before, d);
        };
        // what leaves a rate as it is leaves its density
        let bits = |rates: &Rc<[f64]>| rates.get(d).map(|rate| rate.to_bits());
        if rates.iter().zip(before).all(|(a, b)| bits(a) == bits(b)) {
            return self.of[index][d];
        }
        if let [rates] = rates.as_slice()
            && laws.len() >= LARGE
            && let Some(rate) = bits(rates)
        {
            let mut known = self.known[index].borrow_mut();
            let mut at = |key: u64, log: f64| {
                let anew = || at_log(laws, [Some(log), None]);
                *known.entry(key).or_insert_with(anew)
            };
            let log = log_of(f64::from_bits(rate));
            if laws.len() < TABLED {
                return at(rate, log);
            }
            let place = log * STEPS;
            let below = place.floor();
            let mut step = |place: f64| at(place as u64, place / STEPS);
            return step(below).between(step(below + 1.0), place - below);
        }
        density(laws, rates, d)
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
#[cfg(test)]
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
    let parts = marks.iter().zip(&healthy.of);
    let parts: Vec<&[Scaled]> = parts
        .map(|(mark, healthy)| mark.map_or(healthy.as_slice(), |m| &m.of))
        .collect();
    let (product, power) = product(&parts, scenarios);
    let mut found = Likelihood::nothing(healthy.ways.len(), power);
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
