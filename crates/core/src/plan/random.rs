//! Small requests at random places: pictures of a catalogue, project files, databases.

use super::rates::{Model, RECORD};
use crate::array::Level;
use crate::array::capacity::record_sectors;
use crate::array::rate::{flash_streams, random_reads, random_writes};
use crate::quantity::units::operation_rate::operation_per_second;
use crate::quantity::units::operations::operation;
use crate::quantity::{
    DataRate, Information, Measure, OperationRate, Operations, Ratio, Time, bytes, ratio,
};
use crate::work::Direction;
use crate::working::Percentiles;

/// A small request: a page of memory, a block of a file system.
const SMALL: f64 = 4096.0;

/// Requests in flight a drive: the queue of a Serial ATA drive, and the depth at which drives are
/// compared.
const IN_FLIGHT: usize = 32;

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

impl Model<'_> {
    /// Small requests a second, 4 KiB each, at random places of the filled part with 32 in flight a
    /// drive, in base units, one a draw; none where so many missing drives lose the array.
    ///
    /// A spinning drive takes `(t + s / r) / k` for one: t to a random place, s bytes at the rate r, k
    /// what its own order of the queue gains; a write settles longer. Flash gives
    /// `min(r / s, 32 / L)` with L for a small read; writes at random places reach a share of its later
    /// rate, since pages are moved to make room for them. s is 4 KiB, and in a pool the part of a
    /// record that a drive holds, because a record is read, checked and written whole.
    ///
    /// The levels then cost what [`random_reads`] and [`random_writes`] say. Left out: what memory
    /// holds, reading a pool's record before it is changed, gathering small writes into large
    /// ones, the NAS's processor and the network. Valid for even load that keeps all drives busy.
    /// Sources: Little's law; those of the two functions. Checked by
    /// `validate_requests_of_one_drive`, `property_requests_fall_with_missing_drives`.
    pub(super) fn requests(&self, direction: Direction, missing: usize) -> Option<Vec<f64>> {
        let piece = self.piece_of_a_request(direction);
        let one = OperationRate::new::<operation_per_second>(1.0);
        let array = match direction {
            Direction::Read => random_reads(self.layout, one, missing, RECORD)?,
            Direction::Write if missing == 0 => random_writes(self.layout, one, RECORD),
            Direction::Write => return None,
        };
        let drives: Ratio = array / one;
        let rates = self.in_place(match direction {
            Direction::Read => &self.drive.read,
            Direction::Write => &self.drive.write,
        });
        let drawn = (0..self.luck.count)
            .map(|d| (self.of_one(direction, d, rates[d], piece) * drives).base());
        Some(drawn.collect())
    }

    /// What one drive gives in a draw.
    fn of_one(
        &self,
        direction: Direction,
        d: usize,
        rate: DataRate,
        piece: Information,
    ) -> OperationRate {
        let request = Operations::new::<operation>(1.0);
        if let Some(turning) = &self.drive.turning {
            let mut time: Time = turning.position[0][d] + piece / rate;
            if direction == Direction::Write {
                time += turning.settle[d];
            }
            return request * self.luck.reordering[d] / time;
        }
        let reached: DataRate = match (direction, &self.drive.latency) {
            (Direction::Read, Some(latency)) => flash_streams(rate, IN_FLIGHT, piece, latency[d]),
            (Direction::Write, _) => rate * self.luck.scattered_writes[d],
            (Direction::Read, None) => rate,
        };
        request * (reached / piece)
    }

    /// Bytes that a drive moves for one small request.
    fn piece_of_a_request(&self, direction: Direction) -> Information {
        if !self.layout.is_pooled() {
            return bytes(SMALL);
        }
        let (record, sector) = RECORD;
        let (level, width) = (self.shape.level, self.shape.width);
        if level == Level::Mirror {
            return record.information();
        }
        let parity = level.parity();
        let own = record.get().div_ceil(sector.get());
        let (sectors, drives) = match direction {
            Direction::Read => (own, width - parity),
            Direction::Write => (record_sectors(record, sector, width, parity), width),
        };
        let each = sectors.div_ceil(drives.max(1) as u64);
        sector.information() * ratio(each as f64)
    }
}

#[cfg(test)]
mod tests;
