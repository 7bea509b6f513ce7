use crate::render::prose::{of_100, share};
use narrows_core::cable::{Advice, RateRow};
use narrows_core::copper::{Change, NoiseShares, Standing};
use narrows_core::quantity::{Ratio, units};

/// The number in a ratio.
pub(crate) fn one(ratio: Ratio) -> f64 {
    ratio.get::<units::ratio::one>()
}

/// A chance as a share; what is computed is never certain, however near it comes.
pub(crate) fn sure(value: Ratio) -> String {
    share(one(value).min(NEARLY))
}

/// The same as so many cases of a hundred.
pub(crate) fn cases(value: Ratio) -> String {
    of_100(one(value).min(NEARLY))
}

/// The highest chance that is said.
const NEARLY: f64 = 0.999_9;

/// A chance in percent without the sign, for a column that has it in its head.
pub(crate) fn chance(value: Ratio) -> String {
    sure(value)
        .replace("under ", "<")
        .replace("over ", ">")
        .trim_end_matches(" %")
        .to_owned()
}

/// A chance in percent as a plain number, for spreadsheets; 0 only where it is, 100 never.
pub(crate) fn percent(value: Ratio) -> String {
    let share = one(value);
    let tenths = (share * 1000.0).round();
    let tenths = if share < 1.0 {
        tenths.min(999.0)
    } else {
        tenths
    };
    let tenths = if share > 0.0 { tenths.max(1.0) } else { tenths };
    format!("{:.1}", tenths / 10.0)
}

/// What somebody can do.
pub(crate) fn change(change: Change) -> &'static str {
    match change {
        Change::UntieEnds => "untie the first 5 m at both ends",
        Change::UntieAll => "untie the bundle",
        Change::NeighboursAtOneGigabit => "leave the neighbours at 1 Gb/s",
        Change::TwoConnections => "patch through two connections only",
        Change::ShortCords => "replace the cords: 24 AWG, 2 m in all",
        Change::BondScreen => "check the screen and bond it",
        Change::Cooler => "take 10 K off its temperature",
        Change::ReplaceFault => "replace the copper-clad cable",
    }
}

/// The word of a change for programs.
pub(crate) fn change_word(change: Change) -> &'static str {
    match change {
        Change::UntieEnds => "untie-ends",
        Change::UntieAll => "untie-all",
        Change::NeighboursAtOneGigabit => "neighbours-at-1-gigabit",
        Change::TwoConnections => "two-connections",
        Change::ShortCords => "short-cords",
        Change::BondScreen => "bond-screen",
        Change::Cooler => "cooler",
        Change::ReplaceFault => "replace-clad-aluminium",
    }
}

/// Why no margin is computed.
pub(crate) fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Modelled => "",
        Standing::ShortNotModelled => "short, not modelled: chances as at 5 m",
        Standing::BeyondPromise => "longer than any standard promises",
        Standing::BeyondModule => "beyond the reach of the module",
        Standing::TooFewPairs => "needs four pairs, and two are joined",
    }
}

/// The word of a standing for programs.
pub(crate) fn standing_word(standing: Standing) -> &'static str {
    match standing {
        Standing::Modelled => "modelled",
        Standing::ShortNotModelled => "short-not-modelled",
        Standing::BeyondPromise => "beyond-promise",
        Standing::BeyondModule => "beyond-module",
        Standing::TooFewPairs => "too-few-pairs",
    }
}

/// The single best thing to do.
pub(crate) fn advice(row: &RateRow) -> String {
    match row.advice {
        Advice::Nothing => "nothing: it holds".to_owned(),
        Advice::KeepNeighbours => "leave the neighbours as they are".to_owned(),
        Advice::Change { change: what, .. } => change(what).to_owned(),
        Advice::LowerRate { rate, .. } => format!("use {rate}"),
        Advice::Fibre => "fibre, which hears no neighbours".to_owned(),
    }
}

/// The single best thing to do, with the chance of holding after it.
pub(crate) fn with_after(row: &RateRow) -> String {
    match row.advice {
        Advice::Change { p_hold, .. } | Advice::LowerRate { p_hold, .. } => {
            format!("{} ({})", advice(row), sure(p_hold))
        }
        _ => advice(row),
    }
}

/// The chance of holding after it, where it is known.
pub(crate) fn after(row: &RateRow) -> Option<Ratio> {
    match row.advice {
        Advice::Change { p_hold, .. } | Advice::LowerRate { p_hold, .. } => Some(p_hold),
        Advice::Nothing | Advice::KeepNeighbours => Some(row.today.p_hold),
        Advice::Fibre => None,
    }
}

/// What eats a margin, in the words of people, the most first.
pub(crate) fn parts(shares: &NoiseShares) -> Vec<(&'static str, f64)> {
    let mut parts = vec![
        ("neighbours", one(shares.alien_near) + one(shares.alien_far)),
        ("own pairs", one(shares.near_end) + one(shares.far_end)),
        ("echo", one(shares.echo)),
        ("receiver", one(shares.receiver)),
    ];
    parts.sort_by(|a, b| b.1.total_cmp(&a.1));
    parts
}

/// The parts that matter, in one cell.
pub(crate) fn eaten(shares: &NoiseShares) -> String {
    let parts = parts(shares);
    let matter = parts.iter().filter(|(_, part)| *part >= 0.1).take(3);
    let words: Vec<String> = matter
        .map(|(what, part)| format!("{what} {:.0} %", part * 100.0))
        .collect();
    words.join(", ")
}
