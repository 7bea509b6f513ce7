//! What the drives of an array give several streams, and what moving between them costs.

use super::drive_set::at_depth;
use super::drive_set::record_of;
use super::ends::class_of;
use super::link::slower;
use super::{BudgetFault, Context};
use crate::array::capacity::DEFAULT_CHUNK;
use crate::array::rate::{Medium, Zones, pieces, read_one_stream};
use crate::array::{Layout, Level, Placement};
use crate::quantity::{DataRate, Information, Measure, Ratio, Time, TimePerInformation, ratio};
use crate::site::{Array, Drive};
use crate::work::Direction;
use crate::working::{Column, How};

const EVERY: How = How {
    name: "all drives, with several streams",
    formula: "1 / (n r)",
    symbols: &["r"],
    source: "parity and copies rotate, so that all drives read",
};

const REACHED: How = How {
    name: "all drives, as far as programs reach them",
    formula: "r s",
    symbols: &["r", "s"],
    source: "file system, allocation and read-ahead lie between drives and programs",
};

const FROM_DRIVES: How = How {
    name: "less what memory gives",
    formula: "(1 - h) / a",
    symbols: &["a", "h"],
    source: "what memory holds does not touch the drives",
};

const POSITION: How = How {
    name: "to another stream's place",
    formula: "t + (s - t) sqrt(F) + T/2 + o",
    symbols: &[],
    source: "form after Ruemmler and Wilkes 1994",
};

const TURN: How = How {
    name: "bytes before the heads move on",
    formula: "n s",
    symbols: &["s"],
    source: "competitive prefetching, Li, Shen and Papathanasiou, EuroSys 2007",
};

/// Drives as a place that several flows share.
#[derive(Clone, Debug)]
pub(crate) struct Drives {
    /// Seconds a byte.
    pub cost: Column<TimePerInformation>,
    /// Time to move the heads to another stream's place; zero on flash.
    pub move_heads: Option<Column<Time>>,
    /// Bytes that a stream gets before they move on; nothing where they do not move for it.
    pub turn: Option<Column<Information>>,
    /// Streams up to this number have a copy of their own, and move no heads.
    pub own_copies: usize,
}

impl Context<'_, '_> {
    /// An array as a place that several flows share.
    ///
    /// Reading: all `n` drives at work, `1 / (n r)` a byte, since parity and copies rotate and streams
    /// do not wait for each other's drives; one stream alone gets what a budget says, which is less.
    /// Drives that have failed do not read. Writing: what one stream gets is all that there is.
    /// Spinning drives move between streams: a turn of reading is a piece of a request on each drive, a
    /// turn of writing what the kernel writes of one file before the next; pools gather writes of all
    /// streams, which moves nothing. Valid for requests and read-ahead as the catalogue has them.
    /// Sources: `many_streams`, `interleaved`. Checked by `verify_streams_are_those_of_layouts`.
    pub(super) fn drives(
        &mut self,
        array: &Array,
        direction: Direction,
        ceiling: &Column<DataRate>,
    ) -> Result<Drives, BudgetFault> {
        let cost = match direction {
            Direction::Read => self.reading(array, ceiling)?,
            Direction::Write => invert(self, ceiling),
        };
        let spinning = array
            .drives
            .drive
            .value
            .options()
            .iter()
            .any(|(drive, _)| matches!(drive, Drive::Spinning { .. }));
        let own_copies = if array.level == Level::Raid1 && direction == Direction::Read {
            (array.drives.count / array.groups.max(1)).saturating_sub(array.failed)
        } else {
            0
        };
        let still = Drives {
            cost,
            move_heads: None,
            turn: None,
            own_copies,
        };
        if !spinning {
            return Ok(still);
        }
        let move_heads = self.time_to_move(array)?;
        let turn = match direction {
            Direction::Read => Some(self.turn_of_reading(array)?),
            Direction::Write => self.turn_of_writing(array, ceiling, &move_heads)?,
        };
        Ok(Drives {
            move_heads: Some(move_heads),
            turn,
            ..still
        })
    }

    fn reading(
        &mut self,
        array: &Array,
        ceiling: &Column<DataRate>,
    ) -> Result<Column<TimePerInformation>, BudgetFault> {
        let all = match (&array.local_read, array.layout()) {
            (Some(measured), _) => self.sheet.value("measured on the machine itself", measured),
            (None, Some(layout)) => self.every_drive(array, &layout)?,
            (None, None) => ceiling.clone(),
        };
        let cost = match self.hits(array)? {
            None => invert(self, &all),
            Some(hits) => self
                .sheet
                .of2(&FROM_DRIVES, &all, &hits, |a: DataRate, h: Ratio| {
                    let cost: TimePerInformation = (ratio(1.0) - h) / a;
                    cost
                }),
        };
        // never less than one stream is said to get
        let alone = invert(self, ceiling);
        Ok(self.sheet.of2(
            &EVERY,
            &cost,
            &alone,
            |a: TimePerInformation, b: TimePerInformation| {
                if b < a { b } else { a }
            },
        ))
    }

