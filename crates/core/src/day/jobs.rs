//! A list of jobs from a spreadsheet.

use super::clock;
use super::columns::{Column, Head, NAMES, NEEDED, unit};
use super::size::{self, Amount};
use crate::catalogue::Catalogue;
use crate::nearest::nearest;
use crate::quantity::{DataRate, Information, Measure, Time, parse, seconds};
use crate::sheet::{Cell, Form, decoded, whole, with_unit, written};
use crate::site::{Fault, Faults, Place, Site, SitePath};
use crate::spread::Spread;
use std::ops::Range;

/// Something that is moved on a day.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// What it is, in the words of the list.
    pub what: String,
    /// Where it lies.
    pub from: Spot,
    /// Where it goes.
    pub to: Spot,
    /// How much it is.
    pub size: Spread<Information>,
    /// When it may begin, from midnight of the first day.
    pub earliest: Time,
    /// When it has to be done.
    pub due: Option<Time>,
    /// The rate that it is held to.
    pub held_to: Option<Spread<DataRate>>,
    /// Whether it plays in real time, and so never touches a desk's disk.
    pub plays: bool,
    /// Whether size and rate are those of one material: what turns out larger also plays faster.
    pub one_luck: bool,
    /// Whether the copy is read back and compared.
    pub read_back: bool,
}

/// An end of a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Spot {
    /// A desk of the site, with its own disk.
    Desk(String),
    /// An array of the site.
    Array(String),
    /// Behind the access line.
    Outside,
}

impl std::fmt::Display for Spot {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Desk(name) | Self::Array(name) => name,
            Self::Outside => OUTSIDE,
        })
    }
}

/// Jobs out of a list.
#[derive(Clone, Debug, PartialEq)]
pub struct JobList {
    /// One a row.
    pub jobs: Vec<Job>,
    /// Heads of columns that say nothing of a job.
    pub unused: Vec<String>,
}

/// The word for what lies behind the access line.
const OUTSIDE: &str = "outside";

const FORM: Form = Form {
    list: "list of jobs",
    rows: "jobs",
    row: "write one row a job below",
    heads: "what;size;from;to;earliest;due",
    // a longer list is no day
    most: 2000,
    has_comments: false,
};

/// How an hour is written.
const HOURS: &str = "write hours and minutes: 18:00, or 06:00 +1 for the next day";

/// Reads a list of jobs of a site, and the text that faults point into.
///
/// The first row names the columns, in any order: what, size, from, to, earliest, due, held to,
/// read back. A size is an amount of data or a rate or codec by the hour (`ProRes 422 HQ 1080 25 x
/// 2 h`). An end is a desk, an array or `outside`; one of the two is an array. An hour is `18:00`,
/// or `06:00 +1` on the next day; without one a job may begin at midnight, and is never late.
/// Numbers may have a decimal comma; a bare number needs its unit in the head (`size GB`).
///
/// # Errors
/// With every cell that cannot be read, and every job that cannot be done.
pub fn jobs(bytes: &[u8], site: &Site, catalogue: &Catalogue) -> (String, Result<JobList, Faults>) {
    let text = decoded(bytes);
    let found = Reading {
        text: &text,
        site,
        catalogue,
        faults: Vec::new(),
    }
    .list();
    (text, found)
}

struct Reading<'a> {
    text: &'a str,
    site: &'a Site,
    catalogue: &'a Catalogue,
    faults: Vec<Fault>,
}

/// A value and where it stands.
type At<T> = Option<(T, Range<usize>)>;

/// What the cells of a row say.
#[derive(Default)]
struct Row {
    what: String,
    size: At<Amount>,
    from: At<Spot>,
    to: At<Spot>,
    earliest: At<Time>,
    due: At<Time>,
    held_to: At<Held>,
    read_back: At<bool>,
    /// Cells that could not be read; what misses them is no fault of its own.
    broken: Vec<Column>,
}

/// What a job is held to.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Held {
    To(DataRate),
    /// The rate at which it plays.
    RealTime,
}

