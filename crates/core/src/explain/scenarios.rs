//! What every reading would be where nothing is at fault, draw by draw: the paths that budgets are
//! made of, at a site or at the sites that it may be.

use super::Observations;
use super::expected::{Expectations, Expected};
use super::observed::Observed;
use super::predicted::Predicted;
use super::reading::What;
use crate::air::Width;
use crate::budget::{BudgetFault, Common, Path, PathAsked, path};
use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::change::state::set;
use crate::quantity::{Information, Measure, Time, megabytes};
use crate::route::Route;
use crate::site::{Duplex, Site};
use crate::spread::{Draws, Spread};
use crate::work::{Activity, Direction, Files, Work};
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

/// What one reading is of, as far as its prediction goes.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Ask {
    pub what: What,
    pub direction: Direction,
    pub streams: u32,
    /// Whose it is; empty where the site has no desk.
    pub desk: String,
    /// Bytes of a piece, where pieces at random places are read or written.
    pub random: Option<u64>,
}

/// All draws: of one site, or of several that it may be.
pub(crate) struct Scenarios<'a> {
    catalogue: &'a Catalogue,
    /// The sites that it may be, with desks that reach their files as most do, where nobody said how:
    /// what slows down without that is a cause to look for.
    sites: Vec<Site>,
    common: Vec<Common>,
    /// One set of draws a site.
    draws: Vec<RefCell<Draws>>,
    /// The weight of each draw; they add up to one.
    pub weights: Vec<f64>,
    /// Round trip of each draw in seconds.
    pub round_trip: Vec<f64>,
    /// Round trip and the server's time of one request.
    pub wait: Vec<f64>,
    /// What a person is told to expect.
    expectations: Expectations<'a>,
    known: HashMap<Ask, Option<Predicted>>,
    /// What causes set in a site.
    edits: Vec<Edit>,
    /// The sites with edits made in them.
    edited_sites: RefCell<HashMap<Vec<EditId>, Rc<Vec<Site>>>>,
    edited_rates: RefCell<Edited<[f64]>>,
    edited: RefCell<Edited<Predicted>>,
}

/// Which of the edits that were asked for.
pub(crate) type EditId = usize;

/// What was worked out of readings under edits; nothing where there is no path then.
type Edited<T> = HashMap<(Ask, Vec<EditId>), Option<Rc<T>>>;

impl<'a> Scenarios<'a> {
    pub(crate) fn new(
        told: &'a Observations,
        catalogue: &'a Catalogue,
        count: usize,
    ) -> Result<Self, BudgetFault> {
        let mut weights = Vec::new();
        let mut draws = Vec::new();
        let mut common = Vec::new();
        let mut round_trip = Vec::new();
        let mut wait = Vec::new();
        let sum: f64 = told.sites.iter().map(|(_, w)| w).sum();
        let sites = told.sites.len().max(1);
        let each = (count / sites).max(count / 6);
        let service = catalogue.spread::<Time>("service-time")?;
        for (site, weight) in &told.sites {
            let mut own = Draws::new(each);
            weights.resize(weights.len() + each, weight / sum / each as f64);
            let trip = &site.network.round_trip;
            let trips = column(&mut own, &trip.id, &trip.value, each);
            let served = column(&mut own, "service-time", &service, each);
            wait.extend(trips.iter().zip(&served).map(|(a, b)| a + b));
            round_trip.extend(trips);
            draws.push(RefCell::new(own));
            common.push(Common::new(catalogue)?);
        }
        let sites = told.sites.iter();
        Ok(Self {
            catalogue,
            sites: sites.map(|(site, _)| site.with_usual_clients()).collect(),
            common,
            draws,
            weights,
            round_trip,
            wait,
            expectations: Expectations::new(&told.sites, catalogue),
            known: HashMap::new(),
            edits: Vec::new(),
            edited_sites: RefCell::default(),
            edited_rates: RefCell::default(),
            edited: RefCell::default(),
        })
    }

    /// Takes an edit in; nothing where it changes none of the sites.
    pub(crate) fn edit(&mut self, edit: Edit) -> Option<EditId> {
        if let Some(known) = self.edits.iter().position(|known| *known == edit) {
            return Some(known);
        }
        let changes = |site: &Site| !denies(site, &edit) && set(&mut site.clone(), &edit);
        if !self.sites.iter().any(changes) {
            return None;
        }
        self.edits.push(edit);
        Some(self.edits.len() - 1)
    }

    /// An edit as it would be written.
    #[cfg(test)]
    pub(crate) fn edit_text(&self, edit: EditId) -> &str {
        self.edits[edit].text()
    }

