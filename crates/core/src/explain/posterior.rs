use super::cause::{Cause, Change};
use super::effect::{Effect, rate};
use super::evidence::Evidence;
use super::heard::{Heard, Scatter, Unit};
use super::reading::What;
use super::suspects::{Suspect, compatible, limit_row};
use super::ways::{Columns, Limit, World};
use crate::quantity::{LinkRate, Measure};

/// What is held to be so, with its probability given everything told.
#[derive(Clone, Debug)]
pub(crate) struct Belief {
    pub what: Held,
    pub probability: f64,
    /// Likelihood over the best of all; what nothing could have made is far below one.
    pub fits: f64,
    /// The share of it in which a cable of the way came up slower than its ends know as well.
    pub fallen: f64,
}

/// One explanation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Held {
    /// Nothing is at fault; the row names what limits.
    Healthy { row: usize, limit: Limit },
    /// One suspect.
    One(usize),
    /// Two suspects.
    Two(usize, usize),
    /// A cause that is not in the list.
    Other,
}

/// Weights of nothing and of something unknown.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Weights {
    pub healthy: f64,
    pub other: f64,
    pub binds: f64,
    /// That a shown rate is right.
    pub shown: f64,
}

/// Everything that explanations are weighed with.
pub(crate) struct Court<'a> {
    pub causes: &'a [Cause],
    pub suspects: &'a [Suspect],
    pub heard: &'a [Heard],
    pub tags: &'a [&'static str],
    pub remarks: &'a [String],
    pub evidence: &'a Evidence,
    pub scatter: Scatter,
    pub weights: Weights,
    /// Rates that ports were seen to show.
    pub shown: &'a [LinkRate],
    /// The fastest that the way can link at.
    pub links_at: Option<LinkRate>,
}

/// Pairs are tried among so many of the best.
const PAIRED: usize = 10;

/// How much unlikelier two causes at once are than their weights alone would say; causes that make
/// people ask come one at a time.
const PAIR: f64 = 0.3;

/// The mean density of all readings, and the part of it from draws with a link that has fallen back.
#[derive(Clone, Copy, Debug, Default)]
struct Likelihood {
    sum: f64,
    fallen: f64,
}

impl Likelihood {
    fn of(sum: f64) -> Self {
        Self { sum, fallen: 0.0 }
    }
}

/// A reading under one state of things: the density in each draw.
struct Densities {
    of: Vec<Vec<f64>>,
    rates: Vec<Vec<Vec<f64>>>,
}

