//! One path between a desk and an array, for one stream or for several that are alike: what a
//! budget says of one, and what the rule for sharing leaves of places that all of them pass.

use super::context::Context;
use super::evaluate::{Rates, rates, values};
use super::hop::{Adds, Chain, Hop, HopKind};
use super::reuse::Before;
use super::way::{Common, Passed, fastest};
use super::{BudgetFault, Question};
use crate::allocate::equal_share;
use crate::catalogue::Catalogue;
use crate::hop::joined::carried_by;
use crate::quantity::{DataRate, Measure};
use crate::route::{Route, routes};
use crate::site::{Array, Site};
use crate::spread::Draws;
use crate::work::{Activity, Direction, Work};
use crate::working::Column;
use std::cell::OnceCell;

/// What is asked of one path.
pub(crate) struct PathAsked<'a> {
    /// The desk; no name is no desk, whose path only the array itself has.
    pub desk: &'a str,
    /// What each stream does.
    pub work: Work,
    /// Which way.
    pub direction: Direction,
    /// How many do so at once.
    pub streams: u32,
}

/// A path with its rates, one a draw.
pub(crate) struct Path {
    /// The hops of one stream.
    pub chain: Chain,
    /// The way that was taken; none at the array itself.
    pub route: Option<Route>,
    pub streams: u32,
    /// What one stream gets alone.
    alone: Vec<f64>,
    /// Why, once somebody asks.
    why: OnceCell<Rates>,
    /// Places that all streams pass; none where there is one.
    pub shared: Vec<SharedPlace>,
}

/// A place that all streams of a path pass.
pub(crate) struct SharedPlace {
    /// Which hop of the chain it is.
    pub hop: usize,
    pub kind: HopKind,
    /// What it gives all streams together, in bytes a second, one a draw.
    pub gives: Vec<f64>,
}

impl Path {
    /// How many draws it has.
    pub(crate) fn count(&self) -> usize {
        self.alone.len()
    }

    fn why(&self) -> &Rates {
        self.why.get_or_init(|| rates(&self.chain, self.count()))
    }

    fn work_out(&mut self) {
        self.alone = values(&self.chain, self.count());
        self.why = OnceCell::new();
    }

    /// Leaves the desk's own disk, measured by itself.
    pub(crate) fn keep_the_disk(&mut self) {
        let disk = |hop: &Hop| hop.kind == HopKind::Disk;
        self.shared.retain(|place| place.kind == HopKind::Disk);
        self.chain.hops.retain(disk);
        for place in &mut self.shared {
            place.hop = 0;
        }
        for hop in &mut self.chain.hops {
            hop.adds = Adds::Never;
        }
        self.work_out();
    }

    /// Files of so many times the size that was asked for, one number a draw: what their round trips
    /// leave grows in proportion.
    pub(crate) fn with_files(&mut self, times: &[f64]) {
        for hop in &mut self.chain.hops {
            if hop.kind == HopKind::Files {
                let ceilings = hop.ceiling.every_base(times.len());
                let all = ceilings.iter().zip(times);
                hop.ceiling = Column::each(all.map(|(c, times)| DataRate::from_base(c * times)));
            } else if hop.kind == HopKind::Window && matches!(hop.adds, Adds::Always) {
                // how a stream starts is that of the size that was asked for
                hop.ceiling = Column::same(DataRate::from_base(f64::INFINITY));
            }
        }
        self.work_out();
    }

    /// What all streams together get in a draw, in bytes a second.
    pub(crate) fn rate(&self, draw: usize) -> f64 {
        let alone = self.alone[draw];
        together(
            self.streams,
            alone,
            self.shared.iter().map(|p| p.gives[draw]),
        )
    }

    /// The hops that limit together in a draw.
    pub(crate) fn limit(&self, draw: usize) -> &[usize] {
        let alone = self.alone[draw];
        let least = self
            .shared
            .iter()
            .min_by(|a, b| a.gives[draw].total_cmp(&b.gives[draw]));
        match least {
            Some(place) if equal_share(place.gives[draw], self.streams) < alone => {
                std::slice::from_ref(&place.hop)
            }
            _ => {
                let why = self.why();
                &why.sets[why.limit[draw] as usize]
            }
        }
    }

    /// What all streams together get with some hops lifted, one a draw.
    pub(crate) fn without(&self, hops: &[usize]) -> Vec<f64> {
        let alone = self.why().without(&self.chain, hops);
        let left = || self.shared.iter().filter(|p| !hops.contains(&p.hop));
        let all = alone.into_iter().enumerate();
        all.map(|(draw, alone)| together(self.streams, alone, left().map(|p| p.gives[draw])))
            .collect()
    }
}

