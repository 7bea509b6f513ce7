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

mod filling;

pub(crate) use filling::Filler;

use crate::quantity::{DataRate, Information, Measure, Time, TimePerInformation};

/// Relative room below which a resource counts as full: far above rounding, far below meaning.
const FULL: f64 = 1e-12;

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

impl std::fmt::Display for ProblemFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Weight => "a weight is not above zero",
            Self::Place => "a flow visits a place that is not there",
            Self::Amount => "a cost, a demand or a time is below zero or no number",
        })
    }
}

impl std::error::Error for ProblemFault {}

/// Fills all flows until each meets its demand or a full resource.
///
/// # Errors
/// Where a number is out of range or a visit leads nowhere.
pub fn fill(problem: &Problem) -> Result<Allocation, ProblemFault> {
    check(problem)?;
    let mut filler = Filler::new(problem);
    filler.fill();
    let mut binding = vec![Vec::new(); problem.flows.len()];
    for &(flow, resource) in &filler.bound {
        if let Some(list) = binding.get_mut(flow as usize) {
            list.push(resource as usize);
        }
    }
    Ok(Allocation {
        rates: filler.rate.into_iter().map(DataRate::from_base).collect(),
        binding,
    })
}

/// What each of several equal flows gets of a place that gives all of them together so much: what
/// filling finds where all are alike, without the filling.
///
/// Where heads move, what the place gives is `1 / (s + t / S)`, since of equal flows none has more than half
/// of the turns. Filling keeps the rounding of its sums beside them, so that the two may differ by a few
/// units in the last place. Checked by `verify_equal_flows_get_equal_shares`.
pub(crate) fn equal_share(gives: f64, flows: u32) -> f64 {
    gives / f64::from(flows)
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

#[cfg(test)]
mod tests;
