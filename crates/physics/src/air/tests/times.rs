use super::{close, rate};
use crate::air::airtime::pieces::{bare, subframe};
use crate::air::{
    Generation, Guard, Ladder, Needed, Phy, Sender, Width, announcing, clean, of_burst, round_trip,
};
use narrows_units::catalogue::Catalogue;
use narrows_units::quantity::{Measure, in_megabytes_per_second, seconds, units};
use proptest::prelude::*;

use Generation::{Ac, Ax, Be, N};
use Width::{Eighty, Forty, OneSixty, ThreeTwenty, Twenty};

fn way(generation: Generation, width: Width, streams: usize, mcs: usize) -> Phy {
    Phy::new(generation, width, streams, mcs).unwrap()
}

fn sender(milliseconds: f64, packets: usize) -> Sender {
    Sender {
        longest: seconds(milliseconds * 1e-3),
        packets,
    }
}

/// Aggregate pieces of IEEE 802.11-2020 clause 9.7 for packets of 1500 and 52 bytes.
#[test]
fn validate_frames_of_an_aggregate() {
    assert_eq!(subframe(1, 1500), 1560);
    assert_eq!(subframe(1, 52), 112);
}

/// Payload of 1460: 64 frames of ac and one of ax without, then with RTS and acknowledgements.
#[test]
fn validate_bare_bursts() {
    let (ac, ax) = (way(Ac, Eighty, 2, 9), way(Ax, Eighty, 2, 11));
    close(bare(ac, 64, 1460.0), 662.871);
    close(bare(ax, 1, 1460.0), 50.6725);
    let whole = |phy, frames| {
        let found = of_burst(phy, phy, 1, frames).rate;
        8.0 * in_megabytes_per_second(found) * 1460.0 / 1448.0
    };
    close(whole(ac, 64), 514.042);
    close(whole(ax, 256), 902.747);
}

/// MB/s, frames and us of one stream of TCP, at 5.484, 2.5 and 1 ms a burst.
#[test]
#[allow(clippy::too_many_lines)] // one table
fn validate_what_clean_air_carries() {
    type Row = (Phy, [(f64, usize, f64); 3]);
    let rows: &[Row] = &[
        (
            way(N, Twenty, 2, 7),
            [
                (14.3076, 42, 4250.6),
                (13.5246, 28, 2997.8),
                (10.7724, 11, 1478.6),
            ],
        ),
        (
            way(N, Forty, 2, 7),
            [
                (26.4486, 42, 2299.4),
                (26.4486, 42, 2299.4),
                (22.5240, 23, 1478.6),
            ],
        ),
        (
            way(Ac, Eighty, 1, 9),
            [
                (38.6101, 64, 2400.2),
                (38.6101, 64, 2400.2),
                (32.3959, 33, 1475.0),
            ],
        ),
        (
            way(Ac, Eighty, 2, 9),
            [
                (63.7271, 64, 1454.2),
                (63.7271, 64, 1454.2),
                (63.7271, 64, 1454.2),
            ],
        ),
        (
            way(Ac, Eighty, 3, 9),
            [
                (80.5984, 64, 1149.8),
                (80.5984, 64, 1149.8),
                (80.5984, 64, 1149.8),
            ],
        ),
        (
            way(Ax, Twenty, 2, 11),
            [
                (29.2764, 124, 6133.0),
                (26.3342, 55, 3024.2),
                (20.4437, 21, 1487.4),
            ],
        ),
        (
            way(Ax, Forty, 2, 11),
            [
                (58.4765, 248, 6141.0),
                (52.7704, 111, 3045.8),
                (41.4817, 43, 1501.0),
            ],
        ),
        (
            way(Ax, Eighty, 2, 11),
            [
                (111.916, 256, 3312.2),
                (110.462, 234, 3067.4),
                (86.3618, 90, 1509.0),
            ],
        ),
        (
            way(Ax, OneSixty, 2, 11),
            [
                (192.565, 256, 1925.0),
                (192.565, 256, 1925.0),
                (171.813, 180, 1517.0),
            ],
        ),
        (
            way(Be, OneSixty, 2, 13),
            [
                (284.041, 1024, 5220.2),
                (259.214, 562, 3139.4),
                (204.065, 213, 1511.4),
            ],
        ),
        (
            way(Be, ThreeTwenty, 2, 13),
            [
                (507.479, 1024, 2921.8),
                (507.479, 1024, 2921.8),
                (400.607, 427, 1543.4),
            ],
        ),
        (
            way(Ax, Eighty, 2, 4),
            [
                (44.0931, 187, 6141.0),
                (39.7568, 84, 3059.4),
                (31.1523, 32, 1487.4),
            ],
        ),
        (
            way(Ax, Eighty, 1, 0),
            [
                (3.66880, 15, 5920.2),
                (3.32260, 7, 3050.6),
                (2.35790, 2, 1228.2),
            ],
        ),
    ];
    for (phy, row) in rows {
        for (longest, (expected, frames, cycle)) in [5.484, 2.5, 1.0].into_iter().zip(*row) {
            let found = clean(*phy, *phy, sender(longest, 1));
            assert_eq!(found.frames, frames, "{phy:?} {longest}");
            close(found.cycle.get::<units::time::microsecond>(), cycle);
            rate(found.rate, expected);
        }
    }
}

