use super::*;
use crate::array::durability::{year, yearly};
use approx::assert_relative_eq;
use narrows_units::quantity::percent;
use narrows_units::quantity::units::frequency::per_hour;
use narrows_units::quantity::units::time::hour;
use proptest::prelude::*;

/// Half a unit of the sixth printed digit.
const PRINTED: f64 = 5e-6;

fn hours(count: f64) -> Time {
    Time::new::<hour>(count)
}

fn chain(
    n: usize,
    p: usize,
    afr: f64,
    repair: f64,
    repairs: Repairs,
    h: f64,
    kappa: f64,
) -> RepairChain {
    let repair = (hours(repair), repairs);
    RepairChain::new(n, p, yearly(percent(afr)), repair, ratio(h), ratio(kappa)).unwrap()
}

fn usual(n: usize, p: usize, repair: f64) -> RepairChain {
    chain(n, p, 1.5, repair, Repairs::Parallel, 0.0, 1.0)
}

fn years(chain: &RepairChain) -> f64 {
    (chain.mean_time_to_loss() / year()).get::<one>()
}

fn within(chain: &RepairChain, years: f64) -> f64 {
    chain.loss_within(year() * years).get::<one>()
}

#[test]
fn validate_mean_time_to_loss() {
    // 1.5 % a year, 24 h: years to loss, chance in one and in five years; for one failure the
    // closed form is ((2n - 1) lambda + mu) / (n (n - 1) lambda^2)
    for (n, p, mean, one_year) in [
        (2, 1, 799059.0, 1.24804e-6),
        (3, 2, 1.28653e10, 7.74090e-11),
        (4, 1, 133199.0, 7.48700e-6),
        (8, 1, 28552.0, 3.49273e-5),
        (8, 2, 2.29809e8, 4.33356e-9),
        (12, 2, 5.85114e7, 1.70205e-8),
        (8, 3, 3.32980e12, 2.98810e-13),
        (12, 3, 4.70985e11, 2.11255e-12),
        (4, 0, 16.5414, 0.0586634),
    ] {
        let chain = usual(n, p, 24.0);
        assert_relative_eq!(years(&chain), mean, max_relative = PRINTED);
        assert_relative_eq!(within(&chain, 1.0), one_year, max_relative = PRINTED);
    }
    for (n, p, five) in [
        (2, 1, 6.25391e-6),
        (8, 1, 1.75008e-4),
        (8, 2, 2.17393e-8),
        (4, 0, 0.260864),
    ] {
        assert_relative_eq!(
            within(&usual(n, p, 24.0), 5.0),
            five,
            max_relative = PRINTED
        );
    }
    let serial = chain(8, 2, 1.5, 24.0, Repairs::Serial, 0.0, 1.0);
    assert_relative_eq!(years(&serial), 1.14919e8, max_relative = PRINTED);
    assert_relative_eq!(within(&serial, 1.0), 8.65412e-9, max_relative = PRINTED);
}

#[test]
fn validate_groups() {
    // mirrored pairs and groups: mean time over their number, chances combined
    for (n, p, groups, mean, one_year) in [
        (2, 1, 4, 199765.0, 4.99216e-6),
        (4, 1, 2, 66599.3, 1.49739e-5),
        (6, 2, 2, 3.21693e8, 3.09578e-9),
    ] {
        let chain = usual(n, p, 24.0);
        assert_relative_eq!(years(&chain) / groups as f64, mean, max_relative = PRINTED);
        let found = any_lost(&[(chain, groups)], year());
        assert_relative_eq!(found, one_year, max_relative = PRINTED);
    }
}

#[test]
fn validate_repair_time_enters_by_its_power() {
    for (p, row) in [
        (1, [1.74932e-5, 3.49273e-5, 6.96187e-5, 1.38297e-4]),
        (2, [1.08587e-9, 4.33356e-9, 1.72549e-8, 6.83857e-8]),
    ] {
        for (repair, expected) in [12.0, 24.0, 48.0, 96.0].into_iter().zip(row) {
            assert_relative_eq!(
                within(&usual(8, p, repair), 1.0),
                expected,
                max_relative = PRINTED
            );
        }
    }
}

#[test]
fn validate_correlation() {
    for (p, expected) in [(1, 3.48313e-4), (2, 4.32869e-7)] {
        let chain = chain(8, p, 1.5, 24.0, Repairs::Parallel, 0.0, 10.0);
        assert_relative_eq!(within(&chain, 1.0), expected, max_relative = PRINTED);
    }
}

