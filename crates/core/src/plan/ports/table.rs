//! Desks against free ports: the problem in numbers, and what its solution says.

use super::cabled::{CabledDesk, Kind, PatchPort, Ranges, Row, free};
use super::map::Traced;
use super::patching::{self, Cost, Patched, Patching, SECOND, Stream};
use super::reach::{Reached, side};
use super::{Answer, Carried, Load, Patch, Shared};
use crate::quantity::{DataRate, Information, Ratio, Time, units};
use crate::site::{Site, SitePath};
use crate::work::Direction;

/// Desks against free ports, with what each pair comes to.
pub(super) struct Table<'a> {
    pub cabled: &'a [CabledDesk<'a>],
    pub free_ports: &'a [PatchPort],
    pub kinds: &'a [Kind],
    /// `reached[desk][kind of free port]`; nothing where plug, rate or room do not fit.
    pub reached: &'a [Row],
    pub loads: &'a [Load],
    /// Waiting that a desk has to save before it is patched to another port.
    pub worth: Time,
}

impl Table<'_> {
    fn loads_of(&self, desk: &str) -> Vec<&Load> {
        self.loads.iter().filter(|l| l.desk == desk).collect()
    }

    /// The pair of a desk and a free port.
    fn at(&self, desk_at: usize, free_port: usize) -> Option<&Reached> {
        let kind = self.free_ports.get(free_port)?.kind;
        self.reached.get(desk_at)?.get(kind)?.as_ref()
    }

    /// The free port of the kind that a desk hangs on today.
    fn today(&self, desk_at: &CabledDesk<'_>) -> Option<usize> {
        self.free_ports
            .iter()
            .position(|free_port| free_port.end == *desk_at.today)
    }

    /// The problem in numbers, and the runs that its shared links are.
    pub(super) fn patching(&self, site: &Site) -> (Patching, Vec<usize>) {
        let mut patching = Patching::default();
        let mut runs: Vec<usize> = Vec::new();
        for (index, desk_at) in self.cabled.iter().enumerate() {
            let loads = self.loads_of(&desk_at.desk.name);
            for load in &loads {
                if let Some(demand) = load.demand {
                    patching.streams.push(Stream {
                        desk: index,
                        direction: load.direction,
                        demand,
                    });
                }
            }
            let mut row = Vec::with_capacity(self.free_ports.len());
            for free_port in 0..self.free_ports.len() {
                row.push(self.pair(index, free_port, &loads, (&mut patching, &mut runs), site));
            }
            patching.pairs.push(row);
        }
        (patching, runs)
    }

    fn pair(
        &self,
        desk_at: usize,
        free_port: usize,
        loads: &[&Load],
        (patching, runs): (&mut Patching, &mut Vec<usize>),
        site: &Site,
    ) -> Option<patching::Pair> {
        let reached = self.at(desk_at, free_port)?;
        let waits = reached.waits(loads)?;
        let moves = self.free_ports.get(free_port)?.end != *self.cabled.get(desk_at)?.today;
        let waits = if moves { waits + self.worth } else { waits };
        let mut behind = Vec::new();
        for direction in Direction::BOTH {
            for (run, carries) in reached.behind(direction) {
                if *run >= site.runs.len() {
                    continue;
                }
                let link = runs
                    .iter()
                    .position(|known| known == run)
                    .unwrap_or_else(|| {
                        runs.push(*run);
                        patching.shared.push([DataRate::default(); 2]);
                        runs.len() - 1
                    });
                if let Some(both) = patching.shared.get_mut(link) {
                    both[side(direction)] = *carries;
                }
                if !behind.contains(&link) {
                    behind.push(link);
                }
            }
        }
        Some(patching::Pair {
            waits: steps(waits),
            own: reached.own(),
            behind,
        })
    }

    pub(super) fn answer(
        &self,
        site: &Site,
        (patching, runs): (&Patching, &[usize]),
        (patched, budgets): (&Patched, &[Option<Ranges>]),
        (apart, assumed): (Vec<(String, String)>, Option<Information>),
    ) -> Answer {
        let run_name = |link: usize| {
            let run = runs.get(link).and_then(|run| site.runs.get(*run));
            run.map_or(String::new(), |run| SitePath::run(run).to_string())
        };
        let patches = self.cabled.iter().enumerate();
        let patches = patches.map(|(i, desk_at)| {
            let budget = budgets.get(i).and_then(Option::as_ref);
            self.patch(i, desk_at, patched.ports.get(i), budget)
        });
        let taken = patched.ports.iter().flatten();
        let taken = taken.filter_map(|free_port| Some(self.free_ports.get(*free_port)?.kind));
        Answer {
            site: site.name.clone(),
            patches: patches.collect(),
            apart,
            streams: self.streams(patching, patched, &run_name),
            shared: shared(site, (patching, runs), patched),
            free: free(self.kinds, taken),
            assumed,
            relieved: patched
                .relieved
                .iter()
                .map(|link| run_name(*link))
                .collect(),
            given_up: patched.given_up,
            stopped: None,
        }
    }

    fn patch(
        &self,
        index: usize,
        desk_at: &CabledDesk<'_>,
        free_port: Option<&Option<usize>>,
        budget: Option<&Ranges>,
    ) -> Patch {
        let range = |reached: Option<&Reached>, direction| match budget {
            Some(ranges) => ranges[side(direction)],
            None => reached.and_then(|reached| reached.range(direction)),
        };
        let free_port = free_port.copied().flatten();
        let loads = self.loads_of(&desk_at.desk.name);
        let reached = free_port.and_then(|free_port| self.at(index, free_port));
        let today = self
            .today(desk_at)
            .and_then(|free_port| self.at(index, free_port));
        Patch {
            desk: desk_at.desk.name.clone(),
            jack: desk_at.label.clone(),
            listed: desk_at.jack.is_some(),
            panel: desk_at.jack.and_then(|jack| jack.panel.clone()),
            room: desk_at.jack.and_then(|jack| jack.room.clone()),
            traced: desk_at.jack.map_or(Traced::Guess, |jack| jack.traced),
            today: desk_at.today_port.clone(),
            port: free_port
                .and_then(|free_port| self.free_ports.get(free_port))
                .map(PatchPort::port),
            links: reached.map_or_else(Vec::new, Reached::links),
            holds: reached.map(|reached| reached.any),
            read: range(reached, Direction::Read),
            write: range(reached, Direction::Write),
            waits_today: today.and_then(|reached| reached.waits(&loads)),
            waits: reached.and_then(|reached| reached.waits(&loads)),
        }
    }

    fn streams(
        &self,
        patching: &Patching,
        patched: &Patched,
        run_name: &dyn Fn(usize) -> String,
    ) -> Vec<Carried> {
        let mut found = Vec::new();
        // streams stand in the order of desks; loads of one desk in their own
        let mut index = 0;
        for (desk_at, one) in self.cabled.iter().enumerate() {
            for load in self.loads_of(&one.desk.name) {
                let Some(demand) = load.demand else { continue };
                let short = patched.short.iter().find(|short| short.stream == index);
                let free_port = patched.ports.get(desk_at).copied().flatten();
                let reached = free_port.and_then(|free_port| self.at(desk_at, free_port));
                let wanted = patching.streams.iter();
                let wanted = wanted
                    .filter(|s| s.desk == desk_at && s.direction == load.direction)
                    .fold(DataRate::default(), |sum, s| sum + s.demand);
                found.push(Carried {
                    desk: load.desk.clone(),
                    what: load.what.clone(),
                    direction: load.direction,
                    demand,
                    gets: short.map_or(demand, |short| short.gets),
                    chance: reached.map_or(Ratio::default(), |reached| {
                        reached.chance_of(wanted, load.direction)
                    }),
                    full: short.map_or_else(Vec::new, |short| {
                        short.full.iter().map(|link| run_name(*link)).collect()
                    }),
                    met: short.is_none(),
                });
                index += 1;
            }
        }
        found
    }
}

