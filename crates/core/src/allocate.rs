//! The one rule for sharing: every resource has one second per second.
//!
//! A flow that moves `x` bytes a second costs `s` seconds a byte at a resource it visits, and the
//! costs of all flows there add up to one second at most. Rates are weighted max-min fair with
//! demands, found by filling: all flows rise together in proportion to their weights; whoever
//! meets its demand, or a full resource, stops.
//!
//! Spinning heads also pay for moving between streams. With `n = x / S` visits a second of a
//! flow that moves `S` bytes a visit, and `N` their sum, the heads' second is
//! `sum x s + t sum min(n, N - n) <= 1`: nothing for one stream, `t` a visit for equal streams,
//! little for a small second one. Every such cost rises with every flow on it, so where a
//! resource is full a flow that is largest there (in `x / weight`) can only grow if one no larger
//! shrinks; that is the max-min condition, and filling stops each flow at such a resource.
//!
//! Source: Bertsekas and Gallager, Data Networks, 2nd edition (1992), section 6.5.2.

use crate::quantity::{DataRate, Information, Measure, Time, TimePerInformation};

/// Relative room below which a resource counts as full: far above rounding, far below meaning.
const FULL: f64 = 1e-12;

/// Halvings of an interval, until its width is below the last bit.
const HALVINGS: usize = 200;

/// What a flow wants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// Its share against the others; greater than zero.
    pub weight: f64,
    /// The most it takes; without one it takes what it gets.
    pub most: Option<DataRate>,
}

/// Something that has one second per second.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Resource {
    /// Time to move the heads from one stream to another, where there are heads.
    pub move_heads: Option<Time>,
}

/// A visit of a flow to a resource.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Visit {
    /// Which flow.
    pub flow: usize,
    /// Which resource.
    pub resource: usize,
    /// Seconds a byte. A flow that comes twice has two visits.
    pub cost: TimePerInformation,
    /// Bytes that the flow moves before another gets its turn; for heads only.
    pub turn: Option<Information>,
}

/// Flows over resources.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Problem {
    /// One for each flow.
    pub flows: Vec<Demand>,
    /// One for each resource.
    pub resources: Vec<Resource>,
    /// In any order.
    pub visits: Vec<Visit>,
}

/// Who gets what, and why no more.
#[derive(Clone, Debug, PartialEq)]
pub struct Allocation {
    /// One for each flow. A flow that visits nothing and demands nothing is without bound.
    pub rates: Vec<DataRate>,
    /// For each flow the full resources that stopped it; none if it met its demand.
    pub binding: Vec<Vec<usize>>,
}

/// What makes a problem unanswerable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProblemFault {
    /// A weight that is not above zero, or not finite.
    Weight,
    /// A visit of a flow or resource that is not there.
    Place,
    /// A cost, demand, turn or time below zero or not a number.
    Amount,
}

struct Filling<'a> {
    problem: &'a Problem,
    /// Visits of each resource.
    at: Vec<Vec<&'a Visit>>,
    rates: Vec<f64>,
    stopped: Vec<bool>,
}

/// Fills all flows until each meets its demand or a full resource.
///
/// # Errors
/// Where a number is out of range or a visit leads nowhere.
pub fn fill(problem: &Problem) -> Result<Allocation, ProblemFault> {
    check(problem)?;
    let mut at = vec![Vec::new(); problem.resources.len()];
    for visit in &problem.visits {
        if visit.cost.base() > 0.0
            && let Some(list) = at.get_mut(visit.resource)
        {
            list.push(visit);
        }
    }
    let n = problem.flows.len();
    let mut filling = Filling {
        problem,
        at,
        rates: vec![0.0; n],
        stopped: vec![false; n],
    };
    let mut binding = vec![Vec::new(); n];
    // each round stops at least one flow
    for _ in 0..n {
        if filling.stopped.iter().all(|&s| s) {
            break;
        }
        let (level, full) = filling.next_level();
        filling.raise(level);
        for (i, demand) in problem.flows.iter().enumerate() {
            if !filling.stopped[i]
                && demand
                    .most
                    .is_some_and(|most| level * demand.weight >= most.base() * (1.0 - FULL))
            {
                filling.stopped[i] = true;
            }
        }
        for &resource in &full {
            for visit in &filling.at[resource] {
                let flow = visit.flow;
                // a flow that met its demand earlier is held below this level and is not bound here
                let rising =
                    filling.rates[flow] >= level * problem.flows[flow].weight * (1.0 - FULL);
                if rising && !binding[flow].contains(&resource) {
                    binding[flow].push(resource);
                }
                filling.stopped[flow] = true;
            }
        }
        if level.is_infinite() {
            break;
        }
    }
    Ok(Allocation {
        rates: filling.rates.into_iter().map(DataRate::from_base).collect(),
        binding,
    })
}

