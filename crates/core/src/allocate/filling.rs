//! Filling, event by event: a heap of the levels at which resources are full, and the demands in
//! order. Each event looks only at the resources of the flows that stop there, so that the whole
//! takes `O(M log M)` steps for `M` visits.

use super::{FULL, Problem};
use crate::quantity::Measure;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// A resource that is no busier than this when all its flows get all that they ask for never stops one.
const NEVER_FULL: f64 = 1.0 - 1e-9;

/// A sum whose rounding is kept beside it, so that what was added can be taken away again.
///
/// Source: Neumaier, ZAMM 54 (1974) 39.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    high: f64,
    low: f64,
}

impl Sum {
    fn add(&mut self, x: f64) {
        let sum = self.high + x;
        let rest = sum - self.high;
        self.low += (self.high - (sum - rest)) + (x - rest);
        self.high = sum;
    }

    fn value(self) -> f64 {
        self.high + self.low
    }
}

/// What moving between streams costs, where there are heads.
#[derive(Clone, Debug, Default)]
struct Moves {
    /// Turns a second of flows that have stopped.
    held: Sum,
    /// Turns a second for each level of those that rise.
    slope: Sum,
    /// The most turns a second of one that has stopped.
    most_held: f64,
    /// Visits with the most turns for each level in front.
    order: Vec<u32>,
    /// The first of them that still rises.
    first: usize,
}

/// A resource while it fills.
#[derive(Clone, Copy, Debug, Default)]
struct Place {
    /// Seconds of flows that have stopped.
    held: Sum,
    /// Seconds for each level of those that rise.
    slope: Sum,
    /// How many visits still rise; none where it cannot become full.
    rising: usize,
}

/// Flows over resources, laid out so that they can be filled many times with other numbers.
///
/// Numbers are in base units. The layout (which flow visits what) stays; weights, demands and costs
/// may be set anew before each filling.
#[derive(Clone, Debug, Default)]
pub(crate) struct Filler {
    /// Weight of each flow.
    pub weight: Vec<f64>,
    /// The most that each flow takes; infinite without a demand.
    pub most: Vec<f64>,
    /// Seconds a byte of each visit; a visit that costs nothing is none.
    pub cost: Vec<f64>,
    /// Bytes a turn of each visit; infinite where the heads do not move for it.
    pub turn: Vec<f64>,
    /// Seconds to move the heads of each resource; zero where there are none.
    pub move_heads: Vec<f64>,
    /// Found: the rate of each flow.
    pub rate: Vec<f64>,
    /// Found: flows with the full resources that stopped them.
    pub bound: Vec<(u32, u32)>,
    flow_of: Vec<u32>,
    resource_of: Vec<u32>,
    of_flow: Lists,
    of_resource: Lists,
    places: Vec<Place>,
    moves: Vec<Moves>,
    /// The event at which each flow stopped, from 1; zero while it rises.
    stopped: Vec<u32>,
    event: u32,
    /// The level at which each flow meets its demand.
    met_at: Vec<f64>,
    /// Turns a byte of each visit, where there are heads that move for it.
    turns: Vec<f64>,
    /// Flows with a demand, that of the lowest level first.
    demands: Vec<u32>,
    heap: BinaryHeap<Reverse<(u64, u32)>>,
    full: Vec<u32>,
    stopping: Vec<u32>,
}

/// Lists of visits, one behind the other.
#[derive(Clone, Debug, Default)]
struct Lists {
    starts: Vec<u32>,
    items: Vec<u32>,
}

impl Lists {
    /// For each of `count` owners, the places where it stands in `owners`.
    fn of(owners: &[u32], count: usize) -> Self {
        let mut starts = vec![0u32; count + 1];
        for &owner in owners {
            starts[owner as usize + 1] += 1;
        }
        for i in 0..count {
            starts[i + 1] += starts[i];
        }
        let mut next = starts.clone();
        let mut items = vec![0u32; owners.len()];
        for (visit, &owner) in owners.iter().enumerate() {
            let at = &mut next[owner as usize];
            items[*at as usize] = visit as u32;
            *at += 1;
        }
        Self { starts, items }
    }

    fn get(&self, owner: usize) -> &[u32] {
        &self.items[self.starts[owner] as usize..self.starts[owner + 1] as usize]
    }
}

impl Filler {
    /// Lays out a problem that has been checked.
    pub(crate) fn new(problem: &Problem) -> Self {
        let flow_of: Vec<u32> = problem.visits.iter().map(|v| v.flow as u32).collect();
        let resource_of: Vec<u32> = problem.visits.iter().map(|v| v.resource as u32).collect();
        let (flows, resources) = (problem.flows.len(), problem.resources.len());
        Self {
            weight: problem.flows.iter().map(|f| f.weight).collect(),
            most: problem
                .flows
                .iter()
                .map(|f| f.most.map_or(f64::INFINITY, Measure::base))
                .collect(),
            cost: problem.visits.iter().map(|v| v.cost.base()).collect(),
            turn: problem
                .visits
                .iter()
                .map(|v| v.turn.map_or(f64::INFINITY, Measure::base))
                .collect(),
            move_heads: problem
                .resources
                .iter()
                .map(|r| r.move_heads.map_or(0.0, Measure::base))
                .collect(),
            of_flow: Lists::of(&flow_of, flows),
            of_resource: Lists::of(&resource_of, resources),
            flow_of,
            resource_of,
            rate: vec![0.0; flows],
            places: vec![Place::default(); resources],
            moves: vec![Moves::default(); resources],
            stopped: vec![0; flows],
            met_at: vec![f64::INFINITY; flows],
            turns: vec![0.0; problem.visits.len()],
            ..Self::default()
        }
    }

