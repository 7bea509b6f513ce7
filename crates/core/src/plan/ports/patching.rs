//! Desks against ports: streams first, then waiting, then what is shared behind the ports.

pub(super) use super::assign::Cost;
use super::assign::assign;
use crate::allocate::{Demand, Problem, ProblemFault, Resource, Visit, fill};
use crate::quantity::{DataRate, ratio};
use crate::work::Direction;
use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};

/// A second of waiting in steps of [`Cost`]: thousandths, so that no digit that is shown is lost.
pub(super) const SECOND: Cost = 1000;

/// A desk that gets no port. Above all waiting together: a thousand desks for thirty years.
const WITHOUT: Cost = 1_000_000_000_000_000_000;

/// A desk whose streams do not pass its port. Above all desks without a port.
const MISSED: Cost = WITHOUT * 1_000_000;

/// Arrangements that are looked at before the search for one that holds is given up.
const MOST_LOOKED_AT: usize = 5000;

/// A stream that must not wait.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stream {
    pub desk: usize,
    pub direction: Direction,
    pub demand: DataRate,
}

/// A desk at a port.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Pair {
    /// What it waits in a day, in steps; a port that it does not have today counts a little more.
    pub waits: Cost,
    /// What its own link surely carries, reading and writing.
    pub own: [DataRate; 2],
    /// Links behind the port, by position.
    pub behind: Vec<usize>,
}

/// Desks, ports and what lies behind them.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Patching {
    /// `pairs[desk][port]`; nothing where the two do not fit.
    pub pairs: Vec<Vec<Option<Pair>>>,
    pub streams: Vec<Stream>,
    /// What each shared link carries, reading and writing.
    pub shared: Vec<[DataRate; 2]>,
}

/// A stream that does not get what it needs.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Short {
    /// Which of the streams.
    pub stream: usize,
    /// What it gets.
    pub gets: DataRate,
    /// The shared links that are full; none where its own is.
    pub full: Vec<usize>,
}

/// Which port each desk gets.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Patched {
    pub ports: Vec<Option<usize>>,
    /// Streams that do not get what they need.
    pub short: Vec<Short>,
    /// Links behind the ports that the cheapest arrangement would have over-filled.
    pub relieved: Vec<usize>,
    /// Whether the search was given up.
    pub given_up: bool,
}

/// A way to and fro is two resources.
fn side(direction: Direction) -> usize {
    match direction {
        Direction::Read => 0,
        Direction::Write => 1,
    }
}

impl Patching {
    /// Streams of a desk over its own link, added up a direction.
    fn wanted(&self, desk: usize) -> [DataRate; 2] {
        let mut sum = [DataRate::default(); 2];
        for stream in self.streams.iter().filter(|s| s.desk == desk) {
            sum[side(stream.direction)] += stream.demand;
        }
        sum
    }

    fn carries(&self, desk: usize, pair: &Pair) -> bool {
        let wanted = self.wanted(desk);
        wanted.iter().zip(&pair.own).all(|(want, own)| want <= own)
    }

    /// Costs with some pairs of desk and shared link forbidden. Behind the ports stands one column a
    /// desk for going without.
    fn costs(&self, away: &BTreeSet<(usize, usize)>) -> Vec<Vec<Option<Cost>>> {
        let desks = self.pairs.len();
        let ports = self.pairs.iter().map(Vec::len).max().unwrap_or(0);
        let row = |(desk, pairs): (usize, &Vec<Option<Pair>>)| {
            let streams = self.streams.iter().any(|s| s.desk == desk);
            let mut row: Vec<Option<Cost>> = (0..ports)
                .map(|port| {
                    let pair = pairs.get(port)?.as_ref()?;
                    if pair.behind.iter().any(|link| away.contains(&(desk, *link))) {
                        return None;
                    }
                    let missed = !self.carries(desk, pair);
                    Some(pair.waits + if missed { MISSED } else { 0 })
                })
                .collect();
            let without = WITHOUT + if streams { MISSED } else { 0 };
            row.extend((0..desks).map(|other| (other == desk).then_some(without)));
            row
        };
        self.pairs.iter().enumerate().map(row).collect()
    }

    /// The cheapest arrangement under some prohibitions.
    fn cheapest(&self, away: &BTreeSet<(usize, usize)>) -> (Cost, Vec<Option<usize>>) {
        let ports = self.pairs.iter().map(Vec::len).max().unwrap_or(0);
        let costs = self.costs(away);
        let found = assign(&costs);
        let cost = super::assign::sum(&costs, &found);
        let kept = |port: &Option<usize>| port.filter(|port| *port < ports);
        (cost, found.iter().map(kept).collect())
    }

    fn pair(&self, desk: usize, ports: &[Option<usize>]) -> Option<&Pair> {
        let port = (*ports.get(desk)?)?;
        self.pairs.get(desk)?.get(port)?.as_ref()
    }

