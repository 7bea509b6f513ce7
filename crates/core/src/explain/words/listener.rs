//! A text is a reading or a remark.

use super::faulty::{Faulty, meant};
use super::items::{Amount, Item, REQUESTS, Unit, items};
use super::open::{Understood, danger, has_strangers, is_a_remark, means_nothing, near, open};
use super::phrases::vocabulary;
use super::remarks::{Caught, RemarkRow, Remarks};
use super::sentence::{FORM, reading};
use super::then::then_or_now;
use super::tokens::{LONGEST, tokens};
use super::units::{Context, Units};
use crate::catalogue::CatalogueFault;
use crate::explain::{Exactness, RateReading, Reading, Remark, What};
use crate::quantity::{Information, Measure, seconds};
use crate::site::{Faults, Site};
use std::ops::Range;

/// What a text turned out to be.
#[derive(Clone, Debug, PartialEq)]
pub enum Statement {
    /// Something measured.
    Reading(Reading),
    /// Something noticed.
    Remark(Remark),
}

impl Statement {
    /// As it was written.
    pub fn text(&self) -> &str {
        match self {
            Self::Reading(reading) => &reading.text,
            Self::Remark(remark) => &remark.text,
        }
    }
}

/// Reads texts; knows the units, the remarks and, with a site, the names.
#[derive(Clone, Debug)]
pub struct Listener {
    pub(super) units: Units,
    pub(super) remarks: Remarks,
    pub(super) names: Option<Vec<String>>,
    pub(super) machines: Vec<String>,
}

impl Listener {
    /// For a place of which no site is told: any word that is none of a reading may be a name.
    ///
    /// # Errors
    /// Only where a file of the data directory is broken, which a test rules out.
    pub fn anywhere() -> Result<Self, CatalogueFault> {
        Ok(Self {
            units: Units::embedded()?,
            remarks: Remarks::embedded()?,
            names: None,
            machines: Vec::new(),
        })
    }

    /// For a site: the names of its desks, of its NAS and of its arrays may stand in a reading.
    ///
    /// # Errors
    /// As [`Self::anywhere`].
    pub fn at(site: &Site) -> Result<Self, CatalogueFault> {
        let desks = site.desks.iter().map(|desk| desk.name.clone());
        let nas = site.nas.iter().map(|nas| nas.name.clone());
        let arrays = site.arrays.iter().map(|array| array.name.clone());
        Ok(Self {
            names: Some(desks.collect()),
            machines: nas.chain(arrays).collect(),
            ..Self::anywhere()?
        })
    }

    /// What a text of the command line says: one thing, or two where a reading holds both ways.
    ///
    /// # Errors
    /// With every part that is not understood, what is allowed, and the nearest known words.
    pub fn hear(&self, text: &str) -> Result<Vec<Statement>, Faults> {
        let mut faulty = Faulty::argument(text);
        let found = self.listen(&mut faulty);
        if faulty.any() {
            Err(faulty.done())
        } else {
            Ok(found)
        }
    }

    /// As [`Self::hear`], with what may be meant where that is not sure.
    ///
    /// # Errors
    /// As [`Self::hear`]; a text with choices that are near enough to ask for is no fault.
    pub fn understand(&self, text: &str) -> Result<Understood, Faults> {
        let mut faulty = Faulty::argument(text);
        let danger = danger(text).map(|danger| danger.remark);
        // what may cost pictures is never left out for the sake of what the rest says
        let whole = |statements: &[Statement]| {
            danger.is_none() || statements.iter().any(|s| matches!(s, Statement::Remark(_)))
        };
        if let Some(statements) = self.by_grammar(&mut faulty)
            && !faulty.any()
            && whole(&statements)
        {
            return Ok(then_or_now(text, &statements, self)
                .unwrap_or_else(|| Understood::exact(statements)));
        }
        if let Some(statements) = self.mended(text).filter(|found| whole(found)) {
            return Ok(Understood::exact(statements));
        }
        let near = |faults: Faults| {
            if faults.iter().any(|f| f.title.starts_with(NOT_UNDERSTOOD)) {
                faults.near(near(text, self))
            } else {
                faults
            }
        };
        if danger.is_none() && self.at_its_word(text, &faulty) {
            return Err(near(faulty.done()));
        }
        let open = open(text, self);
        if open.statements.is_empty() && (open.choices.is_empty() || means_nothing(text)) {
            if !faulty.any() {
                faulty.add(
                    0..text.len(),
                    "a reading",
                    "nothing is understood here",
                    FORM,
                );
            }
            Err(faulty.done())
        } else {
            Ok(open)
        }
    }

