//! Typed rows of the data directory: constants with their percentiles and sources, the words a
//! site file may use, and what a port knows.

use crate::quantity::{Kind, LinkRate, Measure, UnitFault, parse, parse_base};
use crate::spread::{Bounds, Choice, Law, Spread};
use std::any::{Any, TypeId};
use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, Mutex, PoisonError};

/// A constant as its row gives it.
#[derive(Clone, Debug)]
pub struct Number {
    /// Dotted name, from the general to the particular.
    pub id: String,
    /// 5th percentile, in the unit of the row.
    pub low: f64,
    /// Median.
    pub likely: f64,
    /// 95th percentile.
    pub high: f64,
    /// The unit of the three.
    pub unit: String,
    /// Where the three come from; "judgement" where somebody judged.
    pub source: String,
    /// What it is.
    pub note: String,
}

/// One word of a closed list.
#[derive(Clone, Debug)]
pub struct Word {
    /// The list it belongs to.
    pub list: String,
    /// As written in a site file.
    pub word: String,
    /// What it means.
    pub meaning: String,
}

/// What people say for a word of a list.
#[derive(Clone, Debug)]
pub struct Synonym {
    /// The list it belongs to.
    pub list: String,
    /// As people say it.
    pub said: String,
    /// The word it stands for, or several with percentages.
    pub means: String,
}

/// One option of an unknown choice.
#[derive(Clone, Debug)]
pub struct Weight {
    /// The choice.
    pub id: String,
    /// The word.
    pub word: String,
    /// Its weight in percent.
    pub percent: f64,
    /// Where the weight comes from.
    pub source: String,
}

/// What a port knows that is sold under one rate.
#[derive(Clone, Debug)]
pub struct PortRates {
    /// The rate it is sold as.
    pub rate: LinkRate,
    /// Socket word.
    pub socket: String,
    /// All rates it knows, the highest last.
    pub knows: Vec<LinkRate>,
    /// Where that comes from.
    pub source: String,
}

/// A codec as its row gives it; the rule that gives its rate is that of the core.
#[derive(Clone, Debug)]
pub struct CodecRow {
    /// The word that ids are made of.
    pub codec: String,
    /// What people call it; the first is shown.
    pub names: Vec<String>,
    /// The word of the rule that gives its rate.
    pub rule: String,
    /// The number of the rule: 5th percentile, median, 95th.
    pub number: [f64; 3],
    /// How steady it is, in a word.
    pub steadiness: String,
    /// Where the rule comes from.
    pub source: String,
    /// What the number is, and where the rule ends.
    pub note: String,
}

/// A row that cannot be used, or that is not there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CatalogueFault {
    /// File and line, or the name that was looked for.
    pub place: String,
    /// What is wrong.
    pub problem: String,
}

impl std::fmt::Display for CatalogueFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.place, self.problem)
    }
}

impl std::error::Error for CatalogueFault {}

/// All rows.
#[derive(Clone, Debug, Default)]
pub struct Catalogue {
    numbers: BTreeMap<String, Number>,
    weights: Vec<Weight>,
    words: Vec<Word>,
    synonyms: Vec<Synonym>,
    ports: Vec<PortRates>,
    codecs: Vec<CodecRow>,
    kept: Kept,
}

/// What was worked out from the rows, one of each type; the same for all that have these rows.
#[derive(Clone, Debug, Default)]
struct Kept(Arc<Mutex<HashMap<TypeId, Arc<dyn Any + Send + Sync>>>>);

