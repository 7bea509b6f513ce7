use super::Observations;
use super::reading::What;
use crate::budget::{Adds, BareWay, BudgetFault, Cabling, Chain, Hop, HopKind, chain};
use crate::catalogue::Catalogue;
use crate::hop::joined::all_on_one_member;
use crate::quantity::{DataRate, Information, LinkRate, Measure, Time, megabytes, units};
use crate::site::{Medium, Run, Site};
use crate::spread::{Draws, Spread};
use crate::work::{Activity, Direction, Files, Work};
use std::collections::HashMap;

/// What one reading is of, as far as its prediction goes.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Ask {
    pub what: What,
    pub direction: Direction,
    pub streams: u32,
    /// Whose way it is; empty where the site has no desk.
    pub desk: String,
}

/// Everything on one way that limits it, one number a draw: bytes a second, infinite where there
/// is no such place, and seconds a byte for what the others wait for.
#[derive(Clone, Debug)]
pub(crate) struct Columns {
    pub link: Vec<f64>,
    /// Whether the slowest link came up slower than both its ends know.
    pub fallen: Vec<bool>,
    pub radio: Vec<f64>,
    pub bus: Vec<f64>,
    pub processor: Vec<f64>,
    /// Whether a processor signs or encrypts.
    pub protects: Vec<bool>,
    pub waiting: Vec<f64>,
    pub array: Vec<f64>,
    pub disk: Vec<f64>,
    pub adds: Vec<f64>,
    /// Whether what is added are round trips of files.
    pub files: bool,
    /// Whether what is added is waiting until writes are safe.
    pub safety: bool,
    pub factor: Vec<f64>,
    /// Payload over signalled rate of the links.
    pub efficiency: Vec<f64>,
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
}

impl Columns {
    fn empty() -> Self {
        Self {
            link: Vec::new(),
            fallen: Vec::new(),
            radio: Vec::new(),
            bus: Vec::new(),
            processor: Vec::new(),
            protects: Vec::new(),
            waiting: Vec::new(),
            array: Vec::new(),
            disk: Vec::new(),
            adds: Vec::new(),
            files: false,
            safety: false,
            factor: Vec::new(),
            efficiency: Vec::new(),
        }
    }

    /// The same way with one limit lifted.
    pub(crate) fn without(&self, limit: Limit) -> Self {
        let mut lifted = self.clone();
        let column = match limit {
            Limit::Link | Limit::Fallen => &mut lifted.link,
            Limit::Radio => &mut lifted.radio,
            Limit::Bus => &mut lifted.bus,
            Limit::Processor | Limit::Protection => &mut lifted.processor,
            Limit::Waiting => &mut lifted.waiting,
            Limit::Array => &mut lifted.array,
            Limit::Disk => &mut lifted.disk,
            Limit::Files | Limit::Safety => {
                lifted.adds.fill(0.0);
                return lifted;
            }
        };
        column.fill(f64::INFINITY);
        lifted
    }

    /// What limits a draw where nothing is at fault.
    pub(crate) fn limit(&self, d: usize) -> Limit {
        let places = [
            (
                self.link[d],
                if self.fallen[d] {
                    Limit::Fallen
                } else {
                    Limit::Link
                },
            ),
            (self.radio[d], Limit::Radio),
            (self.bus[d], Limit::Bus),
            (
                self.processor[d],
                if self.protects[d] {
                    Limit::Protection
                } else {
                    Limit::Processor
                },
            ),
            (self.waiting[d], Limit::Waiting),
            (self.array[d], Limit::Array),
            (self.disk[d], Limit::Disk),
        ];
        let mut least = places[0];
        for place in &places[1..] {
            if place.0 < least.0 {
                least = *place;
            }
        }
        if self.adds[d] > 1.0 / least.0 {
            match (self.files, self.safety) {
                (true, _) => Limit::Files,
                (_, true) => Limit::Safety,
                _ => Limit::Disk,
            }
        } else {
            least.1
        }
    }
}

/// All draws: of one site, or of several that it may be.
pub(crate) struct Scenarios<'a> {
    told: &'a Observations,
    catalogue: &'a Catalogue,
    cabling: Cabling,
    /// One set of draws a site.
    draws: Vec<Draws>,
    /// The weight of each draw; they add up to one.
    pub weights: Vec<f64>,
    /// Round trip of each draw in seconds.
    pub round_trip: Vec<f64>,
    /// Round trip and the server's time of one request.
    pub wait: Vec<f64>,
    known: HashMap<Ask, Option<Columns>>,
}