    /// What a text says with slips of the keyboard mended: words of letters that nobody knows, of which one known word is one
    /// slip away; nothing where that does not make it one that is known to the word.
    fn mended(&self, text: &str) -> Option<Vec<Statement>> {
        let mut known: Vec<&str> = self.remarks.vocabulary().collect();
        known.extend(vocabulary().map(|word| -> &str { word }));
        known.extend(self.names.iter().flatten().map(String::as_str));
        known.extend(self.machines.iter().map(String::as_str));
        known.sort_unstable();
        known.dedup();
        let mend = |word: &str| -> Option<String> {
            let lower = word.to_lowercase();
            if lower.len() < SLIPPED || !lower.chars().all(char::is_alphabetic) {
                return Some(word.to_owned());
            }
            if known.iter().any(|k| k.to_lowercase() == lower) || self.remarks.knows(&lower) {
                return Some(word.to_owned());
            }
            let mut near = known.iter().filter(|k| {
                let apart = k.len().abs_diff(lower.len()) <= 1 && k.len() >= SLIPPED;
                apart && strsim::osa_distance(k, &lower) == 1
            });
            let only = near.next()?;
            near.next().is_none().then(|| (*only).to_owned())
        };
        let words: Vec<String> = text.split_whitespace().map(mend).collect::<Option<_>>()?;
        let mended = words.join(" ");
        let mut faulty = Faulty::argument(&mended);
        let found = self.by_grammar(&mut faulty)?;
        if faulty.any() || mended == text {
            return None;
        }
        let as_written = |mut statement: Statement| {
            let own = match &mut statement {
                Statement::Reading(reading) => &mut reading.text,
                Statement::Remark(remark) => &mut remark.text,
            };
            text.trim().clone_into(own);
            statement
        };
        Some(found.into_iter().map(as_written).collect())
    }

    /// Whether a text is so short that a wrong word or number in it is a mistake rather than a way to put it.
    fn at_its_word(&self, text: &str, faulty: &Faulty<'_>) -> bool {
        // cut-3 where the desks are cut-1 and cut-2 is a desk that is not there
        let letters = |name: &str| -> String {
            let all = name.chars().filter(|c| !c.is_ascii_digit());
            all.flat_map(char::to_lowercase).collect()
        };
        let misnamed = faulty.spans().any(|span| {
            let word = faulty.at(&span);
            let mut names = self.names.iter().flatten().chain(&self.machines);
            word.contains(|c: char| c.is_ascii_digit())
                && names.any(|name| letters(name) == letters(word))
        });
        let least = if faulty.unread { SPOKEN } else { SPOKEN + 2 };
        let short = text.split_whitespace().count() < least;
        // a number of pieces that is wrong is a mistake, however long the text is
        let of_pieces = |word: &str| REQUESTS.contains(&word.to_lowercase().as_str());
        let pieces = !faulty.unread && text.split_whitespace().any(of_pieces);
        let strange = || (!faulty.unread || has_strangers(text)) && !is_a_remark(text);
        misnamed || pieces || text.len() > LONGEST || (short && strange())
    }

    /// As [`Self::hear`], for a text whose faults belong to somebody else.
    pub(super) fn listen(&self, faulty: &mut Faulty<'_>) -> Vec<Statement> {
        let found = self.by_grammar(faulty);
        if !faulty.any() {
            return found.unwrap_or_default();
        }
        if danger(faulty.text).is_none() && self.at_its_word(faulty.text, faulty) {
            return Vec::new();
        }
        let open = open(faulty.text, self);
        if !open.statements.is_empty() {
            faulty.forget();
        }
        open.statements
    }

    /// What a text says to the grammar of readings and the patterns of remarks; `None`, with the faults, where it has words that
    /// neither of them knows.
    fn by_grammar(&self, faulty: &mut Faulty<'_>) -> Option<Vec<Statement>> {
        let text = faulty.text;
        if text.trim().is_empty() {
            faulty.add(0..text.len(), "a reading", "nothing is written here", FORM);
            return Some(Vec::new());
        }
        if text.len() > LONGEST {
            faulty.add(
                0..0,
                "a reading",
                format!("the text is {} bytes long", text.len()),
                format!("write at most {LONGEST} bytes, and one thing in each"),
            );
            return Some(Vec::new());
        }
        let tokens = tokens(text, faulty);
        let items = items(text, &tokens);
        if faulty.any() {
            return Some(Vec::new());
        }
        if let Some(remark) = self.remark(&items, text) {
            return Some(vec![Statement::Remark(remark)]);
        }
        let (found, unread) = reading(&items, self, faulty);
        if !unread.is_empty() {
            self.not_understood(&items, &unread, faulty);
            faulty.unread = true;
            return None;
        }
        Some(found.into_iter().map(Statement::Reading).collect())
    }

