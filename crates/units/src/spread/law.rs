use statrs::distribution::{ContinuousCDF, Normal};

/// The normal score of the 95th percentile.
pub const SCORE_95: f64 = 1.6448536269514722;

/// Where values cannot lie, in base units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// The least possible value.
    pub least: f64,
    /// The greatest possible value, if there is one.
    pub most: Option<f64>,
}

impl Bounds {
    /// Any positive quantity.
    pub const POSITIVE: Self = Self {
        least: 0.0,
        most: None,
    };
    /// A share of one.
    pub const FRACTION: Self = Self {
        least: 0.0,
        most: Some(1.0),
    };
}

/// A distribution over base units, given by three percentiles.
#[derive(Clone, Debug, PartialEq)]
pub enum Law {
    /// Known.
    Exact(f64),
    /// Positive: the logarithm is normal, with its own width on each side of the median.
    SplitLogNormal {
        /// 5th percentile.
        low: f64,
        /// Median.
        likely: f64,
        /// 95th percentile.
        high: f64,
    },
    /// Bounded: the quantile function is straight between the percentiles, and goes on with the
    /// same slope to the bound.
    Bounded {
        /// 5th percentile.
        low: f64,
        /// Median.
        likely: f64,
        /// 95th percentile.
        high: f64,
        /// Where values cannot lie.
        bounds: Bounds,
    },
}

impl Law {
    /// The law that fits three percentiles: split log-normal for a positive quantity, bounded
    /// where the low end is zero or an upper bound exists.
    ///
    /// Without a likely value it is the geometric mean, or the arithmetic mean for a bounded law.
    pub fn percentiles(
        low: f64,
        likely: Option<f64>,
        high: f64,
        bounds: Bounds,
    ) -> Result<Self, String> {
        let bounded = low <= 0.0 || bounds.most.is_some();
        let likely = likely.unwrap_or_else(|| {
            if bounded {
                f64::midpoint(low, high)
            } else {
                libm::sqrt(low * high)
            }
        });
        if !(low.is_finite() && likely.is_finite() && high.is_finite()) {
            return Err("a number is too large to mean anything".to_owned());
        }
        if !(low <= likely && likely <= high) {
            return Err("the low, likely and high ends are not in order".to_owned());
        }
        if low < bounds.least || bounds.most.is_some_and(|most| high > most) {
            return Err("the range goes beyond what is possible".to_owned());
        }
        #[allow(clippy::float_cmp)] // equal ends mean that nothing is unknown
        if low == high {
            return Ok(Self::Exact(likely));
        }
        Ok(if bounded {
            Self::Bounded {
                low,
                likely,
                high,
                bounds,
            }
        } else {
            Self::SplitLogNormal { low, likely, high }
        })
    }

    /// The law of so many times the value; bounds go with it.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        match *self {
            Self::Exact(value) => Self::Exact(value * factor),
            Self::SplitLogNormal { low, likely, high } => Self::SplitLogNormal {
                low: low * factor,
                likely: likely * factor,
                high: high * factor,
            },
            Self::Bounded {
                low,
                likely,
                high,
                bounds,
            } => Self::Bounded {
                low: low * factor,
                likely: likely * factor,
                high: high * factor,
                bounds: Bounds {
                    least: bounds.least * factor,
                    most: bounds.most.map(|most| most * factor),
                },
            },
        }
    }

    /// The 5th, 50th and 95th percentile.
    pub fn knots(&self) -> (f64, f64, f64) {
        match *self {
            Self::Exact(value) => (value, value, value),
            Self::SplitLogNormal { low, likely, high }
            | Self::Bounded {
                low, likely, high, ..
            } => (low, likely, high),
        }
    }

    /// The value at a share of the probability; see [`Law::at`].
    pub fn quantile(&self, share: f64) -> f64 {
        let score = match self {
            Self::SplitLogNormal { .. } => normal_score(share),
            _ => 0.0,
        };
        self.at(share, score)
    }

    /// The value at a share of the probability, whose normal score the caller already has.
    ///
    /// Split log-normal: `likely * (high / likely)^(score / 1.645)` above the median and
    /// `likely * (likely / low)^(score / 1.645)` below. Bounded: a straight line through
    /// (0.05, low), (0.5, likely), (0.95, high), cut at the bounds.
    pub fn at(&self, share: f64, score: f64) -> f64 {
        match *self {
            Self::Exact(value) => value,
            Self::SplitLogNormal { low, likely, high } => {
                let ratio = if score < 0.0 {
                    likely / low
                } else {
                    high / likely
                };
                likely * libm::exp(score / SCORE_95 * libm::log(ratio))
            }
            Self::Bounded {
                low,
                likely,
                high,
                bounds,
            } => {
                let value = if share < 0.5 {
                    likely - (likely - low) * (0.5 - share) / 0.45
                } else {
                    likely + (high - likely) * (share - 0.5) / 0.45
                };
                value
                    .max(bounds.least)
                    .min(bounds.most.unwrap_or(f64::INFINITY))
            }
        }
    }

    /// The values at all shares and scores; the logarithms are taken once.
    pub fn table(&self, scores: &[f64]) -> Vec<f64> {
        let n = scores.len() as f64;
        match *self {
            Self::SplitLogNormal { low, likely, high } => {
                let below = libm::log(likely / low) / SCORE_95;
                let above = libm::log(high / likely) / SCORE_95;
                scores
                    .iter()
                    .map(|&z| likely * libm::exp(z * if z < 0.0 { below } else { above }))
                    .collect()
            }
            _ => (0..scores.len())
                .map(|i| self.at((i as f64 + 0.5) / n, 0.0))
                .collect(),
        }
    }
}

/// The standard normal quantile.
pub fn normal_score(share: f64) -> f64 {
    // the edges would be infinite, and outside them statrs panics
    let inside = share.clamp(1e-300, 1.0 - 1e-16);
    Normal::standard().inverse_cdf(inside)
}

/// The standard normal distribution function.
pub fn normal_share(score: f64) -> f64 {
    0.5 * libm::erfc(-score / std::f64::consts::SQRT_2)
}
