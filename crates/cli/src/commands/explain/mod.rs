mod ask;
pub(crate) mod heard;
pub(crate) mod json;
pub(crate) mod text;

use crate::arguments::{Explain, Format};
use crate::commands::measure;
use crate::input::{self, Description, Stop};
use crate::render::document::printed;
use crate::{Outcome, Screen};
use narrows_core::catalogue::Catalogue;
use narrows_core::explain::{
    Explanation, Families, Impossible, Listener, Observations, Remark, Remarks, Statement, Value,
    careful, explain, needs_material, play, possible, settle,
};
use narrows_core::site::parts::Parts;
use narrows_core::site::{Assumption, Site};

/// Says whether what was measured is right, and what may be at fault.
pub(crate) fn run(arguments: &Explain, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Explain, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    let says_nothing = arguments.measured.is_empty()
        && arguments.readings.is_none()
        && !arguments.measuring.measure;
    if says_nothing && !ask::asks(arguments) {
        return Err(input::refuse(
            screen,
            "nothing was measured",
            "say what was read off: narrows explain SITE --measured \"cut-1 copy read 112 MB/s\"",
        ));
    }
    let found = found(arguments, &catalogue, screen)?;
    let shown = found.shown(arguments, screen.width);
    let text = printed(
        arguments.format,
        || json::render(&shown),
        || [shown.table()],
        || shown.text(),
    )?;
    write!(screen.out, "{text}")?;
    Ok(if found.questions.is_empty() {
        Outcome::Fine
    } else {
        Outcome::AsksBack
    })
}

/// What was told, as it was understood, and what it comes to.
pub(crate) struct Found {
    pub explanation: Explanation,
    told: Observations,
    remarks: Remarks,
    aside: Vec<Remark>,
    families: Families,
    unused: Vec<String>,
    values: Vec<Option<Value>>,
    left: Vec<(String, String)>,
    questions: Vec<heard::Question>,
}

impl Found {
    /// With how it is to be shown.
    pub(crate) fn shown(&self, arguments: &Explain, width: usize) -> text::Shown<'_> {
        let heaviest = self.told.sites.iter().max_by(|a, b| a.1.total_cmp(&b.1));
        text::Shown {
            site: arguments
                .site
                .as_ref()
                .and_then(|_| heaviest.map(|(site, _)| site.name.as_str())),
            assumptions: heaviest.map_or(&[], |(site, _)| &site.assumptions),
            told: &self.told,
            remarks: self.remarks.rows(),
            aside: &self.aside,
            families: &self.families,
            unused: &self.unused,
            values: &self.values,
            left: &self.left,
            questions: &self.questions,
            explanation: &self.explanation,
            why: arguments.why,
            width,
        }
    }
}

