//! The mean of neighbouring windows and how far it may be off.

use narrows_units::quantity::{DataRate, megabytes_per_second};

/// Student's t at 95 %, four and nine degrees of freedom: 5 and 10 batches, two sides of a 90 %
/// interval. Source: any table of the distribution; `verify_of_the_two_quantiles`.
const T_OF_5_BATCHES: f64 = 2.131_846_786;
/// See [`T_OF_5_BATCHES`].
const T_OF_10_BATCHES: f64 = 1.833_112_933;
/// The normal quantile at 95 %.
pub(super) const Z: f64 = 1.644_853_627;

/// The mean.
///
/// Symbols: x, any unit. Range: an empty list has the mean 0. Test: `validate_run_of_a_gigabit_link`.
pub fn mean(x: &[f64]) -> f64 {
    if x.is_empty() {
        return 0.0;
    }
    x.iter().sum::<f64>() / x.len() as f64
}

/// The sample standard deviation (divisor n - 1); 0 for fewer than two values.
///
/// Test: `validate_run_of_a_gigabit_link`.
pub fn deviation(x: &[f64]) -> f64 {
    if x.len() < 2 {
        return 0.0;
    }
    let m = mean(x);
    let squares: f64 = x.iter().map(|v| (v - m) * (v - m)).sum();
    (squares / (x.len() as f64 - 1.0)).sqrt()
}

/// Autocorrelation at a lag: sum of products of deviations over the sum of their squares.
///
/// Symbols: x, any unit; lag in values. 0 where the values are all alike or the lag is too long.
/// Test: `validate_run_of_a_gigabit_link`.
pub fn correlation(x: &[f64], lag: usize) -> f64 {
    let m = mean(x);
    let squares: f64 = x.iter().map(|v| (v - m) * (v - m)).sum();
    if squares <= 0.0 {
        return 0.0;
    }
    let products: f64 = x
        .iter()
        .zip(x.iter().skip(lag))
        .map(|(a, b)| (a - m) * (b - m))
        .sum();
    products / squares
}

/// How many neighbouring values count as one independent value.
///
/// tau = 1 + 2 sum `rho_k`, summed in pairs `rho_2j + rho_2j+1` while a pair is positive, and at least 1.
/// Symbols: rho, autocorrelation at lag k. Range: any series; at most its length.
/// Source: Geyer 1992, "Practical Markov chain Monte Carlo", initial positive sequence.
/// Test: `validate_run_of_a_gigabit_link`.
pub fn correlated(x: &[f64]) -> f64 {
    let mut tau = -1.0;
    let mut lag = 0;
    while lag + 1 < x.len() {
        let pair = correlation(x, lag) + correlation(x, lag + 1);
        if pair <= 0.0 {
            break;
        }
        tau += 2.0 * pair;
        lag += 2;
    }
    tau.clamp(1.0, (x.len() as f64).max(1.0))
}

/// Standard error of the mean with correlated neighbours: s sqrt(tau / n).
///
/// Symbols: s, sample deviation; tau, see [`correlated`]; n, count. Unit of x.
/// Test: `validate_run_of_a_gigabit_link`.
pub fn error(x: &[f64]) -> f64 {
    if x.is_empty() {
        return 0.0;
    }
    deviation(x) * (correlated(x) / x.len() as f64).sqrt()
}

/// Means of so many batches of equal length, in order; what does not fill a batch is left out in
/// front, where a run is least settled.
///
/// Source: Schmeiser 1982 on the number of batches. Test: `validate_run_of_a_gigabit_link`.
pub fn batches(x: &[f64], count: usize) -> Vec<f64> {
    let length = x.len() / count.max(1);
    if length == 0 {
        return Vec::new();
    }
    let skipped = x.len() - length * count;
    x.iter()
        .skip(skipped)
        .copied()
        .collect::<Vec<f64>>()
        .chunks(length)
        .map(mean)
        .collect()
}

/// Half the width of a nominal 90 % interval of the mean, by 5 or 10 batch means:
/// `t_(b-1) s_b / sqrt(b)`.
///
/// Symbols: b, count of batches, 5 or 10 (any other count is taken as 5); `s_b`, their deviation.
/// Test: `validate_run_of_a_gigabit_link`.
pub fn half_width_of_batches(x: &[f64], count: usize) -> f64 {
    let (count, t) = if count == 10 {
        (10, T_OF_10_BATCHES)
    } else {
        (5, T_OF_5_BATCHES)
    };
    let means = batches(x, count);
    t * deviation(&means) / (count as f64).sqrt()
}

/// By how much a half-width is widened, since neighbours are more alike than a short run can show.
/// Judgement; `verify_that_intervals_hold` shows what it brings.
const WIDENED: f64 = 1.2;
/// No error is printed below this share of the mean: a slow wave makes batches too sure. Judgement.
pub const LEAST_ERROR: f64 = 0.01;
/// Below so many values, 5 batches instead of 10.
const FEW: usize = 60;

