//! How answers look: tables, sentences and the drawing of faults.

pub(crate) mod document;
pub(crate) mod faults;
pub(crate) mod guard;
pub(crate) mod json_faults;
pub(crate) mod progress;
pub(crate) mod prose;
pub(crate) mod steps;
pub(crate) mod table;