impl Reading<'_> {
    fn fault(
        &mut self,
        span: Range<usize>,
        title: &str,
        found: impl Into<String>,
        help: impl Into<String>,
    ) {
        let fault = Fault::new(Place::file(span), title, found, help);
        self.faults.push(fault);
    }

    fn list(mut self) -> Result<JobList, Faults> {
        let rows = FORM.open(self.text)?;
        let (head, body) = &rows;
        let (columns, unused) = self.heads(head);
        if let Some(fault) = FORM.length(&rows)
            && (self.faults.is_empty() || !body.is_empty())
        {
            self.faults.push(fault);
            return Err(Faults::ordered(self.faults));
        }
        let known = |column: Column| columns.iter().flatten().any(|(c, _)| *c == column);
        if NEEDED.into_iter().any(|column| !known(column)) {
            // every row would miss the same
            return Err(Faults::ordered(self.faults));
        }
        let mut jobs = Vec::with_capacity(body.len());
        for (number, row) in body.iter().enumerate() {
            jobs.extend(self.row(number, row, &columns));
        }
        if self.faults.is_empty() {
            Ok(JobList { jobs, unused })
        } else {
            Err(Faults::ordered(self.faults))
        }
    }

    fn heads(&mut self, cells: &[Cell]) -> (Vec<Head>, Vec<String>) {
        let (columns, unused, faults) = FORM.heads(cells, NAMES, unit);
        self.faults.extend(faults);
        let known = |column: &Column| columns.iter().flatten().any(|(c, _)| c == column);
        let missing: Vec<&str> = NEEDED
            .iter()
            .filter(|c| !known(c))
            .map(|c| c.name())
            .collect();
        if !missing.is_empty() {
            let found = format!("no column is called '{}'", missing.join("' or '"));
            self.faults.push(FORM.lacks(cells, found));
        }
        (columns, unused)
    }

    fn row(&mut self, number: usize, cells: &[Cell], columns: &[Head]) -> Option<Job> {
        let mut row = Row {
            what: format!("job {}", number + 1),
            ..Row::default()
        };
        for (cell, head) in cells.iter().zip(columns) {
            if let (Some((column, unit)), Some(span)) = (head, written(cell)) {
                let before = self.faults.len();
                self.cell(*column, unit.as_deref(), span, &mut row);
                if self.faults.len() > before {
                    row.broken.push(*column);
                }
            }
        }
        self.job(row, whole(cells))
    }

    fn cell(&mut self, column: Column, unit: Option<&str>, span: Range<usize>, row: &mut Row) {
        let text = self.text.get(span.clone()).unwrap_or_default();
        match column {
            Column::What => {
                row.what = text.split_whitespace().collect::<Vec<_>>().join(" ");
            }
            Column::Size => row.size = self.size(text, unit, &span).map(|size| (size, span)),
            Column::From => row.from = self.spot(text, &span).map(|spot| (spot, span)),
            Column::To => row.to = self.spot(text, &span).map(|spot| (spot, span)),
            Column::Earliest => row.earliest = self.hour(text, &span).map(|hour| (hour, span)),
            Column::Due => row.due = self.hour(text, &span).map(|hour| (hour, span)),
            Column::HeldTo => row.held_to = self.held(text, unit, &span).map(|held| (held, span)),
            Column::ReadBack => match text.to_lowercase().as_str() {
                "yes" => row.read_back = Some((true, span)),
                "no" => row.read_back = Some((false, span)),
                _ => {
                    let found = format!("'{text}' is neither yes nor no");
                    self.fault(span, "no answer", found, "write yes or no");
                }
            },
        }
    }

    fn size(&mut self, text: &str, unit: Option<&str>, span: &Range<usize>) -> Option<Amount> {
        match size::read(&with_unit(text, unit), self.catalogue) {
            Ok(size) => Some(size),
            Err(fault) => {
                self.fault(span.clone(), "no size", fault.found, fault.help);
                None
            }
        }
    }

    fn held(&mut self, text: &str, unit: Option<&str>, span: &Range<usize>) -> Option<Held> {
        if ["real time", "real-time", "realtime"].contains(&text.to_lowercase().as_str()) {
            return Some(Held::RealTime);
        }
        let found = parse::<DataRate>(&with_unit(text, unit));
        match found {
            Ok(rate) if rate.base() > 0.0 => Some(Held::To(rate)),
            Ok(_) => {
                let help = "write the rate that it may take at most, or leave the cell empty";
                self.fault(span.clone(), "held to nothing", "it would never end", help);
                None
            }
            Err(fault) => {
                let help = format!("{}; or write 'real time'", fault.help);
                self.fault(span.clone(), "no rate", fault.found, help);
                None
            }
        }
    }

    fn hour(&mut self, text: &str, span: &Range<usize>) -> Option<Time> {
        let found = clock::read(text);
        if found.is_none() {
            let what = format!("'{text}' is no hour of a day");
            self.fault(span.clone(), "no hour", what, HOURS);
        }
        found
    }

    fn spot(&mut self, text: &str, span: &Range<usize>) -> Option<Spot> {
        let desks = self.site.desks.iter().map(|desk| desk.name.as_str());
        let arrays = self.site.arrays.iter().map(|array| array.name.as_str());
        let of_desk = match SitePath::of(text) {
            SitePath::Desk(name, None) => name,
            _ => text,
        };
        let of_array = match SitePath::of(text) {
            SitePath::Array(name, None) => name,
            _ => text,
        };
        if desks.clone().any(|desk| desk == of_desk) {
            return Some(Spot::Desk(of_desk.to_owned()));
        }
        if arrays.clone().any(|array| array == of_array) {
            return Some(Spot::Array(of_array.to_owned()));
        }
        if text.eq_ignore_ascii_case(OUTSIDE) {
            return Some(Spot::Outside);
        }
        let known = desks.chain(arrays).chain([OUTSIDE]);
        let near = nearest(text, known.clone())
            .map(|near| format!("; did you mean '{near}'?"))
            .unwrap_or_default();
        let found = format!("'{text}' is no desk and no array of the site{near}");
        let help = format!("write one of {}", known.collect::<Vec<_>>().join(", "));
        self.fault(span.clone(), "an unknown place", found, help);
        None
    }

    fn job(&mut self, row: Row, whole: Range<usize>) -> Option<Job> {
        let before = self.faults.len();
        for (column, missing) in [
            (Column::Size, row.size.is_none()),
            (Column::From, row.from.is_none()),
            (Column::To, row.to.is_none()),
        ] {
            if missing && !row.broken.contains(&column) {
                let found = format!("nothing stands under '{}'", column.name());
                let help = match column {
                    Column::Size => "write how much it is, for example 512 GB",
                    _ => "write a desk, an array or 'outside'",
                };
                self.fault(whole.clone(), "half a job", found, help);
            }
        }
        self.ends(&row);
        self.hours(&row);
        if let (Some((Held::RealTime, span)), Some((size, _))) = (&row.held_to, &row.size)
            && size.plays_at.is_none()
        {
            let found = "the size is an amount of data, so nobody knows how fast it plays";
            let help = "write the size as a rate or codec by the hour, or hold it to a rate";
            self.fault(span.clone(), "no real time", found, help);
        }
        if self.faults.len() > before || !row.broken.is_empty() {
            return None;
        }
        let (size, _) = row.size?;
        Some(Job {
            what: row.what,
            from: row.from?.0,
            to: row.to?.0,
            size: size.size,
            earliest: row.earliest.map_or(seconds(0.0), |(hour, _)| hour),
            due: row.due.map(|(hour, _)| hour),
            plays: matches!(row.held_to, Some((Held::RealTime, _))),
            one_luck: matches!(row.held_to, Some((Held::RealTime, _))),
            held_to: match row.held_to {
                Some((Held::To(rate), _)) => Some(Spread::exact(rate)),
                Some((Held::RealTime, _)) => size.plays_at,
                None => None,
            },
            read_back: row.read_back.is_some_and(|(yes, _)| yes),
        })
    }

    /// What cannot be done between two places.
    fn ends(&mut self, row: &Row) {
        let (Some((from, _)), Some((to, span))) = (&row.from, &row.to) else {
            return;
        };
        let span = span.clone();
        let array = |spot: &Spot| matches!(spot, Spot::Array(_));
        if from == to {
            let found = format!("it goes from {from} to {to}");
            self.fault(
                span,
                "a job on the spot",
                found,
                "write two different places",
            );
            return;
        }
        if array(from) == array(to) {
            let found = if array(from) {
                "both ends are arrays, and a desk has to carry it between them"
            } else {
                "neither end is an array"
            };
            let help =
                "write two jobs, or an array at one end and a desk or 'outside' at the other";
            self.fault(span, "not one way", found, help);
            return;
        }
        let outside = *from == Spot::Outside || *to == Spot::Outside;
        if outside && row.held_to.is_none() && !row.broken.contains(&Column::HeldTo) {
            let found = "how fast the line to the outside is stands nowhere";
            let help = "write what it carries under 'held to', for example 90 Mb/s";
            self.fault(span, "a line without a rate", found, help);
            return;
        }
        if let (Spot::Desk(desk), Spot::Array(array)) | (Spot::Array(array), Spot::Desk(desk)) =
            (from, to)
            && !self.reaches(desk, array)
        {
            let found = format!("no runs of the site lead from {desk} to {array}");
            let help = "give the job to a desk that has a way there, or add the run to the site";
            self.fault(span, "out of reach", found, help);
            return;
        }
        if let Some((true, back)) = &row.read_back
            && (outside || !array(to))
        {
            let found = "only a desk that copies to an array reads the copy back over the path";
            let help = "write no, or leave the cell empty";
            self.fault(back.clone(), "nothing to read back", found, help);
        }
    }

    fn reaches(&self, desk: &str, array: &str) -> bool {
        let nas = self.site.arrays.iter().find(|a| a.name == array);
        let routes = crate::route::routes(self.site, desk);
        nas.is_some_and(|array| routes.iter().any(|route| route.nas == array.nas))
    }

    /// Hours that leave no time between them.
    fn hours(&mut self, row: &Row) {
        let Some((due, span)) = &row.due else { return };
        let (earliest, begins) = match &row.earliest {
            Some((earliest, at)) => (*earliest, Some(at.clone())),
            None => (seconds(0.0), None),
        };
        if *due > earliest {
            return;
        }
        let next = format!("{} +1", self.text.get(span.clone()).unwrap_or_default());
        let found = format!("it may begin at {} at the earliest", clock::clock(earliest));
        let next_day = clock::read(&next).filter(|next| *next > earliest);
        let (help, fix) = match next_day {
            Some(_) => (
                format!("if the next day is meant, write {next}"),
                Some(next),
            ),
            None => ("write an hour after that".to_owned(), None),
        };
        let mut fault = Fault::new(
            Place::file(span.clone()),
            "due before it may begin",
            found,
            help,
        );
        if let Some(at) = begins {
            fault = fault.also(Place::file(at), "this is its start");
        }
        if let Some(fix) = fix {
            fault = fault.fixed(span.clone(), fix);
        }
        self.faults.push(fault);
    }
}
