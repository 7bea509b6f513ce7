use crate::working::Unknown;
use serde::Serialize;

/// Groups into which a range is cut to see how much of the scatter it explains.
const GROUPS: usize = 16;

/// How much of the scatter of a rate one unknown explains.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct UnknownShare {
    /// Site path and field, or a model's name.
    pub id: String,
    /// Correlation ratio: variance of the mean rate given this unknown over variance of the
    /// rate, 0 to 1. Shares of several unknowns need not add up to one.
    #[serde(serialize_with = "super::flow::six_digits")]
    pub share: f64,
    /// What is known of it, as it would be written.
    pub text: String,
    /// Whether a person can find it out: a fact of the site, not a model's own error.
    pub can_be_found_out: bool,
}

/// Correlation ratio of each unknown, the largest first.
///
/// `Var(E[X | U]) / Var(X)` over groups of draws, less what as many groups would show by chance,
/// `(g - 1) / (n - 1)`.
/// Source: Pearson 1905; McKay 1995 for its use on Latin hypercubes.
/// Checked by `verify_shares_of_a_sum_are_its_variances`.
pub(super) fn shares(rates: &[f64], unknowns: &[Unknown]) -> Vec<UnknownShare> {
    let n = rates.len() as f64;
    let mean = rates.iter().sum::<f64>() / n;
    let variance = rates.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / n;
    let mut found: Vec<UnknownShare> = unknowns
        .iter()
        .map(|unknown| {
            let share = if variance > (mean * 1e-9).powi(2) {
                share_of(rates, unknown, mean, variance)
            } else {
                0.0
            };
            UnknownShare {
                id: unknown.id.clone(),
                share,
                text: unknown.text.clone(),
                can_be_found_out: unknown.can_be_found_out,
            }
        })
        .collect();
    found.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.id.cmp(&b.id)));
    found
}

fn share_of(rates: &[f64], unknown: &Unknown, mean: f64, variance: f64) -> f64 {
    let n = rates.len();
    let ends: Vec<u32> = if unknown.cuts.is_empty() {
        (1..=GROUPS).map(|g| (g * n / GROUPS) as u32).collect()
    } else {
        unknown
            .cuts
            .iter()
            .scan(0, |sum, &c| {
                *sum += c;
                Some(*sum)
            })
            .collect()
    };
    // which group a slice belongs to, looked up once
    let mut group_of = vec![0u8; n];
    let mut start = 0;
    for (g, &end) in ends.iter().enumerate() {
        for slot in group_of.iter_mut().take(end as usize).skip(start) {
            *slot = g as u8;
        }
        start = end as usize;
    }
    let mut sums = vec![(0.0f64, 0.0f64); ends.len()];
    for (rate, &slice) in rates.iter().zip(unknown.strata.iter()) {
        let group = group_of.get(slice as usize).copied().unwrap_or(0);
        if let Some((sum, count)) = sums.get_mut(usize::from(group)) {
            *sum += rate;
            *count += 1.0;
        }
    }
    let between: f64 = sums
        .iter()
        .filter(|(_, count)| *count > 0.0)
        .map(|(sum, count)| count * (sum / count - mean).powi(2))
        .sum::<f64>()
        / n as f64;
    let groups = sums.iter().filter(|(_, count)| *count > 0.0).count() as f64;
    let chance = (groups - 1.0) / (n as f64 - 1.0).max(1.0);
    ((between / variance - chance) / (1.0 - chance)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spread::Draws;

    fn unknown(draws: &mut Draws, id: &str) -> Unknown {
        Unknown {
            id: id.to_owned(),
            text: String::new(),
            strata: draws.strata(id),
            cuts: Vec::new(),
            can_be_found_out: id != "model",
        }
    }

    #[test]
    fn verify_shares_of_a_sum_are_its_variances() {
        let n = 4096;
        let mut draws = Draws::new(n);
        let (a, b, c) = (
            unknown(&mut draws, "desk.a"),
            unknown(&mut draws, "desk.b"),
            unknown(&mut draws, "model"),
        );
        // 3 a + b, uniform: nine to one; c plays no part
        let rates: Vec<f64> = a
            .strata
            .iter()
            .zip(b.strata.iter())
            .map(|(&x, &y)| 1e5 + 3.0 * f64::from(x) + f64::from(y))
            .collect();
        let found = shares(&rates, &[a, b, c]);
        // sixteen groups lose 1/256 of a straight line's variance; the rest is sampling
        for (share, expected) in found.iter().zip([0.9, 0.1, 0.0]) {
            assert!((share.share - expected).abs() < 0.02, "{share:?}");
        }
        assert!(found[0].can_be_found_out && !found[2].can_be_found_out);
    }

    #[test]
    fn nothing_explains_a_rate_that_does_not_scatter() {
        let mut draws = Draws::new(64);
        let a = unknown(&mut draws, "desk.a");
        assert!(shares(&[5.0; 64], &[a])[0].share.abs() < 1e-12);
    }
}
