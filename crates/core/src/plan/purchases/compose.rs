//! Sites put together from parts, so that a part is read once for all combinations that are the same to it.

use super::affected::{Affected, moving};
use super::base::Base;
use super::combos::{Mask, OfferSet, bit};
use crate::catalogue::Catalogue;
use crate::site::{Faults, Machine, Run, Site};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, RwLock};

/// What reading a combination came to.
type Read = Result<Arc<Site>, Faults>;

/// Reads sites by the parts that differ.
pub(super) struct Composer<'a> {
    base: Base<'a>,
    offer_set: &'a OfferSet<'a>,
    catalogue: &'a Catalogue,
    /// Offers that change which parts there are: those sites are read whole.
    whole: Mask,
    network: Mask,
    arrays: Vec<Mask>,
    nas: Vec<Mask>,
    switches: Vec<Mask>,
    desks: Vec<Mask>,
    runs: Vec<Mask>,
    known: RwLock<BTreeMap<Mask, Read>>,
}

impl<'a> Composer<'a> {
    pub(super) fn new(
        site: &Site,
        affected: &[Vec<Affected>],
        (base, offer_set): (Base<'a>, &'a OfferSet<'a>),
        catalogue: &'a Catalogue,
    ) -> Self {
        // what holds for the network may stand in for any part's own
        let of = |matters: &dyn Fn(&Affected) -> bool| {
            let each = affected.iter().enumerate();
            let any =
                |list: &[Affected]| list.iter().any(|t| *t == Affected::Network || matters(t));
            each.filter(|(_, list)| any(list))
                .fold(0, |mask, (index, _)| mask | bit(index))
        };
        let moving = moving(affected);
        Self {
            base,
            offer_set,
            catalogue,
            whole: affected
                .iter()
                .enumerate()
                .filter(|(_, list)| list.contains(&Affected::All))
                .fold(0, |mask, (index, _)| mask | bit(index)),
            network: of(&|_| false),
            arrays: site
                .arrays
                .iter()
                .map(|a| of(&|t| *t == Affected::Array(a.name.clone())))
                .collect(),
            nas: site
                .nas
                .iter()
                .map(|n| of(&|t| matches!(t, Affected::Nas(name, _) if *name == n.name)))
                .collect(),
            switches: site
                .switches
                .iter()
                .map(|s| of(&|t| matches!(t, Affected::Port(name, ..) if *name == s.name)))
                .collect(),
            desks: site
                .desks
                .iter()
                .map(|d| of(&|t| matches!(t, Affected::Desk(name, _) if *name == d.name)))
                .collect(),
            runs: site
                .runs
                .iter()
                .map(|r| of(&|t| of_run(t, r, &moving)))
                .collect(),
            known: RwLock::new(BTreeMap::new()),
        }
    }

    /// A combination read whole.
    fn read(&self, mask: Mask) -> Read {
        if let Ok(known) = self.known.read()
            && let Some(found) = known.get(&mask)
        {
            return found.clone();
        }
        let read = self.base.with(&self.offer_set.edits(mask), self.catalogue);
        let read = read.map(Arc::new);
        if let Ok(mut known) = self.known.write() {
            known.insert(mask, read.clone());
        }
        read
    }

    /// The site of a combination, without its list of assumptions.
    ///
    /// Each part comes from the smallest combination that is the same to it; where that makes no site by itself,
    /// all is read whole. How parts join is not checked: whoever tells of a combination reads it whole first.
    ///
    /// # Errors
    /// Where a site that is read whole has faults.
    ///
    /// Checked by `property_no_combination_is_beaten_and_none_is_missing`.
    pub(super) fn site(&self, mask: Mask) -> Result<Site, Faults> {
        if mask & self.whole == 0
            && let Some(site) = self.of_parts(mask)
        {
            return Ok(site);
        }
        let site = self
            .base
            .with(&self.offer_set.edits(mask), self.catalogue)?;
        Ok(Site {
            assumptions: Vec::new(),
            ..site
        })
    }

    fn of_parts(&self, mask: Mask) -> Option<Site> {
        let base = self.read(0).ok()?;
        let network = self.read(mask & self.network).ok()?;
        let site = Site {
            name: base.name.clone(),
            network: network.network.clone(),
            arrays: self.part(mask, &self.arrays, |site| &site.arrays)?,
            nas: self.part(mask, &self.nas, |site| &site.nas)?,
            switches: self.part(mask, &self.switches, |site| &site.switches)?,
            desks: self.part(mask, &self.desks, |site| &site.desks)?,
            runs: self.part(mask, &self.runs, |site| &site.runs)?,
            tasks: base.tasks.clone(),
            house: base.house.clone(),
            // no rate depends on these
            supplies: base.supplies.clone(),
            copies: base.copies.clone(),
            project: base.project.clone(),
            assumptions: Vec::new(),
        };
        // a link through the air is made of both its ends and what stands between
        let made_of_ends = site.runs.iter().any(|run| run.medium.is_worked_out());
        (!made_of_ends).then_some(site)
    }

    /// Parts of one kind, each from the combination that matters to it.
    fn part<T: Clone>(
        &self,
        mask: Mask,
        matters: &[Mask],
        of: impl Fn(&Site) -> &Vec<T>,
    ) -> Option<Vec<T>> {
        let one = |(index, matters): (usize, &Mask)| {
            let site = self.read(mask & matters).ok()?;
            of(&site).get(index).cloned()
        };
        matters.iter().enumerate().map(one).collect()
    }
}

/// Whether an edit can change what a run is: its own fields, and the ports that it may join.
fn of_run(one: &Affected, run: &Run, moving: &BTreeSet<usize>) -> bool {
    let ends = [&run.from, &run.to];
    let at = |machine: Machine, name: &str| {
        ends.iter()
            .any(|end| end.machine == machine && end.name == *name)
    };
    match one {
        Affected::Run(number, _) => *number == run.number,
        Affected::Desk(name, port) => *port && at(Machine::Desk, name),
        Affected::Nas(name, port) => *port && at(Machine::Nas, name),
        Affected::Port(switch, port, _) => {
            let this = |end: &&&crate::site::End| {
                end.machine == Machine::Switch && end.name == *switch && end.port == *port
            };
            moving.contains(&run.number) || ends.iter().any(|end| this(&end))
        }
        _ => false,
    }
}
