use super::{Kind, Measure};

/// A quantity at three significant digits, in the unit that its kind is shown in.
pub fn show<Q: Measure>(value: Q) -> String {
    show_base(Q::KIND, value.base())
}

/// As [`show`], for a kind known only at run time.
pub fn show_base(kind: Kind, base: f64) -> String {
    with_unit(kind, base, three_digits)
}

/// A quantity with all its digits: what a person wrote is never rounded when it is shown again.
pub fn exact<Q: Measure>(value: Q) -> String {
    exact_base(Q::KIND, value.base())
}

/// As [`exact`], for a kind known only at run time.
pub fn exact_base(kind: Kind, base: f64) -> String {
    // twelve digits hide the last bits of a conversion and nothing a person could mean
    with_unit(kind, base, |x| {
        let rounded: f64 = format!("{x:.11e}").parse().unwrap_or(x);
        format!("{rounded}")
    })
}

/// Several base numbers of one kind with all their digits, in the unit that fits the largest.
///
/// The numbers come without their unit, which is written once.
pub fn exact_together(kind: Kind, bases: &[f64]) -> (Vec<String>, &'static str) {
    let largest = bases.iter().copied().fold(0.0, f64::max);
    let unit = kind
        .display_units()
        .iter()
        .rev()
        .find(|u| largest >= u.factor * (1.0 - 1e-12))
        .or_else(|| kind.display_units().first());
    let (factor, text) = unit.map_or((1.0, ""), |u| (u.factor, u.text));
    let digits = |x: f64| {
        let rounded: f64 = format!("{x:.11e}").parse().unwrap_or(x);
        format!("{rounded}")
    };
    (bases.iter().map(|b| digits(b / factor)).collect(), text)
}

fn with_unit(kind: Kind, base: f64, digits: impl Fn(f64) -> String) -> String {
    let mut rest = kind.display_units().iter();
    let Some(mut unit) = rest.next() else {
        return digits(base);
    };
    let rounded = |factor: f64, base: f64| {
        digits(base / factor)
            .parse::<f64>()
            .map_or(base, |x| x * factor)
    };
    // The step to the next unit is taken on the rounded value, or 59.96 s would read "60.0 s".
    let mut value = rounded(unit.factor, base);
    for next in rest {
        if value.abs() < next.factor * (1.0 - 1e-12) {
            break;
        }
        unit = next;
        value = rounded(next.factor, base.max(next.factor));
    }
    let number = digits(value / unit.factor);
    if unit.text.is_empty() {
        number
    } else {
        format!("{number} {}", unit.text)
    }
}

/// A number at six significant digits, with which answers are written so that the same answer reads the same
/// on every machine. What is no number stays as it is.
///
/// ```
/// use narrows_units::quantity::six_digits;
/// assert_eq!(six_digits(117.654_321), 117.654);
/// assert_eq!(six_digits(1_234_567.0), 1_234_570.0);
/// ```
pub fn six_digits(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

/// Three significant digits without an exponent: `0.123`, `11.7`, `118`, `1180`.
pub fn three_digits(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 {
            "0".to_owned()
        } else {
            format!("{value}")
        };
    }
    let rounded: f64 = format!("{value:.2e}").parse().unwrap_or(value);
    let exponent = rounded.abs().log10().floor() as i32;
    let decimals = usize::try_from(2 - exponent).unwrap_or(0).min(12);
    format!("{rounded:.decimals$}")
}
