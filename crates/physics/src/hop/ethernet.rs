//! Ethernet framing: what a link's signalled rate leaves for the stream.

use narrows_units::quantity::{
    Frequency, Information, LinkRate, Ratio, Time, bytes, ratio, units::frequency::hertz,
};

/// Preamble 7, start delimiter 1, header 14, check sequence 4, gap 12 (IEEE 802.3 clauses
/// 3.1.1, 3.2 and 4.4.2): wire bytes of a frame that are not the IP packet.
const OUTSIDE_PACKET: u32 = 38;

/// Bytes of one VLAN tag (IEEE 802.1Q).
const TAG: u32 = 4;

/// Wire bytes of a frame beside its 64 to 1518: preamble, delimiter and gap.
const BETWEEN_FRAMES: u32 = 20;

/// The headers inside an IP packet that carries a TCP segment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Headers {
    /// IPv4 (RFC 791) and TCP (RFC 9293): 40 B.
    Ipv4,
    /// The same with timestamps (RFC 7323 section 3.2): 52 B.
    Ipv4Timestamps,
    /// IPv6 (RFC 8200) and TCP: 60 B.
    Ipv6,
    /// The same with timestamps: 72 B.
    Ipv6Timestamps,
}

impl Headers {
    /// Their length.
    pub fn bytes(self) -> u32 {
        match self {
            Self::Ipv4 => 40,
            Self::Ipv4Timestamps => 52,
            Self::Ipv6 => 60,
            Self::Ipv6Timestamps => 72,
        }
    }

    /// From the catalogue's word.
    pub fn from_word(word: &str) -> Option<Self> {
        match word {
            "ipv4" => Some(Self::Ipv4),
            "ipv4-timestamps" => Some(Self::Ipv4Timestamps),
            "ipv6" => Some(Self::Ipv6),
            "ipv6-timestamps" => Some(Self::Ipv6Timestamps),
            _ => None,
        }
    }

    /// The catalogue's word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Ipv4 => "ipv4",
            Self::Ipv4Timestamps => "ipv4-timestamps",
            Self::Ipv6 => "ipv6",
            Self::Ipv6Timestamps => "ipv6-timestamps",
        }
    }
}

/// A packet length that leaves no room for its headers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoRoom;

/// Payload bytes over wire bytes of full frames.
///
/// `(M - H) / (M + 38 + 4 t)`: `M` MTU, the largest IP packet, in bytes; `H` headers in bytes;
/// `t` VLAN tags. Valid for `M > H`, up to a jumbo MTU of about 9200; assumes full segments in
/// one direction (acknowledgements go the other way). Line coding is already outside a link's
/// named rate and is not subtracted.
///
/// Errors: [`NoRoom`] where `M <= H`.
/// Source: IEEE 802.3 clauses 3.1.1, 3.2, 4.4.2; IEEE 802.1Q; RFC 791, 8200, 9293, 7323.
/// Checked by `validate_sixteen_exact_efficiencies`.
pub fn efficiency(mtu: u32, headers: Headers, tags: u32) -> Result<Ratio, NoRoom> {
    let payload = mtu
        .checked_sub(headers.bytes())
        .filter(|&p| p > 0)
        .ok_or(NoRoom)?;
    Ok(ratio(
        f64::from(payload) / f64::from(mtu + OUTSIDE_PACKET + TAG * tags),
    ))
}

/// Full frames a second: `R / (8 (M + 38 + 4 t))`.
///
/// `R` rate of the link in bit/s, `M` MTU in bytes, `t` VLAN tags. Valid for any `M`.
/// Source: IEEE 802.3 clause 4.4.2. Checked by `validate_goodput_table`.
pub fn frames_per_second(rate: LinkRate, mtu: u32, tags: u32) -> Frequency {
    rate.signalled() * ratio(1.0) / bytes(f64::from(mtu + OUTSIDE_PACKET + TAG * tags))
}

/// Frames a second of a given frame length, header and check sequence included:
/// `R / (8 (L + 20))`.
///
/// `R` rate of the link in bit/s, `L` frame in bytes, 64 to 1518.
/// Source: RFC 2544 appendix B. Checked by `validate_rfc_2544_frame_rates`.
pub fn frames_per_second_of(rate: LinkRate, frame: u32) -> Frequency {
    rate.signalled() * ratio(1.0) / bytes(f64::from(frame + BETWEEN_FRAMES))
}

