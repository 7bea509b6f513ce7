//! Rooms seen from above, a storey below the other, with the chance of the need in each.

use crate::number::Number;
use crate::picture::{Anchor, Fill, Picture, at, label};
use crate::text::{columns, cut, listed};
use maud::{Markup, html};
use narrows_core::plan::air::{Answer, Shade};
use narrows_core::quantity::{Length, three_digits, units};
use narrows_core::site::{Room, Site};
use std::collections::BTreeSet;

const EDGE: f64 = 4.0;
/// Of a storey's name, and of a line in a room.
const HEAD: f64 = 22.0;
const LINE: f64 = 15.0;
/// Between two storeys.
const BETWEEN: f64 = 14.0;
/// A metre is never drawn longer than this.
const LONGEST: f64 = 40.0;
/// The stripe at the left of a room, which says its chance without colour.
const STRIPE: f64 = 12.0;
/// Width of a small letter.
const LETTER: f64 = 6.6;
/// Least height of a room for three lines, and for two.
const THREE: f64 = 64.0;
const TWO: f64 = 42.0;

fn metres(length: Length) -> f64 {
    length.get::<units::length::meter>()
}

fn ends(room: &Room) -> (f64, f64) {
    let [left, front, wide, deep] = room.plan.map(metres);
    (left + wide, front + deep)
}

/// What is drawn in a room: chance with its key, its word, and the access points or jacks in it.
struct Told {
    chance: Option<(f64, Shade, String)>,
    points: Vec<String>,
}

/// The largest placement where some were asked for, else what there is.
fn told(site: &Site, answer: &Answer, room: &Room) -> Told {
    if let Some((i, place)) = answer.placements.iter().enumerate().next_back() {
        let found = place.rooms.iter().position(|r| r.room == room.name);
        let row = found.and_then(|at| place.rooms.get(at).map(|row| (at, row)));
        let here = |name: &&String| {
            let jack = site.house.jacks.iter().find(|j| j.name == **name);
            jack.is_some_and(|jack| jack.room == room.name)
        };
        return Told {
            chance: row.map(|(at, r)| {
                let key = format!("wireless/placements/{i}/rooms/{at}/need_probability");
                (r.need_probability, r.shade, key)
            }),
            points: place.jacks.iter().filter(here).cloned().collect(),
        };
    }
    let found = answer.rooms.iter().position(|r| r.room == room.name);
    let row = found.and_then(|at| answer.rooms.get(at).map(|row| (at, row)));
    Told {
        chance: row.map(|(at, r)| {
            let key = format!("wireless/rooms/{at}/need_probability");
            (r.need_probability, r.shade, key)
        }),
        points: site
            .switches
            .iter()
            .filter(|s| {
                let cell = s.cell.as_ref();
                cell.is_some_and(|cell| cell.room.as_ref() == Some(&room.name))
            })
            .map(|s| s.name.clone())
            .collect(),
    }
}

/// Draws all storeys in a width, the highest on top.
pub fn rooms(site: &Site, answer: &Answer, width: f64) -> Picture {
    let rooms = &site.house.rooms;
    let wide = rooms.iter().map(|r| ends(r).0).fold(1.0, f64::max);
    let metre = ((width - 2.0 * EDGE) / wide).min(LONGEST);
    let floors: BTreeSet<u32> = rooms.iter().map(|room| room.floor).collect();
    let need = three_digits(answer.need_megabytes_per_s);
    let mut top = 0.0;
    let mut drawn = Vec::new();
    for floor in floors.iter().rev() {
        let here: Vec<&Room> = rooms.iter().filter(|room| room.floor == *floor).collect();
        let deep = here.iter().map(|r| ends(r).1).fold(0.0, f64::max);
        drawn.push(label(
            EDGE,
            top + 15.0,
            "small soft",
            Anchor::Start,
            &html! { "storey " (floor) },
        ));
        top += HEAD;
        for room in here {
            drawn.push(one(room, &told(site, answer, room), (top, metre)));
        }
        top += deep * metre + BETWEEN;
    }
    let body = html! { @for part in &drawn { (part) } };
    let title = format!(
        "{}: chance of reading {need} MB/s through the air",
        site.name
    );
    let drawn = wide * metre + 2.0 * EDGE;
    Picture::new(&title, &words(site, answer), (drawn, top), body)
}