/// What several streams that are alike get together: each what it gets alone, or its share of the
/// place that gives least. One stream gets what it gets alone.
pub(crate) fn together(streams: u32, alone: f64, shared: impl Iterator<Item = f64>) -> f64 {
    let streams = streams.max(1);
    let share = shared.map(|gives| equal_share(gives, streams));
    share.fold(alone, f64::min) * f64::from(streams)
}

/// A path with its rates; `None` where there is no such path.
///
/// Hops that an edit does not touch are taken over from `before`, a path of the same question at the same
/// draws, as it was made.
///
/// Of several ways to the same NAS the one on which one stream is fastest in the middle, as for
/// tasks that go on at once.
///
/// # Errors
/// As [`super::answer`].
pub(crate) fn path(
    site: &Site,
    asked: &PathAsked<'_>,
    (catalogue, common): (&Catalogue, &Common),
    before: Option<(&Site, &Path)>,
    draws: &mut Draws,
) -> Result<Option<Path>, BudgetFault> {
    let question = Question {
        work: asked.work,
        desk: None,
        working: false,
        need: None,
    };
    let all = routes(site, asked.desk);
    let nas = all.first().map(|route| route.nas.clone());
    let array = nas.and_then(|nas| site.arrays.iter().find(|a| a.nas == nas));
    let mut build = |route: Option<&Route>, array: &Array| {
        let known = (catalogue, &common.cabling);
        let mut context = Context::light(site, known, draws, &question, asked.direction);
        // what was taken over belongs to one route
        context.before =
            before
                .filter(|(_, path)| path.route.as_ref() == route)
                .map(|(site, path)| Before {
                    site,
                    chain: &path.chain,
                });
        let desk = site.desks.iter().find(|d| d.name == asked.desk);
        let made = match (desk, route) {
            (Some(desk), Some(route)) => context.chain_over(desk, route, array, &mut Vec::new()),
            _ => context.array_alone(array, &mut Vec::new()),
        };
        let chain = match made {
            Ok(chain) => chain,
            Err(BudgetFault::NoLink(_)) => return Ok(None),
            Err(fault) => return Err(fault),
        };
        let shared = if asked.streams > 1 {
            let passed = context.passed(&chain, (route, array), common)?;
            shared(&chain, &passed, asked.streams, &mut context)
        } else {
            Vec::new()
        };
        Ok(Some(Path {
            alone: values(&chain, context.sheet.count()),
            why: OnceCell::new(),
            chain,
            route: route.cloned(),
            streams: asked.streams,
            shared,
        }))
    };
    if asked.work.activity == Activity::AtTheArray {
        let array = array.or_else(|| site.arrays.first());
        return array.map_or(Ok(None), |array| build(None, array));
    }
    let (Some(array), true) = (array, site.desks.iter().any(|d| d.name == asked.desk)) else {
        return Ok(None);
    };
    let mut found = Vec::new();
    for route in all.iter().filter(|route| route.nas == array.nas) {
        found.extend(build(Some(route), array)?);
    }
    Ok(fastest(found, |path| &path.alone))
}

/// What each place that streams share gives all of them.
fn shared(
    chain: &Chain,
    passed: &[Passed],
    streams: u32,
    context: &mut Context<'_, '_>,
) -> Vec<SharedPlace> {
    let count = context.sheet.count();
    let mut found: Vec<SharedPlace> = Vec::new();
    let mut keys: Vec<&str> = Vec::new();
    for place in passed {
        let Some(hop) = chain.hops.iter().position(|h| h.id == place.id) else {
            continue;
        };
        let mut costs = place.costs(count);
        if place.members > 1 {
            let hash = context.sheet.shares(&place.joined_by());
            for (cost, hash) in costs.iter_mut().zip(hash) {
                *cost /= carried_by(place.members, streams, hash);
            }
        }
        if let Some(drives) = &place.drives
            && let (Some(turn), Some(move_heads)) = (&drives.turn, &drives.move_heads)
            && streams as usize > drives.own_copies
        {
            // of equal streams none has more than half of the turns
            let times = move_heads.every_base(count);
            for ((cost, time), turn) in costs.iter_mut().zip(&*times).zip(&*turn.every_base(count))
            {
                *cost += time / turn;
            }
        }
        // what is passed twice is paid twice
        if let Some(before) = keys.iter().position(|key| *key == place.key) {
            for (gives, cost) in found[before].gives.iter_mut().zip(costs) {
                *gives = 1.0 / (1.0 / *gives + cost);
            }
            continue;
        }
        keys.push(&place.key);
        found.push(SharedPlace {
            hop,
            kind: place.kind,
            gives: costs.into_iter().map(|cost| 1.0 / cost).collect(),
        });
    }
    found
}
