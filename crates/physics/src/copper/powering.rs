//! Power over the cable: what arrives at the far end, and how warm a bundle gets.
//!
//! Bundle heat, thin old conductors and copper-clad aluminium are fire risks: follow the rules of
//! the power class, and never power a run of unknown make.

use super::rows::likely;
use super::{Amperes, Celsius, Conductor, Gauge, Kelvins, Ohms, Volts};
use narrows_units::catalogue::{Catalogue, CatalogueFault};
use narrows_units::quantity::{Length, Power, units};
use std::f64::consts::PI;

/// What the standard fixes for one power class.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerClass {
    /// 1 to 8.
    pub class: u8,
    /// Power that the source sends at most.
    pub source: Power,
    /// Lowest voltage of the source.
    pub voltage: Volts,
    /// Resistance of the loop that the class assumes.
    pub loop_resistance: Ohms,
    /// Power at the far end that the class promises.
    pub guaranteed: Power,
    /// Pairs that carry current: two or four.
    pub pairs: u32,
}

impl PowerClass {
    /// The current of a source that gives all of its class at its lowest voltage.
    pub fn full_current(&self) -> Amperes {
        Amperes(in_watts(self.source) / self.voltage.0)
    }
}

/// The path of the current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerPath {
    /// Solid cable.
    pub cable: Length,
    /// Its gauge.
    pub cable_gauge: Gauge,
    /// Stranded cords.
    pub cords: Length,
    /// Their gauge.
    pub cord_gauge: Gauge,
    /// Mated connections.
    pub connections: u32,
    /// What the conductors are made of.
    pub conductor: Conductor,
    /// Temperature of the conductors.
    pub temperature: Celsius,
}

/// What a powered run delivers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Delivered {
    /// Resistance of the loop.
    pub resistance: Ohms,
    /// Current in the loop.
    pub current: Amperes,
    /// What the source gives.
    pub source: Power,
    /// What the run turns into heat.
    pub lost: Power,
    /// What the far end may expect.
    pub expected: Power,
    /// What the class promises it, whatever the source assumes; none where the run's resistance
    /// is above what the class assumes.
    pub guaranteed: Option<Power>,
}

/// What is around a bundle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Surroundings {
    /// Open air, a ladder or a tray.
    Open,
    /// A conduit, or under insulation.
    Enclosed,
}

/// How much warmer the middle of a bundle gets than the room, 5th, 50th, 95th percentile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BundleHeat {
    /// 5th percentile.
    pub low: Kelvins,
    /// Median.
    pub likely: Kelvins,
    /// 95th percentile.
    pub high: Kelvins,
    /// Whether even the high end stays within the 15 K that guidance allows.
    pub within_guidance: bool,
}

/// Something that cannot be powered, or is not covered.
#[derive(Clone, Debug, PartialEq)]
pub enum PowerFault {
    /// Classes are 1 to 8.
    Class(u8),
    /// The run cannot carry the power at any current: the load does not start.
    TooMuch {
        /// What is asked for.
        wanted: Power,
        /// The most that the resistance lets through.
        most: Power,
    },
    /// A length or a power that is negative or not finite, or nothing in the loop.
    Path,
}

impl std::fmt::Display for PowerFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Class(class) => write!(f, "no power class {class}; there are 1 to 8"),
            Self::TooMuch { wanted, most } => write!(
                f,
                "{:.1} W do not get through; at most {:.1} W do, so the load does not start",
                in_watts(*wanted),
                in_watts(*most)
            ),
            Self::Path => f.write_str("lengths, powers and resistances are above zero"),
        }
    }
}

impl std::error::Error for PowerFault {}

/// The model of power over the cable with its constants.
#[derive(Clone, Debug)]
pub struct Powering {
    classes: Vec<PowerClass>,
    resistivity: f64,
    temperature: f64,
    stranded: f64,
    clad_aluminium: f64,
    contact: f64,
    conductivity: f64,
    most_rise: f64,
    open: f64,
    enclosed: f64,
    error: [f64; 3],
    diameters: [f64; 5],
}

fn watts(number: f64) -> Power {
    Power::new::<units::power::watt>(number)
}

