//! Tasks: what the desks do, with which array, and what that asks for.

use super::fault::Fault;
use super::model::{Known, Machine, Site, Value as Drawn};
use super::names::Names;
use super::reader::{Part, Read, Reader, Reported};
use super::schema::Kept;
use super::tree::{Node, Value};
use super::values::no_such_word;
use crate::quantity::{DataRate, Kind, UnitFault};
use crate::spread::{Bounds, Spread};
use crate::work::codecs::{self, CodecFault};
use crate::work::{Direction, Does, Export, FrameRate, Material, Raster, Task};

/// Exports faster than this are no exports.
const FASTEST: f64 = 100.0;

/// What a task may hold besides what every task may.
struct Allowed {
    key: &'static str,
    /// To whom it belongs.
    whose: fn(Does) -> bool,
    /// In words, behind "only".
    who: &'static str,
    /// What to do otherwise.
    help: &'static str,
}

const ALLOWED: [Allowed; 10] = [
    Allowed {
        key: "demand",
        whose: Does::has_deadline,
        who: "what is played in time has a demand",
        help: "write held-to for a task that is held to a rate, or remove it: it takes what is left",
    },
    Allowed {
        key: "held-to",
        whose: |does| !does.has_deadline(),
        who: "what takes what is left can be held to a rate",
        help: "write demand or codec for what has to be there in time",
    },
    Allowed {
        key: "codec",
        whose: may_have_codec,
        who: "playing and exporting have a codec",
        help: "write held-to for a task that is held to a rate, or remove it",
    },
    Allowed {
        key: "raster",
        whose: may_have_codec,
        who: "playing and exporting have a resolution",
        help: "remove it",
    },
    Allowed {
        key: "frames",
        whose: may_have_codec,
        who: "playing and exporting have a frame rate",
        help: "remove it",
    },
    Allowed {
        key: "layers",
        whose: |does| does.has_deadline() && does != Does::Multicam,
        who: "what is played in time has layers",
        help: "write angles for multicam, or remove it",
    },
    Allowed {
        key: "angles",
        whose: |does| does == Does::Multicam,
        who: "multicam has angles",
        help: "write layers, or does = \"multicam\"",
    },
    Allowed {
        key: "into",
        whose: |does| does == Does::Export,
        who: "an export turns one codec into another",
        help: "write does = \"export\", or remove it",
    },
    Allowed {
        key: "speed",
        whose: |does| does == Does::Export,
        who: "an export has a speed",
        help: "write does = \"export\", or remove it",
    },
    Allowed {
        key: "card",
        whose: |does| does == Does::Ingest,
        who: "bringing a card in has one",
        help: "write does = \"ingest\", or remove it",
    },
];

fn may_have_codec(does: Does) -> bool {
    does.has_deadline() || does == Does::Export
}

/// Codec, raster and frame rate as far as they were given.
pub(super) struct Told {
    raster: Option<Raster>,
    frames: Option<FrameRate>,
}

