//! The table of fields, and what is made of it.

use super::{LANE, catalogue, changed};
use crate::site::schema::{Form, Section, json_schema, reference};

#[test]
fn every_field_says_what_it_is_and_how_to_find_it_out() {
    let rows = reference(&catalogue());
    assert!(rows.len() > 30);
    for row in &rows {
        assert!(row.doc.ends_with('.'), "{}", row.path);
        assert!(row.find_out.len() > 4, "{}", row.path);
        assert!(!row.allowed.is_empty(), "{}", row.path);
    }
    let length = rows.iter().find(|r| r.path == "run.NUMBER.length").unwrap();
    assert_eq!(length.example, "\"20..35 m\"");
    assert!(length.allowed.contains("100 ft"));
    assert!(rows.iter().any(|r| r.path == "nas.NAME.memory"));
    assert!(
        rows.iter()
            .any(|r| r.path == "port.NAME.rate" && r.default.is_none())
    );
}

#[test]
fn every_key_stands_once() {
    for section in Section::ALL {
        let mut keys: Vec<&str> = section.fields().map(|f| f.key).collect();
        assert!(!keys.is_empty(), "{section:?}");
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), section.fields().count(), "{section:?}");
    }
}

/// Every example of the table is accepted where the table says.
#[test]
fn every_example_is_legal() {
    for section in Section::ALL {
        for field in section.fields() {
            let path = match section {
                Section::Site => String::new(),
                Section::Network => "network.".to_owned(),
                Section::Array => "array.vault.".to_owned(),
                Section::Nas => "nas.store.".to_owned(),
                Section::Switch => "switch.attic.".to_owned(),
                Section::Desk => "desk.cut-1.".to_owned(),
                Section::Port => "desk.cut-1.port.a.".to_owned(),
                Section::Run => "run.2.".to_owned(),
                // each has its own rules, tested with them
                Section::Task
                | Section::AccessPoint
                | Section::Building
                | Section::Room
                | Section::Wall
                | Section::Jack
                | Section::Supply
                | Section::Copy
                | Section::Project => continue,
            };
            // these lead elsewhere, or shut out what stands beside them
            if matches!(field.form, Form::Named(_) | Form::Numbered(_) | Form::End)
                || [
                    "rates",
                    "socket",
                    "wireless",
                    "grade",
                    "cord-grade",
                    "room",
                    "distance",
                    "through",
                    "band",
                    "weaker",
                    "relayed",
                ]
                .contains(&field.key)
            {
                continue;
            }
            let edit = format!("{path}{}={}", field.key, field.example);
            // the drives of the example turn
            let drives = if field.find_out.contains("fills such a drive") {
                "array.vault.drives=6 x 2 TB nvme-gen3"
            } else {
                "array.vault.drives=6 x 10 TB hdd-7200"
            };
            // records are of pools
            let layout = if field.key == "record" {
                "array.vault.layout=raidz2"
            } else {
                "array.vault.layout=raid6"
            };
            let edits = [drives, layout, edit.as_str()];
            assert!(
                changed(&edits).is_ok(),
                "{edit}: {}",
                changed(&edits).unwrap_err()
            );
        }
    }
}

#[test]
fn the_json_schema_is_json_and_knows_every_key() {
    let text = json_schema(&catalogue());
    let schema: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(schema["additionalProperties"], false);
    let run = &schema["properties"]["run"]["items"];
    assert_eq!(run["required"], serde_json::json!(["from", "to"]));
    let port = &schema["properties"]["desk"]["additionalProperties"]["properties"]["port"];
    let rate = &port["additionalProperties"]["properties"]["rate"];
    assert_eq!(rate["type"], "string");
    let bundle = &run["properties"]["bundle"]["anyOf"][0]["enum"];
    assert_eq!(
        bundle,
        &serde_json::json!(["tight", "loose", "apart", "alone", "unknown"])
    );
    let mtu = &schema["properties"]["network"]["properties"]["mtu"];
    assert_eq!(
        (&mtu["minimum"], &mtu["maximum"]),
        (&576.into(), &9216.into())
    );
    for section in Section::ALL {
        for field in section.fields() {
            assert!(
                text.contains(&format!("\"{}\"", field.key)),
                "{}",
                field.key
            );
        }
    }
}

#[test]
fn every_key_of_the_example_is_in_the_table() {
    assert!(LANE.lines().count() > 50);
    for line in LANE
        .lines()
        .filter(|l| l.contains('=') && !l.trim_start().starts_with('#'))
    {
        let key = line.split(['=', '.', ' ']).next().unwrap_or_default();
        let known = Section::ALL.into_iter().any(|s| s.field(key).is_some());
        assert!(known, "{line}");
    }
}
