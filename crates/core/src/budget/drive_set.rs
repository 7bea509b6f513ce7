//! What the drives of an array give together: one drive in place, how many are at work, and what is lost where
//! they wait for each other.

use super::ends::{DriveRate, class_of, classes};
use super::hop::Tiring;
use super::link::slower;
use super::tiring::Tires;
use super::{BudgetFault, Context};
use crate::array::capacity::DEFAULT_RECORD;
use crate::array::rate::{Medium, Worth, read_one_stream, write_one_stream};
use crate::array::{Bytes, Level, Placement};
use crate::hop::drives::{in_step, slowest_of};
use crate::quantity::{DataRate, Ratio, ratio, units};
use crate::site::{Array, Drive, DriveSet, Value};
use crate::spread::{Bounds, Law, Spread};
use crate::work::Direction;
use crate::working::{Column, How};

/// Sector of a pool: what drives of today have.
const SECTOR: Bytes = Bytes::kibibytes(4);

/// Record and sector of a pool: as told, or what pools are made with when nobody chooses.
pub(super) fn record_of(array: &Array) -> (Bytes, Bytes) {
    (array.record.unwrap_or(DEFAULT_RECORD), SECTOR)
}

const SLOWER: How = How {
    name: "the slower of drive and its interface",
    formula: "min(r, i)",
    symbols: &["r", "i"],
    source: "hops at work at the same time",
};

const IN_STEP: How = How {
    name: "share at which drives work in step",
    formula: "1 - k s",
    symbols: &["k", "s"],
    source: "the slowest of n decides; Tippett 1925",
};

const TOGETHER: How = How {
    name: "all drives together",
    formula: "k r g",
    symbols: &["k", "r", "g"],
    source: "left-symmetric rotation; Patterson, Gibson and Katz 1988",
};

const ALL_IN_STEP: How = How {
    name: "all drives in step",
    formula: "r g",
    symbols: &["r", "g"],
    source: "the slowest of n decides; Tippett 1925",
};

pub(super) const IN_PLACE: How = How {
    name: "one drive, in place",
    formula: "r e",
    symbols: &["r", "e"],
    source: "learned from measured places: docs/field-cases.md",
};

const REACHED: How = How {
    name: "in step, and reached by a program",
    formula: "g s",
    symbols: &["g", "s"],
    source: "file system, allocation and read-ahead lie between drives and programs",
};

const BOTH: How = How {
    name: "in step, and with parity",
    formula: "g p",
    symbols: &["g", "p"],
    source: "losses one after the other",
};

/// What the drives of an array give one stream.
pub(super) struct DriveSetRate {
    pub now: Column<DataRate>,
    /// When the array is empty, for drives that turn.
    pub empty: Option<Column<DataRate>>,
    /// How it slows down in a long write, for flash.
    pub tiring: Option<Tiring>,
    /// What makes it what it is.
    pub note: String,
}

impl DriveSetRate {
    /// One rate, however full.
    pub(super) fn flat(now: Column<DataRate>) -> Self {
        Self {
            now,
            empty: None,
            tiring: None,
            note: String::new(),
        }
    }
}

impl Context<'_, '_> {
    /// The link of one drive; where the class is open and nobody stated the link, that of the class.
    pub(super) fn link_of_a_drive(
        &mut self,
        set: &DriveSet,
        drive: &Drive,
    ) -> Result<Column<DataRate>, BudgetFault> {
        let name = "link of one drive";
        if !set.interface.is_assumed() || set.drive.value.options().len() < 2 {
            return Ok(self.sheet.value(name, &set.interface));
        }
        let class = class_of(drive);
        let row = format!("drive.{class}.interface");
        Ok(self.sheet.draw(
            &format!("{}/{class}", set.interface.id),
            name,
            &self.catalogue.spread::<DataRate>(&row)?,
            &self.catalogue.number(&row)?.source,
        ))
    }