    fn every_drive(
        &mut self,
        array: &Array,
        layout: &Layout,
    ) -> Result<Column<DataRate>, BudgetFault> {
        let id = format!("array.{}", array.name);
        let set = &array.drives;
        let pick = self.sheet.choice(&set.drive, class_of);
        let working = set.count.saturating_sub(array.failed).max(1) as f64;
        let mut options = Vec::new();
        for (drive, _) in set.drive.value.options() {
            let medium = match drive {
                Drive::Spinning { .. } => Medium::Spinning,
                Drive::Flash { .. } => Medium::Flash,
            };
            let Some(worth) = read_one_stream(layout, medium, array.failed, record_of(array))
            else {
                return Err(BudgetFault::Model {
                    place: id,
                    problem: "more drives have failed than it survives".to_owned(),
                });
            };
            let depth = at_depth(&array.fill, &worth);
            let interface = self.link_of_a_drive(set, drive)?;
            let one = self.drive_in_place(&id, (array, drive), &depth, Direction::Read)?;
            options.push(self.sheet.of2(
                &EVERY,
                &one.now,
                &interface,
                |r: DataRate, i: DataRate| slower(r, i) * ratio(working),
            ));
        }
        let all = self.sheet.pick("all drives", &pick, &options);
        let reached = self.reached(&id)?;
        let mut all = self
            .sheet
            .of2(&REACHED, &all, &reached, |r: DataRate, p: Ratio| r * p);
        if let Some(left) = self.left_by_background_work(array)? {
            all = self
                .sheet
                .of2(&EVERY, &all, &left, |r: DataRate, p: Ratio| r * p);
        }
        Ok(all)
    }

    /// Time to move the heads to another stream's place: a random one of the filled part.
    fn time_to_move(&mut self, array: &Array) -> Result<Column<Time>, BudgetFault> {
        let set = &array.drives;
        let pick = self.sheet.choice(&set.drive, class_of);
        let count = self.sheet.count();
        let depth = if array.level == Level::Raid10(Placement::Far) {
            0.5
        } else {
            1.0
        };
        let capacity = set.capacity.median();
        let fill = self.sheet.value("how full", &array.fill);
        let mut options = Vec::new();
        for (drive, _) in set.drive.value.options() {
            let Drive::Spinning {
                class,
                outer,
                inner_ratio,
            } = drive
            else {
                options.push(Column::same(Time::default()));
                continue;
            };
            let heads = self.heads(class)?;
            let outer = self.sheet.value("rate at the outer edge", outer);
            let inner = self.sheet.value("inner rate over outer rate", inner_ratio);
            let values = (0..count)
                .map(|d| {
                    Zones::new(outer.at(d), inner.at(d), capacity).map_or(f64::NAN, |zones| {
                        let stroke = zones.stroke(fill.at(d) * ratio(depth));
                        heads.at(d).to_random_place(stroke).base()
                    })
                })
                .collect();
            options.push(self.sheet.made(&POSITION, values, &[heads.step()]));
        }
        Ok(self
            .sheet
            .pick("to another stream's place", &pick, &options))
    }

    /// A piece of a request on every drive; see the room of arrays for what a piece is.
    fn turn_of_reading(&mut self, array: &Array) -> Result<Column<Information>, BudgetFault> {
        let data = array.layout().map_or(1, |layout| layout.data_drives());
        let drives = array.drives.count as f64;
        if array.level.is_pooled() {
            let ahead: Column<Information> = self.row("array.pool-prefetch", "read ahead")?;
            let most: Column<Information> = self.row("layouts.aggregation", "most at once")?;
            return Ok(self.sheet.of2(
                &TURN,
                &ahead,
                &most,
                |ahead: Information, most: Information| {
                    let share = ahead / data.max(1) as f64;
                    (if share < most { share } else { most }) * drives
                },
            ));
        }
        let request: Column<Information> = self.row("layouts.request", "request")?;
        let chunk = array.chunk.unwrap_or(DEFAULT_CHUNK).information();
        Ok(self.sheet.of(&TURN, &request, |request: Information| {
            pieces(request, chunk, data).size * drives
        }))
    }

    /// What is written of one file before the next; pools and allocated copies write all side by side.
    fn turn_of_writing(
        &mut self,
        array: &Array,
        ceiling: &Column<DataRate>,
        position: &Column<Time>,
    ) -> Result<Option<Column<Information>>, BudgetFault> {
        if array.level.is_summed() {
            return Ok(None);
        }
        let turn: Column<Time> = self.row("layouts.write-turn", "one file before the next")?;
        let settle: Column<Time> = self.row("array.write-settle", "settling to write")?;
        // writes settle longer than reads move, which smaller turns stand for
        Ok(Some(self.sheet.of4(
            &TURN,
            (ceiling, &turn, position, &settle),
            |r: DataRate, turn: Time, position: Time, settle: Time| {
                let bytes: Information = r * turn;
                bytes * (position / (position + settle))
            },
        )))
    }

    pub(super) fn row<Q: Measure>(
        &mut self,
        row: &str,
        name: &str,
    ) -> Result<Column<Q>, BudgetFault> {
        Ok(self.sheet.draw(
            row,
            name,
            &self.catalogue.spread::<Q>(row)?,
            &self.catalogue.number(row)?.source,
        ))
    }
}

/// Seconds a byte.
fn invert(context: &mut Context<'_, '_>, rate: &Column<DataRate>) -> Column<TimePerInformation> {
    context.sheet.of(&EVERY, rate, |rate: DataRate| {
        let cost: TimePerInformation = ratio(1.0) / rate;
        cost
    })
}
