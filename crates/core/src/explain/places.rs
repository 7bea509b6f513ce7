//! Where a cause may be: the places that the ways of the desks pass, each with its desks.

use super::Observations;
use super::cause::{At, Cause};
use super::desk_path::{DeskPath, Part};
use super::judged::Judged;
use super::observed::Observed;
use crate::quantity::LinkRate;
use crate::route::{Route, routes};
use crate::site::Site;

/// The ways that were told of, in the order in which they were.
pub(crate) struct Places {
    ways: Vec<DeskPath>,
    /// Which share of what concerns a whole way is the same for all.
    alike: f64,
}

/// A place where a cause may be.
#[derive(Clone, Debug)]
pub(crate) struct Spot {
    /// Site path, or what it is where no site was given.
    pub path: String,
    /// In words.
    pub words: String,
    /// Site path of the part that an edit is made in.
    pub target: String,
    /// The desk's own port.
    pub port: String,
    /// The desks whose way passes it, each with the share of what is on that way that falls here.
    pub desks: Vec<(String, f64)>,
}

impl Places {
    /// The ways of all desks of which anything was told, at a site.
    pub(crate) fn of(
        site: &Site,
        told: &Observations,
        observed: &[Observed],
        taken: &[Route],
        judged: &Judged,
    ) -> Self {
        let mut desks: Vec<&str> = Vec::new();
        let read = told.readings.iter().map(|r| told.desk_of(r));
        let noticed = told.remarks.iter().filter_map(|r| r.desk.as_deref());
        // a desk without a way passes no place; the array itself may be measured all the same
        let passes = |desk: &&str| {
            !routes(site, desk).is_empty() || observed.iter().any(|h| h.desk == **desk)
        };
        for desk in read.chain(noticed).filter(passes) {
            if !desks.contains(&desk) {
                desks.push(desk);
            }
        }
        if desks.is_empty() {
            desks.push(told.usual_desk());
        }
        Self {
            ways: desks
                .into_iter()
                .map(|desk| {
                    let route = taken.iter().find(|route| route.desk == desk).cloned();
                    let route = route.or_else(|| routes(site, desk).into_iter().next());
                    DeskPath::of(site, (desk, route), told, judged)
                })
                .collect(),
            alike: judged.alike,
        }
    }

    fn way(&self, desk: &str) -> Option<&DeskPath> {
        self.ways.iter().find(|way| way.desk == desk)
    }

    /// Of how many desks anything was told.
    pub(crate) fn count(&self) -> usize {
        self.ways.len()
    }

    /// Whether more than one desk was told of, so that it has to be said which is meant.
    pub(crate) fn several(&self) -> bool {
        self.count() > 1
    }

    /// What is so on the way of a desk.
    pub(crate) fn tags(&self, desk: &str) -> &[&'static str] {
        self.way(desk)
            .map(|w| w.tags.as_slice())
            .unwrap_or_default()
    }

    /// The fastest that the way of a desk can link at.
    pub(crate) fn links_at(&self, desk: &str) -> Option<LinkRate> {
        self.way(desk)?.links_at
    }

    /// Where a cause may be.
    ///
    /// Seen from one desk the shares of all spots add up to one. What lies on several ways is one
    /// spot with all their desks. What concerns a whole way, such as how the copies are made or how
    /// numbers are read off, is as often a desk's own as it is the same for all.
    pub(crate) fn spots(&self, cause: &Cause) -> Vec<Spot> {
        let mut found: Vec<(String, Spot)> = Vec::new();
        let all_alike = cause.at == At::Way && self.several();
        let own = if all_alike { 1.0 - self.alike } else { 1.0 };
        for way in &self.ways {
            for part in way.parts(cause.at, cause.is_of_radio()) {
                let Part {
                    key,
                    path,
                    words,
                    target,
                    share,
                } = part;
                let here = (way.desk.clone(), share * own);
                match found.iter_mut().find(|(known, _)| *known == key) {
                    Some((_, spot)) => spot.desks.push(here),
                    None => found.push((
                        key,
                        Spot {
                            path,
                            words,
                            target,
                            port: way.port.clone(),
                            desks: vec![here],
                        },
                    )),
                }
            }
        }
        let mut spots: Vec<Spot> = found.into_iter().map(|(_, spot)| spot).collect();
        if all_alike {
            spots.push(self.all_ways());
        }
        spots
    }