#[test]
fn validate_published_tables() {
    // Patterson, Gibson and Katz, SIGMOD 1988: mean time to failure of a disk 30000 h, to repair
    // 1 h, 100 data disks. Level 1: 4500000 h. Groups of 10 with one check disk: 820000 h, of 25:
    // 346000 h (printed at two and three digits). Exact chains differ in the fourth digit.
    let rate = Frequency::new::<per_hour>(1.0 / 30000.0);
    let made = |n: usize| {
        RepairChain::new(
            n,
            1,
            rate,
            (hours(1.0), Repairs::Parallel),
            ratio(0.0),
            ratio(1.0),
        )
        .unwrap()
    };
    for (n, groups, printed, half_digit, exact) in [
        (2, 100.0, 4.5e6, 0.05e6, 4.50045e6),
        (11, 10.0, 820000.0, 5000.0, 818755.0),
        (26, 4.0, 346000.0, 1000.0, 346742.0),
    ] {
        let found = made(n).mean_time_to_loss().get::<hour>() / groups;
        assert!((found - printed).abs() <= half_digit, "{n}: {found}");
        assert_relative_eq!(found, exact, max_relative = PRINTED);
    }
    // Elerath and Pecht 2007, base case: seven data drives and one, 461386 h, 12 h: 36162 years by
    // the approximation, 0.2765 losses in 1000 groups in ten years
    let rate = Frequency::new::<per_hour>(1.0 / 461386.0);
    let chain = RepairChain::new(
        8,
        1,
        rate,
        (hours(12.0), Repairs::Parallel),
        ratio(0.0),
        ratio(1.0),
    )
    .unwrap();
    assert_relative_eq!(years(&chain), 36176.4, max_relative = PRINTED);
    let approximate = 461386.0_f64.powi(2) / (8.0 * 7.0 * 12.0) / 8760.0;
    assert_relative_eq!(approximate, 36162.3, max_relative = PRINTED);
    assert_relative_eq!(
        10.0 / approximate * 1000.0,
        0.276531,
        max_relative = PRINTED
    );
}

#[test]
fn validate_unreadable_sectors_in_the_chain() {
    // 12 TB, 24 h: chance in one year of loss or an unreadable sector, data-sheet rates a bit
    let read = |drives: f64, per_bit: f64| -libm::expm1(-8.0 * per_bit * drives * 12e12);
    for (n, p, rows) in [
        (
            8,
            1,
            [(1e-14, 0.113463), (1e-15, 0.0573011), (1e-16, 0.00783596)],
        ),
        (
            8,
            2,
            [
                (1e-14, 3.47695e-5),
                (1e-15, 1.52772e-5),
                (1e-16, 1.95694e-6),
            ],
        ),
    ] {
        for (per_bit, expected) in rows {
            let h = read((n - p) as f64, per_bit);
            let chain = chain(n, p, 1.5, 24.0, Repairs::Parallel, h, 1.0);
            assert_relative_eq!(within(&chain, 1.0), expected, max_relative = PRINTED);
        }
    }
    for (per_bit, expected) in [(1e-14, 0.0717081), (1e-15, 0.0109802), (1e-16, 0.00115619)] {
        let pair = chain(2, 1, 1.5, 24.0, Repairs::Parallel, read(1.0, per_bit), 1.0);
        assert_relative_eq!(
            any_lost(&[(pair, 4)], year()),
            expected,
            max_relative = PRINTED
        );
    }
}

#[test]
fn verify_long_times_and_short_repairs_stay_exact() {
    // squaring many times against the exponential law that rare losses follow
    let chain = chain(8, 2, 1.5, 0.1, Repairs::Parallel, 0.0, 1.0);
    let rate = 100.0 / years(&chain);
    assert_relative_eq!(
        within(&chain, 100.0),
        -libm::expm1(-rate),
        max_relative = 1e-6
    );
    assert_relative_eq!(within(&usual(4, 0, 24.0), 1e9), 1.0);
    assert!(within(&usual(4, 1, 24.0), -1.0) < 1e-300);
    assert_relative_eq!(
        usual(4, 1, 24.0)
            .loss_within(seconds(f64::INFINITY))
            .get::<one>(),
        1.0
    );
}

#[test]
fn nonsense_is_refused() {
    let made = |n, p, rate: f64, repair, h, kappa| {
        let rate = Frequency::new::<per_hour>(rate);
        let repair = (hours(repair), Repairs::Serial);
        RepairChain::new(n, p, rate, repair, ratio(h), ratio(kappa)).is_ok()
    };
    assert!(made(2, 1, 1e-6, 1.0, 0.0, 1.0));
    assert!(!made(2, 2, 1e-6, 1.0, 0.0, 1.0));
    assert!(!made(2, 1, 0.0, 1.0, 0.0, 1.0));
    assert!(!made(2, 1, 1e-6, 0.0, 0.0, 1.0));
    assert!(!made(2, 1, 1e-6, f64::INFINITY, 0.0, 1.0));
    assert!(!made(2, 1, 1e-6, 1.0, 1.5, 1.0));
    assert!(!made(2, 1, 1e-6, 1.0, f64::NAN, 1.0));
    assert!(!made(2, 1, 1e-6, 1.0, 0.0, 0.5));
}

proptest! {
    #[test]
    fn property_loss_falls_with_redundancy_and_rises_with_repair_time(
        n in 5..20_usize, p in 0..4_usize, afr in 0.2..20.0_f64, repair in 1.0..500.0_f64,
        h in 0.0..0.5_f64, kappa in 1.0..10.0_f64,
    ) {
        for repairs in [Repairs::Parallel, Repairs::Serial] {
            let base = chain(n, p, afr, repair, repairs, h, kappa);
            let more = chain(n, p + 1, afr, repair, repairs, h, kappa);
            prop_assert!(more.mean_time_to_loss() > base.mean_time_to_loss());
            prop_assert!(within(&more, 1.0) <= within(&base, 1.0) * (1.0 + 1e-12));
            let longer = chain(n, p, afr, repair * 1.5, repairs, 0.0, kappa);
            let base = chain(n, p, afr, repair, repairs, 0.0, kappa);
            prop_assert!(within(&longer, 1.0) >= within(&base, 1.0) * (1.0 - 1e-9));
            let share = within(&base, 1.0);
            prop_assert!((0.0..=1.0).contains(&share));
            prop_assert!(within(&base, 2.0) >= share);
        }
    }
}
