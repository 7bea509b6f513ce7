//! Reading one field: quantities, words, choices and whole numbers.

use super::fault::Fault;
use super::model::{Chosen, Known, Value as Drawn};
use super::range;
use super::reader::{Part, Read, Reader, Reported, short};
use super::schema::{Field, Form};
use super::tree::{Node, Value};
use crate::nearest::nearest;
use crate::quantity::{DataRate, Kind, LinkRate, Measure, UnitFault, exact_base, parse};
use crate::spread::{Bounds, Choice, Spread, Words};

/// What a text may be at most, so that a fault can show it.
const LONGEST_TEXT: usize = 200;

/// Where a quantity of a kind can lie.
pub(super) fn bounds(kind: Kind) -> Bounds {
    match kind {
        Kind::Fraction => Bounds::FRACTION,
        _ => Bounds::POSITIVE,
    }
}

/// `yes` and its like.
pub(super) fn truth(word: &str) -> Option<bool> {
    match word {
        "yes" | "signed" | "true" => Some(true),
        "no" | "plain" | "unsigned" | "false" => Some(false),
        _ => None,
    }
}

/// A choice as it would be written.
pub(super) fn show_choice<T>(choice: &Choice<T>, word: impl Fn(&T) -> String) -> String
where
    T: Clone + PartialEq,
{
    match choice.only() {
        Some(only) => word(only),
        None => choice
            .options()
            .iter()
            .map(|(value, share)| format!("{} {}", word(value), exact_base(Kind::Fraction, *share)))
            .collect::<Vec<_>>()
            .join(", "),
    }
}

/// A text that is too long to be any of the words.
fn too_long(text: &str) -> Option<UnitFault> {
    (text.len() > LONGEST_TEXT).then(|| UnitFault {
        span: 0..0,
        found: format!("the text is {} bytes long", text.len()),
        help: format!("write at most {LONGEST_TEXT} bytes"),
        instead: None,
    })
}