impl Catalogue {
    /// The rows that come with the program.
    ///
    /// # Errors
    /// Only where a file of the data directory is broken, which a test rules out.
    pub fn embedded() -> Result<Self, CatalogueFault> {
        let mut catalogue = Self::default();
        for (file, text) in narrows_data::NUMBERS {
            each_row(file, text, |row| catalogue.add_number(row))?;
        }
        let (file, text) = narrows_data::CHOICES;
        each_row(file, text, |row| {
            catalogue.weights.push(Weight {
                id: row.text(0)?,
                word: row.text(1)?,
                percent: row.number(2)?,
                source: row.text(3)?,
            });
            Ok(())
        })?;
        let (file, text) = narrows_data::WORDS;
        each_row(file, text, |row| {
            catalogue.words.push(Word {
                list: row.text(0)?,
                word: row.text(1)?,
                meaning: row.text(2)?,
            });
            Ok(())
        })?;
        let (file, text) = narrows_data::SYNONYMS;
        each_row(file, text, |row| {
            catalogue.synonyms.push(Synonym {
                list: row.text(0)?,
                said: row.text(1)?,
                means: row.text(2)?,
            });
            Ok(())
        })?;
        let (file, text) = narrows_data::PORTS;
        each_row(file, text, |row| {
            let knows: Result<Vec<_>, _> = row
                .text(2)?
                .split(',')
                .map(|r| parse::<LinkRate>(r).map_err(|e| row.fault(e.to_string())))
                .collect();
            catalogue.ports.push(PortRates {
                rate: row.link(0)?,
                socket: row.text(1)?,
                knows: knows?,
                source: row.text(3)?,
            });
            Ok(())
        })?;
        let (file, text) = narrows_data::CODECS;
        each_row(file, text, |row| {
            catalogue.codecs.push(CodecRow {
                codec: row.text(0)?,
                names: row
                    .text(1)?
                    .split(';')
                    .map(|n| n.trim().to_owned())
                    .collect(),
                rule: row.text(2)?,
                number: [row.number(3)?, row.number(4)?, row.number(5)?],
                steadiness: row.text(6)?,
                source: row.text(7)?,
                note: row.text(8)?,
            });
            Ok(())
        })?;
        Ok(catalogue)
    }

    fn add_number(&mut self, row: &Row<'_>) -> Result<(), CatalogueFault> {
        let number = Number {
            id: row.text(0)?,
            low: row.number(1)?,
            likely: row.number(2)?,
            high: row.number(3)?,
            unit: row.optional(4),
            source: row.text(5)?,
            note: row.text(6)?,
        };
        if !(number.low <= number.likely && number.likely <= number.high) {
            return Err(row.fault("low, likely and high are not in order".to_owned()));
        }
        if self.numbers.contains_key(&number.id) {
            return Err(row.fault(format!("'{}' stands here twice", number.id)));
        }
        self.numbers.insert(number.id.clone(), number);
        Ok(())
    }

    /// The same rows with some constants multiplied, to see how far an answer moves.
    #[must_use]
    pub fn bent(&self, factor: impl Fn(&Number) -> f64) -> Self {
        let mut bent = self.clone();
        bent.kept = Kept::default();
        for number in bent.numbers.values_mut() {
            let factor = factor(number);
            number.low *= factor;
            number.likely *= factor;
            number.high *= factor;
        }
        bent
    }

    /// The same rows with one constant replaced, for an answer that leaves something out.
    #[must_use]
    pub fn with(&self, id: &str, (low, likely, high): (f64, f64, f64)) -> Self {
        let mut other = self.clone();
        other.kept = Kept::default();
        if let Some(number) = other.numbers.get_mut(id) {
            (number.low, number.likely, number.high) = (low, likely, high);
        }
        other
    }

    /// What models keep of these rows, empty at first: every question that is asked with this catalogue
    /// gets the same one, on whatever thread, and rows that differ have their own.
    pub fn kept<T: Any + Send + Sync + Default>(&self) -> Arc<T> {
        // whoever panics here leaves it as it was
        let mut all = self.kept.0.lock().unwrap_or_else(PoisonError::into_inner);
        let kept = all.entry(TypeId::of::<T>()).or_insert_with(|| {
            let new: Arc<dyn Any + Send + Sync> = Arc::new(T::default());
            new
        });
        // a place has what its type is called by
        Arc::clone(kept).downcast().unwrap_or_default()
    }

