use super::units::f64::{
    DataRate, Energy, Frequency, Information, InformationPerOperation, Length, OperationRate,
    Operations, Power, Ratio, Time, TimePerInformation,
};

/// What a text is expected to name; decides which units are allowed and how a value is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// Payload a second: `117 MB/s`.
    DataRate,
    /// The rate of a link, in bits: `10 Gb/s`, and the trade's short forms.
    LinkRate,
    /// An amount of data: `14 TB`, `12.7 TiB`.
    Information,
    /// A duration: `4 ms`.
    Time,
    /// A length: `31 m`, `100 ft`.
    Length,
    /// Turns of a spindle or a clock: `7200 rpm`, `1.5 GHz`.
    Frequency,
    /// A share of one: `55 %`.
    Fraction,
    /// Electrical power: `60 W`.
    Power,
    /// Electrical energy: `0.4 kWh`.
    Energy,
    /// Requests a second: `80 op/s`.
    OperationRate,
    /// Requests: `8 op`.
    Operations,
    /// Bytes a request: `65536 B/op`.
    RequestSize,
    /// Seconds a byte.
    Cost,
    /// A plain number: `3`.
    Count,
}

/// One spelling of a unit.
pub struct Spelling {
    /// As written, in the case that decides between bits and bytes.
    pub text: &'static str,
    /// Base units in one of it.
    pub factor: f64,
}

const fn unit(text: &'static str, factor: f64) -> Spelling {
    Spelling { text, factor }
}

const KI: f64 = 1024.0;
const MI: f64 = KI * 1024.0;
const GI: f64 = MI * 1024.0;
const TI: f64 = GI * 1024.0;

const BYTE_RATES: &[Spelling] = &[
    unit("MB/s", 1e6),
    unit("GB/s", 1e9),
    unit("kB/s", 1e3),
    unit("B/s", 1.0),
    unit("TB/s", 1e12),
    unit("MiB/s", MI),
    unit("GiB/s", GI),
    unit("KiB/s", KI),
    unit("TiB/s", TI),
    unit("MBps", 1e6),
    unit("GBps", 1e9),
    unit("kBps", 1e3),
    unit("MiBps", MI),
    unit("GiBps", GI),
    unit("Mb/s", 1e6 / 8.0),
    unit("Gb/s", 1e9 / 8.0),
    unit("kb/s", 1e3 / 8.0),
    unit("b/s", 1.0 / 8.0),
    unit("Mbit/s", 1e6 / 8.0),
    unit("Gbit/s", 1e9 / 8.0),
    unit("kbit/s", 1e3 / 8.0),
    unit("bit/s", 1.0 / 8.0),
    unit("Mibit/s", MI / 8.0),
    unit("Gibit/s", GI / 8.0),
    unit("Mbps", 1e6 / 8.0),
    unit("Gbps", 1e9 / 8.0),
    unit("kbps", 1e3 / 8.0),
];
const LINK_RATES: &[Spelling] = &[
    unit("Gb/s", 1e9 / 8.0),
    unit("Mb/s", 1e6 / 8.0),
    unit("kb/s", 1e3 / 8.0),
    unit("b/s", 1.0 / 8.0),
    unit("Gbit/s", 1e9 / 8.0),
    unit("Mbit/s", 1e6 / 8.0),
    unit("kbit/s", 1e3 / 8.0),
    unit("bit/s", 1.0 / 8.0),
    unit("Gbps", 1e9 / 8.0),
    unit("Mbps", 1e6 / 8.0),
    unit("GbE", 1e9 / 8.0),
    unit("gbe", 1e9 / 8.0),
    unit("G", 1e9 / 8.0),
    unit("M", 1e6 / 8.0),
    unit("g", 1e9 / 8.0),
    unit("gig", 1e9 / 8.0),
    unit("gigabit", 1e9 / 8.0),
    unit("meg", 1e6 / 8.0),
    unit("megabit", 1e6 / 8.0),
    unit("gbps", 1e9 / 8.0),
    unit("mbps", 1e6 / 8.0),
];
const INFORMATION: &[Spelling] = &[
    unit("TB", 1e12),
    unit("GB", 1e9),
    unit("MB", 1e6),
    unit("kB", 1e3),
    unit("KB", 1e3),
    unit("B", 1.0),
    unit("PB", 1e15),
    unit("TiB", TI),
    unit("GiB", GI),
    unit("MiB", MI),
    unit("KiB", KI),
    unit("PiB", TI * 1024.0),
    unit("byte", 1.0),
    unit("bytes", 1.0),
    unit("Gb", 1e9 / 8.0),
    unit("Mb", 1e6 / 8.0),
    unit("kb", 1e3 / 8.0),
    unit("Gbit", 1e9 / 8.0),
    unit("Mbit", 1e6 / 8.0),
    unit("bit", 1.0 / 8.0),
];
const TIMES: &[Spelling] = &[
    unit("s", 1.0),
    unit("ms", 1e-3),
    unit("us", 1e-6),
    unit("µs", 1e-6),
    unit("ns", 1e-9),
    unit("min", 60.0),
    unit("h", 3600.0),
    unit("d", 86400.0),
    unit("second", 1.0),
    unit("seconds", 1.0),
    unit("minute", 60.0),
    unit("minutes", 60.0),
    unit("hour", 3600.0),
    unit("hours", 3600.0),
    unit("day", 86400.0),
    unit("days", 86400.0),
    unit("week", 604_800.0),
    unit("weeks", 604_800.0),
    unit("year", 31_536_000.0),
    unit("years", 31_536_000.0),
];
const LENGTHS: &[Spelling] = &[
    unit("m", 1.0),
    unit("cm", 0.01),
    unit("km", 1000.0),
    unit("ft", 0.3048),
    unit("metre", 1.0),
    unit("metres", 1.0),
    unit("meter", 1.0),
    unit("meters", 1.0),
    unit("foot", 0.3048),
    unit("feet", 0.3048),
];
const FREQUENCIES: &[Spelling] = &[
    unit("rpm", 1.0 / 60.0),
    unit("GHz", 1e9),
    unit("MHz", 1e6),
    unit("Hz", 1.0),
    unit("/h", 1.0 / 3600.0),
    unit("/year", 1.0 / 31_536_000.0),
];
const FRACTIONS: &[Spelling] = &[unit("%", 0.01), unit("percent", 0.01)];
const POWERS: &[Spelling] = &[unit("W", 1.0), unit("kW", 1e3), unit("mW", 1e-3)];
const ENERGIES: &[Spelling] = &[unit("kWh", 3.6e6), unit("Wh", 3600.0)];
const OPERATION_RATES: &[Spelling] = &[unit("op/s", 1.0), unit("IOPS", 1.0), unit("ops/s", 1.0)];
const OPERATIONS: &[Spelling] = &[unit("op", 1.0), unit("ops", 1.0)];
const REQUEST_SIZES: &[Spelling] = &[
    unit("B/op", 1.0),
    unit("kB/op", 1e3),
    unit("KiB/op", KI),
    unit("MiB/op", MI),
    unit("MB/op", 1e6),
];
const COSTS: &[Spelling] = &[unit("s/B", 1.0), unit("ns/B", 1e-9), unit("ps/B", 1e-12)];
const COUNTS: &[Spelling] = &[unit("", 1.0)];

