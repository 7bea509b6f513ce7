//! From a signal to a rate: noise, sensitivity, streams, and the whole chain.

use super::{PRINTED, close, rate};
use crate::air::{
    Generation, Ladder, Needed, Phy, Sender, Width, clean, noise, of_a_stream, sensitivity,
};
use crate::copper::{DecibelMilliwatts, Decibels};
use narrows_units::catalogue::Catalogue;
use proptest::prelude::*;

use Generation::{Ac, Ax, Be};
use Width::{Eighty, Forty, OneSixty, ThreeTwenty, Twenty};

/// Noise figures of 4, 6 and 9 dB.
#[test]
fn validate_noise() {
    for (width, figures) in [
        (Twenty, [-96.9897, -94.9897, -91.9897]),
        (Forty, [-93.9794, -91.9794, -88.9794]),
        (Eighty, [-90.9691, -88.9691, -85.9691]),
        (OneSixty, [-87.9588, -85.9588, -82.9588]),
        (ThreeTwenty, [-84.9485, -82.9485, -79.9485]),
    ] {
        for (figure, expected) in [4.0, 6.0, 9.0].into_iter().zip(figures) {
            close(noise(width, Decibels(figure)).0, expected);
        }
    }
}

/// IEEE 802.11-2020 tables 19-23, 21-25, 27-51.
#[test]
fn validate_least_sensitivity() {
    let table = [
        (0, [-82.0, -79.0, -76.0, -73.0, -70.0]),
        (4, [-70.0, -67.0, -64.0, -61.0, -58.0]),
        (7, [-64.0, -61.0, -58.0, -55.0, -52.0]),
        (9, [-57.0, -54.0, -51.0, -48.0, -45.0]),
        (11, [-52.0, -49.0, -46.0, -43.0, -40.0]),
        (13, [-46.0, -43.0, -40.0, -37.0, -34.0]),
    ];
    for (mcs, row) in table {
        for (width, expected) in Width::ALL.into_iter().zip(row) {
            assert_eq!(sensitivity(mcs, width), Some(DecibelMilliwatts(expected)));
        }
    }
    assert_eq!(sensitivity(14, Twenty), None);
}

fn needed() -> Needed {
    Needed::new(&Catalogue::embedded().unwrap()).unwrap()
}

/// Two independent roads to what a scheme needs: published loss curves and 5 dB, and the
/// standard's sensitivities with its own noise figure of 10 dB and 5 dB of implementation loss.
#[test]
fn validate_curves_against_the_standard() {
    let expected = [
        -4.61, -4.60, -4.13, -4.07, -5.06, -4.86, -4.51, -3.99, -5.31, -5.51, -5.19, -5.10,
    ];
    let floor = noise(Twenty, Decibels(10.0));
    for (mcs, expected) in expected.into_iter().enumerate() {
        let implied = sensitivity(mcs, Twenty).unwrap() - floor - Decibels(5.0);
        let found = needed().ideal(mcs).unwrap() - implied;
        assert!((found.0 - expected).abs() < 6e-3, "{mcs}: {found}");
    }
    // a real receiver: noise figure 6, implementation 3
    for (mcs, printed) in [
        (0, -92.61),
        (4, -81.06),
        (7, -73.99),
        (9, -68.51),
        (11, -63.10),
    ] {
        let found = noise(Twenty, Decibels(6.0)) + needed().ideal(mcs).unwrap() + Decibels(3.0);
        assert!((found.0 - printed).abs() < 6e-3, "{mcs}: {found}");
    }
}

#[test]
fn validate_streams() {
    for (antennas, streams, expected) in [
        (1, 1, 0.0),
        (2, 1, 3.0103),
        (2, 2, -3.0103),
        (4, 1, 6.0206),
        (4, 2, 1.76091),
        (3, 3, -4.77121),
    ] {
        close(of_a_stream(antennas, streams).unwrap().0, expected);
    }
    assert!(of_a_stream(1, 2).is_none() && of_a_stream(2, 0).is_none());
}

fn ladder(generation: Generation, width: Width) -> Ladder {
    Ladder::new(&needed(), (generation, width), 2, 2)
}

