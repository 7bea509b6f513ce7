use crate::copper::{Fibre, FibreGrade, Optic, TwinaxCoding};
use FibreGrade::{Om1, Om2, Om3, Om4, Os1, Os2};
use narrows_units::catalogue::Catalogue;
use narrows_units::quantity::{LinkRate, metres};

fn fibre() -> Fibre {
    Fibre::new(&Catalogue::embedded().unwrap()).unwrap()
}

#[test]
#[rustfmt::skip]
fn validate_fibre_reach() {
    // IEEE 802.3: metres by optic and grade.
    let rows: [(Optic, &[(FibreGrade, f64)]); 14] = [
        (Optic::OneSx, &[(Om1, 275.0), (Om2, 550.0), (Om3, 550.0), (Om4, 550.0)]),
        (Optic::OneLx, &[(Om1, 550.0), (Om2, 550.0), (Os2, 5000.0)]),
        (Optic::TenSr, &[(Om1, 33.0), (Om2, 82.0), (Om3, 300.0), (Om4, 400.0)]),
        (Optic::TenLrm, &[(Om1, 220.0), (Om2, 220.0), (Om3, 220.0)]),
        (Optic::TenLr, &[(Os2, 10_000.0)]),
        (Optic::TenEr, &[(Os2, 30_000.0)]),
        (Optic::TwentyFiveSr, &[(Om3, 70.0), (Om4, 100.0)]),
        (Optic::TwentyFiveLr, &[(Os2, 10_000.0)]),
        (Optic::FortySr4, &[(Om3, 100.0), (Om4, 150.0)]),
        (Optic::FortyLr4, &[(Os2, 10_000.0)]),
        (Optic::HundredSr4, &[(Om3, 70.0), (Om4, 100.0)]),
        (Optic::HundredDr, &[(Os2, 500.0)]),
        (Optic::HundredFr1, &[(Os2, 2000.0)]),
        (Optic::HundredLr4, &[(Os2, 10_000.0)]),
    ];
    let fibre = fibre();
    for (optic, grades) in rows {
        for (grade, reach) in grades {
            let at = fibre.carries(optic, *grade, metres(*reach), 1, 0).unwrap();
            assert_eq!(at.reach, metres(*reach), "{optic:?} {grade:?}");
            assert!(at.within_reach);
            let beyond = fibre.carries(optic, *grade, metres(reach + 1.0), 0, 0).unwrap();
            assert!(!beyond.within_reach && !beyond.carries());
        }
    }
    assert!(fibre.carries(Optic::TwentyFiveSr, Om1, metres(10.0), 0, 0).is_none());
}

#[test]
fn verify_loss_budget_of_a_short_and_a_patched_run() {
    // 150 m of OM3 at 3 dB/km and two mated pairs: 0.45 + 1.5 = 1.95 dB of the 2.6 dB.
    let fibre = fibre();
    let good = fibre
        .carries(Optic::TenSr, Om3, metres(150.0), 2, 0)
        .unwrap();
    assert!((good.loss.0 - 1.95).abs() < 1e-12 && (good.left.0 - 0.65).abs() < 1e-12);
    assert!(good.carries());
    // One pair and a splice more are too much, although the reach is not touched.
    let patched = fibre
        .carries(Optic::TenSr, Om3, metres(150.0), 3, 1)
        .unwrap();
    assert!(patched.within_reach && !patched.carries());
    // Old single mode loses more.
    let old = fibre
        .carries(Optic::TenLr, Os1, metres(1000.0), 0, 0)
        .unwrap();
    let new = fibre
        .carries(Optic::TenLr, Os2, metres(1000.0), 0, 0)
        .unwrap();
    assert!((old.loss.0 - 1.0).abs() < 1e-12 && (new.loss.0 - 0.4).abs() < 1e-12);
    assert!(
        fibre
            .carries(Optic::TenLrm, Om1, metres(100.0), 2, 0)
            .unwrap()
            .mode_conditioning
    );
    assert!(!good.mode_conditioning);
}

#[test]
fn validate_core_step() {
    // Cores of 62.5 and 50 um, numerical apertures of 0.275 and 0.20 (IEC 60793-2-10): to a tenth.
    const TENTH: f64 = 0.05;
    let fibre = fibre();
    let expected = 20.0 * (62.5_f64 / 50.0).log10() + 20.0 * (0.275_f64 / 0.20).log10();
    for (cable, cords) in [(Om1, Om3), (Om3, Om1), (Om1, Om4), (Om2, Om1)] {
        let found = fibre.core_step(cable, Some(cords)).0;
        assert!((found - expected).abs() <= TENTH, "{found} not {expected}");
    }
    for (cable, cords) in [
        (Om1, Some(Om1)),
        (Om2, Some(Om4)),
        (Os1, Some(Os2)),
        (Om1, None),
    ] {
        assert!(fibre.core_step(cable, cords).0.abs() < f64::EPSILON);
    }
    assert!(!Om3.mates(Os2) && Os1.mates(Os2) && Om1.mates(Om4));
    // 20 m of OM1 carry 10GBASE-SR with two mated pairs, and not with cords of OM3
    let whole = fibre
        .carries(Optic::TenSr, Om1, metres(20.0), 2, 0)
        .unwrap();
    let mixed = whole.less(fibre.core_step(Om1, Some(Om3)));
    assert!(whole.carries() && mixed.within_reach && !mixed.carries());
    assert!((mixed.loss.0 + mixed.left.0 - whole.loss.0 - whole.left.0).abs() < 1e-12);
}

#[test]
fn validate_twinax_reach() {
    let fibre = fibre();
    let reach = |megabits, coding| fibre.twinax_reach(LinkRate::from_megabits(megabits), coding);
    for (megabits, strong) in [(10_000, 7.0), (25_000, 5.0), (40_000, 7.0), (100_000, 5.0)] {
        assert_eq!(reach(megabits, TwinaxCoding::Strong), Some(metres(strong)));
    }
    assert_eq!(reach(25_000, TwinaxCoding::Plain), Some(metres(3.0)));
    assert_eq!(reach(1000, TwinaxCoding::Plain), None);
}
