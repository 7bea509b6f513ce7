use crate::copper::{
    Amperes, Celsius, Conductor, Gauge, PowerFault, PowerPath, Powering, Surroundings,
};
use narrows_units::catalogue::Catalogue;
use narrows_units::quantity::{Power, metres, units};

/// Half a unit of the first decimal, in watts, and a thousandth for its rounding.
const TENTH_WATT: f64 = 0.051;

fn powering() -> Powering {
    Powering::new(&Catalogue::embedded().unwrap()).unwrap()
}

fn in_watts(power: Power) -> f64 {
    power.get::<units::power::watt>()
}

fn path(gauge: Gauge, length: f64) -> PowerPath {
    PowerPath {
        cable: metres(length - 10.0),
        cable_gauge: gauge,
        cords: metres(10.0),
        cord_gauge: Gauge::Awg24,
        connections: 4,
        conductor: Conductor::Copper,
        temperature: Celsius(45.0),
    }
}

#[test]
fn validate_power_classes() {
    // IEEE 802.3 clauses 33 and 145: power at the far end through the class's own resistance.
    let powering = powering();
    let rows = [
        (1, 3.83, 3.84, 0.005),
        (2, 6.49, 6.49, 0.005),
        (3, 12.95, 12.95, 0.005),
        (4, 25.5, 25.5, 0.05),
        (5, 39.94, 40.0, 0.005),
        (6, 51.0, 51.0, 0.05),
        (7, 62.0, 62.0, 0.05),
        (8, 71.28, 71.3, 0.005),
    ];
    for (class, computed, promised, digit) in rows {
        let class = powering.class(class).unwrap();
        let current = in_watts(class.source) / class.voltage.0;
        let found = in_watts(class.source) - current * current * class.loop_resistance.0;
        assert!((found - computed).abs() <= digit, "{class:?}: {found}");
        assert!((in_watts(class.guaranteed) - promised).abs() < 1e-12);
    }
    assert_eq!(powering.class(9), Err(PowerFault::Class(9)));
}

#[test]
fn validate_conductor_resistances() {
    // Ohms of 100 m of one conductor at 20 C, half a unit of the last digit.
    let powering = powering();
    let rows = [
        (Gauge::Awg22, 5.30, 0.005),
        (Gauge::Awg23, 6.68, 0.005),
        (Gauge::Awg24, 8.42, 0.005),
        (Gauge::Awg26, 13.4, 0.05),
        (Gauge::Awg28, 21.3, 0.05),
    ];
    for (gauge, printed, digit) in rows {
        let found = powering.conductor(gauge, metres(100.0), Celsius(20.0)).0;
        assert!((found - printed).abs() <= digit, "{gauge:?}: {found}");
    }
}

#[test]
fn validate_power_at_length() {
    // Independent computation: four connections, 10 m of 24 AWG cord in the length, 45 C.
    let powering = powering();
    let rows = [
        (4, Gauge::Awg24, 30.0, 28.7),
        (4, Gauge::Awg24, 60.0, 27.7),
        (4, Gauge::Awg24, 100.0, 26.4),
        (4, Gauge::Awg26, 100.0, 24.6),
        (8, Gauge::Awg23, 30.0, 85.2),
        (8, Gauge::Awg23, 60.0, 81.9),
        (8, Gauge::Awg23, 100.0, 77.5),
        (8, Gauge::Awg24, 30.0, 84.6),
        (8, Gauge::Awg24, 60.0, 80.4),
        (8, Gauge::Awg24, 100.0, 74.9),
        (8, Gauge::Awg26, 100.0, 67.5),
    ];
    for (class, gauge, length, printed) in rows {
        let class = powering.class(class).unwrap();
        let found = powering.full_source(&class, &path(gauge, length)).unwrap();
        let watts = in_watts(found.expected);
        assert!(
            (watts - printed).abs() <= TENTH_WATT,
            "{gauge:?} {length}: {watts}"
        );
        // A run out of specification promises nothing.
        let promised = watts >= in_watts(class.guaranteed);
        assert_eq!(found.guaranteed.is_some(), promised, "{gauge:?} {length}");
    }
}

