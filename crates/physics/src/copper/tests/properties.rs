use super::*;
use crate::copper::likelihood::MarginLaw;
use crate::copper::rows::Normal;
use proptest::prelude::*;

/// Rounding of a sum over the band, in dB.
const ROUNDING: f64 = 1e-9;

fn rates() -> impl Strategy<Value = u64> {
    prop::sample::select(vec![100_u64, 1000, 2500, 5000, 10000])
}

fn categories() -> impl Strategy<Value = Category> {
    prop::sample::select(Category::ALL.to_vec())
}

fn bundles() -> impl Strategy<Value = Bundle> {
    prop::sample::select(Bundle::ALL.to_vec())
}

prop_compose! {
    fn runs()(
        category in categories(),
        bundle in bundles(),
        length in 5.0..95.0_f64,
        connections in 0_u32..8,
        celsius in 0.0..60.0_f64,
        neighbours in 0_u32..6,
    ) -> RunPhysics {
        RunPhysics {
            bundle,
            connections,
            temperature: Celsius(celsius),
            neighbours: Neighbours::SameRate(neighbours),
            ..RunPhysics::new(category, metres(length))
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn property_margin_falls_with_length_warmth_connections_and_neighbours(
        run in runs(), megabits in rates(), more in 0.1..1.0_f64,
    ) {
        let c = copper();
        let before = margin(&c, megabits, run.clone());
        let worse: [fn(&mut RunPhysics, f64); 4] = [
            |r, more| r.length += metres(5.0 * more),
            |r, more| r.temperature.0 += 20.0 * more,
            |r, _| r.connections += 1,
            |r, _| if let Neighbours::SameRate(n) = &mut r.neighbours { *n += 1 },
        ];
        for (i, worsen) in worse.into_iter().enumerate() {
            let mut after = run.clone();
            worsen(&mut after, more);
            let after = margin(&c, megabits, after);
            prop_assert!(after <= before + ROUNDING, "{i}: {before} to {after}");
        }
    }

    #[test]
    fn property_a_better_category_or_bundle_never_hurts(
        run in runs(), megabits in rates(), category in categories(), bundle in bundles(),
    ) {
        let c = copper();
        let law = |category, bundle| {
            let mut run = run.clone();
            run.bundle = bundle;
            run.category = category;
            run.screen = if category >= Category::Cat7 {
                crate::copper::Screen::Bonded
            } else {
                crate::copper::Screen::Plain
            };
            let phy = c.phys.of(rate(megabits)).unwrap();
            (margin(&c, megabits, run.clone()), c.margin_law(&run, phy).unwrap().mean)
        };
        let (limit, mean) = law(run.category, run.bundle);
        let (better_limit, better_mean) = law(run.category.max(category), run.bundle);
        prop_assert!(better_limit >= limit - ROUNDING, "{limit} to {better_limit}");
        prop_assert!(better_mean >= mean - ROUNDING, "{mean} to {better_mean}");
        let (better_limit, better_mean) = law(run.category, run.bundle.max(bundle));
        prop_assert!(better_limit >= limit - ROUNDING, "{limit} to {better_limit}");
        prop_assert!(better_mean >= mean - ROUNDING, "{mean} to {better_mean}");
    }

    #[test]
    fn property_one_more_neighbour_at_any_rate_never_helps(
        run in runs(), megabits in rates(), first in rates(), second in rates(),
        counts in (0_u32..9, 0_u32..9),
    ) {
        let c = copper();
        let with = |a: u32, b: u32| {
            let mut run = run.clone();
            run.neighbours = Neighbours::Rates(vec![(rate(first), a), (rate(second), b)]);
            margin(&c, megabits, run)
        };
        let before = with(counts.0, counts.1);
        prop_assert!(with(counts.0 + 1, counts.1) <= before + ROUNDING);
        prop_assert!(with(counts.0, counts.1 + 1) <= before + ROUNDING);
    }

    #[test]
    fn property_chance_rises_with_the_margin_and_falls_with_what_is_needed(
        mean in -30.0..30.0_f64, more in 0.0..5.0_f64, sigma in 0.5..5.0_f64,
    ) {
        let law = |mean| MarginLaw {
            mean,
            sigma,
            fault_share: 0.05,
            fault: Normal { mean: 8.0, sigma: 4.0 },
        };
        prop_assert!(law(mean + more).chance(0.0) >= law(mean).chance(0.0));
        prop_assert!(law(mean).chance(more) <= law(mean).chance(0.0));
        prop_assert!((0.0..=1.0).contains(&law(mean).chance(0.0)));
        prop_assert!(law(mean).quantile(0.05) <= law(mean).quantile(0.5));
    }

    #[test]
    fn property_chances_are_nested(run in runs()) {
        let verdicts = copper().carries(&run).unwrap();
        for (rate, verdict) in &verdicts {
            prop_assert!(verdict.p_hold <= verdict.p_link);
            for (other, higher) in &verdicts {
                if other > rate {
                    prop_assert!(verdict.p_link >= higher.p_link);
                    prop_assert!(verdict.p_hold >= higher.p_hold);
                }
            }
        }
    }
}

#[test]
fn verify_neighbours_at_one_gigabit_hurt_a_run_at_two_and_a_half() {
    // The exception: 1 Gb/s sends more below 60 MHz than 2.5 Gb/s does, about 1 dB of margin.
    let c = copper();
    let mut run = run(Category::Cat5e, Bundle::Tight, 100.0);
    let same = margin(&c, 2500, run.clone());
    run.neighbours = at_rate(1000, 6);
    let slower = margin(&c, 2500, run);
    assert!(slower < same - 0.5, "{same} to {slower}");
}
