//! The way of one desk: its machines, switches, ports and runs, as far as a cause may be there.

use super::Observations;
use super::candidates::general;
use super::cause::{At, Cause};
use super::judged::Judged;
use super::tags;
use crate::quantity::{Length, LinkRate, units};
use crate::route::{Route, RouteLink};
use crate::site::{End, Machine, Medium, Run, Site};

/// The way between one desk and its array.
pub(crate) struct DeskPath {
    pub desk: String,
    pub array: String,
    /// The desk's port that it leaves by.
    pub port: String,
    nas: String,
    switches: Vec<String>,
    /// The ports of switches where data may have to wait.
    ports: Vec<OnePort>,
    /// The access points that it passes.
    cells: Vec<OneCell>,
    /// The likeliest to be at fault first.
    runs: Vec<OneRun>,
    /// What is so on it.
    pub tags: Vec<&'static str>,
    /// The fastest that it can link at.
    pub links_at: Option<LinkRate>,
    named: bool,
}

/// A part of a way at which a cause may be.
pub(crate) struct Part {
    /// Parts of several ways with one key are one place.
    pub key: String,
    pub path: String,
    pub words: String,
    /// Site path of the part that an edit is made in; empty where no part is meant.
    pub target: String,
    /// How much of what is on the way falls here.
    pub share: f64,
}

struct OnePort {
    path: String,
    switch: String,
    /// Number of the run behind it.
    run: usize,
}

struct OneCell {
    name: String,
    /// Number and words of its own cable, where the way goes over that.
    uplink: Option<(usize, String)>,
}

struct OneRun {
    path: String,
    words: String,
    radio: bool,
    carries: f64,
    /// Longer and older ones are likelier to be at fault.
    doubt: f64,
}

impl DeskPath {
    pub(crate) fn of(
        site: &Site,
        (desk, route): (&str, Option<Route>),
        told: &Observations,
        judged: &Judged,
    ) -> Self {
        let nas = route
            .as_ref()
            .map(|r| r.nas.clone())
            .or_else(|| site.nas.first().map(|n| n.name.clone()))
            .unwrap_or_default();
        let array = site
            .arrays
            .iter()
            .find(|a| a.nas == nas)
            .or_else(|| site.arrays.first());
        let links = route.as_ref().map(|r| r.links.as_slice());
        let links = links.unwrap_or_default();
        Self {
            desk: desk.to_owned(),
            port: route
                .as_ref()
                .map(|r| r.desk_port.clone())
                .unwrap_or_default(),
            array: array.map(|a| a.name.clone()).unwrap_or_default(),
            nas,
            switches: links
                .iter()
                .filter(|l| l.far.machine == Machine::Switch)
                .map(|l| l.far.name.clone())
                .collect(),
            ports: ports(site, links),
            cells: cells(site, links),
            runs: route
                .as_ref()
                .map(|r| runs(site, r, judged, faster_elsewhere(told, desk)))
                .unwrap_or_default(),
            tags: tags::tags(site, (desk, route.as_ref()), told, judged),
            links_at: tags::links_at(site, links),
            named: told.path_told,
        }
    }

