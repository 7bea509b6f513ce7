//! A twisted-pair run as a person can describe it.

use super::temperature::Celsius;
use narrows_units::quantity::{Length, LinkRate, metres, units};

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$of:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum $name { $($(#[$of])* $variant),+ }

        impl $name {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// As written in a site file.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }

            /// From the word of a site file.
            pub fn from_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|x| x.word() == word)
            }
        }
    };
}

words!(
    /// Category of a cable, the better the later.
    Category {
        /// Telephone wire in the wall: two pairs in use, not made for data.
        Telephone = "telephone",
        /// Two sockets on one cable, or wiring of old with two pairs: category 5 that joins two through.
        TwoPair = "two-pair",
        /// Sold until about 2001: a 5e run with a penalty that is judged.
        Cat5 = "cat5",
        /// Class D channels, specified to 100 MHz.
        Cat5e = "cat5e",
        /// Class E channels, specified to 250 MHz.
        Cat6 = "cat6",
        /// Class EA channels, 500 MHz, with a limit on alien crosstalk.
        Cat6a = "cat6a",
        /// Class F channels: every pair screened. Not a cord with that word printed on it.
        Cat7 = "cat7",
        /// 30 m channels to 2000 MHz.
        Cat8 = "cat8",
    }
);

words!(
    /// How a run lies among its neighbours, the better the later.
    Bundle {
        /// Tied tightly with others all the way.
        Tight = "tight",
        /// Lying with others untied.
        Loose = "loose",
        /// Mostly apart from others.
        Apart = "apart",
        /// No other run beside it.
        Alone = "alone",
    }
);

words!(
    /// Whether there is a screen that works.
    Screen {
        /// No screen.
        Plain = "plain",
        /// A screen, continuous and bonded at the panels.
        Bonded = "bonded",
        /// A screen that nobody has checked: counted as none, and lying loose at best.
        Unchecked = "unchecked",
    }
);

words!(
    /// Conductor thickness, American wire gauge.
    Gauge {
        /// 22 AWG, 0.64 mm.
        Awg22 = "22",
        /// 23 AWG, 0.57 mm.
        Awg23 = "23",
        /// 24 AWG, 0.51 mm.
        Awg24 = "24",
        /// 26 AWG, 0.40 mm.
        Awg26 = "26",
        /// 28 AWG, 0.32 mm.
        Awg28 = "28",
    }
);

words!(
    /// What the conductors are made of.
    Conductor {
        /// Copper.
        Copper = "copper",
        /// Copper over aluminium: a fault in building wiring, not a kind of cable.
        CladAluminium = "clad-aluminium",
    }
);

words!(
    /// How the length is known.
    LengthBasis {
        /// Measured, or printed by a tester.
        Measured = "measured",
        /// From a label or from the marks on the sheath.
        Labelled = "labelled",
        /// Paced out or guessed.
        Guessed = "guessed",
    }
);

words!(
    /// How many pairs are joined through.
    Pairs {
        /// Two: old wiring, 100 Mb/s at most.
        Two = "two",
        /// All four.
        Four = "four",
    }
);

impl Category {
    /// How many pairs such a run joins through, where nobody looked.
    pub fn pairs(self) -> Pairs {
        if self < Self::Cat5 {
            Pairs::Two
        } else {
            Pairs::Four
        }
    }
}

impl Gauge {
    /// The number.
    pub fn number(self) -> f64 {
        match self {
            Self::Awg22 => 22.0,
            Self::Awg23 => 23.0,
            Self::Awg24 => 24.0,
            Self::Awg26 => 26.0,
            Self::Awg28 => 28.0,
        }
    }
}

/// Runs beside this one that carry a signal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Neighbours {
    /// So many, each at the rate under question.
    SameRate(u32),
    /// So many at each rate.
    Rates(Vec<(LinkRate, u32)>),
}

/// How a run was put in, beside its cable, its length and how it lies.
#[derive(Clone, Debug, PartialEq)]
pub struct Installation {
    /// Which neighbours carry a signal.
    pub neighbours: Neighbours,
    /// Mated connections between the ports' own.
    pub connections: u32,
    /// Temperature of the cable, by day in the warm season.
    pub temperature: Celsius,
}

