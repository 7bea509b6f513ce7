//! How a number comes about: columns of draws, and the steps that made them.
//!
//! A [`Sheet`] hands out columns (one value a draw, or one value where nothing is unknown) and
//! joins them by the models' functions. When it records, each step keeps its formula, inputs and
//! source, so that any number in an answer can be asked how it came about.

mod column;
mod step;

pub use column::{Column, Percentiles, middle, percentiles};

pub use step::{How, Pick, Step, Unknown};

use crate::known::{Chosen, Value};
use crate::quantity::{Measure, show};
use crate::spread::{Choice, Draws, Parts, Spread, Strata};
use column::Values;
use std::borrow::Cow;
use std::sync::Arc;

/// Hands out columns and remembers where they came from.
pub struct Sheet<'a> {
    draws: &'a mut Draws,
    steps: Option<Vec<Step>>,
    unknowns: Vec<Unknown>,
    /// Whether unknowns are kept, for whoever asks what explains a scatter.
    keeps: bool,
}

impl<'a> Sheet<'a> {
    /// A sheet that forgets its steps.
    pub fn new(draws: &'a mut Draws) -> Self {
        Self {
            draws,
            steps: None,
            unknowns: Vec::new(),
            keeps: true,
        }
    }

    /// The same without what is not known, for rates alone.
    #[must_use]
    pub fn lightened(self) -> Self {
        Self {
            keeps: false,
            ..self
        }
    }

    /// A sheet that keeps its steps.
    pub fn recording(draws: &'a mut Draws) -> Self {
        Self {
            draws,
            steps: Some(Vec::new()),
            unknowns: Vec::new(),
            keeps: true,
        }
    }

    /// How many draws a column has.
    pub fn count(&self) -> usize {
        self.draws.count()
    }

    /// Normal scores of the slices, lowest first.
    pub fn scores(&self) -> Arc<[f64]> {
        self.draws.scores()
    }

    /// What is not known and was drawn so far.
    pub fn unknowns(&self) -> &[Unknown] {
        &self.unknowns
    }

    /// The recorded steps; none where the sheet forgets them.
    pub fn into_steps(self) -> Vec<Step> {
        self.steps.unwrap_or_default()
    }

    /// Slices of an unknown that is neither a quantity nor a listed choice.
    pub fn slices(&mut self, id: &str, text: &str) -> Strata {
        self.remember(id, || text.to_owned(), None, true);
        self.draws.strata(id)
    }

    /// For each draw how far up its range an unknown lies, from 0 to 1, that is neither a quantity nor a
    /// listed choice.
    pub fn shares(&mut self, id: &str) -> Vec<f64> {
        let count = self.count() as f64;
        let slices = self.draws.strata(id);
        let middle = |&slice: &u32| (f64::from(slice) + 0.5) / count;
        slices.iter().map(middle).collect()
    }

    /// Keeps an unknown, in even parts unless others are given.
    fn remember(
        &mut self,
        id: &str,
        text: impl FnOnce() -> String,
        parts: Option<(&Parts, &dyn Fn() -> Vec<String>)>,
        can_be_found_out: bool,
    ) {
        if self.keeps && !self.unknowns.iter().any(|u| u.id == id) {
            let (parts, options) = match parts {
                Some((parts, options)) => (parts.clone(), options()),
                None => (self.draws.even_parts(id), Vec::new()),
            };
            self.unknowns.push(Unknown {
                id: id.to_owned(),
                text: text(),
                parts,
                options,
                can_be_found_out,
            });
        }
    }

    fn input<Q: Measure>(
        &mut self,
        values: Values,
        name: &str,
        id: Option<&str>,
        source: &str,
    ) -> Column<Q> {
        let mut column = Column::of(values);
        if self.steps.is_some() {
            let result = shown(&column);
            column.step = self.push(Step {
                name: name.to_owned(),
                formula: String::new(),
                inputs: Vec::new(),
                source: source.to_owned(),
                result,
                id: id.map(str::to_owned),
            });
        }
        column
    }

