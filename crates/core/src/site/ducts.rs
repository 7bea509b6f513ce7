//! Runs of one duct are each other's neighbours.

use super::model::{Duct, End, Medium, Run, Site};
use crate::copper::Neighbours;
use crate::quantity::LinkRate;
use std::collections::BTreeMap;

/// What lies beside each run that tells its duct and whose neighbours nobody counted: the other twisted pairs of
/// the duct, each at the rate that it was seen at or else the fastest that its ends know.
///
/// Checked by `runs_of_one_duct_are_each_others_neighbours`.
pub(super) fn beside(
    runs: &[Run],
    knows: impl Fn(&End) -> Vec<LinkRate>,
) -> Vec<Option<BTreeMap<LinkRate, u32>>> {
    let signal = |run: &Run| {
        let pair = matches!(run.medium, Medium::Copper { .. });
        let duct = run.duct.as_ref().filter(|_| pair)?;
        let far = knows(&run.to);
        let both = knows(&run.from).into_iter().filter(|r| far.contains(r));
        Some((duct.clone(), run.negotiated.or(both.max())?))
    };
    let signals: Vec<Option<(Duct, LinkRate)>> = runs.iter().map(signal).collect();
    let mut in_duct: BTreeMap<&str, BTreeMap<LinkRate, u32>> = BTreeMap::new();
    for (duct, rate) in signals.iter().flatten() {
        *in_duct
            .entry(&duct.name)
            .or_default()
            .entry(*rate)
            .or_default() += 1;
    }
    // all of the duct but itself
    let others = |signal: &Option<(Duct, LinkRate)>| {
        let (duct, rate) = signal.as_ref().filter(|(duct, _)| !duct.counted)?;
        let mut found = in_duct.get(duct.name.as_str())?.clone();
        if let Some(own) = found.get_mut(rate) {
            *own -= 1;
        }
        found.retain(|_, count| *count > 0);
        Some(found)
    };
    signals.iter().map(others).collect()
}

/// Puts beside a run what was found there.
pub(super) fn lay(run: &mut Run, beside: BTreeMap<LinkRate, u32>) {
    if let Medium::Copper { installed, .. } = &mut run.medium {
        installed.neighbours = if beside.is_empty() {
            Neighbours::SameRate(0)
        } else {
            Neighbours::Rates(beside.into_iter().collect())
        };
    }
}

/// The same of a site, once the rate of a run or its ends have changed.
pub(crate) fn lay_in_ducts(site: &mut Site) {
    if site.runs.iter().all(|run| run.duct.is_none()) {
        return;
    }
    let knows = |end: &End| {
        let port = site.port(end);
        port.map_or_else(Vec::new, |port| port.knows.clone())
    };
    let found = beside(&site.runs, knows);
    for (run, beside) in site.runs.iter_mut().zip(found) {
        if let Some(beside) = beside {
            lay(run, beside);
        }
    }
}