/// A mean with about nine chances in ten to lie within its half-width.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The mean.
    pub mean: f64,
    /// Half of the interval.
    pub half_width: f64,
    /// How many values stand behind it.
    pub count: usize,
}

impl Estimate {
    /// The lower end, for values in MB/s.
    pub fn low(self) -> DataRate {
        megabytes_per_second((self.mean - self.half_width).max(0.0))
    }

    /// The upper end, for values in MB/s.
    pub fn high(self) -> DataRate {
        megabytes_per_second(self.mean + self.half_width)
    }
}

/// The mean of correlated values with its interval: the wider one of batch means and of integrated
/// time with Student's t for so many independent values as there are, widened by a fifth, and never
/// below 1 % of the mean.
///
/// Symbols: x, values in the unit of the answer. Range: two values or more; with fewer the half-width
/// is the mean. Assumes that ramp and steps are taken out. Coverage on simulated series:
/// `verify_that_intervals_hold`.
pub fn estimate(x: &[f64]) -> Estimate {
    let middle = mean(x);
    let half_width = if x.len() < 2 {
        middle.abs()
    } else {
        let tau = correlated(x).max(persistence(x));
        let independent = (x.len() as f64 / tau).max(2.0);
        let by_time = t_of(independent - 1.0) * deviation(x) * (tau / x.len() as f64).sqrt();
        let by_batches = half_width_of_batches(x, if x.len() < FEW { 5 } else { 10 });
        (WIDENED * by_time.max(by_batches)).max(LEAST_ERROR * middle.abs())
    };
    Estimate {
        mean: middle,
        half_width,
        count: x.len(),
    }
}

/// Integrated time by the first correlation alone, (1 + rho) / (1 - rho), with the bias of short
/// series taken out: rho + (1 + 4 rho) / n.
///
/// Source: Marriott and Pope 1954 for the bias of a first autocorrelation. Range: rho up to .95.
fn persistence(x: &[f64]) -> f64 {
    let n = x.len() as f64;
    let rho = correlation(x, 1);
    let rho = (rho + (1.0 + 4.0 * rho) / n).clamp(0.0, 0.95);
    ((1.0 + rho) / (1.0 - rho)).clamp(1.0, n)
}

/// Student's t at 95 % for so many degrees of freedom, which may be broken: Cornish and Fisher's
/// expansion about the normal quantile.
///
/// Range: 1 and more, where it is below 2 % off from 3 on. Source: Cornish and Fisher 1938; Abramowitz and
/// Stegun 26.7.5. Test: `verify_of_the_two_quantiles`.
pub(super) fn t_of(freedom: f64) -> f64 {
    let v = freedom.max(1.0);
    let z = Z;
    let (z3, z5, z7, z9) = (z.powi(3), z.powi(5), z.powi(7), z.powi(9));
    let first = (z3 + z) / 4.0;
    let second = (5.0 * z5 + 16.0 * z3 + 3.0 * z) / 96.0;
    let third = (3.0 * z7 + 19.0 * z5 + 17.0 * z3 - 15.0 * z) / 384.0;
    let fourth = (79.0 * z9 + 776.0 * z7 + 1482.0 * z5 - 1920.0 * z3 - 945.0 * z) / 92160.0;
    z + first / v + second / (v * v) + third / (v * v * v) + fourth / (v * v * v * v)
}

/// How many values it takes for a half-width: n = tau (z s / eps)^2, at least 1.
///
/// Symbols: s, deviation; tau, see [`correlated`]; eps, half-width; both in one unit.
/// Test: `validate_how_long_to_measure`.
pub fn values_needed(deviation: f64, tau: f64, half_width: f64) -> u64 {
    let times = Z * deviation / half_width;
    (tau * times * times).ceil().max(1.0) as u64
}

/// Where the mean squared error of the mean is least when the first values are dropped: the cut, in
/// values, and the statistic sum (x - mean)^2 / m^2 there. At most half is dropped.
///
/// Symbols: m, count of values left. A check of a ramp, not its rule: where the cut is half, there is no
/// answer. Source: White 1997, marginal standard error rule. Test: `validate_run_of_a_gigabit_link`.
pub fn least_error_cut(x: &[f64]) -> (usize, f64) {
    let mut best = (0, f64::INFINITY);
    for cut in 0..=x.len() / 2 {
        let left = x.get(cut..).unwrap_or_default();
        if left.is_empty() {
            break;
        }
        let m = mean(left);
        let squares: f64 = left.iter().map(|v| (v - m) * (v - m)).sum();
        let statistic = squares / (left.len() * left.len()) as f64;
        if statistic < best.1 {
            best = (cut, statistic);
        }
    }
    best
}

/// As [`least_error_cut`], over means of five; the cut is in values.
///
/// Test: `validate_run_of_a_gigabit_link`.
pub fn least_error_cut_of_fives(x: &[f64]) -> (usize, f64) {
    let fives: Vec<f64> = x.chunks_exact(5).map(mean).collect();
    let (cut, statistic) = least_error_cut(&fives);
    (cut * 5, statistic)
}
