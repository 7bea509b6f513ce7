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
/// Checked by `property_values_at_the_ends_of_their_range_are_taken_and_beyond_refused`,
/// `property_every_field_is_taken_at_its_ends_and_refused_beyond`.
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
    use crate::change::Edit;
    use crate::quantity::{DataRate, Information, Length, Time};
    use crate::site::fields::FIELDS;
    use crate::site::read;
    use crate::site::schema::{Form, Section};

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

    /// A part of the example site for each section, and a task.
    fn of(section: Section) -> Option<&'static str> {
        Some(match section {
            Section::Network => "network",
            Section::Array => "array.vault",
            Section::Nas => "nas.store",
            Section::Switch => "switch.attic",
            Section::Desk => "desk.cut-1",
            Section::Port => "desk.cut-1.port.a",
            Section::Run => "run.2",
            Section::Task => "task.1",
            Section::AccessPoint => "access-point.landing",
            Section::Building => "building",
            Section::Room => "room.store",
            Section::Wall => "wall.1",
            Section::Jack => "jack.landing",
            Section::Supply => "supply.closet",
            Section::Copy => "copy.cellar",
            Section::Project => "project",
            Section::Site => return None,
        })
    }

    fn unit(kind: Kind) -> Option<&'static str> {
        Some(match kind {
            Kind::Length => "m",
            Kind::DataRate => "B/s",
            Kind::Information => "B",
            Kind::Time => "s",
            Kind::Power => "W",
            Kind::Frequency => "Hz",
            _ => return None,
        })
    }

    #[test]
    fn property_every_field_is_taken_at_its_ends_and_refused_beyond() {
        let catalogue = Catalogue::embedded().unwrap();
        let whole = narrows_data::SITES
            .iter()
            .find(|(name, _)| *name == "granary-lane-whole")
            .unwrap();
        let task = "[[task]]\ndesk = \"cut-1\"\ndoes = \"copy\"\n";
        let text = format!("{}\n{task}", whole.1);
        let mut tried = 0;
        for field in FIELDS {
            let Form::Quantity { kind, zero } = field.form else {
                continue;
            };
            let id = format!("{}.{}", of(field.section).unwrap(), field.key);
            // what is said of the value itself; whether it goes with the others is another question
            let of_one = |id: &str, value: &str| {
                let edit = Edit::parse(&format!("{id}=\"{value}\""), 0).unwrap();
                let Err(faults) = read(&text, &[edit], &catalogue) else {
                    return false;
                };
                let said = [" cannot be so", " is zero", " is not "];
                faults.iter().any(|fault| {
                    let rest = fault.title.strip_prefix(id);
                    rest.is_some_and(|rest| {
                        let apart = !rest.starts_with(" is not in order with");
                        apart && said.iter().any(|words| rest.starts_with(words))
                    })
                })
            };
            // some fields go with a cable, some with a radio link
            let radio = id.replacen("run.2.", "run.9.", 1);
            let of_itself = |value: &str| of_one(&id, value) || of_one(&radio, value);
            let holds = |value: &str, taken: bool| {
                assert_eq!(!of_itself(value), taken, "{id} = {value}");
            };
            if let (Some((least, most)), Some(unit)) = (range(kind), unit(kind)) {
                holds(&format!("{least} {unit}"), true);
                holds(&format!("{most} {unit}"), true);
                holds(&format!("{} {unit}", most * 1.01), false);
                holds(&format!("{} {unit}", least * 0.99), false);
                holds(&format!("0 {unit}"), zero);
                holds(&format!("{least}..{} {unit}", most * 1.01), false);
            } else {
                assert_eq!(kind, Kind::Fraction, "{id} has no ends");
                holds("0.1 %", true);
                holds("100 %", true);
                holds("100.1 %", false);
                holds("0 %", zero);
            }
            holds("-1", false);
            tried += 1;
        }
        assert!(tried >= 50, "{tried}");
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
