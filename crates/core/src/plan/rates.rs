//! What a layout gives at the array itself: one stream alone, several together, a drive missing.

use super::Shape;
use super::luck::{DriveLuck, Luck, Rates, Turning};
use crate::array::rate::{
    Medium, Place, far_write, interleaved, pieces, read_one_stream, write_one_stream,
};
use crate::array::{Layout, Level, Placement};
use crate::hop::drives::in_step;
use crate::quantity::units::ratio::one;
use crate::quantity::{DataRate, Information, Measure, Ratio, Time, ratio};
use crate::work::Direction;

/// In which state an array is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum State {
    /// Nothing on it.
    Empty,
    /// As full as stated; flash after its fast cache.
    Filled,
    /// As full as stated, with so many drives missing.
    Missing(usize),
    /// As full as stated, while a missing drive is put together again.
    Rebuilding,
    /// As full as stated, while all drives are read through.
    Scrubbing,
}

impl State {
    pub(super) fn missing(self) -> usize {
        match self {
            Self::Empty | Self::Filled | Self::Scrubbing => 0,
            Self::Missing(drives) => drives,
            Self::Rebuilding => 1,
        }
    }
}

/// One layout with the luck of its drives.
pub(super) struct Model<'a> {
    pub shape: Shape,
    pub layout: &'a Layout,
    pub luck: &'a Luck,
    pub drive: &'a DriveLuck,
}

