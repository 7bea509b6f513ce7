use super::ends::{DriveRate, class_of, classes};
use super::hop::{Adds, Hop, HopKind};
use super::link::slower;
use super::tiring::Tires;
use super::{BudgetFault, Builder, Warning, WarningKind};
use crate::array::rate::cache::{Drops, loop_hits, waiting_reader};
use crate::array::rate::{Medium, Worth, read_one_stream, write_one_stream};
use crate::array::{Bytes, Level, Placement};
use crate::hop::drives::{in_step, slowest_of};
use crate::quantity::{DataRate, Information, Ratio, ratio, show, units};
use crate::site::{Array, Drive, DriveSet, Value};
use crate::spread::{Bounds, Law, Spread};
use crate::work::Direction;
use crate::working::{Column, How};

/// Record and sector of a pool: what pools are made with when nobody chooses.
pub(super) const RECORD: (Bytes, Bytes) = (Bytes::new(131_072), Bytes::new(4096));

const LOOP: How = How {
    name: "share read from memory",
    formula: "1 where W fits into M s, else 0",
    symbols: &["W", "M", "s"],
    source: "a loop under least-recently-used replacement",
};

const CACHED: How = How {
    name: "drives and memory",
    formula: "1 / (h / c + (1 - h) / a)",
    symbols: &["h", "c", "a"],
    source: "a reader that waits for each request",
};

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

/// An array's rate, its rate when empty, and what it is made of.
type Modelled = (Column<DataRate>, Option<Column<DataRate>>, String);

impl Builder<'_, '_> {
    /// Adds the array and what its drives hang on.
    pub(super) fn array(&mut self, array: &Array, direction: Direction) -> Result<(), BudgetFault> {
        if let Some(attached) = &array.attached {
            let ceiling = self.sheet.value("what all drives hang on", attached);
            self.hops.push(Hop {
                id: format!("array.{}.attached", array.name),
                kind: HopKind::Bus,
                label: format!("bus of {}", array.name),
                note: "all drives on one bus".to_owned(),
                ceiling,
                signalled: None,
                of_all: None,
                adds: Adds::Never,
                empty: None,
                over_links: None,
            });
        }
        let id = format!("array.{}", array.name);
        let measured = match direction {
            Direction::Read => &array.local_read,
            Direction::Write => &array.local_write,
        };
        let random = self.asked_pieces();
        // a figure measured on the machine has that work in it, and small pieces are little work
        if measured.is_none() && random.is_none() {
            self.array_work(array, direction)?;
        }
        let (mut ceiling, empty, mut note) = if let Some(piece) = random {
            let made_of = Self::made_of(array);
            let note = format!("pieces of {} at random places of {made_of}", show(piece));
            (self.pieces(array, piece)?.ceiling, None, note)
        } else if let Some(measured) = measured {
            let ceiling = self.sheet.value("measured on the machine itself", measured);
            (ceiling, None, "measured on the machine itself".to_owned())
        } else {
            self.array_rate(&id, array, direction)?
        };
        if direction == Direction::Read
            && let Some(hits) = self.hits(array)?
        {
            let memory = self.cache_rate()?;
            ceiling = self
                .sheet
                .of3(&CACHED, (&hits, &memory, &ceiling), waiting_reader);
            note.push_str(", partly from memory");
        }
        if direction == Direction::Write
            && self.asks_for_a_size()
            && let Some(drives) = data_drives(array)
        {
            let set = &array.drives;
            self.room = Some(self.room(drives, &set.capacity, &array.fill));
        }
        self.warn_about(array);
        self.hops.push(Hop {
            id,
            kind: HopKind::Array,
            label: array.name.clone(),
            note,
            ceiling,
            signalled: None,
            of_all: None,
            adds: Adds::Never,
            empty,
            over_links: None,
        });
        Ok(())
    }

    /// Share of what is read that comes from memory, where the site says something of it.
    ///
    /// A loop that fits is read from memory whole; one a little larger not at all, since what was not
    /// used for longest is always what is needed next.
    pub(super) fn hits(&mut self, array: &Array) -> Result<Option<Column<Ratio>>, BudgetFault> {
        if let Some(hits) = &array.hits {
            return Ok(Some(self.sheet.value("share read from memory", hits)));
        }
        let (Some(working_set), Some(nas)) = (&array.working_set, self.site.nas(&array.nas)) else {
            return Ok(None);
        };
        let row = "array.cache.memory-share";
        let memory = self.sheet.value("memory", &nas.memory);
        let share = self.sheet.draw(
            &format!("nas.{}.memory/{row}", nas.name),
            "share of memory that keeps files",
            &self.catalogue.spread::<Ratio>(row)?,
            &self.catalogue.number(row)?.source,
        );
        let set = self.sheet.value("material read over and over", working_set);
        Ok(Some(self.sheet.of3(
            &LOOP,
            (&set, &memory, &share),
            |w: Information, m: Information, s: Ratio| loop_hits(w, m * s, Drops::LeastRecent),
        )))
    }

