use super::*;
use crate::cable::{Asked, Budgeted, Carried, PowerReport};
use crate::quantity::Power;

fn watts(number: f64) -> Power {
    Power::new::<units::power::watt>(number)
}

fn in_watts(power: Power) -> f64 {
    power.get::<units::power::watt>()
}

fn power(text: &str) -> PowerReport {
    let report = cabling().report(&said(text), Asked::default()).unwrap();
    report.power.unwrap()
}

#[test]
fn validate_power_at_length_through_words() {
    // Independent computation: four connections, 10 m of 24 AWG cord in 100 m, 45 C. Ours warms the
    // wire by its own heat, a kelvin or so; that is taken off again, contacts apart.
    const TENTH: f64 = 0.06;
    for (text, expected) in [
        ("cat5e 100 m, alone, power class 4, 45 C", 26.4),
        ("cat6 100 m, alone, power class 8, 45 C", 77.5),
        ("cat5e 100 m, alone, power class 8, 45 C", 74.9),
        ("cat5e 100 m, alone, power class 8, 45 C, 26 awg", 67.5),
    ] {
        let report = power(text);
        let (found, heat) = (report.delivered.unwrap(), report.heat.unwrap().likely.0);
        assert!(heat < 1.5, "{text}: {heat}");
        let warmth = 0.00393 * heat / (1.0 + 0.00393 * 25.0);
        let cold = in_watts(found.expected) + in_watts(found.lost) * warmth;
        assert!((cold - expected).abs() <= TENTH, "{text}: {cold}");
    }
    let thin = power("cat5e 100 m, alone, power class 8, 45 C, 26 awg");
    assert_eq!(thin.delivered.unwrap().guaranteed, None);
}

#[test]
fn verify_a_load_takes_the_lowest_class_that_promises_it() {
    for (load, class) in [
        ("3 W", 1),
        ("12 W", 3),
        ("20 W", 4),
        ("51 W", 6),
        ("71 W", 8),
    ] {
        let found = power(&format!("cat6 30 m, power {load}"));
        assert_eq!(found.class, class, "{load}");
        let delivered = found.delivered.unwrap();
        assert!((in_watts(delivered.expected) - in_watts(found.load.unwrap())).abs() < 1e-9);
        assert!(delivered.source <= found.reserved);
    }
    let most = power("cat6 30 m, power 80 W");
    assert_eq!(most.refused.unwrap(), "no class promises 80.0 W");
}

#[test]
fn verify_what_must_not_carry_power_is_refused() {
    let clad = power("cat6 30 m, power class 4, copper-clad");
    assert!(clad.refused.unwrap().contains("fire") && clad.delivered.is_none());
    let two = power("cat5 30 m, two pairs, power class 6");
    assert_eq!(two.refused.unwrap(), "class 6 needs all four pairs");
    assert!(
        power("cat5 30 m, two pairs, power class 4")
            .refused
            .is_none()
    );
    // a class lets its source give only so much
    let much = power("cat6 90 m, power class 4, 29.5 W");
    assert!(much.refused.unwrap().contains("more than class 4 allows"));
}

#[test]
fn verify_a_warm_bundle_takes_from_the_margin() {
    let margin = |text: &str| {
        let report = cabling().report(&said(text), Asked::default()).unwrap();
        let Carried::Copper(rows) = report.carried else {
            panic!()
        };
        rows.last().unwrap().today.margin.unwrap().likely
    };
    let cold = margin("cat6 90 m");
    let warm = margin("cat6 90 m, power class 8, 48 powered, enclosed");
    assert!((cold - warm).0 > 0.5, "{cold:?} {warm:?}");
    let many = power("cat6 90 m, power class 8, 48 powered, enclosed")
        .heat
        .unwrap();
    assert!(!many.within_guidance && many.low < many.likely && many.likely < many.high);
    assert_eq!(power("cat6 90 m, power class 8, 4 neighbours").cables, 5);
    assert_eq!(power("cat6 90 m, power class 8, alone").cables, 1);
    // hotter than the formulas go: the margin is that of the hottest
    let report = cabling().report(
        &said("cat6 90 m, 75 C, power class 8, 300 powered, enclosed"),
        Asked::default(),
    );
    assert!(report.is_ok());
}

#[test]
fn verify_a_stated_load_heats_the_bundle_less_than_its_class() {
    let heat = |text: &str| power(text).heat.unwrap().likely.0;
    let full = heat("cat6 60 m, power class 6, 24 powered");
    let half = heat("cat6 60 m, power class 6, 25.5 W, 24 powered");
    // half of the power takes a little less than half of the current: less is lost on the way
    assert!(half < 0.25 * full && half > 0.15 * full, "{half} of {full}");
    // the class that a load is given by itself heats as that load does
    assert!(
        heat("cat6 60 m, power 20 W, 24 powered") < heat("cat6 60 m, power class 4, 24 powered")
    );
    // more than gets through is refused, and counted with all that the class gives
    let much = power("cat6 90 m, power class 4, 29.5 W, 24 powered");
    assert!(much.refused.is_some());
    let class = heat("cat6 90 m, power class 4, 24 powered");
    assert!((much.heat.unwrap().likely.0 - class).abs() < 1e-12);
}

#[test]
fn verify_the_sum_is_held_against_what_the_switch_has() {
    let reports = [
        power("cat6 30 m, power class 4"),
        power("cat6 30 m, power 6 W"),
    ];
    let sum = Budgeted::of(&reports, Some(watts(37.0))).unwrap();
    // 30 W of class 4 and 7 W of class 2
    assert!((in_watts(sum.reserved) - 37.0).abs() < 1e-9 && sum.fits());
    assert!(sum.drawn < sum.reserved && in_watts(sum.drawn) > 36.0);
    assert!(!Budgeted::of(&reports, Some(watts(36.9))).unwrap().fits());
    assert!(Budgeted::of(&reports, None).unwrap().fits());
    assert_eq!(Budgeted::of(&[], Some(watts(1.0))), None);
}
