//! What is not known of an installed run, as a law of its margin.

use super::cables::Installed;
use super::channel::{Bent, Channel};
use super::phy::Phy;
use super::rows::Normal;
use super::salz::{Band, Knobs};

/// The law of a margin in dB: a normal one, and with some chance a fault in the work that takes
/// more away.
#[derive(Clone, Copy, Debug)]
pub(super) struct MarginLaw {
    pub mean: f64,
    pub sigma: f64,
    pub fault_share: f64,
    pub fault: Normal,
}

/// The share of a normal law below a score.
fn normal_share(score: f64) -> f64 {
    0.5 * libm::erfc(-score / std::f64::consts::SQRT_2)
}

/// Halvings of the interval in which a quantile is sought; the last one is below 1e-9 dB.
const HALVINGS: u32 = 45;

impl MarginLaw {
    /// The chance of a margin above `needed` dB. Falls with `needed`, rises with the mean.
    pub(super) fn chance(&self, needed: f64) -> f64 {
        let sound = normal_share((self.mean - needed) / self.sigma);
        let spoilt = normal_share(
            (self.mean - self.fault.mean - needed) / libm::hypot(self.sigma, self.fault.sigma),
        );
        (1.0 - self.fault_share) * sound + self.fault_share * spoilt
    }

    /// The margin that is not exceeded with the given chance.
    pub(super) fn quantile(&self, share: f64) -> f64 {
        let reach = 8.0 * (self.sigma + self.fault.sigma) + self.fault.mean;
        let (mut low, mut high) = (self.mean - reach, self.mean + reach);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if 1.0 - self.chance(middle) < share {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }
}

fn typical(installed: &Installed, channel: &Channel) -> Knobs {
    Knobs {
        alien: channel.alien_better.mean,
        internal: installed.internal.mean,
        return_loss: installed.return_loss.mean,
        ..Knobs::LIMITS
    }
}

/// Something that is unknown of the channel, or of a noise, and its sigma.
type Unknown<T> = (f64, fn(&mut T) -> &mut f64);

/// The law of the margin of one rate over one run.
///
/// Around the installed-typical run each unknown moves alone by one sigma up and down: the mean
/// takes half the sum of the curvatures, the variance the squares of half the differences; errors
/// that act on the margin itself add. `penalised` is category 5, `certified` rules a fault out.
/// Second-order delta method; within 0.06 in probability of drawn samples over 14 runs
/// (`validate_chances_against_drawn_samples`), the largest gaps near even odds, on the low side.
pub(super) fn margin_law(
    installed: &Installed,
    channel: &Channel,
    phy: &Phy,
    band: &Band<'_>,
    certified: bool,
    penalised: bool,
) -> MarginLaw {
    let noise = typical(installed, channel);
    let shape = Bent {
        loss_scale: installed.loss_scale.mean,
        ..Bent::NOT
    };
    let gains = band.gains(&shape);
    let middle = band.margin(&gains, &noise);
    let mut mean = middle + installed.worst_pair.mean;
    let mut variance = 0.0;
    let mut add = |up: f64, down: f64| {
        mean += 0.5 * (up + down - 2.0 * middle);
        variance += 0.25 * (up - down) * (up - down);
    };
    let of_channel: [Unknown<Bent>; 3] = [
        (installed.loss_scale.sigma, |b| &mut b.loss_scale),
        (channel.length_error.sigma, |b| &mut b.length_scale),
        (installed.temperature.sigma, |b| &mut b.warmer),
    ];
    for (sigma, part) in of_channel {
        let moved = |by: f64| {
            let mut bent = shape;
            *part(&mut bent) += by;
            bent.loss_scale = bent
                .loss_scale
                .clamp(installed.loss_least, installed.loss_most);
            band.margin(&band.gains(&bent), &noise)
        };
        add(moved(sigma), moved(-sigma));
    }
    let of_noise: [Unknown<Knobs>; 7] = [
        (channel.alien_better.sigma, |k| &mut k.alien),
        (installed.internal.sigma, |k| &mut k.internal),
        (installed.return_loss.sigma, |k| &mut k.return_loss),
        (installed.echo.sigma, |k| &mut k.echo),
        (installed.near.sigma, |k| &mut k.near),
        (installed.far.sigma, |k| &mut k.far),
        (phy.noise_floor_sigma, |k| &mut k.floor),
    ];
    for (sigma, part) in of_noise {
        let moved = |by: f64| {
            let mut knobs = noise;
            *part(&mut knobs) += by;
            band.margin(&gains, &knobs)
        };
        add(moved(sigma), moved(-sigma));
    }
    let beyond = libm::log2(phy.nyquist() / channel.specified.band).max(0.0);
    let mut direct = vec![
        installed.worst_pair.sigma,
        phy.implementation_sigma,
        phy.required_sigma,
        installed.model.sigma,
        installed.beyond_band * beyond,
    ];
    if penalised {
        mean -= installed.cat5_penalty.mean;
        direct.push(installed.cat5_penalty.sigma);
    }
    variance += direct.iter().map(|s| s * s).sum::<f64>();
    MarginLaw {
        mean,
        sigma: libm::sqrt(variance),
        fault_share: if certified {
            0.0
        } else {
            installed.workmanship_share
        },
        fault: installed.workmanship,
    }
}
