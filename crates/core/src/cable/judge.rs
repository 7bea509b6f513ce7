//! Rate by rate: the margin of a run, its chances, what would help.

use super::power::{PowerReport, Powers};
use super::run::{CableRun, Joint};
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::copper::{
    Caution, Change, Copper, Decibels, Fibre, FibreGrade, FibreVerdict, Optic, RunFault,
    TwinaxCoding, Verdict,
};
use crate::quantity::{Length, LinkRate, Ratio, metres, ratio, units};
use crate::workers;
use crate::working::Step;

/// The chance from which on a rate is said to hold, and a stream may rest on it; row `cable.holds`.
pub(crate) const HOLDS: f64 = 0.9;

/// Lengths of a curve, in metres.
const STEP: f64 = 2.5;

/// The single best thing to do about a rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Advice {
    /// It holds: today, and with all neighbours at that rate.
    Nothing,
    /// It holds as long as the neighbours stay as they are.
    KeepNeighbours,
    /// A change after which it holds, or the best there is.
    Change {
        /// What to do.
        change: Change,
        /// The chance of holding afterwards.
        p_hold: Ratio,
    },
    /// No change brings it to hold; a lower rate holds.
    LowerRate {
        /// That rate.
        rate: LinkRate,
        /// Its chance of holding.
        p_hold: Ratio,
    },
    /// Nothing on this cable brings it to hold.
    Fibre,
}

/// One rate over a twisted pair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RateRow {
    /// The rate.
    pub rate: LinkRate,
    /// As the neighbours are.
    pub today: Verdict,
    /// With all neighbours at this rate; none where they are already.
    pub upgraded: Option<Verdict>,
    /// What to do.
    pub advice: Advice,
}

/// One optic over a fibre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OpticRow {
    /// The optic.
    pub optic: Optic,
    /// The grade of the fibre.
    pub grade: FibreGrade,
    /// Reach and loss.
    pub verdict: FibreVerdict,
}

/// One rate over passive twinax.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwinaxRow {
    /// The rate.
    pub rate: LinkRate,
    /// How far without the strongest error correction.
    pub plain: Length,
    /// How far with it.
    pub strong: Length,
    /// Whether the cable is short enough without it.
    pub carries_plain: bool,
    /// Whether it is with it.
    pub carries_strong: bool,
}

/// What a run carries.
#[derive(Clone, Debug, PartialEq)]
pub enum Carried {
    /// Rate by rate, slowest first.
    Copper(Vec<RateRow>),
    /// Optic by optic.
    Fibre(Vec<OpticRow>),
    /// Rate by rate.
    Twinax(Vec<TwinaxRow>),
}

/// What was asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Asked {
    /// A rate that every run should hold.
    pub need: Option<LinkRate>,
}

/// How a stated need is met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    /// The rate that is needed.
    pub rate: LinkRate,
    /// The chance that the run holds it or a faster one.
    pub p_hold: Ratio,
    /// Whether that is nine in ten or more.
    pub met: bool,
}

/// The answer about one run.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// The run as it was described.
    pub run: CableRun,
    /// What it carries.
    pub carried: Carried,
    /// How the need is met.
    pub held: Option<Held>,
    /// Power over it.
    pub power: Option<PowerReport>,
}

impl Report {
    /// The fastest rate that holds with nine in ten or more, and its chance.
    pub fn best(&self) -> Option<(LinkRate, Ratio)> {
        match &self.carried {
            Carried::Copper(rows) => rows
                .iter()
                .rev()
                .find(|row| one(row.today.p_hold) >= HOLDS)
                .map(|row| (row.rate, row.today.p_hold)),
            Carried::Fibre(rows) => rows
                .iter()
                .filter(|row| row.verdict.carries())
                .map(|row| row.verdict.rate)
                .max()
                .map(|rate| (rate, ratio(1.0))),
            Carried::Twinax(rows) => rows
                .iter()
                .filter(|row| row.carries_plain)
                .map(|row| row.rate)
                .max()
                .map(|rate| (rate, ratio(1.0))),
        }
    }

    /// What a person must be told beside any number.
    pub fn cautions(&self) -> Vec<Caution> {
        match self.run.typical() {
            Some(physics) => physics.cautions(),
            None => vec![Caution::Estimate, Caution::Walls],
        }
    }
}

/// Everything that a run is judged by.
pub struct Cabling {
    pub(super) copper: Copper,
    fibre: Fibre,
    powers: Powers,
}

pub(super) fn one(share: Ratio) -> f64 {
    share.get::<units::ratio::one>()
}

impl Cabling {
    /// Takes what it needs out of a catalogue.
    ///
    /// # Errors
    /// Where a row is missing.
    pub fn new(catalogue: &Catalogue) -> Result<Self, CatalogueFault> {
        Ok(Self {
            copper: Copper::new(catalogue)?,
            fibre: Fibre::new(catalogue)?,
            powers: Powers::new(catalogue)?,
        })
    }

