//! What the edits of an offer touch.

use super::offers::Offer;
use crate::change::Edit;
use crate::site::Site;

/// What an edit touches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Affected {
    /// A desk, and whether a port of it.
    Desk(String, bool),
    /// A machine that holds arrays, and whether a port of it.
    Nas(String, bool),
    Array(String),
    /// A port, or group of equal ports, of a switch, and whether only how many there are.
    Port(String, String, bool),
    /// A run by its number, and whether its ends may move.
    Run(usize, bool),
    /// What holds for the whole network.
    Network,
    /// Which parts there are, or anything else.
    All,
}

/// What each edit of each offer touches.
pub(super) fn of_offers(site: &Site, offers: &[Offer]) -> Vec<Vec<Affected>> {
    let each = offers.iter();
    each.map(|offer| offer.sets.iter().map(|edit| of_edit(edit, site)).collect())
        .collect()
}

pub(super) fn of_edit(edit: &Edit, site: &Site) -> Affected {
    let steps: Vec<&str> = edit.steps().iter().map(|s| s.name.as_str()).collect();
    match steps.as_slice() {
        ["network", _, ..] => Affected::Network,
        ["desk", name, field, ..] if site.desks.iter().any(|d| d.name == *name) => {
            Affected::Desk((*name).to_owned(), *field == "port")
        }
        ["nas", name, field, ..] if site.nas(name).is_some() => {
            Affected::Nas((*name).to_owned(), *field == "port")
        }
        // an array that moves to another machine may matter to anybody
        ["array", _, "nas", ..] => Affected::All,
        ["array", name, _, ..] if site.arrays.iter().any(|a| a.name == *name) => {
            Affected::Array((*name).to_owned())
        }
        ["switch", name, "port", port, rest @ ..]
            if site.switches.iter().any(|s| s.name == *name) =>
        {
            let count = rest.first() == Some(&"count");
            Affected::Port((*name).to_owned(), (*port).to_owned(), count)
        }
        ["run", number, field, ..] => match number.parse::<usize>() {
            Ok(number) if site.runs.iter().any(|r| r.number == number) => {
                Affected::Run(number, matches!(*field, "from" | "to"))
            }
            _ => Affected::All,
        },
        _ => Affected::All,
    }
}

/// Runs whose ends may move.
pub(super) fn moving(affected: &[Vec<Affected>]) -> std::collections::BTreeSet<usize> {
    let moved = |one: &Affected| match one {
        Affected::Run(number, true) => Some(*number),
        _ => None,
    };
    affected.iter().flatten().filter_map(moved).collect()
}
