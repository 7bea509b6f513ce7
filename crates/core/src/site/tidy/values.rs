//! The value of one field in another spelling.

use super::Pass;
use super::ends::Names;
use crate::quantity::{
    DataRate, Information, Kind, Length, LinkRate, Ratio, Time, exact, parse, parse_base,
};
use crate::said::pointed;
use crate::said::{self, Meaning, plain};
use crate::site::drive_text::{pieces, sets_of};
use crate::site::schema::{Form, Kept};
use crate::site::tree::{Node, Value};
use crate::spread::{Bounds, Spread};
use crate::work::FrameRate;

impl Pass<'_> {
    /// Brings a value to its long form; hands back a level that was said with drives.
    pub(super) fn value(
        &mut self,
        form: Form,
        id: &str,
        node: &mut Node,
        names: &Names,
    ) -> Option<String> {
        let mut level = None;
        let (said, meant) = match &node.value {
            Value::Text { text, .. } if form != Form::Text => {
                if text.trim() == "unknown" {
                    return None;
                }
                let meant = if said::is_unknown(self.catalogue, text) {
                    Some("unknown".to_owned())
                } else if form == Form::Drives || form == Form::Disk {
                    let (meant, heard) = self.drives(text);
                    level = heard;
                    meant
                } else {
                    self.text(form, text, names)
                };
                (text.clone(), meant)
            }
            Value::Whole(digits) => (digits.clone(), bare(form, digits)),
            Value::Decimal(number) => (number.clone(), bare(form, number)),
            _ => return None,
        };
        let meant = meant.filter(|m| *m != said.trim())?;
        self.understood(id, &said, &meant);
        let whole = matches!(form, Form::Whole { .. });
        node.value = if whole {
            Value::Whole(meant)
        } else {
            Value::Text {
                text: meant,
                first: None,
            }
        };
        level
    }

    fn text(&self, form: Form, text: &str, names: &Names) -> Option<String> {
        let one = |list: &str, text: &str| match said::meaning(self.catalogue, list, text) {
            Meaning::Means(word) => Some(word),
            _ => None,
        };
        match form {
            Form::Word(list) => one(list, text),
            Form::YesNo => one("yes-no", text),
            Form::Choice(list) => self.choice(list, text),
            Form::Kept(Kept::Raster) => one("raster", text),
            Form::Kept(Kept::Frames) => frames(text),
            Form::Layout => match said::level(self.catalogue, text) {
                Meaning::Means(word) => Some(word),
                _ => None,
            },
            Form::Cpu => (!self.is_long_cpu(text)).then(|| said::cpu(self.catalogue, text))?,
            Form::Slot => said::slot(text),
            Form::LinkRate => link(text),
            Form::LinkRates => links(text),
            Form::Quantity { kind, .. } => quantity(kind, text),
            Form::Whole { least, most } => text
                .trim()
                .parse::<u32>()
                .ok()
                .filter(|n| (least..=most).contains(n))
                .map(|n| n.to_string()),
            Form::NasName => names.nas.find(text),
            Form::ArrayName => names.arrays.find(text),
            Form::DeskName => names.desks.find(text),
            _ => None,
        }
    }

    /// One word, or several with percentages.
    fn choice(&self, list: &str, text: &str) -> Option<String> {
        if !text.contains('%') {
            return match said::meaning(self.catalogue, list, text) {
                Meaning::Means(word) => Some(word),
                _ => None,
            };
        }
        let mut long = Vec::new();
        for piece in text.split([',', ';']) {
            let (head, _) = piece.split_once('%')?;
            let cut = head.trim_end().rfind(char::is_whitespace)?;
            let (word, share) = head.trim_end().split_at(cut);
            let word = said::word(self.catalogue, list, word)?;
            if word.contains('%') {
                return None;
            }
            long.push(format!("{word} {} %", share.trim()));
        }
        Some(long.join(", "))
    }

    /// Drives in the long form, and a level that was said with them.
    fn drives(&self, text: &str) -> (Option<String>, Option<String>) {
        let sets = sets_of(text);
        if sets.len() > 1 {
            let each: Vec<_> = sets.iter().map(|(_, set)| self.drives(set)).collect();
            let level = each.iter().find_map(|(_, level)| level.clone());
            if each.iter().all(|(long, _)| long.is_none()) {
                return (None, level);
            }
            let long = each
                .into_iter()
                .zip(&sets)
                .map(|((long, _), (_, set))| long.unwrap_or_else(|| set.trim().to_owned()));
            return (Some(long.collect::<Vec<_>>().join(", ")), level);
        }
        let strict = pieces(text);
        let is_class = |class: &str| {
            class == "unknown"
                || class.split(',').all(|c| {
                    let word = c.split_once('%').map_or(c, |(head, _)| {
                        head.trim_end()
                            .rsplit_once(char::is_whitespace)
                            .map_or(head, |(w, _)| w)
                    });
                    self.catalogue.words("drive").any(|w| w.word == word.trim())
                })
        };
        let is_size = |size: &str| reads(Kind::Information, size);
        let long = strict.class.is_none_or(|(_, c)| is_class(c))
            && strict.capacity.is_none_or(|(_, c)| is_size(c));
        if long {
            return (None, None);
        }
        let heard = said::drives(self.catalogue, text);
        if !heard.stray.is_empty() || heard.spares.is_some() {
            return (None, None);
        }
        (heard.long(), heard.level)
    }

    /// Whether a processor is in its long form: words of the list, and cores behind the last comma.
    fn is_long_cpu(&self, text: &str) -> bool {
        text.split(',').all(|piece| {
            let piece = piece.trim();
            let word = piece.split_whitespace().next().unwrap_or_default();
            let cores = piece.ends_with("cores") || piece.ends_with("core");
            piece.is_empty()
                || word == "unknown"
                || (cores && piece.contains(char::is_whitespace))
                || self.catalogue.words("cpu").any(|w| w.word == word)
        })
    }
}

