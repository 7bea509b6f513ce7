use super::table::{all_tied as tied, wrapped};
use narrows_core::array::Bytes;
use narrows_core::quantity::{
    DataRate, Information, Ratio, Time, in_megabytes_per_second, show, three_digits, units,
};
use unicode_width::UnicodeWidthStr;

/// A sentence, with its following lines set in.
pub(crate) fn paragraph(text: &str, width: usize, indent: usize) -> String {
    let width = width.saturating_sub(indent);
    let lines = wrapped(&whole_arguments(text, width), width);
    lines.join(&format!("\n{}", " ".repeat(indent)))
}

/// What is to be typed behind `--set` stays on a line where there is room, since it is copied.
fn whole_arguments(text: &str, width: usize) -> String {
    const SET: &str = "--set '";
    let mut parts = text.split(SET);
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        out.push_str(SET);
        match part.split_once('\'') {
            Some((typed, rest)) if typed.width() + 2 <= width => {
                out.extend([&tied(typed), "'", rest]);
            }
            _ => out.push_str(part),
        }
    }
    out
}

/// A list item.
pub(crate) fn item(text: &str, width: usize) -> String {
    format!(
        "  - {}",
        paragraph(text, width.saturating_sub(4), 0).replace('\n', "\n    ")
    )
}

/// Megabytes a second without the unit, for a column that has it in its head.
pub(crate) fn rate(rate: DataRate) -> String {
    three_digits(in_megabytes_per_second(rate))
}

/// Minutes without the unit, for a column that has it in its head.
pub(crate) fn minutes(time: Time) -> String {
    three_digits(time.get::<narrows_core::quantity::units::time::minute>())
}

/// Terabytes without the unit, to whole gigabytes; `0` only where there is nothing at all.
pub(crate) fn terabytes(exact: Bytes, rounded: Information) -> String {
    if exact == Bytes::default() {
        "0".to_owned()
    } else {
        format!("{:.3}", rounded.get::<units::information::terabyte>())
    }
}

/// Terabytes that are over (or missing) without the unit, with their sign.
pub(crate) fn signed_terabytes(size: Bytes, over: bool) -> String {
    let sign = if over { "+" } else { "-" };
    let size = size.information().get::<units::information::terabyte>();
    format!("{sign}{size:.3}")
}

/// Binary terabytes without the unit.
pub(crate) fn tebibytes(size: Bytes) -> String {
    let size = size.information().get::<units::information::tebibyte>();
    format!("{size:.3}")
}

/// A size at three digits, in the decimal unit that fits.
pub(crate) fn decimal(size: Bytes) -> String {
    show(size.information())
}

/// Binary terabytes at three digits.
pub(crate) fn in_tebibytes(size: Bytes) -> String {
    let size = size.information().get::<units::information::tebibyte>();
    format!("{} TiB", three_digits(size))
}

/// A number at two digits, without a nought behind the point: `0.6`, `2.4`, `19`, `120`.
pub(crate) fn two_digits(value: f64) -> String {
    let rounded: f64 = format!("{value:.1e}").parse().unwrap_or(value);
    let text = three_digits(rounded);
    if text.contains('.') {
        let text = text.trim_end_matches('0').trim_end_matches('.');
        return text.to_owned();
    }
    text
}

/// A time at two digits in the unit that a person would say: `40 s`, `19 min`, `5.5 h`, `3 days`.
pub(crate) fn about(time: Time) -> String {
    use units::time::{day, hour, minute, second};
    let hours = time.get::<hour>();
    if hours >= 48.0 {
        format!("{} days", two_digits(time.get::<day>()))
    } else if hours >= 1.0 {
        format!("{} h", two_digits(hours))
    } else if time.get::<minute>() >= 1.0 {
        format!("{} min", two_digits(time.get::<minute>()))
    } else {
        format!("{} s", two_digits(time.get::<second>()))
    }
}

/// So many cases of a hundred; never none or all unless it is.
pub(crate) fn of_100(chance: f64) -> String {
    let count = chance * 100.0;
    if chance > 0.0 && count < 1.0 {
        "under 1".to_owned()
    } else if chance < 1.0 && count > 99.0 {
        "over 99".to_owned()
    } else {
        format!("{count:.0}")
    }
}

/// A share at two digits: a narrow miss is told apart from none.
pub(crate) fn fine_share(share: Ratio) -> String {
    let percent = share.get::<units::ratio::percent>();
    if percent < 10.0 {
        format!("{percent:.1} %")
    } else {
        format!("{percent:.0} %")
    }
}

/// A share as a whole percentage; never 0 or 100 unless it is.
pub(crate) fn share(value: f64) -> String {
    let percent = value * 100.0;
    if value > 0.0 && percent < 1.0 {
        "under 1 %".to_owned()
    } else if value < 1.0 && percent > 99.0 {
        "over 99 %".to_owned()
    } else {
        format!("{percent:.0} %")
    }
}

/// So many of something.
pub(crate) fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// A phrase as a sentence: a capital letter in front, a full stop behind.
pub(crate) fn sentence(phrase: &str) -> String {
    let mut letters = phrase.chars();
    let first: String = letters
        .next()
        .map(|c| c.to_uppercase().collect())
        .unwrap_or_default();
    format!("{first}{}.", letters.as_str().trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn certainty_is_not_rounded_into_being() {
        assert_eq!(share(0.9999), "over 99 %");
        assert_eq!(share(0.0001), "under 1 %");
        assert_eq!(share(1.0), "100 %");
        assert_eq!(share(0.0), "0 %");
        assert_eq!(share(0.456), "46 %");
    }

    #[test]
    fn two_digits_are_all_that_is_meant() {
        for (value, text) in [
            (0.6, "0.6"),
            (19.04, "19"),
            (123.0, "120"),
            (2.44, "2.4"),
            (0.0, "0"),
            (9.96, "10"),
        ] {
            assert_eq!(two_digits(value), text);
        }
        for (seconds, text) in [
            (30.0, "30 s"),
            (90.0, "1.5 min"),
            (7200.0, "2 h"),
            (259_200.0, "3 days"),
        ] {
            assert_eq!(about(narrows_core::quantity::seconds(seconds)), text);
        }
        assert_eq!(
            (of_100(0.5), of_100(0.999)),
            ("50".to_owned(), "over 99".to_owned())
        );
    }

    #[test]
    fn phrases_become_sentences() {
        assert_eq!(sentence("look at it"), "Look at it.");
        assert_eq!(sentence("Look."), "Look.");
        assert_eq!(counted(1, "desk", "desks"), "1 desk");
    }

    #[test]
    fn following_lines_are_set_in() {
        assert_eq!(item("one two three", 11), "  - one two\n    three");
    }
}
