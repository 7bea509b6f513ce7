//! What a desk gets at a port: the rates that its cable holds, and the way behind the port.

use super::map::Jack;
use super::{Load, PortsFault};
use crate::budget::{Cabling as Physics, PlainFlow, Question, RateRange, plain_rates};
use crate::cable::{Asked, CableRun, Cabling, Carried, HOLDS, Joint, in_copper};
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Information, LinkRate, Measure, Ratio, Time, ratio, units};
use crate::site::{Desk, End, Known, Machine, Medium, Port, Site, SitePath, Socket, lay_in_ducts};
use crate::spread::{Choice, Draws};
use crate::work::{Activity, Direction, Work};
use crate::working::percentiles;
use std::collections::HashMap;
use std::sync::Arc;

/// What a cable holds: its rates, the slowest first.
pub(super) type Holds = Vec<RateChance>;

/// A rate with the chance that a cable links at it, and that it then makes no errors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct RateChance {
    pub rate: LinkRate,
    pub link: Ratio,
    pub hold: Ratio,
}

impl RateChance {
    /// A rate that is certain.
    pub(super) fn sure(rate: LinkRate) -> Self {
        Self {
            rate,
            link: ratio(1.0),
            hold: ratio(1.0),
        }
    }
}

/// What a link may come up as.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Case {
    pub rate: LinkRate,
    /// Whether it makes errors then.
    pub errors: bool,
    pub chance: Ratio,
}

/// A chance below which a rate is not looked at.
const NEGLIGIBLE: f64 = 0.001;

/// The plug that a cable needs, and the rates that it holds.
pub(super) struct Wire {
    pub socket: Socket,
    pub holds: Holds,
}

/// The rates that the cable of a jack holds, of those that a desk's port knows.
///
/// Twisted pair by its physics; a rate that somebody read off its ports has been seen to work, and so
/// have the slower ones.
pub(super) fn of_jack(jack: &Jack, port: &Port, cabling: &Cabling) -> Result<Wire, PortsFault> {
    let mut run = jack.run.clone();
    let socket = match &mut run.joint {
        Joint::Copper { rates, .. } => {
            *rates = port
                .knows
                .iter()
                .copied()
                .filter(|r| in_copper(*r))
                .collect();
            Socket::Copper
        }
        _ => Socket::Cage,
    };
    Ok(Wire {
        socket,
        holds: holds(&run, port, cabling)?,
    })
}

fn holds(run: &CableRun, port: &Port, cabling: &Cabling) -> Result<Holds, PortsFault> {
    if matches!(&run.joint, Joint::Copper { rates, .. } if rates.is_empty()) {
        return Ok(Vec::new());
    }
    let report = cabling
        .report(run, Asked::default())
        .map_err(|fault| PortsFault::Model(format!("{}: {fault}", run.label)))?;
    let seen = |rate: LinkRate| run.negotiated.is_some_and(|most| rate <= most);
    let up_to = |best: Option<LinkRate>| -> Holds {
        let reached = |rate: &&LinkRate| best.is_some_and(|best| **rate <= best);
        let rates = port.knows.iter().filter(reached);
        rates.copied().map(RateChance::sure).collect()
    };
    let mut found: Holds = match &report.carried {
        Carried::Copper(rows) => rows
            .iter()
            .map(|r| RateChance {
                rate: r.rate,
                link: r.today.p_link,
                hold: r.today.p_hold,
            })
            .collect(),
        Carried::Fibre(rows) => {
            let best = rows.iter().filter(|r| r.verdict.carries());
            up_to(best.map(|r| r.verdict.rate).max())
        }
        Carried::Twinax(rows) => {
            let best = rows.iter().filter(|r| r.carries_plain);
            up_to(best.map(|r| r.rate).max())
        }
    };
    for one in &mut found {
        if seen(one.rate) {
            *one = RateChance::sure(one.rate);
        }
    }
    found.sort_by_key(|one| one.rate);
    Ok(found)
}