    fn push(&mut self, step: Step) -> Option<usize> {
        let steps = self.steps.as_mut()?;
        steps.push(step);
        Some(steps.len() - 1)
    }

    /// A value that is known.
    pub fn known<Q: Measure>(&mut self, name: &str, value: Q, source: &str) -> Column<Q> {
        self.input(Values::Same(value.base()), name, None, source)
    }

    /// A value of the site.
    pub fn value<Q: Measure>(&mut self, name: &str, value: &Value<Q>) -> Column<Q> {
        let source = match &value.origin {
            crate::known::Origin::Stated => "stated",
            crate::known::Origin::Assumed(source) => source.as_str(),
        };
        self.drawn(&value.id, name, &value.value, source, true)
    }

    /// A quantity of a model with its own name; an exact one is not drawn.
    pub fn draw<Q: Measure>(
        &mut self,
        id: &str,
        name: &str,
        spread: &Spread<Q>,
        source: &str,
    ) -> Column<Q> {
        self.drawn(id, name, spread, source, false)
    }

    fn drawn<Q: Measure>(
        &mut self,
        id: &str,
        name: &str,
        spread: &Spread<Q>,
        source: &str,
        can_be_found_out: bool,
    ) -> Column<Q> {
        let values = if spread.is_exact() {
            Values::Same(spread.median().base())
        } else {
            self.remember(id, || spread.to_string(), None, can_be_found_out);
            Values::Each(self.draws.values(id, spread.law()))
        };
        self.input(values, name, Some(id), source)
    }

    /// A choice of the site; one that is known is not drawn.
    pub fn choice<T: Clone + PartialEq>(
        &mut self,
        chosen: &Chosen<T>,
        word: impl Fn(&T) -> String,
    ) -> Pick {
        self.chosen(&chosen.id, &chosen.value, word, true)
    }

    /// A choice of a model; one that is known is not drawn.
    pub fn choose<T: Clone + PartialEq>(
        &mut self,
        id: &str,
        choice: &Choice<T>,
        word: impl Fn(&T) -> String,
    ) -> Pick {
        self.chosen(id, choice, word, false)
    }

    fn chosen<T: Clone + PartialEq>(
        &mut self,
        id: &str,
        choice: &Choice<T>,
        word: impl Fn(&T) -> String,
        can_be_found_out: bool,
    ) -> Pick {
        if choice.only().is_some() {
            return Pick {
                picked: Arc::from([]),
                same: Some(0),
            };
        }
        let sizes = choice.slices(self.count());
        let parts = self.draws.parts(id, &sizes);
        let text = || {
            choice
                .options()
                .iter()
                .map(|(value, weight)| format!("{} {:.0} %", word(value), weight * 100.0))
                .collect::<Vec<_>>()
                .join(", ")
        };
        let options = || choice.options().iter().map(|(o, _)| word(o)).collect();
        self.remember(id, text, Some((&parts, &options)), can_be_found_out);
        Pick {
            picked: parts.of_draw,
            same: None,
        }
    }

    /// For each draw, the value of the option that it picked.
    pub fn pick<Q: Measure>(
        &mut self,
        name: &str,
        pick: &Pick,
        options: &[Column<Q>],
    ) -> Column<Q> {
        if let Some(only) = pick.only()
            && let Some(column) = options.get(only)
        {
            return column.clone();
        }
        let bases: Vec<_> = options
            .iter()
            .map(|column| column.every_base(self.count()))
            .collect();
        let values = pick
            .picked
            .iter()
            .enumerate()
            .map(|(draw, &option)| {
                bases
                    .get(usize::from(option))
                    .and_then(|values| values.get(draw).copied())
                    .unwrap_or(f64::NAN)
            })
            .collect();
        let inputs = options
            .iter()
            .enumerate()
            .filter_map(|(i, column)| Some((format!("option {}", i + 1), column.step?)))
            .collect();
        self.derived(Values::Each(values), name, "whichever it is", inputs, "")
    }

