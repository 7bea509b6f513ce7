use super::Told;
use super::cause::At;
use crate::route::{Route, routes};
use crate::site::{Medium, Site};

/// The places of the way that the readings are of.
pub(crate) struct Places {
    desk: String,
    nas: String,
    array: String,
    switch: Option<String>,
    /// The runs, the likeliest to be at fault first: path and words.
    wired: Vec<(String, String)>,
    radio: Vec<(String, String)>,
    /// The run that carries least.
    slowest: Option<(String, String)>,
    named: bool,
}

impl Places {
    pub(crate) fn of(site: &Site, told: &Told) -> Self {
        let desk = told
            .whose()
            .map(str::to_owned)
            .or_else(|| site.desks.first().map(|d| d.name.clone()))
            .unwrap_or_default();
        let route = routes(site, &desk).into_iter().next();
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
        let runs = route.as_ref().map(|r| runs(site, r)).unwrap_or_default();
        let named = |radio: bool| {
            runs.iter()
                .filter(|r| r.radio == radio)
                .map(|r| (r.path.clone(), r.words.clone()))
                .collect()
        };
        Self {
            array: array.map(|a| a.name.clone()).unwrap_or_default(),
            switch: route.as_ref().and_then(|r| {
                let mut ends = r.links.iter().map(|l| &l.far);
                ends.find(|e| e.machine == crate::site::Machine::Switch)
                    .map(|e| e.name.clone())
            }),
            wired: named(false),
            radio: named(true),
            slowest: runs
                .iter()
                .filter(|r| !r.radio)
                .min_by(|a, b| a.carries.total_cmp(&b.carries))
                .map(|r| (r.path.clone(), r.words.clone())),
            desk,
            nas,
            named: told.path_told,
        }
    }

    /// Site path and words of the place of a cause.
    pub(crate) fn place(&self, at: At, id: &str) -> (String, String) {
        let general = super::suspects::general(at).to_owned();
        if !self.named {
            return (general.clone(), general);
        }
        let both = |path: String, words: String| (path, words);
        match at {
            At::Run => {
                let list = if id.contains("radio") || id.contains("air") {
                    &self.radio
                } else {
                    &self.wired
                };
                let first = if id == "limit-link" {
                    self.slowest.as_ref()
                } else {
                    None
                };
                let first = first.or_else(|| list.first());
                first
                    .cloned()
                    .unwrap_or_else(|| both(general.clone(), general))
            }
            At::Switch => match &self.switch {
                Some(name) => both(format!("switch.{name}"), format!("the switch {name}")),
                None => both(general.clone(), general),
            },
            At::Desk => both(format!("desk.{}", self.desk), self.desk.clone()),
            At::Nas => both(format!("nas.{}", self.nas), self.nas.clone()),
            At::Array => both(format!("array.{}", self.array), self.array.clone()),
            At::Way => both(
                format!("desk.{} to array.{}", self.desk, self.array),
                format!("the way from {} to {}", self.desk, self.array),
            ),
        }
    }
}

struct OneRun {
    path: String,
    words: String,
    radio: bool,
    carries: f64,
    /// Longer and older ones are likelier to be at fault.
    doubt: f64,
}

fn runs(site: &Site, route: &Route) -> Vec<OneRun> {
    let mut found: Vec<OneRun> = route
        .links
        .iter()
        .filter_map(|link| {
            let run = site.runs.get(link.run)?;
            let tops = [&link.near, &link.far].map(|e| {
                site.port(e)
                    .and_then(|p| p.knows.iter().copied().max())
                    .map(crate::quantity::LinkRate::megabits)
            });
            let port = tops.into_iter().flatten().fold(f64::INFINITY, f64::min);
            let carries = run.negotiated.map_or(port, |n| n.megabits().min(port));
            let (radio, doubt) = match &run.medium {
                Medium::Wireless { .. } => (true, 1.0),
                Medium::Clear { .. } => (false, 0.2),
                Medium::Copper {
                    category, length, ..
                } => {
                    let old = match category.value.likeliest().as_str() {
                        "cat5" => 3.0,
                        "cat5e" => 1.5,
                        _ => 1.0,
                    };
                    (
                        false,
                        old * length
                            .median()
                            .get::<crate::quantity::units::length::meter>(),
                    )
                }
            };
            Some(OneRun {
                path: format!("run.{}", run.number),
                words: format!(
                    "run {} ({} to {})",
                    run.number, link.near.name, link.far.name
                ),
                radio,
                carries,
                doubt,
            })
        })
        .collect();
    found.sort_by(|a, b| b.doubt.total_cmp(&a.doubt));
    found
}
