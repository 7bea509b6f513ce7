//! The nearest known name to one that is not known.

/// The name that was probably meant: at most a third of the letters differ, case aside. Another
/// number, or another letter behind one, is another thing and no slip of the pen: cat6 is never
/// offered for cat5, nor raid0 for raid6.
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
            if numbers(name) != numbers(&word) && !looks_like(&word, name) {
                return false;
            }
            let longer = word.chars().count().max(name.chars().count());
            *distance <= (longer / 3).max(1) && longer > 1
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

/// The numbers of a name, each with the letter that stands right behind it: 6 of raid6, 5e of cat5e.
fn numbers(name: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let mut digits = false;
    for c in name.chars() {
        let digit = c.is_ascii_digit();
        match found.last_mut() {
            Some(last) if digits && c.is_alphanumeric() => last.extend(c.to_lowercase()),
            _ if digit => found.push(c.to_string()),
            _ => {}
        }
        digits = digit;
    }
    found
}

/// Whether two names differ only in letters that are read for digits: `cut-l` for cut-1.
fn looks_like(word: &str, name: &str) -> bool {
    let name = name.to_lowercase();
    let alike = |(a, b): (char, char)| {
        a == b
            || matches!(
                (a, b),
                ('l' | 'i', '1') | ('o', '0') | ('1', 'l' | 'i') | ('0', 'o')
            )
    };
    word.chars().count() == name.chars().count() && word.chars().zip(name.chars()).all(alike)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn another_number_is_another_thing() {
        for (word, names, expected) in [
            ("cat 5f", &["cat5", "cat5e", "cat6"][..], None),
            ("ct5e", &["cat5", "cat5e", "cat6"], Some("cat5e")),
            ("raid7", &["raid0", "raid6"], None),
            ("cut-3", &["cut-1", "cut-2"], None),
            ("h.265", &["H.264"], None),
            ("hdd-720", &["hdd-7200"], None),
            ("cut-l", &["cut-1", "cut-2"], Some("cut-1")),
            ("catx", &["cat5"], None),
            ("prores 422 qh", &["ProRes 422 HQ"], Some("ProRes 422 HQ")),
        ] {
            assert_eq!(nearest(word, names.iter().copied()), expected, "{word}");
        }
    }

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
