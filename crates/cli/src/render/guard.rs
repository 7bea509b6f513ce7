//! The last gate before a screen: what nobody can see, or a terminal would obey, is shown in writing.
//!
//! Names, cells, paths and arguments come from outside and end up in answers and refusals. They pass
//! here, wherever they came from and whichever command prints them.

use narrows_core::letters::is_hidden;
use std::io::{self, Write};

/// The longest sequence of our own that sets a colour.
const LONGEST_STYLE: usize = 24;

/// Passes text on; hidden letters become `\u` and four hexadecimal digits, which JSON reads back as the same
/// letter. Line feeds, tabs and sequences that only set a style pass.
pub(crate) struct Guard<W: Write> {
    inner: W,
    /// The beginning of a letter whose other bytes are still to come.
    begun: Vec<u8>,
}

impl<W: Write> Guard<W> {
    pub(crate) fn new(inner: W) -> Self {
        Self {
            inner,
            begun: Vec::new(),
        }
    }

    fn pass(&mut self, text: &str) -> io::Result<()> {
        let mut kept = 0;
        let mut letters = text.char_indices();
        while let Some((at, letter)) = letters.next() {
            if !is_hidden(letter) || letter == '\n' || letter == '\t' {
                continue;
            }
            if letter == '\u{1b}'
                && let Some(length) = style(text.get(at + 1..).unwrap_or_default())
            {
                // the letters of a style are one byte each
                letters.nth(length.saturating_sub(1));
                continue;
            }
            self.inner
                .write_all(text.get(kept..at).unwrap_or_default().as_bytes())?;
            let mut units = [0; 2];
            for unit in letter.encode_utf16(&mut units) {
                write!(self.inner, "\\u{unit:04x}")?;
            }
            kept = at + letter.len_utf8();
        }
        self.inner
            .write_all(text.get(kept..).unwrap_or_default().as_bytes())
    }
}

/// How long the rest of a sequence is that sets a style (ECMA-48 8.3.117) and does nothing else.
fn style(rest: &str) -> Option<usize> {
    let parameters = rest.strip_prefix('[')?;
    let end = parameters.find(|c: char| !c.is_ascii_digit() && c != ';')?;
    (parameters.get(end..)?.starts_with('m') && end < LONGEST_STYLE).then_some(end + 2)
}

impl<W: Write> Write for Guard<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let joined;
        let mut rest = if self.begun.is_empty() {
            bytes
        } else {
            let mut all = std::mem::take(&mut self.begun);
            all.extend_from_slice(bytes);
            joined = all;
            &joined
        };
        loop {
            match std::str::from_utf8(rest) {
                Ok(text) => {
                    self.pass(text)?;
                    break;
                }
                Err(error) => {
                    let (good, bad) = rest.split_at(error.valid_up_to());
                    self.pass(std::str::from_utf8(good).unwrap_or_default())?;
                    let Some(length) = error.error_len() else {
                        self.begun = bad.to_vec();
                        break;
                    };
                    self.pass("\u{fffd}")?;
                    rest = bad.get(length..).unwrap_or_default();
                }
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn through(pieces: &[&[u8]]) -> String {
        let mut guard = Guard::new(Vec::new());
        for piece in pieces {
            guard.write_all(piece).unwrap();
        }
        String::from_utf8(guard.inner).unwrap()
    }

    #[test]
    fn what_a_terminal_would_obey_is_shown_in_writing() {
        for (hostile, shown) in [
            ("a\u{1b}]0;title\u{7}b", "a\\u001b]0;title\\u0007b"),
            ("a\u{1b}[2Jb", "a\\u001b[2Jb"),
            ("exe.\u{202e}gpj", "exe.\\u202egpj"),
            ("a\u{9b}31mb", "a\\u009b31mb"),
            ("a\rb\u{8}c", "a\\u000db\\u0008c"),
            ("\u{e0041}", "\\udb40\\udc41"),
        ] {
            assert_eq!(through(&[hostile.as_bytes()]), shown);
        }
    }

    #[test]
    fn lines_letters_and_our_own_styles_pass() {
        let plain = "a\tb\nä東京 \u{1b}[1;31mred\u{1b}[0m\n";
        assert_eq!(through(&[plain.as_bytes()]), plain);
    }

    #[test]
    fn a_letter_in_two_pieces_is_one_letter() {
        let bytes = "x\u{202e}ä".as_bytes();
        for cut in 0..bytes.len() {
            let (head, tail) = bytes.split_at(cut);
            assert_eq!(through(&[head, tail]), "x\\u202eä");
        }
        assert_eq!(through(&[b"a\xffb"]), "a\u{fffd}b");
    }

    proptest! {
        #[test]
        fn property_nothing_hidden_leaves(text in "\\PC*|.*", noise in proptest::collection::vec(any::<char>(), 0..20)) {
            let whole: String = text.chars().chain(noise).collect();
            let out = through(&[whole.as_bytes()]);
            let bare = out.replace(['\n', '\t'], "");
            // only a style may still begin with an escape
            for (at, letter) in bare.char_indices() {
                let allowed = letter == '\u{1b}' && style(&bare[at + 1..]).is_some();
                prop_assert!(allowed || !is_hidden(letter));
            }
        }
    }
}