    /// What a program reaches of what the drives give: file system, allocation, read-ahead.
    pub(super) fn reached(&mut self, id: &str) -> Result<Column<Ratio>, BudgetFault> {
        let row = "array.reached";
        Ok(self.sheet.draw(
            &format!("{id}/reached"),
            "what a program reaches of the drives",
            &self.catalogue.spread::<Ratio>(row)?,
            &self.catalogue.number(row)?.source,
        ))
    }

    /// What all drives of an array give one stream.
    pub(super) fn drive_set(
        &mut self,
        array: &Array,
        direction: Direction,
    ) -> Result<DriveSetRate, BudgetFault> {
        let id = &format!("array.{}", array.name);
        let set = &array.drives;
        let pick = self.sheet.choice(&set.drive, class_of);
        let Some(layout) = array.layout() else {
            return Err(BudgetFault::model(
                id,
                "the drives do not divide into the groups",
            ));
        };
        let step = self.in_step(id, array, direction)?;
        let mut options = Vec::new();
        for (drive, _) in set.drive.value.options() {
            let spinning = matches!(drive, Drive::Spinning { .. });
            let medium = if spinning {
                Medium::Spinning
            } else {
                Medium::Flash
            };
            let worth = match direction {
                Direction::Read => read_one_stream(&layout, medium, array.failed, record_of(array)),
                Direction::Write => write_one_stream(&layout, array.failed, record_of(array)),
            };
            let Some(worth) = worth else {
                return Err(BudgetFault::model(
                    id,
                    "more drives have failed than it survives",
                ));
            };
            let depth = at_depth(&array.fill, &worth);
            let one = self.drive_in_place(id, (array, drive), &depth, direction)?;
            let tires = if direction == Direction::Write && self.asks_for_a_size() {
                let error = self.in_place(array, drive)?;
                self.tires(
                    (id, drive),
                    (&one.now, Some(&error)),
                    &set.capacity,
                    &array.fill,
                )?
            } else {
                None
            };
            let worth = self.worth(id, &worth)?;
            let interface = self.link_of_a_drive(set, drive)?;
            let mut all = |rate: &Column<DataRate>| {
                let capped = self.sheet.of2(&SLOWER, rate, &interface, slower);
                self.sheet.of3(
                    &TOGETHER,
                    (&worth, &capped, &step),
                    |k: f64, r: DataRate, g: Ratio| r * ratio(k) * g,
                )
            };
            let mut now = all(&one.now);
            let mut empty = one.empty.as_ref().map(&mut all);
            let tires = tires.map(|t| Tires {
                later: all(&t.later),
                folding: all(&t.folding),
                ..t
            });
            if direction == Direction::Write
                && array.level == Level::Raid10(Placement::Far)
                && let Some(both) = self.far_writing(array, drive)?
            {
                let [filled, bare] = both.map(|rate| {
                    self.sheet
                        .of2(&ALL_IN_STEP, &rate, &step, |r: DataRate, g: Ratio| r * g)
                });
                now = self.sheet.of2(&SLOWER, &now, &filled, slower);
                empty = empty.map(|rate| self.sheet.of2(&SLOWER, &rate, &bare, slower));
            }
            options.push(DriveRate { now, empty, tires });
        }
        let now = self.pick_rate("the array", &pick, &options, |o| Some(&o.now));
        let empty = options.iter().any(|o| o.empty.is_some()).then(|| {
            self.pick_rate("the array when empty", &pick, &options, |o| {
                o.empty.as_ref()
            })
        });
        let tiring = if direction == Direction::Write {
            self.tiring(&pick, &options, data_drives(array))
        } else {
            None
        };
        Ok(DriveSetRate {
            now,
            empty,
            tiring,
            note: Self::made_of(array),
        })
    }

