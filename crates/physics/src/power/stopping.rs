use narrows_units::quantity::{DataRate, Information, Measure, Ratio, Time, seconds};

/// What an orderly stop consists of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// Until somebody or something decides.
    pub detect: Time,
    /// Until the desks have saved and unmounted.
    pub desks: Time,
    /// What the NAS holds in memory and the drives do not.
    pub dirty: Information,
    /// What the drives take.
    pub drain: DataRate,
    /// Until the services are down.
    pub services: Time,
    /// Until file systems are unmounted and drives stand still.
    pub drives: Time,
}

impl Stop {
    /// How long it takes: the sum of its parts, one after the other.
    ///
    /// Scattered small writes drain at a few MB/s on spinning parity arrays, not at the rate of large
    /// files. Checked by `validate_stopping`.
    pub fn time(&self) -> Time {
        let drain = if self.dirty.base() > 0.0 {
            self.dirty / self.drain
        } else {
            seconds(0.0)
        };
        self.detect + self.desks + drain + self.services + self.drives
    }
}

/// How long a unit may wait before everything has to be stopped: `runtime - m t_stop`.
///
/// `margin` m covers the wrong estimate of a battery that nobody tested. Nothing or less means: begin
/// at once. Checked by `validate_stopping`.
pub fn wait_before_stop(runtime: Time, stop: Time, margin: f64) -> Time {
    runtime - stop * margin
}

/// How a machine keeps writes in memory.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DirtyMemory {
    /// Memory that may be dirty.
    pub dirtyable: Information,
    /// Share of it from which writing back begins.
    pub background: Ratio,
    /// Share of it that is never exceeded.
    pub most: Ratio,
    /// Age from which data are written back, with what the writer sleeps.
    pub age: Time,
}

/// What a cut takes of writes that nobody waited for: at least, and at most.
///
/// `incoming` a, `drain` r. Where a <= r: `min(background share of memory, a x age)`. Where a > r
/// memory fills to the point at which writers are held back, half way between the two shares, and at
/// most to the upper one. Source: defaults of a kernel's page cache. Checked by
/// `validate_lost_bytes`.
pub fn lost_in_memory(
    memory: &DirtyMemory,
    incoming: DataRate,
    drain: DataRate,
) -> (Information, Information) {
    let early = memory.dirtyable * memory.background;
    let most = memory.dirtyable * memory.most;
    if incoming <= drain {
        let aged = incoming * memory.age;
        let lost = if aged < early { aged } else { early };
        return (lost, lost);
    }
    ((early + most) / 2.0, most)
}
