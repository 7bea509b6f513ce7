//! Heads of spinning drives: how long they take to move, and what moving costs a writer of two places.

use super::{BudgetFault, Context};
use crate::array::rate::{Heads, Zones, far_write};
use crate::quantity::{DataRate, Information, Measure, Ratio, Time, ratio};
use crate::site::{Array, Drive};
use crate::working::{Column, How, Sheet};

const TWO_PLACES: How = How {
    name: "writing both copies, half a drive apart",
    formula: "n B / (B / v(x / 2) + B / v(1/2 + x / 2) + 2 t) of n drives, v(x) = r sqrt(1 - (1 - p^2) x), \
              t half a stroke by the mean seek s and half a turn",
    symbols: &["B", "r", "p", "x", "s"],
    source: "a band is gathered, then the heads move to the other; RAID 10 far",
};

/// What is known of the heads of a class of drives.
pub(super) struct HeadColumns {
    seek: Column<Time>,
    next_track: Column<Time>,
    turn: Column<Time>,
    overhead: Column<Time>,
}

impl HeadColumns {
    /// In one draw.
    pub(super) fn at(&self, draw: usize) -> Heads {
        Heads {
            average_seek: self.seek.at(draw),
            next_track: self.next_track.at(draw),
            turn: self.turn.at(draw),
            overhead: self.overhead.at(draw),
        }
    }

    /// The step that says where it comes from.
    pub(super) fn step(&self) -> Option<usize> {
        Sheet::step_of(&self.seek)
    }
}

impl Context<'_, '_> {
    /// The heads of a class of spinning drives.
    pub(super) fn heads(&mut self, class: &str) -> Result<HeadColumns, BudgetFault> {
        let seek_row = match class {
            "hdd" => "layouts.seek.hdd".to_owned(),
            class => format!("array.seek.{class}"),
        };
        Ok(HeadColumns {
            seek: self.row(&seek_row, "mean seek")?,
            next_track: self.row("array.next-track", "to the next track")?,
            turn: self.row(&format!("layouts.turn.{class}"), "one turn")?,
            overhead: self.row("array.command", "a command")?,
        })
    }

    /// What RAID 10 far writes with all its drives: as full as the site says, and empty. Nothing
    /// where drives have no heads. See [`far_write`].
    pub(super) fn far_writing(
        &mut self,
        array: &Array,
        drive: &Drive,
    ) -> Result<Option<[Column<DataRate>; 2]>, BudgetFault> {
        let Drive::Spinning {
            class,
            outer,
            inner_ratio,
        } = drive
        else {
            return Ok(None);
        };
        let heads = self.heads(class)?;
        let gathered: Column<Information> =
            self.row("layouts.far-gathered", "gathered for one place")?;
        let outer = self.sheet.value("rate at the outer edge", outer);
        let inner = self.sheet.value("inner rate over outer rate", inner_ratio);
        let fill = self.sheet.value("how full", &array.fill);
        let capacity = array.drives.capacity.median();
        let drives = array.drives.count;
        let count = self.sheet.count();
        let steps = [
            Sheet::step_of(&gathered),
            Sheet::step_of(&outer),
            Sheet::step_of(&inner),
            Sheet::step_of(&fill),
            heads.step(),
        ];
        let mut filled_to = |share: f64| {
            let values = (0..count)
                .map(|d| {
                    Zones::new(outer.at(d), inner.at(d), capacity).map_or(f64::NAN, |zones| {
                        let fill: Ratio = fill.at(d) * ratio(share);
                        far_write(drives, &zones, fill, gathered.at(d), &heads.at(d)).base()
                    })
                })
                .collect();
            self.sheet.made(&TWO_PLACES, values, &steps)
        };
        Ok(Some([filled_to(1.0), filled_to(0.0)]))
    }
}
