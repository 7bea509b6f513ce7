//! Hostile input for every reader of text from outside: what it is tried with, and what must hold.
//!
//! A reader may refuse an input; it must not panic, and what it prints of an accepted one must read back as the
//! same. `cargo run --release -p narrows-fuzz -- --seconds 10` tries each reader for ten seconds.

pub mod mutate;
mod told;

use narrows_core::array::Layout;
use narrows_core::cable::{in_words, jacks};
use narrows_core::catalogue::Catalogue;
use narrows_core::change::Edit;
use narrows_core::day::jobs;
use narrows_core::explain::Listener;
use narrows_core::plan::ports::jack_map;
use narrows_core::plan::purchases::{Base, offers};
use narrows_core::plan::{DriveChoice, Need};
use narrows_core::quantity::{
    DataRate, Information, Length, LinkRate, Measure, Money, Time, exact, parse,
};
use narrows_core::site::{Site, read_bytes, read_bytes_with_tasks};
use narrows_core::spread::{Bounds, Spread};

/// What readers need to know before they read.
pub struct Known {
    catalogue: Catalogue,
    site: Site,
    listener: Listener,
}

/// Text of the example site.
fn example() -> &'static str {
    narrows_data::SITES.first().map_or("", |(_, text)| *text)
}

impl Known {
    /// The embedded catalogue and the example site.
    ///
    /// # Errors
    /// Where one of them is broken, which tests rule out.
    pub fn embedded() -> Result<Self, String> {
        let catalogue = Catalogue::embedded().map_err(|fault| fault.to_string())?;
        let site = read_bytes(example().as_bytes(), &[], &catalogue);
        let site = site.map_err(|faults| format!("{faults:?}"))?;
        let listener = Listener::at(&site).map_err(|fault| fault.to_string())?;
        Ok(Self {
            catalogue,
            site,
            listener,
        })
    }
}

/// One reader and the inputs to begin with.
pub struct Target {
    /// Its name on the command line.
    pub name: &'static str,
    /// Inputs from which others are made.
    pub seeds: Vec<Vec<u8>>,
    /// Reads one input; `Err` says what does not hold.
    pub run: fn(&Known, &[u8]) -> Result<(), String>,
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A layout or a price reads back as itself.
fn same<T: PartialEq>(what: &str, one: &T, other: Option<&T>, shown: &str) -> Result<(), String> {
    if other == Some(one) {
        Ok(())
    } else {
        Err(format!("{what} does not read back from '{shown}'"))
    }
}

/// Share by which a quantity may move when it is printed with twelve digits and read again.
const TWELVE_DIGITS: f64 = 1e-11;

/// A quantity reads back to the digits that are printed.
fn near<Q: Measure>(text: &str) -> Result<(), String> {
    let Ok(value) = parse::<Q>(text) else {
        return Ok(());
    };
    let shown = exact(value);
    let again = parse::<Q>(&shown).map_or(f64::NAN, Measure::base);
    let moved = (again - value.base()).abs();
    if moved <= TWELVE_DIGITS * value.base().abs() {
        Ok(())
    } else {
        Err(format!(
            "{} does not read back from '{shown}'",
            Q::KIND.noun()
        ))
    }
}

fn quantities(_: &Known, bytes: &[u8]) -> Result<(), String> {
    let text = text(bytes);
    near::<DataRate>(&text)?;
    near::<Information>(&text)?;
    near::<LinkRate>(&text)?;
    near::<Time>(&text)?;
    near::<Length>(&text)?;
    if let Ok(price) = Money::parse(&text) {
        let shown = price.to_string();
        same(
            "a price",
            &price,
            Money::parse(&shown).ok().as_ref(),
            &shown,
        )?;
    }
    let _ = Spread::<Length>::parse(&text, Bounds::POSITIVE);
    let _ = Spread::<Information>::parse(&text, Bounds::POSITIVE);
    Ok(())
}

fn layout(_: &Known, bytes: &[u8]) -> Result<(), String> {
    if let Ok(layout) = Layout::parse(&text(bytes)) {
        let shown = layout.to_string();
        same(
            "a layout",
            &layout,
            Layout::parse(&shown).ok().as_ref(),
            &shown,
        )?;
    }
    Ok(())
}

fn edits(known: &Known, bytes: &[u8]) {
    if let Ok(edits) = Edit::parse_all(&[text(bytes)]) {
        let _ = read_bytes(example().as_bytes(), &edits, &known.catalogue);
    }
}

fn purchases(known: &Known, bytes: &[u8]) {
    let base = Base {
        site: example().as_bytes(),
        tasks: None,
        edits: &[],
    };
    let _ = offers(&text(bytes), &base, &known.catalogue);
}

fn seeds(texts: &[&str]) -> Vec<Vec<u8>> {
    texts.iter().map(|t| t.as_bytes().to_vec()).collect()
}

fn all<'a>(examples: impl IntoIterator<Item = &'a (&'a str, &'a str)>) -> Vec<Vec<u8>> {
    examples
        .into_iter()
        .map(|(_, text)| text.as_bytes().to_vec())
        .collect()
}

