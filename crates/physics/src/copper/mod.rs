//! Physics of a twisted-pair run: what it loses, what it hears, and with what margin and chance
//! each rate gets through. Fibre, twinax and power over the cable in brief.
//!
//! Symbols: `f` frequency in MHz, `L` length in metres, losses positive in dB, spectra in dBm/Hz.
//! The margin of a rate is the signal to noise ratio behind an ideal decision-feedback equaliser,
//! less what its line code needs and what a real receiver loses. Every number comes from `copper.csv`,
//! `phys.csv`, `fibre.csv` and `powering.csv` with its source.
//!
//! It is an estimate: margins line up the published link models within about 1 dB and cannot
//! claim more. Only a certification of that run, or error counters under load, proves it.

mod cables;
mod carries;
mod channel;
mod decibel;
mod electric;
mod fibre;
mod improve;
mod judgement;
mod laws;
mod likelihood;
mod phy;
mod powering;
mod rows;
mod run;
mod salz;
mod temperature;
mod working;

pub use carries::{Alone, Margin, Standing, Verdict};
pub use channel::AtFrequency;
pub use decibel::{DecibelMilliwatts, DecibelMilliwattsPerHertz, Decibels, power_sum};
pub use electric::{Amperes, Ohms, Volts};
pub use fibre::USUAL_MATED_PAIRS;
pub use fibre::{Fibre, FibreGrade, FibreVerdict, Optic, TwinaxCoding};
pub use improve::{Change, Improvement};
pub use judgement::{Judgement, margin_of};
pub use powering::{
    BundleHeat, Delivered, PowerClass, PowerFault, PowerPath, Powering, Surroundings,
};
pub use run::{
    Bundle, Category, Caution, Conductor, Gauge, LengthBasis, Neighbours, Pairs, RunFault,
    RunPhysics, Screen,
};
pub use run::{COLDEST, HOTTEST, Installation};
pub use salz::NoiseShares;
pub use temperature::{Celsius, Kelvins};

use cables::Cables;
use laws::Laws;
use narrows_units::catalogue::{Catalogue, CatalogueFault};
use narrows_units::quantity::{Frequency, units};
use phy::Phys;
use std::sync::Arc;

/// A frequency from its number of megahertz.
pub fn megahertz(number: f64) -> Frequency {
    Frequency::new::<units::frequency::hertz>(number * 1e6)
}

fn in_megahertz(frequency: Frequency) -> f64 {
    frequency.get::<units::frequency::hertz>() * 1e-6
}

/// The model of twisted pair with its constants, read once from the catalogue.
#[derive(Clone, Debug)]
pub struct Copper {
    cables: Cables,
    phys: Phys,
    laws: Arc<Laws>,
}

impl Copper {
    /// Takes the rows of `copper.csv` and `phys.csv` out of a catalogue.
    ///
    /// # Errors
    /// Where a row is missing.
    pub fn new(catalogue: &Catalogue) -> Result<Self, CatalogueFault> {
        Ok(Self {
            cables: Cables::new(catalogue)?,
            phys: Phys::new(catalogue)?,
            laws: catalogue.kept(),
        })
    }
}

#[cfg(test)]
mod tests;
