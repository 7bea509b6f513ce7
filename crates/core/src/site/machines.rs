//! The network, the machines that hold arrays, switches and desks.

use super::drives::widest;
use super::model::{
    Chosen, Client, Cpu, Desk, Known, Machine, Nas, Network, Powers, Service, Switch, System, Value,
};
use super::ports::Fitted;
use super::reader::{Part, Read, Reader};
use super::tree::Node;
use super::values::{show_choice, truth};
use crate::quantity::{Power, UnitFault};
use crate::spread::{Bounds, Choice, Spread};

/// More cores than any processor of a small studio has.
const MOST_CORES: f64 = 1024.0;

/// The class of a switch's powered ports where nobody said: what most that are sold give.
const USUAL_CLASS: u8 = 4;

/// The standard's own packet size, where nobody set another.
const USUAL_MTU: u32 = 1500;

impl Reader<'_> {
    /// What holds for the whole network, and the MTU of ports that do not say their own.
    pub(super) fn network(&mut self, part: &Part<'_>) -> Read<(Network, u32)> {
        let round_trip = self.quantity(part, "round-trip", "network.round-trip");
        let tagged = self.yes_no(part, "tagged", "yes-no");
        let mtu = self.whole(part, "mtu");
        // small networks seldom tag, and it costs a quarter of a percent
        let tagged =
            tagged?.unwrap_or_else(|| Known::stated(part.id("tagged"), Choice::certain(false)));
        Ok((
            Network {
                round_trip: round_trip?,
                tagged,
            },
            mtu?.unwrap_or(USUAL_MTU),
        ))
    }

    /// A machine that holds arrays.
    pub(super) fn nas(&mut self, part: &Part<'_>, mtu: u32, fitted: &mut Vec<Fitted>) -> Read<Nas> {
        let cpu = self.cpu(part, "cpu");
        let memory = self.quantity(part, "memory", "nas.memory");
        let service = self.service(part);
        let (signed, encrypted) = match &service {
            Ok(service) => (
                self.of_service(part, "signed", "signed", service),
                self.of_service(part, "encrypted", "yes-no", service),
            ),
            Err(reported) => (Err(*reported), Err(*reported)),
        };
        let sync = self.yes_no(part, "sync", "yes-no");
        let ports = self.ports(part, Machine::Nas, mtu, fitted);
        Ok(Nas {
            name: part.name.clone(),
            cpu: cpu?,
            memory: memory?,
            service: service?,
            signed: signed?,
            encrypted: encrypted?,
            sync: sync?,
            ports: ports?,
        })
    }

    /// A switch.
    pub(super) fn switch(
        &mut self,
        part: &Part<'_>,
        mtu: u32,
        fitted: &mut Vec<Fitted>,
    ) -> Read<Switch> {
        let pause = self.yes_no(part, "pause", "yes-no");
        let budget = self.stated::<Power>(part, "power-budget");
        let class = self.whole(part, "power-class");
        let ports = self.ports(part, Machine::Switch, mtu, fitted);
        let class = class?.map_or(USUAL_CLASS, |class| class as u8);
        Ok(Switch {
            name: part.name.clone(),
            pause: pause?,
            ports: ports?,
            cell: None,
            powers: budget?.map(|budget| Powers { budget, class }),
        })
    }

    /// A desk.
    pub(super) fn desk(
        &mut self,
        part: &Part<'_>,
        mtu: u32,
        fitted: &mut Vec<Fitted>,
    ) -> Read<Desk> {
        let disk = self.disk(part);
        let disk_fill = self.quantity(part, "disk-fill", "desk.disk-fill");
        let cpu = self.cpu(part, "cpu.desk");
        let overlap = match self.yes_no(part, "overlap", "yes-no") {
            Ok(None) => {
                self.assumed_choice(part, "overlap", "overlap", truth, |yes| yes_or_no(*yes))
            }
            Ok(Some(choice)) => Ok(choice),
            Err(reported) => Err(reported),
        };
        let system = {
            let words = self.words("system", System::from_word);
            self.chosen(part, "system", &words)
        };
        let client = self.client(part);
        let round_trip = self.stated(part, "round-trip");
        let window = self.stated(part, "window");
        let requests = self.whole(part, "requests");
        let request_size = self.stated(part, "request-size");
        let files_at_once = self.whole(part, "files-at-once");
        let room = self.room_named(part);
        let radio = self.spoken(part);
        let ports = self.ports_and_air(part, Machine::Desk, mtu, fitted);
        let (disk, disk_capacity) = disk?;
        Ok(Desk {
            name: part.name.clone(),
            cpu: cpu?,
            disk,
            disk_capacity,
            disk_fill: disk_fill?,
            overlap: overlap?,
            client: client?,
            system: system?,
            round_trip: round_trip?,
            window: window?,
            requests: requests?.map(u64::from),
            request_size: request_size?,
            files_at_once: files_at_once?.map(u64::from),
            ports: ports?,
            room: room?,
            radio: radio?,
        })
    }

    fn client(&mut self, part: &Part<'_>) -> Read<Chosen<Client>> {
        let find = |word: &str| Client::ALL.into_iter().find(|c| c.word() == word);
        let words = self.words("client", find);
        match self.chosen(part, "client", &words)? {
            Some(choice) => Ok(choice),
            None => self.assumed_choice(part, "client", "client", find, |c| c.word().to_owned()),
        }
    }

    fn service(&mut self, part: &Part<'_>) -> Read<Chosen<Service>> {
        let find = |word: &str| Service::ALL.into_iter().find(|s| s.word() == word);
        let words = self.words("service", find);
        match self.chosen(part, "service", &words)? {
            Some(choice) => Ok(choice),
            None => self.assumed_choice(part, "service", "service", find, |s| s.word().to_owned()),
        }
    }

    /// Signing or encryption: as stated, or as usual for the services that it may be.
    fn of_service(
        &mut self,
        part: &Part<'_>,
        key: &str,
        list: &str,
        service: &Chosen<Service>,
    ) -> Read<Chosen<bool>> {
        if let Some(stated) = self.yes_no(part, key, list)? {
            return Ok(stated);
        }
        let row = |service: Service| format!("{key}.{}", service.word());
        let mut yes = 0.0;
        for (one, share) in service.value.options() {
            let choice = self
                .catalogue
                .choice(&row(*one), truth)
                .map_err(|fault| self.no_row(part, &fault))?;
            for (value, weight) in choice.options() {
                if *value {
                    yes += share * weight;
                }
            }
        }
        let likeliest = row(*service.value.likeliest());
        let source = self.catalogue.choice_source(&likeliest).to_owned();
        // two options whose weights add up to one
        let choice = Choice::weighted([(true, yes), (false, 1.0 - yes)])
            .unwrap_or_else(|| Choice::certain(yes > 0.5));
        let id = part.id(key);
        let shown = show_choice(&choice, |value| match (list, *value) {
            ("signed", true) => "signed".to_owned(),
            ("signed", false) => "unsigned".to_owned(),
            (_, value) => yes_or_no(value),
        });
        let find_out = part.field(key)?.find_out;
        self.assume(part, id.clone(), shown, source.clone(), find_out);
        Ok(Known::assumed(id, choice, source))
    }

    /// `small, 4 cores`: a class, or several with percentages, and how many cores.
    fn cpu(&mut self, part: &Part<'_>, row: &str) -> Read<Cpu> {
        let key = "cpu";
        let Some((text, node)) = self.text(part, key)? else {
            let class = self.assumed_class(part, row)?;
            let cores = self.assumed_cores(part, &class, false)?;
            return Ok(Cpu { class, cores });
        };
        let mut class_end = text.len();
        let mut cores = None;
        let last = text.rfind(',').map_or(0, |comma| comma + 1);
        if let Some(tail) = text.get(last..)
            && let Some(number) = number_of_cores(tail)
        {
            cores = Some(self.stated_cores(part, node, last, number));
            class_end = last.saturating_sub(1);
        }
        let word = text.get(..class_end).unwrap_or_default();
        let class = if word.trim().is_empty() || word.trim() == "unknown" {
            self.assumed_class(part, row)
        } else {
            let words = self.words("cpu", |word| Some(word.to_owned()));
            Choice::parse(word, &words)
                .map(|choice| Known::stated(part.id(key), choice))
                .map_err(|mut fault| {
                    // a whole text to write instead would lose the cores
                    fault.instead = fault
                        .instead
                        .map(|w| format!("{w}{}", text.get(class_end..).unwrap_or_default()));
                    let title = format!("{} is not a class of processor", part.id(key));
                    self.unit(node, title, fault)
                })
        };
        let cores = cores.transpose();
        let class = class?;
        let cores = match cores? {
            Some(cores) => cores,
            None => self.assumed_cores(part, &class, true)?,
        };
        Ok(Cpu { class, cores })
    }

    fn assumed_class(&mut self, part: &Part<'_>, row: &str) -> Read<Chosen<String>> {
        self.assumed_choice(
            part,
            "cpu",
            row,
            |word| Some(word.to_owned()),
            String::clone,
        )
    }

    /// The cores of a class; over several classes from the fewest to the most. Listed only where
    /// the class itself is not: the class is what a person looks up first.
    fn assumed_cores(
        &mut self,
        part: &Part<'_>,
        class: &Chosen<String>,
        listed: bool,
    ) -> Read<Value<f64>> {
        let row = |class: &str| format!("cpu.{class}.cores");
        let spread: Spread<f64> =
            widest(self.catalogue, &class.value, row).map_err(|fault| self.no_row(part, &fault))?;
        let likeliest = row(class.value.likeliest());
        let source = self
            .catalogue
            .number(&likeliest)
            .map_or_else(|_| String::new(), |n| n.source.clone());
        let id = format!("{}/cores", part.id("cpu"));
        if listed && !class.is_assumed() {
            let because = self.reason(&likeliest);
            let find_out = part.field("cpu")?.find_out;
            self.assume(
                part,
                id.clone(),
                format!("{spread} cores"),
                because,
                find_out,
            );
        }
        Ok(Known::assumed(id, spread, source))
    }

    fn stated_cores(
        &mut self,
        part: &Part<'_>,
        node: &Node,
        at: usize,
        number: &str,
    ) -> Read<Value<f64>> {
        let id = format!("{}/cores", part.id("cpu"));
        let title = || format!("{} has no number of cores", part.id("cpu"));
        let spread = Spread::<f64>::parse(number, Bounds::POSITIVE).map_err(|fault| {
            let mut fault = fault.shifted(at);
            fault.instead = None;
            self.unit(node, title(), fault)
        })?;
        let (low, _, high) = spread.law().knots();
        if low < 1.0 || high > MOST_CORES {
            let fault = UnitFault {
                span: at..at + number.len(),
                found: format!("'{}' cores cannot be", number.trim()),
                help: format!("write 1 to {MOST_CORES} cores, for example \"small, 4 cores\""),
                instead: None,
            };
            return Err(self.unit(node, title(), fault));
        }
        Ok(Known::stated(id, spread))
    }
}

fn yes_or_no(value: bool) -> String {
    if value { "yes" } else { "no" }.to_owned()
}

/// The number in `4 cores`, in place.
fn number_of_cores(text: &str) -> Option<&str> {
    let text = text.trim_end();
    text.strip_suffix("cores")
        .or_else(|| text.strip_suffix("core"))
}
