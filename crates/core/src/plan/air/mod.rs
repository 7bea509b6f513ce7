//! What desks and rooms get through the air, and where access points go.

mod answer;
mod feed;
mod house;
mod place;
mod placing;
#[cfg(test)]
mod tests;

pub use answer::{
    Answer, CAUTIONS, LinkRow, Placement, Question, RoomRow, Shade, Spans, USUAL_AIR_DRAWS, answer,
};
pub use feed::{Feed, PortFor, PowerFor};
pub(crate) use house::between;
