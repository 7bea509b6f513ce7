//! What cables are specified to and what installed runs are like, from the catalogue.

use super::rows::{Normal, likely, normal};
use super::{Category, Conductor, RunPhysics};
use narrows_units::catalogue::{Catalogue, CatalogueFault};

/// `level - slope log10 f`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line {
    pub level: f64,
    pub slope: f64,
}

impl Line {
    fn new(catalogue: &Catalogue, id: &str) -> Result<Self, CatalogueFault> {
        Ok(Self {
            level: likely(catalogue, &format!("{id}.level"))?,
            slope: likely(catalogue, &format!("{id}.slope"))?,
        })
    }

    pub(super) fn at(self, log_f: f64) -> f64 {
        self.level - self.slope * log_f
    }
}

/// Crosstalk of the cable and of one connector.
#[derive(Clone, Copy, Debug)]
pub(super) struct Coupling {
    pub cable: Line,
    pub connector: Line,
}

impl Coupling {
    fn new(catalogue: &Catalogue, id: &str) -> Result<Self, CatalogueFault> {
        Ok(Self {
            cable: Line::new(catalogue, &format!("{id}.cable"))?,
            connector: Line::new(catalogue, &format!("{id}.connector"))?,
        })
    }
}

/// What a category is specified to.
#[derive(Clone, Debug)]
pub(super) struct Specified {
    pub root: f64,
    pub linear: f64,
    pub inverse_root: f64,
    pub connection: f64,
    pub ripple: f64,
    pub band: f64,
    pub gauge: f64,
    pub near_pair: Coupling,
    pub near_sum: Coupling,
    pub far_pair: Coupling,
    pub far_sum: Coupling,
    pub knee: f64,
    pub returns: Vec<(f64, Line)>,
    pub return_floor: f64,
}

/// Categories by the name of their rows; 5 is 5e with a penalty, 7A is not in a site's words.
const SPECIFIED: [&str; 6] = ["cat5e", "cat6", "cat6a", "cat7", "cat7a", "cat8"];

impl Specified {
    fn new(catalogue: &Catalogue, name: &str) -> Result<Self, CatalogueFault> {
        let row = |field: &str| likely(catalogue, &format!("copper.{name}.{field}"));
        let coupling = |field: &str| Coupling::new(catalogue, &format!("copper.{name}.{field}"));
        let mut returns = Vec::new();
        while let Ok(from) = row(&format!("return.{}.from", returns.len())) {
            let line = Line::new(
                catalogue,
                &format!("copper.{name}.return.{}", returns.len()),
            )?;
            returns.push((from, line));
        }
        Ok(Self {
            root: row("loss.root")?,
            linear: row("loss.linear")?,
            inverse_root: row("loss.inverse-root")?,
            connection: row("loss.connection")?,
            ripple: row("loss.ripple")?,
            band: row("band")?,
            gauge: row("gauge")?,
            near_pair: coupling("near-end")?,
            near_sum: coupling("near-end-sum")?,
            far_pair: coupling("far-end")?,
            far_sum: coupling("far-end-sum")?,
            knee: row("near-end.connector.knee")?,
            returns,
            return_floor: row("return.floor")?,
        })
    }

    /// Loss of 100 m of the solid cable at 20 C, `k1 sqrt f + k2 f + k3 / sqrt f`.
    pub(super) fn cable_loss(&self, f: f64) -> f64 {
        let root = libm::sqrt(f);
        self.root * root + self.linear * f + self.inverse_root / root
    }

    pub(super) fn return_loss(&self, f: f64, log_f: f64) -> f64 {
        let piece = self.returns.iter().rev().find(|(from, _)| f >= *from);
        piece
            .or(self.returns.first())
            .map_or(0.0, |(_, line)| line.at(log_f))
            .max(self.return_floor)
    }

    pub(super) fn near_connector(&self, line: Line, f: f64, log_f: f64) -> f64 {
        if f > self.knee {
            let log_knee = libm::log10(self.knee);
            line.at(log_knee) - 40.0 * (log_f - log_knee)
        } else {
            line.at(log_f)
        }
    }
}

/// Alien crosstalk of one make, in dB at 100 MHz, six neighbours tied along 100 m.
#[derive(Clone, Copy, Debug)]
pub(super) struct Alien {
    pub near: f64,
    pub far: f64,
}

/// What is unknown of installed runs.
#[derive(Clone, Debug)]
pub(super) struct Installed {
    pub loss_scale: Normal,
    pub loss_least: f64,
    pub loss_most: f64,
    pub alien: [Normal; 4],
    pub alien_specified: Normal,
    pub alien_screened: Normal,
    pub internal: Normal,
    pub return_loss: Normal,
    pub echo: Normal,
    pub near: Normal,
    pub far: Normal,
    pub length: [Normal; 3],
    pub temperature: Normal,
    pub model: Normal,
    pub beyond_band: f64,
    pub worst_pair: Normal,
    pub workmanship: Normal,
    pub workmanship_share: f64,
    pub reserve: f64,
    pub cat5_penalty: Normal,
    pub cat5_beyond: Normal,
    pub telephone_penalty: Normal,
    pub clad_penalty: Normal,
}

