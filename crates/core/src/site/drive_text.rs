//! `6 x 10 TB hdd-7200`, taken apart: how many, what one holds, and its class.

use crate::quantity::Kind;

/// Kinds whose units stand behind a capacity, rightly or not.
const UNITS: [Kind; 5] = [
    Kind::Information,
    Kind::Length,
    Kind::Time,
    Kind::DataRate,
    Kind::LinkRate,
];

/// A description of drives, taken apart; each piece with its offset in the text.
pub(crate) struct Pieces<'t> {
    pub(crate) count: Option<(usize, &'t str)>,
    pub(crate) capacity: Option<(usize, &'t str)>,
    pub(crate) class: Option<(usize, &'t str)>,
}

impl Pieces<'_> {
    /// The same pieces of a text that begins so many bytes later.
    pub(crate) fn behind(mut self, bytes: usize) -> Self {
        for (at, _) in [&mut self.count, &mut self.capacity, &mut self.class]
            .into_iter()
            .flatten()
        {
            *at += bytes;
        }
        self
    }
}

/// `6 x 10 TB hdd-7200` into its three pieces, each of which may be missing.
pub(crate) fn pieces(text: &str) -> Pieces<'_> {
    let (count, rest_at) = count_piece(text);
    let rest = text.get(rest_at..).unwrap_or_default();
    // a capacity is a number and its unit; a class begins with a letter
    let body_at = rest_at + rest.len() - rest.trim_start().len();
    let body = text.get(body_at..).unwrap_or_default().trim_end();
    let is_number = |c: char| c.is_ascii_digit() || c == '.' || c == '-' || c == '+';
    if !body.starts_with(is_number) {
        return Pieces {
            count,
            capacity: None,
            class: (!body.is_empty()).then_some((body_at, body)),
        };
    }
    let cut = class_start(body);
    let (head, tail) = body.split_at(cut);
    Pieces {
        count,
        capacity: Some((body_at, head.trim_end())),
        class: (!tail.is_empty()).then_some((body_at + cut, tail)),
    }
}

/// Sets of drives with their places, `3 x 10 TB, 3 x 8 TB` or with a plus between. A comma between classes
/// with weights, or in a number, has no count and sign behind it.
pub(crate) fn sets_of(text: &str) -> Vec<(usize, &str)> {
    let begins = |rest: &str| {
        let rest = rest.trim_start();
        let behind = rest.trim_start_matches(|c: char| c.is_ascii_digit());
        let counted = behind.len() < rest.len();
        counted && behind.trim_start().starts_with(['x', 'X', '\u{d7}', '*'])
    };
    let mut found = Vec::new();
    let mut start = 0;
    for (at, sign) in text.char_indices() {
        let rest = text.get(at + sign.len_utf8()..).unwrap_or_default();
        if matches!(sign, ',' | ';' | '+') && begins(rest) {
            found.push((start, text.get(start..at).unwrap_or_default()));
            start = at + sign.len_utf8();
        }
    }
    found.push((start, text.get(start..).unwrap_or_default()));
    found
}

/// How many, and where the rest begins.
fn count_piece(text: &str) -> (Option<(usize, &str)>, usize) {
    let start = text.len() - text.trim_start().len();
    let body = text.get(start..).unwrap_or_default();
    let number = body
        .find(|c: char| !(c.is_ascii_alphanumeric() || c == '-' || c == '.'))
        .unwrap_or(body.len());
    let (word, after) = body.split_at(number);
    // "6x 10 TB" and "6 x 10 TB"
    if let Some(digits) = word.strip_suffix(['x', 'X'])
        && !digits.is_empty()
        && digits.chars().all(|c| c.is_ascii_digit())
    {
        return (Some((start, digits)), start + word.len());
    }
    let gap = after.len() - after.trim_start().len();
    for sign in ["x ", "X ", "×", "* "] {
        if !word.is_empty()
            && let Some(rest) = after.trim_start().strip_prefix(sign)
        {
            return (
                Some((start, word)),
                start + number + gap + sign.len() - usize::from(rest.is_empty() && sign.len() == 2),
            );
        }
    }
    if after.trim() == "x" {
        return (Some((start, word)), text.len());
    }
    (None, start)
}

/// Where the class begins in `10 TB hdd-7200`: at the word behind the number's unit.
fn class_start(body: &str) -> usize {
    let mut spaces = 0;
    let mut inside = false;
    for (at, c) in body.char_indices() {
        if c.is_whitespace() {
            inside = false;
            continue;
        }
        if !inside {
            inside = true;
            let word: &str = body.get(at..).unwrap_or_default();
            // units of any kind: a wrong one is a fault of the capacity, not of the class
            let is_unit = UNITS.iter().flat_map(|k| k.spellings()).any(|s| {
                word.get(..s.text.len())
                    .is_some_and(|w| w.eq_ignore_ascii_case(s.text))
                    && word
                        .get(s.text.len()..)
                        .is_none_or(|r| r.is_empty() || r.starts_with([' ', '\t', '.', '+']))
            });
            if spaces > 0 && c.is_alphabetic() && !is_unit {
                return at;
            }
            spaces += 1;
        }
    }
    body.len()
}

#[cfg(test)]
mod tests {
    use super::pieces;

    #[test]
    fn drives_are_taken_apart() {
        let taken = |text| {
            let p = pieces(text);
            (
                p.count.map(|c| c.1),
                p.capacity.map(|c| c.1),
                p.class.map(|c| c.1),
            )
        };
        for (text, expected) in [
            (
                "6 x 10 TB hdd-7200",
                (Some("6"), Some("10 TB"), Some("hdd-7200")),
            ),
            (
                "6x 10TB hdd-7200",
                (Some("6"), Some("10TB"), Some("hdd-7200")),
            ),
            ("6 × 10 TB", (Some("6"), Some("10 TB"), None)),
            ("10 TB hdd-7200", (None, Some("10 TB"), Some("hdd-7200"))),
            ("4 x hdd", (Some("4"), None, Some("hdd"))),
            ("4 x", (Some("4"), None, None)),
            ("nvme-gen3", (None, None, Some("nvme-gen3"))),
            (
                "2 x 8..10 TB unknown",
                (Some("2"), Some("8..10 TB"), Some("unknown")),
            ),
            (
                "2 x 8 TB..10 TB hdd",
                (Some("2"), Some("8 TB..10 TB"), Some("hdd")),
            ),
            ("-1 x 8 TB", (Some("-1"), Some("8 TB"), None)),
            ("0 x 8 TB", (Some("0"), Some("8 TB"), None)),
            ("", (None, None, None)),
            (
                "3 x 1 TB hdd 60 %, hdd-smr 40 %",
                (Some("3"), Some("1 TB"), Some("hdd 60 %, hdd-smr 40 %")),
            ),
        ] {
            assert_eq!(taken(text), expected, "{text}");
        }
    }
}
