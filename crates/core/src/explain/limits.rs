//! What limits where nothing is at fault.

use super::candidates::limit_row;
use super::densities::product;
use super::found::Verdict;
use super::inference::Inference;
use super::likelihood::{Healthy, Likelihood};
use super::predicted::{Limit, Predicted};
use super::reading::What;
use super::scenarios::Scenarios;

/// The way of one desk, as its most telling reading sees it: a copy, where there is one.
pub(super) struct MainPath<'w> {
    pub desk: &'w str,
    pub predicted: &'w Predicted,
    /// Limits that are no good news.
    slow: Vec<Limit>,
}

/// Which way is spoken of in a draw, and what limits it: the first, unless something that
/// could be changed limits another.
pub(super) fn limit_of(ways: &[MainPath<'_>], d: usize) -> Option<(usize, Limit)> {
    let limits = || {
        let all = ways.iter().enumerate();
        all.map(|(at, way)| (at, way.predicted.limit[d]))
    };
    limits()
        .find(|(at, limit)| ways[*at].slow.contains(limit))
        .or_else(|| limits().next())
}

/// Likelihood with nothing at fault, by what limits whose way.
pub(super) fn by_limit(
    healthy: &Healthy<'_>,
    scenarios: &Scenarios<'_>,
) -> Vec<(usize, Limit, Likelihood)> {
    let parts: Vec<_> = healthy.of.iter().map(Vec::as_slice).collect();
    let (product, power) = product(&parts, scenarios);
    let count = healthy.ways.len();
    let mut sums = vec![Likelihood::nothing(count, power); count * Limit::ALL.len()];
    for (d, p) in product.iter().enumerate() {
        let Some((at, limit)) = limit_of(&healthy.ways, d) else {
            return Vec::new();
        };
        if let Some(place) = Limit::ALL.iter().position(|l| *l == limit) {
            sums[at * Limit::ALL.len() + place].add(*p, d, &healthy.ways);
        }
    }
    let every = (0..count).flat_map(|at| Limit::ALL.map(|limit| (at, limit)));
    every
        .zip(sums)
        .filter(|(_, likelihood)| likelihood.sum > 0.0)
        .map(|((at, limit), likelihood)| (at, limit, likelihood))
        .collect()
}

impl Inference<'_> {
    /// The way of each desk, that of the reading that people mean first.
    pub(super) fn main_paths<'w>(&'w self, scenarios: &'w Scenarios<'_>) -> Vec<MainPath<'w>> {
        let copies = |what: What| matches!(what, What::Copy | What::ManyFiles);
        let mut observed: Vec<_> = self.observed.iter().collect();
        // stable: the first copy, else the first of all
        observed.sort_by_key(|h| !copies(h.what));
        let mut ways: Vec<MainPath<'w>> = Vec::new();
        for one in observed {
            if ways.iter().any(|way| way.desk == one.desk) {
                continue;
            }
            let first = one.asks.first();
            let Some(predicted) = first.and_then(|(ask, _)| scenarios.made(ask)) else {
                continue;
            };
            let tags = self.places.tags(&one.desk);
            let slow = |limit: &Limit| {
                limit_row(self.causes, *limit, tags)
                    .is_some_and(|row| self.causes[row].weighs == Verdict::Slow)
            };
            ways.push(MainPath {
                desk: &one.desk,
                predicted,
                slow: Limit::ALL.into_iter().filter(slow).collect(),
            });
        }
        ways
    }

    /// The row of what limits the main reading in most draws where nothing is at fault.
    pub(crate) fn narrowest(&self, scenarios: &Scenarios<'_>) -> Option<usize> {
        let ways = self.main_paths(scenarios);
        let main = ways.first()?;
        let mut sums = [0.0; Limit::ALL.len()];
        for (d, weight) in scenarios.weights.iter().enumerate() {
            let limit = main.predicted.limit[d];
            if let Some(at) = Limit::ALL.iter().position(|l| *l == limit) {
                sums[at] += weight;
            }
        }
        let most = Limit::ALL
            .into_iter()
            .zip(sums)
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        limit_row(self.causes, most.0, self.places.tags(main.desk))
    }
}
