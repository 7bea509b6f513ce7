//! The first lines of an answer: what was read against what is expected, why, and what to do next. All of them
//! come from one verdict, so that no line doubts another.

use super::Observations;
use super::expected::Expected;
use super::families::Families;
use super::found::{CauseFound, LeftOut, NextTest, Verdict};
use super::inference::{Hypothesis, Inference, Posterior};
use super::observed::Observed;
use super::reading::{Amount, Exactness, Meaning, RateUnit, What};
use super::say::{expected, main_reading, range, touched_by};
use super::scenarios::Scenarios;
use crate::quantity::{DataRate, Measure, in_megabytes_per_second, show, three_digits};
use crate::work::Direction;
use std::rc::Rc;

/// Where a number lies in what is expected of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Standing {
    /// Fewer than one place in twenty gives so little.
    Below,
    /// Possible, with the share of places that give less.
    Low(f64),
    /// As most give it.
    Within,
    /// Fewer than one place in twenty gives so much.
    Above,
}

/// Below this share of places a number that is possible is a low one.
const LOW: f64 = 0.25;

/// From this share of the middle on a number is as good as that.
const NEAR: f64 = 0.85;

/// Readings that are off by no more than this factor of the worst are told in the order in which they came.
const ALIKE: f64 = 1.2;

/// A cause from here on is named without another beside it.
const CLEAR: f64 = 0.5;

/// A second cause is named from here on.
const BESIDE: f64 = 0.05;

/// Every direction that a reading may be of.
pub(crate) fn standing(observed: &Observed, scenarios: &Scenarios<'_>) -> Option<Standing> {
    let measured = observed.likeliest();
    let all = observed.asks.iter().filter_map(|(ask, _)| {
        let expected: Rc<Expected> = scenarios.expected(ask)?;
        let [low, middle, high] = expected.range().map(Measure::base);
        Some(if measured < low {
            Standing::Below
        } else if measured > high {
            Standing::Above
        } else {
            match expected.below(measured) {
                share if share < LOW && measured < middle * NEAR => Standing::Low(share),
                _ => Standing::Within,
            }
        })
    });
    // of two directions the one that it fits best
    let best = |s: &Standing| match s {
        Standing::Within => 0,
        Standing::Low(_) => 1,
        Standing::Above => 2,
        Standing::Below => 3,
    };
    all.min_by_key(best)
}

/// What is said first.
#[derive(Clone, Debug, Default)]
pub(crate) struct Statement {
    /// What was read against what is expected.
    pub first: String,
    /// Why.
    pub why: String,
    /// Whose reading is spoken of.
    pub standing: Option<Standing>,
}

/// What a statement is made of.
pub(crate) struct Spoken<'a> {
    pub told: &'a Observations,
    pub inference: &'a Inference<'a>,
    pub scenarios: &'a Scenarios<'a>,
    pub verdict: Verdict,
    /// Causes with what they are of, the likeliest first.
    pub causes: &'a [(CauseFound, &'a Posterior)],
    pub left_out: &'a [(usize, LeftOut)],
    /// How likely it is that it is none of the causes known.
    pub none_of_these: f64,
}

