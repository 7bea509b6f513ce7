//! How answers look: tables, sentences and the drawing of faults.

pub(crate) mod danger;
pub(crate) mod document;
pub(crate) mod faults;
pub(crate) mod guard;
pub(crate) mod json_faults;
pub(crate) mod lead;
pub(crate) mod parts;
pub(crate) mod places;
pub(crate) mod progress;
pub(crate) mod prose;
pub(crate) mod steps;
pub(crate) mod table;
pub(crate) mod understood;
pub(crate) mod unknowns;
