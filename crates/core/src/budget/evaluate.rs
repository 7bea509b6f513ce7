use super::hop::{Adds, Chain};
use crate::quantity::Measure;

/// The rate of one flow in every draw, and what limits it there.
///
/// In each draw the slowest of the hops that work at the same time decides; the cost of hops that
/// the others wait for comes on top; a real copy reaches a share of that. What limits is found by
/// lifting: the hop without which the rate would rise most or, where several are equally slow and
/// none alone would do, all of them together, if that is more.
pub(super) struct Rates {
    /// Bytes a second, one a draw.
    pub values: Vec<f64>,
    /// For each draw, a position in `sets`.
    pub limit: Vec<u32>,
    /// Hops that limit together, by position.
    pub sets: Vec<Vec<usize>>,
}

/// Values of one hop, whichever way its column holds them.
fn at(bases: Result<&[f64], f64>, draw: usize) -> f64 {
    match bases {
        Ok(values) => values.get(draw).copied().unwrap_or(f64::NAN),
        Err(value) => value,
    }
}

fn adds_in(adds: &Adds, draw: usize) -> bool {
    match adds {
        Adds::Never => false,
        Adds::Always => true,
        Adds::Where(draws) => draws.get(draw).copied().unwrap_or(false),
    }
}

/// Rates and limits of a chain.
pub(super) fn rates(chain: &Chain, count: usize) -> Rates {
    let hops = &chain.hops;
    let mut least = vec![f64::INFINITY; count];
    let mut second = vec![f64::INFINITY; count];
    let mut slowest = vec![0u32; count];
    let mut any_adds = false;
    for (index, hop) in hops.iter().enumerate() {
        match &hop.adds {
            Adds::Always => any_adds = true,
            Adds::Never => {
                let index = index as u32;
                match hop.ceiling.bases() {
                    Err(value) => {
                        for ((l, s), w) in least.iter_mut().zip(&mut second).zip(&mut slowest) {
                            lower(value, index, l, s, w);
                        }
                    }
                    Ok(values) => {
                        for (((l, s), w), &value) in least
                            .iter_mut()
                            .zip(&mut second)
                            .zip(&mut slowest)
                            .zip(values)
                        {
                            lower(value, index, l, s, w);
                        }
                    }
                }
            }
            Adds::Where(draws) => {
                any_adds = true;
                let bases = hop.ceiling.bases();
                for (d, &adds) in draws.iter().enumerate().take(count) {
                    if !adds {
                        lower(
                            at(bases, d),
                            index as u32,
                            &mut least[d],
                            &mut second[d],
                            &mut slowest[d],
                        );
                    }
                }
            }
        }
    }
    // single hops come first in `sets`, under their own positions
    let mut sets: Vec<Vec<usize>> = (0..hops.len()).map(|i| vec![i]).collect();
    let factor = chain.factor.bases();
    let mut values = Vec::with_capacity(count);
    let mut limit = slowest;
    for d in 0..count {
        let mut cost = 1.0 / least[d];
        // equal rates come from the same arithmetic, so they are equal to the last bit
        let tied = least[d] >= second[d];
        let (gain, position) = if tied {
            let (set, next) = tied_set(chain, d, least[d], &mut sets);
            (cost - 1.0 / next, set)
        } else {
            (cost - 1.0 / second[d], limit[d])
        };
        let mut best = (gain, position);
        if any_adds {
            for (index, hop) in hops.iter().enumerate() {
                if adds_in(&hop.adds, d) {
                    let own = 1.0 / at(hop.ceiling.bases(), d);
                    cost += own;
                    if own > best.0 {
                        best = (own, index as u32);
                    }
                }
            }
        }
        limit[d] = best.1;
        values.push(at(factor, d) / cost);
    }
    Rates {
        values,
        limit,
        sets,
    }
}

fn lower(value: f64, index: u32, least: &mut f64, second: &mut f64, slowest: &mut u32) {
    if value < *least {
        *second = *least;
        *least = value;
        *slowest = index;
    } else if value < *second {
        *second = value;
    }
}

/// All hops that are as slow as the slowest, as a set of its own, and the rate of the next.
fn tied_set(chain: &Chain, draw: usize, least: f64, sets: &mut Vec<Vec<usize>>) -> (u32, f64) {
    let mut tied = Vec::new();
    let mut next = f64::INFINITY;
    for (i, hop) in chain.hops.iter().enumerate() {
        if adds_in(&hop.adds, draw) {
            continue;
        }
        let rate = at(hop.ceiling.bases(), draw);
        if rate <= least {
            tied.push(i);
        } else {
            next = next.min(rate);
        }
    }
    let position = sets.iter().position(|s| *s == tied).unwrap_or_else(|| {
        sets.push(tied);
        sets.len() - 1
    });
    (position as u32, next)
}

