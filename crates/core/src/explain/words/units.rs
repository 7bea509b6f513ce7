//! What a number with its unit may mean: bits or bytes, decimal or binary.

use crate::catalogue::{CatalogueFault, each_row};
use crate::explain::{Meaning, RateUnit, What};
use crate::quantity::{DataRate, Measure, in_megabytes_per_second, units::data_rate};

impl RateUnit {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Megabytes, Self::Mebibytes, Self::Megabits];

    /// As it is written behind a number.
    pub fn word(self) -> &'static str {
        match self {
            Self::Megabytes => "MB/s",
            Self::Mebibytes => "MiB/s",
            Self::Megabits => "Mb/s",
        }
    }

    /// How many of it are in a rate.
    pub fn count(self, rate: DataRate) -> f64 {
        match self {
            Self::Megabytes => in_megabytes_per_second(rate),
            Self::Mebibytes => rate.get::<data_rate::mebibyte_per_second>(),
            Self::Megabits => rate.get::<data_rate::megabit_per_second>(),
        }
    }
}

/// Where a number was read off; it decides which unit was probably meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Context {
    /// A dialog or a tool that moves files over the share.
    Files,
    /// A test from memory to memory.
    Wire,
    /// A test of a disk or an array.
    Local,
}

impl Context {
    pub(super) fn of(what: What) -> Self {
        match what {
            What::RawTcp => Self::Wire,
            What::LocalDisk | What::LocalArray => Self::Local,
            _ => Self::Files,
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::Files => "files",
            Self::Wire => "wire",
            Self::Local => "local",
        }
    }
}

/// What stands in front of a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Scale {
    One,
    Kilo,
    Mega,
    Giga,
    Tera,
}

impl Scale {
    /// Decimal and binary factor.
    fn factors(self) -> [f64; 2] {
        match self {
            Self::One => [1.0, 1.0],
            Self::Kilo => [1e3, 1024.0],
            Self::Mega => [1e6, 1_048_576.0],
            Self::Giga => [1e9, 1_073_741_824.0],
            Self::Tera => [1e12, 1_099_511_627_776.0],
        }
    }
}

/// Whether bits or bytes are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Base {
    Bits,
    Bytes,
    /// A letter whose case says nothing: `mb`, `MBPS`.
    Unclear,
}

/// A unit as it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Written {
    pub scale: Scale,
    pub base: Base,
    /// With an `i`.
    pub binary: bool,
    /// With "per second" in any form.
    pub a_second: bool,
    /// In the form that ends in "ps", which is common for bits.
    pub ps: bool,
}

impl Written {
    /// Base units in one of it, as written; bytes where the case is unclear.
    pub(super) fn factor(self) -> f64 {
        let [decimal, binary] = self.scale.factors();
        let scale = if self.binary { binary } else { decimal };
        match self.base {
            Base::Bits => scale / 8.0,
            Base::Bytes | Base::Unclear => scale,
        }
    }

    /// The row of the catalogue that it belongs to.
    fn row(self) -> &'static str {
        let large = matches!(self.scale, Scale::Giga | Scale::Tera);
        match (self.base, self.binary, large) {
            (Base::Bytes, true, false) => "MiB/s",
            (Base::Bytes, true, true) => "GiB/s",
            (Base::Bytes, false, false) => "MB/s",
            (Base::Bytes, false, true) => "GB/s",
            (Base::Bits, _, false) => "Mb/s",
            (Base::Bits, _, true) => "Gb/s",
            (Base::Unclear, _, false) if self.ps => "mbps",
            (Base::Unclear, _, true) if self.ps => "gbps",
            (Base::Unclear, _, false) => "mb/s",
            (Base::Unclear, _, true) => "gb/s",
        }
    }
}

/// Reads a unit of data or of a rate in any of its usual spellings.
///
/// A letter decides between bits and bytes only where its case can be trusted: in `MB` and `Mb` it
/// can, in `mb` and `MBPS` it cannot.
pub(super) fn unit(text: &str) -> Option<Written> {
    let (scale, rest) = scale(text)?;
    let binary = rest.starts_with('i') && scale != Scale::One;
    let rest = if binary {
        rest.get(1..).unwrap_or_default()
    } else {
        rest
    };
    let lower = rest.to_ascii_lowercase();
    for word in ["bytes", "byte", "bits", "bit"] {
        if let Some(tail) = lower.strip_prefix(word) {
            let (a_second, ps) = ending(tail)?;
            let base = if word.starts_with("byte") {
                Base::Bytes
            } else {
                Base::Bits
            };
            return Some(Written {
                scale,
                base,
                binary,
                a_second,
                ps,
            });
        }
    }
    let letter = rest.chars().next().filter(|c| matches!(c, 'b' | 'B'))?;
    // a lone letter is a unit only of what is long spelled out
    if scale == Scale::One && rest.len() == 1 && letter == 'b' {
        return None;
    }
    let tail = rest.get(1..).unwrap_or_default();
    let (a_second, ps) = ending(&tail.to_ascii_lowercase())?;
    let small = text.starts_with(['k', 'K']) || scale == Scale::One;
    let whispered = !small && text.starts_with(|c: char| c.is_ascii_lowercase());
    let base = match letter {
        'B' if tail == "PS" => Base::Unclear,
        _ if whispered && !binary => Base::Unclear,
        'b' if !whispered => Base::Bits,
        _ => Base::Bytes,
    };
    Some(Written {
        scale,
        base,
        binary,
        a_second,
        ps,
    })
}

