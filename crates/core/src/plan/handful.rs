//! The few layouts that somebody looks at first: the best of each kind, with what it gives up.

use super::front::Criterion;
use super::row::Row;

/// What a layout is picked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Pick {
    /// The most space.
    MostSpace,
    /// The fastest writing.
    FastestWriting,
    /// The cheapest, or the fewest drives where nobody told prices.
    Cheapest,
    /// The least likely to be lost.
    Safest,
    /// The one whose worst figure is best.
    Balanced,
}

impl Pick {
    /// All, in the order in which they are told.
    pub const ALL: [Self; 5] = [
        Self::MostSpace,
        Self::FastestWriting,
        Self::Cheapest,
        Self::Safest,
        Self::Balanced,
    ];
}

/// A layout that is picked.
#[derive(Clone, Debug, PartialEq)]
pub struct Picked<'a> {
    /// What it is best in; several where one layout is.
    pub picks: Vec<Pick>,
    /// The layout.
    pub row: &'a Row,
    /// Where it is worst against the best of all, and the share of that which it has; nothing where it
    /// has nine tenths of everything.
    pub gives_up: Option<(Criterion, f64)>,
}

/// By what a handful is compared, and what a layout gives up.
const WEIGHED: [Criterion; 4] = [
    Criterion::Usable,
    Criterion::Read,
    Criterion::Write,
    Criterion::Degraded,
];

/// Having less than this share of the best is giving something up.
const GIVEN_UP: f64 = 0.9;

/// The best layout of each kind among those that survive a failed drive; among all where none does.
///
/// A layout is balanced whose least share of the best in space, reading, writing and reading with a drive
/// missing is the largest, among those that survive any two failed drives where there are such: a rebuild
/// reads every drive, and is when the next one fails. Equal ones: the safer, then the one that comes first.
/// Checked by `verify_each_pick_is_best_in_what_it_is_picked_for`.
pub fn handful(rows: &[Row]) -> Vec<Picked<'_>> {
    let kept = || rows.iter().filter(|row| !row.beaten);
    let safe: Vec<&Row> = kept().filter(|row| row.survives_any > 0).collect();
    let among: Vec<&Row> = if safe.is_empty() {
        kept().collect()
    } else {
        safe
    };
    let mut found: Vec<Picked<'_>> = Vec::new();
    let twice: Vec<&Row> = among
        .iter()
        .copied()
        .filter(|row| row.survives_any > 1)
        .collect();
    for pick in Pick::ALL {
        let from = match pick {
            Pick::Balanced if !twice.is_empty() => &twice,
            _ => &among,
        };
        let Some(row) = best(pick, from) else {
            continue;
        };
        match found.iter_mut().find(|known| std::ptr::eq(known.row, row)) {
            Some(known) => known.picks.push(pick),
            None => found.push(Picked {
                picks: vec![pick],
                row,
                gives_up: gives_up(row, &among),
            }),
        }
    }
    found
}

fn best<'a>(pick: Pick, among: &[&'a Row]) -> Option<&'a Row> {
    let merit = |row: &Row| match pick {
        Pick::MostSpace => row.value(Criterion::Usable),
        Pick::FastestWriting => row.value(Criterion::Write),
        Pick::Cheapest => -row.value(Criterion::Price),
        Pick::Safest => -lost_to_drives(row),
        Pick::Balanced => least_share(row, among),
    };
    let safer = |row: &Row| -lost_to_drives(row);
    let mut best: Option<&Row> = None;
    for row in among {
        let better = best.is_none_or(|known| {
            merit(row)
                .total_cmp(&merit(known))
                .then(safer(row).total_cmp(&safer(known)))
                .is_gt()
        });
        if better {
            best = Some(row);
        }
    }
    best
}

/// The chance that drives alone lose the array; what reaches all drives at once is the same for every
/// layout.
fn lost_to_drives(row: &Row) -> f64 {
    row.loss
        .by_drives
        .get::<crate::quantity::units::ratio::one>()
}

/// The share that a row has of the best.
fn share(row: &Row, criterion: Criterion, among: &[&Row]) -> f64 {
    let most = among
        .iter()
        .map(|other| other.value(criterion))
        .fold(0.0, f64::max);
    if most > 0.0 {
        row.value(criterion) / most
    } else {
        1.0
    }
}

fn least_share(row: &Row, among: &[&Row]) -> f64 {
    WEIGHED
        .iter()
        .map(|criterion| share(row, *criterion, among))
        .fold(f64::INFINITY, f64::min)
}

fn gives_up(row: &Row, among: &[&Row]) -> Option<(Criterion, f64)> {
    WEIGHED
        .iter()
        .map(|criterion| (*criterion, share(row, *criterion, among)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .filter(|(_, share)| *share < GIVEN_UP)
}
