//! Small pieces at random places: pictures of a catalogue, project files, databases.

use super::drive_set::record_of;
use super::ends::class_of;
use super::hop::{Hop, HopKind};
use super::part::Part;
use super::{BudgetFault, Context};
use crate::array::Layout;
use crate::array::rate::{
    Zones, flash_streams, piece_of_a_request, random_reads, random_writes, turning_requests,
};
use crate::quantity::units::operation_rate::operation_per_second;
use crate::quantity::units::operations::operation;
use crate::quantity::{
    DataRate, Information, Measure, OperationRate, Operations, Ratio, Time, ratio,
};
use crate::site::{Array, Drive};
use crate::work::Direction;
use crate::working::{Column, How, Percentiles, Sheet};

const ONE_PIECE: How = How {
    name: "a piece at a random place",
    formula: "t + s / r",
    symbols: &["t", "r"],
    source: "to a random place, or a small read of flash, and s bytes at the drive's rate",
};

const ALL_PIECES: How = How {
    name: "pieces at random places of all drives",
    formula: "B times what the level makes of k^(log2(q) / 5) / (t + s / r) a drive; of flash min(r / s, q / t), \
              writing k r / s",
    symbols: &["t", "r", "q", "k"],
    source: "Little's law; requests that each level makes of one",
};

const UNDER_WAY: How = How {
    name: "pieces under way",
    formula: "q B / t",
    symbols: &["q", "t"],
    source: "Little's law",
};

const LEFT: How = How {
    name: "what other work on the array leaves",
    formula: "p g",
    symbols: &["p", "g"],
    source: "work that goes on at the same time",
};

const FROM_MEMORY: How = How {
    name: "waiting for drives, but for what is in memory",
    formula: "(1 - h) t",
    symbols: &["h", "t"],
    source: "memory answers at once",
};

/// Percentiles of requests a second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RequestRange {
    /// 5th percentile.
    pub p05: OperationRate,
    /// Median.
    pub p50: OperationRate,
    /// 95th percentile.
    pub p95: OperationRate,
}

impl From<Percentiles<OperationRate>> for RequestRange {
    fn from(p: Percentiles<OperationRate>) -> Self {
        Self {
            p05: p.p05,
            p50: p.p50,
            p95: p.p95,
        }
    }
}

impl RequestRange {
    /// Of pieces of so many bytes at so many bytes a second.
    pub(super) fn of(rates: super::RateRange, piece: Information) -> Self {
        let one = Operations::new::<operation>(1.0);
        let each = |rate: DataRate| -> OperationRate { rate / (piece / one) };
        Self {
            p05: each(rates.p05),
            p50: each(rates.p50),
            p95: each(rates.p95),
        }
    }

    /// 5th percentile, median and 95th percentile, a second.
    #[must_use]
    pub fn a_second(&self) -> [f64; 3] {
        [self.p05, self.p50, self.p95].map(|rate| rate.get::<operation_per_second>())
    }
}

/// The row of how long flash of a class takes for a small read.
pub(crate) fn latency_row(class: &str) -> &'static str {
    if class.starts_with("nvme") {
        "array.latency.nvme"
    } else {
        "array.latency.sata-ssd"
    }
}

/// What an array gives of small pieces.
pub(super) struct Pieces {
    /// Of all drives, with as many under way as the program keeps.
    pub ceiling: Column<DataRate>,
    /// How long one takes by itself.
    pub access: Column<Time>,
}

impl Context<'_, '_> {
    /// Pieces of `piece` bytes at random places of the filled part of an array, in each draw.
    ///
    /// One drive takes `t + s / r` for one: t to a random place (a write settles longer) or for a small read of flash,
    /// s bytes at the rate r, where s is the piece and in a pool the part of the records that a drive holds. With q
    /// under way a drive, at least one, a spinning drive gains by its own order and flash works on q at once, up to
    /// its rate; writes at random places reach a share of flash's rate. The levels cost what [`random_reads`] and
    /// [`random_writes`] say; where drives are missing, writes are those of the drives that are left. Left out:
    /// gathering small writes into large ones, and reading a pool's record before it is changed.
    ///
    /// Valid for pieces that lie anywhere in the filled part. Sources: Little's law; those of the functions.
    /// Checked by `validate_pieces_of_one_drive`, `verify_pieces_of_an_array_are_those_of_its_layout`.
    pub(super) fn pieces(
        &mut self,
        array: &Array,
        piece: Information,
    ) -> Result<Pieces, BudgetFault> {
        let id = format!("array.{}", array.name);
        let layout = array
            .layout()
            .ok_or_else(|| BudgetFault::model(&id, "the drives do not divide into the groups"))?;
        let depth = self.pieces_under_way()?;
        let pick = self.sheet.choice(&array.drives.drive, class_of);
        let (mut all, mut single) = (Vec::new(), Vec::new());
        for (drive, _) in array.drives.drive.value.options() {
            let (ceiling, access) =
                self.pieces_of(&id, (array, &layout), (drive, piece), &depth)?;
            all.push(ceiling);
            single.push(access);
        }
        let mut ceiling = self.sheet.pick(ALL_PIECES.name, &pick, &all);
        let mut access = self.sheet.pick(ONE_PIECE.name, &pick, &single);
        if let Some(left) = self.left_by_background_work(array)? {
            ceiling = self
                .sheet
                .of2(&LEFT, &ceiling, &left, |r: DataRate, g: Ratio| r * g);
        }
        if self.direction == Direction::Read
            && let Some(hits) = self.hits(array)?
        {
            access = self
                .sheet
                .of2(&FROM_MEMORY, &hits, &access, |h: Ratio, t: Time| {
                    t * (ratio(1.0) - h)
                });
        }
        Ok(Pieces { ceiling, access })
    }

