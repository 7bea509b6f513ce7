//! Rate by rate: the margin of a run, its chances, what would help.

use super::power::{PowerReport, Powers};
use super::run::{CableRun, Case, Joint};
use crate::catalogue::{Catalogue, CatalogueFault, Reach};
use crate::copper::{
    Bundle, Caution, Change, Conductor, Copper, Decibels, Fibre, FibreGrade, FibreVerdict,
    Judgement, Neighbours, Optic, Pairs, RunFault, RunPhysics, Standing, TwinaxCoding, Verdict,
    margin_of,
};
use crate::hop::copper::reach_score;
use crate::quantity::{Length, LinkRate, Ratio, metres, ratio, units};
use crate::spread::normal_share;
use crate::working::Step;

/// The chance from which on a rate is said to hold.
pub(super) const HOLDS: f64 = 0.9;

/// The fastest rate whose chance comes from rows of reach: its physics is that of an old receiver.
const FROM_REACH: LinkRate = LinkRate::from_megabits(1000);

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
        match self.run.likeliest() {
            Some(physics) => physics.cautions(),
            None => vec![Caution::Estimate, Caution::Walls],
        }
    }
}

/// Everything that a run is judged by.
pub struct Cabling {
    copper: Copper,
    fibre: Fibre,
    powers: Powers,
    reaches: Vec<Reach>,
}

fn one(share: Ratio) -> f64 {
    share.get::<units::ratio::one>()
}

/// A rate over all cases of a run.
struct Judged {
    rate: LinkRate,
    each: Vec<(f64, Judgement)>,
    /// Chances of each case, nested under higher rates.
    chances: Vec<(f64, f64)>,
}

