//! Tasks as flows over the places of a site, one number a draw.

use super::Question;
use crate::allocate::{Demand, Problem, Resource, Visit};
use crate::budget::{
    Asked, BudgetFault, Common, HopKind, Passed, Towards, Warning, Way, fastest, way,
};
use crate::catalogue::Catalogue;
use crate::hop::joined::carried_by;
use crate::quantity::{DataRate, Information, Measure, Ratio, Time, TimePerInformation};
use crate::site::{Array, Desk, End, Machine, Site};
use crate::spread::Draws;
use crate::work::{Activity, Direction, Does, Task};
use crate::working::{Column, Sheet, middle};
use std::collections::HashMap;
use std::rc::Rc;
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
    joined: Option<(u32, Arc<[f64]>)>,
    /// Whether everybody gets equal time here.
    equal_time: bool,
}

/// A flow at a place.
#[derive(Clone, Debug)]
pub(super) struct Passing {
    pub flow: usize,
    pub place: usize,
    pub cost: Arc<[f64]>,
    pub turn: Option<Arc<[f64]>>,
    /// Streams up to this number move no heads.
    own_copies: usize,
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

/// A way with the costs of what it passes, used by every task that goes there.
struct Costed {
    way: Way,
    alone: Arc<[f64]>,
    limit: Arc<[u32]>,
    dead: Arc<[bool]>,
    costs: Vec<Arc<[f64]>>,
    turns: Vec<Option<Arc<[f64]>>>,
    heads: Vec<Option<Arc<[f64]>>>,
}

/// Which way: desk, array, activity and direction.
type Which = (String, String, &'static str, Direction);

struct Weaver<'a, 'd> {
    site: &'a Site,
    catalogue: &'a Catalogue,
    common: Common,
    draws: &'d mut Draws,
    warnings: &'d mut Vec<Warning>,
    ways: HashMap<Which, Option<Rc<Costed>>>,
    places: HashMap<String, usize>,
    /// What each place cost whoever passed it first: most others pay the same.
    costs: HashMap<String, Arc<[f64]>>,
    /// Costs that are one number in all draws, by its bits.
    constants: HashMap<u64, Arc<[f64]>>,
    /// Whose way was built last.
    desk: Option<String>,
    network: Network,
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
        let mut weaver = Weaver {
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
            weaver.task(task)?;
        }
        if site.tasks.is_empty() {
            weaver.everyone(question)?;
        }
        let Weaver {
            mut network,
            warnings,
            ..
        } = weaver;
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

impl Weaver<'_, '_> {
    fn everyone(&mut self, question: &Question) -> Result<(), BudgetFault> {
        let does = match question.everyone {
            Activity::Copy => "copy",
            _ => "play",
        };
        for desk in &self.site.desks {
            for array in &self.site.arrays {
                let reached = crate::route::routes(self.site, &desk.name)
                    .iter()
                    .any(|r| r.nas == array.nas);
                if !reached {
                    continue;
                }
                let way = self.way((desk, array), question.everyone, question.direction)?;
                let flow = self.flow_of(
                    (format!("desk.{}", desk.name), &desk.name, &array.name),
                    (does, question.direction),
                    way.as_deref(),
                );
                self.network.flows.push(flow);
                if let Some(way) = way {
                    self.pass(&way, None, 1);
                }
            }
        }
        Ok(())
    }

    fn task(&mut self, task: &Task) -> Result<(), BudgetFault> {
        let desk = self.site.desks.iter().find(|d| d.name == task.desk);
        let array = self.site.arrays.iter().find(|a| a.name == task.array);
        let (Some(desk), Some(array)) = (desk, array) else {
            return Err(BudgetFault::Model {
                place: task.id(),
                problem: "its desk or array is missing".to_owned(),
            });
        };
        let activity = match task.does {
            Does::Copy => Activity::Copy,
            _ => Activity::Play,
        };
        let way = self.way((desk, array), activity, task.direction)?;
        let mut flow = self.flow_of(
            (task.id(), &task.desk, &task.array),
            (task.does.word(), task.direction),
            way.as_deref(),
        );
        flow.weight = f64::from(task.weight);
        flow.material = task.material_text();
        flow.because = task.material.as_ref().map(|m| m.because.clone());
        self.limits_of_its_own(task, &mut flow)?;
        let writes = task.export.as_ref().and_then(|e| e.into.as_ref());
        let back = match writes {
            Some(_) => self.way((desk, array), activity, Direction::Write)?,
            None => None,
        };
        if let (Some(into), Some(back)) = (writes, &back) {
            let mut sheet = Sheet::new(self.draws);
            let source = task.material.as_ref().map_or(&into.rate, |m| &m.rate);
            let read = sheet.value("what is read", source);
            let written = sheet.value("what is written", &into.rate);
            let more: Arc<[f64]> = read
                .every_base(self.network.count)
                .iter()
                .zip(written.every_base(self.network.count).iter())
                .map(|(r, w)| w / r)
                .collect();
            flow.joined_by(back, &more);
        }
        let writes = flow.writes.clone();
        self.network.flows.push(flow);
        if let Some(way) = way {
            self.pass(&way, None, task.layers);
        }
        if let (Some(back), Some(more)) = (back, writes) {
            self.pass(&back, Some(&more), 1);
        }
        Ok(())
    }

    fn flow_of(
        &self,
        (id, desk, array): (String, &str, &str),
        (does, direction): (&'static str, Direction),
        way: Option<&Costed>,
    ) -> Flow {
        let nothing = || vec![0.0; self.network.count].into();
        Flow {
            id,
            desk: desk.to_owned(),
            array: array.to_owned(),
            port: way.map_or_else(String::new, |w| w.way.port.clone()),
            does,
            direction,
            material: None,
            because: None,
            demand: None,
            held_to: None,
            weight: 1.0,
            alone: way.map_or_else(nothing, |w| Arc::clone(&w.alone)),
            limit: way.map_or_else(
                || vec![0; self.network.count].into(),
                |w| Arc::clone(&w.limit),
            ),
            sets: way.map_or_else(|| vec![Vec::new()], |w| w.way.sets.clone()),
            dead: way.map_or_else(|| Vec::new().into(), |w| Arc::clone(&w.dead)),
            writes: None,
        }
    }

    /// What it asks for, and what holds it that is no place of the site.
    fn limits_of_its_own(&mut self, task: &Task, flow: &mut Flow) -> Result<(), BudgetFault> {
        let count = self.network.count;
        let row = "card.read-share";
        let share = self.catalogue.spread::<Ratio>(row)?;
        let source = self.catalogue.number(row)?.source.clone();
        let mut sheet = Sheet::new(self.draws);
        let every = |column: &Column<DataRate>| -> Arc<[f64]> { column.every_base(count).into() };
        flow.demand = task
            .demand
            .as_ref()
            .map(|demand| every(&sheet.value("demand", demand)));
        let mut caps: Vec<Vec<f64>> = Vec::new();
        if let Some(held_to) = &task.held_to {
            let column = sheet.value("held to", held_to);
            caps.push(column.every_base(count).into_owned());
        }
        if let Some(bus) = &task.card {
            let bus = sheet.value("bus of the card", bus);
            let id = format!("{}.card/{row}", task.id());
            let reached = sheet.draw(&id, "what a card reaches of its bus", &share, &source);
            let values = (0..count).map(|d| (bus.at(d) * reached.at(d)).base());
            caps.push(values.collect());
        }
        let speed = task.export.as_ref().and_then(|e| e.speed.as_ref());
        if let (Some(speed), Some(material)) = (speed, &task.material) {
            let rate = sheet.value("rate of what is read", &material.rate);
            let speed = sheet.value("speed of the export", speed);
            let values = (0..count).map(|d| rate.at(d).base() * speed.at(d));
            caps.push(values.collect());
        }
        flow.held_to = caps
            .into_iter()
            .reduce(|a, b| a.iter().zip(&b).map(|(a, b)| a.min(*b)).collect())
            .map(Into::into);
        Ok(())
    }

    /// The way of a desk to an array; of several the one that is fastest in the middle.
    fn way(
        &mut self,
        (desk, array): (&Desk, &Array),
        activity: Activity,
        direction: Direction,
    ) -> Result<Option<Rc<Costed>>, BudgetFault> {
        let which = (
            desk.name.clone(),
            array.name.clone(),
            activity.word(),
            direction,
        );
        if let Some(known) = self.ways.get(&which) {
            return Ok(known.clone());
        }
        self.forget_before(desk);
        let asked = Asked {
            site: self.site,
            catalogue: self.catalogue,
            common: &self.common,
            activity,
            direction,
        };
        let mut found: Vec<Way> = Vec::new();
        for route in crate::route::routes(self.site, &desk.name) {
            if route.nas == array.nas {
                found.extend(way(
                    &asked,
                    (desk, &route, array),
                    self.draws,
                    self.warnings,
                )?);
            }
        }
        let count = self.network.count;
        let best = fastest(found, |way| &way.alone);
        let costed = best.map(|way| {
            let mut costed = Costed::of(way, count);
            for (cost, passed) in costed.costs.iter_mut().zip(&costed.way.passed) {
                let first = self.costs.entry(passed.key.clone());
                let first = first.or_insert_with(|| Arc::clone(cost));
                if *first == *cost {
                    *cost = Arc::clone(first);
                } else if let Some(&value) = cost.first()
                    && cost.iter().all(|other| other.to_bits() == value.to_bits())
                {
                    let same = self.constants.entry(value.to_bits());
                    *cost = Arc::clone(same.or_insert_with(|| Arc::clone(cost)));
                }
            }
            Rc::new(costed)
        });
        self.ways.insert(which, costed.clone());
        Ok(costed)
    }

    /// Forgets what was drawn for the desk before and its runs: a site may have a thousand desks.
    fn forget_before(&mut self, desk: &Desk) {
        let before = self.desk.replace(desk.name.clone());
        let Some(before) = before.filter(|before| *before != desk.name) else {
            return;
        };
        self.draws.forget(&format!("desk.{before}."));
        let is = |end: &End| end.machine == Machine::Desk && end.name == before;
        for run in self
            .site
            .runs
            .iter()
            .filter(|run| is(&run.from) || is(&run.to))
        {
            self.draws.forget(&format!("run.{}.", run.number));
        }
    }

    /// The last flow passes all places of a way; `more` is what it moves there for each byte that it
    /// is said to move. Layers lie in files of their own, so that heads move between them: on drives
    /// each is a visit with its part of the bytes.
    fn pass(&mut self, way: &Costed, more: Option<&Arc<[f64]>>, layers: u32) {
        let flow = self.network.flows.len() - 1;
        let by = |values: &Arc<[f64]>, f: fn(f64, f64) -> f64| -> Arc<[f64]> {
            match more {
                None => Arc::clone(values),
                Some(more) => values
                    .iter()
                    .zip(more.iter())
                    .map(|(a, b)| f(*a, *b))
                    .collect(),
            }
        };
        for (i, passed) in way.way.passed.iter().enumerate() {
            let place = self.place_of(passed, way.heads[i].as_ref());
            let mut passing = Passing {
                flow,
                place,
                cost: by(&way.costs[i], |cost, more| cost * more),
                turn: way.turns[i]
                    .as_ref()
                    .map(|t| by(t, |turn, more| turn / more)),
                own_copies: passed.drives.as_ref().map_or(0, |d| d.own_copies),
            };
            if layers > 1 && passed.drives.is_some() {
                let n = f64::from(layers);
                passing.cost = passing.cost.iter().map(|cost| cost / n).collect();
                passing.turn = passing
                    .turn
                    .map(|t| t.iter().map(|turn| turn * n).collect());
                for _ in 1..layers {
                    self.network.passings.push(passing.clone());
                }
            }
            self.network.passings.push(passing);
        }
    }

    fn place_of(&mut self, passed: &Passed, heads: Option<&Arc<[f64]>>) -> usize {
        let next = self.network.places.len();
        let at = *self.places.entry(passed.key.clone()).or_insert(next);
        if at == next {
            let joined = (passed.members > 1).then(|| {
                let hash = Sheet::new(self.draws).shares(&passed.joined_by());
                (passed.members, hash.into())
            });
            self.network.places.push(Place {
                id: passed.id.clone(),
                towards: passed.towards,
                kind: passed.kind,
                label: passed.label.clone(),
                note: passed.note.clone(),
                move_heads: heads.cloned(),
                flows: 0,
                lone: None,
                joined,
                equal_time: passed.equal_time,
            });
        }
        at
    }
}

impl Flow {
    /// Writes back what it reads, so that it gets the less of the two alone.
    fn joined_by(&mut self, back: &Costed, more: &Arc<[f64]>) {
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
    fn of(mut way: Way, count: usize) -> Self {
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
