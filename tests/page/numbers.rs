use crate::markup::{tags, unescaped, visible, without};
use crate::{ALL, DAY, JACKS, OFFERS, READINGS, SITE, TASKS, WHOLE, page};
use narrows_tests::{narrows, root};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

fn ask(arguments: &[&str]) -> Value {
    let ran = narrows(&[arguments, &["--format", "json"]].concat());
    assert!(ran.code < 2, "{arguments:?}: {}", ran.err);
    serde_json::from_str(&ran.out).unwrap()
}

/// The JSON answers behind the page of the place with its air, copies and supplies.
fn kept() -> BTreeMap<&'static str, Value> {
    BTreeMap::from([
        ("budget", ask(&["budget", WHOLE, "--better"])),
        ("together", ask(&["together", WHOLE])),
        ("cable", ask(&["cable", WHOLE])),
        ("capacity", ask(&["capacity", WHOLE])),
        ("layouts-vault", ask(&["layouts", WHOLE, "--all"])),
        ("ports", ask(&["ports", WHOLE])),
        ("wireless", ask(&["wireless", WHOLE])),
        ("growth", ask(&["growth", WHOLE])),
        ("backup", ask(&["backup", WHOLE])),
        ("outage", ask(&["outage", WHOLE])),
    ])
}

/// The JSON answers behind the page of the example, by the first word of a key.
fn answers() -> BTreeMap<&'static str, Value> {
    BTreeMap::from([
        ("budget", ask(&["budget", SITE, "--better"])),
        ("together", ask(&["together", SITE, "--tasks", TASKS])),
        ("together-day", ask(&["together", SITE, "--day", DAY])),
        ("cable", ask(&["cable", SITE])),
        ("capacity", ask(&["capacity", SITE])),
        ("layouts-vault", ask(&["layouts", SITE, "--all"])),
        ("explain", ask(&["explain", SITE, "--readings", READINGS])),
        (
            "buy",
            ask(&["buy", SITE, "--offers", OFFERS, "--tasks", TASKS]),
        ),
        (
            "ports",
            ask(&["ports", SITE, "--jacks", JACKS, "--tasks", TASKS]),
        ),
    ])
}

/// The value that a key leads to.
fn value<'a>(answers: &'a BTreeMap<&str, Value>, key: &str) -> &'a Value {
    let (command, mut rest) = key.split_once('/').unwrap();
    let mut at = &answers[command]["answer"];
    if let Some(named) = rest.strip_prefix("by-name/") {
        let (name, field) = named.split_once('/').unwrap();
        let rows = at["layouts"].as_array().unwrap();
        at = rows
            .iter()
            .find(|row| row["layout"] == name)
            .unwrap_or_else(|| panic!("{key}"));
        rest = field;
    }
    let pointer = format!("/{rest}");
    at.pointer(&pointer)
        .unwrap_or_else(|| panic!("the answer has no {key}"))
}

/// The numbers of the page: the key, and the text.
fn marked(page: &str) -> Vec<(String, String)> {
    tags(page)
        .iter()
        .filter_map(|tag| {
            let key = tag.value("data-at")?.to_owned();
            let text = page[tag.end..].split('<').next().unwrap();
            Some((key, unescaped(text)))
        })
        .collect()
}

/// Half of the last digit that is written, in the unit of the text.
fn half_a_digit(number: &str) -> f64 {
    let digits = number.trim_start_matches(['+', '-']);
    let places = digits.split_once('.').map_or(0, |(_, behind)| behind.len());
    let whole = digits.replace('.', "");
    // 1180 has three digits and a nought that only holds the place
    let noughts = if places == 0 && whole.len() > 3 {
        whole.len() - 3
    } else {
        0
    };
    0.5 * 10f64.powi(i32::try_from(noughts).unwrap() - i32::try_from(places).unwrap())
}

