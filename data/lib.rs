//! The catalogue of constants with their sources, and the example sites, embedded as text.

/// Numbers: 5th, 50th and 95th percentile, unit and source of every constant.
pub const NUMBERS: &[(&str, &str)] = &[
    ("data/network.csv", include_str!("network.csv")),
    ("data/hosts.csv", include_str!("hosts.csv")),
    ("data/drives.csv", include_str!("drives.csv")),
    ("data/copies.csv", include_str!("copies.csv")),
    ("data/models.csv", include_str!("models.csv")),
    ("data/air.csv", include_str!("air.csv")),
    ("data/copper.csv", include_str!("copper.csv")),
    ("data/phys.csv", include_str!("phys.csv")),
    ("data/fibre.csv", include_str!("fibre.csv")),
    ("data/powering.csv", include_str!("powering.csv")),
    ("data/arrays.csv", include_str!("arrays.csv")),
    ("data/durability.csv", include_str!("durability.csv")),
    ("data/layouts.csv", include_str!("layouts.csv")),
    ("data/patching.csv", include_str!("patching.csv")),
    ("data/codec-rates.csv", include_str!("codec-rates.csv")),
    ("data/tasks.csv", include_str!("tasks.csv")),
    ("data/room.csv", include_str!("room.csv")),
    ("data/explaining.csv", include_str!("explaining.csv")),
    ("data/power.csv", include_str!("power.csv")),
    ("data/keeping.csv", include_str!("keeping.csv")),
];

/// Codecs: names, the rule that gives their rate, and where it comes from.
pub const CODECS: (&str, &str) = ("data/codecs.csv", include_str!("codecs.csv"));

/// Choices: the words of an unknown with their weights.
pub const CHOICES: (&str, &str) = ("data/choices.csv", include_str!("choices.csv"));

/// Words: closed lists that a site file may use, with what they mean.
pub const WORDS: (&str, &str) = ("data/words.csv", include_str!("words.csv"));

/// What people say for the words of those lists.
pub const SYNONYMS: (&str, &str) = ("data/synonyms.csv", include_str!("synonyms.csv"));

/// Which rates a port knows, by the rate it is sold as.
pub const PORTS: (&str, &str) = ("data/ports.csv", include_str!("ports.csv"));

/// What may be at fault when a number is not what it should be.
pub const CAUSES: (&str, &str) = ("data/causes.csv", include_str!("causes.csv"));

/// Why some causes have a law of their own and are no edit.
pub const LAWS: (&str, &str) = ("data/laws.csv", include_str!("laws.csv"));

/// What people read for a family of causes.
pub const FAMILIES: (&str, &str) = ("data/families.csv", include_str!("families.csv"));

/// How often a remark is made under each cause.
pub const EVIDENCE: (&str, &str) = ("data/evidence.csv", include_str!("evidence.csv"));

/// Tests that would tell causes apart.
pub const TESTS: (&str, &str) = ("data/tests.csv", include_str!("tests.csv"));

/// What a number with a unit may mean.
pub const UNITS: (&str, &str) = ("data/units.csv", include_str!("units.csv"));

/// What people notice beside their numbers, and how they say it.
pub const REMARKS: (&str, &str) = ("data/remarks.csv", include_str!("remarks.csv"));

/// What words are about, in what people say.
pub const CONCEPTS: (&str, &str) = (
    "data/speech/concepts.csv",
    include_str!("speech/concepts.csv"),
);

/// What sentences about drives in trouble are made of.
pub const DANGER: (&str, &str) = ("data/speech/danger.csv", include_str!("speech/danger.csv"));

/// Which of it together are trouble.
pub const TROUBLE: (&str, &str) = (
    "data/speech/trouble.csv",
    include_str!("speech/trouble.csv"),
);

/// What a sentence has to speak of before weights may take it for a remark.
pub const NEEDS: (&str, &str) = ("data/speech/needs.csv", include_str!("speech/needs.csv"));

/// Weights that say what a sentence means.
pub const WEIGHTS: (&str, &str) = (
    "data/speech/weights.txt",
    include_str!("speech/weights.txt"),
);

/// The example sites by name.
pub const SITES: &[(&str, &str)] = &[
    ("granary-lane", include_str!("sites/granary-lane.toml")),
    (
        "granary-lane-whole",
        include_str!("sites/granary-lane-whole.toml"),
    ),
    ("one-desk", include_str!("sites/one-desk.toml")),
    ("flash-array", include_str!("sites/flash-array.toml")),
    ("laptop-adapter", include_str!("sites/laptop-adapter.toml")),
];

/// Example tasks by the name of the site that they belong to.
pub const TASKS: &[(&str, &str)] = &[
    ("granary-lane", include_str!("tasks/granary-lane.toml")),
    ("pictures", include_str!("tasks/pictures.toml")),
];

/// The example lists of jobs by name.
pub const JOBS: &[(&str, &str)] = &[("granary-lane", include_str!("jobs/granary-lane.csv"))];

/// Everything that comes along to try things with: name, the file it is kept in, what it is, and its text.
pub const EXAMPLES: &[(&str, &str, &str, &str)] = &[
    (
        "granary-lane",
        "granary-lane.toml",
        "a site: a NAS, two switches, five desks, cable of which not everything is known",
        include_str!("sites/granary-lane.toml"),
    ),
    (
        "one-desk",
        "one-desk.toml",
        "the smallest site: one desk, one switch, one NAS",
        include_str!("sites/one-desk.toml"),
    ),
    (
        "flash-array",
        "flash-array.toml",
        "a site with an array of flash",
        include_str!("sites/flash-array.toml"),
    ),
    (
        "laptop-adapter",
        "laptop-adapter.toml",
        "a site with a laptop on an adapter",
        include_str!("sites/laptop-adapter.toml"),
    ),
    (
        "tasks",
        "tasks.toml",
        "what everybody does at once, for together --tasks",
        include_str!("tasks/granary-lane.toml"),
    ),
    (
        "pictures",
        "pictures.toml",
        "tasks with pauses and single pictures, for together --tasks",
        include_str!("tasks/pictures.toml"),
    ),
    (
        "jobs",
        "jobs.csv",
        "a day of jobs with hours, for together --day",
        include_str!("jobs/granary-lane.csv"),
    ),
    (
        "jacks",
        "jacks.csv",
        "a list of jacks, for ports --jacks, cable and describe --jacks",
        include_str!("jacks/closet.csv"),
    ),
    (
        "offers",
        "offers.toml",
        "what could be bought, for buy --offers",
        include_str!("offers/granary-lane.toml"),
    ),
    (
        "readings",
        "readings.csv",
        "what was measured and noticed, for explain --readings",
        include_str!("readings/granary-lane.csv"),
    ),
];