    fn derived<Q: Measure>(
        &mut self,
        values: Values,
        name: &str,
        formula: &str,
        inputs: Vec<(String, usize)>,
        source: &str,
    ) -> Column<Q> {
        let mut column = Column::of(values);
        if self.steps.is_some() {
            let result = shown(&column);
            column.step = self.push(Step {
                name: name.to_owned(),
                formula: formula.to_owned(),
                inputs,
                source: source.to_owned(),
                result,
                id: None,
            });
        }
        column
    }

    fn finish<Q: Measure>(
        &mut self,
        how: &How,
        values: Values,
        steps: &[Option<usize>],
    ) -> Column<Q> {
        let inputs = if self.steps.is_some() {
            how.symbols
                .iter()
                .zip(steps)
                .filter_map(|(symbol, step)| Some(((*symbol).to_owned(), (*step)?)))
                .collect()
        } else {
            Vec::new()
        };
        self.derived(values, how.name, how.formula, inputs, how.source)
    }

    /// A function of one column.
    pub fn of<A: Measure, Z: Measure>(
        &mut self,
        how: &How,
        a: &Column<A>,
        f: impl Fn(A) -> Z,
    ) -> Column<Z> {
        let values = match &a.values {
            Values::Same(a) => Values::Same(f(A::from_base(*a)).base()),
            Values::Each(a) => Values::Each(a.iter().map(|&a| f(A::from_base(a)).base()).collect()),
        };
        self.finish(how, values, &[a.step])
    }

    /// A function of two columns.
    pub fn of2<A: Measure, B: Measure, Z: Measure>(
        &mut self,
        how: &How,
        a: &Column<A>,
        b: &Column<B>,
        f: impl Fn(A, B) -> Z,
    ) -> Column<Z> {
        let g = |a: f64, b: f64| f(A::from_base(a), B::from_base(b)).base();
        let values = match (&a.values, &b.values) {
            (Values::Same(a), Values::Same(b)) => Values::Same(g(*a, *b)),
            (Values::Each(a), Values::Same(b)) => {
                Values::Each(a.iter().map(|&a| g(a, *b)).collect())
            }
            (Values::Same(a), Values::Each(b)) => {
                Values::Each(b.iter().map(|&b| g(*a, b)).collect())
            }
            (Values::Each(a), Values::Each(b)) => {
                Values::Each(a.iter().zip(b.iter()).map(|(&a, &b)| g(a, b)).collect())
            }
        };
        self.finish(how, values, &[a.step, b.step])
    }

    fn every<'c, Q: Measure>(&self, column: &'c Column<Q>) -> Cow<'c, [f64]> {
        column.every_base(self.count())
    }

    /// A function of three columns.
    pub fn of3<A: Measure, B: Measure, C: Measure, Z: Measure>(
        &mut self,
        how: &How,
        (a, b, c): (&Column<A>, &Column<B>, &Column<C>),
        f: impl Fn(A, B, C) -> Z,
    ) -> Column<Z> {
        let values = if let (Some(a), Some(b), Some(c)) = (a.only(), b.only(), c.only()) {
            Values::Same(f(a, b, c).base())
        } else {
            let (a, b, c) = (self.every(a), self.every(b), self.every(c));
            let rows = a.iter().zip(b.iter()).zip(c.iter());
            let g = |a: f64, b: f64, c: f64| {
                f(A::from_base(a), B::from_base(b), C::from_base(c)).base()
            };
            Values::Each(rows.map(|((&a, &b), &c)| g(a, b, c)).collect())
        };
        self.finish(how, values, &[a.step, b.step, c.step])
    }

    /// A function of four columns.
    pub fn of4<A: Measure, B: Measure, C: Measure, D: Measure, Z: Measure>(
        &mut self,
        how: &How,
        (a, b, c, d): (&Column<A>, &Column<B>, &Column<C>, &Column<D>),
        f: impl Fn(A, B, C, D) -> Z,
    ) -> Column<Z> {
        let values = if let (Some(a), Some(b), Some(c), Some(d)) =
            (a.only(), b.only(), c.only(), d.only())
        {
            Values::Same(f(a, b, c, d).base())
        } else {
            let (a, b, c, d) = (self.every(a), self.every(b), self.every(c), self.every(d));
            let rows = a.iter().zip(b.iter()).zip(c.iter()).zip(d.iter());
            let g = |a: f64, b: f64, c: f64, d: f64| {
                f(
                    A::from_base(a),
                    B::from_base(b),
                    C::from_base(c),
                    D::from_base(d),
                )
                .base()
            };
            Values::Each(rows.map(|(((&a, &b), &c), &d)| g(a, b, c, d)).collect())
        };
        self.finish(how, values, &[a.step, b.step, c.step, d.step])
    }

    /// A column that a caller computed draw by draw.
    pub fn made<Q: Measure>(
        &mut self,
        how: &How,
        values: Arc<[f64]>,
        inputs: &[Option<usize>],
    ) -> Column<Q> {
        self.finish(how, Values::Each(values), inputs)
    }

    /// The step behind a column.
    pub fn step_of<Q: Measure>(column: &Column<Q>) -> Option<usize> {
        column.step
    }
}