/// What one of the unit of a text is in the unit of its key.
#[allow(clippy::match_same_arms)] // a line a kind of number
fn factor(key: &str, unit: &str) -> f64 {
    let last = key.rsplit('/').next().unwrap();
    let field = if ["p05", "p50", "p95", "typical", "mean"].contains(&last) {
        key.rsplit('/').nth(1).unwrap()
    } else {
        last
    };
    match (field, unit) {
        // what a battery and an orderly stop take is in minutes, copies in hours
        (f, "") if f.starts_with("lasts_") || f == "begin_after_s" => 60.0,
        ("takes_s", "") if key.starts_with("outage/") => 60.0,
        (f, "") if f.ends_with("_s") && key.starts_with("backup/") => 3600.0,
        ("lost_bytes", "") => 1e9,
        (f, "") if f.ends_with("_watts") || f.ends_with("_months") => 1.0,
        (f, "") if f.ends_with("hours_a_year") => 1.0,
        (f, "Mb/s") if f.ends_with("megabits_per_s") => 1.0,
        (f, "Gb/s") if f.ends_with("megabits_per_s") => 1000.0,
        (f, "") if f.ends_with("_bytes") => 1e12,
        ("waits_s" | "saves_s", "") => 60.0,
        ("from_s" | "to_s" | "hundred_gigabytes_s", "s") => 1.0,
        ("from_s" | "to_s" | "hundred_gigabytes_s", "min") => 60.0,
        ("from_s" | "to_s" | "hundred_gigabytes_s", "h") => 3600.0,
        ("busy" | "moving" | "share" | "array_lost_a_year", "") => 0.01,
        (f, "") if f.ends_with("probability") => 0.01,
        (f, "") if f.ends_with("megabytes_per_s") || f.ends_with("_db") => 1.0,
        ("survives_any" | "minutes", "") => 1.0,
        _ => panic!("{key}: nobody knows the unit '{unit}'"),
    }
}

/// Why a text does not say what its key has.
fn wrong(key: &str, text: &str, value: &Value) -> Option<String> {
    if let Some(price) = value.get("currency") {
        let hundredths = value["hundredths"].as_i64().unwrap();
        let whole = format!("{} {}", hundredths / 100, price.as_str().unwrap());
        return (text != whole).then(|| format!("{key}: {text}, not {whole}"));
    }
    let value = value
        .as_f64()
        .unwrap_or_else(|| panic!("{key} is no number: {value}"));
    if text.contains(':') {
        let (clock, days) = text.split_once(" +").unwrap_or((text, "0"));
        let (hours, minutes) = clock.split_once(':').unwrap();
        let told = days.parse::<f64>().unwrap() * 86400.0
            + hours.parse::<f64>().unwrap() * 3600.0
            + minutes.parse::<f64>().unwrap() * 60.0;
        // a clock shows the minute by which it is so; JSON has six digits
        return (!(-0.5..60.5).contains(&(told - value)))
            .then(|| format!("{key}: {text}, not {value} s"));
    }
    let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
    let factor = factor(key, unit);
    let ok = match number
        .strip_prefix('<')
        .or_else(|| number.strip_prefix('>'))
    {
        // never rounded into certainty
        Some("1") => value > 0.0 && value < factor,
        Some("99") => value > 99.0 * factor,
        Some(_) => false,
        None => {
            let told: f64 = number.parse().unwrap_or_else(|_| panic!("{key}: {text}"));
            // JSON has six digits
            let slack = half_a_digit(number) * factor * (1.0 + 1e-6) + value.abs() * 1e-5;
            (told * factor - value).abs() <= slack
        }
    };
    (!ok).then(|| format!("{key}: {text}, not {value}"))
}

#[test]
fn every_number_is_that_of_its_command() {
    assert!(all_right(&page(&ALL), &answers()) > 500);
    assert!(all_right(&page(&[WHOLE]), &kept()) > 500);
}

/// Holds every number of a page to its command; how many there are.
fn all_right(page: &str, answers: &BTreeMap<&str, Value>) -> usize {
    let all = marked(page);
    let faults: Vec<String> = all
        .iter()
        .filter_map(|(key, text)| wrong(key, text, value(answers, key)))
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    for command in answers.keys() {
        let count = all
            .iter()
            .filter(|(key, _)| key.starts_with(&format!("{command}/")))
            .count();
        assert!(count > 0, "no number of {command} is on the page");
    }
    all.len()
}