    /// Fills all flows until each meets its demand or a full resource.
    pub(crate) fn fill(&mut self) {
        self.start();
        let mut left = self.rate.len();
        let mut next_demand = 0;
        let mut level = 0.0f64;
        while left > 0 {
            while let Some(&flow) = self.demands.get(next_demand)
                && self.stopped[flow as usize] > 0
            {
                next_demand += 1;
            }
            let demand = self.demands.get(next_demand).map(|&f| self.demand_level(f));
            let next = self
                .next_full()
                .into_iter()
                .chain(demand)
                .fold(f64::INFINITY, f64::min);
            if next.is_infinite() {
                // nothing holds what is left
                for (rate, &stopped) in self.rate.iter_mut().zip(&self.stopped) {
                    if stopped == 0 {
                        *rate = f64::INFINITY;
                    }
                }
                break;
            }
            // rounding must not take back what was given
            level = level.max(next);
            self.event += 1;
            self.gather(level, next_demand);
            left -= self.stopping.len();
            self.stop();
        }
    }

    fn start(&mut self) {
        self.bound.clear();
        self.heap.clear();
        self.stopped.fill(0);
        self.event = 0;
        self.rate.fill(0.0);
        self.demands.clear();
        for (flow, (most, weight)) in self.most.iter().zip(&self.weight).enumerate() {
            self.met_at[flow] = most / weight;
            if most.is_finite() {
                self.demands.push(flow as u32);
            }
        }
        let met_at = &self.met_at;
        let key = |f: u32| met_at[f as usize];
        self.demands
            .sort_unstable_by(|&a, &b| key(a).total_cmp(&key(b)).then(a.cmp(&b)));
        for resource in 0..self.places.len() {
            self.empty(resource);
        }
        for resource in 0..self.places.len() {
            if let Some(level) = self.now(resource as u32) {
                self.heap.push(Reverse((level.to_bits(), resource as u32)));
            }
        }
    }

    /// A resource on which everything rises from nothing. What cannot become full, whatever its flows
    /// take, is left out of all that follows.
    fn empty(&mut self, resource: usize) {
        let mut place = Place::default();
        let time = self.move_heads[resource];
        let moves = &mut self.moves[resource];
        moves.held = Sum::default();
        moves.slope = Sum::default();
        moves.most_held = 0.0;
        moves.first = 0;
        moves.order.clear();
        let mut most = 0.0;
        for &visit in self.of_resource.get(resource) {
            let v = visit as usize;
            if self.cost[v] > 0.0 {
                let flow = self.flow_of[v] as usize;
                let weight = self.weight[flow];
                place.slope.add(self.cost[v] * weight);
                place.rising += 1;
                most += self.cost[v] * self.most[flow];
                if time > 0.0 {
                    self.turns[v] = 1.0 / self.turn[v];
                    most += time * self.turns[v] * self.most[flow];
                    moves.slope.add(weight * self.turns[v]);
                    moves.order.push(visit);
                }
            }
        }
        if most <= NEVER_FULL {
            self.places[resource] = Place::default();
            return;
        }
        let (turns, weight, flow_of) = (&self.turns, &self.weight, &self.flow_of);
        let key = |v: u32| turns[v as usize] * weight[flow_of[v as usize] as usize];
        moves
            .order
            .sort_unstable_by(|&a, &b| key(b).total_cmp(&key(a)).then(a.cmp(&b)));
        self.places[resource] = place;
    }

    fn demand_level(&self, flow: u32) -> f64 {
        self.met_at[flow as usize]
    }

