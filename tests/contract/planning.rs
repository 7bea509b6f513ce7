//! What is asked before anything is bought, plugged or drawn.

use super::*;

#[test]
fn capacity_has_the_promised_keys() {
    let top = json(&["capacity", EXAMPLE, "raidz2 6 x 10 TB", "--format", "json"]);
    has(&top, &["version", "command", "cautions", "answer"]);
    let layouts = top["answer"]["layouts"].as_array().unwrap();
    assert_eq!(layouts.len(), 2);
    assert_eq!(layouts[0]["array"], "vault");
    for layout in layouts {
        let bytes = |key: &str| layout[format!("{key}_bytes")].as_u64().unwrap();
        let parts = [
            "redundancy",
            "padding",
            "spares",
            "unused",
            "metadata",
            "reserve",
            "usable",
        ];
        assert_eq!(parts.into_iter().map(bytes).sum::<u64>(), bytes("raw"));
        assert!(bytes("comfortable") < bytes("usable"));
        for unused in layout["unused"].as_array().unwrap() {
            has(unused, &["why", "bytes"]);
        }
    }
    let turned = json(&[
        "capacity", "--need", "60 TB", "--drives", "10 TB", "--format", "json",
    ]);
    let answer = &turned["answer"];
    assert_eq!(answer["met"], true);
    let need = answer["need_bytes"].as_u64().unwrap();
    for kind in answer["kinds"].as_array().unwrap() {
        has(kind, &["kind", "smallest", "near_miss", "nearest"]);
        // one or the other is told of every kind
        assert_ne!(kind["smallest"].is_null(), kind["nearest"].is_null());
        if let Some(usable) = kind["smallest"]["usable_bytes"].as_u64() {
            let over = kind["smallest"]["over_bytes"].as_u64().unwrap();
            assert_eq!(need + over, usable);
        }
        if let Some(usable) = kind["near_miss"]["usable_bytes"].as_u64() {
            let short = kind["near_miss"]["short_bytes"].as_u64().unwrap();
            assert_eq!(usable + short, need);
            assert!(short * 50 <= need);
        }
    }
}

#[test]
fn layouts_have_the_promised_keys() {
    let top = json(&["layouts", EXAMPLE, "--need", "30 TB", "--format", "json"]);
    has(
        &top,
        &["version", "command", "assumptions", "cautions", "answer"],
    );
    assert_eq!(top["command"], "layouts");
    let said = top["cautions"].to_string();
    assert!(said.contains("no promise") && said.contains("not a backup"));
    has(
        &top["answer"],
        &[
            "bays",
            "streams",
            "survive",
            "met",
            "order",
            "looked_at",
            "left_out",
            "layouts",
            "nearest",
            "near_misses",
        ],
    );
    for row in top["answer"]["layouts"].as_array().unwrap() {
        has(
            row,
            &[
                "layout",
                "class",
                "drives",
                "spares",
                "survives_any",
                "usable_bytes",
                "comfortable_bytes",
                "read_empty_megabytes_per_s",
                "read_megabytes_per_s",
                "write_empty_megabytes_per_s",
                "write_megabytes_per_s",
                "read_streams_megabytes_per_s",
                "write_streams_megabytes_per_s",
                "read_degraded_megabytes_per_s",
                "read_degraded_two_megabytes_per_s",
                "read_rebuilding_megabytes_per_s",
                "read_scrubbing_megabytes_per_s",
                "random_reads_per_s",
                "random_writes_per_s",
                "random_reads_degraded_per_s",
                "rebuild_s",
                "array_lost_a_year",
                "lost_to_drives_a_year",
                "lost_to_common_causes_a_year",
                "file_damaged_a_year",
                "price",
                "price_per_terabyte",
                "needs",
                "beaten",
                "same_figures",
                "buys",
            ],
        );
        has(
            &row["array_lost_a_year"],
            &["optimistic", "typical", "pessimistic"],
        );
        has(
            &row["needs"][0],
            &[
                "need",
                "met",
                "probability",
                "short_share",
                "has_bytes",
                "has_megabytes_per_s",
            ],
        );
        // degraded never beats healthy
        if let Some(degraded) = row["read_degraded_megabytes_per_s"]["p50"].as_f64() {
            assert!(degraded <= row["read_megabytes_per_s"]["p50"].as_f64().unwrap());
        }
    }
}