impl Kind {
    /// How units of this kind are written, the usual one first.
    pub fn spellings(self) -> &'static [Spelling] {
        match self {
            Self::DataRate => BYTE_RATES,
            Self::LinkRate => LINK_RATES,
            Self::Information => INFORMATION,
            Self::Time => TIMES,
            Self::Length => LENGTHS,
            Self::Frequency => FREQUENCIES,
            Self::Fraction => FRACTIONS,
            Self::Power => POWERS,
            Self::Energy => ENERGIES,
            Self::OperationRate => OPERATION_RATES,
            Self::Operations => OPERATIONS,
            Self::RequestSize => REQUEST_SIZES,
            Self::Cost => COSTS,
            Self::Count => COUNTS,
        }
    }

    /// The kind in words, for messages.
    pub fn noun(self) -> &'static str {
        match self {
            Self::DataRate => "a rate of data",
            Self::LinkRate => "the rate of a link",
            Self::Information => "an amount of data",
            Self::Time => "a duration",
            Self::Length => "a length",
            Self::Frequency => "a speed of rotation",
            Self::Fraction => "a percentage",
            Self::Power => "a power",
            Self::Energy => "an energy",
            Self::OperationRate => "a rate of requests",
            Self::Operations => "a number of requests",
            Self::RequestSize => "a size per request",
            Self::Cost => "a time per byte",
            Self::Count => "a plain number",
        }
    }

    /// Examples of what is allowed, for messages and the reference.
    pub fn examples(self) -> &'static str {
        match self {
            Self::DataRate => "117 MB/s, 112 MiB/s, 880 Mb/s",
            Self::LinkRate => "10 Gb/s, 2.5 Gb/s, 100 Mb/s",
            Self::Information => "14 TB, 12.7 TiB, 50 kB",
            Self::Time => "4 ms, 0.2 ms, 30 min",
            Self::Length => "31 m, 100 ft",
            Self::Frequency => "7200 rpm, 1.5 GHz",
            Self::Fraction => "55 %",
            Self::Power => "60 W",
            Self::Energy => "0.4 kWh",
            Self::OperationRate => "80 op/s",
            Self::Operations => "8 op",
            Self::RequestSize => "64 KiB/op",
            Self::Cost => "8 ns/B",
            Self::Count => "3",
        }
    }

    /// The unit of a bare number of this kind that a person most likely meant.
    pub fn usual_unit(self) -> &'static str {
        self.spellings().first().map_or("", |s| s.text)
    }

    /// Units by size in which a value is shown, smallest first.
    pub fn display_units(self) -> &'static [Spelling] {
        const RATE: &[Spelling] = &[unit("MB/s", 1e6)];
        const LINK: &[Spelling] = &[unit("Mb/s", 1e6 / 8.0), unit("Gb/s", 1e9 / 8.0)];
        const INFO: &[Spelling] = &[
            unit("B", 1.0),
            unit("kB", 1e3),
            unit("MB", 1e6),
            unit("GB", 1e9),
            unit("TB", 1e12),
        ];
        const TIME: &[Spelling] = &[
            unit("ns", 1e-9),
            unit("us", 1e-6),
            unit("ms", 1e-3),
            unit("s", 1.0),
            unit("min", 60.0),
            unit("h", 3600.0),
            unit("days", 86400.0),
            unit("years", 31_536_000.0),
        ];
        const METRE: &[Spelling] = &[unit("m", 1.0)];
        const TURNS: &[Spelling] = &[unit("Hz", 1.0), unit("MHz", 1e6), unit("GHz", 1e9)];
        const WATT: &[Spelling] = &[unit("W", 1.0)];
        const SIZE: &[Spelling] = &[unit("B/op", 1.0), unit("kB/op", 1e3), unit("MB/op", 1e6)];
        const COST: &[Spelling] = &[unit("ps/B", 1e-12), unit("ns/B", 1e-9)];
        const FRACTION: &[Spelling] = &[unit("%", 0.01)];
        const OPERATION: &[Spelling] = &[unit("op", 1.0)];
        const OPERATION_RATE: &[Spelling] = &[unit("op/s", 1.0)];
        match self {
            Self::DataRate => RATE,
            Self::LinkRate => LINK,
            Self::Information => INFO,
            Self::Time => TIME,
            Self::Length => METRE,
            Self::Frequency => TURNS,
            Self::Power => WATT,
            Self::RequestSize => SIZE,
            Self::Cost => COST,
            Self::Fraction => FRACTION,
            Self::Energy => ENERGIES,
            Self::OperationRate => OPERATION_RATE,
            Self::Operations => OPERATION,
            Self::Count => COUNTS,
        }
    }
}

