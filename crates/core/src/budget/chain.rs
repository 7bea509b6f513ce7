//! A path put together from what the models of its places return, from the desk to the array.

use super::context::Context;
use super::flow::{Built, Flow};
use super::hop::{Chain, Fork};
use super::link::Links;
use super::part::Part;
use super::processor::PROTECTIONS;
use super::route_warnings::about_the_route;
use super::{BudgetFault, Warning};
use crate::hop::bus::Towards;
use crate::quantity::{Information, LinkRate, Measure};
use crate::route::Route;
use crate::site::{Array, Desk, Nas};
use crate::work::{Activity, Direction};
use crate::working::Column;
use std::sync::Arc;

impl Context<'_, '_> {
    /// A program on the machine that holds the array.
    pub(super) fn at_the_array(mut self, array: &Array) -> Result<Built, BudgetFault> {
        let mut warnings = Vec::new();
        let made = self.array_alone(array, &mut warnings);
        self.finish(
            made,
            warnings,
            (String::new(), array.name.clone(), String::new()),
        )
    }

    /// The hops of a program on the machine that holds the array.
    pub(super) fn array_alone(
        &mut self,
        array: &Array,
        warnings: &mut Vec<Warning>,
    ) -> Result<Chain, BudgetFault> {
        let same = self.same(|site| {
            let found = site.arrays.iter().find(|a| a.name == array.name);
            (found, site.nas(&array.nas))
        });
        let ids = Self::array_hops(array);
        let mut path = Part::default();
        path.add(self.unless_same(same, &ids, |this| this.array(array, this.direction))?);
        if let Some(piece) = self.question.work.random {
            path.add(self.requests_at_the_array(array, piece)?);
        }
        Ok(path.chain(None, warnings))
    }

    /// The hops that an array and what hangs on it may come to.
    fn array_hops(array: &Array) -> [String; 3] {
        let id = format!("array.{}", array.name);
        [
            format!("{id}.attached"),
            format!("nas.{}.array-work", array.nas),
            id,
        ]
    }

    /// A desk over a route.
    pub(super) fn over(
        mut self,
        desk: &Desk,
        route: &Route,
        array: &Array,
    ) -> Result<Built, BudgetFault> {
        let mut warnings = Vec::new();
        let made = self.chain_over(desk, route, array, &mut warnings);
        let of = (
            desk.name.clone(),
            array.name.clone(),
            route.desk_port.clone(),
        );
        self.finish(made, warnings, of)
    }

    /// The hops of a desk over a route. What was noticed goes to `warnings` also where a link does not come
    /// up, which they say.
    pub(super) fn chain_over(
        &mut self,
        desk: &Desk,
        route: &Route,
        array: &Array,
        warnings: &mut Vec<Warning>,
    ) -> Result<Chain, BudgetFault> {
        let mut path = Part::default();
        match self.collect(desk, route, array, &mut path) {
            Ok(write_cache) => Ok(path.chain(write_cache, warnings)),
            Err(fault) => {
                warnings.append(&mut path.warnings);
                Err(fault)
            }
        }
    }

    /// Puts the parts of a path behind each other; gives the memory that takes a burst of writes.
    fn collect(
        &mut self,
        desk: &Desk,
        route: &Route,
        array: &Array,
        path: &mut Part,
    ) -> Result<Option<Column<Information>>, BudgetFault> {
        self.desk = self.site.desks.iter().find(|d| d.name == desk.name);
        let Some(nas) = self.site.nas(&route.nas) else {
            return Err(BudgetFault::model(&route.nas, "the machine is missing"));
        };
        let same_desk = self.same(|site| site.desks.iter().find(|d| d.name == desk.name));
        let same_nas = self.same(|site| site.nas(&nas.name));
        let same = (same_desk, same_nas);
        self.desk_end((desk, nas), route, same, path)?;
        let links = self.links(&route.links, path)?;
        path.warnings.extend(about_the_route(
            self.site,
            route,
            self.direction,
            self.catalogue,
        )?);
        self.nas_end((desk, nas), (route, array, &links), same, path)?;
        self.take_over_forks(PROTECTIONS[1], path);
        path.forks.extend(self.fork_on_links(&links, &path.errors));
        if self.direction == Direction::Read || !self.asks_for_a_size() {
            return Ok(None);
        }
        let memory = self.write_cache(nas, array.level.is_pooled())?;
        Ok(Some(self.unless_sync(nas, memory)))
    }

