//! What a cause says of the site can be said to the site, and the site then says the same.

use super::super::cause::causes;
use super::super::explain;
use super::reasoning::{copy, lane, told};
use crate::budget::{Question, answer};
use crate::catalogue::Catalogue;
use crate::change::Edit;
use crate::quantity::in_megabytes_per_second;
use crate::site::read;
use crate::spread::Draws;
use crate::work::{Activity, Direction, Work};

/// Places of the example that the edits of causes are tried on.
fn place(edit: &str) -> String {
    let of = |field: &str| edit.contains(field);
    let path = if of(".negotiated=\"2.5") || of(".negotiated=\"1 G") {
        "run.2"
    } else if of(".negotiated") || of(".lost") {
        "run.4"
    } else if of(".duplex") {
        "run.6"
    } else if of("failed") || of("rebuilding") || of("fill") || of("drives") {
        "array.vault"
    } else if of(".signed") || of(".sync") {
        "nas.store"
    } else {
        "desk.cut-1"
    };
    edit.replace("{place}", path)
}

#[test]
fn every_edit_of_a_cause_is_legal() {
    let catalogue = Catalogue::embedded().unwrap();
    let mut tried = 0;
    for cause in causes().unwrap() {
        let Some(edit) = &cause.edit else { continue };
        let text = place(edit);
        let edit = Edit::parse(&text, 0).unwrap();
        let made = read(lane(), &[edit], &catalogue);
        assert!(made.is_ok(), "{}: {text}: {}", cause.id, made.unwrap_err());
        tried += 1;
    }
    assert!(tried > 12, "{tried}");
}

/// Readings that a site with the fault written into it gives are explained by that fault.
#[test]
fn verify_what_an_edited_site_gives_is_explained_by_the_cause_with_that_edit() {
    let catalogue = Catalogue::embedded().unwrap();
    let cases = [
        ("run.4.negotiated=\"100 Mb/s\"", "colour", "slow-hop"),
        ("run.2.negotiated=\"1 Gb/s\"", "cut-1", "slow-hop"),
        (
            "desk.cut-1.port.a.adapter=\"usb 480 Mb/s\"",
            "cut-1",
            "slot-or-adapter",
        ),
    ];
    for (edit, desk, family) in cases {
        let edit = Edit::parse(edit, 0).unwrap();
        let faulty = read(lane(), std::slice::from_ref(&edit), &catalogue).unwrap();
        let question = Question {
            work: Work::plain(Activity::Copy),
            desk: Some(desk.to_owned()),
            working: false,
            need: None,
        };
        let found = answer(&faulty, &question, &catalogue, &mut Draws::new(1024)).unwrap();
        let rate = |direction: Direction| {
            let flow = found
                .flows
                .iter()
                .find(|f| f.direction == direction)
                .unwrap();
            in_megabytes_per_second(flow.megabytes_per_s.p50)
        };
        let readings = vec![
            copy(desk, Direction::Read, rate(Direction::Read)),
            copy(desk, Direction::Write, rate(Direction::Write)),
        ];
        let explained = explain(&told(lane(), readings), &catalogue).unwrap();
        let first = &explained.families[0];
        assert_eq!(first.family, family, "{edit}: {:?}", explained.families);
    }
}
