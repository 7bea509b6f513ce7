//! How far away the other end is, and how much is asked for at a time, where a remark says so.

use super::Observations;
use super::candidates::Candidate;
use super::cause::{Cause, Change};
use super::effect::Effect;
use crate::catalogue::{Catalogue, CatalogueFault};
use crate::quantity::{Length, Measure, Time, metres};
use crate::spread::{Bounds, Spread};

/// The remark that says that it is far.
const FAR: &str = "long-distance";

/// Words of a continent away, and of a town away; each with its row of data/explaining.csv.
const WORDS: [(&[&str], &str); 2] = [
    (
        &["continent", "ocean", "overseas", "abroad", "world"],
        "explain.far.continent",
    ),
    (
        &["country", "city", "town", "home", "internet", "cloud"],
        "explain.far.town",
    ),
];

/// Metres of a mile (international yard and pound agreement, 1959: exactly 1609.344 m).
const MILE: f64 = 1609.344;

/// The round trip to an end that is said to be far: by its distance where that is told, else by the words for it.
///
/// `t = a + d s`, with the distance `d` in kilometres, `s` the time of a kilometre there and back (light in glass takes 5 us one
/// way, and cables take detours) and `a` what lines to the outside add. Valid for lines on the ground; a satellite takes longer.
/// Rows `explain.far.kilometre` and `explain.far.line`. Checked by `what_is_far_has_a_round_trip`.
///
/// # Errors
/// Only where a row is missing.
pub(super) fn round_trip(
    told: &Observations,
    catalogue: &Catalogue,
) -> Result<Option<Spread<Time>>, CatalogueFault> {
    let Some(remark) = told.remarks.iter().find(|remark| remark.id == FAR) else {
        return Ok(None);
    };
    let lower = remark.text.to_lowercase();
    let Some(distance) = distance(&lower) else {
        let known = WORDS
            .iter()
            .find(|(words, _)| words.iter().any(|w| lower.contains(w)));
        let row = known.map_or("explain.far.somewhere", |(_, row)| row);
        return catalogue.spread::<Time>(row).map(Some);
    };
    let each = catalogue.spread::<Time>("explain.far.kilometre")?;
    let line = catalogue.spread::<Time>("explain.far.line")?;
    let kilometres = distance.base() / metres(1000.0).base();
    let at = |line: Time, each: Time| Time::from_base(line.base() + each.base() * kilometres);
    let ((a, b, c), (x, y, z)) = (line.law().knots(), each.law().knots());
    let [a, b, c, x, y, z] = [a, b, c, x, y, z].map(Time::from_base);
    Ok(Spread::percentiles(at(a, x), at(b, y), at(c, z), Bounds::POSITIVE).ok())
}

/// "300 km", "20 miles".
fn distance(lower: &str) -> Option<Length> {
    let words: Vec<&str> = lower.split_whitespace().collect();
    let scale = |unit: &str| match unit.trim_end_matches(|c: char| !c.is_alphanumeric()) {
        "km" | "kilometre" | "kilometres" | "kilometer" | "kilometers" => Some(1000.0),
        "mile" | "miles" => Some(MILE),
        _ => None,
    };
    let found = words.iter().enumerate().find_map(|(at, word)| {
        let end = word.find(|c: char| !c.is_ascii_digit() && c != '.')?;
        let number = |text: &str| text.parse::<f64>().ok().filter(|n| *n > 0.0 && *n < 4e4);
        number(word.get(..end)?)
            .zip(scale(word.get(end..)?))
            .or_else(|| {
                // the number stands before its unit
                let before = words.get(at.checked_sub(1)?)?;
                number(before).zip(scale(word))
            })
    });
    found.map(|(number, scale)| metres(number * scale))
}

/// Remarks that hold how much is asked for at a time.
const SIZES: [&str; 2] = ["one-request", "small-requests"];

/// Where somebody said that one piece is asked for at a time, and how large it is, a copy that waits for each has that size.
///
/// Checked by `one_piece_at_a_time_has_the_size_that_was_told`.
pub(super) fn asked_at_a_time(told: &Observations, causes: &[Cause], all: &mut [Candidate]) {
    for candidate in all {
        if causes[candidate.cause].change != Change::Requests {
            continue;
        }
        let Effect { desks, amount, .. } = &mut candidate.effect;
        let concerns = |desk: &Option<String>| desk.as_ref().is_none_or(|d| desks.contains(d));
        let own = || told.remarks.iter().filter(|r| concerns(&r.desk));
        let size = own()
            .filter(|r| SIZES.contains(&r.id.as_str()))
            .find_map(|r| r.size);
        if let Some(size) = size
            && own().any(|r| r.id == SIZES[0])
        {
            amount.fill(size.base());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::Remark;
    use crate::quantity::milliseconds;

    fn trip(text: &str) -> Option<[f64; 3]> {
        let told = Observations {
            remarks: vec![Remark {
                text: text.to_owned(),
                id: FAR.to_owned(),
                desk: None,
                rate: None,
                size: None,
                time: None,
            }],
            ..Observations::default()
        };
        let spread = round_trip(&told, &Catalogue::embedded().unwrap()).unwrap()?;
        let (low, middle, high) = spread.law().knots();
        Some([low, middle, high].map(|time| time / milliseconds(1.0).base()))
    }

    #[test]
    fn what_is_far_has_a_round_trip() {
        // light in glass: 300 km there and back take 3 ms at least
        let [low, middle, _] = trip("the NAS is 300 km from here").unwrap();
        assert!(
            low >= 3.0 && middle > low && middle < 20.0,
            "{low} {middle}"
        );
        let miles = trip("the server is 300 miles away").unwrap();
        let kilometres = trip("the server is 482.8032 km away").unwrap();
        for (a, b) in miles.iter().zip(kilometres) {
            assert!((a / b - 1.0).abs() < 1e-9, "{a} {b}");
        }
        // a larger distance takes longer, and so does a continent beside a town
        assert!(trip("2000km apart").unwrap()[1] > middle);
        let [town, continent] =
            ["from home", "between continents"].map(|text| trip(text).unwrap()[1]);
        assert!(continent > 5.0 * town, "{town} {continent}");
        assert!(trip("it is far").is_some());
        assert_eq!(
            round_trip(&Observations::default(), &Catalogue::embedded().unwrap()).unwrap(),
            None
        );
    }
}