impl Reader<'_> {
    /// The text of a field.
    pub(super) fn text<'t>(
        &mut self,
        part: &Part<'t>,
        key: &str,
    ) -> Read<Option<(&'t str, &'t Node)>> {
        let field = part.field(key)?;
        let Some(node) = part.given(key)? else {
            return Ok(None);
        };
        let Value::Text { text, .. } = &node.value else {
            return Err(self.wrong_type(part, field, node));
        };
        if let Some(fault) = too_long(text) {
            return Err(self.unit(node, format!("{} is too long", part.id(key)), fault));
        }
        Ok(Some((text, node)))
    }

    /// A quantity that the person gave.
    pub(super) fn stated<Q: Measure>(
        &mut self,
        part: &Part<'_>,
        key: &str,
    ) -> Read<Option<Drawn<Q>>> {
        let id = part.id(key);
        let field = part.field(key)?;
        if let Some(node) = part.given(key)?
            && let Value::Whole(number) | Value::Decimal(number) = &node.value
        {
            return Err(self.no_unit::<Q>(part, field, node, number));
        }
        let Some((text, node)) = self.text(part, key)? else {
            return Ok(None);
        };
        if text.trim().parse::<f64>().is_ok() {
            return Err(self.no_unit::<Q>(part, field, node, text));
        }
        let spread = Spread::<Q>::parse(text, bounds(Q::KIND))
            .map_err(|fault| self.unit(node, format!("{id} is not {}", Q::KIND.noun()), fault))?;
        let zero = matches!(field.form, Form::Quantity { zero: true, .. });
        if spread.law().knots().0 <= 0.0 && !zero {
            return Err(self.report(Fault::new(
                node.place.clone(),
                format!("{id} is zero"),
                format!("'{}' begins at zero", text.trim()),
                format!(
                    "write {} above zero, for example {}",
                    Q::KIND.noun(),
                    Q::KIND.examples()
                ),
            )));
        }
        let (low, _, high) = spread.law().knots();
        if let Some(help) = range::beyond::<Q>(low, high) {
            let title = format!("{id} cannot be so");
            let found = format!("'{}' lies outside of what there is", text.trim());
            return Err(self.report(Fault::new(node.place.clone(), title, found, help)));
        }
        Ok(Some(Known::stated(id, spread)))
    }

    /// A number whose unit is missing, in quotes or not.
    fn no_unit<Q: Measure>(
        &mut self,
        part: &Part<'_>,
        field: &Field,
        node: &Node,
        number: &str,
    ) -> Reported {
        let id = part.id(field.key);
        let title = format!("{id} is not {}", Q::KIND.noun());
        // the parser of quantities says best what is wrong with a negative or endless number
        let Err(fault) = Spread::<Q>::parse(number, bounds(Q::KIND)) else {
            return self.wrong_type(part, field, node);
        };
        if !fault.found.ends_with("has no unit") {
            let new = Fault::new(node.place.clone(), title, fault.found, fault.help);
            return self.report(new);
        }
        let number = number.trim();
        let unit = field
            .example
            .trim_matches('"')
            .rsplit(' ')
            .next()
            .unwrap_or_default();
        let share = number
            .parse::<f64>()
            .ok()
            .filter(|n| Q::KIND == Kind::Fraction && *n <= 1.0);
        // 0.5 may be a half or half a percent; other sizes than that of the example are usual
        let (help, certain) = match (Q::KIND, share) {
            (Kind::LinkRate, _) => (
                format!(
                    "write {0} = \"{number} Gb/s\" or {0} = \"{number} Mb/s\"",
                    field.key
                ),
                None,
            ),
            (_, Some(share)) => (
                format!(
                    "write {0} = \"{1}\" or {0} = \"{number} %\"",
                    field.key,
                    exact_base(Kind::Fraction, share)
                ),
                None,
            ),
            (Kind::Fraction, None) => (
                format!("write {} = \"{number} {unit}\"", field.key),
                Some(format!("\"{number} {unit}\"")),
            ),
            _ => (
                format!(
                    "write the unit, for example {} = \"{number} {unit}\"",
                    field.key
                ),
                None,
            ),
        };
        let mut new = Fault::new(node.place.clone(), title, fault.found, help);
        if let Some(text) = certain {
            new = new.fixed(node.place.span.clone(), text);
        }
        self.report(new)
    }

    /// A quantity, or the row of the catalogue that stands in for it.
    pub(super) fn quantity<Q: Measure>(
        &mut self,
        part: &Part<'_>,
        key: &str,
        row: &str,
    ) -> Read<Drawn<Q>> {
        if let Some(value) = self.stated(part, key)? {
            return Ok(value);
        }
        let field = part.field(key)?;
        self.assumed(part, part.id(key), row, field.find_out)
    }

    /// A row of the catalogue in place of a value, noted as an assumption.
    pub(super) fn assumed<Q: Measure>(
        &mut self,
        part: &Part<'_>,
        id: String,
        row: &str,
        find_out: &str,
    ) -> Read<Drawn<Q>> {
        let value = self.constant::<Q>(part, id.clone(), row)?;
        let because = self.reason(row);
        self.assume(part, id, value.value.to_string(), because, find_out);
        Ok(value)
    }

    /// A row of the catalogue that no field of a site file can replace.
    pub(super) fn constant<Q: Measure>(
        &mut self,
        part: &Part<'_>,
        id: String,
        row: &str,
    ) -> Read<Drawn<Q>> {
        let catalogue = self.catalogue;
        let spread = catalogue.spread::<Q>(row);
        let source = catalogue.number(row).map(|n| n.source.clone());
        match (spread, source) {
            (Ok(spread), Ok(source)) => Ok(Known::assumed(id, spread, source)),
            (Err(fault), _) | (_, Err(fault)) => Err(self.no_row(part, &fault)),
        }
    }

    /// Why the catalogue has a row as it has.
    pub(super) fn reason(&self, row: &str) -> String {
        self.catalogue
            .number(row)
            .map_or_else(|_| String::new(), |n| format!("{}; {}", n.note, n.source))
    }

    /// A choice that the person made.
    pub(super) fn chosen<T: Clone + PartialEq>(
        &mut self,
        part: &Part<'_>,
        key: &str,
        words: &Words<T>,
    ) -> Read<Option<Chosen<T>>> {
        let Some((text, node)) = self.text(part, key)? else {
            return Ok(None);
        };
        let id = part.id(key);
        Choice::parse(text, words)
            .map(|choice| Some(Known::stated(id.clone(), choice)))
            .map_err(|fault| {
                let title = if fault.found.contains("percentage") {
                    format!("the percentages of {id} are not right")
                } else {
                    format!("{id} is not one of the words it may be")
                };
                self.unit(node, title, fault)
            })
    }

    /// A choice that nobody made, noted as an assumption.
    pub(super) fn assumed_choice<T: Clone + PartialEq>(
        &mut self,
        part: &Part<'_>,
        key: &str,
        row: &str,
        value: impl Fn(&str) -> Option<T>,
        word: impl Fn(&T) -> String,
    ) -> Read<Chosen<T>> {
        let catalogue = self.catalogue;
        let choice = catalogue
            .choice(row, value)
            .map_err(|fault| self.no_row(part, &fault))?;
        let source = catalogue.choice_source(row).to_owned();
        let id = part.id(key);
        let find_out = part.field(key)?.find_out;
        self.assume(
            part,
            id.clone(),
            show_choice(&choice, word),
            source.clone(),
            find_out,
        );
        Ok(Known::assumed(id, choice, source))
    }

    /// The words of a list of the catalogue with what they stand for.
    pub(super) fn words<T>(&self, list: &str, value: impl Fn(&str) -> Option<T>) -> Words<T> {
        self.catalogue
            .words(list)
            .filter_map(|w| value(&w.word).map(|v| (w.word.clone(), v)))
            .collect()
    }

    /// Yes or no, perhaps with percentages, perhaps as a truth of TOML.
    pub(super) fn yes_no(
        &mut self,
        part: &Part<'_>,
        key: &str,
        list: &str,
    ) -> Read<Option<Chosen<bool>>> {
        if let Some(node) = part.given(key)?
            && let Value::Truth(truth) = node.value
        {
            return Ok(Some(Known::stated(part.id(key), Choice::certain(truth))));
        }
        let words = self.words(list, truth);
        self.chosen(part, key, &words)
    }

    /// One word of a list of the catalogue.
    pub(super) fn word(&mut self, part: &Part<'_>, key: &str, list: &str) -> Read<Option<String>> {
        let Some((text, node)) = self.text(part, key)? else {
            return Ok(None);
        };
        let word = text.trim();
        if self.catalogue.words(list).any(|w| w.word == word) {
            return Ok(Some(word.to_owned()));
        }
        let all: Vec<&str> = self
            .catalogue
            .words(list)
            .map(|w| w.word.as_str())
            .collect();
        let fault = no_such_word(text, word, &all);
        Err(self.unit(
            node,
            format!("{} is not one of the words it may be", part.id(key)),
            fault,
        ))
    }

    /// The rate of a link.
    pub(super) fn link_rate(&mut self, part: &Part<'_>, key: &str) -> Read<Option<LinkRate>> {
        let field = part.field(key)?;
        if let Some(node) = part.given(key)?
            && let Value::Whole(number) | Value::Decimal(number) = &node.value
        {
            return Err(self.no_unit::<LinkRate>(part, field, node, number));
        }
        let Some((text, node)) = self.text(part, key)? else {
            return Ok(None);
        };
        if text.trim().parse::<f64>().is_ok() {
            return Err(self.no_unit::<LinkRate>(part, field, node, text));
        }
        let id = part.id(key);
        let rate = parse::<LinkRate>(text).map_err(|fault| {
            self.unit(
                node,
                format!("{id} is not {}", Kind::LinkRate.noun()),
                fault,
            )
        })?;
        if rate.megabits() <= 0.0 {
            // links are told apart in whole megabits
            let slow = parse::<DataRate>(text).is_ok_and(|rate| rate > DataRate::default());
            let (title, found) = if slow {
                ("too slow for a link", "is less than 1 Mb/s")
            } else {
                ("zero", "carries nothing")
            };
            return Err(self.report(Fault::new(
                node.place.clone(),
                format!("{id} is {title}"),
                format!("'{}' {found}", text.trim()),
                format!(
                    "write the rate of a link, for example {}",
                    Kind::LinkRate.examples()
                ),
            )));
        }
        Ok(Some(rate))
    }

    /// A whole number inside its limits.
    pub(super) fn whole(&mut self, part: &Part<'_>, key: &str) -> Read<Option<u32>> {
        let field = part.field(key)?;
        let Form::Whole { least, most } = field.form else {
            return Ok(None);
        };
        let Some(node) = part.given(key)? else {
            return Ok(None);
        };
        let (digits, quoted) = match &node.value {
            Value::Whole(number) | Value::Decimal(number) => (number.as_str(), false),
            Value::Text { text, .. } => (text.trim(), true),
            _ => return Err(self.wrong_type(part, field, node)),
        };
        let number = digits
            .parse::<u32>()
            .ok()
            .filter(|n| (least..=most).contains(n));
        let id = part.id(key);
        match number {
            Some(number) if !quoted => Ok(Some(number)),
            Some(number) => {
                let fault = Fault::new(
                    node.place.clone(),
                    format!("{id} is not a bare number"),
                    format!("'{digits}' is in quotes"),
                    format!("write {key} = {number}"),
                )
                .fixed(node.place.span.clone(), number.to_string());
                Err(self.report(fault))
            }
            None => Err(self.report(Fault::new(
                node.place.clone(),
                format!("{id} is not {}", field.allowed(self.catalogue)),
                format!("'{}' is not allowed", short(digits)),
                format!(
                    "write {}, for example {key} = {}",
                    field.allowed(self.catalogue),
                    field.example
                ),
            ))),
        }
    }
}

/// A word that a list does not have.
pub(super) fn no_such_word(text: &str, word: &str, all: &[&str]) -> UnitFault {
    let start = text.find(word).unwrap_or(0);
    let near = nearest(word, all.iter().copied());
    UnitFault {
        span: start..start + word.len(),
        found: match near {
            Some(near) => format!("'{word}' is not known here; did you mean '{near}'?"),
            None => format!("'{word}' is not known here"),
        },
        help: format!("write one of {}", all.join(", ")),
        instead: near.map(|near| text.replacen(word, near, 1)),
    }
}
