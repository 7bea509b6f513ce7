use super::hop::{Adds, Chain, Hop, HopKind};
use crate::quantity::DataRate;
use crate::working::Column;
use std::borrow::Cow;

/// The rate of one flow in every draw, and what limits it there.
///
/// In each draw the slowest of the hops that work at the same time decides; the cost of hops that
/// the others wait for comes on top. What limits is found by
/// lifting: the hop without which the rate would rise most or, where several are equally slow and
/// none alone would do, all of them together, if that is more.
pub(crate) struct Rates {
    /// Bytes a second, one a draw.
    pub values: Vec<f64>,
    /// For each draw, a position in `sets`.
    pub limit: Vec<u32>,
    /// Hops that limit together, by position.
    pub sets: Vec<Vec<usize>>,
    lowest: Lowest,
}

/// In each draw the two lowest ceilings of the hops at work at the same time, and whose is lowest.
struct Lowest {
    least: Vec<f64>,
    second: Vec<f64>,
    // as wide as the rates, so that the three are updated side by side
    hop: Vec<u64>,
}

impl Lowest {
    fn of(chain: &Chain, count: usize) -> Self {
        let mut found = Self {
            least: vec![f64::INFINITY; count],
            second: vec![f64::INFINITY; count],
            hop: vec![0; count],
        };
        let columns: Vec<(u64, Cow<'_, [f64]>)> = (0..)
            .zip(&chain.hops)
            .filter_map(|(index, hop)| Some((index, at_work(hop, count)?)))
            .collect();
        // a few draws of all hops at a time, which stay in the nearest cache
        for start in (0..count).step_by(BLOCK) {
            let end = (start + BLOCK).min(count);
            for (index, values) in &columns {
                lower(
                    *index,
                    &values[start..end],
                    &mut found.least[start..end],
                    &mut found.second[start..end],
                    &mut found.hop[start..end],
                );
            }
        }
        found
    }
}

/// Draws that are looked at together.
const BLOCK: usize = 512;

/// Takes one more hop in; without branches, so that several draws go at once.
fn lower(index: u64, values: &[f64], least: &mut [f64], second: &mut [f64], hop: &mut [u64]) {
    for (((least, second), hop), &value) in least.iter_mut().zip(second).zip(hop).zip(values) {
        let lower = value < *least;
        let other = if lower { *least } else { value };
        *second = if other < *second { other } else { *second };
        let all = u64::from(lower).wrapping_neg();
        *hop = (index & all) | (*hop & !all);
        *least = if lower { value } else { *least };
    }
}

/// Ceilings of a hop that works at the same time as the others, infinite where they wait for it
/// instead; `None` where they always do.
fn at_work(hop: &Hop, count: usize) -> Option<Cow<'_, [f64]>> {
    let values = hop.ceiling.every_base(count);
    match &hop.adds {
        Adds::Always => None,
        Adds::Never => Some(values),
        Adds::Where(draws) => Some(
            values
                .iter()
                .zip(draws.iter())
                .map(|(&value, &adds)| if adds { f64::INFINITY } else { value })
                .collect(),
        ),
    }
}

/// Calls back with each draw in which the others wait for a hop, and what that costs.
fn each_wait(hop: &Hop, count: usize, mut wait: impl FnMut(usize, f64)) {
    if matches!(hop.adds, Adds::Never) {
        return;
    }
    for (draw, &value) in hop.ceiling.every_base(count).iter().enumerate() {
        let adds = match &hop.adds {
            Adds::Where(draws) => draws.get(draw).copied().unwrap_or(false),
            _ => true,
        };
        if adds {
            wait(draw, 1.0 / value);
        }
    }
}

/// Rates and limits of a chain.
pub(super) fn rates(chain: &Chain, count: usize) -> Rates {
    let lowest = Lowest::of(chain, count);
    let costs: Vec<f64> = lowest.least.iter().map(|least| 1.0 / least).collect();
    let mut gains: Vec<f64> = costs
        .iter()
        .zip(&lowest.second)
        .map(|(cost, second)| cost - 1.0 / second)
        .collect();
    let mut limit: Vec<u32> = lowest.hop.iter().map(|&hop| hop as u32).collect();
    // single hops come first in `sets`, under their own positions
    let mut sets: Vec<Vec<usize>> = (0..chain.hops.len()).map(|i| vec![i]).collect();
    for tie in ties(chain, count, &lowest, &mut sets) {
        gains[tie.draw] = costs[tie.draw] - 1.0 / tie.next;
        limit[tie.draw] = tie.set;
    }
    for (index, hop) in chain.hops.iter().enumerate() {
        each_wait(hop, count, |draw, own| {
            if own > gains[draw] {
                gains[draw] = own;
                limit[draw] = index as u32;
            }
        });
    }
    Rates {
        values: reached(chain, costs, &[]),
        limit,
        sets,
        lowest,
    }
}