#[test]
fn cable_has_the_promised_keys() {
    let top = json(&[
        "cable",
        "data/jacks/granary-lane.csv",
        "twinax 3 m",
        "--need",
        "1 Gb/s",
        "--format",
        "json",
    ]);
    let all = [
        "version",
        "command",
        "site",
        "assumptions",
        "cautions",
        "answer",
    ];
    has(&top, &all);
    assert_eq!(top["command"], "cable");
    let power = &top["answer"]["power"];
    let (reserved, drawn) = (&power["reserved_watts"], &power["drawn_watts"]);
    assert!(reserved.as_f64() >= drawn.as_f64());
    for run in top["answer"]["runs"].as_array().unwrap() {
        has(run, &["run", "medium", "length_m", "holds_megabits_per_s"]);
        has(&run["need"], &["link_megabits_per_s", "probability", "met"]);
        let copper = run["medium"] == "copper";
        assert_eq!(!run["rates"].as_array().unwrap().is_empty(), copper);
        for rate in run["rates"].as_array().unwrap() {
            has(rate, &["link_megabits_per_s", "upgraded"]);
            let what = ["what", "use_megabits_per_s", "holds_probability"];
            has(&rate["best_improvement"], &what);
            let today = &rate["today"];
            let state = ["standing", "margin_db", "noise_shares"];
            has(today, &state);
            let (links, holds) = (&today["links_probability"], &today["holds_probability"]);
            assert!(holds.as_f64().unwrap() <= links.as_f64().unwrap());
            let margin = &today["margin_db"];
            assert_eq!(margin.is_null(), today["standing"] != "modelled");
            if !margin.is_null() {
                assert!(margin["p05"].as_f64() < margin["p50"].as_f64());
                assert!(margin["p50"].as_f64() < margin["p95"].as_f64());
            }
        }
        if !run["power"].is_null() {
            let keys = [
                "class",
                "source_watts",
                "guaranteed_watts",
                "expected_watts",
                "lost_watts",
                "bundle_warmer_k",
                "refused",
            ];
            has(&run["power"], &keys);
        }
    }
}

#[test]
fn ports_have_the_promised_keys() {
    let jacks = "data/jacks/closet.csv";
    let tasks = "data/tasks/granary-lane.toml";
    let top = json(&[
        "ports", EXAMPLE, "--jacks", jacks, "--tasks", tasks, "--format", "json",
    ]);
    has(
        &top,
        &[
            "version",
            "command",
            "site",
            "assumptions",
            "cautions",
            "answer",
        ],
    );
    assert_eq!(top["command"], "ports");
    let answer = &top["answer"];
    has(
        answer,
        &[
            "met",
            "waits_today_s",
            "waits_s",
            "assumed_bytes_a_day",
            "relieved",
            "given_up",
            "not_patched",
            "spare_jacks",
            "free_ports",
        ],
    );
    for patch in answer["patches"].as_array().unwrap() {
        has(
            patch,
            &[
                "desk",
                "jack",
                "run",
                "panel_port",
                "room",
                "traced",
                "moves",
                "holds_probability",
            ],
        );
        has(&patch["port"], &["switch", "port", "link_megabits_per_s"]);
        has(&patch["today"], &["switch", "port", "link_megabits_per_s"]);
        for link in patch["links"].as_array().unwrap() {
            has(link, &["link_megabits_per_s", "probability"]);
        }
        has(&patch["read_megabytes_per_s"], &["p05", "p50", "p95"]);
        has(&patch["write_megabytes_per_s"], &["p05", "p50", "p95"]);
    }
    for stream in answer["streams"].as_array().unwrap() {
        has(
            stream,
            &[
                "desk",
                "does",
                "direction",
                "needs_megabytes_per_s",
                "gets_megabytes_per_s",
                "own_link_probability",
                "full",
                "met",
            ],
        );
    }
    let shared = answer["shared_links"].as_array().unwrap();
    assert!(!shared.is_empty());
    for link in shared {
        has(
            link,
            &[
                "run",
                "between",
                "direction",
                "carries_megabytes_per_s",
                "wanted_megabytes_per_s",
            ],
        );
    }
}

#[test]
fn purchases_have_the_promised_keys() {
    let offers = "data/offers/granary-lane.toml";
    let top = json(&["buy", EXAMPLE, "--offers", offers, "--format", "json"]);
    has(
        &top,
        &[
            "version",
            "command",
            "site",
            "assumptions",
            "cautions",
            "answer",
        ],
    );
    assert_eq!(top["command"], "buy");
    let answer = &top["answer"];
    has(
        answer,
        &[
            "met",
            "needs",
            "spend",
            "need_megabytes_per_s",
            "assumed_bytes_a_day",
            "looked_at",
            "fell_out",
            "first",
            "best",
        ],
    );
    let mut rows = vec![&answer["today"]];
    rows.extend(answer["purchases"].as_array().unwrap());
    assert!(rows.len() > 2);
    for row in rows {
        has(
            row,
            &[
                "offers",
                "price",
                "desks_met",
                "helps_probability",
                "beats_probability",
            ],
        );
        has(&row["price"], &["hundredths", "currency"]);
        assert!(row["price"]["hundredths"].is_i64());
        for key in ["waits_s", "saves_s"] {
            has(&row[key], &["mean", "p05", "p50", "p95"]);
        }
        for desk in row["desks"].as_array().unwrap() {
            has(
                desk,
                &[
                    "desk",
                    "read_megabytes_per_s",
                    "write_megabytes_per_s",
                    "waits_s",
                    "met_probability",
                ],
            );
        }
    }
    for offer in answer["offers"].as_array().unwrap() {
        has(offer, &["id", "label", "price", "helps", "with", "why"]);
    }
}