/// Hears everything that was told, and explains it.
pub(crate) fn found(
    arguments: &Explain,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Found, Stop> {
    let mut told = place(arguments, catalogue, screen)?;
    let listener = match (&arguments.site, told.sites.first()) {
        (Some(_), Some((site, _))) => Listener::at(site),
        _ => Listener::anywhere(),
    };
    let listener = listener.map_err(|fault| broken(&fault.to_string(), screen))?;
    let mut said = heard::hear(arguments, &listener, screen)?;
    if let Some(measured) = measured_here(arguments, &told, screen)? {
        said.add_list(heard::listed(measured, &listener, screen)?);
    }
    let json = arguments.format == Format::Json;
    let asks = ask::asks(arguments);
    let mut answered = Vec::new();
    if asks && said.statements.is_empty() && said.questions.is_empty() {
        let first = ask::first(&listener, screen)?;
        said.statements.extend(first.heard);
        answered.extend(first.texts);
    }
    let careful = if said.is_feared() {
        careful(told.sites.first().map(|(site, _)| site))
    } else {
        Vec::new()
    };
    if asks || (screen.terminal && arguments.format == Format::Text) {
        said.ask(&careful, screen)?;
    }
    told.feared = said.is_feared();
    if !said.questions.is_empty() && !json {
        return Err(heard::ask_back(&said.questions, &careful, screen));
    }
    let remarks = Remarks::embedded().map_err(|fault| broken(&fault.to_string(), screen))?;
    if asks {
        let mut so_far = told.clone();
        for heard in &said.statements {
            heard.tell(&mut so_far);
        }
        whose(arguments, &mut so_far, screen)?;
        let more = ask::more(&so_far, (&listener, &remarks, catalogue), screen)?;
        said.statements.extend(more.heard);
        answered.extend(more.texts);
        ask::flags(arguments, &answered, screen)?;
    }
    let mut values = Vec::new();
    let mut unused = Vec::new();
    for heard in std::mem::take(&mut said.statements) {
        unused.push((heard.statement.text().to_owned(), heard.unused));
        match heard.statement {
            Statement::Reading(reading) => {
                told.readings.push(reading);
                values.push(heard.value);
            }
            Statement::Remark(remark) => told.remarks.push(remark),
        }
    }
    whose(arguments, &mut told, screen)?;
    let asked = play(&mut told, catalogue);
    if !asked.is_empty() && needs_material(&told) {
        said.questions.extend(
            asked
                .iter()
                .map(|one| heard::Question::of_material(one, &told)),
        );
        if screen.terminal && arguments.format == Format::Text {
            said.ask_material(&asked, &mut told, screen)?;
        }
        if !said.questions.is_empty() && !json {
            return Err(heard::ask_back(&said.questions, &[], screen));
        }
    }
    let aside = settle(&mut told, &remarks, catalogue)
        .map_err(|fault| broken(&fault.to_string(), screen))?;
    let explanation = explain(&told, catalogue).map_err(|fault| {
        input::refuse(
            screen,
            &fault.to_string(),
            "names of desks stand in the site file behind 'desk.'",
        )
    })?;
    let families = Families::embedded().map_err(|fault| broken(&fault.to_string(), screen))?;
    Ok(Found {
        explanation,
        told,
        remarks,
        aside,
        families,
        unused: said.unused_columns,
        values,
        left: unused,
        questions: said.questions,
    })
}

fn broken(fault: &str, screen: &mut Screen<'_>) -> Stop {
    input::refuse(
        screen,
        &format!("the catalogue is broken: {fault}"),
        "this is a mistake in the program; please report it",
    )
}

/// The site, or those that it may be where only some of it, or nothing, is told.
fn place(
    arguments: &Explain,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Observations, Stop> {
    if let Some(path) = &arguments.site {
        let description = input::file(path, screen)?;
        let site = input::site(&description, &arguments.set, catalogue, screen)?;
        if let Some(desk) = &arguments.desk
            && !site.desks.iter().any(|known| known.name == *desk)
        {
            let names: Vec<&str> = site.desks.iter().map(|desk| desk.name.as_str()).collect();
            return Err(input::refuse(
                screen,
                &format!("the site has no desk '{desk}'"),
                &format!("its desks are {}", names.join(", ")),
            ));
        }
        return Ok(Observations {
            sites: vec![(site, 1.0)],
            path_told: true,
            array_told: true,
            desk: arguments.desk.clone(),
            ..Observations::default()
        });
    }
    let given = &arguments.parts;
    let parts = Parts {
        disk: given.disk.as_deref(),
        port: given.port.as_deref(),
        cable: given.cable.as_deref(),
        switch: given.switch.as_deref(),
        nas: given.nas.as_deref(),
        array: given.array.as_deref(),
    };
    let found = match possible(&parts, catalogue) {
        Ok(found) => found,
        Err(Impossible::Parts(faults)) => {
            let empty = Description {
                path: "your options".to_owned(),
                bytes: Vec::new(),
            };
            return Err(input::show(&faults, &empty, &[], screen));
        }
        Err(Impossible::Catalogue(fault)) => return Err(broken(&fault.to_string(), screen)),
    };
    let mut sites: Vec<(Site, f64)> = Vec::new();
    for (described, weight) in found.sites {
        let description = Description {
            path: "your options, written as a site file".to_owned(),
            bytes: described.text.into_bytes(),
        };
        let mut site = input::site(&description, &arguments.set, catalogue, screen)?;
        let assumed: Vec<Assumption> = described.assumptions;
        site.assumptions.splice(0..0, assumed);
        sites.push((site, weight));
    }
    Ok(Observations {
        sites,
        path_told: found.path_told,
        array_told: found.array_told,
        ..Observations::default()
    })
}

/// What is measured at the desk that this runs on, as a list of readings; none where that was not asked for.
fn measured_here(
    arguments: &Explain,
    told: &Observations,
    screen: &mut Screen<'_>,
) -> Result<Option<Description>, Stop> {
    if !arguments.measuring.measure {
        return Ok(None);
    }
    let desks: Vec<&str> = told
        .sites
        .iter()
        .flat_map(|(site, _)| &site.desks)
        .map(|desk| desk.name.as_str())
        .collect();
    let desk = match (&arguments.desk, &desks[..]) {
        (Some(desk), _) => desk.as_str(),
        (None, [only]) => *only,
        (None, _) => {
            return Err(input::refuse(
                screen,
                "it is not told at which desk this runs",
                &format!("say --desk NAME; desks here: {}", desks.join(", ")),
            ));
        }
    };
    let asked = measure::ForDesk {
        desk,
        how: &arguments.measuring,
    };
    Ok(Some(Description {
        path: "what was measured here".to_owned(),
        bytes: measure::for_desk(&asked, screen)?,
    }))
}

/// Sees to it that every reading belongs to a desk that is there.
fn whose(
    arguments: &Explain,
    told: &mut Observations,
    screen: &mut Screen<'_>,
) -> Result<(), Stop> {
    let mut names: Vec<String> = Vec::new();
    let desks = told.readings.iter().map(|reading| &reading.desk);
    for desk in desks.chain(told.remarks.iter().map(|remark| &remark.desk)) {
        if let Some(desk) = desk
            && !names.contains(desk)
        {
            names.push(desk.clone());
        }
    }
    if arguments.site.is_none() {
        if names.len() > 1 {
            return Err(input::refuse(
                screen,
                &format!("readings of {}, and no site", names.join(" and ")),
                "without a site file there is one desk: ask about one at a time, or give the file",
            ));
        }
        for reading in &mut told.readings {
            reading.desk = None;
        }
        for remark in &mut told.remarks {
            remark.desk = None;
        }
        return Ok(());
    }
    let Some((site, _)) = told.sites.first() else {
        return Ok(());
    };
    let desks: Vec<&str> = site.desks.iter().map(|desk| desk.name.as_str()).collect();
    let open = told
        .readings
        .iter()
        .find(|reading| reading.desk.is_none() && reading.is_of_a_desk());
    if let (Some(reading), None) = (open, &told.desk)
        && desks.len() > 1
        && names.len() != 1
    {
        return Err(input::refuse(
            screen,
            &format!("it is not told whose '{}' is", reading.text),
            &format!(
                "write the desk in front, or --desk NAME; desks here: {}",
                desks.join(", ")
            ),
        ));
    }
    // one name counts for all that say none
    if told.desk.is_none()
        && let [only] = &names[..]
    {
        told.desk = Some(only.clone());
    }
    Ok(())
}
