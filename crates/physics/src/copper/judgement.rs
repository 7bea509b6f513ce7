//! The law of one rate over one run, for whoever joins several possible runs into one answer.

use super::likelihood::{MarginLaw, quantile_of};
use super::run::in_metres;
use super::{Copper, Decibels, Gauge, Margin, NoiseShares, RunFault, RunPhysics, Standing};
use narrows_units::quantity::{Length, LinkRate, Ratio, metres};

/// One rate over one run, by itself: without what higher rates say.
#[derive(Clone, Copy, Debug)]
pub struct Judgement {
    /// Whether the margin is computed.
    pub standing: Standing,
    /// The chance that it links.
    pub link: f64,
    /// The chance that it links with its reserve.
    pub hold: f64,
    law: MarginLaw,
}

impl Judgement {
    /// The mean of the margin in dB, faulty work apart.
    pub fn mean(&self) -> Decibels {
        Decibels(self.law.mean)
    }
}

/// The 5th, 50th and 95th percentile of a margin of which several laws may hold, each with its
/// weight. `limits` are margin and ratio of the likeliest run at the limits of its make.
pub fn margin_of(
    judgements: &[(f64, Judgement)],
    (at_limits, signal_to_noise): (Decibels, Decibels),
) -> Margin {
    let laws = judgements.iter().map(|(weight, j)| (*weight, &j.law));
    let [low, likely, high] = [0.05, 0.5, 0.95].map(|share| Decibels(quantile_of(&laws, share)));
    Margin {
        low,
        likely,
        high,
        at_limits,
        signal_to_noise,
    }
}

impl Copper {
    /// The law of one rate over one run.
    ///
    /// # Errors
    /// As [`Copper::carries`].
    pub fn judgement(&self, run: &RunPhysics, rate: LinkRate) -> Result<Judgement, RunFault> {
        run.check()?;
        let phy = self.phys.of(rate).ok_or(RunFault::Rate(rate))?;
        let law = self.margin_law(run, phy)?;
        let standing = self.standing(run, phy);
        let chances = self.chances(standing, &law);
        Ok(Judgement {
            standing,
            link: chances.link,
            hold: chances.hold,
            law,
        })
    }

    /// Whether the margin of a rate over a run is computed, or why not.
    ///
    /// # Errors
    /// For a rate that no twisted-pair transceiver has.
    pub fn standing_of(&self, run: &RunPhysics, rate: LinkRate) -> Result<Standing, RunFault> {
        let phy = self.phys.of(rate).ok_or(RunFault::Rate(rate))?;
        Ok(self.standing(run, phy))
    }

    /// Margin and signal to noise ratio at the limits of the run's make, and what the noise is.
    ///
    /// # Errors
    /// As [`Copper::carries`].
    pub fn at_limits(
        &self,
        run: &RunPhysics,
        rate: LinkRate,
    ) -> Result<(Decibels, Decibels, NoiseShares), RunFault> {
        run.check()?;
        let phy = self.phys.of(rate).ok_or(RunFault::Rate(rate))?;
        let channel = self
            .cables
            .channel(run)
            .ok_or(RunFault::Category(run.category))?;
        let (ratio, margin, shares) = self.limits(run, &channel, phy, super::carries::FINE)?;
        Ok((Decibels(margin), Decibels(ratio), shares))
    }

    /// The thickness of the cable's conductors: as told, else its category's usual one.
    pub fn gauge(&self, run: &RunPhysics) -> Gauge {
        let name = match run.category {
            other if other < super::Category::Cat5e => "cat5e",
            other => other.word(),
        };
        let usual = self.cables.specified(name).and_then(|s| {
            let near = |g: &&Gauge| (g.number() - s.gauge).abs() < 0.5;
            Gauge::ALL.iter().find(near).copied()
        });
        run.cable_gauge.or(usual).unwrap_or(Gauge::Awg24)
    }

    /// Metres of cord in a run: as told, else the share of it that is usual.
    pub fn cords(&self, run: &RunPhysics) -> Length {
        let length = in_metres(run.length);
        run.cords
            .unwrap_or_else(|| metres((self.cables.cord_share * length).min(self.cables.cord_most)))
    }

    /// Below this length the margin is not modelled, and above the other nothing is promised.
    pub fn covered(&self) -> (Length, Length) {
        (
            metres(self.cables.reach_least),
            metres(self.cables.reach_most),
        )
    }

    /// The margin of one rate over a run of any covered length, installed as is usual: none where
    /// no standard promises that rate at that length.
    ///
    /// # Errors
    /// As [`Copper::carries`].
    pub fn margin_at(
        &self,
        run: &RunPhysics,
        rate: LinkRate,
        length: Length,
    ) -> Result<Option<(Decibels, Decibels, Decibels)>, RunFault> {
        let longest = |part: Length| if part > length { length } else { part };
        let moved = RunPhysics {
            length,
            cords: run.cords.map(longest),
            beside_first: run.beside_first.map(longest),
            untied_ends: longest(run.untied_ends),
            module_reach: Vec::new(),
            ..run.clone()
        };
        let judged = self.judgement(&moved, rate)?;
        let modelled = judged.standing == Standing::Modelled;
        Ok(modelled.then(|| {
            let quantile = |share| Decibels(judged.law.quantile(share));
            (quantile(0.05), quantile(0.5), quantile(0.95))
        }))
    }

    /// What a rate keeps in reserve before it is said to hold.
    pub fn reserve(&self) -> Decibels {
        Decibels(self.cables.installed.reserve)
    }

    /// The share of uncertified runs with a fault in the work.
    pub fn fault_share(&self) -> Ratio {
        narrows_units::quantity::ratio(self.cables.installed.workmanship_share)
    }
}