    /// The desk's own disk, processor and slot.
    fn desk_end(
        &mut self,
        (desk, nas): (&Desk, &Nas),
        route: &Route,
        (same_desk, same_nas): (bool, bool),
        path: &mut Part,
    ) -> Result<(), BudgetFault> {
        let activity = self.question.work.activity;
        if activity == Activity::Copy {
            let id = format!("desk.{}.disk", desk.name);
            path.add(self.unless_same(same_desk, &[id], |this| this.disk(desk, this.direction))?);
        }
        let id = format!("desk.{}.cpu", desk.name);
        let ids = std::slice::from_ref(&id);
        path.add(self.unless_same(same_desk && same_nas, ids, |this| {
            let label = format!("{}'s processor", desk.name);
            if activity == Activity::Wire {
                this.bare_stack(&id, &desk.cpu, &label)
            } else {
                this.processor(&id, &label, (&desk.cpu, nas, desk))
            }
        })?);
        // the desk sends what it writes
        let towards = match self.direction {
            Direction::Read => Towards::Memory,
            Direction::Write => Towards::Card,
        };
        if let Some(port) = desk.ports.iter().find(|p| p.name == route.desk_port) {
            let id = format!("desk.{}.port.{}", desk.name, port.name);
            let label = format!("{} {}, into the machine", desk.name, port.name);
            let ids = std::slice::from_ref(&id);
            path.add(
                self.unless_same(same_desk, ids, |this| this.bus(&id, &label, port, towards))?,
            );
        }
        Ok(())
    }

    /// The slot, transport, service and array of the NAS, and the program that copies.
    fn nas_end(
        &mut self,
        (desk, nas): (&Desk, &Nas),
        (route, array, links): (&Route, &Array, &Links),
        (same_desk, same_nas): (bool, bool),
        path: &mut Part,
    ) -> Result<(), BudgetFault> {
        let towards = match self.direction {
            Direction::Read => Towards::Card,
            Direction::Write => Towards::Memory,
        };
        if let Some(port) = nas.ports.iter().find(|p| p.name == route.nas_port) {
            let id = format!("nas.{}.port.{}", nas.name, port.name);
            let label = format!("{} {}, into the machine", nas.name, port.name);
            let ids = std::slice::from_ref(&id);
            path.add(self.unless_same(same_nas, ids, |this| this.bus(&id, &label, port, towards))?);
        }
        let of_nas = |what: &str| [format!("nas.{}.{what}", nas.name)];
        let same_window = same_nas && self.same(|site| &site.network);
        path.add(self.unless_same(same_window, &of_nas("window"), |this| this.window(nas))?);
        let [cpu] = of_nas("cpu");
        let label = format!("{}'s processor", nas.name);
        if self.question.work.activity == Activity::Wire {
            let ids = std::slice::from_ref(&cpu);
            path.add(self.unless_same(same_nas, ids, |this| {
                this.bare_stack(&cpu, &nas.cpu, &label)
            })?);
            return Ok(());
        }
        let same_array =
            same_nas && self.same(|site| site.arrays.iter().find(|a| a.name == array.name));
        let same_requests = same_window && same_array && links.same;
        path.add(
            self.unless_same(same_requests, &of_nas("requests"), |this| {
                this.requests(nas, array, links)
            })?,
        );
        path.add(self.unless_same(same_array, &of_nas("sync"), |this| this.sync(nas, array))?);
        let ids = std::slice::from_ref(&cpu);
        path.add(self.unless_same(same_nas && same_desk, ids, |this| {
            this.processor(&cpu, &label, (&nas.cpu, nas, desk))
        })?);
        let ids = Self::array_hops(array);
        path.add(self.unless_same(same_array, &ids, |this| this.array(array, this.direction))?);
        if let Some(files) = self.question.work.files {
            let same = same_array && same_window;
            let part = self.unless_same(same, &of_nas("files"), |this| {
                this.files(nas, (array, links), files, &path.hops)
            })?;
            path.add(part);
        } else if let Some(size) = self.question.work.size {
            let start = self.start(nas, links, (size, 1.0), &path.hops);
            path.hops.extend(start);
        }
        let id = format!("desk.{}.client", desk.name);
        // who asks for small pieces pauses by asking for few at a time
        if self.question.work.random.is_none() {
            path.add(self.unless_same(same_desk && same_nas, &[id], |this| {
                this.copy_program(desk, nas)
            })?);
        }
        Ok(())
    }

