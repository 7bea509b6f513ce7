mod bounds;
mod events;
mod properties;

use super::admit::admit;
use super::*;
use crate::catalogue::Catalogue;
use crate::quantity::{DataRate, Frequency, Ratio, Time, ratio, seconds, units};
use approx::assert_relative_eq;

/// Vectors print six digits: half a unit of the last one, relative to the smallest leading digit.
pub(super) const SIX_DIGITS: f64 = 5e-6;

#[test]
fn verify_few_streams_are_those_of_the_catalogue() {
    let catalogue = Catalogue::embedded().unwrap();
    let row = catalogue.number("room.few-streams").unwrap();
    assert_relative_eq!(f64::from(FEW_STREAMS), row.likely);
}

pub(super) fn megabits(rate: f64) -> DataRate {
    DataRate::new::<units::data_rate::megabit_per_second>(rate)
}

pub(super) fn an_hour(count: f64) -> Frequency {
    Frequency::new::<units::frequency::per_hour>(count)
}

pub(super) fn per_hour(frequency: Frequency) -> f64 {
    frequency.get::<units::frequency::per_hour>()
}

pub(super) fn one(value: Ratio) -> f64 {
    value.get::<units::ratio::one>()
}

pub(super) fn in_seconds(time: Time) -> f64 {
    time.get::<units::time::second>()
}

pub(super) fn stream(rate: f64, active: f64, spell: f64) -> Stream {
    Stream {
        rate: megabits(rate),
        active: ratio(active),
        spell: seconds(spell),
    }
}

pub(super) fn crowd(capacity: f64, streams: &[Stream]) -> Crowd {
    let mut crowd = Crowd::on(megabits(capacity)).unwrap();
    for stream in streams {
        crowd.add(*stream).unwrap();
    }
    crowd
}

fn editors(count: usize) -> Vec<Stream> {
    vec![stream(880.0, 0.4, 20.0); count]
}

#[test]
fn validate_chances_of_ten_editors() {
    for (count, capacity, chance) in [
        (10, 6600.0, 0.0122946),
        (10, 7000.0, 0.0122946),
        (20, 12000.0, 0.00646588),
    ] {
        let found = crowd(capacity, &editors(count)).overload();
        assert_relative_eq!(one(found.chance), chance, max_relative = SIX_DIGITS);
    }
    // 7040 Mb/s is exactly eight of them: level with it is not above it
    let (at, below) = (crowd(7040.0, &editors(10)), crowd(7039.0, &editors(10)));
    assert!(at.overload().chance < below.overload().chance);
    assert_relative_eq!(
        one(below.overload().chance),
        0.0122946,
        max_relative = SIX_DIGITS
    );
}

#[test]
fn validate_spells_of_ten_editors() {
    let found = crowd(6600.0, &editors(10)).overload();
    assert_relative_eq!(per_hour(found.spells), 15.2882, max_relative = SIX_DIGITS);
    let spell = found.spell.unwrap();
    assert_relative_eq!(in_seconds(spell), 2.89506, max_relative = SIX_DIGITS);
    let demand = found.demand.unwrap();
    let demand = demand.get::<units::data_rate::megabit_per_second>();
    assert_relative_eq!(demand, 7167.59, max_relative = SIX_DIGITS);
    for (ahead, stalls) in [(0.25, 5.13766), (0.5, 1.72653), (1.0, 0.194979)] {
        let found = per_hour(found.stalls(seconds(ahead)));
        assert_relative_eq!(found, stalls, max_relative = SIX_DIGITS);
    }
}

#[test]
fn validate_a_mixed_crowd() {
    let mut streams = vec![stream(608.0, 0.3, 30.0); 4];
    streams.extend([stream(1768.0, 0.5, 45.0); 2]);
    streams.push(stream(3000.0, 0.3, 600.0));
    for (capacity, chance, spells, spell) in [
        (6000.0, 0.0875550, 16.6077, 18.979),
        (7000.0, 0.0582075, 13.7556, 15.2335),
        (8000.0, 0.00627750, 3.08326, 7.32957),
    ] {
        let found = crowd(capacity, &streams).overload();
        assert_relative_eq!(one(found.chance), chance, max_relative = SIX_DIGITS);
        assert_relative_eq!(per_hour(found.spells), spells, max_relative = SIX_DIGITS);
        // the first of them is printed at five digits
        let found = in_seconds(found.spell.unwrap());
        assert_relative_eq!(found, spell, max_relative = 10.0 * SIX_DIGITS);
    }
    let found = crowd(8000.0, &streams).overload();
    for (ahead, stalls) in [(1.0, 0.198615), (2.0, 0.0127942), (4.0, 5.30904e-5)] {
        let found = per_hour(found.stalls(seconds(ahead)));
        assert_relative_eq!(found, stalls, max_relative = SIX_DIGITS);
    }
}

