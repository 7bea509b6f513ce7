//! What a run loses and hears at one frequency.

use super::cables::{Alien, Cables, Specified};
use super::decibel::{decibels, linear};
use super::rows::Normal;
use super::run::in_metres;
use super::{
    Bundle, Category, Conductor, Decibels, Gauge, LengthBasis, RunFault, RunPhysics, Screen,
    in_megahertz,
};
use narrows_units::quantity::Frequency;

/// Decibels of loss in one neper of amplitude.
const DECIBELS_A_NEPER: f64 = 20.0 / std::f64::consts::LN_10;

impl Cables {
    /// The numbers of one run.
    pub(super) fn channel(&self, run: &RunPhysics) -> Option<Channel> {
        let name = match run.category {
            Category::Telephone | Category::TwoPair | Category::Cat5 => "cat5e",
            other => other.word(),
        };
        let bonded = run.screen == Screen::Bonded;
        // Screened pairs whose screen nobody checked hear about what a good plain cable hears.
        let make = match (bonded, run.category >= Category::Cat7) {
            (true, _) => format!("{name}.screened"),
            (false, true) => "cat6a.plain".to_owned(),
            (false, false) => format!("{name}.plain"),
        };
        let bundle = match run.screen {
            Screen::Unchecked => run.bundle.min(Bundle::Loose),
            _ => run.bundle,
        };
        let mut specified = self.specified(name)?.clone();
        if let Some(gauge) = run.cable_gauge {
            specified.root *= libm::pow(self.gauge_step, gauge.number() - specified.gauge);
        }
        if run.conductor == Conductor::CladAluminium {
            specified.root *= self.clad_aluminium;
        }
        let installed = &self.installed;
        let [tight, loose, apart, alone] = installed.alien;
        let alien_better = match (bundle, bonded, make.as_str()) {
            (Bundle::Alone, ..) => alone,
            (_, true, _) => installed.alien_screened,
            (_, _, "cat6a.plain") => installed.alien_specified,
            (Bundle::Tight, ..) => tight,
            (Bundle::Loose, ..) => loose,
            (Bundle::Apart, ..) => apart,
        };
        let [measured, labelled, guessed] = installed.length;
        let [awg24, awg26, awg28] = self.cord;
        let [lay_tight, lay_loose, lay_apart] = self.lay;
        Some(Channel {
            alien: *Self::named(&self.alien, &make)?,
            specified,
            bundle,
            lay: match bundle {
                Bundle::Tight | Bundle::Alone => lay_tight,
                Bundle::Loose => lay_loose,
                Bundle::Apart => lay_apart,
            },
            lay_loose,
            alien_better,
            length: in_metres(run.length),
            length_error: match run.length_basis {
                LengthBasis::Measured => measured,
                LengthBasis::Labelled => labelled,
                LengthBasis::Guessed => guessed,
            },
            connections: f64::from(run.connections),
            cords: run.cords.map(in_metres),
            cord_share: self.cord_share,
            cord_most: self.cord_most,
            cord_loss: match run.cord_gauge {
                Gauge::Awg26 => awg26,
                Gauge::Awg28 => awg28,
                _ => awg24,
            },
            beside_first: run.beside_first.map(in_metres),
            untied_ends: in_metres(run.untied_ends),
            temperature: run.temperature.0,
            temperature_slope: if bonded {
                self.temperature_screened
            } else {
                self.temperature_plain
            },
            temperature_hot: if bonded {
                self.temperature_screened
            } else {
                self.temperature_hot
            },
        })
    }
}

/// The numbers of one run; frequencies in MHz, lengths in metres, losses in dB.
#[derive(Clone, Debug)]
pub(super) struct Channel {
    pub specified: Specified,
    pub alien: Alien,
    pub bundle: Bundle,
    pub lay: f64,
    lay_loose: f64,
    pub alien_better: Normal,
    pub length: f64,
    pub length_error: Normal,
    pub connections: f64,
    cords: Option<f64>,
    cord_share: f64,
    cord_most: f64,
    cord_loss: f64,
    beside_first: Option<f64>,
    untied_ends: f64,
    pub temperature: f64,
    temperature_slope: f64,
    temperature_hot: f64,
}

