//! In how many draws what stops each flow.

use super::Network;
use super::draw::Drawn;
use std::collections::BTreeMap;

/// Relative room below which a rate counts as reached: far above rounding, far below meaning.
pub(super) const REACHED: f64 = 1e-9;

/// Places that are lifted to see what would happen.
const MOST_LIFTED: usize = 3;

/// A place that stops flows in a smaller share of their draws is not worth lifting.
const WORTH_LIFTING: f64 = 0.02;

/// Counts of draws.
#[derive(Clone, Debug, Default)]
pub(super) struct Tally {
    /// Flow by flow: it gets all that it asks for.
    pub satisfied: Vec<u32>,
    /// Flow by flow: what holds it alone, by position among its sets.
    pub alone: Vec<Vec<u32>>,
    /// Flow by flow, the places that alone stop it: few of the many that there may be.
    pub one: Vec<Vec<(u32, u32)>>,
    /// Stopped by several places at once.
    pub several: BTreeMap<(u32, Vec<u32>), u32>,
}

impl Tally {
    pub(super) fn of(network: &Network) -> Self {
        let flows = network.flows.len();
        Self {
            satisfied: vec![0; flows],
            alone: network
                .flows
                .iter()
                .map(|f| vec![0; f.sets.len()])
                .collect(),
            one: vec![Vec::new(); flows],
            several: BTreeMap::new(),
        }
    }

    /// Counts one flow in one draw; whether a place that others pass too holds it.
    pub(super) fn count(
        &mut self,
        network: &Network,
        (flow, draw): (usize, usize),
        rate: f64,
        stopped_by: &[u32],
    ) -> bool {
        let about = &network.flows[flow];
        let reached = |most: f64| rate >= most * (1.0 - REACHED);
        let asked = [&about.demand, &about.held_to];
        if asked.into_iter().flatten().any(|cap| reached(cap[draw])) {
            self.satisfied[flow] += 1;
            return false;
        }
        // where nobody else passes it would stop alone too, but for what acknowledges the other way
        let own = |&place: &u32| network.places[place as usize].flows < 2;
        if reached(about.alone[draw]) || stopped_by.iter().all(own) {
            let set = about.limit[draw] as usize;
            if let Some(count) = self.alone[flow].get_mut(set) {
                *count += 1;
            }
            return false;
        }
        if let &[place] = stopped_by {
            one_more(&mut self.one[flow], (place, 1));
        } else {
            let key = (flow as u32, stopped_by.to_vec());
            *self.several.entry(key).or_default() += 1;
        }
        stopped_by
            .iter()
            .any(|&p| network.places[p as usize].flows > 1)
    }

    pub(super) fn add(&mut self, other: &Self) {
        let sum = |to: &mut [u32], from: &[u32]| {
            for (to, from) in to.iter_mut().zip(from) {
                *to += from;
            }
        };
        sum(&mut self.satisfied, &other.satisfied);
        for (to, from) in self.one.iter_mut().zip(&other.one) {
            for &place in from {
                one_more(to, place);
            }
        }
        for (to, from) in self.alone.iter_mut().zip(&other.alone) {
            sum(to, from);
        }
        for (key, count) in &other.several {
            *self.several.entry(key.clone()).or_default() += count;
        }
    }

    /// In how many draws a place alone stops a flow.
    pub(super) fn by_place(&self, flow: usize, place: usize) -> u32 {
        let known = self.one[flow].iter().find(|(at, _)| *at as usize == place);
        known.map_or(0, |(_, count)| *count)
    }
}

/// Counts a place so many times more, in the order of places.
fn one_more(places: &mut Vec<(u32, u32)>, (place, count): (u32, u32)) {
    match places.binary_search_by_key(&place, |(at, _)| *at) {
        Ok(at) => places[at].1 += count,
        Err(at) => places.insert(at, (place, count)),
    }
}

/// Places that most often stop flows on their own, the most frequent first.
pub(super) fn worth_lifting(network: &Network, found: &Drawn) -> Vec<usize> {
    let flows = network.flows.len();
    let mut counts: Vec<(u32, usize)> = (0..network.places.len())
        .map(|place| {
            let sum = (0..flows)
                .map(|flow| found.tally.by_place(flow, place))
                .sum();
            (sum, place)
        })
        .filter(|(sum, _)| f64::from(*sum) >= WORTH_LIFTING * network.count as f64)
        .collect();
    counts.sort_by_key(|&(sum, place)| (std::cmp::Reverse(sum), place));
    counts
        .into_iter()
        .take(MOST_LIFTED)
        .map(|(_, place)| place)
        .collect()
}
