//! One module a command: reads, asks the core, hands the answer to the renderers.

pub(crate) mod backup;
pub(crate) mod budget;
pub(crate) mod buy;
pub(crate) mod cable;
pub(crate) mod capacity;
pub(crate) mod check;
pub(crate) mod day;
pub(crate) mod explain;
pub(crate) mod facts;
pub(crate) mod growth;
pub(crate) mod layouts;
pub(crate) mod measure;
pub(crate) mod outage;
pub(crate) mod ports;
pub(crate) mod report;
pub(crate) mod together;
