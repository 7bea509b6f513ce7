//! What a sentence about slow storage says: its concepts, its amounts, and its likeliest meaning.
//!
//! Words are mended and looked up as concepts (data/speech/concepts.csv); what they are together, beside which number, and on which side
//! of a comparison, is weighed (data/speech/weights.txt). Nothing is asked of a service, and the same text is heard alike everywhere.

mod amounts;
mod concepts;
mod ear;
mod features;
mod measured;
pub mod model;
mod needs;
mod numbers;
mod outright;
mod parts;
mod playback;
mod units;
mod ways;
mod words;

pub use amounts::{Amount, Bound, amounts};
pub use concepts::Concepts;
pub use ear::{Choice, Ear, Heard, Reading, Sense};
pub use features::{Mix, Sentence};
pub use measured::{Counted, Measured, measured};
pub use outright::{Danger, Sure};
pub use units::Unit;

/// `read` or `write`, where the words of a text leave no doubt.
pub use ways::way;