    /// What is lost where several drives have to wait for each other, and where parity is written.
    fn in_step(
        &mut self,
        id: &str,
        array: &Array,
        direction: Direction,
    ) -> Result<Column<Ratio>, BudgetFault> {
        let count = array.drives.count;
        let scatter = self.sheet.draw(
            &format!("{id}/scatter of drives"),
            "scatter of the drives' rates",
            &self.catalogue.spread::<Ratio>("drive.scatter")?,
            &self.catalogue.number("drive.scatter")?.source,
        );
        // who reads one copy waits for one drive only
        let waits = match (array.level, direction) {
            (Level::Single, _)
            | (Level::Raid1 | Level::Mirror | Level::TwoCopy | Level::ThreeCopy, Direction::Read) => {
                array.groups
            }
            _ => count,
        };
        let slowest = self.sheet.known(
            "standard deviations of the slowest below the mean",
            slowest_of(waits),
            "order statistics of a normal law",
        );
        let step = self.sheet.of2(&IN_STEP, &slowest, &scatter, in_step);
        let reached = self.reached(id)?;
        let mut step = self
            .sheet
            .of2(&REACHED, &step, &reached, |g: Ratio, p: Ratio| g * p);
        if let Some(left) = self.left_by_background_work(array)? {
            step = self
                .sheet
                .of2(&BOTH, &step, &left, |g: Ratio, p: Ratio| g * p);
        }
        if direction == Direction::Read || array.level.parity() == 0 && !array.level.is_pooled() {
            return Ok(step);
        }
        let parity = self.parity_share(id, array)?;
        Ok(self
            .sheet
            .of2(&BOTH, &step, &parity, |g: Ratio, p: Ratio| g * p))
    }

    /// What parity writes reach of full stripes, by whether the site says that they are.
    fn parity_share(&mut self, id: &str, array: &Array) -> Result<Column<Ratio>, BudgetFault> {
        let name = "share of full-stripe writing that is reached";
        let one = |this: &mut Self, row: &str| -> Result<Column<Ratio>, BudgetFault> {
            Ok(this.sheet.draw(
                &format!("{id}/parity writing"),
                name,
                &this.catalogue.spread::<Ratio>(row)?,
                &this.catalogue.number(row)?.source,
            ))
        };
        if array.level.is_pooled() {
            // whole stripes, whatever it is given, but in groups of some seconds
            return Ok(self.sheet.draw(
                &format!("{id}/pool writing"),
                "share of the drives that a pool's writes reach",
                &self.catalogue.spread::<Ratio>("pool.write-share")?,
                &self.catalogue.number("pool.write-share")?.source,
            ));
        }
        let Some(full) = &array.full_stripes else {
            return one(self, "parity.write-share");
        };
        let pick = self
            .sheet
            .choice(full, |full| if *full { "yes" } else { "no" }.to_owned());
        let mut options = Vec::new();
        for (full, _) in full.value.options() {
            options.push(one(
                self,
                if *full {
                    "parity.full-stripes"
                } else {
                    "parity.write-share"
                },
            )?);
        }
        Ok(self.sheet.pick(name, &pick, &options))
    }

    /// What drives of this kind give in place over what their class says: controllers, lanes, age, other
    /// programs; learned from places that were measured.
    fn in_place(&mut self, array: &Array, drive: &Drive) -> Result<Column<f64>, BudgetFault> {
        let row = model_row(matches!(drive, Drive::Spinning { .. }), array.drives.count);
        Ok(self.sheet.draw(
            row,
            "drives in place over what their class says",
            &self.catalogue.spread::<f64>(row)?,
            &self.catalogue.number(row)?.source,
        ))
    }

    /// One drive of an array. A rate that was stated is taken as it is; the link of the drive stays above
    /// either.
    pub(super) fn drive_in_place(
        &mut self,
        id: &str,
        (array, drive): (&Array, &Drive),
        fill: &Value<Ratio>,
        direction: Direction,
    ) -> Result<DriveRate, BudgetFault> {
        let one = self.drive(id, drive, fill, direction);
        if is_stated(drive, direction) {
            return Ok(one);
        }
        let error = self.in_place(array, drive)?;
        let mut placed = |rate: &Column<DataRate>| self.sheet.of2(&IN_PLACE, rate, &error, scaled);
        Ok(DriveRate {
            now: placed(&one.now),
            empty: one.empty.as_ref().map(&mut placed),
            tires: None,
        })
    }

