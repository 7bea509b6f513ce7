//! Memory in front of drives that may tire: when a long write is accepted, when it is safe, and where
//! it slows down.

use super::FlashWrite;
use narrows_units::quantity::{DataRate, Information, Time};

/// What a long write runs into.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Slows {
    /// The memory in front is full, and the drives decide.
    MemoryFull,
    /// The fast cache of the drives is full.
    CacheFull,
    /// The flash folds what its cache holds.
    Folding,
}

impl Slows {
    /// In the order in which a write meets them.
    pub const ALL: [Self; 3] = [Self::MemoryFull, Self::CacheFull, Self::Folding];
}

/// A point at which a long write slows down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slowdown {
    /// What it runs into.
    pub why: Slows,
    /// Bytes accepted until then.
    pub after: Information,
    /// When.
    pub at: Time,
    /// The rate from there.
    pub rate: DataRate,
}

/// A write that passes memory on its way to drives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BufferedWrite {
    /// How the drives take it; phases that follow are no faster, and none is faster than `arriving`.
    pub drives: FlashWrite,
    /// Bytes that the memory in front holds.
    pub memory: Information,
    /// Rate at which data come while memory takes them.
    pub arriving: DataRate,
}

impl BufferedWrite {
    /// Time until W bytes are accepted: `max(W / I, T(W - M))`.
    ///
    /// `I` rate at which data arrive, `M` bytes of memory, `T` the time in which the drives take so
    /// many ([`FlashWrite::time`]). A byte enters memory when the byte M before it has left, and later
    /// phases are never faster, so no earlier byte waits longer. Assumes that memory drains from
    /// the first byte. Source: conservation of bytes. Checked by
    /// `validate_bursts_in_front_of_steady_drives`, `verify_against_a_clock`.
    pub fn accepted(&self, written: Information) -> Time {
        larger(
            written / self.arriving,
            self.drives.time(written - self.memory),
        )
    }

    /// Time until W bytes are on the drives: `max(W / I, T(W))`. Checked as [`BufferedWrite::accepted`].
    pub fn safe(&self, written: Information) -> Time {
        larger(written / self.arriving, self.drives.time(written))
    }

    /// The rate before anything is full.
    pub fn first(&self) -> DataRate {
        let [(_, first), ..] = self.drives.phases();
        if self.memory > Information::default() && self.arriving > first {
            self.arriving
        } else {
            first
        }
    }

    /// Bytes accepted when memory is full, and the phase of the drives by then: the first W at which
    /// `T(W - M) = W / I`. None where the drives keep up.
    fn fills(&self) -> Option<(Information, usize)> {
        let phases = self.drives.phases();
        for (k, &(begins, rate)) in phases.iter().enumerate() {
            if rate >= self.arriving {
                continue;
            }
            // what memory holds when this phase begins, and how long what is left of it lasts
            let came = self.arriving * self.drives.time(begins);
            let held = larger(came - begins, Information::default());
            let left = larger(self.memory - held, Information::default());
            let lasts = left / (self.arriving - rate);
            let drained = begins + rate * lasts;
            if phases.get(k + 1).is_none_or(|&(ends, _)| drained <= ends) {
                return Some((self.arriving * (self.drives.time(begins) + lasts), k));
            }
        }
        None
    }

    /// Where a write of W bytes slows down, in order.
    ///
    /// The drives' phases show once memory is full, M bytes after the drives meet them. Where memory
    /// fills because the flash tired, that is what is named. Checked by `verify_against_a_clock`,
    /// `property_nothing_absorbs_more_than_it_holds`.
    pub fn slowdowns(&self, written: Information) -> impl Iterator<Item = Slowdown> + use<> {
        let phases = self.drives.phases();
        let zero = Information::default();
        let buffered = self.memory > zero;
        let full = if buffered {
            self.fills()
        } else {
            Some((zero, 0))
        };
        let mut found = [None; 3];
        if let Some((filled, in_phase)) = full {
            let mut before = self.first();
            for (k, (slot, &(begins, rate))) in found.iter_mut().zip(&phases).enumerate() {
                // a phase that ends where it begins is not seen
                let seen = phases.get(k + 1).is_none_or(|&(ends, _)| begins < ends);
                if k < in_phase || !seen || rate >= before {
                    continue;
                }
                let after = if k == in_phase {
                    filled
                } else {
                    begins + self.memory
                };
                // named by the first phase that is as slow: it brought the drives down to this rate
                let named = phases.iter().position(|&(_, slow)| slow <= rate);
                let why = named.and_then(|j| Slows::ALL.get(j).copied());
                *slot = why.map(|why| (why, after, rate));
                before = rate;
            }
        }
        let this = *self;
        found
            .into_iter()
            .flatten()
            .filter(move |&(_, after, _)| after < written)
            .map(move |(why, after, rate)| Slowdown {
                why,
                after,
                at: this.accepted(after),
                rate,
            })
    }
}

