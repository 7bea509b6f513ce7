use super::found::Verdict;
use crate::catalogue::{CatalogueFault, Row, each_row};
use crate::quantity::{Kind, parse_base};
use crate::spread::{Bounds, Law};
use crate::work::Direction;

/// Which part of the way a cause changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Scope {
    /// Links, radio, cards: everything that goes over the network.
    Wire,
    /// The file service and its client: copies, but no test from memory to memory.
    Service,
    /// Drives: copies, and tests on the NAS itself.
    Array,
    /// The desk's own disk.
    DeskDisk,
    /// The test from memory to memory only.
    RawTool,
    /// The test on the NAS itself only.
    LocalTool,
    /// The number, and nothing that it stands for.
    Reading,
}

/// What a cause concerns.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum At {
    Run,
    /// An access point.
    Cell,
    /// The cable of an access point.
    Uplink,
    Switch,
    /// A port of a switch.
    Port,
    Desk,
    Nas,
    Array,
    Way,
}

/// How a cause changes a rate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Change {
    /// The site with an edit made in it.
    Edit,
    /// No more than a rate.
    Cap,
    /// A share of what it was.
    Scale,
    /// No more than bytes a round trip.
    Window,
    /// No more than bytes a round trip and the server's time.
    Requests,
    /// The drives are not asked; memory answers at a rate.
    Lift,
    /// At least a rate, whatever the way carries.
    Beyond,
    /// One member of a joined link; nothing that the site does not say already.
    Member,
    /// The number is in another unit.
    Slip,
    /// Nothing is at fault, and this place limits.
    Limit,
}

/// Which direction a cause hits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Hits {
    Both,
    Read,
    Write,
    /// One of the two; nobody knows which before measuring.
    Either,
}

impl Hits {
    pub(crate) fn cases(self) -> &'static [Option<Direction>] {
        match self {
            Self::Both => &[None],
            Self::Read => &[Some(Direction::Read)],
            Self::Write => &[Some(Direction::Write)],
            Self::Either => &[Some(Direction::Read), Some(Direction::Write)],
        }
    }
}

/// A row of the catalogue of causes.
#[derive(Clone, Debug)]
pub struct Cause {
    /// Its name.
    pub id: String,
    /// Causes of one family look alike.
    pub family: String,
    /// In words; `{place}` stands for where.
    pub words: String,
    /// The edit of the site that says the same, where there is one.
    pub edit: Option<String>,
    /// What to do about it.
    pub remedy: String,
    /// Weight before anything is known.
    pub prior: f64,
    /// Why these numbers.
    pub source: String,
    pub(crate) scope: Scope,
    pub(crate) at: At,
    pub(crate) hits: Hits,
    pub(crate) change: Change,
    pub(crate) law: Law,
    pub(crate) when: Vec<Condition>,
    /// What it makes of a number.
    pub(crate) weighs: Verdict,
}

impl Cause {
    /// Whether it is there only where there is radio, and then at its runs.
    pub(crate) fn is_of_radio(&self) -> bool {
        let never = |c: &Condition| c.tag == "wireless" && !c.so && c.factor <= 0.0;
        self.when.iter().any(never)
    }
}

/// A factor on the prior where a thing is so.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Condition {
    pub tag: String,
    pub so: bool,
    pub factor: f64,
}

/// All causes.
///
/// # Errors
/// Only where the embedded file is broken, which a test rules out.
pub fn causes() -> Result<Vec<Cause>, CatalogueFault> {
    let (file, text) = narrows_data::CAUSES;
    read(file, text)
}

fn read(file: &str, text: &str) -> Result<Vec<Cause>, CatalogueFault> {
    let mut all: Vec<Cause> = Vec::new();
    each_row(file, text, |row| {
        let word = |at: usize, known: &[&str]| -> Result<usize, CatalogueFault> {
            let found = row.text(at)?;
            known
                .iter()
                .position(|k| *k == found)
                .ok_or_else(|| row.fault(format!("'{found}' is none of {}", known.join(", "))))
        };
        let id = row.text(0)?;
        if all.iter().any(|c| c.id == id) {
            return Err(row.fault(format!("'{id}' stands here twice")));
        }
        let change = CHANGES[word(5, &CHANGE_WORDS)?];
        let weighs = Verdict::ALL[word(12, &Verdict::ALL.map(Verdict::word))?];
        let hits = [Hits::Both, Hits::Read, Hits::Write, Hits::Either]
            [word(4, &["both", "read", "write", "either"])?];
        let numbers = [6, 7, 8].map(|at| row.optional(at)).join("..");
        let amount = format!("{numbers} {}", row.optional(9));
        let edit = row.optional(14).replace("{amount}", amount.trim());
        if edit.is_empty() && change == Change::Edit {
            return Err(row.fault("an edit has to say what it edits".to_owned()));
        }
        all.push(Cause {
            id,
            family: row.text(1)?,
            words: row.text(13)?,
            edit: (!edit.is_empty()).then_some(edit),
            remedy: row.text(15)?,
            prior: row.number(10)?,
            source: row.text(16)?,
            scope: SCOPES[word(2, &SCOPE_WORDS)?],
            at: PLACES[word(3, &PLACE_WORDS)?],
            hits,
            change,
            law: law(row, change)?,
            when: conditions(row)?,
            weighs,
        });
        Ok(())
    })?;
    Ok(all)
}

