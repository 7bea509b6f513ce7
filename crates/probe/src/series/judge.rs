//! From windows to a reading.

use super::mean::{Estimate, deviation, estimate};
use super::steps::{Levels, MANY_STEPS, levels};
use std::time::Duration;

/// Bytes that came in between two looks at the clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// How many bytes.
    pub bytes: u64,
    /// How long it really was, by the clock of the machine that counted.
    pub length: Duration,
}

impl Window {
    /// MB/s; 0 for a window of no length.
    pub fn megabytes_per_s(self) -> f64 {
        let seconds = self.length.as_secs_f64();
        if seconds > 0.0 {
            self.bytes as f64 / seconds / 1e6
        } else {
            0.0
        }
    }
}

/// What was noticed beside the mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Remarked {
    /// The rate fell and stayed low after so many bytes.
    DropsAfter(u64),
    /// It rose and stayed high: something else ended. The first part is left out.
    RoseAfter(u64),
    /// It fell to a tenth or less and came back: a link that went away.
    WentAway,
    /// It changes more than 15 % around its mean, or has more than three levels.
    Varies,
    /// Too short to leave the ramp out in full.
    Short,
}

/// A run, judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// MB/s, with about nine chances in ten within its half-width.
    pub rate: Estimate,
    /// MB/s that one window in twenty is below.
    pub slow_windows: f64,
    /// MB/s that one window in twenty is above.
    pub fast_windows: f64,
    /// What was left out in front.
    pub dropped: Duration,
    /// What the mean is of.
    pub judged: Duration,
    /// All bytes, ramp included.
    pub bytes: u64,
    /// What was noticed.
    pub remarks: Vec<Remarked>,
    /// Levels of what is left behind the ramp, MB/s.
    pub levels: Levels,
}

/// What is left out in front: automatic tuning of windows, clocks of processors, shapers that let a burst
/// pass. Judgement.
pub const RAMP: Duration = Duration::from_secs(2);
/// So many windows are judged at least, however short the run.
const FEWEST: usize = 4;
/// A rate that scatters by more than this share of its mean varies. Judgement.
const VARIES: f64 = 0.15;
/// A fall to this share and back is a link that went away. Judgement.
const AWAY: f64 = 0.1;

/// Judges a run: the ramp dropped, steps found, a mean with its interval.
///
/// Symbols: windows in order, bytes and true lengths; `ramp`, left out in front, at most a quarter of the run. Range: any
/// windows; nothing where none has a length or none counted a byte. Assumes windows of about equal length. Tests:
/// `verify_what_is_noticed_beside_the_mean`, `verify_that_intervals_hold`.
pub fn judge(windows: &[Window], ramp: Duration) -> Option<Judged> {
    let windows: Vec<Window> = windows
        .iter()
        .copied()
        .filter(|window| !window.length.is_zero())
        .collect();
    let bytes: u64 = windows.iter().map(|window| window.bytes).sum();
    if bytes == 0 {
        return None;
    }
    let whole: Duration = windows.iter().map(|window| window.length).sum();
    let wanted = ramp.min(whole / 4);
    let mut dropped = Duration::ZERO;
    let mut first = 0;
    while dropped < wanted && windows.len() - first > FEWEST {
        dropped += windows.get(first)?.length;
        first += 1;
    }
    let rates: Vec<f64> = windows
        .iter()
        .skip(first)
        .map(|window| window.megabytes_per_s())
        .collect();
    let levels = levels(&rates);
    let mut remarks = Vec::new();
    if dropped < ramp {
        remarks.push(Remarked::Short);
    }
    let from = noticed(&levels, |at| {
        windows.iter().take(first + at).map(|w| w.bytes).sum()
    })
    .into_iter()
    .fold(0, |from, (remark, start)| {
        remarks.push(remark);
        from.max(start)
    });
    let kept = rates.get(from..).unwrap_or_default();
    let mut rate = estimate(kept);
    let mut sorted = kept.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = |share: f64| {
        let place = (share * (sorted.len() as f64 - 1.0)).round().max(0.0) as usize;
        sorted.get(place).copied().unwrap_or(0.0)
    };
    if deviation(kept) > VARIES * rate.mean && !remarks.contains(&Remarked::Varies) {
        remarks.push(Remarked::Varies);
    }
    if remarks.contains(&Remarked::Varies) || remarks.contains(&Remarked::WentAway) {
        // no single mean: the reading is as wide as what was seen
        let seen = (at(0.95) - at(0.05)) / 2.0;
        rate.half_width = rate.half_width.max(seen.min(rate.mean));
    }
    let length = |from: usize| windows.iter().skip(from).map(|w| w.length).sum();
    Some(Judged {
        rate,
        slow_windows: at(0.05),
        fast_windows: at(0.95),
        dropped,
        judged: length(first + from),
        bytes,
        remarks,
        levels,
    })
}

/// What the levels say, and from which value on the mean is taken.
fn noticed(levels: &Levels, bytes_at: impl Fn(usize) -> u64) -> Option<(Remarked, usize)> {
    let first_step = *levels.steps.first()?;
    let last_step = *levels.steps.last()?;
    let falls = |pair: &[f64]| matches!(pair, [a, b] if b < a);
    let pairs = || levels.means.windows(2);
    if levels.steps.len() > MANY_STEPS {
        Some((Remarked::Varies, 0))
    } else if pairs().all(falls) {
        Some((Remarked::DropsAfter(bytes_at(first_step)), last_step))
    } else if !pairs().any(falls) {
        Some((Remarked::RoseAfter(bytes_at(last_step)), last_step))
    } else {
        let most = levels.means.iter().copied().fold(0.0, f64::max);
        let inner = levels.means.get(1..levels.means.len() - 1)?;
        if inner.iter().any(|level| *level <= AWAY * most * 1.05) {
            Some((Remarked::WentAway, last_step))
        } else {
            Some((Remarked::Varies, 0))
        }
    }
}

/// Sums of streams that count on one clock, window by window; as long as the shortest of them.
///
/// Test: `validate_streams`.
pub fn summed(streams: &[Vec<f64>]) -> Vec<f64> {
    let length = streams.iter().map(Vec::len).min().unwrap_or(0);
    (0..length)
        .map(|i| {
            streams
                .iter()
                .filter_map(|stream| stream.get(i))
                .sum::<f64>()
        })
        .collect()
}
