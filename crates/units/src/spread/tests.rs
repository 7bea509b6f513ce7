use super::*;
use crate::quantity::{DataRate, Length, Ratio, in_megabytes_per_second, units};
use proptest::prelude::*;

/// Algebra on doubles.
const EXACT: f64 = 1e-12;

fn rates(text: &str) -> Result<Spread<DataRate>, UnitFault> {
    Spread::parse(text, Bounds::POSITIVE)
}

#[test]
fn what_is_forgotten_is_drawn_again_as_it_was() {
    let law = rates("180..240 MB/s").unwrap();
    let ids = ["desk.a.disk", "desk.ab.disk", "run.1.length"];
    let all = |draws: &mut Draws| ids.map(|id| draws.values(id, law.law()).to_vec());
    let mut draws = Draws::new(64);
    let before = all(&mut draws);
    draws.forget("desk.a.");
    draws.forget("run.1.");
    assert_eq!(all(&mut draws), before);
    assert_ne!(before[0], before[1]);
}

#[test]
fn verify_percentiles_are_what_was_written() {
    let cases = [
        ("180..240 MB/s", 180.0, (180.0f64 * 240.0).sqrt(), 240.0),
        ("180..200..240 MB/s", 180.0, 200.0, 240.0),
        ("210 MB/s +- 10 %", 189.0, 210.0, 231.0),
        ("210 MB/s +- 5 MB/s", 205.0, 210.0, 215.0),
        (
            "180 MB/s..0.24 GB/s",
            180.0,
            (180.0f64 * 240.0).sqrt(),
            240.0,
        ),
        ("117 MB/s", 117.0, 117.0, 117.0),
        ("0..100 MB/s", 0.0, 50.0, 100.0),
    ];
    for (text, low, likely, high) in cases {
        let spread = rates(text).unwrap_or_else(|e| panic!("{text}: {e}"));
        for (share, expected) in [(0.05, low), (0.5, likely), (0.95, high)] {
            let found = in_megabytes_per_second(spread.quantile(share));
            // statrs' normal quantile is good to about 1e-11
            approx::assert_relative_eq!(found, expected, max_relative = 1e-9, epsilon = 1e-9);
        }
    }
}

#[test]
fn verify_bounded_laws_stay_inside() {
    let fill = Spread::<Ratio>::parse("40..98 %", Bounds::FRACTION).unwrap();
    let short = Spread::<Length>::parse("0..5 m", Bounds::POSITIVE).unwrap();
    for i in 1..1000 {
        let share = f64::from(i) / 1000.0;
        let f = fill.quantile(share).get::<units::ratio::one>();
        assert!((0.0..=1.0).contains(&f));
        assert!(short.quantile(share).get::<units::length::meter>() >= 0.0);
    }
}

#[test]
fn ranges_that_make_no_sense_are_refused() {
    for (text, word) in [
        ("240..180 MB/s", "order"),
        ("1..2..3..4 MB/s", "more than three"),
        ("180.. MB/s", "does not begin"),
        ("180..240", "no unit"),
        ("10 MB/s +- 100 %", "as large"),
        ("10 MB/s +- x", "begin with a number"),
        ("-3..5 MB/s", "negative"),
    ] {
        let fault = rates(text).unwrap_err();
        assert!(fault.found.contains(word), "{text}: {fault}");
    }
    assert!(Spread::<Ratio>::parse("40..120 %", Bounds::FRACTION).is_err());
    assert!(Spread::<Ratio>::parse("120 %", Bounds::FRACTION).is_err());
}

fn words() -> Words<bool> {
    vec![("signed".to_owned(), true), ("plain".to_owned(), false)]
}

#[test]
fn choices_are_read_with_their_weights() {
    let choice = Choice::parse("signed 60 %, plain 40 %", &words()).unwrap();
    assert_eq!(choice.options(), [(true, 0.6), (false, 0.4)]);
    assert_eq!(choice.position(0.59), 0);
    assert_eq!(choice.position(0.61), 1);
    assert!(*choice.likeliest());
    assert_eq!(
        Choice::parse(" plain ", &words()).unwrap().only(),
        Some(&false)
    );
    for (text, word) in [
        ("singed", "did you mean 'signed'"),
        ("signed 60 %, plain 30 %", "90 %"),
        ("signed 60 %, signed 40 %", "twice"),
        ("signed, plain 40 %", "no percentage"),
        ("", "not known"),
    ] {
        let fault = Choice::parse(text, &words()).unwrap_err();
        assert!(fault.found.contains(word), "{text}: {fault}");
    }
}

#[test]
fn verify_an_unknown_more_moves_no_other() {
    let law = rates("180..240 MB/s").unwrap();
    let mut alone = Draws::new(64);
    let first = alone.values("a", law.law());
    let mut together = Draws::new(64);
    let _ = together.values("b", law.law());
    assert_eq!(first, together.values("a", law.law()));
    assert_ne!(first, together.values("b", law.law()));
}

