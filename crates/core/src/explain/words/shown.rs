//! Readings and remarks as a text that means the same when it is read again.

use super::phrases::phrase;
use crate::explain::{Amount, Exactness, RateReading, Reading, Remark, What};
use crate::quantity::exact;

impl Reading {
    /// In the words in which it could have been written.
    pub fn shown(&self) -> String {
        let mut parts = Vec::new();
        if let Some(desk) = &self.desk {
            // a name that means something else as well
            let taken = phrase(&std::iter::once(desk.to_lowercase().as_str())).is_some();
            parts.push(if taken {
                format!("desk {desk}")
            } else {
                desk.clone()
            });
        }
        parts.push(match self.what {
            What::Copy => "copy".to_owned(),
            what => what.word().replace('-', " "),
        });
        if self.random.is_some() {
            parts.push("random".to_owned());
        }
        if let Some(direction) = self.direction {
            parts.push(direction.word().to_owned());
        }
        parts.push(match &self.amount {
            Amount::Rate(rate) => rate.shown(),
            Amount::Link(link) => exact(*link),
            Amount::Time(time) => exact(*time),
            Amount::Share(share) => exact(*share),
            Amount::Count(count) => count.to_string(),
            Amount::Layers { low, high } => match (low, high) {
                (Some(low), Some(high)) => format!("plays {low} layers and stutters on {high}"),
                (Some(low), None) => format!("plays {low} layers"),
                (None, high) => format!("stutters on {} layers", high.unwrap_or_default()),
            },
            Amount::Other => String::new(),
        });
        if let Some(size) = self.random.or(self.size) {
            parts.push(format!("of {}", exact(size)));
        }
        if self.streams > 1 {
            parts.push(format!("{} streams", self.streams));
        }
        if self.again {
            parts.push("again".to_owned());
        }
        parts.join(" ")
    }
}

impl RateReading {
    /// As it could have been written, in the likeliest unit that is no slip.
    pub fn shown(&self) -> String {
        let meaning = self
            .meanings
            .iter()
            .find(|meaning| !meaning.slip)
            .or_else(|| self.meanings.first());
        let Some(meaning) = meaning else {
            return String::new();
        };
        let number = |rate| all_digits(meaning.unit.count(rate));
        let unit = meaning.unit.word();
        let middle = number(meaning.middle);
        match self.exactness {
            Exactness::Stalled => "stalled".to_owned(),
            Exactness::Range => {
                format!("{}..{} {unit}", number(meaning.low), number(meaning.high))
            }
            Exactness::Point => format!("{middle} {unit}"),
            Exactness::About => format!("about {middle} {unit}"),
            Exactness::Peak => format!("peak {middle} {unit}"),
            Exactness::AtMost => format!("at most {middle} {unit}"),
            Exactness::AtLeast => format!("at least {middle} {unit}"),
        }
    }
}

impl Remark {
    /// In the words in which it could have been written.
    pub fn shown(&self) -> String {
        let mut parts: Vec<String> = self.desk.iter().cloned().collect();
        parts.push(self.id.clone());
        parts.extend(self.rate.as_ref().map(RateReading::shown));
        parts.extend(self.size.map(|size| format!("of {}", exact(size))));
        parts.extend(self.time.map(exact));
        parts.join(" ")
    }
}

/// A number without an exponent; twelve digits hide the last bits of a conversion.
fn all_digits(number: f64) -> String {
    let rounded: f64 = format!("{number:.11e}").parse().unwrap_or(number);
    format!("{rounded}")
}
