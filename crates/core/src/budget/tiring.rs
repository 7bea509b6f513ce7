//! Drives that slow down in a long write: what their fast cache takes, when flash folds, and at what rates.

use super::drive_set::{IN_PLACE, is_stated, scaled};
use super::ends::DriveRate;
use super::hop::Tiring;
use super::link::slower;
use super::{BudgetFault, Context};
use crate::array::rate::{fast_cache, folding_point};
use crate::quantity::{DataRate, Information, Measure, Ratio, ratio};
use crate::site::{Drive, Value};
use crate::spread::{Bounds, Law, Spread};
use crate::work::Direction;
use crate::working::{Column, How, Pick};

const SHRUNK: How = How {
    name: "fast cache of one drive",
    formula: "C (1 - f) min(s, 1/b)",
    symbols: &["C", "f", "s", "b"],
    source: "free cells hold one bit each as cache; in proportion to them: judgement",
};

const STATED: How = How {
    name: "fast cache of one drive",
    formula: "C (1 - f) s",
    symbols: &["C", "f", "s"],
    source: "in proportion to the free space: judgement",
};

const FOLDS: How = How {
    name: "what one drive takes before it folds",
    formula: "max(A, C (1 - f) p)",
    symbols: &["A", "C", "f", "p"],
    source: "five published fills of whole drives",
};

const ALL: How = How {
    name: "data on all drives by then",
    formula: "k A",
    symbols: &["k", "A"],
    source: "every drive takes its share of data and parity",
};

const ROOM: How = How {
    name: "free space",
    formula: "k C (1 - f)",
    symbols: &["k", "C", "f"],
    source: "without what a file system keeps for itself",
};

const NO_FASTER: How = How {
    name: "one drive, no faster than before",
    formula: "min(w, v)",
    symbols: &["w", "v"],
    source: "a tired drive is not faster",
};

/// A place on a drive that holds data already, as likely as the drive is full.
const TAKEN: How = How {
    name: "rate when the cache of shingled tracks is full",
    formula: "min(w, v) where u < f, else v",
    symbols: &["w", "v", "u", "f"],
    source: "judgement: as much is put together anew as the drive is full",
};

/// How one drive slows down in a long write.
pub(super) struct Tires {
    pub cache: Column<Information>,
    pub until_fold: Column<Information>,
    pub later: Column<DataRate>,
    pub folding: Column<DataRate>,
}

impl Context<'_, '_> {
    /// How a drive with shingled tracks slows down: a cache aside takes what has to be put together with
    /// its neighbours; when it is full, that goes on at a fraction of the rate. On free bands it writes
    /// as it did before.
    ///
    /// Source: Aghayev and Desnoyers, USENIX FAST 2015, for how such drives work. Checked by
    /// `a_shingled_drive_falls_off_a_cliff_where_it_holds_data`.
    fn shingled(
        &mut self,
        id: &str,
        (first, error): (&Column<DataRate>, Option<&Column<f64>>),
        fill: &Value<Ratio>,
    ) -> Result<Tires, BudgetFault> {
        let cache: Column<Information> =
            self.row_of(id, "drive.hdd-smr.cache", "cache aside of shingled tracks")?;
        let rewrite: Column<DataRate> =
            self.row_of(id, "drive.hdd-smr.rewrite", "putting bands together anew")?;
        let rewrite = self.placed(rewrite, error);
        let anywhere = Spread::<Ratio>::from_law(Law::Bounded {
            low: 0.05,
            likely: 0.5,
            high: 0.95,
            bounds: Bounds::FRACTION,
        });
        let place = self.sheet.draw(
            &format!("{id}/holds data"),
            "a place among all of the drive",
            &anywhere,
            "any place is as likely",
        );
        let fill = self.sheet.value("how full", fill);
        let later = self.sheet.of4(
            &TAKEN,
            (&rewrite, first, &place, &fill),
            |w: DataRate, v: DataRate, u: Ratio, f: Ratio| if u < f { slower(w, v) } else { v },
        );
        Ok(Tires {
            until_fold: cache.clone(),
            cache,
            folding: later.clone(),
            later,
        })
    }

    fn row_of<Q: Measure>(
        &mut self,
        id: &str,
        row: &str,
        name: &str,
    ) -> Result<Column<Q>, BudgetFault> {
        Ok(self.sheet.draw(
            &format!("{id}/{row}"),
            name,
            &self.catalogue.spread::<Q>(row)?,
            &self.catalogue.number(row)?.source,
        ))
    }