/// Time to put one full frame on the wire: `8 (M + 38) / R`.
///
/// Source: IEEE 802.3 clause 4.4.2. Checked by `validate_serialisation`.
pub fn serialisation(rate: LinkRate, mtu: u32) -> Time {
    bytes(f64::from(mtu + OUTSIDE_PACKET)) / rate.signalled()
}

/// Acknowledgement bytes on the reverse path for a byte of wire on the forward path: one
/// minimum frame (84 B of wire, or 90 B with timestamps) for two full frames.
///
/// `A / (2 (M + 38))`. Source: IEEE 802.3 clause 3.2.8; RFC 9293 section 3.8.6.3.
/// Checked by `validate_acknowledgement_share`.
pub fn acknowledgement_share(mtu: u32, headers: Headers) -> Ratio {
    let frames = 2 * wire_bytes(mtu, 0);
    ratio(f64::from(wire_bytes_of_acknowledgement(headers, 0)) / f64::from(frames))
}

/// Bytes of wire that a full frame takes: `M + 38 + 4 t`.
pub(super) fn wire_bytes(mtu: u32, tags: u32) -> u32 {
    mtu + OUTSIDE_PACKET + TAG * tags
}

/// Bytes of wire that a segment without payload takes, padded to the 46 B that a frame holds at
/// least; a tag comes on top (IEEE 802.3 clause 3.2.8, IEEE 802.1Q).
pub(super) fn wire_bytes_of_acknowledgement(headers: Headers, tags: u32) -> u32 {
    headers.bytes().max(46) + OUTSIDE_PACKET + TAG * tags
}

/// How many of something in a frequency.
pub fn per_second(frequency: Frequency) -> f64 {
    frequency.get::<hertz>()
}