    /// Streams that do not get what they need when all play at once, by the one rule for sharing.
    ///
    /// Every stream asks for its demand and no more, so all get it where all fit, and where they do
    /// not the shares say who is short, and of what.
    ///
    /// # Errors
    /// Where a rate is no number.
    pub(super) fn short(&self, ports: &[Option<usize>]) -> Result<Vec<Short>, ProblemFault> {
        let links = self.shared.len();
        let desks = self.pairs.len();
        let mut problem = Problem {
            flows: Vec::new(),
            // each shared link twice, then each desk's own link twice
            resources: vec![Resource::default(); 2 * (links + desks)],
            visits: Vec::new(),
        };
        for (flow, stream) in self.streams.iter().enumerate() {
            problem.flows.push(Demand {
                weight: 1.0,
                most: Some(stream.demand),
            });
            let Some(pair) = self.pair(stream.desk, ports) else {
                continue;
            };
            let side = side(stream.direction);
            let mut visit = |resource: usize, carries: DataRate| {
                if carries > DataRate::default() {
                    problem.visits.push(Visit {
                        flow,
                        resource,
                        cost: ratio(1.0) / carries,
                        turn: None,
                    });
                }
            };
            visit(2 * (links + stream.desk) + side, pair.own[side]);
            for link in &pair.behind {
                if let Some(carries) = self.shared.get(*link) {
                    visit(2 * link + side, carries[side]);
                }
            }
        }
        let shares = fill(&problem)?;
        let mut short = Vec::new();
        for (index, stream) in self.streams.iter().enumerate() {
            let pair = self.pair(stream.desk, ports);
            let dead =
                pair.is_none_or(|pair| pair.own[side(stream.direction)] <= DataRate::default());
            let gets = match shares.rates.get(index) {
                Some(rate) if !dead => *rate,
                _ => DataRate::default(),
            };
            if gets < stream.demand * ratio(1.0 - ENOUGH) {
                let binding = shares.binding.get(index).map_or(&[][..], Vec::as_slice);
                let full = binding.iter().filter(|r| **r < 2 * links).map(|r| r / 2);
                short.push(Short {
                    stream: index,
                    gets,
                    full: if dead { Vec::new() } else { full.collect() },
                });
            }
        }
        Ok(short)
    }

    /// The arrangement of the least waiting that carries every stream, where there is one.
    ///
    /// First the cheapest arrangement, in which a desk whose streams its port cannot carry costs more
    /// than all waiting. Where a link behind the ports is then over-full, one of the desks that
    /// stream over it has to leave it: each is forbidden to it in turn, and what is cheapest then is
    /// looked at next. The first arrangement that holds is the cheapest that does, because a
    /// prohibition never makes one cheaper. Where none holds, the first stays, with what is short.
    /// `goes_on` is asked before each arrangement; where it says no, the search is given up.
    ///
    /// # Errors
    /// Where a rate is no number.
    ///
    /// Checked by `property_what_is_feasible_is_found_and_nothing_cheaper_is`.
    pub(super) fn solve(&self, goes_on: &dyn Fn() -> bool) -> Result<Patched, ProblemFault> {
        let none = BTreeSet::new();
        let (cost, ports) = self.cheapest(&none);
        let short = self.short(&ports)?;
        let full: BTreeSet<usize> = short.iter().flat_map(|s| s.full.iter().copied()).collect();
        let first = Patched {
            ports: ports.clone(),
            short: short.clone(),
            relieved: full.into_iter().collect(),
            given_up: false,
        };
        // more desks missed than in the first would only trade one shortage for another
        let most = (cost / MISSED + 1) * MISSED;
        let mut queue = BinaryHeap::new();
        let mut known = BTreeSet::from([none.clone()]);
        let mut number = 0_usize;
        queue.push(Reverse((cost, number, none, ports)));
        while let Some(Reverse((cost, _, away, ports))) = queue.pop() {
            if cost >= most {
                break;
            }
            let short = self.short(&ports)?;
            let Some(&link) = short.iter().find_map(|short| short.full.first()) else {
                return Ok(Patched {
                    ports,
                    short,
                    ..first
                });
            };
            for desk in self.over(link, &ports) {
                let mut more = away.clone();
                more.insert((desk, link));
                if !known.insert(more.clone()) {
                    continue;
                }
                number += 1;
                if number >= MOST_LOOKED_AT || !goes_on() {
                    return Ok(Patched {
                        given_up: true,
                        relieved: Vec::new(),
                        ..first
                    });
                }
                let (cost, ports) = self.cheapest(&more);
                queue.push(Reverse((cost, number, more, ports)));
            }
        }
        Ok(Patched {
            relieved: Vec::new(),
            ..first
        })
    }

    /// Desks that stream over a shared link.
    fn over(&self, link: usize, ports: &[Option<usize>]) -> Vec<usize> {
        let over = |desk: &usize| {
            let pair = self.pair(*desk, ports);
            pair.is_some_and(|pair| pair.behind.contains(&link))
        };
        let mut desks: Vec<usize> = self.streams.iter().map(|s| s.desk).filter(over).collect();
        desks.sort_unstable();
        desks.dedup();
        desks
    }
}

/// Relative shortage that is rounding.
const ENOUGH: f64 = 1e-9;
