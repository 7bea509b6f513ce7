//! Room for more desks like those that are there.

use super::{Handling, Network, Question};
use crate::budget::{BudgetFault, HopKind};
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Measure, Ratio, Time};
use crate::room::{Limits, Room, Stream, StreamFault, room};
use crate::site::{Machine, Site, Value};
use crate::spread::Draws;
use crate::work::{Activity, Direction, Task};

/// Room for more desks that do what a task does.
#[derive(Clone, Debug, PartialEq)]
pub struct MoreDesks {
    /// The task: `task.2`.
    pub task: String,
    /// Its desk.
    pub desk: String,
    /// What it plays, where it is told by codec.
    pub material: Option<String>,
    /// What it needs while it plays, in the middle.
    pub rate: DataRate,
    /// How many more fit if all play at once: in 95 of 100 cases, and in the middle.
    pub at_once: AtOnce,
    /// The place that is full first, in the middle; none where nothing is shared.
    pub place: Option<String>,
    /// What desks that pause change.
    pub pausing: Pausing,
}

/// How many more fit if all play at once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AtOnce {
    /// In 95 of 100 cases.
    pub surely: u32,
    /// In the middle.
    pub middle: u32,
}

/// What desks that pause change.
#[derive(Clone, Debug, PartialEq)]
pub enum Pausing {
    /// How often or how long these tasks play is not told, so it is not known.
    NotTold(Vec<String>),
    /// There is room for so few that it changes nothing.
    Few,
    /// So many more fit, in the middle of the cases.
    Counted {
        /// What fits, and what it does.
        room: Room,
        /// Share of the time in which a desk plays.
        active: Ratio,
        /// How long it plays at a time.
        spell: Time,
    },
}

/// What a site has room for beside its tasks.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteRoom {
    /// One for each task with a deadline.
    pub more: Vec<MoreDesks>,
    /// One for each task that handles single pictures.
    pub handling: Vec<Handling>,
    /// What a crowd may do to a path.
    pub limits: Limits,
    /// Playing time that players read ahead, in the middle.
    pub read_ahead: Time,
    /// Tasks that take whatever they get, and so are not in the count.
    pub not_counted: Vec<String>,
}

