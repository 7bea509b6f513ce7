//! The few layouts that are looked at first, for one number of bays or several side by side.

use super::text::Shown;
use crate::render::lead::Lead;
use crate::render::progress::stopped_after;
use crate::render::prose::{counted, rate};
use crate::render::table::{Side, Table, tied};
use narrows_core::plan::{Criterion, Pick, Picked, Row, handful};
use narrows_core::quantity::three_digits;
use narrows_core::quantity::units::information::terabyte;
use narrows_core::quantity::units::ratio::percent;

/// What a layout is picked for, in words.
fn words(pick: Pick, priced: bool) -> &'static str {
    match pick {
        Pick::MostSpace => "most space",
        Pick::FastestWriting => "fastest writing",
        Pick::Cheapest if priced => "cheapest",
        Pick::Cheapest => "fewest drives",
        Pick::Safest => "safest",
        Pick::Balanced => "balanced",
    }
}

fn terabytes(row: &Row) -> String {
    three_digits(row.usable.information().get::<terabyte>())
}

/// Chances below one in this many are told as that: what a model of drives says beyond is no knowledge.
const RAREST: f64 = 1e9;

/// How likely the drives alone lose it in a year, as one of so many arrays: `900`, `10k`, `2m`.
fn one_in(row: &Row) -> String {
    let chance = row
        .loss
        .by_drives
        .get::<narrows_core::quantity::units::ratio::one>();
    if chance <= 0.0 {
        return "never".to_owned();
    }
    let many = 1.0 / chance;
    if many > RAREST {
        return ">1000m".to_owned();
    }
    let rounded: f64 = format!("{many:.0e}").parse().unwrap_or(many);
    if rounded >= 1e6 {
        format!("{:.0}m", rounded / 1e6)
    } else if rounded >= 1e4 {
        format!("{:.0}k", rounded / 1e3)
    } else {
        format!("{rounded:.0}")
    }
}

/// What a layout has less of than the best of the others, and by how many percent.
fn gives_up(picked: &Picked<'_>) -> Option<(&'static str, String)> {
    let (criterion, share) = picked.gives_up?;
    let less = match criterion {
        Criterion::Usable => "space",
        Criterion::Read => "reading",
        Criterion::Write => "writing",
        _ => "degraded",
    };
    Some((less, format!("{:.0}", (1.0 - share) * 100.0)))
}

/// A layout without the size of its drives, which stands above the table where there is one.
fn short(shown: &Shown<'_>, row: &Row) -> String {
    let name = shown.short_name(row);
    match &shown.question.choices[..] {
        [only] => name
            .replace(&format!(" x {}", only.size()), "")
            .replace(&format!(" {}", only.size()), ""),
        _ => name,
    }
}

