use super::*;
use crate::cable::PowerAsked;
use crate::copper::{
    Bundle, Category, Celsius, Conductor, FibreGrade, Gauge, LengthBasis, Neighbours, Pairs,
    Screen, Surroundings,
};
use crate::quantity::metres;
use proptest::prelude::*;

#[test]
fn every_part_of_a_run_is_understood() {
    let run = physics(&said(
        "cat5e 31 m measured, tight for 5 m, 4 neighbours at 1 Gb/s, 2 neighbours at 10 Gb/s, \
         2 connections, cords 3 m 26 awg, 40 C, certified, bonded screen, 26 awg, untied 2 m",
    ));
    assert_eq!(run.category, Category::Cat5e);
    assert_eq!(run.length, metres(31.0));
    assert_eq!(run.length_basis, LengthBasis::Measured);
    assert_eq!(run.bundle, Bundle::Tight);
    assert_eq!(run.beside_first, Some(metres(5.0)));
    assert_eq!(run.untied_ends, metres(2.0));
    let neighbours = vec![(rate(1000), 4), (rate(10_000), 2)];
    assert_eq!(run.neighbours, Neighbours::Rates(neighbours));
    assert_eq!(run.connections, 2);
    assert_eq!(run.cords, Some(metres(3.0)));
    assert_eq!(run.cord_gauge, Gauge::Awg26);
    assert_eq!(run.cable_gauge, Some(Gauge::Awg26));
    assert_eq!(run.temperature, Celsius(40.0));
    assert!(run.certified);
    assert_eq!(run.screen, Screen::Bonded);
    let old = physics(&said("2 pairs cat5 guessed 20m alone copper-clad -5 C"));
    assert_eq!((old.category, old.pairs), (Category::Cat5, Pairs::Two));
    assert_eq!(old.length_basis, LengthBasis::Guessed);
    assert_eq!(old.conductor, Conductor::CladAluminium);
    assert_eq!(old.temperature, Celsius(-5.0));
    let screened = physics(&said("cat6 30 m screened"));
    assert_eq!(screened.screen, Screen::Unchecked);
    // nobody who says that cables are tied means that they are not
    assert_eq!(physics(&said("cat5e 98 m, tied")).bundle, Bundle::Tight);
    assert_eq!(physics(&said("cat7 30 m")).screen, Screen::Bonded);
    assert_eq!(physics(&said("CAT6A 100 ft, loose")).length, metres(30.48));
    assert_eq!(
        physics(&said("cat6,31 m,6 neighbours")).neighbours,
        Neighbours::SameRate(6)
    );
    assert_eq!(
        physics(&said("cat6 30 m no neighbours")).neighbours,
        Neighbours::SameRate(0)
    );
    assert_eq!(
        physics(&said("cat6 30 m, 3 m cords")).cords,
        Some(metres(3.0))
    );
    assert_eq!(
        physics(&said("cat6 30 m, 28 awg cords")).cord_gauge,
        Gauge::Awg28
    );
    for (text, length, cords, gauge) in [
        ("cat6 31 m cords 3 m", 31.0, 3.0, Gauge::Awg24),
        ("cat6 31 m, 3 m cords 26 awg", 31.0, 3.0, Gauge::Awg26),
        ("cat6 31 m, 26 awg cords 3 m", 31.0, 3.0, Gauge::Awg26),
        ("3 m cords, cat6 31 m", 31.0, 3.0, Gauge::Awg24),
    ] {
        let run = physics(&said(text));
        let found = (run.length, run.cords, run.cord_gauge);
        assert_eq!(
            found,
            (metres(length), Some(metres(cords)), gauge),
            "{text}"
        );
    }
    let caged = physics(&said("cat6a 50 m, module 30 m"));
    assert_eq!(caged.module_reach, [(rate(10_000), metres(30.0))]);
}

#[test]
fn rates_are_those_of_the_ports() {
    let rates = |text: &str| match said(text).joint {
        Joint::Copper { rates, .. } => rates,
        _ => Vec::new(),
    };
    assert_eq!(
        rates("cat6 30 m"),
        [100, 1000, 2500, 5000, 10_000].map(rate)
    );
    assert_eq!(rates("cat8 20 m").len(), 7);
    assert_eq!(
        rates("cat6 30 m ports 2.5 Gb/s"),
        [100, 1000, 2500].map(rate)
    );
    // an old port knows 10 Mb/s, which has no physics here
    assert_eq!(rates("cat6 30 m ports 1 Gb/s"), [100, 1000].map(rate));
}

