use super::link::port_note;
use super::part::{Part, mark};
use super::{BudgetFault, Context, Warning, WarningKind};
use crate::catalogue::Catalogue;
use crate::copper::{Copper, Fibre, Installation};
use crate::hop::copper::{Chances, SLOWEST, chances};
use crate::quantity::{DataRate, Length, LinkRate, Measure, Ratio, ratio, show};
use crate::route::RouteLink;
use crate::site::{Medium, Port, Run};
use crate::spread::{Choice, Spread, normal_share};
use crate::working::{Column, How, Sheet};
use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::Arc;

/// The normal score of 99 in 100: a smaller chance of failing is neither drawn nor worth a warning.
const NEARLY_CERTAIN: f64 = 2.3263478740408408;

/// Shares of a length's law at which the physics is evaluated; between them the scores are joined
/// by straight lines, which they nearly are.
const NODES: [f64; 4] = [0.02, 0.35, 0.65, 0.98];

/// A share of the draws in which a run gives no link that a person should know of.
const WORTH_SAYING: f64 = 0.05;

/// Shares of a length's law beyond which no draw lies, to a rounding.
const LEAST: f64 = 1e-6;
const MOST: f64 = 1.0 - LEAST;

/// A hair beyond the end of a promise.
const BEYOND: f64 = 1.0 + 1e-9;

const SPEED: How = How {
    name: "rate of the link",
    formula: "the fastest rate that both ends know and the run carries",
    symbols: &["length"],
    source: "IEEE 802.3 clause 28 (negotiation); margin of the run",
};

const ERRORS: How = How {
    name: "payload left by errors",
    formula: "p e where the run links without reserve",
    symbols: &["p", "e"],
    source: "a run between linking and holding",
};

/// The physics of all runs of one question, each evaluated once.
pub(crate) struct Cabling {
    copper: Copper,
    pub(super) fibre: Fibre,
    /// A rate that a run carries in a smaller share of the cases is one that its ends should not agree on.
    rarely: f64,
    /// By the bits of the length.
    known: RefCell<HashMap<u64, Vec<Known>>>,
}

/// What is known of one category in one bundle at one length.
struct Known {
    category: String,
    bundle: String,
    installed: Installation,
    rates: Vec<LinkRate>,
    chances: Arc<[Chances]>,
}

impl Cabling {
    pub(crate) fn new(catalogue: &Catalogue) -> Result<Self, BudgetFault> {
        Ok(Self {
            copper: Copper::new(catalogue)?,
            fibre: Fibre::new(catalogue)?,
            rarely: catalogue.number("cable.rarely")?.likely,
            known: RefCell::new(HashMap::new()),
        })
    }

    fn chances(
        &self,
        (category, bundle): (&str, &str),
        installed: &Installation,
        length: Length,
        rates: &[LinkRate],
    ) -> Arc<[Chances]> {
        let bits = length.base().to_bits();
        let is = |known: &&Known| {
            (known.category == category && known.bundle == bundle)
                && known.installed == *installed
                && known.rates == rates
        };
        let known = self.known.borrow();
        if let Some(found) = known.get(&bits).and_then(|all| all.iter().find(is)) {
            return Arc::clone(&found.chances);
        }
        drop(known);
        let found: Arc<[Chances]> =
            chances(&self.copper, (category, bundle), installed, length, rates).into();
        self.known
            .borrow_mut()
            .entry(bits)
            .or_default()
            .push(Known {
                category: category.to_owned(),
                bundle: bundle.to_owned(),
                installed: installed.clone(),
                rates: rates.to_vec(),
                chances: Arc::clone(&found),
            });
        found
    }

    /// One curve a kind of cable and a lay of it that it may be.
    fn curves(
        &self,
        (categories, bundles): (&Choice<String>, &Choice<String>),
        installed: &Installation,
        lengths: &[Length],
        rates: &[LinkRate],
    ) -> Vec<Curve> {
        let mut curves = Vec::new();
        for (category, _) in categories.options() {
            for (bundle, _) in bundles.options() {
                let nodes = lengths.iter().map(|&length| {
                    let found = self.chances((category, bundle), installed, length, rates);
                    (length.base(), found)
                });
                curves.push(Curve {
                    nodes: nodes.collect(),
                });
            }
        }
        curves
    }

