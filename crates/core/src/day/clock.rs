use crate::quantity::{Time, seconds, units};

const MINUTE: f64 = 60.0;
const HOUR: f64 = 3600.0;
const DAY: f64 = 86_400.0;

/// More days than this are no day.
const MOST_DAYS: u32 = 60;

/// An hour of the day, from midnight of the first: `18:00`, `06:00 +1` on the next day.
///
/// Seconds may stand behind the minutes; `24:00` is midnight at the end of a day.
pub(crate) fn read(text: &str) -> Option<Time> {
    let (hour, days) = match text.split_once('+') {
        Some((hour, days)) => (hour.trim(), whole(days.trim())?),
        None => (text.trim(), 0),
    };
    let mut parts = hour.split(':');
    let hours = whole(parts.next()?)?;
    let minutes = whole(parts.next()?)?;
    let late = parts.next().map_or(Some(0), whole)?;
    let within = hours < 24 || hours == 24 && minutes == 0 && late == 0;
    if parts.next().is_some() || !within || minutes > 59 || late > 59 || days > MOST_DAYS {
        return None;
    }
    let days = f64::from(days) * DAY;
    let hours = f64::from(hours) * HOUR;
    Some(seconds(
        days + hours + f64::from(minutes) * MINUTE + f64::from(late),
    ))
}

fn whole(text: &str) -> Option<u32> {
    let digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    if digits { text.parse().ok() } else { None }
}

/// A time from midnight of the first day, to the minute: `18:00`, `06:30 +1`.
///
/// Rounded up, so that nothing is said to be ready before it is.
pub fn clock(time: Time) -> String {
    let minutes = libm::ceil(time.get::<units::time::second>() / MINUTE - 1e-6).max(0.0);
    let day = DAY / MINUTE;
    let days = (minutes / day).floor();
    let rest = minutes - days * day;
    let text = format!("{:02.0}:{:02.0}", (rest / 60.0).floor(), rest % 60.0);
    if days > 0.0 {
        format!("{text} +{days:.0}")
    } else {
        text
    }
}