/// Several packets a frame, 2.5 ms.
#[test]
fn validate_packets_that_share_a_frame() {
    for (phy, packets, expected) in [
        (way(Ac, Eighty, 1, 9), 2, 41.0469),
        (way(Ac, Eighty, 2, 9), 2, 77.4267),
        (way(Ac, Eighty, 3, 9), 2, 104.349),
        (way(Ac, OneSixty, 2, 9), 2, 128.088),
        (way(Ac, Eighty, 2, 9), 3, 76.8325),
        (way(Ac, Eighty, 3, 9), 3, 106.393),
        (way(Ax, OneSixty, 2, 11), 2, 222.813),
        (way(Ax, OneSixty, 2, 11), 3, 223.757),
    ] {
        rate(clean(phy, phy, sender(2.5, packets)).rate, expected);
    }
}

/// What aggregation makes of it, and a laptop whose acknowledgements come slower.
#[test]
fn validate_the_length_of_bursts() {
    let phy = way(Ax, Eighty, 2, 11);
    for (frames, expected) in [
        (1, 2.63752),
        (2, 5.14753),
        (4, 9.82028),
        (8, 18.3698),
        (16, 32.5302),
        (32, 52.9312),
        (64, 76.2481),
        (128, 96.6844),
        (256, 111.916),
    ] {
        rate(of_burst(phy, phy, 1, frames).rate, expected);
    }
    let writes = clean(way(Ax, Eighty, 2, 9), way(Ax, Eighty, 2, 7), sender(2.5, 1));
    rate(writes.rate, 87.4995);
    // costs as they are counted: both ways at once share the second
    let cost = 1.0 / in_megabytes_per_second(clean(phy, phy, sender(2.5, 1)).rate);
    close(cost, 0.00905286);
    close(1.0 / (2.0 * cost), 55.2311);
}

#[test]
fn validate_round_trips_in_idle_air() {
    for (phy, expected) in [
        (way(Ac, Eighty, 2, 9), 404.2),
        (way(Ax, Eighty, 2, 11), 453.0),
        (
            Phy::with_guard(N, Twenty, 1, 7, Guard::Usual).unwrap(),
            465.0,
        ),
    ] {
        close(round_trip(phy).get::<units::time::microsecond>(), expected);
    }
}

#[test]
fn validate_what_announcing_takes() {
    for (old_rate, expected) in [(1.0, 0.0263916), (6.0, 0.00518066), (24.0, 0.00225098)] {
        close(announcing(old_rate), expected);
    }
}

/// Payload of a packet.
const PAYLOAD_BYTES: f64 = 1448.0;

/// What one frame more adds at most, there and with its acknowledgement back: another whole symbol (12.8 us
/// and 3.2 us of guard), and 96 bytes more of block acknowledgement at 24 Mb/s (32 us and a symbol of 4 us).
const ADDED_SECONDS: f64 = 2.0 * (16e-6 + 36e-6);

/// What is left of the rate at least where that frame needs a burst of its own.
const ONE_BURST_MORE: f64 = 0.985;

proptest! {
    /// Payload stays below the rate on the air, and a longer burst carries less only by what it adds.
    #[test]
    fn payload_is_less_than_the_rate_on_the_air(
        generation in 0..4_usize, width in 0..5_usize, streams in 1..5_usize, frames in 1..300_usize,
    ) {
        let (generation, width) = (Generation::ALL[generation], Width::ALL[width]);
        let width = width.min(generation.widest());
        let needed = Needed::new(&Catalogue::embedded().unwrap()).unwrap();
        // no acknowledgement covers more
        let window = [64, 64, 256, 1024][generation as usize];
        let frames = frames.min(window - 1);
        for phy in Ladder::new(&needed, (generation, width), streams, 4).ways() {
            let found = clean(phy, phy, Sender::usual(generation));
            prop_assert!(found.rate < phy.rate().signalled());
            let shorter = of_burst(phy, phy, 1, frames).rate;
            let longer = of_burst(phy, phy, 1, frames + 1).rate;
            let takes = frames as f64 * PAYLOAD_BYTES / shorter.base();
            let least = shorter.base() * (takes / (takes + ADDED_SECONDS)).min(ONE_BURST_MORE);
            prop_assert!(longer.base() > least, "{phy:?} {frames}");
        }
    }
}