    fn remark(&self, items: &[Item], text: &str) -> Option<Remark> {
        let one = |items: &[Item], desk: Option<String>| {
            let (row, caught) = self.remarks.find(items)?;
            Some(self.made(row, &caught, desk, text))
        };
        let whole = one(items, None);
        if whole.is_some() {
            return whole;
        }
        // "sound: by wire it is faster"
        let (first, rest) = items.split_first()?;
        let word = first.word()?;
        let name = self
            .names
            .as_ref()?
            .iter()
            .find(|name| name.to_lowercase() == word)?;
        one(rest, Some(name.clone()))
    }

    fn made(&self, row: &RemarkRow, caught: &Caught, desk: Option<String>, text: &str) -> Remark {
        Remark {
            text: text.trim().to_owned(),
            id: row.id.clone(),
            desk,
            rate: caught.rate.as_ref().and_then(|amount| self.rate(amount)),
            size: caught.size.as_ref().and_then(size),
            time: caught.time.as_ref().and_then(|amount| match amount.unit {
                Unit::Time(factor) => Some(seconds(amount.middle() * factor)),
                _ => None,
            }),
        }
    }

    /// The rate that belongs to a remark: said of files, as most of what is compared.
    fn rate(&self, amount: &Amount) -> Option<RateReading> {
        let written = match amount.unit {
            Unit::Data(written) => Some(written),
            _ => None,
        };
        let numbers = [amount.low, amount.middle(), amount.high];
        let ordered = amount.low <= amount.high && amount.high > 0.0;
        let meanings = self
            .units
            .meanings(Context::of(What::Copy), written, numbers);
        (ordered && !meanings.is_empty()).then_some(RateReading {
            meanings,
            exactness: match amount.exactness {
                Exactness::Stalled => Exactness::Point,
                other => other,
            },
        })
    }

    fn not_understood(&self, items: &[Item], unread: &[Range<usize>], faulty: &mut Faulty<'_>) {
        let near = self.remarks.nearest(items);
        let names: Vec<&str> = self.names.iter().flatten().map(String::as_str).collect();
        let mut known: Vec<&str> = names.clone();
        known.extend(self.remarks.vocabulary());
        for word in vocabulary() {
            known.push(word);
        }
        let first = items.first().map(Item::span);
        let help = match near {
            Some(row) => format!(
                "near: '{}'; all remarks: narrows facts remarks",
                row.example
            ),
            None if unread.first() == first.as_ref() && !names.is_empty() => {
                format!("{FORM}; names: {}", names.join(", "))
            }
            None => format!("{FORM}; remarks: narrows facts remarks"),
        };
        let title = format!("{NOT_UNDERSTOOD}: neither a reading nor a remark that is known");
        let strange = |span: &&Range<usize>| {
            let word = faulty.at(span).to_lowercase();
            !known.contains(&word.as_str()) && !self.remarks.knows(&word)
        };
        let strangers: Vec<&Range<usize>> = unread.iter().filter(strange).collect();
        if strangers.is_empty() {
            // each word is known, and together they say nothing that is
            if let (Some(first), Some(last)) = (unread.first(), unread.last()) {
                let span = first.start..last.end;
                let text = faulty.at(&span);
                let found = format!("'{text}' is not understood here");
                faulty.add(span, title.clone(), found, help);
            }
            return;
        }
        for span in strangers {
            let word = faulty.at(span);
            let did = meant(word, known.iter().copied());
            let found = format!("'{word}' is not known here{did}");
            faulty.add(span.clone(), title.clone(), found, help.clone());
        }
    }
}

/// What a fault says first where a text means nothing that is known.
const NOT_UNDERSTOOD: &str = "not understood";

/// A shorter word is none that somebody slipped in.
const SLIPPED: usize = 4;

/// From so many words on a text is how somebody talks, and no word of it has to be known.
const SPOKEN: usize = 6;

fn size(amount: &Amount) -> Option<Information> {
    match amount.unit {
        Unit::Data(written) => Some(Information::from_base(amount.middle() * written.factor())),
        _ => None,
    }
}
