//! A linear model: a weight for each feature and class.

use std::collections::HashMap;

/// Weights of several classes.
#[derive(Clone, Debug, Default)]
pub struct Linear {
    classes: Vec<String>,
    /// Class and weight, by feature.
    rows: HashMap<String, Vec<(u8, f32)>>,
    base: Vec<(u8, f32)>,
}

/// The letters that classes are written with.
const LETTERS: &[u8] =
    b"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ!#$&()*,/:;<=>?[]^_{|}~";

/// The letter of a class.
pub fn letter(class: usize) -> char {
    LETTERS.get(class).map_or('?', |c| char::from(*c))
}

impl Linear {
    /// Reads every head of a file of weights, in its order.
    ///
    /// # Errors
    /// With the row that is broken.
    pub(crate) fn heads(text: &str) -> Result<Vec<(String, Self)>, String> {
        let mut found: Vec<(String, Self)> = Vec::new();
        let mut step = 0.0;
        for line in text.lines().filter(|line| !line.starts_with('#')) {
            if let Some(head) = line.strip_prefix('@') {
                let mut words = head.split(' ');
                let name = words.next().unwrap_or_default().to_owned();
                step = words
                    .next()
                    .and_then(|w| w.parse().ok())
                    .ok_or_else(|| format!("'{line}' has no step"))?;
                let classes: Vec<String> = words.map(str::to_owned).collect();
                if classes.is_empty() || classes.len() > LETTERS.len() {
                    return Err(format!("'{line}' has {} classes", classes.len()));
                }
                found.push((
                    name,
                    Self {
                        classes,
                        ..Self::default()
                    },
                ));
                continue;
            }
            let (Some((_, head)), Some((feature, row))) = (found.last_mut(), line.split_once('\t'))
            else {
                return Err(format!("'{line}' is no row of weights"));
            };
            let row =
                weights(row, step).ok_or_else(|| format!("'{line}' has a weight that is none"))?;
            if row
                .iter()
                .any(|(class, _)| usize::from(*class) >= head.classes.len())
            {
                return Err(format!("'{line}' has a class that is none"));
            }
            if feature.is_empty() {
                head.base = row;
            } else {
                head.rows.insert(feature.to_owned(), row);
            }
        }
        Ok(found)
    }

    /// Whether any weight stands on a feature.
    pub(crate) fn knows(&self, feature: &str) -> bool {
        self.rows.contains_key(feature)
    }

    /// Every class with its probability, the likeliest first; `sharp` is how much the sums count.
    pub(crate) fn weigh(&self, features: &[(String, f32)], sharp: f64) -> Vec<(&str, f64)> {
        let mut sums = vec![0f64; self.classes.len()];
        let mut add = |row: &[(u8, f32)], strength: f32| {
            for (class, weight) in row {
                if let Some(sum) = sums.get_mut(usize::from(*class)) {
                    *sum += f64::from(*weight * strength);
                }
            }
        };
        add(&self.base, 1.0);
        for (feature, strength) in features {
            if let Some(row) = self.rows.get(feature) {
                add(row, *strength);
            }
        }
        let most = sums.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mut total = 0.0;
        for sum in &mut sums {
            *sum = libm::exp(sharp * (*sum - most));
            total += *sum;
        }
        let mut found: Vec<(&str, f64)> = self
            .classes
            .iter()
            .map(String::as_str)
            .zip(sums.iter().map(|s| s / total))
            .collect();
        found.sort_by(|a, b| b.1.total_cmp(&a.1));
        found
    }
}

/// "a3c-2" as classes with their weights.
fn weights(row: &str, step: f32) -> Option<Vec<(u8, f32)>> {
    let mut found = Vec::new();
    let bytes = row.as_bytes();
    let mut at = 0;
    while at < bytes.len() {
        let class = LETTERS.iter().position(|l| Some(l) == bytes.get(at))?;
        let begin = at + 1;
        at = begin;
        while bytes
            .get(at)
            .is_some_and(|b| b.is_ascii_digit() || *b == b'-')
        {
            at += 1;
        }
        let steps: i16 = row.get(begin..at)?.parse().ok()?;
        found.push((u8::try_from(class).ok()?, f32::from(steps) * step));
    }
    Some(found)
}
