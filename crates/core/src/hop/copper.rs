//! Whether a twisted-pair run carries a rate, as chances over what is not known of it.
//!
//! From 2.5 Gb/s up the chance comes from the physics of the run ([`crate::copper`]). At 1 Gb/s and
//! below it comes from rows of reach: the physics there is that of an old receiver, and would call one
//! healthy run in thirty a failure, which the trade does not see.

use crate::catalogue::{Catalogue, Reach};
use crate::copper::{Bundle, Category, Copper, RunPhysics};
use crate::quantity::{Length, LinkRate, units};
use crate::spread::normal_score;

/// Normal score of nine in ten.
const SCORE_90: f64 = 1.2815515655446004;

/// No standard promises a twisted-pair link beyond this length.
const PROMISED_METRES: f64 = 100.0;

/// Beyond it a metre counts as three: echo and delay windows end there. Judgement.
const BEYOND_PROMISE: f64 = 3.0;

/// The slowest rate that the physics decides.
const FROM_PHYSICS: LinkRate = LinkRate::from_megabits(2500);

/// The normal scores of the chances that a run links at a rate and that it holds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chances {
    /// The rate.
    pub rate: LinkRate,
    /// Score of linking at it.
    pub link: f64,
    /// Score of linking and staying free of errors; never above `link`.
    pub hold: f64,
}

/// The normal score of the chance that a run carries a rate by a row of reach:
/// `z90 (L0 - L) / (L0 - L90)`.
///
/// `L` length in metres, `L90` length at which nine runs in ten carry the rate, `L0` length at
/// which the margin is zero. A straight line in the probit, steeper beyond 100 m, where no standard
/// promises a link. Valid for categories 5 to 8 at 1 Gb/s and below.
/// Source: rows of `reach.csv`. Checked by `verify_reach_rows_give_their_own_chances`.
pub fn reach_score(reach: &Reach, length: Length) -> f64 {
    let metres = length.get::<units::length::meter>();
    let beyond = (metres - PROMISED_METRES).max(0.0);
    let counted = metres + (BEYOND_PROMISE - 1.0) * beyond;
    SCORE_90 * (reach.metres_0 - counted) / (reach.metres_0 - reach.metres_90)
}

/// The chances of the given rates over a run, the fastest first; a run that carries a fast rate
/// carries the slower ones too. Rates that nothing is known of are left out.
///
/// Six neighbours at the same rate, four connections, 30 C, uncertified: see
/// [`RunPhysics::new`]. Source: [`crate::copper`] and `reach.csv`.
/// Checked by `property_longer_is_never_likelier` and `verify_slower_is_never_less_likely`.
pub fn chances(
    copper: &Copper,
    catalogue: &Catalogue,
    (category, bundle): (&str, &str),
    length: Length,
    rates: &[LinkRate],
) -> Vec<Chances> {
    let mut rates = rates.to_vec();
    rates.sort_unstable();
    rates.reverse();
    let physics = Category::from_word(category)
        .zip(Bundle::from_word(bundle))
        .map(|(category, bundle)| RunPhysics {
            bundle,
            ..RunPhysics::new(category, length)
        });
    let mut found: Vec<Chances> = Vec::new();
    for rate in rates {
        let alone = if rate >= FROM_PHYSICS {
            physics
                .as_ref()
                .and_then(|run| copper.chances_alone(run, rate).ok())
                .map(|(link, hold)| {
                    let score = |share: crate::quantity::Ratio| {
                        normal_score(share.get::<units::ratio::one>())
                    };
                    (score(link), score(hold))
                })
        } else {
            catalogue
                .reaches()
                .iter()
                .find(|r| r.category == category && r.bundle == bundle && r.rate == rate)
                .map(|row| (reach_score(row, length), reach_score(row, length)))
        };
        let Some((link, hold)) = alone else { continue };
        let faster = found
            .last()
            .map_or((f64::NEG_INFINITY, f64::NEG_INFINITY), |c| (c.link, c.hold));
        let link = link.max(faster.0);
        found.push(Chances {
            rate,
            link,
            hold: hold.max(faster.1).min(link),
        });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::metres;
    use crate::spread::normal_share;

    fn rates() -> Vec<LinkRate> {
        [100, 1000, 2500, 5000, 10_000]
            .map(LinkRate::from_megabits)
            .to_vec()
    }

    #[test]
    fn verify_reach_rows_give_their_own_chances() {
        let catalogue = Catalogue::embedded().unwrap();
        for reach in catalogue.reaches() {
            for (length, chance) in [(reach.metres_90, 0.9), (reach.metres_0, 0.5)] {
                let found = normal_share(reach_score(reach, metres(length)));
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
        let copper = Copper::new(&catalogue).unwrap();
        for category in ["cat5", "cat5e", "cat6", "cat6a"] {
            for bundle in ["tight", "loose", "apart", "alone"] {
                let mut last: Option<Vec<Chances>> = None;
                for length in (5..=140).step_by(15) {
                    let now = chances(
                        &copper,
                        &catalogue,
                        (category, bundle),
                        metres(f64::from(length)),
                        &rates(),
                    );
                    assert_eq!(now.len(), 5, "{category} {bundle}");
                    if let Some(last) = &last {
                        for (near, far) in last.iter().zip(&now) {
                            assert!(
                                far.hold <= near.hold + 1e-9,
                                "{category} {bundle} {length} {far:?}"
                            );
                        }
                    }
                    last = Some(now);
                }
            }
        }
    }

    #[test]
    fn verify_slower_is_never_less_likely() {
        let catalogue = Catalogue::embedded().unwrap();
        let copper = Copper::new(&catalogue).unwrap();
        for length in [10.0, 45.0, 80.0, 130.0] {
            let found = chances(
                &copper,
                &catalogue,
                ("cat5e", "tight"),
                metres(length),
                &rates(),
            );
            for pair in found.windows(2) {
                assert!(pair[0].rate > pair[1].rate);
                assert!(pair[0].link <= pair[1].link && pair[0].hold <= pair[1].hold);
                assert!(pair[0].hold <= pair[0].link);
            }
        }
    }

    #[test]
    fn validate_chances_of_published_lengths() {
        // prototype of the channel at 30 C: chance of linking and of holding
        let catalogue = Catalogue::embedded().unwrap();
        let copper = Copper::new(&catalogue).unwrap();
        let ten = [LinkRate::from_megabits(10_000)];
        for (category, bundle, length, link, hold) in [
            ("cat5e", "loose", 30.0, 0.96, 0.93),
            ("cat5e", "loose", 45.0, 0.82, 0.75),
            ("cat5e", "loose", 60.0, 0.47, 0.36),
            ("cat6", "tight", 55.0, 0.66, 0.55),
        ] {
            let found = chances(
                &copper,
                &catalogue,
                (category, bundle),
                metres(length),
                &ten,
            );
            // the delta method agrees with drawn samples within 0.06
            assert!(
                (normal_share(found[0].link) - link).abs() <= 0.06,
                "{category} {length}"
            );
            assert!(
                (normal_share(found[0].hold) - hold).abs() <= 0.06,
                "{category} {length}"
            );
        }
    }

    #[test]
    fn words_that_nothing_is_known_of_carry_nothing() {
        let catalogue = Catalogue::embedded().unwrap();
        let copper = Copper::new(&catalogue).unwrap();
        assert!(
            chances(
                &copper,
                &catalogue,
                ("string", "loose"),
                metres(10.0),
                &rates()
            )
            .is_empty()
        );
    }
}
