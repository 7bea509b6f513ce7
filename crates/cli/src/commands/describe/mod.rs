mod file;

use crate::arguments::{Budget, Describe, Format, WorkWord};
use crate::input::{self, Description, Stop};
use crate::render::prose::{counted, item, paragraph};
use crate::{Outcome, Screen};
use narrows_core::budget::{Question as Asked, answer};
use narrows_core::cable::of_desks;
use narrows_core::catalogue::Catalogue;
use narrows_core::said::interview::{Heard, Interview, Jack, Question, Written};
use narrows_core::site::{Site, read};
use narrows_core::spread::{Draws, USUAL_DRAWS};
use narrows_core::work::{Activity, Work};
use std::path::{Path, PathBuf};

/// Things that are worth finding out are named up to so many.
const WORTH: usize = 3;

/// Asks the way to a site file.
pub(crate) fn run(arguments: &Describe, screen: &mut Screen<'_>) -> std::io::Result<Outcome> {
    work_out(arguments, screen).or_else(Stop::outcome)
}

/// Where answers come from: those that were kept, then the person.
struct Answers {
    kept: std::vec::IntoIter<String>,
}

fn work_out(arguments: &Describe, screen: &mut Screen<'_>) -> Result<Outcome, Stop> {
    let catalogue = input::catalogue(screen)?;
    if let Some(path) = arguments.file.as_deref().filter(|p| p.exists()) {
        let what = format!("{} is there already", path.display());
        return Err(input::refuse(
            screen,
            &what,
            "give another name, or move it; nothing is written over",
        ));
    }
    let jacks = match &arguments.jacks {
        Some(path) => jacks(path, &catalogue, screen)?,
        None => Vec::new(),
    };
    let mut answers = Answers {
        kept: match &arguments.answers {
            Some(path) => {
                let answers = (
                    "a file of answers",
                    "give the path of a file with an answer a line",
                );
                let file = input::list(path, answers, screen)?;
                let text = String::from_utf8_lossy(&file.bytes).into_owned();
                text.lines()
                    .map(str::to_owned)
                    .collect::<Vec<_>>()
                    .into_iter()
            }
            None => Vec::new().into_iter(),
        },
    };
    writeln!(
        screen.out,
        "{}",
        paragraph(
            "A dozen questions, and a file in the end. \"don't know\" is a good answer, \"back\" goes back one question.",
            screen.width,
            0
        )
    )?;
    if !jacks.is_empty() {
        writeln!(
            screen.out,
            "The list of jacks names the cables of {}.",
            counted(jacks.len(), "desk", "desks")
        )?;
    }
    let mut interview = Interview::new(&catalogue, jacks);
    let kept = file::Kept::new(arguments.file.as_deref());
    let mut asked = 0;
    while let Some(question) = interview.question() {
        writeln!(
            screen.out,
            "\n{}",
            paragraph(&question.text, screen.width, 0)
        )?;
        screen.out.flush()?;
        let Some(text) = answers.next(&question, screen)? else {
            return stopped(&kept, &interview, screen);
        };
        asked += 1;
        if text.trim().eq_ignore_ascii_case("back") {
            let back = interview.back();
            writeln!(
                screen.out,
                "  ({})",
                if back {
                    "one question back"
                } else {
                    "this is the first question"
                }
            )?;
            continue;
        }
        let said = match interview.answer(&text) {
            Heard::Taken(said) => said,
            Heard::Again(why) => why,
        };
        writeln!(
            screen.out,
            "  ({})",
            paragraph(&said, screen.width.saturating_sub(1), 3)
        )?;
        if text.trim().is_empty() || said.contains("not known") {
            writeln!(
                screen.out,
                "   {}",
                paragraph(
                    &format!("To find out: {}.", question.find_out),
                    screen.width,
                    3
                )
            )?;
        }
        // whoever stops here goes on from here
        kept.keep(&interview.answers());
    }
    let Some(written) = interview.written() else {
        return stopped(&kept, &interview, screen);
    };
    finish(arguments, &written, (&kept, asked), &catalogue, screen)
}

