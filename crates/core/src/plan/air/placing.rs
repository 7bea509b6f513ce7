//! What each room gets, and which access points on which jacks serve them best.

use super::answer::{PlacedRoom, Placement, Question, RoomRow, Shade, fault, wired};
use super::feed::{PortFor, PowerFor, feeds, takes};
use super::house::between;
use super::place::{Meets, best};
use crate::air::{
    Band, Carried, Link, Reading, Sends, Spoken, Width, carried, channels, parts_them, plan,
};
use crate::budget::BudgetFault;
use crate::catalogue::Catalogue;
use crate::copper::{DecibelMilliwatts, Decibels};
use crate::quantity::{DataRate, LinkRate, Measure, Ratio, six_digits};
use crate::site::{Cell, Site, Value};
use crate::spread::Draws;
use crate::working::{Sheet, percentiles};

/// What a desk in one room gets of an access point in another; nothing of a way that is not asked.
struct Reached {
    read: Vec<f64>,
    write: Vec<f64>,
}

/// Bytes a second in every draw, nothing where there is no link, no more than the jack gives.
fn reach(
    site: &Site,
    (room, at): (&str, &str),
    (point, speaks, [busy, crowd]): (&str, Spoken, [Option<&Value<Ratio>>; 2]),
    (uplink, ways): (f64, &[Sends]),
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Option<Reached>, BudgetFault> {
    let Some(between) = between(&site.house, at, room) else {
        return Ok(None);
    };
    let link = Link {
        id: format!("room.{room}/from.{at}"),
        ends: [point.to_owned(), format!("room.{room}")],
        speaks,
        between,
        reading: Reading::None,
        busy: busy.cloned(),
        crowd: crowd.cloned(),
        band: None,
        weaker: None,
        relayed: false,
    };
    let mut sheet = Sheet::new(draws);
    let count = sheet.count();
    let mut both = Vec::new();
    for &sends in ways {
        let Carried { rate, dead, .. } =
            carried(&link, sends, catalogue, &mut sheet).map_err(|f| fault(&link.id, f))?;
        both.push(
            (0..count)
                .map(|draw| match dead.get(draw) {
                    Some(true) => 0.0,
                    _ => libm::fmin(rate.at(draw).base(), uplink),
                })
                .collect::<Vec<f64>>(),
        );
    }
    let mut both = both.into_iter();
    let read = both.next().unwrap_or_default();
    let write = both.next().unwrap_or_default();
    Ok(Some(Reached { read, write }))
}

/// What a cell's own cable carries; no limit where it has none of its own.
fn uplink(site: &Site, point: &str) -> f64 {
    let ports = site
        .switches
        .iter()
        .find(|s| s.name == point)
        .map(|s| &s.ports[..]);
    let best = ports
        .unwrap_or_default()
        .iter()
        .filter(|port| !port.knows.is_empty())
        .map(|port| port.rate)
        .max();
    best.map_or(f64::INFINITY, of_port)
}

fn of_port(rate: LinkRate) -> f64 {
    wired() * rate.signalled().base() / LinkRate::from_megabits(1000).signalled().base()
}

pub(super) fn rooms(
    site: &Site,
    cells: &[(&str, &Cell)],
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Vec<RoomRow>, BudgetFault> {
    let mut rows = Vec::new();
    for room in &site.house.rooms {
        let mut best: Option<(f64, String, Reached)> = None;
        let mut any: Vec<bool> = vec![false; draws.count()];
        for (name, cell) in cells {
            let Some(at) = &cell.room else { continue };
            let point = format!("access-point.{name}");
            let found = reach(
                site,
                (&room.name, at),
                (
                    &point,
                    cell.speaks,
                    [&cell.busy, &cell.crowd].map(Option::as_ref),
                ),
                (uplink(site, name), &[Sends::Point, Sends::Desk]),
                catalogue,
                draws,
            )?;
            let Some(found) = found else { continue };
            for (any, rate) in any.iter_mut().zip(&found.read) {
                *any |= *rate >= question.need.base();
            }
            let middle = percentiles::<DataRate>(&found.read).p50.base();
            if best.as_ref().is_none_or(|(most, ..)| middle > *most) {
                best = Some((middle, (*name).to_owned(), found));
            }
        }
        let Some((_, access_point, found)) = best else {
            continue;
        };
        let chance = any.iter().filter(|any| **any).count() as f64 / any.len() as f64;
        rows.push(RoomRow {
            room: room.name.clone(),
            access_point,
            read_megabytes_per_s: percentiles::<DataRate>(&found.read).into(),
            write_megabytes_per_s: percentiles::<DataRate>(&found.write).into(),
            wired_megabytes_per_s: six_digits(wired() / 1e6),
            need_probability: six_digits(chance),
            shade: Shade::of(chance),
        });
    }
    Ok(rows)
}

/// What an access point that is still to be bought speaks: as those there are, else the usual.
fn bought(cells: &[(&str, &Cell)]) -> Spoken {
    let usual = Spoken {
        band: Some(Band::Five),
        generation: Some(crate::air::Generation::Ax),
        width: Some(Width::Eighty),
        streams: Some(2),
    };
    cells.first().map_or(usual, |(_, cell)| Spoken {
        band: cell.speaks.band.or(usual.band),
        generation: cell.speaks.generation.or(usual.generation),
        width: cell.speaks.width.or(usual.width),
        streams: cell.speaks.streams.or(usual.streams),
    })
}

pub(super) fn placements(
    site: &Site,
    cells: &[(&str, &Cell)],
    most: usize,
    question: &Question,
    catalogue: &Catalogue,
    draws: &mut Draws,
) -> Result<Vec<Placement>, BudgetFault> {
    let speaks = bought(cells);
    let takes = takes(speaks, catalogue)?;
    let jacks = &site.house.jacks;
    let words = draws.count().div_ceil(64);
    let mut meets: Vec<Vec<Meets>> = Vec::new();
    for room in &site.house.rooms {
        let mut row = Vec::new();
        for jack in jacks {
            let found = reach(
                site,
                (&room.name, &jack.room),
                ("access-point.new", speaks, [None, None]),
                (of_port(jack.rate), &[Sends::Point]),
                catalogue,
                draws,
            )?;
            let mut bits = vec![0u64; words];
            for (draw, rate) in found.iter().flat_map(|f| f.read.iter().enumerate()) {
                if *rate >= question.need.base()
                    && let Some(word) = bits.get_mut(draw / 64)
                {
                    *word |= 1 << (draw % 64);
                }
            }
            row.push(bits);
        }
        meets.push(row);
    }
    let mut all = Vec::new();
    for count in 1..=most.min(jacks.len()) {
        let fed = |set: &[usize]| {
            let chosen: Vec<_> = set.iter().filter_map(|at| jacks.get(*at)).collect();
            feeds(site, &chosen, takes)
        };
        let added = |set: &[usize]| fed(set).iter().map(|feed| feed.add.len()).sum();
        let Some(set) = best(&meets, (jacks.len(), count), draws.count(), added) else {
            continue;
        };
        let hears = hearing(site, &set.jacks, speaks, catalogue)?;
        let (band, width) = (
            speaks.band.unwrap_or(Band::Five),
            speaks.width.unwrap_or(Width::Eighty),
        );
        let channels = plan(&hears, channels(band, width, question.radar));
        let shares_a_channel = channels.iter().enumerate().any(|(i, a)| {
            channels.iter().enumerate().any(|(j, b)| {
                i != j
                    && a == b
                    && hears
                        .get(i)
                        .and_then(|h| h.get(j))
                        .is_some_and(|h| *h > 0.0)
            })
        });
        let name = |at: &usize| {
            jacks
                .get(*at)
                .map_or(String::new(), |jack| jack.name.clone())
        };
        let feeds = fed(&set.jacks);
        let without = || feeds.iter().filter(|f| f.power != PowerFor::OverTheCable);
        all.push(Placement {
            access_points: count,
            without_power: without().map(|feed| feed.jack.clone()).collect(),
            injectors: without().count(),
            ports_to_add: feeds.iter().filter(|f| f.port == PortFor::Taken).count(),
            jacks: set.jacks.iter().map(name).collect(),
            channels,
            shares_a_channel,
            rooms: site
                .house
                .rooms
                .iter()
                .zip(&set.rooms)
                .map(|(room, chance)| PlacedRoom {
                    room: room.name.clone(),
                    need_probability: six_digits(*chance),
                    shade: Shade::of(*chance),
                })
                .collect(),
            least_probability: six_digits(set.least),
            mean_probability: six_digits(set.mean),
            feeds,
        });
    }
    Ok(all)
}

/// How much cells on some jacks would disturb each other: decibels above what parts them.
fn hearing(
    site: &Site,
    jacks: &[usize],
    speaks: Spoken,
    catalogue: &Catalogue,
) -> Result<Vec<Vec<f64>>, BudgetFault> {
    let band = speaks.band.unwrap_or(Band::Five);
    let width = speaks.width.unwrap_or(Width::Eighty);
    let sent = catalogue
        .number(&format!("air.sent.point.{}", band.row()))?
        .likely;
    let parts = parts_them(DecibelMilliwatts(sent), width);
    let mut rows = vec![vec![0.0; jacks.len()]; jacks.len()];
    for (i, a) in jacks.iter().enumerate() {
        for (j, b) in jacks.iter().enumerate() {
            let rooms = [a, b].map(|at| site.house.jacks.get(*at).map(|jack| jack.room.as_str()));
            let [Some(a), Some(b)] = rooms else { continue };
            let Some(found) = between(&site.house, a, b) else {
                continue;
            };
            let mut through = 0.0;
            for obstacle in found.obstacles.iter().flatten() {
                let row = format!("air.through.{}.{}", obstacle.kind, band.row());
                through += obstacle.count * catalogue.number(&row)?.likely;
            }
            let far = found
                .distance
                .map_or(crate::quantity::metres(5.0), |d| d.median());
            let loss = crate::air::straight(far, band.middle(), 2.0, Decibels(through));
            if i != j
                && let Some(place) = rows.get_mut(i).and_then(|row| row.get_mut(j))
            {
                *place = libm::fmax((parts - loss).0, 0.0);
            }
        }
    }
    Ok(rows)
}
