//! What a signal that was read says of the signals that could be.

use narrows_units::spread::normal_score;

/// A law by its values in order and the share of the probability at or below each.
pub(super) struct Weighed(Vec<(f64, f64)>);

impl Weighed {
    pub(super) fn at(&self, share: f64) -> f64 {
        let at = self.0.partition_point(|(_, below)| *below < share);
        self.0
            .get(at)
            .or(self.0.last())
            .map_or(f64::NAN, |(value, _)| *value)
    }
}

/// Draws weighed by a reading: `w = exp(-(x - y)^2 / (2 r^2))`. Where no draw is near, the
/// reading stands alone.
pub(super) fn posterior(prior: &[f64], read: f64, wide: f64) -> Weighed {
    let mut all: Vec<(f64, f64)> = prior
        .iter()
        .map(|&x| {
            let off = (x - read) / wide;
            (x, libm::exp(-0.5 * off * off))
        })
        .collect();
    let sum: f64 = all.iter().map(|(_, w)| w).sum();
    // fewer than a handful of draws carry it
    if sum < 8.0 {
        let n = prior.len() as f64;
        let alone = (0..prior.len()).map(|i| {
            let share = (i as f64 + 0.5) / n;
            (read + wide * normal_score(share), share)
        });
        return Weighed(alone.collect());
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut below = 0.0;
    for (_, w) in &mut all {
        below += *w / sum;
        *w = below;
    }
    Weighed(all)
}

/// A reading and what was thought before, both normal: `K = s^2/(s^2 + r^2)`, mean `m + K (y - m)`,
/// `s sqrt(1 - K)`. `validate_a_reading` checks it.
pub fn conditioned(mean: f64, sd: f64, read: f64, accuracy: f64) -> (f64, f64) {
    let k = sd * sd / (sd * sd + accuracy * accuracy);
    (mean + k * (read - mean), sd * libm::sqrt(1.0 - k))
}
