use super::outside;
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{
    DataRate, Information, Measure, Ratio, Time, TimePerInformation, UnitFault, exact, ratio,
};

/// A spinning drive's rate from its outer edge inwards.
///
/// Symbols: r0 rate at the outer edge, rho inner over outer rate, C capacity, x share of the
/// capacity counted from the outer edge, k = 1 - rho^2. Tracks at constant areal density hold data
/// in proportion to their radius, so that capacity between radii goes with the difference of their
/// squares and the rate with the radius: `r(x) = r0 sqrt(1 - k x)`.
///
/// Valid for `0 < rho <= 1`, `0 <= x <= 1`; flash is `rho = 1`. Assumes one density over the
/// surface and no defects moved. A straight line in x, as some studies take, is up to 6.4 % lower
/// half-way in. Source: derived; zoned drives as in Ruemmler and Wilkes, Computer 27 (1994) 17.
/// Checked by `validate_zone_model`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Zones {
    outer: DataRate,
    inner_ratio: f64,
    capacity: Information,
}

impl Zones {
    /// From the outer rate, the inner over the outer rate, and the capacity.
    ///
    /// # Errors
    /// Where one of them is zero or not a number, or the ratio is above one.
    pub fn new(
        outer: DataRate,
        inner_ratio: Ratio,
        capacity: Information,
    ) -> Result<Self, UnitFault> {
        let rho = inner_ratio.get::<one>();
        if !(rho > 0.0 && rho <= 1.0) {
            return Err(outside(
                format!("the inner rate is {} of the outer", exact(inner_ratio)),
                "write a ratio above 0 and up to 100 %",
            ));
        }
        let positive = |value: f64| value.is_finite() && value > 0.0;
        if !positive(outer.base()) || !positive(capacity.base()) {
            return Err(outside(
                "a drive without rate or capacity".to_owned(),
                "write both above zero",
            ));
        }
        Ok(Self {
            outer,
            inner_ratio: rho,
            capacity,
        })
    }

    /// Rate at the outer edge.
    pub fn outer(&self) -> DataRate {
        self.outer
    }

    /// Capacity.
    pub fn capacity(&self) -> Information {
        self.capacity
    }

    /// The same drive with all rates scaled, as when it works for something else for a share of
    /// its time. A share of zero gives a rate of zero and passes without end.
    #[must_use]
    pub fn slowed(mut self, share: Ratio) -> Self {
        self.outer = self.outer * share;
        self
    }

    fn k(&self) -> f64 {
        1.0 - self.inner_ratio * self.inner_ratio
    }

    /// `sqrt(1 - k x)`, the rate over the outer rate.
    fn relative(&self, x: f64) -> f64 {
        libm::sqrt(1.0 - self.k() * x.clamp(0.0, 1.0))
    }

    /// Rate at a share of the capacity from the outer edge; shares outside 0 to 1 are cut off.
    pub fn rate(&self, at: Ratio) -> DataRate {
        self.outer * self.relative(at.get::<one>())
    }

    /// Time to pass once over the capacity between two shares.
    ///
    /// `2 C (b - a) / (r0 (sqrt(1 - k a) + sqrt(1 - k b)))`. The whole drive takes
    /// `2 C / (r0 (1 + rho))`: the mean over time is the plain mean of outer and inner rate.
    pub fn pass(&self, from: Ratio, to: Ratio) -> Time {
        let (a, b) = (
            from.get::<one>().clamp(0.0, 1.0),
            to.get::<one>().clamp(0.0, 1.0),
        );
        let sum = self.relative(a) + self.relative(b);
        self.capacity * (2.0 * (b - a).max(0.0)) / (self.outer * sum)
    }

    /// As [`Zones::pass`], with a ceiling that cuts the outer zones off.
    ///
    /// Crossover `x = (1 - (R / r0)^2) / k`: before it the ceiling R holds, behind it the zones.
    pub fn capped_pass(&self, from: Ratio, to: Ratio, ceiling: DataRate) -> Time {
        if ceiling >= self.outer {
            return self.pass(from, to);
        }
        let (a, b) = (
            from.get::<one>().clamp(0.0, 1.0),
            to.get::<one>().clamp(0.0, 1.0),
        );
        let relative = (ceiling / self.outer).get::<one>();
        let crossover = if relative <= self.inner_ratio {
            1.0
        } else {
            (1.0 - relative * relative) / self.k()
        };
        let turn = crossover.clamp(a, b.max(a));
        self.capacity * (turn - a) / ceiling + self.pass(ratio(turn), ratio(b))
    }

    /// Mean rate of a pass between two shares, over time; at equal shares the rate there.
    pub fn mean_rate(&self, from: Ratio, to: Ratio) -> DataRate {
        if to <= from {
            return self.rate(from);
        }
        self.capacity * (to - from) / self.pass(from, to)
    }

    /// Mean time a byte over data spread evenly over the first share of the capacity:
    /// `E[1 / r] = 2 / (r0 (1 + sqrt(1 - k f)))`.
    pub fn mean_cost(&self, filled: Ratio) -> TimePerInformation {
        ratio(2.0) / (self.outer * (1.0 + self.relative(filled.get::<one>())))
    }

