use super::flow::{Built, Flow};
use super::hop::{Adds, Chain, Fork, Hop, HopKind, Tiring};
use super::link::Links;
use super::reuse::Before;
use super::run::Cabling;
use super::{BudgetFault, Question, Warning, WarningKind};
use crate::catalogue::Catalogue;
use crate::hop::bus::Towards;
use crate::hop::requests::depth_cost;
use crate::hop::transport::window_rate;
use crate::quantity::{
    DataRate, Information, InformationPerOperation, LinkRate, Measure, Operations, Time,
    megabytes_per_second, metres, ratio,
};
use crate::route::Route;
use crate::site::{Array, Desk, Medium, Nas, Service, Site};
use crate::spread::Draws;
use crate::work::{Activity, Direction};
use crate::working::{Column, How, Sheet};
use std::collections::HashSet;
use std::sync::Arc;

const WINDOW: How = How {
    name: "one stream's window over the round trip",
    formula: "W / T",
    symbols: &["W", "T"],
    source: "RFC 7323 section 1.1",
};
const WAIT: How = How {
    name: "time of one request beside the wire",
    formula: "T + t",
    symbols: &["T", "t"],
    source: "a request waits for the network and the server",
};
const DEPTH: How = How {
    name: "requests under way",
    formula: "Q S / (T0 + S/L)",
    symbols: &["Q", "S", "T0", "L"],
    source: "Little's law; Denning and Buzen 1978",
};
const DEPTH_ALONE: How = How {
    name: "requests over links that take no time",
    formula: "Q S / T0",
    symbols: &["Q", "S", "T0"],
    source: "Little's law; Denning and Buzen 1978",
};
const ONE_REQUEST: How = How {
    name: "bytes one request asks for",
    formula: "S",
    symbols: &["S"],
    source: "as stated of the desk",
};

fn one_operation() -> Operations {
    Operations::new::<crate::quantity::units::operations::operation>(1.0)
}

/// Puts the hops of one flow together.
pub(super) struct Builder<'a, 'd> {
    pub site: &'a Site,
    pub catalogue: &'a Catalogue,
    pub cabling: &'a Cabling,
    pub sheet: Sheet<'d>,
    pub hops: Vec<Hop>,
    pub forks: Vec<Fork>,
    pub forked: HashSet<String>,
    pub tiring: Option<Tiring>,
    /// Free space at the receiving end of a long copy.
    pub room: Option<Column<Information>>,
    /// The desk at the end of the path.
    pub desk: Option<&'a Desk>,
    /// The draws in which some cable makes errors; empty where none does.
    pub errors: Vec<bool>,
    /// The draws in which some cable gives no link; empty where all do.
    pub dead: Vec<bool>,
    /// A path to take hops over from.
    pub before: Option<Before<'a>>,
    question: &'a Question,
    pub(super) direction: Direction,
    warnings: Vec<Warning>,
}

impl<'a, 'd> Builder<'a, 'd> {
    pub(super) fn new(
        site: &'a Site,
        (catalogue, cabling): (&'a Catalogue, &'a Cabling),
        draws: &'d mut Draws,
        question: &'a Question,
        direction: Direction,
    ) -> Self {
        let sheet = if question.working {
            Sheet::recording(draws)
        } else {
            Sheet::new(draws)
        };
        Self {
            site,
            catalogue,
            cabling,
            sheet,
            hops: Vec::new(),
            forks: Vec::new(),
            forked: HashSet::new(),
            tiring: None,
            room: None,
            desk: None,
            errors: Vec::new(),
            dead: Vec::new(),
            before: None,
            question,
            direction,
            warnings: Vec::new(),
        }
    }

    pub(super) fn take_warnings(&mut self) -> Vec<Warning> {
        std::mem::take(&mut self.warnings)
    }

    /// As [`Builder::new`], for rates alone.
    pub(super) fn light(
        site: &'a Site,
        known: (&'a Catalogue, &'a Cabling),
        draws: &'d mut Draws,
        question: &'a Question,
        direction: Direction,
    ) -> Self {
        let mut made = Self::new(site, known, draws, question, direction);
        made.sheet = made.sheet.lightened();
        made
    }

    /// Whether one long copy is followed.
    pub(super) fn asks_for_a_size(&self) -> bool {
        self.question.work.size.is_some()
    }

    /// The size of the pieces, where pieces at random places are asked for.
    pub(super) fn asked_pieces(&self) -> Option<Information> {
        self.question.work.random
    }

    pub(super) fn activity(&self) -> Activity {
        self.question.work.activity
    }

    pub(super) fn warn(&mut self, warning: Warning) {
        self.warnings.push(warning);
    }

    /// A program on the machine that holds the array.
    pub(super) fn at_the_array(mut self, array: &Array) -> Result<Built, BudgetFault> {
        let made = self.array_alone(array);
        self.finish(made, String::new(), array.name.clone(), String::new())
    }