    /// The sites with some edits made in them, those that an edit says nothing new of as they are.
    fn edited_sites(&self, edits: &[EditId]) -> Rc<Vec<Site>> {
        if let Some(known) = self.edited_sites.borrow().get(edits) {
            return Rc::clone(known);
        }
        let edited = |site: &Site| {
            let mut site = site.clone();
            for edit in edits.iter().filter_map(|&edit| self.edits.get(edit)) {
                set(&mut site, edit);
            }
            site
        };
        let made: Rc<Vec<Site>> = Rc::new(self.sites.iter().map(edited).collect());
        let mut known = self.edited_sites.borrow_mut();
        known.insert(edits.to_vec(), Rc::clone(&made));
        made
    }

    /// A reading at the sites with some edits made in them: one rate a draw, what a budget of the edited
    /// site says. Nothing where there is no such path then.
    pub(crate) fn edited_rates(&self, ask: &Ask, edits: &[EditId]) -> Option<Rc<[f64]>> {
        let key = (ask.clone(), edits.to_vec());
        if let Some(known) = self.edited_rates.borrow().get(&key) {
            return known.clone();
        }
        let sites = self.edited_sites(edits);
        let paths = self.paths(ask, &sites).ok().flatten();
        let rates = paths.map(|paths| {
            let all = paths.iter();
            all.flat_map(|path| (0..path.count()).map(|d| path.rate(d)))
                .collect()
        });
        let mut known = self.edited_rates.borrow_mut();
        known.insert(key, rates.clone());
        rates
    }

    /// As [`Scenarios::edited_rates`], with the parts that a cause may change besides.
    pub(crate) fn edited(&self, ask: &Ask, edits: &[EditId]) -> Option<Rc<Predicted>> {
        let key = (ask.clone(), edits.to_vec());
        if let Some(known) = self.edited.borrow().get(&key) {
            return known.clone();
        }
        let sites = self.edited_sites(edits);
        let paths = self.paths(ask, &sites).ok().flatten();
        let made = paths.map(|paths| Rc::new(Predicted::of(&sites, paths, ask)));
        self.edited.borrow_mut().insert(key, made.clone());
        made
    }

    /// Weighs each draw by how well it gives what was said of the same place at another time; the weights
    /// still add up to one.
    pub(crate) fn weigh_by(&mut self, densities: &[f64]) {
        let sum: f64 = self.weights.iter().zip(densities).map(|(w, d)| w * d).sum();
        if sum > 0.0 {
            for (weight, density) in self.weights.iter_mut().zip(densities) {
                *weight *= density / sum;
            }
        }
    }

    pub(crate) fn count(&self) -> usize {
        self.weights.len()
    }

    /// Predicts a reading; `None` where the sites have no path for it.
    pub(crate) fn predict(&mut self, ask: &Ask) -> Result<Option<&Predicted>, BudgetFault> {
        if !self.known.contains_key(ask) {
            let made = self.make(ask)?;
            self.known.insert(ask.clone(), made);
        }
        Ok(self.known.get(ask).and_then(Option::as_ref))
    }

    /// The prediction of a reading that was asked for before.
    pub(crate) fn made(&self, ask: &Ask) -> Option<&Predicted> {
        self.known.get(ask).and_then(Option::as_ref)
    }

    /// What is to be expected of a reading where nothing is at fault: what a budget says.
    pub(crate) fn expected(&self, ask: &Ask) -> Option<Rc<Expected>> {
        self.expectations.of(ask)
    }

    /// The way that each desk's readings take, of several that there may be; of one desk that of its
    /// first reading.
    pub(crate) fn taken(&self, observed: &[Observed]) -> Vec<Route> {
        let mut taken: Vec<Route> = Vec::new();
        for (ask, _) in observed.iter().flat_map(|one| &one.asks) {
            let route = self
                .made(ask)
                .and_then(|made| made.paths.first()?.route.as_ref());
            if let Some(route) = route
                && !taken.iter().any(|known| known.desk == route.desk)
            {
                taken.push(route.clone());
            }
        }
        taken
    }

    fn make(&mut self, ask: &Ask) -> Result<Option<Predicted>, BudgetFault> {
        let paths = self.paths(ask, &self.sites)?;
        Ok(paths.map(|paths| Predicted::of(&self.sites, paths, ask)))
    }

