//! What desks that handle single pictures see: places a second, and pictures of sequences.

use super::Network;
use crate::budget::HopKind;
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::hop::frames::{decoded_for_a_place, pictures_a_second, place_size, places_a_second};
use crate::quantity::{DataRate, Frequency, Information, Measure, Ratio, Time};
use crate::site::{Service, Site};
use crate::work::codecs::Steadiness;
use crate::work::{Does, Material, Task};
use crate::working::middle;

/// Pictures that a reader fetches at once where it fetches several.
pub const SEVERAL: u32 = 4;

/// What a desk that handles single pictures sees, in the middle and with nobody else there.
#[derive(Clone, Debug, PartialEq)]
pub struct Handling {
    /// The task: `task.2`.
    pub task: String,
    /// Its desk.
    pub desk: String,
    /// What it handles.
    pub material: String,
    /// What it sees.
    pub sees: Sees,
}

/// What is seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sees {
    /// Dragging through material that nobody has read before.
    Scrubbing {
        /// Places a second.
        places: Frequency,
        /// Below this it feels held back.
        comfort: Frequency,
        /// Bytes that one place takes.
        place: Information,
        /// Pictures that are decoded for one place, where it is more than one.
        decoded: Option<Ratio>,
    },
    /// Playing pictures that are a file each.
    Sequence {
        /// Pictures a second if one is fetched after the other.
        one_by_one: Frequency,
        /// Pictures a second with [`SEVERAL`] at once.
        several: Frequency,
        /// Pictures a second that are asked for.
        asked: Frequency,
    },
}

impl Network {
    /// What every task that scrubs or plays a sequence sees; those told by demand alone are left
    /// out, since the size of their pictures is not known.
    ///
    /// # Errors
    /// Where the catalogue lacks a row.
    ///
    /// Checked by `verify_pictures_are_handled_as_the_formulas_say`.
    pub fn handling(
        &self,
        site: &Site,
        catalogue: &Catalogue,
    ) -> Result<Vec<Handling>, CatalogueFault> {
        let mut found = Vec::new();
        for (flow, task) in site.tasks.iter().enumerate() {
            let (Some(material), Some(text)) = (&task.material, task.material_text()) else {
                continue;
            };
            let sees = match task.does {
                Does::Scrub => self.scrubbing(site, catalogue, (flow, task, material))?,
                Does::Sequence => self.sequence(site, catalogue, (flow, task, material))?,
                _ => continue,
            };
            found.push(Handling {
                task: task.id(),
                desk: task.desk.clone(),
                material: text,
                sees,
            });
        }
        Ok(found)
    }

    fn scrubbing(
        &self,
        site: &Site,
        catalogue: &Catalogue,
        (flow, task, material): (usize, &Task, &Material),
    ) -> Result<Sees, CatalogueFault> {
        let rate = material.rate.value.median() * f64::from(task.layers);
        let frames = material.frames.frames();
        let group = match material.steadiness {
            Steadiness::LongGop => catalogue.spread::<f64>("pictures.group")?.median(),
            _ => 1.0,
        };
        let place = place_size(group, rate, frames);
        let positioning = match self.heads_of(flow) {
            Some(time) => time,
            None => catalogue
                .spread::<Time>("pictures.flash-positioning")?
                .median(),
        };
        let round_trip = site.network.round_trip.value.median();
        let comfort = catalogue.spread::<f64>("pictures.comfort")?.median();
        Ok(Sees::Scrubbing {
            places: places_a_second(round_trip, positioning, place, self.path_of(flow)),
            comfort: Frequency::from_base(comfort),
            place,
            decoded: (group > 1.0).then(|| decoded_for_a_place(group)),
        })
    }

    fn sequence(
        &self,
        site: &Site,
        catalogue: &Catalogue,
        (flow, task, material): (usize, &Task, &Material),
    ) -> Result<Sees, CatalogueFault> {
        let frames = material.frames.frames();
        let rate = material.rate.value.median() * f64::from(task.layers);
        let picture = place_size(1.0, rate, frames);
        let array = site.arrays.iter().find(|array| array.name == task.array);
        let nas = array.and_then(|array| site.nas(&array.nas));
        let service = match nas.map(|nas| nas.service.value.likeliest()) {
            Some(service @ (Service::Smb | Service::Nfs)) => service.word(),
            _ => "other",
        };
        let trips = catalogue
            .spread::<f64>(&format!("files.{service}.read.round-trips"))?
            .median();
        let server = catalogue
            .spread::<Time>("files.read.service-time")?
            .median();
        // a picture lies where the last one ended, so that heads do not move for it
        let wait = site.network.round_trip.value.median() + server;
        let of = |at_once: u32| {
            let path = self.path_of(flow);
            pictures_a_second(f64::from(at_once), trips, wait, picture, path)
        };
        Ok(Sees::Sequence {
            one_by_one: of(1),
            several: of(SEVERAL),
            asked: frames,
        })
    }

