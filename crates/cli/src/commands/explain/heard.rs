//! What the texts of the command line and the rows of a list say, and what has to be asked back.

use crate::arguments::Explain;
use crate::input::{self, Description, Stop};
use crate::render::prose::{item, paragraph, rate};
use crate::{Outcome, Screen};
use narrows_core::explain::{
    Listener, MaterialAsked, MaterialChoice, Meant, Observations, ReadingList, Remark, Statement,
    Understood, Value, play_of,
};
use narrows_core::site::Faults;
use std::path::Path;

/// Everything that was said.
#[derive(Default)]
pub(super) struct Said {
    pub(super) statements: Vec<Heard>,
    /// Columns of a list that say nothing of a reading.
    pub(super) unused_columns: Vec<String>,
    /// Texts that may mean several things.
    pub(super) questions: Vec<Question>,
    /// Whether one of the texts may mean that a drive is in trouble.
    pub(super) feared: bool,
}

/// A statement with what stood beside it.
pub(super) struct Heard {
    pub(super) statement: Statement,
    pub(super) value: Option<Value>,
    /// Words of its text that nothing was made of.
    pub(super) unused: String,
}

impl Heard {
    /// Puts it to what was told.
    pub(super) fn tell(&self, told: &mut Observations) {
        match &self.statement {
            Statement::Reading(reading) => told.readings.push(reading.clone()),
            Statement::Remark(remark) => told.remarks.push(remark.clone()),
        }
    }
}

/// What a text says, each with what stood beside it.
pub(super) fn spoken(found: Understood) -> impl Iterator<Item = Heard> {
    let unused = found.unused.join(", ");
    let both = found.statements.into_iter().zip(found.values);
    both.map(move |(statement, value)| Heard {
        statement,
        value,
        unused: unused.clone(),
    })
}

/// A text that has to be asked back.
pub(super) struct Question {
    pub(super) text: String,
    pub(super) choices: Vec<Meant>,
    /// Whether it was understood, and only the material of its layers is asked.
    pub(super) material: bool,
    /// Whether one of them is that a drive is in trouble.
    pub(super) feared: bool,
}

/// Hears all of it; all faults at once.
pub(super) fn hear(
    arguments: &Explain,
    listener: &Listener,
    screen: &mut Screen<'_>,
) -> Result<Said, Stop> {
    let mut said = Said::default();
    let mut faults = Vec::new();
    for text in &arguments.measured {
        match listener.understand(text) {
            Ok(found) if found.statements.is_empty() => said.questions.push(Question {
                text: text.clone(),
                choices: found.choices,
                material: false,
                feared: found.feared,
            }),
            Ok(found) => said.add(found),
            Err(fault) => faults.push(fault),
        }
    }
    let mut stop = None;
    if let Some(faults) = Faults::together(faults) {
        let line = Description {
            path: "the command line".to_owned(),
            bytes: Vec::new(),
        };
        stop = Some(input::show(&faults, &line, &[], screen));
    }
    if let Some(path) = &arguments.readings {
        match list(path, listener, screen) {
            Ok(list) => said.add_list(list),
            Err(other) => stop = Some(other),
        }
    }
    match stop {
        Some(stop) => Err(stop),
        None => Ok(said),
    }
}

fn list(path: &Path, listener: &Listener, screen: &mut Screen<'_>) -> Result<ReadingList, Stop> {
    let file = input::list(path, input::READINGS, screen)?;
    listed(file, listener, screen)
}

/// A list of readings that is there already.
pub(super) fn listed(
    file: Description,
    listener: &Listener,
    screen: &mut Screen<'_>,
) -> Result<ReadingList, Stop> {
    input::tabled(file, screen, |bytes| listener.list(bytes))
}

impl Said {
    /// Takes a list in.
    pub(super) fn add_list(&mut self, list: ReadingList) {
        self.add(Understood::exact(list.statements));
        self.unused_columns.extend(list.unused);
    }

    fn add(&mut self, found: Understood) {
        self.feared |= found.feared;
        self.statements.extend(spoken(found));
    }

    /// Whether a drive may be in trouble by what was said and by what is still asked.
    pub(super) fn is_feared(&self) -> bool {
        self.feared || self.questions.iter().any(|question| question.feared)
    }

    /// Asks whoever sits at the terminal, one text after the other; what is not chosen is left out.
    pub(super) fn ask(&mut self, careful: &[String], screen: &mut Screen<'_>) -> Result<(), Stop> {
        if !self.questions.is_empty() {
            cautions(careful, screen)?;
        }
        for question in std::mem::take(&mut self.questions) {
            let chosen = question.chosen(screen)?;
            let choice = chosen.and_then(|at| question.choices.get(at));
            if let Some(choice) = choice {
                self.statements.push(Heard {
                    statement: Statement::Remark(Remark {
                        text: question.text.clone(),
                        id: choice.id.clone(),
                        desk: None,
                        rate: None,
                        size: None,
                        time: None,
                    }),
                    value: None,
                    unused: String::new(),
                });
            }
            writeln!(screen.out)?;
        }
        Ok(())
    }
}

