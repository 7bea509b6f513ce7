//! What the edits of an offer touch.

use super::offers::Offer;
use crate::change::Edit;
use crate::site::Site;

/// What an edit touches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Touch {
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
pub(super) fn touches(site: &Site, offers: &[Offer]) -> Vec<Vec<Touch>> {
    let each = offers.iter();
    each.map(|offer| offer.sets.iter().map(|edit| touch(edit, site)).collect())
        .collect()
}

pub(super) fn touch(edit: &Edit, site: &Site) -> Touch {
    let steps: Vec<&str> = edit.steps().iter().map(|s| s.name.as_str()).collect();
    match steps.as_slice() {
        ["network", _, ..] => Touch::Network,
        ["desk", name, field, ..] if site.desks.iter().any(|d| d.name == *name) => {
            Touch::Desk((*name).to_owned(), *field == "port")
        }
        ["nas", name, field, ..] if site.nas(name).is_some() => {
            Touch::Nas((*name).to_owned(), *field == "port")
        }
        // an array that moves to another machine may matter to anybody
        ["array", _, "nas", ..] => Touch::All,
        ["array", name, _, ..] if site.arrays.iter().any(|a| a.name == *name) => {
            Touch::Array((*name).to_owned())
        }
        ["switch", name, "port", port, rest @ ..]
            if site.switches.iter().any(|s| s.name == *name) =>
        {
            let count = rest.first() == Some(&"count");
            Touch::Port((*name).to_owned(), (*port).to_owned(), count)
        }
        ["run", number, field, ..] => match number.parse::<usize>() {
            Ok(number) if site.runs.iter().any(|r| r.number == number) => {
                Touch::Run(number, matches!(*field, "from" | "to"))
            }
            _ => Touch::All,
        },
        _ => Touch::All,
    }
}

/// Runs whose ends may move.
pub(super) fn moving(touches: &[Vec<Touch>]) -> std::collections::BTreeSet<usize> {
    let moved = |touch: &Touch| match touch {
        Touch::Run(number, true) => Some(*number),
        _ => None,
    };
    touches.iter().flatten().filter_map(moved).collect()
}
