use crate::render::document::{bytes, megabytes, seconds, share};
use narrows_core::quantity::{Frequency, Measure, Time, six_digits, units};
use narrows_core::room::{Overload, Room as Counted};
use narrows_core::together::{Handling, MoreDesks, Pausing, Sees, SiteRoom};
use serde::Serialize;

/// What there is room for. Keys are a contract: see docs/json.md.
#[derive(Serialize)]
pub(crate) struct Room<'a> {
    more_desks: Vec<More<'a>>,
    pictures: Vec<Pictures<'a>>,
    read_ahead_s: f64,
    spells_per_hour_allowed: f64,
    not_counted: &'a [String],
}

#[derive(Serialize)]
struct More<'a> {
    tasks: &'a [String],
    desks: &'a [String],
    material: Option<&'a str>,
    megabytes_per_s: f64,
    at_once_p50: u32,
    at_once_surely: u32,
    full_first: Option<&'a str>,
    pausing: &'static str,
    not_told: Option<&'a [String]>,
    if_they_pause: Option<Crowd>,
}

#[derive(Serialize)]
struct Crowd {
    more: u32,
    active_share: f64,
    spell_s: f64,
    with: Overloaded,
    beyond: Option<Overloaded>,
}

#[derive(Serialize)]
struct Overloaded {
    overload_probability: f64,
    spells_per_hour: f64,
    overload_s: Option<f64>,
    stalls_per_hour: f64,
}

#[derive(Serialize)]
#[allow(clippy::struct_field_names)] // keys of the contract
struct Pictures<'a> {
    task: &'a str,
    desk: &'a str,
    material: &'a str,
    places_per_s: Option<f64>,
    place_bytes: Option<f64>,
    decoded_pictures: Option<f64>,
    pictures_per_s: Option<f64>,
    pictures_per_s_several: Option<f64>,
    pictures_per_s_asked: Option<f64>,
}

fn an_hour(often: Frequency) -> f64 {
    six_digits(often.get::<units::frequency::per_hour>())
}

impl Overloaded {
    fn of(overload: &Overload, read_ahead: Time) -> Self {
        Self {
            overload_probability: share(overload.chance),
            spells_per_hour: an_hour(overload.spells),
            overload_s: overload.spell.map(seconds),
            stalls_per_hour: an_hour(overload.stalls(read_ahead)),
        }
    }
}

fn crowd(pausing: &Pausing, read_ahead: Time) -> Option<Crowd> {
    let Pausing::Counted {
        room: Counted::Crowd {
            more, with, beyond, ..
        },
        active,
        spell,
    } = pausing
    else {
        return None;
    };
    Some(Crowd {
        more: *more,
        active_share: share(*active),
        spell_s: seconds(*spell),
        with: Overloaded::of(with, read_ahead),
        beyond: beyond
            .as_ref()
            .map(|beyond| Overloaded::of(beyond, read_ahead)),
    })
}

fn more(desks: &MoreDesks, read_ahead: Time) -> More<'_> {
    More {
        tasks: &desks.tasks,
        desks: &desks.desks,
        material: desks.material.as_deref(),
        megabytes_per_s: megabytes(desks.rate),
        at_once_p50: desks.at_once.middle,
        at_once_surely: desks.at_once.surely,
        full_first: desks.place.as_deref(),
        pausing: match desks.pausing {
            Pausing::NotTold(_) => "not-told",
            Pausing::Few => "few",
            Pausing::Counted { .. } => "counted",
        },
        not_told: match &desks.pausing {
            Pausing::NotTold(tasks) => Some(tasks),
            _ => None,
        },
        if_they_pause: crowd(&desks.pausing, read_ahead),
    }
}

fn pictures(handling: &Handling) -> Pictures<'_> {
    let mut all = Pictures {
        task: &handling.task,
        desk: &handling.desk,
        material: &handling.material,
        places_per_s: None,
        place_bytes: None,
        decoded_pictures: None,
        pictures_per_s: None,
        pictures_per_s_several: None,
        pictures_per_s_asked: None,
    };
    let some = |often: Frequency| Some(six_digits(often.base()));
    match handling.sees {
        Sees::Scrubbing {
            places,
            place,
            decoded,
            ..
        } => {
            all.places_per_s = some(places);
            all.place_bytes = Some(bytes(place));
            all.decoded_pictures = decoded.map(share);
        }
        Sees::Sequence {
            one_by_one,
            several,
            asked,
        } => {
            all.pictures_per_s = some(one_by_one);
            all.pictures_per_s_several = some(several);
            all.pictures_per_s_asked = some(asked);
        }
    }
    all
}

impl<'a> Room<'a> {
    pub(crate) fn of(room: &'a SiteRoom) -> Self {
        Self {
            more_desks: room.more.iter().map(|m| more(m, room.read_ahead)).collect(),
            pictures: room.handling.iter().map(pictures).collect(),
            read_ahead_s: seconds(room.read_ahead),
            spells_per_hour_allowed: an_hour(room.limits.spells),
            not_counted: &room.not_counted,
        }
    }
}
