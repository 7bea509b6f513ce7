//! From signal over noise to streams and scheme.

use super::band::{Generation, Width};
use super::phy::{AirRate, Mcs, Phy, SCHEMES, highest};
use crate::copper::{DecibelMilliwatts, DecibelMilliwattsPerHertz, Decibels};
use narrows_units::catalogue::{Catalogue, CatalogueFault};

/// Thermal noise at 17 C, k T.
const THERMAL: DecibelMilliwattsPerHertz = DecibelMilliwattsPerHertz(-174.0);

/// Noise of a receiver: `N = -174 + 10 log10 B + F`, `B` in hertz, `F` its noise figure.
/// Exact for a receiver at room temperature; `validate_noise` checks it.
pub fn noise(width: Width, figure: Decibels) -> DecibelMilliwatts {
    THERMAL.over(width.bandwidth()) + figure
}

/// The least signal at which a receiver must lose no more than a tenth, IEEE 802.11-2020 tables
/// 19-23, 21-25 and 27-51, 802.11be table 36-67; 3 dB more for every doubling of the width.
/// `validate_least_sensitivity` checks it.
pub fn sensitivity(mcs: Mcs, width: Width) -> Option<DecibelMilliwatts> {
    const AT_20_MHZ: [f64; SCHEMES] = [
        -82.0, -79.0, -77.0, -74.0, -70.0, -66.0, -65.0, -64.0, -59.0, -57.0, -54.0, -52.0, -49.0,
        -46.0,
    ];
    let narrow = AT_20_MHZ.get(mcs)?;
    Some(DecibelMilliwatts(narrow + 3.0 * width.doublings() as f64))
}

/// What each scheme needs: published curves of loss against signal over noise, and the power that
/// amplifiers hold back at it.
#[derive(Clone, Debug, PartialEq)]
pub struct Needed {
    ideal: [f64; SCHEMES],
    held_back: [f64; SCHEMES],
}

impl Needed {
    /// From the rows `air.needed.M` and `air.held-back.M`.
    pub fn new(catalogue: &Catalogue) -> Result<Self, CatalogueFault> {
        let row = |name: &str| -> Result<[f64; SCHEMES], CatalogueFault> {
            let mut values = [0.0; SCHEMES];
            for (mcs, value) in values.iter_mut().enumerate() {
                *value = catalogue.number(&format!("air.{name}.{mcs}"))?.likely;
            }
            Ok(values)
        };
        Ok(Self {
            ideal: row("needed")?,
            held_back: row("held-back")?,
        })
    }

    /// Signal over noise a stream at which a tenth of the frames is lost in white noise.
    pub fn ideal(&self, mcs: Mcs) -> Option<Decibels> {
        self.ideal.get(mcs).copied().map(Decibels)
    }

    /// Signal over noise that a scheme needs over one stream's, with a margin and held-back power.
    fn with(&self, mcs: Mcs, margin: f64) -> f64 {
        self.ideal.get(mcs).copied().unwrap_or(f64::INFINITY)
            + self.held_back.get(mcs).copied().unwrap_or(0.0)
            + margin
    }
}

/// Signal over noise of each of several streams against that of one antenna.
///
/// `10 log10((n - s + 1)/s)`: `n` receiving antennas, `s` streams, zero forcing, mean over
/// channels (textbook). Valid for `1 <= s <= n`; `validate_streams` checks it.
pub fn of_a_stream(antennas: usize, streams: usize) -> Option<Decibels> {
    let free = (antennas + 1).checked_sub(streams)?;
    (streams > 0 && free > 0).then(|| Decibels(10.0 * libm::log10(free as f64 / streams as f64)))
}

/// The ways to send that two ends have, each with what it needs: made once, asked a draw.
#[derive(Clone, Debug)]
pub struct Ladder {
    /// Ordered by streams, then by scheme.
    rungs: Vec<Rung>,
}

#[derive(Clone, Copy, Debug)]
struct Rung {
    phy: Phy,
    rate: f64,
    /// Needed signal over noise at one antenna, without margin.
    needs: f64,
}

impl Ladder {
    /// Ways of an amendment and a width with up to so many streams, received by so many
    /// antennas.
    pub fn new(
        needed: &Needed,
        (generation, width): (Generation, Width),
        streams: usize,
        antennas: usize,
    ) -> Self {
        let mut rungs = Vec::new();
        for streams in 1..=streams.min(antennas) {
            let Some(gain) = of_a_stream(antennas, streams) else {
                continue;
            };
            for mcs in 0..=highest(generation) {
                if let Some(phy) = Phy::new(generation, width, streams, mcs) {
                    rungs.push(Rung {
                        phy,
                        rate: phy.rate().0,
                        needs: needed.with(mcs, 0.0) - gain.0,
                    });
                }
            }
        }
        Self { rungs }
    }

    /// The ways, in the order of [`Ladder::choose`].
    pub fn ways(&self) -> impl Iterator<Item = Phy> {
        self.rungs.iter().map(|rung| rung.phy)
    }

    /// The place of the fastest way that a signal over noise allows; none where there is no link.
    ///
    /// A way is allowed where `SNR - held back + stream term >= ideal + M`, `M` the margin of
    /// implementation, fading inside the channel, other people's noise and a careful chooser.
    /// Of equally fast ones that with fewer streams. Assumes white noise over the channel; within
    /// 1.1 dB of the standard's own least sensitivities at `M` = 5. Source: packet error tables
    /// of a public simulator, see `data/air.csv`. `validate_what_a_signal_allows` checks it.
    pub fn choose(&self, snr: Decibels, margin: Decibels) -> Option<usize> {
        let left = snr.0 - margin.0;
        let mut best: Option<(usize, f64)> = None;
        for (at, rung) in self.rungs.iter().enumerate() {
            if left >= rung.needs && best.is_none_or(|(_, rate)| rung.rate > rate + 1e-9) {
                best = Some((at, rung.rate));
            }
        }
        best.map(|(at, _)| at)
    }

    /// As [`Ladder::choose`], the way itself.
    pub fn chosen(&self, snr: Decibels, margin: Decibels) -> Option<Phy> {
        Some(self.rungs.get(self.choose(snr, margin)?)?.phy)
    }

    /// The fastest rate of all.
    pub fn top(&self) -> Option<AirRate> {
        let rates = self.rungs.iter().map(|rung| rung.rate);
        rates.max_by(f64::total_cmp).map(AirRate)
    }
}