    /// The hops of a program on the machine that holds the array.
    pub(super) fn array_alone(&mut self, array: &Array) -> Result<Chain, BudgetFault> {
        let same = self.same(|site| {
            let found = site.arrays.iter().find(|a| a.name == array.name);
            (found, site.nas(&array.nas))
        });
        let ids = Self::array_hops(array);
        self.unless_same(same, &ids, |this| this.array(array, this.direction))?;
        if let Some(piece) = self.question.work.random {
            self.requests_at_the_array(array, piece)?;
        }
        Ok(self.chain(None))
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
        let made = self.chain_over(desk, route, array);
        self.finish(
            made,
            desk.name.clone(),
            array.name.clone(),
            route.desk_port.clone(),
        )
    }

    pub(super) fn chain_over(
        &mut self,
        desk: &Desk,
        route: &Route,
        array: &Array,
    ) -> Result<Chain, BudgetFault> {
        let activity = self.question.work.activity;
        self.desk = self.site.desks.iter().find(|d| d.name == desk.name);
        let Some(nas) = self.site.nas(&route.nas) else {
            return Err(BudgetFault::model(&route.nas, "the machine is missing"));
        };
        // the desk sends what it writes
        let (desk_bus, nas_bus) = match self.direction {
            Direction::Read => (Towards::Memory, Towards::Card),
            Direction::Write => (Towards::Card, Towards::Memory),
        };
        let same_desk = self.same(|site| site.desks.iter().find(|d| d.name == desk.name));
        let same_nas = self.same(|site| site.nas(&nas.name));
        let same_array =
            same_nas && self.same(|site| site.arrays.iter().find(|a| a.name == array.name));
        if activity == Activity::Copy {
            let id = format!("desk.{}.disk", desk.name);
            self.unless_same(same_desk, &[id], |this| this.disk(desk, this.direction))?;
        }
        let wire = activity == Activity::Wire;
        let id = format!("desk.{}.cpu", desk.name);
        self.unless_same(same_desk && same_nas, std::slice::from_ref(&id), |this| {
            let label = format!("{}'s processor", desk.name);
            if wire {
                this.bare_stack(&id, &desk.cpu, &label)
            } else {
                this.processor(&id, &label, (&desk.cpu, nas, desk))
            }
        })?;
        if let Some(port) = desk.ports.iter().find(|p| p.name == route.desk_port) {
            let id = format!("desk.{}.port.{}", desk.name, port.name);
            let label = format!("{} {}, into the machine", desk.name, port.name);
            self.unless_same(same_desk, std::slice::from_ref(&id), |this| {
                this.bus(&id, &label, port, desk_bus)
            })?;
        }
        let links = self.links(&route.links)?;
        self.look_at_runs(route);
        self.look_at_pauses(route);
        self.look_at_steps_down(route)?;
        if let Some(port) = nas.ports.iter().find(|p| p.name == route.nas_port) {
            let id = format!("nas.{}.port.{}", nas.name, port.name);
            let label = format!("{} {}, into the machine", nas.name, port.name);
            self.unless_same(same_nas, std::slice::from_ref(&id), |this| {
                this.bus(&id, &label, port, nas_bus)
            })?;
        }
        let of_nas = |what: &str| [format!("nas.{}.{what}", nas.name)];
        let same_window = same_nas && self.same(|site| &site.network);
        self.unless_same(same_window, &of_nas("window"), |this| this.window(nas))?;
        let [cpu] = of_nas("cpu");
        let label = format!("{}'s processor", nas.name);
        if wire {
            self.unless_same(same_nas, std::slice::from_ref(&cpu), |this| {
                this.bare_stack(&cpu, &nas.cpu, &label)
            })?;
        } else {
            let same_requests = same_window && same_array && links.same;
            self.unless_same(same_requests, &of_nas("requests"), |this| {
                this.requests(nas, array, &links)
            })?;
            self.unless_same(same_array, &of_nas("sync"), |this| this.sync(nas, array))?;
            let same_signing = same_nas && same_desk;
            self.unless_same(same_signing, std::slice::from_ref(&cpu), |this| {
                this.processor(&cpu, &label, (&nas.cpu, nas, desk))
            })?;
            let ids = Self::array_hops(array);
            self.unless_same(same_array, &ids, |this| this.array(array, this.direction))?;
            if let Some(files) = self.question.work.files {
                let same = same_array && same_window;
                self.unless_same(same, &of_nas("files"), |this| {
                    this.files(nas, (array, &links), files)
                })?;
            } else if let Some(size) = self.question.work.size {
                self.start(nas, &links, size, 1.0);
            }
            let id = format!("desk.{}.client", desk.name);
            // who asks for small pieces pauses by asking for few at a time
            if self.question.work.random.is_none() {
                self.unless_same(same_desk && same_nas, &[id], |this| {
                    this.copy_program(desk, nas)
                })?;
            }
        }
        self.take_over_forks("signed");
        self.fork_on_links(&links);
        let cache = if self.direction == Direction::Write && self.asks_for_a_size() {
            let memory = self.write_cache(nas, array.level.is_pooled())?;
            Some(self.unless_sync(nas, memory))
        } else {
            None
        };
        Ok(self.chain(cache))
    }

