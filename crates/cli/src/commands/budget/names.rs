//! Words for hops, limits and changes.

use crate::render::prose::{of_100, share};
use narrows_core::budget::{Change, Flow, HopKind, Limit};
use narrows_core::quantity::three_digits;

pub(crate) fn limits(flow: &Flow) -> String {
    let worth: Vec<&Limit> = flow
        .limits
        .iter()
        .filter(|l| l.share >= 0.1)
        .take(3)
        .collect();
    worth
        .iter()
        .map(|l| {
            let names: Vec<String> = l.hops.iter().map(|h| name_of(flow, h)).collect();
            let names = names.join(" with ");
            if l.share > 0.99 {
                names
            } else {
                format!("{names} {}", share(l.share))
            }
        })
        .collect::<Vec<_>>()
        .join(", ")
}

/// A hop in a few words.
fn name_of(flow: &Flow, id: &str) -> String {
    let Some(hop) = flow.hop(id) else {
        return id.to_owned();
    };
    match hop.kind {
        HopKind::Array => format!("array {}", hop.label),
        HopKind::Link => {
            // a run that may fall back has no one rate to name
            let at = hop
                .link_megabits_per_s
                .filter(|_| hop.link_is_certain)
                .map_or(String::new(), |r| format!(" at {r}"));
            format!("{id}{at}")
        }
        HopKind::Disk => "own disk".to_owned(),
        HopKind::Bus => hop.note.clone(),
        HopKind::Processor
        | HopKind::Window
        | HopKind::Requests
        | HopKind::Files
        | HopKind::Program => hop.label.clone(),
    }
}

/// After over before, as a range where there is one.
pub(crate) fn times(change: &Change) -> String {
    let (low, high) = (
        three_digits(change.factor_p05),
        three_digits(change.factor_p95),
    );
    if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

pub(crate) fn meaning(change: &Change) -> String {
    if !change.noticeable {
        return "no difference you would notice".to_owned();
    }
    match (change.gains_probability, change.loses_probability) {
        (g, l) if l < 0.01 && g > 0.99 => "faster".to_owned(),
        (g, l) if g < 0.01 && l > 0.99 => "slower".to_owned(),
        (g, l) if l < 0.01 => format!("faster in {} of 100 cases", of_100(g)),
        (g, l) if g < 0.01 => format!("slower in {} of 100 cases", of_100(l)),
        (g, l) => format!(
            "faster in {}, slower in {} of 100 cases",
            of_100(g),
            of_100(l)
        ),
    }
}
