//! The nearest known name to one that is not known.

/// The name that was probably meant: at most a third of the letters differ, case aside.
pub fn nearest<'a>(word: &str, names: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase();
    names
        .map(|name| {
            (
                strsim::damerau_levenshtein(&word, &name.to_lowercase()),
                name,
            )
        })
        .filter(|(distance, name)| {
            let longer = word.chars().count().max(name.chars().count());
            *distance <= (longer / 3).max(1) && longer > 1
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn near_names_are_offered_and_far_ones_are_not() {
        let names = ["length", "cable", "from", "rate", "bundle"];
        for (word, expected) in [
            ("lenght", Some("length")),
            ("form", Some("from")),
            ("RATE", Some("rate")),
            ("bandwidth", None),
            ("xyz", None),
            ("", None),
        ] {
            assert_eq!(nearest(word, names.into_iter()), expected, "{word}");
        }
    }
}
