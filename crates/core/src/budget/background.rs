//! What an array does beside serving: putting a drive together again, reading everything through.

use super::{BudgetFault, Builder};
use crate::quantity::{Ratio, ratio};
use crate::site::{Array, Chosen};
use crate::working::{Column, How};

const BOTH: How = How {
    name: "share left by both",
    formula: "a b",
    symbols: &["a", "b"],
    source: "each takes its share of what is left",
};

impl Builder<'_, '_> {
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
        Ok(match (rebuilding, scrubbing) {
            (Some(a), Some(b)) => Some(self.sheet.of2(&BOTH, &a, &b, |a: Ratio, b: Ratio| a * b)),
            (one, other) => one.or(other),
        })
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
        said.concat()
    }
}
