//! Which rates a run carries: margin, chances and what eats the margin.

use super::channel::{Bent, Channel};
use super::likelihood::{MarginLaw, Moved, margin_law};
use super::phy::Phy;
use super::run::in_metres;
use super::salz::{Band, Crowd, Knobs};
use super::{Copper, Decibels, NoiseShares, Pairs, RunFault, RunPhysics};
use narrows_units::quantity::{Length, LinkRate, Ratio, metres, ratio};

/// Midpoints of a margin that is shown; within 0.001 dB where it is near zero.
pub(super) const FINE: u32 = 200;
/// Midpoints inside the law of the margin, whose own sigma is a hundred times their error of
/// 0.02 dB.
const COARSE: u32 = 50;

/// Two pairs carry no more than this many megabits a second.
const TWO_PAIRS_MOST: LinkRate = LinkRate::from_megabits(100);

/// Octaves of a rate's highest frequency above what a cable is specified to.
pub(super) fn beyond(channel: &Channel, phy: &Phy) -> f64 {
    libm::log2(phy.nyquist() / channel.specified.band).max(0.0)
}

/// Whether the margin is computed, or why not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Computed.
    Modelled,
    /// Below 5 m the resonances of a short channel exceed the model: no margin; chances as at 5 m.
    ShortNotModelled,
    /// Longer than the rate's standard promises: no margin, and no chance better than even.
    BeyondPromise,
    /// Beyond the reach of the module in a cage.
    BeyondModule,
    /// The rate needs four pairs and two are joined through.
    TooFewPairs,
}

/// A margin in dB over what the rate needs, as its 5th, 50th and 95th percentile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin {
    /// 5th percentile.
    pub low: Decibels,
    /// Median.
    pub likely: Decibels,
    /// 95th percentile.
    pub high: Decibels,
    /// Of the same run at the limits of its category.
    pub at_limits: Decibels,
    /// Signal to noise ratio at the limits.
    pub signal_to_noise: Decibels,
}

/// What is to be expected of one rate over one run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Verdict {
    /// Whether the margin is computed.
    pub standing: Standing,
    /// The margin, where it is.
    pub margin: Option<Margin>,
    /// The chance that this rate links. A run that carries a higher rate that both ends know
    /// carries this one.
    pub p_link: Ratio,
    /// The chance that this rate links and keeps 1 dB in reserve, so that it does not make errors
    /// on a hot day. Between `p_hold` and `p_link` a run links and then makes errors.
    pub p_hold: Ratio,
    /// What eats the margin at the limits, where it is computed.
    pub noise_shares: Option<NoiseShares>,
}

/// The chances of one rate over one run, by itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Alone {
    /// That it links.
    pub link: Ratio,
    /// That it links with its reserve.
    pub hold: Ratio,
    /// That it links, were there no end to what its standard promises: the same as `link` up to
    /// that end.
    pub without_end: Ratio,
}

/// The numbers behind a verdict before rates are nested.
pub(super) struct Chances {
    pub link: f64,
    pub hold: f64,
}

impl Copper {
    pub(super) fn standing(&self, run: &RunPhysics, phy: &Phy) -> Standing {
        let length = in_metres(run.length);
        let module = run.module_reach.iter().find(|(rate, _)| *rate == phy.rate);
        if run.pairs == Pairs::Two && phy.rate > TWO_PAIRS_MOST {
            Standing::TooFewPairs
        } else if module.is_some_and(|(_, reach)| run.length > *reach) {
            Standing::BeyondModule
        } else if length > self.promised_metres(phy) {
            Standing::BeyondPromise
        } else if length < self.cables.reach_least {
            Standing::ShortNotModelled
        } else {
            Standing::Modelled
        }
    }

    pub(super) fn law(
        &self,
        run: &RunPhysics,
        channel: &Channel,
        phy: &Phy,
        tell: &mut dyn FnMut(Moved),
    ) -> Result<MarginLaw, RunFault> {
        let crowd = Crowd::new(&self.cables, &self.phys, phy, run)?;
        let band = Band::new(channel, phy, &crowd, COARSE);
        Ok(margin_law(
            &self.cables.installed,
            channel,
            phy,
            &band,
            run.certified,
            &self.cables.installed.penalties(run, beyond(channel, phy)),
            tell,
        ))
    }

    /// The law of the margin of one rate. Of a run shorter than the model covers, that of 5 m; of
    /// one beyond the promise, with every metre beyond it counted as three, since receivers are not
    /// built for its echo and delay.
    pub(super) fn margin_law(&self, run: &RunPhysics, phy: &Phy) -> Result<MarginLaw, RunFault> {
        let (length, promised) = (in_metres(run.length), self.promised_metres(phy));
        let counted = if length > promised {
            promised + self.cables.reach_beyond * (length - promised)
        } else {
            length.max(self.cables.reach_least)
        };
        let stand_in = RunPhysics {
            length: if counted.total_cmp(&length).is_eq() {
                run.length
            } else {
                metres(counted)
            },
            // the law is that of one rate, whatever else the ports know
            rates: Vec::new(),
            module_reach: Vec::new(),
            ..run.clone()
        };
        self.laws.of(&stand_in, phy.rate, |run| {
            let channel = self
                .cables
                .channel(run)
                .ok_or(RunFault::Category(run.category))?;
            self.law(run, &channel, phy, &mut |_| {})
        })
    }

