//! Radio links: signal and rate.

use super::{NotThere, Said, shown};

/// A radio as the old interface shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Radio {
    /// Name of the interface.
    pub name: String,
    /// Signal, dBm.
    pub signal: Said<f64>,
    /// Noise, dBm.
    pub noise: Said<f64>,
}

fn level(text: &str) -> Said<f64> {
    match text.trim_end_matches('.').parse::<f64>() {
        // -256 stands for "does not measure"
        Ok(level) if (-200.0..0.0).contains(&level) => Ok(level),
        _ => Err(NotThere::because(format!("'{}' is no level", shown(text)))),
    }
}

/// `/proc/net/wireless`. Test: `validate_radios`.
pub fn radios(text: &str) -> Vec<Radio> {
    text.lines()
        .filter_map(|line| {
            let (name, rest) = line.split_once(':')?;
            let mut words = rest.split_whitespace().skip(2);
            Some(Radio {
                name: shown(name),
                signal: level(words.next()?),
                noise: level(words.next()?),
            })
        })
        .take(64)
        .collect()
}

/// What the tool of radio drivers says of the link.
#[derive(Clone, Debug, PartialEq)]
pub struct RadioRate {
    /// Signal, dBm.
    pub signal: Said<f64>,
    /// Rate of sending, Mb/s.
    pub transmit: Said<f64>,
    /// Rate of receiving, Mb/s.
    pub receive: Said<f64>,
}

/// The text `iw dev IF link`. Test: `validate_radios`.
pub fn radio_rate(text: &str) -> Said<RadioRate> {
    if text.trim().is_empty() || text.contains("Not connected") {
        return Err(NotThere::because("the radio is not connected"));
    }
    let behind = |name: &str| {
        text.lines()
            .find_map(|line| line.trim().strip_prefix(name)?.strip_prefix(':'))
            .and_then(|rest| rest.split_whitespace().next())
            .ok_or_else(|| NotThere::because(format!("no {name} is said")))
    };
    let rate = |name: &str| {
        let text = behind(name)?;
        match text.parse::<f64>() {
            Ok(rate) if rate > 0.0 && rate <= 100_000.0 => Ok(rate),
            _ => Err(NotThere::because(format!("'{}' is no rate", shown(text)))),
        }
    };
    Ok(RadioRate {
        signal: behind("signal").and_then(level),
        transmit: rate("tx bitrate"),
        receive: rate("rx bitrate"),
    })
}
