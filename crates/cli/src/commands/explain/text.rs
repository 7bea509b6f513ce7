use crate::render::prose::{item, paragraph, rate, sentence};
use crate::render::table::{Side, Table};
use narrows_core::explain::{
    CauseFound, Explanation, Families, Observations, OneWay, RateUnit, ReadingShown, Remark,
    RemarkRow, Value, What,
};
use narrows_core::quantity::{DataRate, three_digits};
use narrows_core::site::{Assumption, Site};
use narrows_core::work::Direction;

/// Everything that is shown.
pub(crate) struct Shown<'a> {
    /// Name of the site, where one was described in a file.
    pub site: Option<&'a str>,
    pub assumptions: &'a [Assumption],
    pub told: &'a Observations,
    pub remarks: &'a [RemarkRow],
    /// Remarks whose rate is no different from what was read.
    pub aside: &'a [Remark],
    pub families: &'a Families,
    /// Columns of a list that say nothing of a reading.
    pub unused: &'a [String],
    /// The number of each reading, as it was written.
    pub values: &'a [Option<Value>],
    /// Texts with those of their words that nothing was made of.
    pub left: &'a [(String, String)],
    /// Texts that have to be asked back.
    pub(super) questions: &'a [super::heard::Question],
    pub explanation: &'a Explanation,
    /// Whether everything is shown.
    pub why: bool,
    pub width: usize,
}

/// Causes that are told in full.
const CAUSES: usize = 4;

/// A cause below this is told with `--why` only, unless it is the likeliest.
const LEAST: f64 = 0.05;

/// Lines of what speaks for a cause, and of what is ruled out.
const REASONS: usize = 3;

/// Where names of what was assumed end.
const ASSUMED: usize = 8;