/// Whether a text is a quantity of a kind as it stands.
fn reads(kind: Kind, text: &str) -> bool {
    let bounds = Bounds::POSITIVE;
    match kind {
        Kind::DataRate => Spread::<DataRate>::parse(text, bounds).is_ok(),
        Kind::Information => Spread::<Information>::parse(text, bounds).is_ok(),
        Kind::Length => Spread::<Length>::parse(text, bounds).is_ok(),
        Kind::Time => Spread::<Time>::parse(text, bounds).is_ok(),
        Kind::Fraction => Spread::<Ratio>::parse(text, Bounds::FRACTION).is_ok(),
        _ => parse_base(kind, text).is_ok(),
    }
}

/// A number without quotes where only one thing can be meant.
fn bare(form: Form, number: &str) -> Option<String> {
    match form {
        Form::Quantity {
            kind: Kind::Length, ..
        } => number
            .parse::<f64>()
            .ok()
            .filter(|n| *n >= 0.0)
            .map(|_| format!("{number} m")),
        Form::Kept(Kept::Frames) => frames(number),
        Form::Layout => {
            let level = format!("raid{number}");
            crate::array::Level::from_word(&level).map(|l| l.to_string())
        }
        Form::Drives => Some(format!("{number} x")),
        _ => None,
    }
}

/// Frames a second; a bare number of them can be nothing else.
fn frames(text: &str) -> Option<String> {
    let tidy = pointed(text.trim()).to_lowercase();
    let number = [
        "frames per second",
        "frames a second",
        "frames/s",
        "frames",
        "fps",
        "hz",
        "p",
    ]
    .iter()
    .find_map(|unit| tidy.strip_suffix(unit))
    .unwrap_or(&tidy)
    .trim();
    FrameRate::parse(&format!("{number} fps"))
        .ok()
        .filter(|_| FrameRate::parse(text).is_err())
        .map(|rate| rate.to_string())
}

fn link(text: &str) -> Option<String> {
    parse::<LinkRate>(text)
        .is_err()
        .then(|| said::link_rate(text).map(exact))?
}

fn links(text: &str) -> Option<String> {
    let all: Option<Vec<LinkRate>> = text
        .replace(" and ", ",")
        .replace([';', '/'], ",")
        .split(',')
        .map(said::link_rate)
        .collect();
    let strict = text.split(',').all(|t| parse::<LinkRate>(t).is_ok());
    all.filter(|_| !strict)
        .map(|all| all.into_iter().map(exact).collect::<Vec<_>>().join(", "))
}

/// A quantity with a decimal comma, or with a unit in letters of the wrong size where that leaves one
/// reading only.
fn quantity(kind: Kind, text: &str) -> Option<String> {
    if reads(kind, text) {
        return None;
    }
    let pointed = pointed(text.trim());
    if kind == Kind::Length && pointed.parse::<f64>().is_ok_and(|n| n >= 0.0) {
        return Some(format!("{pointed} m"));
    }
    if reads(kind, &pointed) {
        return Some(pointed);
    }
    if plain(&pointed).chars().all(|c| c.is_ascii_digit()) {
        return None;
    }
    // the trade counts drives and memory in bytes only
    if kind == Kind::Information {
        let bytes = pointed.to_uppercase();
        if bytes.ends_with('B') && !bytes.contains("BIT") && reads(kind, &bytes) {
            return Some(bytes);
        }
    }
    let instead = parse_base(kind, &pointed).err()?.instead?;
    reads(kind, &instead).then_some(instead)
}
