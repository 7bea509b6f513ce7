//! Cords that move with what is bought: a port is of use to nobody while no cord is in it.

use super::affected::{Affected, of_edit};
use super::base::Base;
use super::offers::Offer;
use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::plan::ports::{Load, Question, ports};
use crate::site::{Machine, Run, Site, SitePath};
use std::collections::BTreeMap;

/// Who gets which port needs an order of desks and no percentile.
const DRAWS: usize = 256;

/// A cord that goes to another port of its switch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cord {
    /// The desk at its other end.
    pub desk: String,
    /// The switch.
    pub switch: String,
    /// The port, or group of equal ports, that it goes to.
    pub port: String,
}

/// A switch with a port of it.
type Group = (String, String);

/// Adds to offers the cords that move with them: as `narrows ports` patches the site with everything bought.
///
/// A cord goes to a port that is free today with the card of its desk, and to one that is bought with that port. Desks that
/// nothing is bought for, and cords that an offer moves itself, stay where they are. With one port for several cards the
/// desk that `ports` prefers has it, whichever cards are bought.
///
/// Checked by `a_cord_goes_with_the_port_that_is_bought`, `a_card_takes_a_port_that_is_free`.
pub(super) fn move_cords(
    offers: &mut [Offer],
    closures: &[Vec<usize>],
    base: &Base<'_>,
    catalogue: &Catalogue,
) {
    let Ok(site) = base.with(&[], catalogue) else {
        return;
    };
    let affected: Vec<Vec<Affected>> = offers
        .iter()
        .map(|offer| offer.sets.iter().map(|edit| of_edit(edit, &site)).collect())
        .collect();
    let any = |wanted: fn(&Affected) -> bool| affected.iter().flatten().any(wanted);
    if !any(|t| matches!(t, Affected::Port(..) | Affected::Desk(_, true))) {
        return;
    }
    let Ok(all) = base.with(&everything(offers), catalogue) else {
        return;
    };
    let loads = Load::of_site(&all);
    let question = Question {
        site: &all,
        jacks: &[],
        loads: &loads,
        draws: DRAWS,
        workers: 1,
    };
    let Ok(answer) = ports(&question, catalogue, &|_, _| true) else {
        return;
    };
    let mut free = free_ports(&site);
    let mut bought = bought_ports(offers, &affected, base, catalogue);
    for patch in &answer.patches {
        let Some(port) = patch.port.as_ref() else {
            continue;
        };
        if patch.stays() || port.rate <= patch.today.rate {
            continue;
        }
        let group = (port.switch.clone(), port.port.clone());
        let cards: Vec<usize> = (0..offers.len())
            .filter(|at| affected[*at].contains(&Affected::Desk(patch.desk.clone(), true)))
            .collect();
        let takers = if !cards.is_empty() && take(&mut free, &group) {
            cards
        } else {
            let with = bought.iter_mut().position(|ports| take(ports, &group));
            with.into_iter().collect()
        };
        let Some(edit) = moved(&site, &patch.desk, &group) else {
            continue;
        };
        for at in takers {
            let company = closures.get(at).map_or(&[][..], Vec::as_slice);
            let mut edits: Vec<&Edit> = company
                .iter()
                .filter_map(|one| offers.get(*one))
                .flat_map(|offer| &offer.sets)
                .collect();
            edits.push(&edit);
            if base.with(&edits, catalogue).is_err() {
                continue;
            }
            if let Some(offer) = offers.get_mut(at) {
                offer.sets.push(edit.clone());
                offer.cords.push(Cord {
                    desk: patch.desk.clone(),
                    switch: group.0.clone(),
                    port: group.1.clone(),
                });
            }
        }
    }
}

/// What all offers set, without those beside which an earlier one is not bought.
fn everything(offers: &[Offer]) -> Vec<&Edit> {
    let mut taken: Vec<usize> = Vec::new();
    for (at, offer) in offers.iter().enumerate() {
        if !offer.excludes.iter().any(|other| taken.contains(other)) {
            taken.push(at);
        }
    }
    let offers = taken.into_iter().filter_map(|at| offers.get(at));
    offers.flat_map(|offer| &offer.sets).collect()
}

/// How many ports of each group no run is in.
fn free_ports(site: &Site) -> BTreeMap<Group, usize> {
    let mut found = BTreeMap::new();
    for switch in &site.switches {
        for port in &switch.ports {
            let here = |run: &&Run| {
                [&run.from, &run.to].into_iter().any(|end| {
                    end.machine == Machine::Switch
                        && end.name == switch.name
                        && end.port == port.name
                })
            };
            let taken = site.runs.iter().filter(here).count();
            let group = (switch.name.clone(), port.name.clone());
            found.insert(group, port.count.saturating_sub(taken));
        }
    }
    found
}