#[test]
fn verify_each_slice_is_taken_once_and_names_are_uncorrelated() {
    let n = 4096;
    let mut draws = Draws::new(n);
    let a = draws.strata("desk.cut-1.disk");
    let b = draws.strata("desk.cut-2.disk");
    let mut seen = vec![false; n];
    for &s in a.iter() {
        assert!(!std::mem::replace(&mut seen[s as usize], true));
    }
    let middle = (n as f64 - 1.0) / 2.0;
    let variance = (n as f64).powi(2) / 12.0;
    let covariance: f64 = a
        .iter()
        .zip(b.iter())
        .map(|(&x, &y)| (f64::from(x) - middle) * (f64::from(y) - middle))
        .sum::<f64>()
        / n as f64;
    // four standard errors of a correlation of n independent pairs
    assert!((covariance / variance).abs() < 4.0 / (n as f64).sqrt());
}

#[test]
fn validate_the_order_is_the_same_on_every_machine() {
    // FNV-1a over 128 bits, PCG XSL RR 128/64 (MCG) and Fisher-Yates, worked out in another language
    for (id, order) in [
        ("array.vault", [0, 6, 3, 7, 5, 1, 4, 2]),
        ("desk.cut-1.disk", [2, 1, 3, 0, 5, 4, 7, 6]),
    ] {
        assert_eq!(Draws::new(8).strata(id).to_vec(), order, "{id}");
    }
}

proptest! {
    #[test]
    fn property_quantiles_rise_and_lower_low_end_never_raises_p05(
        low in 1.0f64..100.0, a in 1.0f64..3.0, b in 1.0f64..3.0, cut in 0.3f64..1.0,
    ) {
        let (likely, high) = (low * a, low * a * b);
        let law = Law::percentiles(low, Some(likely), high, Bounds::POSITIVE).unwrap();
        let lower = Law::percentiles(low * cut, Some(likely), high, Bounds::POSITIVE).unwrap();
        let mut last = 0.0;
        for i in 1..100 {
            let value = law.quantile(f64::from(i) / 100.0);
            prop_assert!(value >= last * (1.0 - EXACT));
            last = value;
        }
        prop_assert!(lower.quantile(0.05) <= law.quantile(0.05) * (1.0 + 1e-9));
    }

    #[test]
    fn property_a_shown_spread_reads_back(low in 1.0f64..100.0, a in 1.01f64..3.0, b in 1.01f64..3.0) {
        let text = format!("{low}..{}..{} MB/s", low * a, low * a * b);
        let spread = rates(&text).unwrap();
        let again = rates(&spread.to_string()).unwrap();
        let ((l, m, h), (l2, m2, h2)) = (spread.law().knots(), again.law().knots());
        for (x, y) in [(l, l2), (m, m2), (h, h2)] {
            prop_assert!((x - y).abs() <= 1e-9 * x);
        }
    }

    #[test]
    fn property_no_text_panics(text in "\\PC{0,30}") {
        let _ = rates(&text);
        let _ = Choice::parse(&text, &words());
    }
}

#[test]
fn verify_slices_of_a_choice_are_those_of_its_middles() {
    for weights in [
        &[1.0][..],
        &[40.0, 60.0],
        &[7.0, 53.0, 30.0, 10.0],
        &[1e-9, 1.0],
    ] {
        let choice = Choice::weighted(weights.iter().copied().enumerate()).unwrap();
        for count in [2, 7, 4096] {
            let mut counted = vec![0; weights.len()];
            for slice in 0..count {
                counted[choice.position((slice as f64 + 0.5) / count as f64)] += 1;
            }
            assert_eq!(choice.slices(count), counted, "{weights:?} {count}");
        }
    }
}

#[test]
fn parts_hold_as_many_draws_as_slices() {
    let mut draws = Draws::new(100);
    let strata = draws.strata("a");
    for parts in [draws.even_parts("a"), draws.parts("a", &[30, 0, 70])] {
        assert_eq!(parts.sizes.iter().sum::<u32>(), 100);
        let mut start = 0;
        for (part, &size) in parts.sizes.iter().enumerate() {
            for (&slice, &of_draw) in strata.iter().zip(parts.of_draw.iter()) {
                let inside = (start..start + size).contains(&slice);
                assert_eq!(inside, usize::from(of_draw) == part);
            }
            start += size;
        }
    }
}

#[test]
fn twice_a_spread_has_twice_its_percentiles() {
    for text in ["100 MB/s", "80..100..140 MB/s"] {
        let one = Spread::<DataRate>::parse(text, Bounds::POSITIVE).unwrap();
        let two = one.times(2.0);
        for share in [0.05, 0.3, 0.5, 0.95, 0.999] {
            let (a, b) = (one.quantile(share), two.quantile(share));
            approx::assert_relative_eq!(b.base(), 2.0 * a.base(), max_relative = 1e-12);
        }
    }
    let share = Spread::<crate::quantity::Ratio>::parse("40..80 %", Bounds::FRACTION).unwrap();
    let half = share.times(0.5);
    approx::assert_relative_eq!(
        half.quantile(0.9999).base(),
        0.5 * share.quantile(0.9999).base()
    );
}
