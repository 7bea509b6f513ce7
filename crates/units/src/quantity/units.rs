//! Our own system of units: information, time, length, operations and power are base dimensions.
//!
//! Information is a dimension of its own, not a number, so that a ratio is never a size and a
//! count of operations a second is never a rate of bytes. The two meet only through a size per
//! operation: `operations / time * (information / operations)` is a rate, and nothing else is.
#![allow(missing_docs)] // the macros generate one alias and a few items without docs

macro_rules! dimension {
    ($module:ident, $name:ident, $text:literal, $doc:literal,
     [$i:ident, $t:ident, $l:ident, $o:ident, $p:ident],
     $($unit:ident: $factor:expr; $short:literal, $one:literal, $many:literal;)+) => {
        #[macro_use]
        pub mod $module {
            quantity! {
                #[doc = $doc]
                quantity: $name; $text;
                /// Powers of information, time, length, operations and power.
                dimension: Q<$i, $t, $l, $o, $p>;
                units { $(@$unit: $factor; $short, $one, $many;)+ }
            }
        }
    };
}

dimension!(information, Information, "information", "An amount of data; base unit byte.",
    [P1, Z0, Z0, Z0, Z0],
    byte: 1.0; "B", "byte", "bytes";
    kilobyte: 1.0e3; "kB", "kilobyte", "kilobytes";
    megabyte: 1.0e6; "MB", "megabyte", "megabytes";
    gigabyte: 1.0e9; "GB", "gigabyte", "gigabytes";
    terabyte: 1.0e12; "TB", "terabyte", "terabytes";
    kibibyte: 1024.0; "KiB", "kibibyte", "kibibytes";
    mebibyte: 1048576.0; "MiB", "mebibyte", "mebibytes";
    gibibyte: 1073741824.0; "GiB", "gibibyte", "gibibytes";
    tebibyte: 1099511627776.0; "TiB", "tebibyte", "tebibytes";
);
dimension!(time, Time, "time", "A duration; base unit second.",
    [Z0, P1, Z0, Z0, Z0],
    second: 1.0; "s", "second", "seconds";
    millisecond: 1.0e-3; "ms", "millisecond", "milliseconds";
    microsecond: 1.0e-6; "us", "microsecond", "microseconds";
    nanosecond: 1.0e-9; "ns", "nanosecond", "nanoseconds";
    minute: 60.0; "min", "minute", "minutes";
    hour: 3600.0; "h", "hour", "hours";
    day: 86400.0; "d", "day", "days";
    year: 31536000.0; "year", "year", "years";
);
dimension!(length, Length, "length", "A length; base unit metre.",
    [Z0, Z0, P1, Z0, Z0],
    meter: 1.0; "m", "metre", "metres";
    foot: 0.3048; "ft", "foot", "feet";
);
dimension!(operations, Operations, "operations", "A count of requests to a drive or a server.",
    [Z0, Z0, Z0, P1, Z0],
    operation: 1.0; "op", "operation", "operations";
);
dimension!(power, Power, "power", "Electrical power; base unit watt.",
    [Z0, Z0, Z0, Z0, P1],
    watt: 1.0; "W", "watt", "watts";
    milliwatt: 1.0e-3; "mW", "milliwatt", "milliwatts";
    kilowatt: 1.0e3; "kW", "kilowatt", "kilowatts";
);
dimension!(ratio, Ratio, "ratio", "A plain number.",
    [Z0, Z0, Z0, Z0, Z0],
    one: 1.0; "", "", "";
    percent: 0.01; "%", "percent", "percent";
);
dimension!(data_rate, DataRate, "data rate", "Data a second; base unit byte a second.",
    [P1, N1, Z0, Z0, Z0],
    byte_per_second: 1.0; "B/s", "byte per second", "bytes per second";
    megabyte_per_second: 1.0e6; "MB/s", "megabyte per second", "megabytes per second";
    mebibyte_per_second: 1048576.0; "MiB/s", "mebibyte per second", "mebibytes per second";
    megabit_per_second: 1.25e5; "Mb/s", "megabit per second", "megabits per second";
    gigabit_per_second: 1.25e8; "Gb/s", "gigabit per second", "gigabits per second";
);
dimension!(time_per_information, TimePerInformation, "time per information",
    "What a byte costs: seconds a byte, the inverse of a rate.",
    [N1, P1, Z0, Z0, Z0],
    second_per_byte: 1.0; "s/B", "second per byte", "seconds per byte";
);
dimension!(frequency, Frequency, "frequency", "Events a second.",
    [Z0, N1, Z0, Z0, Z0],
    hertz: 1.0; "Hz", "hertz", "hertz";
    revolution_per_minute: 1.0 / 60.0; "rpm", "revolution per minute", "revolutions per minute";
    gigahertz: 1.0e9; "GHz", "gigahertz", "gigahertz";
    per_hour: 1.0 / 3600.0; "1/h", "per hour", "per hour";
    per_year: 1.0 / 31536000.0; "1/year", "per year", "per year";
);
dimension!(operation_rate, OperationRate, "operation rate", "Requests a second.",
    [Z0, N1, Z0, P1, Z0],
    operation_per_second: 1.0; "op/s", "operation per second", "operations per second";
);
dimension!(information_per_operation, InformationPerOperation, "information per operation",
    "The size of one request.",
    [P1, Z0, Z0, N1, Z0],
    byte_per_operation: 1.0; "B/op", "byte per operation", "bytes per operation";
);
dimension!(energy, Energy, "energy", "Power over time.",
    [Z0, P1, Z0, Z0, P1],
    watt_second: 1.0; "Ws", "watt second", "watt seconds";
    kilowatt_hour: 3.6e6; "kWh", "kilowatt hour", "kilowatt hours";
);

system! {
    /// Quantities of a studio's data path.
    quantities: Q {
        information: byte, I;
        time: second, T;
        length: meter, L;
        operations: operation, O;
        power: watt, P;
    }

    /// Units of a studio's data path.
    units: U {
        mod information::Information,
        mod time::Time,
        mod length::Length,
        mod operations::Operations,
        mod power::Power,
        mod ratio::Ratio,
        mod data_rate::DataRate,
        mod time_per_information::TimePerInformation,
        mod frequency::Frequency,
        mod operation_rate::OperationRate,
        mod information_per_operation::InformationPerOperation,
        mod energy::Energy,
    }
}

pub mod f64 {
    mod studio {
        pub(super) use super::super::*;
    }
    Q!(self::studio, f64);
}