/// How many ports more each offer brings by itself.
fn bought_ports(
    offers: &[Offer],
    affected: &[Vec<Affected>],
    base: &Base<'_>,
    catalogue: &Catalogue,
) -> Vec<BTreeMap<Group, usize>> {
    let free = |edits: &[&Edit]| base.with(edits, catalogue).map(|site| free_ports(&site));
    let today = free(&[]).unwrap_or_default();
    let one = |(offer, affected): (&Offer, &Vec<Affected>)| {
        let at_switch = affected.iter().any(|t| matches!(t, Affected::Port(..)));
        let moves = affected.iter().any(|t| matches!(t, Affected::Run(_, true)));
        if !at_switch || moves {
            return BTreeMap::new();
        }
        let edits: Vec<&Edit> = offer.sets.iter().collect();
        let mut more = free(&edits).unwrap_or_default();
        for (group, count) in &mut more {
            *count = count.saturating_sub(today.get(group).copied().unwrap_or(0));
        }
        more
    };
    offers.iter().zip(affected).map(one).collect()
}

/// Takes a port of a group, where one is left.
fn take(ports: &mut BTreeMap<Group, usize>, group: &Group) -> bool {
    match ports.get_mut(group) {
        Some(count) if *count > 0 => {
            *count -= 1;
            true
        }
        _ => false,
    }
}

/// The edit that puts the cord of a desk into a port of the switch that it hangs on.
fn moved(site: &Site, desk: &str, (switch, port): &Group) -> Option<Edit> {
    let found = site.runs.iter().find_map(|run| {
        let ends = [("from", &run.from, &run.to), ("to", &run.to, &run.from)];
        ends.into_iter().find_map(|(key, here, there)| {
            let theirs = there.machine == Machine::Desk && there.name == desk;
            let at = here.machine == Machine::Switch && here.name == *switch;
            (theirs && at).then_some((run.number, key))
        })
    });
    let (run, key) = found?;
    let there = SitePath::Switch(switch, Some(port));
    Edit::parse(&SitePath::Run(run, Some(key)).set(there), 0).ok()
}

#[cfg(test)]
mod tests {
    use super::super::offers;
    use super::*;

    const LANE: &str = narrows_data::SITES[0].1;

    fn read(text: &str) -> Vec<Offer> {
        let base = Base {
            site: LANE.as_bytes(),
            tasks: None,
            edits: &[],
        };
        offers(text, &base, &Catalogue::embedded().unwrap()).unwrap()
    }

    const CARD: &str = "[[offer]]\nid = \"card\"\nprice = \"95 EUR\"\nset = ['desk.colour.port.a.rate=\"10 Gb/s\"']\n";

    fn cord() -> Cord {
        Cord {
            desk: "colour".to_owned(),
            switch: "attic".to_owned(),
            port: "fast".to_owned(),
        }
    }

    #[test]
    fn a_cord_goes_with_the_port_that_is_bought() {
        let port = "[[offer]]\nid = \"port\"\nprice = \"110 EUR\"\nset = ['switch.attic.port.fast.count=4']\n";
        let both = read(&format!("{CARD}{port}"));
        assert_eq!(both[0].cords, []);
        assert_eq!(both[1].cords, [cord()]);
        assert_eq!(both[1].sets.len(), 2);
        // a port for which nobody has a card moves no cord
        assert_eq!(read(port)[0].cords, []);
        // one that moves it itself is left alone
        let itself = "[[offer]]\nid = \"port\"\nprice = \"110 EUR\"\nset = ['switch.attic.port.fast.count=4', \
                      'run.4.to=\"switch.attic.fast\"']\n";
        assert!(
            read(&format!("{CARD}{itself}"))
                .iter()
                .all(|o| o.cords.is_empty())
        );
    }

    #[test]
    fn a_card_takes_a_port_that_is_free() {
        let wide = LANE.replace(
            "port.fast = { rate = \"10 Gb/s\", count = 3 }",
            "port.fast = { rate = \"10 Gb/s\", count = 4 }",
        );
        assert_ne!(wide, LANE);
        let base = Base {
            site: wide.as_bytes(),
            tasks: None,
            edits: &[],
        };
        let made = offers(CARD, &base, &Catalogue::embedded().unwrap()).unwrap();
        assert_eq!(made[0].cords, [cord()]);
    }
}