impl Answers {
    /// The next answer; nothing where nobody says anything any more.
    fn next(
        &mut self,
        question: &Question,
        screen: &mut Screen<'_>,
    ) -> Result<Option<String>, Stop> {
        let mut lines = Vec::new();
        loop {
            let line = if let Some(line) = self.kept.next() {
                writeln!(screen.out, "> {line}")?;
                line
            } else {
                write!(screen.out, "> ")?;
                screen.out.flush()?;
                let mut line = String::new();
                if screen.input.read_line(&mut line)? == 0 {
                    writeln!(screen.out)?;
                    let some = !lines.is_empty();
                    return Ok(some.then(|| lines.join("\n")));
                }
                let line = line.trim_end_matches(['\n', '\r']).to_owned();
                if !screen.terminal {
                    writeln!(screen.out, "{line}")?;
                }
                line
            };
            let alone = line.trim().eq_ignore_ascii_case("back");
            if !question.lines || alone {
                return Ok(Some(line));
            }
            if line.trim().is_empty() {
                return Ok(Some(lines.join("\n")));
            }
            lines.push(line);
        }
    }
}

fn jacks(path: &Path, catalogue: &Catalogue, screen: &mut Screen<'_>) -> Result<Vec<Jack>, Stop> {
    input::table(path, input::JACKS, screen, |bytes| {
        of_desks(bytes, catalogue)
    })
}

/// The answers ended before the questions did.
fn stopped(
    kept: &file::Kept,
    interview: &Interview<'_>,
    screen: &mut Screen<'_>,
) -> Result<Outcome, Stop> {
    let text = match kept.path().filter(|_| interview.answered() > 0) {
        Some(path) => format!(
            "Stopped after {}; nothing is lost. To go on: narrows describe --answers {}",
            counted(interview.answered(), "answer", "answers"),
            path.display()
        ),
        None => "Stopped before the first answer.".to_owned(),
    };
    writeln!(screen.out, "\n{}", paragraph(&text, screen.width, 0))?;
    Ok(Outcome::BadInput)
}

fn finish(
    arguments: &Describe,
    written: &Written,
    (kept, asked): (&file::Kept, usize),
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<Outcome, Stop> {
    let path = match file::write(arguments.file.as_deref(), &written.name, &written.text) {
        Ok(path) => path,
        Err(error) => {
            let what = format!("cannot write the file: {error}");
            return Err(input::refuse(
                screen,
                &what,
                "give another place: narrows describe FILE",
            ));
        }
    };
    let done = format!(
        "Written: {}, {}, {} not known yet; {} asked.",
        path.display(),
        counted(written.text.lines().count(), "line", "lines"),
        counted(written.unknown, "thing", "things"),
        counted(asked, "question", "questions")
    );
    writeln!(screen.out, "\n{}\n", paragraph(&done, screen.width, 0))?;
    let description = Description {
        path: path.display().to_string(),
        bytes: written.text.clone().into_bytes(),
    };
    let site = read(&written.text, &[], catalogue)
        .map_err(|faults| input::show(&faults, &description, &[], screen))?;
    kept.forget();
    first_budget(&path, screen)?;
    worth_finding_out(&site, catalogue, screen)?;
    Ok(Outcome::Fine)
}

fn first_budget(path: &Path, screen: &mut Screen<'_>) -> Result<(), Stop> {
    let question = Budget {
        site: Some(PathBuf::from(path)),
        work: WorkWord::Copy,
        format: Format::Text,
        ..Budget::default()
    };
    super::budget::run(&question, screen)?;
    Ok(())
}

/// What would narrow the answers most, each with how to find it.
fn worth_finding_out(
    site: &Site,
    catalogue: &Catalogue,
    screen: &mut Screen<'_>,
) -> Result<(), Stop> {
    let mut draws = Draws::new(USUAL_DRAWS);
    let asked = Asked {
        desk: None,
        work: Work::plain(Activity::Copy),
        working: false,
        need: None,
    };
    let Ok(answer) = answer(site, &asked, catalogue, &mut draws) else {
        return Ok(());
    };
    let mut found: Vec<(&str, &str, f64)> = Vec::new();
    for unknown in answer
        .flows
        .iter()
        .flat_map(|f| &f.unknowns)
        .filter(|u| u.can_be_found_out)
    {
        let about = site
            .assumptions
            .iter()
            .find(|a| unknown.id == a.id || unknown.id.starts_with(&format!("{}/", a.id)));
        let Some(about) = about else { continue };
        match found.iter_mut().find(|(id, ..)| *id == about.id) {
            Some((.., share)) => *share = share.max(unknown.share),
            None => found.push((&about.id, &about.find_out, unknown.share)),
        }
    }
    found.sort_by(|a, b| b.2.total_cmp(&a.2).then_with(|| a.0.cmp(b.0)));
    if found.is_empty() {
        return Ok(());
    }
    writeln!(screen.out, "\nWorth finding out first:")?;
    for (id, find_out, _) in found.into_iter().take(WORTH) {
        writeln!(
            screen.out,
            "{}",
            item(&format!("{id}: {find_out}."), screen.width)
        )?;
    }
    Ok(())
}
