use crate::piece::Piece;
use crate::quantity::{Kind, UnitFault, parse_base};

/// A closed list of words, each with the value it stands for.
pub type Words<T> = Vec<(String, T)>;

/// What is known of one choice out of a closed list.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice<T> {
    options: Vec<(T, f64)>,
}

impl<T: Clone + PartialEq> Choice<T> {
    /// A choice that is known.
    pub fn certain(value: T) -> Self {
        Self {
            options: vec![(value, 1.0)],
        }
    }

    /// From values and weights; weights are scaled to sum to one, zero weights are dropped.
    /// `None` where no weight is positive and finite.
    pub fn weighted(options: impl IntoIterator<Item = (T, f64)>) -> Option<Self> {
        let options: Vec<_> = options.into_iter().filter(|(_, w)| *w > 0.0).collect();
        let sum: f64 = options.iter().map(|(_, w)| w).sum();
        (sum.is_finite() && sum > 0.0).then(|| Self {
            options: options.into_iter().map(|(v, w)| (v, w / sum)).collect(),
        })
    }

    /// Reads one word, or words with percentages: `signed 60 %, plain 40 %`.
    ///
    /// # Errors
    /// With the part that is no word of the list, or percentages that do not add up to 100.
    pub fn parse(text: &str, words: &Words<T>) -> Result<Self, UnitFault> {
        let allowed = words
            .iter()
            .map(|(w, _)| w.as_str())
            .collect::<Vec<_>>()
            .join(", ");
        let find = |word: &str, at: usize| -> Result<T, UnitFault> {
            words
                .iter()
                .find(|(w, _)| w == word)
                .map(|(_, v)| v.clone())
                .ok_or_else(|| {
                    let mut fault = UnitFault::new(
                        at..at + word.len(),
                        format!("'{word}' is not known here"),
                        format!("write one of {allowed}"),
                    );
                    if let Some(near) =
                        crate::nearest::nearest(word, words.iter().map(|(w, _)| w.as_str()))
                    {
                        fault.found = format!("{}; did you mean '{near}'?", fault.found);
                        fault.instead = Some(text.replace(word, near));
                    }
                    fault
                })
        };
        if !text.contains('%') {
            let word = text.trim();
            let at = text.len() - text.trim_start().len();
            return find(word, at).map(Self::certain);
        }
        let mut options: Vec<(T, f64)> = Vec::new();
        for part in Piece::of(text).split(',') {
            let body = part.text;
            let (word, weight) = body.rsplit_once('%').map_or((body, ""), |(head, _)| {
                let head = head.trim_end();
                head.rfind(char::is_whitespace).map_or((head, ""), |cut| {
                    (head[..cut].trim_end(), head[cut..].trim_start())
                })
            });
            let value = find(word, part.at)?;
            let share = parse_base(Kind::Fraction, &format!("{weight} %")).map_err(|_| {
                part.fault(
                    format!("'{body}' has no percentage"),
                    "write a percentage behind every word, for example 'signed 60 %, plain 40 %'",
                )
            })?;
            if options.iter().any(|(v, _)| *v == value) {
                let found = format!("'{word}' stands here twice");
                return Err(part.head(word.len()).fault(found, "write each word once"));
            }
            options.push((value, share));
        }
        let sum: f64 = options.iter().map(|(_, w)| w).sum();
        if (sum - 1.0).abs() > 0.005 {
            return Err(UnitFault::new(
                0..text.len(),
                format!(
                    "the percentages add up to {} %",
                    (sum * 1000.0).round() / 10.0
                ),
                "make them add up to 100 %",
            ));
        }
        Self::weighted(options).ok_or_else(|| {
            UnitFault::new(
                0..text.len(),
                "no percentage is above 0",
                "write one above 0 %",
            )
        })
    }

    /// The options with their probabilities.
    pub fn options(&self) -> &[(T, f64)] {
        &self.options
    }

    /// The only option, where nothing is left to find out.
    pub fn only(&self) -> Option<&T> {
        match &self.options[..] {
            [(value, _)] => Some(value),
            _ => None,
        }
    }

    /// The option with the largest probability, the first of equals.
    pub fn likeliest(&self) -> &T {
        let mut best = &self.options[0];
        for option in &self.options[1..] {
            if option.1 > best.1 {
                best = option;
            }
        }
        &best.0
    }

    /// How many of `count` equally likely slices each option takes, by the middle of the slice.
    pub fn slices(&self, count: usize) -> Vec<u32> {
        let mut start = 0;
        (0..self.options.len())
            .map(|option| {
                let (mut low, mut high) = (start, count);
                // the first slice that belongs to a later option
                while low < high {
                    let middle = usize::midpoint(low, high);
                    if self.position((middle as f64 + 0.5) / count as f64) > option {
                        high = middle;
                    } else {
                        low = middle + 1;
                    }
                }
                let size = low - start;
                start = low;
                size as u32
            })
            .collect()
    }

    /// The position of the option at a share of the probability.
    pub fn position(&self, share: f64) -> usize {
        let mut sum = 0.0;
        for (i, (_, weight)) in self.options.iter().enumerate() {
            sum += weight;
            if share < sum {
                return i;
            }
        }
        self.options.len() - 1
    }
}