#[test]
fn what_is_a_range_or_unknown_makes_cases_that_add_up() {
    for (text, count) in [
        ("cat6 31 m", 1),
        ("cat6 20..35 m", 4),
        ("unknown 20..35 m", 24),
    ] {
        let run = said(text);
        assert_eq!(cases(&run), count, "{text}");
        let Joint::Copper { cases, .. } = &run.joint else {
            panic!()
        };
        let sum: f64 = cases.iter().map(|c| c.weight).sum();
        assert!((sum - 1.0).abs() < 1e-12, "{text}: {sum}");
    }
    let ids: Vec<String> = said("31 m").assumptions.into_iter().map(|a| a.id).collect();
    assert_eq!(
        ids,
        [
            "cable",
            "neighbours",
            "temperature",
            "connections",
            "bundle"
        ]
    );
    let told = said("cat6 31 m, alone, 30 C, 4 connections");
    assert_eq!(told.assumptions, []);
}

#[test]
fn glass_and_twinax_are_understood() {
    let fibre = said("fibre om5 80 m, 3 connections, 1 splice");
    let expected = Joint::Fibre {
        grade: Some(FibreGrade::Om4),
        cords: None,
        length: metres(80.0),
        mated_pairs: 3,
        splices: 1,
    };
    assert_eq!(fibre.joint, expected);
    assert!(matches!(
        said("os2 2 km").joint,
        Joint::Fibre { mated_pairs: 2, .. }
    ));
    assert!(matches!(
        said("fibre 80 m").joint,
        Joint::Fibre { grade: None, .. }
    ));
    assert!(matches!(
        said("om1 80 m, cords om3").joint,
        Joint::Fibre {
            grade: Some(FibreGrade::Om1),
            cords: Some(FibreGrade::Om3),
            ..
        }
    ));
    assert_eq!(
        said("twinax 3 m").joint,
        Joint::Twinax {
            length: metres(3.0)
        }
    );
}

#[test]
fn power_is_understood_in_a_run_and_by_itself() {
    let power = said("cat6 30 m, power class 6, 40 W, 24 powered, enclosed")
        .power
        .unwrap();
    assert_eq!((power.class, power.cables), (Some(6), Some(24)));
    assert_eq!(power.surroundings, Surroundings::Enclosed);
    let alone = PowerAsked::parse("class 6, 40 W, 24 powered, enclosed").unwrap();
    assert_eq!(alone, power);
    assert_eq!(PowerAsked::parse("20 W").unwrap().class, None);
    assert!(said("cat6 30 m").power.is_none());
    for text in ["", "loose", "class 0", "class", "class 4 cat6", "20"] {
        assert!(PowerAsked::parse(text).is_err(), "{text}");
    }
}

/// Texts, with the words that are wrong and what is said of each.
type Wrong = (&'static str, &'static [(&'static str, &'static str)]);