    /// The paths of a reading at sites, which are those that were told of or the same with edits made in
    /// them; nothing where a site has none.
    fn paths(&self, ask: &Ask, sites: &[Site]) -> Result<Option<Vec<Path>>, BudgetFault> {
        // what is made of a path afterwards cannot be taken over
        let made_of = ask.what == What::LocalDisk || ask.what == What::ManyFiles;
        let healthy = self.known.get(ask).and_then(Option::as_ref);
        let healthy = healthy.filter(|_| !made_of);
        let mut found = Vec::with_capacity(sites.len());
        for (at, site) in sites.iter().enumerate() {
            let (Some(draws), Some(common)) = (self.draws.get(at), self.common.get(at)) else {
                return Ok(None);
            };
            let before = healthy.and_then(|healthy| {
                let path = healthy.paths.get(at)?;
                Some((self.sites.get(at)?, path))
            });
            let known = (self.catalogue, common);
            let Some(path) = path_of(ask, site, known, before, &mut draws.borrow_mut())? else {
                return Ok(None);
            };
            found.push(path);
        }
        Ok(Some(found))
    }

    /// Draws of a law under a name of its own, over all sites.
    pub(crate) fn drawn(&mut self, id: &str, law: &crate::spread::Law) -> Vec<f64> {
        let mut values = Vec::with_capacity(self.count());
        for draws in &self.draws {
            values.extend_from_slice(&draws.borrow_mut().values(id, law));
        }
        values
    }
}

/// The path of a reading at a site; nothing where it has none.
pub(super) fn path_of(
    ask: &Ask,
    site: &Site,
    (catalogue, common): (&Catalogue, &Common),
    before: Option<(&Site, &Path)>,
    draws: &mut Draws,
) -> Result<Option<Path>, BudgetFault> {
    let activity = match ask.what {
        // the desk's own disk has no part in it
        What::Copy if ask.random.is_some() => Activity::Play,
        What::Copy | What::ManyFiles | What::LocalDisk => Activity::Copy,
        What::Playback => Activity::Play,
        What::RawTcp => Activity::Wire,
        What::LocalArray => Activity::AtTheArray,
        What::LinkRate | What::Ping | What::CoreBusy | What::Errors => return Ok(None),
    };
    let unit = megabytes(1.0);
    let files = (ask.what == What::ManyFiles).then_some(Files {
        count: 1000.0,
        size: unit,
    });
    let asked = PathAsked {
        desk: &ask.desk,
        work: Work {
            activity,
            files,
            random: ask.random.map(|bytes| Information::from_base(bytes as f64)),
            size: None,
        },
        direction: match (ask.what, ask.direction) {
            // what is read from the desk's disk goes to the array, and what is written comes from there
            (What::LocalDisk, Direction::Read) => Direction::Write,
            (What::LocalDisk, Direction::Write) => Direction::Read,
            (_, direction) => direction,
        },
        streams: ask.streams,
    };
    let Some(mut path) = path(site, &asked, (catalogue, common), before, draws)? else {
        return Ok(None);
    };
    if ask.what == What::LocalDisk {
        path.keep_the_disk();
    }
    if files.is_some() {
        let size = catalogue.spread::<Information>("explain.file-size")?;
        let sizes = column(draws, "explain.file-size", &size, path.count());
        let times: Vec<f64> = sizes.iter().map(|size| size / unit.base()).collect();
        path.with_files(&times);
    }
    Ok(Some(path))
}

fn column<Q: Measure>(draws: &mut Draws, id: &str, spread: &Spread<Q>, count: usize) -> Vec<f64> {
    if spread.is_exact() {
        return vec![spread.median().base(); count];
    }
    draws.values(id, spread.law()).to_vec()
}

/// Whether a site states that what an edit would set is not so: whoever wrote "full", or how busy a channel is,
/// has looked; and a channel of 20 MHz is too wide for nobody.
fn denies(site: &Site, edit: &Edit) -> bool {
    let steps: Vec<&str> = edit.steps().iter().map(|s| s.name.as_str()).collect();
    match steps.as_slice() {
        ["run", number, "duplex"] => {
            let number: Option<usize> = number.parse().ok();
            let run = site.runs.iter().find(|run| Some(run.number) == number);
            run.is_some_and(|run| run.duplex == Some(Duplex::Full))
        }
        ["access-point", name, field] => {
            let point = site.switches.iter().find(|s| s.name == *name);
            let cell = point.and_then(|point| point.cell.as_ref());
            cell.is_some_and(|cell| match *field {
                "busy" => cell.busy.is_some(),
                "crowd" => cell.crowd.is_some() || cell.speaks.width == Some(Width::Twenty),
                _ => false,
            })
        }
        _ => false,
    }
}
