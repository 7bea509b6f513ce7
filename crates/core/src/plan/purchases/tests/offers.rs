use super::super::{Base, offers};
use crate::catalogue::Catalogue;

fn base() -> Base<'static> {
    let text = narrows_data::SITES
        .iter()
        .find(|(name, _)| *name == "granary-lane");
    Base {
        site: text.unwrap().1.as_bytes(),
        tasks: None,
        edits: &[],
    }
}

/// Titles of the faults, each with the letters that it points at.
fn faults(text: &str) -> Vec<(String, String)> {
    let catalogue = Catalogue::embedded().unwrap();
    let found = offers(text, &base(), &catalogue).unwrap_err();
    found
        .iter()
        .map(|f| (f.title.clone(), text[f.span.clone()].to_owned()))
        .collect()
}

fn has(text: &str, title: &str, spot: &str) {
    let found = faults(text);
    let there = found
        .iter()
        .any(|(t, s)| t.contains(title) && s.contains(spot));
    assert!(there, "{title} at {spot} in {found:?}");
}

const GOOD: &str = "[[offer]]\nid='a'\nprice='10 EUR'\nset=['run.3.cable=\"cat6a\"']\n";

#[test]
fn offers_are_read_as_lists_and_as_tables() {
    let catalogue = Catalogue::embedded().unwrap();
    let text = format!(
        "{GOOD}[[offer]]\nid=\"b\"\nlabel=\"a card\"\nprice=\"99.90 EUR\"\nrequires=\"a\"\nexcludes=[\"c\"]\n\
         [offer.set]\ndesk.colour.port.a.rate = \"10 Gb/s\"\nswitch.attic.port.fast.count = 4\n\
         [[offer]]\nid='c'\nprice='0 EUR'\nset={{ \"nas.store.signed\" = \"plain\" }}\n"
    );
    let made = offers(&text, &base(), &catalogue).unwrap();
    assert_eq!(made.len(), 3);
    let sets: Vec<&str> = made[1].sets.iter().map(crate::change::Edit::text).collect();
    assert_eq!(
        sets,
        [
            "desk.colour.port.a.rate=\"10 Gb/s\"",
            "switch.attic.port.fast.count=4",
            // a faster port at the desk is worth a cord to a port as fast
            "run.4.to=\"switch.attic.fast\""
        ]
    );
    assert_eq!((made[1].name(), made[0].name()), ("a card", "a"));
    assert_eq!(made[1].price.hundredths, 9990);
    assert_eq!(
        (&made[1].requires[..], &made[1].excludes[..]),
        (&[0][..], &[2][..])
    );
    // both name each other, whoever said so
    assert_eq!(made[2].excludes, [1]);
}

#[test]
fn what_an_offer_lacks_or_has_wrong_is_told() {
    has("", "holds no offers", "");
    has("[[ofer]]\nid='a'\n", "holds offers only", "ofer");
    has("[offer]\nid='a'\n", "double brackets", "offer");
    has("offer=[3]\n", "no offer", "3");
    has("[[offer]]\nid='a'\n", "has no 'price'", "offer");
    has("[[offer]]\nid='a'\n", "has no 'set'", "offer");
    has(&GOOD.replace("id='a'", "id=3"), "'id' is not written", "3");
    has(
        &GOOD.replace("id='a'", "id=''"),
        "'id' cannot be shown",
        "''",
    );
    has(&GOOD.replace("price=", "prize="), "no such key", "prize");
    has(&GOOD.replace("10 EUR", "-10 EUR"), "no price", "-10 EUR");
    has(
        &GOOD.replace("'10 EUR'", "10"),
        "'price' is not written",
        "10",
    );
    has(
        &GOOD.replace("['run.3.cable=\"cat6a\"']", "[]"),
        "sets nothing",
        "[]",
    );
    has(
        &GOOD.replace("['run.3.cable=\"cat6a\"']", "[3]"),
        "sets nothing in a site",
        "3",
    );
    has(
        &GOOD.replace("run.3.cable=", "run.3.cable "),
        "this is not an edit",
        "run.3",
    );
    has(
        &format!("{GOOD}requires=[3]\n"),
        "'requires' is not written",
        "[3]",
    );
}

#[test]
fn what_does_not_fit_together_is_told() {
    has(&format!("{GOOD}{GOOD}"), "two offers of one id", "'a'");
    let other = GOOD.replace("'a'", "'b'");
    has(
        &format!("{GOOD}{}", other.replace("EUR", "CHF")),
        "two currencies",
        "10 CHF",
    );
    has(&format!("{GOOD}requires=['a']\n"), "requires itself", "'a'");
    has(&format!("{GOOD}excludes=['a']\n"), "excludes itself", "'a'");
    has(
        &format!("{GOOD}excludes=['bb']\n{other}"),
        "no such offer",
        "'bb'",
    );
    let ring = format!("{GOOD}requires=['b']\n{other}requires=['c']\n{}", {
        let third = GOOD.replace("'a'", "'c'");
        format!("{third}requires=['a']\n")
    });
    has(&ring, "in a circle", "'b'");
    let told = faults(&ring)
        .iter()
        .filter(|(title, _)| title.contains("circle"))
        .count();
    assert_eq!(told, 1, "a circle is told once");
    let never = format!("{GOOD}requires=['b']\nexcludes=['b']\n{other}");
    has(&never, "never be bought", "'a'");
    let many: String = (0..21)
        .map(|i| GOOD.replace("'a'", &format!("'o{i}'")))
        .collect();
    has(&many, "too many offers", "offer");
}

#[test]
fn what_the_site_does_not_take_is_told_at_its_place() {
    has(&GOOD.replace("run.3.cable", "run.3.cabel"), "", "cabel");
    has(&GOOD.replace("cat6a", "cat9"), "", "cat9");
    // the port is full: it takes another offer
    let full = GOOD.replace("run.3.cable=\"cat6a\"", "run.4.to=\"switch.attic.fast\"");
    has(
        &full,
        "switch.attic.fast is used by 4 runs",
        "switch.attic.fast",
    );
    let catalogue = Catalogue::embedded().unwrap();
    let told = offers(&full, &base(), &catalogue).unwrap_err();
    assert!(
        told.iter()
            .next()
            .unwrap()
            .help
            .contains("name that in requires")
    );
    // a port of which fewer are left makes the site itself wrong
    let fewer = GOOD.replace("run.3.cable=\"cat6a\"", "switch.attic.port.fast.count=1");
    has(&fewer, "with this offer the site is wrong", "'a'");
    let port = "[[offer]]\nid='b'\nprice='10 EUR'\nset=['switch.attic.port.fast.count=4']\n";
    let both = format!("{full}requires=['b']\n{port}");
    assert!(offers(&both, &base(), &catalogue).is_ok());
}

#[test]
fn all_faults_come_at_once() {
    let text = "[[offer]]\nid='a'\nprice='-3 EUR'\nset=[]\nwishes=1\n[[offer]]\nid='a'\nprice='3 EUR'\nset=['x']\n";
    assert_eq!(faults(text).len(), 5, "{:?}", faults(text));
}