    fn cache_rate(&mut self) -> Result<Column<DataRate>, BudgetFault> {
        let row = "array.cache.memory-rate";
        Ok(self.sheet.draw(
            row,
            "reading from memory",
            &self.catalogue.spread::<DataRate>(row)?,
            &self.catalogue.number(row)?.source,
        ))
    }

    /// Adds the NAS's own work on every byte of an array: stripes, parity and checksums.
    ///
    /// A pool checks what it reads and sums what it writes, and so do allocated copies; the kernel's driver
    /// makes parity when writing, and needs it for reading once drives have failed. One stream keeps one
    /// thread busy: parity of a pool is made by other threads meanwhile, so that it costs nothing beside its
    /// sums, and the stripe thread is the driver's alone. Pools of a published table reach 1.1 to 2.0 GB/s
    /// with one stream, however many drives they have. Checked by `verify_a_pool_is_charged_once_for_writing`.
    fn array_work(&mut self, array: &Array, direction: Direction) -> Result<(), BudgetFault> {
        let pooled = array.level.is_pooled();
        let sums = pooled || matches!(array.level, Level::TwoCopy | Level::ThreeCopy);
        let stripes = array.level.parity() > 0
            && !pooled
            && (direction == Direction::Write || array.failed > 0);
        let Some(nas) = self.site.nas(&array.nas).filter(|_| sums || stripes) else {
            return Ok(());
        };
        let id = format!("nas.{}.array-work", nas.name);
        let class = self.sheet.choice(&nas.cpu.class, Clone::clone);
        let what = if stripes { "stripes" } else { "checksums" };
        let ceiling = self.class_rate(&id, &nas.cpu, &class, what)?;
        let note = format!("one core: {}", if stripes { "parity" } else { "checksums" });
        self.hops.push(Hop {
            id,
            kind: HopKind::Processor,
            label: format!("{}'s work on the array", nas.name),
            note,
            ceiling,
            signalled: None,
            of_all: None,
            adds: Adds::Never,
            empty: None,
            over_links: None,
        });
        Ok(())
    }

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

    fn array_rate(
        &mut self,
        id: &str,
        array: &Array,
        direction: Direction,
    ) -> Result<Modelled, BudgetFault> {
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
                Direction::Read => read_one_stream(&layout, medium, array.failed, RECORD),
                Direction::Write => write_one_stream(&layout, array.failed, RECORD),
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
        if direction == Direction::Write {
            self.tiring = self.tiring(&pick, &options, data_drives(array));
        }
        Ok((now, empty, Self::made_of(array)))
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
    fn made_of(array: &Array) -> String {
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

    fn warn_about(&mut self, array: &Array) {
        let place = format!("array.{}", array.name);
        if array.failed > 0 {
            self.warn(Warning::new(
                WarningKind::Degraded,
                place.clone(),
                format!("{} of its drives have failed", array.failed),
                "replace them at once, and check that the second copy is complete before that",
            ));
        }
        if matches!(array.level, Level::Raid0 | Level::Single) {
            self.warn(Warning::new(
                WarningKind::NoRedundancy,
                place.clone(),
                format!("{} loses everything with one drive", array.level),
                "choose a layout with redundancy, and keep a second copy on other drives",
            ));
        }
        if array.fill.median() > ratio(0.9) {
            self.warn(Warning::new(
                WarningKind::NearlyFull,
                place.clone(),
                format!("{} full", show(array.fill.median())),
                "move old work away: full arrays are slow and leave no room to recover",
            ));
        }
        let shingled = array
            .drives
            .drive
            .value
            .options()
            .iter()
            .any(|(d, _)| d.is_shingled());
        if shingled && array.level.parity() > 0 {
            self.warn(Warning::new(
                WarningKind::ShingledParity,
                place,
                "shingled drives under parity fall to a few MB/s when rewritten".to_owned(),
                "use drives with conventional tracks in a parity array",
            ));
        }
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
fn data_drives(array: &Array) -> Option<f64> {
    let drives = array.drives.count as f64;
    match array.level {
        // written one drive at a time, and all of them in turn
        Level::TwoCopy => Some(drives / 2.0),
        Level::ThreeCopy => Some(drives / 3.0),
        _ => write_one_stream(&array.layout()?, array.failed, RECORD)
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
