//! One reading's paths, put together so that parts of them can be changed without building anything anew.

use super::scenarios::Ask;
use crate::budget::{Adds, Hop, HopKind, Path, copied, together};
use crate::quantity::LinkRate;
use crate::site::{Medium, Run, Site};

/// A part of a path that a cause may change as one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    /// Links, radio, cards.
    Wire,
    /// Drives and what they hang on.
    Drives,
    /// The desk's own disk.
    DeskDisk,
    /// Processors, requests, windows: what no cause changes as one.
    Rest,
}

impl Part {
    fn of(hop: &Hop) -> Self {
        match hop.kind {
            HopKind::Disk => Self::DeskDisk,
            HopKind::Bus if hop.id.starts_with("array.") => Self::Drives,
            HopKind::Link | HopKind::Bus => Self::Wire,
            HopKind::Array => Self::Drives,
            HopKind::Processor
            | HopKind::Window
            | HopKind::Requests
            | HopKind::Files
            | HopKind::Program => Self::Rest,
        }
    }
}

/// What a part is changed to: a share of what it gives, no more than a rate and no less than one.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Changed {
    pub share: f64,
    pub most: f64,
    pub least: f64,
}

impl Changed {
    /// As it is.
    pub(crate) const NOT: Self = Self {
        share: 1.0,
        most: f64::INFINITY,
        least: 0.0,
    };

    pub(crate) fn cap(&mut self, most: f64) {
        self.most = self.most.min(most);
        self.least = self.least.min(most);
    }

    pub(crate) fn scale(&mut self, share: f64) {
        self.share *= share;
        self.most *= share;
        self.least *= share;
    }

    pub(crate) fn lift(&mut self, least: f64) {
        self.least = self.least.max(least);
    }

    /// What a rate becomes.
    pub(crate) fn rate(self, rate: f64) -> f64 {
        (rate * self.share).min(self.most).max(self.least)
    }
}

/// What the parts of a path are changed to in a draw.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Changes {
    pub wire: Changed,
    pub drives: Changed,
    pub desk_disk: Changed,
    /// What the window of each stream allows.
    pub window: f64,
    /// The most that each stream gets.
    pub each: f64,
}

impl Changes {
    /// Everything as it is.
    pub(crate) const fn none() -> Self {
        Self {
            wire: Changed::NOT,
            drives: Changed::NOT,
            desk_disk: Changed::NOT,
            window: f64::INFINITY,
            each: f64::INFINITY,
        }
    }

    fn of(&self, part: Part) -> Changed {
        match part {
            Part::Wire => self.wire,
            Part::Drives => self.drives,
            Part::DeskDisk => self.desk_disk,
            Part::Rest => Changed::NOT,
        }
    }
}

/// One reading's paths over all sites: what a budget says of them, and the least of each part, so that
/// a part can be changed without building anything anew. Rates in bytes a second, one a draw.
pub(crate) struct Predicted {
    pub(super) paths: Vec<Path>,
    streams: u32,
    wire: Vec<f64>,
    drives: Vec<f64>,
    disk: Vec<f64>,
    rest: Vec<f64>,
    /// Whether the others wait for the desk's disk.
    disk_adds: Vec<bool>,
    /// What the others wait for but for the desk's disk, in seconds a byte.
    waits: Vec<f64>,
    /// Places that all streams pass, with what they give; none for one stream.
    shared: Vec<(Part, Vec<f64>)>,
    /// With nothing at fault.
    pub healthy: Vec<f64>,
    pub limit: Vec<Limit>,
    /// Whether the slowest link came up slower than both its ends know.
    pub fallen: Vec<bool>,
}

/// What limits a draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Limit {
    Link,
    /// A link that came up slower than both its ends know.
    Fallen,
    Radio,
    Bus,
    Processor,
    Protection,
    Waiting,
    Array,
    Disk,
    Files,
    Safety,
}

impl Limit {
    pub(crate) const ALL: [Self; 11] = [
        Self::Link,
        Self::Fallen,
        Self::Radio,
        Self::Bus,
        Self::Processor,
        Self::Protection,
        Self::Waiting,
        Self::Array,
        Self::Disk,
        Self::Files,
        Self::Safety,
    ];