    /// Lengths at which the physics is evaluated: where a promise ends within a length that is not
    /// known, on either side of its end, since the chance steps down there.
    fn nodes(&self, length: &Spread<Length>, rates: &[LinkRate]) -> Vec<Length> {
        if length.is_exact() {
            return vec![length.median()];
        }
        let mut nodes = NODES.map(|share| length.quantile(share)).to_vec();
        let within = length.quantile(LEAST)..length.quantile(MOST);
        let mut ends: Vec<Length> = Vec::new();
        for end in rates.iter().filter_map(|rate| self.copper.promised(*rate)) {
            if within.contains(&end) && !ends.contains(&end) {
                ends.push(end);
                nodes.extend([end, end * ratio(BEYOND)]);
            }
        }
        nodes.sort_by(|a, b| a.base().total_cmp(&b.base()));
        nodes
    }
}

/// Scores of one category in one bundle over length.
struct Curve {
    nodes: Vec<(f64, Arc<[Chances]>)>,
}

impl Curve {
    /// Scores of the rate at a place in the list, at a length.
    fn at(&self, place: usize, length: f64) -> Option<Chances> {
        let value = |node: &(f64, Arc<[Chances]>)| node.1.get(place).copied();
        let after = self.nodes.iter().position(|(l, _)| *l >= length);
        let (low, high) = match after {
            Some(0) => (self.nodes.first()?, self.nodes.first()?),
            Some(i) => (self.nodes.get(i - 1)?, self.nodes.get(i)?),
            None => (self.nodes.last()?, self.nodes.last()?),
        };
        let (a, b) = (value(low)?, value(high)?);
        let share = if high.0 > low.0 {
            (length - low.0) / (high.0 - low.0)
        } else {
            0.0
        };
        let between = |x: f64, y: f64| x + (y - x) * share;
        Some(Chances {
            rate: a.rate,
            link: between(a.link, b.link),
            hold: between(a.hold, b.hold),
            without_end: between(a.without_end, b.without_end),
        })
    }

    /// What a run with this luck comes up with, and whether it then makes errors. Where only the end
    /// of a promise stands against every rate, it counts as the slowest that has a receiver.
    fn carried(&self, luck: f64, length: f64) -> Option<(LinkRate, bool)> {
        let rates = self.nodes.first()?.1.len();
        let all = || (0..rates).filter_map(|place| self.at(place, length));
        let promised = all().find(|at| luck < at.link);
        let or_else = || all().find(|at| at.rate == SLOWEST && luck < at.without_end);
        promised
            .map(|at| (at.rate, luck >= at.hold))
            .or_else(|| or_else().map(|at| (at.rate, false)))
    }
}

/// What a run comes up with.
pub(super) struct Carried {
    pub speed: Column<LinkRate>,
    pub note: String,
    /// The draws in which it links and makes errors.
    pub errors: Option<Arc<[bool]>>,
}

impl Context<'_, '_> {
    /// The rate that a run comes up with.
    pub(super) fn speed(
        &mut self,
        (run, link): (&Run, &RouteLink),
        (near, far): (&Port, &Port),
        (common, best): (&[LinkRate], LinkRate),
        part: &mut Part,
    ) -> Carried {
        let port_note = port_note(link, near, far, best);
        let certain = |this: &mut Self, why: &str, note: String| Carried {
            speed: this.sheet.known("rate of the link", best, why),
            note,
            errors: None,
        };
        let Medium::Copper {
            category,
            length,
            bundle,
            installed,
        } = &run.medium
        else {
            part.warnings.extend(self.look_at_clear(run, link, best));
            return certain(self, "both ends know it", port_note);
        };
        let lengths = self.cabling.nodes(&length.value, common);
        let kinds = (&category.value, &bundle.value);
        let curves = self.cabling.curves(kinds, installed, &lengths, common);
        let sure = curves.iter().all(|curve| {
            curve
                .nodes
                .last()
                .and_then(|(_, found)| found.first())
                .is_some_and(|c| c.rate == best && c.hold > NEARLY_CERTAIN)
        });
        if sure {
            let why = "both ends know it and the run carries it";
            return certain(self, why, port_note);
        }
        let least = common.iter().copied().min().unwrap_or(best);
        let category_pick = self.sheet.choice(category, Clone::clone);
        let bundle_pick = self.sheet.choice(bundle, Clone::clone);
        let bundles = bundle.value.options().len();
        let metres = self.sheet.value("length of the run", length);
        let place = format!("run.{}", run.number);
        let luck_of = self
            .sheet
            .slices(&format!("{place}.carries"), "how well this run was made");
        let scores = self.sheet.scores();
        let mut values = Vec::with_capacity(self.sheet.count());
        let mut errors = Vec::with_capacity(self.sheet.count());
        let (mut at_best, mut dead) = (0usize, Vec::new());
        for (draw, &slice) in luck_of.iter().enumerate() {
            // one luck a run: a run that carries a fast rate carries the slower ones too
            let luck = scores.get(slice as usize).copied().unwrap_or(0.0);
            let curve = curves.get(category_pick.at(draw) * bundles + bundle_pick.at(draw));
            let carried = curve.and_then(|curve| curve.carried(luck, metres.at(draw).base()));
            let (rate, faulty) = carried.unwrap_or((least, false));
            at_best += usize::from(rate == best && !faulty);
            values.push(rate.base());
            errors.push(faulty);
            if carried.is_none() {
                dead.push(draw);
            }
        }
        self.may_not_come_up((run, link), &dead, part);
        let chance = at_best as f64 / values.len().max(1) as f64;
        if chance >= normal_share(NEARLY_CERTAIN) {
            return certain(self, "both ends know it and the run carries it", port_note);
        }
        part.warnings
            .push(self.may_fall_back((run, link), best, (chance, at_best == 0)));
        let speed = self
            .sheet
            .made(&SPEED, values.into(), &[Sheet::step_of(&metres)]);
        let note = if at_best == 0 {
            format!(
                "{}: the cable carries no more",
                show(speed.percentiles().p50)
            )
        } else {
            format!(
                "{best} in {:.0} % of cases, else the cable holds it back",
                chance * 100.0
            )
        };
        Carried {
            speed,
            note,
            errors: errors.iter().any(|e| *e).then(|| errors.into()),
        }
    }

