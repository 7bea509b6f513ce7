//! Rates of drives and arrays as pure functions: what one stream gets, what many get, what random
//! requests get, whole or with drives missing.

mod zone;

pub use zone::Zones;

use crate::quantity::UnitFault;

/// A value outside the range in which a model holds.
pub(crate) fn outside(found: String, help: &str) -> UnitFault {
    UnitFault::new(0..0, found, help)
}