    /// What all ways have in common.
    fn all_ways(&self) -> Spot {
        let desks = self
            .ways
            .iter()
            .map(|w| (w.desk.clone(), self.alike))
            .collect();
        let (path, words) = match self.ways.split_first() {
            Some((first, rest)) if rest.iter().all(|w| w.array == first.array) => (
                format!("desk.* to array.{}", first.array),
                format!("the ways to {}", first.array),
            ),
            _ => ("desk.* to array.*".to_owned(), "all ways".to_owned()),
        };
        Spot {
            path,
            words,
            target: String::new(),
            port: String::new(),
            desks,
        }
    }

    /// Site path and words of what limits the way of a desk.
    pub(crate) fn limit(&self, desk: &str, cause: &Cause) -> (String, String) {
        let named = self.way(desk).map(|way| way.limit(cause));
        named.unwrap_or_else(|| (String::new(), String::new()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::explain::causes;
    use crate::explain::simulations::reasoning::{lane, link_at};
    use crate::site::read;

    /// Sums of shares.
    const SHARES: f64 = 1e-12;

    fn judged() -> Judged {
        Judged::new(&Catalogue::embedded().unwrap()).unwrap()
    }

    fn told(desks: &[&str]) -> (Site, Observations) {
        let catalogue = Catalogue::embedded().unwrap();
        let site = read(lane(), &[], &catalogue).unwrap();
        let told = Observations {
            sites: vec![(site.clone(), 1.0)],
            path_told: true,
            readings: desks.iter().map(|desk| link_at(desk, 100)).collect(),
            ..Observations::default()
        };
        (site, told)
    }

    #[test]
    fn property_shares_of_a_way_add_up_to_one() {
        let all = causes().unwrap();
        for desks in [
            &["sound"][..],
            &["sound", "colour"],
            &["cut-1", "sound", "ingest"],
        ] {
            let (site, told) = told(desks);
            let places = Places::of(&site, &told, &[], &[], &judged());
            for cause in all.iter().filter(|c| !c.is_of_radio()) {
                for desk in desks {
                    let spots = places.spots(cause);
                    let shares = spots.iter().flat_map(|s| &s.desks);
                    let sum: f64 = shares.filter(|(d, _)| d == desk).map(|(_, s)| s).sum();
                    assert!((sum - 1.0).abs() < SHARES, "{}, {desk}: {sum}", cause.id);
                }
            }
        }
    }

    #[test]
    fn a_spot_has_the_desks_whose_way_passes_it() {
        let (site, told) = told(&["cut-1", "colour", "sound", "ingest"]);
        let places = Places::of(&site, &told, &[], &[], &judged());
        let all = causes().unwrap();
        let desks = |id: &str, path: &str| -> Vec<String> {
            let cause = all.iter().find(|c| c.id == id).unwrap();
            let spots = places.spots(cause);
            let spot = spots.iter().find(|s| s.path == path);
            let spot = spot.unwrap_or_else(|| panic!("{id}: {path}: {spots:?}"));
            spot.desks.iter().map(|(d, _)| d.clone()).collect()
        };
        let everybody = ["cut-1", "colour", "sound", "ingest"];
        assert_eq!(desks("lossy-cable", "run.1"), everybody);
        assert_eq!(desks("lossy-cable", "run.4"), ["colour"]);
        assert_eq!(desks("lossy-cable", "run.5"), ["sound", "ingest"]);
        assert_eq!(desks("slow-device-pauses", "switch.attic"), everybody);
        assert_eq!(
            desks("slow-device-pauses", "switch.stairs"),
            ["sound", "ingest"]
        );
        assert_eq!(desks("old-client", "desk.sound"), ["sound"]);
        assert_eq!(desks("signing", "nas.store"), everybody);
        assert_eq!(desks("array-busy", "array.vault"), everybody);
        assert_eq!(desks("relay", "desk.colour to array.vault"), ["colour"]);
        assert_eq!(desks("relay", "desk.* to array.vault"), everybody);
    }
}
