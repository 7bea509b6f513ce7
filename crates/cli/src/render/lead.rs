//! The first lines of every answer: what one gets, why, and what to do next.

use super::prose::paragraph;

/// Columns by which the following lines of a statement are set in.
const SET_IN: usize = 2;

/// What an answer begins with.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Lead {
    /// What one gets.
    pub what: String,
    /// What makes it so.
    pub why: Option<String>,
    /// What to do next.
    pub next: Option<String>,
}

impl Lead {
    /// Each statement begins a line; what does not fit is set in.
    pub(crate) fn text(&self, width: usize) -> String {
        let why = self.why.as_ref().map(|why| format!("Why: {why}"));
        let next = self.next.as_ref().map(|next| format!("Next: {next}"));
        [Some(self.what.clone()), why, next]
            .into_iter()
            .flatten()
            .map(|statement| hanging(&statement, width) + "\n")
            .collect()
    }
}

/// A statement whose following lines are set in.
pub(crate) fn hanging(text: &str, width: usize) -> String {
    paragraph(text, width, SET_IN)
}

/// With a capital letter in front.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first: String = letters
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .collect();
    format!("{first}{}", letters.as_str())
}

/// A place with its article, unless it has one or belongs to somebody.
pub(crate) fn the(name: &str) -> String {
    let has = ["its ", "their ", "all ", "the "];
    if name.is_empty() || has.iter().any(|begin| name.starts_with(begin)) {
        name.to_owned()
    } else {
        format!("the {name}")
    }
}

/// Names with commas and an "and"; where they are many, how many more there are.
pub(crate) fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [a, b] => format!("{a} and {b}"),
        [a, b, c] => format!("{a}, {b} and {c}"),
        [a, rest @ ..] => format!("{a} and {} more", rest.len()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_statement_begins_a_line() {
        let lead = Lead {
            what: "a b c d e f".to_owned(),
            why: Some("g".to_owned()),
            next: None,
        };
        assert_eq!(lead.text(9), "a b c d\n  e f\nWhy: g\n");
        assert_eq!(lead.text(40), "a b c d e f\nWhy: g\n");
    }

    #[test]
    fn many_names_are_counted() {
        assert_eq!(listed(&["a", "b"]), "a and b");
        assert_eq!(listed(&["a", "b", "c", "d"]), "a and 3 more");
    }
}
