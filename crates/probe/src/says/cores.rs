//! Processor cores: how many, and how busy.

use super::{NotThere, Said};

/// Ticks of one core since the start.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Ticks {
    /// Number of the core.
    pub core: u32,
    /// user nice system idle iowait irq softirq steal.
    pub parts: [u64; 8],
}

/// Rows `cpuN` of `/proc/stat`. Guest time is part of user time and left out. Test: `validate_busy_cores`.
pub fn ticks(text: &str) -> Vec<Ticks> {
    text.lines()
        .filter_map(|line| {
            let (name, values) = line.split_once(' ')?;
            let core = name.strip_prefix("cpu")?.parse().ok()?;
            let mut parts = [0; 8];
            let mut values = values.split_whitespace();
            for (i, part) in parts.iter_mut().enumerate() {
                *part = match values.next() {
                    Some(value) => value.parse().ok()?,
                    // the oldest kernels know four
                    None if i >= 4 => 0,
                    None => return None,
                };
            }
            Some(Ticks { core, parts })
        })
        .take(4096)
        .collect()
}

/// How busy cores were between two looks, as shares from 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Busy {
    /// The busiest core: the one that counts.
    pub busiest: f64,
    /// What of it was network interrupts.
    pub interrupts: f64,
    /// What of it another guest of the same machine took.
    pub stolen: f64,
    /// The mean of all, which hides a full core.
    pub mean: f64,
}

/// busy = 1 - (d idle + d iowait) / d sum of the first eight. Test: `validate_busy_cores`.
pub fn busy(before: &[Ticks], after: &[Ticks]) -> Said<Busy> {
    let mut all = Vec::new();
    for late in after {
        let Some(early) = before.iter().find(|early| early.core == late.core) else {
            continue;
        };
        let mut parts = [0.0; 8];
        for ((part, late), early) in parts.iter_mut().zip(late.parts).zip(early.parts) {
            // idle and iowait of some kernels step back by a few ticks
            *part = late.saturating_sub(early) as f64;
        }
        let sum: f64 = parts.iter().sum();
        if sum <= 0.0 {
            continue;
        }
        let [_, _, _, idle, waiting, _, soft, stolen] = parts;
        all.push(Busy {
            busiest: 1.0 - (idle + waiting) / sum,
            interrupts: soft / sum,
            stolen: stolen / sum,
            mean: 0.0,
        });
    }
    let mean = all.iter().map(|core| core.busiest).sum::<f64>() / all.len().max(1) as f64;
    let busiest = all
        .into_iter()
        .max_by(|a, b| a.busiest.total_cmp(&b.busiest))
        .ok_or_else(|| NotThere::because("no core was counted twice"))?;
    Ok(Busy { mean, ..busiest })
}

/// Ticks that this program has used with all its threads: `utime` and `stime` of `/proc/self/stat`. Its name may hold blanks
/// and brackets, so fields count from the last bracket. Test: `verify_what_other_programs_use`.
pub fn own_ticks(text: &str) -> Said<u64> {
    let none = || NotThere::because("its own time is not said");
    let (_, behind) = text.rsplit_once(')').ok_or_else(none)?;
    let mut fields = behind.split_whitespace().skip(11);
    let mut next = || fields.next()?.parse::<u64>().ok();
    let (user, system) = (next().ok_or_else(none)?, next().ok_or_else(none)?);
    user.checked_add(system).ok_or_else(none)
}

/// How many cores' worth other programs used between two looks: what all cores did for programs, without what this one used.
///
/// Interrupts of the network are nobody's program. Assumes that ticks of cores and of a program are as long, as Linux has it.
/// Test: `verify_what_other_programs_use`.
pub fn others(before: &[Ticks], after: &[Ticks], own: u64) -> Said<f64> {
    let (mut worked, mut passed, mut cores) = (0.0, 0.0, 0.0);
    for late in after {
        let Some(early) = before.iter().find(|early| early.core == late.core) else {
            continue;
        };
        let mut of = late.parts.iter().zip(early.parts);
        let parts: [f64; 8] = std::array::from_fn(|_| {
            of.next()
                .map_or(0.0, |(late, early)| late.saturating_sub(early) as f64)
        });
        let [user, nice, system, ..] = parts;
        worked += user + nice + system;
        passed += parts.iter().sum::<f64>();
        cores += 1.0;
    }
    if passed <= 0.0 {
        return Err(NotThere::because("no core was counted twice"));
    }
    Ok(((worked - own as f64) * cores / passed).max(0.0))
}

/// The processor in short; its name is not kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Processor {
    /// Cores, each counted once however many threads it has.
    pub cores: usize,
    /// Threads.
    pub threads: usize,
    /// Whether it helps with AES.
    pub aes: bool,
    /// Whether it helps with SHA.
    pub sha: bool,
    /// Whether this is a guest of another machine, where slots and processors are what that one makes up.
    pub guest: bool,
}

/// `/proc/cpuinfo`. Without core ids every processor counts. Test: `validate_processors`.
pub fn processor(text: &str) -> Said<Processor> {
    let mut threads = 0;
    let mut seen: Vec<(u64, u64)> = Vec::new();
    let (mut package, mut aes, mut sha, mut guest) = (0, false, false, false);
    for line in text.lines() {
        let Some((name, value)) = line.split_once(':') else {
            continue;
        };
        match name.trim() {
            "processor" => {
                threads += 1;
                package = 0;
            }
            "physical id" => package = value.trim().parse().unwrap_or(0),
            "core id" => {
                if let Ok(core) = value.trim().parse()
                    && !seen.contains(&(package, core))
                    && seen.len() < 4096
                {
                    seen.push((package, core));
                }
            }
            "flags" | "Features" => {
                for flag in value.split_whitespace() {
                    aes |= flag == "aes";
                    sha |= flag == "sha_ni" || flag == "sha2";
                    guest |= flag == "hypervisor";
                }
            }
            _ => {}
        }
    }
    if threads == 0 {
        return Err(NotThere::because("no processor is listed"));
    }
    Ok(Processor {
        cores: if seen.is_empty() { threads } else { seen.len() },
        threads,
        aes,
        sha,
        guest,
    })
}
