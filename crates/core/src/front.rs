//! The way in for other programs: read a place, change it, ask.
//!
//! ```text
//!  a site file ──> Narrows::place ──> Place ──> budget, together, explain, ports, buy, layouts, cables
//!                                     │   ▲
//!                                     └───┘  with (edits), with_tasks
//!  words of a cable  ──> Narrows::cable
//!  words of a layout ──> Narrows::capacity
//! ```
//!
//! Every question is one call that needs no other before it; answers are those of the command line, typed.
//!
//! ```
//! use narrows_core::front::Narrows;
//! use narrows_core::quantity::in_megabytes_per_second;
//!
//! let narrows = Narrows::new()?;
//! let place = narrows.place(
//!     r#"
//!     [nas.store]
//!     port.a = { rate = "10 Gb/s" }
//!     [array.vault]
//!     nas = "store"
//!     layout = "raid6"
//!     drives = "6 x 10 TB hdd-7200"
//!     [desk.cut-1]
//!     port.a = { rate = "1 Gb/s" }
//!     [[run]]
//!     from = "desk.cut-1"
//!     to = "nas.store"
//!     cable = "cat5e"
//!     length = "31 m"
//!     "#,
//! )?;
//! let today = place.budget()?;
//! let faster = place.with(&["desk.cut-1.port.a.rate=\"10 Gb/s\""])?.budget()?;
//! let middle = |answer: &narrows_core::budget::Answer| {
//!     in_megabytes_per_second(answer.flows[0].megabytes_per_s.p50)
//! };
//! assert!(middle(&faster) > middle(&today));
//! # Ok::<(), narrows_core::front::AskFault>(())
//! ```

use crate::array::capacity::Choices;
use crate::budget::{self, BudgetFault};
use crate::cable::{self, Asked, Cabling, Report, in_words};
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::change::Edit;
use crate::copper::RunFault;
use crate::explain::{self, Explanation, Listener, Observations, Remarks, Statement};
use crate::plan::ports::{self, Load, PortsFault};
use crate::plan::purchases::{self, Base, PurchaseFault};
use crate::plan::{self, PlanFault};
use crate::quantity::Money;
use crate::site::{Counted, Faults, Site, counted_argument, read_bytes_with_tasks};
use crate::spread::{Draws, USUAL_DRAWS};
use crate::together::{self, Together};
use crate::work::{Activity, Direction, Work};
use std::fmt;

/// Why a question has no answer.
#[derive(Debug)]
#[non_exhaustive]
pub enum AskFault {
    /// A text that cannot be read, with every place that is wrong.
    Text(Faults),
    /// A row that the catalogue lacks.
    Catalogue(CatalogueFault),
    /// A rate that cannot be predicted.
    Budget(BudgetFault),
    /// A cable outside what the formulas cover.
    Cable(RunFault),
    /// No desk to patch.
    Ports(PortsFault),
    /// Purchases that cannot be compared.
    Purchases(PurchaseFault),
    /// Layouts that cannot be compared.
    Layouts(PlanFault),
}

impl fmt::Display for AskFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Text(fault) => write!(f, "{fault}"),
            Self::Catalogue(fault) => write!(f, "{fault}"),
            Self::Budget(fault) => write!(f, "{fault}"),
            Self::Cable(fault) => write!(f, "{fault}"),
            Self::Ports(fault) => write!(f, "{fault}"),
            Self::Purchases(fault) => write!(f, "{fault}"),
            Self::Layouts(fault) => write!(f, "{fault}"),
        }
    }
}

impl std::error::Error for AskFault {}

macro_rules! is_asked {
    ($($fault:ty => $kind:ident),*) => {$(
        impl From<$fault> for AskFault {
            fn from(fault: $fault) -> Self {
                Self::$kind(fault)
            }
        }
    )*};
}

is_asked!(
    Faults => Text, CatalogueFault => Catalogue, BudgetFault => Budget, RunFault => Cable,
    PortsFault => Ports, PurchaseFault => Purchases, PlanFault => Layouts
);

/// The models with their catalogue of constants.
#[derive(Debug)]
pub struct Narrows {
    catalogue: Catalogue,
}

impl Narrows {
    /// With the catalogue that comes with this crate.
    ///
    /// # Errors
    /// Where that catalogue is broken, which a test of this crate excludes.
    pub fn new() -> Result<Self, AskFault> {
        Ok(Self {
            catalogue: Catalogue::embedded()?,
        })
    }

