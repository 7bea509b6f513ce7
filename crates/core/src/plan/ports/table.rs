//! Desks against holes: the problem in numbers, and what its solution says.

use super::map::Traced;
use super::patching::{self, Cost, Patched, Patching, SECOND, Stream};
use super::reach::{Reached, side};
use super::seats::{Hole, Kind, Ranges, Row, Seat, free};
use super::{Answer, Carried, Load, Patch, Shared};
use crate::quantity::{DataRate, Information, Ratio, Time, units};
use crate::site::Site;
use crate::work::Direction;

/// Desks against holes, with what each pair comes to.
pub(super) struct Table<'a> {
    pub seats: &'a [Seat<'a>],
    pub holes: &'a [Hole],
    pub kinds: &'a [Kind],
    /// `reached[seat][kind of hole]`; nothing where plug, rate or room do not fit.
    pub reached: &'a [Row],
    pub loads: &'a [Load],
    /// Waiting that a desk has to save before it is patched to another port.
    pub worth: Time,
}

impl Table<'_> {
    fn loads_of(&self, desk: &str) -> Vec<&Load> {
        self.loads.iter().filter(|l| l.desk == desk).collect()
    }

    /// The pair of a desk and a hole.
    fn at(&self, seat: usize, hole: usize) -> Option<&Reached> {
        let kind = self.holes.get(hole)?.kind;
        self.reached.get(seat)?.get(kind)?.as_ref()
    }

    /// The hole of the kind that a desk hangs on today.
    fn today(&self, seat: &Seat<'_>) -> Option<usize> {
        self.holes.iter().position(|hole| hole.end == *seat.today)
    }

    /// The problem in numbers, and the runs that its shared links are.
    pub(super) fn patching(&self, site: &Site) -> (Patching, Vec<usize>) {
        let mut patching = Patching::default();
        let mut runs: Vec<usize> = Vec::new();
        for (index, seat) in self.seats.iter().enumerate() {
            let loads = self.loads_of(&seat.desk.name);
            for load in &loads {
                if let Some(demand) = load.demand {
                    patching.streams.push(Stream {
                        desk: index,
                        direction: load.direction,
                        demand,
                    });
                }
            }
            let mut row = Vec::with_capacity(self.holes.len());
            for hole in 0..self.holes.len() {
                row.push(self.pair(index, hole, &loads, (&mut patching, &mut runs), site));
            }
            patching.pairs.push(row);
        }
        (patching, runs)
    }

    fn pair(
        &self,
        seat: usize,
        hole: usize,
        loads: &[&Load],
        (patching, runs): (&mut Patching, &mut Vec<usize>),
        site: &Site,
    ) -> Option<patching::Pair> {
        let reached = self.at(seat, hole)?;
        let waits = reached.waits(loads)?;
        let moves = self.holes.get(hole)?.end != *self.seats.get(seat)?.today;
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
            run.map_or(String::new(), |run| format!("run.{}", run.number))
        };
        let patches = self.seats.iter().enumerate();
        let patches = patches.map(|(i, seat)| {
            let budget = budgets.get(i).and_then(Option::as_ref);
            self.patch(i, seat, patched.ports.get(i), budget)
        });
        let taken = patched.ports.iter().flatten();
        let taken = taken.filter_map(|hole| Some(self.holes.get(*hole)?.kind));
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
        seat: &Seat<'_>,
        hole: Option<&Option<usize>>,
        budget: Option<&Ranges>,
    ) -> Patch {
        let range = |reached: Option<&Reached>, direction| match budget {
            Some(ranges) => ranges[side(direction)],
            None => reached.and_then(|reached| reached.range(direction)),
        };
        let hole = hole.copied().flatten();
        let loads = self.loads_of(&seat.desk.name);
        let reached = hole.and_then(|hole| self.at(index, hole));
        let today = self.today(seat).and_then(|hole| self.at(index, hole));
        Patch {
            desk: seat.desk.name.clone(),
            jack: seat.label.clone(),
            listed: seat.jack.is_some(),
            panel: seat.jack.and_then(|jack| jack.panel.clone()),
            room: seat.jack.and_then(|jack| jack.room.clone()),
            traced: seat.jack.map_or(Traced::Guess, |jack| jack.traced),
            today: seat.today_port.clone(),
            port: hole.and_then(|hole| self.holes.get(hole)).map(Hole::port),
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
        for (seat, one) in self.seats.iter().enumerate() {
            for load in self.loads_of(&one.desk.name) {
                let Some(demand) = load.demand else { continue };
                let short = patched.short.iter().find(|short| short.stream == index);
                let hole = patched.ports.get(seat).copied().flatten();
                let reached = hole.and_then(|hole| self.at(seat, hole));
                let wanted = patching.streams.iter();
                let wanted = wanted
                    .filter(|s| s.desk == seat && s.direction == load.direction)
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
                    run: format!("run.{}", run.number),
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
