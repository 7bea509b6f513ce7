//! Quantities with their units in the type, and the one parser and printer of the project.
//!
//! Information, time, length, operations and power are dimensions of their own ([`units`]), so
//! the mistakes that spoil a storage estimate do not compile. IOPS are not a rate of bytes:
//!
//! ```compile_fail
//! use narrows_units::quantity::{DataRate, OperationRate, units::operation_rate::operation_per_second};
//! let rate: DataRate = OperationRate::new::<operation_per_second>(80.0);
//! ```
//!
//! They become one only with a size per operation:
//!
//! ```
//! use narrows_units::quantity::{DataRate, OperationRate, units::operation_rate::operation_per_second};
//! use narrows_units::quantity::{InformationPerOperation, units::information_per_operation::byte_per_operation};
//! let rate: DataRate = OperationRate::new::<operation_per_second>(80.0)
//!     * InformationPerOperation::new::<byte_per_operation>(4096.0);
//! # assert_eq!(rate.get::<narrows_units::quantity::units::data_rate::byte_per_second>(), 327_680.0);
//! ```
//!
//! A size and a rate do not add, and a ratio is not a size:
//!
//! ```compile_fail
//! use narrows_units::quantity::{megabytes, megabytes_per_second};
//! let sum = megabytes(1.0) + megabytes_per_second(1.0);
//! ```
//! ```compile_fail
//! use narrows_units::quantity::{Information, percent};
//! let size: Information = percent(50.0);
//! ```
//! ```
//! use narrows_units::quantity::{Information, megabytes, megabytes_per_second, percent, seconds};
//! let sum = megabytes(1.0) + megabytes_per_second(1.0) * seconds(1.0);
//! let size: Information = sum * percent(50.0);
//! # assert_eq!(size, megabytes(1.0));
//! ```
//!
//! A link's rate is not a payload rate until somebody asks for it:
//!
//! ```compile_fail
//! use narrows_units::quantity::{DataRate, LinkRate};
//! let rate: DataRate = LinkRate::from_megabits(1000);
//! ```
//! ```
//! use narrows_units::quantity::{DataRate, LinkRate};
//! let rate: DataRate = LinkRate::from_megabits(1000).signalled();
//! # assert_eq!(rate, narrows_units::quantity::megabytes_per_second(125.0));
//! ```

mod fault;
mod kind;
mod link_rate;
mod money;
/// Numbers with units as people write them.
pub mod reading;
mod show;
pub mod units;

pub use fault::UnitFault;
pub use kind::{Kind, Measure};
pub use link_rate::LinkRate;
pub use money::Money;

pub use reading::{parse, parse_base};
pub use show::exact_together;
pub use show::{exact, exact_base, show, show_base, six_digits, three_digits};
pub use units::f64::{
    DataRate, Energy, Frequency, Information, InformationPerOperation, Length, OperationRate,
    Operations, Power, Ratio, Time, TimePerInformation,
};

/// A decimal size.
pub fn bytes(count: f64) -> Information {
    Information::new::<units::information::byte>(count)
}

/// A decimal size.
pub fn megabytes(count: f64) -> Information {
    Information::new::<units::information::megabyte>(count)
}

/// A decimal size.
pub fn terabytes(count: f64) -> Information {
    Information::new::<units::information::terabyte>(count)
}

/// A payload rate.
pub fn megabytes_per_second(rate: f64) -> DataRate {
    DataRate::new::<units::data_rate::megabyte_per_second>(rate)
}

/// The number of megabytes a second in a rate.
pub fn in_megabytes_per_second(rate: DataRate) -> f64 {
    rate.get::<units::data_rate::megabyte_per_second>()
}

/// A duration.
pub fn seconds(count: f64) -> Time {
    Time::new::<units::time::second>(count)
}

/// A duration.
pub fn milliseconds(count: f64) -> Time {
    Time::new::<units::time::millisecond>(count)
}

/// A length.
pub fn metres(count: f64) -> Length {
    Length::new::<units::length::meter>(count)
}

/// A plain number.
pub fn ratio(value: f64) -> Ratio {
    Ratio::new::<units::ratio::one>(value)
}

/// A fraction of one, given in percent.
pub fn percent(value: f64) -> Ratio {
    Ratio::new::<units::ratio::percent>(value)
}

#[cfg(test)]
mod tests;
