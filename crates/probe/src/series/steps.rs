//! Where a rate changes from one level to another.

use super::mean::mean;

/// Fewest values of a part between two steps.
const LEAST_PART: usize = 4;
/// A step that people care for, as a share of the mean of all. Judgement.
const LEAST_STEP: f64 = 0.1;
/// Noise is never taken as less than this share of the mean.
const LEAST_NOISE: f64 = 0.005;
/// Median of the absolute value of a standard normal number.
const MEDIAN_OF_NORMAL: f64 = 0.674_489_8;
/// So many steps and more have no single mean.
pub const MANY_STEPS: usize = 3;

/// A series cut where its level changes.
#[derive(Clone, Debug, PartialEq)]
pub struct Levels {
    /// Index of the first value behind each step, ascending.
    pub steps: Vec<usize>,
    /// Mean of each part, one more than there are steps.
    pub means: Vec<f64>,
}

/// The median; 0 of nothing.
pub fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    let at = |i: usize| sorted.get(i).copied().unwrap_or(0.0);
    if n % 2 == 1 {
        at(n / 2)
    } else if n == 0 {
        0.0
    } else {
        f64::midpoint(at(n / 2 - 1), at(n / 2))
    }
}

fn median_difference(x: &[f64], lag: usize) -> f64 {
    let differences: Vec<f64> = x
        .iter()
        .zip(x.iter().skip(lag))
        .map(|(a, b)| (a - b).abs())
        .collect();
    median(&differences)
}

/// Noise from neighbours, so that steps do not count: median |`x_i` - `x_i+1`| / (.6744898 sqrt 2), at
/// least .5 % of the mean.
///
/// Symbols: x, values; answer in their unit. Assumes noise that is near normal. Test: `validate_steps`.
pub fn noise(x: &[f64]) -> f64 {
    let by_neighbours = median_difference(x, 1) / (MEDIAN_OF_NORMAL * std::f64::consts::SQRT_2);
    by_neighbours.max(LEAST_NOISE * mean(x).abs())
}

/// Mean square of the differences at a lag, the largest tenth left out: those are steps and pauses.
fn square_difference(x: &[f64], lag: usize) -> f64 {
    let mut squares: Vec<f64> = x
        .iter()
        .zip(x.iter().skip(lag))
        .map(|(a, b)| (a - b) * (a - b))
        .collect();
    squares.sort_by(f64::total_cmp);
    squares.truncate(squares.len() - squares.len() / 10);
    mean(&squares)
}

/// Integrated time of the noise, from differences of first and second neighbours, which steps hardly
/// touch: `d_2` / `d_1` = 1 + rho, tau = (1 + rho) / (1 - rho)^2.
///
/// The second power: [`noise`] is taken from neighbours and so is too small by 1 - rho. Symbols: `d_k`, mean square
/// of differences at lag k; rho, first correlation. Range: rho 0 to .9. Assumes first-order noise. Test:
/// `verify_that_steady_runs_have_no_steps`.
pub fn noise_correlated(x: &[f64]) -> f64 {
    let first = square_difference(x, 1);
    if first <= 0.0 {
        return 1.0;
    }
    let rho = (square_difference(x, 2) / first - 1.0).clamp(0.0, 0.9);
    (1.0 + rho) / ((1.0 - rho) * (1.0 - rho))
}

/// What a step has to gain: 4 ln n sigma^2 tau.
///
/// Symbols: n, count of values; sigma, [`noise`]; tau, [`noise_correlated`], 1 for white noise. Source: Yao 1988 on
/// penalties, with tau for correlated noise. Test: `validate_steps`.
pub fn threshold(count: usize, noise: f64, tau: f64) -> f64 {
    4.0 * (count as f64).ln() * noise * noise * tau
}

/// The best split and its gain k (n - k) / n (mean1 - mean2)^2, both parts of at least four values.
///
/// Test: `validate_steps`.
pub fn best_split(x: &[f64]) -> Option<(usize, f64)> {
    let n = x.len();
    let mut best: Option<(usize, f64)> = None;
    let total: f64 = x.iter().sum();
    let mut before = 0.0;
    for (k, value) in x.iter().enumerate() {
        if k >= LEAST_PART && n - k >= LEAST_PART {
            let difference = before / k as f64 - (total - before) / (n - k) as f64;
            let gain = (k * (n - k)) as f64 / n as f64 * difference * difference;
            if best.is_none_or(|(_, most)| gain > most) {
                best = Some((k, gain));
            }
        }
        before += value;
    }
    best
}

/// Splits again and again where a split gains enough and the levels differ by a tenth of the mean.
///
/// Symbols: x, values; tau, see [`threshold`]. Source: binary segmentation. Test: `validate_steps`.
pub fn levels_with(x: &[f64], tau: f64) -> Levels {
    let least = threshold(x.len(), noise(x), tau);
    let size = LEAST_STEP * mean(x).abs();
    let mut steps = Vec::new();
    let mut open = vec![(0, x.len())];
    while let Some((start, end)) = open.pop() {
        let values = x.get(start..end).unwrap_or_default();
        let Some((k, gain)) = best_split(values) else {
            continue;
        };
        let (front, back) = values.split_at(k);
        if gain > least && (mean(front) - mean(back)).abs() > size {
            let at = start + k;
            steps.push(at);
            open.push((start, at));
            open.push((at, end));
        }
    }
    steps.sort_unstable();
    let mut edges = vec![0];
    edges.extend(&steps);
    edges.push(x.len());
    let means = edges
        .windows(2)
        .map(|edge| match edge {
            [from, to] => mean(x.get(*from..*to).unwrap_or_default()),
            _ => 0.0,
        })
        .collect();
    Levels { steps, means }
}

/// [`levels_with`] the correlation that the noise itself shows.
pub fn levels(x: &[f64]) -> Levels {
    levels_with(x, noise_correlated(x))
}
