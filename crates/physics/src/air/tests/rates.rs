use super::{close, rate};
use crate::air::{
    AirRate, Generation, Guard, Ladder, Needed, Phy, SCHEMES, Sender, Width, candidates, clean,
    noise, of_a_stream, sensitivity,
};
use crate::copper::{DecibelMilliwatts, Decibels};
use narrows_units::catalogue::Catalogue;
use proptest::prelude::*;

use Generation::{Ac, Ax, Be, N};
use Width::{Eighty, Forty, OneSixty, ThreeTwenty, Twenty};

/// Rates are printed to a tenth of a megabit or better.
const PRINTED: f64 = 0.051;

fn one(generation: Generation, width: Width, guard: Guard) -> Vec<f64> {
    (0..SCHEMES)
        .filter_map(|mcs| Phy::with_guard(generation, width, 1, mcs, guard))
        .map(|phy| phy.rate().0)
        .collect()
}

/// IEEE 802.11-2020 tables 19-27 to 19-41, 21-30 to 21-61, 27-61 and on: one stream.
#[test]
#[allow(clippy::too_many_lines)] // one table
fn validate_rates_on_the_air() {
    let tables: &[(Generation, Width, Guard, &[f64])] = &[
        (
            N,
            Twenty,
            Guard::Usual,
            &[6.5, 13.0, 19.5, 26.0, 39.0, 52.0, 58.5, 65.0],
        ),
        (
            N,
            Forty,
            Guard::Usual,
            &[13.5, 27.0, 40.5, 54.0, 81.0, 108.0, 121.5, 135.0],
        ),
        (
            N,
            Twenty,
            Guard::Short,
            &[
                7.2222, 14.4444, 21.6667, 28.8889, 43.3333, 57.7778, 65.0, 72.2222,
            ],
        ),
        (
            N,
            Forty,
            Guard::Short,
            &[15.0, 30.0, 45.0, 60.0, 90.0, 120.0, 135.0, 150.0],
        ),
        (
            Ac,
            Forty,
            Guard::Short,
            &[
                15.0, 30.0, 45.0, 60.0, 90.0, 120.0, 135.0, 150.0, 180.0, 200.0,
            ],
        ),
        (
            Ac,
            Eighty,
            Guard::Short,
            &[
                32.5, 65.0, 97.5, 130.0, 195.0, 260.0, 292.5, 325.0, 390.0, 433.3333,
            ],
        ),
        (
            Ac,
            OneSixty,
            Guard::Short,
            &[
                65.0, 130.0, 195.0, 260.0, 390.0, 520.0, 585.0, 650.0, 780.0, 866.6667,
            ],
        ),
        (
            Ax,
            Twenty,
            Guard::Usual,
            &[
                8.6029, 17.2059, 25.8088, 34.4118, 51.6176, 68.8235, 77.4265, 86.0294, 103.2353,
                114.7059, 129.0441, 143.3824,
            ],
        ),
        (
            Ax,
            Forty,
            Guard::Usual,
            &[
                17.2059, 34.4118, 51.6176, 68.8235, 103.2353, 137.6471, 154.8529, 172.0588,
                206.4706, 229.4118, 258.0882, 286.7647,
            ],
        ),
        (
            Ax,
            Eighty,
            Guard::Usual,
            &[
                36.0294, 72.0588, 108.0882, 144.1176, 216.1765, 288.2353, 324.2647, 360.2941,
                432.3529, 480.3922, 540.4412, 600.4902,
            ],
        ),
        (
            Ax,
            OneSixty,
            Guard::Usual,
            &[
                72.0588, 144.1176, 216.1765, 288.2353, 432.3529, 576.4706, 648.5294, 720.5882,
                864.7059, 960.7843, 1080.8824, 1200.9804,
            ],
        ),
    ];
    for (generation, width, guard, table) in tables {
        let found = one(*generation, *width, *guard);
        assert_eq!(found.len(), table.len(), "{generation:?} {width:?}");
        for (found, printed) in found.iter().zip(*table) {
            assert!((found - printed).abs() < 6e-5, "{found} is not {printed}");
        }
    }
    for (width, twelve, thirteen) in [
        (Twenty, 154.853, 172.059),
        (Forty, 309.706, 344.118),
        (Eighty, 648.529, 720.588),
        (OneSixty, 1297.06, 1441.18),
        (ThreeTwenty, 2594.12, 2882.35),
    ] {
        let found = one(Be, width, Guard::Usual);
        assert!((found[12] - twelve).abs() < 6e-3 && (found[13] - thirteen).abs() < 6e-3);
    }
    for (guard, printed) in [(Guard::Double, 567.130), (Guard::Fourfold, 510.417)] {
        close(one(Ax, Eighty, guard)[11], printed);
    }
    for (generation, width, streams, mcs, printed) in [
        (N, Twenty, 1, 7, 72.2),
        (N, Twenty, 2, 7, 144.4),
        (N, Forty, 1, 7, 150.0),
        (Ac, Twenty, 1, 8, 86.7),
        (Ac, Forty, 1, 9, 200.0),
        (Ac, Eighty, 1, 9, 433.3),
        (Ac, Eighty, 2, 9, 866.7),
        (Ac, Eighty, 3, 9, 1300.0),
        (Ax, Twenty, 1, 11, 143.4),
        (Ax, Forty, 1, 11, 286.8),
        (Ax, Eighty, 1, 11, 600.5),
        (Ax, Eighty, 2, 11, 1201.0),
        (Ax, OneSixty, 2, 11, 2402.0),
        (Ax, OneSixty, 2, 8, 1729.4),
        (Be, ThreeTwenty, 2, 13, 5764.7),
        (Be, ThreeTwenty, 8, 13, 23058.8),
    ] {
        let found = Phy::new(generation, width, streams, mcs).unwrap().rate().0;
        assert!(
            (found - printed).abs() < PRINTED,
            "{found} is not {printed}"
        );
    }
}