    /// As [`Context::pieces`], for one class of drives.
    fn pieces_of(
        &mut self,
        id: &str,
        (array, layout): (&Array, &Layout),
        (drive, piece): (&Drive, Information),
        depth: &Column<Operations>,
    ) -> Result<(Column<DataRate>, Column<Time>), BudgetFault> {
        let writes = self.direction == Direction::Write;
        let width = array.drives.count / array.groups.max(1);
        let record = record_of(array);
        let part = piece_of_a_request((array.level, width), piece, record, writes);
        let rate = self
            .drive_in_place(id, (array, drive), &array.fill, self.direction)?
            .now;
        let count = self.sheet.count();
        let working = layout.working_drives();
        let left = working.saturating_sub(array.failed);
        let in_flight: Vec<f64> = (0..count)
            .map(|d| (depth.at(d).get::<operation>() / left.max(1) as f64).max(1.0))
            .collect();
        let one = Operations::new::<operation>(1.0);
        // one drive in each draw: how many a second, and how long for one
        let (drives, place, gain): (Vec<(OperationRate, Time)>, _, _) = if let Drive::Spinning {
            class,
            outer,
            inner_ratio,
        } = drive
        {
            let heads = self.heads(class)?;
            let settle: Column<Time> =
                self.row("array.write-settle", "a seek before a write takes longer")?;
            let gain: Column<f64> =
                self.row("array.reordering", "gained by a drive's own order")?;
            let outer = self.sheet.value("rate at the outer edge", outer);
            let inner = self.sheet.value("inner rate over outer rate", inner_ratio);
            let fill = self.sheet.value("how full", &array.fill);
            let capacity = array.drives.capacity.median();
            let drives = (0..count)
                .map(|d| {
                    let zones = Zones::new(outer.at(d), inner.at(d), capacity);
                    let zones =
                        zones.map_err(|fault| BudgetFault::model(id, &fault.to_string()))?;
                    let mut position = heads.at(d).to_random_place(zones.stroke(fill.at(d)));
                    if writes {
                        position += settle.at(d);
                    }
                    let rate = rate.at(d);
                    let each = turning_requests(position, (part, rate), gain.at(d), in_flight[d]);
                    Ok((each, position + part / rate))
                })
                .collect::<Result<_, BudgetFault>>()?;
            (drives, heads.step(), Sheet::step_of(&gain))
        } else {
            let row = latency_row(drive.class());
            let latency: Column<Time> = self.row(row, "a small read of flash")?;
            let scattered: Column<Ratio> = self.row(
                "layouts.scattered-writes",
                "scattered writes over large ones",
            )?;
            let drives = (0..count)
                .map(|d| {
                    let rate = rate.at(d);
                    let reached: DataRate = if writes {
                        rate * scattered.at(d)
                    } else {
                        flash_streams(rate, in_flight[d], part, latency.at(d))
                    };
                    (one * (reached / part), latency.at(d) + part / rate)
                })
                .collect();
            (drives, Sheet::step_of(&latency), Sheet::step_of(&scattered))
        };
        let mut rates = Vec::with_capacity(count);
        for (each, _) in &drives {
            let all = if writes {
                random_writes(layout, *each, record) * (left as f64 / working.max(1) as f64)
            } else {
                random_reads(layout, *each, array.failed, record).ok_or_else(|| {
                    BudgetFault::model(id, "more drives have failed than it survives")
                })?
            };
            rates.push((piece / one * all).base());
        }
        let times: Vec<f64> = drives.iter().map(|(_, time)| time.base()).collect();
        let steps = [place, Sheet::step_of(&rate), Sheet::step_of(depth), gain];
        let ceiling = self.sheet.made(&ALL_PIECES, rates.into(), &steps);
        let access = self.sheet.made(&ONE_PIECE, times.into(), &steps[..2]);
        Ok((ceiling, access))
    }

    /// What a program on the machine itself waits for: each piece takes its time, and it keeps few under way.
    pub(super) fn requests_at_the_array(
        &mut self,
        array: &Array,
        piece: Information,
    ) -> Result<Part, BudgetFault> {
        if self.direction == Direction::Write {
            return Ok(Part::default());
        }
        let depth = self.pieces_under_way()?;
        let access = self.pieces(array, piece)?.access;
        let one = Operations::new::<operation>(1.0);
        let ceiling = self
            .sheet
            .of2(&UNDER_WAY, &depth, &access, |q: Operations, t: Time| {
                let rate: DataRate = piece * (q / one) / t;
                rate
            });
        Ok(Hop::new(
            format!("array.{}.requests", array.name),
            HopKind::Requests,
            "pieces under way".to_owned(),
            "the program waits for them".to_owned(),
            ceiling,
        )
        .into())
    }

    /// Pieces at random places that a program keeps under way.
    pub(super) fn pieces_under_way(&mut self) -> Result<Column<Operations>, BudgetFault> {
        let name = "pieces that a program keeps under way";
        match self.desk.and_then(|desk| desk.requests) {
            Some(requests) => {
                let one = Operations::new::<operation>(1.0);
                Ok(self
                    .sheet
                    .known(name, one * requests as f64, "as stated of the desk"))
            }
            None => self.row("requests.random.depth", name),
        }
    }
}