impl Reader<'_> {
    /// One task.
    pub(super) fn task(&mut self, part: &Part<'_>, names: &Names) -> Read<Task> {
        let desks = names.of_kind(Machine::Desk);
        let desk = self.name_of(part, "desk", &desks, "desk");
        let array = self.array_of(part, &names.array_names());
        let does = self.does(part);
        let told = self.told(part);
        let active = self.stated(part, "active");
        let spell = self.stated(part, "spell");
        let per_day = self.stated(part, "per-day");
        let weight = self.whole(part, "weight");
        let does = does?;
        let fits = self.only_what_belongs(part, does);
        let direction = self.direction(part, does);
        let layers = self.layers(part, does);
        let stated = self.stated::<DataRate>(part, "demand");
        let held_to = self.stated::<DataRate>(part, "held-to");
        let card = self.card(part);
        // what does not belong here is not also incomplete
        fits?;
        let told = told?;
        let material = self.material(part, "codec", &told);
        let export = self.export(part, does, &told);
        let (material, layers) = (material?, layers?);
        let demand = self.demand(part, does, (material.as_ref(), stated?), layers)?;
        Ok(Task {
            number: part.name.parse().map_err(|_| Reported)?,
            desk: desk?,
            array: array?,
            does,
            direction: direction?,
            material,
            layers,
            demand,
            held_to: held_to?,
            export: export?,
            card: card?,
            weight: weight?.unwrap_or(1),
            active: active?,
            spell: spell?,
            per_day: per_day?,
        })
    }

    fn does(&mut self, part: &Part<'_>) -> Read<Does> {
        let Some(word) = self.word(part, "does", "does")? else {
            return Err(self.missing(part, "does"));
        };
        Does::from_word(&word).ok_or(Reported)
    }

    /// A name that the site has to have.
    pub(super) fn name_of(
        &mut self,
        part: &Part<'_>,
        key: &str,
        known: &[&str],
        what: &str,
    ) -> Read<String> {
        let Some((text, node)) = self.text(part, key)? else {
            return Err(self.missing(part, key));
        };
        let word = text.trim();
        if known.contains(&word) {
            return Ok(word.to_owned());
        }
        if known.is_empty() {
            // that there is none has been reported
            return Err(Reported);
        }
        let fault = no_such_word(text, word, known);
        let title = format!("{} names no {what} of this site", part.id(key));
        Err(self.unit(node, title, fault))
    }

    pub(super) fn array_of(&mut self, part: &Part<'_>, arrays: &[&str]) -> Read<String> {
        if part.table.get("array").is_some() {
            return self.name_of(part, "array", arrays, "array");
        }
        match arrays {
            [only] => Ok((*only).to_owned()),
            [] => Err(Reported),
            several => Err(self.report(Fault::new(
                part.place.clone(),
                format!("{} does not say which array", part.path),
                "'array' is not given, and there are several",
                format!("add array = one of {}", several.join(", ")),
            ))),
        }
    }

    /// Every field belongs to what the task does.
    fn only_what_belongs(&mut self, part: &Part<'_>, does: Does) -> Read<()> {
        let mut all = Ok(());
        for allowed in &ALLOWED {
            if part.table.get(allowed.key).is_some() && !(allowed.whose)(does) {
                all = Err(self.report(Fault::new(
                    part.place_of(allowed.key),
                    format!(
                        "{} does not belong to '{}'",
                        part.id(allowed.key),
                        does.word()
                    ),
                    format!("only {}", allowed.who),
                    allowed.help,
                )));
            }
        }
        all
    }

    fn direction(&mut self, part: &Part<'_>, does: Does) -> Read<Direction> {
        let Some(word) = self.word(part, "direction", "direction")? else {
            return Ok(does.usual_direction());
        };
        let direction = Direction::BOTH
            .into_iter()
            .find(|d| d.word() == word)
            .ok_or(Reported)?;
        if direction == does.usual_direction() || does.may_turn() {
            return Ok(direction);
        }
        Err(self.report(Fault::new(
            part.place_of("direction"),
            format!("{} does not go that way", part.path),
            format!(
                "'{}' is always {}",
                does.word(),
                does.usual_direction().word()
            ),
            "remove it, or write another task",
        )))
    }

    pub(super) fn told(&mut self, part: &Part<'_>) -> Read<Told> {
        let catalogue = self.catalogue;
        let raster = self.parsed(part, "raster", "a resolution", |text| {
            Raster::parse(text, catalogue)
        });
        let frames = self.frames(part);
        Ok(Told {
            raster: raster?,
            frames: frames?,
        })
    }

    fn frames(&mut self, part: &Part<'_>) -> Read<Option<FrameRate>> {
        self.parsed(part, "frames", "a frame rate", FrameRate::parse)
    }

    /// Material under a key that names a codec.
    pub(super) fn material(
        &mut self,
        part: &Part<'_>,
        key: &str,
        told: &Told,
    ) -> Read<Option<Material>> {
        let Some((text, node)) = self.text(part, key)? else {
            for other in ["raster", "frames"] {
                if key == "codec" && part.table.get(other).is_some() {
                    return Err(self.report(Fault::new(
                        part.place_of(other),
                        format!("{} belongs to a codec", part.id(other)),
                        "'codec' is not given",
                        "add codec = \"ProRes 422 HQ\", or write demand in their place",
                    )));
                }
            }
            return Ok(None);
        };
        let mut lacking = Ok(());
        for (given, other, example) in [
            (told.raster.is_some(), "raster", "\"UHD\""),
            (told.frames.is_some(), "frames", "\"25 fps\""),
        ] {
            if !given && key == "codec" {
                lacking = Err(self.report(Fault::new(
                    node.place.clone(),
                    format!("{} lacks its {other}", part.path),
                    format!("'{other}' is not given"),
                    format!("add {other} = {example}"),
                )));
            }
        }
        lacking?;
        let (Some(raster), Some(frames)) = (told.raster, told.frames) else {
            return Err(Reported);
        };
        let found = codecs::look_up(self.catalogue, text, raster, frames)
            .map_err(|fault| self.no_rate(part, (key, text, node), &fault))?;
        Ok(Some(Material {
            because: found.because(),
            steadiness: found.steadiness,
            raster,
            frames,
            rate: Known::stated(part.id(key), found.rate),
            codec: found.name,
        }))
    }

    fn no_rate(
        &mut self,
        part: &Part<'_>,
        (key, text, node): (&str, &str, &Node),
        fault: &CodecFault,
    ) -> Reported {
        let (title, help, instead) = match fault {
            CodecFault::Unknown { nearest, known, .. } => (
                format!("{} is not a codec that is known", part.id(key)),
                format!(
                    "write demand in its place, or a codec: {}; all of them: narrows facts codecs",
                    known.iter().take(4).cloned().collect::<Vec<_>>().join(", ")
                ),
                nearest.clone(),
            ),
            CodecFault::Raster { .. } => (
                format!("{} has no known rate at that resolution", part.id(key)),
                "write demand in its place, or that resolution".to_owned(),
                None,
            ),
            CodecFault::Frames { .. } => (
                format!("{} has no known rate at that frame rate", part.id(key)),
                "write demand in its place, or one of those frame rates".to_owned(),
                None,
            ),
            CodecFault::Catalogue(fault) => return self.no_row(part, fault),
        };
        let word = text.trim();
        let start = text.find(word).unwrap_or(0);
        let fault = UnitFault {
            span: start..start + word.len(),
            found: fault.to_string(),
            help,
            instead,
        };
        self.unit(node, title, fault)
    }

    fn layers(&mut self, part: &Part<'_>, does: Does) -> Read<u32> {
        let (layers, angles) = (self.whole(part, "layers"), self.whole(part, "angles"));
        if does != Does::Multicam {
            return Ok(layers?.unwrap_or(1));
        }
        angles?.ok_or_else(|| {
            self.report(Fault::new(
                part.place_of("does"),
                format!("{} does not say how many angles", part.path),
                "'angles' is not given",
                "add angles = 4",
            ))
        })
    }

    /// What has to be there in time, all layers together.
    fn demand(
        &mut self,
        part: &Part<'_>,
        does: Does,
        (material, stated): (Option<&Material>, Option<Drawn<DataRate>>),
        layers: u32,
    ) -> Read<Option<Drawn<DataRate>>> {
        if !does.has_deadline() {
            return Ok(None);
        }
        let one = match (material, stated) {
            (Some(material), None) => material.rate.clone(),
            (None, Some(stated)) => stated,
            (Some(_), Some(_)) => {
                return Err(self.report(
                    Fault::new(
                        part.place_of("demand"),
                        format!("{} has a demand and a codec", part.path),
                        "the codec says how much that is",
                        "remove 'demand' or 'codec'",
                    )
                    .also(part.place_of("codec"), "the codec is here"),
                ));
            }
            (None, None) => {
                return Err(self.report(Fault::new(
                    part.place_of("does"),
                    format!("{} does not say how much it takes", part.path),
                    "neither 'demand' nor 'codec' is given",
                    "add demand = \"880 Mb/s\", or codec, raster and frames",
                )));
            }
        };
        let mut times = f64::from(layers);
        if does == Does::Scrub {
            let row = "task.scrub.times-rate";
            let more = self.constant::<f64>(part, part.id("demand"), row)?;
            times *= more.value.median();
        }
        Ok(Some(Known {
            value: one.value.times(times),
            ..one
        }))
    }

    fn export(&mut self, part: &Part<'_>, does: Does, told: &Told) -> Read<Option<Export>> {
        let into = self.material(part, "into", told);
        let speed = self.speed(part);
        let (into, speed) = (into?, speed?);
        for (given, key) in [(into.is_some(), "into"), (speed.is_some(), "speed")] {
            if given && does == Does::Export && part.table.get("codec").is_none() {
                return Err(self.report(Fault::new(
                    part.place_of(key),
                    format!("{} belongs to a codec", part.id(key)),
                    "'codec' is not given, so nobody knows what is read",
                    "add codec, raster and frames of what is read",
                )));
            }
        }
        Ok((does == Does::Export).then_some(Export { into, speed }))
    }

    /// `1.5 x` or a range of that; a bare number is as good.
    fn speed(&mut self, part: &Part<'_>) -> Read<Option<Drawn<f64>>> {
        let Some(node) = part.given("speed")? else {
            return Ok(None);
        };
        let title = format!("{} is not a speed", part.id("speed"));
        let help = || "write times real time, for example 1.5 x or 0.3..4 x".to_owned();
        let text = match &node.value {
            Value::Whole(number) | Value::Decimal(number) => number.clone(),
            Value::Text { text, .. } => text.trim().trim_end_matches(['x', '×']).trim().to_owned(),
            _ => {
                let field = part.field("speed")?;
                return Err(self.wrong_type(part, field, node));
            }
        };
        let spread = Spread::<f64>::parse(&text, Bounds::POSITIVE).map_err(|mut fault| {
            fault.help = help();
            fault.instead = None;
            self.unit(node, title.clone(), fault)
        })?;
        let (low, _, high) = spread.law().knots();
        if low <= 0.0 || high > FASTEST {
            return Err(self.report(Fault::new(
                node.place.clone(),
                title,
                format!("'{text}' is out of range"),
                help(),
            )));
        }
        Ok(Some(Known::stated(part.id("speed"), spread)))
    }

    fn card(&mut self, part: &Part<'_>) -> Read<Option<Drawn<DataRate>>> {
        let Some(word) = self.word(part, "card", "card")? else {
            return Ok(None);
        };
        let id = part.id("card");
        self.constant(part, id, &format!("card.{word}")).map(Some)
    }
}