    /// The parts at which a cause may be; their shares add up to one.
    pub(crate) fn parts(&self, at: At, radio: bool) -> Vec<Part> {
        let one = |path: String, words: String| {
            vec![Part {
                key: path.clone(),
                target: path.clone(),
                path,
                words,
                share: 1.0,
            }]
        };
        if !self.named {
            return self.general(at, radio);
        }
        match at {
            At::Desk => one(format!("desk.{}", self.desk), self.desk.clone()),
            At::Nas => one(format!("nas.{}", self.nas), self.nas.clone()),
            At::Array => one(format!("array.{}", self.array), self.array.clone()),
            At::Run if self.runs.iter().any(|r| r.radio == radio) => {
                let own = || self.runs.iter().filter(|r| r.radio == radio);
                let sum: f64 = own().map(|r| r.doubt).sum();
                own()
                    .map(|r| Part {
                        key: r.path.clone(),
                        path: r.path.clone(),
                        words: r.words.clone(),
                        target: r.path.clone(),
                        share: r.doubt / sum,
                    })
                    .collect()
            }
            // a way without an access point has nothing that could be wrong with one
            At::Cell => {
                let share = 1.0 / self.cells.len() as f64;
                let cells = self.cells.iter();
                cells
                    .map(|cell| Part {
                        key: format!("access-point.{}", cell.name),
                        path: format!("access-point.{}", cell.name),
                        words: format!("the access point {}", cell.name),
                        target: format!("access-point.{}", cell.name),
                        share,
                    })
                    .collect()
            }
            At::Uplink => {
                let cables: Vec<_> = self
                    .cells
                    .iter()
                    .filter_map(|c| c.uplink.as_ref())
                    .collect();
                let share = 1.0 / cables.len() as f64;
                let part = |(number, words): &(usize, String)| Part {
                    key: format!("uplink run.{number}"),
                    path: format!("run.{number}"),
                    words: words.clone(),
                    target: format!("run.{number}"),
                    share,
                };
                cables.into_iter().map(part).collect()
            }
            At::Switch if !self.switches.is_empty() => self
                .switches
                .iter()
                .map(|name| Part {
                    key: format!("switch.{name}"),
                    path: format!("switch.{name}"),
                    words: format!("the switch {name}"),
                    target: format!("switch.{name}"),
                    share: 1.0 / self.switches.len() as f64,
                })
                .collect(),
            At::Port if !self.ports.is_empty() => self
                .ports
                .iter()
                .map(|port| Part {
                    key: format!("{} run.{}", port.path, port.run),
                    path: port.path.clone(),
                    words: format!("the port of {} at run {}", port.switch, port.run),
                    target: format!("run.{}", port.run),
                    share: 1.0 / self.ports.len() as f64,
                })
                .collect(),
            // a way without a place of this kind is one as a whole
            At::Run | At::Switch | At::Port | At::Way => one(
                format!("desk.{} to array.{}", self.desk, self.array),
                format!("the way from {} to {}", self.desk, self.array),
            ),
        }
    }

    /// Where nobody described the way: what kind of place it is, and no more.
    fn general(&self, at: At, radio: bool) -> Vec<Part> {
        let run = || {
            self.runs
                .iter()
                .find(|r| r.radio == radio)
                .or(self.runs.first())
        };
        let target = match at {
            At::Desk => format!("desk.{}", self.desk),
            At::Nas => format!("nas.{}", self.nas),
            At::Array => format!("array.{}", self.array),
            At::Run => run().map(|r| r.path.clone()).unwrap_or_default(),
            At::Cell => {
                let cell = self.cells.first();
                cell.map(|cell| format!("access-point.{}", cell.name))
                    .unwrap_or_default()
            }
            At::Uplink => {
                let cable = self.cells.iter().find_map(|cell| cell.uplink.as_ref());
                cable
                    .map(|(number, _)| format!("run.{number}"))
                    .unwrap_or_default()
            }
            At::Port => {
                let run = self.ports.first().map(|port| format!("run.{}", port.run));
                run.unwrap_or_default()
            }
            At::Switch | At::Way => String::new(),
        };
        let words = general(at).to_owned();
        let shared = matches!(at, At::Nas | At::Array);
        vec![Part {
            key: if shared {
                words.clone()
            } else {
                format!("{words} {}", self.desk)
            },
            path: words.clone(),
            words,
            target,
            share: 1.0,
        }]
    }

    /// Site path and words of the place of a row that says what limits.
    pub(crate) fn limit(&self, cause: &Cause) -> (String, String) {
        let wired = self.runs.iter().filter(|r| !r.radio);
        let slowest = wired.min_by(|a, b| a.carries.total_cmp(&b.carries));
        if let (true, "limit-link", Some(run)) = (self.named, cause.id.as_str(), slowest) {
            return (run.path.clone(), run.words.clone());
        }
        let parts = self.parts(cause.at, cause.is_of_radio());
        let mut parts = parts.into_iter();
        let first = parts.next().map(|part| (part.path, part.words));
        first.unwrap_or_else(|| (String::new(), String::new()))
    }
}

