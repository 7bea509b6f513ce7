use crate::quantity::{DataRate, Measure};
use crate::working::{Unknown, middle};
use serde::Serialize;

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
    /// What each option would mean, where it is a choice that explains a share worth knowing.
    #[serde(skip)]
    pub outcomes: Vec<Outcome>,
}

/// What one option of an unknown would mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// The option, as it would be written.
    pub option: String,
    /// How likely it is.
    pub probability: f64,
    /// The middle rate where it holds.
    pub rate: DataRate,
}

/// Below this share of the scatter nobody asks what an option would mean.
const WORTH_ASKING: f64 = 0.05;

/// The middle rate with each option, the options in the order of the choice; those that no draw has
/// are left out.
fn outcomes(rates: &[f64], unknown: &Unknown) -> Vec<Outcome> {
    let mut found = Vec::with_capacity(unknown.options.len());
    for (index, option) in unknown.options.iter().enumerate() {
        let of_draw = unknown.parts.of_draw.iter();
        let with: Vec<f64> = rates
            .iter()
            .zip(of_draw)
            .filter(|(_, part)| usize::from(**part) == index)
            .map(|(rate, _)| *rate)
            .collect();
        if with.is_empty() {
            continue;
        }
        found.push(Outcome {
            option: option.clone(),
            probability: with.len() as f64 / rates.len().max(1) as f64,
            rate: DataRate::from_base(middle(&with)),
        });
    }
    found
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
    let mut found = Vec::with_capacity(unknowns.len());
    for some in unknowns.chunks(ABREAST) {
        for (unknown, sums) in some.iter().zip(&sums(rates, some)) {
            let share = if variance > (mean * 1e-9).powi(2) {
                share_of(sums, &unknown.parts.sizes, rates.len(), mean, variance)
            } else {
                0.0
            };
            found.push(UnknownShare {
                id: unknown.id.clone(),
                share,
                text: unknown.text.clone(),
                can_be_found_out: unknown.can_be_found_out,
                outcomes: if share >= WORTH_ASKING && unknown.can_be_found_out {
                    outcomes(rates, unknown)
                } else {
                    Vec::new()
                },
            });
        }
    }
    found.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.id.cmp(&b.id)));
    found
}

/// How many unknowns are summed side by side: a sum waits for the one before it in the same
/// group, and several of them fill that time.
const ABREAST: usize = 4;

/// For each of a few unknowns the sum of the rates in each of its parts.
fn sums(rates: &[f64], unknowns: &[Unknown]) -> [[f64; 256]; ABREAST] {
    let mut sums = [[0.0; 256]; ABREAST];
    // the places behind the last unknown repeat it, for nothing
    let parts = |i: usize| {
        let unknown = unknowns.get(i).or(unknowns.last());
        unknown.map_or(&[][..], |u| &u.parts.of_draw)
    };
    let [a, b, c, d] = std::array::from_fn(|i| parts(i).iter());
    for ((((rate, &a), &b), &c), &d) in rates.iter().zip(a).zip(b).zip(c).zip(d) {
        for (sums, part) in sums.iter_mut().zip([a, b, c, d]) {
            sums[usize::from(part)] += rate;
        }
    }
    sums
}

fn share_of(sums: &[f64], sizes: &[u32], draws: usize, mean: f64, variance: f64) -> f64 {
    let n = draws as f64;
    // each slice is drawn once, so a part has as many draws as slices
    let filled = || sums.iter().zip(sizes).filter(|(_, size)| **size > 0);
    let between: f64 = filled()
        .map(|(sum, &size)| f64::from(size) * (sum / f64::from(size) - mean).powi(2))
        .sum::<f64>()
        / n;
    let chance = (filled().count() as f64 - 1.0) / (n - 1.0).max(1.0);
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
            parts: draws.even_parts(id),
            options: Vec::new(),
            can_be_found_out: id != "model",
        }
    }

    #[test]
    fn verify_shares_of_a_sum_are_its_variances() {
        let n = 4096;
        let mut draws = Draws::new(n);
        let strata = ["desk.a", "desk.b"].map(|id| draws.strata(id));
        let (a, b, c) = (
            unknown(&mut draws, "desk.a"),
            unknown(&mut draws, "desk.b"),
            unknown(&mut draws, "model"),
        );
        // 3 a + b, uniform: nine to one; c plays no part
        let rates: Vec<f64> = strata[0]
            .iter()
            .zip(strata[1].iter())
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

    #[test]
    fn verify_each_option_has_its_middle_rate() {
        let mut draws = Draws::new(4);
        let mut signing = unknown(&mut draws, "nas.store.signed");
        signing.parts.of_draw = [0, 1, 1, 0].into();
        signing.parts.sizes = [2, 2].into();
        signing.options = vec!["signed".to_owned(), "unsigned".to_owned()];
        let found = shares(&[100e6, 300e6, 320e6, 100e6], &[signing]);
        let found = &found[0].outcomes;
        assert_eq!(found.len(), 2);
        assert_eq!(found[0].option, "signed");
        assert!((found[0].probability - 0.5).abs() < 1e-12);
        assert!((found[0].rate.base() - 100e6).abs() < 1.0);
        assert!(found[1].rate > found[0].rate);
    }
}
