//! Tests of the copper model, by what they are held against.
//!
//! Published digits hold to half a unit of the last one. "Independent computation" means margins
//! from a program that shares no code with this one; it tests the arithmetic, not the world.

mod calibration;
mod chances;
mod document;
mod fibre;
mod limits;
mod margins;
mod powering;
mod properties;
mod sensitivity;
mod working;

use super::channel::{Bent, Channel};
use super::salz::{Band, Crowd, Knobs};
use super::{Bundle, Category, Celsius, Copper, Neighbours, RunPhysics};
use narrows_units::catalogue::Catalogue;
use narrows_units::quantity::{LinkRate, metres};

/// Midpoints of the margins that were printed to 0.001 dB.
const REFERENCE_POINTS: u32 = 400;

/// Half a unit of the third decimal, in dB.
const THOUSANDTH: f64 = 0.0005;

/// Half a unit of the first decimal, in dB, and one more thousandth for its own rounding.
const TENTH: f64 = 0.051;

/// Noise of the receiver that margins of 1 Gb/s were published for, in dBm/Hz, and what receivers
/// in use are counted with; these also take off far-end crosstalk, in dB.
const EARLY_FLOOR: f64 = -118.0;
const PRESENT_FLOOR: f64 = -127.5;
const PRESENT_FAR: f64 = 20.0;

fn copper() -> Copper {
    Copper::new(&Catalogue::embedded().unwrap()).unwrap()
}

/// The reference run: six neighbours at the same rate, four connections, 20 C.
fn run(category: Category, bundle: Bundle, length: f64) -> RunPhysics {
    RunPhysics {
        bundle,
        temperature: Celsius(20.0),
        ..RunPhysics::new(category, metres(length))
    }
}

fn rate(megabits: u64) -> LinkRate {
    LinkRate::from_megabits(megabits)
}

/// A case whose channel, transceiver and shifts a test may bend.
#[derive(Clone)]
pub(super) struct Case {
    run: RunPhysics,
    megabits: u64,
    channel: Channel,
    knobs: Knobs,
    bent: Bent,
    without_far_end: bool,
    points: u32,
}

impl Case {
    fn new(copper: &Copper, megabits: u64, run: RunPhysics) -> Self {
        let channel = copper.cables.channel(&run).unwrap();
        Self {
            knobs: Knobs::at_limits(&channel),
            bent: Bent::NOT,
            channel,
            run,
            megabits,
            without_far_end: false,
            points: 200,
        }
    }

    /// With the receiver that margins of 1 Gb/s were published for, and that the independent
    /// computation has: a converter of 6.5 bits, far-end crosstalk not cancelled.
    fn early(mut self) -> Self {
        if self.megabits == 1000 {
            self.knobs.floor = EARLY_FLOOR - PRESENT_FLOOR;
            self.knobs.far = -PRESENT_FAR;
        }
        self
    }

    /// Signal to noise ratio and margin.
    fn solve(&self, copper: &Copper) -> (f64, f64) {
        let mut phy = copper.phys.of(rate(self.megabits)).unwrap().clone();
        if self.without_far_end {
            phy.far_suppression = 400.0;
        }
        let crowd = Crowd::new(&copper.cables, &copper.phys, &phy, &self.run).unwrap();
        let band = Band::new(&self.channel, &phy, &crowd, self.points);
        let gains = band.gains(&self.bent);
        (
            band.signal_to_noise(&gains, &self.knobs),
            band.margin(&gains, &self.knobs),
        )
    }

    fn margin(&self, copper: &Copper) -> f64 {
        self.solve(copper).1
    }
}

fn margin(copper: &Copper, megabits: u64, run: RunPhysics) -> f64 {
    Case::new(copper, megabits, run).margin(copper)
}

fn at_rate(megabits: u64, count: u32) -> Neighbours {
    Neighbours::Rates(vec![(rate(megabits), count)])
}
