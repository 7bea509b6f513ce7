//! What is not known of an installed run, as a law of its margin.

use super::channel::{Channel, Installed};
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
    let mut knobs = Knobs::LIMITS;
    knobs.bent.loss_scale = installed.loss_scale.mean;
    knobs.alien = channel.alien_better.mean;
    knobs.internal = installed.internal.mean;
    knobs.return_loss = installed.return_loss.mean;
    knobs
}

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
    let centre = typical(installed, channel);
    let middle = band.margin(&centre);
    let mut mean = middle + installed.worst_pair.mean;
    let mut variance = 0.0;
    let clip = |scale: f64| scale.clamp(installed.loss_least, installed.loss_most);
    let moves: [(f64, fn(&mut Knobs) -> &mut f64); 10] = [
        (installed.loss_scale.sigma, |k| &mut k.bent.loss_scale),
        (channel.length_error.sigma, |k| &mut k.bent.length_scale),
        (installed.temperature.sigma, |k| &mut k.bent.warmer),
        (channel.alien_better.sigma, |k| &mut k.alien),
        (installed.internal.sigma, |k| &mut k.internal),
        (installed.return_loss.sigma, |k| &mut k.return_loss),
        (installed.echo.sigma, |k| &mut k.echo),
        (installed.near.sigma, |k| &mut k.near),
        (installed.far.sigma, |k| &mut k.far),
        (installed.floor.sigma, |k| &mut k.floor),
    ];
    for (sigma, knob) in moves {
        let moved = |by: f64| {
            let mut knobs = centre;
            *knob(&mut knobs) += by;
            knobs.bent.loss_scale = clip(knobs.bent.loss_scale);
            band.margin(&knobs)
        };
        let (up, down) = (moved(sigma), moved(-sigma));
        mean += 0.5 * (up + down - 2.0 * middle);
        variance += 0.25 * (up - down) * (up - down);
    }
    let beyond = libm::log2(phy.nyquist() / channel.specified.band).max(0.0);
    let mut direct = vec![
        installed.worst_pair.sigma,
        installed.implementation.sigma,
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
