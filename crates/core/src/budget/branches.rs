use super::flow::RateRange;
use super::hop::Fork;
use crate::quantity::Measure;
use crate::working::percentiles;
use serde::Serialize;

/// Medians of two outcomes that differ by less are one hump to a person.
const APART: f64 = 1.25;

/// An outcome less likely than this does not make an answer split.
const RARE: f64 = 0.01;

/// A branch less likely than this joins the one with the nearest median.
const SMALL: f64 = 0.05;

/// More unknowns than a person can follow; the bytes of the number that holds their outcomes.
const MOST_FORKS: usize = 8;

/// One way an answer may turn out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Branch {
    /// What must hold.
    pub when: String,
    /// How likely.
    #[serde(serialize_with = "super::flow::six_digits")]
    pub probability: f64,
    /// The rate then.
    pub megabytes_per_s: RateRange,
}

/// Splits the draws by the discrete unknowns that move the median apart; no branches where
/// none does.
pub(super) fn branches(rates: &[f64], forks: &[Fork]) -> Vec<Branch> {
    let parting = forks.iter().filter(|f| parts(rates, f));
    let parting: Vec<&Fork> = parting.take(MOST_FORKS).collect();
    if parting.is_empty() {
        return Vec::new();
    }
    let mut found: Vec<(u64, Vec<f64>)> = Vec::new();
    for (draw, &rate) in rates.iter().enumerate() {
        // one outcome a byte, so that comparing is cheap and the order stays
        let outcomes = parting.iter().fold(0, |outcomes, fork| {
            outcomes << 8 | u64::from(fork.outcome.get(draw).copied().unwrap_or(0))
        });
        match found.iter_mut().find(|(o, _)| *o == outcomes) {
            Some((_, values)) => values.push(rate),
            None => found.push((outcomes, vec![rate])),
        }
    }
    found.sort_by_key(|(outcomes, _)| *outcomes);
    let groups = found.into_iter().map(|(outcomes, values)| {
        let key = outcomes.to_be_bytes()[MOST_FORKS - parting.len()..].to_vec();
        (key, values)
    });
    // one fork at a time, outcomes that give the same rate are joined
    let mut joined: Vec<(Vec<Key>, Vec<f64>)> = Vec::new();
    for (key, values) in groups {
        let middle = median(&values);
        let near = joined.iter_mut().find(|(keys, others)| {
            let other = median(others);
            let ratio = if other > middle {
                other / middle
            } else {
                middle / other
            };
            let differ = keys
                .iter()
                .any(|k| k.0.iter().zip(&key).filter(|(a, b)| a != b).count() == 1);
            differ && ratio < APART
        });
        match near {
            Some((keys, others)) => {
                keys.push((key, values.len()));
                others.extend(values);
            }
            None => joined.push((vec![(key, values.len())], values)),
        }
    }
    if joined.len() < 2 {
        return Vec::new();
    }
    let total = rates.len() as f64;
    while joined.len() > 2
        && let Some(small) = joined
            .iter()
            .position(|(_, v)| (v.len() as f64) < SMALL * total)
    {
        let (keys, values) = joined.remove(small);
        let middle = median(&values);
        let distance = |v: &[f64]| (libm::log(median(v)) - libm::log(middle)).abs();
        if let Some((other_keys, others)) = joined
            .iter_mut()
            .min_by(|(_, a), (_, b)| distance(a).total_cmp(&distance(b)))
        {
            other_keys.extend(keys);
            others.extend(values);
        }
    }
    let words = whens(&parting, &joined);
    let mut found: Vec<Branch> = joined
        .into_iter()
        .zip(words)
        .map(|((_, values), when)| Branch {
            when,
            probability: values.len() as f64 / total,
            megabytes_per_s: percentiles(&values).into(),
        })
        .collect();
    found.sort_by(|a, b| {
        b.megabytes_per_s
            .p50
            .base()
            .total_cmp(&a.megabytes_per_s.p50.base())
    });
    found
}

