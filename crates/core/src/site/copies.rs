//! Copies of what an array holds, and the work that is done.

use super::fault::Fault;
use super::keeping::{CopyKind, CopyPlan, Project, Tried};
use super::model::{Known, Machine};
use super::names::Names;
use super::reader::{Part, Read, Reader, Reported};
use super::schema::Section;
use super::tree::{Table, Value};
use crate::quantity::{DataRate, Information, Measure, Ratio, Time, UnitFault, percent, ratio};
use crate::spread::Spread;

/// Drives that are rotated where nobody said.
const USUAL_DRIVES: u32 = 2;

/// When a run begins where nobody said.
const USUAL_START: f64 = 20.0 * 3600.0;

/// Which fields belong to which kinds of copy.
struct Belongs {
    key: &'static str,
    whose: fn(CopyKind) -> bool,
    who: &'static str,
}

const BELONGS: [Belongs; 6] = [
    Belongs {
        key: "contract",
        whose: CopyKind::has_line,
        who: "upload and box-elsewhere pass an access line",
    },
    Belongs {
        key: "down",
        whose: CopyKind::has_line,
        who: "upload and box-elsewhere pass an access line",
    },
    Belongs {
        key: "window",
        whose: CopyKind::has_line,
        who: "upload and box-elsewhere pass an access line",
    },
    Belongs {
        key: "drives",
        whose: |kind| kind == CopyKind::Carried,
        who: "carried drives are rotated",
    },
    Belongs {
        key: "desk",
        whose: |kind| kind == CopyKind::Carried,
        who: "carried drives are plugged into a desk",
    },
    Belongs {
        key: "rate",
        whose: |kind| kind != CopyKind::Snapshots,
        who: "snapshots move nothing",
    },
];

