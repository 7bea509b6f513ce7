//! Tasks as flows over the places of a site, one number a draw.

use super::Question;
use super::build::{Costed, NetworkBuilder};
use crate::allocate::{Demand, Problem, Resource, Visit};
use crate::budget::{BudgetFault, Common, HopKind, Towards, Warning, Way};
use crate::catalogue::Catalogue;
use crate::hop::joined::carried_by;
use crate::quantity::{DataRate, Information, Measure, Time, TimePerInformation};
use crate::site::Site;
use crate::spread::Draws;
use crate::work::Direction;
use crate::working::{Column, middle};
use std::collections::HashMap;
use std::sync::Arc;

/// A task as a flow.
#[derive(Clone, Debug)]
pub(super) struct Flow {
    pub id: String,
    pub desk: String,
    pub array: String,
    pub port: String,
    pub does: &'static str,
    pub direction: Direction,
    pub material: Option<String>,
    pub because: Option<String>,
    /// What has to be there in time.
    pub demand: Option<Arc<[f64]>>,
    /// The most that it takes, where it is held to something of its own.
    pub held_to: Option<Arc<[f64]>>,
    pub weight: f64,
    /// What a budget says, one a draw.
    pub alone: Arc<[f64]>,
    /// What limits it alone: a position in `sets` for each draw.
    pub limit: Arc<[u32]>,
    pub sets: Vec<Vec<String>>,
    /// The draws in which some cable of its way gives no link; empty where all do.
    pub dead: Arc<[bool]>,
    /// What it writes for each byte that it reads, for exports.
    pub writes: Option<Arc<[f64]>>,
}

/// A place that flows pass.
#[derive(Clone, Debug)]
pub(super) struct Place {
    pub id: String,
    pub towards: Option<Towards>,
    pub kind: HopKind,
    pub label: String,
    pub note: String,
    pub move_heads: Option<Arc<[f64]>>,
    /// Flows that pass it.
    pub flows: usize,
    /// The passing of the one flow that is alone here, where no heads move.
    pub lone: Option<usize>,
    /// How many links are joined into one here, and the luck of which of them carry what.
    pub(super) joined: Option<(u32, Arc<[f64]>)>,
    /// Whether everybody gets equal time here.
    pub(super) equal_time: bool,
}

/// A flow at a place.
#[derive(Clone, Debug)]
pub(super) struct Passing {
    pub flow: usize,
    pub place: usize,
    pub cost: Arc<[f64]>,
    pub turn: Option<Arc<[f64]>>,
    /// Streams up to this number move no heads.
    pub(super) own_copies: usize,
}

/// Flows, places and what each costs there, one number a draw.
#[derive(Clone, Debug)]
pub struct Network {
    pub(super) count: usize,
    pub(super) from_tasks: bool,
    pub(super) flows: Vec<Flow>,
    pub(super) places: Vec<Place>,
    pub(super) passings: Vec<Passing>,
}

impl Network {
    /// Every task of a site as a flow; without tasks every desk with every array that it reaches. What
    /// one way of a link costs the other is not in it: not all flows of a day go on at once.
    ///
    /// # Errors
    /// Where the catalogue lacks a row, or the site is none that its reader would let pass.
    pub fn of(
        site: &Site,
        question: &Question,
        catalogue: &Catalogue,
        draws: &mut Draws,
        warnings: &mut Vec<Warning>,
    ) -> Result<Self, BudgetFault> {
        let count = draws.count();
        let mut builder = NetworkBuilder {
            site,
            catalogue,
            common: Common::new(catalogue)?,
            draws,
            warnings,
            ways: HashMap::new(),
            places: HashMap::new(),
            costs: HashMap::new(),
            constants: HashMap::new(),
            desk: None,
            network: Self {
                count,
                from_tasks: !site.tasks.is_empty(),
                flows: Vec::new(),
                places: Vec::new(),
                passings: Vec::new(),
            },
        };
        for task in &site.tasks {
            builder.task(task)?;
        }
        if site.tasks.is_empty() {
            builder.everyone(question)?;
        }
        let NetworkBuilder {
            mut network,
            warnings,
            ..
        } = builder;
        network.settle();
        let mut seen: Vec<Warning> = Vec::new();
        warnings.retain(|w| {
            let new = !seen.contains(w);
            if new {
                seen.push(w.clone());
            }
            new
        });
        Ok(network)
    }

    /// How busy a place is in every draw, where one flow alone is there.
    pub(super) fn busy_alone(&self, place: usize, rates: &[Vec<f64>]) -> Option<Vec<f64>> {
        let passing = self.passings.get(self.places.get(place)?.lone?)?;
        let rates = rates.get(passing.flow)?;
        let busy = |(cost, rate): (&f64, &f64)| if *cost > 0.0 { cost * rate } else { 0.0 };
        Some(passing.cost.iter().zip(rates).map(busy).collect())
    }

    /// How many draws it has.
    pub fn draws(&self) -> usize {
        self.count
    }

    /// The id of each flow, in the order of a problem: `task.1`, or the desk's.
    pub fn flow_ids(&self) -> Vec<&str> {
        self.flows.iter().map(|f| f.id.as_str()).collect()
    }

    /// The site path of each place, in the order of a problem, and which way data pass.
    pub fn place_ids(&self) -> Vec<(&str, Option<Towards>)> {
        self.places
            .iter()
            .map(|p| (p.id.as_str(), p.towards))
            .collect()
    }

