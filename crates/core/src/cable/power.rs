//! Power over a run.

use super::run::{CableRun, Joint};
use super::words::{Said, Words};
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::copper::{
    Bundle, BundleHeat, Celsius, Conductor, Copper, Delivered, Neighbours, Pairs, PowerClass,
    PowerPath, Powering, RunPhysics, Surroundings,
};
use crate::quantity::{Power, units};
use crate::site::{FaultSource, Faults};

/// What is asked of power over a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerAsked {
    /// The class, where it is told; else the lowest that promises the load.
    pub class: Option<u8>,
    /// What the device draws, where it is told.
    pub load: Option<Power>,
    /// Powered cables of the bundle, where they are told.
    pub cables: Option<u32>,
    /// What is around the bundle.
    pub surroundings: Surroundings,
}

impl PowerAsked {
    /// Reads `class 4`, `class 4, 20 W`, `20 W`, `class 6, 24 powered, enclosed`.
    ///
    /// # Errors
    /// With the words that are not of power.
    pub fn parse(text: &str) -> Result<Self, Faults> {
        let mut words = Words::new(text, FaultSource::Argument(text.to_owned()));
        let mut said = Said::default();
        words.take(0..text.len(), &mut said);
        let other = [
            said.kind.as_ref().map(|(_, at)| at.clone()),
            said.length.as_ref().map(|(_, at)| at.clone()),
            said.bundle.as_ref().map(|(_, at)| at.clone()),
        ];
        let help =
            "write class 1 to class 8 or a power, for example \"class 4\" or \"class 6, 40 W\"";
        for at in other.into_iter().flatten() {
            words.fault(at, "not of power", "this is said of a run", help);
        }
        match said.power() {
            Some(power) if words.faults.is_empty() => Ok(power),
            None if words.faults.is_empty() => {
                words.fault(
                    0..text.len(),
                    "no power",
                    "neither a class nor a power",
                    help,
                );
                Err(Faults::ordered(words.faults))
            }
            _ => Err(Faults::ordered(words.faults)),
        }
    }
}

/// Why there is no answer about power, or none that can be relied on.
#[derive(Clone, Debug, PartialEq)]
pub struct PowerReport {
    /// The class.
    pub class: u8,
    /// What the source must set aside.
    pub reserved: Power,
    /// What arrives, and what is lost on the way; none where the run must not carry it.
    pub delivered: Option<Delivered>,
    /// The stated load.
    pub load: Option<Power>,
    /// How much warmer the bundle gets; none where the run must not carry it.
    pub heat: Option<BundleHeat>,
    /// Powered cables that were counted.
    pub cables: u32,
    /// What stands against it.
    pub refused: Option<String>,
}

/// Power of several runs against what the switch can give.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Budgeted {
    /// Powered runs.
    pub runs: usize,
    /// What the sources must set aside, class by class.
    pub reserved: Power,
    /// What they give where loads are told, and the class where not.
    pub drawn: Power,
    /// What the switch has, where it is told.
    pub budget: Option<Power>,
}

fn watts(number: f64) -> Power {
    Power::new::<units::power::watt>(number)
}

impl Budgeted {
    /// Adds up the powered runs; none where there are none.
    pub fn of<'a>(
        reports: impl IntoIterator<Item = &'a PowerReport>,
        budget: Option<Power>,
    ) -> Option<Self> {
        let mut sum = Self {
            runs: 0,
            reserved: watts(0.0),
            drawn: watts(0.0),
            budget,
        };
        for report in reports {
            sum.runs += 1;
            sum.reserved += report.reserved;
            sum.drawn += match (&report.delivered, report.load) {
                (Some(delivered), Some(_)) => delivered.source,
                _ => report.reserved,
            };
        }
        (sum.runs > 0).then_some(sum)
    }

    /// Whether the switch can set everything aside; true where its budget is not told.
    pub fn fits(&self) -> bool {
        self.budget.is_none_or(|budget| self.reserved <= budget)
    }
}

/// The model of power over runs.
pub(super) struct Powers {
    powering: Powering,
}

impl Powers {
    pub(super) fn new(catalogue: &Catalogue) -> Result<Self, CatalogueFault> {
        Ok(Self {
            powering: Powering::new(catalogue)?,
        })
    }