impl Reader<'_> {
    /// A copy.
    pub(super) fn copy(&mut self, part: &Part<'_>, names: &Names) -> Read<CopyPlan> {
        let kind = self.copy_kind(part);
        let array = self.array_of(part, &names.array_names());
        let every = self.interval(part);
        let begins = self.parsed(part, "begins", "an hour", hour);
        let whole = self.stated::<Ratio>(part, "part");
        let changes = self.stated::<Information>(part, "changes");
        let rate = self.stated::<DataRate>(part, "rate");
        let contract = self.stated::<DataRate>(part, "contract");
        let down = self.stated::<DataRate>(part, "down");
        let window = self.stated::<Time>(part, "window");
        let drives = self.whole(part, "drives");
        let desk = match part.table.get("desk") {
            Some(_) => {
                let desks = names.of_kind(Machine::Desk);
                self.name_of(part, "desk", &desks, "desk").map(Some)
            }
            None => Ok(None),
        };
        let tried = self.tried(part);
        let immutable = self.yes_no_or(part, "immutable", "copy.immutable");
        let watched = self.yes_no_or(part, "watched", "copy.watched");
        let kind = kind?;
        self.belongs(part, kind)?;
        let contract = contract?;
        if kind.has_line() && contract.is_none() {
            return Err(self.report(Fault::new(
                part.place.clone(),
                format!("{} does not say what its line carries", part.path),
                "'contract' is not given",
                "add contract = \"40 Mb/s\": the rate upwards of the contract",
            )));
        }
        Ok(CopyPlan {
            name: part.name.clone(),
            kind,
            array: array?,
            every: every?,
            begins: begins?.unwrap_or_else(|| Time::from_base(USUAL_START)),
            part: whole?.map_or_else(|| percent(100.0), |p| p.value.median()),
            changes: changes?,
            rate: rate?,
            contract,
            down: down?,
            window: window?.map(|w| w.value.median()),
            drives: drives?.unwrap_or(USUAL_DRIVES),
            desk: desk?,
            tried: tried?,
            immutable: immutable?,
            watched: watched?,
        })
    }

    fn copy_kind(&mut self, part: &Part<'_>) -> Read<CopyKind> {
        let Some(word) = self.word(part, "kind", "copy-kind")? else {
            return Err(self.missing(part, "kind"));
        };
        CopyKind::ALL
            .into_iter()
            .find(|kind| kind.word() == word)
            .ok_or(Reported)
    }

    fn interval(&mut self, part: &Part<'_>) -> Read<Time> {
        let Some(every) = self.stated::<Time>(part, "every")? else {
            return Err(self.missing(part, "every"));
        };
        Ok(every.value.median())
    }

    fn tried(&mut self, part: &Part<'_>) -> Read<super::model::Chosen<Tried>> {
        let find = |word: &str| Tried::ALL.into_iter().find(|t| t.word() == word);
        let words = self.words("tried", find);
        match self.chosen(part, "tried", &words)? {
            Some(tried) => Ok(tried),
            None => self.assumed_choice(part, "tried", "copy.tried", find, |t| t.word().to_owned()),
        }
    }

    fn belongs(&mut self, part: &Part<'_>, kind: CopyKind) -> Read<()> {
        let mut all = Ok(());
        for belongs in &BELONGS {
            if part.table.get(belongs.key).is_some() && !(belongs.whose)(kind) {
                all = Err(self.report(Fault::new(
                    part.place_of(belongs.key),
                    format!(
                        "{} does not belong to '{}'",
                        part.id(belongs.key),
                        kind.word()
                    ),
                    belongs.who,
                    "remove it, or write another kind",
                )));
            }
        }
        all
    }

    /// The work that is done; none where the file says nothing of it.
    pub(super) fn project(&mut self, top: &Part<'_>) -> Read<Option<Project>> {
        let (place, table): (_, &Table) = match top.table.get("project") {
            None => return Ok(None),
            Some(entry) => match &entry.node.value {
                Value::Table(table) => (entry.place.clone(), table),
                Value::Lost => return Err(Reported),
                other => {
                    return Err(self.report(Fault::new(
                        entry.node.place.clone(),
                        "the project has no fields",
                        format!("this is {}", other.noun()),
                        "write [project]",
                    )));
                }
            },
        };
        let part = Part {
            section: Section::Project,
            path: "project".to_owned(),
            name: String::new(),
            place,
            table,
        };
        self.known_keys(&part);
        self.project_of(&part).map(Some)
    }

    fn project_of(&mut self, part: &Part<'_>) -> Read<Project> {
        let cameras = self.whole(part, "cameras");
        let tracks = self.whole(part, "tracks");
        let people = self.whole(part, "people");
        let told = self.told(part);
        let rate = self.stated::<DataRate>(part, "rate");
        let recorded = self.quantity::<Time>(part, "recorded", "project.recorded");
        let shooting_days = self.number_or(part, "shooting-days", "project.shooting-days");
        let renders = self.quantity::<Ratio>(part, "renders", "project.renders");
        let deleted = self.quantity::<Ratio>(part, "deleted", "project.deleted");
        let proxies = self.stated::<Ratio>(part, "proxies");
        let kept = self.stated::<Time>(part, "kept");
        let share = self.quantity::<Ratio>(part, "share", "project.share");
        let next = self.number_or(part, "next", "project.next");
        let (told, rate) = (told?, rate?);
        let material = self.material(part, "codec", &told)?;
        if material.is_some() && rate.is_some() {
            return Err(self.report(
                Fault::new(
                    part.place_of("rate"),
                    "the project has a rate and a codec",
                    "the codec says how much that is",
                    "remove 'rate' or 'codec'",
                )
                .also(part.place_of("codec"), "the codec is here"),
            ));
        }
        let rate = rate.or_else(|| material.as_ref().map(|m| m.rate.clone()));
        Ok(Project {
            cameras: cameras?.unwrap_or(1),
            material,
            rate,
            recorded: recorded?,
            tracks: tracks?.unwrap_or(2),
            shooting_days: shooting_days?,
            renders: renders?,
            deleted: deleted?,
            proxies: proxies?.map_or_else(|| Spread::exact(ratio(0.0)), |p| p.value),
            people: people?,
            kept: kept?.map(|k| k.value.median()),
            share: share?,
            next: next?,
        })
    }

    /// A plain number or a range of that, in quotes, or the row that stands in.
    fn number_or(
        &mut self,
        part: &Part<'_>,
        key: &str,
        row: &str,
    ) -> Read<super::model::Value<f64>> {
        let read = |text: &str| {
            Spread::<f64>::parse(text, crate::spread::Bounds::POSITIVE)
                .ok()
                .filter(|s| s.law().knots().0 > 0.0)
                .ok_or_else(|| {
                    let word = text.trim();
                    let start = text.find(word).unwrap_or(0);
                    UnitFault::new(
                        start..start + word.len(),
                        format!("'{word}' is no number above zero"),
                        "write a number or a range, for example \"6\" or \"2..8\"",
                    )
                })
        };
        if let Some(node) = part.given(key)?
            && let Value::Whole(number) | Value::Decimal(number) = &node.value
            && let Ok(spread) = read(number)
        {
            return Ok(Known::stated(part.id(key), spread));
        }
        match self.parsed(part, key, "a number", read)? {
            Some(spread) => Ok(Known::stated(part.id(key), spread)),
            None => self.assumed(part, part.id(key), row, part.field(key)?.find_out),
        }
    }
}

/// `20:00`.
fn hour(text: &str) -> Result<Time, UnitFault> {
    let word = text.trim();
    crate::day::hour(word).ok_or_else(|| {
        let start = text.find(word).unwrap_or(0);
        UnitFault::new(
            start..start + word.len(),
            format!("'{word}' is no hour of a day"),
            "write hours and minutes, for example 20:00",
        )
    })
}
