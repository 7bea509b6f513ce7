//! How large a test file has to be.

use narrows_units::quantity::{DataRate, Information, Time};

/// A size with what it leaves open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sized {
    /// How large the file becomes.
    pub size: Information,
    /// Whether it is so small that memory may answer in place of the drives.
    pub short_of_memory: bool,
}

/// min(max(2 M, r t), F - R, C), never below nothing.
///
/// Symbols: M, memory of the machine whose cache is in the way; r, rate that is expected; t, time it should take at
/// least; F, free space; R, reserve that stays free; C, cap. Range: any. Test: `validate_size_of_a_test`.
pub fn size_of_test(
    memory: Information,
    rate: DataRate,
    time: Time,
    free: Information,
    reserve: Information,
    cap: Information,
) -> Sized {
    let wanted = (memory * 2.0).max(rate * time);
    let room = (free - reserve).max(Information::default());
    let size = wanted.min(room).min(cap);
    Sized {
        size,
        short_of_memory: size < memory * 2.0,
    }
}

/// Whether a size is so small beside the free space that no reserve is touched by it: a hundredth at most. Judgement.
pub fn is_small(size: Information, free: Information) -> bool {
    size <= free * 0.01
}

/// What stays free: 5 % of the file system or 2 GB, whichever is more. Judgement.
pub fn reserve(total: Information) -> Information {
    (total * 0.05).max(narrows_units::quantity::bytes(2e9))
}