    /// The sharing of one draw; without a draw, every number in the middle of its column.
    pub fn problem(&self, draw: Option<usize>) -> Problem {
        let of = |values: &[f64]| match draw {
            Some(draw) => values.get(draw).copied().unwrap_or(f64::NAN),
            None => middle(values),
        };
        let flows = self.flows.iter().map(|flow| {
            let mut most = of(&flow.alone);
            for cap in [&flow.demand, &flow.held_to].into_iter().flatten() {
                most = most.min(of(cap));
            }
            Demand {
                weight: flow.weight,
                most: Some(DataRate::from_base(most)),
            }
        });
        let places = self.places.iter().map(|place| Resource {
            move_heads: place
                .move_heads
                .as_ref()
                .map(|t| Time::from_base(of(t)))
                .filter(|t| t.base() > 0.0),
        });
        let visits = self.passings.iter().map(|passing| Visit {
            flow: passing.flow,
            resource: passing.place,
            cost: TimePerInformation::from_base(of(&passing.cost)),
            turn: passing.turn.as_ref().map(|s| Information::from_base(of(s))),
        });
        Problem {
            flows: flows.collect(),
            resources: places.collect(),
            visits: visits.collect(),
        }
    }

    /// The rate of every flow in every draw: filled once a draw on all processors, nothing else.
    pub fn shared(&self) -> Vec<Vec<DataRate>> {
        let found = super::draw::all(self);
        let rates = |rates: Vec<f64>| rates.into_iter().map(DataRate::from_base).collect();
        found.rates.into_iter().map(rates).collect()
    }

    /// Where equipment gives equal time, a flow's weight is how much it carries in a second there: rates that rise in
    /// that proportion take equal time of it. `verify_equal_time_is_a_weight` checks it.
    fn weigh_by_time(&mut self, place: usize) {
        let here = || {
            let passings = self.passings.iter();
            passings.filter(move |passing| passing.place == place)
        };
        let carries: Vec<(usize, f64)> = here()
            .map(|passing| (passing.flow, 1.0 / middle(&passing.cost)))
            .collect();
        let mean = carries.iter().map(|(_, rate)| rate).sum::<f64>() / carries.len().max(1) as f64;
        for (flow, rate) in carries {
            let weight = rate / mean;
            if let Some(flow) = self.flows.get_mut(flow)
                && weight.is_finite()
                && weight > 0.0
            {
                flow.weight *= weight;
            }
        }
    }

    /// What is known only once all flows are there.
    fn settle(&mut self) {
        for place in (0..self.places.len())
            .filter(|&p| self.places[p].equal_time)
            .collect::<Vec<_>>()
        {
            self.weigh_by_time(place);
        }
        for place in 0..self.places.len() {
            let here: Vec<usize> = (0..self.passings.len())
                .filter(|&p| self.passings[p].place == place)
                .collect();
            let mut flows: Vec<usize> = here.iter().map(|&p| self.passings[p].flow).collect();
            flows.sort_unstable();
            flows.dedup();
            let about = &mut self.places[place];
            about.flows = flows.len();
            if let ([only], None) = (&here[..], &about.move_heads) {
                about.lone = Some(*only);
            }
            // a copy for each stream: nobody moves the other's heads
            for &p in &here {
                if here.len() <= self.passings[p].own_copies {
                    self.passings[p].turn = None;
                }
            }
            // several flows use several of joined links
            if let Some((members, hash)) = &self.places[place].joined {
                for &p in &here {
                    let cost = self.passings[p].cost.iter().zip(hash.iter());
                    let of = |(cost, hash): (&f64, &f64)| {
                        cost / carried_by(*members, flows.len() as u32, *hash)
                    };
                    self.passings[p].cost = cost.map(of).collect();
                }
            }
        }
    }
}

impl Flow {
    /// Writes back what it reads, so that it gets the less of the two alone.
    pub(super) fn joined_by(&mut self, back: &Costed, more: &Arc<[f64]>) {
        let first = self.sets.len() as u32;
        let mut alone = self.alone.to_vec();
        let mut limit = self.limit.to_vec();
        for (draw, (rate, set)) in alone.iter_mut().zip(&mut limit).enumerate() {
            let writing = back.alone[draw] / more[draw];
            if writing < *rate {
                *rate = writing;
                *set = first + back.limit[draw];
            }
        }
        self.sets.extend(back.way.sets.iter().cloned());
        self.alone = alone.into();
        self.limit = limit.into();
        self.writes = Some(Arc::clone(more));
        // the cables of both ways are the same, but for what only one of them found wanting
        let draws = self.dead.len().max(back.dead.len());
        let is_dead = |dead: &[bool], draw: usize| dead.get(draw).copied().unwrap_or(false);
        self.dead = (0..draws)
            .map(|draw| is_dead(&self.dead, draw) || is_dead(&back.dead, draw))
            .collect();
    }
}

impl Costed {
    pub(super) fn of(mut way: Way, count: usize) -> Self {
        let every =
            |values: &Column<Information>| -> Arc<[f64]> { values.every_base(count).into() };
        let costs = way.passed.iter().map(|p| p.costs(count).into()).collect();
        for passed in &mut way.passed {
            // all that is asked of it from here on stands in the costs
            passed.ceiling = Column::same(DataRate::default());
        }
        let drives = || way.passed.iter().map(|p| p.drives.as_ref());
        let turns = drives()
            .map(|d| d.and_then(|d| d.turn.as_ref()).map(every))
            .collect();
        let heads = drives()
            .map(|d| {
                d.and_then(|d| d.move_heads.as_ref())
                    .map(|t| t.every_base(count).into())
            })
            .collect();
        Self {
            costs,
            turns,
            heads,
            alone: std::mem::take(&mut way.alone).into(),
            limit: std::mem::take(&mut way.limit).into(),
            dead: std::mem::take(&mut way.dead).into(),
            way,
        }
    }
}
