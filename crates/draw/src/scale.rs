/// Numbers put to places along a line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scale {
    from: f64,
    to: f64,
    start: f64,
    end: f64,
}

impl Scale {
    /// `from` stands at `start` and `to` at `end`; of one number only, all stand at `start`.
    pub(crate) const fn new(from: f64, to: f64, start: f64, end: f64) -> Self {
        Self {
            from,
            to,
            start,
            end,
        }
    }

    /// The place of a number; what lies outside stands at the edge.
    pub(crate) fn at(&self, value: f64) -> f64 {
        let span = self.to - self.from;
        if span <= 0.0 || value.is_nan() {
            return self.start;
        }
        let share = ((value - self.from) / span).clamp(0.0, 1.0);
        self.start + share * (self.end - self.start)
    }

    /// Whether a number lies beyond the far edge.
    pub(crate) fn beyond(&self, value: f64) -> bool {
        value > self.to
    }

    /// Round numbers between the ends, at most so many steps apart: 1, 2 or 5 times a power of ten.
    pub(crate) fn ticks(&self, most: usize) -> Vec<f64> {
        let step = step(self.to - self.from, most);
        if step <= 0.0 {
            return vec![self.from];
        }
        let first = (self.from / step - 1e-9).ceil();
        let last = (self.to / step + 1e-9).floor();
        let count = (last - first).max(0.0) as usize;
        (0..=count).map(|i| (first + i as f64) * step).collect()
    }
}

/// The smallest round step with which a span takes at most so many.
fn step(span: f64, most: usize) -> f64 {
    if span <= 0.0 || !span.is_finite() {
        return 0.0;
    }
    let rough = span / most.max(1) as f64;
    let power = 10f64.powf(rough.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|step| *step >= rough * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ends_stand_at_the_ends_and_nothing_lies_outside() {
        let scale = Scale::new(-12.0, 30.0, 10.0, 110.0);
        assert!((scale.at(-12.0) - 10.0).abs() < 1e-9);
        assert!((scale.at(30.0) - 110.0).abs() < 1e-9);
        assert!((scale.at(500.0) - 110.0).abs() < 1e-9);
        assert!((scale.at(f64::NAN) - 10.0).abs() < 1e-9);
        assert!(scale.beyond(31.0) && !scale.beyond(30.0));
    }

    #[test]
    fn ticks_are_round_and_few() {
        assert_eq!(
            Scale::new(0.0, 1200.0, 0.0, 1.0).ticks(4),
            [0.0, 500.0, 1000.0]
        );
        assert_eq!(
            Scale::new(0.0, 100.0, 0.0, 1.0).ticks(5),
            [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]
        );
        assert_eq!(Scale::new(3.0, 3.0, 0.0, 1.0).ticks(5), [3.0]);
        for most in 1..9 {
            for span in [0.3, 7.0, 11.6, 999.0, 123_456.0] {
                assert!(Scale::new(0.0, span, 0.0, 1.0).ticks(most).len() <= most + 1);
            }
        }
    }
}
