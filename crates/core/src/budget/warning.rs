use serde::Serialize;

/// What a warning is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum WarningKind {
    /// Ports on one way use different MTUs.
    MixedMtu,
    /// Two ports share no rate.
    NoCommonRate,
    /// A run may not carry the rate that both ends know.
    CableMayFallBack,
    /// A run that may give no link at any rate that its ports know.
    MayNotComeUp,
    /// A fibre or twinax run that is longer than its optics or its make reach, or loses too much.
    BeyondReach,
    /// A slot or adapter carries less than its port.
    NarrowSlot,
    /// A slow port lies between faster ones.
    SlowPortInTheWay,
    /// A run is longer than any standard promises.
    LongRun,
    /// Drives of an array have failed.
    Degraded,
    /// An array that one drive can take.
    NoRedundancy,
    /// Parity of a file system that a power cut may spoil.
    WriteHole,
    /// An array with little room left.
    NearlyFull,
    /// Shingled drives in a parity array.
    ShingledParity,
    /// A slow port that can hold a faster one back with pause frames.
    PausedBySlow,
    /// A switch that passes from a fast port to a far slower one, and may lose frames there.
    FastToSlow,
    /// A run whose ends agree on a rate that it rarely carries.
    ComesAndGoes,
}

/// Something that a person should look at, and what to do next.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Warning {
    /// What it is about.
    pub kind: WarningKind,
    /// Site path.
    pub place: String,
    /// What was seen.
    pub message: String,
    /// What to do.
    pub next: String,
}

impl Warning {
    pub(super) fn new(kind: WarningKind, place: String, message: String, next: &str) -> Self {
        Self {
            kind,
            place,
            message,
            next: next.to_owned(),
        }
    }
}