    /// The constants.
    pub fn catalogue(&self) -> &Catalogue {
        &self.catalogue
    }

    /// Reads a site file.
    ///
    /// # Errors
    /// With every fault of the text, each with its place.
    pub fn place(&self, text: &str) -> Result<Place<'_>, AskFault> {
        Place::read(self, text.to_owned(), None, Vec::new())
    }

    /// Judges a cable that is told in words, for example `cat5e 31 m tight`.
    ///
    /// # Errors
    /// Where the words are none, or the run is outside what the formulas cover.
    ///
    /// ```
    /// use narrows_core::cable::Carried;
    /// let narrows = narrows_core::front::Narrows::new()?;
    /// let report = narrows.cable("cat6 40 m loose")?;
    /// assert!(matches!(report.carried, Carried::Copper(_)));
    /// # Ok::<(), narrows_core::front::AskFault>(())
    /// ```
    pub fn cable(&self, words: &str) -> Result<Report, AskFault> {
        let run = in_words(words, &self.catalogue)?;
        Ok(Cabling::new(&self.catalogue)?.report(&run, Asked::default())?)
    }

    /// Counts the space of a layout that is told in words, for example `raid6 6 x 10 TB`, to the byte.
    ///
    /// # Errors
    /// With the part of the words that is wrong.
    ///
    /// ```
    /// let narrows = narrows_core::front::Narrows::new()?;
    /// let counted = narrows.capacity("raid6 6 x 10 TB")?;
    /// assert_eq!(counted.layout.survives_any(), 2);
    /// # Ok::<(), narrows_core::front::AskFault>(())
    /// ```
    pub fn capacity(&self, layout: &str) -> Result<Counted, AskFault> {
        Ok(counted_argument(layout, &Choices::default())?)
    }

    /// Compares every layout that fits.
    ///
    /// # Errors
    /// Where the question has no layout to look at, or a row of the catalogue is missing.
    pub fn layouts(&self, question: &plan::Question) -> Result<plan::Answer, AskFault> {
        Ok(plan::layouts(question, &self.catalogue, &|_, _| true)?)
    }
}

/// A place as it is described, with the edits that were made to it.
#[derive(Debug)]
pub struct Place<'n> {
    narrows: &'n Narrows,
    text: String,
    tasks: Option<String>,
    edits: Vec<Edit>,
    site: Site,
}

impl<'n> Place<'n> {
    fn read(
        narrows: &'n Narrows,
        text: String,
        tasks: Option<String>,
        edits: Vec<Edit>,
    ) -> Result<Self, AskFault> {
        let bytes = tasks.as_ref().map(String::as_bytes);
        let site = read_bytes_with_tasks(text.as_bytes(), bytes, &edits, &narrows.catalogue)?;
        Ok(Self {
            narrows,
            text,
            tasks,
            edits,
            site,
        })
    }

    /// What was read.
    pub fn site(&self) -> &Site {
        &self.site
    }

    /// The same place with edits more, as `--set` takes them; this one stays as it is.
    ///
    /// # Errors
    /// Where an edit is none, or the place cannot be so.
    pub fn with(&self, edits: &[&str]) -> Result<Self, AskFault> {
        let edits: Vec<String> = edits.iter().map(|edit| (*edit).to_owned()).collect();
        let mut all = self.edits.clone();
        all.extend(Edit::parse_all(&edits)?);
        Self::read(self.narrows, self.text.clone(), self.tasks.clone(), all)
    }

    /// The same place with a file of tasks in place of its own.
    ///
    /// # Errors
    /// With every fault of the text.
    pub fn with_tasks(&self, tasks: &str) -> Result<Self, AskFault> {
        let tasks = Some(tasks.to_owned());
        Self::read(self.narrows, self.text.clone(), tasks, self.edits.clone())
    }

    /// What each desk gets alone, copying.
    ///
    /// # Errors
    /// As [`budget::answer`].
    pub fn budget(&self) -> Result<budget::Answer, AskFault> {
        self.budget_of(&budget::Question {
            work: Work::plain(Activity::Copy),
            desk: None,
            working: false,
            need: None,
        })
    }

