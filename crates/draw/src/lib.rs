//! Pictures (SVG) and the page (HTML) out of answers. Touches no file, terminal or clock.
//!
//! Every name of a site is text here: markup is escaped where it is written, by the macro that writes
//! it. Every number that a command prints too says where the JSON of that command has it, which a
//! test holds to it.

mod number;
mod page;
mod picture;
mod pictures;
mod scale;
mod style;
mod text;

pub use page::{Files, Report, Said, is_shown, page};
pub use picture::Picture;
pub use pictures::{
    Curve, SPAN, day, front, growth, ledger, margin, margins, place, places, rooms, shares,
    tall_place,
};