/// Every reader.
pub fn targets() -> Vec<Target> {
    let mut all = of_words();
    all.extend(of_files());
    all.extend(told::targets());
    all
}

/// Readers of one line.
fn of_words() -> Vec<Target> {
    vec![
        Target {
            name: "quantity",
            seeds: seeds(&[
                "117 MB/s",
                "10 Gb/s",
                "14 TB",
                "12.7 TiB",
                "20..31..35 m",
                "210 MB/s +- 10 %",
                "300 EUR",
                "4 ms",
            ]),
            run: quantities,
        },
        Target {
            name: "layout",
            seeds: seeds(&[
                "raid6 6 x 10 TB",
                "raid5 2 x 8 TB, 2 x 10 TB + 1 spare",
                "2 x raidz1 4 x 8 TB",
                "raid10 far 6 x 4 TB",
            ]),
            run: layout,
        },
        Target {
            name: "need",
            seeds: seeds(&["20 TB", "400 MB/s", "2000 IOPS random read", "survive 2"]),
            run: |known, bytes| {
                let _ = Need::parse(&text(bytes));
                let _ = DriveChoice::parse(&text(bytes), &known.catalogue);
                Ok(())
            },
        },
        Target {
            name: "cable",
            seeds: seeds(&[
                "cat5e 31 m",
                "cat6 55 m tight 6 neighbours at 1 Gb/s",
                "cat6a 90 m, 4 connections, 35 C",
                "unknown 20..40 m",
            ]),
            run: |known, bytes| {
                let _ = in_words(&text(bytes), &known.catalogue);
                Ok(())
            },
        },
    ]
}

/// Readers of whole files.
fn of_files() -> Vec<Target> {
    vec![
        Target {
            name: "jacks",
            seeds: seeds(&[
                "jack;room;panel port;desk;switch;traced;cable;length m;known;bundle;neighbours\nE-1;edit;P-01;cut-1;;verified;cat5e;31,5;measured;loose;6 at 1 Gb/s\n",
            ]),
            run: |known, bytes| {
                let _ = jacks(bytes, &known.catalogue);
                let _ = jack_map(bytes, &known.site, &known.catalogue);
                Ok(())
            },
        },
        Target {
            name: "jobs",
            seeds: all(narrows_data::JOBS),
            run: |known, bytes| {
                let _ = jobs(bytes, &known.site, &known.catalogue);
                Ok(())
            },
        },
        Target {
            name: "site",
            seeds: all(narrows_data::SITES),
            run: |known, bytes| {
                let _ = read_bytes(bytes, &[], &known.catalogue);
                Ok(())
            },
        },
        Target {
            name: "tasks",
            seeds: all(narrows_data::TASKS),
            run: |known, bytes| {
                let _ =
                    read_bytes_with_tasks(example().as_bytes(), Some(bytes), &[], &known.catalogue);
                Ok(())
            },
        },
        Target {
            name: "edit",
            seeds: seeds(&[
                "nas.store.signed=plain",
                "switch.stairs.port.any.rate=\"1 Gb/s\"",
                "run.4.length=\"20..31 m\"",
                "desk.cut-1.disk=unknown",
            ]),
            run: |known, bytes| {
                edits(known, bytes);
                Ok(())
            },
        },
        Target {
            name: "offers",
            seeds: seeds(&[
                "[[offer]]\nid = \"card\"\nlabel = \"10 Gb/s card\"\nprice = \"90 EUR\"\nset = [\"desk.colour.port.a.rate=\\\"10 Gb/s\\\"\"]\n",
            ]),
            run: |known, bytes| {
                purchases(known, bytes);
                Ok(())
            },
        },
    ]
}

#[cfg(test)]
#[allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails
mod tests {
    use super::*;

    #[test]
    fn every_reader_takes_its_own_examples() {
        let known = Known::embedded().unwrap();
        for target in targets() {
            assert!(!target.seeds.is_empty(), "{}", target.name);
            for seed in &target.seeds {
                assert_eq!((target.run)(&known, seed), Ok(()), "{}", target.name);
            }
        }
    }

    #[test]
    fn an_input_is_repeatable_from_its_seed() {
        let made = |seed| {
            let mut chance = mutate::Chance::new(seed);
            (0..50)
                .map(|_| mutate::mutated(&mut chance, b"raid6 6 x 10 TB", b"20..31 m"))
                .collect::<Vec<_>>()
        };
        assert_eq!(made(7), made(7));
        assert_ne!(made(7), made(8));
    }
}
