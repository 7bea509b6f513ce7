//! No text panics, and every span marks whole letters of its text.

use super::{LANE, catalogue};
use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::site::{FaultSource, Faults, Place, read, read_bytes};
use proptest::prelude::*;
use std::sync::LazyLock;

static CATALOGUE: LazyLock<Catalogue> = LazyLock::new(catalogue);

fn spans_are_whole(text: &str, edits: &[String], faults: &Faults) -> Result<(), TestCaseError> {
    prop_assert!(faults.count() > 0);
    for fault in faults {
        let mut places = vec![Place {
            source: fault.source.clone(),
            span: fault.span.clone(),
        }];
        places.extend(fault.also.iter().map(|a| a.place.clone()));
        places.extend(fault.replacement.iter().map(|r| Place {
            source: fault.source.clone(),
            span: r.span.clone(),
        }));
        for place in places {
            let source = match place.source {
                FaultSource::File => text,
                FaultSource::Edit(index) => edits.get(index).map_or("", String::as_str),
                FaultSource::Tasks | FaultSource::Argument(_) => "",
            };
            prop_assert!(
                source.get(place.span.clone()).is_some(),
                "{:?} of {source:?}: {fault}",
                place.span
            );
        }
    }
    Ok(())
}

fn check(text: &str, edits: &[String]) -> Result<(), TestCaseError> {
    let made = match Edit::parse_all(edits) {
        Ok(made) => made,
        Err(faults) => return spans_are_whole(text, edits, &faults),
    };
    match read(text, &made, &CATALOGUE) {
        Ok(_) => Ok(()),
        Err(faults) => spans_are_whole(text, edits, &faults),
    }
}

/// Pieces that a file is made of, and some that it is not.
fn piece() -> impl Strategy<Value = String> {
    prop_oneof![
        Just("\"".to_owned()),
        Just("[[run]]\n".to_owned()),
        Just("[nas]\n".to_owned()),
        Just("[nas.store]\n".to_owned()),
        Just("port.a = \"1 Gb/s\"\n".to_owned()),
        Just("length = 3\n".to_owned()),
        Just(" = ".to_owned()),
        Just("{".to_owned()),
        Just("}".to_owned()),
        Just("]".to_owned()),
        Just(".".to_owned()),
        Just("\n".to_owned()),
        Just("\r\n".to_owned()),
        Just("\"\"\"".to_owned()),
        Just("ä".to_owned()),
        Just("%".to_owned()),
        Just("..".to_owned()),
        Just("±".to_owned()),
        Just(" x ".to_owned()),
        Just("unknown".to_owned()),
        Just("nan".to_owned()),
        Just("-1".to_owned()),
        Just("\\u0020".to_owned()),
        "\\PC{1,6}".prop_map(|s: String| s),
    ]
}

fn on_letter(text: &str, share: f64) -> usize {
    let mut at = (text.len() as f64 * share) as usize;
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn property_no_bytes_panic(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let _ = read_bytes(&bytes, &[], &CATALOGUE);
        let text = String::from_utf8_lossy(&bytes);
        check(&text, &[])?;
    }

    #[test]
    fn property_no_mixture_panics(pieces in proptest::collection::vec(piece(), 0..40)) {
        check(&pieces.concat(), &[])?;
    }

    #[test]
    fn property_no_slip_of_the_pen_panics(
        slips in proptest::collection::vec((0.0f64..1.0, 0usize..12, piece()), 1..5),
    ) {
        let mut text = LANE.to_owned();
        for (share, cut, put) in slips {
            let from = on_letter(&text, share);
            let mut to = (from + cut).min(text.len());
            while !text.is_char_boundary(to) {
                to += 1;
            }
            text.replace_range(from..to, &put);
        }
        check(&text, &[])?;
    }

    #[test]
    fn property_no_value_panics(
        key in 0usize..12, value in "\\PC{0,24}|[0-9. x%a-z,-]{0,24}",
    ) {
        let keys = [
            "array.vault.drives", "desk.cut-1.disk", "nas.store.cpu", "nas.store.port.a.slot",
            "nas.store.port.a.rates", "run.2.wireless", "run.2.cable", "run.2.from",
            "array.vault.layout", "network.mtu", "array.vault.fill", "desk.extra",
        ];
        let edit = format!("{}={value}", keys[key]);
        check(LANE, std::slice::from_ref(&edit))?;
        let quoted = format!("{}=\"{value}\"", keys[key]);
        check(LANE, &[quoted, edit])?;
    }

    #[test]
    fn property_no_edit_panics(edit in "\\PC{0,40}|[a-z.=\"' {}1-9-]{0,40}") {
        if let Ok(read) = Edit::parse(&edit, 0) {
            prop_assert_eq!(Edit::parse(read.text(), 0), Ok(read));
        }
        check(LANE, &[edit])?;
    }
}
