//! What people say in their own words, and what is asked back.

use super::{EXAMPLE, at_granary_lane, explain, flat, json, of};
use serde_json::Value;

#[test]
fn a_drive_in_trouble_comes_first() {
    for said in [
        "the NAS has been beeping since this morning",
        "one of the disks is clicking",
        "we had a power cut yesterday",
        "a rebuild is running",
    ] {
        let ran = explain(&of(&at_granary_lane(&["cut-1 copy read 400 MB/s", said])));
        assert_eq!(ran.code, 0, "{said}: {}", ran.err);
        let text = flat(&ran.out);
        let copy = text
            .find("is the second copy of the pictures complete")
            .unwrap();
        let rate = text.find("400 MB/s").unwrap();
        assert!(
            copy < rate && text.contains("Until then:"),
            "{said}: {text}"
        );
    }
}

#[test]
fn what_may_be_a_drive_in_trouble_is_asked_with_the_copy_first() {
    let all = at_granary_lane(&["it beeps"]);
    let ran = explain(&of(&all));
    assert_eq!(ran.code, 3, "{}", ran.out);
    let text = flat(&ran.out);
    let copy = text
        .find("is the second copy of the pictures complete")
        .unwrap();
    let question = text.find("may mean").unwrap();
    assert!(
        copy < question && text.contains("Until then: no rebuild"),
        "{text}"
    );
    let ran = explain(&[&of(&all)[..], &["--format", "json"]].concat());
    assert_eq!(ran.code, 3);
    let answer: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(answer["answer"]["choices"][0]["id"], "array-alarm");
    assert!(
        !answer["answer"]["before_all"]
            .as_array()
            .unwrap()
            .is_empty()
    );
}

#[test]
fn layers_of_unknown_material_are_asked() {
    let all = at_granary_lane(&["colour: plays two layers, stutters on three"]);
    let ran = explain(&[&of(&all)[..], &["--format", "json"]].concat());
    let answer: Value = serde_json::from_str(&ran.out).unwrap();
    let reading = &answer["answer"]["readings"][0];
    assert_eq!(
        (&reading["value_low"], &reading["value_high"]),
        (&2.0.into(), &3.0.into())
    );
    let known = !answer["answer"]["choices"].as_array().unwrap().is_empty();
    assert_eq!(ran.code, if known { 3 } else { 0 }, "{}", ran.out);
    let said = "colour: plays two layers of ProRes 422 HQ UHD 25 fps, stutters on three";
    let answer = &json(&of(&at_granary_lane(&[said])))["answer"];
    assert!(answer["choices"].as_array().unwrap().is_empty());
    assert!(
        answer["in_words"]
            .as_str()
            .unwrap()
            .contains("184 and 276 MB/s")
    );
}

#[test]
fn slips_of_the_keyboard_are_mended() {
    let answer = &json(&of(&at_granary_lane(&["cut-1 coyp raed 112"])))["answer"];
    let reading = &answer["readings"][0];
    assert_eq!(
        (&reading["what"], &reading["direction"], &reading["text"]),
        (
            &"copy".into(),
            &"read".into(),
            &"cut-1 coyp raed 112".into()
        )
    );
}

/// The program with something to read.
fn asked(arguments: &[&str], input: &str) -> (String, String) {
    let all: Vec<&str> = ["narrows", "explain"]
        .iter()
        .chain(arguments)
        .copied()
        .collect();
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut input = input.as_bytes();
    narrows::run_reading(all, &mut input, &mut out, &mut err, false);
    (
        String::from_utf8(out).unwrap(),
        String::from_utf8(err).unwrap(),
    )
}

#[test]
fn questions_end_in_what_the_flags_would_say() {
    let site = narrows_tests::root().join(EXAMPLE);
    let site = site.to_str().unwrap();
    for answers in [
        "cut-1 copy read 60 MB/s\n1\n2\n3\n",
        "cut-1 copy read 60 MB/s\n3\ndon't know\n112 MB/s\n1\n",
        "colour copy read 11.2 MB/s\n100 Mb/s\n",
        "banana\ncut-1 copy write 20 MB/s\nbanana\n2\n1\n2\n1\n2\n1\n",
        "",
    ] {
        let (out, err) = asked(&[site, "--ask"], answers);
        let (_, flags) = err.split_once("The same again:").unwrap();
        let flags = flat(flags);
        let texts: Vec<&str> = flags.split('"').skip(1).step_by(2).collect();
        assert_eq!(texts.is_empty(), answers.is_empty(), "{err}");
        if texts.is_empty() {
            continue;
        }
        let mut all = vec![site];
        for text in &texts {
            all.extend(["--measured", text]);
        }
        assert_eq!(asked(&all, "").0, out, "{answers:?}: {err}");
        assert!(err.contains("min)"), "{err}");
    }
}

#[test]
fn a_desk_may_be_told_once_for_all() {
    let one = json(&[EXAMPLE, "--measured", "read 11.4 MB/s", "--desk", "sound"]);
    let other = json(&[EXAMPLE, "--measured", "sound read 11.4 MB/s"]);
    let expected = |top: &Value| top["answer"]["readings"][0]["expected_megabytes_per_s"].clone();
    assert_eq!(expected(&one), expected(&other));
    // a second reading without a name is of the same desk
    let two = json(&[
        EXAMPLE,
        "--measured",
        "sound read 11.4 MB/s",
        "--measured",
        "write 11 MB/s",
    ]);
    assert_eq!(two["answer"]["readings"].as_array().unwrap().len(), 2);
}

#[test]
fn a_sentence_may_hold_a_reading_and_several_remarks() {
    let said = "since the new switch it drops after ten seconds and copies from the other desk \
                are fine, 40 MB/s";
    let all = [EXAMPLE, "--desk", "colour", "--measured", said];
    let answer = &json(&all)["answer"];
    let reading = &answer["readings"][0];
    assert_eq!(reading["value_low"], 40.0, "{answer}");
    let ids: Vec<&str> = answer["remarks"]
        .as_array()
        .unwrap()
        .iter()
        .map(|remark| remark["id"].as_str().unwrap())
        .collect();
    assert_eq!(ids, ["drops-after", "other-computer-better"], "{answer}");
}

#[test]
fn a_question_about_a_light_is_no_alarm() {
    let ran = explain(&[EXAMPLE, "--measured", "What does the yellow light mean?"]);
    assert_eq!(ran.code, 2, "{}", ran.out);
    assert!(
        !ran.err.contains("second copy of the pictures"),
        "{}",
        ran.err
    );
}
