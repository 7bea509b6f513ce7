//! Desks with their cables, and free ports in switches that a patch cord can go into.

use super::map::Jack;
use super::reach::{Holds, Looking, RateChance, Reached, Ways, any, law, of_jack, socket_of};
use super::{PortsFault, Question, SwitchPort, switch_port};
use crate::budget::RateRange;
use crate::cable::Cabling;
use crate::catalogue::Catalogue;
use crate::plan::Patience;
use crate::quantity::LinkRate;
use crate::site::{Desk, End, Machine, Medium, Port, Site, SitePath, Socket};
use crate::work::Direction;
use crate::workers::each;
use std::collections::{HashMap, HashSet};
use std::sync::atomic::{AtomicUsize, Ordering};

/// A desk that hangs on a switch by a cable.
pub(super) struct CabledDesk<'a> {
    pub desk: &'a Desk,
    /// Its jack; without one, its run of the site is all that is known.
    pub jack: Option<&'a Jack>,
    /// Label of the jack, or name of the run.
    pub label: String,
    /// Place of its run in the site.
    pub run: usize,
    /// The end of that run at the switch.
    pub today: &'a End,
    pub today_port: SwitchPort,
    /// Its own port.
    port: &'a Port,
    socket: Socket,
    holds: Holds,
}

/// One port of a switch.
#[derive(Clone, Debug)]
pub(super) struct PatchPort {
    pub end: End,
    pub rate: LinkRate,
    /// Ports of one kind differ in nothing.
    pub kind: usize,
}

/// How many free ports of a kind no run other than those of these desks takes.
#[derive(Clone, Debug)]
pub(super) struct Kind {
    pub port: SwitchPort,
    pub count: usize,
}

impl PatchPort {
    pub(super) fn port(&self) -> SwitchPort {
        SwitchPort {
            switch: self.end.name.clone(),
            port: self.end.port.clone(),
            rate: self.rate,
        }
    }
}

/// The desk's end and the far end of a run, where it joins a desk and something else.
fn from_desk<'a>(run: &'a crate::site::Run, desk: &str) -> Option<(&'a End, &'a End)> {
    let ends = [(&run.from, &run.to), (&run.to, &run.from)];
    ends.into_iter()
        .find(|(near, _)| near.machine == Machine::Desk && near.name == desk)
}

/// A desk that no cord reaches, and why.
type Apart = (String, String);

/// What one desk gets at each kind of free port.
pub(super) type Row = Vec<Option<Reached>>;

/// Reading and writing.
pub(super) type Ranges = [Option<RateRange>; 2];

/// Desks that can be patched, and those that cannot with why.
pub(super) fn cabled<'a>(
    question: &Question<'a>,
    cabling: &Cabling,
) -> Result<(Vec<CabledDesk<'a>>, Vec<Apart>), PortsFault> {
    let site = question.site;
    let mut cabled = Vec::new();
    let mut apart = Vec::new();
    for desk in &site.desks {
        let mut why = "no run leads from it to a switch";
        let mut found = None;
        for (place, run) in site.runs.iter().enumerate() {
            let Some((near, far)) = from_desk(run, &desk.name) else {
                continue;
            };
            match (far.machine, &run.medium) {
                (_, Medium::Wireless { .. }) => why = "by radio",
                (Machine::Switch, _) => {
                    found = Some((place, run, near, far));
                    break;
                }
                _ => why = "its cable leads to the NAS itself",
            }
        }
        let (Some((place, run, near, today)), Some(port)) =
            (found, found.and_then(|(_, _, near, _)| site.port(near)))
        else {
            apart.push((desk.name.clone(), why.to_owned()));
            continue;
        };
        let Some(today_port) = switch_port(site, today) else {
            return Err(PortsFault::Model(format!("{today}: a port is missing")));
        };
        debug_assert_eq!(near.name, desk.name);
        let jack = question
            .jacks
            .iter()
            .find(|j| j.desk.as_ref() == Some(&desk.name));
        let wire = match jack {
            Some(jack) => of_jack(jack, port, cabling)?,
            None => of_run(site, place, port, cabling)?,
        };
        cabled.push(CabledDesk {
            desk,
            jack,
            label: jack.map_or_else(|| SitePath::run(run).to_string(), |jack| jack.label.clone()),
            run: place,
            today,
            today_port,
            port,
            socket: wire.socket,
            holds: wire.holds,
        });
    }
    Ok((cabled, apart))
}

