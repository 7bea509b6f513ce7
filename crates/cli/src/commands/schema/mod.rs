use crate::arguments::Schema;
use crate::input::{self, Stop};
use crate::{Outcome, Screen};
use narrows_core::site::schema::json_schema;

/// The schema of every answer, by what is asked.
const ANSWERS: [(&str, &str); 17] = [
    ("backup", include_str!("../../../schemas/backup.json")),
    ("budget", include_str!("../../../schemas/budget.json")),
    ("buy", include_str!("../../../schemas/buy.json")),
    ("cable", include_str!("../../../schemas/cable.json")),
    ("capacity", include_str!("../../../schemas/capacity.json")),
    ("check", include_str!("../../../schemas/check.json")),
    ("day", include_str!("../../../schemas/day.json")),
    ("explain", include_str!("../../../schemas/explain.json")),
    ("facts", include_str!("../../../schemas/facts.json")),
    ("faults", include_str!("../../../schemas/faults.json")),
    ("growth", include_str!("../../../schemas/growth.json")),
    ("layouts", include_str!("../../../schemas/layouts.json")),
    (
        "measure-machine",
        include_str!("../../../schemas/measure-machine.json"),
    ),
    ("outage", include_str!("../../../schemas/outage.json")),
    ("ports", include_str!("../../../schemas/ports.json")),
    ("together", include_str!("../../../schemas/together.json")),
    ("wireless", include_str!("../../../schemas/wireless.json")),
];

/// Prints the JSON Schema of a site file or of an answer.
pub(crate) fn run(arguments: &Schema, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Schema, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    if arguments.of == "site" {
        let catalogue = input::catalogue(screen)?;
        write!(screen.out, "{}", json_schema(&catalogue))?;
        return Ok(Outcome::Fine);
    }
    let Some((_, text)) = ANSWERS.iter().find(|(name, _)| *name == arguments.of) else {
        let names: Vec<&str> = ANSWERS.iter().map(|(name, _)| *name).collect();
        let what = format!("there is no schema '{}'", arguments.of);
        let help = format!("schemas: site, {}", names.join(", "));
        return Err(input::refuse(screen, &what, &help));
    };
    write!(screen.out, "{text}")?;
    Ok(Outcome::Fine)
}
