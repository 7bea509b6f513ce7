//! Whether a twisted-pair run carries a rate, as chances over what is not known of it.
//!
//! Every chance comes from the physics of the run ([`crate::copper`]).

use crate::copper::{Bundle, Category, Copper, Installation, RunPhysics};
use narrows_units::quantity::{Length, LinkRate, Ratio, units};
use narrows_units::spread::normal_score;

/// The slowest rate that has a receiver in the physics.
pub const SLOWEST: LinkRate = LinkRate::from_megabits(100);

/// A chance is kept this far from nothing and from certainty, so that its score is a number.
const NEVER: f64 = 1e-12;

/// The normal scores of the chances that a run links at a rate and that it holds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chances {
    /// The rate.
    pub rate: LinkRate,
    /// Score of linking at it.
    pub link: f64,
    /// Score of linking and staying free of errors; never above `link`.
    pub hold: f64,
    /// Score of linking by itself, were there no end to what its standard promises.
    pub without_end: f64,
}

/// The chances of the given rates over a run, the fastest first; a run that carries a fast rate
/// carries the slower ones too. Rates that nothing is known of are left out. Beyond the length that
/// a rate's standard promises no chance is better than even.
///
/// `installed` tells neighbours, connections and temperature; the rest is as in
/// [`RunPhysics::new`]. 10 Mb/s has no receiver of its own here: it takes the chance of 100 Mb/s,
/// which is on the low side, since IEEE 802.3 clause 14 promises it over 100 m of category 3.
/// Source: [`crate::copper`]. Checked by `property_longer_is_never_likelier`,
/// `verify_slower_is_never_less_likely` and `verify_no_promise_is_no_better_than_even`.
pub fn chances(
    copper: &Copper,
    (category, bundle): (&str, &str),
    installed: &Installation,
    length: Length,
    rates: &[LinkRate],
) -> Vec<Chances> {
    let mut rates = rates.to_vec();
    rates.sort_unstable();
    rates.reverse();
    let physics = Category::from_word(category)
        .zip(Bundle::from_word(bundle))
        .map(|(category, bundle)| RunPhysics::installed(category, bundle, length, installed));
    let mut found: Vec<Chances> = Vec::new();
    for rate in rates {
        let alone = physics
            .as_ref()
            .and_then(|run| copper.chances_alone(run, rate.max(SLOWEST)).ok());
        let Some(alone) = alone else { continue };
        let score = |share: Ratio| {
            let share = share.get::<units::ratio::one>();
            normal_score(share.clamp(NEVER, 1.0 - NEVER))
        };
        let (link, hold) = (score(alone.link), score(alone.hold));
        let faster = found
            .last()
            .map_or((f64::NEG_INFINITY, f64::NEG_INFINITY), |c| (c.link, c.hold));
        let link = link.max(faster.0);
        found.push(Chances {
            rate,
            link,
            hold: hold.max(faster.1).min(link),
            without_end: score(alone.without_end),
        });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use narrows_units::catalogue::Catalogue;
    use narrows_units::quantity::metres;
    use narrows_units::spread::normal_share;

    fn chances(
        copper: &Copper,
        words: (&str, &str),
        length: Length,
        rates: &[LinkRate],
    ) -> Vec<Chances> {
        super::chances(copper, words, &Installation::default(), length, rates)
    }

    fn rates() -> Vec<LinkRate> {
        [100, 1000, 2500, 5000, 10_000]
            .map(LinkRate::from_megabits)
            .to_vec()
    }

    fn copper() -> Copper {
        Copper::new(&Catalogue::embedded().unwrap()).unwrap()
    }

    #[test]
    fn what_is_certain_has_a_score_that_is_a_number() {
        let sure = normal_score(1.0 - NEVER);
        for chances in chances(&copper(), ("cat6a", "apart"), metres(2.0), &rates()) {
            for score in [chances.link, chances.hold, chances.without_end] {
                assert!(score.is_finite() && score <= sure, "{chances:?}");
            }
        }
    }

    #[test]
    fn verify_no_promise_is_no_better_than_even() {
        // a hair: the score of one half is zero to rounding
        const EVEN: f64 = 1e-12;
        let copper = copper();
        let at = |length| chances(&copper, ("cat6a", "alone"), metres(length), &rates());
        for length in [100.1, 120.0, 200.0, 499.0] {
            for chance in at(length) {
                assert!(chance.link <= EVEN && chance.hold <= EVEN, "{chance:?}");
            }
        }
        assert!(at(100.0).iter().all(|chance| chance.hold > 1.0));
        // each metre beyond counts as three: it falls on below even odds
        let falling = [100.0, 110.0, 150.0, 250.0].map(|length| at(length)[3].without_end);
        assert!(falling.windows(2).all(|w| w[1] < w[0]), "{falling:?}");
        assert!(at(300.0).iter().all(|chance| chance.link < -2.0));
        // 25 Gb/s is promised over 30 m only; what is slower there is not touched
        let fast = [1000, 10_000, 25_000].map(LinkRate::from_megabits);
        let found = chances(&copper, ("cat8", "alone"), metres(31.0), &fast);
        assert!(found[0].link <= EVEN && found[1].hold > 2.0, "{found:?}");
    }

    #[test]
    fn verify_ten_megabits_have_the_chance_of_a_hundred() {
        let ten = [10, 100].map(LinkRate::from_megabits);
        let found = chances(&copper(), ("cat5", "tight"), metres(90.0), &ten);
        assert_eq!(found.len(), 2);
        assert_eq!(
            (found[1].link, found[1].hold),
            (found[0].link, found[0].hold)
        );
    }

    #[test]
    fn property_longer_is_never_likelier() {
        let copper = copper();
        for category in ["cat5", "cat5e", "cat6", "cat6a"] {
            for bundle in ["tight", "loose", "apart", "alone"] {
                let mut last: Option<Vec<Chances>> = None;
                for length in (5..=140).step_by(15) {
                    let now = chances(
                        &copper,
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
        let copper = copper();
        for length in [10.0, 45.0, 80.0, 130.0] {
            let found = chances(&copper, ("cat5e", "tight"), metres(length), &rates());
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
        let copper = copper();
        let ten = [LinkRate::from_megabits(10_000)];
        for (category, bundle, length, link, hold) in [
            ("cat5e", "loose", 30.0, 0.96, 0.93),
            ("cat5e", "loose", 45.0, 0.82, 0.75),
            ("cat5e", "loose", 60.0, 0.47, 0.36),
            ("cat6", "tight", 55.0, 0.66, 0.55),
        ] {
            let found = chances(&copper, (category, bundle), metres(length), &ten);
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
        let copper = copper();
        assert!(chances(&copper, ("string", "loose"), metres(10.0), &rates()).is_empty());
    }
}