impl<'a> Scenarios<'a> {
    pub(crate) fn new(
        told: &'a Observations,
        catalogue: &'a Catalogue,
        count: usize,
    ) -> Result<Self, BudgetFault> {
        let mut weights = Vec::new();
        let mut draws = Vec::new();
        let mut round_trip = Vec::new();
        let mut wait = Vec::new();
        let sum: f64 = told.sites.iter().map(|(_, w)| w).sum();
        let sites = told.sites.len().max(1);
        let each = (count / sites).max(count / 6);
        let service = catalogue.spread::<Time>("service-time")?;
        for (site, weight) in &told.sites {
            let mut own = Draws::new(each);
            weights.resize(weights.len() + each, weight / sum / each as f64);
            let trip = &site.network.round_trip;
            let trips = column(&mut own, &trip.id, &trip.value, each);
            let served = column(&mut own, "service-time", &service, each);
            wait.extend(trips.iter().zip(&served).map(|(a, b)| a + b));
            round_trip.extend(trips);
            draws.push(own);
        }
        Ok(Self {
            told,
            catalogue,
            cabling: Cabling::new(catalogue)?,
            draws,
            weights,
            round_trip,
            wait,
            known: HashMap::new(),
        })
    }

    pub(crate) fn count(&self) -> usize {
        self.weights.len()
    }

    /// The columns of one way, `None` where the sites have no such way.
    pub(crate) fn columns(&mut self, ask: &Ask) -> Result<Option<&Columns>, BudgetFault> {
        if !self.known.contains_key(ask) {
            let made = self.make(ask)?;
            self.known.insert(ask.clone(), made);
        }
        Ok(self.known.get(ask).and_then(Option::as_ref))
    }

    /// The columns of a way that was asked for before.
    pub(crate) fn made(&self, ask: &Ask) -> Option<&Columns> {
        self.known.get(ask).and_then(Option::as_ref)
    }

    fn make(&mut self, ask: &Ask) -> Result<Option<Columns>, BudgetFault> {
        let activity = match ask.what {
            What::Copy | What::ManyFiles | What::LocalDisk => Activity::Copy,
            What::RawTcp => Activity::Wire,
            What::LocalArray => Activity::AtTheArray,
            What::LinkRate | What::Ping | What::CoreBusy | What::Errors => return Ok(None),
        };
        let mut all = Columns::empty();
        let unit = megabytes(1.0);
        let files = (ask.what == What::ManyFiles).then_some(Files {
            count: 1000.0,
            size: unit,
        });
        let size = self.catalogue.spread::<Information>("explain.file-size")?;
        for ((site, _), draws) in self.told.sites.iter().zip(&mut self.draws) {
            let way = BareWay {
                desk: &ask.desk,
                work: Work {
                    activity,
                    files,
                    size: None,
                },
                direction: ask.direction,
            };
            let Some(found) = chain(site, &way, self.catalogue, &self.cabling, draws)? else {
                return Ok(None);
            };
            let count = draws.count();
            let sizes = files.map(|_| column(draws, "explain.file-size", &size, count));
            let strata = draws.strata("joined.hash");
            let hash: Vec<f64> = strata
                .iter()
                .map(|&s| (f64::from(s) + 0.5) / count as f64)
                .collect();
            append(
                &mut all,
                (site, &found),
                ask,
                (sizes.as_deref(), &hash),
                count,
            );
        }
        Ok(Some(all))
    }

    /// Draws of a law under a name of its own, over all sites.
    pub(crate) fn drawn(&mut self, id: &str, law: &crate::spread::Law) -> Vec<f64> {
        let mut values = Vec::with_capacity(self.count());
        for draws in &mut self.draws {
            values.extend_from_slice(&draws.values(id, law));
        }
        values
    }
}

fn column<Q: Measure>(draws: &mut Draws, id: &str, spread: &Spread<Q>, count: usize) -> Vec<f64> {
    if spread.is_exact() {
        return vec![spread.median().base(); count];
    }
    draws.values(id, spread.law()).to_vec()
}

