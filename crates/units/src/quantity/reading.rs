use super::{Kind, Measure, UnitFault, kind::Spelling, show};

/// Reads a quantity with its unit.
///
/// Case decides between bits and bytes (`Mb/s` and `MB/s`). A negative, infinite or missing
/// number is refused, as is a unit that could be read in two ways.
///
/// # Errors
/// With the part of the text that is wrong, what is allowed, and how to write it.
pub fn parse<Q: Measure>(text: &str) -> Result<Q, UnitFault> {
    parse_base(Q::KIND, text).map(Q::from_base)
}

/// As [`parse`], for a kind known only at run time: the number of base units.
///
/// # Errors
/// As [`parse`].
pub fn parse_base(kind: Kind, text: &str) -> Result<f64, UnitFault> {
    let (number, unit_at) = number(kind, text)?;
    let unit = text[unit_at..].trim();
    let factor = factor(kind, text, unit_at, unit)?;
    finite(kind, text, number * factor)
}

/// The value, unless it is too large to be one.
pub fn finite(kind: Kind, text: &str, value: f64) -> Result<f64, UnitFault> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(UnitFault::new(
            0..text.len(),
            format!("'{}' is too large to mean anything", text.trim()),
            format!("write {}, for example {}", kind.noun(), kind.examples()),
        ))
    }
}

/// The leading number of a text, and where what follows it begins.
pub fn number(kind: Kind, text: &str) -> Result<(f64, usize), UnitFault> {
    let start = text.len() - text.trim_start().len();
    let body = &text[start..];
    let allowed = || format!("write {}, for example {}", kind.noun(), kind.examples());
    let end = number_end(body);
    let digits = &body[..end];
    let whole = start..text.trim_end().len().max(start);
    if digits.is_empty() {
        let word = body.trim();
        let found = match word.to_ascii_lowercase() {
            w if w.is_empty() => "nothing is written here".to_owned(),
            w if w.starts_with('-') => format!("'{word}' is negative"),
            w if w.starts_with("nan") || w.starts_with("inf") => {
                format!("'{word}' is not a number that can be measured")
            }
            _ => format!("'{word}' does not begin with a number"),
        };
        return Err(UnitFault::new(whole, found, allowed()));
    }
    let rest = &body[end..];
    if let Some(after) = rest.strip_prefix([',', '\'']) {
        let after_digits = after.bytes().take_while(u8::is_ascii_digit).count();
        if after_digits > 0 {
            let unit = after[after_digits..].trim();
            let point = format!("{digits}.{} {unit}", &after[..after_digits]);
            let joined = format!("{digits}{} {unit}", &after[..after_digits]);
            let help = if after_digits == 3 {
                format!(
                    "write '{}' or, if a decimal was meant, '{}'",
                    joined.trim(),
                    point.trim()
                )
            } else {
                format!("write the decimal with a point: '{}'", point.trim())
            };
            return Err(UnitFault::new(
                start..start + end + 1 + after_digits,
                format!(
                    "'{digits}{}' has a separator inside the number",
                    &rest[..=after_digits]
                ),
                help,
            ));
        }
    }
    match digits.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok((value, start + end)),
        Ok(_) => Err(UnitFault::new(
            start..start + end,
            format!("'{digits}' is too large to mean anything"),
            allowed(),
        )),
        Err(_) => Err(UnitFault::new(
            start..start + end,
            format!("'{digits}' is not a number"),
            allowed(),
        )),
    }
}

/// Digits, one point, and an exponent that really is one (`1e3`, but not the `e` of a word).
fn number_end(body: &str) -> usize {
    let bytes = body.as_bytes();
    let mut end = 0;
    let mut points = 0;
    while let Some(&b) = bytes.get(end) {
        // two points in a row are a range, not a decimal
        let lone_point = b == b'.' && bytes.get(end + 1) != Some(&b'.') && points == 0;
        if b.is_ascii_digit() {
            end += 1;
        } else if lone_point {
            points += 1;
            end += 1;
        } else {
            break;
        }
    }
    if end > 0 && matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let digits = bytes[end + 1 + sign..]
            .iter()
            .take_while(|b| b.is_ascii_digit())
            .count();
        if digits > 0 {
            end += 1 + sign + digits;
        }
    }
    if body[..end].bytes().any(|b| b.is_ascii_digit()) {
        end
    } else {
        0
    }
}