    /// Says that a run may not carry the rate that both ends know, or rarely does.
    fn may_fall_back(
        &self,
        (run, link): (&Run, &RouteLink),
        best: LinkRate,
        (chance, never): (f64, bool),
    ) -> Warning {
        let (near, far) = (&link.near.name, &link.far.name);
        let of_100 = format!("{:.0} of 100 cases", chance * 100.0);
        let (kind, message, next) = if chance >= self.cabling.rarely {
            (
                WarningKind::CableMayFallBack,
                format!("the cable from {near} to {far} carries {best} in {of_100}"),
                "read the rate and the error counters that both ends show, or have it certified",
            )
        } else {
            let carries = if never {
                format!("the cable from {near} to {far} does not carry it")
            } else {
                format!("the cable from {near} to {far} carries it in {of_100}")
            };
            (
                WarningKind::ComesAndGoes,
                format!(
                    "both ends know {best} and {carries}: ports that do not step down by themselves \
                     find the link and lose it again"
                ),
                "where the link comes and goes, set both ends to the next slower rate",
            )
        };
        Warning::new(kind, format!("run.{}", run.number), message, next)
    }

    /// Keeps the draws in which a run gives no link at all, and says so where that is not rare.
    fn may_not_come_up(&self, (run, link): (&Run, &RouteLink), dead: &[usize], part: &mut Part) {
        if dead.is_empty() {
            return;
        }
        let count = self.sheet.count();
        part.dead.resize(count, false);
        for &draw in dead {
            if let Some(any) = part.dead.get_mut(draw) {
                *any = true;
            }
        }
        let share = dead.len() as f64 / count.max(1) as f64;
        if share < WORTH_SAYING {
            return;
        }
        let comes_up = (1.0 - share) * 100.0;
        let chance = if comes_up < 1.0 {
            "under 1 %".to_owned()
        } else {
            format!("{comes_up:.0} %")
        };
        part.warnings.push(Warning::new(
            WarningKind::MayNotComeUp,
            format!("run.{}", run.number),
            format!(
                "the cable from {} to {} comes up in {chance} of cases; rates are those of \
                 a link that does",
                link.near.name,
                link.far.name,
            ),
            "plug it in and look for a link before you count on it; else fibre, or a switch half-way",
        ));
    }

    /// A payload, less what errors cost in the draws in which a run makes them.
    pub(super) fn with_errors(
        &mut self,
        place: &str,
        payload: &Column<DataRate>,
        errors: &Arc<[bool]>,
        part: &mut Part,
    ) -> Result<Column<DataRate>, BudgetFault> {
        let row = "link.left-by-errors";
        let left = self.sheet.draw(
            &format!("{place}/{row}"),
            "share left by errors",
            &self.catalogue.spread::<Ratio>(row)?,
            &self.catalogue.number(row)?.source,
        );
        mark(&mut part.errors, errors);
        let mut values = Vec::with_capacity(errors.len());
        for (draw, &faulty) in errors.iter().enumerate() {
            let whole = payload.at(draw);
            let rate = if faulty { whole * left.at(draw) } else { whole };
            values.push(rate.base());
        }
        Ok(self.sheet.made(
            &ERRORS,
            values.into(),
            &[Sheet::step_of(payload), Sheet::step_of(&left)],
        ))
    }
}
