//! What people write and what it means, row by row and as a property.

use super::*;
use narrows_physics::array::Level;
use narrows_units::catalogue::Catalogue;
use proptest::prelude::*;

/// Place, spelling, meaning; no meaning where nothing may be understood.
const SPELLINGS: &str = include_str!("tests/spellings.csv");

fn catalogue() -> &'static Catalogue {
    static ROWS: std::sync::LazyLock<Catalogue> =
        std::sync::LazyLock::new(|| Catalogue::embedded().unwrap());
    &ROWS
}

/// What is understood at a place, in words.
fn understood(catalogue: &Catalogue, place: &str, said: &str) -> String {
    let none = String::new;
    match place {
        "layout" => match level(catalogue, said) {
            Meaning::Same => said.to_owned(),
            Meaning::Means(word) => word,
            _ => none(),
        },
        "link" => link_rate(said).map_or_else(none, |rate| rate.to_string()),
        "slot" => slot(said).unwrap_or_default(),
        "cpu text" => cpu(catalogue, said).unwrap_or_default(),
        "drives" => {
            let heard = drives(catalogue, said);
            if heard.stray.is_empty() {
                [heard.level.clone(), heard.long()]
                    .into_iter()
                    .flatten()
                    .collect::<Vec<_>>()
                    .join(" ")
            } else {
                none()
            }
        }
        "cable text" => {
            let heard = cable(catalogue, said);
            if heard.stray.is_empty() {
                [heard.cable, heard.length, heard.bundle, heard.grade]
                    .into_iter()
                    .flatten()
                    .collect::<Vec<_>>()
                    .join(" ")
            } else {
                none()
            }
        }
        "unknown" => {
            if is_unknown(catalogue, said) {
                "unknown".to_owned()
            } else {
                none()
            }
        }
        list => word(catalogue, list, said).unwrap_or_default(),
    }
}

#[test]
fn spellings_mean_what_they_mean() {
    let catalogue = catalogue();
    let mut rows = 0;
    let mut wrong = Vec::new();
    let mut reader = csv::Reader::from_reader(SPELLINGS.as_bytes());
    for record in reader.records() {
        let record = record.unwrap();
        let (place, said, means) = (&record[0], &record[1], &record[2]);
        let found = understood(catalogue, place, said);
        rows += 1;
        if found != means {
            wrong.push(format!("{place}: '{said}' is '{found}', not '{means}'"));
        }
    }
    assert!(rows >= 200, "{rows}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_synonym_leads_to_words_of_its_list() {
    let catalogue = catalogue();
    let lists = [
        "drive",
        "cpu",
        "service",
        "cable",
        "grade",
        "bundle",
        "socket",
        "adapter",
        "duplex",
        "signed",
        "yes-no",
        "does",
        "direction",
        "card",
        "raster",
    ];
    for list in lists {
        for synonym in catalogue.synonyms(list) {
            let parts: Vec<&str> = synonym.means.split(',').map(str::trim).collect();
            for part in parts {
                let word = part
                    .split_once('%')
                    .map_or(part, |(head, _)| head.trim().rsplit_once(' ').unwrap().0);
                assert!(
                    catalogue.words(list).any(|w| w.word == word),
                    "{list}: {} -> {word}",
                    synonym.said
                );
            }
        }
    }
    for synonym in catalogue.synonyms("layout") {
        assert!(
            Level::from_word(&synonym.means).is_some(),
            "{}",
            synonym.said
        );
    }
}

#[test]
fn a_clock_weighs_the_classes_of_a_processor() {
    let catalogue = catalogue();
    let heard = cpu(catalogue, "4 cores, 2.2 GHz").unwrap();
    assert!(
        heard.starts_with("small") && heard.ends_with(", 4 cores"),
        "{heard}"
    );
    assert!(
        cpu(catalogue, "4 cores, 1.2 GHz")
            .unwrap()
            .starts_with("tiny")
    );
    // more cores are never a sign of a smaller class
    let share = |text: &str, class: &str| -> f64 {
        cpu(catalogue, text)
            .unwrap()
            .split(", ")
            .find_map(|p| {
                p.strip_prefix(class)
                    .and_then(|p| p.trim().strip_suffix(" %").map(str::to_owned))
            })
            .map_or(0.0, |p| p.parse().unwrap())
    };
    assert!(share("16 cores, 3.2 GHz", "medium") <= share("6 cores, 3.2 GHz", "medium"));
    assert_eq!(cpu(catalogue, "warp drive"), None);
}

/// Every word that may be said, with its list.
fn words() -> Vec<(String, String)> {
    let catalogue = catalogue();
    let mut all: Vec<(String, String)> = catalogue
        .all_words()
        .iter()
        .filter(|w| w.list != "headers")
        .map(|w| (w.list.clone(), w.word.clone()))
        .collect();
    all.extend(
        Level::ALL
            .iter()
            .map(|l| ("layout".to_owned(), l.to_string())),
    );
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    /// A word with other case and other separators at its joints is the word.
    #[test]
    fn property_a_separator_changes_no_meaning(
        pick in any::<prop::sample::Index>(),
        separators in prop::collection::vec(prop::sample::select(vec!["", " ", "-", "_", "."]), 24),
        upper in prop::collection::vec(any::<bool>(), 40),
    ) {
        let catalogue = catalogue();
        let all = words();
        let (list, word) = &all[pick.index(all.len())];
        let mut said = String::new();
        let mut joints = separators.iter();
        let mut before: Option<char> = None;
        for (i, c) in word.chars().enumerate() {
            if !c.is_alphanumeric() {
                // a joint that is written: between two digits it has to stay one
                said.push_str(joints.next().copied().unwrap_or("-"));
                before = None;
                continue;
            }
            if before.is_some_and(|b| b.is_ascii_digit() != c.is_ascii_digit()) {
                said.push_str(joints.next().copied().unwrap_or(""));
            }
            said.extend(if upper[i % upper.len()] { c.to_uppercase().collect::<Vec<_>>() } else { c.to_lowercase().collect() });
            before = Some(c);
        }
        let found = understood(catalogue, list, &said);
        // two words may be one without their separators; then either is right
        prop_assert!(found == *word || plain(&found) == plain(word), "{}: '{}' is '{}', not '{}'", list, said, found, word);
    }

    /// One letter more, less or other: what is offered is never of another number.
    #[test]
    fn property_no_suggestion_is_of_another_number(
        pick in any::<prop::sample::Index>(),
        at in any::<prop::sample::Index>(),
        letter in prop::sample::select("abcdefgiklmnoprstuxz0123456789".chars().collect::<Vec<_>>()),
        kind in 0..3u8,
    ) {
        let catalogue = catalogue();
        let all = words();
        let (list, word) = &all[pick.index(all.len())];
        let mut letters: Vec<char> = word.chars().collect();
        let at = at.index(letters.len());
        match kind {
            0 => letters[at] = letter,
            1 => letters.insert(at, letter),
            _ => { letters.remove(at); }
        }
        let said: String = letters.into_iter().collect();
        let found = if list == "layout" { level(catalogue, &said) } else { meaning(catalogue, list, &said) };
        if let Meaning::Perhaps(offered) = found {
            let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
            prop_assert_eq!(digits(&offered), digits(&said), "{} is offered for {}", offered, said);
        }
    }
}
