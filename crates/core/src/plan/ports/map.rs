//! The jack map: which desk hangs on which jack, where its cable ends, and how sure that is.

use crate::cable::{CableRun, JackRecord, Noted, as_far_as_it_goes};
use crate::catalogue::Catalogue;
use crate::nearest::nearest;
use crate::site::{Fault, FaultSource, Faults, Place, Site};

/// How sure it is that a jack and a panel port are the two ends of one cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Traced {
    /// Nobody traced it.
    Guess,
    /// Traced once.
    Once,
    /// Two traces that do not rest on each other.
    Verified,
}

impl Traced {
    /// All, the least sure first.
    pub const ALL: [Self; 3] = [Self::Guess, Self::Once, Self::Verified];

    /// As written in a list of jacks.
    pub fn word(self) -> &'static str {
        match self {
            Self::Guess => "guess",
            Self::Once => "one trace",
            Self::Verified => "verified",
        }
    }
}

/// A socket in the wall with what is known of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Jack {
    /// Its label, or the number of its row.
    pub label: String,
    /// The port of the patch panel.
    pub panel: Option<String>,
    /// The room.
    pub room: Option<String>,
    /// The desk that is plugged in.
    pub desk: Option<String>,
    /// The one switch that its panel is next to, where it is not next to all.
    pub switch: Option<String>,
    /// How sure the label is.
    pub traced: Traced,
    /// Its cable.
    pub run: CableRun,
}

/// Reads a list of jacks against a site, and the text that faults point into.
///
/// The columns of `narrows cable`, and `panel port`, `room`, `desk`, `switch` and `traced`. A jack whose
/// `switch` is left open may be patched to any.
///
/// # Errors
/// With every cell that cannot be read, a jack twice, a panel port that two jacks claim, a desk on two
/// jacks, and desks and switches that the site does not have.
pub fn jack_map(
    bytes: &[u8],
    site: &Site,
    catalogue: &Catalogue,
) -> (String, Result<Vec<Jack>, Faults>) {
    let (text, list, mut faults) = as_far_as_it_goes(bytes, catalogue);
    twice(&list.records, &mut faults);
    let desks: Vec<&str> = site.desks.iter().map(|d| d.name.as_str()).collect();
    let switches: Vec<&str> = site.switches.iter().map(|s| s.name.as_str()).collect();
    let mut jacks = Vec::new();
    for record in &list.records {
        named(record.desk.as_ref(), "desk", &desks, &mut faults);
        named(record.switch.as_ref(), "switch", &switches, &mut faults);
        let traced = traced(record.traced.as_ref(), &mut faults);
        let words = |noted: &Option<Noted>| noted.as_ref().map(|n| n.text.clone());
        if let Some(run) = record.run.and_then(|run| list.runs.get(run)) {
            jacks.push(Jack {
                label: record.label.clone(),
                panel: words(&record.panel),
                room: words(&record.room),
                desk: words(&record.desk),
                switch: words(&record.switch),
                traced,
                run: run.clone(),
            });
        }
    }
    let found = if faults.is_empty() {
        Ok(jacks)
    } else {
        Err(Faults::ordered(faults))
    };
    (text, found)
}

fn place(noted: &Noted) -> Place {
    Place {
        source: FaultSource::File,
        span: noted.span.clone(),
    }
}

/// What may stand in one row only.
fn twice(records: &[JackRecord], faults: &mut Vec<Fault>) {
    type Cell = fn(&JackRecord) -> Option<&Noted>;
    let columns: [(Cell, &str, &str); 3] = [
        (
            |r| r.jack.as_ref(),
            "a jack twice",
            "give each jack a label of its own, or remove one of the two rows",
        ),
        (
            |r| r.panel.as_ref(),
            "a panel port used by two jacks",
            "one cable ends at a panel port: trace both, and correct the one that is wrong",
        ),
        (
            |r| r.desk.as_ref(),
            "a desk on two jacks",
            "leave the desk in the row of the jack that it is plugged into",
        ),
    ];
    for (cell, title, help) in columns {
        for (i, record) in records.iter().enumerate() {
            let Some(noted) = cell(record) else { continue };
            let before = records.iter().take(i).filter_map(cell);
            let same = |other: &&Noted| other.text.eq_ignore_ascii_case(&noted.text);
            if let Some(first) = before.into_iter().find(same) {
                let found = format!("'{}' stands here again", noted.text);
                faults.push(
                    Fault::new(place(noted), title, found, help).also(place(first), "first here"),
                );
            }
        }
    }
}

/// A name that the site has.
fn named(noted: Option<&Noted>, what: &str, known: &[&str], faults: &mut Vec<Fault>) {
    let Some(noted) = noted else { return };
    if known.contains(&noted.text.as_str()) {
        return;
    }
    let near = nearest(&noted.text, known.iter().copied());
    let also = near.map_or(String::new(), |near| format!("; did you mean '{near}'?"));
    let help = if known.is_empty() {
        format!("the site has no {what}; leave the cell empty")
    } else {
        format!("write one of {}, or leave the cell empty", known.join(", "))
    };
    let title = format!("the site has no such {what}");
    let mut fault = Fault::new(
        place(noted),
        title,
        format!("'{}' is not in the site{also}", noted.text),
        help,
    );
    if let Some(near) = near {
        fault = fault.fixed(noted.span.clone(), near);
    }
    faults.push(fault);
}

fn traced(noted: Option<&Noted>, faults: &mut Vec<Fault>) -> Traced {
    let Some(noted) = noted else {
        return Traced::Guess;
    };
    let text = noted.text.to_lowercase();
    let found = match text.as_str() {
        "no" | "n" | "0" | "false" => Some(Traced::Guess),
        // who writes yes traced it, and does not say how often
        "once" | "1" | "yes" | "y" | "true" | "x" => Some(Traced::Once),
        "twice" | "2" => Some(Traced::Verified),
        _ => Traced::ALL.into_iter().find(|t| t.word() == text),
    };
    found.unwrap_or_else(|| {
        let all = Traced::ALL.map(Traced::word);
        let near = nearest(&text, all.into_iter())
            .map_or(String::new(), |near| format!("; did you mean '{near}'?"));
        faults.push(Fault::new(
            place(noted),
            "how sure a label is",
            format!("'{}' is not one of the words{near}", noted.text),
            format!("write one of {}, or leave the cell empty", all.join(", ")),
        ));
        Traced::Guess
    })
}
