use crate::markup::tags;
use crate::{DAY, Folder, SITE, TASKS, WHOLE};
use narrows_tests::narrows;

#[test]
fn pictures_of_the_commands_stand_alone_on_standard_output() {
    for (arguments, title) in [
        (vec!["budget", SITE], "Granary Lane as it is connected"),
        (
            vec!["budget", SITE, "--desk", "cut-1"],
            "cut-1, place by place",
        ),
        (
            vec!["together", SITE, "--tasks", TASKS],
            "Granary Lane, all at once",
        ),
        (vec!["together", SITE, "--day", DAY], "The day, job by job"),
        (
            vec!["layouts", SITE],
            "Space over rate: what no other layout beats",
        ),
        (vec!["growth", WHOLE], "How vault fills"),
        (
            vec!["wireless", WHOLE],
            "Granary Lane: chance of reading 25.0 MB/s through the air",
        ),
        (vec!["cable", SITE], "What the cables leave over"),
        (vec!["cable", "cat6 30 m"], "Margin over length: cat6 30 m"),
    ] {
        let plain = narrows(&arguments);
        let ran = narrows(&[&arguments[..], &["--svg", "-"]].concat());
        assert_eq!(ran.code, plain.code, "{arguments:?}: {}", ran.err);
        let text = ran.out;
        assert!(
            text.starts_with("\n<svg") || text.starts_with("<svg"),
            "{arguments:?}"
        );
        assert!(text.trim_end().ends_with("</svg>"), "{arguments:?}");
        assert!(
            text.contains(&format!(">{title}</title>")),
            "{title}: {}",
            &text[..400]
        );
        assert!(
            text.contains("<desc id=\"picture-words\">")
                && text.contains("prefers-color-scheme:dark")
        );
        let opened = tags(&text)
            .iter()
            .filter(|tag| !tag.name.starts_with('/'))
            .count();
        let closed = tags(&text).len() - opened;
        assert_eq!(opened, closed, "an element is left open: {arguments:?}");
    }
}

#[test]
fn a_picture_in_a_file_leaves_the_answer_on_the_screen() {
    let folder = Folder::new("pictures");
    let file = folder.path("place.svg");
    let plain = narrows(&["budget", SITE]);
    let ran = narrows(&["budget", SITE, "--svg", &file]);
    assert_eq!((ran.code, ran.out), (plain.code, plain.out));
    assert!(std::fs::read_to_string(&file).unwrap().contains("<svg"));
    let ran = narrows(&["budget", SITE, "--svg", "/no/such/folder/a.svg"]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("cannot write"), "{}", ran.err);
}

#[test]
fn a_change_is_drawn_as_it_would_be() {
    let set = "switch.stairs.port.any.rate=\"1 Gb/s\"";
    let ran = narrows(&["budget", SITE, "--set", set, "--svg", "-"]);
    let before = narrows(&["budget", SITE, "--svg", "-"]);
    assert!(before.out.contains(">100 Mb/s<") && !ran.out.contains(">100 Mb/s<"));
}
