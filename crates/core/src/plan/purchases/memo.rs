//! What each desk gets with each combination, worked out once for all that are the same to it.

use super::PurchaseFault;
use super::base::Base;
use super::combos::{Combination, Mask, OfferSet};
use super::compose::Composer;
use super::worth::{DeskWorth, Looking, Wants};
use crate::catalogue::Catalogue;
use crate::plan::Patience;
use crate::site::Site;
use crate::spread::Draws;
use crate::workers::each;
use std::collections::BTreeMap;

/// Half of the offers at a time, so that tables stay small.
const HALF: u32 = 10;

/// Nothing is known yet.
const OPEN: u32 = u32::MAX;

/// What one desk gets, by the offers that matter to it.
struct Shelfful {
    /// Offers that matter, packed together, of the lower and of the upper half.
    low: Vec<u32>,
    high: Vec<u32>,
    /// Position of what is known.
    known: Vec<u32>,
}

impl Shelfful {
    fn new(relevant: Mask) -> Self {
        let low_bits = relevant & ((1 << HALF) - 1);
        let shift = low_bits.count_ones();
        let pack = |from: Mask, relevant: Mask| {
            let mut packed = 0;
            let mut place = 0;
            for index in 0..HALF {
                if relevant >> index & 1 == 1 {
                    packed |= (from >> index & 1) << place;
                    place += 1;
                }
            }
            packed
        };
        Self {
            low: (0..1 << HALF).map(|from| pack(from, low_bits)).collect(),
            high: (0..1 << HALF)
                .map(|from| pack(from, relevant >> HALF) << shift)
                .collect(),
            known: vec![OPEN; 1 << relevant.count_ones()],
        }
    }

    fn place(&self, mask: Mask) -> usize {
        let low = self.low[(mask & ((1 << HALF) - 1)) as usize];
        let high = self.high[(mask >> HALF) as usize % (1 << HALF)];
        (low | high) as usize
    }
}

/// What is looked at, and with what.
pub(super) struct Asking<'a> {
    pub base: Base<'a>,
    pub offer_set: &'a OfferSet<'a>,
    pub wants: &'a Wants<'a>,
    pub catalogue: &'a Catalogue,
    /// Puts sites together from parts that were read before; without one, each is read.
    pub composer: Option<&'a Composer<'a>>,
    /// Makes the draws of one worker.
    pub draws: &'a (dyn Fn() -> Draws + Sync),
    pub workers: usize,
}

/// What every desk gets with every combination that was looked at.
pub(super) struct Memo<T> {
    desks: Vec<String>,
    tables: Vec<Shelfful>,
    all: Vec<T>,
    /// Combinations that make no site, with why.
    pub refused: BTreeMap<Mask, String>,
}

/// A combination and the desks that it is new to.
type Job = (Mask, Vec<usize>);

impl<T: Send> Memo<T> {
    pub(super) fn new(site: &Site, relevant: &[Mask]) -> Self {
        Self {
            desks: site.desks.iter().map(|d| d.name.clone()).collect(),
            tables: relevant.iter().map(|r| Shelfful::new(*r)).collect(),
            all: Vec::new(),
            refused: BTreeMap::new(),
        }
    }

    /// What a desk gets with a combination.
    pub(super) fn of(&self, desk: usize, mask: Mask) -> Option<&T> {
        let table = self.tables.get(desk)?;
        let at = *table.known.get(table.place(mask))?;
        self.all.get(at as usize)
    }

    /// Of combinations that are the same to a desk the cheapest, the first of equally cheap ones.
    pub(super) fn cheapest(&self, desk: usize, combinations: &[Combination]) -> Vec<Combination> {
        let Some(table) = self.tables.get(desk) else {
            return Vec::new();
        };
        let mut found: Vec<Option<Combination>> = vec![None; table.known.len()];
        for combination in combinations {
            let best = &mut found[table.place(combination.mask)];
            if best.is_none_or(|best| combination.price < best.price) {
                *best = Some(*combination);
            }
        }
        found.into_iter().flatten().collect()
    }

    /// What every desk gets; nothing where it is not known of all.
    pub(super) fn each(&self, mask: Mask) -> Option<impl Iterator<Item = &T>> {
        let found: Option<Vec<&T>> = (0..self.tables.len()).map(|d| self.of(d, mask)).collect();
        Some(found?.into_iter())
    }