    /// The longest run in metres over which a standard promises the rate.
    fn promised_metres(&self, phy: &Phy) -> f64 {
        phy.reach.min(self.cables.reach_most)
    }

    pub(super) fn chances(&self, standing: Standing, law: &MarginLaw) -> Chances {
        let (link, hold) = (law.chance(0.0), law.chance(self.cables.installed.reserve));
        match standing {
            Standing::Modelled | Standing::ShortNotModelled => Chances { link, hold },
            Standing::BeyondPromise => Chances {
                link: link.min(self.cables.unpromised),
                hold: hold.min(self.cables.unpromised),
            },
            Standing::BeyondModule | Standing::TooFewPairs => Chances {
                link: 0.0,
                hold: 0.0,
            },
        }
    }

    pub(super) fn limits(
        &self,
        run: &RunPhysics,
        channel: &Channel,
        phy: &Phy,
        points: u32,
    ) -> Result<(f64, f64, NoiseShares), RunFault> {
        let crowd = Crowd::new(&self.cables, &self.phys, phy, run)?;
        let band = Band::new(channel, phy, &crowd, points);
        let knobs = Knobs::at_limits(channel);
        let gains = band.gains(&Bent::NOT);
        let ratio = band.signal_to_noise(&gains, &knobs);
        let margin = ratio - phy.required - phy.implementation;
        Ok((ratio, margin, band.shares(&gains, &knobs)))
    }

    /// The longest run over which a rate's standard promises a link; none for a rate that no
    /// twisted-pair transceiver has.
    pub fn promised(&self, rate: LinkRate) -> Option<Length> {
        let phy = self.phys.of(rate)?;
        Some(metres(self.promised_metres(phy)))
    }

    /// The chances of one rate by itself: without what higher rates say. The cheap part of
    /// [`Copper::carries`].
    ///
    /// # Errors
    /// As [`Copper::carries`].
    pub fn chances_alone(&self, run: &RunPhysics, rate: LinkRate) -> Result<Alone, RunFault> {
        run.check()?;
        let phy = self.phys.of(rate).ok_or(RunFault::Rate(rate))?;
        let law = self.margin_law(run, phy)?;
        let found = self.chances(self.standing(run, phy), &law);
        Ok(Alone {
            link: ratio(found.link),
            hold: ratio(found.hold),
            without_end: ratio(law.chance(0.0)),
        })
    }

    /// What every rate that both ends know does over a run, in the order of `run.rates`.
    ///
    /// Per rate one ratio at the limits over 200 midpoints and the law of the margin from 21
    /// ratios over 50; no random numbers. Valid for 5 m to 100 m (30 m at 25 and 40 Gb/s);
    /// elsewhere [`Standing`] says what stands in. The chances are priors from judged spreads,
    /// not counted frequencies; kinks, water, impulse noise and ground loops are in them only as
    /// the share of faulty work.
    /// Checked by `validate_margins_to_a_thousandth`, `validate_reach_table`,
    /// `validate_chances_against_drawn_samples` and the `property_` tests.
    ///
    /// # Errors
    /// Where the description is outside what the formulas cover.
    pub fn carries(&self, run: &RunPhysics) -> Result<Vec<(LinkRate, Verdict)>, RunFault> {
        run.check()?;
        let channel = self
            .cables
            .channel(run)
            .ok_or(RunFault::Category(run.category))?;
        let mut verdicts = Vec::with_capacity(run.rates.len());
        for rate in &run.rates {
            let phy = self.phys.of(*rate).ok_or(RunFault::Rate(*rate))?;
            verdicts.push((*rate, self.alone(run, &channel, phy)?));
        }
        let own: Vec<(LinkRate, Ratio, Ratio)> = verdicts
            .iter()
            .map(|(rate, v)| (*rate, v.p_link, v.p_hold))
            .collect();
        for (rate, verdict) in &mut verdicts {
            for (_, link, hold) in own.iter().filter(|(other, ..)| *other > *rate) {
                verdict.p_link = verdict.p_link.max(*link);
                verdict.p_hold = verdict.p_hold.max(*hold);
            }
        }
        Ok(verdicts)
    }

    /// One rate by itself, not yet nested under higher ones.
    fn alone(&self, run: &RunPhysics, channel: &Channel, phy: &Phy) -> Result<Verdict, RunFault> {
        let standing = self.standing(run, phy);
        let law = self.margin_law(run, phy)?;
        let chances = self.chances(standing, &law);
        let (margin, noise_shares) = if standing == Standing::Modelled {
            let (signal_to_noise, at_limits, shares) = self.limits(run, channel, phy, FINE)?;
            let margin = Margin {
                low: Decibels(law.quantile(0.05)),
                likely: Decibels(law.quantile(0.5)),
                high: Decibels(law.quantile(0.95)),
                at_limits: Decibels(at_limits),
                signal_to_noise: Decibels(signal_to_noise),
            };
            (Some(margin), Some(shares))
        } else {
            (None, None)
        };
        Ok(Verdict {
            standing,
            margin,
            p_link: ratio(chances.link),
            p_hold: ratio(chances.hold),
            noise_shares,
        })
    }
}
