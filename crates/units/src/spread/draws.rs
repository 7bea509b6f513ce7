use super::law::{Law, normal_score};
use rand_core::Rng;
use rand_pcg::Pcg64Mcg;
use std::collections::HashMap;
use std::sync::Arc;

/// Values that were drawn from a law.
type Drawn = (Law, Arc<[f64]>);

/// For each draw, which of the equally likely slices of an unknown's range it falls into.
pub type Strata = Arc<[u32]>;

/// A range cut into parts of so many slices each, from the lowest up, and for each draw the part
/// that it falls into.
#[derive(Clone, Debug)]
pub struct Parts {
    /// Slices of each part; all of them together are as many as there are draws.
    pub sizes: Arc<[u32]>,
    /// No more than 256 parts are told apart.
    pub of_draw: Arc<[u8]>,
}

/// A Latin hypercube: every unknown is cut into as many equally likely slices as there are draws,
/// and each draw takes the middle of one slice, in an order that depends on the unknown's name
/// only. An unknown more or less moves no other, and two versions of a site see the same luck.
///
/// Latin hypercube: McKay, Beckman and Conover, Technometrics 21 (1979) 239.
pub struct Draws {
    scores: Arc<[f64]>,
    strata: HashMap<String, Strata>,
    values: HashMap<String, Vec<Drawn>>,
    parts: HashMap<String, Vec<Parts>>,
    /// The value in each slice; machines of one class share their laws.
    tables: Vec<(Law, Vec<f64>)>,
}

/// Parts into which a range is cut to see how much of a scatter it explains.
const EVEN_PARTS: usize = 16;

/// The usual number of draws: percentiles repeat to about 1 % and a desk takes a few milliseconds.
pub const USUAL_DRAWS: usize = 4096;

impl Draws {
    /// A set of draws; at least two.
    pub fn new(count: usize) -> Self {
        let count = count.max(2);
        let scores = (0..count)
            .map(|i| normal_score((i as f64 + 0.5) / count as f64))
            .collect();
        Self {
            scores,
            strata: HashMap::new(),
            values: HashMap::new(),
            parts: HashMap::new(),
            tables: Vec::new(),
        }
    }

    /// How many draws there are.
    pub fn count(&self) -> usize {
        self.scores.len()
    }

    /// The normal score of each slice, from the lowest to the highest.
    pub fn scores(&self) -> Arc<[f64]> {
        Arc::clone(&self.scores)
    }

    /// The slice that each draw takes of the unknown with this name.
    pub fn strata(&mut self, id: &str) -> Strata {
        if let Some(found) = self.strata.get(id) {
            return Arc::clone(found);
        }
        let mut order: Vec<u32> = (0..self.count() as u32).collect();
        let mut generator = Pcg64Mcg::new(seed(id));
        for i in (1..order.len()).rev() {
            // the high bits of a product: unbiased to 2^-52 for the counts used here
            let j = (u128::from(generator.next_u64()) * (i as u128 + 1)) >> 64;
            order.swap(i, j as usize);
        }
        let order: Strata = order.into();
        self.strata.insert(id.to_owned(), Arc::clone(&order));
        order
    }

    /// One value a draw.
    pub fn values(&mut self, id: &str, law: &Law) -> Arc<[f64]> {
        if let Some(known) = self.values.get(id)
            && let Some((_, found)) = known.iter().find(|(l, _)| l == law)
        {
            return Arc::clone(found);
        }
        let strata = self.strata(id);
        let known = self.tables.iter().position(|(l, _)| l == law);
        let at = known.unwrap_or_else(|| {
            self.tables.push((law.clone(), law.table(&self.scores)));
            self.tables.len() - 1
        });
        let table = &self.tables[at].1;
        let values: Arc<[f64]> = strata
            .iter()
            .map(|&s| table.get(s as usize).copied().unwrap_or(f64::NAN))
            .collect();
        self.values
            .entry(id.to_owned())
            .or_default()
            .push((law.clone(), Arc::clone(&values)));
        values
    }

    /// The part of an unknown's range that each draw falls into.
    pub fn parts(&mut self, id: &str, sizes: &[u32]) -> Parts {
        if let Some(known) = self.parts.get(id)
            && let Some(found) = known.iter().find(|p| *p.sizes == *sizes)
        {
            return found.clone();
        }
        let mut of_slice = Vec::with_capacity(self.count());
        for (part, &size) in sizes.iter().enumerate() {
            of_slice.resize(of_slice.len() + size as usize, part as u8);
        }
        let strata = self.strata(id);
        let parts = Parts {
            sizes: sizes.into(),
            of_draw: strata
                .iter()
                .map(|&s| of_slice.get(s as usize).copied().unwrap_or(0))
                .collect(),
        };
        let kept = self.parts.entry(id.to_owned()).or_default();
        kept.push(parts.clone());
        parts
    }

    /// Forgets what was drawn for names with this beginning, to save memory: asked for again, it is drawn
    /// again as it was.
    pub fn forget(&mut self, beginning: &str) {
        self.strata.retain(|id, _| !id.starts_with(beginning));
        self.values.retain(|id, _| !id.starts_with(beginning));
        self.parts.retain(|id, _| !id.starts_with(beginning));
    }

    /// As [`Draws::parts`], for a range in as equal parts as can be.
    pub fn even_parts(&mut self, id: &str) -> Parts {
        let end = |part: usize| (part * self.count() / EVEN_PARTS) as u32;
        let sizes: [u32; EVEN_PARTS] = std::array::from_fn(|i| end(i + 1) - end(i));
        self.parts(id, &sizes)
    }
}

/// FNV-1a over the name, widened; the same on every machine and in every release.
fn seed(id: &str) -> u128 {
    let mut hash: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
    for byte in id.bytes() {
        hash ^= u128::from(byte);
        hash = hash.wrapping_mul(0x0000_0000_0100_0000_0000_0000_0000_013b);
    }
    hash | 1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::DataRate;
    use crate::spread::{Bounds, Spread};

    #[test]
    fn what_is_forgotten_takes_no_memory_and_the_rest_stays() {
        let law: Spread<DataRate> = Spread::parse("180..240 MB/s", Bounds::POSITIVE).unwrap();
        let mut draws = Draws::new(64);
        for id in ["desk.a.disk", "desk.b.disk"] {
            draws.values(id, law.law());
            draws.even_parts(id);
        }
        draws.forget("desk.a.");
        for held in [
            draws.strata.keys().collect::<Vec<_>>(),
            draws.values.keys().collect(),
            draws.parts.keys().collect(),
        ] {
            assert_eq!(held, ["desk.b.disk"]);
        }
    }
}