/// The answer where nothing chooses among layouts.
pub(crate) fn text(shown: &[Shown<'_>]) -> String {
    let mut out = lead(shown).text(shown.first().map_or(80, |s| s.width));
    for one in shown {
        out.push('\n');
        let picked = handful(&one.answer.rows);
        if picked.is_empty() {
            one.push(&mut out, "No layout of these drives fits.", 0);
            continue;
        }
        let bays = counted(one.question.bays, "bay", "bays");
        let drives: Vec<String> = one
            .question
            .choices
            .iter()
            .map(ToString::to_string)
            .collect();
        one.push(&mut out, &format!("{bays}, {}:", drives.join(" or ")), 0);
        out.push_str(&table(one, &picked).text(one.width));
    }
    let Some(first) = shown.first() else {
        return out;
    };
    let floor = first.answer.rows.first().map_or(String::new(), |row| {
        three_digits(row.loss.by_common_causes.get::<percent>())
    });
    first.push(
        &mut out,
        &format!(
            "fail: any so many drives. reads, writes: MB/s at the array itself, one stream, {} full. 1 in: one of so many such arrays is lost in a year \
             to its drives alone, k thousand, m million. gives up: against the \
             best one here; degraded: reading with a drive missing.",
            first.question.fill.value
        ),
        0,
    );
    first.push(
        &mut out,
        &format!(
            "Loss by theft, water or a mistaken command comes on top of every layout and is the larger part \
             ({floor} % a year)."
        ),
        0,
    );
    out.push('\n');
    first.push(
        &mut out,
        "Of each kind the best that survives a failed drive. With a --need or --survive 2 those that \
         meet it; all of them: --all.",
        0,
    );
    first.assumed_shortly(&mut out);
    for caution in first.cautions() {
        first.push(&mut out, &caution, 0);
    }
    out
}

/// How far the search came that somebody stopped.
fn stopped(shown: &[Shown<'_>]) -> String {
    let stopped = shown.iter().find_map(|one| one.answer.stopped);
    stopped_after(stopped, "forms of layout")
}

/// The balanced one first, then what the others are for.
fn lead(shown: &[Shown<'_>]) -> Lead {
    let mut parts = Vec::new();
    let mut why = None;
    for one in shown {
        let picked = handful(&one.answer.rows);
        let balanced = picked.iter().find(|p| p.picks.contains(&Pick::Balanced));
        let Some(balanced) = balanced else {
            parts.push(format!("{} bays: no layout fits", one.question.bays));
            continue;
        };
        let row = balanced.row;
        parts.push(format!(
            "in {} {} gives {} TB, reads {} and writes {} MB/s, and survives any {}",
            counted(one.question.bays, "bay", "bays"),
            tied(&one.short_name(row)),
            terabytes(row),
            rate(row.rates.read.p50),
            rate(row.rates.write.p50),
            if row.survives_any == 1 {
                "failed drive".to_owned()
            } else {
                format!("{} failed drives", row.survives_any)
            }
        ));
        let most = picked.iter().find(|p| p.picks.contains(&Pick::MostSpace));
        if let (None, Some(most)) = (&why, most) {
            why = Some(if std::ptr::eq(most.row, row) {
                "nothing here has more space, and its worst figure is the best.".to_owned()
            } else {
                format!(
                    "its worst figure is the best of those that are as safe; {} has {} TB, and any {} may fail.",
                    tied(&one.short_name(most.row)),
                    terabytes(most.row),
                    most.row.survives_any
                )
            });
        }
    }
    let site = shown.iter().any(|one| one.arguments.site.is_some());
    Lead {
        what: format!("{}Balanced: {}.", stopped(shown), parts.join("; ")),
        why,
        next: Some(if site {
            "first a complete second copy, with files opened from it: a change of layout usually erases \
             the array."
                .to_owned()
        } else {
            "say what it has to give, for example --need \"50 TB\" or --survive 2.".to_owned()
        }),
    }
}

fn table(shown: &Shown<'_>, picked: &[Picked<'_>]) -> Table {
    let priced = picked.iter().any(|p| p.row.price.is_some());
    let currency = picked
        .iter()
        .find_map(|p| p.row.price.as_ref())
        .map_or("", |price| price.currency.as_str());
    let mut heads = vec![
        ("for", Side::Left),
        ("layout", Side::Left),
        ("TB", Side::Right),
        ("fail", Side::Right),
        ("reads", Side::Right),
        ("writes", Side::Right),
        ("1 in", Side::Right),
    ];
    if priced {
        heads.push((currency, Side::Right));
    }
    heads.push(("gives up %", Side::Left));
    let mut table = Table::new(&heads).folding(0);
    for one in picked {
        let row = one.row;
        let names: Vec<&str> = one.picks.iter().map(|p| words(*p, priced)).collect();
        let mut cells = vec![
            names.join(", "),
            short(shown, row),
            terabytes(row),
            row.survives_any.to_string(),
            rate(row.rates.read.p50),
            rate(row.rates.write.p50),
            one_in(row),
        ];
        if priced {
            let price = row
                .price
                .as_ref()
                .map_or(String::new(), ToString::to_string);
            cells.push(price.split(' ').next().unwrap_or_default().to_owned());
        }
        cells.push(
            gives_up(one).map_or_else(|| "little".to_owned(), |(less, by)| format!("{less} {by}")),
        );
        table.row(cells);
    }
    table
}