#[test]
fn validate_a_load_of_known_power() {
    // Independent computation: 20 W at 53 V through 12.5 ohms: 0.418706 A and 22.1914 W;
    // 40 W through 6.25 ohms: 44.3829 W.
    let powering = powering();
    for (class, ohms, load, current, source) in [
        (4, 12.5, 20.0, 0.418706, 22.1914),
        (5, 6.25, 40.0, 2.0 * 0.418706, 44.3829),
    ] {
        let mut class = powering.class(class).unwrap();
        class.voltage = crate::copper::Volts(53.0);
        // A path of exactly that resistance: all in the cable.
        let mut path = path(Gauge::Awg24, 110.0);
        path.connections = 0;
        path.cords = metres(0.0);
        let found = powering.loop_resistance(&class, &path);
        path.cable *= ohms / found.0;
        let load = Power::new::<units::power::watt>(load);
        let found = powering.load(&class, &path, load).unwrap();
        assert!((found.resistance.0 - ohms).abs() < 1e-9);
        assert!((found.current.0 - current).abs() <= 1e-6, "{found:?}");
        assert!(
            (in_watts(found.source) - source).abs() <= 0.5e-4,
            "{found:?}"
        );
        assert!((in_watts(found.expected - load)).abs() < 1e-9);
    }
}

#[test]
fn verify_a_load_that_does_not_start_is_refused() {
    let powering = powering();
    let class = powering.class(1).unwrap();
    let path = path(Gauge::Awg28, 100.0);
    let wanted = Power::new::<units::power::watt>(40.0);
    let fault = powering.load(&class, &path, wanted).unwrap_err();
    assert!(matches!(fault, PowerFault::TooMuch { .. }), "{fault}");
    let mut nothing = path;
    nothing.cable = metres(-1.0);
    assert_eq!(
        powering.full_source(&class, &nothing),
        Err(PowerFault::Path)
    );
    let negative = Power::new::<units::power::watt>(-1.0);
    assert_eq!(
        powering.load(&class, &path, negative),
        Err(PowerFault::Path)
    );
}

#[test]
fn validate_bundle_heat() {
    // Independent computation, 24 AWG at 45 C in open air: kelvins above the room.
    let powering = powering();
    let rise = |class, cables, around| {
        let class = powering.class(class).unwrap();
        powering
            .bundle_heat(
                &class,
                class.full_current(),
                Gauge::Awg24,
                cables,
                Celsius(45.0),
                around,
            )
            .unwrap()
    };
    for (cables, printed) in [(7, 2.5), (24, 5.4), (48, 8.6), (100, 14.7)] {
        let found = rise(8, cables, Surroundings::Open);
        assert!(
            (found.likely.0 - printed).abs() <= 0.1,
            "{cables}: {found:?}"
        );
        assert!((found.low.0 - 0.5 * found.likely.0).abs() < 1e-12);
        assert!((found.high.0 - 1.5 * found.likely.0).abs() < 1e-12);
    }
    assert!((rise(4, 100, Surroundings::Open).likely.0 - 3.5).abs() <= 0.1);
    let (open, shut) = (
        rise(8, 48, Surroundings::Open),
        rise(8, 48, Surroundings::Enclosed),
    );
    assert!(open.within_guidance && !shut.within_guidance);
    assert!(shut.likely.0 > open.likely.0);
    let class = powering.class(8).unwrap();
    let refused = |current, cables| {
        let open = Surroundings::Open;
        powering.bundle_heat(&class, current, Gauge::Awg24, cables, Celsius(45.0), open)
    };
    assert_eq!(refused(class.full_current(), 0), Err(PowerFault::Path));
    assert_eq!(refused(Amperes(-0.1), 7), Err(PowerFault::Path));
    assert_eq!(refused(Amperes(f64::NAN), 7), Err(PowerFault::Path));
}

#[test]
fn verify_bundle_heat_goes_with_the_square_of_the_current() {
    let powering = powering();
    let class = powering.class(6).unwrap();
    let rise = |share: f64| {
        let current = Amperes(share * class.full_current().0);
        let open = Surroundings::Open;
        let heat = powering.bundle_heat(&class, current, Gauge::Awg23, 24, Celsius(30.0), open);
        heat.unwrap().likely.0
    };
    // rounding of a product
    assert!((rise(0.5) - 0.25 * rise(1.0)).abs() < 1e-12);
    assert!(rise(0.0).abs() < 1e-12 && rise(1.0) > 1.0);
}

#[test]
fn verify_clad_aluminium_delivers_less() {
    let powering = powering();
    let class = powering.class(8).unwrap();
    let copper = path(Gauge::Awg24, 60.0);
    let clad = PowerPath {
        conductor: Conductor::CladAluminium,
        ..copper
    };
    let at = |path| powering.full_source(&class, path).unwrap();
    assert!(at(&clad).expected < at(&copper).expected);
    assert!(at(&clad).lost > at(&copper).lost);
}
