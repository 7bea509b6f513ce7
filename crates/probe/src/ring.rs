//! Bytes that no drive and no pool can make smaller, made faster than a link or a drive takes them.

/// Bytes of the ring: made once, so that the generator is not what is measured.
const RING: usize = 64 << 20;
/// Each block has a number of its own, so that none is stored twice.
const BLOCK: usize = 4096;

/// A source of numbers that nobody can guess the pattern of; not for secrets.
///
/// Source: Steele, Lea and Flood 2014, "Fast splittable pseudorandom number generators".
#[derive(Clone, Debug)]
pub(crate) struct Mixer(u64);

impl Mixer {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
}

/// A seed from the system, or from the clock where the system gives none.
pub(crate) fn seed() -> u64 {
    getrandom::u64().unwrap_or_else(|_| {
        std::time::SystemTime::now()
            .duration_since(std::time::UNIX_EPOCH)
            .map_or(1, |since| since.as_nanos() as u64)
    })
}

/// A ring of random bytes, handed out piece by piece.
pub(crate) struct Ring {
    bytes: Vec<u8>,
    /// Where the aligned part begins.
    start: usize,
    length: usize,
    at: usize,
    /// Number of the next block.
    number: u64,
    key: u64,
}

impl Ring {
    pub(crate) fn new(seed: u64) -> Self {
        Self::of_size(seed, RING)
    }

    /// A smaller one, for many streams or short tests.
    pub(crate) fn of_size(seed: u64, size: usize) -> Self {
        let length = size.next_multiple_of(BLOCK).max(BLOCK);
        let mut mixer = Mixer::new(seed);
        let mut bytes = vec![0; length + BLOCK];
        for eight in bytes.chunks_exact_mut(8) {
            eight.copy_from_slice(&mixer.next().to_le_bytes());
        }
        // direct access to a drive asks for it
        let start = bytes.as_ptr().align_offset(BLOCK).min(BLOCK);
        Self {
            bytes,
            start,
            length,
            at: 0,
            number: 0,
            key: mixer.next(),
        }
    }

    /// What stands at the beginning of a block of that number.
    pub(crate) fn mark(&self, number: u64) -> [u8; 8] {
        (number ^ self.key).to_le_bytes()
    }

    /// The next piece: at most `most` bytes, whole blocks where that allows it, each with its number in front.
    pub(crate) fn piece(&mut self, most: usize) -> &[u8] {
        let size = most.min(self.length - self.at);
        let from = self.start + self.at;
        let mut offset = 0;
        while offset + BLOCK <= size {
            let mark = self.mark(self.number);
            if let Some(place) = self.bytes.get_mut(from + offset..from + offset + 8) {
                place.copy_from_slice(&mark);
            }
            self.number += 1;
            offset += BLOCK;
        }
        self.at = if self.at + size >= self.length {
            0
        } else {
            self.at + size
        };
        self.bytes.get(from..from + size).unwrap_or_default()
    }

    /// Whether a piece that was read begins each block with the right number, from `first` on.
    pub(crate) fn is_right(&self, piece: &[u8], first: u64) -> bool {
        piece
            .chunks_exact(BLOCK)
            .zip(first..)
            .all(|(block, number)| block.starts_with(&self.mark(number)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verify_no_block_comes_twice_and_all_are_right() {
        let mut ring = Ring::of_size(7, 64 * BLOCK);
        let mut seen = std::collections::HashSet::new();
        let mut first = 0;
        for _ in 0..50 {
            let piece = ring.piece(16 * BLOCK).to_vec();
            assert_eq!(piece.len(), 16 * BLOCK);
            assert!(ring.is_right(&piece, first));
            assert!(!ring.is_right(&piece, first + 1));
            first += 16;
            for block in piece.chunks(BLOCK) {
                assert!(seen.insert(block.to_vec()));
            }
        }
    }

    #[test]
    fn verify_bytes_do_not_compress() {
        // every value of a byte comes about equally often: chi-square of 255 degrees, 1 in 10^6 is above 377
        let mut ring = Ring::of_size(3, 1 << 20);
        let piece = ring.piece(1 << 20);
        let mut counts = [0u32; 256];
        for byte in piece {
            counts[usize::from(*byte)] += 1;
        }
        let expected = piece.len() as f64 / 256.0;
        let chi: f64 = counts
            .iter()
            .map(|count| (f64::from(*count) - expected).powi(2) / expected)
            .sum();
        assert!(chi < 377.0, "{chi}");
    }
}
