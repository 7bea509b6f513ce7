//! Fibre and passive twinax: reach and loss budget by optic and grade. Neither hears neighbours.
//!
//! Never look into a fibre end or a port.

use super::Decibels;
use super::rows::likely;
use narrows_units::catalogue::{Catalogue, CatalogueFault};
use narrows_units::quantity::{Length, LinkRate, metres, units};

/// What a fibre is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FibreGrade {
    /// 62.5 um, 200 MHz km.
    Om1,
    /// 50 um, 500 MHz km.
    Om2,
    /// 50 um, 2000 MHz km.
    Om3,
    /// 50 um, 4700 MHz km; OM5 counts as this for optics of one wavelength.
    Om4,
    /// Single mode, tight buffered.
    Os1,
    /// Single mode.
    Os2,
}

macro_rules! optics {
    ($($(#[$doc:meta])* $variant:ident = $name:literal),+ $(,)?) => {
        /// An optic at both ends.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Optic { $($(#[$doc])* $variant),+ }

        impl Optic {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// As its standard names it, in small letters.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $name),+ }
            }
        }
    };
}
optics!(
    /// 1 Gb/s, short wavelength.
    OneSx = "1000base-sx",
    /// 1 Gb/s, long wavelength.
    OneLx = "1000base-lx",
    /// 10 Gb/s, short wavelength.
    TenSr = "10gbase-sr",
    /// 10 Gb/s over old multimode.
    TenLrm = "10gbase-lrm",
    /// 10 Gb/s, single mode.
    TenLr = "10gbase-lr",
    /// 10 Gb/s, single mode, far.
    TenEr = "10gbase-er",
    /// 25 Gb/s, short wavelength.
    TwentyFiveSr = "25gbase-sr",
    /// 25 Gb/s, single mode.
    TwentyFiveLr = "25gbase-lr",
    /// 40 Gb/s over four fibre pairs.
    FortySr4 = "40gbase-sr4",
    /// 40 Gb/s, four wavelengths.
    FortyLr4 = "40gbase-lr4",
    /// 100 Gb/s over four fibre pairs.
    HundredSr4 = "100gbase-sr4",
    /// 100 Gb/s, single mode, 500 m.
    HundredDr = "100gbase-dr",
    /// 100 Gb/s, single mode, 2 km.
    HundredFr1 = "100gbase-fr1",
    /// 100 Gb/s, four wavelengths.
    HundredLr4 = "100gbase-lr4",
);

impl FibreGrade {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Om1,
        Self::Om2,
        Self::Om3,
        Self::Om4,
        Self::Os1,
        Self::Os2,
    ];

    /// As written in a site file.
    pub fn word(self) -> &'static str {
        match self {
            Self::Om1 => "om1",
            Self::Om2 => "om2",
            Self::Om3 => "om3",
            Self::Om4 => "om4",
            Self::Os1 => "os1",
            Self::Os2 => "os2",
        }
    }
}

impl FibreGrade {
    /// From the word of a site file; OM5 counts as OM4 for optics of one wavelength.
    pub fn from_word(word: &str) -> Option<Self> {
        if word == "om5" {
            return Some(Self::Om4);
        }
        Self::ALL.into_iter().find(|grade| grade.word() == word)
    }

    /// Whether light goes one way through it only: single mode.
    pub fn single_mode(self) -> bool {
        matches!(self, Self::Os1 | Self::Os2)
    }

    /// Whether cords of the other grade may be mated to it at all.
    pub fn mates(self, cords: Self) -> bool {
        self.single_mode() == cords.single_mode()
    }
}

/// Mated pairs of a run between two patch panels.
pub const USUAL_MATED_PAIRS: u32 = 2;

/// Whether a passive twinax link corrects errors with the stronger code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TwinaxCoding {
    /// Without it, or not known.
    Plain,
    /// With it.
    Strong,
}

/// Whether a fibre carries an optic.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FibreVerdict {
    /// The rate.
    pub rate: LinkRate,
    /// Longest fibre of that grade; good loss does not lift it.
    pub reach: Length,
    /// Whether the length is within it.
    pub within_reach: bool,
    /// Loss of fibre, mated pairs and splices at their limits.
    pub loss: Decibels,
    /// What is left of the optic's budget.
    pub left: Decibels,
    /// Whether a mode-conditioning cord is needed at each end.
    pub mode_conditioning: bool,
}

impl FibreVerdict {
    /// The same run with more loss.
    #[must_use]
    pub fn less(self, loss: Decibels) -> Self {
        Self {
            loss: self.loss + loss,
            left: self.left - loss,
            ..self
        }
    }

    /// Within reach and within budget.
    pub fn carries(&self) -> bool {
        self.within_reach && self.left >= Decibels(0.0)
    }
}