/// What a site has room for beside its tasks; nothing where it has none.
///
/// # Errors
/// Where the catalogue lacks a row, a number of a task is out of range, or the site is none that
/// its reader would let pass.
pub fn room_of(
    site: &Site,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<SiteRoom, BudgetFault> {
    let limits = Limits::usual(catalogue)?;
    let read_ahead = catalogue.spread::<Time>("room.read-ahead")?.median();
    let mut found = SiteRoom {
        more: Vec::new(),
        handling: Vec::new(),
        limits,
        read_ahead,
        not_counted: Vec::new(),
    };
    if site.tasks.is_empty() {
        return Ok(found);
    }
    let question = Question {
        everyone: Activity::Play,
        direction: Direction::Read,
        need: None,
    };
    // said already where the tasks themselves are answered
    let mut warnings = Vec::new();
    let network = Network::of(site, &question, catalogue, draws, &mut warnings)?;
    found.more = network
        .more_desks(site, limits)
        .map_err(|fault| BudgetFault::Model {
            place: "task".to_owned(),
            problem: fault.to_string(),
        })?;
    found.handling = network.handling(site, catalogue)?;
    let takes_all = |flow: &&super::network::Flow| flow.demand.is_none() && flow.held_to.is_none();
    let not_counted = network.flows.iter().filter(takes_all);
    found.not_counted = not_counted.map(|flow| flow.id.clone()).collect();
    Ok(found)
}

/// A stream at one place, in a draw.
struct At {
    /// Seconds of the place that it takes a second.
    takes: f64,
    active: Option<f64>,
    spell: Option<f64>,
}

impl Network {
    /// How many more desks fit, for each task with a deadline.
    ///
    /// A new desk has a disk, a port and a run of its own; what it shares with the others are the
    /// places beyond: switches' runs, the NAS and its drives. There, all deadlines and all that is
    /// held to a rate are taken; what takes whatever it gets is not in the count. Heads are
    /// reckoned to move at every turn of every stream. Streams on and off are as [`crate::room`]
    /// has them; that law is worked out at the place that is full first, with the numbers of the
    /// draw in the middle.
    ///
    /// # Errors
    /// Where a number of a task is out of range.
    ///
    /// Checked by `verify_room_is_where_sharing_ends`.
    pub fn more_desks(&self, site: &Site, limits: Limits) -> Result<Vec<MoreDesks>, StreamFault> {
        let mut found = Vec::new();
        for (flow, task) in site.tasks.iter().enumerate() {
            if task.does.has_deadline() && flow < self.flows.len() {
                found.push(self.more_like(site, (flow, task), limits)?);
            }
        }
        Ok(found)
    }

    fn more_like(
        &self,
        site: &Site,
        (flow, task): (usize, &Task),
        limits: Limits,
    ) -> Result<MoreDesks, StreamFault> {
        let places = self.beyond(site, flow);
        // how many fit in each draw, and where that ends
        let mut fits: Vec<(u32, usize, usize)> = Vec::with_capacity(self.count);
        for draw in 0..self.count {
            let fit = places.iter().map(|&place| {
                let one = self.takes(flow, place, draw);
                let free = 1.0 - self.taken(place, draw);
                (whole(free / one), place)
            });
            if let Some((fit, place)) = fit.min() {
                fits.push((fit, place, draw));
            }
        }
        fits.sort_unstable();
        let at = |share: usize| fits.get(fits.len() * share / 100).copied();
        let (low, middle) = (at(5), at(50));
        let rate = middle.map_or(0, |(_, _, draw)| draw);
        let rate = DataRate::from_base(self.asks(flow, rate));
        let pausing = match middle {
            Some((_, place, draw)) => self.pausing(site, (flow, task), (place, draw), limits)?,
            None => Pausing::Few,
        };
        Ok(MoreDesks {
            task: task.id(),
            desk: task.desk.clone(),
            material: task.material_text(),
            rate,
            at_once: AtOnce {
                surely: low.map_or(0, |(fit, ..)| fit),
                middle: middle.map_or(0, |(fit, ..)| fit),
            },
            place: middle.and_then(|(_, place, _)| self.places.get(place).map(|p| p.id.clone())),
            pausing,
        })
    }

    fn pausing(
        &self,
        site: &Site,
        (flow, task): (usize, &Task),
        (place, draw): (usize, usize),
        limits: Limits,
    ) -> Result<Pausing, StreamFault> {
        let mut missing = Vec::new();
        let mut there = Vec::new();
        // a place's second in terms of the stream that is counted
        let cost = self.costs(flow, place, draw);
        for (other, one) in site.tasks.iter().enumerate() {
            let takes = self.takes(other, place, draw);
            if takes <= 0.0 {
                continue;
            }
            let at = self.pauses(one, takes);
            match (at.active, at.spell) {
                (Some(active), Some(spell)) => there.push(Stream {
                    rate: DataRate::from_base(at.takes / cost),
                    active: Ratio::from_base(active),
                    spell: Time::from_base(spell),
                }),
                _ => missing.push(one.id()),
            }
        }
        let own = self.pauses(task, self.takes(flow, place, draw));
        let (Some(active), Some(spell)) = (own.active, own.spell) else {
            return Ok(Pausing::NotTold(missing));
        };
        if !missing.is_empty() {
            return Ok(Pausing::NotTold(missing));
        }
        let one = Stream {
            rate: DataRate::from_base(own.takes / cost),
            active: Ratio::from_base(active),
            spell: Time::from_base(spell),
        };
        let capacity = DataRate::from_base(1.0 / cost);
        Ok(match room(capacity, &there, one, limits)? {
            Room::Peak { .. } => Pausing::Few,
            counted @ Room::Crowd { .. } => Pausing::Counted {
                room: counted,
                active: one.active,
                spell: one.spell,
            },
        })
    }

    /// How a task pauses; what is held to a rate never does.
    fn pauses(&self, task: &Task, takes: f64) -> At {
        let middle = |value: &Value<Ratio>| value.value.median().base();
        let always = !task.does.has_deadline();
        At {
            takes,
            active: if always {
                Some(1.0)
            } else {
                task.active.as_ref().map(middle)
            },
            spell: if always {
                Some(DAY)
            } else {
                task.spell.as_ref().map(|spell| spell.value.median().base())
            },
        }
    }

    /// Places that a flow passes and a new desk like it would pass too.
    fn beyond(&self, site: &Site, flow: usize) -> Vec<usize> {
        let mut found: Vec<usize> = self
            .passings
            .iter()
            .filter(|p| p.flow == flow)
            .map(|p| p.place)
            .filter(|&place| {
                let Some(place) = self.places.get(place) else {
                    return false;
                };
                let of_a_desk = place.id.starts_with("desk.");
                let at_a_desk = place.kind == HopKind::Link
                    && site.runs.iter().any(|run| {
                        format!("run.{}", run.number) == place.id
                            && [&run.from, &run.to]
                                .iter()
                                .any(|end| end.machine == Machine::Desk)
                    });
                !of_a_desk && !at_a_desk
            })
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// What a flow asks for in a draw, in base units; nothing where it takes what it gets.
    fn asks(&self, flow: usize, draw: usize) -> f64 {
        let Some(flow) = self.flows.get(flow) else {
            return 0.0;
        };
        let asked = flow.demand.as_ref().or(flow.held_to.as_ref());
        asked
            .and_then(|asked| asked.get(draw))
            .copied()
            .unwrap_or(0.0)
    }

    /// Seconds a byte that a flow costs a place, moves of heads at every turn included.
    fn costs(&self, flow: usize, place: usize, draw: usize) -> f64 {
        let moving = self
            .places
            .get(place)
            .and_then(|place| place.move_heads.as_ref()?.get(draw).copied())
            .unwrap_or(0.0);
        let here = self.passings.iter();
        here.filter(|p| p.flow == flow && p.place == place)
            .map(|p| {
                let turn = p.turn.as_ref().and_then(|turn| turn.get(draw)).copied();
                let cost = p.cost.get(draw).copied().unwrap_or(0.0);
                cost + turn.map_or(0.0, |turn| moving / turn)
            })
            .sum()
    }

    /// The share of a place's second that a flow takes.
    fn takes(&self, flow: usize, place: usize, draw: usize) -> f64 {
        self.asks(flow, draw) * self.costs(flow, place, draw)
    }

    fn taken(&self, place: usize, draw: usize) -> f64 {
        let flows = 0..self.flows.len();
        flows.map(|flow| self.takes(flow, place, draw)).sum()
    }
}

/// A day, for what never pauses.
const DAY: f64 = 86_400.0;

/// Rounding that must not cost a whole desk, relative.
const ROUNDING: f64 = 1e-9;

fn whole(fit: f64) -> u32 {
    if fit.is_nan() {
        return 0;
    }
    (fit * (1.0 + ROUNDING)).floor().max(0.0) as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::allocate::{Demand, Problem, Visit, fill};
    use crate::quantity::units;
    use crate::site::read_bytes;
    use crate::work::Does;

    const DRAWS: usize = 128;

    fn read(name: &str, tasks: &str) -> Site {
        let (_, text) = narrows_data::SITES
            .iter()
            .find(|(site, _)| *site == name)
            .unwrap();
        let catalogue = Catalogue::embedded().unwrap();
        read_bytes(format!("{text}\n{tasks}").as_bytes(), &[], &catalogue).unwrap()
    }

    fn network(site: &Site) -> Network {
        let question = Question {
            everyone: Activity::Play,
            direction: Direction::Read,
            need: None,
        };
        let (catalogue, mut draws) = (Catalogue::embedded().unwrap(), Draws::new(DRAWS));
        Network::of(site, &question, &catalogue, &mut draws, &mut Vec::new()).unwrap()
    }

    fn room_in(site: &Site) -> SiteRoom {
        room_of(
            site,
            &Catalogue::embedded().unwrap(),
            &mut Draws::new(DRAWS),
        )
        .unwrap()
    }

    /// How many of a flow fit beside the others in a draw, counted by sharing itself.
    fn fit_by_sharing(network: &Network, site: &Site, flow: usize, draw: usize) -> u32 {
        let places = network.beyond(site, flow);
        let mut problem: Problem = network.problem(Some(draw));
        // desks alone are no matter here: what counts is what they share
        for (other, demand) in problem.flows.iter_mut().enumerate() {
            demand.most = Some(DataRate::from_base(network.asks(other, draw)));
        }
        problem
            .visits
            .retain(|visit| places.contains(&visit.resource));
        let own: Vec<Visit> = problem
            .visits
            .iter()
            .filter(|v| v.flow == flow)
            .copied()
            .collect();
        let demand: Demand = problem.flows[flow];
        for more in 0.. {
            let found = fill(&problem).unwrap();
            let met = |(rate, demand): (&DataRate, &Demand)| {
                demand.most.is_none_or(|most| *rate >= most * (1.0 - 1e-9))
            };
            if !found.rates.iter().zip(&problem.flows).all(met) {
                return more - 1;
            }
            let flow = problem.flows.len();
            problem.flows.push(demand);
            problem
                .visits
                .extend(own.iter().map(|v| Visit { flow, ..*v }));
        }
        0
    }

    const PLAYING: &str = "\n[[task]]\ndesk = \"cut-1\"\ndoes = \"play\"\ndemand = \"25 MB/s\"\n\
        active = \"40 %\"\nspell = \"20 s\"\n";

    #[test]
    fn verify_room_is_where_sharing_ends() {
        for (name, heads) in [("granary-lane", true), ("flash-array", false)] {
            let desk = read(name, "").desks[0].name.clone();
            let site = read(name, &PLAYING.replace("cut-1", &desk));
            let network = network(&site);
            let mut counted = Vec::new();
            for draw in 0..DRAWS {
                let expected = fit_by_sharing(&network, &site, 0, draw);
                let free = |place: usize| {
                    let free = 1.0 - network.taken(place, draw);
                    whole(free / network.takes(0, place, draw))
                };
                let found = network
                    .beyond(&site, 0)
                    .into_iter()
                    .map(free)
                    .min()
                    .unwrap();
                // heads are reckoned to move at every turn, which they nearly do
                let near = if heads {
                    found <= expected && expected <= found + 1
                } else {
                    found == expected
                };
                assert!(near, "{name} {draw}: {found} {expected}");
                counted.push(found);
            }
            counted.sort_unstable();
            let more = &room_in(&site).more[0];
            assert_eq!(more.at_once.middle, counted[DRAWS / 2]);
            assert_eq!(more.at_once.surely, counted[DRAWS * 5 / 100]);
            assert_eq!(more.task, "task.1");
        }
    }

    #[test]
    fn pauses_count_only_where_they_are_told_and_there_are_many() {
        let site = read("granary-lane", &PLAYING.replace("25 MB/s", "4 MB/s"));
        let more = room_in(&site).more.remove(0);
        let Pausing::Counted { room, active, .. } = &more.pausing else {
            panic!("{more:?}");
        };
        assert!(room.more() > more.at_once.middle, "{more:?}");
        assert!((active.base() - 0.4).abs() < 1e-12);
        // one of the others does not say how it pauses
        let silent = "\n[[task]]\ndesk = \"cut-2\"\ndoes = \"play\"\ndemand = \"4 MB/s\"\n";
        let both = format!("{}{silent}", PLAYING.replace("25 MB/s", "4 MB/s"));
        let found = room_in(&read("granary-lane", &both));
        for more in &found.more {
            assert_eq!(more.pausing, Pausing::NotTold(vec!["task.2".to_owned()]));
        }
        // a large stream: few fit
        let large = room_in(&read(
            "granary-lane",
            &PLAYING.replace("25 MB/s", "90 MB/s"),
        ));
        assert_eq!(large.more[0].pausing, Pausing::Few);
    }

    #[test]
    fn what_is_held_takes_room_and_what_is_not_is_named() {
        let plain = read("granary-lane", PLAYING);
        let held = "\n[[task]]\ndesk = \"cut-2\"\ndoes = \"backup\"\nheld-to = \"100 MB/s\"\n";
        let beside = read("granary-lane", &format!("{PLAYING}{held}"));
        let (alone, less) = (room_in(&plain), room_in(&beside));
        assert!(less.more[0].at_once.middle + 3 <= alone.more[0].at_once.middle);
        assert!(less.not_counted.is_empty());
        let free = "\n[[task]]\ndesk = \"cut-2\"\ndoes = \"copy\"\n";
        let beside = room_in(&read("granary-lane", &format!("{PLAYING}{free}")));
        assert_eq!(beside.not_counted, ["task.2"]);
        assert_eq!(beside.more[0].at_once, alone.more[0].at_once);
        // no tasks, no room to speak of
        let nothing = room_in(&read("granary-lane", ""));
        assert!(nothing.more.is_empty() && nothing.handling.is_empty());
    }

    #[test]
    fn a_desk_behind_the_slow_switch_counts_the_run_behind_it() {
        let task = PLAYING
            .replace("cut-1", "sound")
            .replace("25 MB/s", "4 MB/s");
        let site = read("granary-lane", &task);
        assert_eq!(site.tasks[0].does, Does::Play);
        let more = room_in(&site).more.remove(0);
        // 100 Mb/s carry two streams of 4 MB/s, one of which is there
        assert_eq!(more.at_once.middle, 1, "{more:?}");
        assert!(more.place.unwrap().starts_with("run."));
        assert_eq!(more.pausing, Pausing::Few);
        assert!((more.rate.get::<units::data_rate::megabyte_per_second>() - 4.0).abs() < 1e-9);
    }
}
