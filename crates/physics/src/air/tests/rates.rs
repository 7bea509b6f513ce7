//! Rates on the air, and which of them a shown one may be.

use super::{PRINTED, close};
use crate::air::{AirRate, Generation, Guard, Phy, SCHEMES, Width, candidates};

use Generation::{Ac, Ax, Be, N};
use Width::{Eighty, Forty, OneSixty, ThreeTwenty, Twenty};

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
