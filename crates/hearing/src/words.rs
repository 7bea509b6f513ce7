//! A text as plain words: small letters, contractions opened, compounds parted, numbers and signs by
//! themselves.

/// One word with its place in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Word {
    /// In small letters.
    pub text: String,
    /// Bytes of the text that it was made from.
    pub span: std::ops::Range<usize>,
}

/// Signs that say something between words.
const SIGNS: &[(&str, &str)] = &[
    (">>", ">>"),
    ("->", ">"),
    ("=>", ">"),
    ("\u{2192}", ">"),
    (">", ">"),
    ("<", "<"),
    ("=", "="),
    ("+", "+"),
    ("%", "%"),
    ("&", "and"),
    ("?", "?"),
];

/// Contractions that end in these are opened.
const ENDINGS: &[(&str, &str)] = &[
    ("n't", "not"),
    ("'s", ""),
    ("'re", ""),
    ("'ve", ""),
    ("'ll", "will"),
    ("'d", ""),
    ("'m", ""),
];

/// The same without their apostrophe, and other words that are two.
const OPENED: &[(&str, &[&str])] = &[
    ("dont", &["do", "not"]),
    ("doesnt", &["does", "not"]),
    ("didnt", &["did", "not"]),
    ("isnt", &["is", "not"]),
    ("arent", &["are", "not"]),
    ("wasnt", &["was", "not"]),
    ("werent", &["were", "not"]),
    ("cant", &["can", "not"]),
    ("cannot", &["can", "not"]),
    ("wont", &["will", "not"]),
    ("couldnt", &["could", "not"]),
    ("wouldnt", &["would", "not"]),
    ("shouldnt", &["should", "not"]),
    ("hasnt", &["has", "not"]),
    ("havent", &["have", "not"]),
    ("hadnt", &["had", "not"]),
    ("aint", &["is", "not"]),
    ("can't", &["can", "not"]),
    ("won't", &["will", "not"]),
    ("ain't", &["is", "not"]),
    ("thats", &["that"]),
    ("theres", &["there"]),
    ("whats", &["what"]),
    ("w/o", &["without"]),
    ("w/", &["with"]),
];

fn inner(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// Splits a text.
pub(crate) fn words(text: &str) -> Vec<Word> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..) {
        let Some(c) = rest.chars().next() else { break };
        if let Some((sign, word)) = SIGNS.iter().find(|(sign, _)| rest.starts_with(sign)) {
            push(&mut found, word, at..at + sign.len());
            at += sign.len();
        } else if inner(c) {
            let length = length(rest);
            let shown = rest.get(..length).unwrap_or_default();
            part(&mut found, shown, at);
            at += length;
        } else {
            at += c.len_utf8();
        }
    }
    found
}

/// Bytes of the word at the start: letters and digits, with an apostrophe or a point between.
fn length(rest: &str) -> usize {
    let mut letters = rest.char_indices().peekable();
    let mut end = 0;
    let mut digits = false;
    while let Some((i, c)) = letters.next() {
        let next = letters.peek().map(|(_, c)| *c);
        let joins = match c {
            '\'' | '\u{2019}' => next.is_some_and(char::is_alphabetic),
            '.' | ',' => digits && next.is_some_and(|c| c.is_ascii_digit()),
            // f/w, w/o
            '/' => i == 1 && next.is_some_and(char::is_alphabetic),
            _ => false,
        };
        if !(inner(c) || joins) {
            break;
        }
        digits = c.is_ascii_digit();
        end = i + c.len_utf8();
    }
    end.max(1)
}

fn part(found: &mut Vec<Word>, shown: &str, at: usize) {
    let lower = shown.to_lowercase().replace('\u{2019}', "'");
    let span = at..at + shown.len();
    if let Some((_, all)) = OPENED.iter().find(|(word, _)| *word == lower) {
        for word in *all {
            push(found, word, span.clone());
        }
        return;
    }
    for (ending, second) in ENDINGS {
        if let Some(first) = lower.strip_suffix(ending) {
            push(found, first, span.clone());
            push(found, second, span);
            return;
        }
    }
    push(found, &lower, span);
}

fn push(found: &mut Vec<Word>, word: &str, span: std::ops::Range<usize>) {
    if !word.is_empty() {
        found.push(Word {
            text: word.to_owned(),
            span,
        });
    }
}

/// A word without the endings of its forms.
pub(crate) fn stem(word: &str) -> &str {
    for ending in ["ing", "edly", "ed", "ly", "es", "s"] {
        if let Some(short) = word.strip_suffix(ending)
            && short.chars().count() >= 3
            && !short.ends_with('s')
        {
            return short;
        }
    }
    word
}
