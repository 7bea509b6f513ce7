//! Everything that can be measured at a desk, as readings for `explain`; each part only where somebody agrees.

use super::{agreed, as_somebody, files, interrupt, list, network};
use crate::Screen;
use crate::arguments::Measuring;
use crate::input::Stop;
use narrows_probe::machine::{Root, links};
use narrows_probe::readings::{Row, of_link};

/// What is measured, and for whom.
pub(crate) struct ForDesk<'a> {
    pub desk: &'a str,
    pub how: &'a Measuring,
}

/// Looks at the machine, measures a folder and the network, and gives the list of readings.
pub(crate) fn for_desk(asked: &ForDesk<'_>, screen: &mut Screen<'_>) -> Result<Vec<u8>, Stop> {
    let how = asked.how;
    as_somebody(how.safety.as_administrator, screen)?;
    let yes = how.safety.yes;
    let mut rows: Vec<Row> = Vec::new();
    if agreed(
        "Look what this machine says of its links? Nothing is changed.",
        yes,
        screen,
    )? {
        let found = links(&Root::own());
        let ports: Vec<_> = found
            .iter()
            .filter(|link| link.is_port() && link.is_up())
            .collect();
        // of several it is not known which one the bytes take
        if let [only] = &ports[..] {
            rows.extend(of_link(only));
        }
    }
    if let Some(folder) = &how.folder
        && agreed(
            &format!(
                "Write a test file into {} and remove it again?",
                folder.display()
            ),
            yes,
            screen,
        )?
    {
        let how = files::How {
            folder,
            size: None,
            seconds: how.measure_seconds,
            at_once: 4,
            small: 200,
            array: false,
            yes,
        };
        rows.extend(files::measure(&how, screen)?.rows);
    }
    if let Some(address) = &how.ask
        && agreed(
            &format!("Load the network to {address}? Others will notice."),
            yes,
            screen,
        )?
    {
        let how = network::how(
            address,
            how.token_file.as_deref(),
            how.measure_seconds,
            None,
            screen,
        )?;
        let measured = network::measure(&how, &interrupt(), screen)?;
        // the link is told once
        let told = rows.iter().any(|row| row.what == "link rate");
        rows.extend(
            measured
                .rows
                .into_iter()
                .filter(|row| !(told && row.what == "link rate")),
        );
    }
    Ok(list(&rows, asked.desk)?)
}
