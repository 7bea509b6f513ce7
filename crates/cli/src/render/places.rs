//! What a site path is called in a sentence.

use narrows_core::quantity::LinkRate;
use narrows_core::site::{End, Machine, Medium, Run, Site, SitePath};

/// Names of the places of a site.
#[derive(Clone, Copy)]
pub(crate) struct Places<'a> {
    site: &'a Site,
}

impl<'a> Places<'a> {
    pub(crate) fn of(site: &'a Site) -> Self {
        Self { site }
    }

    /// A place by its path, as said of one desk where one is named; of several streams at once where none is.
    pub(crate) fn name(self, id: &str, desk: Option<&str>) -> String {
        let own = |name: &str, what: &str| {
            if desk == Some(name) {
                format!("its {what}")
            } else {
                format!("{what} of {name}")
            }
        };
        match SitePath::of(id) {
            SitePath::Array(name, None) => format!("drives of {name}"),
            SitePath::Run(_, None) => match self.site.run_at(id) {
                Some(run) => self.run_name(run, desk),
                None => id.to_owned(),
            },
            SitePath::Nas(name, Some("cpu")) if desk.is_none() => {
                format!("all cores of {}", self.nas(name))
            }
            SitePath::Nas(name, Some("cpu")) => format!("processor of {}", self.nas(name)),
            SitePath::Nas(name, Some("array-work")) => {
                format!("parity work of {}", self.nas(name))
            }
            SitePath::Nas(_, Some("requests")) | SitePath::Array(_, Some("requests")) => {
                "requests under way".to_owned()
            }
            SitePath::Nas(_, Some("window")) => "window of one stream".to_owned(),
            SitePath::Desk(name, Some("disk")) => own(name, "own disk"),
            SitePath::Desk(name, Some("cpu")) => own(name, "processor"),
            SitePath::Desk(name, Some("client")) => own(name, "copy program"),
            SitePath::Desk(name, Some(part)) if is_port(part) => own(name, "slot or adapter"),
            SitePath::Nas(name, Some(part)) if is_port(part) => {
                format!("slot of {}", self.nas(name))
            }
            SitePath::AccessPoint(..) => format!("the air ({id})"),
            SitePath::Other(other) if other.starts_with("air") => format!("the air ({id})"),
            _ => id.to_owned(),
        }
    }

    /// Several places that are narrow together, each once.
    pub(crate) fn names(self, ids: &[String], desk: Option<&str>) -> String {
        if let Some(all) = self.equal_cables(ids) {
            return all;
        }
        let mut found: Vec<String> = Vec::new();
        for name in ids.iter().map(|id| self.name(id, desk)) {
            if !found.contains(&name) {
                found.push(name);
            }
        }
        found.join(" with ")
    }

    /// Several cables of one rate, whose ports know no less.
    fn equal_cables(self, ids: &[String]) -> Option<String> {
        let runs: Option<Vec<&Run>> = ids
            .iter()
            .map(|id| match SitePath::of(id) {
                SitePath::Run(_, None) => self.site.run_at(id),
                _ => None,
            })
            .collect();
        let runs = runs.filter(|runs| runs.len() > 1)?;
        let first = self.top(&runs.first()?.from)?;
        let same = |end: &End| self.top(end) == Some(first);
        runs.iter()
            .all(|run| same(&run.from) && same(&run.to))
            .then(|| format!("{first} cables and ports"))
    }

    /// What most people call the machine that holds the array: by its name only where there are several.
    pub(crate) fn nas(self, name: &str) -> String {
        if self.site.nas.len() == 1 {
            "the NAS".to_owned()
        } else {
            name.to_owned()
        }
    }

    fn top(self, end: &End) -> Option<LinkRate> {
        self.site.port(end)?.knows.iter().copied().max()
    }

    fn machine(self, end: &End) -> String {
        match end.machine {
            Machine::Nas => self.nas(&end.name),
            _ => end.name.clone(),
        }
    }

    /// A run by what makes it as fast as it is: a port that knows less than the other, else the cable.
    fn run_name(self, run: &Run, desk: Option<&str>) -> String {
        let ends = [&run.from, &run.to];
        let theirs = ends.iter().find(|end| end.machine == Machine::Desk);
        if matches!(run.medium, Medium::Wireless { .. }) {
            return match theirs {
                Some(end) if desk == Some(end.name.as_str()) => "its radio link".to_owned(),
                Some(end) => format!("radio link of {}", end.name),
                None => "radio link".to_owned(),
            };
        }
        let [a, b] = ends.map(|end| self.top(end));
        let slow = match (a, b) {
            (Some(a), Some(b)) if a < b => Some((&run.from, a)),
            (Some(a), Some(b)) if b < a => Some((&run.to, b)),
            _ => None,
        };
        if let Some((end, rate)) = slow {
            let many = if end.machine == Machine::Switch {
                "ports"
            } else {
                "port"
            };
            return match end.machine {
                Machine::Desk if desk == Some(end.name.as_str()) => format!("its {rate} port"),
                _ => format!("{rate} {many} of {}", self.machine(end)),
            };
        }
        let rate = match (a, run.negotiated) {
            (Some(top), negotiated) => format!("{} ", negotiated.unwrap_or(top)),
            _ => String::new(),
        };
        match theirs {
            Some(end) if desk == Some(end.name.as_str()) => format!("its {rate}cable"),
            Some(end) => format!("{rate}cable of {}", end.name),
            None => format!(
                "{rate}cable from {} to {}",
                self.machine(&run.from),
                self.machine(&run.to)
            ),
        }
    }
}

/// Whether a part is a whole port.
fn is_port(part: &str) -> bool {
    part.strip_prefix("port.")
        .is_some_and(|name| !name.contains('.'))
}
