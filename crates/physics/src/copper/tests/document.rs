//! The tables of `docs/copper.md` are what this code computes. Written anew with `NARROWS_REWRITE=1`.

use super::calibration::{Row, design_margins, link_models, one_gigabit, promises};
use super::sensitivity::{rows, zero};
use super::*;
use std::fmt::Write;

const BEGIN: &str = "<!-- tables begin -->\n";
const END: &str = "<!-- tables end -->\n";

fn calibration(c: &Copper, out: &mut String) {
    out.push_str(
        "### Calibration rows\n\n| row | set a number | ratio dB | margin dB | expected |\n\
         | --- | --- | ---: | ---: | --- |\n",
    );
    let all = [link_models(c), one_gigabit(c)];
    calibrated(c, all.into_iter().flatten(), out);
    for (what, published, case) in design_margins(c) {
        let (ratio, margin) = case.solve(c);
        let _ = writeln!(
            out,
            "| 1 Gb/s on 100 m of 5e, far-end crosstalk cancelled by 20 dB, {what} | no, but was seen | {ratio:.1} | \
             {margin:+.1} | {published}, {} |",
            if what.ends_with("bits") {
                "within 1"
            } else {
                "or more"
            }
        );
    }
    calibrated(c, promises(c).into_iter(), out);
}

fn calibrated(c: &Copper, all: impl Iterator<Item = Row>, out: &mut String) {
    for row in all {
        let (ratio, margin) = row.case.solve(c);
        let (kind, what) = row.what.split_once(": ").unwrap();
        let set = match kind {
            "set" => "yes",
            "seen" => "no, but was seen",
            other => panic!("{other}"),
        };
        let _ = writeln!(
            out,
            "| {what} | {set} | {ratio:.1} | {margin:+.1} | {} |",
            expected(&row)
        );
    }
}

fn expected(row: &Row) -> String {
    match (row.least.is_finite(), row.most.is_finite()) {
        (true, false) => format!("{} or more", row.least),
        (false, true) => format!("{} or less", row.most),
        _ => format!("{} to {}", row.least, row.most),
    }
}

fn sensitivity(c: &Copper, out: &mut String) {
    out.push_str(
        "\n### How far the margin moves, in dB\n\n| change | 10G 6A 100 m tied | 10G 6 55 m tied | \
         10G 5e 45 m loose | 10G 5e 60 m alone | 5G 5e 100 m loose | 2.5G 5e 100 m tied |\n\
         | --- | ---: | ---: | ---: | ---: | ---: | ---: |\n",
    );
    for row in rows(c) {
        let cells: Vec<String> = row
            .differences(c)
            .iter()
            .map(|d| {
                let text = format!("{d:+.1}");
                if text == "-0.0" || text == "+0.0" {
                    "0".to_owned()
                } else {
                    text
                }
            })
            .collect();
        let _ = writeln!(out, "| {} | {} |", row.what, cells.join(" | "));
    }
}

type Bend = fn(&mut Case, f64);

fn reach(c: &Copper, out: &mut String) {
    out.push_str(
        "\n### How far 10 Gb/s over 5e reaches at its limits, in metres\n\n\
         | judged number | lower | as it is | higher |\n| --- | ---: | ---: | ---: |\n",
    );
    let table: [(&str, Bundle, [f64; 3], Bend); 5] = [
        (
            "alien NEXT 41, 44, 47 dB, tied",
            Bundle::Tight,
            [-3.0, 0.0, 3.0],
            |k, by| {
                k.channel.alien.near += by;
            },
        ),
        (
            "alien NEXT 41, 44, 47 dB, loose",
            Bundle::Loose,
            [-3.0, 0.0, 3.0],
            |k, by| {
                k.channel.alien.near += by;
            },
        ),
        (
            "loose lay worth 3, 6, 9 dB",
            Bundle::Loose,
            [-3.0, 0.0, 3.0],
            |k, by| {
                k.channel.lay += by;
            },
        ),
        (
            "FEXT suppression 15, 20, 25 dB, alone",
            Bundle::Alone,
            [-5.0, 0.0, 5.0],
            |k, by| {
                k.knobs.far += by;
            },
        ),
        (
            "FEXT suppression 15, 20, 25 dB, loose",
            Bundle::Loose,
            [-5.0, 0.0, 5.0],
            |k, by| {
                k.knobs.far += by;
            },
        ),
    ];
    for (what, bundle, shifts, bend) in table {
        let metres = shifts.map(|by| format!("{:.0}", zero(c, bundle, |k| bend(k, by))));
        let _ = writeln!(out, "| {what} | {} |", metres.join(" | "));
    }
}

fn judged(out: &mut String) {
    out.push_str(
        "\n### Constants that are judgement\n\n| row | low | likely | high | unit | what |\n\
         | --- | ---: | ---: | ---: | --- | --- |\n",
    );
    let catalogue = Catalogue::embedded().unwrap();
    let ours = |id: &str| {
        ["copper.", "phy.", "powering."]
            .iter()
            .any(|of| id.starts_with(of))
    };
    for row in catalogue.numbers() {
        if ours(&row.id) && row.source.contains("judgement") {
            let _ = writeln!(
                out,
                "| {} | {} | {} | {} | {} | {} |",
                row.id, row.low, row.likely, row.high, row.unit, row.note
            );
        }
    }
}

#[test]
fn the_tables_of_the_document_are_what_is_computed() {
    let c = copper();
    let mut tables = String::new();
    calibration(&c, &mut tables);
    sensitivity(&c, &mut tables);
    reach(&c, &mut tables);
    judged(&mut tables);
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/copper.md");
    let text = std::fs::read_to_string(&path).unwrap();
    let (head, rest) = text.split_once(BEGIN).unwrap();
    let (_, tail) = rest.split_once(END).unwrap();
    let now = format!("{head}{BEGIN}\n{tables}\n{END}{tail}");
    if std::env::var_os("NARROWS_REWRITE").is_some() {
        std::fs::write(&path, now).unwrap();
    } else {
        let lines = text.lines().zip(now.lines());
        let differing = lines.filter(|(kept, computed)| kept != computed).take(3);
        assert!(text == now, "{:#?}", differing.collect::<Vec<_>>());
    }
}