/// Payload of one segment.
pub fn segment(mtu: u32, headers: Headers) -> Information {
    bytes(f64::from(mtu.saturating_sub(headers.bytes())))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::{in_megabytes_per_second, units};

    /// Half a unit of the sixth printed digit, relative to the smallest such number.
    const SIX_DIGITS: f64 = 5e-6;
    /// Half a unit of the tenth printed digit.
    const TEN_DIGITS: f64 = 5e-10;

    const HEADERS: [Headers; 4] = [
        Headers::Ipv4,
        Headers::Ipv4Timestamps,
        Headers::Ipv6,
        Headers::Ipv6Timestamps,
    ];

    #[test]
    fn validate_sixteen_exact_efficiencies() {
        let rows = [
            (
                1500,
                0,
                [0.9492847854, 0.9414824447, 0.9362808843, 0.9284785436],
            ),
            (
                1500,
                1,
                [0.9468223087, 0.9390402075, 0.9338521401, 0.9260700389],
            ),
            (
                9000,
                0,
                [0.9913697721, 0.9900420447, 0.9891568931, 0.9878291657],
            ),
            (
                9000,
                1,
                [0.9909312099, 0.9896040699, 0.9887193099, 0.9873921699],
            ),
        ];
        for (mtu, tags, expected) in rows {
            for (headers, expected) in HEADERS.into_iter().zip(expected) {
                let found = efficiency(mtu, headers, tags).unwrap();
                assert_relative_eq!(
                    found.get::<units::ratio::one>(),
                    expected,
                    max_relative = TEN_DIGITS
                );
            }
        }
    }

    #[test]
    fn validate_goodput_table() {
        // MB/s, MTU 1500 and 9000, for the four kinds of headers
        let table = [
            (
                10,
                [812.744, 138.305],
                [
                    1.18661, 1.17685, 1.17035, 1.16060, 1.23921, 1.23755, 1.23645, 1.23479,
                ],
            ),
            (
                100,
                [8127.44, 1383.05],
                [
                    11.8661, 11.7685, 11.7035, 11.6060, 12.3921, 12.3755, 12.3645, 12.3479,
                ],
            ),
            (
                1000,
                [81274.4, 13830.5],
                [
                    118.661, 117.685, 117.035, 116.060, 123.921, 123.755, 123.645, 123.479,
                ],
            ),
            (
                2500,
                [203186.0, 34576.2],
                [
                    296.651, 294.213, 292.588, 290.150, 309.803, 309.388, 309.112, 308.697,
                ],
            ),
            (
                5000,
                [406372.0, 69152.5],
                [
                    593.303, 588.427, 585.176, 580.299, 619.606, 618.776, 618.223, 617.393,
                ],
            ),
            (
                10000,
                [812744.0, 138305.0],
                [
                    1186.61, 1176.85, 1170.35, 1160.60, 1239.21, 1237.55, 1236.45, 1234.79,
                ],
            ),
            (
                25000,
                [2031860.0, 345762.0],
                [
                    2966.51, 2942.13, 2925.88, 2901.50, 3098.03, 3093.88, 3091.12, 3086.97,
                ],
            ),
            (
                40000,
                [3250975.0, 553220.0],
                [
                    4746.42, 4707.41, 4681.40, 4642.39, 4956.85, 4950.21, 4945.78, 4939.15,
                ],
            ),
        ];
        for (megabits, frames, goodputs) in table {
            let rate = LinkRate::from_megabits(megabits);
            for (mtu, expected) in [1500, 9000].into_iter().zip(frames) {
                assert_relative_eq!(
                    per_second(frames_per_second(rate, mtu, 0)),
                    expected,
                    max_relative = SIX_DIGITS
                );
            }
            let kinds = [1500, 9000]
                .into_iter()
                .flat_map(|mtu| HEADERS.into_iter().map(move |h| (mtu, h)));
            for ((mtu, headers), expected) in kinds.zip(goodputs) {
                let goodput = rate.signalled() * efficiency(mtu, headers, 0).unwrap();
                assert_relative_eq!(
                    in_megabytes_per_second(goodput),
                    expected,
                    max_relative = SIX_DIGITS
                );
            }
        }
    }

    #[test]
    fn validate_rfc_2544_frame_rates() {
        let rate = LinkRate::from_megabits(10);
        let rows = [
            (64, 14880.0),
            (128, 8445.0),
            (256, 4528.0),
            (512, 2349.0),
            (768, 1586.0),
            (1024, 1197.0),
            (1280, 961.0),
            (1518, 812.0),
        ];
        for (frame, expected) in rows {
            let found = per_second(frames_per_second_of(rate, frame)).floor();
            assert!((found - expected).abs() < 0.5, "{frame}: {found}");
        }
    }

    #[test]
    fn validate_rfc_6349_payload_rates() {
        for (megabits, expected) in [
            (100, 94_923_360.0),
            (1000, 949_280_320.0),
            (10_000, 9_492_838_240.0),
        ] {
            let frames = per_second(frames_per_second(
                LinkRate::from_megabits(megabits),
                1500,
                0,
            ))
            .floor();
            let bits: f64 = frames * 1460.0 * 8.0;
            assert!((bits - expected).abs() < 0.5, "{megabits}: {bits}");
        }
    }

    #[test]
    fn validate_serialisation() {
        for (megabits, expected) in [
            (100, 123.04),
            (1000, 12.304),
            (2500, 4.9216),
            (10_000, 1.2304),
        ] {
            let found = serialisation(LinkRate::from_megabits(megabits), 1500)
                .get::<units::time::microsecond>();
            assert_relative_eq!(found, expected, max_relative = SIX_DIGITS);
        }
    }

    #[test]
    fn validate_acknowledgement_share() {
        for (headers, percent) in [(Headers::Ipv4, 2.73), (Headers::Ipv4Timestamps, 2.93)] {
            let found = acknowledgement_share(1500, headers).get::<units::ratio::percent>();
            // printed with two decimals
            assert!((found - percent).abs() <= 0.005, "{found}");
        }
    }

    #[test]
    fn a_packet_without_room_for_its_headers_is_refused() {
        assert_eq!(efficiency(40, Headers::Ipv4, 0), Err(NoRoom));
        assert_eq!(efficiency(72, Headers::Ipv6Timestamps, 0), Err(NoRoom));
        assert!(efficiency(73, Headers::Ipv6Timestamps, 0).is_ok());
    }

    #[test]
    fn property_goodput_rises_with_mtu_and_never_reaches_the_signalled_rate() {
        for headers in HEADERS {
            let mut last = 0.0;
            for mtu in 576..9217 {
                let found = efficiency(mtu, headers, 0)
                    .unwrap()
                    .get::<units::ratio::one>();
                assert!(found > last && found < 1.0);
                last = found;
            }
        }
    }
}
