//! One flow as a part of many: what it gets alone, and what each place that others pass too would
//! give it.

use super::evaluate::{Rates, rates};
use super::hop::{Chain, HopKind};
use super::shared::Drives;
use super::{BudgetFault, Context, Question, Warning};
use crate::budget::run::Cabling;
use crate::catalogue::Catalogue;
use crate::quantity::DataRate;
use crate::route::{Route, RouteLink};
use crate::site::{Array, Desk, Medium, Site};
use crate::spread::Draws;
use crate::work::{Activity, Direction, Work};
use crate::working::{Column, middle};
use std::cell::RefCell;
use std::collections::HashMap;

/// A place that several flows may pass.
#[derive(Clone, Debug)]
pub(crate) struct Passed {
    /// Which: site path, and the way of the data where both ways have room of their own.
    pub key: String,
    /// Site path.
    pub id: String,
    /// Which way data pass; nothing where both share it.
    pub towards: Option<Towards>,
    pub kind: HopKind,
    pub label: String,
    pub note: String,
    /// What it carries if nobody else is there.
    pub ceiling: Column<DataRate>,
    /// For drives, what they give several streams and what moving between them costs.
    pub drives: Option<Drives>,
    /// How many such ceilings fit side by side, for the cores of a processor.
    pub times: Option<Column<f64>>,
    /// How many links are joined into one here.
    pub members: u32,
    /// Whether it gives everybody equal time, and not equal turns.
    pub equal_time: bool,
}

/// Which way data pass a place that has room for both ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Towards {
    /// To the desks.
    Desks,
    /// To the arrays.
    Arrays,
}

/// A flow over a route: what it gets alone, why, and what it passes.
pub(crate) struct Way {
    /// The desk's port.
    pub port: String,
    /// Alone, in bytes a second, one a draw: what a budget says.
    pub alone: Vec<f64>,
    /// For each draw a position in `sets`.
    pub limit: Vec<u32>,
    /// Ids of hops that limit together when it is alone.
    pub sets: Vec<Vec<String>>,
    /// The draws in which some cable gives no link; empty where all do.
    pub dead: Vec<bool>,
    pub passed: Vec<Passed>,
}

/// What all ways of one question have in common, worked out once.
pub(crate) struct Common {
    pub(super) cabling: Cabling,
    /// Drives by array and direction.
    drives: RefCell<HashMap<(String, Direction), Drives>>,
}

impl Common {
    pub(crate) fn new(catalogue: &Catalogue) -> Result<Self, BudgetFault> {
        Ok(Self {
            cabling: Cabling::new(catalogue)?,
            drives: RefCell::default(),
        })
    }
}

/// What a way needs to be built.
pub(crate) struct Asked<'a> {
    pub site: &'a Site,
    pub catalogue: &'a Catalogue,
    pub common: &'a Common,
    pub activity: Activity,
    pub direction: Direction,
}

/// One flow over a route; nothing where a link does not come up, which a warning says.
pub(crate) fn way(
    asked: &Asked<'_>,
    (desk, route, array): (&Desk, &Route, &Array),
    draws: &mut Draws,
    warnings: &mut Vec<Warning>,
) -> Result<Option<Way>, BudgetFault> {
    let question = Question {
        work: Work::plain(asked.activity),
        desk: None,
        working: false,
        need: None,
    };
    let mut context = Context::new(
        asked.site,
        (asked.catalogue, &asked.common.cabling),
        draws,
        &question,
        asked.direction,
    );
    let chain = match context.chain_over(desk, route, array, warnings) {
        Ok(chain) => chain,
        // said already, with the place, in a warning
        Err(BudgetFault::NoLink(_)) => return Ok(None),
        Err(fault) => return Err(fault),
    };
    let count = context.sheet.count();
    let Rates {
        values,
        limit,
        sets,
        ..
    } = rates(&chain, count);
    let sets = sets
        .into_iter()
        .map(|set| {
            set.into_iter()
                .filter_map(|hop| chain.hops.get(hop).map(|h| h.id.clone()))
                .collect()
        })
        .collect();
    let passed = context.passed(&chain, (Some(route), array), asked.common)?;
    Ok(Some(Way {
        port: route.desk_port.clone(),
        alone: values,
        limit,
        sets,
        dead: chain.dead,
        passed,
    }))
}

