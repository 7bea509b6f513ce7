use super::super::{Traced, jack_map};
use crate::catalogue::Catalogue;
use crate::site::{Site, read};

fn site(catalogue: &Catalogue) -> Site {
    let text = narrows_data::SITES
        .iter()
        .find(|(name, _)| *name == "granary-lane");
    read(text.unwrap().1, &[], catalogue).unwrap()
}

#[test]
fn a_list_is_read_with_where_each_jack_leads() {
    let catalogue = Catalogue::embedded().unwrap();
    let text = "\u{feff}Jack;Panel port;Room;Desk;Switch;Traced;Cable;Length m\r\n\
                E-1;P-01;edit;cut-1;;one trace;cat5e;31,5\r\n\
                E-2;;;;attic;;unknown;20..35\r\n\
                E-3;P-03;edit;cut-2;;2;cat6;44\r\n";
    let (_, found) = jack_map(text.as_bytes(), &site(&catalogue), &catalogue);
    let jacks = found.unwrap();
    let told: Vec<_> = jacks
        .iter()
        .map(|j| {
            (
                j.label.as_str(),
                j.panel.as_deref(),
                j.desk.as_deref(),
                j.traced,
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            ("E-1", Some("P-01"), Some("cut-1"), Traced::Once),
            ("E-2", None, None, Traced::Guess),
            ("E-3", Some("P-03"), Some("cut-2"), Traced::Verified),
        ]
    );
    assert_eq!(jacks[1].switch.as_deref(), Some("attic"));
    assert_eq!(jacks[0].room.as_deref(), Some("edit"));
}

#[test]
fn everything_that_cannot_be_is_told_at_once_with_its_place() {
    let catalogue = Catalogue::embedded().unwrap();
    let text = "jack;panel port;desk;switch;traced;cable;length m\n\
                E-1;P-01;cut-1;;sure;cat5e;31\n\
                E-1;P-02;cut-3;;;cat9;58\n\
                E-3;p-01;cut-1;atic;;cat6;far\n";
    let (text, found) = jack_map(text.as_bytes(), &site(&catalogue), &catalogue);
    let faults = found.unwrap_err();
    let told: Vec<(&str, &str)> = faults
        .iter()
        .map(|f| (f.title.as_str(), &text[f.span.clone()]))
        .collect();
    for expected in [
        ("a jack twice", "E-1"),
        ("a panel port used by two jacks", "p-01"),
        ("a desk on two jacks", "cut-1"),
        ("the site has no such desk", "cut-3"),
        ("the site has no such switch", "atic"),
        ("how sure a label is", "sure"),
    ] {
        assert!(told.contains(&expected), "{expected:?} in {told:?}");
    }
    // and what is wrong with the cables
    assert!(told.iter().any(|(_, spot)| *spot == "cat9"), "{told:?}");
    assert!(told.iter().any(|(_, spot)| *spot == "far"), "{told:?}");
    let nearest = faults
        .iter()
        .find(|f| f.title == "the site has no such switch");
    let fix = nearest.and_then(|f| f.replacement.as_ref());
    assert_eq!(fix.map(|fix| fix.text.as_str()), Some("attic"));
}
