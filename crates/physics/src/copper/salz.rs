//! Signal to noise ratio behind an ideal decision-feedback equaliser, and what the noise is.
//!
//! `SNR = exp(1/fN * integral 0..fN of ln(1 + S/N) df) - 1`: the unbiased optimum of Salz, Bell
//! System Technical Journal 52 (1973), 1341-1373. `S` is the spectrum sent less the insertion
//! loss; `N` the sum of the receiver's floor, alien NEXT and FEXT, and what is left of echo, NEXT
//! and FEXT. The integral is a midpoint sum: 200 points are within 0.001 dB and 50 within 0.02 dB for
//! margins above -4 dB, within 0.0025 and 0.03 dB below
//! (`verify_quadrature_error_is_what_we_state`); a neighbour's spectrum that ends inside the band
//! adds up to 0.02 and 0.1 dB.

use super::cables::Cables;
use super::channel::{Bent, Channel, Gains, Tones};
use super::decibel::{decibels, linear};
use super::phy::{Phy, Phys};
use super::{Bundle, DecibelMilliwattsPerHertz, Neighbours, RunFault, RunPhysics};
use narrows_units::quantity::Ratio;

/// What shares the loss of signal to noise ratio: how much of it each noise takes, adding to one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NoiseShares {
    /// Alien near-end crosstalk: neighbours, at this end.
    pub alien_near: Ratio,
    /// Alien far-end crosstalk: neighbours, from the other end.
    pub alien_far: Ratio,
    /// The run's own reflections.
    pub echo: Ratio,
    /// The run's own pairs, at this end.
    pub near_end: Ratio,
    /// The run's own pairs, from the other end.
    pub far_end: Ratio,
    /// The receiver's own noise.
    pub receiver: Ratio,
}

/// Shifts of the noises against their limits, in dB.
#[derive(Clone, Copy, Debug)]
pub(super) struct Knobs {
    pub alien: f64,
    pub internal: f64,
    pub return_loss: f64,
    pub echo: f64,
    pub near: f64,
    pub far: f64,
    pub floor: f64,
}

impl Knobs {
    /// At the limits.
    pub(super) const LIMITS: Self = Self {
        alien: 0.0,
        internal: 0.0,
        return_loss: 0.0,
        echo: 0.0,
        near: 0.0,
        far: 0.0,
        floor: 0.0,
    };
}

/// One midpoint of the band.
struct Point {
    sent: f64,
    heard: f64,
    tones: Tones,
}

/// A run under one rate, sampled over the band.
pub(super) struct Band<'a> {
    channel: &'a Channel,
    phy: &'a Phy,
    points: Vec<Point>,
}

/// Neighbours by rate as the receiver of `victim` hears them.
pub(super) struct Crowd<'a> {
    kinds: Vec<(&'a Phy, f64)>,
    exponent: f64,
    most: f64,
}

impl<'a> Crowd<'a> {
    pub(super) fn new(
        cables: &Cables,
        phys: &'a Phys,
        victim: &'a Phy,
        run: &RunPhysics,
    ) -> Result<Self, RunFault> {
        let kinds = match &run.neighbours {
            Neighbours::SameRate(count) => vec![(victim, f64::from(*count))],
            Neighbours::Rates(rates) => rates
                .iter()
                .map(|(rate, count)| {
                    let phy = phys.of(*rate).ok_or(RunFault::Rate(*rate))?;
                    Ok((phy, f64::from(*count)))
                })
                .collect::<Result<_, RunFault>>()?,
        };
        Ok(Self {
            kinds,
            exponent: cables.neighbours_exponent,
            most: cables.neighbours_most,
        })
    }

    /// `(sum n P^(1/e))^e / 6^e`: unequal disturbers, the loudest six of them, against six that
    /// the alien reference stands for.
    fn heard(&self, f: f64) -> f64 {
        if let [(phy, count)] = self.kinds.as_slice() {
            return phy.disturbs(f) * libm::pow(count.min(self.most) / self.most, self.exponent);
        }
        let mut powers: Vec<(f64, f64)> = self
            .kinds
            .iter()
            .map(|(phy, count)| (phy.disturbs(f), *count))
            .collect();
        powers.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut room = self.most;
        let mut sum = 0.0;
        for (power, count) in powers {
            let counted = count.min(room);
            room -= counted;
            sum += counted * libm::pow(power, 1.0 / self.exponent);
        }
        libm::pow(sum / self.most, self.exponent)
    }
}

impl<'a> Band<'a> {
    pub(super) fn new(channel: &'a Channel, phy: &'a Phy, crowd: &Crowd<'_>, points: u32) -> Self {
        let step = phy.nyquist() / f64::from(points);
        let points = (0..points)
            .map(|i| {
                let f = (f64::from(i) + 0.5) * step;
                Point {
                    sent: phy.sends(f),
                    heard: crowd.heard(f),
                    tones: channel.tones(f, phy.one_pair_each_way),
                }
            })
            .collect();
        Self {
            channel,
            phy,
            points,
        }
    }

    /// What the receiver gets of each at every point of a channel that differs from its
    /// description; the noises of several [`Knobs`] can share it.
    pub(super) fn gains(&self, bent: &Bent) -> Vec<Gains> {
        self.points
            .iter()
            .map(|point| self.channel.gains(&point.tones, bent))
            .collect()
    }