    /// All constants, by name.
    pub fn numbers(&self) -> impl Iterator<Item = &Number> {
        self.numbers.values()
    }

    /// All options of all choices.
    pub fn weights(&self) -> &[Weight] {
        &self.weights
    }

    /// All words of all lists.
    pub fn all_words(&self) -> &[Word] {
        &self.words
    }

    /// What people say for the words of one list.
    pub fn synonyms<'a>(&'a self, list: &'a str) -> impl Iterator<Item = &'a Synonym> {
        self.synonyms.iter().filter(move |s| s.list == list)
    }

    /// What all ports know.
    pub fn ports(&self) -> &[PortRates] {
        &self.ports
    }

    /// All codecs, in the order of the file.
    pub fn codecs(&self) -> &[CodecRow] {
        &self.codecs
    }

    /// One constant.
    pub fn number(&self, id: &str) -> Result<&Number, CatalogueFault> {
        self.numbers.get(id).ok_or_else(|| CatalogueFault {
            place: id.to_owned(),
            problem: "no such row in the catalogue".to_owned(),
        })
    }

    /// One constant as a spread of its quantity.
    pub fn spread<Q: Measure>(&self, id: &str) -> Result<Spread<Q>, CatalogueFault> {
        let bounds = match Q::KIND {
            Kind::Fraction => Bounds::FRACTION,
            _ => Bounds::POSITIVE,
        };
        self.spread_within(id, bounds)
    }

    /// One constant as a spread of its quantity, with bounds of its own.
    pub fn spread_within<Q: Measure>(
        &self,
        id: &str,
        bounds: Bounds,
    ) -> Result<Spread<Q>, CatalogueFault> {
        let row = self.number(id)?;
        let base = |value: f64| {
            // a plain number or a share of one
            if row.unit.is_empty() {
                return Ok(value);
            }
            parse_base(Q::KIND, &format!("{value} {}", row.unit)).map_err(|e| CatalogueFault {
                place: id.to_owned(),
                problem: e.to_string(),
            })
        };
        Law::percentiles(
            base(row.low)?,
            Some(base(row.likely)?),
            base(row.high)?,
            bounds,
        )
        .map(Spread::from_law)
        .map_err(|problem| CatalogueFault {
            place: id.to_owned(),
            problem,
        })
    }

    /// The words of one list, in the order of the file.
    pub fn words<'a>(&'a self, list: &'a str) -> impl Iterator<Item = &'a Word> {
        self.words.iter().filter(move |w| w.list == list)
    }

    /// A choice nobody has made, as weights over the words that `value` understands.
    pub fn choice<T: Clone + PartialEq>(
        &self,
        id: &str,
        value: impl Fn(&str) -> Option<T>,
    ) -> Result<Choice<T>, CatalogueFault> {
        let fault = |problem: String| CatalogueFault {
            place: id.to_owned(),
            problem,
        };
        let mut options = Vec::new();
        for row in self.weights.iter().filter(|w| w.id == id) {
            let known =
                value(&row.word).ok_or_else(|| fault(format!("'{}' means nothing", row.word)))?;
            options.push((known, row.percent));
        }
        Choice::weighted(options).ok_or_else(|| fault("no such choice".to_owned()))
    }

    /// The source of a choice's weights.
    pub fn choice_source(&self, id: &str) -> &str {
        self.weights
            .iter()
            .find(|w| w.id == id)
            .map_or("", |w| w.source.as_str())
    }

    /// What a port knows that is sold under a rate.
    pub fn port(&self, rate: LinkRate, socket: &str) -> Option<&PortRates> {
        self.ports
            .iter()
            .find(|p| p.rate == rate && p.socket == socket)
    }
}

/// One row of a file of the catalogue, with its place for a fault.
pub struct Row<'a> {
    file: &'a str,
    line: u64,
    record: &'a csv::StringRecord,
}

