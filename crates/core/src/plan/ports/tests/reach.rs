use super::super::reach::{Holds, RateChance, law};
use crate::quantity::{LinkRate, ratio, units::ratio::one};
use proptest::prelude::*;

const RATES: [u64; 5] = [100, 1000, 2500, 5000, 10_000];

fn told(holds: &[(u64, f64)], both: &[u64]) -> Vec<(f64, f64)> {
    let sure: Vec<(u64, f64, f64)> = holds.iter().map(|(rate, p)| (*rate, *p, *p)).collect();
    let found = cases(&sure, both);
    assert!(found.iter().all(|(_, errors, _)| !errors));
    found
        .iter()
        .map(|(rate, _, chance)| (*rate, *chance))
        .collect()
}

/// Rates with the chances of linking and of holding.
fn cases(holds: &[(u64, f64, f64)], both: &[u64]) -> Vec<(f64, bool, f64)> {
    let holds: Holds = holds
        .iter()
        .map(|(rate, link, hold)| RateChance {
            rate: LinkRate::from_megabits(*rate),
            link: ratio(*link),
            hold: ratio(*hold),
        })
        .collect();
    let both: Vec<LinkRate> = both.iter().map(|r| LinkRate::from_megabits(*r)).collect();
    law(&holds, &both)
        .iter()
        .map(|case| (case.rate.megabits(), case.errors, case.chance.get::<one>()))
        .collect()
}

#[test]
fn a_cable_that_links_and_does_not_hold_makes_errors() {
    let found = cases(&[(1000, 1.0, 0.95), (10_000, 0.8, 0.6)], &[1000, 10_000]);
    // of the luck up to 0.6 it holds, up to 0.8 it makes errors; slower it holds up to 0.95
    let expected = [
        (1000.0, true, 0.05),
        (1000.0, false, 0.15),
        (10_000.0, true, 0.2),
        (10_000.0, false, 0.6),
    ];
    assert_eq!(found.len(), expected.len(), "{found:?}");
    for (a, b) in found.iter().zip(expected) {
        assert!(
            (a.0, a.1) == (b.0, b.1) && (a.2 - b.2).abs() < 1e-9,
            "{found:?}"
        );
    }
}

#[test]
fn a_link_comes_up_with_the_fastest_rate_that_the_cable_holds() {
    let holds = [(100, 1.0), (1000, 0.99), (2500, 0.9), (10_000, 0.6)];
    let near = |found: &[(f64, f64)], expected: &[(f64, f64)]| {
        assert_eq!(found.len(), expected.len(), "{found:?}");
        for (a, b) in found.iter().zip(expected) {
            assert!(
                (a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9,
                "{found:?}"
            );
        }
    };
    // of the rates that both ends know
    near(
        &told(&holds, &[100, 1000, 10_000]),
        &[(100.0, 0.01), (1000.0, 0.39), (10_000.0, 0.6)],
    );
    near(
        &told(&holds, &[1000, 2500]),
        &[(1000.0, 0.1), (2500.0, 0.9)],
    );
    // a cable that holds nothing is left with the slowest
    near(&told(&[], &[1000, 10_000]), &[(1000.0, 1.0)]);
    near(&told(&holds, &[]), &[]);
}

proptest! {
    #[test]
    fn property_chances_add_up_and_a_better_cable_is_never_slower(
        chances in prop::collection::vec((0.0..1.0_f64, 0.0..1.0_f64), 5),
    ) {
        let list = |of: &dyn Fn(&(f64, f64)) -> f64| -> Vec<(u64, f64)> {
            RATES.iter().copied().zip(chances.iter().map(of)).collect()
        };
        let worse = told(&list(&|c| c.0.min(c.1)), &RATES);
        let better = told(&list(&|c| c.0.max(c.1)), &RATES);
        for found in [&worse, &better] {
            let sum: f64 = found.iter().map(|(_, chance)| chance).sum();
            prop_assert!((sum - 1.0).abs() < 1e-9);
        }
        for rate in RATES {
            let at_least = |found: &[(f64, f64)]| -> f64 {
                found.iter().filter(|(r, _)| *r >= rate as f64).map(|(_, c)| c).sum()
            };
            // less than a thousandth is not looked at
            prop_assert!(at_least(&better) >= at_least(&worse) - 2e-3);
        }
    }
}
