//! Half duplex: one wire for both directions, and who wins it.

use super::ethernet::{Headers, NoRoom, efficiency, wire_bytes, wire_bytes_of_acknowledgement};
use narrows_units::quantity::{Information, LinkRate, Ratio, Time, bytes, ratio};

/// A slot of 10 and 100 Mb/s: 512 bit times (IEEE 802.3 clause 4.4.2).
const SLOT_BYTES: f64 = 64.0;

/// The gap between frames: 96 bit times (IEEE 802.3 clause 4.4.2).
const GAP_BYTES: f64 = 12.0;

/// Preamble and start delimiter (IEEE 802.3 clause 3.1.1).
const PREAMBLE_BYTES: f64 = 8.0;

/// Frames that are sent for one acknowledgement (RFC 9293 section 3.8.6.3).
const FRAMES_AN_ACKNOWLEDGEMENT: u32 = 2;

/// The fastest link that anything still runs in half duplex.
///
/// The standard knows it at 1 Gb/s as well (clause 4), but no switch offers it, and from
/// 2.5 Gb/s on there is none.
pub fn fastest_half_duplex() -> LinkRate {
    LinkRate::from_megabits(100)
}

/// Slots lost before a frame gets the wire: `(1 - A) / A` with `A = (1 - 1/Q)^(Q - 1)`.
///
/// `Q` stations that always have something to send. None for one station; `e - 1` for many.
/// Assumes that each sends in a free slot with a chance of `1/Q`, which is the best it can do.
/// Source: Metcalfe and Boggs, Communications of the ACM 19 (1976) 395, section 6.
/// Checked by `validate_shares_of_the_first_ethernet`.
pub fn slots_lost(stations: u32) -> Ratio {
    if stations <= 1 {
        return ratio(0.0);
    }
    let q = f64::from(stations);
    // the logarithm of 1 - 1/Q keeps its digits for many stations
    let wins = libm::exp((q - 1.0) * libm::log1p(-1.0 / q));
    ratio((1.0 - wins) / wins)
}

/// Share of the wire that carries packets: `(P/C) / (P/C + W T)`.
///
/// `P` bytes a packet, `C` rate, `T` slot, all above zero; `W` [`slots_lost`] with `Q` stations.
/// Assumes that all packets are as long and that nothing else lies between them.
/// Source: Metcalfe and Boggs 1976, section 6.
/// Checked by `validate_shares_of_the_first_ethernet`.
pub fn contended_share(stations: u32, packet: Information, rate: LinkRate, slot: Time) -> Ratio {
    let sent: Time = packet / rate.signalled();
    sent / (sent + slot * slots_lost(stations))
}

/// The same for frames of 10 and 100 Mb/s: `(F + 8) / (F + 8 + 12 + 64 W)`.
///
/// `F` frame in bytes, header and check sequence included, 64 to 1522; `W` [`slots_lost`]. Preamble
/// counts as sent, the gap does not. The same at both rates: slot and gap are counted in bits.
/// Source: Metcalfe and Boggs 1976, section 6; IEEE 802.3 clause 4.4.2.
/// Checked by `validate_shares_of_full_and_of_least_frames`.
pub fn contended_frames_share(stations: u32, frame_bytes: u32) -> Ratio {
    let sent = ratio(f64::from(frame_bytes) + PREAMBLE_BYTES);
    sent / (sent + ratio(GAP_BYTES) + ratio(SLOT_BYTES) * slots_lost(stations))
}