    fn chain(&mut self, write_cache: Option<Column<Information>>) -> Chain {
        Chain {
            hops: std::mem::take(&mut self.hops),
            forks: std::mem::take(&mut self.forks),
            write_cache,
            tiring: self.tiring.take(),
            dead: std::mem::take(&mut self.dead),
            room: self.room.take(),
        }
    }

    fn finish(
        self,
        made: Result<Chain, BudgetFault>,
        desk: String,
        array: String,
        port: String,
    ) -> Result<Built, BudgetFault> {
        let unknowns = self.sheet.unknowns().to_vec();
        let count = self.sheet.count();
        let steps = self.sheet.into_steps();
        let flow = match made {
            Ok(chain) => Some(Flow::new(
                (desk, array, port),
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
        Ok(Built {
            flow,
            warnings: self.warnings,
        })
    }

    /// A thread that moves bytes and does nothing else to them.
    fn bare_stack(
        &mut self,
        id: &str,
        cpu: &crate::site::Cpu,
        label: &str,
    ) -> Result<(), BudgetFault> {
        let class = self.sheet.choice(&cpu.class, Clone::clone);
        let ceiling = self.class_rate(id, cpu, &class, "stack")?;
        self.hops.push(Hop {
            id: id.to_owned(),
            kind: HopKind::Processor,
            label: label.to_owned(),
            note: "stack".to_owned(),
            ceiling,
            signalled: None,
            of_all: None,
            adds: Adds::Never,
            empty: None,
            over_links: None,
        });
        Ok(())
    }

    /// Round trip between the desk and the NAS.
    pub(super) fn round_trip(&mut self) -> Column<Time> {
        let own = self.desk.and_then(|d| d.round_trip.as_ref());
        let round_trip = own.unwrap_or(&self.site.network.round_trip);
        self.sheet.value("round trip", round_trip)
    }

    fn window(&mut self, nas: &Nas) -> Result<(), BudgetFault> {
        let id = format!("nas.{}.window", nas.name);
        let name = "bytes one stream keeps in flight";
        let stated = self.desk.and_then(|d| d.window.as_ref());
        let window = match stated {
            Some(window) => self.sheet.value(name, window),
            None => self.sheet.draw(
                "tcp.window",
                name,
                &self.catalogue.spread::<Information>("tcp.window")?,
                &self.catalogue.number("tcp.window")?.source,
            ),
        };
        let time = self.round_trip();
        let ceiling = self.sheet.of2(&WINDOW, &window, &time, window_rate);
        self.hops.push(Hop {
            id,
            kind: HopKind::Window,
            label: "window of one stream".to_owned(),
            note: "grows by itself".to_owned(),
            ceiling,
            signalled: None,
            of_all: None,
            adds: Adds::Never,
            empty: None,
            over_links: None,
        });
        Ok(())
    }

    fn requests(&mut self, nas: &Nas, array: &Array, links: &Links) -> Result<(), BudgetFault> {
        let round_trip = self.round_trip();
        let service_time = self.sheet.draw(
            &format!("nas.{}.service-time", nas.name),
            "server time of a request",
            &self.catalogue.spread::<Time>("service-time")?,
            &self.catalogue.number("service-time")?.source,
        );
        let mut wait = self
            .sheet
            .of2(&WAIT, &round_trip, &service_time, |a: Time, b: Time| a + b);
        // what is written rests in memory, what is read comes from the drives
        if let (Some(piece), Direction::Read) = (self.question.work.random, self.direction) {
            let access = self.pieces(array, piece)?.access;
            wait = self
                .sheet
                .of2(&WAIT, &wait, &access, |a: Time, b: Time| a + b);
        }
        let wire = match &links.payload {
            Some(column) => column.clone(),
            // nothing but radio on the way, which has its own hop
            None => self
                .sheet
                .known("wire", megabytes_per_second(1e6), "no wire on the way"),
        };
        let ceiling = self.by_service(nas, "requests under way", |this, service| {
            let (size, depth) = this.size_and_depth(service)?;
            Ok(this
                .sheet
                .of4(&DEPTH, (&depth, &size, &wait, &wire), |q, s, t, l| {
                    let rate: DataRate = ratio(1.0) / depth_cost(q, s, t, l);
                    rate
                }))
        })?;
        let over_links = self.by_service(
            nas,
            "requests over links that take no time",
            |this, service| {
                let (size, depth) = this.size_and_depth(service)?;
                Ok(this
                    .sheet
                    .of3(&DEPTH_ALONE, (&depth, &size, &wait), |q, s, t| {
                        let rate: DataRate = s * q / t;
                        rate
                    }))
            },
        )?;
        let services: Vec<&str> = nas
            .service
            .value
            .options()
            .iter()
            .map(|(service, _)| service.word())
            .collect();
        self.hops.push(Hop {
            id: format!("nas.{}.requests", nas.name),
            kind: HopKind::Requests,
            label: "requests under way".to_owned(),
            note: services.join(" or "),
            ceiling,
            signalled: None,
            of_all: None,
            adds: Adds::Never,
            empty: None,
            over_links: Some(over_links),
        });
        Ok(())
    }

    /// Bytes that one request of a service asks for, and how many are outstanding.
    pub(super) fn size_and_depth(
        &mut self,
        service: Service,
    ) -> Result<(Column<InformationPerOperation>, Column<Operations>), BudgetFault> {
        if let Some(piece) = self.question.work.random {
            let size = piece / one_operation();
            let size = self
                .sheet
                .known("bytes one request asks for", size, "as asked");
            return Ok((size, self.pieces_under_way()?));
        }
        let size_row = format!("requests.{}.size", service.word());
        let depth_row = format!("requests.{}.depth", service.word());
        let stated = self.desk.and_then(|d| d.request_size.as_ref());
        let size = match stated {
            Some(size) => {
                let size = self.sheet.value("bytes one request asks for", size);
                self.sheet
                    .of(&ONE_REQUEST, &size, |s: Information| s / one_operation())
            }
            None => self.sheet.draw(
                &size_row,
                "bytes one request asks for",
                &self
                    .catalogue
                    .spread::<InformationPerOperation>(&size_row)?,
                &self.catalogue.number(&size_row)?.source,
            ),
        };
        let depth = match self.desk.and_then(|d| d.requests) {
            Some(requests) => self.sheet.known(
                "requests outstanding",
                one_operation() * requests as f64,
                "as stated of the desk",
            ),
            None => self.sheet.draw(
                &depth_row,
                "requests outstanding",
                &self.catalogue.spread::<Operations>(&depth_row)?,
                &self.catalogue.number(&depth_row)?.source,
            ),
        };
        Ok((size, depth))
    }

    /// One fork for all links: the rate of the slowest, or a cable that makes errors.
    fn fork_on_links(&mut self, links: &Links) {
        let Some(slowest) = &links.slowest else {
            return;
        };
        if slowest.only().is_some() && self.errors.is_empty() {
            return;
        }
        let (speeds, of_draw) = speeds(slowest, self.sheet.count());
        let mut rates = speeds.clone();
        rates.sort_unstable_by(|a, b| b.cmp(a));
        let rank: Vec<u8> = speeds
            .iter()
            .map(|speed| rates.iter().position(|r| r == speed).unwrap_or(0) as u8)
            .collect();
        let faulty = |draw: usize| self.errors.get(draw).copied().unwrap_or(false);
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
        self.forks.push(Fork { labels, outcome });
    }

    /// Warnings that concern the runs themselves.
    fn look_at_runs(&mut self, route: &Route) {
        for link in &route.links {
            let Some(run) = self.site.runs.get(link.run) else {
                continue;
            };
            if let Medium::Copper { length, .. } = &run.medium
                && length.median() > metres(100.0)
            {
                self.warn(Warning::new(
                    WarningKind::LongRun,
                    format!("run.{}", run.number),
                    format!(
                        "{} of copper; standards end at 100 m",
                        crate::quantity::show(length.median())
                    ),
                    "put a switch half-way, or use fibre",
                ));
            }
        }
        let top = |end: &crate::site::End| {
            self.site
                .port(end)
                .and_then(|p| p.knows.iter().copied().max())
        };
        let tops: Vec<(String, LinkRate)> = route
            .links
            .iter()
            .flat_map(|l| [&l.near, &l.far])
            .filter_map(|end| Some((end.to_string(), top(end)?)))
            .collect();
        let ends = [tops.first(), tops.last()];
        let Some(least_end) = ends.iter().flatten().map(|(_, r)| *r).min() else {
            return;
        };
        let slow: Vec<(String, LinkRate)> = tops
            .iter()
            .filter(|(name, rate)| *rate < least_end && name.starts_with("switch."))
            .cloned()
            .collect();
        if let Some((place, rate)) = slow.into_iter().min_by_key(|(_, rate)| *rate) {
            self.warn(Warning::new(
                WarningKind::SlowPortInTheWay,
                place.clone(),
                format!("a {rate} port lies between machines that know {least_end} or more"),
                "move the run to a faster port, or replace that switch",
            ));
        }
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