fn parts(rates: &[f64], fork: &Fork) -> bool {
    let mut groups: Vec<Vec<f64>> = vec![Vec::new(); fork.labels.len()];
    for (&rate, &outcome) in rates.iter().zip(fork.outcome.iter()) {
        if let Some(group) = groups.get_mut(usize::from(outcome)) {
            group.push(rate);
        }
    }
    let least = RARE * rates.len() as f64;
    let medians: Vec<f64> = groups
        .iter()
        .filter(|g| g.len() as f64 >= least)
        .map(|g| median(g))
        .collect();
    let (mut low, mut high) = (f64::INFINITY, 0.0f64);
    for m in medians {
        low = low.min(m);
        high = high.max(m);
    }
    high > low * APART
}

fn median(values: &[f64]) -> f64 {
    let mut scratch = values.to_vec();
    let middle = scratch.len() / 2;
    if scratch.is_empty() {
        return f64::NAN;
    }
    *scratch.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// The outcome of each fork, and how many draws have them all.
type Key = (Vec<u8>, usize);

/// Outcomes of a fork that are told hold in at least this share of a branch: what joined it for being
/// rare is not what makes it.
const TOLD: f64 = 0.85;

/// What sets each branch apart: the one fork whose outcomes there are the least usual ones. Where two
/// branches would be told alike, all that holds in them.
fn whens(forks: &[&Fork], branches: &[(Vec<Key>, Vec<f64>)]) -> Vec<String> {
    let mut told: Vec<Vec<(f64, String)>> = Vec::with_capacity(branches.len());
    for (keys, values) in branches {
        let mut parts: Vec<(f64, String)> = forks
            .iter()
            .enumerate()
            .filter_map(|(place, fork)| holds(fork, place, keys, values.len()))
            .collect();
        parts.sort_by(|a, b| a.0.total_cmp(&b.0));
        told.push(parts);
    }
    let first = |parts: &[(f64, String)]| parts.first().map(|(_, text)| text.clone());
    told.iter()
        .map(|parts| {
            let one = first(parts);
            if told.iter().filter(|other| first(other) == one).count() < 2 {
                return one.unwrap_or_else(|| "otherwise".to_owned());
            }
            let all: Vec<&str> = parts.iter().map(|(_, text)| text.as_str()).collect();
            if all.is_empty() {
                "otherwise".to_owned()
            } else {
                all.join(", ")
            }
        })
        .collect()
}

/// The outcomes of a fork that make a branch, and how usual they are; nothing where all do.
fn holds(fork: &Fork, place: usize, keys: &[Key], size: usize) -> Option<(f64, String)> {
    let count = |outcome: usize| -> usize {
        let with = keys
            .iter()
            .filter(|(key, _)| key.get(place).map(|&o| usize::from(o)) == Some(outcome));
        with.map(|(_, draws)| draws).sum()
    };
    let mut found: Vec<(usize, usize)> = (0..fork.labels.len()).map(|o| (o, count(o))).collect();
    found.retain(|(_, draws)| *draws > 0);
    found.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut outcomes: Vec<usize> = Vec::new();
    let mut covered = 0;
    for (outcome, draws) in found {
        if covered as f64 >= TOLD * size as f64 {
            break;
        }
        outcomes.push(outcome);
        covered += draws;
    }
    outcomes.sort_unstable();
    let all = fork.outcome.len().max(1) as f64;
    let usual = fork
        .outcome
        .iter()
        .filter(|o| outcomes.contains(&usize::from(**o)));
    let usual = usual.count() as f64 / all;
    if outcomes.len() == fork.labels.len() || usual > 1.0 - RARE {
        return None;
    }
    let labels: Vec<&str> = outcomes
        .iter()
        .filter_map(|&o| fork.labels.get(o))
        .map(String::as_str)
        .collect();
    Some((usual, joined_labels(&labels)))
}

/// Labels with "or" between them; the words that all begin with are said once.
fn joined_labels(labels: &[&str]) -> String {
    let Some((first, rest)) = labels.split_first() else {
        return String::new();
    };
    let words: Vec<&str> = first.split(' ').collect();
    let common = (0..words.len())
        .rev()
        .map(|n| {
            words
                .iter()
                .take(n)
                .fold(String::new(), |head, word| format!("{head}{word} "))
        })
        .find(|head| rest.iter().all(|label| label.starts_with(head.as_str())))
        .unwrap_or_default();
    let tails: Vec<&str> = labels
        .iter()
        .filter_map(|label| label.get(common.len()..))
        .collect();
    format!("{common}{}", tails.join(" or "))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fork(labels: &[&str], outcome: &[u8]) -> Fork {
        Fork {
            on: "made up".to_owned(),
            labels: labels.iter().map(|l| (*l).to_owned()).collect(),
            outcome: outcome.into(),
        }
    }

    #[test]
    fn humps_become_branches_and_their_probabilities_add_up() {
        let rates = [400e6, 420e6, 110e6, 112e6, 410e6];
        let found = branches(&rates, &[fork(&["fast", "slow"], &[0, 0, 1, 1, 0])]);
        assert_eq!(found.len(), 2);
        assert_eq!(
            (found[0].when.as_str(), found[1].when.as_str()),
            ("fast", "slow")
        );
        assert!((found[0].probability - 0.6).abs() < 1e-12);
        let sum: f64 = found.iter().map(|b| b.probability).sum();
        assert!((sum - 1.0).abs() < 1e-12);
    }

    #[test]
    fn common_words_are_said_once() {
        let labels = [
            "a cable falls back to 100 Mb/s",
            "a cable falls back to 10 Mb/s",
        ];
        assert_eq!(
            joined_labels(&labels),
            "a cable falls back to 100 Mb/s or 10 Mb/s"
        );
        assert_eq!(
            joined_labels(&["signed", "encrypted"]),
            "signed or encrypted"
        );
        assert_eq!(joined_labels(&["signed"]), "signed");
    }

    #[test]
    fn a_choice_that_changes_nothing_makes_no_branch() {
        let rates = [400e6, 420e6, 405e6, 415e6];
        assert!(branches(&rates, &[fork(&["signed", "not signed"], &[0, 1, 0, 1])]).is_empty());
        assert!(branches(&rates, &[]).is_empty());
    }

    #[test]
    fn a_second_choice_counts_only_where_it_matters() {
        // signing matters on the fast link, not on the slow one
        let rates = [400e6, 200e6, 110e6, 111e6];
        let found = branches(
            &rates,
            &[
                fork(&["fast", "slow"], &[0, 0, 1, 1]),
                fork(&["unsigned", "signed"], &[0, 1, 0, 1]),
            ],
        );
        let when: Vec<&str> = found.iter().map(|b| b.when.as_str()).collect();
        assert_eq!(when, ["fast, unsigned", "fast, signed", "slow"]);
    }

    #[test]
    fn a_branch_is_told_by_the_one_thing_that_is_least_usual_in_it() {
        // nine links in ten are fast, signing is even
        let link: Vec<u8> = (0..40).map(|i| u8::from(i % 10 == 9)).collect();
        let signing: Vec<u8> = (0..40).map(|i| u8::from(i % 20 >= 10)).collect();
        let rate = |(link, signing): (&u8, &u8)| match (link, signing) {
            (1, _) => 110e6,
            (_, 1) => 300e6,
            _ => 700e6,
        };
        let rates: Vec<f64> = link.iter().zip(&signing).map(rate).collect();
        let found = branches(
            &rates,
            &[
                fork(&["unsigned", "signed"], &signing),
                fork(&["links at 10 Gb/s", "falls back to 1 Gb/s"], &link),
            ],
        );
        let when: Vec<&str> = found.iter().map(|b| b.when.as_str()).collect();
        assert_eq!(when, ["unsigned", "signed", "falls back to 1 Gb/s"]);
    }
}
