use narrows_core::quantity::{Information, Measure, Ratio, ratio};
use narrows_core::spread::normal_share;
use statrs::function::gamma::gamma_ur;

/// Space that is left, and how it is taken month by month.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Need {
    /// What may still come: the limit less what is held.
    pub room: Information,
    /// Mean growth a month.
    pub mean: Information,
    /// Deviation of a month's growth.
    pub deviation: Information,
}

/// Factors of the months of a year over the mean month; they add up to twelve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seasons([f64; 12]);

/// How far the sum of factors may be from twelve.
const SUM_OF_FACTORS: f64 = 1e-6;

impl Seasons {
    /// All months alike.
    pub const NONE: Self = Self([1.0; 12]);

    /// Factors of January to December; none unless they are not negative and add up to twelve.
    pub fn new(factors: [f64; 12]) -> Option<Self> {
        let sum: f64 = factors.iter().sum();
        let sound = factors.iter().all(|f| *f >= 0.0) && (sum - 12.0).abs() <= SUM_OF_FACTORS;
        sound.then_some(Self(factors))
    }

    /// The same shape with its extremes scaled around the mean month.
    #[must_use]
    pub fn sum_to_twelve(factors: [f64; 12]) -> Self {
        let sum: f64 = factors.iter().sum();
        Self(factors.map(|f| if sum > 0.0 { f * 12.0 / sum } else { 1.0 }))
    }

    /// Sum of the factors of the coming months, `first` from 0 for January; in proportion within a
    /// month.
    pub fn sum(&self, first: usize, months: f64) -> f64 {
        let years = libm::floor(months / 12.0);
        let mut sum = years * self.0.iter().sum::<f64>();
        let mut left = months - years * 12.0;
        let mut at = first;
        while left > 0.0 {
            sum += self.0.get(at % 12).copied().unwrap_or(1.0) * left.min(1.0);
            left -= 1.0;
            at += 1;
        }
        sum
    }
}

/// The chance that an array that only grows is full after so much season (months where there is
/// none): `P(Gamma(shape (mu / s)^2 S, scale s^2 / mu) >= room)`.
///
/// What has come in crosses the limit once, so end point and first passage agree. Assumes
/// independent months. Checked by `validate_full_by_month`, `validate_seasons` and
/// `verify_full_by_simulation`.
pub fn by_gamma(need: &Need, season: f64) -> Ratio {
    let (a, mu, s) = (need.room.base(), need.mean.base(), need.deviation.base());
    if a <= 0.0 {
        return ratio(1.0);
    }
    if season <= 0.0 || mu <= 0.0 {
        return ratio(0.0);
    }
    if s <= 0.0 {
        return ratio(if mu * season >= a { 1.0 } else { 0.0 });
    }
    let shape = (mu / s) * (mu / s) * season;
    ratio(gamma_ur(shape, a * mu / (s * s)))
}

/// The chance by a normal law of what has come in: a fair shortcut while the deviation is below .6 of
/// the mean and more than half a year is left; for lumpy growth its late tail is wrong by a tenth.
///
/// Checked by `validate_full_by_month`.
pub fn by_normal(need: &Need, months: f64) -> Ratio {
    by_normal_of_history(need, f64::INFINITY, months)
}

/// As [`by_normal`], where the mean is known from so many months only: variance
/// `m s^2 + m^2 s^2 / n`. Checked by `validate_mean_from_history`.
pub fn by_normal_of_history(need: &Need, history: f64, months: f64) -> Ratio {
    if months <= 0.0 {
        return ratio(0.0);
    }
    let s = need.deviation.base();
    let variance = months * s * s + months * months * s * s / history;
    let over = need.mean.base() * months - need.room.base();
    ratio(normal_share(over / libm::sqrt(variance)))
}

/// Beyond this exponent the second term of the first passage is nothing.
const LARGEST_EXPONENT: f64 = 500.0;

/// The chance that an array that grows and shrinks has been full by a month: first passage of a
/// walk with drift, `Phi((mu m - a) / (s sqrt m)) + exp(2 mu a / s^2) Phi(-(a + mu m) / (s sqrt m))`.
///
/// Source: Folks and Chhikara 1978. Checked by `validate_full_by_month` and
/// `verify_full_by_simulation`.
pub fn by_inverse_gaussian(need: &Need, months: f64) -> Ratio {
    let (a, mu, s) = (need.room.base(), need.mean.base(), need.deviation.base());
    if a <= 0.0 {
        return ratio(1.0);
    }
    if months <= 0.0 || s <= 0.0 {
        return ratio(if months > 0.0 && mu * months >= a {
            1.0
        } else {
            0.0
        });
    }
    let root = s * libm::sqrt(months);
    let first = normal_share((mu * months - a) / root);
    let exponent = 2.0 * mu * a / (s * s);
    if exponent > LARGEST_EXPONENT {
        return ratio(first);
    }
    let second = libm::exp(exponent) * normal_share(-(a + mu * months) / root);
    ratio((first + second).min(1.0))
}

/// Longest time that is looked at: a century.
const MOST_MONTHS: f64 = 1200.0;

/// Halvings of a century: to a second.
const HALVINGS: usize = 60;

/// The month by which a chance is reached; none within a century. `by` rises with the month.
pub fn when(by: impl Fn(f64) -> Ratio, chance: f64) -> Option<f64> {
    let (mut low, mut high) = (0.0, MOST_MONTHS);
    if by(high).base() < chance {
        return None;
    }
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if by(middle).base() < chance {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(f64::midpoint(low, high))
}

/// The month by which an array that only grows is full with a chance, with seasons from a month of
/// the year.
pub fn gamma_quantile(need: &Need, seasons: &Seasons, first: usize, chance: f64) -> Option<f64> {
    when(|months| by_gamma(need, seasons.sum(first, months)), chance)
}
