//! Links that are drawn, against cases worked out by a program that shares no code with this one.

use super::close;
use crate::air::{
    AirRate, Band, Between, Equipment, Generation, Link, Needed, Obstacle, Reading, Sends, Spoken,
    Width, carried, conditioned, equipment,
};
use crate::copper::DecibelMilliwatts;
use narrows_units::catalogue::Catalogue;
use narrows_units::known::{Known, Value};
use narrows_units::quantity::{Measure, Ratio, megabytes_per_second, metres, ratio};
use narrows_units::spread::{Bounds, Draws, Spread, USUAL_DRAWS};
use narrows_units::working::Sheet;
use proptest::prelude::*;

/// The cases were drawn 6000 times with laws between the same percentiles: their own seeds move
/// p05 by 6 % and the rest by 2 %; the shape of a law between its percentiles moves the ends more.
const DRAWN: f64 = 0.15;

/// Ends near nothing are good to so many MB/s.
const NEAR_NOTHING: f64 = 1.6;

fn ends() -> [String; 2] {
    ["access-point.a".to_owned(), "desk.b".to_owned()]
}

fn link(equipment: Equipment, distance: f64, obstacles: &[&str], floors: usize) -> Link {
    let Equipment {
        band,
        generation,
        width,
        streams,
    } = equipment;
    Link {
        id: "run.1".to_owned(),
        ends: ends(),
        speaks: Spoken {
            band: Some(band),
            generation: Some(generation),
            width: Some(width),
            streams: Some(streams),
        },
        between: Between {
            distance: Some(Known::stated(
                "run.1.distance",
                Spread::exact(metres(distance)),
            )),
            obstacles: Some(
                obstacles
                    .iter()
                    .map(|kind| Obstacle {
                        kind: (*kind).to_owned(),
                        count: 1.0,
                    })
                    .collect(),
            ),
            floors,
            round: None,
        },
        reading: Reading::None,
        busy: Some(busy(band)),
        crowd: None,
        band: None,
        weaker: None,
        relayed: false,
    }
}

/// The catalogue with the share that the field leaves as the published cases were drawn.
fn of_the_cases() -> Catalogue {
    let catalogue = Catalogue::embedded().unwrap();
    catalogue.with("air.field", (0.5, 0.78, 0.95))
}

/// Shares of the air that the published cases were drawn with, on top of what the field leaves.
fn busy(band: Band) -> Value<Ratio> {
    let (low, likely, high) = match band {
        Band::Two => (0.15, 0.4, 0.75),
        Band::Five => (0.02, 0.1, 0.4),
        Band::Six => (0.0, 0.02, 0.15),
    };
    let law = Spread::percentiles(ratio(low), ratio(likely), ratio(high), Bounds::FRACTION);
    Known::stated("access-point.a.busy", law.unwrap())
}

/// MB/s in order; nothing where there is no link.
fn sorted(link: &Link, sends: Sends) -> Vec<f64> {
    let catalogue = of_the_cases();
    let mut draws = Draws::new(USUAL_DRAWS);
    let mut sheet = Sheet::new(&mut draws);
    let found = carried(link, sends, &catalogue, &mut sheet).unwrap();
    let mut all: Vec<f64> = (0..USUAL_DRAWS)
        .map(|draw| match found.dead.get(draw) {
            Some(true) => 0.0,
            _ => found.rate.at(draw).base() / 1e6,
        })
        .collect();
    all.sort_by(f64::total_cmp);
    all
}

fn share(all: &[f64], share: f64) -> f64 {
    all[((all.len() as f64 * share) as usize).min(all.len() - 1)]
}

fn at(band: Band, generation: Generation, width: Width) -> Equipment {
    Equipment {
        band,
        generation,
        width,
        streams: 2,
    }
}

/// A link, and its p05, median and p95 in MB/s reading and writing.
type Case = (Link, [f64; 3], [f64; 3]);

