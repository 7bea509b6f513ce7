//! Products of many densities: hundreds of readings multiply to more and to less than a float holds.

/// A number times two to a power that is kept beside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scaled {
    value: f64,
    power: i32,
}

/// Powers are kept in steps of so many, so that few numbers need one.
const STEP: i32 = 512;

/// Two to the power of a step.
const LARGE: f64 = f64::from_bits((1023 + STEP as u64) << 52);

/// One over it.
const SMALL: f64 = 1.0 / LARGE;

impl Scaled {
    pub(super) const ONE: Self = Self::of(1.0);

    pub(super) const fn of(value: f64) -> Self {
        Self { value, power: 0 }
    }

    /// The product; exact to the rounding of one multiplication.
    #[must_use]
    pub(super) fn times(self, by: Self) -> Self {
        let value = self.value * by.value;
        let power = self.power + by.power;
        if value > LARGE {
            Self {
                value: value * SMALL,
                power: power + STEP,
            }
        } else if value < SMALL && value > 0.0 {
            Self {
                value: value * LARGE,
                power: power - STEP,
            }
        } else {
            Self { value, power }
        }
    }

    /// The number times two to a power that another number was taken over.
    #[must_use]
    pub(super) const fn shifted(self, power: i32) -> Self {
        Self {
            value: self.value,
            power: self.power + power,
        }
    }

    /// Between two numbers, a straight line in their logarithms; nothing where one of them is nothing.
    #[must_use]
    pub(super) fn between(self, other: Self, share: f64) -> Self {
        if self.value <= 0.0 || other.value <= 0.0 {
            return Self::of(0.0);
        }
        let log = |one: Self| libm::log2(one.value) + f64::from(one.power);
        let log = log(self) * (1.0 - share) + log(other) * share;
        let steps = (log / f64::from(STEP)).round();
        Self {
            value: libm::exp2(log - steps * f64::from(STEP)),
            power: steps as i32 * STEP,
        }
    }

    /// The power of the number; of nothing the least.
    fn power_of(self) -> i32 {
        if self.value > 0.0 {
            self.power
        } else {
            i32::MIN
        }
    }

    /// The number over two to a power; nothing where it is far below.
    pub(super) fn over(self, power: i32) -> f64 {
        match self.power.saturating_sub(power) / STEP {
            0 => self.value,
            1 => self.value * LARGE,
            -1 => self.value * SMALL,
            steps if steps > 0 => f64::INFINITY,
            _ => 0.0,
        }
    }
}

/// The greatest power among some numbers, so that all of them over it are floats; none above zero: 0.
pub(super) fn power(all: impl IntoIterator<Item = Scaled>) -> i32 {
    let most = all.into_iter().map(Scaled::power_of).max();
    most.filter(|&most| most > i32::MIN).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_no_float_holds_is_kept() {
        let many = |factor: f64| (0..1000).fold(Scaled::ONE, |p, _| p.times(Scaled::of(factor)));
        let (large, small) = (many(11.0), many(1e-3));
        assert_eq!(power([large, small, Scaled::of(0.0)]), large.power);
        assert!(large.over(large.power).is_finite() && large.over(large.power) > 0.0);
        assert!(small.over(large.power) == 0.0, "far below is nothing");
        // log2 11 = 3.459431618637..., a thousand times
        let log2 = libm::log2(large.value) + f64::from(large.power);
        assert!((log2 - 3_459.431_618_637).abs() < 1e-8, "{log2}");
        let back = small.times(many(1e3));
        let one = back.over(0);
        assert!((one - 1.0).abs() < 1e-12, "{one}");
        assert_eq!(power([Scaled::of(0.0)]), 0);
    }

    #[test]
    fn between_two_numbers_lies_what_their_logarithms_say() {
        let tiny = (0..200).fold(Scaled::ONE, |p, _| p.times(Scaled::of(1e-3)));
        let half = tiny.between(Scaled::ONE, 0.5);
        // the root of ten to the minus six hundred
        let root = (0..100).fold(Scaled::ONE, |p, _| p.times(Scaled::of(1e-3)));
        let apart = half.over(root.power) / root.over(root.power);
        assert!((apart - 1.0).abs() < 1e-9, "{apart}");
        assert_eq!(Scaled::of(0.0).between(Scaled::ONE, 0.5), Scaled::of(0.0));
    }

    proptest! {
        #[test]
        fn property_what_a_float_holds_is_its_product_to_the_bit(
            factors in prop::collection::vec(1e-3f64..12.0, 0..40),
        ) {
            let plain = factors.iter().fold(1.0, |p, f| p * f);
            let kept = factors.iter().fold(Scaled::ONE, |p, f| p.times(Scaled::of(*f)));
            prop_assert_eq!(kept.over(0).to_bits(), plain.to_bits());
        }
    }
}
