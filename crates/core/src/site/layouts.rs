//! Layouts with their space, as a person names them: in words, or as arrays of a site.

use super::fault::{Fault, FaultSource, Faults, Place};
use super::model::Array;
use super::parts::in_argument;
use crate::array::capacity::{Choices, Space, SpaceFault, Terms, space};
use crate::array::{DriveSize, Layout};
use crate::quantity::{Information, units};

/// A layout, how its space is counted, and the space.
#[derive(Clone, Debug, PartialEq)]
pub struct Counted {
    /// Name of the array in its site; none for a layout in words.
    pub array: Option<String>,
    /// What it is made of.
    pub layout: Layout,
    /// How it is counted.
    pub terms: Terms,
    /// Where its bytes go.
    pub space: Space,
}

fn gigabytes(count: f64) -> Information {
    Information::new::<units::information::gigabyte>(count)
}

fn counted(array: Option<&str>, layout: Layout, choices: &Choices) -> Result<Counted, SpaceFault> {
    let terms = choices.terms(&layout);
    let space = space(&layout, &terms)?;
    Ok(Counted {
        array: array.map(str::to_owned),
        layout,
        terms,
        space,
    })
}

/// The space of a layout in words, for example `raid6 6 x 10 TB`.
///
/// # Errors
/// With the part of the text that is wrong.
pub fn counted_argument(text: &str, choices: &Choices) -> Result<Counted, Faults> {
    let layout = Layout::parse(text)
        .map_err(|fault| in_argument(text, "the layout cannot be read", &fault))?;
    counted(None, layout, choices).map_err(|fault| {
        let place = Place {
            source: FaultSource::Argument(text.to_owned()),
            span: 0..text.len(),
        };
        no_space(place, "its space cannot be counted", &fault).into()
    })
}

/// The space of an array of a site: once where the capacity of its drives is known, otherwise
/// with drives of the 5th, 50th and 95th percentile.
///
/// # Errors
/// Where drives are too small.
pub fn counted_array(array: &Array, choices: &Choices) -> Result<Vec<Counted>, Faults> {
    let title = format!("the space of array.{} cannot be counted", array.name);
    let capacity = &array.drives.capacity.value;
    let (low, likely, high) = (
        capacity.quantile(0.05),
        capacity.median(),
        capacity.quantile(0.95),
    );
    let sizes: Vec<Information> = if capacity.is_exact() {
        vec![likely]
    } else {
        // drives are sold by the gigabyte
        [low, likely, high]
            .map(|size| gigabytes(libm::round(size.get::<units::information::gigabyte>())))
            .to_vec()
    };
    let choices = &Choices {
        record: choices.record.or(array.record),
        chunk: choices.chunk.or(array.chunk),
        ..*choices
    };
    let mut all: Vec<Counted> = Vec::new();
    for size in sizes {
        let size = DriveSize::new(size)
            .map_err(|fault| Fault::new(Place::top(), &title, fault.found, fault.help))?;
        // the reader lets no other arrays through
        let layout = array.layout_of(size).map_err(|fault| {
            Fault::new(
                Place::top(),
                &title,
                fault.to_string(),
                "write another layout",
            )
        })?;
        let one = counted(Some(&array.name), layout, choices)
            .map_err(|fault| no_space(Place::top(), &title, &fault))?;
        if all.last() != Some(&one) {
            all.push(one);
        }
    }
    Ok(all)
}

fn no_space(place: Place, title: &str, fault: &SpaceFault) -> Fault {
    let help = match fault {
        SpaceFault::TooSmall { .. } => "write larger drives, or another layout",
        SpaceFault::Mismatch { .. } => "leave out the file system, or choose another",
        SpaceFault::Nonsense { allowed, .. } => allowed,
    };
    Fault::new(place, title, fault.to_string(), help)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::site::read;

    fn vault(drives: &str) -> Array {
        described(drives).unwrap().arrays[0].clone()
    }

    fn described(drives: &str) -> Result<crate::site::Site, Faults> {
        let text = format!(
            "name = \"Granary Lane\"\n[array.vault]\nnas = \"store\"\nlayout = \"raid6\"\n\
             drives = \"{drives}\"\nspares = 1\n[nas.store]\nport.a = {{ rate = \"1 Gb/s\" }}\n\
             [desk.cut-1]\nport.a = {{ rate = \"1 Gb/s\" }}\n\
             [[run]]\nfrom = \"desk.cut-1\"\nto = \"nas.store\"\n"
        );
        read(&text, &[], &Catalogue::embedded().unwrap())
    }

    #[test]
    fn an_array_holds_what_its_layout_in_words_holds() {
        let choices = Choices::default();
        let of_site = counted_array(&vault("6 x 10 TB hdd-7200"), &choices).unwrap();
        let in_words = counted_argument("raid6 6 x 10 TB + 1 spare", &choices).unwrap();
        assert_eq!(of_site.len(), 1);
        assert_eq!(of_site[0].space, in_words.space);
        assert_eq!(of_site[0].array.as_deref(), Some("vault"));
    }

    #[test]
    fn a_capacity_that_is_not_known_is_counted_three_times() {
        let found =
            counted_array(&vault("6 x 8..10..16 TB hdd-7200"), &Choices::default()).unwrap();
        let sizes: Vec<String> = found.iter().map(|c| c.layout.to_string()).collect();
        assert_eq!(
            sizes,
            [
                "raid6 6 x 8 TB + 1 spare 8 TB",
                "raid6 6 x 10 TB + 1 spare 10 TB",
                "raid6 6 x 16 TB + 1 spare 16 TB"
            ]
        );
    }

    #[test]
    fn drives_that_hold_nothing_are_refused_where_they_stand() {
        for drives in [
            "6 x 10 MB hdd-7200",
            "6 x 10 PB hdd-7200",
            "6 x 8..2000 TB hdd-7200",
        ] {
            let faults = described(drives).unwrap_err();
            assert!(faults.to_string().contains("array.vault"), "{faults}");
            assert!(faults.to_string().contains("is not sold"), "{faults}");
        }
        let faults = counted_argument("mirror 2 x 8 GB", &Choices::default()).unwrap_err();
        assert!(faults.to_string().contains("larger drives"), "{faults}");
    }
}