/// A quantity that has a place in columns, the parser and the printer.
///
/// The base number is in base units (byte, second, metre, operation, watt); it exists so that
/// generic code can hold columns of any quantity. Models use the typed constructors instead.
pub trait Measure: Copy + PartialOrd + std::fmt::Debug + Send + Sync + 'static {
    /// How it is read and shown.
    const KIND: Kind;
    /// The number of base units.
    fn base(self) -> f64;
    /// From a number of base units.
    fn from_base(value: f64) -> Self;
}

macro_rules! measures {
    ($($quantity:ident: $kind:ident),+ $(,)?) => {
        $(impl Measure for $quantity {
            const KIND: Kind = Kind::$kind;
            fn base(self) -> f64 { self.value }
            fn from_base(value: f64) -> Self {
                Self {
                    dimension: std::marker::PhantomData,
                    units: std::marker::PhantomData,
                    value,
                }
            }
        })+
    };
}

measures!(
    DataRate: DataRate,
    Information: Information,
    Time: Time,
    Length: Length,
    Frequency: Frequency,
    Ratio: Fraction,
    Power: Power,
    Energy: Energy,
    OperationRate: OperationRate,
    Operations: Operations,
    InformationPerOperation: RequestSize,
    TimePerInformation: Cost,
);

/// A plain number, such as a count of round trips; not a share, which is a [`Ratio`].
impl Measure for f64 {
    const KIND: Kind = Kind::Count;
    fn base(self) -> f64 {
        self
    }
    fn from_base(value: f64) -> Self {
        value
    }
}