/// The rates of [`rates`], to the last bit, without what limits.
pub(super) fn values(chain: &Chain, count: usize) -> Vec<f64> {
    reached(chain, least_cost(chain, count, &[]), &[])
}

/// Seconds a byte in the slowest place, but for some hops.
fn least_cost(chain: &Chain, count: usize, lifted: &[usize]) -> Vec<f64> {
    let mut least = vec![f64::INFINITY; count];
    let passed = time_left_on_links(chain, count, lifted);
    for (index, hop) in chain.hops.iter().enumerate() {
        if !lifted.contains(&index)
            && let Some(mut values) = at_work(hop, count)
        {
            if let (Some(over_links), Some(passed)) = (&hop.over_links, &passed) {
                values = over(over_links, &values, passed);
            }
            for (least, &value) in least.iter_mut().zip(values.iter()) {
                *least = if value < *least { value } else { *least };
            }
        }
    }
    for cost in &mut least {
        *cost = 1.0 / *cost;
    }
    least
}

/// Of the time that a byte takes on the slowest link, what is left without some hops; nothing where none of them is
/// a link.
fn time_left_on_links(chain: &Chain, count: usize, lifted: &[usize]) -> Option<Vec<f64>> {
    if !lifted.iter().any(|&index| is_link(chain, index)) {
        return None;
    }
    let (mut all, mut left) = (vec![0.0_f64; count], vec![0.0_f64; count]);
    for (index, hop) in chain.hops.iter().enumerate() {
        if hop.kind != HopKind::Link {
            continue;
        }
        for (draw, &value) in hop.ceiling.every_base(count).iter().enumerate() {
            all[draw] = all[draw].max(1.0 / value);
            if !lifted.contains(&index) {
                left[draw] = left[draw].max(1.0 / value);
            }
        }
    }
    // equal where nothing passes the slowest link either way
    let share = |(left, all): (&f64, &f64)| if left < all { left / all } else { 1.0 };
    Some(left.iter().zip(&all).map(share).collect())
}

fn is_link(chain: &Chain, index: usize) -> bool {
    let hop = chain.hops.get(index);
    hop.is_some_and(|hop| hop.kind == HopKind::Link)
}

/// A hop that waits for data to cross the links, with a share of the time that they take.
fn over<'a>(over_links: &Column<DataRate>, values: &[f64], shares: &[f64]) -> Cow<'a, [f64]> {
    let alone = over_links.every_base(values.len());
    let all = values.iter().zip(alone.iter()).zip(shares);
    all.map(|((value, alone), share)| 1.0 / (1.0 / alone + (1.0 / value - 1.0 / alone) * share))
        .collect()
}

/// Rates at a cost of each byte in the slowest place, with what the others wait for on top but for
/// some hops.
fn reached(chain: &Chain, mut costs: Vec<f64>, lifted: &[usize]) -> Vec<f64> {
    let waits = waits(chain, costs.len(), lifted);
    for (draw, cost) in costs.iter_mut().enumerate() {
        let waits = waits.as_ref().map_or(0.0, |waits| waits[draw]);
        *cost = copied(*cost, waits);
    }
    costs
}

/// The rate of a copy: the slowest place and what the others wait for, in seconds a byte.
pub(crate) fn copied(slowest: f64, waits: f64) -> f64 {
    1.0 / (slowest + waits)
}

/// What the others wait for, in seconds a byte, but for some hops; nothing where there is no such hop.
///
/// Added from the array to the desk, so that whoever adds the desk's own disk last gets the same to the
/// last bit.
fn waits(chain: &Chain, count: usize, lifted: &[usize]) -> Option<Vec<f64>> {
    let mut waits: Option<Vec<f64>> = None;
    for (index, hop) in chain.hops.iter().enumerate().rev() {
        if matches!(hop.adds, Adds::Never) || lifted.contains(&index) {
            continue;
        }
        let waits = waits.get_or_insert_with(|| vec![0.0; count]);
        each_wait(hop, count, |draw, own| waits[draw] += own);
    }
    waits
}

/// A draw in which several hops are the slowest.
struct Tie {
    draw: usize,
    /// A position among the sets.
    set: u32,
    /// The ceiling of the next hop.
    next: f64,
}

