//! Filling the network once a draw, on as many processors as there are.

use super::Network;
use super::network::Place;
use super::tally::Tally;
use crate::allocate::Filler;
use std::ops::Range;

/// More workers would wait for memory.
const MOST_WORKERS: usize = 8;

/// Visits times draws that lifting a place may take: all draws of a usual site, fewer of a large one.
const LIFTING: usize = 1 << 20;

/// Enough draws for a middle.
const LEAST_LIFTED: usize = 256;

/// Fewer draws are not worth a worker.
const LEAST_DRAWS: usize = 64;

/// What comes of all draws.
pub(super) struct Drawn {
    /// For each flow, its rate in every draw, in base units.
    pub rates: Vec<Vec<f64>>,
    /// For each place that several flows pass, or heads, the share of its second in every draw; the others follow
    /// from the rates ([`Network::busy_alone`]).
    pub busy: Vec<Vec<f64>>,
    /// For each place with heads, the part of it that they spend moving.
    pub moving: Vec<Vec<f64>>,
    /// For each flow, the draws in which a place that others pass too stopped it.
    pub held: Vec<Vec<bool>>,
    pub tally: Tally,
}

/// The first draws with a place lifted, as if that were no limit.
pub(super) fn without(network: &Network, place: usize) -> Drawn {
    let draws = LIFTING / network.passings.len().max(1);
    let count = network.count.min(draws.max(LEAST_LIFTED));
    on_workers(network, (Some(place), count), workers())
}

/// All draws.
///
/// Workers take draws in equal runs, and what they find is put together in that order, so that the
/// answer does not depend on how many there are. Checked by
/// `verify_the_answer_is_the_same_on_any_number_of_workers`.
pub(super) fn all(network: &Network) -> Drawn {
    on_workers(network, (None, network.count), workers())
}

fn workers() -> usize {
    crate::workers::processors().min(MOST_WORKERS)
}

/// So many draws, with a place lifted or none.
pub(super) fn on_workers(
    network: &Network,
    (lifted, count): (Option<usize>, usize),
    workers: usize,
) -> Drawn {
    let workers = workers.min(count / LEAST_DRAWS).max(1);
    let run = count.div_ceil(workers);
    let runs: Vec<Range<usize>> = (0..workers)
        .map(|w| (w * run).min(count)..((w + 1) * run).min(count))
        .collect();
    let Some((first, others)) = runs.split_first() else {
        return Drawn::empty(network, 0);
    };
    // the first makes room for what the others find
    let own = || some(network, lifted, first.clone(), count);
    let work = |run: &Range<usize>| some(network, lifted, run.clone(), run.len());
    let (mut all, parts) = crate::workers::beside(own, others, work);
    for part in parts {
        append(&mut all.rates, part.rates);
        append(&mut all.busy, part.busy);
        append(&mut all.moving, part.moving);
        append(&mut all.held, part.held);
        all.tally.add(&part.tally);
    }
    all
}

fn append<T>(to: &mut [Vec<T>], from: Vec<Vec<T>>) {
    for (to, from) in to.iter_mut().zip(from) {
        to.extend(from);
    }
}

impl Drawn {
    /// With room for so many draws.
    fn empty(network: &Network, room: usize) -> Self {
        let flows = network.flows.len();
        let of_places = |kept: fn(&Place) -> bool| {
            let room_of = |place: &Place| Vec::with_capacity(if kept(place) { room } else { 0 });
            network.places.iter().map(room_of).collect()
        };
        Self {
            rates: (0..flows).map(|_| Vec::with_capacity(room)).collect(),
            busy: of_places(|place| place.lone.is_none()),
            moving: of_places(|place| place.move_heads.is_some()),
            held: (0..flows).map(|_| Vec::with_capacity(room)).collect(),
            tally: Tally::of(network),
        }
    }
}

/// A run of draws, with room for so many.
fn some(network: &Network, lifted: Option<usize>, run: Range<usize>, room: usize) -> Drawn {
    let mut found = Drawn::empty(network, room);
    let mut filler = Filler::new(&network.problem(Some(run.start)));
    let mut stopped_by: Vec<Vec<u32>> = vec![Vec::new(); network.flows.len()];
    for draw in run {
        set(network, &mut filler, lifted, draw);
        filler.fill();
        stopped_by.iter_mut().for_each(Vec::clear);
        for &(flow, place) in &filler.bound {
            let by = &mut stopped_by[flow as usize];
            if !by.contains(&place) {
                by.push(place);
            }
        }
        for (f, rate) in filler.rate.iter().enumerate() {
            found.rates[f].push(*rate);
            let held = found.tally.count(network, (f, draw), *rate, &stopped_by[f]);
            found.held[f].push(held);
        }
        for (place, about) in network.places.iter().enumerate() {
            if about.lone.is_some() {
                continue;
            }
            let (busy, moving) = filler.busy(place);
            found.busy[place].push(busy);
            if about.move_heads.is_some() {
                found.moving[place].push(moving);
            }
        }
    }
    found
}

/// The numbers of one draw.
fn set(network: &Network, filler: &mut Filler, lifted: Option<usize>, draw: usize) {
    for (most, flow) in filler.most.iter_mut().zip(&network.flows) {
        *most = flow.most(draw);
    }
    for (i, passing) in network.passings.iter().enumerate() {
        let gone = lifted == Some(passing.place);
        filler.cost[i] = if gone { 0.0 } else { passing.cost[draw] };
        filler.turn[i] = passing.turn.as_ref().map_or(f64::INFINITY, |t| t[draw]);
    }
    for (time, place) in filler.move_heads.iter_mut().zip(&network.places) {
        *time = place.move_heads.as_ref().map_or(0.0, |t| t[draw]);
    }
}

impl super::network::Flow {
    /// The most that it takes in a draw.
    fn most(&self, draw: usize) -> f64 {
        let mut most = self.alone[draw];
        for cap in [&self.demand, &self.held_to].into_iter().flatten() {
            most = most.min(cap[draw]);
        }
        most
    }
}