/// IEEE 802.11-2020 tables 21-30 and on: what has no whole number of bits.
#[test]
fn validate_what_ac_leaves_out() {
    let there = |width, streams, mcs| Phy::new(Ac, width, streams, mcs).is_some();
    for streams in [1, 2, 4, 5, 7, 8] {
        assert!(!there(Twenty, streams, 9));
    }
    for streams in [3, 6] {
        assert!(there(Twenty, streams, 9));
    }
    assert!(!there(Eighty, 3, 6) && !there(Eighty, 7, 6) && !there(Eighty, 6, 9));
    assert!(!there(OneSixty, 3, 9) && there(OneSixty, 2, 9));
    assert!(Phy::new(N, Eighty, 1, 0).is_none() && Phy::new(Ax, ThreeTwenty, 1, 0).is_none());
    assert!(Phy::new(Ax, Eighty, 0, 0).is_none() && Phy::new(Ax, Eighty, 9, 0).is_none());
    assert!(Phy::with_guard(Ax, Eighty, 1, 0, Guard::Short).is_none());
    assert!(Phy::with_guard(Ac, Eighty, 1, 0, Guard::Double).is_none());
}

#[test]
fn validate_what_a_shown_rate_may_be() {
    let may = |shown: f64, generation, width, streams, mcs, guard| {
        let way = Phy::with_guard(generation, width, streams, mcs, guard).unwrap();
        assert!(candidates(AirRate(shown)).contains(&way), "{shown} {way:?}");
    };
    may(866.7, Ac, Eighty, 2, 9, Guard::Short);
    may(866.7, Ac, OneSixty, 1, 9, Guard::Short);
    may(866.7, Ax, Forty, 4, 9, Guard::Double);
    may(1201.0, Ax, Eighty, 2, 11, Guard::Usual);
    may(1201.0, Ax, OneSixty, 1, 11, Guard::Usual);
    may(2402.0, Ax, OneSixty, 2, 11, Guard::Usual);
    may(2402.0, Ax, Eighty, 4, 11, Guard::Usual);
    may(1080.9, Ax, Eighty, 2, 10, Guard::Usual);
    may(1080.9, Ax, OneSixty, 1, 10, Guard::Usual);
    may(1080.9, Ax, Eighty, 3, 7, Guard::Usual);
    for (width, streams, mcs) in [
        (Eighty, 2, 5),
        (Eighty, 4, 3),
        (OneSixty, 1, 5),
        (OneSixty, 2, 3),
        (OneSixty, 4, 1),
    ] {
        may(576.5, Ax, width, streams, mcs, Guard::Usual);
    }
    assert!(candidates(AirRate(1000.0)).is_empty());
}

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
