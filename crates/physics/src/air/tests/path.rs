use super::close;
use crate::air::{
    Band, Building, Setting, floors, free_space, many_walls, of_setting, slope, straight, together,
    with_its_walls,
};
use crate::copper::{Decibels, megahertz};
use narrows_units::quantity::metres;
use proptest::prelude::*;

#[test]
fn validate_free_space() {
    for (band, expected) in [
        (Band::Two, [40.1956, 49.7380, 60.1956, 66.2162]),
        (Band::Five, [47.2550, 56.7975, 67.2550, 73.2756]),
        (Band::Six, [48.7061, 58.2485, 68.7061, 74.7267]),
    ] {
        for (distance, expected) in [1.0, 3.0, 10.0, 20.0].into_iter().zip(expected) {
            close(free_space(metres(distance), band.middle()).0, expected);
        }
    }
}

/// ITU-R P.1238-8 at 10 m.
#[test]
fn validate_a_slope_with_its_walls() {
    let ten = |mhz, n, floors| with_its_walls(metres(10.0), megahertz(mhz), n, Decibels(floors)).0;
    close(ten(2400.0, 30.0, 0.0), 69.6042);
    close(ten(5200.0, 31.0, 0.0), 77.3201);
    close(ten(5200.0, 31.0, 16.0), 93.3201);
    close(ten(5800.0, 28.0, 13.0), 88.2686);
    close(slope(Building::Home, megahertz(5200.0)), 28.0);
    close(slope(Building::Office, megahertz(2400.0)), 30.0);
    close(slope(Building::Office, megahertz(5200.0)), 31.0);
    assert_eq!(
        floors(Building::Office, megahertz(5200.0), 1),
        Decibels(16.0)
    );
    assert_eq!(
        floors(Building::Office, megahertz(2400.0), 1),
        Decibels(14.0)
    );
    assert_eq!(floors(Building::Home, megahertz(2400.0), 1), Decibels(10.0));
    assert_eq!(floors(Building::Home, megahertz(5200.0), 0), Decibels(0.0));
    let two = floors(Building::Office, megahertz(5800.0), 2);
    close(
        (two - floors(Building::Office, megahertz(5800.0), 1)).0,
        6.0,
    );
}

/// ITU-R P.1238-11 table 2 at 10 m.
#[test]
fn validate_settings() {
    for (setting, expected, scatter) in [
        (Setting::OfficeInSight, [57.0840, 64.2494, 65.7221], 3.76),
        (Setting::OfficeNotInSight, [63.3499, 71.7506, 73.4773], 5.04),
        (Setting::CorridorInSight, [53.1363, 61.0782, 62.7106], 4.07),
        (
            Setting::CorridorNotInSight,
            [66.5773, 75.3310, 77.1303],
            7.63,
        ),
    ] {
        for (band, expected) in Band::ALL.into_iter().zip(expected) {
            let (median, spread) = of_setting(setting, metres(10.0), band.middle());
            close(median.0, expected);
            close(spread.0, scatter);
        }
    }
}

/// COST 231 final report, 4.7.2.
#[test]
fn validate_many_walls() {
    let at = |walls, floors| many_walls(metres(10.0), Band::Two.middle(), walls, floors).0;
    close(at((0, 0), 0), 60.1956);
    close(at((1, 1), 0), 70.4956);
    close(at((1, 1), 1), 88.7956);
    for (floors, expected) in [(1, 18.3), (2, 33.5236), (3, 43.5890), (4, 51.0476)] {
        close(at((0, 0), floors) - at((0, 0), 0), expected);
    }
}

#[test]
fn validate_the_straight_way() {
    let wall = Decibels(10.0);
    close(
        straight(metres(8.0), Band::Five.middle(), 2.0, wall).0,
        75.3168,
    );
    // nearer than a metre is as at a metre
    let near = straight(metres(0.2), Band::Five.middle(), 2.0, Decibels(0.0));
    close(near.0, 47.2550);
}

#[test]
fn validate_ways_round() {
    let way = |metre, walls| straight(metres(metre), Band::Five.middle(), 2.0, Decibels(walls));
    let both = |a, b| together([a, b]).unwrap().0;
    let (through, stairs) = (way(6.0, 25.0), way(14.0, 3.0 + 2.0 * 8.0));
    close(through.0, 87.8181);
    close(stairs.0, 89.1776);
    close(both(through, stairs), 85.4345);
    let (through, stairs) = (way(8.0, 50.0), way(22.0, 2.0 * 3.0 + 3.0 * 8.0));
    close(through.0, 115.317);
    close(stairs.0, 104.103);
    close(both(through, stairs), 103.787);
    close(both(Decibels(90.0), Decibels(90.0)), 86.9897);
    assert!(together([]).is_none());
}

proptest! {
    /// More wall, more distance never help; two ways are no worse than the better one, and no
    /// more than twice as strong.
    #[test]
    fn more_loss_never_helps(
        d in 1.0..60.0_f64, further in 0.0..30.0_f64, wall in 0.0..60.0_f64, more in 0.0..40.0_f64,
        n in 1.8..2.4_f64,
    ) {
        let f = Band::Five.middle();
        let first = straight(metres(d), f, n, Decibels(wall));
        prop_assert!(straight(metres(d + further), f, n, Decibels(wall)) >= first);
        let second = straight(metres(d), f, n, Decibels(wall + more));
        prop_assert!(second >= first);
        let both = together([first, second]).unwrap();
        prop_assert!(both.0 <= first.0 + 1e-9 && both.0 >= first.0 - 3.0103 - 1e-4);
    }
}
