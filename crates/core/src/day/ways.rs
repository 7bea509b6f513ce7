use super::jobs::{Job, Spot};
use crate::work::Direction;

/// A way that bytes of a job take.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Way {
    /// The desk at its end; none where data leave for the outside or come from there.
    pub desk: Option<String>,
    /// The array at its other end.
    pub array: String,
    /// Read from the array, or written to it.
    pub direction: Direction,
    /// Whether the desk's own disk has a part in it.
    pub disk: bool,
}

/// The ways of a job, one after the other: the copy, then reading it back.
///
/// What plays in real time has no disk of the desk in its way, nor has reading back, which compares
/// with what the tool remembers. Only ends that [`super::jobs`] lets through have ways.
pub(super) fn ways(job: &Job) -> Vec<Way> {
    let (desk, array, direction) = match (&job.from, &job.to) {
        (Spot::Array(array), Spot::Desk(desk)) => (Some(desk), array, Direction::Read),
        (Spot::Desk(desk), Spot::Array(array)) => (Some(desk), array, Direction::Write),
        (Spot::Array(array), _) => (None, array, Direction::Read),
        (_, Spot::Array(array)) => (None, array, Direction::Write),
        _ => return Vec::new(),
    };
    let way = |direction, disk| Way {
        desk: desk.cloned(),
        array: array.clone(),
        direction,
        disk,
    };
    let mut found = vec![way(direction, desk.is_some() && !job.plays)];
    if job.read_back {
        found.push(way(Direction::Read, false));
    }
    found
}
