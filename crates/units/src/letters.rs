//! Letters that a person cannot see or that a terminal would obey.

/// Whether a letter is invisible, turns the direction of writing, or is an instruction to a terminal:
/// C0 and C1 controls (ECMA-48), joiners and spaces without width, direction marks and isolates (Unicode
/// Standard Annex 9), separators of lines, annotation marks and tags. A line feed and a tab are among
/// them: neither belongs in a name.
///
/// Checked by `hidden_letters_are_those_that_nobody_sees`.
pub fn is_hidden(letter: char) -> bool {
    letter.is_control()
        || matches!(letter,
            '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    use super::is_hidden;

    #[test]
    fn hidden_letters_are_those_that_nobody_sees() {
        for hidden in "\u{0}\u{7}\u{1b}\t\n\r\u{7f}\u{85}\u{9b}\u{200b}\u{200d}\u{202e}\u{2066}\u{feff}\u{e0041}".chars() {
            assert!(is_hidden(hidden), "{}", hidden.escape_unicode());
        }
        for seen in "aZ9-_. äß東京אبñ€🎬".chars() {
            assert!(!is_hidden(seen), "{seen}");
        }
    }
}
