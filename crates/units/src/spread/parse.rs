use super::{Bounds, Law};
use crate::quantity::{Kind, UnitFault, parse_base, reading as quantity};

/// Reads one number, a range, a range with its likely value, or a number with a tolerance.
pub(super) fn law(kind: Kind, text: &str, bounds: Bounds) -> Result<Law, UnitFault> {
    let order = |problem: String| {
        UnitFault::new(
            0..text.len(),
            problem,
            format!(
                "write low..high or low..likely..high, for example {}",
                example(kind)
            ),
        )
    };
    if let Some(at) = text.find("+-").or_else(|| text.find('±')) {
        // both signs are two bytes long
        return tolerance(kind, text, at, 2, bounds);
    }
    if !text.contains("..") {
        let value = parse_base(kind, text)?;
        return Law::percentiles(value, Some(value), value, bounds).map_err(order);
    }
    let mut parts = Vec::new();
    let mut at = 0;
    for part in text.split("..") {
        parts.push((at, part));
        at += part.len() + 2;
    }
    if parts.len() > 3 {
        return Err(order("more than three numbers".to_owned()));
    }
    // "20..35 m": a number without a unit takes the unit of the next one that has one
    let mut values = Vec::new();
    let mut unit = None;
    for &(at, part) in parts.iter().rev() {
        let (number, unit_at) = quantity::number(kind, part).map_err(|f| f.shifted(at))?;
        let own = part[unit_at..].trim();
        let factor = match (own.is_empty(), unit) {
            (true, Some(factor)) => factor,
            _ => quantity::factor(kind, part, unit_at, own).map_err(|f| f.shifted(at))?,
        };
        unit = Some(factor);
        values.push(quantity::finite(kind, part, number * factor).map_err(|f| f.shifted(at))?);
    }
    match values[..] {
        [high, low] => Law::percentiles(low, None, high, bounds),
        [high, likely, low] => Law::percentiles(low, Some(likely), high, bounds),
        _ => Err("a range needs two or three numbers".to_owned()),
    }
    .map_err(order)
}

fn tolerance(
    kind: Kind,
    text: &str,
    at: usize,
    width: usize,
    bounds: Bounds,
) -> Result<Law, UnitFault> {
    let value = parse_base(kind, &text[..at])?;
    let after = &text[at + width..];
    let by = if after.trim_end().ends_with('%') {
        value * parse_base(Kind::Fraction, after).map_err(|f| f.shifted(at + width))?
    } else {
        parse_base(kind, after).map_err(|f| f.shifted(at + width))?
    };
    if by >= value && bounds.least >= 0.0 {
        return Err(UnitFault::new(
            at..text.len(),
            "the tolerance is as large as the value",
            "write a tolerance below 100 %, or a range low..high",
        ));
    }
    Law::percentiles(value - by, Some(value), value + by, bounds)
        .map_err(|problem| UnitFault::new(0..text.len(), problem, "write a smaller tolerance"))
}

fn example(kind: Kind) -> &'static str {
    match kind {
        Kind::DataRate => "190..230 MB/s",
        Kind::LinkRate => "100 Mb/s",
        Kind::Information => "10..14 TB",
        Kind::Time => "0.2..0.5 ms",
        Kind::Length => "20..35 m",
        Kind::Fraction => "40..70 %",
        _ => "2..3",
    }
}
