//! Whether a twisted-pair run carries a rate: interim rows of reach, until physics replaces them.

use crate::catalogue::{Catalogue, Reach};
use crate::quantity::{Length, LinkRate, units};

/// Normal score of nine in ten.
const SCORE_90: f64 = 1.2815515655446004;

/// No standard promises a twisted-pair link beyond this length.
const PROMISED_METRES: f64 = 100.0;

/// Beyond it a metre counts as three: echo and delay windows end there. Judgement.
const BEYOND_PROMISE: f64 = 3.0;

/// The normal score of the chance that a run carries a rate: `z90 (L0 - L) / (L0 - L90)`.
///
/// `L` length in metres, `L90` length at which nine runs in ten carry the rate, `L0` length at
/// which the margin is zero. A straight line in the probit, steeper beyond 100 m, where no standard
/// promises a link.
/// Valid for categories 5 to 8; below about 5 m the true chance is a little lower.
/// Source: rows of `reach.csv`. Checked by `verify_reach_rows_give_their_own_chances`.
pub fn carries_score(reach: &Reach, length: Length) -> f64 {
    let metres = length.get::<units::length::meter>();
    let beyond = (metres - PROMISED_METRES).max(0.0);
    let counted = metres + (BEYOND_PROMISE - 1.0) * beyond;
    SCORE_90 * (reach.metres_0 - counted) / (reach.metres_0 - reach.metres_90)
}

/// The rows of one category and bundle for the given rates, the fastest first. Rates without a
/// row are not carried.
pub fn rows<'a>(
    catalogue: &'a Catalogue,
    category: &str,
    bundle: &str,
    rates: &[LinkRate],
) -> Vec<&'a Reach> {
    let mut rows: Vec<&Reach> = catalogue
        .reaches()
        .iter()
        .filter(|r| r.category == category && r.bundle == bundle && rates.contains(&r.rate))
        .collect();
    rows.sort_by_key(|r| std::cmp::Reverse(r.rate));
    rows
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::metres;
    use crate::spread::normal_share;

    #[test]
    fn verify_reach_rows_give_their_own_chances() {
        let catalogue = Catalogue::embedded().unwrap();
        for reach in catalogue.reaches() {
            for (length, chance) in [(reach.metres_90, 0.9), (reach.metres_0, 0.5)] {
                let found = normal_share(carries_score(reach, metres(length)));
                if length <= 100.0 {
                    let expected: f64 = chance;
                    assert!((found - expected).abs() < 1e-9, "{reach:?}: {found}");
                } else {
                    assert!(found < chance, "beyond the promise it is less: {reach:?}");
                }
            }
        }
    }

    #[test]
    fn property_longer_is_never_likelier() {
        let catalogue = Catalogue::embedded().unwrap();
        for reach in catalogue.reaches() {
            for length in 1..150 {
                let (near, far) = (f64::from(length), f64::from(length) + 1.0);
                assert!(carries_score(reach, metres(near)) >= carries_score(reach, metres(far)));
            }
        }
    }

    #[test]
    fn rates_without_a_row_are_not_carried() {
        let catalogue = Catalogue::embedded().unwrap();
        let rates = [
            LinkRate::from_megabits(1000),
            LinkRate::from_megabits(40_000),
        ];
        let found = rows(&catalogue, "cat5e", "loose", &rates);
        assert_eq!(found.len(), 1);
        assert!(rows(&catalogue, "string", "loose", &rates).is_empty());
    }
}
