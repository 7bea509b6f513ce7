//! The site as it is, to which offers are added.

use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::site::{Fault, FaultSource, Faults, Site, read_bytes_with_tasks};

/// The texts of a site, with edits that hold whatever is bought.
#[derive(Clone, Copy, Debug)]
pub struct Base<'a> {
    /// The site file.
    pub site: &'a [u8],
    /// A file of tasks in place of those of the site.
    pub tasks: Option<&'a [u8]>,
    /// Edits made first.
    pub edits: &'a [Edit],
}

impl Base<'_> {
    /// The site with more edits.
    ///
    /// # Errors
    /// Where that is no site.
    pub fn with(&self, more: &[&Edit], catalogue: &Catalogue) -> Result<Site, Faults> {
        let all: Vec<Edit> = self
            .edits
            .iter()
            .chain(more.iter().copied())
            .cloned()
            .collect();
        read_bytes_with_tasks(self.site, self.tasks, &all, catalogue)
    }

    /// Which of the further edits a fault lies in.
    pub(super) fn edit_of(&self, fault: &Fault) -> Option<usize> {
        match fault.source {
            FaultSource::Edit(at) => at.checked_sub(self.edits.len()),
            _ => None,
        }
    }
}