/// What depends on frequency only; the rest of a channel is arithmetic on it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tones {
    /// Loss of 100 m of cable in nepers of power.
    cable: f64,
    connections: f64,
    ripple: f64,
    /// Amplitudes of the crosstalk of 100 m of cable, saturated, and of all connectors.
    near_cable: f64,
    near_connectors: f64,
    far_cable: f64,
    far_connectors: f64,
    /// Powers.
    pub returned: f64,
    alien_near: f64,
    alien_far: f64,
}

/// What a receiver gets of each, in ratios of power.
#[derive(Clone, Copy, Debug)]
pub(super) struct Gains {
    pub signal: f64,
    pub near: f64,
    /// Relative to the signal.
    pub far: f64,
    pub alien_near: f64,
    /// Relative to the signal.
    pub alien_far: f64,
}

/// How a channel differs from its description.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bent {
    pub loss_scale: f64,
    pub length_scale: f64,
    pub warmer: f64,
}

impl Bent {
    pub(super) const NOT: Self = Self {
        loss_scale: 1.0,
        length_scale: 1.0,
        warmer: 0.0,
    };
}

impl Channel {
    /// Loss against 20 C; below 0 C as at 0 C.
    pub(super) fn warmth(&self, celsius: f64) -> f64 {
        let celsius = celsius.max(0.0);
        1.0 + self.temperature_slope * (celsius.min(40.0) - 20.0)
            + self.temperature_hot * (celsius - 40.0).max(0.0)
    }

    /// All that depends on frequency. With `pair` one disturbing pair, else the power sum.
    pub(super) fn tones(&self, f: f64, pair: bool) -> Tones {
        let s = &self.specified;
        let log_f = libm::log10(f);
        let amplitude = |db: f64| linear(-0.5 * db);
        let (near, far) = if pair {
            (s.near_pair, s.far_pair)
        } else {
            (s.near_sum, s.far_sum)
        };
        let slope = if f < 100.0 { 10.0 } else { 15.0 };
        let root = libm::sqrt(f);
        Tones {
            cable: s.cable_loss(f) * (2.0 / DECIBELS_A_NEPER),
            connections: self.connections * s.connection * root * (2.0 / DECIBELS_A_NEPER),
            ripple: s.ripple * f * root * (2.0 / DECIBELS_A_NEPER),
            near_cable: amplitude(near.cable.at(log_f)),
            near_connectors: 2.0 * amplitude(s.near_connector(near.connector, f, log_f)),
            far_cable: amplitude(far.cable.at(log_f)),
            far_connectors: self.connections * amplitude(far.connector.at(log_f)),
            returned: linear(-s.return_loss(f, log_f)),
            alien_near: linear(slope * (log_f - 2.0) - self.alien.near - self.lay),
            alien_far: linear(20.0 * (log_f - 2.0) - self.alien.far - self.lay),
        }
    }

