use super::*;
use crate::explain::{Amount, Exactness, RateUnit, What};
use crate::quantity::{DataRate, Information, LinkRate, Measure, Ratio, Time};
use crate::work::Direction;
use proptest::prelude::*;

/// Any reading as a list or a sentence could have made it.
fn whats() -> impl Strategy<Value = Reading> {
    let rate = (0.001f64..3e5, 1.0f64..3.0, 0usize..6);
    let desk = proptest::option::of(0usize..NAMES.len());
    let way = proptest::option::of(any::<bool>());
    let rest = (proptest::option::of(0.1f64..9e5), 1u32..9, any::<bool>());
    (0usize..9, desk, way, rate, rest).prop_map(
        |(what, desk, way, (value, wide, exact), (size, streams, again))| {
            let what = What::ALL[what];
            let exactness = [
                Exactness::Point,
                Exactness::About,
                Exactness::Range,
                Exactness::Peak,
                Exactness::AtMost,
                Exactness::AtLeast,
            ][exact];
            let rate = crate::quantity::megabytes_per_second(value);
            let mut plain = crate::explain::RateReading::plain(rate);
            plain.exactness = exactness;
            if exactness == Exactness::Range {
                let high = crate::quantity::megabytes_per_second(value * wide);
                plain.meanings[0].high = high;
                plain.meanings[0].middle =
                    DataRate::from_base(f64::midpoint(rate.base(), high.base()));
            }
            let size = size.map(|megabytes| Information::from_base(megabytes * 1e6));
            // every other copy is one of pieces
            let small = |size: &Information| size.base() <= 1e8;
            let takes = matches!(what, What::Copy | What::LocalArray) && streams % 2 == 0;
            let random = size.filter(|size| takes && small(size));
            let random = random.map(|size| Information::from_base(libm::round(size.base())));
            Reading {
                text: String::new(),
                desk: desk.map(|at| NAMES[at].to_owned()),
                what,
                direction: way.map(|read| {
                    if read {
                        Direction::Read
                    } else {
                        Direction::Write
                    }
                }),
                amount: match what {
                    What::LinkRate => Amount::Link(LinkRate::from_megabits(value as u64 + 1)),
                    What::Ping => Amount::Time(Time::from_base(value * 1e-4)),
                    What::CoreBusy => Amount::Share(Ratio::from_base(value / 1e6)),
                    What::Errors => Amount::Count(value as u64),
                    _ => Amount::Rate(plain),
                },
                size: size.filter(|_| random.is_none()),
                streams,
                again,
                random,
            }
        },
    )
}

/// Numbers are shown at twelve digits.
const SHOWN: f64 = 1e-11;

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= SHOWN * b.abs().max(f64::MIN_POSITIVE)
}

proptest! {
    #[test]
    fn property_what_is_shown_parses_back(told in whats()) {
        let shown = told.shown();
        let found = match one(at_granary_lane(), &shown) {
            Statement::Reading(reading) => reading,
            Statement::Remark(remark) => return Err(TestCaseError::fail(format!("{shown}: {}", remark.id))),
        };
        prop_assert_eq!(&found.desk, &told.desk, "{}", shown);
        prop_assert_eq!(found.what, told.what, "{}", shown);
        prop_assert_eq!(found.direction, told.direction, "{}", shown);
        prop_assert_eq!((found.streams, found.again), (told.streams, told.again), "{}", shown);
        prop_assert_eq!(found.random, told.random, "{}", shown);
        let size = |r: &Reading| r.size.map_or(0.0, Measure::base);
        prop_assert!(near(size(&found), size(&told)), "{}", shown);
        match (&found.amount, &told.amount) {
            (Amount::Rate(a), Amount::Rate(b)) => {
                prop_assert_eq!(a.exactness, b.exactness, "{}", shown);
                let meant = a.meanings.iter().find(|m| m.unit == RateUnit::Megabytes).unwrap();
                prop_assert!(!meant.slip);
                for (x, y) in [
                    (meant.low, b.meanings[0].low),
                    (meant.middle, b.meanings[0].middle),
                    (meant.high, b.meanings[0].high),
                ] {
                    prop_assert!(near(x.base(), y.base()), "{}", shown);
                }
            }
            (Amount::Time(a), Amount::Time(b)) => prop_assert!(near(a.base(), b.base()), "{}", shown),
            (Amount::Share(a), Amount::Share(b)) => prop_assert!(near(a.base(), b.base()), "{}", shown),
            (a, b) => prop_assert_eq!(a, b, "{}", shown),
        }
        prop_assert_eq!(found.shown(), shown);
    }

    #[test]
    fn property_no_text_panics_and_faults_lie_inside(text in "\\PC{0,60}") {
        for listener in [at_granary_lane(), anywhere()] {
            match listener.hear(&text) {
                Ok(found) => prop_assert!(!found.is_empty()),
                Err(faults) => for fault in &faults {
                    prop_assert!(text.get(fault.span.clone()).is_some(), "{:?} of {:?}", fault.span, text);
                },
            }
        }
    }

    #[test]
    fn property_no_heap_of_known_words_panics(picked in proptest::collection::vec(0usize..24, 0..9)) {
        let words = [
            "copy", "read", "write", "112", "MB/s", "Gb/s", "..", "-", "of", "20", "GB", "4", "streams",
            "again", "less", "than", "%", "ms", "link", "ping", "1,200", "another", "/", "two",
        ];
        let text = picked.iter().map(|at| words[*at]).collect::<Vec<_>>().join(" ");
        match at_granary_lane().hear(&text) {
            Ok(found) => prop_assert!(!found.is_empty(), "{}", text),
            Err(faults) => for fault in &faults {
                prop_assert!(text.get(fault.span.clone()).is_some(), "{:?} of {:?}", fault.span, text);
            },
        }
    }
}
