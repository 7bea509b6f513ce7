//! New inputs out of old ones.

use rand_core::Rng;
use rand_pcg::Pcg64Mcg;

/// Longest input: beyond it readers refuse by length and nothing new is seen.
const LONGEST: usize = 8 << 10;

/// Pieces at which readers decide something.
const TOKENS: &[&str] = &[
    "\"",
    "'",
    "\\",
    "\n",
    "\r\n",
    ",",
    ";",
    "\t",
    "=",
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    "..",
    "+-",
    "%",
    " x ",
    "*",
    "0",
    "-1",
    "1e309",
    "NaN",
    "inf",
    "99999999999999999999",
    "0.0000001",
    "1,5",
    " MB/s",
    " Gb/s",
    " GB",
    " TiB",
    " m",
    " ft",
    " ms",
    "raid6",
    "raidz2",
    "cat5e",
    "\u{feff}",
    "\u{202e}",
    "\u{0}",
    "\u{1b}[2J",
    "\u{a0}",
    "ß",
    "東",
    "🎬",
    "e\u{301}",
    "sep=;\n",
    "#",
    "unknown",
    "yes",
    "50 %",
    "cut-1",
    "vault",
    "read",
    "write",
];

/// Random choices of one run, repeatable from its seed.
pub struct Chance(Pcg64Mcg);

impl Chance {
    /// From a seed that is printed.
    pub fn new(seed: u64) -> Self {
        Self(Pcg64Mcg::new(u128::from(seed) << 1 | 1))
    }

    /// A whole number below `end`; 0 where there is none.
    pub fn below(&mut self, end: usize) -> usize {
        let end = end.max(1) as u64;
        (self.0.next_u64() % end) as usize
    }
}

/// One to six changes of an input: letters turned, cut, doubled, tokens put in, another input spliced.
pub fn mutated(chance: &mut Chance, seed: &[u8], other: &[u8]) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for _ in 0..=chance.below(6) {
        change(chance, &mut bytes, other);
    }
    bytes.truncate(LONGEST);
    bytes
}

fn change(chance: &mut Chance, bytes: &mut Vec<u8>, other: &[u8]) {
    let at = chance.below(bytes.len() + 1);
    let length = chance.below(24);
    let end = (at + length).min(bytes.len());
    match chance.below(7) {
        0 => {
            let bit = chance.below(8);
            if let Some(byte) = bytes.get_mut(at) {
                *byte ^= 1 << bit;
            }
        }
        1 => drop(bytes.drain(at..end)),
        2 => {
            let again: Vec<u8> = bytes.drain(at..end).collect();
            let twice = [again.as_slice(), again.as_slice()].concat();
            drop(bytes.splice(at..at, twice));
        }
        3 => bytes.truncate(at),
        4 => {
            let from = chance.below(other.len() + 1);
            let to = (from + chance.below(200)).min(other.len());
            let piece = other.get(from..to).unwrap_or_default().to_vec();
            drop(bytes.splice(at..end, piece));
        }
        5 => {
            let digit = b'0' + chance.below(10) as u8;
            if let Some(found) = bytes.iter().skip(at).position(u8::is_ascii_digit)
                && let Some(byte) = bytes.get_mut(at + found)
            {
                *byte = digit;
            }
        }
        _ => {
            let token = TOKENS.get(chance.below(TOKENS.len())).copied();
            drop(bytes.splice(at..at, token.unwrap_or_default().bytes()));
        }
    }
}