#[test]
fn validate_drawn_cases() {
    let ac = at(Band::Five, Generation::Ac, Width::Eighty);
    let ax = at(Band::Five, Generation::Ax, Width::Eighty);
    let six = at(Band::Six, Generation::Ax, Width::OneSixty);
    let be = at(Band::Six, Generation::Be, Width::ThreeTwenty);
    let two = at(Band::Two, Generation::Ax, Width::Twenty);
    let cases: Vec<Case> = vec![
        (
            link(ac, 5.0, &[], 0),
            [28.0, 49.0, 67.0],
            [27.0, 48.0, 66.0],
        ),
        (
            link(ax, 5.0, &[], 0),
            [36.0, 65.0, 92.0],
            [31.0, 60.0, 89.0],
        ),
        (
            link(six, 5.0, &[], 0),
            [70.0, 120.0, 164.0],
            [61.0, 110.0, 157.0],
        ),
        (
            link(be, 5.0, &[], 0),
            [124.0, 230.0, 349.0],
            [100.0, 203.0, 321.0],
        ),
        (
            link(ax, 8.0, &["stud"], 0),
            [23.0, 51.0, 84.0],
            [17.0, 45.0, 80.0],
        ),
        (
            link(ax, 8.0, &["brick"], 0),
            [8.4, 33.0, 69.0],
            [5.7, 27.0, 61.0],
        ),
        (
            link(six, 8.0, &["brick"], 0),
            [9.7, 50.0, 116.0],
            [4.2, 37.0, 106.0],
        ),
        (
            link(ax, 8.0, &["stone"], 0),
            [0.0, 11.0, 47.0],
            [0.0, 7.6, 41.0],
        ),
        (
            link(ax, 6.0, &["timber-floor"], 1),
            [18.0, 46.0, 80.0],
            [13.0, 40.0, 75.0],
        ),
        (
            link(ax, 6.0, &["concrete-20"], 1),
            [0.0, 13.0, 51.0],
            [0.0, 8.8, 46.0],
        ),
        (
            link(two, 6.0, &["concrete-20"], 1),
            [1.7, 7.6, 16.0],
            [1.6, 7.5, 16.0],
        ),
        (
            link(ax, 10.0, &["concrete-20", "brick"], 1),
            [0.0, 0.0, 17.0],
            [0.0, 0.0, 12.0],
        ),
        (
            link(two, 10.0, &["concrete-20", "brick"], 1),
            [0.2, 3.8, 11.0],
            [0.2, 3.8, 12.0],
        ),
    ];
    let mut wrong = Vec::new();
    for (link, reads, writes) in &cases {
        for (sends, expected) in [(Sends::Point, reads), (Sends::Desk, writes)] {
            let all = sorted(link, sends);
            for (part, expected) in [0.05, 0.5, 0.95].into_iter().zip(expected) {
                let found = share(&all, part);
                if (found - expected).abs() > NEAR_NOTHING.max(DRAWN * expected) {
                    wrong.push(format!(
                        "{:?} {sends:?} {part}: {found} for {expected}",
                        link.between.obstacles
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// 20 cm of concrete and what one reading of the signal makes of it.
#[test]
fn validate_what_a_reading_is_worth() {
    let ax = at(Band::Five, Generation::Ax, Width::Eighty);
    let mut wrong = Vec::new();
    for (read, expected) in [
        (-55.0, [23.0, 44.0, 68.0]),
        (-62.0, [14.0, 31.0, 53.0]),
        (-70.0, [6.7, 18.0, 36.0]),
        (-75.0, [3.9, 11.0, 27.0]),
        (-82.0, [0.0, 5.2, 14.0]),
    ] {
        let mut link = link(ax, 6.0, &["concrete-20"], 1);
        link.reading = Reading::Signal(DecibelMilliwatts(read));
        let all = sorted(&link, Sends::Point);
        for (part, expected) in [0.05, 0.5, 0.95].into_iter().zip(expected) {
            let found = share(&all, part);
            if (found - expected).abs() > NEAR_NOTHING.max(DRAWN * expected) {
                wrong.push(format!("{read} {part}: {found} for {expected}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// MB/s from the rate shown alone, at 5 GHz; good to 2 % there.
#[test]
fn validate_what_a_shown_rate_is_worth() {
    let of = |generation, width, shown| Link {
        reading: Reading::Shown(AirRate(shown)),
        ..link(at(Band::Five, generation, width), 5.0, &[], 0)
    };
    for (generation, width, shown, expected) in [
        (Generation::N, Width::Twenty, 144.4, [5.1, 8.7, 11.7]),
        (Generation::Ax, Width::Eighty, 288.2, [10.0, 17.2, 23.0]),
        (Generation::Ax, Width::Eighty, 576.5, [20.0, 34.5, 45.8]),
        (Generation::Ac, Width::Eighty, 866.7, [29.3, 49.9, 66.5]),
        (Generation::Ax, Width::Eighty, 1201.0, [41.6, 71.6, 95.1]),
        (
            Generation::Ax,
            Width::OneSixty,
            2402.0,
            [72.1, 124.8, 166.4],
        ),
    ] {
        let all = sorted(&of(generation, width, shown), Sends::Point);
        for (part, expected) in [0.05, 0.5, 0.95].into_iter().zip(expected) {
            let found = share(&all, part);
            assert!(
                (found / expected - 1.0).abs() < 0.05,
                "{shown} {part}: {found}"
            );
        }
    }
}

#[test]
fn validate_a_reading() {
    for ((m, s, y, r), (mean, sd)) in [
        ((-72.0, 10.0, -64.0, 4.0), (-65.1034, 3.71391)),
        ((-60.0, 8.0, -75.0, 4.0), (-72.0, 3.57771)),
        ((-72.0, 10.0, -64.0, 2.0), (-64.3077, 1.96116)),
    ] {
        let found = conditioned(m, s, y, r);
        close(found.0, mean);
        close(found.1, sd);
    }
    assert!((conditioned(-60.0, 8.0, -75.0, 1e9).0 + 60.0).abs() < 1e-6);
    assert!((conditioned(-60.0, 8.0, -75.0, 1e-9).0 + 75.0).abs() < 1e-6);
}

#[test]
fn verify_equipment_that_is_told_in_part() {
    let catalogue = Catalogue::embedded().unwrap();
    let needed = Needed::new(&catalogue).unwrap();
    let of = |told, shown: Option<f64>| {
        equipment(told, shown.map(AirRate), &needed, &catalogue).unwrap()
    };
    let all = of(Spoken::default(), None).unwrap();
    for (one, _) in all.options() {
        assert!(one.generation.knows(one.band) && one.width <= one.generation.widest());
    }
    // 1729 Mb/s is shown at 160 MHz and up, or by more streams
    for (one, _) in of(Spoken::default(), Some(1729.4)).unwrap().options() {
        assert!(one.width >= Width::OneSixty || one.streams > 2, "{one}");
    }
    let told = Spoken {
        band: Some(Band::Two),
        generation: Some(Generation::Ac),
        ..Spoken::default()
    };
    assert!(of(told, None).is_none());
}

proptest! {
    /// A rate rises with nothing that is worse: more wall, more distance, a weaker reading, busier air.
    #[test]
    fn what_is_worse_never_carries_more(
        distance in 1.0..20.0_f64, further in 0.0..20.0_f64, wall in 0..4_usize, sends in 0..2_usize,
    ) {
        let kinds = ["stud", "brick", "stone", "concrete-20"];
        let ax = at(Band::Five, Generation::Ax, Width::Eighty);
        let sends = [Sends::Point, Sends::Desk][sends];
        let carries = |link: &Link| {
            let catalogue = Catalogue::embedded().unwrap();
            let mut draws = Draws::new(64);
            let mut sheet = Sheet::new(&mut draws);
            let found = carried(link, sends, &catalogue, &mut sheet).unwrap();
            let dead = |draw: usize| found.dead.get(draw).copied().unwrap_or(false);
            (0..64).map(|d| if dead(d) { 0.0 } else { found.rate.at(d).base() }).collect::<Vec<f64>>()
        };
        let near = link(ax, distance, &[kinds[wall]], 0);
        let share = |text: &str| {
            let spread = Spread::<Ratio>::parse(text, Bounds::FRACTION).unwrap();
            Some(Known::stated("access-point.a.crowd", spread))
        };
        let lid = Spread::<f64>::parse("5..12..25", Bounds::POSITIVE).unwrap();
        let first = carries(&near);
        for worse in [
            link(ax, distance + further, &[kinds[wall]], 0),
            link(ax, distance, &[kinds[wall], "door"], 0),
            Link { crowd: share("5 %"), ..near.clone() },
            Link { weaker: Some(Known::stated("run.1.weaker", lid)), ..near.clone() },
            Link { relayed: true, ..near.clone() },
        ] {
            for (a, b) in first.iter().zip(carries(&worse)) {
                // of two ways that show one rate the one with fewer streams carries a little more
                prop_assert!(b <= a * 1.005, "{a} {b}");
            }
        }
        prop_assert!(first.iter().all(|r| *r < megabytes_per_second(1201.0 / 8.0).base()));
    }
}

/// A share `u` of each 20 MHz leaves `(1 - u)^(width/20)`, two widths in a row `1 - (1 - u)^2`; a repeater leaves half; and
/// what is lost besides moves the signal by as much.
#[test]
fn verify_what_a_crowd_a_repeater_and_a_lid_leave() {
    let catalogue = Catalogue::embedded().unwrap();
    let drawn = |link: &Link| {
        let mut draws = Draws::new(64);
        let mut sheet = Sheet::new(&mut draws);
        let found = carried(link, Sends::Point, &catalogue, &mut sheet).unwrap();
        let signal = found.signal.map(|s| s.every_base(64).into_owned());
        (found.rate.every_base(64).into_owned(), signal.unwrap())
    };
    let share = |of: f64| Some(Known::stated("crowd", Spread::exact(ratio(of))));
    for (width, parts) in [(Width::Twenty, 1), (Width::Forty, 2), (Width::Eighty, 4)] {
        let quiet = Link {
            busy: share(0.0),
            ..link(at(Band::Five, Generation::Ax, width), 5.0, &[], 0)
        };
        let crowded = Link {
            crowd: share(0.2),
            ..quiet.clone()
        };
        let repeated = Link {
            relayed: true,
            ..quiet.clone()
        };
        let (before, signal) = drawn(&quiet);
        let (crowded, _) = drawn(&crowded);
        let (repeated, _) = drawn(&repeated);
        for draw in 0..64 {
            close(crowded[draw] / before[draw], 0.8_f64.powi(parts));
            close(repeated[draw] / before[draw], 0.5);
        }
        let lid = Link {
            weaker: Some(Known::stated("run.1.weaker", Spread::exact(12.0))),
            ..quiet
        };
        let (_, weaker) = drawn(&lid);
        for draw in 0..64 {
            close(signal[draw] - weaker[draw], 12.0);
        }
    }
}

/// A box that is told of at 5 GHz speaks at 2.4 GHz as far as that goes there.
#[test]
fn what_a_box_speaks_in_another_band_is_left_open() {
    let told = Spoken {
        band: Some(Band::Five),
        generation: Some(Generation::Ac),
        width: Some(Width::Eighty),
        streams: Some(2),
    };
    assert_eq!(told.seen_in(Band::Five), told);
    let there = told.seen_in(Band::Two);
    assert_eq!(there.generation, Some(Generation::N));
    assert_eq!((there.width, there.streams), (None, Some(2)));
    assert_eq!(told.seen_in(Band::Six).generation, None);
    let desk = Spoken { band: None, ..told };
    assert_eq!(desk.seen_in(Band::Two).width, None);
    assert_eq!(desk.seen_in(Band::Five).width, Some(Width::Eighty));
}
