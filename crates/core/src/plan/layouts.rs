use super::buys::describe;
use super::front::{Merits, Standing, standing};
use super::luck::{DriveLuck, Luck, draw};
use super::rates::Model;
use super::row::{self, Row, per_terabyte, price_of};
use super::safe::Repair;
use super::shape::{Shape, shapes};
use super::{DriveChoice, Need, Patience, Stopped, Watch};
use crate::array::Bytes;
use crate::array::capacity::{Choices, NEAR_MISS, space};
use crate::array::durability::NOT_A_BACKUP;
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::{DataRate, Ratio, UnitFault};
use crate::site::{Nas, Value};
use crate::workers::each;
use std::cmp::Reverse;

/// The usual number of draws: medians repeat within 1 %, 5th and 95th percentiles within 3 %, which
/// `verify_percentiles_are_stable` shows.
pub const USUAL_PLAN_DRAWS: usize = crate::spread::USUAL_DRAWS;

/// More bays than a small studio has; the number of layouts grows with them.
const MOST_BAYS: usize = 100;

/// What belongs under every answer.
pub const CAUTIONS: [&str; 2] = [
    "Chances of loss compare layouts, to an order of magnitude; they are no promise for one array.",
    NOT_A_BACKUP,
];

/// In which order rows come.
const ORDER: [&str; 2] = [
    "the cheapest first, of equally cheap ones the one with the most space",
    "the fewest drives first, of equally many the one with the most space",
];

/// Layouts that are told where none meets the needs, and near misses beside those that do.
const MOST_NEAREST: usize = 3;

/// What is looked for.
#[derive(Clone, Debug)]
pub struct Question {
    /// Room for so many drives.
    pub bays: usize,
    /// What the drives may be; a layout is made of one of them.
    pub choices: Vec<DriveChoice>,
    /// What a layout has to give.
    pub needs: Vec<Need>,
    /// How many drives may fail, whichever they are.
    pub survive: usize,
    /// How many streams play at once.
    pub streams: usize,
    /// How full it will be.
    pub fill: Value<Ratio>,
    /// The machine that does the work, where it is known.
    pub nas: Option<Nas>,
    /// What all drives hang on together, where it is known.
    pub attached: Option<Value<DataRate>>,
    /// Full record of a pool, where somebody chose one.
    pub record: Option<Bytes>,
    /// What goes on one drive before the next, where somebody chose it.
    pub chunk: Option<Bytes>,
    /// How many draws.
    pub draws: usize,
    /// On how many processors at once; the answer is the same for any number.
    pub workers: usize,
}

/// What was found.
#[derive(Clone, Debug)]
pub struct Answer {
    /// All that meet the needs, in their order; those that others beat are marked.
    pub rows: Vec<Row>,
    /// Where nothing meets the needs: what comes nearest, the nearest first.
    pub nearest: Vec<Row>,
    /// No dearer than any that meets the needs, and short of them by 2 % at most.
    pub near_misses: Vec<Row>,
    /// How many layouts were looked at.
    pub looked_at: usize,
    /// How far the search came, where it was stopped.
    pub stopped: Option<Stopped>,
    /// In which order rows come, in words.
    pub order: &'static str,
}

impl Answer {
    /// The rows that nothing beats.
    pub fn kept(&self) -> impl Iterator<Item = &Row> {
        self.rows.iter().filter(|row| !row.beaten)
    }

    /// Whether something meets the needs.
    pub fn met(&self) -> bool {
        !self.rows.is_empty()
    }
}

/// Why nothing can be said.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum PlanFault {
    /// No bay, or more than are looked at.
    Bays {
        /// How many.
        found: usize,
    },
    /// No drives to choose from.
    NoChoice,
    /// Prices that cannot be compared.
    Prices {
        /// What is wrong with them.
        found: String,
    },
    /// A row that the catalogue lacks.
    Catalogue(CatalogueFault),
    /// Stopped before anything was looked at.
    Stopped,
    /// A model that cannot be used.
    Model(String),
}

impl std::fmt::Display for PlanFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Bays { found } => write!(f, "{found} bays; write a number from 1 to {MOST_BAYS}"),
            Self::NoChoice => write!(f, "no drives to choose from"),
            Self::Prices { found } => write!(f, "{found}"),
            Self::Catalogue(fault) => write!(f, "{fault}"),
            Self::Stopped => write!(f, "stopped before any layout was looked at"),
            Self::Model(what) => write!(f, "{what}"),
        }
    }
}

impl std::error::Error for PlanFault {}

impl From<CatalogueFault> for PlanFault {
    fn from(fault: CatalogueFault) -> Self {
        Self::Catalogue(fault)
    }
}

impl From<UnitFault> for PlanFault {
    fn from(fault: UnitFault) -> Self {
        Self::Model(fault.to_string())
    }
}