impl Spoken<'_> {
    /// The first two lines.
    pub(crate) fn statement(&self) -> Statement {
        let Some(observed) = self.observed() else {
            return Statement {
                first: self.nothing(),
                ..Statement::default()
            };
        };
        let standing = standing(observed, self.scenarios).unwrap_or(Standing::Within);
        Statement {
            first: self.first(observed, standing),
            why: self.why(standing),
            standing: Some(standing),
        }
    }

    fn nothing(&self) -> String {
        match self.left_out {
            [(index, why), ..] => format!(
                "Nothing can be said about \"{}\": {}.",
                self.told.readings[*index].text,
                why.words()
            ),
            [] => "No rate was told, so nothing can be said about one.".to_owned(),
        }
    }

    /// Causes that agree with the verdict.
    fn agreeing(&self) -> impl Iterator<Item = &(CauseFound, &Posterior)> {
        let agrees = |p: &Posterior| {
            let healthy = match p.what {
                Hypothesis::Healthy { row, .. } => Some(self.inference.causes[row].weighs),
                _ => None,
            };
            match self.verdict {
                Verdict::Normal => healthy.is_some(),
                Verdict::Slow => healthy.is_none_or(|weighs| weighs != Verdict::Normal),
                Verdict::TooFast => healthy.is_none(),
                Verdict::Unclear => true,
            }
        };
        self.causes.iter().filter(move |(_, p)| agrees(p))
    }

    /// The reading that is spoken of: of those that the likeliest cause touches, the one that the verdict is of.
    fn observed(&self) -> Option<&Observed> {
        let likeliest = self.agreeing().next();
        let own = |observed: &&Observed| {
            likeliest.is_none_or(|(_, p)| touched_by(self.inference, &p.what, observed))
        };
        let share = |observed: &Observed| {
            let ways = expected(observed, self.scenarios);
            let middles = ways
                .iter()
                .map(|way| observed.likeliest() / way.rates[1].base());
            middles.fold(0.0, f64::max)
        };
        let of = |wanted: Standing| {
            let all = self.inference.observed.iter().filter(own);
            let found: Vec<(&Observed, f64)> = all
                .filter(|o| standing(o, self.scenarios) == Some(wanted))
                .map(|o| (o, share(o)))
                .collect();
            let worst = found.iter().map(|(_, share)| *share);
            let worst = match wanted {
                Standing::Above => worst.fold(0.0, f64::max) / ALIKE,
                _ => worst.fold(f64::INFINITY, f64::min) * ALIKE,
            };
            let beyond = |share: f64| match wanted {
                Standing::Above => share >= worst,
                _ => share <= worst,
            };
            let first = found.iter().find(|(_, share)| beyond(*share));
            first.map(|(observed, _)| *observed)
        };
        let spoken = match self.verdict {
            Verdict::Slow | Verdict::Unclear => of(Standing::Below),
            Verdict::TooFast => of(Standing::Above),
            Verdict::Normal => None,
        };
        let mut all = self.inference.observed.iter().filter(own);
        let copy = |o: &&Observed| matches!(o.what, What::Copy | What::ManyFiles);
        spoken
            .or_else(|| all.clone().find(copy))
            .or_else(|| all.next())
            .or_else(|| main_reading(self.inference))
    }

    fn first(&self, observed: &Observed, standing: Standing) -> String {
        let ways = expected(observed, self.scenarios);
        let should = should(observed);
        let between = range(&ways);
        let Some(number) = number(self.told, observed) else {
            return format!("Nothing moves, where {between} are {should}.");
        };
        let number = format!("{}{number}", taken_as(self.told, observed));
        match (standing, self.verdict) {
            (Standing::Below, Verdict::Normal) => {
                format!("{number} is a little less than {should} ({between}).")
            }
            (Standing::Below, _) => {
                let middle = ways.iter().map(|way| way.rates[1].base());
                let share = observed.likeliest() / middle.fold(0.0, f64::max);
                format!("{number} is {} {should} ({between}).", fraction(share))
            }
            (Standing::Low(share), Verdict::Normal) => format!(
                "{number} is possible here: {} like this gives less ({between} expected).",
                one_in(share)
            ),
            (Standing::Within, Verdict::Normal) => {
                format!("{number} is {should} ({between}).")
            }
            (Standing::Low(_) | Standing::Within, Verdict::Unclear)
                if self.inference.remarks.is_empty() =>
            {
                format!("{number} lies within {should} ({between}); so wide a range says little.")
            }
            (Standing::Low(_) | Standing::Within, Verdict::Slow) => format!(
                "{number} lies within {should} ({between}), but what was noticed speaks for a fault."
            ),
            (Standing::Low(_) | Standing::Within, _) => format!(
                "{number} lies within {should} ({between}); what was noticed leaves open whether that is right."
            ),
            (Standing::Above, Verdict::Normal) => {
                format!("{number} is a little more than {should} ({between}): nothing is missing.")
            }
            (Standing::Above, Verdict::Slow) => format!(
                "{number} is more than {should} ({between}), but what was noticed speaks for a fault."
            ),
            (Standing::Above, _) => format!("{number} is more than {should} ({between})."),
        }
    }

    fn why(&self, standing: Standing) -> String {
        let mut agreeing = self.agreeing();
        // what is low and possible may have no healthy limit that is worth naming
        let first = agreeing.next().or_else(|| {
            let normal = self.verdict == Verdict::Normal;
            self.causes.first().filter(|_| normal)
        });
        let Some((cause, posterior)) = first else {
            return "No cause known here gives that.".to_owned();
        };
        if self.verdict != Verdict::Normal && self.none_of_these > cause.probability {
            let none = of_hundred(self.none_of_these);
            let known = likely_of(cause);
            // the table may name a likelier one that the verdict leaves out
            let likelier = self
                .causes
                .iter()
                .any(|(other, _)| other.probability > cause.probability);
            let of = if likelier { "known that fits" } else { "known" };
            return if self.none_of_these >= HALF {
                format!(
                    "Most likely none of the causes known here ({none} of 100). The likeliest {of}: {known}."
                )
            } else {
                format!(
                    "No cause stands out, and it may be none that is known here ({none} of 100). The likeliest {of}: {known}."
                )
            };
        }
        let healthy = |p: &Posterior| matches!(p.what, Hypothesis::Healthy { .. });
        let is_slow = |p: &Posterior| match p.what {
            Hypothesis::Healthy { row, .. } => self.inference.causes[row].weighs == Verdict::Slow,
            _ => false,
        };
        let named = |other: &&CauseFound| other.probability >= BESIDE && other.words != cause.words;
        let second = match self.verdict {
            Verdict::Normal => self.causes.iter().map(|(other, _)| other).find(named),
            _ => agreeing.map(|(other, _)| other).find(named),
        };
        let clear = cause.probability >= CLEAR;
        match (self.verdict, standing) {
            (Verdict::Normal, Standing::Within | Standing::Above)
                if healthy(posterior) && clear =>
            {
                let (first, to) = if is_slow(posterior) {
                    (format!("Most likely {}.", likely_of(cause)), "To change it")
                } else {
                    (format!("Nothing is wrong: {}.", cause.words), "For more")
                };
                if cause.once_fixed.is_empty() || cause.remedy.is_empty() {
                    first
                } else {
                    let then = range(&cause.once_fixed);
                    format!("{first} {to}: {}; then {then}.", cause.remedy)
                }
            }
            // what a place may be like and nobody would want
            (Verdict::Normal, _) if is_slow(posterior) && cause.probability >= CLEAR => {
                format!("Most likely {}.", likely_of(cause))
            }
            (Verdict::Normal, _) => {
                // of what is healthy and what is not the likelier first
                let mut both: Vec<&CauseFound> = vec![cause];
                both.extend(second);
                both.sort_by(|a, b| b.probability.total_cmp(&a.probability));
                let or: Vec<String> = both.iter().skip(1).map(|c| likely(c)).collect();
                let or = or
                    .first()
                    .map_or(String::new(), |c| format!(", or that {c}"));
                let first = both.first().map_or(String::new(), |c| likely_of(c));
                match standing {
                    Standing::Within | Standing::Above => {
                        format!("Nothing is wrong. What decides may be that {first}{or}.")
                    }
                    _ => format!(
                        "Nothing has to be wrong. What holds it back may be that {first}{or}."
                    ),
                }
            }
            _ if clear => {
                format!("Most likely {}.", likely_of(cause))
            }
            _ => match second {
                Some(other) => format!(
                    "No cause stands out. Likeliest: {}; then: {}.",
                    likely_of(cause),
                    likely(other)
                ),
                None => format!("Likeliest: {}.", likely_of(cause)),
            },
        }
    }
}

