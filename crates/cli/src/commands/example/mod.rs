use crate::arguments::Example;
use crate::input::{self, Stop};
use crate::render::prose::paragraph;
use crate::{Outcome, Screen};

/// Prints an example, or lists all.
pub(crate) fn run(arguments: &Example, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

fn work_out(arguments: &Example, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let all = narrows_data::EXAMPLES;
    let Some(name) = &arguments.name else {
        let wide = all.iter().map(|(name, ..)| name.len()).max().unwrap_or(0);
        writeln!(screen.out, "Examples, all of one made-up place:\n")?;
        for (name, _, what, _) in all {
            let text = paragraph(what, screen.width, wide + 4);
            writeln!(screen.out, "  {name:wide$}  {text}")?;
        }
        writeln!(
            screen.out,
            "\nInto a file: narrows example granary-lane > example.toml"
        )?;
        return Ok(Outcome::Fine);
    };
    let bare = name.trim_end_matches(".toml").trim_end_matches(".csv");
    let found = all
        .iter()
        .find(|(known, ..)| narrows_core::said::plain(known) == narrows_core::said::plain(bare));
    let Some((_, _, _, text)) = found else {
        let names: Vec<&str> = all.iter().map(|(name, ..)| *name).collect();
        return Err(input::refuse(
            screen,
            &format!("there is no example '{name}'"),
            &format!("write one of {}", names.join(", ")),
        ));
    };
    write!(screen.out, "{text}")?;
    Ok(Outcome::Fine)
}
