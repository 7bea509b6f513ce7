//! How offers stand to each other: ids, currencies, what they require and exclude.

use super::offers::Draft;
use crate::nearest::nearest;
use crate::quantity::Money;
use crate::site::{Fault, Place};

/// All prices in one currency: that of most of them.
pub(super) fn currencies(drafts: &[Draft], faults: &mut Vec<Fault>) {
    let prices: Vec<_> = drafts.iter().filter_map(|d| d.price.as_ref()).collect();
    let count = |currency: &str| {
        let same = prices
            .iter()
            .filter(|(price, _)| price.currency == currency);
        same.count()
    };
    // of equally many the first
    let more = |a, b| {
        let (one, other): (&(Money, Place), &(Money, Place)) = (a, b);
        if count(&other.0.currency) > count(&one.0.currency) {
            b
        } else {
            a
        }
    };
    let Some((usual, place)) = prices.iter().copied().reduce(more) else {
        return;
    };
    for (price, at) in &prices {
        if price.currency != usual.currency {
            let found = format!("this is in {}", price.currency);
            let help = format!("write all prices in {}", usual.currency);
            faults.push(
                Fault::new(at.clone(), "prices in two currencies", found, help)
                    .also(place.clone(), format!("this is in {}", usual.currency)),
            );
        }
    }
}

/// Every id once.
pub(super) fn ids(drafts: &[Draft], faults: &mut Vec<Fault>) {
    for (i, draft) in drafts.iter().enumerate() {
        let Some((id, place)) = &draft.id else {
            continue;
        };
        let before = drafts.iter().take(i).filter_map(|d| d.id.as_ref());
        if let Some((_, first)) = before.into_iter().find(|(other, _)| other == id) {
            faults.push(
                Fault::new(
                    place.clone(),
                    "two offers of one id",
                    format!("'{id}' stands here again"),
                    "give each offer an id of its own",
                )
                .also(first.clone(), "first here"),
            );
        }
    }
}

/// The offers that a list names.
pub(super) fn links(
    draft: &Draft,
    list: &[(String, Place)],
    key: &str,
    drafts: &[Draft],
    faults: &mut Vec<Fault>,
) -> Vec<usize> {
    let ids = || {
        drafts
            .iter()
            .filter_map(|d| d.id.as_ref().map(|(id, _)| id.as_str()))
    };
    let mut found = Vec::new();
    for (name, place) in list {
        if draft.id.as_ref().is_some_and(|(id, _)| id == name) {
            faults.push(Fault::new(
                place.clone(),
                format!("an offer that {key} itself"),
                format!("'{name}' is the offer's own id"),
                "name another offer, or remove it",
            ));
            continue;
        }
        let at = drafts
            .iter()
            .position(|d| d.id.as_ref().is_some_and(|(id, _)| id == name));
        match at {
            Some(at) if found.contains(&at) => {}
            Some(at) => found.push(at),
            None => {
                let near = nearest(name, ids());
                let also = near.map_or(String::new(), |near| format!("; did you mean '{near}'?"));
                let mut fault = Fault::new(
                    place.clone(),
                    "there is no such offer",
                    format!("'{name}' is no id{also}"),
                    format!("write one of {}", ids().collect::<Vec<_>>().join(", ")),
                );
                if let Some(near) = near {
                    fault = fault.fixed(place.span.clone(), format!("\"{near}\""));
                }
                faults.push(fault);
            }
        }
    }
    found
}

/// All that each offer requires, itself among it; circles are told once.
pub(super) fn circles(
    drafts: &[Draft],
    requires: &[Vec<usize>],
    faults: &mut Vec<Fault>,
) -> Vec<Vec<usize>> {
    let mut closures = Vec::with_capacity(drafts.len());
    let mut told: Vec<usize> = Vec::new();
    for start in 0..drafts.len() {
        let mut reached = vec![start];
        let mut circle = false;
        let mut at = 0;
        while let Some(&one) = reached.get(at) {
            for &next in requires.get(one).map_or(&[][..], Vec::as_slice) {
                circle |= next == start;
                if !reached.contains(&next) {
                    reached.push(next);
                }
            }
            at += 1;
        }
        if circle && !told.contains(&start) {
            let back = |one: &usize| {
                let mut seen = vec![*one];
                let mut at = 0;
                while let Some(&here) = seen.get(at) {
                    for &next in requires.get(here).map_or(&[][..], Vec::as_slice) {
                        if !seen.contains(&next) {
                            seen.push(next);
                        }
                    }
                    at += 1;
                }
                seen.contains(&start)
            };
            let ring: Vec<usize> = reached.iter().copied().filter(back).collect();
            let names: Vec<&str> = ring
                .iter()
                .filter_map(|i| drafts.get(*i)?.id.as_ref().map(|(id, _)| id.as_str()))
                .collect();
            told.extend(&ring);
            let place = drafts
                .get(start)
                .and_then(|d| d.requires.first().map(|(_, place)| place.clone()));
            faults.push(Fault::new(
                place.unwrap_or_else(Place::top),
                "offers that require each other in a circle",
                names.join(", "),
                "make one offer of them, with the prices added up",
            ));
        }
        reached.sort_unstable();
        closures.push(reached);
    }
    closures
}

/// What is required must be allowed.
pub(super) fn contradictions(
    drafts: &[Draft],
    closures: &[Vec<usize>],
    excludes: &[Vec<usize>],
    faults: &mut Vec<Fault>,
) {
    let id = |i: usize| drafts.get(i).and_then(|d| d.id.as_ref());
    for (i, closure) in closures.iter().enumerate() {
        let clash = closure.iter().find_map(|&a| {
            let list = excludes.get(a)?;
            let b = closure.iter().find(|b| list.contains(b))?;
            Some((a, *b))
        });
        if let (Some((a, b)), Some((own, place))) = (clash, id(i)) {
            let name = |i: usize| id(i).map_or("", |(id, _)| id.as_str());
            faults.push(Fault::new(
                place.clone(),
                "an offer that can never be bought",
                format!(
                    "{own} requires what excludes each other: {} and {}",
                    name(a),
                    name(b)
                ),
                "correct requires or excludes",
            ));
        }
    }
}