impl From<crate::array::durability::DurabilityFault> for PlanFault {
    fn from(fault: crate::array::durability::DurabilityFault) -> Self {
        Self::Model(fault.to_string())
    }
}

/// Looks at every layout of every choice, and says which meet the needs and which of those nothing
/// beats.
///
/// A need of a rate is met where its median meets it. A row is beaten where another is at least as
/// good in price, space, chance of loss, reading and writing alone and with the streams, reading with a
/// drive missing and time to rebuild, and better in one; figures that agree to two digits (space: three)
/// count as equal. Where `watch` says that it is enough, the layouts looked at so far are the answer.
///
/// # Errors
/// Where the question cannot be asked, or a row of the catalogue is missing.
///
/// Checked by `property_rows_are_those_of_brute_force`, `verify_workers_do_not_change_the_answer`,
/// `what_is_stopped_says_what_is_known`.
pub fn layouts(
    question: &Question,
    catalogue: &Catalogue,
    watch: Watch<'_>,
) -> Result<Answer, PlanFault> {
    check(question)?;
    let (mut rows, stopped) = evaluate_all(question, catalogue, watch)?;
    let looked_at = rows.len();
    if stopped.is_some() && rows.is_empty() {
        return Err(PlanFault::Stopped);
    }
    // of both more is better; equal rows stay in the order of choices, levels and spares
    rows.sort_by_cached_key(|row| Reverse((row.merits()[0], row.usable)));
    let (met, missed): (Vec<Row>, Vec<Row>) = rows
        .into_iter()
        .partition(|row| row.worst_miss(question.survive) <= 0.0);
    let priced = question.choices.iter().any(|c| c.price().is_some());
    let mut answer = Answer {
        order: ORDER[usize::from(!priced)],
        near_misses: near_misses(&met, &missed, question.survive),
        nearest: if met.is_empty() {
            nearest(&missed, question.survive)
        } else {
            Vec::new()
        },
        rows: met,
        looked_at,
        stopped,
    };
    mark(&mut answer.rows, question.streams);
    Ok(answer)
}

fn check(question: &Question) -> Result<(), PlanFault> {
    if !(1..=MOST_BAYS).contains(&question.bays) {
        return Err(PlanFault::Bays {
            found: question.bays,
        });
    }
    let Some(first) = question.choices.first() else {
        return Err(PlanFault::NoChoice);
    };
    for other in &question.choices {
        let found = match (first.price(), other.price()) {
            (Some(a), Some(b)) if a.currency != b.currency => {
                format!("prices in {} and in {}", a.currency, b.currency)
            }
            (Some(_), None) => format!("no price for {other}"),
            (None, Some(_)) => format!("no price for {first}"),
            _ => continue,
        };
        return Err(PlanFault::Prices { found });
    }
    Ok(())
}

/// What all layouts are worked out from.
struct Room<'a> {
    question: &'a Question,
    luck: Luck,
    drives: Vec<DriveLuck>,
    repairs: Vec<Repair>,
}

/// Every layout, in the order of choices and shapes, whoever worked it out.
fn evaluate_all(
    question: &Question,
    catalogue: &Catalogue,
    watch: Watch<'_>,
) -> Result<(Vec<Row>, Option<Stopped>), PlanFault> {
    let (luck, drives) = draw(question, catalogue)?;
    let fill = question.fill.value.median();
    let repairs: Result<Vec<_>, _> = question
        .choices
        .iter()
        .map(|choice| Repair::of(choice, fill, catalogue))
        .collect();
    let room = Room {
        question,
        luck,
        drives,
        repairs: repairs?,
    };
    let shapes = shapes(question.bays);
    let jobs: Vec<(usize, Shape)> = (0..question.choices.len())
        .flat_map(|choice| shapes.iter().map(move |&shape| (choice, shape)))
        .collect();
    let patience = Patience::of(watch);
    let work = |(): &mut (), at: usize| {
        let &(choice, shape) = jobs.get(at)?;
        let lasts = patience.lasts(at, jobs.len());
        lasts.then(|| evaluate(&room, choice, shape))
    };
    let done = each(jobs.len(), question.workers, || (), work);
    let stopped = patience.is_over().then_some(Stopped {
        done: done.len(),
        all: jobs.len(),
    });
    let mut rows = Vec::new();
    for made in done {
        rows.extend(made?);
    }
    Ok((rows, stopped))
}