impl Shown<'_> {
    /// The answer for a person.
    pub(crate) fn text(&self) -> String {
        let found = self.explanation;
        let mut out = String::new();
        for line in &found.before_all {
            out.push_str(&self.paragraph(line));
        }
        for line in [&found.in_words, &found.why, &found.next_step] {
            if !line.is_empty() {
                out.push_str(&self.paragraph(line));
            }
        }
        self.readings(&mut out);
        self.causes(&mut out);
        self.ruled_out(&mut out);
        self.next(&mut out);
        if !found.would_help.is_empty() {
            let text = format!("Would help to know: {}.", found.would_help.join("; "));
            out.push('\n');
            out.push_str(&self.paragraph(&text));
        }
        self.assumed(&mut out);
        if !found.cautions.is_empty() {
            out.push('\n');
        }
        for caution in &found.cautions {
            out.push_str(&self.paragraph(caution));
        }
        out
    }

    fn paragraph(&self, text: &str) -> String {
        format!("{}\n", paragraph(text, self.width, 0))
    }

    fn line(&self, text: &str, out: &mut String) {
        out.push_str(&item(text, self.width));
        out.push('\n');
    }

    /// What was read, in all three units, beside what was to be expected.
    fn readings(&self, out: &mut String) {
        let found = self.explanation;
        if !found.readings.is_empty() {
            let mut table = Table::new(&[
                ("read off", Side::Left),
                ("MB/s", Side::Right),
                ("MiB/s", Side::Right),
                ("Mb/s", Side::Right),
                ("expected MB/s", Side::Right),
                ("from", Side::Right),
                ("to", Side::Right),
            ])
            .folding(0);
            for reading in &found.readings {
                for row in rows(reading) {
                    table.row(row);
                }
            }
            out.push('\n');
            out.push_str(&table.text(self.width));
            for reading in found.readings.iter().filter(|r| short(&r.text) != r.text) {
                let text = format!("In full: \"{}\".", reading.text);
                out.push_str(&self.paragraph(&text));
            }
            if found.readings.iter().any(|r| !r.expected.is_empty()) {
                out.push_str(&self.paragraph(
                    "expected: what narrows budget says of the same copy; from, to: 1 in 20 is slower, 1 in 20 faster.",
                ));
                if found.readings.iter().any(|r| r.what == What::Ping) {
                    out.push_str(&self.paragraph(
                        "Here with the round trip that was measured in place of the usual one.",
                    ));
                } else if self.is_far() {
                    out.push_str(&self.paragraph(
                        "Here with the round trip of an end that far away in place of the usual one.",
                    ));
                }
            }
        }
        for reading in &found.readings {
            if let Some(why) = reading.left_out {
                let text = format!("Left out: \"{}\": {}.", reading.text, why.words());
                out.push_str(&self.paragraph(&text));
            }
        }
        let mut understood: Vec<String> = self
            .told
            .remarks
            .iter()
            .map(|remark| {
                let left = match self.left_over(&remark.text) {
                    "" => String::new(),
                    words => format!(" (not used: {words})"),
                };
                format!("'{}': {}{left}", remark.text, self.meaning(remark))
            })
            .collect();
        understood.extend(
            self.aside
                .iter()
                .map(|remark| format!("'{}': tells nothing beside what was read", remark.text)),
        );
        if !understood.is_empty() {
            out.push_str("\nNoticed, and how it was understood:\n");
            for text in understood {
                self.line(&text, out);
            }
        }
        if !self.unused.is_empty() {
            let text = format!("\nColumns that were not used: {}.", self.unused.join(", "));
            out.push_str(&self.paragraph(&text));
        }
    }

    /// Whether an end was said to be far where the site states no round trip.
    fn is_far(&self) -> bool {
        let mut remarks = self.told.remarks.iter();
        let assumed = |(site, _): &(Site, f64)| site.network.round_trip.is_assumed();
        remarks.any(|remark| remark.id == "long-distance") && self.told.sites.iter().any(assumed)
    }

    /// Words of a text that nothing was made of.
    pub(super) fn left_over(&self, text: &str) -> &str {
        let found = self.left.iter().find(|(known, _)| known == text);
        found.map_or("", |(_, words)| words.as_str())
    }

    /// What a remark means.
    pub(crate) fn meaning(&self, remark: &Remark) -> &str {
        let row = self.remarks.iter().find(|row| row.id == remark.id);
        row.map_or("", |row| row.meaning.as_str())
    }

    fn causes(&self, out: &mut String) {
        let found = self.explanation;
        if found.causes.is_empty() {
            return;
        }
        out.push_str("\nWhat it may be, and how likely:\n");
        let mut sum = 0.0;
        let mut shown = 0;
        for cause in &found.causes {
            let enough = shown >= CAUSES || (shown > 0 && cause.probability < LEAST);
            if enough && !self.why {
                break;
            }
            sum += cause.probability;
            shown += 1;
            self.cause(cause, out);
        }
        let rest = found.causes.len() - shown;
        let left = 1.0 - sum - found.none_of_these;
        let mut text = format!(
            "None of the causes known here: {:.0} of 100.",
            found.none_of_these * 100.0
        );
        if rest > 0 {
            let many = if rest == 1 {
                "One more cause".to_owned()
            } else {
                format!("{rest} more causes")
            };
            text = format!(
                "{many}: {:.0} of 100, with --why. {text}",
                left.max(0.0) * 100.0
            );
        }
        out.push_str(&self.paragraph(&text));
    }

    fn cause(&self, cause: &CauseFound, out: &mut String) {
        let chance = format!("{:.0} of 100", cause.probability * 100.0);
        let at = |place: Option<&str>| match place.unwrap_or_default() {
            "" => String::new(),
            place => format!(", {place}"),
        };
        let mut rows = format!("{}{}", cause.id, at(Some(&cause.place)));
        if let Some(other) = &cause.together_with {
            rows = format!("{rows}; with {other}{}", at(cause.together_at.as_deref()));
        }
        let ids = if self.why {
            format!(" [{rows}]")
        } else {
            String::new()
        };
        let head = format!("{chance}  {}{ids}", cause.words);
        out.push_str(&paragraph(&head, self.width.saturating_sub(2), 6));
        out.push('\n');
        let limit = if self.why { usize::MAX } else { REASONS };
        let mut part = |label: &str, text: String| {
            out.push_str("      ");
            out.push_str(&paragraph(
                &format!("{label}: {text}"),
                self.width.saturating_sub(2),
                8,
            ));
            out.push('\n');
        };
        for (label, reasons) in [
            ("for", &cause.speaks_for),
            ("against", &cause.speaks_against),
        ] {
            if !reasons.is_empty() {
                let list: Vec<&str> = reasons.iter().take(limit).map(String::as_str).collect();
                part(label, list.join("; "));
            }
        }
        if !cause.remedy.is_empty() {
            part("do", cause.remedy.clone());
        }
        if !cause.once_fixed.is_empty() {
            part("then", ranges(&cause.once_fixed));
        }
    }

    fn ruled_out(&self, out: &mut String) {
        let all = &self.explanation.ruled_out;
        if all.is_empty() {
            return;
        }
        out.push_str("\nRuled out:\n");
        let limit = if self.why { usize::MAX } else { REASONS };
        for one in all.iter().take(limit) {
            self.line(&sentence(&one.why), out);
        }
        if let Some(rest) = all.len().checked_sub(limit).filter(|rest| *rest > 0) {
            out.push_str(&self.paragraph(&format!("{rest} more, with --why.")));
        }
    }

    /// Tests that tell less a minute than the one of the first lines.
    fn next(&self, out: &mut String) {
        let found = self.explanation;
        let said = usize::from(!found.next_step.is_empty());
        for (i, test) in found.next_tests.iter().enumerate().skip(said) {
            let word = if i == 0 { "To know more, " } else { "Or, " };
            let text = format!("\n{word}{}", self.families.test(test, None));
            out.push_str(&self.paragraph(&text));
        }
    }

    fn assumed(&self, out: &mut String) {
        let all: Vec<&Assumption> = self
            .assumptions
            .iter()
            .filter(|a| self.concerns(a))
            .collect();
        if all.is_empty() {
            return;
        }
        if self.why {
            out.push_str("\nAssumed, because nobody said:\n");
            for assumption in &all {
                self.line(&format!("{} = {}", assumption.id, assumption.value), out);
            }
            return;
        }
        let ids: Vec<&str> = all.iter().take(ASSUMED).map(|a| a.id.as_str()).collect();
        let more = match all.len().saturating_sub(ASSUMED) {
            0 => String::new(),
            rest => format!(" and {rest} more"),
        };
        let text = format!(
            "\nAssumed, because nobody said: {}{more}. Values: --why.",
            ids.join(", ")
        );
        out.push_str(&self.paragraph(&text));
    }

    /// Whether it is no assumption about a desk of which nothing was read.
    fn concerns(&self, assumption: &Assumption) -> bool {
        let desk = assumption
            .id
            .strip_prefix("desk.")
            .and_then(|id| id.split('.').next());
        let own = |name: &str| {
            let named = self.told.readings.iter().filter_map(|r| r.desk.as_deref());
            named
                .chain(self.told.desk.as_deref())
                .any(|known| known == name)
        };
        self.site.is_none() || desk.is_none_or(own)
    }

    /// The causes, for a spreadsheet or a document.
    pub(crate) fn table(&self) -> Table {
        let mut table = Table::new(&[
            ("probability %", Side::Right),
            ("cause", Side::Left),
            ("family", Side::Left),
            ("place", Side::Left),
            ("what it is", Side::Left),
            ("what to do", Side::Left),
            ("after MB/s", Side::Right),
        ]);
        for cause in &self.explanation.causes {
            table.row(vec![
                format!("{:.0}", cause.probability * 100.0),
                cause.id.clone(),
                cause.family.clone(),
                cause.place.clone(),
                cause.words.clone(),
                cause.remedy.clone(),
                cause
                    .once_fixed
                    .iter()
                    .map(|way| rate(way.rates[1]))
                    .collect::<Vec<_>>()
                    .join(" or "),
            ]);
        }
        table
    }
}

