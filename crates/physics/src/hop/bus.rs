//! Slots, adapters and the buses behind them.

use narrows_units::quantity::{DataRate, Information, Ratio, ratio, units};

/// Bytes of header and framing on a memory write (64-bit address) and on a completion.
const WRITE_HEADER: f64 = 24.0;
const COMPLETION_HEADER: f64 = 20.0;

/// Which way the payload crosses the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Towards {
    /// The card writes to memory: a network card receives, a disk is read.
    Memory,
    /// The card reads from memory: a network card sends, a disk is written.
    Card,
}

/// Payload over payload with packet headers: `P / (P + h)`.
///
/// `P` maximum payload of a transaction packet in bytes, `h` 24 B on a write to memory or 20 B
/// on a completion (64-bit addresses). Assumes full packets. The requests of card-to-memory
/// reads go the other way and are not counted.
/// Source: Neugebauer et al., SIGCOMM 2018, section 3. Checked by `validate_packet_efficiency`.
pub fn packet_efficiency(payload: Information, towards: Towards) -> Ratio {
    let payload = payload.get::<units::information::byte>();
    let header = match towards {
        Towards::Memory => WRITE_HEADER,
        Towards::Card => COMPLETION_HEADER,
    };
    ratio(payload / (payload + header))
}

/// What a slot carries one way: `n B e k`.
///
/// `n` lanes, `B` rate of one lane after line coding, `e` packet efficiency, `k` share left after
/// link-layer traffic. The length of a slot is not its number of lanes.
/// Source: Neugebauer et al., SIGCOMM 2018; PCI Express base specification.
/// Checked by `validate_slots`.
pub fn slot_rate(lanes: u8, lane: DataRate, packet: Ratio, link_layer: Ratio) -> DataRate {
    lane * ratio(f64::from(lanes)) * packet * link_layer
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::catalogue::Catalogue;
    use narrows_units::quantity::{bytes, in_megabytes_per_second, units};

    const SIX_DIGITS: f64 = 5e-6;

    fn lane(generation: u8) -> DataRate {
        let catalogue = Catalogue::embedded().unwrap();
        catalogue
            .spread::<DataRate>(&format!("pcie.lane.{generation}"))
            .unwrap()
            .median()
    }

    #[test]
    fn validate_raw_lanes() {
        for (generation, expected) in [
            (1, 250.0),
            (2, 500.0),
            (3, 984.615),
            (4, 1969.23),
            (5, 3938.46),
        ] {
            assert_relative_eq!(
                in_megabytes_per_second(lane(generation)),
                expected,
                max_relative = SIX_DIGITS
            );
        }
    }

    #[test]
    fn validate_packet_efficiency() {
        for (payload, write, completion) in [
            (128.0, 0.842105, 0.864865),
            (256.0, 0.914286, 0.927536),
            (512.0, 0.955224, 0.962406),
        ] {
            for (towards, expected) in [(Towards::Memory, write), (Towards::Card, completion)] {
                let found = packet_efficiency(bytes(payload), towards).get::<units::ratio::one>();
                assert_relative_eq!(found, expected, max_relative = SIX_DIGITS);
            }
        }
    }

    #[test]
    fn validate_slots() {
        let rows = [
            (2, 1, 420.258, 426.348),
            (2, 4, 1681.03, 1705.39),
            (3, 1, 827.585, 839.578),
            (3, 2, 1655.17, 1679.16),
            (3, 4, 3310.34, 3358.31),
            (3, 8, 6620.68, 6716.63),
            (4, 4, 6620.68, 6716.63),
        ];
        for (generation, lanes, write, read) in rows {
            for (towards, expected) in [(Towards::Memory, write), (Towards::Card, read)] {
                let packet = packet_efficiency(bytes(256.0), towards);
                let found = slot_rate(lanes, lane(generation), packet, ratio(0.919314));
                assert_relative_eq!(
                    in_megabytes_per_second(found),
                    expected,
                    max_relative = SIX_DIGITS
                );
            }
        }
        let whole = |towards| {
            in_megabytes_per_second(slot_rate(
                4,
                lane(3),
                packet_efficiency(bytes(256.0), towards),
                ratio(1.0),
            ))
        };
        assert_relative_eq!(whole(Towards::Memory), 3600.88, max_relative = SIX_DIGITS);
        assert_relative_eq!(whole(Towards::Card), 3653.07, max_relative = SIX_DIGITS);
    }
}