    fn finish(
        self,
        made: Result<Chain, BudgetFault>,
        warnings: Vec<Warning>,
        of: (String, String, String),
    ) -> Result<Built, BudgetFault> {
        let unknowns = self.sheet.unknowns().to_vec();
        let count = self.sheet.count();
        let steps = self.sheet.into_steps();
        let flow = match made {
            Ok(chain) => Some(Flow::new(
                of,
                (self.question.work, self.direction),
                &chain,
                &unknowns,
                count,
                (steps, self.question.need),
            )),
            // said already, with the place, in a warning
            Err(BudgetFault::NoLink(_)) => None,
            Err(fault) => return Err(fault),
        };
        Ok(Built { flow, warnings })
    }

    /// One fork for all links: the rate of the slowest, or a cable that makes errors.
    fn fork_on_links(&self, links: &Links, errors: &[bool]) -> Option<Fork> {
        let slowest = links.slowest.as_ref()?;
        if slowest.only().is_some() && errors.is_empty() {
            return None;
        }
        let (speeds, of_draw) = speeds(slowest, self.sheet.count());
        let mut rates = speeds.clone();
        rates.sort_unstable_by(|a, b| b.cmp(a));
        let rank: Vec<u8> = speeds
            .iter()
            .map(|speed| rates.iter().position(|r| r == speed).unwrap_or(0) as u8)
            .collect();
        let faulty = |draw: usize| errors.get(draw).copied().unwrap_or(false);
        let outcome: Arc<[u8]> = of_draw
            .iter()
            .enumerate()
            .map(|(draw, &speed)| {
                if faulty(draw) {
                    rates.len() as u8
                } else {
                    rank[usize::from(speed)]
                }
            })
            .collect();
        let mut labels: Vec<String> = rates
            .iter()
            .enumerate()
            .map(|(i, rate)| {
                if i == 0 {
                    format!("links at {rate}")
                } else {
                    format!("a cable falls back to {rate}")
                }
            })
            .collect();
        labels.push("a cable makes errors".to_owned());
        Some(Fork {
            on: "links".to_owned(),
            labels,
            outcome,
        })
    }
}

/// The rates that a link comes up with, as the draws bring them, and for each draw which it is.
fn speeds(link: &Column<LinkRate>, count: usize) -> (Vec<LinkRate>, Vec<u8>) {
    let mut found: Vec<u64> = Vec::new();
    let of_draw = link
        .every_base(count)
        .iter()
        .map(|base| {
            let bits = base.to_bits();
            let known = found.iter().position(|&f| f == bits);
            known.unwrap_or_else(|| {
                found.push(bits);
                found.len() - 1
            }) as u8
        })
        .collect();
    let speeds = found.into_iter().map(f64::from_bits);
    (speeds.map(LinkRate::from_base).collect(), of_draw)
}
