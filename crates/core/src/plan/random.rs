//! Small requests at random places: pictures of a catalogue, project files, databases.

use super::rates::Model;
use crate::array::rate::{
    IN_FLIGHT, flash_streams, piece_of_a_request, random_reads, random_writes, turning_requests,
};
use crate::quantity::units::operation_rate::operation_per_second;
use crate::quantity::units::operations::operation;
use crate::quantity::{DataRate, Information, Measure, OperationRate, Operations, Ratio, bytes};
use crate::work::Direction;

/// A small request: a page of memory, a block of a file system.
const SMALL: f64 = 4096.0;

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
        let group = (self.shape.level, self.shape.width);
        let writes = direction == Direction::Write;
        let piece = piece_of_a_request(group, bytes(SMALL), self.luck.record, writes);
        let one = OperationRate::new::<operation_per_second>(1.0);
        let array = match direction {
            Direction::Read => random_reads(self.layout, one, missing, self.luck.record)?,
            Direction::Write if missing == 0 => random_writes(self.layout, one, self.luck.record),
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
            let mut position = turning.position[0][d];
            if direction == Direction::Write {
                position += turning.settle[d];
            }
            let gain = self.luck.reordering[d];
            return turning_requests(position, (piece, rate), gain, IN_FLIGHT);
        }
        let reached: DataRate = match (direction, &self.drive.latency) {
            (Direction::Read, Some(latency)) => flash_streams(rate, IN_FLIGHT, piece, latency[d]),
            (Direction::Write, _) => rate * self.luck.scattered_writes[d],
            (Direction::Read, None) => rate,
        };
        request * (reached / piece)
    }
}

#[cfg(test)]
mod tests;