/// All draws in which several hops are the slowest, with those hops as sets of their own.
///
/// Equal rates come from the same arithmetic, so they are equal to the last bit.
fn ties(chain: &Chain, count: usize, lowest: &Lowest, sets: &mut Vec<Vec<usize>>) -> Vec<Tie> {
    let mut found: Vec<Tie> = (0..count)
        .filter(|&draw| lowest.least[draw] >= lowest.second[draw])
        .map(|draw| Tie {
            draw,
            set: 0,
            next: f64::INFINITY,
        })
        .collect();
    if found.is_empty() {
        return found;
    }
    // each set grows from the one without its last hop; the first is empty
    let mut grown: Vec<(u32, usize)> = vec![(0, 0)];
    for (index, hop) in chain.hops.iter().enumerate() {
        let Some(values) = at_work(hop, count) else {
            continue;
        };
        let mut with_hop = vec![0u32; grown.len()];
        for tie in &mut found {
            let value = values[tie.draw];
            if value <= lowest.least[tie.draw] {
                let with = &mut with_hop[tie.set as usize];
                if *with == 0 {
                    *with = grown.len() as u32;
                    grown.push((tie.set, index));
                }
                tie.set = *with;
            } else {
                tie.next = tie.next.min(value);
            }
        }
    }
    let mut position = vec![None; grown.len()];
    for tie in &mut found {
        let mut at = tie.set as usize;
        tie.set = *position[at].get_or_insert_with(|| {
            let mut set = Vec::new();
            while at > 0 {
                set.push(grown[at].1);
                at = grown[at].0 as usize;
            }
            set.reverse();
            sets.push(set);
            (sets.len() - 1) as u32
        });
    }
    found
}

impl Rates {
    /// What is left of the lowest ceiling by all that the others wait for, in the middle.
    pub(super) fn share_of_lowest(&self) -> f64 {
        let shares: Vec<f64> = self
            .values
            .iter()
            .zip(&self.lowest.least)
            .map(|(rate, least)| rate / least)
            .collect();
        crate::working::middle(&shares)
    }

    /// Rates of the same chain with some hops taken away.
    pub(super) fn without(&self, chain: &Chain, set: &[usize]) -> Vec<f64> {
        let count = self.values.len();
        let waits_for_links = chain.hops.iter().any(|hop| hop.over_links.is_some());
        let costs: Vec<f64> = if let &[only] = set
            && !(waits_for_links && is_link(chain, only))
        {
            // where it was the slowest, the second slowest is left
            let only = only as u64;
            let Lowest { least, second, hop } = &self.lowest;
            least
                .iter()
                .zip(second)
                .zip(hop)
                .map(|((least, second), &hop)| 1.0 / if hop == only { *second } else { *least })
                .collect()
        } else {
            least_cost(chain, count, set)
        };
        reached(chain, costs, set)
    }
}

#[cfg(test)]
mod tests {
    use super::super::hop::HopKind;
    use super::*;
    use crate::quantity::{DataRate, Measure, megabytes_per_second, ratio};
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
            of_all: None,
            adds,
            empty: None,
            over_links: None,
        }
    }

    fn chain(hops: Vec<Hop>) -> Chain {
        Chain {
            hops,
            forks: Vec::new(),
            write_cache: None,
            tiring: None,
            dead: Vec::new(),
            room: None,
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
        let lifted = found.without(&c, &[0]);
        assert!((lifted[0] - 100e6).abs() < 1.0 && (lifted[1] - 200e6).abs() < 1.0);
    }

    #[test]
    fn verify_what_waits_for_a_link_waits_less_without_it() {
        // two links of 10 and 100 at once, and requests that take 1/40 of a second for each million bytes
        // of which 1/100 by themselves: 1/100 + (1/40 - 1/100) 10/100 without the slow one
        let mut requests = hop(2, &[40.0], Adds::Never);
        requests.kind = HopKind::Requests;
        requests.over_links = Some(Column::same(megabytes_per_second(100.0)));
        let c = chain(vec![
            hop(0, &[10.0], Adds::Never),
            hop(1, &[100.0], Adds::Never),
            requests,
        ]);
        let found = rates(&c, 1);
        assert!((found.values[0] - 10e6).abs() < 1.0);
        let slow = found.without(&c, &[0]);
        assert!((slow[0] - 1e6 / (0.01 + 0.015 * 0.1)).abs() < 1.0);
        let both = found.without(&c, &[0, 1]);
        assert!((both[0] - 100e6).abs() < 1.0);
        let itself = found.without(&c, &[2]);
        assert!((itself[0] - 10e6).abs() < 1.0);
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
                let lifted = found.without(&c, &[index]);
                for (d, &rate) in lifted.iter().enumerate() {
                    let alone = found.sets[found.limit[d] as usize] == [index];
                    prop_assert_eq!(rate > found.values[d], alone);
                }
            }
            for d in 0..16 {
                let set = &found.sets[found.limit[d] as usize];
                let lifted = found.without(&c, set);
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