#[test]
fn the_test_notices_a_wrong_number() {
    let key = "budget/flows/0/megabytes_per_s/p50";
    let value = Value::from(603.269);
    assert_eq!(wrong(key, "603", &value), None);
    for text in ["604", "602", "60.3", "6030", "<1"] {
        assert!(wrong(key, text, &value).is_some(), "{text}");
    }
    let share = Value::from(0.4651);
    assert_eq!(
        wrong("budget/flows/0/branches/0/probability", "47", &share),
        None
    );
    assert!(wrong("budget/flows/0/branches/0/probability", "46", &share).is_some());
    assert!(
        wrong(
            "together-day/day/jobs/0/ends_s/p50",
            "21:27",
            &Value::from(77_100.0)
        )
        .is_some()
    );
    assert_eq!(
        wrong(
            "together-day/day/jobs/0/ends_s/p50",
            "21:25",
            &Value::from(77_100.0)
        ),
        None
    );
}

/// Numbers in our own sentences: what a percentile is, what a copy should be at least, how to fold.
const OWN: [&str; 14] = [
    "0", "1", "2", "3", "4", "9", "10", "20", "80", "90", "95", "99", "100", "5",
];

fn tokens(text: &str) -> BTreeSet<String> {
    text.split(|c: char| !c.is_ascii_digit() && c != '.')
        .map(|token| token.trim_matches('.'))
        .filter(|token| token.contains(|c: char| c.is_ascii_digit()))
        .map(str::to_owned)
        .collect()
}

fn strings(value: &Value, found: &mut String) {
    match value {
        Value::String(text) => {
            found.push_str(text);
            found.push(' ');
        }
        Value::Array(all) => all.iter().for_each(|one| strings(one, found)),
        Value::Object(all) => all.values().for_each(|one| strings(one, found)),
        _ => {}
    }
}

#[test]
fn no_number_stands_on_the_page_that_no_command_or_file_says() {
    let files = [SITE, JACKS, TASKS, DAY, OFFERS, READINGS];
    let commands: [&[&str]; 9] = [
        &["budget", SITE],
        &["together", SITE, "--tasks", TASKS],
        &["together", SITE, "--day", DAY],
        &["cable", SITE],
        &["capacity", SITE],
        &["layouts", SITE],
        &["explain", SITE, "--readings", READINGS],
        &["buy", SITE, "--offers", OFFERS, "--tasks", TASKS],
        &["ports", SITE, "--jacks", JACKS, "--tasks", TASKS],
    ];
    no_strange_number(&page(&ALL), &answers(), &files, &commands);
    let commands: [&[&str]; 10] = [
        &["budget", WHOLE],
        &["together", WHOLE],
        &["cable", WHOLE],
        &["capacity", WHOLE],
        &["layouts", WHOLE],
        &["ports", WHOLE],
        &["wireless", WHOLE],
        &["growth", WHOLE],
        &["backup", WHOLE],
        &["outage", WHOLE],
    ];
    no_strange_number(&page(&[WHOLE]), &kept(), &[WHOLE], &commands);
}

fn no_strange_number(
    text: &str,
    answers: &BTreeMap<&str, Value>,
    files: &[&str],
    commands: &[&[&str]],
) {
    let mut known: BTreeSet<String> = OWN.iter().map(|own| (*own).to_owned()).collect();
    known.insert("0.2.0".to_owned());
    let mut told = String::new();
    for answer in answers.values() {
        strings(answer, &mut told);
    }
    for file in files {
        told.push_str(&std::fs::read_to_string(root().join(file)).unwrap());
        told.push(' ');
    }
    // what the commands say first, and what the cautions of a plain answer say
    for command in commands {
        let said = narrows(command).out;
        told.extend(
            said.lines()
                .take_while(|line| !line.is_empty())
                .map(|line| format!("{line} ")),
        );
    }
    known.extend(tokens(&told));
    known.extend(marked(text).iter().flat_map(|(_, number)| tokens(number)));
    // the numbers along a scale are those of the scale
    let body = without(text, "<g class=\"scale\">", "</g>");
    let strange: Vec<String> = tokens(&visible(&body))
        .difference(&known)
        .cloned()
        .collect();
    assert!(strange.is_empty(), "{strange:?}");
}