    /// How a drive slows down that writes at `first` while it is fresh; none where it turns and its
    /// tracks do not overlap. `error` is the model's own, for the rates that nobody stated.
    ///
    /// Rates that are drawn apart are put in order: no phase is faster than the one before. Checked by
    /// `property_later_phases_are_never_faster_and_nothing_absorbs_more_than_is_free`.
    pub(super) fn tires(
        &mut self,
        (id, drive): (&str, &Drive),
        (first, error): (&Column<DataRate>, Option<&Column<f64>>),
        capacity: &Value<Information>,
        fill: &Value<Ratio>,
    ) -> Result<Option<Tires>, BudgetFault> {
        if drive.is_shingled() {
            return self.shingled(id, (first, error), fill).map(Some);
        }
        let Drive::Flash {
            burst_write,
            later_write,
            fold_write,
            cache_share,
            bits_a_cell,
            fold_share,
            ..
        } = drive
        else {
            return Ok(None);
        };
        let capacity = self.sheet.value("capacity of one drive", capacity);
        let fill = self.sheet.value("how full", fill);
        let share = self
            .sheet
            .value("share of an empty drive that is fast cache", cache_share);
        let cache = match bits_a_cell {
            Some(bits) => {
                let bits = self.sheet.value("bits a cell", bits);
                self.sheet
                    .of4(&SHRUNK, (&capacity, &fill, &share, &bits), fast_cache)
            }
            None => self
                .sheet
                .of3(&STATED, (&capacity, &fill, &share), |c, f, s| {
                    fast_cache(c, f, s, 1.0)
                }),
        };
        let share = self
            .sheet
            .value("share of the free space written before folding", fold_share);
        let until_fold = self
            .sheet
            .of4(&FOLDS, (&cache, &capacity, &fill, &share), folding_point);
        // who knows one phase knows the drive
        let mut stated = is_stated(drive, Direction::Write);
        let mut after =
            |before: &Column<DataRate>, same: bool, name: &str, rate: &Value<DataRate>| {
                if same {
                    return before.clone();
                }
                stated |= !rate.is_assumed();
                let rate = self.sheet.value(name, rate);
                let rate = self.placed(rate, error.filter(|_| !stated));
                self.sheet.of2(&NO_FASTER, &rate, before, slower)
            };
        let later = after(
            first,
            later_write.id == burst_write.id,
            "writing flash after its fast cache",
            later_write,
        );
        let folding = after(
            &later,
            fold_write.id == later_write.id,
            "writing flash while it folds",
            fold_write,
        );
        Ok(Some(Tires {
            cache,
            until_fold,
            later,
            folding,
        }))
    }

    /// A rate of a class with the error of its model, where that is known.
    fn placed(&mut self, rate: Column<DataRate>, error: Option<&Column<f64>>) -> Column<DataRate> {
        match error {
            Some(error) => self.sheet.of2(&IN_PLACE, &rate, error, scaled),
            None => rate,
        }
    }

    /// What still goes on a number of drives' worth.
    pub(super) fn room(
        &mut self,
        drives: f64,
        capacity: &Value<Information>,
        fill: &Value<Ratio>,
    ) -> Column<Information> {
        let drives = self.sheet.known("drives' worth of data", drives, "layout");
        let capacity = self.sheet.value("capacity of one drive", capacity);
        let fill = self.sheet.value("how full", fill);
        self.sheet
            .of3(&ROOM, (&drives, &capacity, &fill), |k: f64, c, f: Ratio| {
                c * (ratio(1.0) - f) * ratio(k)
            })
    }

    /// How all drives at work slow down together, of whatever class they are; none where none is flash.
    ///
    /// `caches` drives' worth of data fill all caches: stripes give every drive as much, data or parity, and
    /// copies fill a cache each. Parts of stripes that are written twice fill them a little
    /// earlier, which is left out.
    pub(super) fn tiring(
        &mut self,
        pick: &Pick,
        options: &[DriveRate],
        caches: Option<f64>,
    ) -> Option<Tiring> {
        if !options.iter().any(|o| o.tires.is_some()) {
            return None;
        }
        let none = Column::same(Information::default());
        let mut size = |name: &str, of: fn(&Tires) -> &Column<Information>| {
            let columns: Vec<_> = options
                .iter()
                .map(|o| o.tires.as_ref().map_or(&none, of).clone())
                .collect();
            let one = self.sheet.pick(name, pick, &columns);
            match caches {
                Some(caches) => {
                    let caches = self.sheet.known("drives' worth of data", caches, "layout");
                    self.sheet
                        .of2(&ALL, &caches, &one, |k: f64, a| a * ratio(k))
                }
                None => one,
            }
        };
        let cache = size("fast cache", |t| &t.cache);
        let until_fold = size("written before folding", |t| &t.until_fold);
        let later = self.pick_rate("rate after the fast cache", pick, options, |o| {
            o.tires.as_ref().map(|t| &t.later)
        });
        let folding = self.pick_rate("rate while folding", pick, options, |o| {
            o.tires.as_ref().map(|t| &t.folding)
        });
        Some(Tiring {
            cache,
            until_fold,
            later,
            folding,
        })
    }
}
