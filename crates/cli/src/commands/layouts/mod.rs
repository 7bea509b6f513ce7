pub(crate) mod handful;
pub(crate) mod json;
mod safety;
mod tables;
pub(crate) mod text;

use crate::arguments::Layouts;
use crate::commands::report::file::draw;
use crate::input::{self, Description, Stop};
use crate::render::document::printed;
use crate::render::progress::Progress;
use crate::{Outcome, Screen};
use narrows_core::catalogue::Catalogue;
use narrows_core::plan::{
    Answer, DriveChoice, Need, Question, USUAL_PLAN_DRAWS, assumed_of_failures, layouts,
};
use narrows_core::quantity::{Ratio, UnitFault};
use narrows_core::site::parts::in_argument;
use narrows_core::site::{Array, Assumption, Known, Site, SitePath};
use narrows_core::spread::{Bounds, Spread};

/// Compares layouts, and says which of them nothing beats.
pub(crate) fn run(arguments: &Layouts, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Layouts, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let mut asked = Vec::new();
    let counts: Vec<Option<usize>> = match &arguments.bays[..] {
        [] => vec![None],
        several => several.iter().copied().map(Some).collect(),
    };
    for bays in counts {
        let (question, assumptions) = question(arguments, bays, &catalogue, screen)?;
        let answer = answered(&question, &catalogue, screen)?;
        asked.push((question, assumptions, answer));
    }
    let shown: Vec<text::Shown<'_>> = asked
        .iter()
        .map(|(question, assumptions, answer)| text::Shown {
            arguments,
            question,
            answer,
            assumptions,
            width: screen.width,
        })
        .collect();
    let Some(first) = shown.first() else {
        return Ok(Outcome::BadInput);
    };
    let printed = printed(
        arguments.format,
        || json::render(&shown),
        || shown.iter().map(text::Shown::whole_table),
        || {
            if shown.iter().all(text::Shown::is_open) {
                return handful::text(&shown);
            }
            let each: Vec<String> = shown.iter().map(text::Shown::text).collect();
            each.join("\n")
        },
    )?;
    let picture = || {
        let rows = first.rows();
        narrows_draw::front(
            first.answer,
            rows.get(..LETTERED.min(rows.len())).unwrap_or_default(),
            None,
        )
    };
    if !draw((arguments.svg.as_ref(), arguments.force), picture, screen)? {
        write!(screen.out, "{printed}")?;
    }
    Ok(if shown.iter().any(|one| one.answer.met()) {
        Outcome::Fine
    } else {
        Outcome::NotMet
    })
}

fn answered(
    question: &Question,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Answer, Stop> {
    let progress = Progress::new("layouts");
    let answered = layouts(question, catalogue, &|done, all| progress.tell(done, all));
    progress.clear();
    answered.map_err(|fault| {
        let help = "narrows layouts --bays 8 --drives \"10 TB hdd-7200, 240 EUR\"";
        input::refuse(screen, &fault.to_string(), help)
    })
}

/// So many rows get a letter in the picture; more would hide the points.
const LETTERED: usize = 12;

/// Puts the question together, from a site where there is one, and from the options.
pub(crate) fn question(
    arguments: &Layouts,
    bays: Option<usize>,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<(Question, Vec<Assumption>), Stop> {
    let site = match &arguments.site {
        Some(path) => {
            let description = input::file(path, screen)?;
            Some(input::site(&description, &[], catalogue, screen)?)
        }
        None => None,
    };
    let array = match &site {
        Some(site) => Some(array_of(arguments, site, screen)?),
        None => None,
    };
    let mut assumptions = Vec::new();
    let choices = choices(arguments, array, catalogue, &mut assumptions, screen)?;
    let Some(bays) = bays.or(array.map(|a| a.drives.count + a.spares)) else {
        return Err(input::refuse(
            screen,
            "nobody said how many bays there are",
            "give --bays 8, or a site file",
        ));
    };
    let fill = fill(arguments, array, catalogue, &mut assumptions, screen)?;
    let mut needs = Vec::new();
    for text in &arguments.need {
        needs.push(
            Need::parse(text).map_err(|f| wrong(text, "the need cannot be read", &f, screen))?,
        );
    }
    let nas = site
        .as_ref()
        .zip(array)
        .and_then(|(site, array)| site.nas(&array.nas).cloned());
    if nas.is_none() {
        assumptions.push(Assumption {
            id: "nas.cpu".to_owned(),
            value: "a processor of any class".to_owned(),
            because: "judgement: parity on one thread at 1000..2000..4000 MB/s, checksums at \
                      1000..4000..10000 MB/s a core"
                .to_owned(),
            find_out: "describe the NAS in a site file".to_owned(),
        });
    }
    let failures = assumed_of_failures(catalogue).map_err(|fault| {
        let help = "restore the catalogue that came with this program";
        input::refuse(screen, &fault.to_string(), help)
    })?;
    assumptions.extend(failures);
    let question = Question {
        bays,
        choices,
        needs,
        survive: arguments.survive,
        streams: arguments.streams,
        fill,
        nas,
        attached: array.and_then(|a| a.attached.clone()),
        record: array.and_then(|a| a.record),
        chunk: array.and_then(|a| a.chunk),
        draws: USUAL_PLAN_DRAWS,
        workers: narrows_core::workers::processors(),
    };
    Ok((question, assumptions))
}

/// The one array of a site, or the one that is named.
fn array_of<'s>(
    arguments: &Layouts,
    site: &'s Site,
    screen: &mut Screen<'_>,
) -> Result<&'s Array, Stop> {
    let names: Vec<&str> = site.arrays.iter().map(|a| a.name.as_str()).collect();
    let (found, what) = match (&arguments.array, &site.arrays[..]) {
        (Some(name), arrays) => (
            arrays.iter().find(|a| a.name == *name),
            format!("there is no array '{name}'"),
        ),
        (None, [one]) => (Some(one), String::new()),
        (None, []) => (None, "the site has no array".to_owned()),
        (None, _) => (None, "the site has several arrays".to_owned()),
    };
    let help = format!(
        "arrays of {}: {}; name one with --array",
        site.name,
        names.join(", ")
    );
    found.ok_or_else(|| input::refuse(screen, &what, &help))
}