    /// What a flow gets alone, in the middle.
    fn path_of(&self, flow: usize) -> DataRate {
        let alone = self.flows.get(flow).map_or(f64::NAN, |f| middle(&f.alone));
        DataRate::from_base(alone)
    }

    /// What a move of heads takes on the drives of a flow, in the middle; none on flash.
    fn heads_of(&self, flow: usize) -> Option<Time> {
        let drives = self.passings.iter().filter(|p| p.flow == flow);
        let mut heads = drives.filter_map(|p| {
            let place = self.places.get(p.place)?;
            let heads = place.move_heads.as_ref()?;
            (place.kind == HopKind::Array).then(|| middle(heads))
        });
        heads.next().filter(|time| *time > 0.0).map(Time::from_base)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spread::Draws;
    use crate::together::{Question, answer, room_of};
    use crate::work::{Activity, Direction};
    use approx::assert_relative_eq;

    const DRAWS: usize = 128;

    /// A flash array, so that nothing moves; the whole of what a desk sees and what it gets alone.
    fn seen(does: &str, codec: &str) -> (Sees, f64) {
        let (_, text) = narrows_data::SITES
            .iter()
            .find(|(site, _)| *site == "flash-array")
            .unwrap();
        let catalogue = Catalogue::embedded().unwrap();
        let read = |tasks: &str| {
            let text = format!("{text}\n{tasks}");
            crate::site::read_bytes(text.as_bytes(), &[], &catalogue).unwrap()
        };
        let desk = &read("").desks[0].name;
        let site = read(&format!(
            "[[task]]\ndesk = \"{desk}\"\ndoes = \"{does}\"\ncodec = \"{codec}\"\n\
             raster = \"UHD\"\nframes = \"25 fps\"\n"
        ));
        let mut draws = Draws::new(DRAWS);
        let question = Question {
            everyone: Activity::Play,
            direction: Direction::Read,
            need: None,
        };
        let shares = answer(&site, &question, &catalogue, &mut draws).unwrap();
        let alone = shares.tasks[0].alone_megabytes_per_s.p50.base();
        let room = room_of(&site, &catalogue, &mut draws).unwrap();
        (room.handling[0].sees, alone)
    }

    #[test]
    fn verify_pictures_are_handled_as_the_formulas_say() {
        let site_round_trip = {
            let (_, text) = narrows_data::SITES
                .iter()
                .find(|(site, _)| *site == "flash-array")
                .unwrap();
            let catalogue = Catalogue::embedded().unwrap();
            let site = crate::site::read_bytes(text.as_bytes(), &[], &catalogue).unwrap();
            site.network.round_trip.value.median().base()
        };
        let (sees, path) = seen("scrub", "ProRes 422 HQ");
        let Sees::Scrubbing {
            places,
            place,
            decoded,
            ..
        } = sees
        else {
            panic!("{sees:?}");
        };
        // 737 Mb/s, 25 pictures a second
        assert_relative_eq!(place.base(), 737e6 / 8.0 / 25.0, max_relative = 1e-9);
        let one = site_round_trip + 0.1e-3 + place.base() / path;
        assert_relative_eq!(places.base(), 1.0 / one, max_relative = 1e-9);
        assert_eq!(decoded, None);
        // a long group takes fifteen times its picture
        let (sees, _) = seen("scrub", "HEVC long GOP 4:2:2 10-bit");
        let Sees::Scrubbing { place, decoded, .. } = sees else {
            panic!("{sees:?}");
        };
        assert_relative_eq!(decoded.unwrap().base(), 8.0);
        assert!(place.base() > 15.0 * 100e6 / 8.0 / 25.0 * 0.99);
        let (sees, path) = seen("sequence", "DPX 10-bit");
        let Sees::Sequence {
            one_by_one,
            several,
            asked,
        } = sees
        else {
            panic!("{sees:?}");
        };
        assert_relative_eq!(asked.base(), 25.0);
        let picture = 4.0 * 3840.0 * 2160.0 + 2048.0;
        let most = path / picture;
        assert!(one_by_one < several && several.base() < most);
        // the wait of one picture is what is missing, whatever the number fetched at once
        let wait = 1.0 / one_by_one.base() - 1.0 / most;
        let both = f64::from(SEVERAL) / several.base() - f64::from(SEVERAL) / most;
        assert_relative_eq!(wait, both, max_relative = 1e-6);
        assert!(wait > 2.0 * site_round_trip && wait < 20e-3, "{wait}");
    }
}
