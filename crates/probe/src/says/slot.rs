//! The slot of a card, and the bus of an adapter.

use super::{NotThere, Said, shown};
use narrows_units::quantity::{DataRate, megabytes_per_second};

/// A slot: generation and lanes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slot {
    /// 1 to 6.
    pub generation: u8,
    /// 1 to 32.
    pub lanes: u8,
}

impl std::fmt::Display for Slot {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "pcie {} x{}", self.generation, self.lanes)
    }
}

/// A slot out of the texts of link speed and link width.
///
/// Symbols: speed as "8.0 GT/s PCIe" or "8 GT/s"; width in lanes, where 0, 63 and 255 stand for "not known".
/// Test: `validate_slots`.
pub fn slot(speed: &str, width: &str) -> Said<Slot> {
    let (speed, width) = (speed.trim(), width.trim());
    let transfers = speed.split_whitespace().next().unwrap_or_default();
    let generation = match (transfers, speed.contains("GT/s")) {
        ("2.5", true) => 1,
        ("5" | "5.0", true) => 2,
        ("8" | "8.0", true) => 3,
        ("16" | "16.0", true) => 4,
        ("32" | "32.0", true) => 5,
        ("64" | "64.0", true) => 6,
        _ => {
            return Err(NotThere::because(format!(
                "'{}' is no rate of a slot",
                shown(speed)
            )));
        }
    };
    match width.parse::<u8>() {
        Ok(lanes @ (1 | 2 | 4 | 8 | 12 | 16 | 32)) => Ok(Slot { generation, lanes }),
        _ => Err(NotThere::because(format!(
            "'{}' is no number of lanes",
            shown(width)
        ))),
    }
}

/// What a slot carries after line coding, before the headers of its packets.
///
/// 8b/10b up to generation 2, 128b/130b for 3 to 5, flits of 242 in 256 for 6. Symbols: GT/s a lane. Source: PCI Express base
/// specification. Test: `validate_slots`.
pub fn after_coding(slot: Slot) -> DataRate {
    let (transfers, share) = match slot.generation {
        0 | 1 => (2.5, 0.8),
        2 => (5.0, 0.8),
        3 => (8.0, 128.0 / 130.0),
        4 => (16.0, 128.0 / 130.0),
        5 => (32.0, 128.0 / 130.0),
        _ => (64.0, 242.0 / 256.0),
    };
    megabytes_per_second(transfers * share / 8.0 * 1e3 * f64::from(slot.lanes))
}

/// The slowest of the slots that lie between a card and the processor.
pub fn narrowest(slots: &[Slot]) -> Option<Slot> {
    slots
        .iter()
        .copied()
        .min_by(|a, b| after_coding(*a).value.total_cmp(&after_coding(*b).value))
}

/// The bus of a USB adapter in Mb/s, out of the text of `speed` of its parent: 12, 480, 5000, 10000, 20000, 40000.
pub fn usb_bus(text: &str) -> Said<u64> {
    match text.trim() {
        "1.5" => Ok(1),
        "12" => Ok(12),
        "480" => Ok(480),
        "5000" => Ok(5000),
        "10000" => Ok(10_000),
        "20000" => Ok(20_000),
        "40000" => Ok(40_000),
        other => Err(NotThere::because(format!(
            "'{}' is no rate of a USB port",
            shown(other)
        ))),
    }
}
