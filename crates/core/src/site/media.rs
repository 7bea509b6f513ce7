//! What a run is made of.

use super::fault::Fault;
use super::model::{Known, Medium, Radio, Value as Drawn};
use super::reader::{Part, Read, Reader, Reported};
use super::runs::Joint;
use super::tree::Node;
use crate::copper::{FibreGrade, Installation};
use crate::quantity::{DataRate, Kind, Length, Measure, Ratio, UnitFault};
use crate::spread::{Bounds, Choice, Spread, Words};

/// Cable words that carry whatever their ports know.
pub(super) const CLEAR: [&str; 2] = ["fibre", "twinax"];

impl Reader<'_> {
    pub(super) fn medium(&mut self, part: &Part<'_>) -> Read<Joint> {
        if let Some((text, node)) = self.radio_text(part)? {
            let cabled = [
                "cable",
                "length",
                "bundle",
                "neighbours",
                "duct",
                "connections",
                "temperature",
                "grade",
                "cord-grade",
                "duplex",
            ]
            .into_iter()
            .find(|key| part.table.get(key).is_some());
            if let Some(key) = cabled {
                return Err(self.report(
                    Fault::new(
                        part.place_of(key),
                        format!("{} is a radio link and has a cable", part.path),
                        format!("'{key}' describes a cable"),
                        format!("remove '{key}' or 'wireless'"),
                    )
                    .also(node.place.clone(), "the radio link"),
                ));
            }
            let carries = match self.reading(part, text, node)? {
                Some(link) => Radio::Link(Box::new(link)),
                None => Radio::Payload(self.wireless(part, text, node)?),
            };
            return Ok(Joint::Known(Medium::Wireless { carries }));
        }
        self.of_radio(part)?;
        let length = self.stated::<Length>(part, "length");
        let words = self.cable_words();
        let cable = self.chosen(part, "cable", &words);
        let bundle_words = self.words("bundle", |word| Some(word.to_owned()));
        let bundle = self.chosen(part, "bundle", &bundle_words);
        let grades = self.grades(part);
        let installed = self.installation(part);
        let (length, cable, bundle) = (length?, cable?, bundle?);
        let installed = installed?;
        let (grade, cords) = grades?;
        self.of_fibre(part, cable.as_ref().and_then(|cable| cable.value.only()))?;
        let Some(category) = cable else {
            return if bundle.is_some() || installed.is_some() {
                // only a twisted pair minds its neighbours
                let category = self.assumed_category(part)?;
                self.copper(part, category, length, bundle, installed)
            } else {
                Ok(Joint::Unstated { length })
            };
        };
        if let Some(word) = category
            .value
            .options()
            .iter()
            .map(|(w, _)| w)
            .find(|w| is_clear(w))
        {
            if category.value.only().is_none() {
                return Err(self.report(Fault::new(
                    part.place_of("cable"),
                    format!("{} mixes copper and '{word}'", part.id("cable")),
                    "the sockets at its ends tell the two apart",
                    "look at the ends, and write one kind",
                )));
            }
            self.of_copper(part, word)?;
            return Ok(Joint::Known(Medium::Clear {
                word: word.clone(),
                length,
                grade,
                cords,
            }));
        }
        self.copper(part, category, length, bundle, installed)
    }

    /// The grades of a fibre and of its cords, which go together.
    pub(super) fn grades(
        &mut self,
        part: &Part<'_>,
    ) -> Read<(Option<FibreGrade>, Option<FibreGrade>)> {
        let [grade, cords] = ["grade", "cord-grade"].map(|key| self.word(part, key, "grade"));
        let known = |word: Option<String>| word.and_then(|word| FibreGrade::from_word(&word));
        let (grade, cords) = (known(grade?), known(cords?));
        if let (Some(cable), Some(ends)) = (grade, cords)
            && !cable.mates(ends)
        {
            let mode = |grade: FibreGrade| {
                let single = grade.single_mode();
                let mode = if single { "single mode" } else { "multimode" };
                format!("{} is {mode}", grade.word())
            };
            return Err(self.report(
                Fault::new(
                    part.place_of("cord-grade"),
                    format!("the cords of {} do not fit its fibre", part.path),
                    format!("{}, {}", mode(ends), mode(cable)),
                    "write the grade that is printed on the cords, or on the cable",
                )
                .also(part.place_of("grade"), "the fibre"),
            ));
        }
        Ok((grade, cords))
    }

    /// Grades are told of a fibre only.
    pub(super) fn of_fibre(&mut self, part: &Part<'_>, cable: Option<&String>) -> Read<()> {
        let told = ["grade", "cord-grade"]
            .into_iter()
            .find(|key| part.table.get(key).is_some());
        let Some(key) = told else { return Ok(()) };
        let found = match cable.map(String::as_str) {
            Some("fibre") => return Ok(()),
            Some(word) => format!("'{key}' tells fibres apart, and its cable is {word}"),
            None => format!("'{key}' tells fibres apart, and its cable is not said to be one"),
        };
        Err(self.report(Fault::new(
            part.place_of(key),
            format!("{} is told of no fibre", part.id(key)),
            found,
            format!("write cable = \"fibre\", or remove '{key}'"),
        )))
    }

    pub(super) fn cable_words(&self) -> Words<String> {
        self.words("cable", |word| Some(word.to_owned()))
    }

    pub(super) fn copper(
        &mut self,
        part: &Part<'_>,
        category: Known<Choice<String>>,
        length: Option<Drawn<Length>>,
        bundle: Option<Known<Choice<String>>>,
        installed: Option<Installation>,
    ) -> Read<Joint> {
        // only a twisted pair minds how long it is and how it lies
        let length = match length {
            Some(length) => length,
            None => self.quantity(part, "length", "cable.length")?,
        };
        let bundle = match bundle {
            Some(bundle) => bundle,
            None => self.assumed_choice(
                part,
                "bundle",
                "bundle",
                |word| Some(word.to_owned()),
                String::clone,
            )?,
        };
        Ok(Joint::Known(Medium::Copper {
            category,
            length,
            bundle,
            installed: installed.unwrap_or_default(),
        }))
    }

    pub(super) fn assumed_category(&mut self, part: &Part<'_>) -> Read<Known<Choice<String>>> {
        self.assumed_choice(
            part,
            "cable",
            "cable",
            |word| Some(word.to_owned()),
            String::clone,
        )
    }

    /// What joins two ports where nobody said: between two cages a twinax cable, else copper.
    pub(super) fn unstated(
        &mut self,
        part: &Part<'_>,
        length: Option<Drawn<Length>>,
        cages: bool,
    ) -> Read<Medium> {
        if cages {
            let field = part.field("cable")?;
            self.assume(
                part,
                part.id("cable"),
                "twinax".to_owned(),
                "both ports are cages; twinax and fibre carry what their ports know".to_owned(),
                field.find_out,
            );
            return Ok(Medium::Clear {
                word: "twinax".to_owned(),
                length,
                grade: None,
                cords: None,
            });
        }
        let category = self.assumed_category(part)?;
        match self.copper(part, category, length, None, None)? {
            Joint::Known(medium) => Ok(medium),
            Joint::Unstated { .. } => Err(Reported),
        }
    }

    /// `measured 300 Mb/s` is payload; `rated 866 Mb/s` is what the box says.
    pub(super) fn wireless(
        &mut self,
        part: &Part<'_>,
        text: &str,
        node: &Node,
    ) -> Read<Drawn<DataRate>> {
        let id = part.id("wireless");
        let title = format!("{id} is not a radio link");
        let lead = text.len() - text.trim_start().len();
        let body = text.trim_start();
        let (word, rest) = body.split_once(char::is_whitespace).unwrap_or((body, ""));
        let at = lead + word.len() + 1;
        let measured = match word {
            "measured" => true,
            "rated" => false,
            _ => {
                let fault = UnitFault {
                    span: 0..text.len(),
                    found: format!("'{body}' does not begin with measured or rated"),
                    help: "write \"measured 300 Mb/s\" for what it was measured to carry, \"shown 866.7 Mb/s\" or \"signal -64 dBm\" for what the system shows, \"rated 866 Mb/s\" for what its box says, or \"unknown\"".to_owned(),
                    instead: None,
                };
                return Err(self.unit(node, title, fault));
            }
        };
        let rate = Spread::<DataRate>::parse(rest, Bounds::POSITIVE).map_err(|fault| {
            let mut fault = fault.shifted(at.min(text.len()));
            fault.instead = None;
            self.unit(node, title.clone(), fault)
        })?;
        let (low, likely, high) = rate.law().knots();
        if low <= 0.0 {
            let fault = UnitFault {
                span: 0..text.len(),
                found: "the rate begins at zero".to_owned(),
                help: format!("write {} above zero", Kind::DataRate.noun()),
                instead: None,
            };
            return Err(self.unit(node, title, fault));
        }
        if measured {
            return Ok(Known::stated(id, rate));
        }
        let row = "wireless.share";
        let share: Drawn<Ratio> = self.constant(part, id.clone(), row)?;
        let (least, middle, most) = share.value.law().knots();
        // both ends of both: what a box says and what the air leaves of it go together
        let goodput = Spread::percentiles(
            DataRate::from_base(low * least),
            DataRate::from_base(likely * middle),
            DataRate::from_base(high * most),
            Bounds::POSITIVE,
        )
        .map_err(|fault| self.unit(node, title, fault))?;
        let because = format!(
            "what the air leaves of the rate on the box; {}",
            self.reason(row)
        );
        let find_out = part.field("wireless")?.find_out;
        self.assume(
            part,
            id.clone(),
            format!("measured {goodput}"),
            because.clone(),
            find_out,
        );
        Ok(Known::assumed(id, goodput, because))
    }
}

/// Whether a cable word is fibre or twinax.
pub(super) fn is_clear(word: &str) -> bool {
    CLEAR.contains(&word)
}

/// Of a machine with a radio and one other port, the one that a run means.
pub(super) fn radio_or_not<'p>(part: &Part<'_>, ports: &'p [String]) -> Option<&'p str> {
    let air = super::air::AIR;
    if !ports.iter().any(|port| port == air) {
        return None;
    }
    if part.table.get("wireless").is_some() {
        return Some(air);
    }
    match &ports.iter().filter(|port| *port != air).collect::<Vec<_>>()[..] {
        [only] => Some(only),
        _ => None,
    }
}
