//! The models' own error by family, estimated from measured rates with few sources drawn towards none, as a
//! law of what the next place will show.

use super::{Family, Row};

/// Standard deviation, in factors of e, within which the mean error of a family is taken to lie before
/// anything was measured.
const MEAN: f64 = 0.25;
/// Standard deviation of single errors before anything was measured, and for how many sources that counts.
const SCATTER: f64 = 0.15;
const SOURCES: f64 = 4.0;
/// Standard scores of the fifth and ninety-fifth percentile.
const SCORE: f64 = 1.644_853_626_951_472_2;

/// The ninety-fifth percentile of Student's law, by its expansion (Abramowitz and Stegun 26.7.5).
fn student(degrees: f64) -> f64 {
    let z = SCORE;
    z + (z.powi(3) + z) / (4.0 * degrees)
        + (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / (96.0 * degrees * degrees)
}

/// Fifth, fiftieth and ninety-fifth percentile of what was measured over what is calculated.
pub(super) fn estimate(rows: &[Row], family: Family, left_out: Option<&str>) -> (f64, f64, f64) {
    let used: Vec<&Row> = rows
        .iter()
        .filter(|r| r.family == family && !r.stated && Some(r.source.as_str()) != left_out)
        .collect();
    let of_source = |source: &str| used.iter().filter(|r| r.source == source).count() as f64;
    let errors: Vec<(f64, f64, f64)> = used
        .iter()
        .map(|r| {
            let (low, middle, high) = r.predicted;
            let scatter = (high / low).ln() / (2.0 * SCORE);
            (
                (r.measured / middle).ln(),
                scatter,
                1.0 / of_source(&r.source),
            )
        })
        .collect();
    let (mut mean, mut variance) = (0.0, SCATTER * SCATTER);
    let (mut of_mean, mut counted) = (MEAN * MEAN, SOURCES);
    // mean and scatter depend on each other; a few rounds settle both to more digits than are written
    for _ in 0..40 {
        let weight = |scatter: f64, share: f64| share / (scatter * scatter + variance);
        let all: f64 = errors.iter().map(|(_, s, w)| weight(*s, *w)).sum();
        let sum: f64 = errors.iter().map(|(e, s, w)| e * weight(*s, *w)).sum();
        of_mean = 1.0 / (all + 1.0 / (MEAN * MEAN));
        mean = sum * of_mean;
        let sources: f64 = errors.iter().map(|(_, _, w)| w).sum();
        let beyond: f64 = errors
            .iter()
            .map(|(e, s, w)| w * ((e - mean) * (e - mean) - s * s))
            .sum();
        counted = sources + SOURCES;
        let before = SOURCES * SCATTER * SCATTER;
        variance = ((beyond + before) / counted).max(0.0025);
    }
    // of a place that was not measured: the mean is not known for sure, and neither is the scatter
    let scatter = (variance + of_mean).sqrt() * student(counted - 1.0);
    ((mean - scatter).exp(), mean.exp(), (mean + scatter).exp())
}
