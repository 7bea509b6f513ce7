//! What would help a run most.

use super::run::in_metres;
use super::temperature::{Celsius, Kelvins};
use super::{Bundle, Conductor, Copper, Decibels, Gauge, Neighbours, RunFault, RunPhysics, Screen};
use narrows_units::quantity::{LinkRate, Ratio, metres, ratio};

/// What somebody can do to a run without replacing it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Change {
    /// Untie the first 5 m at each end.
    UntieEnds,
    /// Untie the bundle along the run.
    UntieAll,
    /// Leave the neighbours at 1 Gb/s.
    NeighboursAtOneGigabit,
    /// Patch through two connections in place of more.
    TwoConnections,
    /// Short solid-gauge cords: 24 AWG, 2 m in all.
    ShortCords,
    /// Check and bond the screen.
    BondScreen,
    /// Take 10 K off the cable's temperature.
    Cooler,
    /// Replace copper-clad aluminium by copper.
    ReplaceFault,
}

/// Metres that can be untied at an end without opening a wall.
const UNTIED_METRES: f64 = 5.0;
/// Metres of cord that two ends need at least.
const SHORT_CORDS_METRES: f64 = 2.0;
const COOLER: Kelvins = Kelvins(-10.0);
const ONE_GIGABIT: LinkRate = LinkRate::from_megabits(1000);

impl Change {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::UntieEnds,
        Self::UntieAll,
        Self::NeighboursAtOneGigabit,
        Self::TwoConnections,
        Self::ShortCords,
        Self::BondScreen,
        Self::Cooler,
        Self::ReplaceFault,
    ];

    /// The run after the change; none where there is nothing to change.
    pub fn applied(self, run: &RunPhysics) -> Option<RunPhysics> {
        let mut after = run.clone();
        match self {
            Self::UntieEnds => {
                after.untied_ends = metres(UNTIED_METRES.min(0.5 * in_metres(run.length)));
                (run.bundle == Bundle::Tight && run.untied_ends < after.untied_ends)
                    .then_some(after)
            }
            Self::UntieAll => {
                after.bundle = Bundle::Loose;
                (run.bundle == Bundle::Tight).then_some(after)
            }
            Self::NeighboursAtOneGigabit => {
                let count = match &run.neighbours {
                    Neighbours::SameRate(count) => *count,
                    Neighbours::Rates(rates) => rates
                        .iter()
                        .fold(0_u32, |sum, (_, count)| sum.saturating_add(*count)),
                };
                after.neighbours = Neighbours::Rates(vec![(ONE_GIGABIT, count)]);
                // of a run by itself only the patch field is left
                let beside = count > 0 && run.bundle != Bundle::Alone;
                (beside && after.neighbours != run.neighbours).then_some(after)
            }
            Self::TwoConnections => {
                after.connections = 2;
                (run.connections > 2).then_some(after)
            }
            Self::ShortCords => {
                let length = metres(SHORT_CORDS_METRES.min(in_metres(run.length)));
                after.cord_gauge = Gauge::Awg24;
                after.cords = Some(run.cords.map_or(length, |now| now.min(length)));
                (after != *run).then_some(after)
            }
            Self::BondScreen => {
                after.screen = Screen::Bonded;
                (run.screen == Screen::Unchecked).then_some(after)
            }
            Self::Cooler => {
                after.temperature = run.temperature + COOLER;
                (run.temperature > Celsius(20.0)).then_some(after)
            }
            Self::ReplaceFault => {
                after.conductor = Conductor::Copper;
                (run.conductor == Conductor::CladAluminium).then_some(after)
            }
        }
    }
}

/// A change and what it does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Improvement {
    /// What to do.
    pub change: Change,
    /// The chance that the rate holds afterwards, by itself.
    pub p_hold: Ratio,
    /// How much the expected margin rises.
    pub gain: Decibels,
}

impl Copper {
    /// Changes that raise the margin of a rate over a run, the most valuable first.
    ///
    /// Each is applied alone and the law of the margin computed anew. Where none lifts the chance
    /// to what is wanted, a lower rate or a fibre is the answer; a fibre hears no neighbours.
    /// Empty where physics is not what stops the rate (too few pairs, a module's reach, a length
    /// beyond the promise). Checked by `verify_untying_and_quiet_neighbours_are_worth_most`.
    ///
    /// # Errors
    /// Where the description is outside what the formulas cover.
    pub fn improvements(
        &self,
        run: &RunPhysics,
        rate: LinkRate,
    ) -> Result<Vec<Improvement>, RunFault> {
        run.check()?;
        let phy = self.phys.of(rate).ok_or(RunFault::Rate(rate))?;
        let standing = self.standing(run, phy);
        if standing != super::Standing::Modelled {
            return Ok(Vec::new());
        }
        let before = self.margin_law(run, phy)?;
        let mut improvements = Vec::new();
        for change in Change::ALL {
            let Some(after) = change.applied(run) else {
                continue;
            };
            let law = self.margin_law(&after, phy)?;
            if law.mean > before.mean {
                improvements.push(Improvement {
                    change,
                    p_hold: ratio(self.chances(standing, &law).hold),
                    gain: Decibels(law.mean - before.mean),
                });
            }
        }
        improvements.sort_by(|a, b| b.gain.0.total_cmp(&a.gain.0).then(a.change.cmp(&b.change)));
        Ok(improvements)
    }
}
