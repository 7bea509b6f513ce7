//! From what was said of a run to its physics, with what stands in for the rest.

use super::run::{CableRun, Case, Joint};
use super::words::{Kind, Said, Words};
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::copper::{
    Bundle, Category, Celsius, Conductor, Gauge, LengthBasis, Neighbours, Pairs, RunPhysics,
    Screen, USUAL_MATED_PAIRS,
};
use crate::quantity::{Length, LinkRate};
use crate::site::{Assumption, Fault, FaultSource, Faults, Place};
use crate::spread::{Bounds, Choice, Spread};
use std::ops::Range;

/// Middles of equal slices of a length that is a range.
pub(super) const LENGTHS: [f64; 4] = [0.125, 0.375, 0.625, 0.875];

/// Rates of twisted pair that ports are sold with, and those that only category 8 is made for.
pub(super) const USUAL_RATES: [u64; 5] = [100, 1000, 2500, 5000, 10_000];
pub(super) const FAST_RATES: [u64; 2] = [25_000, 40_000];

/// The rate that a module in a cage has.
const MODULE_RATE: LinkRate = LinkRate::from_megabits(10_000);

/// Reads a run in words.
///
/// ```text
/// run        part {"," part}; commas may be left out
/// part       cable | length | knowledge | lay | neighbours | COUNT "connections" | cords
///          | NUMBER "C" | "certified" | screen | pairs | conductor | gauge | "module" LENGTH
///          | "ports" RATE | power | COUNT "splices"
/// cable      "cat5" | "cat5e" | "cat6" | "cat6a" | "cat7" | "cat8" | "unknown"
///          | ["fibre"] ("om1" | "om2" | "om3" | "om4" | "om5" | "os1" | "os2") | "fibre" | "twinax"
/// length     LENGTH | LENGTH ".." LENGTH
/// knowledge  "measured" | "labelled" | "guessed" | "about"
/// lay        ("tight" | "loose" | "apart" | "alone") ["for" LENGTH] | "untied" LENGTH
/// neighbours COUNT "neighbours" ["at" RATE] | "no" "neighbours"; may stand several times
/// cords      "cords" [LENGTH] [GAUGE "awg"] | LENGTH "cords" | GAUGE "awg" "cords"
///          | "cords" and a grade of fibre
/// screen     "bonded" | "unchecked" | "screened" (counts as unchecked) | "unscreened"
/// pairs      "two" "pairs" | "four" "pairs"
/// conductor  "copper" | "copper-clad"
/// power      "power" "class" DIGIT | NUMBER "W" | COUNT "powered" | "enclosed" | "open"
/// ```
///
/// # Errors
/// With every word that says nothing of a cable, and every value that is not covered.
pub fn in_words(text: &str, catalogue: &Catalogue) -> Result<CableRun, Faults> {
    let source = FaultSource::Argument(text.to_owned());
    let mut words = Words::new(text, source.clone());
    let mut said = Said::default();
    words.take(0..text.len(), &mut said);
    if said.length.is_none() && words.faults.is_empty() {
        let found = "no length is told";
        let help = "write it behind the cable, for example \"cat5e 31 m\" or \"cat5e 20..35 m\"";
        words.fault(0..text.len(), "a run without a length", found, help);
    }
    let run = Describing {
        catalogue,
        label: text.trim(),
        prefix: "",
        whole: 0..text.len(),
    }
    .run(&said, &mut words);
    match run {
        Some(run) if words.faults.is_empty() => Ok(run),
        _ => Err(Faults::ordered(words.faults)),
    }
}

/// A fault of the embedded catalogue, which its own tests rule out.
fn broken(fault: &CatalogueFault, source: FaultSource, span: Range<usize>) -> Fault {
    let place = Place { source, span };
    Fault::new(
        place,
        "the catalogue is broken",
        fault.to_string(),
        "this is a mistake in the program; please report it",
    )
}

/// Puts one run together.
pub(super) struct Describing<'a> {
    pub catalogue: &'a Catalogue,
    pub label: &'a str,
    /// Stands before the names of assumptions.
    pub prefix: &'a str,
    /// Where a fault of the whole run points.
    pub whole: Range<usize>,
}

struct Assumed<'a> {
    prefix: &'a str,
    list: Vec<Assumption>,
}

impl Assumed<'_> {
    fn add(&mut self, what: &str, value: String, because: &str, find_out: &str) {
        self.list.push(Assumption {
            id: format!("{}{what}", self.prefix),
            value,
            because: because.to_owned(),
            find_out: find_out.to_owned(),
        });
    }

    pub(super) fn or<T: Clone>(
        &mut self,
        said: Option<&(T, Range<usize>)>,
        usual: T,
        [what, value, find_out]: [&str; 3],
    ) -> T {
        if let Some((value, _)) = said {
            return value.clone();
        }
        self.add(
            what,
            value.to_owned(),
            "judgement: usual in offices",
            find_out,
        );
        usual
    }
}

