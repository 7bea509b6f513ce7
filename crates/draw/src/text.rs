use maud::{Markup, html};
use unicode_width::UnicodeWidthChar;

/// Columns of the longest name on the page: more fills a row that no sheet of paper holds.
const NAME: usize = 160;

/// A text in which nothing is left that a page, a picture or the order of letters would obey.
///
/// Markup is escaped where it is written. What XML forbids, and what turns the direction of everything
/// behind it, becomes a mark in its place.
pub(crate) fn plain(text: &str) -> String {
    text.chars()
        .map(|c| {
            let turns = matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
            if turns || (c.is_control() && c != '\n') || matches!(c, '\u{fffe}' | '\u{ffff}') {
                '\u{fffd}'
            } else {
                c
            }
        })
        .collect()
}

/// A name from a file: text with a direction of its own, and the whole of it as its title where it is too long for a row.
pub(crate) fn named(text: &str) -> Markup {
    let whole = plain(text);
    let shown = cut(&whole, NAME);
    let title = (shown != whole).then_some(&whole);
    html! { bdi title=[title] { (shown) } }
}

/// How many letters of the usual width a text takes.
pub(crate) fn columns(text: &str) -> usize {
    text.chars().map(|c| c.width().unwrap_or(1)).sum()
}

/// A text in at most so many columns; what is left out is marked.
pub(crate) fn cut(text: &str, most: usize) -> String {
    let text = plain(text);
    if columns(&text) <= most {
        return text;
    }
    let mut kept = String::new();
    let mut taken = 1;
    for c in text.chars() {
        taken += c.width().unwrap_or(1);
        if taken > most {
            break;
        }
        kept.push(c);
    }
    format!("{}\u{2026}", kept.trim_end())
}

/// A text in lines of at most so many columns, broken at blanks; a longer word is cut.
pub(crate) fn lines(text: &str, most: usize) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for word in plain(text).split_whitespace() {
        let word = cut(word, most);
        match found.last_mut() {
            Some(line) if columns(line) + 1 + columns(&word) <= most => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => found.push(word),
        }
    }
    found
}

/// Names in a sentence.
pub(crate) fn listed<T: AsRef<str>>(names: &[T]) -> String {
    match names {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_turns_letters_round_is_taken_out() {
        assert_eq!(plain("a\u{202e}b\u{0}c"), "a\u{fffd}b\u{fffd}c");
        assert_eq!(plain("תחנה 1"), "תחנה 1");
    }

    #[test]
    fn long_names_are_cut_by_the_room_that_they_take() {
        assert_eq!(cut("colour", 6), "colour");
        assert_eq!(cut("colours", 6), "colou\u{2026}");
        assert_eq!(cut("東京東京", 5), "東京\u{2026}");
        assert!(columns(&cut(&"x".repeat(10_000), 20)) <= 20);
    }

    #[test]
    fn long_names_are_whole_in_their_title() {
        assert_eq!(named("a<b").into_string(), "<bdi>a&lt;b</bdi>");
        let long = "x\"".repeat(5_000);
        let shown = named(&long).into_string();
        let (title, text) = shown.split_once('>').unwrap();
        assert_eq!(
            title,
            format!("<bdi title=\"{}\"", long.replace('"', "&quot;"))
        );
        assert!(
            text.ends_with("\u{2026}</bdi>") && text.replace("&quot;", "'").len() < 180,
            "{text}"
        );
    }

    #[test]
    fn lines_are_broken_at_blanks() {
        assert_eq!(lines("one two three", 8), ["one two", "three"]);
        assert_eq!(lines("", 8), Vec::<String>::new());
    }
}
