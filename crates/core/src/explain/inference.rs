use super::candidates::{Candidate, apart, compatible, limit_row};
use super::cause::Cause;
use super::effect::Effect;
use super::evidence::{Evidence, Noticed};
use super::likelihood::{Likelihood, Marks};
use super::limits::by_limit;
use super::observed::{Observed, Scatter};
use super::places::Places;
use super::predicted::Limit;
use super::scaled::{Scaled, power};
use super::scenarios::Scenarios;
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::LinkRate;

/// What is held to be so, with its probability given everything told.
#[derive(Clone, Debug)]
pub(crate) struct Posterior {
    pub what: Hypothesis,
    pub probability: f64,
    /// Likelihood over the best of all; what nothing could have made is far below one.
    pub fits: f64,
    /// The share of it in which a cable of a way came up slower than its ends know as well, by desk.
    pub fallen: Vec<(String, f64)>,
}

/// One explanation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Hypothesis {
    /// Nothing is at fault; the row names what limits the way of a desk.
    Healthy {
        row: usize,
        limit: Limit,
        desk: String,
    },
    /// One candidate.
    One(usize),
    /// Two candidates.
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
    /// How much unlikelier two causes at once are than their weights alone would say; causes that
    /// make people ask come one at a time.
    pub pair: f64,
    /// Density, per factor of e, of a rate about which nothing is known.
    pub anything: f64,
    /// In so many cases a test made on purpose shows what the likeliest cause does.
    pub shows: f64,
    /// In so many cases it shows what is not so.
    pub shows_wrongly: f64,
}

impl Weights {
    /// The likely values of the catalogue.
    pub(crate) fn new(catalogue: &Catalogue) -> Result<Self, CatalogueFault> {
        let likely = |id: &str| catalogue.number(id).map(|n| n.likely);
        Ok(Self {
            healthy: likely("explain.healthy")?,
            other: likely("explain.none")?,
            binds: likely("explain.binds")?,
            shown: likely("explain.told-share")?,
            pair: likely("explain.pair")?,
            anything: likely("explain.anything")?,
            shows: likely("explain.shows")?,
            shows_wrongly: likely("explain.shows-wrongly")?,
        })
    }
}

/// Everything that explanations are weighed with.
pub(crate) struct Inference<'a> {
    pub causes: &'a [Cause],
    pub candidates: &'a [Candidate],
    pub observed: &'a [Observed],
    pub places: &'a Places,
    pub remarks: &'a [Noticed],
    pub evidence: &'a Evidence,
    pub scatter: Scatter,
    pub weights: Weights,
    /// Rates that ports were seen to show, with the desk on whose way.
    pub shown: &'a [(String, LinkRate)],
}

/// Pairs are tried among so many of the best of those that touch the same desks.
const PAIRED: usize = 10;

/// As many where more than one desk was measured, so that it does not take too long.
const PAIRED_OF_SEVERAL: usize = 6;