impl Describing<'_> {
    pub(super) fn run(&self, said: &Said, words: &mut Words<'_>) -> Option<CableRun> {
        let mut assumed = Assumed {
            prefix: self.prefix,
            list: Vec::new(),
        };
        let kind = said.kind.as_ref().map(|(kind, _)| *kind);
        let length = match &said.length {
            Some((length, _)) => length.clone(),
            None => self.usual_length(&mut assumed, words)?,
        };
        let joint = match kind {
            Some(Kind::Fibre(grade)) => {
                Self::only(said, words);
                if grade.is_none() {
                    assumed.add(
                        "grade",
                        "any".to_owned(),
                        "nobody said which",
                        "read the print on the sheath: OM1 to OM5, OS1, OS2",
                    );
                }
                let cords = said.cord_grade.as_ref().map(|(cords, _)| *cords);
                if let (Some(grade), Some((cords, at))) = (grade, &said.cord_grade)
                    && !grade.mates(*cords)
                {
                    let found = "one is multimode and the other single mode";
                    let help = "write the grade that is printed on the cords, or on the cable";
                    words.fault(at.clone(), "cords that do not fit the cable", found, help);
                }
                Joint::Fibre {
                    grade,
                    cords,
                    length: length.median(),
                    mated_pairs: assumed.or(
                        said.connections.as_ref(),
                        USUAL_MATED_PAIRS,
                        ["connections", "2", "count the plugs between the two optics"],
                    ),
                    splices: said.splices.as_ref().map_or(0, |(count, _)| *count),
                }
            }
            Some(Kind::Twinax) => {
                Self::only(said, words);
                Joint::Twinax {
                    length: length.median(),
                }
            }
            Some(Kind::Pair(_) | Kind::UnknownPair) | None => {
                self.copper(said, kind, &length, &mut assumed, words)?
            }
        };
        let run = CableRun {
            label: self.label.to_owned(),
            between: None,
            joint,
            lengths: bounds(&length),
            power: said.power(),
            known: None,
            negotiated: None,
            assumptions: assumed.list,
        };
        self.checked(&run, said, words);
        Some(run)
    }

    fn usual_length(
        &self,
        assumed: &mut Assumed<'_>,
        words: &mut Words<'_>,
    ) -> Option<Spread<Length>> {
        match self.catalogue.spread::<Length>("cable.length") {
            Ok(length) => {
                assumed.add(
                    "length",
                    length.to_string(),
                    "judgement: office and old-building runs",
                    "measure it, or read the metre marks on the sheath at both ends",
                );
                Some(length)
            }
            Err(fault) => {
                words
                    .faults
                    .push(broken(&fault, FaultSource::File, self.whole.clone()));
                None
            }
        }
    }

    fn usual_categories(
        &self,
        assumed: &mut Assumed<'_>,
        words: &mut Words<'_>,
    ) -> Option<Choice<Category>> {
        match self.catalogue.choice("wall-cable", Category::from_word) {
            Ok(choice) => {
                assumed.add(
                    "cable",
                    shown(&choice, Category::word),
                    "judgement: cabling found in buildings",
                    "read the print on the sheath at a socket or in the closet",
                );
                Some(choice)
            }
            Err(fault) => {
                let place = self.whole.clone();
                words.faults.push(broken(&fault, FaultSource::File, place));
                None
            }
        }
    }

    fn copper(
        &self,
        said: &Said,
        kind: Option<Kind>,
        length: &Spread<Length>,
        assumed: &mut Assumed<'_>,
        words: &mut Words<'_>,
    ) -> Option<Joint> {
        let categories = if let Some(Kind::Pair(category)) = kind {
            Choice::certain(category)
        } else {
            self.usual_categories(assumed, words)?
        };
        if let Some((_, at)) = &said.cord_grade {
            let found = format!("'{}' is said of a fibre", words.at(at));
            let help = "write cords 26 awg, or a fibre as the cable";
            words.fault(at.clone(), "not said of this cable", found, help);
        }
        let physics = Self::physics(said, length, assumed);
        let rates = self.rates(said, categories.options(), words);
        let lengths: Vec<(f64, Length)> = if length.is_exact() {
            vec![(1.0, length.median())]
        } else {
            let each = 1.0 / LENGTHS.len() as f64;
            LENGTHS.map(|share| (each, length.quantile(share))).to_vec()
        };
        let mut cases = Vec::new();
        for (category, share) in categories.options() {
            for (each, length) in &lengths {
                let fits = |part: Length| if part > *length { *length } else { part };
                let ranged = lengths.len() > 1;
                cases.push(Case {
                    weight: share * each,
                    physics: RunPhysics {
                        category: *category,
                        screen: said.screen.as_ref().map_or_else(
                            || RunPhysics::new(*category, *length).screen,
                            |(screen, _)| *screen,
                        ),
                        pairs: said
                            .pairs
                            .as_ref()
                            .map_or_else(|| category.pairs(), |(pairs, _)| *pairs),
                        length: *length,
                        cords: if ranged {
                            physics.cords.map(fits)
                        } else {
                            physics.cords
                        },
                        ..physics.clone()
                    },
                });
            }
        }
        let category = *categories.likeliest();
        let typical = Box::new(RunPhysics {
            category,
            screen: said.screen.as_ref().map_or_else(
                || RunPhysics::new(category, physics.length).screen,
                |(screen, _)| *screen,
            ),
            ..physics
        });
        Some(Joint::Copper {
            cases,
            typical,
            rates,
        })
    }

    /// Everything but the category.
    fn physics(said: &Said, length: &Spread<Length>, assumed: &mut Assumed<'_>) -> RunPhysics {
        let usual = RunPhysics::new(Category::Cat5e, length.median());
        let alone = matches!(said.bundle, Some((Bundle::Alone, _)));
        let neighbours = if said.neighbours.is_empty() && alone {
            // what is left of them in the patch field
            usual.neighbours.clone()
        } else if said.neighbours.is_empty() {
            assumed.add(
                "neighbours",
                "6 neighbours at the same rate".to_owned(),
                "judgement: the worst that six of them do",
                "count the cables that touch it, and read the rates of their ports",
            );
            usual.neighbours.clone()
        } else if said.neighbour_rate.is_none()
            && said.neighbours.iter().all(|(_, rate, _)| rate.is_none())
        {
            let count = said.neighbours.iter().map(|(count, ..)| *count);
            Neighbours::SameRate(count.fold(0, u32::saturating_add))
        } else {
            let other = said.neighbour_rate.as_ref();
            let other = other.map_or(LinkRate::from_megabits(1000), |(rate, _)| *rate);
            Neighbours::Rates(
                said.neighbours
                    .iter()
                    .map(|(count, rate, _)| (rate.unwrap_or(other), *count))
                    .collect(),
            )
        };
        if said.temperature.is_none() {
            assumed.add(
                "temperature",
                "30 C".to_owned(),
                "judgement: cable routes by day in the warm season",
                "hang a thermometer where the cable runs",
            );
        }
        RunPhysics {
            length_basis: said
                .basis
                .as_ref()
                .map_or(LengthBasis::Labelled, |(b, _)| *b),
            connections: assumed.or(
                said.connections.as_ref(),
                usual.connections,
                [
                    "connections",
                    "4",
                    "count the plugs and panels between the two ports",
                ],
            ),
            cords: said.cords.as_ref().map(|(length, _)| *length),
            cord_gauge: said.cord_gauge.as_ref().map_or(Gauge::Awg24, |(g, _)| *g),
            cable_gauge: said.gauge.as_ref().map(|(gauge, _)| *gauge),
            conductor: said
                .conductor
                .as_ref()
                .map_or(Conductor::Copper, |(c, _)| *c),
            pairs: said.pairs.as_ref().map_or(Pairs::Four, |(pairs, _)| *pairs),
            bundle: assumed.or(
                said.bundle.as_ref(),
                usual.bundle,
                [
                    "bundle",
                    "loose",
                    "look how the cables lie: tied, loose, apart or alone",
                ],
            ),
            beside_first: said.beside_first.as_ref().map(|(length, _)| *length),
            untied_ends: said
                .untied
                .as_ref()
                .map_or(usual.untied_ends, |(length, _)| *length),
            neighbours,
            temperature: said.temperature.as_ref().map_or(Celsius(30.0), |(t, _)| *t),
            certified: said
                .certified
                .as_ref()
                .is_some_and(|(certified, _)| *certified),
            module_reach: said
                .module
                .as_ref()
                .map(|(reach, _)| vec![(MODULE_RATE, *reach)])
                .unwrap_or_default(),
            screen: Screen::Plain,
            ..usual
        }
    }
}

pub(super) fn place<T>(said: Option<&(T, Range<usize>)>) -> Option<Range<usize>> {
    said.map(|(_, span)| span.clone())
}

/// The 5th and the 95th percentile of a length.
pub(super) fn bounds(length: &Spread<Length>) -> [Length; 2] {
    if length.is_exact() {
        [length.median(); 2]
    } else {
        [length.quantile(0.05), length.quantile(0.95)]
    }
}

/// Whether a twisted-pair transceiver has this rate.
pub(crate) fn in_copper(rate: LinkRate) -> bool {
    let all = USUAL_RATES.iter().chain(&FAST_RATES);
    all.map(|known| LinkRate::from_megabits(*known))
        .any(|known| known == rate)
}

fn shown<T: Clone + PartialEq>(choice: &Choice<T>, word: fn(T) -> &'static str) -> String {
    let options: Vec<String> = choice
        .options()
        .iter()
        .map(|(option, share)| format!("{} {:.0} %", word(option.clone()), share * 100.0))
        .collect();
    options.join(", ")
}

/// A length as a list of jacks gives it.
pub(super) fn length(text: &str) -> Result<Spread<Length>, crate::quantity::UnitFault> {
    Spread::parse(text, Bounds::POSITIVE)
}
