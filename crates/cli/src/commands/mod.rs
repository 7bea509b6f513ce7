//! One module a command: reads, asks the core, hands the answer to the renderers.

pub(crate) mod budget;
mod budget_json;
mod budget_names;
mod budget_text;
mod budget_why;
pub(crate) mod cable;
mod cable_chart;
mod cable_json;
mod cable_picture;
mod cable_tables;
mod cable_text;
mod cable_words;
pub(crate) mod capacity;
mod capacity_json;
mod capacity_need;
mod capacity_text;
pub(crate) mod check;
pub(crate) mod explain;
mod explain_json;
mod explain_text;
pub(crate) mod facts;
pub(crate) mod layouts;
mod layouts_json;
mod layouts_text;