    /// What a desk, or each, gets at some work.
    ///
    /// # Errors
    /// As [`budget::answer`].
    pub fn budget_of(&self, question: &budget::Question) -> Result<budget::Answer, AskFault> {
        let mut draws = Draws::new(USUAL_DRAWS);
        Ok(budget::answer(
            &self.site,
            question,
            &self.narrows.catalogue,
            &mut draws,
        )?)
    }

    /// What every task gets while all go on; without tasks, every desk reading a copy.
    ///
    /// # Errors
    /// As [`together::answer`].
    ///
    /// ```
    /// let narrows = narrows_core::front::Narrows::new()?;
    /// let place = narrows.place(narrows_data::SITES[0].1)?;
    /// let tasks = "[[task]]\ndesk = \"cut-1\"\ndoes = \"copy\"\n";
    /// assert_eq!(place.with_tasks(tasks)?.together()?.tasks.len(), 1);
    /// # Ok::<(), narrows_core::front::AskFault>(())
    /// ```
    pub fn together(&self) -> Result<Together, AskFault> {
        let question = together::Question {
            everyone: Activity::Copy,
            direction: Direction::Read,
            need: None,
        };
        let mut draws = Draws::new(USUAL_DRAWS);
        Ok(together::answer(
            &self.site,
            &question,
            &self.narrows.catalogue,
            &mut draws,
        )?)
    }

    /// What readings and remarks in a person's words mean, each a text of its own.
    ///
    /// # Errors
    /// Where a text means nothing that is known, or may mean several things; or as [`explain::explain`].
    ///
    /// ```
    /// let narrows = narrows_core::front::Narrows::new()?;
    /// let place = narrows.place(narrows_data::SITES[0].1)?;
    /// let found = place.explain(&["colour copy read 11 MB/s"])?;
    /// assert!(!found.causes.is_empty());
    /// # Ok::<(), narrows_core::front::AskFault>(())
    /// ```
    pub fn explain(&self, said: &[&str]) -> Result<Explanation, AskFault> {
        let catalogue = &self.narrows.catalogue;
        let listener = Listener::at(&self.site)?;
        let mut told = Observations {
            sites: vec![(self.site.clone(), 1.0)],
            path_told: true,
            array_told: true,
            ..Observations::default()
        };
        for text in said {
            for statement in listener.hear(text)? {
                match statement {
                    Statement::Reading(reading) => told.readings.push(reading),
                    Statement::Remark(remark) => told.remarks.push(remark),
                }
            }
        }
        explain::settle(&mut told, &Remarks::embedded()?, catalogue)?;
        Ok(explain::explain(&told, catalogue)?)
    }

    /// Which desk gets which port, by the tasks of the place.
    ///
    /// # Errors
    /// As [`ports::ports`].
    pub fn ports(&self) -> Result<ports::Answer, AskFault> {
        let loads = Load::of_site(&self.site);
        let question = ports::Question {
            site: &self.site,
            jacks: &[],
            loads: &loads,
            draws: USUAL_DRAWS,
            workers: crate::workers::processors(),
        };
        Ok(ports::ports(
            &question,
            &self.narrows.catalogue,
            &|_, _| true,
        )?)
    }

    /// What of a file of offers to buy, for so much at most.
    ///
    /// # Errors
    /// With every fault of the offers, or as [`purchases::purchases`].
    pub fn buy(&self, offers: &str, spend: Option<Money>) -> Result<purchases::Answer, AskFault> {
        let catalogue = &self.narrows.catalogue;
        let base = Base {
            site: self.text.as_bytes(),
            tasks: self.tasks.as_ref().map(String::as_bytes),
            edits: &self.edits,
        };
        let offers = purchases::offers(offers, &base, catalogue)?;
        let question = purchases::Question {
            base,
            offers: &offers,
            spend,
            need: None,
            activity: Activity::Copy,
            draws: USUAL_DRAWS,
            workers: crate::workers::processors(),
        };
        Ok(purchases::purchases(&question, catalogue, &|_, _| true)?)
    }

    /// Judges the cables of the place.
    ///
    /// # Errors
    /// Where a run is outside what the formulas cover.
    pub fn cables(&self) -> Result<Vec<Report>, AskFault> {
        let runs = cable::of_site(&self.site).runs;
        let cabling = Cabling::new(&self.narrows.catalogue)?;
        Ok(cabling.reports(&runs, Asked::default())?)
    }
}
