//! Rate by rate over the cases of a run: chances, margins, and the single best thing to do.

use super::judge::{Advice, Cabling, HOLDS, RateRow, one};
use super::run::Case;
use crate::copper::{
    Bundle, Change, Judgement, Neighbours, RunFault, RunPhysics, Standing, Verdict, margin_of,
};
use crate::quantity::{LinkRate, Ratio, ratio};

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
    /// Every rate over every case, chances nested: a run that carries a fast rate carries a slow
    /// one.
    fn judged(&self, cases: &[Case], rates: &[LinkRate]) -> Result<Vec<Judged>, RunFault> {
        let mut rates = rates.to_vec();
        rates.sort_unstable();
        let mut found: Vec<Judged> = Vec::with_capacity(rates.len());
        for rate in rates.into_iter().rev() {
            let mut each = Vec::with_capacity(cases.len());
            let mut chances = Vec::with_capacity(cases.len());
            for (i, case) in cases.iter().enumerate() {
                let judgement = self.copper.judgement(&case.physics, rate)?;
                let (link, hold) = found
                    .last()
                    .and_then(|faster| faster.chances.get(i))
                    .copied()
                    .unwrap_or((0.0, 0.0));
                each.push((case.weight, judgement));
                chances.push((judgement.link.max(link), judgement.hold.max(hold)));
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

    /// What is to be said of a rate: chances and margin of all cases, noises of the typical one.
    fn verdict(&self, judged: &Judged, typical: &RunPhysics) -> Result<Verdict, RunFault> {
        let standing = self.copper.standing_of(typical, judged.rate)?;
        let modelled: Vec<(f64, Judgement)> = judged
            .each
            .iter()
            .filter(|(_, j)| j.standing == Standing::Modelled)
            .copied()
            .collect();
        let limits = if standing == Standing::Modelled && !modelled.is_empty() {
            Some(self.copper.at_limits(typical, judged.rate)?)
        } else {
            None
        };
        Ok(Verdict {
            standing,
            margin: limits.map(|(margin, snr, _)| margin_of(&modelled, (margin, snr))),
            p_link: ratio(judged.total(|(link, _)| *link)),
            p_hold: ratio(judged.total(|(_, hold)| *hold)),
            noise_shares: limits.map(|(.., shares)| shares),
        })
    }

    pub(super) fn rates(
        &self,
        cases: &[Case],
        typical: &RunPhysics,
        rates: &[LinkRate],
    ) -> Result<Vec<RateRow>, RunFault> {
        let today = self.judged(cases, rates)?;
        let upgraded: Vec<Case> = cases
            .iter()
            .map(|case| Case {
                weight: case.weight,
                physics: upgrade(&case.physics),
            })
            .collect();
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
                today: self.verdict(judged, typical)?,
                upgraded: match after {
                    Some(after) => Some(self.verdict(after, &upgrade(typical))?),
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
}

/// The run with all neighbours at the rate in question.
fn upgrade(run: &RunPhysics) -> RunPhysics {
    let mut after = run.clone();
    if let Neighbours::Rates(rates) = &run.neighbours
        && run.bundle != Bundle::Alone
    {
        let count = rates
            .iter()
            .fold(0_u32, |sum, (_, count)| sum.saturating_add(*count));
        after.neighbours = Neighbours::SameRate(count);
    }
    after
}
