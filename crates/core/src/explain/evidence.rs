use super::Told;
use super::cause::Cause;
use super::reading::{Amount, Reading, What};
use crate::catalogue::{CatalogueFault, each_row};
use crate::quantity::ratio;

/// How often remarks are made under each cause.
pub(crate) struct Evidence {
    rows: Vec<Row>,
}

struct Row {
    remark: String,
    family: String,
    share: f64,
}

impl Evidence {
    pub(crate) fn embedded() -> Result<Self, CatalogueFault> {
        let (file, text) = narrows_data::EVIDENCE;
        let mut rows = Vec::new();
        each_row(file, text, |row| {
            row.text(3)?;
            let percent = row.number(2)?;
            if !(0.0..=100.0).contains(&percent) || percent <= 0.0 {
                return Err(row.fault(format!("{percent} is no share of remarks")));
            }
            rows.push(Row {
                remark: row.text(0)?,
                family: row.text(1)?,
                share: percent / 100.0,
            });
            Ok(())
        })?;
        Ok(Self { rows })
    }

    /// The probability that a remark is made where a cause is at fault: of the cause, else of its
    /// family, else of everything. A remark that no row knows says nothing.
    pub(crate) fn of(&self, remark: &str, id: &str, family: &str) -> f64 {
        let share = |name: &str| {
            let row = self
                .rows
                .iter()
                .find(|r| r.remark == remark && r.family == name);
            row.map(|r| r.share)
        };
        share(id)
            .or_else(|| share(family))
            .or_else(|| share("*"))
            .unwrap_or(1.0)
    }

    /// The largest probability that any row gives a remark.
    pub(crate) fn most(&self, remark: &str) -> f64 {
        let of = self
            .rows
            .iter()
            .filter(|r| r.remark == remark)
            .map(|r| r.share);
        of.fold(f64::MIN_POSITIVE, f64::max)
    }

    /// The probability of all remarks together, taken as independent of each other.
    pub(crate) fn all(&self, remarks: &[String], cause: &Cause) -> f64 {
        remarks
            .iter()
            .map(|r| self.of(r, &cause.id, &cause.family))
            .product()
    }
}

/// Ids of everything remarked: what was said, and what follows from counted readings.
pub(crate) fn remarks(told: &Told) -> Vec<String> {
    let mut all: Vec<String> = told.remarks.iter().map(|r| r.id.clone()).collect();
    all.extend(told.readings.iter().filter_map(counted).map(str::to_owned));
    all.sort_unstable();
    all.dedup();
    all
}

/// What a reading that is no rate says.
fn counted(reading: &Reading) -> Option<&'static str> {
    match (reading.what, &reading.amount) {
        (What::CoreBusy, Amount::Share(share)) if *share >= ratio(0.85) => Some("core-busy-high"),
        (What::CoreBusy, Amount::Share(share)) if *share <= ratio(0.6) => Some("core-busy-low"),
        (What::Errors, Amount::Count(0)) => Some("no-retransmissions"),
        // a handful is usual on any path
        (What::Errors, Amount::Count(count)) if *count >= 20 => Some("retransmissions"),
        _ => None,
    }
}
