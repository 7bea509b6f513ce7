use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{Ratio, Time};

/// What a spinning drive needs to get to data.
///
/// Symbols: `t_avg` mean seek over random pairs of the whole stroke, `t_tt` to the next track,
/// `T` one turn, delta share of the stroke (the radius) that a seek crosses.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heads {
    /// Mean seek, as data sheets give it for reading.
    pub average_seek: Time,
    /// Seek to the next track.
    pub next_track: Time,
    /// One turn.
    pub turn: Time,
    /// Command and controller.
    pub overhead: Time,
}

impl Heads {
    /// Time of a seek over a share of the stroke: `t_tt + 15/8 (t_avg - t_tt) sqrt(delta)`.
    ///
    /// Concave, and calibrated so that random pairs average `t_avg` (the mean of `sqrt |u - v|` is
    /// 8/15). Valid for 0 to 1; outside it is cut off. Seeks of writes settle 0.5 to 1 ms longer.
    /// Source: form after Ruemmler and Wilkes 1994. Checked by `validate_seeks`.
    pub fn seek(&self, stroke: Ratio) -> Time {
        let root = libm::sqrt(stroke.get::<one>().clamp(0.0, 1.0));
        self.next_track + (self.average_seek - self.next_track) * (15.0 / 8.0 * root)
    }

    /// Mean time to reach a random place among data that cover a share of the stroke:
    /// `t_tt + (t_avg - t_tt) sqrt(F) + T / 2 + overhead`.
    pub fn to_random_place(&self, stroke: Ratio) -> Time {
        let root = libm::sqrt(stroke.get::<one>().clamp(0.0, 1.0));
        self.next_track
            + (self.average_seek - self.next_track) * root
            + self.turn / 2.0
            + self.overhead
    }

    /// Mean time to reach the next of `streams` places visited in one direction, and back to the
    /// first: the sweep of a disk scheduler.
    ///
    /// The gaps of K uniform places and the way back are beta variates: mean seek `t_tt + 15/8
    /// (t_avg - t_tt) sqrt(F) ((K - 1) b(1, K) + b(K - 1, 2)) / K`, where `b(a, c)` is the mean of
    /// the square root of a beta variate. For two streams it is the random order. Fewer than two are
    /// taken as two. Checked by `validate_interleaved_streams`.
    pub fn to_next_of(&self, streams: usize, stroke: Ratio) -> Time {
        let k = streams.max(2) as f64;
        let root = libm::sqrt(stroke.get::<one>().clamp(0.0, 1.0));
        let mean = ((k - 1.0) * mean_root(1.0, k) + mean_root(k - 1.0, 2.0)) / k;
        self.next_track
            + (self.average_seek - self.next_track) * (15.0 / 8.0 * root * mean)
            + self.turn / 2.0
            + self.overhead
    }

    /// As [`Heads::to_random_place`], until the last of `drives` has turned far enough: half a turn
    /// becomes `T m / (m + 1)`.
    pub fn to_last_of(&self, drives: usize, stroke: Ratio) -> Time {
        let m = drives.max(1) as f64;
        self.to_random_place(stroke) + self.turn * (m / (m + 1.0) - 0.5)
    }
}

/// Mean of the square root of a beta variate: `G(a + 1/2) G(a + c) / (G(a) G(a + c + 1/2))`.
fn mean_root(a: f64, c: f64) -> f64 {
    libm::exp(
        libm::lgamma(a + 0.5) + libm::lgamma(a + c) - libm::lgamma(a) - libm::lgamma(a + c + 0.5),
    )
}

#[cfg(test)]
pub(super) fn class_7200() -> Heads {
    use narrows_units::quantity::milliseconds;
    Heads {
        average_seek: milliseconds(8.5),
        next_track: milliseconds(0.6),
        turn: narrows_units::quantity::seconds(60.0 / 7200.0),
        overhead: milliseconds(0.1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::ratio;
    use narrows_units::quantity::units::time::millisecond;

    #[test]
    fn validate_seeks() {
        const PRINTED: f64 = 5e-6;
        let heads = class_7200();
        let ms = |time: Time| time.get::<millisecond>();
        assert_relative_eq!(
            ms(heads.seek(ratio(1.0 / 3.0))),
            9.15200,
            max_relative = PRINTED
        );
        assert_relative_eq!(ms(heads.seek(ratio(1.0))), 15.4125, max_relative = PRINTED);
        assert_relative_eq!(
            ms(heads.to_random_place(ratio(1.0))),
            12.7667,
            max_relative = PRINTED
        );
        // over the part of the stroke that half the capacity of rho = 0.48 covers
        let half = heads.to_random_place(ratio(0.414718));
        assert_relative_eq!(ms(half), 9.95415, max_relative = PRINTED);
        assert_relative_eq!(
            ms(heads.to_last_of(1, half / half)),
            ms(heads.to_random_place(ratio(1.0)))
        );
        assert_relative_eq!(mean_root(1.0, 2.0), 8.0 / 15.0, max_relative = 1e-12);
    }

    #[test]
    fn verify_random_pairs_average_the_mean_seek() {
        let heads = class_7200();
        let steps = 400;
        let mut sum = 0.0;
        for i in 0..steps {
            for j in 0..steps {
                let delta = f64::from(i - j).abs() / f64::from(steps);
                sum += heads.seek(ratio(delta)).get::<millisecond>();
            }
        }
        assert_relative_eq!(sum / f64::from(steps * steps), 8.5, max_relative = 1e-3);
    }
}