impl Inference<'_> {
    /// What a posterior changes.
    pub(crate) fn effects(&self, hypothesis: &Hypothesis) -> Vec<&Effect> {
        let one = |s: usize| &self.candidates[s].effect;
        match hypothesis {
            Hypothesis::One(s) => vec![one(*s)],
            Hypothesis::Two(a, b) => vec![one(*a), one(*b)],
            Hypothesis::Healthy { .. } | Hypothesis::Other => Vec::new(),
        }
    }

    /// The probability of what ports show. A link that came up slower shows it at both ends, unless
    /// somebody looked at another port of the way.
    fn shown(&self, effects: &[&Effect]) -> f64 {
        let right = self.weights.shown;
        let all = self.shown.iter().map(|(desk, shown)| {
            let of_desk = |e: &&&Effect| e.desks.contains(desk);
            let slower = effects.iter().filter(of_desk).find_map(|e| e.link);
            match (slower, self.places.links_at(desk)) {
                (Some(slower), _) if *shown == slower => right,
                (Some(_), _) => 1.0 - right,
                (None, Some(most)) if *shown < most => 1.0 - right,
                (None, _) => right,
            }
        });
        all.product()
    }

    /// The probability of what was noticed and of what ports show under a candidate.
    fn said(&self, s: usize) -> f64 {
        let candidate = &self.candidates[s];
        let cause = &self.causes[candidate.cause];
        self.evidence
            .all(self.remarks, cause, Some(&candidate.effect.desks))
    }

    /// All explanations, the likeliest first.
    pub(crate) fn judge(&self, scenarios: &Scenarios<'_>) -> Vec<Posterior> {
        let healthy = self.healthy(scenarios);
        let sum: f64 = self.candidates.iter().map(|s| s.prior).sum();
        let faults = 1.0 - self.weights.healthy - self.weights.other;
        let share = |s: usize| faults * self.candidates[s].prior / sum.max(f64::MIN_POSITIVE);
        // explanation, weight, likelihood
        let mut all: Vec<(Hypothesis, f64, Likelihood)> = Vec::new();
        for (at, limit, likelihood) in by_limit(&healthy, scenarios) {
            let desk = healthy.ways[at].desk;
            let Some(row) = limit_row(self.causes, limit, self.places.tags(desk)) else {
                continue;
            };
            let said = self.evidence.all(self.remarks, &self.causes[row], None);
            let said = said * self.shown(&[]);
            let hypothesis = Hypothesis::Healthy {
                row,
                limit,
                desk: desk.to_owned(),
            };
            let weight = self.weights.healthy * said;
            all.push((hypothesis, weight, likelihood));
        }
        let mut singles: Vec<(usize, Scaled)> = Vec::new();
        for (index, candidate) in self.candidates.iter().enumerate() {
            let effects = [&candidate.effect];
            let likelihood = self.under(&candidate.effect, &healthy, scenarios);
            let weight = share(index) * (self.said(index) * self.shown(&effects));
            singles.push((index, likelihood.scaled().times(Scaled::of(weight))));
            all.push((Hypothesis::One(index), weight, likelihood));
        }
        all.push((
            Hypothesis::Other,
            self.weights.other * self.other_said(),
            self.other(&healthy),
        ));
        if self.observed.len() > 1 {
            let best: Vec<(usize, Marks)> = self
                .best(singles)
                .into_iter()
                .map(|s| {
                    (
                        s,
                        self.marks(&[&self.candidates[s].effect], &healthy, scenarios),
                    )
                })
                .collect();
            for (i, (a, of_a)) in best.iter().enumerate() {
                for (b, of_b) in best.get(i + 1..).unwrap_or_default() {
                    let (one, two) = (&self.candidates[*a], &self.candidates[*b]);
                    let (first, second) = (&self.causes[one.cause], &self.causes[two.cause]);
                    if !compatible((first, one), (second, two)) {
                        continue;
                    }
                    let effects = [&one.effect, &two.effect];
                    let pair = (effects, [of_a, of_b]);
                    let likelihood = self.together(pair, apart(one, two), &healthy, scenarios);
                    let said = self.said(*a).max(self.said(*b)) * self.shown(&effects);
                    let weight = self.weights.pair * share(*a) * share(*b) * said;
                    all.push((Hypothesis::Two(*a, *b), weight, likelihood));
                }
            }
        }
        let desks: Vec<&str> = healthy.ways.iter().map(|way| way.desk).collect();
        posteriors(all, &desks)
    }

    /// The candidates that pairs are made of: the best of those that touch the same desks, because
    /// one that explains its own desk is no rival of one that explains another.
    fn best(&self, singles: Vec<(usize, Scaled)>) -> Vec<usize> {
        let power = power(singles.iter().map(|(_, s)| *s));
        let singles = singles
            .into_iter()
            .map(|(s, scaled)| (s, scaled.over(power)));
        let mut singles: Vec<(usize, f64)> = singles.collect();
        singles.sort_by(|a, b| b.1.total_cmp(&a.1));
        let most = if self.places.several() {
            PAIRED_OF_SEVERAL
        } else {
            PAIRED
        };
        let mut taken: Vec<(&[String], usize)> = Vec::new();
        let mut best = Vec::new();
        for (s, _) in singles {
            let desks = self.candidates[s].effect.desks.as_slice();
            let at = taken.iter().position(|(known, _)| *known == desks);
            let at = at.unwrap_or_else(|| {
                taken.push((desks, 0));
                taken.len() - 1
            });
            if taken[at].1 < most {
                taken[at].1 += 1;
                best.push(s);
            }
        }
        best
    }

    fn other_said(&self) -> f64 {
        self.remarks
            .iter()
            .map(|r| self.evidence.of(&r.id, "none-of-these", "unknown"))
            .product::<f64>()
            * self.shown(&[])
    }
}

fn posteriors(mut all: Vec<(Hypothesis, f64, Likelihood)>, desks: &[&str]) -> Vec<Posterior> {
    let power = power(all.iter().map(|(_, _, l)| l.scaled()));
    for (_, _, likelihood) in &mut all {
        likelihood.bring_to(power);
    }
    let total: f64 = all.iter().map(|(_, w, l)| w * l.sum).sum();
    let best = all.iter().map(|(_, _, l)| l.sum).fold(0.0, f64::max);
    let over = |part: f64, whole: f64| if whole > 0.0 { part / whole } else { 0.0 };
    let mut posteriors: Vec<Posterior> = all
        .into_iter()
        .map(|(what, weight, likelihood)| {
            let fallen = likelihood.fallen.iter().zip(desks);
            Posterior {
                what,
                probability: over(weight * likelihood.sum, total),
                fits: over(likelihood.sum, best),
                fallen: fallen
                    .map(|(part, desk)| ((*desk).to_owned(), over(*part, likelihood.sum)))
                    .collect(),
            }
        })
        .collect();
    // stable: of equals, the row that stands first
    posteriors.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    posteriors
}
