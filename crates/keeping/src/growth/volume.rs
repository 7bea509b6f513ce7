use narrows_core::quantity::{DataRate, Information, Measure, Ratio, Time, units};

/// What a shooting day brings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShootingDay {
    /// Cameras that record.
    pub cameras: f64,
    /// Hours recorded by each, not hours on set.
    pub recorded: Time,
    /// Rate of the picture.
    pub rate: DataRate,
    /// Tracks of sound at 48 kHz and 24 bits.
    pub tracks: f64,
    /// Proxies as a share of the picture.
    pub proxies: Ratio,
    /// Container and sound in the file, as a share of the picture.
    pub overhead: Ratio,
}

/// A track of sound: 48 kHz of 24 bits.
const TRACK: f64 = 48_000.0 * 3.0;

impl ShootingDay {
    /// Bytes of the day: picture with its overhead, sound and proxies.
    ///
    /// `D = cameras x hours x rate x (1 + o) + tracks x hours x 1.152 Mb/s + proxies`. Checked by
    /// `validate_a_shooting_day`.
    pub fn size(&self) -> Information {
        let picture = self.rate * self.recorded * self.cameras;
        let sound = DataRate::from_base(TRACK) * self.recorded * self.tracks;
        picture + picture * self.overhead + sound + picture * self.proxies
    }
}

/// Bytes of a month: shooting days, with renders, caches and versions over the source.
pub fn month(day: Information, days: f64, renders: Ratio) -> Information {
    let source = day * days;
    source + source * renders
}

/// What readings of the fill say of growth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct History {
    /// Mean growth a month.
    pub mean: Information,
    /// Deviation of a month's growth.
    pub deviation: Information,
    /// Error of the mean.
    pub error: Information,
    /// Months that the readings span.
    pub months: f64,
}

/// A month in seconds, a twelfth of a year.
pub(crate) const MONTH: f64 = 365.25 * 86_400.0 / 12.0;

/// Mean growth a month and how sure it is, from readings of the fill with their times.
///
/// With increments `d_i` over `t_i` months: mean `sum d / sum t`, deviation from
/// `sum (d_i - mean t_i)^2 / t_i / (k - 1)`, error `deviation / sqrt(sum t)`; at even times these are
/// the mean, the deviation and the error of increments. Nothing where fewer than three readings
/// stand in rising order. A straight line through the readings would claim far too small an error,
/// since increments add up. Checked by `validate_readings`.
pub fn history(readings: &[(Time, Information)]) -> Option<History> {
    let steps: Vec<(f64, f64)> = readings
        .windows(2)
        .filter_map(|pair| match pair {
            [(t0, u0), (t1, u1)] => {
                let months = (*t1 - *t0).get::<units::time::second>() / MONTH;
                Some((months, (*u1 - *u0).base()))
            }
            _ => None,
        })
        .collect();
    if steps.len() < 2 || steps.iter().any(|(t, _)| *t <= 0.0) {
        return None;
    }
    let months: f64 = steps.iter().map(|(t, _)| t).sum();
    let mean = steps.iter().map(|(_, d)| d).sum::<f64>() / months;
    let squares: f64 = steps
        .iter()
        .map(|(t, d)| (d - mean * t) * (d - mean * t) / t)
        .sum();
    let deviation = libm::sqrt(squares / (steps.len() - 1) as f64);
    Some(History {
        mean: Information::from_base(mean),
        deviation: Information::from_base(deviation),
        error: Information::from_base(deviation / libm::sqrt(months)),
        months,
    })
}
