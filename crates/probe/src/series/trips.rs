//! Round trips, small files and counters: what a few numbers say.

use super::steps::median;

/// Round trips in short.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trips {
    /// The least, in ms.
    pub least: f64,
    /// The middle one, in ms: the reading.
    pub median: f64,
    /// Nearest rank of 95 %, in ms.
    pub nearly_all: f64,
    /// The mean, in ms, which one pause spoils.
    pub mean: f64,
    /// How many.
    pub count: usize,
}

/// Sums up round trips in ms; nothing of nothing.
///
/// Test: `validate_round_trips`.
pub fn trips(ms: &[f64]) -> Option<Trips> {
    let mut sorted = ms.to_vec();
    sorted.sort_by(f64::total_cmp);
    let least = *sorted.first()?;
    let rank = (0.95 * sorted.len() as f64).ceil() as usize;
    Some(Trips {
        least,
        median: median(ms),
        nearly_all: sorted.get(rank.saturating_sub(1)).copied()?,
        mean: super::mean(ms),
        count: ms.len(),
    })
}

/// What a small file costs beside its bytes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SmallFiles {
    /// ms a file over what its bytes take; never below 0.
    pub cost_ms: f64,
    /// Files a second.
    pub a_second: f64,
    /// MB/s of their bytes.
    pub megabytes_per_s: f64,
}

/// (T - N B / X) / N, files a second and MB/s.
///
/// Symbols: T, s for all; N, count; B, bytes each; X, MB/s of large files. Range: N and T above 0. Test:
/// `validate_small_files`.
pub fn small_files(count: u64, bytes: u64, seconds: f64, large_mb_s: f64) -> Option<SmallFiles> {
    if count == 0 || seconds <= 0.0 || large_mb_s <= 0.0 {
        return None;
    }
    let n = count as f64;
    let megabytes = n * bytes as f64 / 1e6;
    Some(SmallFiles {
        cost_ms: ((seconds - megabytes / large_mb_s) / n * 1e3).max(0.0),
        a_second: n / seconds,
        megabytes_per_s: megabytes / seconds,
    })
}

/// How alike streams are: (sum)^2 / (n sum of squares), 1 where all are.
///
/// Source: Jain, Chiu and Hawe 1984. Test: `validate_streams`.
pub fn evenness(rates: &[f64]) -> f64 {
    let sum: f64 = rates.iter().sum();
    let squares: f64 = rates.iter().map(|r| r * r).sum();
    if squares <= 0.0 {
        return 1.0;
    }
    sum * sum / (rates.len() as f64 * squares)
}

/// With 95 % confidence, the most that a share can be of which none was seen in n.
///
/// 1 - .05^(1/n). Test: `validate_counters`.
pub fn at_most_of_none(n: u64) -> f64 {
    if n == 0 {
        return 1.0;
    }
    -(0.05f64.ln() / n as f64).exp_m1()
}

/// Seconds until a 32-bit counter of bytes comes round at a rate in MB/s.
///
/// Test: `validate_counters`.
pub fn comes_round_after(megabytes_per_s: f64) -> f64 {
    f64::from(u32::MAX) / (megabytes_per_s * 1e6)
}

/// Share of what an interface counts (packet and Ethernet header, no check sequence) that is payload of TCP over
/// IPv4 with timestamps.
///
/// (mtu - 52) / (mtu + 14). Symbols: mtu, bytes of the largest IP packet. Source: IEEE 802.3 clause 3; RFC 791, 9293,
/// 7323. Test: `validate_counters`.
pub fn payload_of_counted(mtu: u32) -> f64 {
    let mtu = f64::from(mtu.max(53));
    (mtu - 52.0) / (mtu + 14.0)
}

/// Most payload of TCP over IPv4 with timestamps that a link carries, MB/s: rate / 8 x (mtu - 52) / (mtu + 38).
///
/// Symbols: rate, Mb/s; mtu, bytes; 38: header, check sequence, preamble, gap between frames. Source: IEEE 802.3 clauses
/// 3.1.1, 3.2 and 4.4.2; RFC 791, 9293, 7323. Test: `verify_ceilings`.
pub fn payload_ceiling(megabits_per_s: f64, mtu: u32) -> f64 {
    let mtu = f64::from(mtu.max(53));
    megabits_per_s / 8.0 * (mtu - 52.0) / (mtu + 38.0)
}

/// Most that the edge of a run can be off: one block over all bytes.
///
/// Test: `validate_counters`.
pub fn edge(block: u64, seconds: f64, megabytes_per_s: f64) -> f64 {
    block as f64 / (seconds * megabytes_per_s * 1e6)
}

/// Bytes under way: rate times round trip, in kB.
///
/// Symbols: MB/s, ms. Test: `validate_round_trips`.
pub fn under_way(megabytes_per_s: f64, round_trip_ms: f64) -> f64 {
    megabytes_per_s * round_trip_ms
}