/// Every task's desk reaches its array over the runs of the site.
pub(super) fn reach(reader: &mut Reader<'_>, parts: &[Part<'_>], site: &Site) {
    for task in &site.tasks {
        let holder = site.arrays.iter().find(|a| a.name == task.array);
        let reached = holder.is_some_and(|array| {
            crate::route::routes(site, &task.desk)
                .iter()
                .any(|route| route.nas == array.nas)
        });
        let part = parts.iter().find(|p| p.name == task.number.to_string());
        if let Some(part) = part.filter(|_| !reached) {
            reader.report(Fault::new(
                part.place_of("array"),
                format!("{} cannot be done", part.path),
                format!("no run leads from {} to {}", task.desk, task.array),
                "write another array or desk, or add the run that is missing",
            ));
        }
    }
}

/// What a frame rate and a codec look like, for the reference.
pub(super) fn allowed(kept: Kept) -> String {
    match kept {
        Kept::Codec => "the name of a codec: narrows facts codecs lists them".to_owned(),
        Kept::Raster => "pixels a row x rows, or a name such as HD, UHD or 4K".to_owned(),
        Kept::Frames => "frames a second, for example 25 fps or 23.976 fps".to_owned(),
        Kept::Speed => format!(
            "{} with x behind it, or a range of that",
            Kind::Count.noun()
        ),
        Kept::Decibels => {
            "decibels above zero, for example \"12 dB\"; ranges such as low..high are allowed"
                .to_owned()
        }
        Kept::Number => format!("{}, or a range of that in quotes", Kind::Count.noun()),
        Kept::Record => {
            "a power of two from 4 KiB to 16 MiB, for example 1 MiB; of a pool".to_owned()
        }
        Kept::Chunk => {
            "a power of two from 4 KiB to 16 MiB, for example 64 KiB; not of a pool".to_owned()
        }
        other => super::supplies::allowed(other)
            .unwrap_or_default()
            .to_owned(),
    }
}
