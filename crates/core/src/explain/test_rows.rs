//! Tests that a person may make; rows of data/tests.csv.

use super::reading::What;
use crate::catalogue::{CatalogueFault, each_row};
use crate::work::Direction;

/// A test that a person may make.
#[derive(Clone, Debug)]
pub struct TestRow {
    /// Its name.
    pub id: String,
    /// How long it takes.
    pub minutes: f64,
    /// What to do.
    pub words: String,
    /// What to mind; empty where nothing can be lost.
    pub caution: String,
    /// Why these minutes.
    pub source: String,
    /// Whether it is made at the NAS, and so is the same for all desks.
    pub(super) at_the_nas: bool,
    pub(super) yields: Yields,
    /// What is seen where its remark would be made, and where not.
    pub(super) shown: [String; 2],
    /// The remark that is made where its own is not; empty where there is none.
    pub(super) otherwise: String,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Yields {
    Reading(What, Option<Direction>),
    Remark(String),
    LinkRate,
}

/// All tests.
///
/// # Errors
/// Only where the embedded file is broken, which a test rules out.
pub fn tests() -> Result<Vec<TestRow>, CatalogueFault> {
    let (file, text) = narrows_data::TESTS;
    let mut all = Vec::new();
    each_row(file, text, |row| {
        let yields = row.text(2)?;
        let mut words = yields.split_whitespace();
        let yields = match (words.next(), words.next(), words.next()) {
            (Some("link-rate"), None, None) => Yields::LinkRate,
            (Some("remark"), Some(id), None) => Yields::Remark(id.to_owned()),
            (Some("reading"), Some(what), Some(way)) => {
                let what = What::ALL
                    .into_iter()
                    .find(|w| w.word() == what)
                    .ok_or_else(|| row.fault(format!("'{what}' is no kind of reading")))?;
                let way = match way {
                    "read" => Some(Direction::Read),
                    "write" => Some(Direction::Write),
                    "other" => None,
                    _ => return Err(row.fault(format!("'{way}' is no direction"))),
                };
                Yields::Reading(what, way)
            }
            _ => return Err(row.fault(format!("'{yields}' is nothing that a test yields"))),
        };
        all.push(TestRow {
            id: row.text(0)?,
            minutes: row.number(1)?,
            words: row.text(3)?,
            caution: row.optional(4),
            source: row.text(6)?,
            at_the_nas: match row.text(5)?.as_str() {
                "nas" => true,
                "desk" => false,
                other => return Err(row.fault(format!("'{other}' is neither desk nor nas"))),
            },
            shown: [row.optional(7), row.optional(8)],
            otherwise: row.optional(9),
            yields,
        });
        Ok(())
    })?;
    Ok(all)
}