    /// Whether it is known what every desk gets.
    pub(super) fn knows(&self, mask: Mask) -> bool {
        (0..self.tables.len()).all(|desk| self.of(desk, mask).is_some())
    }

    /// Works out whatever is not known of the combinations: each desk once for all that are the same to it.
    /// Where one makes no site, the next that is the same to the desk stands in. Things as they are come first, and are
    /// known also where patience ends at once.
    pub(super) fn fill(
        &mut self,
        combinations: &[Combination],
        asking: &Asking<'_>,
        keep: &(dyn Fn(DeskWorth) -> T + Sync),
        patience: &Patience<'_>,
    ) -> Result<(), PurchaseFault> {
        loop {
            let jobs = self.jobs(combinations);
            if jobs.is_empty() || patience.is_over() {
                return Ok(());
            }
            for (mask, found) in worked(&jobs, &self.desks, asking, keep, patience)? {
                match found {
                    Err(why) => {
                        self.refused.insert(mask, why);
                    }
                    Ok(found) => {
                        for (desk, worth) in found {
                            let at = self.all.len() as u32;
                            self.all.push(worth);
                            if let Some(table) = self.tables.get_mut(desk) {
                                let place = table.place(mask);
                                table.known[place] = at;
                            }
                        }
                    }
                }
            }
        }
    }

    fn jobs(&self, combinations: &[Combination]) -> Vec<Job> {
        let mut asked: Vec<Vec<bool>> = self
            .tables
            .iter()
            .map(|t| vec![false; t.known.len()])
            .collect();
        let mut jobs = Vec::new();
        for combination in combinations {
            let mut desks = Vec::new();
            for (desk, table) in self.tables.iter().enumerate() {
                let place = table.place(combination.mask);
                if table.known[place] == OPEN && !asked[desk][place] {
                    desks.push(desk);
                }
            }
            if desks.is_empty() || self.refused.contains_key(&combination.mask) {
                continue;
            }
            for desk in &desks {
                let place = self.tables[*desk].place(combination.mask);
                asked[*desk][place] = true;
            }
            jobs.push((combination.mask, desks));
        }
        jobs
    }
}

/// What came of a combination: each desk's worth, or why it makes no site.
type Done<T> = (Mask, Result<Vec<(usize, T)>, String>);

fn worked<T: Send>(
    jobs: &[Job],
    desks: &[String],
    asking: &Asking<'_>,
    keep: &(dyn Fn(DeskWorth) -> T + Sync),
    patience: &Patience<'_>,
) -> Result<Vec<Done<T>>, PurchaseFault> {
    let start = || Looking::new(asking.catalogue, (asking.draws)());
    let work = |looking: &mut Result<Looking<'_>, PurchaseFault>, index: usize| {
        let (mask, of) = jobs.get(index)?;
        if !patience.lasts(index, jobs.len()) && index > 0 {
            return None;
        }
        Some(match looking {
            Ok(looking) => one(*mask, of, desks, asking, looking, keep),
            Err(fault) => Err(fault.clone()),
        })
    };
    each(jobs.len(), asking.workers, start, work)
        .into_iter()
        .collect()
}

fn one<T>(
    mask: Mask,
    of: &[usize],
    desks: &[String],
    asking: &Asking<'_>,
    looking: &mut Looking<'_>,
    keep: &(dyn Fn(DeskWorth) -> T + Sync),
) -> Result<Done<T>, PurchaseFault> {
    let site = match asking.composer {
        Some(composer) => composer.site(mask),
        None => asking
            .base
            .with(&asking.offer_set.edits(mask), asking.catalogue),
    };
    let site = match site {
        Ok(site) => site,
        Err(faults) => {
            let why = faults
                .iter()
                .next()
                .map_or(String::new(), |f| f.title.clone());
            return Ok((mask, Err(why)));
        }
    };
    let mut found = Vec::with_capacity(of.len());
    for desk in of {
        let Some(name) = desks.get(*desk) else {
            continue;
        };
        let worth = looking.worth(&site, name, asking.wants)?;
        found.push((*desk, keep(worth)));
    }
    Ok((mask, Ok(found)))
}