/// Two antennas, two streams, margin 5 dB.
#[test]
fn validate_what_a_signal_allows() {
    let ac = [
        (65.0, 1, 1),
        (130.0, 1, 3),
        (195.0, 1, 4),
        (390.0, 2, 4),
        (520.0, 2, 5),
        (650.0, 2, 7),
        (866.667, 2, 9),
        (866.667, 2, 9),
        (866.667, 2, 9),
    ];
    let ax = [
        (72.0588, 1, 1),
        (144.118, 1, 3),
        (216.176, 1, 4),
        (432.353, 2, 4),
        (576.471, 2, 5),
        (720.588, 2, 7),
        (960.784, 2, 9),
        (1080.88, 2, 10),
        (1200.98, 2, 11),
    ];
    for (at, ((r_ac, s_ac, m_ac), (r_ax, s_ax, m_ax))) in ac.into_iter().zip(ax).enumerate() {
        let snr = Decibels(5.0 + 5.0 * at as f64);
        let way = ladder(Ac, Eighty).chosen(snr, Decibels(5.0)).unwrap();
        close(way.rate().0, r_ac);
        assert_eq!((way.streams, way.mcs), (s_ac, m_ac), "{snr}");
        let way = ladder(Ax, Eighty).chosen(snr, Decibels(5.0)).unwrap();
        close(way.rate().0, r_ax);
        assert_eq!((way.streams, way.mcs), (s_ax, m_ax), "{snr}");
        let wide = ladder(Ax, OneSixty).chosen(snr, Decibels(5.0)).unwrap();
        close(wide.rate().0, 2.0 * r_ax);
    }
    assert!(
        ladder(Ax, Eighty)
            .chosen(Decibels(0.0), Decibels(5.0))
            .is_none()
    );
}

/// Signal to MB/s: noise figure 6, margin 5, field 0.78, a tenth of the air busy.
#[test]
#[allow(clippy::too_many_lines)] // one table
fn validate_signal_to_rate() {
    type Row = (f64, [(f64, f64, usize, usize); 5]);
    let rows: &[Row] = &[
        (
            -40.0,
            [
                (866.7, 54.4, 2, 9),
                (286.8, 18.5, 2, 11),
                (1201.0, 77.5, 2, 11),
                (2402.0, 135.2, 2, 11),
                (4803.9, 303.4, 2, 11),
            ],
        ),
        (
            -50.0,
            [
                (866.7, 54.4, 2, 9),
                (286.8, 18.5, 2, 11),
                (960.8, 62.0, 2, 9),
                (1921.6, 114.2, 2, 9),
                (3458.8, 218.2, 2, 8),
            ],
        ),
        (
            -55.0,
            [
                (780.0, 50.0, 2, 8),
                (258.1, 16.7, 2, 10),
                (864.7, 55.7, 2, 8),
                (1441.2, 91.3, 2, 7),
                (2594.1, 165.5, 2, 6),
            ],
        ),
        (
            -60.0,
            [
                (650.0, 43.0, 2, 7),
                (229.4, 14.8, 2, 9),
                (720.6, 46.4, 2, 7),
                (1297.1, 83.8, 2, 6),
                (1729.4, 110.2, 2, 4),
            ],
        ),
        (
            -65.0,
            [
                (390.0, 25.8, 2, 4),
                (172.1, 11.1, 2, 7),
                (432.4, 27.9, 2, 4),
                (864.7, 55.7, 2, 4),
                (1152.9, 74.0, 2, 3),
            ],
        ),
        (
            -70.0,
            [
                (390.0, 25.8, 2, 4),
                (137.6, 8.9, 2, 5),
                (432.4, 27.9, 2, 4),
                (576.5, 37.2, 2, 3),
                (864.7, 55.8, 1, 4),
            ],
        ),
        (
            -75.0,
            [
                (195.0, 12.9, 1, 4),
                (103.2, 6.7, 2, 4),
                (216.2, 14.1, 1, 4),
                (288.2, 18.7, 1, 3),
                (432.4, 28.0, 1, 2),
            ],
        ),
        (
            -80.0,
            [
                (97.5, 6.4, 1, 2),
                (51.6, 3.4, 1, 4),
                (108.1, 7.0, 1, 2),
                (144.1, 9.4, 1, 1),
                (144.1, 9.3, 1, 0),
            ],
        ),
    ];
    let kinds = [
        (Ac, Eighty),
        (Ax, Twenty),
        (Ax, Eighty),
        (Ax, OneSixty),
        (Be, ThreeTwenty),
    ];
    for (signal, row) in rows {
        for ((generation, width), (shown, carried, streams, mcs)) in kinds.into_iter().zip(*row) {
            let snr = DecibelMilliwatts(*signal) - noise(width, Decibels(6.0));
            let way = ladder(generation, width)
                .chosen(snr, Decibels(5.0))
                .unwrap();
            assert!((way.rate().0 - shown).abs() < PRINTED, "{signal} {way:?}");
            assert_eq!((way.streams, way.mcs), (streams, mcs), "{signal} {way:?}");
            let found = clean(way, way, Sender::usual(generation)).rate * 0.78 * 0.9;
            let found = narrows_units::quantity::in_megabytes_per_second(found);
            assert!(
                (found - carried).abs() < PRINTED,
                "{signal} {way:?}: {found}"
            );
        }
    }
    for (kind, link) in [
        ((Ax, OneSixty), false),
        ((Be, ThreeTwenty), false),
        ((Ax, Eighty), true),
    ] {
        let snr = DecibelMilliwatts(-85.0) - noise(kind.1, Decibels(6.0));
        assert_eq!(
            ladder(kind.0, kind.1).chosen(snr, Decibels(5.0)).is_some(),
            link
        );
    }
}

