//! A folder, and what is asked before anything is written.

use super::{EXAMPLE, answer, fine, flat, names, roomy};
use narrows_tests::narrows;
use tempfile::TempDir;

#[test]
fn files_are_measured_and_explain_takes_it() {
    let folder = roomy();
    let lists = TempDir::new().unwrap();
    let list = lists.path().join("readings.csv");
    let (at, list) = (folder.path().to_str().unwrap(), list.to_str().unwrap());
    let arguments = [
        "measure",
        "files",
        at,
        "--size",
        "60 MB",
        "--small",
        "20",
        "--as-administrator",
        "--desk",
        "cut-1",
        "--readings",
        list,
    ];
    let ran = fine(&arguments);
    assert!(flat(&ran.out).contains("is written at"), "{}", ran.out);
    assert!(
        flat(&ran.err).contains("Writing wears flash"),
        "{}",
        ran.err
    );
    assert!(names(folder.path()).is_empty());
    let text = std::fs::read_to_string(list).unwrap();
    assert!(
        text.starts_with(
            "desk,what,direction,value,low,high,unit,exactness,size,streams,again,remark\n"
        ),
        "{text}"
    );
    let explained = answer(&["explain", EXAMPLE, "--readings", list]);
    let readings = explained["readings"].as_array().unwrap();
    assert_eq!(
        (readings.len(), readings[0]["what"].as_str()),
        (4, Some("local-disk")),
        "{explained}"
    );
    // of a run that is over in a moment no reading says "next to nothing"
    for reading in readings {
        assert!(
            reading["megabytes_per_s"].as_f64().unwrap() > 1.0,
            "{reading}"
        );
    }
    // a second run adds to the list
    fine(&arguments);
    let longer = std::fs::read_to_string(list).unwrap();
    assert!(longer.starts_with(&text), "{longer}");
    assert!(
        longer.lines().count() >= text.lines().count() + readings.len(),
        "{longer}"
    );
    // a file that is no list of ours stays as it is
    let other = lists.path().join("notes.txt");
    std::fs::write(&other, "notes").unwrap();
    let refused = narrows(&[
        "measure",
        "files",
        at,
        "--size",
        "2 MB",
        "--small",
        "0",
        "--as-administrator",
        "--readings",
        other.to_str().unwrap(),
    ]);
    assert_eq!(refused.code, 2);
    assert_eq!(std::fs::read_to_string(&other).unwrap(), "notes");
}

#[test]
fn what_must_be_agreed_to_is_asked() {
    let folder = roomy();
    let at = folder.path().to_str().unwrap();
    let refused = narrows(&[
        "measure",
        "files",
        at,
        "--size",
        "11 GB",
        "--as-administrator",
    ]);
    assert_eq!(refused.code, 2, "{}", refused.out);
    assert!(refused.err.contains("--yes"), "{}", refused.err);
    for (arguments, part) in [
        (
            vec!["measure", "files", "/proc", "--as-administrator"],
            "belongs to the system",
        ),
        (
            vec!["measure", "files", "/no/such/folder", "--as-administrator"],
            "opening the folder failed",
        ),
        (
            vec![
                "measure",
                "files",
                at,
                "--size",
                "banana",
                "--as-administrator",
            ],
            "--size",
        ),
        (
            vec!["measure", "network", "--as-administrator"],
            "neither --wait nor --ask",
        ),
        (
            vec![
                "measure",
                "network",
                "--ask",
                "store.local",
                "--as-administrator",
            ],
            "names are not looked up",
        ),
        (
            vec![
                "measure",
                "network",
                "--ask",
                "127.0.0.1",
                "--token-file",
                "/no/such/file",
                "--as-administrator",
            ],
            "no such file",
        ),
        (vec!["explain", EXAMPLE, "--measure"], "--desk NAME"),
    ] {
        let ran = narrows(&arguments);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{arguments:?}");
        assert!(
            flat(&ran.err).contains(part),
            "{arguments:?} {part}: {}",
            ran.err
        );
    }
    assert!(names(folder.path()).is_empty());
}