/// One shape of one choice, without spares and with them.
fn evaluate(room: &Room<'_>, choice: usize, shape: Shape) -> Result<Vec<Row>, PlanFault> {
    let question = room.question;
    let model = |what: &dyn std::fmt::Display| PlanFault::Model(what.to_string());
    let (Some(drive), Some(luck), Some(repair)) = (
        question.choices.get(choice),
        room.drives.get(choice),
        room.repairs.get(choice),
    ) else {
        return Err(PlanFault::NoChoice);
    };
    let bare = shape.of(drive.size(), 0).map_err(|f| model(&f))?;
    let chosen = Choices {
        record: question.record,
        chunk: question.chunk,
        ..Choices::default()
    };
    let Ok(room_for_files) = space(&bare, &chosen.terms(&bare)) else {
        // drives too small for the tables of a file system hold nothing
        return Ok(Vec::new());
    };
    let (rates, rate_needs) = row::rates(
        &Model {
            shape,
            layout: &bare,
            luck: &room.luck,
            drive: luck,
        },
        question.streams,
        &question.needs,
    )?;
    let usable = room_for_files.usable;
    let comfortable = room_for_files.comfortable;
    let needs: Vec<_> = question
        .needs
        .iter()
        .zip(&rate_needs)
        .filter_map(|(&need, met)| met.or_else(|| row::space_met(need, usable, comfortable)))
        .collect();
    let held = usable.information() * question.fill.value.median();
    let mut rows: Vec<Row> = Vec::new();
    for spares in shape.spares(question.bays) {
        let layout = shape.of(drive.size(), spares).map_err(|f| model(&f))?;
        // a second spare waits for a failure that is not looked at
        let (rebuild, loss) = match rows.last().filter(|_| spares > 1) {
            Some(one) => (one.rebuild, one.loss),
            None => repair.safety(&layout, held)?,
        };
        let price = match drive.price() {
            Some(one) => {
                Some(
                    price_of(one, layout.all_drives()).ok_or_else(|| PlanFault::Prices {
                        found: format!("{one} a drive is too much to add up"),
                    })?,
                )
            }
            None => None,
        };
        rows.push(Row {
            survives_any: layout.survives_any(),
            layout,
            shape,
            choice,
            class: drive.class().to_owned(),
            usable,
            comfortable,
            rates,
            rebuild,
            loss,
            price_per_terabyte: price.as_ref().and_then(|p| per_terabyte(p, usable)),
            price,
            needs: needs.clone(),
            beaten: false,
            same: Vec::new(),
            buys: String::new(),
        });
    }
    Ok(rows)
}

/// Marks beaten rows, joins equal ones to the first of them, and writes the sentences.
fn mark(rows: &mut [Row], streams: usize) {
    let merits: Vec<Merits> = rows.iter().map(Row::merits).collect();
    let found = standing(&merits);
    for (i, standing) in found.iter().enumerate() {
        let name = rows.get(i).map(Row::name).unwrap_or_default();
        match *standing {
            Standing::Kept => {}
            Standing::Beaten => rows[i].beaten = true,
            Standing::Equals(first) => {
                rows[i].beaten = true;
                rows[first].same.push(name);
            }
        }
    }
    let kept: Vec<usize> = (0..rows.len()).filter(|&i| !rows[i].beaten).collect();
    let mut best: Vec<Row> = kept.iter().map(|&i| rows[i].clone()).collect();
    let ranks: Vec<Merits> = kept.iter().map(|&i| merits[i]).collect();
    describe(&mut best, &ranks, streams);
    for (&i, row) in kept.iter().zip(best) {
        rows[i] = row;
    }
}

/// What comes nearest: the smallest share missing of the need that is missed most, then all shares
/// together; rows come the cheapest first, which decides between equals. One of each level, so
/// that the same layout with a spare does not fill the list.
fn nearest(missed: &[Row], survive: usize) -> Vec<Row> {
    let mut order: Vec<&Row> = missed.iter().collect();
    order.sort_by(|a, b| {
        let (x, y) = (a.worst_miss(survive), b.worst_miss(survive));
        let all = || a.all_misses(survive).total_cmp(&b.all_misses(survive));
        x.total_cmp(&y).then_with(all)
    });
    one_a_level(&order)
}

/// The first few, one of each level.
fn one_a_level(order: &[&Row]) -> Vec<Row> {
    let mut found: Vec<Row> = Vec::new();
    for row in order {
        let new = found
            .iter()
            .all(|known| known.shape.level != row.shape.level);
        if new && found.len() < MOST_NEAREST {
            found.push((*row).clone());
        }
    }
    found
}

/// What is no dearer than anything that meets the needs and misses by 2 % at most.
fn near_misses(met: &[Row], missed: &[Row], survive: usize) -> Vec<Row> {
    let Some(cheapest) = met.first() else {
        return Vec::new();
    };
    let (most, of) = NEAR_MISS;
    let most = most as f64 / of as f64;
    let limit = cheapest.merits()[0];
    let mut found: Vec<&Row> = missed
        .iter()
        .filter(|row| row.merits()[0] >= limit && row.worst_miss(survive) <= most)
        .collect();
    found.sort_by(|a, b| a.worst_miss(survive).total_cmp(&b.worst_miss(survive)));
    one_a_level(&found)
}
