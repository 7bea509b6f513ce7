//! Equipment with what each of its ways carries.

use crate::air::airtime::{Sender, clean};
use crate::air::equipment::Equipment;
use crate::air::phy::AirRate;
use crate::air::snr::{Ladder, Needed, noise};
use crate::copper::{DecibelMilliwatts, Decibels};
use narrows_units::quantity::Measure;

/// One option of the equipment with what its ways carry.
pub(super) struct Kind {
    pub(super) ladder: Ladder,
    pub(super) floor: DecibelMilliwatts,
    /// Bytes a second of clean air, a way each.
    pub(super) payload: Vec<f64>,
    /// The rate on the air, a way each.
    shown: Vec<f64>,
    pub(super) slowest: f64,
}

impl Kind {
    pub(super) fn new(one: Equipment, needed: &Needed) -> Self {
        let ladder = Ladder::new(
            needed,
            (one.generation, one.width),
            one.streams,
            one.streams.max(2),
        );
        let sender = Sender::usual(one.generation);
        let payload: Vec<f64> = ladder
            .ways()
            .map(|way| clean(way, way, sender).rate.base())
            .collect();
        Self {
            shown: ladder.ways().map(|way| way.rate().0).collect(),
            slowest: payload.first().copied().unwrap_or(f64::NAN),
            floor: noise(one.width, Decibels(0.0)),
            ladder,
            payload,
        }
    }

    /// Clean payload at a rate that is shown: that of the nearest way, in proportion.
    pub(super) fn of_shown(&self, shown: AirRate) -> f64 {
        let off = |rate: &f64| (rate / shown.0 - 1.0).abs();
        let nearest = self
            .shown
            .iter()
            .zip(&self.payload)
            .min_by(|a, b| off(a.0).total_cmp(&off(b.0)));
        nearest.map_or(f64::NAN, |(rate, payload)| payload * shown.0 / rate)
    }
}