/// What a link may come up as, of the rates that both ends know: the fastest at which its cable links,
/// where it makes errors or holds it. What is left falls to the slowest. As in a budget, one luck decides
/// for all rates of a cable. The slowest first, with errors before without.
pub(super) fn law(holds: &Holds, both: &[LinkRate]) -> Vec<Case> {
    let one = |share: Ratio| share.get::<units::ratio::one>();
    let mut rates = both.to_vec();
    rates.sort_unstable();
    rates.dedup();
    let mut found: Vec<Case> = Vec::new();
    let (mut linked, mut held) = (0.0f64, 0.0f64);
    let mut counted = 0.0;
    for (place, &rate) in rates.iter().enumerate().rev() {
        let known = holds.iter().find(|h| h.rate == rate);
        let link = known.map_or(0.0, |h| one(h.link)).max(linked);
        let hold = known.map_or(0.0, |h| one(h.hold)).max(held).min(link);
        let errors = (link - hold.max(linked)).max(0.0);
        let whole = if place == 0 { 1.0 } else { link };
        let clean = whole - linked - errors;
        for (errors, chance) in [(false, clean), (true, errors)] {
            if chance > NEGLIGIBLE {
                let chance = ratio(chance);
                found.push(Case {
                    rate,
                    errors,
                    chance,
                });
                counted += one(chance);
            }
        }
        (linked, held) = (link, hold);
    }
    // what was too little to look at stays with the slowest that is looked at
    if let Some(last) = found.last_mut() {
        last.chance += ratio(1.0 - counted);
    }
    found.reverse();
    found
}

/// The chance that the cable holds any rate that both ends know.
pub(super) fn any(holds: &Holds, both: &[LinkRate]) -> Ratio {
    let shared = holds.iter().filter(|one| both.contains(&one.rate));
    let best = shared.map(|one| one.hold.get::<units::ratio::one>());
    ratio(best.fold(0.0, f64::max))
}

/// A way at one rate of its first link.
#[derive(Clone, Debug)]
pub(super) struct Way {
    /// One an array and direction, in the order of the budget.
    pub sides: Vec<Side>,
}

impl Way {
    /// The way to an array, or to the first that there is.
    fn side(&self, array: Option<&str>, direction: Direction) -> Option<&Side> {
        self.sides.iter().find(|side| {
            side.direction == direction && array.is_none_or(|array| side.array == array)
        })
    }

    /// Percentiles of the first array.
    pub(super) fn range(&self, direction: Direction) -> Option<RateRange> {
        let rates = &self.side(None, direction)?.rates;
        Some(percentiles::<DataRate>(rates).into())
    }
}

/// One direction of a way.
#[derive(Clone, Debug)]
pub(super) struct Side {
    pub array: String,
    pub direction: Direction,
    /// The rate in each draw.
    pub rates: Arc<[f64]>,
    /// The middle of seconds a byte.
    pub mean_cost: f64,
    /// What the desk's own link carries, nineteen times in twenty.
    pub own: DataRate,
    /// Links behind it: the place of the run, and what it carries nineteen times in twenty.
    pub behind: Vec<(usize, DataRate)>,
}

/// What one worker needs to look at ways.
pub(super) struct Looking<'a> {
    /// A site of its own, in which runs are moved and moved back.
    pub site: Site,
    pub catalogue: &'a Catalogue,
    physics: Physics,
    draws: Draws,
    /// Places of the runs in the site, by their ids.
    places: HashMap<String, usize>,
}

impl<'a> Looking<'a> {
    pub(super) fn new(
        site: &Site,
        catalogue: &'a Catalogue,
        draws: usize,
    ) -> Result<Self, PortsFault> {
        Ok(Self {
            site: site.clone(),
            catalogue,
            physics: Physics::new(catalogue)?,
            draws: Draws::new(draws),
            places: (site.runs.iter().enumerate())
                .map(|(place, run)| (SitePath::run(run).to_string(), place))
                .collect(),
        })
    }

