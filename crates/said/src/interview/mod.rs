//! The questions that lead to a site file: what is asked next, what an answer means, and the file in the end.
//!
//! Nothing is read or printed here. The state is what was answered so far; "back" forgets the last answer.

mod answers;
mod write;

use crate::SaidDrives;
use narrows_units::catalogue::Catalogue;
use narrows_units::quantity::LinkRate;

/// What a list of jacks says of the cable of a desk.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Jack {
    /// Name of the desk.
    pub desk: String,
    /// What the list says of the cable, in words.
    pub cable: String,
}

/// Something to ask.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// The question, with examples.
    pub text: String,
    /// How a person finds it out.
    pub find_out: String,
    /// Whether the answer may have several lines, up to an empty one.
    pub lines: bool,
}

/// What was heard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Heard {
    /// Understood; said back in short.
    Taken(String),
    /// Not understood, and why; the question stays.
    Again(String),
}

/// The file in the end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Name of the place.
    pub name: String,
    /// The site file, with comments.
    pub text: String,
    /// How many things are not known yet.
    pub unknown: usize,
}

/// One thing that is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    Name,
    Desks,
    Storage,
    Layout,
    StorageRate,
    Service,
    Fill,
    Switches,
    OnSwitch,
    Ports,
    Cable(usize),
}

/// A desk as far as it is known.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Desk {
    name: String,
    disk: Option<String>,
    port: Option<LinkRate>,
    cable: Option<String>,
    /// Place of its switch in the list.
    switch: usize,
}

/// A switch: its name and its groups of ports, as many of what rate.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Switch {
    name: String,
    groups: Vec<(u32, LinkRate)>,
}

/// All that was said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Told {
    name: String,
    desks: Vec<Desk>,
    drives: SaidDrives,
    rate: Option<LinkRate>,
    cpu: Option<String>,
    memory: Option<String>,
    service: Option<String>,
    signed: Option<String>,
    fill: Option<String>,
    /// None where nobody knows whether there is one.
    switches: Option<Vec<Switch>>,
    /// What could not be understood of what was said; kept as a comment.
    left: Vec<String>,
}

/// An interview.
#[derive(Clone, Debug)]
pub struct Interview<'a> {
    catalogue: &'a Catalogue,
    jacks: Vec<Jack>,
    answers: Vec<String>,
}

impl<'a> Interview<'a> {
    /// Begins; a list of jacks fills in what it says of cables.
    pub fn new(catalogue: &'a Catalogue, jacks: Vec<Jack>) -> Self {
        Self {
            catalogue,
            jacks,
            answers: Vec::new(),
        }
    }

    /// How many questions have been answered.
    pub fn answered(&self) -> usize {
        self.answers.len()
    }

    /// The answers so far, each with the empty line behind it that ends one of several lines.
    pub fn answers(&self) -> String {
        let mut text = String::new();
        let mut before = Self {
            answers: Vec::new(),
            ..self.clone()
        };
        for answer in &self.answers {
            let lines = before.question().is_some_and(|q| q.lines);
            text.push_str(answer);
            text.push_str(if lines { "\n\n" } else { "\n" });
            before.answers.push(answer.clone());
        }
        text
    }

    /// What is to be asked now; nothing at the end.
    pub fn question(&self) -> Option<Question> {
        let (told, step) = self.replay();
        step.map(|step| question(step, &told))
    }

    /// Takes an answer to the question that is open. An empty one means that nothing is known.
    pub fn answer(&mut self, text: &str) -> Heard {
        let (mut told, step) = self.replay();
        let Some(step) = step else {
            return Heard::Again("there is nothing left to ask".to_owned());
        };
        let heard = answers::take(self.catalogue, &mut told, step, text);
        if matches!(heard, Heard::Taken(_)) {
            self.answers.push(text.trim_end().to_owned());
        }
        heard
    }

    /// Forgets the last answer; whether there was one.
    pub fn back(&mut self) -> bool {
        self.answers.pop().is_some()
    }

    /// The site file, once all is asked.
    pub fn written(&self) -> Option<Written> {
        let (told, step) = self.replay();
        step.is_none().then(|| write::site(self.catalogue, &told))
    }

