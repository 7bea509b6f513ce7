//! Room for more desks like those that are there.

use super::network::Passing;
use super::{Handling, Network, Question};
use crate::budget::{BudgetFault, HopKind};
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Measure, Ratio, Time, ratio};
use crate::room::{Limits, Room, Stream, StreamFault, room};
use crate::site::{Machine, Site, SitePath, Value};
use crate::spread::Draws;
use crate::work::{Activity, Direction, Task};

/// Room for more desks that do what a task does.
#[derive(Clone, Debug, PartialEq)]
pub struct MoreDesks {
    /// The tasks that are alike: `task.2`.
    pub tasks: Vec<String>,
    /// Their desks.
    pub desks: Vec<String>,
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
    let mut network = Network::of(site, &question, catalogue, draws, &mut warnings)?;
    network.acknowledge(site, catalogue)?;
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
        let taken = self.taken();
        let mut found: Vec<(Kind, MoreDesks)> = Vec::new();
        for (flow, task) in site.tasks.iter().enumerate() {
            if !task.does.has_deadline() || flow >= self.flows.len() {
                continue;
            }
            let kind = Kind::of(task, self.beyond(site, flow));
            if let Some((_, known)) = found.iter_mut().find(|(known, _)| *known == kind) {
                known.tasks.push(task.id());
                if !known.desks.contains(&task.desk) {
                    known.desks.push(task.desk.clone());
                }
                continue;
            }
            let more = self.more_like(site, (flow, task), (&kind.places, &taken), limits)?;
            found.push((kind, more));
        }
        Ok(found.into_iter().map(|(_, more)| more).collect())
    }

    fn more_like(
        &self,
        site: &Site,
        (flow, task): (usize, &Task),
        (places, taken): (&[usize], &[Vec<f64>]),
        limits: Limits,
    ) -> Result<MoreDesks, StreamFault> {
        let passes = self.passes(flow);
        // how many fit in each draw, and where that ends
        let mut fits: Vec<(u32, usize, usize)> = Vec::with_capacity(self.count);
        for draw in 0..self.count {
            let fit = places.iter().map(|&place| {
                let one = self.asks(flow, draw) * self.cost_of(&passes, place, draw);
                let taken = taken.get(place).and_then(|taken| taken.get(draw));
                (whole((1.0 - taken.unwrap_or(&0.0)) / one), place)
            });
            if let Some((fit, place)) = fit.min() {
                fits.push((fit, place, draw));
            }
        }
        fits.sort_unstable();
        let at = |share: usize| fits.get(fits.len() * share / 100).copied();
        let (low, middle) = (at(5), at(50));
        let draw = middle.map_or(0, |(_, _, draw)| draw);
        let pausing = match middle {
            Some((_, place, draw)) => self.pausing(site, (flow, task), (place, draw), limits)?,
            None => Pausing::Few,
        };
        Ok(MoreDesks {
            tasks: vec![task.id()],
            desks: vec![task.desk.clone()],
            material: task.material_text(),
            rate: DataRate::from_base(self.asks(flow, draw)),
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
        let cost = self.cost_of(&self.passes(flow), place, draw);
        let takes =
            |flow: usize| self.asks(flow, draw) * self.cost_of(&self.passes(flow), place, draw);
        for (other, one) in site.tasks.iter().enumerate() {
            let takes = takes(other);
            if takes <= 0.0 {
                continue;
            }
            match stream(one, takes / cost) {
                Some(stream) => there.push(stream),
                None => missing.push(one.id()),
            }
        }
        let Some(one) = stream(task, takes(flow) / cost) else {
            return Ok(Pausing::NotTold(missing));
        };
        if !missing.is_empty() {
            return Ok(Pausing::NotTold(missing));
        }
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
                let of_a_desk = matches!(SitePath::of(&place.id), SitePath::Desk(..));
                let at_a_desk = place.kind == HopKind::Link
                    && site.run_at(&place.id).is_some_and(|run| {
                        let ends = [&run.from, &run.to];
                        ends.iter().any(|end| end.machine == Machine::Desk)
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

    /// Places in the list of all that flows pass.
    fn passes(&self, flow: usize) -> Vec<usize> {
        let here = self.passings.iter().enumerate();
        here.filter(|(_, p)| p.flow == flow)
            .map(|(at, _)| at)
            .collect()
    }

    /// Seconds a byte that a flow costs a place, moves of heads at every turn included.
    fn cost_of(&self, passes: &[usize], place: usize, draw: usize) -> f64 {
        let all = passes.iter().filter_map(|&at| self.passings.get(at));
        all.filter(|p| p.place == place)
            .map(|p| self.cost_at(p, draw))
            .sum()
    }

    fn cost_at(&self, passing: &Passing, draw: usize) -> f64 {
        let at = |values: &[f64]| values.get(draw).copied().unwrap_or(0.0);
        let heads = self.places.get(passing.place);
        let moving = heads.and_then(|place| place.move_heads.as_deref().map(at));
        let turn = passing.turn.as_deref().map(at);
        at(&passing.cost) + turn.map_or(0.0, |turn| moving.unwrap_or(0.0) / turn)
    }

    /// The share of each place's second that is taken, one a draw.
    fn taken(&self) -> Vec<Vec<f64>> {
        let mut taken = vec![vec![0.0; self.count]; self.places.len()];
        for passing in &self.passings {
            let Some(taken) = taken.get_mut(passing.place) else {
                continue;
            };
            for (draw, taken) in taken.iter_mut().enumerate() {
                *taken += self.asks(passing.flow, draw) * self.cost_at(passing, draw);
            }
        }
        taken
    }
}

/// What makes two tasks alike.
#[derive(Clone, Debug, PartialEq)]
struct Kind {
    places: Vec<usize>,
    material: Option<String>,
    demand: Option<f64>,
    active: Option<f64>,
    spell: Option<f64>,
}

impl Kind {
    fn of(task: &Task, places: Vec<usize>) -> Self {
        fn middle<Q: Measure>(value: Option<&Value<Q>>) -> Option<f64> {
            value.map(|value| value.value.median().base())
        }
        Self {
            places,
            material: task.material_text(),
            demand: middle(task.demand.as_ref()),
            active: middle(task.active.as_ref()),
            spell: middle(task.spell.as_ref()),
        }
    }
}

/// A task as a stream of a rate, where it is told how it pauses; what is held to a rate never does.
fn stream(task: &Task, rate: f64) -> Option<Stream> {
    let rate = DataRate::from_base(rate);
    if !task.does.has_deadline() {
        return Some(Stream {
            rate,
            active: ratio(1.0),
            spell: Time::from_base(DAY),
        });
    }
    Some(Stream {
        rate,
        active: task.active.as_ref()?.value.median(),
        spell: task.spell.as_ref()?.value.median(),
    })
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
mod tests;