impl Said {
    /// Asks whoever sits at the terminal what the layers are of; what is not chosen is left out.
    pub(super) fn ask_material(
        &mut self,
        asked: &[MaterialAsked],
        told: &mut Observations,
        screen: &mut Screen<'_>,
    ) -> Result<(), Stop> {
        for (question, one) in std::mem::take(&mut self.questions).iter().zip(asked) {
            let chosen = question.chosen(screen)?;
            let material = chosen.and_then(|at| one.choices.get(at));
            if let (Some(material), Some(reading)) = (material, told.readings.get_mut(one.index)) {
                play_of(reading, material);
            }
            writeln!(screen.out)?;
        }
        Ok(())
    }
}

impl Question {
    /// Asks, and reads the place of what was chosen.
    fn chosen(&self, screen: &mut Screen<'_>) -> Result<Option<usize>, Stop> {
        write!(screen.out, "{}", self.shown(screen.width))?;
        screen.out.flush()?;
        let mut line = String::new();
        screen.input.read_line(&mut line)?;
        let number = line.trim().parse::<usize>().ok();
        Ok(number.and_then(|number| number.checked_sub(1)))
    }

    /// A text of layers whose material is not told.
    pub(super) fn of_material(asked: &MaterialAsked, told: &Observations) -> Self {
        let text = told
            .readings
            .get(asked.index)
            .map_or("", |r| r.text.as_str());
        let count = asked.choices.len().max(1) as f64;
        let choice = |choice: &MaterialChoice| {
            let [low, _] = choice.layer.map(rate);
            Meant {
                id: choice.material.clone(),
                meaning: format!("{}, {low} MB/s a layer", choice.material),
                probability: 1.0 / count,
            }
        };
        Self {
            text: text.to_owned(),
            choices: asked.choices.iter().map(choice).collect(),
            material: true,
            feared: false,
        }
    }

    /// The first line.
    fn head(&self) -> String {
        if self.material {
            format!("\"{}\": layers of what?", self.text.trim())
        } else {
            format!("\"{}\" may mean:", self.text.trim())
        }
    }

    /// The text with a number for each thing that it may mean.
    fn shown(&self, width: usize) -> String {
        let mut out = format!("{}\n", paragraph(&self.head(), width, 0));
        let mut line = |number: usize, text: &str| {
            out.push_str(&item(&format!("{number}  {text}"), width));
            out.push('\n');
        };
        for (i, choice) in self.choices.iter().enumerate() {
            line(i + 1, &choice.meaning);
        }
        let last = self.choices.len() + 1;
        line(last, "none of these; leave it out");
        let numbers: Vec<String> = (1..last).map(|n| n.to_string()).collect();
        let question = format!("{} or {last}? ", numbers.join(", "));
        out.push_str(&question);
        out
    }

    /// The same for a pipe, with what to write instead.
    fn told(&self, width: usize) -> String {
        let mut out = format!("{}\n", paragraph(&self.head(), width, 0));
        for choice in &self.choices {
            let say = if self.material {
                choice.meaning.clone()
            } else {
                format!("{} (say: {})", choice.meaning, choice.id)
            };
            out.push_str(&item(&say, width));
            out.push('\n');
        }
        out
    }
}

/// Asks back where nobody can answer.
pub(super) fn ask_back(
    questions: &[Question],
    careful: &[String],
    screen: &mut Screen<'_>,
) -> Stop {
    let told = cautions(careful, screen).and_then(|()| tell(questions, screen));
    told.map_or_else(Stop::Broken, |()| Stop::Written(Outcome::AsksBack))
}

/// What goes before a question.
fn cautions(careful: &[String], screen: &mut Screen<'_>) -> std::io::Result<()> {
    for line in careful {
        writeln!(screen.out, "{}", paragraph(line, screen.width, 0))?;
    }
    Ok(())
}

fn tell(questions: &[Question], screen: &mut Screen<'_>) -> std::io::Result<()> {
    for question in questions {
        write!(screen.out, "{}", question.told(screen.width))?;
    }
    let material = questions.iter().find(|question| question.material);
    let help = match material.and_then(|question| Some((question, question.choices.first()?))) {
        Some((question, first)) => format!(
            "Say it with the text, for example: \"{}, {}\".",
            question.text.trim(),
            first.id
        ),
        None => {
            "Say it in other words, or write what stands behind 'say:' in its place.".to_owned()
        }
    };
    writeln!(screen.out, "{}", paragraph(&help, screen.width, 0))
}