const WRONG: [Wrong; 28] = [
    (
        "cat6 30 m, cords om3",
        &[("om3", "'om3' is said of a fibre")],
    ),
    (
        "om3 80 m, cords os2",
        &[("os2", "one is multimode and the other single mode")],
    ),
    ("cat5e", &[("cat5e", "no length is told")]),
    ("cat5e 31", &[("31", "'31' has no unit")]),
    ("cat5e 31 q", &[("q", "'q' is not a unit of a length")]),
    (
        "cat5e 31,5 m",
        &[("31,5", "'31,5' has a separator inside the number")],
    ),
    (
        "cat5e 0 m",
        &[("0 m", "a run is longer than 0 m and at most 500 m, not 0 m")],
    ),
    (
        "cat5e 501 m",
        &[(
            "501 m",
            "a run is longer than 0 m and at most 500 m, not 501 m",
        )],
    ),
    (
        "cat5e 31 m lose",
        &[("lose", "'lose' is not known here; did you mean 'loose'?")],
    ),
    (
        "cat5e 31 m, 6 nieghbours",
        &[(
            "nieghbours",
            "'nieghbours' is not known here; did you mean 'neighbours'?",
        )],
    ),
    (
        "cat5e 31 m 40 m",
        &[("40 m", "the length stands here twice")],
    ),
    (
        "cat5e cat6 31 m",
        &[("cat6", "the cable stands here twice")],
    ),
    (
        "cat5e 31 m power class 9",
        &[("9", "'9' is no power class")],
    ),
    (
        "cat5e 31 m 25 awg",
        &[("25 awg", "'25' is no thickness of a data cable")],
    ),
    (
        "cat5e 31 m 22 awg cords",
        &[("22 awg cords", "cords of 22 AWG; 24, 26 or 28 are covered")],
    ),
    (
        "cat5e 31 m 90 C",
        &[("90 C", "90 C is outside -20 C to 80 C")],
    ),
    (
        "cat5e 31 m, 3 neighbours at 7 Gb/s",
        &[(
            "3 neighbours at 7 Gb/s",
            "no twisted-pair transceiver signals at 7 Gb/s",
        )],
    ),
    (
        "cat5e 31 m, 99999999999 neighbours",
        &[(
            "99999999999 neighbours",
            "'99999999999' is too large to mean anything",
        )],
    ),
    (
        "cat5e 31 m, 6.5 neighbours, 3 pairs",
        &[
            ("6.5 neighbours", "'6.5' is no whole number"),
            ("3 pairs", "a link runs over two pairs or four"),
        ],
    ),
    (
        "cat5e 31 m, 3 neighbours at",
        &[("at", "nothing follows 'at'")],
    ),
    ("cat5e 31 m, cords", &[("cords", "nothing follows 'cords'")]),
    (
        "cat5e 31 m ports 7 Gb/s",
        &[("ports 7 Gb/s", "no twisted-pair port is sold as 7 Gb/s")],
    ),
    (
        "om3 80 m bonded",
        &[("bonded", "'bonded' is said of twisted pair")],
    ),
    (
        "cat5e 31 m with ribbons",
        // side by side they are one fault
        &[("with ribbons", "'with ribbons' is not known here")],
    ),
    (
        "cat5e 31 m with ribbons, tight, of blue",
        &[
            ("with ribbons", "'with ribbons' is not known here"),
            ("of blue", "'of blue' is not known here"),
        ],
    ),
    (
        "cat5e 31 m, 12 connections, 95 C, cords 40 m",
        &[
            (
                "12 connections",
                "12 connections in a run; at most 8 are covered",
            ),
            ("95 C", "95 C is outside -20 C to 80 C"),
            ("40 m", "a part of 40 m does not fit the run"),
        ],
    ),
    (
        "cat3 60 m, 10 Gb/s",
        &[
            ("cat3", "'cat3' is for telephones and 10 Mb/s"),
            ("10 Gb/s", "a rate; a run is judged at every rate"),
        ],
    ),
    (
        "cat5e 31 m zwölf",
        &[("zwölf", "'zwölf' is not known here")],
    ),
];

#[test]
fn what_is_wrong_is_found_where_it_stands() {
    for (text, expected) in WRONG {
        let faults = in_words(text, &catalogue()).unwrap_err();
        let found: Vec<(&str, &str)> = faults
            .iter()
            .map(|f| (&text[f.span.clone()], f.found.as_str()))
            .collect();
        assert_eq!(found, expected, "{text}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn property_no_text_breaks_the_reader(text in ".{0,60}") {
        if let Err(faults) = in_words(&text, &catalogue()) {
            for fault in &faults {
                prop_assert!(text.get(fault.span.clone()).is_some(), "{text:?} {fault:?}");
            }
        }
    }

    #[test]
    fn property_no_mixture_of_words_breaks_the_reader(
        words in prop::collection::vec(prop::sample::select(vec![
            "cat5e", "31", "m", "31 m", ",", "6", "neighbours", "at", "1 Gb/s", "cords", "26", "awg",
            "power", "class", "4", "20 W", "untied", "tight", "for", "om3", "fibre", "40", "C",
            "two", "pairs", "no", "module", "ports", "-", "..", "unknown", "20..30 m", "splices",
        ]), 0..12),
    ) {
        let text = words.join(" ");
        match in_words(&text, &catalogue()) {
            Ok(run) => prop_assert!(cabling().report(&run, super::super::Asked::default()).is_ok()),
            Err(faults) => for fault in &faults {
                prop_assert!(text.get(fault.span.clone()).is_some(), "{text:?} {fault:?}");
            },
        }
    }
}