struct Row {
    optic: Optic,
    grade: FibreGrade,
    rate: LinkRate,
    reach: f64,
    loss: f64,
}

/// Reach and loss of optics and of twinax.
pub struct Fibre {
    rows: Vec<Row>,
    attenuation: Vec<(FibreGrade, f64)>,
    connection: f64,
    splice: f64,
    core_step: f64,
    twinax: Vec<(LinkRate, f64, f64)>,
}

impl Fibre {
    /// Takes the rows of `fibre.csv` out of a catalogue.
    ///
    /// # Errors
    /// Where a row is missing.
    pub fn new(catalogue: &Catalogue) -> Result<Self, CatalogueFault> {
        let row = |id: &str| likely(catalogue, &format!("fibre.{id}"));
        let mut rows = Vec::new();
        for optic in Optic::ALL {
            let rate = LinkRate::from_megabits(row(&format!("{}.rate", optic.word()))? as u64);
            for grade in FibreGrade::ALL {
                let id = format!("{}.{}", optic.word(), grade.word());
                if let Ok(reach) = row(&format!("{id}.reach")) {
                    rows.push(Row {
                        optic: *optic,
                        grade,
                        rate,
                        reach,
                        loss: row(&format!("{id}.loss"))?,
                    });
                }
            }
        }
        let attenuation = FibreGrade::ALL
            .iter()
            .map(|g| Ok((*g, row(&format!("{}.attenuation", g.word()))?)))
            .collect::<Result<_, CatalogueFault>>()?;
        let mut twinax = Vec::new();
        for rate in [10_000, 25_000, 40_000, 100_000] {
            let strong = likely(catalogue, &format!("twinax.{rate}.reach"))?;
            let plain = likely(catalogue, &format!("twinax.{rate}.reach.plain")).unwrap_or(strong);
            twinax.push((LinkRate::from_megabits(rate), plain, strong));
        }
        Ok(Self {
            rows,
            attenuation,
            connection: row("connection")?,
            splice: row("splice")?,
            core_step: row("core-step")?,
            twinax,
        })
    }

    /// Whether an optic gets through a fibre; none where its standard does not use that grade.
    ///
    /// Loss `a L + 0.75 dB a mated pair + 0.3 dB a splice`, at most, against the channel loss of
    /// the optic. OS1 has the reach of OS2 with its own loss. What cords of another grade take is
    /// [`Fibre::core_step`]. Checked by `validate_fibre_reach`.
    pub fn carries(
        &self,
        optic: Optic,
        grade: FibreGrade,
        length: Length,
        mated_pairs: u32,
        splices: u32,
    ) -> Option<FibreVerdict> {
        let specified = match grade {
            FibreGrade::Os1 => FibreGrade::Os2,
            other => other,
        };
        let row = self
            .rows
            .iter()
            .find(|r| r.optic == optic && r.grade == specified)?;
        let (_, per_kilometre) = self.attenuation.iter().find(|(g, _)| *g == grade)?;
        let kilometres = length.get::<units::length::meter>() * 1e-3;
        let loss = Decibels(
            per_kilometre * kilometres
                + f64::from(mated_pairs) * self.connection
                + f64::from(splices) * self.splice,
        );
        let long_wave = matches!(optic, Optic::OneLx | Optic::TenLrm);
        Some(FibreVerdict {
            rate: row.rate,
            reach: metres(row.reach),
            within_reach: length <= metres(row.reach),
            loss,
            left: Decibels(row.loss) - loss,
            mode_conditioning: long_wave && grade <= FibreGrade::Om2,
        })
    }

    /// What cords of another grade than the cable take from either direction:
    /// `20 log10(62.5/50) + 20 log10(0.275/0.20)` dB where one is OM1, else nothing.
    ///
    /// Light that fills a core of 62.5 um and its numerical aperture is cut where it enters 50 um;
    /// the other way round nothing is lost. Between cords at both ends each direction meets one
    /// such step, whichever of the two is the cable. For filled cores; lasers that do not fill
    /// theirs lose less. Checked by `validate_core_step`.
    pub fn core_step(&self, cable: FibreGrade, cords: Option<FibreGrade>) -> Decibels {
        let wide = |grade| grade == FibreGrade::Om1;
        let step = cords.is_some_and(|cords| cable.mates(cords) && wide(cable) != wide(cords));
        Decibels(if step { self.core_step } else { 0.0 })
    }

    /// How far a passive twinax cable carries a rate; none where there is no such cable.
    pub fn twinax_reach(&self, rate: LinkRate, coding: TwinaxCoding) -> Option<Length> {
        let (_, plain, strong) = self.twinax.iter().find(|(r, ..)| *r == rate)?;
        Some(metres(match coding {
            TwinaxCoding::Plain => *plain,
            TwinaxCoding::Strong => *strong,
        }))
    }
}