impl Model<'_> {
    /// One stream alone: rates in base units, one a draw; none where the array is lost.
    ///
    /// Worth of the layout (see `read_one_stream`) times a drive's rate at its place, in step with
    /// the slowest drive, no more than the NAS's own work and the bus let through. Writes with
    /// parity reach a share of full stripes. The same rules as those of a budget. Checked by
    /// `verify_alone_is_what_a_budget_says`, `property_degraded_never_beats_healthy`.
    pub(super) fn alone(&self, direction: Direction, state: State) -> Option<Vec<f64>> {
        let mut rates = self.of_drives(direction, state)?;
        self.cap(&mut rates, direction, state.missing() > 0, 1);
        Some(rates)
    }

    /// As [`Model::alone`], as if the machine and the bus held nothing back.
    pub(super) fn of_drives(&self, direction: Direction, state: State) -> Option<Vec<f64>> {
        let failed = state.missing();
        let left = match state {
            State::Rebuilding => Some(&self.luck.left_by_rebuilding),
            // where nothing is kept twice there is nothing to compare
            State::Scrubbing if self.layout.survives_any() == 0 => return None,
            State::Scrubbing => Some(&self.luck.left_by_scrubbing),
            _ => None,
        };
        let worth = match direction {
            Direction::Read => {
                read_one_stream(self.layout, self.drive.medium, failed, self.luck.record)
            }
            Direction::Write => write_one_stream(self.layout, failed, self.luck.record),
        }?;
        let of_drive = match (direction, state, worth.place) {
            (Direction::Read, State::Empty, _) => &self.drive.read_empty,
            (Direction::Read, _, Place::AsFilled) => &self.drive.read,
            (Direction::Read, _, Place::OuterHalf) => &self.drive.read_outer_half,
            (Direction::Write, State::Empty, _) => &self.drive.write_empty,
            (Direction::Write, ..) => &self.drive.write,
        };
        let of_drive = self.in_place(of_drive);
        let (low, high) = (worth.low.get::<one>(), worth.high.get::<one>());
        let slowest = self.waits(direction);
        let level = self.shape.level;
        let written = match direction {
            Direction::Write if level.is_pooled() => Some(&self.luck.pool_share),
            Direction::Write if level.parity() > 0 => Some(&self.luck.parity_share),
            _ => None,
        };
        let far = self.far_writer(direction);
        let drawn = (0..self.luck.count).map(|d| {
            let worth = low + (high - low) * self.luck.worth[d];
            let step = in_step(slowest, self.luck.scatter[d]) * self.luck.reached[d];
            let mut rate = of_drive[d] * (ratio(worth) * step);
            if let Some(written) = written {
                rate = rate * written[d];
            }
            if let Some(turning) = far {
                let fill = if state == State::Empty {
                    ratio(0.0)
                } else {
                    self.luck.fill[d]
                };
                let two_places = self.far(turning, d, fill, self.luck.gathered[d]) * step;
                rate = least(rate, two_places);
            }
            if let Some(left) = left {
                rate = rate * left[d];
            }
            rate.base()
        });
        Some(drawn.collect())
    }

    /// Several streams together, as full as stated: the sum of their rates in base units, one a
    /// draw.
    ///
    /// Spinning drives move between streams: all drives together give `n s / (t + s c)` for pieces
    /// of s bytes (see `many_streams`), never more than the streams alone would. A request of the
    /// kernel's levels falls on the data drives in chunks; a pool spreads what it reads
    /// ahead over all groups and asks a drive for at most 1 MiB at once. RAID 1 keeps each stream on
    /// a copy of its own while there are copies. Flash does not move.
    ///
    /// Writes are gathered in memory. The kernel writes one file for up to half a second of the
    /// device's bandwidth before it turns to the next; pools and allocated copies write all streams side
    /// by side, so that writing them together costs nothing. Positions of writes are taken as far apart
    /// as those of reads. Valid for services that let the machine gather; one that writes every request
    /// through is far slower. Sources: kernel, `writeback_chunk_size`; `many_streams`. Checked by
    /// `validate_streams_of_eight_drives`, `property_streams_stay_between_their_bounds`.
    ///
    /// `alone` is what the drives give one stream, as full as stated ([`Model::of_drives`]).
    pub(super) fn together(&self, direction: Direction, streams: usize, alone: &[f64]) -> Vec<f64> {
        let mut all = match direction {
            _ if streams < 2 => alone.to_vec(),
            Direction::Read => self.reads_together(streams, alone),
            Direction::Write => self.writes_together(alone),
        };
        self.cap(&mut all, direction, false, streams.max(1));
        all
    }

    /// What one drive gives here: its class with the model's own error, unless it was stated, and no more
    /// than its link.
    pub(super) fn in_place(&self, rates: &Rates) -> Vec<DataRate> {
        let error = match (self.drive.medium, self.shape.drives()) {
            (Medium::Spinning, ..=2) => &self.luck.in_place[0],
            (Medium::Spinning, _) => &self.luck.in_place[1],
            (Medium::Flash, _) => &self.luck.in_place[2],
        };
        let each = rates.each.iter().zip(error).zip(&self.drive.interface);
        each.map(|((&rate, &error), &link)| {
            let error = if rates.stated { 1.0 } else { error };
            least(rate * ratio(error), link)
        })
        .collect()
    }

    fn reads_together(&self, streams: usize, alone: &[f64]) -> Vec<f64> {
        let drives = self.shape.drives() as f64;
        let outer_half = self.shape.level == Level::Raid10(Placement::Far);
        let own_copy = self.shape.level == Level::Raid1 && streams <= self.shape.width;
        let at = usize::from(outer_half);
        let read = self.in_place(&self.drive.read);
        (0..self.luck.count)
            .map(|d| {
                let most = alone[d] * streams as f64;
                let reached = self.luck.reached[d];
                let moving = match &self.drive.turning {
                    Some(_) if own_copy => return most,
                    Some(turning) => {
                        let (position, cost) = (turning.position[at][d], turning.cost[at][d]);
                        // reading takes as much longer as in place it is slower at the mean
                        let slower = self.drive.read.each[d] / read[d] / reached;
                        interleaved(self.piece(d), position, cost * slower)
                    }
                    None => read[d] * reached,
                };
                (moving * drives).base().min(most)
            })
            .collect()
    }

    /// A turn of T seconds at the rate alone costs one positioning: `r T / (T + t)`, which is
    /// `S / (t + S / r)` for the bytes `S = r T` of a turn.
    fn writes_together(&self, alone: &[f64]) -> Vec<f64> {
        let level = self.shape.level;
        let side_by_side = level.is_summed();
        let Some(turning) = self.drive.turning.as_ref().filter(|_| !side_by_side) else {
            return alone.to_vec();
        };
        let drawn = alone.iter().enumerate().map(|(d, rate)| {
            let position: Time = turning.position[0][d] + turning.settle[d];
            let turn = self.luck.write_turn[d];
            rate * (turn / (turn + position)).get::<one>()
        });
        drawn.collect()
    }

    /// Bytes that one stream gets from one drive before its heads move on.
    fn piece(&self, d: usize) -> Information {
        let data = self.layout.data_drives();
        if self.layout.is_pooled() {
            let share = self.luck.prefetch[d] / data.max(1) as f64;
            let most = self.luck.aggregation[d];
            if share < most { share } else { most }
        } else {
            pieces(self.luck.request[d], self.luck.chunk.information(), data).size
        }
    }

    /// Standard deviations below the mean of the drive that all wait for. Who reads one copy waits
    /// for one drive of each group.
    fn waits(&self, direction: Direction) -> f64 {
        let one_copy = matches!(
            self.shape.level,
            Level::Single | Level::Raid1 | Level::Mirror | Level::TwoCopy | Level::ThreeCopy
        );
        let waits = if one_copy && direction == Direction::Read {
            self.shape.groups
        } else {
            self.shape.drives()
        };
        self.luck.slowest.get(waits).copied().unwrap_or(0.0)
    }

    /// What moves between two bands when writing to RAID 10 far.
    fn far_writer(&self, direction: Direction) -> Option<&Turning> {
        let far = self.shape.level == Level::Raid10(Placement::Far);
        let turning = self.drive.turning.as_ref();
        turning.filter(|_| far && direction == Direction::Write)
    }

    fn far(&self, turning: &Turning, d: usize, fill: Ratio, gathered: Information) -> DataRate {
        let (zones, heads) = (&turning.zones[d], &turning.heads[d]);
        far_write(self.shape.drives(), zones, fill, gathered, heads)
    }

    /// No more than the NAS's work on the array and what the drives hang on.
    ///
    /// The kernel's driver keeps to one thread for stripes; sums of pools and copies are made by the thread
    /// of each stream.
    fn cap(&self, rates: &mut [f64], direction: Direction, degraded: bool, streams: usize) {
        let level = self.shape.level;
        let sums = level.is_summed();
        let stripes = level.has_driver_parity() && (direction == Direction::Write || degraded);
        if stripes || sums {
            for (d, rate) in rates.iter_mut().enumerate() {
                let most = if stripes {
                    self.luck.stripes[d].base()
                } else {
                    self.luck.sums[d].base() * (streams as f64).min(self.luck.threads[d]).max(1.0)
                };
                *rate = rate.min(most);
            }
        }
        if let Some(attached) = &self.luck.attached {
            for (rate, most) in rates.iter_mut().zip(attached) {
                *rate = rate.min(most.base());
            }
        }
    }
}

fn least(a: DataRate, b: DataRate) -> DataRate {
    if a < b { a } else { b }
}
