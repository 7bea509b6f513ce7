//! Flash that is written for long: a fast cache, direct writing, folding.

use super::outside;
use narrows_units::quantity::{
    DataRate, Information, Measure, Ratio, Time, UnitFault, ratio, units,
};

/// Bytes that the fast cache of a rested drive takes: `C (1 - f) min(s, 1 / b)`.
///
/// `C` capacity, `f` fill, `s` share of an empty drive (0 to 1), `b` bits a cell holds when it is not
/// used as cache, at least 1: free cells hold one bit each as cache, so it is never more than a third
/// (3 bits) or a quarter (4) of the free space. That it shrinks in proportion to that space is a
/// judgement. A fixed part of 5 to 20 GB, which some drives have besides, is left out; it counts on
/// drives that are nearly full. Checked by `verify_cache_shrinks_with_fill`.
pub fn fast_cache(
    capacity: Information,
    fill: Ratio,
    share: Ratio,
    bits_a_cell: f64,
) -> Information {
    let share = share.get::<units::ratio::one>().min(1.0 / bits_a_cell);
    free(capacity, fill) * ratio(share)
}

/// Bytes that a rested drive takes before it folds: `max(A, C (1 - f) p)`.
///
/// `A` its fast cache ([`fast_cache`]), `C` capacity, `f` fill, `p` share of the free space (0 to 1).
/// Source of the form: five published fills of empty drives, p .5 to .8; that it holds for the free space
/// of a filled one is a judgement. Checked by `verify_folding_begins_behind_the_cache_and_in_free_space`.
pub fn folding_point(
    cache: Information,
    capacity: Information,
    fill: Ratio,
    share: Ratio,
) -> Information {
    let begins = free(capacity, fill) * share;
    if begins > cache { begins } else { cache }
}

fn free(capacity: Information, fill: Ratio) -> Information {
    capacity * (ratio(1.0) - fill)
}

/// How a flash drive takes a long write: into its fast cache, then directly, then while it folds
/// the cache.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlashWrite {
    cache: Information,
    until_fold: Information,
    rates: [DataRate; 3],
}

impl FlashWrite {
    /// Cache A at w1, up to F in all at w2, then w3.
    ///
    /// # Errors
    /// Where a rate is zero, or F is below A.
    pub fn new(
        cache: Information,
        until_fold: Information,
        rates: [DataRate; 3],
    ) -> Result<Self, UnitFault> {
        let sizes = cache.base() >= 0.0 && until_fold >= cache;
        if sizes && rates.iter().all(|r| r.base() > 0.0 && r.base().is_finite()) {
            Ok(Self {
                cache,
                until_fold,
                rates,
            })
        } else {
            Err(outside(
                "the phases of a flash drive are not in order".to_owned(),
                "write a cache, a larger point where folding begins, and three rates above zero",
            ))
        }
    }

    /// Drives that never tire.
    pub fn steady(rate: DataRate) -> Self {
        let endless = Information::from_base(f64::INFINITY);
        Self {
            cache: endless,
            until_fold: endless,
            rates: [rate; 3],
        }
    }

    /// Where each phase begins, and its rate.
    pub fn phases(&self) -> [(Information, DataRate); 3] {
        let [first, second, third] = self.rates;
        [
            (Information::default(), first),
            (self.cache, second),
            (self.until_fold, third),
        ]
    }

    /// The rate at which the last of W bytes is taken.
    pub fn rate_at(&self, written: Information) -> DataRate {
        let [first, second, third] = self.rates;
        if written <= self.cache {
            first
        } else if written <= self.until_fold {
            second
        } else {
            third
        }
    }

    /// Time of a write of W bytes:
    /// `min(W, A) / w1 + clamp(W - A, 0, F - A) / w2 + max(W - F, 0) / w3`.
    ///
    /// Range and source as in [`FlashWrite::mean_rate`]. Checked by `validate_flash_fills`.
    pub fn time(&self, written: Information) -> Time {
        let [first, second, third] = self.rates;
        let zero = Information::default();
        let smaller = |a: Information, b: Information| if a < b { a } else { b };
        let written = if written > zero { written } else { zero };
        let cached = smaller(written, self.cache);
        let direct = smaller(written, self.until_fold) - cached;
        let folded = written - cached - direct;
        cached / first + direct / second + folded / third
    }

