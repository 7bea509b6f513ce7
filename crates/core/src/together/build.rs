//! A network put together out of the ways of its tasks.

use super::Question;
use super::network::{Flow, Network, Passing, Place};
use crate::budget::{Asked, BudgetFault, Common, Passed, Warning, Way, fastest, way};
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Measure, Ratio};
use crate::site::{Array, Desk, End, Machine, Site, SitePath};
use crate::spread::Draws;
use crate::work::{Activity, Direction, Does, Task};
use crate::working::{Column, Sheet};
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

pub(super) struct NetworkBuilder<'a, 'd> {
    pub(super) site: &'a Site,
    pub(super) catalogue: &'a Catalogue,
    pub(super) common: Common,
    pub(super) draws: &'d mut Draws,
    pub(super) warnings: &'d mut Vec<Warning>,
    pub(super) ways: HashMap<Which, Option<Rc<Costed>>>,
    pub(super) places: HashMap<String, usize>,
    /// What each place cost whoever passed it first: most others pay the same.
    pub(super) costs: HashMap<String, Arc<[f64]>>,
    /// Costs that are one number in all draws, by its bits.
    pub(super) constants: HashMap<u64, Arc<[f64]>>,
    /// Whose way was built last.
    pub(super) desk: Option<String>,
    pub(super) network: Network,
}

/// A way with the costs of what it passes, used by every task that goes there.
pub(super) struct Costed {
    pub(super) way: Way,
    pub(super) alone: Arc<[f64]>,
    pub(super) limit: Arc<[u32]>,
    pub(super) dead: Arc<[bool]>,
    pub(super) costs: Vec<Arc<[f64]>>,
    pub(super) turns: Vec<Option<Arc<[f64]>>>,
    pub(super) heads: Vec<Option<Arc<[f64]>>>,
}

/// Which way: desk, array, activity and direction.
pub(super) type Which = (String, String, &'static str, Direction);

impl NetworkBuilder<'_, '_> {
    pub(super) fn everyone(&mut self, question: &Question) -> Result<(), BudgetFault> {
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
                    (
                        SitePath::Desk(&desk.name, None).to_string(),
                        &desk.name,
                        &array.name,
                    ),
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

    pub(super) fn task(&mut self, task: &Task) -> Result<(), BudgetFault> {
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

    pub(super) fn flow_of(
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
    pub(super) fn limits_of_its_own(
        &mut self,
        task: &Task,
        flow: &mut Flow,
    ) -> Result<(), BudgetFault> {
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
    pub(super) fn way(
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
    pub(super) fn forget_before(&mut self, desk: &Desk) {
        let before = self.desk.replace(desk.name.clone());
        let Some(before) = before.filter(|before| *before != desk.name) else {
            return;
        };
        self.draws.forget(&SitePath::desk(&before, "").to_string());
        let is = |end: &End| end.machine == Machine::Desk && end.name == before;
        for run in self
            .site
            .runs
            .iter()
            .filter(|run| is(&run.from) || is(&run.to))
        {
            let all_of_it = SitePath::Run(run.number, Some(""));
            self.draws.forget(&all_of_it.to_string());
        }
    }

    /// The last flow passes all places of a way; `more` is what it moves there for each byte that it
    /// is said to move. Layers lie in files of their own, so that heads move between them: on drives
    /// each is a visit with its part of the bytes.
    pub(super) fn pass(&mut self, way: &Costed, more: Option<&Arc<[f64]>>, layers: u32) {
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

    pub(super) fn place_of(&mut self, passed: &Passed, heads: Option<&Arc<[f64]>>) -> usize {
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