impl Default for Installation {
    /// Six neighbours at the same rate, four connections, 30 C: the middle of
    /// `copper.neighbours`, `copper.connections` and `copper.temperature`, which a test holds.
    fn default() -> Self {
        Self {
            neighbours: Neighbours::SameRate(6),
            connections: 4,
            temperature: Celsius(30.0),
        }
    }
}

/// A run with all that its physics needs.
#[derive(Clone, Debug, PartialEq)]
pub struct RunPhysics {
    /// Category of the cable in the wall.
    pub category: Category,
    /// Whether it has a screen that works.
    pub screen: Screen,
    /// From port to port, cords included.
    pub length: Length,
    /// How that is known.
    pub length_basis: LengthBasis,
    /// Mated connections between the ports' own.
    pub connections: u32,
    /// Metres of cord in the length; a tenth of it, at most 10 m, where nobody measured.
    pub cords: Option<Length>,
    /// Thickness of the cords' conductors.
    pub cord_gauge: Gauge,
    /// Thickness of the cable's conductors, where it is not the category's usual one.
    pub cable_gauge: Option<Gauge>,
    /// What the conductors are made of.
    pub conductor: Conductor,
    /// How many pairs are joined through.
    pub pairs: Pairs,
    /// How it lies.
    pub bundle: Bundle,
    /// Metres from one end that lie so, where it is not all of them; the rest lies alone.
    pub beside_first: Option<Length>,
    /// Metres at each end that are untied from a tight bundle and lie loosely.
    pub untied_ends: Length,
    /// Which neighbours carry a signal.
    pub neighbours: Neighbours,
    /// Temperature of the cable, by day in the warm season.
    pub temperature: Celsius,
    /// Whether a certification of this run exists.
    pub certified: bool,
    /// The rates both ends know.
    pub rates: Vec<LinkRate>,
    /// Reach of a plug-in module at a rate, where one is used.
    pub module_reach: Vec<(LinkRate, Length)>,
}

/// Ranges within which the formulas hold.
const MOST_METRES: f64 = 500.0;
const MOST_CONNECTIONS: u32 = 8;
/// The coldest that a run may be said to be, in degrees Celsius.
pub const COLDEST: f64 = -20.0;
/// The warmest that a run may be said to be, in degrees Celsius.
pub const HOTTEST: f64 = 80.0;

impl RunPhysics {
    /// A run of which only the category and the length are known: four connections, six
    /// neighbours at the same rate in a loose lay, 30 C, uncertified, length from a label;
    /// screened and bonded from category 7 on.
    pub fn new(category: Category, length: Length) -> Self {
        let installed = Installation::default();
        Self {
            category,
            screen: if category >= Category::Cat7 {
                Screen::Bonded
            } else {
                Screen::Plain
            },
            length,
            length_basis: LengthBasis::Labelled,
            connections: installed.connections,
            cords: None,
            cord_gauge: Gauge::Awg24,
            cable_gauge: None,
            conductor: Conductor::Copper,
            pairs: category.pairs(),
            bundle: Bundle::Loose,
            beside_first: None,
            untied_ends: metres(0.0),
            neighbours: installed.neighbours,
            temperature: installed.temperature,
            certified: false,
            rates: [100, 1000, 2500, 5000, 10000]
                .map(LinkRate::from_megabits)
                .to_vec(),
            module_reach: Vec::new(),
        }
    }

    /// A run of which is known what it is, how it lies and how it was put in; else as [`Self::new`].
    pub fn installed(
        category: Category,
        bundle: Bundle,
        length: Length,
        installed: &Installation,
    ) -> Self {
        Self {
            bundle,
            neighbours: installed.neighbours.clone(),
            connections: installed.connections,
            temperature: installed.temperature,
            ..Self::new(category, length)
        }
    }

    pub(super) fn check(&self) -> Result<(), RunFault> {
        self.faults().into_iter().next().map_or(Ok(()), Err)
    }