fn check(problem: &Problem) -> Result<(), ProblemFault> {
    let good = |x: f64| x.is_finite() && x >= 0.0;
    for flow in &problem.flows {
        if !(flow.weight > 0.0 && flow.weight.is_finite()) {
            return Err(ProblemFault::Weight);
        }
        if flow.most.is_some_and(|m| !good(m.base())) {
            return Err(ProblemFault::Amount);
        }
    }
    for resource in &problem.resources {
        if resource.move_heads.is_some_and(|t| !good(t.base())) {
            return Err(ProblemFault::Amount);
        }
    }
    for visit in &problem.visits {
        if visit.flow >= problem.flows.len() || visit.resource >= problem.resources.len() {
            return Err(ProblemFault::Place);
        }
        if !good(visit.cost.base())
            || visit
                .turn
                .is_some_and(|s| s.base().is_nan() || s.base() <= 0.0)
        {
            return Err(ProblemFault::Amount);
        }
    }
    Ok(())
}

impl Filling<'_> {
    /// The rate of a flow when all that still rise stand at a level.
    fn rate(&self, flow: usize, level: f64) -> f64 {
        if self.stopped[flow] {
            self.rates[flow]
        } else {
            let demand = &self.problem.flows[flow];
            let most = demand.most.map_or(f64::INFINITY, Measure::base);
            (level * demand.weight).min(most)
        }
    }

    fn raise(&mut self, level: f64) {
        for flow in 0..self.rates.len() {
            self.rates[flow] = self.rate(flow, level);
        }
    }

    /// The seconds a second that a resource is busy at a level.
    fn busy(&self, resource: usize, level: f64) -> f64 {
        let visits = &self.at[resource];
        let mut sum = 0.0;
        for visit in visits {
            sum += visit.cost.base() * self.rate(visit.flow, level);
        }
        let Some(time) = self.problem.resources[resource].move_heads else {
            return sum;
        };
        let turns = |visit: &Visit| {
            visit
                .turn
                .map_or(0.0, |s| self.rate(visit.flow, level) / s.base())
        };
        let all: f64 = visits.iter().map(|v| turns(v)).sum();
        for visit in visits {
            let own = turns(visit);
            sum += time.base() * own.min(all - own).max(0.0);
        }
        sum
    }

    /// The next level at which something stops, and the resources that are full there.
    fn next_level(&self) -> (f64, Vec<usize>) {
        let mut level = f64::INFINITY;
        for (i, demand) in self.problem.flows.iter().enumerate() {
            if !self.stopped[i]
                && let Some(most) = demand.most
            {
                level = level.min(most.base() / demand.weight);
            }
        }
        let levels: Vec<f64> = (0..self.at.len()).map(|r| self.level_of(r)).collect();
        for &l in &levels {
            level = level.min(l);
        }
        let full = levels
            .iter()
            .enumerate()
            .filter(|&(_, &l)| l.is_finite() && l <= level * (1.0 + FULL))
            .map(|(r, _)| r)
            .collect();
        (level, full)
    }

    /// The level at which a resource is full, were there no other and no demand met on the way.
    fn level_of(&self, resource: usize) -> f64 {
        let visits = &self.at[resource];
        let mut held = 0.0;
        let mut slope = 0.0;
        for visit in visits {
            if self.stopped[visit.flow] {
                held += visit.cost.base() * self.rates[visit.flow];
            } else {
                slope += visit.cost.base() * self.problem.flows[visit.flow].weight;
            }
        }
        if slope == 0.0 {
            return f64::INFINITY;
        }
        // without the heads' moves, so never too low
        let ceiling = ((1.0 - held) / slope).max(0.0);
        if self.problem.resources[resource].move_heads.is_none() {
            return ceiling;
        }
        let busy = |level: f64| self.busy(resource, level);
        if busy(ceiling) <= 1.0 {
            return ceiling;
        }
        let (mut low, mut high) = (0.0, ceiling);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if busy(middle) <= 1.0 {
                low = middle;
            } else {
                high = middle;
            }
            if high - low <= high * f64::EPSILON {
                break;
            }
        }
        low
    }
}

#[cfg(test)]
mod tests;