/// Rates of a chain with some hops taken away.
pub(super) fn rates_without(chain: &Chain, count: usize, without: &[usize]) -> Vec<f64> {
    let mut lifted = chain.clone();
    for &index in without {
        if let Some(hop) = lifted.hops.get_mut(index) {
            hop.ceiling =
                crate::working::Column::same(crate::quantity::DataRate::from_base(f64::INFINITY));
        }
    }
    rates(&lifted, count).values
}

#[cfg(test)]
mod tests {
    use super::super::hop::{Hop, HopKind};
    use super::*;
    use crate::quantity::{DataRate, megabytes_per_second, ratio};
    use crate::working::Column;
    use proptest::prelude::*;

    fn hop(id: usize, rates: &[f64], adds: Adds) -> Hop {
        Hop {
            id: format!("hop {id}"),
            kind: HopKind::Link,
            label: String::new(),
            note: String::new(),
            ceiling: Column::each(rates.iter().map(|&r| megabytes_per_second(r))),
            signalled: None,
            adds,
            empty: None,
        }
    }

    fn chain(hops: Vec<Hop>) -> Chain {
        Chain {
            hops,
            factor: Column::same(ratio(1.0)),
            forks: Vec::new(),
            write_cache: None,
            tiring: None,
        }
    }

    #[test]
    fn two_equally_slow_hops_limit_together() {
        let c = chain(vec![
            hop(0, &[100.0, 100.0], Adds::Never),
            hop(1, &[100.0, 200.0], Adds::Never),
            hop(2, &[300.0, 300.0], Adds::Never),
        ]);
        let found = rates(&c, 2);
        assert_eq!(found.sets[found.limit[0] as usize], [0, 1]);
        assert_eq!(found.sets[found.limit[1] as usize], [0]);
        let lifted = rates_without(&c, 2, &[0]);
        assert!((lifted[0] - 100e6).abs() < 1.0 && (lifted[1] - 200e6).abs() < 1.0);
    }

    #[test]
    fn costs_that_others_wait_for_add() {
        // 500 and 110 in turn: 90.1639
        let c = chain(vec![
            hop(0, &[500.0], Adds::Always),
            hop(1, &[110.0], Adds::Never),
        ]);
        let found = rates(&c, 1);
        assert!((found.values[0] / 1e6 - 90.1639).abs() < 5e-5);
        assert_eq!(found.sets[found.limit[0] as usize], [1]);
        let c = chain(vec![
            hop(0, &[50.0; 2], Adds::Where([true, false].into())),
            hop(1, &[110.0; 2], Adds::Never),
        ]);
        let found = rates(&c, 2);
        assert!((found.values[1] / 1e6 - 50.0).abs() < 1e-9);
        assert_eq!(found.sets[found.limit[0] as usize], [0]);
    }

    proptest! {
        #[test]
        fn property_taking_a_hop_away_changes_the_rate_exactly_where_it_limits(
            columns in prop::collection::vec(prop::collection::vec(1u32..9, 16), 1..7),
        ) {
            // few distinct rates, so that ties are common
            let c = chain(
                columns
                    .iter()
                    .enumerate()
                    .map(|(i, r)| hop(i, &r.iter().map(|&x| f64::from(x) * 50.0).collect::<Vec<_>>(), Adds::Never))
                    .collect(),
            );
            let found = rates(&c, 16);
            for index in 0..c.hops.len() {
                let lifted = rates_without(&c, 16, &[index]);
                for (d, &rate) in lifted.iter().enumerate() {
                    let alone = found.sets[found.limit[d] as usize] == [index];
                    prop_assert_eq!(rate > found.values[d], alone);
                }
            }
            for d in 0..16 {
                let set = &found.sets[found.limit[d] as usize];
                let lifted = rates_without(&c, 16, set);
                prop_assert!(lifted[d] > found.values[d]);
            }
        }

        #[test]
        fn property_a_better_hop_never_lowers_a_draw(
            columns in prop::collection::vec(prop::collection::vec(1.0f64..900.0, 8), 2..7),
            which in 0usize..7, gain in 1.0f64..4.0,
        ) {
            let which = which % columns.len();
            let build = |gain: f64| chain(
                columns
                    .iter()
                    .enumerate()
                    .map(|(i, r)| {
                        let k = if i == which { gain } else { 1.0 };
                        let adds = if i == 1 { Adds::Always } else { Adds::Never };
                        hop(i, &r.iter().map(|x| x * k).collect::<Vec<_>>(), adds)
                    })
                    .collect(),
            );
            let (before, after) = (rates(&build(1.0), 8).values, rates(&build(gain), 8).values);
            for d in 0..8 {
                prop_assert!(after[d] >= before[d] * (1.0 - 1e-12));
                for hop in &build(1.0).hops {
                    prop_assert!(DataRate::from_base(before[d]) <= hop.ceiling.at(d) * ratio(1.0 + 1e-12));
                }
            }
        }
    }
}