impl Context<'_, '_> {
    /// The hops of a chain that others may pass too. A stream's own thread, window, requests and copy
    /// tool are its own, and so in what it gets alone.
    pub(super) fn passed(
        &mut self,
        chain: &Chain,
        (route, array): (Option<&Route>, &Array),
        common: &Common,
    ) -> Result<Vec<Passed>, BudgetFault> {
        let direction = self.direction;
        let towards = match direction {
            Direction::Read => Towards::Desks,
            Direction::Write => Towards::Arrays,
        };
        let mut found = Vec::new();
        for hop in &chain.hops {
            let mut passed = Passed {
                key: hop.id.clone(),
                id: hop.id.clone(),
                towards: None,
                kind: hop.kind,
                label: hop.label.clone(),
                note: hop.note.clone(),
                ceiling: hop.of_all.as_ref().unwrap_or(&hop.ceiling).clone(),
                drives: None,
                times: None,
                members: 1,
                equal_time: false,
            };
            match hop.kind {
                HopKind::Disk => {}
                HopKind::Link => {
                    let mut links = route.iter().flat_map(|route| &route.links);
                    let link = links.find(|l| self.run_id(l) == hop.id);
                    let run = link.and_then(|l| Some((l, self.site.runs.get(l.run)?)));
                    let Some((link, run)) = run else { continue };
                    // radio has one room for both ways, and one for all cells on a channel
                    if let Some(air) = self.site.air_of(run) {
                        passed.key = air;
                        passed.equal_time = self.site.gives_equal_time(run);
                    } else if !matches!(run.medium, Medium::Wireless { .. }) {
                        let from = match direction {
                            Direction::Read => &link.far,
                            Direction::Write => &link.near,
                        };
                        passed.key = format!("{} from {from}", hop.id);
                        passed.towards = Some(towards);
                    }
                    let ends = [&link.near, &link.far].map(|end| self.site.port(end));
                    let members = ends.into_iter().flatten().map(|port| port.members);
                    passed.members = members.max().unwrap_or(1) as u32;
                }
                // what all drives hang on has one room for both ways
                HopKind::Bus if hop.id == format!("array.{}.attached", array.name) => {}
                HopKind::Bus => {
                    passed.key = format!("{} {}", hop.id, direction.word());
                    passed.towards = Some(towards);
                }
                HopKind::Processor if hop.id.ends_with(".array-work") => {
                    // the kernel's driver has one thread an array; pools take as many as they have
                    if !array.level.has_driver_parity() {
                        continue;
                    }
                    passed.key = format!("{} of {}", hop.id, array.name);
                }
                HopKind::Processor if hop.id == format!("nas.{}.cpu", array.nas) => {
                    let Some(nas) = self.site.nas(&array.nas) else {
                        continue;
                    };
                    passed.label = format!("all cores of {}", nas.name);
                    "a thread a stream, on all cores together".clone_into(&mut passed.note);
                    passed.times = Some(self.sheet.value("cores", &nas.cpu.cores));
                }
                HopKind::Array => {
                    let key = (array.name.clone(), direction);
                    let known = common.drives.borrow().get(&key).cloned();
                    let drives = match known {
                        Some(drives) => drives,
                        None => self.drives(array, direction, &hop.ceiling)?,
                    };
                    common.drives.borrow_mut().insert(key, drives.clone());
                    passed.drives = Some(drives);
                }
                HopKind::Processor
                | HopKind::Window
                | HopKind::Requests
                | HopKind::Files
                | HopKind::Program => {
                    continue;
                }
            }
            found.push(passed);
        }
        Ok(found)
    }

    fn run_id(&self, link: &RouteLink) -> String {
        let number = self.site.runs.get(link.run).map_or(0, |run| run.number);
        format!("run.{number}")
    }
}

/// Of several ways the one that is fastest in the middle; of equals the first.
pub(crate) fn fastest<T>(ways: Vec<T>, rates: impl Fn(&T) -> &[f64]) -> Option<T> {
    if ways.len() < 2 {
        return ways.into_iter().next();
    }
    let mut best: Option<(f64, T)> = None;
    for way in ways {
        let rate = middle(rates(&way));
        if best.as_ref().is_none_or(|(most, _)| rate > *most) {
            best = Some((rate, way));
        }
    }
    best.map(|(_, way)| way)
}

impl Passed {
    /// The name under which it is drawn which of joined links carry what.
    pub(crate) fn joined_by(&self) -> String {
        format!("{}/joined.hash", self.id)
    }

    /// Seconds a byte in every draw.
    pub(crate) fn costs(&self, count: usize) -> Vec<f64> {
        if let Some(drives) = &self.drives {
            return drives.cost.every_base(count).into_owned();
        }
        let ceilings = self.ceiling.every_base(count);
        let times = self.times.as_ref().map(|t| t.every_base(count));
        ceilings
            .iter()
            .enumerate()
            .map(|(draw, ceiling)| {
                let times = times.as_ref().and_then(|t| t.get(draw)).copied();
                1.0 / (ceiling * times.unwrap_or(1.0).max(1.0))
            })
            .collect()
    }
}
