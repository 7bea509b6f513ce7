pub(crate) mod chart;
pub(crate) mod json;
pub(crate) mod tables;
pub(crate) mod text;
pub(crate) mod words;

use crate::arguments::{Cable, Format};
use crate::commands::report::file::draw;
use crate::input::{self, Description, Stop};
use crate::render::document::printed;
use crate::{Outcome, Screen};
use narrows_core::cable::{
    Asked, Budgeted, CableRun, Cabling, PowerAsked, Report, in_words, jacks, of_site,
};
use narrows_core::catalogue::Catalogue;
use narrows_core::quantity::{LinkRate, Measure, Power, parse};
use narrows_core::site::Faults;
use narrows_core::site::parts::in_argument;
use narrows_draw::Picture;
use std::path::Path;

/// Judges runs of cable.
pub(crate) fn run(arguments: &Cable, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

/// What is judged, and what beside it was found in files.
#[derive(Default)]
pub(crate) struct Asking {
    pub runs: Vec<CableRun>,
    /// Runs of sites that are no twisted pair, with what they are.
    pub others: Vec<(String, String)>,
    /// Columns of lists that say nothing of a cable.
    pub unused: Vec<String>,
    /// Name of the site, where there is one.
    pub site: Option<String>,
}

/// A text of the command line as a quantity, or its fault.
fn option<Q: Measure>(text: Option<&String>, title: &str, faults: &mut Vec<Faults>) -> Option<Q> {
    let text = text?;
    parse::<Q>(text)
        .map_err(|fault| faults.push(in_argument(text, title, &fault)))
        .ok()
}

fn work_out(arguments: &Cable, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let mut faults = Vec::new();
    let need = option::<LinkRate>(
        arguments.need.as_ref(),
        "--need cannot be read",
        &mut faults,
    );
    let why = option::<LinkRate>(arguments.why.as_ref(), "--why cannot be read", &mut faults);
    let budget = option::<Power>(
        arguments.power_budget.as_ref(),
        "--power-budget cannot be read",
        &mut faults,
    );
    let power = arguments.power.as_ref().and_then(|text| {
        let asked = PowerAsked::parse(text);
        asked.map_err(|fault| faults.push(fault)).ok()
    });
    let mut asking = gather(arguments, &catalogue, faults, screen)?;
    for run in &mut asking.runs {
        if run.typical().is_some() && run.power.is_none() {
            run.power = power;
        }
    }
    if asking.runs.is_empty() {
        return Err(input::refuse(
            screen,
            "there is no twisted pair",
            "fibre and twinax are judged in words: narrows cable \"fibre om3 80 m\"",
        ));
    }
    if budget.is_some() && asking.runs.iter().all(|run| run.power.is_none()) {
        return Err(input::refuse(
            screen,
            "--power-budget is told, and nothing is powered",
            "say what is powered: --power \"class 4\", or a column power in the list of jacks",
        ));
    }
    let broken = |fault: String, screen: &mut Screen<'_>| {
        input::refuse(
            screen,
            &fault,
            "write what is really there; beyond these bounds only a measurement helps",
        )
    };
    let cabling = Cabling::new(&catalogue).map_err(|fault| broken(fault.to_string(), screen))?;
    let reports = cabling
        .reports(&asking.runs, Asked { need })
        .map_err(|fault| broken(fault.to_string(), screen))?;
    let sum = Budgeted::of(reports.iter().filter_map(|r| r.power.as_ref()), budget);
    let shown = text::Shown {
        names: text::names(&reports),
        cabling: &cabling,
        asking: &asking,
        reports: &reports,
        sum,
        width: screen.width,
    };
    let picture = match &arguments.svg {
        Some(_) => Some(picture(&shown, screen)?),
        None => None,
    };
    let working = match why.map(|rate| (rate, shown.why(rate))) {
        Some((rate, Err(help))) => {
            let what = format!("no margin of {rate} is computed");
            return Err(input::refuse(screen, &what, &help));
        }
        Some((_, Ok(text))) => Some(text),
        None => None,
    };
    let told = match working {
        Some(text) => text,
        None if arguments.format == Format::Text => shown.text().map_err(std::io::Error::other)?,
        None => String::new(),
    };
    let text = printed(
        arguments.format,
        || json::render(&shown),
        || [shown.table()],
        || told,
    )?;
    let drawn = match picture {
        Some(picture) => draw(
            (arguments.svg.as_ref(), arguments.force),
            || picture,
            screen,
        )?,
        None => false,
    };
    if !drawn {
        write!(screen.out, "{text}")?;
    }
    Ok(outcome(&reports, sum))
}

