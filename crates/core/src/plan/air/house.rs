//! What rooms, walls and floors put between two places.

use crate::air::{Between, Obstacle, WayRound};
use crate::quantity::{Length, Measure, metres};
use crate::site::{House, Known, Room};
use crate::spread::{Bounds, Spread};

/// How much further it is by an open stairwell, the doors on the way and the corners it turns, a
/// storey each. Judgement, as of a house with its stairs in the middle.
const FURTHER: f64 = 8.0;
const DOORS: usize = 1;
const CORNERS: usize = 2;

/// Points of a straight way that are looked at.
const STEPS: usize = 240;

/// No slanting way counts a wall or a floor more often than this: up to 60 degrees.
const MOST_SLANT: f64 = 2.0;

/// Storeys of old buildings, m: 5th percentile, median, 95th; as the row `air.storey`.
const STOREY: (f64, f64, f64) = (2.8, 3.2, 4.5);

fn middle(room: &Room) -> (f64, f64) {
    let [left, front, wide, deep] = room.plan.map(Length::base);
    (left + wide / 2.0, front + deep / 2.0)
}

fn holds(room: &Room, x: f64, y: f64) -> bool {
    let [left, front, wide, deep] = room.plan.map(Length::base);
    (left..=left + wide).contains(&x) && (front..=front + deep).contains(&y)
}

/// The rooms that a straight way passes, in order, with how many storeys up it is there.
fn passed<'h>(house: &'h House, from: &'h Room, to: &'h Room) -> Vec<&'h Room> {
    let ((x, y), (u, v)) = (middle(from), middle(to));
    let mut all = vec![from];
    for step in 1..STEPS {
        let t = step as f64 / STEPS as f64;
        // heads and access points are between floor and ceiling, so that storeys change half-way
        let up = f64::from(from.floor) + t * (f64::from(to.floor) - f64::from(from.floor));
        let floor = libm::round(up);
        let (px, py) = (x + t * (u - x), y + t * (v - y));
        let last = all.last().copied().unwrap_or(from);
        #[allow(clippy::float_cmp)] // both are whole
        let here = |room: &&Room| f64::from(room.floor) == floor && holds(room, px, py);
        if here(&last) {
            continue;
        }
        if let Some(next) = house.rooms.iter().find(here) {
            all.push(next);
        }
    }
    if all.last().is_none_or(|last| last.name != to.name) {
        all.push(to);
    }
    all
}

/// What stands between two rooms of a house; nothing where one of them is not there.
///
/// The straight way from middle to middle, every wall and floor that it passes counted with its
/// slant up to 60 degrees, and the way round by an open stairwell. Walls of which nothing is
/// told are as the building's, or a wall of which nothing is known. Where floors have no rooms
/// between them, as many floors as storeys. `verify_what_stands_between_rooms` checks it.
pub(crate) fn between(house: &House, from: &str, to: &str) -> Option<Between> {
    let find = |name: &str| house.rooms.iter().find(|room| room.name == name);
    let (from, to) = (find(from)?, find(to)?);
    let id = format!("room.{}/to.{}", from.name, to.name);
    if from.name == to.name {
        let [_, _, wide, deep] = from.plan.map(Length::base);
        let diagonal = libm::hypot(wide, deep);
        let of = |share: f64| metres(libm::fmax(share * diagonal, 1.0));
        let spread = Spread::percentiles(of(0.15), of(0.45), of(0.9), Bounds::POSITIVE).ok()?;
        return Some(Between {
            distance: Some(Known::stated(id, spread)),
            obstacles: Some(Vec::new()),
            floors: 0,
            round: None,
        });
    }
    let ((x, y), (u, v)) = (middle(from), middle(to));
    let across = libm::hypot(u - x, v - y);
    let storeys = from.floor.abs_diff(to.floor);
    let storey = house.storey.as_ref().map_or(STOREY, |told| {
        let (low, likely, high) = told.value.law().knots();
        (low, likely, high)
    });
    let far = |storey: f64| {
        metres(libm::fmax(
            libm::hypot(across, f64::from(storeys) * storey),
            1.0,
        ))
    };
    let spread = Spread::percentiles(
        far(storey.0),
        far(storey.1),
        far(storey.2),
        Bounds::POSITIVE,
    )
    .ok()?;
    let straight = far(storey.1).base();
    let slant = |along: f64| {
        let factor = if along > 0.0 {
            straight / along
        } else {
            MOST_SLANT
        };
        libm::fmin(factor, MOST_SLANT)
    };
    let (level, upright) = (slant(across), slant(f64::from(storeys) * storey.1));
    let mut obstacles: Vec<Obstacle> = Vec::new();
    let mut floors = 0usize;
    let rooms = passed(house, from, to);
    for pair in rooms.windows(2) {
        let [a, b] = pair else { continue };
        let storeys = a.floor.abs_diff(b.floor) as usize;
        floors += storeys;
        let factor = if storeys > 0 { upright } else { level };
        let times = factor * storeys.max(1) as f64;
        let mut all: Vec<(Obstacle, f64)> =
            made(house, a, b).into_iter().map(|o| (o, times)).collect();
        // from one storey to another and beside it at once: by the edge of both
        if storeys > 0 && !overlap(a, b) {
            all.extend(
                usual(house.wall.as_ref(), "unknown-wall")
                    .into_iter()
                    .map(|o| (o, level)),
            );
        }
        for (obstacle, times) in all {
            let count = obstacle.count * times;
            match obstacles.iter_mut().find(|o| o.kind == obstacle.kind) {
                Some(same) => same.count += count,
                None => obstacles.push(Obstacle { count, ..obstacle }),
            }
        }
    }
    let round = (house.stairs && storeys > 0).then(|| WayRound {
        further: metres(FURTHER * f64::from(storeys)),
        doors: DOORS * storeys as usize,
        corners: CORNERS * storeys as usize,
    });
    Some(Between {
        distance: Some(Known::stated(id, spread)),
        obstacles: Some(obstacles),
        floors,
        round,
    })
}

/// What stands between two rooms that touch.
fn made(house: &House, a: &Room, b: &Room) -> Vec<Obstacle> {
    let told = house.walls.iter().find(|wall| {
        let [one, other] = [&wall.rooms[0], &wall.rooms[1]];
        (*one == a.name && *other == b.name) || (*one == b.name && *other == a.name)
    });
    if let Some(told) = told {
        return told.made.clone();
    }
    if a.floor == b.floor {
        usual(house.wall.as_ref(), "unknown-wall")
    } else {
        usual(house.floor.as_ref(), "unknown-floor")
    }
}

/// What a building is made of, or what nobody knows.
fn usual(told: Option<&Vec<Obstacle>>, unknown: &str) -> Vec<Obstacle> {
    told.cloned().unwrap_or_else(|| {
        vec![Obstacle {
            kind: unknown.to_owned(),
            count: 1.0,
        }]
    })
}

/// Whether two rooms, seen from above, have some of their area in common.
fn overlap(a: &Room, b: &Room) -> bool {
    let [(al, af, aw, ad), (bl, bf, bw, bd)] = [a, b].map(|room| {
        let [left, front, wide, deep] = room.plan.map(Length::base);
        (left, front, wide, deep)
    });
    al < bl + bw && bl < al + aw && af < bf + bd && bf < af + ad
}
