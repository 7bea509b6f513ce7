use crate::arguments::{Arguments, Completions, ShellWord};
use crate::input::{self, Stop};
use crate::{Outcome, Screen};
use clap::builder::PossibleValuesParser;
use clap::{Command, CommandFactory};
use clap_complete::{Shell, generate};

/// Writes the completions of a shell.
pub(crate) fn run(arguments: &Completions, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Completions, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let mut program = Arguments::command();
    if let Some(path) = &arguments.site {
        let catalogue = input::catalogue(screen)?;
        let description = input::file(path, screen)?;
        let site = input::site(&description, &[], &catalogue, screen)?;
        let desks: Vec<String> = site.desks.iter().map(|d| d.name.clone()).collect();
        let arrays: Vec<String> = site.arrays.iter().map(|a| a.name.clone()).collect();
        program = offering(program, "desk", &desks);
        program = offering(program, "array", &arrays);
    }
    let shell = match arguments.shell {
        ShellWord::Bash => Shell::Bash,
        ShellWord::Zsh => Shell::Zsh,
        ShellWord::Fish => Shell::Fish,
        ShellWord::Powershell => Shell::PowerShell,
    };
    let mut bytes = Vec::new();
    generate(shell, &mut program, "narrows", &mut bytes);
    screen.out.write_all(&bytes)?;
    Ok(Outcome::Fine)
}

/// The same program with names offered behind an option that names a part of a site.
fn offering(program: Command, option: &'static str, names: &[String]) -> Command {
    let commands: Vec<String> = program
        .get_subcommands()
        .filter(|c| {
            c.get_arguments().any(|a| {
                let names = a.get_value_names().unwrap_or_default();
                a.get_id() == option && names.iter().any(|n| n.as_str() == "NAME")
            })
        })
        .map(|c| c.get_name().to_owned())
        .collect();
    commands.into_iter().fold(program, |program, command| {
        let names = names.to_vec();
        program.mut_subcommand(command, |c| {
            c.mut_arg(option, |a| a.value_parser(PossibleValuesParser::new(names)))
        })
    })
}
