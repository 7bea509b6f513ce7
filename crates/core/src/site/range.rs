//! What a value of a site can be at all: beyond it a slip of the pen is likelier than such a place.

use crate::quantity::{Kind, Measure, show};

/// The least and the most of a kind in base units (bytes, seconds, metres, watts, bytes a second), by judgement: a
/// cord of a hand's breadth and a line across a city; a drive of the first days and more than all drives of a hall. None where the kind has
/// bounds of its own or is free.
fn range(kind: Kind) -> Option<(f64, f64)> {
    match kind {
        Kind::Length => Some((0.01, 200e3)),
        Kind::DataRate => Some((1.0, 10e12)),
        Kind::Information => Some((1.0, 1e18)),
        Kind::Time => Some((1e-9, 10.0 * 365.25 * 86400.0)),
        Kind::Power => Some((1e-3, 1e6)),
        Kind::Frequency => Some((1e-3, 1e12)),
        _ => None,
    }
}

/// How the range of a kind is said, where a value from `low` to `high` leaves it. Zero is another
/// question: fields that allow it say so.
///
/// Checked by `property_values_at_the_ends_of_their_range_are_taken_and_beyond_refused`.
pub(super) fn beyond<Q: Measure>(low: f64, high: f64) -> Option<String> {
    let (least, most) = range(Q::KIND)?;
    // a value that was written in another unit may differ in its last bit
    let slack = 1e-12;
    let inside = (low == 0.0 || low >= least * (1.0 - slack)) && high <= most * (1.0 + slack);
    (!inside).then(|| {
        format!(
            "write {} from {} to {}",
            Q::KIND.noun(),
            show(Q::from_base(least)),
            show(Q::from_base(most))
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::quantity::{DataRate, Information, Length, Time};
    use crate::site::read;

    fn ends<Q: Measure>() -> [f64; 2] {
        range(Q::KIND).unwrap().into()
    }

    #[test]
    fn property_values_at_the_ends_of_their_range_are_taken_and_beyond_refused() {
        fn hold<Q: Measure>() {
            let [least, most] = ends::<Q>();
            assert_eq!(beyond::<Q>(least, most), None);
            assert_eq!(beyond::<Q>(0.0, least), None);
            for (low, high) in [
                (least * 0.99, most),
                (least, most * 1.01),
                (f64::MIN_POSITIVE, least),
            ] {
                assert!(beyond::<Q>(low, high).is_some(), "{low} to {high}");
            }
        }
        hold::<Length>();
        hold::<DataRate>();
        hold::<Information>();
        hold::<Time>();
    }

    #[test]
    fn a_run_across_a_planet_is_refused_with_what_can_be_written() {
        let catalogue = Catalogue::embedded().unwrap();
        for (length, taken) in [
            ("31 m", true),
            ("1e9 km", false),
            ("1 mm", false),
            ("0 m", false),
            ("1 cm", true),
            ("1..1e12 m", false),
        ] {
            let text = format!(
                "[array.vault]\nnas = \"store\"\nlayout = \"raid6\"\ndrives = \"6 x 10 TB hdd-7200\"\n\
                 [nas.store]\nport.a = {{ rate = \"1 Gb/s\" }}\n[desk.cut-1]\nport.a = {{ rate = \"1 Gb/s\" }}\n\
                 [[run]]\nfrom = \"desk.cut-1\"\nto = \"nas.store\"\ncable = \"cat5e\"\nlength = \"{length}\"\n"
            );
            let site = read(&text, &[], &catalogue);
            assert_eq!(site.is_ok(), taken, "{length}: {:?}", site.err());
        }
    }
}
