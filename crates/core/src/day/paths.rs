use super::answer::{Costs, Needs, Network, all_ways};
use super::course::LegVisit;
use super::jobs::Job;
use super::ways::Way;
use crate::budget::{BudgetFault, Warning};
use crate::catalogue::Catalogue;
use crate::quantity::Measure;
use crate::site::{Site, SitePath};
use crate::spread::Draws;
use crate::together::{self, Question};
use crate::work::{Activity, Direction, Does, Task};

/// The ways of a day over a site.
///
/// Each way is a flow as in [`crate::together`], with the same numbers draw by draw. Data for the
/// outside pass the drives and the processor of the NAS; the access line is the rate that a job is
/// held to, and its port is taken to be faster. On a mirror whose every stream has a copy of its
/// own, streams are counted by ways and not by jobs.
pub struct Paths {
    network: together::Network,
    ways: Vec<Way>,
    warnings: Vec<Warning>,
}

/// Finds the ways of all jobs.
///
/// # Errors
/// Where the catalogue lacks a row, or the site is none that its reader would let pass.
pub fn paths(
    site: &Site,
    jobs: &[Job],
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Paths, BudgetFault> {
    let ways = all_ways(jobs);
    let mut site = site.clone();
    let mut tasks = Vec::with_capacity(ways.len());
    for (number, way) in ways.iter().enumerate() {
        tasks.push(task(number + 1, way, &site)?);
    }
    site.tasks = tasks;
    let question = Question {
        everyone: Activity::Copy,
        direction: Direction::Read,
        need: None,
    };
    let mut warnings = Vec::new();
    let network = together::Network::of(&site, &question, catalogue, draws, &mut warnings)?;
    Ok(Paths {
        network,
        ways,
        warnings,
    })
}

fn task(number: usize, way: &Way, site: &Site) -> Result<Task, BudgetFault> {
    let desk = match &way.desk {
        Some(desk) => desk.clone(),
        None => anybody(way, site)?,
    };
    Ok(Task {
        number,
        desk,
        array: way.array.clone(),
        does: if way.disk { Does::Copy } else { Does::Play },
        direction: way.direction,
        material: None,
        layers: 1,
        demand: None,
        held_to: None,
        export: None,
        card: None,
        weight: 1,
        active: None,
        spell: None,
        per_day: None,
    })
}

/// A desk that reaches an array: what it passes at the NAS is what data for the outside pass too.
fn anybody(way: &Way, site: &Site) -> Result<String, BudgetFault> {
    let array = site.arrays.iter().find(|array| array.name == way.array);
    let reaches = |desk: &&crate::site::Desk| {
        let routes = crate::route::routes(site, &desk.name);
        routes
            .iter()
            .any(|route| array.is_some_and(|array| route.nas == array.nas))
    };
    let found = site.desks.iter().find(reaches);
    found
        .map(|desk| desk.name.clone())
        .ok_or_else(|| BudgetFault::Model {
            place: SitePath::Array(&way.array, None).to_string(),
            problem: "no desk reaches it".to_owned(),
        })
}

impl Paths {
    /// What to look at.
    pub fn warnings(&self) -> &[Warning] {
        &self.warnings
    }

    /// Whether data for the outside pass a place.
    fn at_the_nas(id: &str) -> bool {
        let place = SitePath::of(id);
        matches!(place, SitePath::Array(..)) || place.is_cores_of_nas()
    }
}

impl Network for Paths {
    fn cases(&self) -> usize {
        self.network.draws()
    }

    fn name(&self, resource: usize) -> String {
        let places = self.network.place_ids();
        places
            .get(resource)
            .map_or_else(String::new, |(id, _)| (*id).to_owned())
    }

    fn at(&self, case: usize) -> Costs {
        let problem = self.network.problem(Some(case));
        let places = self.network.place_ids();
        let mut ways: Vec<Needs> = Vec::with_capacity(self.ways.len());
        for (flow, (way, demand)) in self.ways.iter().zip(&problem.flows).enumerate() {
            let outside = way.desk.is_none();
            ways.push(Needs {
                visits: Vec::new(),
                alone: demand.most.filter(|_| !outside),
                alone_by: self.network.limit_alone(flow, case),
            });
        }
        for visit in &problem.visits {
            let (Some(way), Some(needs)) = (self.ways.get(visit.flow), ways.get_mut(visit.flow))
            else {
                continue;
            };
            let id = places.get(visit.resource).map_or("", |(id, _)| *id);
            if visit.cost.base() > 0.0 && (way.desk.is_some() || Self::at_the_nas(id)) {
                needs.visits.push(LegVisit {
                    resource: visit.resource,
                    cost: visit.cost,
                    turn: visit.turn,
                });
            }
        }
        Costs {
            resources: problem.resources,
            ways,
        }
    }
}
