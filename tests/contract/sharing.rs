//! Everybody at once, room for more, a day.

use super::*;

#[test]
fn together_has_the_promised_keys() {
    let top = json(&["together", EXAMPLE, "--tasks", TASKS, "--format", "json"]);
    has(
        &top,
        &[
            "version",
            "command",
            "site",
            "warnings",
            "assumptions",
            "cautions",
            "answer",
        ],
    );
    assert_eq!(top["command"], "together");
    let answer = &top["answer"];
    assert_eq!(answer["from_tasks"], true);
    let tasks = answer["tasks"].as_array().unwrap();
    assert_eq!(tasks.len(), 7);
    for task in tasks {
        has(
            task,
            &[
                "id",
                "desk",
                "does",
                "array",
                "port",
                "direction",
                "material",
                "because",
                "demand_megabytes_per_s",
                "held_to_megabytes_per_s",
                "megabytes_per_s",
                "alone_megabytes_per_s",
                "short_probability",
                "short_by_megabytes_per_s",
                "limits",
            ],
        );
        // a task has a deadline or it has none
        assert_eq!(
            task["demand_megabytes_per_s"].is_null(),
            task["short_probability"].is_null()
        );
        let mut sum = 0.0;
        for limit in task["limits"].as_array().unwrap() {
            has(
                limit,
                &["hops", "alone", "share", "if_lifted_megabytes_per_s"],
            );
            sum += limit["share"].as_f64().unwrap();
        }
        // shares are written at six digits; in the rest a task gets all that it asks for
        assert!(sum < 1.0 + 1e-4, "{sum}");
    }
    for hop in answer["shared_hops"].as_array().unwrap() {
        has(
            hop,
            &[
                "id",
                "kind",
                "label",
                "note",
                "towards",
                "tasks",
                "busy",
                "full_probability",
                "moving",
            ],
        );
    }
    for total in answer["totals"].as_array().unwrap() {
        has(total, &["array", "direction", "megabytes_per_s"]);
    }
}

#[test]
fn room_has_the_promised_keys() {
    let top = json(&["together", EXAMPLE, "--tasks", TASKS, "--format", "json"]);
    let room = &top["answer"]["room"];
    has(
        room,
        &[
            "more_desks",
            "pictures",
            "read_ahead_s",
            "spells_per_hour_allowed",
            "not_counted",
        ],
    );
    let kinds = room["more_desks"].as_array().unwrap();
    assert!(!kinds.is_empty());
    for more in kinds {
        has(
            more,
            &[
                "tasks",
                "desks",
                "material",
                "megabytes_per_s",
                "at_once_p50",
                "at_once_surely",
                "full_first",
                "pausing",
                "not_told",
                "if_they_pause",
            ],
        );
        assert!(more["at_once_surely"].as_u64() <= more["at_once_p50"].as_u64());
        let pausing = more["pausing"].as_str().unwrap();
        assert!(["counted", "few", "not-told"].contains(&pausing));
        assert_eq!(more["if_they_pause"].is_null(), pausing != "counted");
        assert_eq!(more["not_told"].is_null(), pausing != "not-told");
    }
}

#[test]
fn a_day_has_the_promised_keys() {
    let top = json(&["together", EXAMPLE, "--day", JOBS, "--format", "json"]);
    has(
        &top,
        &[
            "version",
            "command",
            "site",
            "warnings",
            "assumptions",
            "cautions",
        ],
    );
    assert_eq!(top["command"], "together");
    let day = &top["answer"]["day"];
    has(day, &["in_time", "cases", "jobs"]);
    for job in day["jobs"].as_array().unwrap() {
        has(
            job,
            &[
                "job",
                "from",
                "to",
                "size_bytes",
                "read_back",
                "earliest_s",
                "due_s",
                "ends_s",
                "in_time",
                "in_time_probability",
                "done_when_due_share",
                "late_by_s",
                "megabytes_per_s",
                "needs_megabytes_per_s",
                "waits",
            ],
        );
        has(&job["ends_s"], &["p05", "p50", "p95"]);
        for wait in job["waits"].as_array().unwrap() {
            has(wait, &["for", "share"]);
        }
    }
}