    /// Mean rate of a write of W bytes: W over [`FlashWrite::time`].
    ///
    /// Valid for a drive that has rested, with A as large as its free space allows
    /// ([`fast_cache`]). Published fills of whole drives agree within 9 % in four of five cases; one whose
    /// last phase is not constant is 24 % lower. Checked by `validate_flash_fills`.
    pub fn mean_rate(&self, written: Information) -> DataRate {
        if written <= Information::default() {
            return self.rates[0];
        }
        written / self.time(written)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::{
        in_megabytes_per_second, megabytes, megabytes_per_second, terabytes,
    };
    use proptest::prelude::*;

    fn drive(cache: f64, fold: f64, rates: [f64; 3]) -> Result<FlashWrite, UnitFault> {
        let gigabytes = |count: f64| megabytes(count * 1000.0);
        let rates = rates.map(|r| megabytes_per_second(r * 1000.0));
        FlashWrite::new(gigabytes(cache), gigabytes(fold), rates)
    }

    #[test]
    fn validate_flash_fills() {
        // whole-drive fills by an independent tester: GB, A, F, GB/s of the phases, measured mean, and
        // the closed form
        const PRINTED: f64 = 5e-6;
        for (size, cache, fold, rates, measured, model) in [
            (1000.0, 280.0, 500.0, [4.5, 2.0, 0.5], 0.80, 0.853081),
            (2000.0, 200.0, 1600.0, [5.0, 3.5, 1.5], 3.1, 2.83019),
            (1000.0, 150.0, 600.0, [2.0, 0.5, 0.4], 0.48, 0.506329),
            (2000.0, 407.0, 1150.0, [6.0, 1.4, 0.7], 1.06, 1.10325),
            (4000.0, 615.0, 2600.0, [5.0, 2.0, 0.6], 1.533, 1.15981),
        ] {
            let found = drive(cache, fold, rates)
                .unwrap()
                .mean_rate(megabytes(size * 1000.0));
            let found = in_megabytes_per_second(found) / 1000.0;
            assert_relative_eq!(found, model, max_relative = PRINTED);
            let off = found / measured - 1.0;
            // the last drive's third phase is not constant
            let bound = if size > 3000.0 { 0.25 } else { 0.09 };
            assert!(off.abs() < bound, "{size}: {off}");
        }
    }

    #[test]
    fn phases_out_of_order_are_refused() {
        assert!(drive(10.0, 5.0, [1.0; 3]).is_err());
        assert!(drive(1.0, 5.0, [1.0, 0.0, 1.0]).is_err());
        assert!(drive(-1.0, 5.0, [1.0; 3]).is_err());
        let made = drive(1.0, 5.0, [3.0, 2.0, 1.0]).unwrap();
        assert_relative_eq!(
            in_megabytes_per_second(made.mean_rate(megabytes(0.0))),
            3000.0
        );
    }

    #[test]
    fn the_last_byte_has_the_rate_of_its_phase() {
        let made = drive(1.0, 5.0, [3.0, 2.0, 1.0]).unwrap();
        for (gigabytes, rate) in [(0.5, 3.0), (1.0, 3.0), (1.5, 2.0), (5.0, 2.0), (5.5, 1.0)] {
            let found = made.rate_at(megabytes(gigabytes * 1000.0));
            assert_eq!(found, megabytes_per_second(rate * 1000.0), "{gigabytes}");
        }
        let steady = FlashWrite::steady(megabytes_per_second(7.0));
        assert_eq!(steady.rate_at(megabytes(1e9)), megabytes_per_second(7.0));
        assert_eq!(
            steady.time(megabytes(7e3)),
            narrows_units::quantity::seconds(1000.0)
        );
    }

    #[test]
    fn verify_cache_shrinks_with_fill() {
        let at = |fill: f64, share: f64, bits: f64| {
            fast_cache(terabytes(1.0), ratio(fill), ratio(share), bits)
        };
        assert!(at(0.0, 0.2, 3.0) > at(0.5, 0.2, 3.0) && at(0.5, 0.2, 3.0) > at(0.9, 0.2, 3.0));
        assert_eq!(at(1.0, 0.2, 3.0), terabytes(0.0));
        // a third of what is free with three bits a cell, a quarter with four
        assert_eq!(at(0.0, 0.3, 4.0), terabytes(0.25));
        assert_eq!(at(0.5, 0.9, 4.0), terabytes(0.125));
        assert_eq!(at(0.0, 0.5, 3.0), terabytes(1.0 / 3.0));
        assert_eq!(at(0.0, 0.5, 1.0), terabytes(0.5));
    }

    #[test]
    fn verify_folding_begins_behind_the_cache_and_in_free_space() {
        let at = |cache: f64, fill: f64, share: f64| {
            folding_point(terabytes(cache), terabytes(1.0), ratio(fill), ratio(share))
        };
        assert_eq!(at(0.1, 0.0, 0.6), terabytes(0.6));
        assert_eq!(at(0.1, 0.5, 0.6), terabytes(0.3));
        assert_eq!(at(0.3, 0.5, 0.4), terabytes(0.3));
    }

    proptest! {
        #[test]
        fn property_longer_writes_never_average_more(
            written in 1.0..5000.0_f64, more in 1.0..3.0_f64,
        ) {
            let made = drive(280.0, 500.0, [4.5, 2.0, 0.5]).unwrap();
            let rate = |w: f64| in_megabytes_per_second(made.mean_rate(megabytes(w * 1000.0)));
            prop_assert!(rate(written * more) <= rate(written) * (1.0 + 1e-12));
        }

        #[test]
        fn property_cache_and_folding_lie_within_the_free_space(
            fill in 0.0..1.0_f64, share in 0.0..1.0_f64, fold in 0.0..1.0_f64, bits in 1.0..4.0_f64,
        ) {
            let space = terabytes(1.0) * (ratio(1.0) - ratio(fill));
            let cache = fast_cache(terabytes(1.0), ratio(fill), ratio(share), bits);
            let folds = folding_point(cache, terabytes(1.0), ratio(fill), ratio(fold));
            prop_assert!(cache <= folds && folds <= space);
        }
    }
}