/// The weakest signal at which so many MB/s come: margin 5, noise figure 6, field 0.78, idle air.
#[test]
fn validate_signal_needed() {
    type Row = (f64, &'static [(Generation, Width, f64)]);
    let asked: &[Row] = &[
        (
            12.5,
            &[
                (Ac, Eighty, -76.10),
                (Ax, Twenty, -62.30),
                (Ax, Forty, -73.04),
                (Ax, Eighty, -76.10),
                (Ax, OneSixty, -79.11),
                (Be, ThreeTwenty, -78.57),
            ],
        ),
        (
            25.0,
            &[
                (Ac, Eighty, -70.02),
                (Ax, Forty, -59.29),
                (Ax, Eighty, -70.02),
                (Ax, OneSixty, -73.09),
                (Be, ThreeTwenty, -76.10),
            ],
        ),
        (
            50.0,
            &[
                (Ac, Eighty, -56.28),
                (Ax, Eighty, -60.96),
                (Ax, OneSixty, -67.01),
                (Be, ThreeTwenty, -70.08),
            ],
        ),
        (
            75.0,
            &[
                (Ax, Eighty, -49.16),
                (Ax, OneSixty, -61.82),
                (Be, ThreeTwenty, -67.02),
            ],
        ),
        (100.0, &[(Ax, OneSixty, -57.95), (Be, ThreeTwenty, -64.00)]),
        (150.0, &[(Ax, OneSixty, -44.06), (Be, ThreeTwenty, -58.81)]),
    ];
    for (need, cells) in asked {
        for &(generation, width, expected) in *cells {
            let reaches = |signal: f64| {
                let snr = DecibelMilliwatts(signal) - noise(width, Decibels(6.0));
                let way = ladder(generation, width).chosen(snr, Decibels(5.0));
                way.is_some_and(|way| {
                    let rate = clean(way, way, Sender::usual(generation)).rate * 0.78;
                    narrows_units::quantity::in_megabytes_per_second(rate) >= *need
                })
            };
            // printed to a hundredth of a decibel
            assert!(reaches(expected + 0.006), "{need} {generation:?} {width:?}");
            assert!(
                !reaches(expected - 0.006),
                "{need} {generation:?} {width:?}"
            );
        }
    }
}

/// The whole chain by hand: 5.5 GHz, 6 m, 20 cm of concrete, everything at its likely value.
#[test]
fn validate_the_whole_chain() {
    let loss = crate::air::straight(
        narrows_units::quantity::metres(6.0),
        crate::air::Band::Five.middle(),
        2.0,
        Decibels(25.0),
    );
    close(loss.0, 87.8181);
    let signal = DecibelMilliwatts(20.0) - Decibels(3.0) - loss;
    close(signal.0, -70.8181);
    let snr = signal - noise(Eighty, Decibels(6.0));
    close(snr.0, 18.1510);
    let way = ladder(Ax, Eighty).chosen(snr, Decibels(5.0)).unwrap();
    assert_eq!((way.streams, way.mcs), (1, 5));
    close(way.rate().0, 288.235);
    let carried = clean(way, way, Sender::usual(Ax)).rate;
    rate(carried, 26.7000);
    rate(carried * 0.78 * 0.9, 18.7434);
    let two = Phy::new(Ax, Eighty, 2, 3).unwrap();
    rate(clean(two, two, Sender::usual(Ax)).rate, 26.5740);
}

proptest! {
    /// A better signal, a smaller margin, another stream never make a link slower on the air.
    #[test]
    fn more_signal_never_shows_a_lower_rate(
        snr in -10.0..60.0_f64, more in 0.0..20.0_f64, margin in 0.0..12.0_f64,
        generation in 0..4_usize, width in 0..5_usize, streams in 1..5_usize,
    ) {
        let (generation, width) = (Generation::ALL[generation], Width::ALL[width]);
        let width = width.min(generation.widest());
        let needed = needed();
        let shown = |snr, streams| {
            Ladder::new(&needed, (generation, width), streams, 4)
                .chosen(Decibels(snr), Decibels(margin))
                .map_or(0.0, |way| way.rate().0)
        };
        prop_assert!(shown(snr + more, streams) >= shown(snr, streams));
        prop_assert!(shown(snr, streams) + 1e-9 >= shown(snr, streams - 1));
    }
}