fn outcome(reports: &[Report], sum: Option<Budgeted>) -> Outcome {
    let held = reports.iter().filter_map(|r| r.held).all(|held| held.met);
    if held && sum.is_none_or(|sum| sum.fits()) {
        Outcome::Fine
    } else {
        Outcome::NotMet
    }
}

/// Reads everything that is asked about; all faults come at once.
fn gather(
    arguments: &Cable,
    catalogue: &Catalogue,
    mut faults: Vec<Faults>,
    screen: &mut Screen<'_>,
) -> Result<Asking, Stop> {
    let mut asking = Asking::default();
    let mut broken = None;
    for text in &arguments.of {
        let path = Path::new(text);
        let ends = |list: &[&str]| {
            path.extension()
                .is_some_and(|e| list.iter().any(|end| e.eq_ignore_ascii_case(end)))
        };
        let read = if ends(&["toml"]) {
            site(text, catalogue, &mut asking, screen)
        } else if ends(&["csv", "tsv", "txt"]) || path.is_file() {
            list(text, catalogue, &mut asking, screen)
        } else {
            match in_words(text, catalogue) {
                Ok(run) => asking.runs.push(run),
                Err(fault) => faults.push(fault),
            }
            Ok(())
        };
        match read {
            Ok(()) => {}
            // its faults are on the screen; those of the others belong there too
            Err(Stop::Written(outcome)) => broken = Some(outcome),
            Err(stop) => return Err(stop),
        }
    }
    if let Some(faults) = Faults::together(faults) {
        let line = Description {
            path: "the command line".to_owned(),
            bytes: Vec::new(),
        };
        return Err(input::show(&faults, &line, &[], screen));
    }
    match broken {
        Some(outcome) => Err(Stop::Written(outcome)),
        None => Ok(asking),
    }
}

fn site(
    path: &str,
    catalogue: &Catalogue,
    asking: &mut Asking,
    screen: &mut Screen<'_>,
) -> Result<(), Stop> {
    let description = input::file(Path::new(path), screen)?;
    let site = input::site(&description, &[], catalogue, screen)?;
    let found = of_site(&site);
    asking.runs.extend(found.runs);
    asking.others.extend(found.others);
    asking.site = Some(site.name);
    Ok(())
}

fn list(
    path: &str,
    catalogue: &Catalogue,
    asking: &mut Asking,
    screen: &mut Screen<'_>,
) -> Result<(), Stop> {
    let list = input::table(Path::new(path), input::JACKS, screen, |bytes| {
        jacks(bytes, catalogue)
    })?;
    asking.runs.extend(list.runs);
    asking.unused.extend(list.unused);
    Ok(())
}

/// One run over its length, or several side by side.
fn picture(shown: &text::Shown<'_>, screen: &mut Screen<'_>) -> Result<Picture, Stop> {
    let drawn = if let [report] = shown.reports {
        let curves = shown.curves(report).map_err(std::io::Error::other)?;
        (!curves.is_empty()).then(|| narrows_draw::margin(report, &curves))
    } else {
        narrows_draw::margins(&shown.reports.iter().collect::<Vec<_>>())
    };
    drawn.ok_or_else(|| {
        input::refuse(
            screen,
            "--svg draws the margin of twisted pair, and this is none",
            "leave it out: fibre and twinax have a reach, not a margin",
        )
    })
}
