//! What is not known of an installed run, as a law of its margin.

use super::cables::Installed;
use super::carries::beyond;
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

    /// Margins outside of which nothing lies.
    fn reach(&self) -> (f64, f64) {
        let reach = 8.0 * (self.sigma + self.fault.sigma) + self.fault.mean;
        (self.mean - reach, self.mean + reach)
    }

    /// The margin that is not exceeded with the given chance.
    pub(super) fn quantile(&self, share: f64) -> f64 {
        quantile_of(&std::iter::once((1.0, self)), share)
    }
}

/// The margin that is not exceeded with the given chance, where several laws may hold, each with
/// its weight; not a number without any.
pub(super) fn quantile_of<'a>(
    laws: &(impl Iterator<Item = (f64, &'a MarginLaw)> + Clone),
    share: f64,
) -> f64 {
    let (mut low, mut high) = laws
        .clone()
        .map(|(_, law)| law.reach())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |a, b| {
            (a.0.min(b.0), a.1.max(b.1))
        });
    let whole: f64 = laws.clone().map(|(weight, _)| weight).sum();
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        let above: f64 = laws.clone().map(|(w, law)| w * law.chance(middle)).sum();
        if whole - above < share * whole {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
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
type Unknown<T> = (&'static str, f64, fn(&mut T) -> &mut f64);

/// What one unknown does to a margin.
#[derive(Clone, Copy, Debug)]
pub(super) struct Moved {
    /// The unknown in words.
    pub what: &'static str,
    /// One sigma of it in its own unit.
    pub sigma: f64,
    /// By how much the margin moves for it, in dB.
    pub decibels: f64,
}

/// Errors that act on the margin itself, in dB.
fn on_the_margin(installed: &Installed, channel: &Channel, phy: &Phy) -> Vec<(&'static str, f64)> {
    let beyond = beyond(channel, phy);
    vec![
        ("worst of four pairs, dB", installed.worst_pair.sigma),
        ("receiver's own loss, dB", phy.implementation_sigma),
        ("ratio that the code needs, dB", phy.required_sigma),
        ("the model itself, dB", installed.model.sigma),
        (
            "the model above the cable's band, dB",
            installed.beyond_band * beyond,
        ),
    ]
}

/// Unknowns of the noises.
fn of_noise(installed: &Installed, channel: &Channel, phy: &Phy) -> [Unknown<Knobs>; 7] {
    // what a receiver does not cancel has no spread between receivers
    let cancelled = |suppression: f64, sigma: f64| if suppression > 0.0 { sigma } else { 0.0 };
    [
        ("neighbours, dB", channel.alien_better.sigma, |k| {
            &mut k.alien
        }),
        ("own pairs, dB", installed.internal.sigma, |k| {
            &mut k.internal
        }),
        ("return loss, dB", installed.return_loss.sigma, |k| {
            &mut k.return_loss
        }),
        (
            "echo suppression, dB",
            cancelled(phy.echo_suppression, installed.echo.sigma),
            |k| &mut k.echo,
        ),
        (
            "near-end suppression, dB",
            cancelled(phy.near_suppression, installed.near.sigma),
            |k| &mut k.near,
        ),
        (
            "far-end suppression, dB",
            cancelled(phy.far_suppression, installed.far.sigma),
            |k| &mut k.far,
        ),
        ("receiver noise, dB", phy.noise_floor_sigma, |k| {
            &mut k.floor
        }),
    ]
}

/// The law of the margin of one rate over one run.
///
/// Around the installed-typical run each unknown moves alone by one sigma up and down: the mean
/// takes half the sum of the curvatures, the variance the squares of half the differences; errors
/// that act on the margin itself add. `penalties` are what
/// older and poorer wire costs, `certified` rules a fault out, and
/// `tell` hears what each unknown does.
/// Second-order delta method; within 0.06 in probability of drawn samples over 14 runs
/// (`validate_chances_against_drawn_samples`), the largest gaps near even odds, on the low side.
pub(super) fn margin_law(
    installed: &Installed,
    channel: &Channel,
    phy: &Phy,
    band: &Band<'_>,
    certified: bool,
    penalties: &[(&'static str, Normal)],
    tell: &mut dyn FnMut(Moved),
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
    let mut add = |what: &'static str, sigma: f64, up: f64, down: f64| {
        mean += 0.5 * (up + down - 2.0 * middle);
        variance += 0.25 * (up - down) * (up - down);
        tell(Moved {
            what,
            sigma,
            decibels: 0.5 * (up - down).abs(),
        });
    };
    let of_channel: [Unknown<Bent>; 3] = [
        (
            "loss of the cable, over its limit",
            installed.loss_scale.sigma,
            |b| &mut b.loss_scale,
        ),
        ("length", channel.length_error.sigma, |b| {
            &mut b.length_scale
        }),
        ("temperature, K", installed.temperature.sigma, |b| {
            &mut b.warmer
        }),
    ];
    for (what, sigma, part) in of_channel {
        let moved = |by: f64| {
            let mut bent = shape;
            *part(&mut bent) += by;
            bent.loss_scale = bent
                .loss_scale
                .clamp(installed.loss_least, installed.loss_most);
            band.margin(&band.gains(&bent), &noise)
        };
        add(what, sigma, moved(sigma), moved(-sigma));
    }
    for (what, sigma, part) in of_noise(installed, channel, phy) {
        let moved = |by: f64| {
            let mut knobs = noise;
            *part(&mut knobs) += by;
            band.margin(&gains, &knobs)
        };
        add(what, sigma, moved(sigma), moved(-sigma));
    }
    let mut direct = on_the_margin(installed, channel, phy);
    for (what, penalty) in penalties {
        mean -= penalty.mean;
        direct.push((what, penalty.sigma));
    }
    variance += direct.iter().map(|(_, s)| s * s).sum::<f64>();
    for (what, sigma) in direct {
        tell(Moved {
            what,
            sigma,
            decibels: sigma,
        });
    }
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