impl Row<'_> {
    /// A fault at this row.
    pub fn fault(&self, problem: String) -> CatalogueFault {
        CatalogueFault {
            place: format!("{}:{}", self.file, self.line),
            problem,
        }
    }

    /// The cell at a position; empty where there is none.
    pub fn optional(&self, at: usize) -> String {
        self.record.get(at).unwrap_or_default().trim().to_owned()
    }

    /// A cell that must not be empty.
    pub fn text(&self, at: usize) -> Result<String, CatalogueFault> {
        let text = self.optional(at);
        if text.is_empty() {
            Err(self.fault(format!("field {} is empty", at + 1)))
        } else {
            Ok(text)
        }
    }

    /// A cell that must be a finite number.
    pub fn number(&self, at: usize) -> Result<f64, CatalogueFault> {
        let text = self.text(at)?;
        text.parse::<f64>()
            .ok()
            .filter(|x| x.is_finite())
            .ok_or_else(|| self.fault(format!("'{text}' is not a number")))
    }

    /// A cell that must be the rate of a link.
    pub fn link(&self, at: usize) -> Result<LinkRate, CatalogueFault> {
        parse(&self.text(at)?).map_err(|e: UnitFault| self.fault(e.to_string()))
    }
}

/// Calls `add` with every row of a file; `#` begins a comment line.
pub fn each_row(
    file: &str,
    text: &str,
    mut add: impl FnMut(&Row<'_>) -> Result<(), CatalogueFault>,
) -> Result<(), CatalogueFault> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    for record in reader.records() {
        let record = record.map_err(|e| CatalogueFault {
            place: file.to_owned(),
            problem: e.to_string(),
        })?;
        add(&Row {
            file,
            line: record.position().map_or(0, csv::Position::line),
            record: &record,
        })?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_complete_and_has_a_source() {
        let catalogue = Catalogue::embedded().unwrap();
        assert!(catalogue.numbers().count() > 50);
        for number in catalogue.numbers() {
            assert!(number.source.len() > 4, "{}", number.id);
        }
    }

    #[test]
    fn rows_that_are_bent_are_bent_as_a_whole() {
        let catalogue = Catalogue::embedded().unwrap();
        let bent = catalogue.bent(|_| 3.0);
        for (before, after) in catalogue.numbers().zip(bent.numbers()) {
            for (before, after) in [
                (before.low, after.low),
                (before.likely, after.likely),
                (before.high, after.high),
            ] {
                assert_eq!(after.to_bits(), (3.0 * before).to_bits(), "{before}");
            }
        }
    }

    #[test]
    fn weights_of_every_choice_add_up_to_a_hundred() {
        let catalogue = Catalogue::embedded().unwrap();
        let mut sums: BTreeMap<&str, f64> = BTreeMap::new();
        for weight in catalogue.weights() {
            *sums.entry(&weight.id).or_default() += weight.percent;
        }
        for (id, sum) in sums {
            assert!((sum - 100.0).abs() < 1e-9, "{id}: {sum}");
        }
    }

    #[test]
    fn a_row_without_a_source_is_refused() {
        let mut catalogue = Catalogue::default();
        let text = "id,low,likely,high,unit,source,note\na,1,2,3,m,,what\n";
        let fault = each_row("x.csv", text, |row| catalogue.add_number(row)).unwrap_err();
        assert_eq!(fault.to_string(), "x.csv:2: field 6 is empty");
        let text = "id,low,likely,high,unit,source,note\na,3,2,1,m,judgement,what\n";
        assert!(each_row("x.csv", text, |row| catalogue.add_number(row)).is_err());
        let text = "id,low,likely,high,unit,source,note\na,1,2,x,m,judgement,what\n";
        assert!(each_row("x.csv", text, |row| catalogue.add_number(row)).is_err());
    }

    #[test]
    fn names_that_are_not_there_are_faults_not_panics() {
        let catalogue = Catalogue::embedded().unwrap();
        assert!(catalogue.spread::<f64>("no.such.row").is_err());
        assert!(catalogue.choice("no such choice", |_| Some(1)).is_err());
    }
}
