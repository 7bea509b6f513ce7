//! The rows of the table of [`super::schema`].

use super::schema::{Field, Form, Kept, Need, Section};
use crate::quantity::Kind;

const fn quantity(kind: Kind) -> Form {
    Form::Quantity { kind, zero: false }
}

const fn quantity_or_zero(kind: Kind) -> Form {
    Form::Quantity { kind, zero: true }
}

const PORTS: Form = Form::Named(Section::Port);

/// A row; `needs` is empty where the field has to be there.
const fn row(
    section: Section,
    key: &'static str,
    form: Form,
    stands_in: &'static str,
    example: &'static str,
    doc: &'static str,
    find_out: &'static str,
) -> Field {
    Field {
        section,
        key,
        form,
        need: if stands_in.is_empty() {
            Need::Required
        } else {
            Need::Optional(stands_in)
        },
        example,
        doc,
        find_out,
    }
}

const PORT_LIGHT: &str = "look it up in the machine's network settings, or on its data sheet";
const ASK: &str = "ask whoever works there";
const ON_THE_MACHINE: &str = "copy a large file on the machine itself and divide size by time";

/// Every field of a site file.
#[rustfmt::skip] // one field a paragraph reads better than one argument a line
pub(super) static FIELDS: &[Field] = &[
    row(Section::Site, "name", Form::Text, "the file is called 'this site'", "\"Granary Lane\"",
        "What the place is called.", "ask whoever works there"),
    row(Section::Site, "network", Form::One(Section::Network), "the values of its fields", "{ mtu = 1500 }",
        "What holds for the whole network.", "see its fields"),
    row(Section::Site, "array", Form::Named(Section::Array), "", "{ nas = \"store\", layout = \"raid6\", drives = \"6 x 10 TB hdd-7200\" }",
        "Sets of drives that work as one.", "see its fields"),
    row(Section::Site, "nas", Form::Named(Section::Nas), "", "{ port.a = { rate = \"10 Gb/s\" } }",
        "Machines that hold arrays.", "see its fields"),
    row(Section::Site, "switch", Form::Named(Section::Switch), "no switch", "{ port.any = { rate = \"1 Gb/s\", count = 8 } }",
        "Switches, and anything else that passes frames on.", "see its fields"),
    row(Section::Site, "desk", Form::Named(Section::Desk), "", "{ port.a = { rate = \"10 Gb/s\" } }",
        "Workstations.", "see its fields"),
    row(Section::Site, "run", Form::Numbered(Section::Run), "", "{ from = \"nas.store\", to = \"switch.attic.fast\" }",
        "Cables and radio links between two ports.", "follow the cables"),
    row(Section::Site, "task", Form::Numbered(Section::Task), "every desk at once", "{ desk = \"cut-1\", does = \"play\", demand = \"880 Mb/s\" }",
        "What the desks do.", "ask whoever works there"),

    row(Section::Network, "round-trip", quantity(Kind::Time), "the catalogue's network.round-trip", "\"0.2 ms\"",
        "Time for a small packet to the NAS and back.", "ping the NAS from a desk and read the average time"),
    row(Section::Network, "tagged", Form::YesNo, "no", "false",
        "Whether frames carry a VLAN tag.", "look for a VLAN number in the network settings of the NAS and the switch"),
    row(Section::Network, "mtu", Form::Whole { least: 576, most: 9216 }, "1500", "1500",
        "Largest IP packet in bytes, of every port that does not say its own.", "look for MTU or jumbo frames in the network settings"),

    row(Section::Array, "nas", Form::NasName, "", "\"store\"",
        "Name of the NAS that holds it.", "look which machine the drives are in"),
    row(Section::Array, "layout", Form::Layout, "single, where there is one drive", "\"raid6\"",
        "How redundant it is.", "look in the storage settings of the NAS"),
    row(Section::Array, "drives", Form::Drives, "", "\"6 x 10 TB hdd-7200\"",
        "How many drives of what capacity and class; the last two may be left out.", "look in the storage settings of the NAS, or on the labels of the drives"),
    row(Section::Array, "groups", Form::Whole { least: 1, most: 64 }, "1, and 2 for raid50 and raid60", "1",
        "Groups of drives that work side by side: those of a pool, or any that are striped over.", "look in the storage settings of the NAS"),
    row(Section::Array, "spares", Form::Whole { least: 0, most: 64 }, "0", "1",
        "Drives that wait for one to fail; not counted in drives.", "look in the storage settings of the NAS"),
    row(Section::Array, "failed", Form::Whole { least: 0, most: 64 }, "0", "1",
        "Drives that have failed and are not yet replaced.", "look in the storage settings of the NAS for a degraded array"),
    row(Section::Array, "rebuilding", Form::Choice("yes-no"), "no", "\"yes\"",
        "Whether a drive is being put together again.", "look in the storage settings of the NAS"),
    row(Section::Array, "scrubbing", Form::Choice("yes-no"), "no", "\"yes\"",
        "Whether all drives are being read through to find damage: a scrub, a check.", "look in the storage settings of the NAS"),
    row(Section::Array, "fill", quantity_or_zero(Kind::Fraction), "the catalogue's array.fill", "\"40..70 %\"",
        "How full it is.", "look in the storage settings of the NAS"),
    row(Section::Array, "drive-rate", quantity(Kind::DataRate), "the catalogue's rate of the class", "\"210 MB/s +- 10 %\"",
        "Rate of one drive: at the outer edge of a spinning one, reading of flash.", "look up sustained transfer rate on the data sheet of the drive"),
    row(Section::Array, "attached", Form::Word("adapter"), "every drive has a link of its own", "\"usb 10 Gb/s\"",
        "The bus that all drives hang on together.", "look what the enclosure is plugged into"),
    row(Section::Array, "hits", quantity_or_zero(Kind::Fraction), "no reads from memory", "\"60 %\"",
        "Share of what is read that comes from the NAS's memory.", "look at the cache statistics of the NAS"),
    row(Section::Array, "working-set", quantity(Kind::Information), "reads go to the drives", "\"20 GB\"",
        "Material that is read over and over.", "add up the clips of the timeline at work"),
    row(Section::Array, "local-read", quantity(Kind::DataRate), "the models of drives and layout", "\"430 MB/s\"",
        "Reading, measured on the NAS itself.", ON_THE_MACHINE),
    row(Section::Array, "local-write", quantity(Kind::DataRate), "the models of drives and layout", "\"380 MB/s\"",
        "Writing, measured on the NAS itself.", ON_THE_MACHINE),

    row(Section::Nas, "cpu", Form::Cpu, "the catalogue's choice cpu", "\"small, 4 cores\"",
        "Class of its processor, and how many cores it has.", "look in the system settings of the NAS"),
    row(Section::Nas, "memory", quantity(Kind::Information), "the catalogue's nas.memory", "\"8 GB\"",
        "Memory.", "look in the system settings of the NAS"),
    row(Section::Nas, "service", Form::Choice("service"), "the catalogue's choice service", "\"smb\"",
        "The file service that the desks use.", "look at the address that the desks mount: it begins with the service"),
    row(Section::Nas, "signed", Form::Choice("signed"), "the catalogue's choice for the service", "\"plain\"",
        "Whether packets carry a signature.", "look in the file service settings of the NAS for signing"),
    row(Section::Nas, "encrypted", Form::Choice("yes-no"), "the catalogue's choice for the service", "\"no\"",
        "Whether data are encrypted on the way.", "look in the file service settings of the NAS for encryption"),
    row(Section::Nas, "sync", Form::Choice("yes-no"), "no", "\"no\"",
        "Whether every write waits until it is safe on the drives; where it does not, a power cut loses the last seconds.", "look in the share's and the file service's settings of the NAS for synchronous writes"),
    row(Section::Nas, "port", PORTS, "", "{ a = { rate = \"10 Gb/s\" } }",
        "Its ports by name.", "look at the back of the machine"),

    row(Section::Switch, "pause", Form::Choice("yes-no"), "no", "\"no\"",
        "Whether it obeys and sends pause frames.", "look in the settings of the switch for flow control"),
    row(Section::Switch, "port", PORTS, "", "{ any = { rate = \"1 Gb/s\", count = 8 } }",
        "Its ports by name; equal ones in one group.", "look at the front of the switch"),

    row(Section::Desk, "disk", Form::Disk, "the catalogue's choice disk", "\"1 TB nvme-gen3\"",
        "Its own disk: what it holds, which may be left out, and its class.", "look in the system information of the desk"),
    row(Section::Desk, "disk-fill", quantity_or_zero(Kind::Fraction), "the catalogue's desk.disk-fill", "\"50 %\"",
        "How full its disk is.", "look at the free space of the disk"),
    row(Section::Desk, "cpu", Form::Cpu, "the catalogue's choice cpu.desk", "\"large\"",
        "Class of its processor, and how many cores it has.", "look in the system information of the desk"),
    row(Section::Desk, "overlap", Form::Choice("yes-no"), "the catalogue's choice overlap", "\"yes\"",
        "Whether its copy tool reads and writes at the same time.", "watch both lights, or both graphs, during a long copy"),
    row(Section::Desk, "port", PORTS, "", "{ a = { rate = \"10 Gb/s\" } }",
        "Its ports by name.", "look at the back of the machine"),

    row(Section::Port, "rate", Form::LinkRate, "", "\"10 Gb/s\"",
        "The rate it is sold as.", PORT_LIGHT),
    row(Section::Port, "rates", Form::LinkRates, "what the catalogue says a port of that rate knows", "\"1 Gb/s, 2.5 Gb/s\"",
        "All rates that it can fall back to.", "look up speeds on the data sheet of the port"),
    row(Section::Port, "socket", Form::Word("socket"), "copper, where such a port exists", "\"cage\"",
        "What plugs in: a twisted pair or a module.", "look at it: a cage is a metal slot without pins"),
    row(Section::Port, "count", Form::Whole { least: 1, most: 1024 }, "1", "8",
        "How many equal ports this is.", "count them"),
    row(Section::Port, "slot", Form::Slot, "as fast as the port", "\"pcie 3 x4\"",
        "The slot that its card sits in.", "look up the slot in the manual of the main board"),
    row(Section::Port, "adapter", Form::Word("adapter"), "none", "\"usb 5 Gb/s\"",
        "The bus that its adapter hangs on.", "look what the adapter is plugged into"),
    row(Section::Port, "mtu", Form::Whole { least: 576, most: 9216 }, "network.mtu", "9000",
        "Largest IP packet in bytes.", "look for MTU or jumbo frames in the network settings"),
    row(Section::Port, "members", Form::Whole { least: 1, most: 8 }, "1", "2",
        "How many links are joined into this port; its rate is that of one of them.", "look for link aggregation or bonding in the network settings"),

    row(Section::Run, "from", Form::End, "", "\"nas.store\"",
        "One end.", "follow the cable"),
    row(Section::Run, "to", Form::End, "", "\"switch.attic.fast\"",
        "The other end.", "follow the cable"),
    row(Section::Run, "cable", Form::Choice("cable"), "the catalogue's choice cable; twinax between two cages", "\"cat6a\"",
        "What kind of cable it is.", "read the print on the sheath of the cable"),
    row(Section::Run, "length", quantity_or_zero(Kind::Length), "the catalogue's cable.length", "\"20..35 m\"",
        "How long it is.", "subtract the metre marks on the sheath at both ends"),
    row(Section::Run, "bundle", Form::Choice("bundle"), "the catalogue's choice bundle", "\"loose\"",
        "How it lies among its neighbours.", "look how it is laid: tied, loose, apart or alone"),
    row(Section::Run, "grade", Form::Word("grade"), "any, of a fibre", "\"om3\"",
        "Which fibre it is.", "read the print on the sheath of the fibre: OM1 to OM5, OS1, OS2"),
    row(Section::Run, "cord-grade", Form::Word("grade"), "the grade of the fibre", "\"om3\"",
        "Which fibre the cords at its ends are.", "read the print on the cords"),
    row(Section::Run, "negotiated", Form::LinkRate, "worked out from ports and cable", "\"1 Gb/s\"",
        "The rate that both ends agreed on.", "look at the speed shown in the network settings of either end"),
    row(Section::Run, "duplex", Form::Word("duplex"), "full", "\"half\"",
        "Whether both ends send at the same time; anything but full runs at 100 Mb/s or less.", "look at the duplex mode shown in the network settings of both ends"),
    row(Section::Run, "lost", quantity_or_zero(Kind::Fraction), "no frames are lost", "\"0.1 %\"",
        "Share of its frames that are lost, at most half.", "divide errors and drops by packets in the counters of the ports at both ends"),
    row(Section::Run, "wireless", Form::Wireless, "a cable", "\"measured 300 Mb/s\"",
        "A radio link in place of a cable: what it was measured to carry, or the rate on its box.", "measure it with a memory to memory test at the desk"),

    row(Section::Task, "desk", Form::DeskName, "", "\"cut-1\"",
        "The desk that does it.", ASK),
    row(Section::Task, "does", Form::Word("does"), "", "\"play\"",
        "What it does.", ASK),
    row(Section::Task, "array", Form::ArrayName, "the only array", "\"vault\"",
        "The array it does that with.", ASK),
    row(Section::Task, "direction", Form::Word("direction"), "write for ingest, read for everything else", "\"write\"",
        "Which way a copy, backup or upload goes.", ASK),
    row(Section::Task, "demand", quantity(Kind::DataRate), "the codec says", "\"880 Mb/s\"",
        "What one layer or angle has to get in time.", "look up the data rate in the properties of a clip"),
    row(Section::Task, "codec", Form::Kept(Kept::Codec), "demand says", "\"ProRes 422 HQ\"",
        "The codec of what is played or read.", "look in the properties of a clip"),
    row(Section::Task, "raster", Form::Kept(Kept::Raster), "none without a codec", "\"UHD\"",
        "Its raster.", "look in the properties of a clip"),
    row(Section::Task, "frames", Form::Kept(Kept::Frames), "none without a codec", "\"25 fps\"",
        "Its frame rate.", "look in the properties of a clip"),
    row(Section::Task, "layers", Form::Whole { least: 1, most: 64 }, "1", "2",
        "Layers that play at once.", "look at the busiest place of the timeline"),
    row(Section::Task, "angles", Form::Whole { least: 1, most: 64 }, "none but of multicam", "4",
        "Angles of a multicam that play at once.", "count the cameras"),
    row(Section::Task, "held-to", quantity(Kind::DataRate), "it takes what is left", "\"60 MB/s\"",
        "The most that it takes, where it is held to something.", "look for a limit in the settings of the copying program"),
    row(Section::Task, "into", Form::Kept(Kept::Codec), "nothing is written", "\"ProRes 422 LT\"",
        "The codec that an export writes, at the same raster and frame rate.", "look in the settings of the export"),
    row(Section::Task, "speed", Form::Kept(Kept::Speed), "as fast as the path allows", "\"0.3..4 x\"",
        "How fast an export goes over real time, if the path let it.", "divide the length of a film by the time its export took from a local disk"),
    row(Section::Task, "card", Form::Word("card"), "the card is no limit", "\"sd-uhs-ii\"",
        "The card that is brought in.", "read the print on the card"),
    row(Section::Task, "weight", Form::Whole { least: 1, most: 100 }, "1", "1",
        "Its share of a full place against the others.", "look whether the network gives some traffic precedence"),
    row(Section::Task, "active", quantity(Kind::Fraction), "not known", "\"40 %\"",
        "Share of the working time in which it goes on.", "log a week of the counters of the desk's port"),
    row(Section::Task, "spell", quantity(Kind::Time), "not known", "\"20 s\"",
        "How long it goes on in one go, in the mean.", "watch for a while"),
    row(Section::Task, "per-day", quantity(Kind::Information), "not known", "\"300 GB\"",
        "Data a day that somebody waits for.", "add up what is copied on a usual day"),
];