    /// Judges runs, each for itself, on as many threads as the machine has; the answer does not
    /// depend on how many that are.
    ///
    /// # Errors
    /// Where a run is outside what the formulas cover.
    pub fn reports(&self, runs: &[CableRun], asked: Asked) -> Result<Vec<Report>, RunFault> {
        let one = |(): &mut (), number: usize| Some(self.report(runs.get(number)?, asked));
        workers::each(runs.len(), workers::processors(), || (), one)
            .into_iter()
            .collect()
    }

    /// Judges one run.
    ///
    /// # Errors
    /// Where it is outside what the formulas cover.
    pub fn report(&self, run: &CableRun, asked: Asked) -> Result<Report, RunFault> {
        let power = self.powers.report(run, &self.copper);
        let warm = self.powers.warmed(run, &self.copper);
        let in_question = |rate: &LinkRate| run.known.as_ref().is_none_or(|all| all.contains(rate));
        let carried = match &warm.joint {
            Joint::Copper {
                cases,
                typical,
                rates,
            } => Carried::Copper(self.rates(cases, typical, rates)?),
            Joint::Fibre {
                grade,
                cords,
                length,
                mated_pairs,
                splices,
            } => {
                let mut rows = self.optics((*grade, *cords), *length, *mated_pairs, *splices);
                rows.retain(|row| in_question(&row.verdict.rate));
                Carried::Fibre(rows)
            }
            Joint::Twinax { length } => {
                let mut rows = self.twinax(*length);
                rows.retain(|row| in_question(&row.rate));
                Carried::Twinax(rows)
            }
        };
        Ok(Report {
            held: asked.need.map(|need| held(need, &carried)),
            run: run.clone(),
            carried,
            power,
        })
    }

    fn optics(
        &self,
        (grade, cords): (Option<FibreGrade>, Option<FibreGrade>),
        length: Length,
        mated_pairs: u32,
        splices: u32,
    ) -> Vec<OpticRow> {
        let mut grades = grade.map_or_else(|| FibreGrade::ALL.to_vec(), |grade| vec![grade]);
        grades.retain(|grade| cords.is_none_or(|cords| grade.mates(cords)));
        let mut rows = Vec::new();
        for grade in grades {
            let step = self.fibre.core_step(grade, cords);
            for optic in Optic::ALL {
                let found = self
                    .fibre
                    .carries(*optic, grade, length, mated_pairs, splices);
                rows.extend(found.map(|verdict| OpticRow {
                    optic: *optic,
                    grade,
                    verdict: verdict.less(step),
                }));
            }
        }
        rows
    }

    fn twinax(&self, length: Length) -> Vec<TwinaxRow> {
        [10_000, 25_000, 40_000, 100_000]
            .map(LinkRate::from_megabits)
            .into_iter()
            .filter_map(|rate| {
                let plain = self.fibre.twinax_reach(rate, TwinaxCoding::Plain)?;
                let strong = self.fibre.twinax_reach(rate, TwinaxCoding::Strong)?;
                Some(TwinaxRow {
                    rate,
                    plain,
                    strong,
                    carries_plain: length <= plain,
                    carries_strong: length <= strong,
                })
            })
            .collect()
    }

    /// The margin of a rate over length, as its 5th, 50th and 95th percentile, of the likeliest
    /// case of a run; lengths that are not modelled, or not promised, are left out.
    ///
    /// # Errors
    /// Where the run is outside what the formulas cover.
    pub fn curve(
        &self,
        run: &CableRun,
        rate: LinkRate,
    ) -> Result<Vec<(Length, [Decibels; 3])>, RunFault> {
        let warm = self.powers.warmed(run, &self.copper);
        let Some(physics) = warm.typical() else {
            return Ok(Vec::new());
        };
        let (least, most) = self.copper.covered();
        let mut points = Vec::new();
        let mut length = least;
        while length <= most {
            if let Some((low, likely, high)) = self.copper.margin_at(physics, rate, length)? {
                points.push((length, [low, likely, high]));
            }
            length += metres(STEP);
        }
        Ok(points)
    }

    /// How the chance of a rate over a run comes about, for its likeliest make; the last step is
    /// the chance.
    ///
    /// # Errors
    /// Where the run is outside what the formulas cover.
    pub fn working(&self, run: &CableRun, rate: LinkRate) -> Result<Vec<Step>, RunFault> {
        let warm = self.powers.warmed(run, &self.copper);
        match warm.typical() {
            Some(physics) => self.copper.working(physics, rate),
            None => Ok(Vec::new()),
        }
    }
}

fn held(need: LinkRate, carried: &Carried) -> Held {
    let p_hold = match carried {
        Carried::Copper(rows) => rows
            .iter()
            .filter(|row| row.rate >= need)
            .map(|row| one(row.today.p_hold))
            .fold(0.0, f64::max),
        Carried::Fibre(rows) => {
            let met = |row: &OpticRow| row.verdict.rate >= need && row.verdict.carries();
            f64::from(u8::from(rows.iter().any(met)))
        }
        Carried::Twinax(rows) => {
            let met = |row: &TwinaxRow| row.rate >= need && row.carries_plain;
            f64::from(u8::from(rows.iter().any(met)))
        }
    };
    Held {
        rate: need,
        p_hold: ratio(p_hold),
        met: p_hold >= HOLDS,
    }
}
