//! A sentence in parts that may each say something.

/// Parts of a sentence that may each say something: between stops, commas and "and" or "but"; none of a story.
pub(crate) fn parts(text: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let mut rest = text;
    let next = |rest: &str| {
        let all = JOINS
            .iter()
            .filter_map(|join| Some((rest.find(join)?, join.len())));
        all.min()
    };
    while let Some((at, length)) = next(rest) {
        found.push(rest.get(..at).unwrap_or_default());
        rest = rest.get(at + length..).unwrap_or_default();
    }
    found.push(rest);
    found.retain(|part| part.split_whitespace().count() >= SHORTEST_PART);
    if found.len() > MOST_PARTS {
        found.clear();
    }
    found
}

/// What stands between two parts of a sentence; a point or a comma inside a number is none.
const JOINS: [&str; 9] = [
    ", ",
    ". ",
    "; ",
    "! ",
    "\n",
    " and ",
    " but ",
    " while ",
    " although ",
];

/// A sentence of more parts is a story, and says one thing or none.
const MOST_PARTS: usize = 6;

/// Fewer words are the end of something else.
const SHORTEST_PART: usize = 2;

/// Whether parts of a sentence have two numbers or more.
pub(crate) fn two(parts: &[&str]) -> bool {
    let number = |word: &str| word.starts_with(|c: char| c.is_ascii_digit());
    let all = parts.iter().flat_map(|part| part.split_whitespace());
    all.filter(|word| number(word)).count() > 1
}

/// Each remark once, and of two that say of one thing that it is so and is not, neither.
pub(crate) fn without_doubles(all: Vec<String>) -> Vec<String> {
    let about = |id: &str| {
        let end = [
            "-better", "-same", "-worse", "-adds", "-flat", "-high", "-low",
        ];
        let cut = end.iter().find_map(|end| id.strip_suffix(end));
        cut.unwrap_or(id).to_owned()
    };
    let mut found: Vec<String> = Vec::new();
    for id in all {
        if !found.iter().any(|known| about(known) == about(&id)) {
            found.push(id);
        }
    }
    found
}

/// Whether a part is a number of whoever speaks: "40 MB/s", "I get 40 MB/s".
pub(crate) fn is_own_number(part: &str) -> bool {
    let words: Vec<String> = part.split_whitespace().map(str::to_lowercase).collect();
    let number = words
        .iter()
        .any(|word| word.starts_with(|c: char| c.is_ascii_digit()));
    let own = words.iter().any(|word| OWN.contains(&word.as_str()));
    number && (own || words.len() <= BARE)
}

/// Words of whoever speaks.
const OWN: [&str; 8] = ["i", "i'm", "my", "mine", "me", "we", "our", "ours"];

/// Words of a part that is a number and no more.
const BARE: usize = 3;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_of_whoever_speaks_is_told_from_that_of_another_thing() {
        for own in ["40 MB/s", "only 40 MB/s", "while I get 40 MB/s"] {
            assert!(is_own_number(own), "{own}");
        }
        for other in [
            "another laptop gets 112 MB/s",
            "sftp reaches about 1 Gb/s",
            "it is slow",
        ] {
            assert!(!is_own_number(other), "{other}");
        }
    }
}