    /// Share of the radius that the first share f of the capacity covers:
    /// `(1 - sqrt(1 - k f)) / (1 - rho)`, written without the difference.
    pub fn stroke(&self, filled: Ratio) -> Ratio {
        let f = filled.get::<one>().clamp(0.0, 1.0);
        ratio((1.0 + self.inner_ratio) * f / (1.0 + self.relative(f)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use narrows_units::quantity::units::time::hour;
    use narrows_units::quantity::{
        in_megabytes_per_second, megabytes_per_second, percent, terabytes,
    };
    use proptest::prelude::*;

    /// Half a unit of the sixth printed digit.
    const PRINTED: f64 = 5e-6;

    fn drive() -> Zones {
        Zones::new(megabytes_per_second(250.0), ratio(0.48), terabytes(12.0)).unwrap()
    }

    #[test]
    fn validate_zone_model() {
        // closed forms and, for the whole pass, quadrature: r0 250 MB/s, rho 0.48, 12 TB
        let zones = drive();
        for (x, rate) in [
            (0.1, 240.187),
            (0.25, 224.666),
            (0.5, 196.087),
            (0.75, 162.558),
            (0.9, 138.600),
            (1.0, 120.0),
        ] {
            let found = in_megabytes_per_second(zones.rate(ratio(x)));
            assert_relative_eq!(found, rate, max_relative = PRINTED);
        }
        let hours = |from, to| zones.pass(ratio(from), ratio(to)).get::<hour>();
        assert_relative_eq!(hours(0.0, 1.0), 18.0180, max_relative = PRINTED);
        assert_relative_eq!(hours(0.0, 0.5), 7.47239, max_relative = PRINTED);
        let mean = |to| in_megabytes_per_second(zones.mean_rate(ratio(0.0), ratio(to)));
        assert_relative_eq!(mean(1.0), 185.0, max_relative = 1e-12);
        assert_relative_eq!(mean(0.8), 202.492, max_relative = PRINTED);
        let capped = zones.capped_pass(ratio(0.0), ratio(1.0), megabytes_per_second(204.8));
        assert_relative_eq!(capped.get::<hour>(), 18.7093, max_relative = PRINTED);
        for (f, stroke) in [
            (0.1, 0.0754813),
            (0.25, 0.194874),
            (0.5, 0.414718),
            (0.8, 0.730893),
        ] {
            assert_relative_eq!(
                zones.stroke(ratio(f)).get::<one>(),
                stroke,
                max_relative = PRINTED
            );
        }
    }

    #[test]
    fn verify_the_pass_is_the_integral_of_the_rate() {
        let zones = drive();
        let steps = 100_000;
        let mut hours = 0.0;
        for i in 0..steps {
            let x = (f64::from(i) + 0.5) / f64::from(steps);
            hours += (zones.capacity() / f64::from(steps) / zones.rate(ratio(x))).get::<hour>();
        }
        let pass = zones.pass(ratio(0.0), ratio(1.0)).get::<hour>();
        assert_relative_eq!(hours, pass, max_relative = 1e-9);
        let mean = zones.capacity() * zones.mean_cost(ratio(1.0));
        assert_relative_eq!(mean.get::<hour>(), pass, max_relative = 1e-12);
    }

    #[test]
    fn a_drive_without_zones_is_flat_and_nonsense_is_refused() {
        let flat = Zones::new(megabytes_per_second(500.0), ratio(1.0), terabytes(1.0)).unwrap();
        assert_eq!(flat.rate(ratio(1.0)), megabytes_per_second(500.0));
        assert_relative_eq!(flat.stroke(ratio(0.5)).get::<one>(), 0.5);
        assert_eq!(
            flat.mean_rate(ratio(0.5), ratio(0.5)),
            megabytes_per_second(500.0)
        );
        for (rate, rho, size) in [
            (0.0, 0.5, 1.0),
            (1.0, 0.0, 1.0),
            (1.0, 1.1, 1.0),
            (1.0, 0.5, 0.0),
            (f64::NAN, 0.5, 1.0),
        ] {
            assert!(Zones::new(megabytes_per_second(rate), ratio(rho), terabytes(size)).is_err());
        }
    }

    proptest! {
        #[test]
        fn property_a_ceiling_never_shortens_a_pass(
            rho in 0.2..1.0_f64, a in 0.0..1.0_f64, b in 0.0..1.0_f64, cap in 10.0..400.0_f64,
        ) {
            let zones = Zones::new(megabytes_per_second(250.0), ratio(rho), terabytes(8.0)).unwrap();
            let (a, b) = (a.min(b), a.max(b));
            let free = zones.pass(ratio(a), ratio(b));
            let capped = zones.capped_pass(ratio(a), ratio(b), megabytes_per_second(cap));
            prop_assert!(capped.base() >= free.base() * (1.0 - 1e-12));
            let slowest = zones.capacity() * (b - a) / megabytes_per_second(cap).min(zones.rate(percent(100.0)));
            prop_assert!(capped.base() <= slowest.base() * (1.0 + 1e-12));
        }
    }
}
