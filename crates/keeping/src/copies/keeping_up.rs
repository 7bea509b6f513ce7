use narrows_core::quantity::{DataRate, Information, Measure, Ratio, Time, ratio};

/// An access line that copies leave over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// The rate of the contract.
    pub contract: DataRate,
    /// Share of it that files get.
    pub efficiency: Ratio,
}

impl Line {
    /// What files get.
    pub fn rate(&self) -> DataRate {
        self.contract * self.efficiency
    }

    /// How long an amount takes. Checked by `validate_hours_up`.
    pub fn takes(&self, size: Information) -> Time {
        size / self.rate()
    }

    /// What a window of a day passes. Checked by `validate_a_window`.
    pub fn passes(&self, window: Time) -> Information {
        self.rate() * window
    }
}

/// What waits to be copied over a spell of shooting.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Backlog {
    /// The most that waits at the end of a day.
    pub largest: Information,
    /// The day on whose evening nothing waits any more, from 1; until then the newest whole copy is
    /// as old as the backlog.
    pub clear: Option<u32>,
}

/// Longest time that a backlog is followed: ten years.
const MOST_DAYS: u32 = 3653;

/// A backlog from day to day: `b <- max(0, b + shot - cap)`.
///
/// `days` days that bring `a_day` each, then none; the line passes `cap` every day. Never clear
/// where the line passes nothing. Checked by `validate_a_backlog`.
pub fn backlog(days: u32, a_day: Information, cap: Information) -> Backlog {
    let (mut waits, mut largest) = (0.0_f64, 0.0_f64);
    for day in 1..=MOST_DAYS {
        let shot = if day <= days { a_day.base() } else { 0.0 };
        waits = (waits + shot - cap.base()).max(0.0);
        largest = largest.max(waits);
        if day >= days && waits <= 0.0 {
            return Backlog {
                largest: Information::from_base(largest),
                clear: Some(day),
            };
        }
    }
    Backlog {
        largest: Information::from_base(largest),
        clear: None,
    }
}

/// Days until everything is copied once while more comes in: `V / (cap - g)`; never where the line
/// passes no more than comes in. Checked by `validate_a_first_copy`.
pub fn first_copy(held: Information, a_day: Information, cap: Information) -> Option<f64> {
    (cap > a_day).then(|| (held / (cap - a_day)).base())
}

/// The chance that a chain of increments is whole: `(1 - p)^(n + 1)`, the full copy at its start
/// counted. Checked by `validate_a_chain`.
pub fn chain_whole(each_fails: Ratio, increments: u32) -> Ratio {
    ratio(libm::pow(
        1.0 - each_fails.base(),
        f64::from(increments) + 1.0,
    ))
}

/// What a chain holds: the full copy and its increments.
pub fn held_by_chain(full: Information, increments: u32, each: Information) -> Information {
    full + each * f64::from(increments)
}