    /// A desk at a port, with its first link as it may come up: the budget of the site so patched. Without
    /// a case the link is left to be drawn.
    pub(super) fn way(
        &mut self,
        desk: &Desk,
        run: usize,
        end: &End,
        case: Option<&Case>,
    ) -> Result<Way, PortsFault> {
        let Some(before) = self.site.runs.get(run).cloned() else {
            return Ok(Way { sides: Vec::new() });
        };
        patch(&mut self.site, run, end, case);
        lay_in_ducts(&mut self.site);
        let question = Question {
            work: Work::plain(Activity::Copy),
            desk: None,
            working: false,
            need: None,
        };
        let known = (self.catalogue, &self.physics);
        let flows = plain_rates(&self.site, &desk.name, &question, known, &mut self.draws);
        let port = desk_port(&self.site, run);
        let sides = flows.map(|flows| {
            let from_here = flows.iter().filter(|flow| Some(flow.port.as_str()) == port);
            from_here
                .filter_map(|flow| side_of(flow, run, &self.places))
                .collect()
        });
        if let Some(run) = self.site.runs.get_mut(run) {
            *run = before;
        }
        lay_in_ducts(&mut self.site);
        Ok(Way { sides: sides? })
    }

    /// Forgets what was drawn for one desk and its run, which no other desk asks for.
    pub(super) fn forget(&mut self, desk: &Desk, run: usize) {
        self.draws
            .forget(&SitePath::desk(&desk.name, "").to_string());
        if let Some(run) = self.site.runs.get(run) {
            let all_of_it = SitePath::Run(run.number, Some(""));
            self.draws.forget(&all_of_it.to_string());
        }
    }
}

/// Moves a desk's run to a port of a switch, linked as it may come up.
fn patch(site: &mut Site, run: usize, end: &End, case: Option<&Case>) {
    if let Some(run) = site.runs.get_mut(run) {
        let far = if run.from.machine == Machine::Desk {
            &mut run.to
        } else {
            &mut run.from
        };
        far.clone_from(end);
        let Some(case) = case else { return };
        run.negotiated = Some(case.rate);
        if case.errors {
            let id = SitePath::Run(run.number, Some("errors")).to_string();
            run.errors = Some(Known::stated(id, Choice::certain(true)));
        }
    }
}

fn desk_port(site: &Site, run: usize) -> Option<&str> {
    let run = site.runs.get(run)?;
    [&run.from, &run.to]
        .into_iter()
        .find(|end| end.machine == Machine::Desk)
        .map(|end| end.port.as_str())
}

fn side_of(flow: &PlainFlow, run: usize, places: &HashMap<String, usize>) -> Option<Side> {
    let mut own = None;
    let mut behind = Vec::new();
    for (id, ceiling) in &flow.links {
        let Some(&place) = places.get(id) else {
            continue;
        };
        let carries = ceiling.percentiles().p05;
        if place == run {
            own = Some(carries);
        } else {
            behind.push((place, carries));
        }
    }
    let costs: f64 = flow.rates.iter().map(|rate| 1.0 / rate).sum();
    Some(Side {
        array: flow.array.clone(),
        direction: flow.direction,
        mean_cost: costs / flow.rates.len().max(1) as f64,
        rates: flow.rates.clone().into(),
        own: own?,
        behind,
    })
}

/// Ways of one desk by switch, size of frames, rate and whether it makes errors: ports that differ in nothing else share one.
pub(super) type Ways = HashMap<(String, u32, LinkRate, bool), Way>;

/// A desk at a port, over all rates that its cable may hold.
#[derive(Clone, Debug)]
pub(super) struct Reached {
    /// What the link may come up as, the slowest first.
    pub law: Vec<Case>,
    /// One way a case.
    pub ways: Vec<Way>,
    /// The chance that the cable holds any of them.
    pub any: Ratio,
}

impl Reached {
    /// Whether the link may come up in several ways.
    pub(super) fn is_open(&self) -> bool {
        self.law.len() > 1
    }

    /// What somebody waits in a day: the middle over what is not known, desk by desk alone.
    pub(super) fn waits(&self, loads: &[&Load]) -> Option<Time> {
        let mut sum = Time::default();
        for load in loads {
            let Some(size) = load.per_day else { continue };
            sum += self.time(size, load)?;
        }
        Some(sum)
    }