fn in_watts(power: Power) -> f64 {
    power.get::<units::power::watt>()
}

fn in_metres(length: Length) -> f64 {
    length.get::<units::length::meter>()
}

impl Powering {
    /// Takes the rows of `powering.csv` out of a catalogue.
    ///
    /// # Errors
    /// Where a row is missing.
    pub fn new(catalogue: &Catalogue) -> Result<Self, CatalogueFault> {
        let row = |id: &str| likely(catalogue, &format!("powering.{id}"));
        let three = |id: &str| {
            catalogue
                .number(&format!("powering.{id}"))
                .map(|n| [n.low, n.likely, n.high])
        };
        let mut classes = Vec::new();
        for class in 1..=8 {
            let of = |name: &str| row(&format!("class{class}.{name}"));
            classes.push(PowerClass {
                class,
                source: watts(of("source")?),
                voltage: Volts(of("voltage")?),
                loop_resistance: Ohms(of("loop")?),
                guaranteed: watts(of("guaranteed")?),
                pairs: of("pairs")? as u32,
            });
        }
        let mut diameters = [0.0; 5];
        for (diameter, gauge) in diameters.iter_mut().zip(Gauge::ALL) {
            *diameter = row(&format!("bundle.diameter.{}", gauge.word()))? * 1e-3;
        }
        Ok(Self {
            classes,
            resistivity: row("resistivity")?,
            temperature: row("temperature")?,
            stranded: row("stranded")?,
            clad_aluminium: row("clad-aluminium")?,
            contact: row("contact")?,
            conductivity: row("bundle.conductivity")?,
            most_rise: row("bundle.rise.most")?,
            open: row("bundle.transfer.open")?,
            enclosed: row("bundle.transfer.enclosed")?,
            error: three("bundle.error")?,
            diameters,
        })
    }

    /// What the standard fixes for a class.
    ///
    /// # Errors
    /// For a class that does not exist.
    pub fn class(&self, class: u8) -> Result<PowerClass, PowerFault> {
        self.classes
            .iter()
            .find(|c| c.class == class)
            .copied()
            .ok_or(PowerFault::Class(class))
    }

    /// Ohms a metre of one solid copper conductor: `rho (1 + 0.00393 (T - 20)) / (pi d^2 / 4)`,
    /// `d = 0.127 mm * 92^((36 - awg) / 39)`.
    fn ohms_a_metre(&self, gauge: Gauge, temperature: Celsius) -> f64 {
        let diameter = 0.127e-3 * libm::pow(92.0, (36.0 - gauge.number()) / 39.0);
        self.resistivity * (1.0 + self.temperature * (temperature.0 - 20.0))
            / (0.25 * PI * diameter * diameter)
    }

    /// Resistance of one solid copper conductor.
    ///
    /// Checked by `validate_conductor_resistances`.
    pub fn conductor(&self, gauge: Gauge, length: Length, temperature: Celsius) -> Ohms {
        Ohms(self.ohms_a_metre(gauge, temperature) * in_metres(length))
    }

    /// Resistance of the loop of a class over a path: one pair's loop, there and back, over two
    /// pairs in parallel halves it, over four quarters it.
    pub fn loop_resistance(&self, class: &PowerClass, path: &PowerPath) -> Ohms {
        let metal = match path.conductor {
            Conductor::Copper => 1.0,
            Conductor::CladAluminium => self.clad_aluminium,
        };
        let wire = |gauge, length| self.conductor(gauge, length, path.temperature).0;
        let one_way = metal * wire(path.cable_gauge, path.cable)
            + self.stranded * wire(path.cord_gauge, path.cords)
            + f64::from(path.connections) * self.contact;
        Ohms(2.0 * one_way / f64::from(class.pairs))
    }

    /// What arrives where the source gives all of its class: `I = P / V`, `P - I^2 R`.
    ///
    /// The guarantee is that of the class, since a source may assume the worst. Valid for direct
    /// current over equal pairs. Checked by `validate_power_classes` and
    /// `validate_power_at_length`.
    ///
    /// # Errors
    /// Where the path is not one.
    pub fn full_source(
        &self,
        class: &PowerClass,
        path: &PowerPath,
    ) -> Result<Delivered, PowerFault> {
        let resistance = self.checked(class, path)?;
        Ok(Self::delivered(class, resistance, class.full_current()))
    }