#[test]
fn validate_editors_let_in() {
    // streams that the path carries; at most one spell an hour, and one in eight hours
    let rows = [
        (
            0.25,
            [
                (2, 2, 2),
                (4, 5, 4),
                (6, 8, 7),
                (9, 14, 12),
                (12, 21, 18),
                (20, 41, 37),
                (40, 98, 91),
            ],
        ),
        (
            0.40,
            [
                (2, 2, 2),
                (4, 4, 4),
                (6, 6, 6),
                (9, 10, 9),
                (12, 15, 13),
                (20, 28, 26),
                (40, 65, 61),
            ],
        ),
        (
            0.60,
            [
                (2, 2, 2),
                (4, 4, 4),
                (6, 6, 6),
                (9, 9, 9),
                (12, 12, 12),
                (20, 22, 21),
                (40, 48, 46),
            ],
        ),
    ];
    for (active, row) in rows {
        for (carries, an_hour_one, in_eight) in row {
            for (spells, editors) in [(1.0, an_hour_one), (0.125, in_eight)] {
                // one step a stream: the counts do not depend on the rate
                let (capacity, one) = (megabits(f64::from(carries)), stream(1.0, active, 20.0));
                let limits = Limits {
                    spells: an_hour(spells),
                    chance: ratio(1.0),
                };
                let found = admit(capacity, &[], one, limits, carries).unwrap();
                assert_eq!(found.more(), editors, "{active} {carries} {spells}");
                assert_eq!(peak_rule(capacity, megabits(0.0), one.rate), carries);
            }
        }
    }
}

fn usual() -> Limits {
    Limits::usual(&Catalogue::embedded().unwrap()).unwrap()
}

#[test]
fn few_streams_are_counted_at_once() {
    let one = stream(880.0, 0.25, 20.0);
    // 6.8 of them: the exact law would let eight in
    assert_eq!(
        room(megabits(6000.0), &[], one, usual()),
        Ok(Room::Peak { more: 6 })
    );
    assert_eq!(
        room(megabits(6000.0), &[one; 4], one, usual()),
        Ok(Room::Peak { more: 2 })
    );
    let seven = room(megabits(6160.0), &[], one, usual()).unwrap();
    let Room::Crowd {
        more,
        at_once,
        with,
        beyond,
    } = seven
    else {
        panic!("{seven:?}");
    };
    assert_eq!(at_once, 7);
    assert!(more > 7);
    assert!(with.spells <= usual().spells);
    assert!(beyond.unwrap().spells > usual().spells);
}

#[test]
fn a_permanent_overload_lets_nobody_in() {
    // nobody ever starts, so no spell ever begins; it is the share of the time that says it
    let there = vec![stream(100.0, 1.0, 1e6); 60];
    let found = room(megabits(4000.0), &there, stream(100.0, 1.0, 1e6), usual()).unwrap();
    assert_eq!(found.more(), 0);
    // of desks that pause, the first violation counts: forty on a path for four begin no spell either
    let forty = crowd(4.0, &[stream(1.0, 0.4, 20.0); 40]).overload();
    let eight = crowd(4.0, &[stream(1.0, 0.4, 20.0); 8]).overload();
    assert_relative_eq!(per_hour(eight.spells), 111.477, max_relative = SIX_DIGITS);
    assert!((per_hour(forty.spells) - 0.104).abs() < 0.0005);
    assert!(one(forty.chance) > 0.999);
}

#[test]
fn the_grid_never_flatters() {
    // 10.5 Mb/s take eleven steps, and 21.9 of capacity are twenty-one
    let found = crowd(21.9, &[stream(10.5, 0.5, 1.0), stream(10.5, 0.5, 1.0)]).overload();
    assert_relative_eq!(one(found.chance), 0.25);
    let whole = crowd(21.0, &[stream(10.0, 0.5, 1.0), stream(10.0, 0.5, 1.0)]).overload();
    assert_relative_eq!(one(whole.chance), 0.0);
    assert_eq!(whole.spell, None);
    assert_relative_eq!(per_hour(whole.stalls(seconds(0.0))), 0.0);
    // a whole number of steps that arithmetic made a little more stays what it is
    let third = stream(0.1 + 0.2 + 0.7, 0.5, 1.0);
    assert_relative_eq!(one(crowd(1.0, &[third]).overload().chance), 0.0);
}

#[test]
fn numbers_out_of_range_are_refused() {
    let good = stream(100.0, 0.4, 20.0);
    let limits = usual();
    for (bad, fault) in [
        (stream(0.0, 0.4, 20.0), StreamFault::Rate),
        (stream(2e6, 0.4, 20.0), StreamFault::Rate),
        (stream(f64::NAN, 0.4, 20.0), StreamFault::Rate),
        (stream(100.0, 0.0, 20.0), StreamFault::Active),
        (stream(100.0, 1.1, 20.0), StreamFault::Active),
        (stream(100.0, 0.4, 0.0), StreamFault::Spell),
        (stream(100.0, 0.4, f64::INFINITY), StreamFault::Spell),
    ] {
        assert_eq!(room(megabits(1e4), &[], bad, limits), Err(fault));
        assert_eq!(room(megabits(1e4), &[bad], good, limits), Err(fault));
    }
    assert_eq!(
        room(megabits(2e6), &[], good, limits),
        Err(StreamFault::Rate)
    );
    assert_eq!(
        peak_rule(megabits(100.0), megabits(200.0), megabits(10.0)),
        0
    );
    assert_eq!(
        peak_rule(megabits(300.0), megabits(0.0), megabits(0.1 + 0.2) * 1000.0),
        1
    );
}
