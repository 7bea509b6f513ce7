use super::flow::{Answer, Flow, six_digits};
use crate::quantity::{Measure, Ratio, ratio};
use crate::working::percentiles;
use serde::Serialize;

/// A difference smaller than this is lost in the scatter of two copies of the same file.
pub const NOTICEABLE: f64 = 0.05;

/// What a change does to one flow, draw by draw.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// Name of the desk.
    pub desk: String,
    /// Name of the array.
    pub array: String,
    /// The desk's port.
    pub port: String,
    /// Which way.
    pub direction: &'static str,
    /// Rate after over rate before: 5th percentile.
    #[serde(serialize_with = "six_digits")]
    pub factor_p05: f64,
    /// Rate after over rate before: median.
    #[serde(serialize_with = "six_digits")]
    pub factor_p50: f64,
    /// Rate after over rate before: 95th percentile.
    #[serde(serialize_with = "six_digits")]
    pub factor_p95: f64,
    /// Share of the draws that gain a noticeable amount.
    #[serde(serialize_with = "six_digits")]
    pub gains_probability: f64,
    /// Share of the draws that lose a noticeable amount.
    #[serde(serialize_with = "six_digits")]
    pub loses_probability: f64,
    /// Whether anybody would notice.
    pub noticeable: bool,
}

/// Compares two answers that were given with the same draws, flow by flow.
///
/// Flows that only one of them has are left out.
pub fn compare(before: &Answer, after: &Answer) -> Vec<Change> {
    before
        .flows
        .iter()
        .filter_map(|b| {
            let a = after.flows.iter().find(|a| same(a, b))?;
            Some(change(b, a))
        })
        .collect()
}

fn same(a: &Flow, b: &Flow) -> bool {
    (&a.desk, &a.array, &a.port, a.direction) == (&b.desk, &b.array, &b.port, b.direction)
}

fn change(before: &Flow, after: &Flow) -> Change {
    let factors: Vec<f64> = before
        .rates
        .iter()
        .zip(&after.rates)
        .map(|(b, a)| a / b)
        .collect();
    let n = factors.len().max(1) as f64;
    let gains = factors.iter().filter(|f| **f >= 1.0 + NOTICEABLE).count() as f64 / n;
    let loses = factors.iter().filter(|f| **f <= 1.0 - NOTICEABLE).count() as f64 / n;
    let p = percentiles::<Ratio>(&factors);
    let one = ratio(1.0).base();
    Change {
        desk: before.desk.clone(),
        array: before.array.clone(),
        port: before.port.clone(),
        direction: before.direction.word(),
        factor_p05: p.p05.base() / one,
        factor_p50: p.p50.base() / one,
        factor_p95: p.p95.base() / one,
        gains_probability: gains,
        loses_probability: loses,
        // one draw in ten is a chance that a person would want to know of
        noticeable: gains + loses >= 0.1,
    }
}