/// The prefix, as a letter or in full, and what follows it.
fn scale(text: &str) -> Option<(Scale, &str)> {
    let lower = text.to_ascii_lowercase();
    // of the binary ones the i stays, which marks them
    let words = [
        ("kibi", 3, Scale::Kilo),
        ("mebi", 3, Scale::Mega),
        ("gibi", 3, Scale::Giga),
        ("tebi", 3, Scale::Tera),
        ("kilo", 4, Scale::Kilo),
        ("mega", 4, Scale::Mega),
        ("giga", 4, Scale::Giga),
        ("tera", 4, Scale::Tera),
    ];
    for (word, length, scale) in words {
        if lower.starts_with(word) && lower.len() > word.len() {
            return Some((scale, text.get(length..)?));
        }
    }
    match by_letter(text) {
        Some(scale) => Some((scale, text.get(1..)?)),
        None => Some((Scale::One, text)),
    }
}

fn by_letter(text: &str) -> Option<Scale> {
    match text.chars().next()? {
        'k' | 'K' => Some(Scale::Kilo),
        'm' | 'M' => Some(Scale::Mega),
        'g' | 'G' => Some(Scale::Giga),
        't' | 'T' => Some(Scale::Tera),
        _ => None,
    }
}

/// Whether the end of a unit says "a second", and whether it does so by "ps".
fn ending(tail: &str) -> Option<(bool, bool)> {
    match tail {
        "" => Some((false, false)),
        "ps" => Some((true, true)),
        "s" | "/s" | "/sec" | "/second" | "/secs" => Some((true, false)),
        _ => None,
    }
}

/// A number without a unit below this may be in gigabits on the wire.
const SMALL: f64 = 100.0;

/// A row of data/units.csv: what is written, and one thing that it may mean.
#[derive(Clone, Debug)]
pub struct UnitMeaning {
    /// Where it was read off: `files`, `wire` or `local`.
    pub context: String,
    /// What is written.
    pub written: String,
    /// What is meant.
    pub meaning: String,
    /// How often, in percent.
    pub percent: f64,
    /// Whether the text says another unit.
    pub slip: bool,
    /// Why.
    pub source: String,
    unit: RateUnit,
    giga: bool,
}

/// The rows of the catalogue that say what a unit means.
#[derive(Clone, Debug)]
pub struct Units {
    rows: Vec<UnitMeaning>,
}

impl Units {
    /// The rows that come with the program.
    ///
    /// # Errors
    /// Only where the embedded file is broken, which a test rules out.
    pub fn embedded() -> Result<Self, CatalogueFault> {
        let (file, text) = narrows_data::UNITS;
        Self::read(file, text)
    }

    pub(super) fn read(file: &str, text: &str) -> Result<Self, CatalogueFault> {
        let mut rows = Vec::new();
        each_row(file, text, |row| {
            let text = row.text(2)?;
            let (unit, giga) = meaning(&text)
                .ok_or_else(|| row.fault(format!("'{text}' is no unit of a rate")))?;
            let slip = match row.text(4)?.as_str() {
                "yes" => true,
                "no" => false,
                other => return Err(row.fault(format!("'{other}' is neither yes nor no"))),
            };
            rows.push(UnitMeaning {
                context: row.text(0)?,
                written: row.text(1)?,
                meaning: text,
                percent: row.number(3)?,
                slip,
                source: row.text(5)?,
                unit,
                giga,
            });
            Ok(())
        })?;
        Ok(Self { rows })
    }

    /// All rows.
    pub fn rows(&self) -> &[UnitMeaning] {
        &self.rows
    }

    /// What numbers with a unit may mean, the likeliest first.
    ///
    /// `numbers` are the lowest, the middle and the highest. Weights add up to one; they are
    /// judged, and stand in data/units.csv with their reasons. Checked by
    /// `every_way_to_write_a_unit_has_its_meanings`.
    pub(super) fn meanings(
        &self,
        context: Context,
        written: Option<Written>,
        numbers: [f64; 3],
    ) -> Vec<Meaning> {
        let row = |word: &str| -> Vec<&UnitMeaning> {
            let of = |row: &&UnitMeaning| row.context == context.word() && row.written == word;
            self.rows.iter().filter(of).collect()
        };
        let small = || match numbers {
            [_, _, high] if high < SMALL => row("small"),
            _ => Vec::new(),
        };
        let rows = match written {
            Some(written) => row(written.row()),
            None => Some(small())
                .filter(|r| !r.is_empty())
                .unwrap_or_else(|| row("none")),
        };
        let scale = written.map_or(Scale::Mega, |w| w.scale);
        let binary_bits = written.is_some_and(|w| w.binary && w.base == Base::Bits);
        let mut found: Vec<Meaning> = rows
            .into_iter()
            .map(|row| {
                let scale = if written.is_none() && row.giga {
                    Scale::Giga
                } else {
                    scale
                };
                let [decimal, binary] = scale.factors();
                let factor = match row.unit {
                    RateUnit::Megabytes => decimal,
                    RateUnit::Mebibytes => binary,
                    RateUnit::Megabits if binary_bits => binary / 8.0,
                    RateUnit::Megabits => decimal / 8.0,
                };
                let [low, middle, high] = numbers.map(|n| DataRate::from_base(n * factor));
                Meaning {
                    unit: row.unit,
                    low,
                    middle,
                    high,
                    weight: row.percent / 100.0,
                    slip: row.slip,
                }
            })
            .collect();
        found.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        found
    }
}

/// The unit that a row says was meant, and whether it counts in thousands of it.
fn meaning(text: &str) -> Option<(RateUnit, bool)> {
    let written = unit(text)?;
    let unit = match (written.base, written.binary) {
        (Base::Bytes, false) => RateUnit::Megabytes,
        (Base::Bytes, true) => RateUnit::Mebibytes,
        (Base::Bits, false) => RateUnit::Megabits,
        _ => return None,
    };
    Some((unit, written.scale == Scale::Giga))
}