    /// Signal at every point, with the noises: alien near and far, echo, near, far, receiver.
    fn each(&self, gains: &[Gains], knobs: &Knobs, mut take: impl FnMut(f64, [f64; 6])) {
        let phy = self.phy;
        let own = if phy.one_pair_each_way { 0.0 } else { 1.0 };
        let floor = linear(phy.noise_floor + knobs.floor);
        let alien = linear(-knobs.alien);
        let echo = own * linear(-(phy.echo_suppression + knobs.echo + knobs.return_loss));
        let near = linear(-(phy.near_suppression + knobs.near + knobs.internal));
        let far = own * linear(-(phy.far_suppression + knobs.far + knobs.internal));
        for (point, gains) in self.points.iter().zip(gains) {
            take(
                point.sent * gains.signal,
                [
                    alien * point.heard * gains.alien_near,
                    alien * point.heard * gains.signal * gains.alien_far,
                    echo * point.sent * point.tones.returned,
                    near * point.sent * gains.near,
                    far * point.sent * gains.signal * gains.far,
                    floor,
                ],
            );
        }
    }

    /// The ratio in dB.
    pub(super) fn signal_to_noise(&self, gains: &[Gains], knobs: &Knobs) -> f64 {
        let mut sum = 0.0;
        // One logarithm for several factors; cut long before a product overflows.
        let mut product = 1.0;
        self.each(gains, knobs, |signal, noises| {
            let noise: f64 = noises.iter().sum();
            product *= 1.0 + signal / noise;
            if product > LARGE {
                sum += libm::log(product);
                product = 1.0;
            }
        });
        sum += libm::log(product);
        decibels(libm::expm1(sum / self.points.len() as f64))
    }

    /// Noises at the receiver at the limits of the run, in the middle of the points: symbol, name,
    /// source, level.
    pub(super) fn levels(
        &self,
    ) -> Vec<(
        &'static str,
        &'static str,
        &'static str,
        DecibelMilliwattsPerHertz,
    )> {
        const NAMES: [(&str, &str, &str); 6] = [
            (
                "A",
                "neighbours, near end",
                "ISO/IEC 11801: copper.alien.*, copper.lay.*",
            ),
            (
                "B",
                "neighbours, far end",
                "ISO/IEC 11801: copper.alien.*, copper.lay.*",
            ),
            (
                "E",
                "echo left by the receiver",
                "copper.*.return.*, phy.*.echo-suppression",
            ),
            (
                "X",
                "own pairs, near end",
                "copper.*.near-end-sum.*, phy.*.near-end-suppression",
            ),
            (
                "Y",
                "own pairs, far end",
                "copper.*.far-end-sum.*, phy.*.far-end-suppression",
            ),
            ("Z", "receiver's own noise", "phy.*.noise-floor"),
        ];
        let gains = self.gains(&Bent::NOT);
        let middle = self.points.len() / 2;
        let mut at = 0;
        let mut found = Vec::new();
        self.each(&gains, &Knobs::at_limits(self.channel), |_, noises| {
            if at == middle {
                for ((symbol, name, source), level) in NAMES.into_iter().zip(noises) {
                    // a run by itself has no neighbours, one pair each way no echo
                    if level > NOTHING {
                        let level = DecibelMilliwattsPerHertz(decibels(level));
                        found.push((symbol, name, source, level));
                    }
                }
            }
            at += 1;
        });
        found
    }

    /// The margin in dB over what the rate's line code and receiver need.
    pub(super) fn margin(&self, gains: &[Gains], knobs: &Knobs) -> f64 {
        self.signal_to_noise(gains, knobs) - self.phy.required - self.phy.implementation
    }

    /// How much of the margin's loss each noise takes: the slope of the ratio's logarithm in the
    /// logarithm of that noise, `S/(S+N) * N_i/N`, over the band.
    pub(super) fn shares(&self, gains: &[Gains], knobs: &Knobs) -> NoiseShares {
        let mut slopes = [0.0; 6];
        self.each(gains, knobs, |signal, noises| {
            let noise: f64 = noises.iter().sum();
            let weight = signal / (signal + noise) / noise;
            for (slope, part) in slopes.iter_mut().zip(noises) {
                *slope += weight * part;
            }
        });
        let whole: f64 = slopes.iter().sum();
        let [alien_near, alien_far, echo, near_end, far_end, receiver] =
            slopes.map(|s| narrows_units::quantity::ratio(s / whole));
        NoiseShares {
            alien_near,
            alien_far,
            echo,
            near_end,
            far_end,
            receiver,
        }
    }
}

/// Factors of at most 1e40 or so follow: the next one stays finite.
const LARGE: f64 = 1e200;

/// Milliwatts a hertz that stand for none.
const NOTHING: f64 = 1e-30;

/// Attenuation of all alien crosstalk that stands for none.
const NO_NEIGHBOUR: f64 = 400.0;

impl Knobs {
    /// At the limits of the run's own make: no alien crosstalk where it lies alone.
    pub(super) fn at_limits(channel: &Channel) -> Self {
        Self {
            alien: if channel.bundle == Bundle::Alone {
                NO_NEIGHBOUR
            } else {
                0.0
            },
            ..Self::LIMITS
        }
    }
}
