//! An array as a place on the way: its drives, what they hang on, and the NAS's own work on every byte.

use super::drive_set::{DriveSetRate, data_drives};
use super::hop::{Hop, HopKind};
use super::part::Part;
use super::{BudgetFault, Context, Warning, WarningKind};
use crate::array::Level;
use crate::array::rate::cache::{Drops, loop_hits, waiting_reader};
use crate::quantity::{DataRate, Information, Ratio, ratio, show};
use crate::site::Array;
use crate::work::Direction;
use crate::working::{Column, How};

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

impl Context<'_, '_> {
    /// The array, what its drives hang on, and the NAS's own work on every byte of it.
    pub(super) fn array(
        &mut self,
        array: &Array,
        direction: Direction,
    ) -> Result<Part, BudgetFault> {
        let mut part = Part::default();
        if let Some(attached) = &array.attached {
            let ceiling = self.sheet.value("what all drives hang on", attached);
            part.hops.push(Hop::new(
                format!("array.{}.attached", array.name),
                HopKind::Bus,
                format!("bus of {}", array.name),
                "all drives on one bus".to_owned(),
                ceiling,
            ));
        }
        let measured = match direction {
            Direction::Read => &array.local_read,
            Direction::Write => &array.local_write,
        };
        let random = self.asked_pieces();
        // a figure measured on the machine has that work in it, and small pieces are little work
        if measured.is_none() && random.is_none() {
            part.hops.extend(self.array_work(array, direction)?);
        }
        let mut set = if let Some(piece) = random {
            let made_of = Self::made_of(array);
            DriveSetRate {
                note: format!("pieces of {} at random places of {made_of}", show(piece)),
                ..DriveSetRate::flat(self.pieces(array, piece)?.ceiling)
            }
        } else if let Some(measured) = measured {
            DriveSetRate {
                note: "measured on the machine itself".to_owned(),
                ..DriveSetRate::flat(self.sheet.value("measured on the machine itself", measured))
            }
        } else {
            self.drive_set(array, direction)?
        };
        if direction == Direction::Read
            && let Some(hits) = self.hits(array)?
        {
            let memory = self.cache_rate()?;
            set.now = self
                .sheet
                .of3(&CACHED, (&hits, &memory, &set.now), waiting_reader);
            set.note.push_str(", partly from memory");
        }
        if direction == Direction::Write
            && self.asks_for_a_size()
            && let Some(drives) = data_drives(array)
        {
            part.room = Some(self.room(drives, &array.drives.capacity, &array.fill));
        }
        part.tiring = set.tiring;
        part.warnings.extend(about_the_array(array));
        part.hops.push(Hop {
            empty: set.empty,
            ..Hop::new(
                format!("array.{}", array.name),
                HopKind::Array,
                array.name.clone(),
                set.note,
                set.now,
            )
        });
        Ok(part)
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

    /// The NAS's own work on every byte of an array: stripes, parity and checksums.
    ///
    /// A pool checks what it reads and sums what it writes, and so do allocated copies; the kernel's driver
    /// makes parity when writing, and needs it for reading once drives have failed. One stream keeps one
    /// thread busy: parity of a pool is made by other threads meanwhile, so that it costs nothing beside its
    /// sums, and the stripe thread is the driver's alone. Pools of a published table reach 1.1 to 2.0 GB/s
    /// with one stream, however many drives they have. Checked by `verify_a_pool_is_charged_once_for_writing`.
    fn array_work(
        &mut self,
        array: &Array,
        direction: Direction,
    ) -> Result<Option<Hop>, BudgetFault> {
        let sums = array.level.is_summed();
        let stripes =
            array.level.has_driver_parity() && (direction == Direction::Write || array.failed > 0);
        let Some(nas) = self.site.nas(&array.nas).filter(|_| sums || stripes) else {
            return Ok(None);
        };
        let id = format!("nas.{}.array-work", nas.name);
        let class = self.sheet.choice(&nas.cpu.class, Clone::clone);
        let what = if stripes { "stripes" } else { "checksums" };
        let ceiling = self.class_rate(&id, &nas.cpu, &class, what)?;
        let work = if stripes { "parity" } else { "checksums" };
        Ok(Some(Hop::new(
            id,
            HopKind::Processor,
            format!("{}'s work on the array", nas.name),
            format!("one core: {work}"),
            ceiling,
        )))
    }
}

/// What to look at on an array, whatever it is used for.
fn about_the_array(array: &Array) -> Vec<Warning> {
    let mut found = Vec::new();
    let place = format!("array.{}", array.name);
    if array.failed > 0 {
        found.push(Warning::new(
            WarningKind::Degraded,
            place.clone(),
            format!("{} of its drives have failed", array.failed),
            "replace them at once, and check that the second copy is complete before that",
        ));
    }
    if matches!(array.level, Level::Raid0 | Level::Single) {
        found.push(Warning::new(
            WarningKind::NoRedundancy,
            place.clone(),
            format!("{} loses everything with one drive", array.level),
            "choose a layout with redundancy, and keep a second copy on other drives",
        ));
    }
    if array.level.has_write_hole() {
        found.push(Warning::new(
            WarningKind::WriteHole,
            place.clone(),
            format!(
                "{}: a power cut in the middle of a write can leave a stripe that no longer fits its parity",
                array.level
            ),
            "choose a level of the kernel's driver, a pool or copies, or never run it without a battery",
        ));
    }
    if array.fill.median() > ratio(0.9) {
        found.push(Warning::new(
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
        found.push(Warning::new(
            WarningKind::ShingledParity,
            place,
            "shingled drives under parity fall to a few MB/s when rewritten".to_owned(),
            "use drives with conventional tracks in a parity array",
        ));
    }
    found
}