fn words(site: &Site, answer: &Answer) -> String {
    let said: Vec<String> = site
        .house
        .rooms
        .iter()
        .map(|room| match told(site, answer, room).chance {
            Some((_, shade, _)) => format!("{} {}", room.name, shade.word()),
            None => format!("{} not known", room.name),
        })
        .collect();
    format!(
        "Rooms from above, the highest storey on top. {}. A dot is an access point. Solid stripe: sure; striped: likely; \
         hatched: doubtful or hardly. Estimates, no survey.",
        listed(&said)
    )
}

fn fill(shade: Shade) -> Option<Fill> {
    match shade {
        Shade::Sure => None,
        Shade::Likely => Some(Fill::Maybe),
        Shade::Doubtful => Some(Fill::NarrowMaybe),
        Shade::Hardly => Some(Fill::Narrow),
    }
}

/// A shade behind a room's words.
fn tint(shade: Shade) -> &'static str {
    match shade {
        Shade::Sure => "band",
        Shade::Likely => "trough",
        Shade::Doubtful | Shade::Hardly => "narrow-band",
    }
}

fn one(room: &Room, told: &Told, (top, metre): (f64, f64)) -> Markup {
    let [left, front, wide, deep] = room.plan.map(metres);
    let (x, y) = (EDGE + left * metre, top + front * metre);
    let (w, h) = (wide * metre, deep * metre);
    let inner = x + STRIPE + 5.0;
    let most = ((w - STRIPE - 8.0) / LETTER).max(1.0) as usize;
    let fits = |text: &str| columns(text) <= most;
    html! {
        rect class=(told.chance.as_ref().map_or("paper", |(_, shade, _)| tint(*shade))) x=(at(x)) y=(at(y)) width=(at(w)) height=(at(h)) {}
        @if let Some((_, shade, _)) = &told.chance {
            @if let Some(fill) = fill(*shade) {
                rect fill=(fill.url()) x=(at(x)) y=(at(y)) width=(at(STRIPE)) height=(at(h)) {}
            } @else {
                rect.flow x=(at(x)) y=(at(y)) width=(at(STRIPE)) height=(at(h)) {}
            }
        }
        path.axis d={ "M" (at(x)) " " (at(y)) "h" (at(w)) "v" (at(h)) "h" (at(-w)) "z" } {}
        @if h >= LINE + 4.0 {
            (label(inner, y + LINE, "small strong", Anchor::Start, &html! { (cut(&room.name, most)) }))
        }
        @match &told.chance {
            Some((chance, shade, key)) => {
                @let number = Number::percent(*chance, key);
                @if h >= TWO {
                    (label(inner, y + 2.0 * LINE, "small", Anchor::Start, &html! {
                        (number.drawn()) @if fits("100 of 100") { " of 100" }
                    }))
                }
                @if h >= THREE && fits(shade.word()) {
                    (label(inner, y + 3.0 * LINE, "small", Anchor::Start, &html! { (shade.word()) }))
                }
            }
            None => {
                @if h >= TWO && fits("not known") {
                    (label(inner, y + 2.0 * LINE, "small soft", Anchor::Start, &html! { "not known" }))
                }
            }
        }
        @for (i, name) in told.points.iter().enumerate() {
            @let cy = y + h - 10.0 - LINE * i as f64;
            @if cy > y + 3.0 * LINE {
                circle.solid cx=(at(inner + 4.0)) cy=(at(cy)) r="4.5" {}
                (label(inner + 12.0, cy + 4.0, "small", Anchor::Start, &html! { (cut(name, most.saturating_sub(2).max(1))) }))
            }
        }
    }
}
