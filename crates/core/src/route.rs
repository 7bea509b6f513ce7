//! Which links lie between a desk and a machine that holds arrays, by which port.

use crate::site::{End, Machine, Site};

/// One run on a route, with its ends in the direction from desk to array.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RouteLink {
    /// Place of the run in the site's list.
    pub run: usize,
    /// The end towards the desk.
    pub near: End,
    /// The end towards the array.
    pub far: End,
}

/// A way from a desk to a machine that holds arrays.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Route {
    /// Name of the desk.
    pub desk: String,
    /// The desk's port it leaves by.
    pub desk_port: String,
    /// Name of the machine it ends at.
    pub nas: String,
    /// The port it arrives by.
    pub nas_port: String,
    /// The runs, from desk to array.
    pub links: Vec<RouteLink>,
}

/// Every route from a desk to a machine that holds at least one array, in the order of the runs.
///
/// A route passes switches only, and no switch twice. The site's check has already refused
/// loops of switches, so a pair of ports has one route at most.
pub fn routes(site: &Site, desk: &str) -> Vec<Route> {
    let mut found = Vec::new();
    let mut path = Vec::new();
    walk(site, (Machine::Desk, desk), &mut path, &mut found);
    found
}

fn walk(site: &Site, at: (Machine, &str), path: &mut Vec<RouteLink>, found: &mut Vec<Route>) {
    for (index, run) in site.runs.iter().enumerate() {
        for (near, far) in [(&run.from, &run.to), (&run.to, &run.from)] {
            if (near.machine, near.name.as_str()) != at {
                continue;
            }
            let visited = path.iter().any(|l| l.run == index)
                || path
                    .iter()
                    .any(|l| (l.near.machine, &l.near.name) == (far.machine, &far.name));
            if visited {
                continue;
            }
            path.push(RouteLink {
                run: index,
                near: near.clone(),
                far: far.clone(),
            });
            match far.machine {
                Machine::Switch => walk(site, (Machine::Switch, &far.name), path, found),
                Machine::Nas => {
                    if let Some(first) = path.first()
                        && site.arrays.iter().any(|a| a.nas == far.name)
                    {
                        found.push(Route {
                            desk: first.near.name.clone(),
                            desk_port: first.near.port.clone(),
                            nas: far.name.clone(),
                            nas_port: far.port.clone(),
                            links: path.clone(),
                        });
                    }
                }
                Machine::Desk => {}
            }
            path.pop();
        }
    }
}
