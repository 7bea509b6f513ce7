//! Rates on the air: what a symbol carries and how long it lasts.

use super::band::{Generation, Width};
use narrows_units::quantity::{DataRate, megabytes_per_second};

/// A modulation and coding scheme by its number, as the amendments since ac count them.
pub type Mcs = usize;

/// How many schemes the newest amendment has.
pub const SCHEMES: usize = 14;

/// Bits that one subcarrier carries in a symbol, coding counted: IEEE 802.11-2020 tables 21-29
/// and 27-55, from BPSK 1/2 to 4096-QAM 5/6.
pub(super) const BITS: [f64; SCHEMES] = [
    0.5,
    1.0,
    1.5,
    2.0,
    3.0,
    4.0,
    4.5,
    5.0,
    6.0,
    20.0 / 3.0,
    7.5,
    25.0 / 3.0,
    9.0,
    10.0,
];

/// A rate on the air, in megabits a second: what equipment shows, and never what a copy gets.
///
/// ```compile_fail,E0308
/// use narrows_physics::air::AirRate;
/// use narrows_units::quantity::DataRate;
/// let rate: DataRate = AirRate(866.7);
/// ```
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct AirRate(pub f64);

impl AirRate {
    /// The same in bytes, as if every one of them were payload.
    pub fn signalled(self) -> DataRate {
        megabytes_per_second(self.0 / 8.0)
    }
}

impl std::fmt::Display for AirRate {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} Mb/s", (self.0 * 10.0).round() / 10.0)
    }
}

/// The pause between two symbols.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Guard {
    /// 0.4 us; n and ac.
    Short,
    /// 0.8 us; the usual one of ax and be, the long one of n and ac.
    Usual,
    /// 1.6 us; ax and be.
    Double,
    /// 3.2 us; ax and be.
    Fourfold,
}

impl Guard {
    fn microseconds(self) -> f64 {
        match self {
            Self::Short => 0.4,
            Self::Usual => 0.8,
            Self::Double => 1.6,
            Self::Fourfold => 3.2,
        }
    }
}

/// One way to send: amendment, width, streams, scheme and guard interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Phy {
    /// The amendment.
    pub generation: Generation,
    /// The channel.
    pub width: Width,
    /// Streams at once, 1 to 8.
    pub streams: usize,
    /// The scheme.
    pub mcs: Mcs,
    /// The pause between symbols.
    pub guard: Guard,
}

impl Phy {
    /// The way with the shortest guard interval that is usual for its amendment; none where the
    /// amendment does not have it.
    ///
    /// ac leaves out schemes that give no whole number of bits a symbol for each encoder (IEEE
    /// 802.11-2020 clause 21.5); ax and be leave out none. `validate_rates_on_the_air` checks it.
    pub fn new(generation: Generation, width: Width, streams: usize, mcs: Mcs) -> Option<Self> {
        let guard = match generation {
            Generation::N | Generation::Ac => Guard::Short,
            Generation::Ax | Generation::Be => Guard::Usual,
        };
        Self::with_guard(generation, width, streams, mcs, guard)
    }

    /// As [`Phy::new`], with a guard interval of its own.
    pub fn with_guard(
        generation: Generation,
        width: Width,
        streams: usize,
        mcs: Mcs,
        guard: Guard,
    ) -> Option<Self> {
        let old = matches!(generation, Generation::N | Generation::Ac);
        let guarded = match guard {
            Guard::Short => old,
            Guard::Usual => true,
            Guard::Double | Guard::Fourfold => !old,
        };
        let most = if generation == Generation::N { 4 } else { 8 };
        let there = width <= generation.widest()
            && (1..=most).contains(&streams)
            && mcs <= highest(generation)
            && guarded
            && !left_out(generation, width, streams, mcs);
        there.then_some(Self {
            generation,
            width,
            streams,
            mcs,
            guard,
        })
    }

    /// Data bits in one symbol.
    pub(super) fn bits_a_symbol(self) -> f64 {
        subcarriers(self.generation, self.width)
            * BITS.get(self.mcs).copied().unwrap_or(0.0)
            * self.streams as f64
    }

    /// Microseconds from one symbol to the next.
    pub(super) fn symbol(self) -> f64 {
        let useful = match self.generation {
            Generation::N | Generation::Ac => 3.2,
            Generation::Ax | Generation::Be => 12.8,
        };
        useful + self.guard.microseconds()
    }

    /// The rate on the air.
    ///
    /// `R = NSS NSD b / (T + GI)` Mb/s: `NSS` streams, `NSD` subcarriers that carry data, `b`
    /// bits times coding, `T` the symbol and `GI` the guard interval in us (IEEE 802.11-2020
    /// clauses 19.5, 21.5 and 27.5; 802.11be clause 36.5). No assumption; exact.
    /// `validate_rates_on_the_air` checks it.
    pub fn rate(self) -> AirRate {
        AirRate(self.bits_a_symbol() / self.symbol())
    }
}

/// The highest scheme of an amendment, counted for one stream.
pub fn highest(generation: Generation) -> Mcs {
    match generation {
        Generation::N => 7,
        Generation::Ac => 9,
        Generation::Ax => 11,
        Generation::Be => 13,
    }
}

/// Subcarriers that carry data; of n and ac, then of ax and be.
fn subcarriers(generation: Generation, width: Width) -> f64 {
    let by_width = match generation {
        Generation::N | Generation::Ac => [52.0, 108.0, 234.0, 468.0, 0.0],
        Generation::Ax | Generation::Be => [234.0, 468.0, 980.0, 1960.0, 3920.0],
    };
    by_width.get(width.doublings()).copied().unwrap_or(0.0)
}

/// Whether ac leaves a scheme out.
fn left_out(generation: Generation, width: Width, streams: usize, mcs: Mcs) -> bool {
    generation == Generation::Ac
        && match (width, mcs) {
            (Width::Twenty, 9) => !matches!(streams, 3 | 6),
            (Width::Eighty, 6) => matches!(streams, 3 | 7),
            (Width::Eighty, 9) => streams == 6,
            (Width::OneSixty, 9) => streams == 3,
            _ => false,
        }
}

/// All ways to send that show a rate, within half a megabit, the fewest streams first.
///
/// A rate that is shown does not say how it came about: 866.7 Mb/s is ac at 80 MHz with two
/// streams or at 160 MHz with one. Up to four streams, every guard interval.
/// `validate_what_a_shown_rate_may_be` checks it.
pub fn candidates(shown: AirRate) -> Vec<Phy> {
    let guards = [Guard::Short, Guard::Usual, Guard::Double, Guard::Fourfold];
    let mut found = Vec::new();
    for streams in 1..=4 {
        for generation in Generation::ALL {
            for width in Width::ALL {
                for mcs in 0..=highest(generation) {
                    found.extend(guards.iter().filter_map(|&guard| {
                        let phy = Phy::with_guard(generation, width, streams, mcs, guard)?;
                        ((phy.rate().0 - shown.0).abs() <= 0.5).then_some(phy)
                    }));
                }
            }
        }
    }
    found
}