/// All cables and what is known of their use.
#[derive(Clone, Debug)]
pub(super) struct Cables {
    pub specified: Vec<(String, Specified)>,
    pub alien: Vec<(String, Alien)>,
    pub lay: [f64; 3],
    pub cord: [f64; 3],
    pub cord_share: f64,
    pub cord_most: f64,
    pub gauge_step: f64,
    pub clad_aluminium: f64,
    pub temperature_plain: f64,
    pub temperature_hot: f64,
    pub temperature_screened: f64,
    pub neighbours_exponent: f64,
    pub neighbours_most: f64,
    pub reach_most: f64,
    pub reach_least: f64,
    pub reach_beyond: f64,
    /// The most chance that a rate has beyond the length that its standard promises.
    pub unpromised: f64,
    pub installed: Installed,
}

impl Installed {
    fn new(c: &Catalogue) -> Result<Self, CatalogueFault> {
        let law = |name: &str| normal(c, &format!("copper.{name}"));
        let row = |name: &str| likely(c, &format!("copper.{name}"));
        Ok(Self {
            loss_scale: law("installed.loss-scale")?,
            loss_least: row("installed.loss-scale.least")?,
            loss_most: row("installed.loss-scale.most")?,
            alien: [
                law("installed.alien.tight")?,
                law("installed.alien.loose")?,
                law("installed.alien.apart")?,
                law("installed.alien.alone")?,
            ],
            alien_specified: law("installed.alien.specified")?,
            alien_screened: law("installed.alien.screened")?,
            internal: law("installed.internal")?,
            return_loss: law("installed.return")?,
            echo: law("unknown.echo-suppression")?,
            near: law("unknown.near-end-suppression")?,
            far: law("unknown.far-end-suppression")?,
            length: [
                law("unknown.length.measured")?,
                law("unknown.length.labelled")?,
                law("unknown.length.guessed")?,
            ],
            temperature: law("unknown.temperature")?,
            model: law("unknown.model")?,
            beyond_band: row("unknown.beyond-band")?,
            worst_pair: law("worst-pair")?,
            workmanship: law("workmanship.loss")?,
            workmanship_share: row("workmanship.share")?,
            reserve: row("reserve")?,
            cat5_penalty: law("cat5.penalty")?,
            cat5_beyond: law("cat5.beyond-band")?,
            telephone_penalty: law("telephone.penalty")?,
            clad_penalty: law("clad-aluminium.penalty")?,
        })
    }
}

impl Installed {
    /// What older and poorer wire costs of the margin of a 5e run, or of one of copper.
    /// `beyond` are the octaves above the band to which such cable was held.
    pub(super) fn penalties(&self, run: &RunPhysics, beyond: f64) -> Vec<(&'static str, Normal)> {
        let mut penalties = Vec::new();
        match run.category {
            Category::Telephone => {
                penalties.push(("telephone wire against 5e, dB", self.telephone_penalty));
            }
            Category::TwoPair | Category::Cat5 => {
                penalties.push(("category 5 against 5e, dB", self.cat5_penalty));
                if beyond > 0.0 {
                    let law = Normal {
                        mean: beyond * self.cat5_beyond.mean,
                        sigma: beyond * self.cat5_beyond.sigma,
                    };
                    penalties.push(("category 5 above its band, dB", law));
                }
            }
            _ => {}
        }
        if run.conductor == Conductor::CladAluminium {
            penalties.push(("poor cable and its terminations, dB", self.clad_penalty));
        }
        penalties
    }
}

impl Cables {
    pub(super) fn new(c: &Catalogue) -> Result<Self, CatalogueFault> {
        let row = |name: &str| likely(c, &format!("copper.{name}"));
        let mut specified = Vec::new();
        let mut alien = Vec::new();
        for name in SPECIFIED {
            specified.push((name.to_owned(), Specified::new(c, name)?));
            for make in ["plain", "screened"] {
                let id = format!("{name}.{make}");
                if let (Ok(near), Ok(far)) = (
                    row(&format!("alien.{id}.near")),
                    row(&format!("alien.{id}.far")),
                ) {
                    alien.push((id, Alien { near, far }));
                }
            }
        }
        Ok(Self {
            specified,
            alien,
            lay: [row("lay.tight")?, row("lay.loose")?, row("lay.apart")?],
            cord: [row("cord.24")?, row("cord.26")?, row("cord.28")?],
            cord_share: row("cord.share")?,
            cord_most: row("cord.most")?,
            gauge_step: row("gauge.step")?,
            clad_aluminium: row("clad-aluminium.loss")?,
            temperature_plain: row("temperature.plain")?,
            temperature_hot: row("temperature.plain.hot")?,
            temperature_screened: row("temperature.screened")?,
            neighbours_exponent: row("neighbours.exponent")?,
            neighbours_most: row("neighbours.most")?,
            reach_most: row("reach.most")?,
            reach_least: row("reach.least")?,
            reach_beyond: row("reach.beyond")?,
            unpromised: row("unpromised")?,
            installed: Installed::new(c)?,
        })
    }

    pub(super) fn named<'a, T>(list: &'a [(String, T)], name: &str) -> Option<&'a T> {
        list.iter().find(|(n, _)| n == name).map(|(_, t)| t)
    }

    pub(super) fn specified(&self, name: &str) -> Option<&Specified> {
        Self::named(&self.specified, name)
    }
}
