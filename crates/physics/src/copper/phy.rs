//! Transceivers of the BASE-T family: what they send, what they need, what they cancel.

use super::decibel::{decibels, linear};
use super::rows::{likely, normal};
use super::{DecibelMilliwattsPerHertz, Decibels, in_megahertz};
use narrows_units::catalogue::{Catalogue, CatalogueFault};
use narrows_units::quantity::{Frequency, LinkRate};

/// Midpoints over which a spectrum is normalised; the sum is then right to better than 1e-6.
const SAMPLES: u32 = 1000;

/// Rates of the family in Mb/s.
const RATES: [u64; 7] = [100, 1000, 2500, 5000, 10000, 25000, 40000];

/// All transceivers, slowest first.
#[derive(Clone, Debug)]
pub(super) struct Phys {
    all: Vec<Phy>,
}

impl Phys {
    pub(super) fn new(catalogue: &Catalogue) -> Result<Self, CatalogueFault> {
        let corner = likely(catalogue, "phy.lower-corner")?;
        let all = RATES
            .iter()
            .map(|rate| Phy::new(catalogue, *rate, corner))
            .collect::<Result<_, _>>()?;
        Ok(Self { all })
    }

    pub(super) fn of(&self, rate: LinkRate) -> Option<&Phy> {
        self.all.iter().find(|p| p.rate == rate)
    }
}

/// Symbol shapes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shape {
    /// Held for a symbol: `sinc^2(f / fs)`.
    Hold,
    /// Held, after the filter `0.75 + 0.25 z^-1` of clause 40.
    PartialResponse,
    /// Three levels, one step along 0, +, 0, - for every one of random bits.
    ThreeLevel,
}

/// One transceiver.
#[derive(Clone, Debug)]
pub(super) struct Phy {
    pub rate: LinkRate,
    /// Symbols a second, in MHz.
    symbols: f64,
    pub required: f64,
    pub required_sigma: f64,
    pub implementation: f64,
    pub implementation_sigma: f64,
    pub noise_floor: f64,
    pub noise_floor_sigma: f64,
    pub echo_suppression: f64,
    pub near_suppression: f64,
    pub far_suppression: f64,
    /// One pair each way: no echo and no far-end crosstalk from its own kind, one near-end
    /// disturber.
    pub one_pair_each_way: bool,
    /// Longest channel of the standard in metres.
    pub reach: f64,
    edge: f64,
    shape: Shape,
    /// Milliwatts a hertz for a shape of one.
    scale: f64,
    /// Beyond the edge, in milliwatts a hertz.
    out_of_band: f64,
}

impl Phy {
    fn new(catalogue: &Catalogue, rate: u64, corner: f64) -> Result<Self, CatalogueFault> {
        let id = |name: &str| format!("phy.{rate}.{name}");
        let row = |name: &str| likely(catalogue, &id(name));
        let law = |name: &str| normal(catalogue, &id(name));
        let (required, implementation) = (law("required")?, law("implementation")?);
        let noise_floor = law("noise-floor")?;
        let mut phy = Self {
            rate: LinkRate::from_megabits(rate),
            symbols: row("symbols")?,
            required: required.mean,
            required_sigma: required.sigma,
            implementation: implementation.mean,
            implementation_sigma: implementation.sigma,
            noise_floor: noise_floor.mean,
            noise_floor_sigma: noise_floor.sigma,
            echo_suppression: row("echo-suppression")?,
            near_suppression: row("near-end-suppression")?,
            far_suppression: row("far-end-suppression")?,
            one_pair_each_way: rate == 100,
            reach: row("reach")?,
            edge: row("edge")?,
            shape: match rate {
                100 => Shape::ThreeLevel,
                1000 => Shape::PartialResponse,
                _ => Shape::Hold,
            },
            scale: 1.0,
            out_of_band: 0.0,
        };
        let step = (phy.nyquist() - corner) / f64::from(SAMPLES);
        let mut sum = 0.0;
        let mut peak = 0.0_f64;
        for i in 0..SAMPLES {
            let value = phy.shape_at(corner + (f64::from(i) + 0.5) * step);
            sum += value;
            peak = peak.max(value);
        }
        phy.scale = linear(row("power")?) / (sum * step * 1e6);
        phy.out_of_band = peak * phy.scale * linear(-row("out-of-band")?);
        Ok(phy)
    }

    /// Half the symbol rate, in MHz.
    pub(super) fn nyquist(&self) -> f64 {
        0.5 * self.symbols
    }

    /// Spectrum over its value at zero, or for three levels over the power of the pulse.
    ///
    /// Three levels: `x = Re i^s` with `s` stepping on random bits has the correlation
    /// `Re(a^k) / 2`, `a = (1 + i) / 2`, whose transform is
    /// `(|1 - a z|^-2 + |1 - a* z|^-2) / 8`.
    fn shape_at(&self, f: f64) -> f64 {
        let turn = std::f64::consts::PI * f / self.symbols;
        let sinc = if turn == 0.0 {
            1.0
        } else {
            libm::sin(turn) / turn
        };
        let (sin, cos) = (libm::sin(2.0 * turn), libm::cos(2.0 * turn));
        let line_code = match self.shape {
            Shape::Hold => 1.0,
            Shape::PartialResponse => 0.625 + 0.375 * cos,
            Shape::ThreeLevel => 0.125 / (1.5 - cos - sin) + 0.125 / (1.5 - cos + sin),
        };
        sinc * sinc * line_code
    }

    /// What it sends, in milliwatts a hertz at `f` MHz below its Nyquist frequency.
    pub(super) fn sends(&self, f: f64) -> f64 {
        self.scale * self.shape_at(f)
    }

    /// What a neighbour hears, in milliwatts a hertz at any `f` in MHz.
    pub(super) fn disturbs(&self, f: f64) -> f64 {
        if f <= self.edge * self.nyquist() {
            self.sends(f)
        } else {
            self.out_of_band
        }
    }
}

impl super::Copper {
    /// The spectrum of a transceiver of this rate, up to its Nyquist frequency.
    ///
    /// Transmit power over the band from 0.5 MHz to the Nyquist frequency, shaped by the symbol
    /// and the line code. Checked by `validate_ten_gigabit_spectrum_lies_in_its_mask`.
    pub fn spectrum(
        &self,
        rate: LinkRate,
        frequency: Frequency,
    ) -> Option<DecibelMilliwattsPerHertz> {
        let phy = self.phys.of(rate)?;
        let f = in_megahertz(frequency);
        (f >= 0.0 && f <= phy.nyquist()).then(|| DecibelMilliwattsPerHertz(decibels(phy.sends(f))))
    }

    /// The signal to noise ratio that a rate needs at its slicer.
    pub fn required(&self, rate: LinkRate) -> Option<Decibels> {
        self.phys.of(rate).map(|p| Decibels(p.required))
    }
}