/// What the run of a site holds of the rates that a desk's port knows.
fn of_run(
    site: &Site,
    place: usize,
    port: &Port,
    cabling: &Cabling,
) -> Result<super::reach::Wire, PortsFault> {
    let run = site.runs.get(place);
    let socket = run
        .and_then(|run| socket_of(&run.medium))
        .unwrap_or(Socket::Copper);
    if socket == Socket::Cage {
        let holds = port.knows.iter().copied().map(RateChance::sure).collect();
        return Ok(super::reach::Wire { socket, holds });
    }
    // any port would do: which rates are looked at depends on the desk's own
    let found = run.and_then(|run| crate::cable::of_run(site, run).ok());
    let Some(run) = found else {
        return Ok(super::reach::Wire {
            socket,
            holds: Vec::new(),
        });
    };
    let jack = Jack {
        label: run.label.clone(),
        panel: None,
        room: None,
        desk: None,
        switch: None,
        traced: super::Traced::Guess,
        run,
    };
    of_jack(&jack, port, cabling)
}

/// Every free port that no run other than those of these desks takes, in the order of the site. Of each kind
/// there are no more than desks could need; how many there really are stands beside it.
pub(super) fn free_ports(site: &Site, cabled: &[CabledDesk<'_>]) -> (Vec<PatchPort>, Vec<Kind>) {
    let mut found = Vec::new();
    let mut kinds: Vec<Kind> = Vec::new();
    let seated: HashSet<usize> = cabled.iter().map(|desk_at| desk_at.run).collect();
    let others = site.runs.iter().enumerate().filter(|(place, run)| {
        let radio = matches!(run.medium, Medium::Wireless { .. });
        !seated.contains(place) && !radio
    });
    let others: Vec<_> = others.map(|(_, run)| run).collect();
    for switch in &site.switches {
        for port in &switch.ports {
            let end = End {
                machine: Machine::Switch,
                name: switch.name.clone(),
                port: port.name.clone(),
            };
            let others = others.iter().filter(|run| run.from == end || run.to == end);
            let count = port.count.saturating_sub(others.count());
            found.extend((0..count.min(cabled.len())).map(|_| PatchPort {
                end: end.clone(),
                rate: port.rate,
                kind: kinds.len(),
            }));
            kinds.push(Kind {
                port: SwitchPort {
                    switch: switch.name.clone(),
                    port: port.name.clone(),
                    rate: port.rate,
                },
                count,
            });
        }
    }
    (found, kinds)
}

/// Ports that nothing is in once some free ports are taken, the fastest first, with how many.
pub(super) fn free(kinds: &[Kind], taken: impl Iterator<Item = usize>) -> Vec<(SwitchPort, usize)> {
    let mut left: Vec<(SwitchPort, usize)> = kinds
        .iter()
        .map(|kind| (kind.port.clone(), kind.count))
        .collect();
    for kind in taken {
        if let Some((_, count)) = left.get_mut(kind) {
            *count = count.saturating_sub(1);
        }
    }
    left.retain(|(_, count)| *count > 0);
    left.sort_by_key(|(port, _)| std::cmp::Reverse(port.rate));
    left
}

/// What each desk gets at each kind of free port, and at how many desks that was looked: the others are taken to stay where
/// they are.
pub(super) fn reached(
    question: &Question<'_>,
    (cabled, free_ports): (&[CabledDesk<'_>], &[PatchPort]),
    catalogue: &Catalogue,
    patience: &Patience<'_>,
) -> Result<(Vec<Row>, usize), PortsFault> {
    let looked_at = AtomicUsize::new(0);
    let rows = on_workers(question, cabled, catalogue, |looking, index, desk_at| {
        let all = patience.lasts(index, cabled.len());
        looked_at.fetch_add(usize::from(all), Ordering::Relaxed);
        row(desk_at, free_ports, all, looking)
    })?;
    Ok((rows, looked_at.into_inner()))
}

/// The budgets of the site as it is to be patched, of the desks whose link may come up in several ways:
/// there the cable is drawn together with everything else, as in any budget. A desk of a list of jacks
/// has another cable than the site says, so that none is asked for it.
pub(super) fn budgets(
    question: &Question<'_>,
    cabled: &[CabledDesk<'_>],
    free_ports: &[PatchPort],
    (reached, patched): (&[Row], &[Option<usize>]),
    catalogue: &Catalogue,
) -> Result<Vec<Option<Ranges>>, PortsFault> {
    on_workers(question, cabled, catalogue, |looking, index, desk_at| {
        let free_port = patched.get(index).copied().flatten();
        let Some(free_port) = free_port.and_then(|free_port| free_ports.get(free_port)) else {
            return Ok(None);
        };
        let at = reached.get(index).and_then(|row| row.get(free_port.kind));
        let several = at.and_then(Option::as_ref).is_some_and(Reached::is_open);
        if !several || desk_at.jack.is_some() {
            return Ok(None);
        }
        let way = looking.way(desk_at.desk, desk_at.run, &free_port.end, None)?;
        Ok(Some(Direction::BOTH.map(|direction| way.range(direction))))
    })
}

/// Asks something of every desk, on as many workers as the question allows; the order is that of the desks.
fn on_workers<T: Send>(
    question: &Question<'_>,
    cabled: &[CabledDesk<'_>],
    catalogue: &Catalogue,
    ask: impl Fn(&mut Looking<'_>, usize, &CabledDesk<'_>) -> Result<T, PortsFault> + Sync,
) -> Result<Vec<T>, PortsFault> {
    let start = || Looking::new(question.site, catalogue, question.draws);
    let work = |looking: &mut Result<Looking<'_>, PortsFault>, index: usize| {
        let desk_at = cabled.get(index)?;
        Some(match looking {
            Ok(looking) => {
                let one = ask(looking, index, desk_at);
                looking.forget(desk_at.desk, desk_at.run);
                one
            }
            Err(fault) => Err(fault.clone()),
        })
    };
    each(cabled.len(), question.workers, start, work)
        .into_iter()
        .collect()
}

fn row(
    desk_at: &CabledDesk<'_>,
    free_ports: &[PatchPort],
    all: bool,
    looking: &mut Looking<'_>,
) -> Result<Row, PortsFault> {
    let kinds = free_ports
        .iter()
        .map(|free_port| free_port.kind)
        .max()
        .map_or(0, |most| most + 1);
    let mut found: Vec<Option<Reached>> = vec![None; kinds];
    let mut ways: Ways = HashMap::new();
    for free_port in free_ports {
        let Some(place) = found.get_mut(free_port.kind) else {
            continue;
        };
        let looked_at = all || free_port.end == *desk_at.today;
        if place.is_none() && looked_at && desk_at.may_go_to(&free_port.end) {
            *place = at(desk_at, &free_port.end, looking, &mut ways)?;
        }
    }
    Ok(found)
}

impl CabledDesk<'_> {
    /// A cable that no list has ends where it ends today; one in a list ends at a panel.
    fn may_go_to(&self, end: &End) -> bool {
        match self.jack {
            None => end.name == self.today.name,
            Some(jack) => jack.switch.as_ref().is_none_or(|only| *only == end.name),
        }
    }
}

/// A desk at a port; nothing where plugs or rates do not fit.
fn at(
    desk_at: &CabledDesk<'_>,
    end: &End,
    looking: &mut Looking<'_>,
    ways: &mut Ways,
) -> Result<Option<Reached>, PortsFault> {
    let Some(port) = looking.site.port(end) else {
        return Ok(None);
    };
    let (socket, mtu) = (port.socket, port.mtu);
    let knows: Vec<LinkRate> = port.knows.clone();
    if socket != desk_at.socket || desk_at.port.socket != desk_at.socket {
        return Ok(None);
    }
    let both: Vec<LinkRate> = desk_at
        .port
        .knows
        .iter()
        .copied()
        .filter(|r| knows.contains(r))
        .collect();
    let law = law(&desk_at.holds, &both);
    if law.is_empty() {
        return Ok(None);
    }
    let mut found = Vec::with_capacity(law.len());
    for case in &law {
        let key = (end.name.clone(), mtu, case.rate, case.errors);
        let way = if let Some(way) = ways.get(&key) {
            way.clone()
        } else {
            let way = looking.way(desk_at.desk, desk_at.run, end, Some(case))?;
            ways.insert(key, way.clone());
            way
        };
        found.push(way);
    }
    Ok(Some(Reached {
        any: any(&desk_at.holds, &both),
        law,
        ways: found,
    }))
}