/// Links behind the ports that streams pass, with what they need of them.
fn shared(site: &Site, (patching, runs): (&Patching, &[usize]), patched: &Patched) -> Vec<Shared> {
    let mut found = Vec::new();
    for (link, run) in runs.iter().enumerate() {
        let (Some(run), Some(carries)) = (site.runs.get(*run), patching.shared.get(link)) else {
            continue;
        };
        for direction in Direction::BOTH {
            let over = |stream: &&Stream| {
                let port = patched.ports.get(stream.desk).copied().flatten();
                let pair =
                    port.and_then(|port| patching.pairs.get(stream.desk)?.get(port)?.as_ref());
                stream.direction == direction && pair.is_some_and(|p| p.behind.contains(&link))
            };
            let wanted = patching.streams.iter().filter(over);
            let wanted = wanted.fold(DataRate::default(), |sum, s| sum + s.demand);
            if wanted > DataRate::default() {
                found.push(Shared {
                    run: SitePath::run(run).to_string(),
                    between: [run.from.name.clone(), run.to.name.clone()],
                    direction,
                    carries: carries[side(direction)],
                    wanted,
                });
            }
        }
    }
    found
}

/// A time in whole steps.
fn steps(time: Time) -> Cost {
    let seconds = time.get::<units::time::second>();
    // thirty years are far below the bound of an integer
    (seconds * SECOND as f64).round() as Cost
}