/// Base units in one of the unit written at `unit_at`.
pub fn factor(kind: Kind, text: &str, unit_at: usize, unit: &str) -> Result<f64, UnitFault> {
    if let Some(spelling) = kind.spellings().iter().find(|s| s.text == unit) {
        return Ok(spelling.factor);
    }
    let amount = text[..unit_at].trim();
    let span = if unit.is_empty() {
        text.len() - text.trim_start().len()..text.trim_end().len()
    } else {
        let at = unit_at + text[unit_at..].find(unit).unwrap_or(0);
        at..at + unit.len()
    };
    if unit.is_empty() {
        return Err(without_unit(kind, span, amount));
    }
    if kind == Kind::Count {
        return Err(UnitFault::new(
            span,
            format!("'{unit}' stands behind a plain number"),
            format!("write '{amount}'"),
        )
        .instead(amount));
    }
    if kind == Kind::LinkRate
        && let Some(bytes) = Kind::DataRate.spellings().iter().find(|s| s.text == unit)
    {
        let rate = amount.parse::<f64>().unwrap_or(0.0) * bytes.factor;
        return Err(UnitFault::new(
            span,
            format!("'{unit}' counts bytes; the rate of a link is named in bits"),
            format!(
                "write '{amount} {}' if bits were meant, or '{}' for the same rate in bits",
                unit.replace('B', "b"),
                show::exact_base(Kind::LinkRate, rate)
            ),
        ));
    }
    let same_letters: Vec<&Spelling> = kind
        .spellings()
        .iter()
        .filter(|s| {
            s.text.eq_ignore_ascii_case(unit) || s.text.eq_ignore_ascii_case(&slashed(unit))
        })
        .collect();
    if kind == Kind::DataRate
        && let Some(fault) = bits_or_bytes(&span, amount, unit, &same_letters)
    {
        return Err(fault);
    }
    if let Some(first) = same_letters.first()
        && same_letters
            .iter()
            .all(|s| (s.factor - first.factor).abs() < f64::EPSILON * s.factor)
    {
        let fixed = format!("{amount} {}", first.text);
        return Err(UnitFault::new(
            span,
            format!("'{unit}' is not a unit as written"),
            format!("write '{fixed}'"),
        )
        .instead(fixed));
    }
    if same_letters.len() > 1 {
        let readings: Vec<String> = same_letters
            .iter()
            .map(|s| format!("'{amount} {}'", s.text))
            .collect();
        return Err(UnitFault::new(
            span,
            format!("'{unit}' could be read in more than one way"),
            format!("write {}", readings.join(" or ")),
        ));
    }
    let wrong_kind = [
        Kind::DataRate,
        Kind::Information,
        Kind::Time,
        Kind::Length,
        Kind::Fraction,
        Kind::Frequency,
    ]
    .into_iter()
    .find(|other| *other != kind && other.spellings().iter().any(|s| s.text == unit));
    let found = match wrong_kind {
        Some(other) => format!("'{unit}' makes this {}", other.noun()),
        None => format!("'{unit}' is not a unit of {}", kind.noun()),
    };
    Err(UnitFault::new(
        span,
        found,
        format!("write {}, for example {}", kind.noun(), kind.examples()),
    ))
}

fn without_unit(kind: Kind, span: std::ops::Range<usize>, amount: &str) -> UnitFault {
    let fixed = format!("{amount} {}", kind.usual_unit());
    let help = match kind {
        Kind::DataRate | Kind::LinkRate => format!(
            "write the unit: '{amount} MB/s' are bytes, '{amount} Mb/s' and '{amount} Gb/s' are bits"
        ),
        _ => format!("write the unit, for example '{fixed}'"),
    };
    let fault = UnitFault::new(span, format!("'{amount}' has no unit"), help);
    if matches!(kind, Kind::DataRate | Kind::LinkRate) {
        fault
    } else {
        fault.instead(fixed)
    }
}

/// `mbs`, `mb` and `MBPS` as people write them, brought to the form with a stroke.
fn slashed(unit: &str) -> String {
    let lower = unit.to_ascii_lowercase();
    for ending in ["ps", "/sec", "/s", "s"] {
        if let Some(head) = lower.strip_suffix(ending)
            && (head.ends_with('b') || head.ends_with("bit"))
        {
            return format!("{head}/s");
        }
    }
    if lower.ends_with('b') {
        return format!("{lower}/s");
    }
    unit.to_owned()
}

fn bits_or_bytes(
    span: &std::ops::Range<usize>,
    amount: &str,
    unit: &str,
    same_letters: &[&Spelling],
) -> Option<UnitFault> {
    let pick = |wanted: char| {
        same_letters
            .iter()
            .find(|s| s.text.contains(wanted) && s.text.ends_with("/s"))
    };
    let (bytes, bits) = (pick('B')?, pick('b')?);
    let value = amount.parse::<f64>().ok()?;
    Some(UnitFault::new(
        span.clone(),
        format!("'{unit}' could mean bytes or bits"),
        format!(
            "write '{amount} {}' for bytes, or '{amount} {}' for bits, which is {}",
            bytes.text,
            bits.text,
            show::show_base(Kind::DataRate, value * bits.factor)
        ),
    ))
}