    /// What a load of known power draws: `I = (V - sqrt(V^2 - 4 R P)) / (2 R)`.
    ///
    /// # Errors
    /// Where no current brings that power through, or the path is not one.
    pub fn load(
        &self,
        class: &PowerClass,
        path: &PowerPath,
        load: Power,
    ) -> Result<Delivered, PowerFault> {
        let resistance = self.checked(class, path)?;
        let (volts, ohms, watts_wanted) = (class.voltage.0, resistance.0, in_watts(load));
        if !(watts_wanted.is_finite() && watts_wanted >= 0.0) {
            return Err(PowerFault::Path);
        }
        let under = volts * volts - 4.0 * ohms * watts_wanted;
        if under < 0.0 {
            return Err(PowerFault::TooMuch {
                wanted: load,
                most: watts(volts * volts / (4.0 * ohms)),
            });
        }
        // The same root without the difference of near-equal numbers on a short run.
        let current = Amperes(2.0 * watts_wanted / (volts + libm::sqrt(under)));
        Ok(Self::delivered(class, resistance, current))
    }

    fn checked(&self, class: &PowerClass, path: &PowerPath) -> Result<Ohms, PowerFault> {
        let lengths = [in_metres(path.cable), in_metres(path.cords)];
        let resistance = self.loop_resistance(class, path);
        if lengths.iter().all(|l| l.is_finite() && *l >= 0.0) && resistance.0 > 0.0 {
            Ok(resistance)
        } else {
            Err(PowerFault::Path)
        }
    }

    fn delivered(class: &PowerClass, resistance: Ohms, current: Amperes) -> Delivered {
        let source = class.voltage * current;
        let lost = (current * resistance) * current;
        Delivered {
            resistance,
            current,
            source,
            lost,
            expected: source - lost,
            guaranteed: (resistance <= class.loop_resistance).then_some(class.guaranteed),
        }
    }

    /// How much warmer the middle of a bundle of powered cables gets.
    ///
    /// `dT = N q / (h pi D) + N q / (4 pi k)`, `q` watts a metre of one cable (the sum over its
    /// conductors of `I^2 R'`), `D = 1.15 d sqrt N`, `h` heat carried off, `k` conduction inside.
    /// Every cable carries the same `current`, out and back, over the pairs of its class; `h` and `k`
    /// are judged, the whole is good to a half (row `powering.bundle.error`). Checked by
    /// `validate_bundle_heat` and `verify_bundle_heat_goes_with_the_square_of_the_current`.
    ///
    /// # Errors
    /// For no cables, and for a current that is negative or not finite.
    pub fn bundle_heat(
        &self,
        class: &PowerClass,
        current: Amperes,
        gauge: Gauge,
        cables: u32,
        temperature: Celsius,
        surroundings: Surroundings,
    ) -> Result<BundleHeat, PowerFault> {
        if cables == 0 || !(current.0.is_finite() && current.0 >= 0.0) {
            return Err(PowerFault::Path);
        }
        let conductors = f64::from(2 * class.pairs);
        // Half of the conductors carry the current there, half back.
        let each = current.0 / (0.5 * conductors);
        let heat = conductors * each * each * self.ohms_a_metre(gauge, temperature);
        let cable = Gauge::ALL
            .iter()
            .zip(self.diameters)
            .find(|(g, _)| **g == gauge)
            .map_or(f64::NAN, |(_, d)| d);
        let all = f64::from(cables) * heat;
        let bundle = 1.15 * cable * libm::sqrt(f64::from(cables));
        let transfer = match surroundings {
            Surroundings::Open => self.open,
            Surroundings::Enclosed => self.enclosed,
        };
        let rise = all / (transfer * PI * bundle) + all / (4.0 * PI * self.conductivity);
        let [low, likely, high] = self.error.map(|error| error * rise);
        Ok(BundleHeat {
            low: Kelvins(low),
            likely: Kelvins(likely),
            high: Kelvins(high),
            within_guidance: high <= self.most_rise,
        })
    }
}
