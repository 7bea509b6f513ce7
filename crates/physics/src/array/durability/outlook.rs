use super::{Repairs, yearly};
use narrows_units::catalogue::{Catalogue, CatalogueFault};
use narrows_units::quantity::{Frequency, Measure, Ratio, Time, ratio};

/// From which side unknown causes are seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum View {
    /// Good drives, a spare, weekly scrubs.
    Optimistic,
    /// What most see.
    Typical,
    /// Worse drives of one batch, a drive by post, scrubs forgotten.
    Pessimistic,
}

impl View {
    /// All views, from the best to the worst.
    pub const ALL: [Self; 3] = [Self::Optimistic, Self::Typical, Self::Pessimistic];

    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Optimistic => "optimistic",
            Self::Typical => "typical",
            Self::Pessimistic => "pessimistic",
        }
    }
}

/// What drives and people do to an array.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outlook {
    /// Share of drives that fail in a year.
    pub failures_a_year: Ratio,
    /// Share of drives that develop an unreadable sector in a year.
    pub unreadable_a_year: Ratio,
    /// From one scrub to the next.
    pub scrub_interval: Time,
    /// Share of the drives' time that a rebuild gets.
    pub rebuild_share: Ratio,
    /// Until a failure is noticed.
    pub detection: Time,
    /// Until a new drive is in.
    pub replacement: Time,
    /// Factor on failures once one drive has failed.
    pub correlation: Ratio,
    /// How several failed drives are repaired.
    pub repairs: Repairs,
    /// Rate of causes that take the whole array, whatever its layout: the floor.
    pub common_cause: Frequency,
    /// Share of drive failures that take the whole array.
    pub common_share: Ratio,
}

impl Outlook {
    /// What the catalogue holds for a view, for spinning or flash drives, with or without a hot
    /// spare. The floor and the share of common causes are the same in all views, so that views
    /// differ by what drives and people do; the share is not counted beside the floor.
    ///
    /// # Errors
    /// Where a row is missing.
    pub fn of(
        view: View,
        spinning: bool,
        hot_spare: bool,
        catalogue: &Catalogue,
    ) -> Result<Self, CatalogueFault> {
        let rows = Rows { view, catalogue };
        let failures = if spinning {
            "durability.failures-a-year.hdd"
        } else {
            "durability.failures-a-year.ssd"
        };
        let replacement = if hot_spare {
            "durability.replacement.spare"
        } else {
            "durability.replacement.no-spare"
        };
        let floor: Ratio = catalogue.spread("durability.common-cause")?.median();
        Ok(Self {
            failures_a_year: rows.bad(failures)?,
            unreadable_a_year: rows.bad("durability.unreadable-a-year")?,
            scrub_interval: rows.bad("durability.scrub-interval")?,
            rebuild_share: rows.good("durability.rebuild-share")?,
            detection: rows.bad("durability.detection")?,
            replacement: rows.bad(replacement)?,
            correlation: ratio(rows.bad::<f64>("durability.correlation")?),
            repairs: match view {
                View::Pessimistic => Repairs::Serial,
                View::Optimistic | View::Typical => Repairs::Parallel,
            },
            common_cause: yearly(floor),
            common_share: ratio(0.0),
        })
    }
}

struct Rows<'a> {
    view: View,
    catalogue: &'a Catalogue,
}

impl Rows<'_> {
    /// A value of which more is worse.
    fn bad<Q: Measure>(&self, id: &str) -> Result<Q, CatalogueFault> {
        self.at(id, self.view)
    }

    /// A value of which more is better.
    fn good<Q: Measure>(&self, id: &str) -> Result<Q, CatalogueFault> {
        let turned = match self.view {
            View::Optimistic => View::Pessimistic,
            View::Typical => View::Typical,
            View::Pessimistic => View::Optimistic,
        };
        self.at(id, turned)
    }

    fn at<Q: Measure>(&self, id: &str, end: View) -> Result<Q, CatalogueFault> {
        let (low, likely, high) = self.catalogue.spread::<Q>(id)?.law().knots();
        Ok(Q::from_base(match end {
            View::Optimistic => low,
            View::Typical => likely,
            View::Pessimistic => high,
        }))
    }
}