impl Court<'_> {
    /// What a belief changes.
    pub(crate) fn effects(&self, held: &Held) -> Vec<&Effect> {
        let one = |s: usize| &self.suspects[s].effect;
        match held {
            Held::One(s) => vec![one(*s)],
            Held::Two(a, b) => vec![one(*a), one(*b)],
            Held::Healthy { .. } | Held::Other => Vec::new(),
        }
    }

    /// Weights of all draws given what was heard, under each of some beliefs; they add up to one.
    pub(crate) fn draws_of(&self, held: &[&Held], world: &World<'_>) -> Vec<Vec<f64>> {
        held.iter()
            .map(|held| {
                let effects = self.effects(held);
                let unit = if effects.iter().any(|e| e.change == Change::Slip) {
                    Unit::Slipped
                } else {
                    Unit::Written
                };
                let mut weights = world.weights.clone();
                for heard in self.heard {
                    let rates = Self::rates(heard, &effects, world);
                    multiply(
                        &mut weights,
                        &self.densities(heard, &rates, unit, world.count()),
                    );
                }
                if let (Held::Healthy { limit, .. }, Some(columns)) =
                    (held, self.main_columns(world))
                {
                    for (d, weight) in weights.iter_mut().enumerate() {
                        if columns.limit(d) != *limit {
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

    /// The way of the most telling reading: a copy, where there is one.
    fn main_columns<'w>(&self, world: &'w World<'_>) -> Option<&'w Columns> {
        let asks = self
            .heard
            .iter()
            .flat_map(|h| h.asks.iter().map(|(a, _)| a));
        let main = asks
            .clone()
            .find(|a| matches!(a.what, What::Copy | What::ManyFiles))
            .or_else(|| asks.clone().next())?;
        world.made(main)
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
                let touching: Vec<&Effect> = effects
                    .iter()
                    .copied()
                    .filter(|e| e.touches(ask.what, ask.direction))
                    .collect();
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

    fn healthy(&self, world: &World<'_>) -> Densities {
        let rates: Vec<_> = self
            .heard
            .iter()
            .map(|h| Self::rates(h, &[], world))
            .collect();
        Densities {
            of: self
                .heard
                .iter()
                .zip(&rates)
                .map(|(h, r)| self.densities(h, r, Unit::Written, world.count()))
                .collect(),
            rates,
        }
    }

    /// The mean density of all readings under some effects, over the draws in which they matter.
    fn likelihood(
        &self,
        effects: &[&Effect],
        healthy: &Densities,
        world: &World<'_>,
    ) -> Likelihood {
        let count = world.count();
        let mut product: Vec<f64> = world.weights.clone();
        let mut binds = vec![false; count];
        for (index, heard) in self.heard.iter().enumerate() {
            let touched = heard
                .asks
                .iter()
                .any(|(ask, _)| effects.iter().any(|e| e.touches(ask.what, ask.direction)));
            let slip = effects.iter().any(|e| e.change == Change::Slip);
            if !touched {
                multiply(&mut product, &healthy.of[index]);
                continue;
            }
            if slip {
                let of = self.densities(heard, &healthy.rates[index], Unit::Slipped, count);
                multiply(&mut product, &of);
                binds.fill(true);
                continue;
            }
            let rates = Self::rates(heard, effects, world);
            for (now, before) in rates.iter().zip(&healthy.rates[index]) {
                for ((bound, now), before) in binds.iter_mut().zip(now).zip(before) {
                    *bound |= (now / before - 1.0).abs() > self.weights.binds;
                }
            }
            let of = self.densities(heard, &rates, Unit::Written, count);
            multiply(&mut product, &of);
        }
        let fallen = self.main_columns(world).map(|c| &c.fallen);
        let mut found = Likelihood::default();
        for (d, p) in product.iter().enumerate().filter(|(d, _)| binds[*d]) {
            found.sum += p;
            if fallen.is_some_and(|f| f[d]) {
                found.fallen += p;
            }
        }
        found
    }

    /// The probability of what ports show. A link that came up slower shows it at both ends, unless
    /// somebody looked at another port of the way.
    fn shown(&self, effects: &[&Effect]) -> f64 {
        let right = self.weights.shown;
        let slower = effects
            .iter()
            .find(|e| e.change == Change::Link)
            .and_then(|e| e.amount.first())
            .map(|&rate| LinkRate::from_base(rate));
        self.shown
            .iter()
            .map(|&shown| match (slower, self.links_at) {
                (Some(slower), _) if shown == slower => right,
                (Some(_), _) => 1.0 - right,
                (None, Some(most)) if shown < most => 1.0 - right,
                (None, _) => right,
            })
            .product()
    }

    /// All explanations, the likeliest first.
    pub(crate) fn judge(&self, world: &World<'_>) -> Vec<Belief> {
        let healthy = self.healthy(world);
        let sum: f64 = self.suspects.iter().map(|s| s.prior).sum();
        let faults = 1.0 - self.weights.healthy - self.weights.other;
        let share = |s: &Suspect| faults * s.prior / sum.max(f64::MIN_POSITIVE);
        // explanation, weight, likelihood
        let mut all: Vec<(Held, f64, Likelihood)> = Vec::new();
        for (limit, likelihood) in self.by_limit(&healthy, world) {
            let Some(row) = limit_row(self.causes, limit, self.tags) else {
                continue;
            };
            let said = self.evidence.all(self.remarks, &self.causes[row]);
            let said = said * self.shown(&[]);
            all.push((
                Held::Healthy { row, limit },
                self.weights.healthy * said,
                Likelihood::of(likelihood),
            ));
        }
        let mut singles: Vec<(usize, f64)> = Vec::new();
        for (index, suspect) in self.suspects.iter().enumerate() {
            let likelihood = self.likelihood(&[&suspect.effect], &healthy, world);
            let said = self.evidence.all(self.remarks, &self.causes[suspect.cause])
                * self.shown(&[&suspect.effect]);
            all.push((Held::One(index), share(suspect) * said, likelihood));
            singles.push((index, share(suspect) * said * likelihood.sum));
        }
        all.push((
            Held::Other,
            self.weights.other * self.other_said(),
            Likelihood::of(self.other(&healthy, world)),
        ));
        if self.heard.len() > 1 {
            singles.sort_by(|a, b| b.1.total_cmp(&a.1));
            singles.truncate(PAIRED);
            for (i, &(a, _)) in singles.iter().enumerate() {
                for &(b, _) in singles.get(i + 1..).unwrap_or_default() {
                    let (one, two) = (&self.suspects[a], &self.suspects[b]);
                    let (first, second) = (&self.causes[one.cause], &self.causes[two.cause]);
                    if !compatible((first, one), (second, two)) {
                        continue;
                    }
                    let likelihood = self.likelihood(&[&one.effect, &two.effect], &healthy, world);
                    let said = self
                        .evidence
                        .all(self.remarks, first)
                        .max(self.evidence.all(self.remarks, second))
                        * self.shown(&[&one.effect, &two.effect]);
                    all.push((
                        Held::Two(a, b),
                        PAIR * share(one) * share(two) * said,
                        likelihood,
                    ));
                }
            }
        }
        beliefs(all)
    }

    /// Likelihood with nothing at fault, by what limits the first reading.
    fn by_limit(&self, healthy: &Densities, world: &World<'_>) -> Vec<(Limit, f64)> {
        let mut product = world.weights.clone();
        for of in &healthy.of {
            multiply(&mut product, of);
        }
        let Some(columns) = self.main_columns(world) else {
            return Vec::new();
        };
        let mut sums = [0.0; Limit::ALL.len()];
        for (d, p) in product.iter().enumerate() {
            let limit = columns.limit(d);
            if let Some(at) = Limit::ALL.iter().position(|l| *l == limit) {
                sums[at] += p;
            }
        }
        Limit::ALL
            .into_iter()
            .zip(sums)
            .filter(|(_, s)| *s > 0.0)
            .collect()
    }

    /// The row of what limits in most draws where nothing is at fault.
    pub(crate) fn narrowest(&self, world: &World<'_>) -> Option<usize> {
        let columns = self.main_columns(world)?;
        let mut sums = [0.0; Limit::ALL.len()];
        for (d, weight) in world.weights.iter().enumerate() {
            let limit = columns.limit(d);
            if let Some(at) = Limit::ALL.iter().position(|l| *l == limit) {
                sums[at] += weight;
            }
        }
        let most = Limit::ALL
            .into_iter()
            .zip(sums)
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        limit_row(self.causes, most.0, self.tags)
    }

    /// A cause that is not in the list may hit one reading or all of them, and bring any rate.
    fn other(&self, healthy: &Densities, world: &World<'_>) -> f64 {
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
        let sum: f64 = groups
            .iter()
            .map(|hit| {
                self.heard
                    .iter()
                    .zip(&mean)
                    .map(|(h, mean)| if hit(h.what) { ANYTHING } else { *mean })
                    .product::<f64>()
            })
            .sum();
        sum / groups.len() as f64
    }

    fn other_said(&self) -> f64 {
        self.remarks
            .iter()
            .map(|r| self.evidence.of(r, "none-of-these", "unknown"))
            .product::<f64>()
            * self.shown(&[])
    }
}

/// Density, per factor of e, of a rate about which nothing is known between a standstill and the
/// fastest of links: four powers of ten.
const ANYTHING: f64 = 0.1;

fn multiply(product: &mut [f64], by: &[f64]) {
    for (p, b) in product.iter_mut().zip(by) {
        *p *= b;
    }
}

fn beliefs(all: Vec<(Held, f64, Likelihood)>) -> Vec<Belief> {
    let total: f64 = all.iter().map(|(_, w, l)| w * l.sum).sum();
    let best = all.iter().map(|(_, _, l)| l.sum).fold(0.0, f64::max);
    let over = |part: f64, whole: f64| if whole > 0.0 { part / whole } else { 0.0 };
    let mut beliefs: Vec<Belief> = all
        .into_iter()
        .map(|(what, weight, likelihood)| Belief {
            what,
            probability: over(weight * likelihood.sum, total),
            fits: over(likelihood.sum, best),
            fallen: over(likelihood.fallen, likelihood.sum),
        })
        .collect();
    // stable: of equals, the row that stands first
    beliefs.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    beliefs
}