fn choices(
    arguments: &Layouts,
    array: Option<&Array>,
    catalogue: &Catalogue,
    assumptions: &mut Vec<Assumption>,
    screen: &mut Screen<'_>,
) -> Result<Vec<DriveChoice>, Stop> {
    let mut found = Vec::new();
    for text in &arguments.drives {
        let one = DriveChoice::parse(text, catalogue);
        let one = one.map_err(|f| wrong(text, "the drives cannot be read", &f, screen))?;
        if one.is_of_unknown_class() {
            assumptions.push(Assumption {
                id: "drives.class".to_owned(),
                value: format!("{one}: a hard disk of a speed that is not known"),
                because: "no class was told".to_owned(),
                find_out: "read it off the label, and give --drives \"12 TB hdd-7200\"".to_owned(),
            });
        }
        found.push(one);
    }
    if let Some(path) = &arguments.choices {
        let choices = (
            "a table of drives",
            "give the path of a table with the drives that may be bought; save it as CSV",
        );
        found.extend(input::table(path, choices, screen, |bytes| {
            DriveChoice::table(bytes, catalogue)
        })?);
    }
    if !found.is_empty() {
        return Ok(found);
    }
    let Some(array) = array else {
        return Err(input::refuse(
            screen,
            "there are no drives to choose from",
            "give --drives \"10 TB hdd-7200, 240 EUR\", --choices FILE or a site file",
        ));
    };
    let id = SitePath::array(&array.name, "drives").to_string();
    let one = DriveChoice::of_array(array).map_err(|fault| {
        let help = format!("{}; or give --drives", fault.help);
        input::refuse(screen, &format!("{id}: {}", fault.found), &help)
    })?;
    let uncertain = array.drives.drive.value.only().is_none()
        || !array.drives.capacity.value.is_exact()
        || array.drives.capacity.is_assumed();
    if uncertain {
        assumptions.push(Assumption {
            id,
            value: one.to_string(),
            because: "the likeliest class and the middle capacity of what the site says".to_owned(),
            find_out: "read it off one drive, or give --drives".to_owned(),
        });
    }
    Ok(vec![one])
}

fn fill(
    arguments: &Layouts,
    array: Option<&Array>,
    catalogue: &Catalogue,
    assumptions: &mut Vec<Assumption>,
    screen: &mut Screen<'_>,
) -> Result<Known<Spread<Ratio>>, Stop> {
    if let Some(text) = &arguments.fill {
        let value = Spread::<Ratio>::parse(text, Bounds::FRACTION)
            .and_then(|value| {
                let (low, _, high) = value.law().knots();
                if low > 0.0 && high <= 1.0 {
                    Ok(value)
                } else {
                    Err(UnitFault {
                        span: 0..text.len(),
                        found: format!("'{text}' is not how full an array can be"),
                        help: "write a share above 0 and up to 100 %, for example 60 %".to_owned(),
                        instead: None,
                    })
                }
            })
            .map_err(|f| wrong(text, "the fill cannot be read", &f, screen))?;
        return Ok(Known::stated("fill", value));
    }
    if let Some(array) = array {
        if array.fill.is_assumed() {
            assumptions.push(Assumption {
                id: SitePath::array(&array.name, "fill").to_string(),
                value: array.fill.value.to_string(),
                because: "nobody said how full it is".to_owned(),
                find_out: "give --fill, or look in the storage settings of the NAS".to_owned(),
            });
        }
        return Ok(array.fill.clone());
    }
    let value = catalogue.spread::<Ratio>("array.fill").map_err(|fault| {
        input::refuse(
            screen,
            &fault.to_string(),
            "this is a mistake in the program; please report it",
        )
    })?;
    assumptions.push(Assumption {
        id: "array.fill".to_owned(),
        value: value.to_string(),
        because: "judgement: how full arrays are that nobody looked at".to_owned(),
        find_out: "give --fill".to_owned(),
    });
    Ok(Known::assumed("array.fill", value, "judgement"))
}

fn wrong(text: &str, title: &str, fault: &UnitFault, screen: &mut Screen<'_>) -> Stop {
    let options = Description {
        path: "your options".to_owned(),
        bytes: Vec::new(),
    };
    input::show(&in_argument(text, title, fault), &options, &[], screen)
}