    /// The level at which a resource is full, were there no other and no demand met on the way.
    ///
    /// With `n` turns a second of each visit and `N` their sum, the moves take
    /// `t sum min(n, N - n)`. At most one visit has more than half of the turns, so that is
    /// `t min(N, 2 (N - n_max))`; `n_max` is the most of those that have stopped or the most of those
    /// that rise. The busy time is the least of three straight lines in the level, each rising, and
    /// reaches one where the last of them does.
    fn level_of(&mut self, resource: usize) -> f64 {
        let place = self.places[resource];
        let (held, slope) = (place.held.value(), place.slope.value());
        // without the heads' moves, so never too low
        let plain = ((1.0 - held) / slope).max(0.0);
        let time = self.move_heads[resource];
        if time <= 0.0 {
            return plain;
        }
        let moves = &mut self.moves[resource];
        while let Some(&visit) = moves.order.get(moves.first)
            && self.stopped[self.flow_of[visit as usize] as usize] > 0
        {
            moves.first += 1;
        }
        let steepest = moves.order.get(moves.first).map_or(0.0, |&visit| {
            let v = visit as usize;
            self.weight[self.flow_of[v] as usize] * self.turns[v]
        });
        let (turns, rise) = (moves.held.value(), moves.slope.value());
        let all = (1.0 - held - time * turns) / (slope + time * rise);
        let beside_held =
            (1.0 - held - 2.0 * time * (turns - moves.most_held)) / (slope + 2.0 * time * rise);
        let beside_rising =
            (1.0 - held - 2.0 * time * turns) / (slope + 2.0 * time * (rise - steepest).max(0.0));
        all.max(beside_held).max(beside_rising).clamp(0.0, plain)
    }

    /// The lowest level at which a resource is full.
    fn next_full(&mut self) -> Option<f64> {
        while let Some(&Reverse((bits, resource))) = self.heap.peek() {
            let level = f64::from_bits(bits);
            let now = self.now(resource);
            match now {
                // levels rise as flows stop, so an old one is only too low
                Some(now) if now > level => {
                    self.heap.pop();
                    self.heap.push(Reverse((now.to_bits(), resource)));
                }
                Some(_) => return Some(level),
                None => {
                    self.heap.pop();
                }
            }
        }
        None
    }

    /// The level of a resource on which something still rises.
    fn now(&mut self, resource: u32) -> Option<f64> {
        let resource = resource as usize;
        (self.places[resource].rising > 0).then(|| self.level_of(resource))
    }

    /// The flows that stop at a level, and why.
    fn gather(&mut self, level: f64, next_demand: usize) {
        self.full.clear();
        self.stopping.clear();
        let limit = level * (1.0 + FULL);
        while let Some(next) = self.next_full()
            && next <= limit
        {
            if let Some(Reverse((_, resource))) = self.heap.pop() {
                self.full.push(resource);
            }
        }
        self.full.sort_unstable();
        for i in next_demand..self.demands.len() {
            let flow = self.demands[i];
            if self.demand_level(flow) * (1.0 - FULL) > level {
                break;
            }
            if self.stopped[flow as usize] == 0 {
                self.take(flow, level);
            }
        }
        for i in 0..self.full.len() {
            let resource = self.full[i];
            let visits = self.of_resource.starts[resource as usize] as usize
                ..self.of_resource.starts[resource as usize + 1] as usize;
            for at in visits {
                let visit = self.of_resource.items[at] as usize;
                if self.cost[visit] <= 0.0 {
                    continue;
                }
                let flow = self.flow_of[visit];
                // whoever stopped before is held below this level and is not bound here
                match self.stopped[flow as usize] {
                    0 => self.take(flow, level),
                    event if event == self.event => {}
                    _ => continue,
                }
                if self.bound.last() != Some(&(flow, resource)) {
                    self.bound.push((flow, resource));
                }
            }
        }
    }

    fn take(&mut self, flow: u32, level: f64) {
        let f = flow as usize;
        self.stopped[f] = self.event;
        self.rate[f] = (level * self.weight[f]).min(self.most[f]);
        self.stopping.push(flow);
    }

    /// Takes the flows that stop from what rises to what is held.
    fn stop(&mut self) {
        for i in 0..self.stopping.len() {
            let flow = self.stopping[i] as usize;
            let (rate, weight) = (self.rate[flow], self.weight[flow]);
            for &visit in self.of_flow.get(flow) {
                let v = visit as usize;
                let cost = self.cost[v];
                if cost <= 0.0 {
                    continue;
                }
                let resource = self.resource_of[v] as usize;
                let place = &mut self.places[resource];
                if place.rising == 0 {
                    // it cannot become full
                    continue;
                }
                place.held.add(cost * rate);
                place.slope.add(-cost * weight);
                place.rising -= 1;
                if self.move_heads[resource] > 0.0 {
                    let moves = &mut self.moves[resource];
                    let turns = rate * self.turns[v];
                    moves.held.add(turns);
                    moves.slope.add(-weight * self.turns[v]);
                    moves.most_held = moves.most_held.max(turns);
                }
            }
        }
    }

    /// The share of its second for which a resource is busy, and the part of it that is moving.
    pub(crate) fn busy(&self, resource: usize) -> (f64, f64) {
        let (mut sum, mut all, mut most) = (0.0, 0.0, 0.0f64);
        let time = self.move_heads[resource];
        for &visit in self.of_resource.get(resource) {
            let v = visit as usize;
            if self.cost[v] > 0.0 {
                let rate = self.rate[self.flow_of[v] as usize];
                sum += self.cost[v] * rate;
                if time > 0.0 {
                    let turns = rate * self.turns[v];
                    all += turns;
                    most = most.max(turns);
                }
            }
        }
        let moving = time * all.min(2.0 * (all - most));
        (sum + moving, moving)
    }
}