/// A first column of more letters breaks.
const COLUMN: usize = 28;

/// The beginning of a long text, by whole words.
fn short(text: &str) -> String {
    if text.chars().count() <= COLUMN {
        return text.to_owned();
    }
    let mut kept = String::new();
    for word in text.split_whitespace() {
        if kept.chars().count() + word.chars().count() + 4 > COLUMN {
            break;
        }
        if !kept.is_empty() {
            kept.push(' ');
        }
        kept.push_str(word);
    }
    if kept.is_empty() {
        kept = text.chars().take(COLUMN - 3).collect();
    }
    format!("{} ...", kept.trim_end_matches([',', ';', ':']))
}

/// One row where the direction is told, else one for each that it may be of.
fn rows(reading: &ReadingShown) -> Vec<Vec<String>> {
    let understood = |unit: RateUnit| {
        let rate = reading.understood;
        rate.map_or(String::new(), |rate| three_digits(unit.count(rate)))
    };
    let row = |text: String, expected: [String; 3]| {
        let [megabytes, mebibytes, megabits] = RateUnit::ALL.map(understood);
        let [low, middle, high] = expected;
        vec![text, megabytes, mebibytes, megabits, middle, low, high]
    };
    match &reading.expected[..] {
        [] => vec![row(short(&reading.text), Default::default())],
        [way] => vec![row(short(&reading.text), way.rates.map(rate))],
        ways => {
            let each = ways.iter().map(|way| {
                let text = format!("{}, if {}", short(&reading.text), doing(way.direction));
                row(text, way.rates.map(rate))
            });
            each.collect()
        }
    }
}

fn doing(direction: Direction) -> &'static str {
    match direction {
        Direction::Read => "reading",
        Direction::Write => "writing",
    }
}

/// Ranges of each direction that it may be.
fn ranges(ways: &[OneWay]) -> String {
    match ways {
        [way] => range(way.rates),
        ways => {
            let each = ways
                .iter()
                .map(|way| format!("{} {}", range(way.rates), doing(way.direction)));
            each.collect::<Vec<_>>().join(" or ")
        }
    }
}

/// A median with its range, in words.
fn range([low, middle, high]: [DataRate; 3]) -> String {
    let (low, middle, high) = (rate(low), rate(middle), rate(high));
    if low == high {
        format!("{middle} MB/s")
    } else {
        format!("{middle} MB/s ({low} to {high})")
    }
}