fn larger<Q: PartialOrd>(a: Q, b: Q) -> Q {
    if b > a { b } else { a }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::units::information::megabyte;
    use narrows_units::quantity::units::time::second;
    use narrows_units::quantity::{
        bytes, in_megabytes_per_second, megabytes, megabytes_per_second,
    };
    use proptest::prelude::*;

    /// Half a unit of the sixth printed digit.
    const PRINTED: f64 = 5e-6;

    fn mb(rate: f64) -> DataRate {
        megabytes_per_second(rate)
    }

    #[test]
    fn validate_bursts_in_front_of_steady_drives() {
        // dirtyable memory, rates in and out; then seconds, bytes, and mean rates of copies
        type Row = (f64, f64, f64, Option<f64>, f64, &'static [(f64, f64)]);
        let gib = 1_073_741_824.0;
        let rows: [Row; 4] = [
            (
                8.0,
                1176.85,
                400.0,
                Some(1.65861),
                1951.93,
                &[(10e9, 459.163), (50e9, 410.581)],
            ),
            (
                16.0,
                1176.85,
                400.0,
                None,
                3903.87,
                &[(10e9, 538.864), (50e9, 421.736)],
            ),
            (
                2.0,
                117.685,
                80.0,
                Some(8.54777),
                1005.94,
                &[(10e9, 82.6628)],
            ),
            (
                32.0,
                1176.85,
                900.0,
                None,
                21908.8,
                &[(10e9, 1176.85), (50e9, 1003.43)],
            ),
        ];
        for (memory, arriving, draining, lasts, absorbed, copies) in rows {
            let made = BufferedWrite {
                drives: FlashWrite::steady(mb(draining)),
                memory: bytes(0.15 * memory * gib),
                arriving: mb(arriving),
            };
            let found: Vec<Slowdown> = made.slowdowns(megabytes(1e6)).collect();
            assert_eq!(found.len(), 1);
            assert_eq!(found[0].why, Slows::MemoryFull);
            assert_eq!(found[0].rate, mb(draining));
            if let Some(expected) = lasts {
                let at = found[0].at.get::<second>();
                assert_relative_eq!(at, expected, max_relative = PRINTED);
            }
            let after = found[0].after.get::<megabyte>();
            assert_relative_eq!(after, absorbed, max_relative = PRINTED);
            for &(file, expected) in copies {
                let mean: DataRate = bytes(file) / made.accepted(bytes(file));
                let mean = in_megabytes_per_second(mean);
                assert_relative_eq!(mean, expected, max_relative = PRINTED);
            }
        }
    }

    #[test]
    fn memory_that_drains_as_fast_as_it_fills_never_fills() {
        let made = BufferedWrite {
            drives: FlashWrite::steady(mb(100.0)),
            memory: megabytes(1.0),
            arriving: mb(100.0),
        };
        assert_eq!(made.slowdowns(megabytes(1e9)).count(), 0);
        assert_relative_eq!(made.accepted(megabytes(1000.0)).get::<second>(), 10.0);
    }

    #[test]
    fn drives_that_do_not_tire_are_not_named_for_it() {
        let made = |rates: [f64; 3]| BufferedWrite {
            drives: FlashWrite::new(megabytes(600.0), megabytes(1000.0), rates.map(mb)).unwrap(),
            memory: megabytes(4000.0),
            arriving: mb(500.0),
        };
        let whys = |rates| -> Vec<Slows> {
            let made: BufferedWrite = made(rates);
            made.slowdowns(megabytes(1e6)).map(|s| s.why).collect()
        };
        // memory is full when the drives have taken 4000 MB or more
        assert_eq!(whys([250.0, 250.0, 250.0]), [Slows::MemoryFull]);
        assert_eq!(whys([300.0, 250.0, 250.0]), [Slows::CacheFull]);
        assert_eq!(whys([250.0, 250.0, 200.0]), [Slows::Folding]);
    }

    #[test]
    fn without_memory_the_phases_show_where_they_begin() {
        let made = |cache: f64, folds: f64| BufferedWrite {
            drives: FlashWrite::new(
                megabytes(cache),
                megabytes(folds),
                [300.0, 200.0, 100.0].map(mb),
            )
            .unwrap(),
            memory: Information::default(),
            arriving: mb(500.0),
        };
        let found: Vec<Slowdown> = made(600.0, 1000.0).slowdowns(megabytes(1200.0)).collect();
        let expected = [
            (Slows::CacheFull, 600.0, 2.0, 200.0),
            (Slows::Folding, 1000.0, 4.0, 100.0),
        ];
        assert_eq!(found.len(), 2);
        for (one, (why, after, at, rate)) in found.iter().zip(expected) {
            assert_eq!(one.why, why);
            assert_relative_eq!(one.after.get::<megabyte>(), after, max_relative = 1e-12);
            assert_relative_eq!(one.at.get::<second>(), at, max_relative = 1e-12);
            assert_eq!(one.rate, mb(rate));
        }
        // a write that ends where a phase does never sees the next
        assert_eq!(made(600.0, 1000.0).slowdowns(megabytes(1000.0)).count(), 1);
        assert_eq!(made(600.0, 1000.0).slowdowns(megabytes(600.0)).count(), 0);
        // folding at once: one fall, named once
        let at_once: Vec<Slowdown> = made(600.0, 600.0).slowdowns(megabytes(900.0)).collect();
        assert_eq!(at_once.len(), 1);
        assert_eq!(
            (at_once[0].why, at_once[0].rate),
            (Slows::Folding, mb(100.0))
        );
    }

    /// What memory in front of three phases does, a small step of time after the other.
    struct Clock {
        accepted: f64,
        drained: f64,
        time: f64,
    }

    fn clock(phases: [(f64, f64); 3], memory: f64, arriving: f64, size: f64) -> (Clock, Vec<f64>) {
        const STEP: f64 = 1e-4;
        let mut now = Clock {
            accepted: 0.0,
            drained: 0.0,
            time: 0.0,
        };
        // accepted bytes whenever the rate of acceptance falls
        let mut falls = Vec::new();
        let mut last = f64::INFINITY;
        while now.accepted < size {
            let drain = phases
                .iter()
                .rev()
                .find(|(begins, _)| now.drained >= *begins)
                .map_or(0.0, |p| p.1);
            let before = now.accepted;
            now.accepted = (before + arriving * STEP).min(now.drained + drain * STEP + memory);
            now.drained = (now.drained + drain * STEP).min(now.accepted);
            now.time += STEP;
            let rate = (now.accepted - before) / STEP;
            if rate < last * 0.95 && last.is_finite() {
                falls.push(before);
                // the step in which memory fills runs at a rate between
                last = drain;
            } else if !last.is_finite() {
                last = rate;
            }
        }
        (now, falls)
    }

    #[test]
    fn verify_against_a_clock() {
        /// Steps of a tenth of a millisecond at 900 MB/s, over the smallest number compared.
        const STEPS: f64 = 2e-3;
        let drives = [(0.0, 300.0), (600.0, 200.0), (1000.0, 100.0)];
        for (memory, arriving, whys) in [
            // full while the drives are fresh, while they write directly, while they fold
            (
                50.0,
                900.0,
                vec![Slows::MemoryFull, Slows::CacheFull, Slows::Folding],
            ),
            (250.0, 400.0, vec![Slows::CacheFull, Slows::Folding]),
            (700.0, 400.0, vec![Slows::Folding]),
            // the way is as slow as the fresh drives
            (50.0, 300.0, vec![Slows::CacheFull, Slows::Folding]),
            (5000.0, 900.0, vec![]),
        ] {
            let made = BufferedWrite {
                drives: FlashWrite::new(
                    megabytes(600.0),
                    megabytes(1000.0),
                    drives.map(|d| mb(d.1)),
                )
                .unwrap(),
                memory: megabytes(memory),
                arriving: mb(arriving),
            };
            let size = 2000.0;
            let (end, falls) = clock(drives, memory, arriving, size);
            let accepted = made.accepted(megabytes(size)).get::<second>();
            assert_relative_eq!(accepted, end.time, max_relative = STEPS);
            let found: Vec<Slowdown> = made.slowdowns(megabytes(size)).collect();
            let named: Vec<Slows> = found.iter().map(|f| f.why).collect();
            assert_eq!(named, whys, "{memory} {arriving}");
            assert_eq!(
                falls.len(),
                found.len(),
                "{memory} {arriving} {falls:?} {found:?}"
            );
            for (one, fall) in found.iter().zip(falls) {
                assert_relative_eq!(one.after.get::<megabyte>(), fall, max_relative = STEPS);
            }
        }
    }

    proptest! {
        #[test]
        fn property_nothing_absorbs_more_than_it_holds(
            cache in 0.0..500.0_f64, more in 0.0..500.0_f64, memory in 0.0..900.0_f64,
            rates in prop::array::uniform4(50.0..1000.0_f64), size in 1.0..5000.0_f64,
        ) {
            let mut rates = rates;
            rates.sort_by(|a, b| b.total_cmp(a));
            let [arriving, first, second_rate, third] = rates;
            let folds = cache + more;
            let made = BufferedWrite {
                drives: FlashWrite::new(
                    megabytes(cache),
                    megabytes(folds),
                    [first, second_rate, third].map(mb),
                ).unwrap(),
                memory: megabytes(memory),
                arriving: mb(arriving),
            };
            let ends = [cache, folds, f64::INFINITY];
            let mut before = made.first();
            let mut last = 0.0;
            for one in made.slowdowns(megabytes(size)) {
                let after = one.after.get::<megabyte>();
                // what was accepted lies in memory or on the drives, which are in that phase
                let phase = Slows::ALL.iter().position(|w| *w == one.why).unwrap();
                prop_assert!(after <= (ends[phase] + memory) * (1.0 + 1e-9));
                prop_assert!(after >= last && after < size && one.rate < before);
                before = one.rate;
                last = after;
            }
            let accepted = made.accepted(megabytes(size));
            let safe = made.safe(megabytes(size));
            prop_assert!(accepted <= safe * (1.0 + 1e-12));
        }
    }
}