/// Puts the hops of one site behind those of the sites before it.
fn append(
    all: &mut Columns,
    (site, chain): (&Site, &Chain),
    ask: &Ask,
    (sizes, hash): (Option<&[f64]>, &[f64]),
    count: usize,
) {
    let start = all.link.len();
    let end = start + count;
    let none = f64::INFINITY;
    for column in [
        &mut all.link,
        &mut all.radio,
        &mut all.bus,
        &mut all.processor,
        &mut all.waiting,
        &mut all.array,
        &mut all.disk,
    ] {
        column.resize(end, none);
    }
    all.adds.resize(end, 0.0);
    all.efficiency.resize(end, 0.0);
    all.protects.resize(end, false);
    all.fallen.resize(end, false);
    let streams = f64::from(ask.streams.max(1));
    let disk_only = ask.what == What::LocalDisk;
    for hop in &chain.hops {
        let values = hop.ceiling.every_base(count);
        let radio = hop.kind == HopKind::Link && is_radio(site, &hop.id);
        let (column, times): (&mut [f64], f64) = match hop.kind {
            HopKind::Disk => (&mut all.disk[start..], 1.0),
            _ if disk_only => continue,
            HopKind::Link if radio => (&mut all.radio[start..], 1.0),
            HopKind::Link => {
                let members = members(site, &hop.id);
                let knows = knows(site, &hop.id);
                for (d, &value) in values.iter().enumerate() {
                    let share = hash.get(d).copied().unwrap_or(0.0);
                    let rate = value * in_use(members, ask.streams, share);
                    if rate < all.link[start + d] {
                        all.link[start + d] = rate;
                        let came_up = hop.signalled.as_ref().map(|s| s.at(d));
                        all.fallen[start + d] = came_up < knows;
                    }
                    efficiency(all, hop, (start, d), value);
                }
                continue;
            }
            HopKind::Bus => (&mut all.bus[start..], 1.0),
            // one stream keeps one core busy, and a machine has a few
            HopKind::Processor => (&mut all.processor[start..], streams.min(3.0)),
            HopKind::Window | HopKind::Requests => (&mut all.waiting[start..], streams),
            HopKind::Array => (&mut all.array[start..], 1.0),
            HopKind::Files => {
                all.files = true;
                for (d, &value) in values.iter().enumerate() {
                    let size = sizes.and_then(|s| s.get(d)).map_or(1.0, |s| s / 1e6);
                    all.adds[start + d] += 1.0 / (value * size * streams);
                }
                continue;
            }
        };
        for (d, &value) in values.iter().enumerate() {
            let adds = match &hop.adds {
                Adds::Never => false,
                Adds::Always => true,
                Adds::Where(draws) => draws.get(d).copied().unwrap_or(false),
            };
            if adds {
                all.safety |= hop.kind == HopKind::Requests;
                all.adds[start + d] += 1.0 / value;
            } else if value * times < column[d] {
                column[d] = value * times;
            }
        }
    }
    if disk_only {
        all.factor.resize(end, 1.0);
    } else {
        all.factor
            .extend_from_slice(&chain.factor.every_base(count));
    }
    protection(all, (site, chain), &ask.desk, (start, count));
}

/// Payload over signalled rate, of the link that wastes least.
fn efficiency(all: &mut Columns, hop: &Hop, (start, d): (usize, usize), value: f64) {
    if let Some(signalled) = &hop.signalled {
        let rate: DataRate = signalled.at(d).signalled();
        let share = value / rate.get::<units::data_rate::byte_per_second>();
        let known = &mut all.efficiency[start + d];
        *known = known.max(share);
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

/// How many joined links lie behind a hop.
fn members(site: &Site, id: &str) -> u32 {
    run(site, id).map_or(1, |run| {
        let ends = [&run.from, &run.to].map(|e| site.port(e).map_or(1, |p| p.members));
        ends.into_iter().max().unwrap_or(1) as u32
    })
}

/// How many of the members several streams use: one where the hash puts them all on it, and as many
/// as there are streams elsewhere, which is exact for two.
fn in_use(members: u32, streams: u32, share: f64) -> f64 {
    if share < all_on_one_member(members, streams).get::<units::ratio::one>() {
        1.0
    } else {
        f64::from(members.min(streams).max(1))
    }
}

fn run<'s>(site: &'s Site, id: &str) -> Option<&'s Run> {
    let number = id.strip_prefix("run.")?.parse::<usize>().ok()?;
    site.runs.get(number.checked_sub(1)?)
}

fn is_radio(site: &Site, id: &str) -> bool {
    run(site, id).is_some_and(|r| matches!(r.medium, Medium::Wireless { .. }))
}

/// Marks the draws in which packets are signed or encrypted.
fn protection(
    all: &mut Columns,
    (site, chain): (&Site, &Chain),
    desk: &str,
    (start, count): (usize, usize),
) {
    let fork = chain
        .forks
        .iter()
        .find(|f| f.labels.iter().any(|l| l == "signed"));
    let routes = crate::route::routes(site, desk);
    let nas = routes.first().and_then(|route| site.nas(&route.nas));
    let stated = nas.or_else(|| site.nas.first()).is_some_and(|n| {
        n.signed.value.only() == Some(&true) || n.encrypted.value.only() == Some(&true)
    });
    for d in 0..count {
        all.protects[start + d] = match fork {
            Some(fork) => fork.outcome.get(d).copied().unwrap_or(0) > 0,
            None => stated,
        };
    }
}