/// Payload over wire time of a copy one way, whose acknowledgements need the same wire:
/// `2 (M - H) / (2 w + a + 3 W s)`.
///
/// `M` MTU and `H` headers in bytes; `w` wire bytes of a full frame and `a` of an
/// acknowledgement; `s` the slot of 64 B; `W` [`slots_lost`] with `Q` stations, before each of the
/// three frames. Valid at 10 and 100 Mb/s. Assumes one acknowledgement for two full frames, and
/// with two stations that the other end always has one waiting, which is the worst case.
///
/// Errors: [`NoRoom`] where `M <= H`.
/// Source: Metcalfe and Boggs 1976, section 6; IEEE 802.3 clause 4.4.2; RFC 9293 section 3.8.6.3.
/// Checked by `validate_one_way_copies`.
pub fn one_way_share(
    mtu: u32,
    headers: Headers,
    tags: u32,
    stations: u32,
) -> Result<Ratio, NoRoom> {
    let frames = f64::from(FRAMES_AN_ACKNOWLEDGEMENT);
    let full = bytes(f64::from(wire_bytes(mtu, tags)));
    let payload = full * efficiency(mtu, headers, tags)?;
    let acknowledgement = bytes(f64::from(wire_bytes_of_acknowledgement(headers, tags)));
    let lost = bytes(SLOT_BYTES) * slots_lost(stations) * ratio(frames + 1.0);
    Ok(payload * ratio(frames) / (full * ratio(frames) + acknowledgement + lost))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::{in_megabytes_per_second, units};

    /// Half a unit of the fourth printed decimal.
    const FOUR_DECIMALS: f64 = 5e-5;
    /// Half a unit of the sixth printed decimal.
    const SIX_DECIMALS: f64 = 5e-7;
    /// So many stations that one more changes nothing that is printed.
    const MANY: u32 = 1_000_000_000;

    fn one(share: Ratio) -> f64 {
        share.get::<units::ratio::one>()
    }

    /// Table I of the paper: 3 Mb/s, slots of 16 us, packets of so many bits.
    #[test]
    fn validate_shares_of_the_first_ethernet() {
        let rows = [
            (2, [0.9884, 0.9552, 0.9143, 0.5000]),
            (5, [0.9834, 0.9367, 0.8810, 0.4096]),
            (10, [0.9818, 0.9310, 0.8709, 0.3874]),
            (256, [0.9803, 0.9257, 0.8616, 0.3686]),
        ];
        let slot = Time::new::<units::time::microsecond>(16.0);
        for (stations, expected) in rows {
            for (bits, expected) in [4096.0, 1024.0, 512.0, 48.0].into_iter().zip(expected) {
                let packet = bytes(bits / 8.0);
                let found = contended_share(stations, packet, LinkRate::from_megabits(3), slot);
                assert_relative_eq!(one(found), expected, epsilon = FOUR_DECIMALS);
            }
        }
    }

    #[test]
    fn validate_shares_of_full_and_of_least_frames() {
        let rows = [
            (2, 1518, 0.952559),
            (5, 1518, 0.936053),
            (10, 1518, 0.930945),
            (MANY, 1518, 0.925988),
            (2, 64, 0.486486),
            (MANY, 64, 0.371191),
        ];
        for (stations, frame, expected) in rows {
            let found = one(contended_frames_share(stations, frame));
            assert_relative_eq!(found, expected, epsilon = SIX_DECIMALS);
        }
        assert_relative_eq!(
            one(slots_lost(MANY)),
            std::f64::consts::E - 1.0,
            epsilon = SIX_DECIMALS
        );
    }

    #[test]
    fn validate_one_way_copies() {
        for (stations, expected) in [(1, 0.924051), (2, 0.871122)] {
            let found = one_way_share(1500, Headers::Ipv4, 0, stations).unwrap();
            assert_relative_eq!(one(found), expected, epsilon = SIX_DECIMALS);
        }
        let share = one_way_share(1500, Headers::Ipv4, 0, 2).unwrap();
        let rate = in_megabytes_per_second(LinkRate::from_megabits(100).signalled() * share);
        // printed with one decimal
        assert!((rate - 10.9).abs() <= 0.05, "{rate}");
    }

    #[test]
    fn one_station_loses_no_slot_and_a_packet_without_room_is_refused() {
        for stations in [0, 1] {
            assert_relative_eq!(one(slots_lost(stations)), 0.0, epsilon = SIX_DECIMALS);
        }
        assert_eq!(one_way_share(40, Headers::Ipv4, 0, 2), Err(NoRoom));
    }

    #[test]
    fn property_half_duplex_never_beats_full_duplex_and_more_stations_never_help() {
        for mtu in (576..=1500).step_by(4) {
            for headers in [Headers::Ipv4, Headers::Ipv4Timestamps, Headers::Ipv6] {
                let mut last = one(efficiency(mtu, headers, 0).unwrap());
                for stations in 1..12 {
                    let found = one(one_way_share(mtu, headers, 0, stations).unwrap());
                    assert!(found > 0.0 && found < last, "{mtu} {stations}");
                    last = found;
                }
            }
        }
    }
}