    /// What a hop is called where it limits; a link may have come up slow, a processor sign.
    fn of(hop: &Hop, site: &Site, fallen: bool, protects: bool) -> Self {
        match hop.kind {
            HopKind::Disk => Self::Disk,
            HopKind::Link if is_radio(site, &hop.id) => Self::Radio,
            HopKind::Link if fallen => Self::Fallen,
            HopKind::Link => Self::Link,
            HopKind::Bus | HopKind::Array if Part::of(hop) == Part::Drives => Self::Array,
            HopKind::Bus | HopKind::Array => Self::Bus,
            HopKind::Processor if protects && !hop.id.ends_with(".array-work") => Self::Protection,
            HopKind::Processor => Self::Processor,
            HopKind::Requests if !matches!(hop.adds, Adds::Never) => Self::Safety,
            HopKind::Window | HopKind::Requests | HopKind::Program => Self::Waiting,
            HopKind::Files => Self::Files,
        }
    }
}

impl Predicted {
    pub(super) fn of(sites: &[Site], paths: Vec<Path>, ask: &Ask) -> Self {
        let mut all = Self::empty(ask.streams);
        for (site, path) in sites.iter().zip(paths) {
            all.append(site, path, ask);
        }
        all
    }

    fn empty(streams: u32) -> Self {
        Self {
            paths: Vec::new(),
            streams,
            wire: Vec::new(),
            drives: Vec::new(),
            disk: Vec::new(),
            rest: Vec::new(),
            disk_adds: Vec::new(),
            waits: Vec::new(),
            shared: Vec::new(),
            healthy: Vec::new(),
            limit: Vec::new(),
            fallen: Vec::new(),
        }
    }

    /// The rate of all streams together in a draw with parts changed; with none changed what a budget
    /// says, to the last bit.
    pub(crate) fn rate(&self, changes: &Changes, d: usize) -> f64 {
        let disk = changes.desk_disk.rate(self.disk[d]);
        let mut least = changes
            .wire
            .rate(self.wire[d])
            .min(changes.drives.rate(self.drives[d]))
            .min(self.rest[d])
            .min(changes.window);
        let mut waits = self.waits[d];
        if self.disk_adds[d] {
            waits += 1.0 / disk;
        } else {
            least = least.min(disk);
        }
        let alone = copied(1.0 / least, waits).min(changes.each);
        if self.streams == 1 {
            return alone;
        }
        let given = self
            .shared
            .iter()
            .map(|(part, gives)| changes.of(*part).rate(gives[d]));
        together(self.streams, alone, given)
    }

    /// The rates with what limits lifted: of a kind of limit, the hops that limit in most draws.
    pub(crate) fn without(&self, limit: Limit) -> Vec<f64> {
        let mut all = Vec::with_capacity(self.limit.len());
        for path in &self.paths {
            let start = all.len();
            let count = self.limit.len() / self.paths.len();
            let mut sets: Vec<(&[usize], usize)> = Vec::new();
            for d in (0..count).filter(|d| self.limit[start + d] == limit) {
                let set = path.limit(d);
                match sets.iter_mut().find(|(known, _)| *known == set) {
                    Some((_, times)) => *times += 1,
                    None => sets.push((set, 1)),
                }
            }
            let most = sets.iter().rev().max_by_key(|(_, times)| *times);
            all.extend(path.without(most.map_or(&[], |(set, _)| *set)));
        }
        all
    }

