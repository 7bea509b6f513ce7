//! Weights from sentences.

use crate::said::Said;
use narrows_hearing::{Concepts, Mix, Sentence, model::letter};
use std::collections::HashMap;
use std::fmt::Write;

/// Times that every sentence is gone through.
const ROUNDS: usize = 25;

/// Length of a step.
const RATE: f32 = 1.0;

/// What weights lose at each step.
const SHRINK: f32 = 5e-5;

/// Weights are kept in steps of this.
const STEP: f32 = 0.5;

/// A head: its name, the class of a sentence, and how often a feature has to be seen.
type Head = (&'static str, fn(&Said) -> &str, f32);

type Row = (usize, Vec<(usize, f32)>);

/// The file of weights that sentences give: what is meant, and of readings what of and which way.
pub(crate) fn weights(said: &[&Said], concepts: &Concepts) -> String {
    let mut out = String::from(
        "# Weights of features, made anew by: NARROWS_REWRITE=1 cargo test -p narrows-hearing --test writers\n\
         # A head begins with '@', its step and its classes; then a row each: the feature, and class letters with whole steps.\n",
    );
    let features: Vec<Vec<(String, f32)>> = said
        .iter()
        .map(|s| Sentence::new(&s.text, concepts).features(concepts, &Mix::default()))
        .collect();
    let heads: [Head; 3] = [
        ("meaning", |s| &s.means, 2.0),
        ("kind", |s| &s.kind, 1.0),
        ("way", |s| &s.way, 1.0),
    ];
    for (name, class, least) in heads {
        let examples: Vec<(&str, &[(String, f32)])> = said
            .iter()
            .zip(&features)
            .map(|(s, f)| (class(s), f.as_slice()))
            .filter(|(c, _)| !c.is_empty())
            .collect();
        head(name, &examples, least, &mut out);
    }
    out
}

fn head(name: &str, examples: &[(&str, &[(String, f32)])], least: f32, out: &mut String) {
    let mut classes: Vec<&str> = examples.iter().map(|(class, _)| *class).collect();
    classes.sort_unstable();
    classes.dedup();
    let mut count: HashMap<&str, f32> = HashMap::new();
    for (feature, _) in examples.iter().flat_map(|(_, features)| *features) {
        *count.entry(feature).or_default() += 1.0;
    }
    let enough = |(feature, n): &(&&str, &f32)| {
        **n >= 3.0
            || (**n >= 2.0 && least < 2.0)
            || (**n >= 2.0 && feature.starts_with(['w', 'c']))
            || (feature.starts_with("w:") && least < 2.0)
    };
    let mut names: Vec<&str> = count
        .iter()
        .filter(enough)
        .map(|(feature, _)| *feature)
        .collect();
    names.sort_unstable();
    let index: HashMap<&str, usize> = names
        .iter()
        .enumerate()
        .map(|(i, feature)| (*feature, i))
        .collect();
    let rows: Vec<Row> = examples
        .iter()
        .map(|(class, features)| {
            let known = features
                .iter()
                .filter_map(|(f, s)| index.get(f.as_str()).map(|i| (*i, *s)));
            (classes.binary_search(class).unwrap(), known.collect())
        })
        .collect();
    let (weights, base) = learn(&rows, classes.len(), names.len());
    let _ = writeln!(out, "@{name} {STEP} {}", classes.join(" "));
    let mut line = |name: &str, row: &[f32]| {
        let mut text = String::new();
        for (class, weight) in row.iter().enumerate() {
            let steps = (weight / STEP).round() as i32;
            if steps != 0 {
                let _ = write!(text, "{}{steps}", letter(class));
            }
        }
        if !text.is_empty() {
            let _ = writeln!(out, "{name}\t{text}");
        }
    };
    line("", &base);
    for (i, name) in names.iter().enumerate() {
        line(name, &weights[i * classes.len()..(i + 1) * classes.len()]);
    }
}

/// Goes down the slope of one sentence after the other, by steps that shrink where they were long before (Duchi, Hazan and
/// Singer, Adaptive Subgradient Methods, JMLR 12, 2011). Sums in order and `libm`: the same everywhere.
fn learn(rows: &[Row], classes: usize, features: usize) -> (Vec<f32>, Vec<f32>) {
    let mut weights = vec![0f32; features * classes];
    let mut gone = vec![1e-2f32; features * classes];
    let mut base = vec![0f32; classes];
    let mut order: Vec<usize> = (0..rows.len()).collect();
    let mut seed = 12345u64;
    let mut sums = vec![0f32; classes];
    for _ in 0..ROUNDS {
        for i in (1..order.len()).rev() {
            seed = seed
                .wrapping_mul(6364136223846793005)
                .wrapping_add(1442695040888963407);
            order.swap(i, (seed >> 33) as usize % (i + 1));
        }
        for &row in &order {
            let (class, strengths) = &rows[row];
            sums.copy_from_slice(&base);
            for (feature, strength) in strengths {
                let own = &weights[feature * classes..(feature + 1) * classes];
                for (sum, weight) in sums.iter_mut().zip(own) {
                    *sum += weight * strength;
                }
            }
            let most = sums.iter().copied().fold(f32::MIN, f32::max);
            let mut total = 0.0;
            for sum in &mut sums {
                *sum = libm::expf(*sum - most);
                total += *sum;
            }
            for sum in &mut sums {
                *sum /= total;
            }
            sums[*class] -= 1.0;
            for (base, off) in base.iter_mut().zip(&sums) {
                *base -= 0.02 * off;
            }
            for (feature, strength) in strengths {
                for (class, off) in sums.iter().enumerate() {
                    let at = feature * classes + class;
                    let slope = off * strength + SHRINK * weights[at];
                    gone[at] += slope * slope;
                    weights[at] -= RATE * slope / gone[at].sqrt();
                }
            }
        }
    }
    (weights, base)
}
