//! What a radio link loses on its way: distance, walls and floors, and ways round them.

use crate::copper::Decibels;
use narrows_units::quantity::{Frequency, Length, units};

/// The speed of light, m/s (exact by the definition of the metre).
const LIGHT: f64 = 299_792_458.0;

fn hertz(frequency: Frequency) -> f64 {
    frequency.get::<units::frequency::hertz>()
}

fn in_metres(length: Length) -> f64 {
    length.get::<units::length::meter>()
}

/// Free space: `L = 20 log10(4 pi d f / c)`; far field, `d` above a few wavelengths.
/// Friis 1946. `validate_free_space` checks it.
pub fn free_space(distance: Length, frequency: Frequency) -> Decibels {
    let turns = 4.0 * std::f64::consts::PI * hertz(frequency) / LIGHT;
    Decibels(20.0 * libm::log10(turns * in_metres(distance)))
}

/// The straight way: free space to 1 m, then `10 n log10 d`, then every obstacle.
///
/// `L = 20 log10(4 pi f/c) + 10 n log10(max(d, 1)) + obstacles`; `d` with the height, `n` near 2
/// because walls and floors are counted one by one. Leaves out reflections, furniture and the
/// pattern of antennas, which are the shadow's. `validate_the_straight_way` checks it.
pub fn straight(
    distance: Length,
    frequency: Frequency,
    exponent: f64,
    obstacles: Decibels,
) -> Decibels {
    let far = libm::fmax(in_metres(distance), 1.0);
    let one = free_space(narrows_units::quantity::metres(1.0), frequency);
    one + Decibels(10.0 * exponent * libm::log10(far)) + obstacles
}

/// Several ways at once: their powers add, `L = -10 log10 sum 10^(-Li/10)`; none of no way.
/// `validate_ways_round` checks it.
pub fn together(ways: impl IntoIterator<Item = Decibels>) -> Option<Decibels> {
    let sum: f64 = ways
        .into_iter()
        .map(|loss| libm::exp(-loss.0 * std::f64::consts::LN_10 / 10.0))
        .sum();
    (sum > 0.0).then(|| Decibels(-10.0 * libm::log10(sum)))
}

/// Buildings that ITU-R P.1238 tells apart, up to its edition 8.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Building {
    /// A home or a flat.
    Home,
    /// Offices.
    Office,
}

/// Where nothing is said of the walls: they are inside the slope.
///
/// `L = 20 log10 f + N log10 d + Lf - 28`, `f` in MHz, `d` above 1 m, `Lf` the floors. `N` is 28
/// in homes and 30 to 31 in offices. ITU-R P.1238-8 section 3; scatter 8 to 12 dB.
/// `validate_a_slope_with_its_walls` checks it.
pub fn with_its_walls(
    distance: Length,
    frequency: Frequency,
    slope: f64,
    floors: Decibels,
) -> Decibels {
    let far = libm::fmax(in_metres(distance), 1.0);
    Decibels(20.0 * libm::log10(hertz(frequency) / 1e6) + slope * libm::log10(far) - 28.0) + floors
}

/// The slope of [`with_its_walls`]: ITU-R P.1238-8 table 2.
pub fn slope(building: Building, frequency: Frequency) -> f64 {
    match building {
        Building::Home => 28.0,
        Building::Office if hertz(frequency) < 4e9 => 30.0,
        Building::Office => 31.0,
    }
}

/// The floors of [`with_its_walls`]: ITU-R P.1238-8 table 3; one floor of 13 dB in flats and 16
/// in offices at 5.2 GHz, 10 and 14 at 2.4. A second floor costs 6 dB more (5.8 GHz offices: 22
/// and 28), a third as much again.
pub fn floors(building: Building, frequency: Frequency, count: usize) -> Decibels {
    if count == 0 {
        return Decibels(0.0);
    }
    let first = match (building, hertz(frequency) < 4e9) {
        (Building::Home, true) => 10.0,
        (Building::Home, false) => 13.0,
        (Building::Office, true) => 14.0,
        (Building::Office, false) => 16.0,
    };
    Decibels(first + 6.0 * (count as f64 - 1.0))
}

/// Settings that ITU-R P.1238-11 table 2 has measurements of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Setting {
    /// An office, in sight; 2 to 27 m.
    OfficeInSight,
    /// An office, not in sight; 4 to 30 m.
    OfficeNotInSight,
    /// A corridor, in sight; 2 to 160 m.
    CorridorInSight,
    /// A corridor, not in sight; 4 to 94 m.
    CorridorNotInSight,
}

/// Median loss and scatter of a setting: `L = 10 a log10 d + b + 10 c log10 f`, `f` in GHz.
/// ITU-R P.1238-11 table 2. `validate_settings` checks it.
pub fn of_setting(
    setting: Setting,
    distance: Length,
    frequency: Frequency,
) -> (Decibels, Decibels) {
    let (a, b, c, scatter) = match setting {
        Setting::OfficeInSight => (1.46, 34.62, 2.03, 3.76),
        Setting::OfficeNotInSight => (2.46, 29.53, 2.38, 5.04),
        Setting::CorridorInSight => (1.63, 28.12, 2.25, 4.07),
        Setting::CorridorNotInSight => (2.77, 29.27, 2.48, 7.63),
    };
    let far = 10.0 * a * libm::log10(in_metres(distance));
    let high = 10.0 * c * libm::log10(hertz(frequency) / 1e9);
    (Decibels(far + b + high), Decibels(scatter))
}

/// The multi-wall model of COST 231 (final report, 4.7.2) at 1800 MHz: free space, 3.4 dB a light
/// wall, 6.9 dB a heavy one, and floors that grow less than in proportion.
/// `validate_many_walls` checks it.
pub fn many_walls(
    distance: Length,
    frequency: Frequency,
    (light, heavy): (usize, usize),
    floors: usize,
) -> Decibels {
    let k = floors as f64;
    let through = if floors == 0 {
        0.0
    } else {
        18.3 * libm::pow(k, (k + 2.0) / (k + 1.0) - 0.46)
    };
    free_space(distance, frequency) + Decibels(3.4 * light as f64 + 6.9 * heavy as f64 + through)
}
