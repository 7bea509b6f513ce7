use super::Observations;
use super::cause::Cause;
use super::judged::Judged;
use super::reading::{Amount, Reading, What};
use super::words::better;
use crate::catalogue::{CatalogueFault, each_row};

/// How often remarks are made under each cause.
pub(crate) struct Evidence {
    rows: Vec<Row>,
    /// Remarks that hold a better figure for the same hardware: then it can be better, whatever
    /// limits.
    better: Vec<String>,
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
        Ok(Self {
            rows,
            better: better()?,
        })
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

    /// Whether a remark holds a better figure for the same hardware.
    pub(crate) fn is_better(&self, remark: &str) -> bool {
        self.better.iter().any(|id| id == remark)
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
    ///
    /// What is said of one desk is as usual there where the cause touches only other desks.
    pub(crate) fn all(&self, remarks: &[Noticed], cause: &Cause, desks: Option<&[String]>) -> f64 {
        let product = remarks.iter().map(|remark| {
            if remark.concerns(desks) {
                self.of(&remark.id, &cause.id, &cause.family)
            } else {
                self.of(&remark.id, "", "*")
            }
        });
        product.product()
    }
}

/// Something remarked.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Noticed {
    pub id: String,
    /// Of whose, where that was told.
    pub desk: Option<String>,
}

impl Noticed {
    /// Whether it can tell of a cause that touches some desks; `None` is nothing at fault.
    pub(crate) fn concerns(&self, desks: Option<&[String]>) -> bool {
        match (&self.desk, desks) {
            (Some(desk), Some(desks)) => desks.contains(desk),
            _ => true,
        }
    }
}

/// Everything remarked: what was said, and what follows from counted readings.
pub(crate) fn remarks(told: &Observations, judged: &Judged) -> Vec<Noticed> {
    let said = told.remarks.iter().map(|r| Noticed {
        id: r.id.clone(),
        desk: r.desk.clone(),
    });
    let follows = told.readings.iter().filter_map(|reading| {
        Some(Noticed {
            id: counted(reading, judged)?.to_owned(),
            desk: reading.desk.clone(),
        })
    });
    let mut all: Vec<Noticed> = said.chain(follows).collect();
    all.sort_unstable();
    // what is said of nobody's in particular stands first, and says the same of everybody's
    all.dedup_by(|next, kept| {
        next.id == kept.id && (kept.desk.is_none() || kept.desk == next.desk)
    });
    all
}

/// What a reading that is no rate says.
fn counted(reading: &Reading, judged: &Judged) -> Option<&'static str> {
    match (reading.what, &reading.amount) {
        (What::CoreBusy, Amount::Share(share)) if *share >= judged.core_busy => {
            Some("core-busy-high")
        }
        (What::CoreBusy, Amount::Share(share)) if *share <= judged.core_idle => {
            Some("core-busy-low")
        }
        (What::Errors, Amount::Count(0)) => Some("no-retransmissions"),
        // a handful is usual on any path
        (What::Errors, Amount::Count(count)) if *count as f64 >= judged.errors => {
            Some("retransmissions")
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::quantity::percent;

    fn follows(what: What, amount: Amount) -> Option<String> {
        let judged = Judged::new(&Catalogue::embedded().unwrap()).unwrap();
        let reading = Reading {
            text: String::new(),
            desk: None,
            what,
            direction: None,
            amount,
            size: None,
            streams: 1,
            again: false,
            random: None,
        };
        counted(&reading, &judged).map(str::to_owned)
    }

    #[test]
    fn a_count_says_something_beyond_its_threshold_only() {
        let busy = |share: f64| follows(What::CoreBusy, Amount::Share(percent(share)));
        assert_eq!(busy(86.0).as_deref(), Some("core-busy-high"));
        assert_eq!(busy(84.0), None);
        assert_eq!(busy(61.0), None);
        assert_eq!(busy(59.0).as_deref(), Some("core-busy-low"));
        let errors = |count: u64| follows(What::Errors, Amount::Count(count));
        assert_eq!(errors(0).as_deref(), Some("no-retransmissions"));
        assert_eq!(errors(19), None);
        assert_eq!(errors(20).as_deref(), Some("retransmissions"));
    }

    #[test]
    fn what_is_noticed_of_nobody_in_particular_says_the_same_of_everybody() {
        let judged = Judged::new(&Catalogue::embedded().unwrap()).unwrap();
        let remark = |id: &str, desk: Option<&str>| crate::explain::Remark {
            text: id.to_owned(),
            id: id.to_owned(),
            desk: desk.map(str::to_owned),
            rate: None,
            size: None,
            time: None,
        };
        let told = Observations {
            remarks: vec![
                remark("bursts", Some("sound")),
                remark("bursts", None),
                remark("stalls", Some("sound")),
                remark("stalls", Some("colour")),
                remark("stalls", Some("sound")),
            ],
            ..Observations::default()
        };
        let found = remarks(&told, &judged);
        let found: Vec<(&str, Option<&str>)> = found
            .iter()
            .map(|n| (n.id.as_str(), n.desk.as_deref()))
            .collect();
        assert_eq!(
            found,
            [
                ("bursts", None),
                ("stalls", Some("colour")),
                ("stalls", Some("sound"))
            ]
        );
    }
}