    /// Everything about it that the formulas do not cover.
    pub fn faults(&self) -> Vec<RunFault> {
        let mut faults = Vec::new();
        let length = in_metres(self.length);
        let fits = |part: Length| (0.0..=length).contains(&in_metres(part));
        if length > 0.0 && length <= MOST_METRES {
            let parts = self.cords.into_iter().chain(self.beside_first);
            let parts = parts.chain([self.untied_ends]).filter(|p| !fits(*p));
            faults.extend(parts.map(RunFault::Part));
        } else {
            faults.push(RunFault::Length(self.length));
        }
        if self.connections > MOST_CONNECTIONS {
            faults.push(RunFault::Connections(self.connections));
        }
        if self.cord_gauge < Gauge::Awg24 {
            faults.push(RunFault::CordGauge(self.cord_gauge));
        }
        if !(COLDEST..=HOTTEST).contains(&self.temperature.0) {
            faults.push(RunFault::Temperature(self.temperature));
        }
        faults
    }

    /// What a person must be told beside any number.
    pub fn cautions(&self) -> Vec<Caution> {
        let mut cautions = vec![Caution::Estimate, Caution::Walls];
        if self.conductor == Conductor::CladAluminium {
            cautions.push(Caution::CladAluminium);
        }
        if self.screen != Screen::Plain {
            cautions.push(Caution::Screen);
        }
        if self.category <= Category::Cat5 {
            cautions.push(Caution::Cat5);
        }
        if self.pairs == Pairs::Two {
            cautions.push(Caution::TwoPairs);
        }
        cautions
    }
}

pub(super) fn in_metres(length: Length) -> f64 {
    length.get::<units::length::meter>()
}

/// A description that the formulas do not cover.
#[derive(Clone, Debug, PartialEq)]
pub enum RunFault {
    /// Not above zero, or beyond 500 m.
    Length(Length),
    /// A part of the run that is longer than the run, or negative.
    Part(Length),
    /// More than eight.
    Connections(u32),
    /// Cords are made of 24, 26 or 28 AWG.
    CordGauge(Gauge),
    /// Outside -20 C to 80 C.
    Temperature(Celsius),
    /// A category without rows in the catalogue.
    Category(Category),
    /// A rate that no twisted-pair transceiver has.
    Rate(LinkRate),
}

impl std::fmt::Display for RunFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Length(l) => write!(
                f,
                "a run is longer than 0 m and at most 500 m, not {} m",
                in_metres(*l)
            ),
            Self::Part(l) => write!(f, "a part of {} m does not fit the run", in_metres(*l)),
            Self::Connections(n) => write!(f, "{n} connections in a run; at most 8 are covered"),
            Self::CordGauge(g) => write!(f, "cords of {} AWG; 24, 26 or 28 are covered", g.word()),
            Self::Temperature(t) => write!(f, "{t} is outside -20 C to 80 C"),
            Self::Category(c) => write!(f, "nothing is known of {}", c.word()),
            Self::Rate(r) => write!(f, "no twisted-pair transceiver signals at {r}"),
        }
    }
}

impl std::error::Error for RunFault {}

/// One line that stands beside the numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Caution {
    /// What the numbers are.
    Estimate,
    /// Who may open walls.
    Walls,
    /// Conductors that are not copper.
    CladAluminium,
    /// Screens work only when bonded.
    Screen,
    /// How category 5 is treated.
    Cat5,
    /// Wiring with two pairs.
    TwoPairs,
}

impl std::fmt::Display for Caution {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Estimate => {
                "An estimate: only a certification of this run, or error counters under load, proves it."
            }
            Self::Walls => {
                "Walls, risers and anything near mains wiring follow local code and licensed people."
            }
            Self::CladAluminium => {
                "Copper-clad aluminium is a fault: replace it, and never power a device over it (fire)."
            }
            Self::Screen => {
                "A screen helps only when continuous and bonded at both panels; between buildings use fibre."
            }
            Self::Cat5 => {
                "Category 5 is computed as 5e less a penalty that is judged, not measured."
            }
            Self::TwoPairs => {
                "Two pairs carry 100 Mb/s at most; nothing faster is computed for such wiring."
            }
        })
    }
}