fn shown<Q: Measure>(column: &Column<Q>) -> String {
    let p = column.percentiles();
    if column.only().is_some() || p.p05 == p.p95 {
        show(p.p50)
    } else {
        format!("{} ({} to {})", show(p.p50), show(p.p05), show(p.p95))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{DataRate, in_megabytes_per_second, megabytes_per_second, ratio};
    use crate::spread::Bounds;

    const HALF: How = How {
        name: "half",
        formula: "r / 2",
        symbols: &["r"],
        source: "test",
    };

    #[test]
    fn verify_percentiles_of_a_drawn_column_are_those_of_its_law() {
        let mut draws = Draws::new(4096);
        let mut sheet = Sheet::new(&mut draws);
        let spread = Spread::<DataRate>::parse("180..200..240 MB/s", Bounds::POSITIVE).unwrap();
        let p = sheet.draw("x", "x", &spread, "test").percentiles();
        for (found, expected) in [(p.p05, 180.0), (p.p50, 200.0), (p.p95, 240.0)] {
            // one slice in 4096 is 0.02 % of probability, here less than 0.1 % of the value
            approx::assert_relative_eq!(
                in_megabytes_per_second(found),
                expected,
                max_relative = 1e-3
            );
        }
    }

    #[test]
    fn what_is_known_stays_one_number_and_keeps_its_working() {
        let mut draws = Draws::new(16);
        let mut sheet = Sheet::recording(&mut draws);
        let rate = sheet.known("rate", megabytes_per_second(100.0), "stated");
        let half = sheet.of(&HALF, &rate, |r: DataRate| r * ratio(0.5));
        assert_eq!(half.only(), Some(megabytes_per_second(50.0)));
        assert!(sheet.unknowns().is_empty());
        let steps = sheet.into_steps();
        assert_eq!(steps[1].formula, "r / 2");
        assert_eq!(steps[1].inputs, [("r".to_owned(), 0)]);
        assert_eq!(steps[1].result, "50.0 MB/s");
    }

    #[test]
    fn a_pick_follows_its_weights() {
        let mut draws = Draws::new(1000);
        let mut sheet = Sheet::new(&mut draws);
        let choice = Choice::weighted([("a", 25.0), ("b", 75.0)]).unwrap();
        let pick = sheet.choose("c", &choice, |w| (*w).to_owned());
        let first = (0..1000).filter(|&d| pick.at(d) == 0).count();
        assert_eq!(first, 250);
        let column = sheet.pick(
            "rate",
            &pick,
            &[
                Column::same(megabytes_per_second(1.0)),
                Column::same(megabytes_per_second(2.0)),
            ],
        );
        let sum: f64 = (0..1000)
            .map(|d| in_megabytes_per_second(column.at(d)))
            .sum();
        approx::assert_relative_eq!(sum, 1750.0, max_relative = 1e-12);
        assert_eq!(sheet.unknowns()[0].text, "a 25 %, b 75 %");
    }
}