/// More likely so than not.
const HALF: f64 = 0.5;

/// A cause with its chance, after another.
fn likely(cause: &CauseFound) -> String {
    format!("{} ({})", cause.words, of_hundred(cause.probability))
}

/// A cause with its chance, the first of a list.
fn likely_of(cause: &CauseFound) -> String {
    format!("{} ({} of 100)", cause.words, of_hundred(cause.probability))
}

/// A chance in whole hundredths.
fn of_hundred(probability: f64) -> String {
    format!("{:.0}", (probability * 100.0).round())
}

/// The number that was read, in megabytes a second; nothing where nothing moved.
fn number(told: &Observations, observed: &Observed) -> Option<String> {
    let rate = in_megabytes_per_second(DataRate::from_base(observed.likeliest()));
    let number = format!("{} MB/s", three_digits(rate));
    let exactness = match &told.readings[observed.index].amount {
        Amount::Rate(rate) => rate.exactness,
        _ => Exactness::Point,
    };
    if let (What::Playback, Exactness::Range, Amount::Rate(rate)) = (
        observed.what,
        exactness,
        &told.readings[observed.index].amount,
    ) && let Some(meaning) = rate.meanings.first()
    {
        let [low, high] = [meaning.low, meaning.high].map(in_megabytes_per_second);
        let (low, high) = (three_digits(low), three_digits(high));
        return Some(format!("What plays, between {low} and {high} MB/s,"));
    }
    match exactness {
        Exactness::Stalled => None,
        Exactness::AtMost => Some(format!("Less than {number}")),
        Exactness::AtLeast => Some(format!("More than {number}")),
        Exactness::Range | Exactness::About => Some(format!("About {number}")),
        Exactness::Point | Exactness::Peak => Some(number),
    }
}