/// Of each switch the slower of the two ports that a way passes, the one towards the desk where
/// they are equal: there data of the other wait, and are lost where nothing holds them.
fn ports(site: &Site, links: &[RouteLink]) -> Vec<OnePort> {
    let rate = |end: &End| {
        let known = site.port(end).and_then(|p| p.knows.iter().copied().max());
        known.map_or(f64::INFINITY, LinkRate::megabits)
    };
    let passed = links.windows(2).filter_map(|pair| match pair {
        [before, after] => Some((before, after)),
        _ => None,
    });
    passed
        .filter_map(|(before, after)| {
            let slower = rate(&after.near) < rate(&before.far);
            let (end, link) = if slower {
                (&after.near, after)
            } else {
                (&before.far, before)
            };
            let run = site.runs.get(link.run)?;
            Some(OnePort {
                path: format!("switch.{}.port.{}", end.name, end.port),
                switch: end.name.clone(),
                run: run.number,
            })
        })
        .collect()
}

/// The access points of a way, the one at the desk first, each with its own cable where the way goes over it.
fn cells(site: &Site, links: &[RouteLink]) -> Vec<OneCell> {
    let radio = |link: &RouteLink| {
        let run = site.runs.get(link.run);
        run.is_some_and(|run| matches!(run.medium, Medium::Wireless { .. }))
    };
    let mut found: Vec<OneCell> = Vec::new();
    for link in links {
        for end in [&link.near, &link.far] {
            let point = site.switches.iter().find(|s| s.name == end.name);
            let is_cell = end.machine == Machine::Switch && point.is_some_and(|s| s.cell.is_some());
            if !is_cell {
                continue;
            }
            let at = found.iter().position(|cell| cell.name == end.name);
            let at = at.unwrap_or_else(|| {
                found.push(OneCell {
                    name: end.name.clone(),
                    uplink: None,
                });
                found.len() - 1
            });
            if let (false, Some(run)) = (radio(link), site.runs.get(link.run)) {
                found[at].uplink = Some((run.number, run_words(run.number, link)));
            }
        }
    }
    found
}

fn run_words(number: usize, link: &RouteLink) -> String {
    format!("run {number} ({} to {})", link.near.name, link.far.name)
}

/// Whether another computer on the same way is said to be faster than this desk.
fn faster_elsewhere(told: &Observations, desk: &str) -> bool {
    told.remarks.iter().any(|remark| {
        let mine = remark.desk.as_deref().is_none_or(|whose| whose == desk);
        remark.id == "other-computer-better" && mine
    })
}

/// The runs of a way. What another computer passes as well, and is faster, is hardly at fault: of
/// the runs only the one at the desk itself, whose rate the desk's own port decides too.
fn runs(site: &Site, route: &Route, judged: &Judged, elsewhere: bool) -> Vec<OneRun> {
    let mut found: Vec<OneRun> = route
        .links
        .iter()
        .filter_map(|link| {
            let run = site.runs.get(link.run)?;
            let tops = [&link.near, &link.far].map(|e| {
                site.port(e)
                    .and_then(|p| p.knows.iter().copied().max())
                    .map(LinkRate::megabits)
            });
            let port = tops.into_iter().flatten().fold(f64::INFINITY, f64::min);
            Some(OneRun {
                path: format!("run.{}", run.number),
                words: run_words(run.number, link),
                radio: matches!(run.medium, Medium::Wireless { .. }),
                carries: run.negotiated.map_or(port, |n| n.megabits().min(port)),
                doubt: if elsewhere && link.near.machine != Machine::Desk {
                    doubt(run, judged) * judged.elsewhere
                } else {
                    doubt(run, judged)
                },
            })
        })
        .collect();
    found.sort_by(|a, b| b.doubt.total_cmp(&a.doubt));
    found
}

/// How likely a run is to be at fault beside the others of its way.
fn doubt(run: &Run, judged: &Judged) -> f64 {
    let meters = |length: Length| length.get::<units::length::meter>();
    match &run.medium {
        Medium::Wireless { .. } => 1.0,
        Medium::Clear { .. } => judged.clear * meters(judged.ends),
        Medium::Copper {
            category, length, ..
        } => {
            let old = match category.value.likeliest().as_str() {
                "telephone" | "two-pair" | "cat5" => judged.cat5,
                "cat5e" => judged.cat5e,
                _ => 1.0,
            };
            old * meters(length.median() + judged.ends)
        }
    }
}