    /// All that was said, and the step that comes next.
    fn replay(&self) -> (Told, Option<Step>) {
        let mut told = Told::default();
        let mut answers = self.answers.iter();
        let mut at = 0;
        loop {
            let Some(step) = Self::step(at, &told) else {
                return (told, None);
            };
            at += 1;
            let Some(step) = step else { continue };
            let Some(answer) = answers.next() else {
                return (told, Some(step));
            };
            answers::take(self.catalogue, &mut told, step, answer);
            if step == Step::Desks {
                for desk in &mut told.desks {
                    let of_list = self
                        .jacks
                        .iter()
                        .find(|j| crate::plain(&j.desk) == crate::plain(&desk.name));
                    desk.cable = of_list
                        .map(|j| j.cable.clone())
                        .filter(|c| !c.trim().is_empty());
                }
            }
        }
    }

    /// The step at a place of the order: nothing behind the last, an empty one where it need not be asked.
    #[allow(clippy::option_option)] // the end and a step that is left out are two things
    fn step(at: usize, told: &Told) -> Option<Option<Step>> {
        let several = told.switches.as_ref().is_some_and(|s| s.len() > 1);
        let (step, asked) = match at {
            0 => (Step::Name, true),
            1 => (Step::Desks, true),
            2 => (Step::Storage, true),
            3 => (
                Step::Layout,
                told.drives.count != Some(1) && told.drives.level.is_none(),
            ),
            4 => (Step::StorageRate, told.rate.is_none()),
            5 => (
                Step::Service,
                told.service.is_none() || told.signed.is_none(),
            ),
            6 => (Step::Fill, true),
            7 => (Step::Switches, true),
            8 => (Step::OnSwitch, several),
            9 => (Step::Ports, told.desks.iter().any(|d| d.port.is_none())),
            at => {
                let desk = told.desks.get(at - 10)?;
                (Step::Cable(at - 10), desk.cable.is_none())
            }
        };
        Some(asked.then_some(step))
    }
}

fn question(step: Step, told: &Told) -> Question {
    let ask = |text: &str, find_out: &str, lines: bool| Question {
        text: text.to_owned(),
        find_out: find_out.to_owned(),
        lines,
    };
    match step {
        Step::Name => ask(
            "What is this place called? For example: Granary Lane",
            "any name will do",
            false,
        ),
        Step::Desks => ask(
            "Which desks edit? One a line, with the disk and the port if you know them, for example: cut-1, nvme, 10 Gb/s. An empty line ends.",
            "the system information of each desk names its disk, the network settings its port",
            true,
        ),
        Step::Storage => ask(
            "What holds the drives? For example: 6 x 10 TB 7200 rpm, raid 6, 4 cores, 8 GB memory, 10 Gb/s",
            "look in the storage settings of the NAS, or on the labels of the drives",
            false,
        ),
        Step::Layout => ask(
            "How are the drives put together? For example: raid 6, raid 5, mirrored, raidz2",
            "look in the storage settings of the NAS",
            false,
        ),
        Step::StorageRate => ask(
            "How fast is the network port of that machine? For example: 10 Gb/s, gigabit, 2.5 Gb/s",
            "look in its network settings, or on its data sheet",
            false,
        ),
        Step::Service => ask(
            "How do the desks mount it, and are the packets signed? For example: smb, unsigned",
            "the address that the desks mount begins with the service; signing stands in the file service settings of the NAS",
            false,
        ),
        Step::Fill => ask(
            "How full will it be? For example: 60 %, or 40..70 %",
            "look in the storage settings of the NAS",
            false,
        ),
        Step::Switches => ask(
            "Which switches stand between? One a line with its ports, for example: attic: 2 x 10 Gb/s, 8 x 1 Gb/s. Or: none. An empty line ends.",
            "look at the front of each box that the cables go into",
            true,
        ),
        Step::OnSwitch => {
            let names: Vec<&str> = told
                .switches
                .iter()
                .flatten()
                .map(|s| s.name.as_str())
                .collect();
            let first = names.first().copied().unwrap_or_default();
            let last = names.last().copied().unwrap_or_default();
            ask(
                &format!(
                    "Which desks hang on which switch? One a line, for example: {last}: {}. The rest, and the NAS, are taken to hang on {first}. An empty line ends.",
                    told.desks.last().map_or("sound", |d| d.name.as_str())
                ),
                "follow the cables",
                true,
            )
        }
        Step::Ports => ask(
            "How fast are the network ports of the desks? For example: all 1 Gb/s; or one a line: cut-1: 10 Gb/s. An empty line ends.",
            "look in the network settings of each desk",
            true,
        ),
        Step::Cable(at) => {
            let desk = told.desks.get(at).map_or("the desk", |d| d.name.as_str());
            ask(
                &format!(
                    "Which cable leads from {desk} to the wall and on? For example: cat 5e, about 30 m, loose"
                ),
                "read the print on the sheath; subtract the metre marks at both ends for its length",
                false,
            )
        }
    }
}
