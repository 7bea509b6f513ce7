//! One module a command: reads, asks the core, hands the answer to the renderers.

pub(crate) mod budget;
mod budget_json;
mod budget_text;
pub(crate) mod check;
pub(crate) mod facts;