    /// Gains at one frequency; a near-end coupling saturates as `1 - exp(-4 a L)`, a far-end one
    /// grows with length.
    pub(super) fn gains(&self, tones: &Tones, bent: &Bent) -> Gains {
        let length = self.length * bent.length_scale;
        let cords = self
            .cords
            .unwrap_or((self.cord_share * length).min(self.cord_most))
            .min(length);
        let metres = (length - cords) + self.cord_loss * cords;
        let warmth = self.warmth(self.temperature + bent.warmer);
        let loss = tones.cable * metres / 100.0 * warmth * bent.loss_scale
            + tones.connections
            + tones.ripple * (length / 100.0).min(1.0);
        // Nepers of power a metre, there and back.
        let back = 2.0 * tones.cable / 100.0;
        let beyond = |from: f64| libm::exp(-back * from);
        let untied = self.untied_ends.min(0.5 * length);
        let end = self.beside_first.unwrap_or(length).min(length - untied);
        let end = end.max(untied);
        let saturated = 1.0 - beyond(length);
        let (mut alien_near, mut alien_far) = if untied <= 0.0 && end >= length {
            (saturated, length)
        } else {
            (beyond(untied) - beyond(end), end - untied)
        };
        if untied > 0.0 {
            // Untied metres still lie beside the others.
            let looser = if self.bundle == Bundle::Tight {
                linear(self.lay - self.lay_loose)
            } else {
                1.0
            };
            alien_near += looser * (1.0 - beyond(untied));
            alien_far += looser * untied;
            if self.beside_first.is_none() {
                alien_near += looser * (beyond(length - untied) - beyond(length));
                alien_far += looser * untied;
            }
        }
        let near = libm::sqrt(saturated) * tones.near_cable + tones.near_connectors;
        let far = libm::sqrt(length / 100.0) * tones.far_cable + tones.far_connectors;
        Gains {
            signal: libm::exp(-loss),
            near: near * near,
            far: far * far,
            alien_near: tones.alien_near * alien_near,
            alien_far: tones.alien_far * alien_far / 100.0,
        }
    }
}

/// What a run at its specified limits does at one frequency; six neighbours.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtFrequency {
    /// Insertion loss.
    pub insertion_loss: Decibels,
    /// Return loss.
    pub return_loss: Decibels,
    /// NEXT, worst pair to pair.
    pub near_end: Decibels,
    /// Power-sum NEXT.
    pub near_end_sum: Decibels,
    /// ACR-F, worst pair to pair.
    pub far_end: Decibels,
    /// Power-sum ACR-F.
    pub far_end_sum: Decibels,
    /// Power-sum alien NEXT; none for a run that lies alone.
    pub alien_near: Option<Decibels>,
    /// Power-sum alien ACR-F; none for a run that lies alone.
    pub alien_far: Option<Decibels>,
}

impl super::Copper {
    /// Insertion loss, return loss and crosstalk of a run at its limits.
    ///
    /// Channel loss `IL = IL_c ((L - L_p) + d L_p) / 100 * t(T) + n k sqrt f + c f^1.5 min(1, L/100)`
    /// with `IL_c = k1 sqrt f + k2 f + k3 / sqrt f` dB a 100 m, `L_p` cords, `d` their loss over
    /// solid cable, `t(T)` temperature, `n` connections. NEXT adds the amplitudes of cable and two
    /// connectors, ACR-F those of cable and `n`. Valid from 1 MHz to the category's band; above it
    /// extrapolated (15, 40 and 20 dB a decade). Sources: rows of `copper.csv`.
    /// Checked by `validate_channel_limits_at_their_printed_digits`.
    ///
    /// # Errors
    /// Where the description is outside what the formulas cover.
    pub fn at(&self, run: &RunPhysics, frequency: Frequency) -> Result<AtFrequency, RunFault> {
        run.check()?;
        let channel = self
            .cables
            .channel(run)
            .ok_or(RunFault::Category(run.category))?;
        let f = in_megahertz(frequency);
        let sum = channel.tones(f, false);
        let pair = channel.gains(&channel.tones(f, true), &Bent::NOT);
        let gains = channel.gains(&sum, &Bent::NOT);
        let loss = |power: f64| Decibels(-decibels(power));
        let beside = channel.bundle != Bundle::Alone;
        Ok(AtFrequency {
            insertion_loss: loss(gains.signal),
            return_loss: loss(sum.returned),
            near_end: loss(pair.near),
            near_end_sum: loss(gains.near),
            far_end: loss(pair.far),
            far_end_sum: loss(gains.far),
            alien_near: beside.then(|| loss(gains.alien_near)),
            alien_far: beside.then(|| loss(gains.alien_far)),
        })
    }
}