    /// Puts the path of one site behind those of the sites before it.
    fn append(&mut self, site: &Site, path: Path, ask: &Ask) {
        let count = path.count();
        let start = self.healthy.len();
        let end = start + count;
        for column in [
            &mut self.wire,
            &mut self.drives,
            &mut self.disk,
            &mut self.rest,
        ] {
            column.resize(end, f64::INFINITY);
        }
        self.waits.resize(end, 0.0);
        self.disk_adds.resize(end, false);
        self.fallen.resize(end, false);
        // from the array to the desk, as a budget adds what the others wait for
        for hop in path.chain.hops.iter().rev() {
            self.hop(hop, start, count);
        }
        self.fallen_links(site, &path, start, count);
        let protects = protects(site, &path, &ask.desk);
        for d in 0..count {
            self.healthy.push(path.rate(d));
            let first = path.limit(d).first();
            let hop = first.and_then(|&hop| path.chain.hops.get(hop));
            let signs = protects.get(d).copied().unwrap_or(false);
            self.limit.push(hop.map_or(Limit::Link, |hop| {
                Limit::of(hop, site, self.fallen[start + d], signs)
            }));
        }
        for (at, place) in path.shared.iter().enumerate() {
            if at == self.shared.len() {
                self.shared.push((Part::Rest, vec![f64::INFINITY; start]));
            }
            self.shared[at].0 = Part::of(&path.chain.hops[place.hop]);
            self.shared[at].1.extend_from_slice(&place.gives);
        }
        for (_, gives) in &mut self.shared {
            gives.resize(end, f64::INFINITY);
        }
        self.paths.push(path);
    }

    fn hop(&mut self, hop: &Hop, start: usize, count: usize) {
        let part = Part::of(hop);
        for (d, &value) in hop.ceiling.every_base(count).iter().enumerate() {
            let adds = match &hop.adds {
                Adds::Never => false,
                Adds::Always => true,
                Adds::Where(draws) => draws.get(d).copied().unwrap_or(false),
            };
            let d = start + d;
            if part == Part::DeskDisk {
                self.disk[d] = value;
                self.disk_adds[d] = adds;
            } else if adds {
                self.waits[d] += 1.0 / value;
            } else {
                let column = match part {
                    Part::Wire => &mut self.wire,
                    Part::Drives => &mut self.drives,
                    Part::DeskDisk | Part::Rest => &mut self.rest,
                };
                column[d] = column[d].min(value);
            }
        }
    }

    /// Marks the draws in which the slowest link came up slower than its ends know.
    fn fallen_links(&mut self, site: &Site, path: &Path, start: usize, count: usize) {
        let mut least = vec![f64::INFINITY; count];
        for hop in &path.chain.hops {
            let Some(signalled) = &hop.signalled else {
                continue;
            };
            let knows = knows(site, &hop.id);
            for (d, &value) in hop.ceiling.every_base(count).iter().enumerate() {
                if value < least[d] {
                    least[d] = value;
                    self.fallen[start + d] = Some(signalled.at(d)) < knows;
                }
            }
        }
    }
}

/// The fastest rate that both ends of a run know.
fn knows(site: &Site, id: &str) -> Option<LinkRate> {
    let run = run(site, id)?;
    let (near, far) = (site.port(&run.from)?, site.port(&run.to)?);
    near.knows
        .iter()
        .copied()
        .filter(|r| far.knows.contains(r))
        .max()
}

fn run<'s>(site: &'s Site, id: &str) -> Option<&'s Run> {
    let number = id.strip_prefix("run.")?.parse::<usize>().ok()?;
    site.runs.get(number.checked_sub(1)?)
}

fn is_radio(site: &Site, id: &str) -> bool {
    run(site, id).is_some_and(|r| matches!(r.medium, Medium::Wireless { .. }))
}

/// The draws in which packets are signed or encrypted; none where they never are.
fn protects(site: &Site, path: &Path, desk: &str) -> Vec<bool> {
    let fork = path
        .chain
        .forks
        .iter()
        .find(|f| f.labels.iter().any(|l| l == "signed"));
    if let Some(fork) = fork {
        return fork.outcome.iter().map(|o| *o > 0).collect();
    }
    let routes = crate::route::routes(site, desk);
    let nas = routes.first().and_then(|route| site.nas(&route.nas));
    let stated = nas.or_else(|| site.nas.first()).is_some_and(|n| {
        n.signed.value.only() == Some(&true) || n.encrypted.value.only() == Some(&true)
    });
    vec![stated; path.count()]
}
