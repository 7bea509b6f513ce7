use crate::arguments::{Arguments, Manual};
use crate::input::{self, Stop};
use crate::output::{Over, whole};
use crate::{Outcome, Screen};
use clap::CommandFactory;
use std::path::Path;

/// Writes a manual page a command.
pub(crate) fn run(arguments: &Manual, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Manual, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let mut program = Arguments::command().disable_help_subcommand(true);
    program.build();
    let mut pages = vec![("narrows".to_owned(), program.clone())];
    for command in program.get_subcommands() {
        let name = format!("narrows-{}", command.get_name());
        pages.push((name.clone(), command.clone().name(name)));
    }
    let count = pages.len();
    for (name, command) in pages {
        let path = arguments.folder.join(format!("{name}.1"));
        if let Err(error) = page(command, &path) {
            let what = format!("cannot write {}: {error}", path.display());
            return Err(input::refuse(
                screen,
                &what,
                "give a folder that is there and may be written to",
            ));
        }
    }
    writeln!(
        screen.out,
        "{count} pages written into {}",
        arguments.folder.display()
    )?;
    Ok(Outcome::Fine)
}

fn page(command: clap::Command, path: &Path) -> std::io::Result<()> {
    let mut bytes = Vec::new();
    clap_mangen::Man::new(command).render(&mut bytes)?;
    whole(path, &bytes, Over::Anything)
}
