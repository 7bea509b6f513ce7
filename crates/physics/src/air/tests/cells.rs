use super::{close, rate};
use crate::air::{
    Band, Width, busy_twice_as_wide, channels, heard_from, in_turn, parts_them, plan, straight,
};
use crate::copper::{DecibelMilliwatts, Decibels};
use narrows_units::quantity::{Measure, megabytes_per_second, metres, ratio};
use proptest::prelude::*;

/// IEEE 802.11-2020: from 20 dBm, cells part at 102 dB of loss in 20 MHz.
#[test]
fn validate_who_hears_whom() {
    for (width, expected) in [
        (Width::Twenty, -82.0),
        (Width::Forty, -79.0),
        (Width::Eighty, -76.0),
        (Width::OneSixty, -73.0),
        (Width::ThreeTwenty, -73.0),
    ] {
        assert_eq!(heard_from(width), DecibelMilliwatts(expected));
    }
    let most = parts_them(DecibelMilliwatts(20.0), Width::Twenty);
    close(most.0, 102.0);
    let loss = |metre, floors| {
        straight(
            metres(metre),
            Band::Five.middle(),
            2.0,
            Decibels(25.0 * floors),
        )
        .0
    };
    for (metre, floors) in [(546.070, 0.0), (30.7078, 1.0), (1.72682, 2.0)] {
        close(loss(metre, floors), most.0);
    }
    // energy alone, from -62 dBm
    close(loss(3.07078, 1.0), 82.0);
}

#[test]
fn validate_numbers_of_channels() {
    let at = |band, radar| Width::ALL.map(|width| channels(band, width, radar));
    assert_eq!(at(Band::Two, true), [3, 1, 0, 0, 0]);
    assert_eq!(at(Band::Five, true), [19, 9, 4, 2, 0]);
    assert_eq!(at(Band::Five, false), [4, 2, 1, 0, 0]);
    assert_eq!(at(Band::Six, false), [24, 12, 6, 3, 1]);
}

#[test]
fn validate_busy_air_of_wide_channels() {
    close(busy_twice_as_wide(ratio(0.1)).base(), 0.19);
    close(busy_twice_as_wide(ratio(0.0)).base(), 0.0);
}

#[test]
fn validate_relays() {
    let of = |rates: &[f64]| {
        let rates: Vec<_> = rates.iter().map(|r| megabytes_per_second(*r)).collect();
        in_turn(&rates)
    };
    rate(of(&[86.0, 86.0]).unwrap(), 43.0);
    rate(of(&[86.0, 86.0, 86.0]).unwrap(), 28.6667);
    rate(of(&[100.0, 60.0]).unwrap(), 37.5);
    assert!(of(&[]).is_none());
}

fn cost(hears: &[Vec<f64>], channels: &[usize]) -> f64 {
    let mut sum = 0.0;
    for i in 0..channels.len() {
        for j in 0..i {
            if channels[i] == channels[j] {
                sum += hears[i][j];
            }
        }
    }
    sum
}

proptest! {
    /// Against every assignment there is.
    #[test]
    #[allow(clippy::needless_range_loop)] // a table is filled on both sides
    fn verify_channel_plans(
        losses in proptest::collection::vec(0.0..1.0_f64, 15), cells in 1..6_usize, count in 1..4_usize,
    ) {
        let mut hears = vec![vec![0.0; cells]; cells];
        let mut losses = losses.into_iter();
        for i in 0..cells {
            for j in 0..i {
                let loss = losses.next().unwrap();
                hears[i][j] = loss;
                hears[j][i] = loss;
            }
        }
        let found = plan(&hears, count);
        prop_assert!(found.iter().all(|c| (1..=count).contains(c)));
        let mut best = f64::INFINITY;
        for code in 0..count.pow(cells as u32) {
            let mut rest = code;
            let all: Vec<usize> = (0..cells)
                .map(|_| {
                    let channel = rest % count + 1;
                    rest /= count;
                    channel
                })
                .collect();
            best = best.min(cost(&hears, &all));
        }
        prop_assert!((cost(&hears, &found) - best).abs() < 1e-9);
    }
}