    /// The class that is told, or the lowest that promises the load.
    fn class(&self, asked: &PowerAsked) -> Option<PowerClass> {
        match (asked.class, asked.load) {
            (Some(class), _) => self.powering.class(class).ok(),
            (None, load) => (1..=8)
                .filter_map(|class| self.powering.class(class).ok())
                .find(|class| load.is_none_or(|load| class.guaranteed >= load)),
        }
    }

    /// Power over a run of its likeliest make. Conductors are taken at the run's temperature and
    /// the middle of the bundle's heat; where the load is told, every powered cable of the bundle
    /// carries the current of that load, else the full current of the class.
    pub(super) fn report(&self, run: &CableRun, copper: &Copper) -> Option<PowerReport> {
        let asked = run.power?;
        let physics = run.typical()?;
        let Some(class) = self.class(&asked) else {
            let load = asked.load.unwrap_or(watts(0.0));
            return Some(PowerReport {
                class: 8,
                reserved: watts(0.0),
                delivered: None,
                load: asked.load,
                heat: None,
                cables: 0,
                refused: Some(format!(
                    "no class promises {:.1} W",
                    load.get::<units::power::watt>()
                )),
            });
        };
        let cables = asked.cables.unwrap_or_else(|| beside(physics));
        let mut report = PowerReport {
            class: class.class,
            reserved: class.source,
            delivered: None,
            load: asked.load,
            heat: None,
            cables,
            refused: None,
        };
        if physics.conductor == Conductor::CladAluminium {
            report.refused = Some("copper-clad aluminium must not carry power (fire)".to_owned());
            return Some(report);
        }
        if physics.pairs == Pairs::Two && class.pairs > 2 {
            report.refused = Some(format!("class {} needs all four pairs", class.class));
            return Some(report);
        }
        let gauge = copper.gauge(physics);
        let cords = copper.cords(physics);
        let cold = PowerPath {
            cable: physics.length - cords,
            cable_gauge: gauge,
            cords,
            cord_gauge: physics.cord_gauge,
            connections: physics.connections,
            conductor: physics.conductor,
            temperature: physics.temperature,
        };
        let through = |path: &PowerPath| match asked.load {
            Some(load) => self.powering.load(&class, path, load),
            None => self.powering.full_source(&class, path),
        };
        // a load that does not start, or takes too much, is refused below: as much as the class gives
        let full = class.full_current();
        let current = match through(&cold) {
            Ok(cold) if cold.current < full => cold.current,
            _ => full,
        };
        let heat = self
            .powering
            .bundle_heat(
                &class,
                current,
                gauge,
                cables,
                physics.temperature,
                asked.surroundings,
            )
            .ok();
        let warm = heat.map_or(physics.temperature, |heat| {
            physics.temperature + heat.likely
        });
        let delivered = through(&PowerPath {
            temperature: warm,
            ..cold
        });
        report.heat = heat;
        match delivered {
            Ok(delivered) if delivered.source > class.source => {
                report.refused = Some(format!(
                    "the source would have to give {:.1} W, more than class {} allows",
                    delivered.source.get::<units::power::watt>(),
                    class.class
                ));
            }
            Ok(delivered) => report.delivered = Some(delivered),
            Err(fault) => report.refused = Some(fault.to_string()),
        }
        Some(report)
    }

    /// The run with the middle of its bundle's heat on top of its temperature.
    pub(super) fn warmed(&self, run: &CableRun, copper: &Copper) -> CableRun {
        let mut warm = run.clone();
        let heat = self.report(run, copper).and_then(|report| report.heat);
        if let (Some(heat), Joint::Copper { cases, typical, .. }) = (heat, &mut warm.joint) {
            let all = cases.iter_mut().map(|case| &mut case.physics);
            for physics in all.chain([typical.as_mut()]) {
                let hottest = Celsius(crate::copper::HOTTEST);
                let warmer = physics.temperature + heat.likely;
                physics.temperature = if warmer > hottest { hottest } else { warmer };
            }
        }
        warm
    }
}

/// Cables of the bundle, this one included.
fn beside(physics: &RunPhysics) -> u32 {
    if physics.bundle == Bundle::Alone {
        return 1;
    }
    let neighbours = match &physics.neighbours {
        Neighbours::SameRate(count) => *count,
        Neighbours::Rates(rates) => rates
            .iter()
            .fold(0, |sum: u32, (_, count)| sum.saturating_add(*count)),
    };
    neighbours.saturating_add(1)
}
