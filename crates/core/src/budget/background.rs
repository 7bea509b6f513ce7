//! What drives do beside serving: putting a drive together again, reading everything through, others; and
//! a drive that is slow.

use super::{BudgetFault, Context};
use crate::quantity::{Ratio, ratio};
use crate::site::{Array, Chosen};
use crate::working::{Column, How};

const OTHERS: How = How {
    name: "share left by others",
    formula: "1 - u",
    symbols: &["u"],
    source: "drives have one second per second",
};

const BOTH: How = How {
    name: "share left by both",
    formula: "a b",
    symbols: &["a", "b"],
    source: "each takes its share of what is left",
};

impl Context<'_, '_> {
    /// What is left of the drives by work of the array's own; nothing where it has none.
    pub(super) fn left_by_background_work(
        &mut self,
        array: &Array,
    ) -> Result<Option<Column<Ratio>>, BudgetFault> {
        let rebuilding = self.left_by(
            array,
            &array.rebuilding,
            "array.left-by-rebuilding",
            "left by rebuilding",
            "share left while a drive is put together again",
        )?;
        let scrubbing = self.left_by(
            array,
            &array.scrubbing,
            "array.left-by-scrubbing",
            "left by scrubbing",
            "share left while all drives are read through",
        )?;
        let others = array.others.as_ref().map(|others| {
            let used = self
                .sheet
                .value("share of its time that others use", others);
            self.sheet.of(&OTHERS, &used, |u: Ratio| ratio(1.0) - u)
        });
        // who needs all drives waits for the slowest; streams side by side come to it in turn
        let slowest = array.slowest.as_ref().map(|slowest| {
            self.sheet
                .value("what its slowest drive reaches of the others", slowest)
        });
        let all = [rebuilding, scrubbing, others, slowest];
        Ok(all
            .into_iter()
            .flatten()
            .reduce(|a, b| self.sheet.of2(&BOTH, &a, &b, |a: Ratio, b: Ratio| a * b)))
    }

    /// The share that a kind of work leaves, where it may go on.
    fn left_by(
        &mut self,
        array: &Array,
        state: &Chosen<bool>,
        row: &str,
        id: &str,
        name: &str,
    ) -> Result<Option<Column<Ratio>>, BudgetFault> {
        let states = state.value.options();
        if !states.iter().any(|(goes_on, _)| *goes_on) {
            return Ok(None);
        }
        let pick = self.sheet.choice(state, |goes_on| {
            if *goes_on { "yes" } else { "no" }.to_owned()
        });
        let mut options = Vec::new();
        for (goes_on, _) in states {
            options.push(if *goes_on {
                self.sheet.draw(
                    &format!("array.{}/{id}", array.name),
                    name,
                    &self.catalogue.spread::<Ratio>(row)?,
                    &self.catalogue.number(row)?.source,
                )
            } else {
                self.sheet.known(name, ratio(1.0), "no such work goes on")
            });
        }
        Ok(Some(self.sheet.pick(name, &pick, &options)))
    }

    /// The same in words, to stand behind what the array is made of.
    pub(super) fn background_work(array: &Array) -> String {
        let states = [
            (&array.rebuilding, "rebuilding"),
            (&array.scrubbing, "scrubbing"),
        ];
        let said = states.map(|(state, word)| match state.value.only() {
            Some(true) => format!(", {word}"),
            Some(false) => String::new(),
            None => format!(", perhaps {word}"),
        });
        let slowest = array.slowest.as_ref();
        let slowest = slowest.map(|share| format!(", one drive at {} of the others", share.value));
        let others = array.others.as_ref();
        let others = others.map(|share| format!(", {} of its time used by others", share.value));
        format!(
            "{}{}{}",
            said.concat(),
            slowest.unwrap_or_default(),
            others.unwrap_or_default()
        )
    }
}