    fn time(&self, size: Information, load: &Load) -> Option<Time> {
        let mut seconds_a_byte = 0.0;
        for (case, way) in self.law.iter().zip(&self.ways) {
            let side = way.side(load.array.as_deref(), load.direction)?;
            seconds_a_byte += case.chance.get::<units::ratio::one>() * side.mean_cost;
        }
        Some(Time::from_base(size.base() * seconds_a_byte))
    }

    /// The rates that the link may come up with, the slowest first, with their chances.
    pub(super) fn links(&self) -> Vec<(LinkRate, Ratio)> {
        let mut found: Vec<(LinkRate, Ratio)> = Vec::new();
        for case in &self.law {
            match found.iter_mut().find(|(rate, _)| *rate == case.rate) {
                Some((_, chance)) => *chance += case.chance,
                None => found.push((case.rate, case.chance)),
            }
        }
        found
    }

    /// What the link carries with a chance of nine in ten, reading and writing: the most that it does in
    /// cases that come to so much together.
    pub(super) fn own(&self) -> [DataRate; 2] {
        Direction::BOTH.map(|direction| {
            let own = |way: &Way| way.side(None, direction).map(|side| side.own);
            let each = self.law.iter().zip(&self.ways);
            let mut all: Vec<(DataRate, f64)> = each
                .filter_map(|(case, way)| Some((own(way)?, case.chance.get::<units::ratio::one>())))
                .collect();
            all.sort_by(|a, b| b.0.base().total_cmp(&a.0.base()));
            let mut sum = 0.0;
            let reached = all.iter().find(|(_, chance)| {
                sum += chance;
                sum >= HOLDS - NEGLIGIBLE
            });
            reached.map_or(DataRate::default(), |(own, _)| *own)
        })
    }

    /// The chance that the link carries a rate.
    pub(super) fn chance_of(&self, rate: DataRate, direction: Direction) -> Ratio {
        let each = self.law.iter().zip(&self.ways);
        each.filter(|(_, way)| {
            let side = way.side(None, direction);
            side.is_some_and(|side| side.own >= rate)
        })
        .fold(ratio(0.0), |sum, (case, _)| sum + case.chance)
    }

    /// Percentiles over all rates of the link.
    pub(super) fn range(&self, direction: Direction) -> Option<RateRange> {
        if let [way] = self.ways.as_slice() {
            return way.range(direction);
        }
        let mut all: Vec<(f64, f64)> = Vec::new();
        for (case, way) in self.law.iter().zip(&self.ways) {
            let side = way.side(None, direction)?;
            let weight = case.chance.get::<units::ratio::one>() / side.rates.len().max(1) as f64;
            all.extend(side.rates.iter().map(|rate| (*rate, weight)));
        }
        all.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let at = |share: f64| {
            let mut sum = 0.0;
            let reached = all.iter().find(|(_, weight)| {
                sum += weight;
                sum >= share
            });
            let last = all.last();
            reached.or(last).map(|(rate, _)| DataRate::from_base(*rate))
        };
        Some(RateRange {
            p05: at(0.05)?,
            p50: at(0.5)?,
            p95: at(0.95)?,
        })
    }

    /// Links behind the port, by place of their runs, with what they carry.
    pub(super) fn behind(&self, direction: Direction) -> &[(usize, DataRate)] {
        let side = self.ways.first().and_then(|way| way.side(None, direction));
        side.map_or(&[], |side| &side.behind)
    }
}

pub(super) fn side(direction: Direction) -> usize {
    match direction {
        Direction::Read => 0,
        Direction::Write => 1,
    }
}

/// The plug of a run of the site.
pub(super) fn socket_of(medium: &Medium) -> Option<Socket> {
    match medium {
        Medium::Copper { .. } => Some(Socket::Copper),
        Medium::Clear { .. } => Some(Socket::Cage),
        Medium::Wireless { .. } => None,
    }
}