const SCOPES: [Scope; 7] = [
    Scope::Wire,
    Scope::Service,
    Scope::Array,
    Scope::DeskDisk,
    Scope::RawTool,
    Scope::LocalTool,
    Scope::Reading,
];
const SCOPE_WORDS: [&str; 7] = [
    "wire",
    "service",
    "array",
    "desk-disk",
    "raw-tool",
    "local-tool",
    "reading",
];
const PLACES: [At; 9] = [
    At::Run,
    At::Cell,
    At::Uplink,
    At::Switch,
    At::Port,
    At::Desk,
    At::Nas,
    At::Array,
    At::Way,
];
const PLACE_WORDS: [&str; 9] = [
    "run", "cell", "uplink", "switch", "port", "desk", "nas", "array", "way",
];
const CHANGES: [Change; 10] = [
    Change::Edit,
    Change::Cap,
    Change::Scale,
    Change::Window,
    Change::Requests,
    Change::Lift,
    Change::Beyond,
    Change::Member,
    Change::Slip,
    Change::Limit,
];
const CHANGE_WORDS: [&str; 10] = [
    "edit", "cap", "scale", "window", "requests", "lift", "beyond", "member", "slip", "limit",
];

/// How much a cause changes, with the unit that its kind of change has.
fn law(row: &Row<'_>, change: Change) -> Result<Law, CatalogueFault> {
    let unit = row.optional(9);
    if change == Change::Edit {
        // what the edit says it means; the numbers stand in its text
        let number = |at: usize| row.number(at);
        return Law::percentiles(number(6)?, Some(number(7)?), number(8)?, Bounds::POSITIVE)
            .map_err(|problem| row.fault(problem));
    }
    let kind = match change {
        Change::Cap | Change::Lift | Change::Beyond => Kind::DataRate,
        Change::Window | Change::Requests => Kind::Information,
        Change::Edit | Change::Scale | Change::Member | Change::Slip | Change::Limit => {
            Kind::Fraction
        }
    };
    let base = |at: usize| -> Result<f64, CatalogueFault> {
        let number = row.number(at)?;
        if unit.is_empty() {
            return Ok(number);
        }
        parse_base(kind, &format!("{number} {unit}")).map_err(|e| row.fault(e.to_string()))
    };
    Law::percentiles(base(6)?, Some(base(7)?), base(8)?, Bounds::POSITIVE)
        .map_err(|problem| row.fault(problem))
}

/// What changes a weight: `usb-adapter:10 -fast:0.5`.
fn conditions(row: &Row<'_>) -> Result<Vec<Condition>, CatalogueFault> {
    let mut when = Vec::new();
    for part in row.optional(11).split_whitespace() {
        let (tag, factor) = part
            .split_once(':')
            .ok_or_else(|| row.fault(format!("'{part}' has no factor")))?;
        let factor: f64 = factor
            .parse()
            .map_err(|_| row.fault(format!("'{factor}' is not a factor")))?;
        let so = !tag.starts_with('-');
        let tag = tag.trim_start_matches('-').to_owned();
        if !super::tags::TAGS.contains(&tag.as_str()) {
            return Err(row.fault(format!("'{tag}' is nothing that can be so")));
        }
        when.push(Condition { tag, so, factor });
    }
    Ok(when)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cause_is_complete() {
        let all = causes().unwrap();
        assert!(all.len() > 50);
        for cause in &all {
            assert!(cause.source.len() > 8, "{}", cause.id);
            assert!(
                cause.prior > 0.0 || cause.change == Change::Limit,
                "{}",
                cause.id
            );
            let kebab = |t: &str| {
                t.chars()
                    .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
            };
            assert!(kebab(&cause.id) && kebab(&cause.family), "{}", cause.id);
        }
    }

    #[test]
    fn every_law_has_a_reason_why_it_is_no_edit() {
        let mut reasons: Vec<String> = Vec::new();
        let (file, text) = narrows_data::LAWS;
        each_row(file, text, |row| {
            assert!(row.text(1)?.len() > 20, "{}", row.text(0)?);
            reasons.push(row.text(0)?);
            Ok(())
        })
        .unwrap();
        let is_law = |c: &Cause| !matches!(c.change, Change::Edit | Change::Limit);
        let laws: Vec<String> = causes()
            .unwrap()
            .into_iter()
            .filter(is_law)
            .map(|c| c.id)
            .collect();
        assert_eq!(reasons, laws);
    }

    #[test]
    fn a_row_that_is_wrong_says_where() {
        let head = "id,family,scope,place,direction,law,low,likely,high,unit,prior,when,verdict,words,edit,remedy,source\n";
        let wrong = [
            (
                "x,f,air,run,both,cap,1,2,3,MB/s,1,,slow,w,,r,judgement",
                "'air' is none of",
            ),
            (
                "x,f,wire,run,both,cap,3,2,1,MB/s,1,,slow,w,,r,judgement",
                "order",
            ),
            ("x,f,wire,run,both,cap,1,2,3,m,1,,slow,w,,r,judgement", "m"),
            (
                "x,f,wire,run,both,cap,1,2,3,MB/s,1,nonsense:2,slow,w,,r,judgement",
                "nonsense",
            ),
            (
                "x,f,wire,run,both,cap,1,2,3,MB/s,1,fast,slow,w,,r,judgement",
                "no factor",
            ),
            ("x,f,wire,run,both,cap,1,2,3,MB/s,1,,slow,w,,r,", "field 17"),
            (
                "x,f,wire,run,both,edit,1,1,1,,1,,slow,w,,r,judgement",
                "what it edits",
            ),
        ];
        for (row, part) in wrong {
            let fault = read("causes.csv", &format!("{head}{row}\n")).unwrap_err();
            assert!(fault.to_string().starts_with("causes.csv:2"), "{fault}");
            assert!(fault.problem.contains(part), "{fault}");
        }
    }
}