    /// How many drives' worth one stream gets, where it lies between two ends near the low one:
    /// usual chunks pass under the head, only chunks longer than a track are jumped over.
    fn worth(&mut self, id: &str, worth: &Worth) -> Result<Column<f64>, BudgetFault> {
        let source = "left-symmetric rotation; Patterson, Gibson and Katz 1988; md documentation";
        let (low, high) = (
            worth.low.get::<units::ratio::one>(),
            worth.high.get::<units::ratio::one>(),
        );
        if low >= high {
            return Ok(self.sheet.known("drives at work", low, source));
        }
        let above_low = self.catalogue.number("array.worth.above-low")?.likely;
        let law = Law::Bounded {
            low,
            likely: low + (high - low) * above_low,
            high,
            bounds: Bounds {
                least: low,
                most: Some(high),
            },
        };
        Ok(self.sheet.draw(
            &format!("{id}/drives at work"),
            "drives at work",
            &Spread::<f64>::from_law(law),
            source,
        ))
    }

    /// The array in a few words.
    pub(super) fn made_of(array: &Array) -> String {
        let groups = if array.groups > 1 {
            format!("{} groups of ", array.groups)
        } else {
            String::new()
        };
        let failed = match array.failed {
            0 => String::new(),
            n => format!(", {n} failed"),
        };
        let state = format!("{failed}{}", Self::background_work(array));
        format!(
            "{groups}{} of {} x {}{state}",
            array.level,
            array.drives.count / array.groups.max(1),
            classes(&array.drives.drive.value)
        )
    }
}

/// A rate with the error of its model.
pub(super) fn scaled(rate: DataRate, error: f64) -> DataRate {
    rate * ratio(error)
}

/// Whether the site states what this drive reads or, while it is fresh, writes.
pub(super) fn is_stated(drive: &Drive, direction: Direction) -> bool {
    match (drive, direction) {
        (Drive::Spinning { outer, .. }, _) => !outer.is_assumed(),
        (Drive::Flash { read, .. }, Direction::Read) => !read.is_assumed(),
        (Drive::Flash { burst_write, .. }, Direction::Write) => !burst_write.is_assumed(),
    }
}

/// Which of the models' errors is that of so many drives.
///
/// One or two spinning drives have a controller to themselves; more share one, and wait for each other.
fn model_row(spinning: bool, drives: usize) -> &'static str {
    match (spinning, drives) {
        (true, ..=2) => "model.drive",
        (true, _) => "model.array",
        (false, _) => "model.flash",
    }
}

/// How many drives' worth of data an array holds; none where its drives make no such array.
pub(super) fn data_drives(array: &Array) -> Option<f64> {
    let drives = array.drives.count as f64;
    match array.level {
        // written one drive at a time, and all of them in turn
        Level::TwoCopy => Some(drives / 2.0),
        Level::ThreeCopy => Some(drives / 3.0),
        _ => write_one_stream(&array.layout()?, array.failed, record_of(array))
            .map(|w| w.low.get::<units::ratio::one>()),
    }
}

/// How deep a stream runs: with copies in the inner half, half as deep as the array is filled.
pub(super) fn at_depth(fill: &Value<Ratio>, worth: &Worth) -> Value<Ratio> {
    let half = worth.depth(ratio(1.0)) < ratio(1.0);
    if !half {
        return fill.clone();
    }
    let (low, likely, high) = fill.value.law().knots();
    let value = Spread::percentiles(
        ratio(low / 2.0),
        ratio(likely / 2.0),
        ratio(high / 2.0),
        Bounds::FRACTION,
    )
    .unwrap_or_else(|_| fill.value.clone());
    Value {
        id: fill.id.clone(),
        value,
        origin: fill.origin.clone(),
    }
}

/// Whether an array turns, in the likeliest case.
pub(super) fn spins(array: &Array) -> bool {
    matches!(array.drives.drive.value.likeliest(), Drive::Spinning { .. })
}
