//! Links put together with their ends.

use crate::air::{Link, Spoken};
use crate::quantity::Ratio;
use crate::site::model::{Machine, Medium, Radio, Run, Site, Value};

/// What the ends of a link say of it.
#[derive(Default)]
struct Ends {
    speaks: Spoken,
    busy: Option<Value<Ratio>>,
    crowd: Option<Value<Ratio>>,
    rooms: Vec<String>,
    /// The access point first; of two, the one further from the desk stays the sender.
    paths: Vec<(String, bool)>,
}

impl Ends {
    fn of(site: &Site, run: &Run, link: &Link) -> Self {
        let mut ends = Self::default();
        let (mut desks, mut cells) = (Vec::new(), Vec::new());
        for end in [&run.from, &run.to] {
            let path = format!("{}.{}", end.machine.word(), end.name);
            if let Some(desk) = site.desks.iter().find(|d| d.name == end.name)
                && end.machine == Machine::Desk
            {
                desks.push(desk.radio.unwrap_or_default());
                ends.rooms.extend(desk.room.clone());
                ends.paths.push((path, false));
            } else if let Some(cell) = site
                .switches
                .iter()
                .find(|s| s.name == end.name && end.machine == Machine::Switch)
                .and_then(|s| s.cell.as_ref())
            {
                cells.push(cell.speaks);
                ends.busy = ends.busy.take().or_else(|| cell.busy.clone());
                ends.crowd = ends.crowd.take().or_else(|| cell.crowd.clone());
                ends.rooms.extend(cell.room.clone());
                ends.paths
                    .push((format!("access-point.{}", end.name), true));
            } else {
                ends.paths.push((path, false));
            }
        }
        // a link that was seen in another band than its box is set to has nothing else of that setting
        let band = link
            .band
            .or_else(|| desks.iter().find_map(|speaks| speaks.band));
        let all = desks.into_iter().chain(cells);
        ends.speaks = all.fold(Spoken::default(), |so_far, speaks| {
            so_far.with(band.map_or(speaks, |band| speaks.seen_in(band)))
        });
        ends.paths.sort_by_key(|(_, point)| !point);
        ends
    }
}

/// Gives every radio link what its ends speak and, where it does not say itself, what the rooms
/// put between them.
pub(in crate::site) fn tie(site: &mut Site) {
    for at in 0..site.runs.len() {
        let Some(ends) = ends_of(site, at) else {
            continue;
        };
        let between = match &ends.rooms[..] {
            [a, b] => crate::plan::between(&site.house, a, b),
            _ => None,
        };
        let Some(link) = link_of(site, at) else {
            continue;
        };
        for (place, (path, _)) in link.ends.iter_mut().zip(&ends.paths) {
            place.clone_from(path);
        }
        if let Some(between) = between
            && link.between.obstacles.is_none()
        {
            let told = link.between.distance.take();
            link.between = between;
            if told.is_some() {
                link.between.distance = told;
            }
        }
    }
    retie(site);
}

/// The same of what both ends speak and of the air around them, once something there has changed.
pub(crate) fn retie(site: &mut Site) {
    for at in 0..site.runs.len() {
        if let Some(ends) = ends_of(site, at)
            && let Some(link) = link_of(site, at)
        {
            link.speaks = ends.speaks;
            link.busy = ends.busy;
            link.crowd = ends.crowd;
        }
    }
}

fn link_of(site: &mut Site, at: usize) -> Option<&mut Link> {
    match &mut site.runs.get_mut(at)?.medium {
        Medium::Wireless {
            carries: Radio::Link(link),
        } => Some(link),
        _ => None,
    }
}

fn ends_of(site: &Site, at: usize) -> Option<Ends> {
    let run = site.runs.get(at)?;
    match &run.medium {
        Medium::Wireless {
            carries: Radio::Link(link),
        } => Some(Ends::of(site, run, link)),
        _ => None,
    }
}