impl Judged {
    fn total(&self, of: impl Fn(&(f64, f64)) -> f64) -> f64 {
        let each = self.each.iter().zip(&self.chances);
        each.map(|((weight, _), chances)| weight * of(chances))
            .sum()
    }
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
            reaches: catalogue.reaches().to_vec(),
        })
    }

    /// Judges runs, each for itself, on as many threads as the machine has; the answer does not
    /// depend on how many that are.
    ///
    /// # Errors
    /// Where a run is outside what the formulas cover.
    pub fn reports(&self, runs: &[CableRun], asked: Asked) -> Result<Vec<Report>, RunFault> {
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        let share = runs.len().div_ceil(threads).max(1);
        if threads < 2 || runs.len() < 2 {
            return runs.iter().map(|run| self.report(run, asked)).collect();
        }
        let parts: Vec<Result<Vec<Report>, RunFault>> = std::thread::scope(|scope| {
            let workers: Vec<_> = runs
                .chunks(share)
                .map(|part| {
                    scope.spawn(move || {
                        let reports = part.iter().map(|run| self.report(run, asked));
                        reports.collect::<Result<Vec<_>, _>>()
                    })
                })
                .collect();
            workers
                .into_iter()
                .map(|worker| match worker.join() {
                    Ok(part) => part,
                    Err(panic) => std::panic::resume_unwind(panic),
                })
                .collect()
        });
        let mut all = Vec::with_capacity(runs.len());
        for part in parts {
            all.extend(part?);
        }
        Ok(all)
    }

    /// Judges one run.
    ///
    /// # Errors
    /// Where it is outside what the formulas cover.
    pub fn report(&self, run: &CableRun, asked: Asked) -> Result<Report, RunFault> {
        let power = self.powers.report(run, &self.copper);
        let warm = self.powers.warmed(run, &self.copper);
        let carried = match &warm.joint {
            Joint::Copper { cases, rates } => Carried::Copper(self.rates(cases, rates)?),
            Joint::Fibre {
                grade,
                length,
                mated_pairs,
                splices,
            } => Carried::Fibre(self.optics(*grade, *length, *mated_pairs, *splices)),
            Joint::Twinax { length } => Carried::Twinax(self.twinax(*length)),
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
        grade: Option<FibreGrade>,
        length: Length,
        mated_pairs: u32,
        splices: u32,
    ) -> Vec<OpticRow> {
        let grades = grade.map_or_else(|| FibreGrade::ALL.to_vec(), |grade| vec![grade]);
        let mut rows = Vec::new();
        for grade in grades {
            for optic in Optic::ALL {
                let found = self
                    .fibre
                    .carries(*optic, grade, length, mated_pairs, splices);
                rows.extend(found.map(|verdict| OpticRow {
                    optic: *optic,
                    grade,
                    verdict,
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

    /// The chances that a case has by a row of reach, where one is for it.
    fn by_reach(&self, run: &RunPhysics, rate: LinkRate, standing: Standing) -> f64 {
        // the rows are of sound copper; two pairs are enough for 100 Mb/s
        let enough = run.pairs == Pairs::Four || rate < FROM_REACH;
        let sound = run.conductor == Conductor::Copper && enough;
        let shut = matches!(standing, Standing::BeyondModule | Standing::TooFewPairs);
        if rate > FROM_REACH || !sound || shut {
            return 0.0;
        }
        let row = self.reaches.iter().find(|row| {
            row.category == run.category.word()
                && row.bundle == run.bundle.word()
                && row.rate == rate
        });
        row.map_or(0.0, |row| normal_share(reach_score(row, run.length)))
    }

    /// Every rate over every case, chances nested: a run that carries a fast rate carries a slow
    /// one. At 1 Gb/s and below rows of reach have a say, as in the budget.
    fn judged(&self, cases: &[Case], rates: &[LinkRate]) -> Result<Vec<Judged>, RunFault> {
        let mut rates = rates.to_vec();
        rates.sort_unstable();
        let mut found: Vec<Judged> = Vec::with_capacity(rates.len());
        for rate in rates.into_iter().rev() {
            let mut each = Vec::with_capacity(cases.len());
            let mut chances = Vec::with_capacity(cases.len());
            for (i, case) in cases.iter().enumerate() {
                let judgement = self.copper.judgement(&case.physics, rate)?;
                let reach = self.by_reach(&case.physics, rate, judgement.standing);
                let (link, hold) = found
                    .last()
                    .and_then(|faster| faster.chances.get(i))
                    .copied()
                    .unwrap_or((0.0, 0.0));
                each.push((case.weight, judgement));
                chances.push((
                    judgement.link.max(reach).max(link),
                    judgement.hold.max(reach).max(hold),
                ));
            }
            found.push(Judged {
                rate,
                each,
                chances,
            });
        }
        found.reverse();
        Ok(found)
    }

    fn verdict(&self, judged: &Judged, cases: &[Case]) -> Result<Verdict, RunFault> {
        let mut likeliest: Option<(f64, usize)> = None;
        for (i, (weight, _)) in judged.each.iter().enumerate() {
            if likeliest.is_none_or(|(most, _)| *weight > most) {
                likeliest = Some((*weight, i));
            }
        }
        let place = likeliest.map_or(0, |(_, i)| i);
        let standing = judged
            .each
            .get(place)
            .map_or(Standing::BeyondPromise, |(_, j)| j.standing);
        let modelled: Vec<(f64, Judgement)> = judged
            .each
            .iter()
            .filter(|(_, j)| j.standing == Standing::Modelled)
            .copied()
            .collect();
        let limits = match cases.get(place) {
            Some(case) if standing == Standing::Modelled => {
                Some(self.copper.at_limits(&case.physics, judged.rate)?)
            }
            _ => None,
        };
        Ok(Verdict {
            standing,
            margin: limits.map(|(margin, snr, _)| margin_of(&modelled, (margin, snr))),
            p_link: ratio(judged.total(|(link, _)| *link)),
            p_hold: ratio(judged.total(|(_, hold)| *hold)),
            noise_shares: limits.map(|(.., shares)| shares),
        })
    }

    fn rates(&self, cases: &[Case], rates: &[LinkRate]) -> Result<Vec<RateRow>, RunFault> {
        let today = self.judged(cases, rates)?;
        let upgraded: Vec<Case> = cases.iter().map(upgrade).collect();
        let later = if upgraded == cases {
            None
        } else {
            Some(self.judged(&upgraded, rates)?)
        };
        let holding = |judged: &Judged| judged.total(|(_, hold)| *hold);
        let mut rows: Vec<RateRow> = Vec::with_capacity(today.len());
        for (i, judged) in today.iter().enumerate() {
            let after = match &later {
                Some(later) => later.get(i),
                None => None,
            };
            let hold = holding(judged);
            let advice = if hold >= HOLDS {
                match after {
                    Some(after) if holding(after) < HOLDS => Advice::KeepNeighbours,
                    _ => Advice::Nothing,
                }
            } else {
                let lower = rows.iter().rev().find(|row| one(row.today.p_hold) >= HOLDS);
                let lower = lower.map(|row| (row.rate, row.today.p_hold));
                self.advice(judged, cases, lower)?
            };
            rows.push(RateRow {
                rate: judged.rate,
                today: self.verdict(judged, cases)?,
                upgraded: match after {
                    Some(after) => Some(self.verdict(after, &upgraded)?),
                    None => None,
                },
                advice,
            });
        }
        Ok(rows)
    }

    /// The best change, if it brings the rate to hold; else a lower rate that holds; else the
    /// best change if there is any that helps by a tenth or more; else fibre.
    fn advice(
        &self,
        judged: &Judged,
        cases: &[Case],
        lower: Option<(LinkRate, Ratio)>,
    ) -> Result<Advice, RunFault> {
        const NOTICEABLE: f64 = 0.1;
        let mut best: Option<(f64, f64, Change)> = None;
        for change in Change::ALL {
            let (mut hold, mut gain, mut applies) = (0.0, 0.0, false);
            for (i, case) in cases.iter().enumerate() {
                let now = judged.chances.get(i).map_or(0.0, |(_, hold)| *hold);
                let before = judged.each.get(i).map(|(_, j)| j);
                let after = match (change.applied(&case.physics), before) {
                    (Some(after), Some(before)) if before.standing == Standing::Modelled => {
                        applies = true;
                        let after = self.copper.judgement(&after, judged.rate)?;
                        gain += case.weight * (after.mean() - before.mean()).0;
                        after.hold.max(now)
                    }
                    _ => now,
                };
                hold += case.weight * after;
            }
            let better =
                best.is_none_or(|(most, by, _)| hold > most || (hold >= most && gain > by));
            if applies && gain > 0.0 && better {
                best = Some((hold, gain, change));
            }
        }
        let now = judged.total(|(_, hold)| *hold);
        let of = |(hold, _, change): (f64, f64, Change)| Advice::Change {
            change,
            p_hold: ratio(hold),
        };
        Ok(match (best, lower) {
            (Some(best), _) if best.0 >= HOLDS => of(best),
            (_, Some((rate, p_hold))) => Advice::LowerRate { rate, p_hold },
            (Some(best), None) if best.0 - now >= NOTICEABLE => of(best),
            _ => Advice::Fibre,
        })
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
        let Some(physics) = warm.likeliest() else {
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

    /// How the chance of a rate over a run comes about, for its likeliest case; the last step is
    /// the chance.
    ///
    /// # Errors
    /// Where the run is outside what the formulas cover.
    pub fn working(&self, run: &CableRun, rate: LinkRate) -> Result<Vec<Step>, RunFault> {
        let warm = self.powers.warmed(run, &self.copper);
        match warm.likeliest() {
            Some(physics) => self.copper.working(physics, rate),
            None => Ok(Vec::new()),
        }
    }
}

/// The case with all neighbours at the rate in question.
fn upgrade(case: &Case) -> Case {
    let mut after = case.clone();
    if let Neighbours::Rates(rates) = &case.physics.neighbours
        && case.physics.bundle != Bundle::Alone
    {
        let count = rates
            .iter()
            .fold(0_u32, |sum, (_, count)| sum.saturating_add(*count));
        after.physics.neighbours = Neighbours::SameRate(count);
    }
    after
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