/// Which unit is taken, where it is not the one that a number like this is mostly in: "Taken as 420 Mb/s: ".
fn taken_as(told: &Observations, observed: &Observed) -> String {
    let Amount::Rate(rate) = &told.readings[observed.index].amount else {
        return String::new();
    };
    let taken = observed.likeliest();
    let apart = |m: &&Meaning| {
        let ratio = taken / m.middle.base().max(1.0);
        !(1.0 / UNITS_APART..=UNITS_APART).contains(&ratio)
    };
    if !rate.meanings.first().is_some_and(|first| apart(&first))
        || rate.exactness == Exactness::Range
    {
        return String::new();
    }
    let of = rate.meanings.iter().filter(|m| !m.slip).find(|m| !apart(m));
    match of.map(|m| (m.unit, m.unit.count(m.middle))) {
        Some((RateUnit::Megabits, count)) if count >= 1e4 => {
            format!("Taken as {} Gb/s: ", three_digits(count / 1e3))
        }
        Some((RateUnit::Megabits, count)) => format!("Taken as {} Mb/s: ", three_digits(count)),
        Some(_) => "Taken as bytes, not bits: ".to_owned(),
        None => String::new(),
    }
}

/// Units further apart than this are told apart.
const UNITS_APART: f64 = 1.5;

/// What should be so, of a reading: "what cut-1 should read".
fn should(observed: &Observed) -> String {
    let desk = match observed.desk.as_str() {
        // the one of a place that nobody described
        "" | "desk" => "the desk",
        desk => desk,
    };
    let way = match &observed.asks[..] {
        [(ask, _)] => Some(ask.direction),
        _ => None,
    };
    let does = match way {
        Some(Direction::Read) => "read",
        Some(Direction::Write) => "write",
        None => "copy",
    };
    if let Some(piece) = observed.pieces() {
        let pieces = format!("in pieces of {} at random places", show(piece));
        return match observed.what {
            What::LocalArray => format!("what the array itself should {does} {pieces}"),
            _ => format!("what {desk} should {does} {pieces}"),
        };
    }
    match observed.what {
        What::RawTcp => format!("what {desk} and the NAS should pass from memory to memory"),
        What::LocalArray => format!("what the array itself should {does}"),
        What::LocalDisk => format!("what the disk of {desk} should {does}"),
        What::ManyFiles => format!("what {desk} should {does} of many files"),
        What::Playback => format!("what {desk} should be able to play"),
        _ => match observed.streams() {
            0 | 1 => format!("what {desk} should {does}"),
            more => format!("what {more} copies of {desk} should {does} together"),
        },
    }
}

/// How much of what is expected: "a tenth of".
fn fraction(share: f64) -> String {
    const NAMED: [(f64, &str); 15] = [
        (0.75, "three quarters of"),
        (2.0 / 3.0, "two thirds of"),
        (0.5, "half of"),
        (1.0 / 3.0, "a third of"),
        (0.25, "a quarter of"),
        (0.2, "a fifth of"),
        (1.0 / 6.0, "a sixth of"),
        (0.125, "an eighth of"),
        (0.1, "a tenth of"),
        (1.0 / 15.0, "a fifteenth of"),
        (0.05, "a twentieth of"),
        (1.0 / 30.0, "a thirtieth of"),
        (0.02, "a fiftieth of"),
        (0.01, "a hundredth of"),
        (0.001, "a thousandth of"),
    ];
    if share > 0.85 {
        return "a little less than".to_owned();
    }
    if share < 0.0007 {
        return "next to nothing of".to_owned();
    }
    let off = |named: f64| libm::fabs(libm::log(share / named));
    let nearest = NAMED.iter().min_by(|a, b| off(a.0).total_cmp(&off(b.0)));
    let Some((named, words)) = nearest else {
        return "less than".to_owned();
    };
    if off(*named) < 0.06 {
        (*words).to_owned()
    } else {
        format!("about {words}")
    }
}

/// A share of places as people say it.
fn one_in(share: f64) -> String {
    let places = (1.0 / share.max(0.01)).round();
    format!("1 place in {places:.0}")
}

/// The third line: the test that tells most, with what each outcome means; nothing where all is well.
pub(crate) fn next_step(
    statement: &Statement,
    verdict: Verdict,
    tests: &[NextTest],
    likeliest: Option<&CauseFound>,
    families: &Families,
) -> String {
    if statement.first.is_empty() {
        return String::new();
    }
    let well = matches!(
        statement.standing,
        Some(Standing::Within | Standing::Above) | None
    );
    if verdict == Verdict::Normal && well {
        return String::new();
    }
    match tests.first() {
        Some(test) => format!("Next, {}", families.test(test, likeliest)),
        None => match likeliest {
            Some(cause) if !cause.remedy.is_empty() => format!("Next: {}.", cause.remedy),
            _ => String::new(),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fraction_is_near_what_it_stands_for() {
        // 15.6 of 117 is no tenth
        for (share, words) in [
            (15.6 / 117.0, "about an eighth of"),
            (11.9 / 117.0, "a tenth of"),
            (0.07, "a fifteenth of"),
            (0.16, "a sixth of"),
            (0.5, "half of"),
            (0.9, "a little less than"),
            (0.0001, "next to nothing of"),
        ] {
            assert_eq!(fraction(share), words, "{share}");
        }
    }
}
