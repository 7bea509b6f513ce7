//! One file a fault, and what is said of it.

use super::{catalogue, line_of};
use crate::site::{FaultSource, read};

/// Line, the bytes marked, title, how the help begins, and the line of the second place or 0.
type Expected = (usize, &'static str, &'static str, &'static str, usize);

macro_rules! broken {
    ($($name:literal: $($fault:expr),+;)+) => {
        &[$((
            $name,
            include_str!(concat!("../../../../../tests/sites/broken/", $name, ".toml")),
            &[$($fault),+],
        )),+]
    };
}

/// Name, text and faults in their order.
#[rustfmt::skip] // one fault a line
const BROKEN: &[(&str, &str, &[Expected])] = broken! {
    "bad-slot":
        (13, "pcie 3 x3", "desk.cut-1.port.a.slot is not a slot", "write pcie, the generation from 1 to 5, and x1, x2, x4, x8 o", 0);
    "bad-unit":
        (18, "mtr", "run.1.length is not a length", "write a length, for example 31 m, 100 ft", 0);
    "bare-number-for-a-rate":
        (7, "10", "nas.store.port.a.rate is not the rate of a link", "write rate = \"10 Gb/s\" or rate = \"10 Mb/s\"", 0);
    "bytes-for-a-link":
        (7, "GB/s", "nas.store.port.a.rate is not the rate of a link", "write '10 Gb/s' if bits were meant, or '80 Gb/s' for the sam", 0);
    "comments-only":
        (1, "", "the file describes nothing", "begin with [array.NAME], [nas.NAME], [desk.NAME] and [[run]]", 0);
    "copies-of-nonsense":
        (19, "\"10 h\"", "copy.shelf.window does not belong to 'carried'", "remove it, or write another kind", 0),
        (20, "8 pm", "copy.shelf.begins is not an hour", "write hours and minutes, for example 20:00", 0),
        (22, "store", "copy.store does not say what its line carries", "add contract = \"40 Mb/s\": the rate upwards of the contract", 0),
        (27, "usb", "copy.other.kind is not one of the words it may be", "write one of snapshots, box-here, box-elsewhere, carried, upl", 0),
        (30, "hourly", "copy.hourly has no 'every'", "add every = \"7 d\": look at the dates of its last runs", 0),
        (32, "\"100 MB/s\"", "copy.hourly.rate does not belong to 'snapshots'", "remove it, or write another kind", 0);
    "copper-or-fibre":
        (18, "\"cat6 50 %, fibre 50 %\"", "run.1.cable mixes copper and 'fibre'", "look at the ends, and write one kind", 0);
    "desk-port-used-twice":
        (24, "\"desk.cut-1\"", "desk.cut-1.a is used by 2 runs", "write count = 2 at the port if there are so many, or another", 20);
    "desk-without-a-run":
        (12, "cut-1", "desk.cut-1 reaches no array", "add [[run]] with from = \"desk.cut-1\" and to = the next machine", 0);
    "desk-without-a-way":
        (12, "cut-1", "desk.cut-1 reaches no array", "add [[run]] with from = \"desk.cut-1\" and to = the next machine", 0),
        (15, "cut-2", "desk.cut-2 reaches no array", "add [[run]] with from = \"desk.cut-2\" and to = the next machine", 0);
    "drive-capacity-unit":
        (4, "m", "array.vault.drives has no capacity that can be read", "write an amount of data, for example 14 TB, 12.7 TiB, 50 kB", 0);
    "drive-of-nothing":
        (4, "0 TB", "array.vault.drives has no capacity that can be read", "write an amount of data, for example 10 TB", 0);
    "empty":
        (1, "", "the file describes nothing", "begin with [array.NAME], [nas.NAME], [desk.NAME] and [[run]]", 0);
    "endless":
        (7, "inf", "nas.store.memory is not an amount of data", "write an amount of data, for example 14 TB, 12.7 TiB, 50 kB", 0);
    "fibre-into-copper":
        (18, "\"fibre\"", "fibre does not fit nas.store.a", "write socket = \"cage\" at the port, or another cable", 7),
        (18, "\"fibre\"", "fibre does not fit switch.attic.fast", "write socket = \"cage\" at the port, or another cable", 10);
    "fibre-cords-of-another-mode":
        (20, "\"os2\"", "the cords of run.1 do not fit its fibre", "write the grade that is printed on the cords, or on the cable", 19);
    "fibre-grade-of-copper":
        (19, "\"om3\"", "run.1.grade is told of no fibre", "write cable = \"fibre\", or remove 'grade'", 0),
        (24, "\"om1\"", "run.2.cord-grade is told of no fibre", "write cable = \"fibre\", or remove 'cord-grade'", 0);
    "fibre-of-no-grade":
        (19, "om6", "run.1.grade is not one of the words it may be", "write one of om1, om2, om3, om4, om5, os1, os2", 0);
    "key-of-another-part":
        (7, "length", "'length' is not a field of a NAS", "the fields of a NAS are cpu, memory, service, signed, encryp", 0);
    "key-twice":
        (19, "length", "'length' is defined twice", "remove one of the two, or give it another name", 18);
    "layout-not-modelled":
        (3, "draid", "array.vault.layout is not modelled yet", "write the nearest of single, raid0, raid1, raid5, raid6, rai", 0);
    "loop-of-switches":
        (39, "\"switch.attic.fast\"", "run.5 closes a loop of switches", "remove one run of the loop: frames would circle in it", 35);
    "many-faults":
        (3, "40", "network.mtu is not a whole number from 576 to 9216", "write a whole number from 576 to 9216, for example mtu = 1500", 0),
        (5, "stoer", "array.vault.nas names no NAS of this site", "write one of store", 0),
        (6, "\"raid6\"", "array.vault cannot be made of 3 drives", "write at least 4 drives, or a layout for 3 drives: raid0, ra", 7),
        (8, "120 %", "array.vault.fill is not a percentage", "write low..high or low..likely..high, for example 40..70 %", 0),
        (10, "smal", "nas.store.cpu is not a class of processor", "write one of router, tiny, small, medium, large", 0),
        (11, "8", "nas.store.memory is not an amount of data", "write the unit, for example memory = \"8 GB\"", 0),
        (13, "signed 60 %, plain 30 %", "the percentages of nas.store.signed are not right", "make them add up to 100 %", 0),
        (14, "GB/s", "nas.store.port.a.rate is not the rate of a link", "write '10 Gb/s' if bits were meant, or '80 Gb/s' for the sam", 0),
        (16, "0", "switch.attic.port.fast.count is not a whole number from 1 to 1024", "write a whole number from 1 to 1024, for example count = 8", 0),
        (18, "rat", "'rat' is not a field of a port", "the fields of a port are rate, rates, socket, count, slot, a", 0),
        (21, "switch.atic.fast", "run.1.to names no machine of this site", "write one of nas.store, switch.attic, desk.cut-1", 0),
        (22, "lenght", "'lenght' is not a field of a run", "the fields of a run are from, to, cable, length, bundle, gra", 0),
        (26, "cat9", "run.2.cable is not one of the words it may be", "write one of cat5, cat5e, cat6, cat6a, cat7, cat8, fibre, twinax", 0);
    "memory-without-unit":
        (7, "8", "nas.store.memory is not an amount of data", "write the unit, for example memory = \"8 GB\"", 0);
    "misspelt-section":
        (12, "dsek", "'dsek' is not a part of the site", "the parts of the site are name, network, array, nas, switch,", 0);
    "mtu-as-text":
        (2, "\"9000\"", "network.mtu is not a bare number", "write mtu = 9000", 0);
    "mtu-too-small":
        (2, "40", "network.mtu is not a whole number from 576 to 9216", "write a whole number from 576 to 9216, for example mtu = 1500", 0);
    "name-with-a-dot":
        (23, "\"cut.2\"", "a name under 'desk' cannot be used", "write letters of any script, digits, '-' and '_'", 0);
    "name-with-a-hidden-letter":
        (7, "\"b\u{202e}2\"", "a name under 'nas.store.port' cannot be used", "write letters of any script, digits, '-' and '_'", 0);
    "name-with-a-space":
        (7, "\"b 2\"", "a name under 'nas.store.port' cannot be used", "write letters of any script, digits, '-' and '_'", 0);
    "name-without-letters":
        (7, "\"\"", "a name under 'nas.store.port' cannot be used", "write letters of any script, digits, '-' and '_'", 0);
    "nas-in-double-brackets":
        (6, "[[nas]]", "'nas' needs a name", "write [nas.NAME] with a name", 0);
    "nas-without-array":
        (9, "old", "nas.old holds no array", "add [array.NAME] with nas = \"old\", or remove it", 0);
    "nas-without-name":
        (7, "memory", "a NAS has no name", "write [nas.NAME], with a name of your own", 0);
    "negative":
        (18, "-3.5", "run.1.length is not a length", "write a length, for example 31 m, 100 ft", 0);
    "negotiated-too-high":
        (22, "\"2.5 Gb/s\"", "run.2 cannot have negotiated 2.5 Gb/s", "write 1 Gb/s or less, or correct the rate of desk.cut-1.a", 13);
    "no-array":
        (1, "", "the site has no array", "add [array.vault] with nas, layout and drives", 0);
    "no-cores":
        (7, " 0 ", "nas.store.cpu has no number of cores", "write 1 to 1024 cores, for example \"small, 4 cores\"", 0);
    "no-desk":
        (1, "", "the site has no desk", "add [desk.cut-1] with a port", 0);
    "no-drives":
        (4, "0", "array.vault.drives has no number of drives", "write a whole number from 1 to 1024, for example \"6 x 10 TB ", 0);
    "no-end":
        (19, "[[run]]", "run.2 has no 'to'", "add to = \"switch.attic.fast\": follow the cable", 0);
    "no-layout":
        (1, "vault", "array.vault has no 'layout'", "add layout = \"raid6\": look in the storage settings of the NAS", 0);
    "no-port-count":
        (10, "0", "switch.attic.port.fast.count is not a whole number from 1 to 1024", "write a whole number from 1 to 1024, for example count = 8", 0);
    "no-ports":
        (12, "cut-1", "desk.cut-1 has no 'port'", "add port = \"10 Gb/s\": look at the back of", 0);
    "no-rate-in-common":
        (21, "\"switch.attic.fast\"", "run.2 joins ports that know no rate in common", "write 'rates' at a port that knows more, or another port", 20);
    "no-rate":
        (13, "a", "desk.cut-1.port.a has no 'rate'", "add rate = \"10 Gb/s\": look it up in the machine's network se", 0);
    "not-a-number":
        (5, "nan", "array.vault.fill is not a percentage", "write a percentage, for example 55 %", 0);
    "percentages":
        (7, "signed 60 %, plain 30 %", "the percentages of nas.store.signed are not right", "make them add up to 100 %", 0);
    "port-is-text":
        (13, "\"quick\"", "desk.cut-1.port.a has no fields", "write { rate = \"quick\" }", 0);
    "port-twice":
        (8, "a", "'a' is defined twice", "remove one of the two, or give it another name", 7);
    "port-used-up":
        (21, "\"switch.attic.fast\"", "switch.attic.fast is used by 2 runs", "write count = 2 at the port if there are so many, or another", 17);
    "project-of-nonsense":
        (20, "\"400 Mb/s\"", "the project has a rate and a codec", "remove 'rate' or 'codec'", 17),
        (21, "many", "project.shooting-days is not a number", "write a number or a range, for example \"6\" or \"2..8\"", 0);
    "supply-of-nonsense":
        (18, "1500 W", "supply.closet.apparent is not an apparent power", "write what the box gives in VA, for example 1500 VA", 0),
        (19, "two blocks", "supply.closet.battery is not a battery", "write the blocks, for example 2 x 9 Ah, 2 x 9 Ah high-rate 34", 0),
        (20, "22", "supply.closet.temperature is not a temperature", "write degrees Celsius, for example 22 C or 20..28 C", 0),
        (21, "nas.stor", "supply.closet.feeds names no machine of this site", "write one of nas.store, desk.cut-1", 0);
    "supply-table-upside-down":
        (18, "100 W 8 min, 450 W 54 min", "supply.closet.minutes is not a table of minutes", "write loads and minutes, for example 100 W 54 min, 450 W 8 mi", 0),
        (19, "nas.store", "supply.closet.feeds names a machine twice", "leave one of the two", 0);
    "supply-without-minutes":
        (16, "closet", "supply.closet does not say how long it lasts", "add battery = \"2 x 9 Ah\" from the print on the blocks, or mi", 0);
    "put-in-as-no-cable-is":
        (4, "10 PB", "array.vault.drives has no capacity that can be read", "write a size from 1 GB to 1000 TB, for example 12 TB", 0),
        (19, "many at 10 Gb/s", "run.1.neighbours is not a number of neighbours", "write none, how many, or how many at which rate, for example", 0),
        (20, "12", "run.1.connections is not a whole number from 0 to 8", "", 0),
        (21, "900 C", "run.1.temperature is not a temperature", "write degrees Celsius from -20 to 80, for example 40 C", 0),
        (27, "6", "run.2.neighbours is said of no twisted pair", "remove 'neighbours': only a twisted pair minds it", 0);
    "raid6-of-three":
        (3, "\"raid6\"", "array.vault cannot be made of 3 drives", "write at least 4 drives, or a layout for 3 drives: raid0, ra", 4);
    "range-beyond":
        (5, "40..120 %", "array.vault.fill is not a percentage", "write low..high or low..likely..high, for example 40..70 %", 0);
    "rate-cannot-be-unknown":
        (13, "\"unknown\"", "desk.cut-1.port.a has no 'rate'", "add rate = \"10 Gb/s\": look it up in the machine's network se", 0);
    "rates-unit":
        (13, "m", "desk.cut-1.port.a.rates are not rates of a link", "write '10 M'", 0);
    "rates-without-rate":
        (13, "\"1 Gb/s, 2.5 Gb/s\"", "desk.cut-1.port.a.rates and its rate disagree", "write the port's own rate, 10 Gb/s, as the highest of its rates", 13);
    "run-in-single-brackets":
        (15, "[run]", "a run has a header of its own kind", "write [[run]]", 0);
    "run-to-an-array":
        (16, "array.vault", "run.1.from names no machine of this site", "write one of nas.store, switch.attic, desk.cut-1", 0);
    "run-to-itself":
        (25, "\"switch.attic.fast\"", "run.3 joins switch.attic to itself", "write the machine at the other end of the cable", 24);
    "share-without-percent":
        (5, "0.5", "array.vault.fill is not a percentage", "write fill = \"50 %\" or fill = \"0.5 %\"", 0);
    "flash-cache-without-percent":
        (5, "GB", "array.vault.drive-cache is not a percentage", "write", 0),
        (6, "\"0 %\"", "array.vault.drive-folds-at is zero", "write a percentage above zero, for example", 0);
    "flash-folds-before-its-cache-is-full":
        (6, "\"20 %\"", "array.vault.drive-folds-at is not in order with drive-cache", "write both, or correct drive-folds-at", 5);
    "flash-phase-of-a-turning-drive":
        (5, "\"400 MB/s\"", "array.vault.drive-folding-write is told of drives that turn", "name a class of flash, for example nvme-gen3, or remove 'dri", 0);
    "flash-phases-out-of-order":
        (6, "\"500 MB/s\"", "array.vault.drive-folding-write is not in order with drive-later-write", "write both, or correct drive-folding-write", 5),
        (13, "\"900 MB/s\"", "desk.cut-1.disk-later-write is not in order with disk-first-write", "write both, or correct disk-later-write", 0);
    "groups-of-copies":
        (3, "\"two-copy\"", "array.vault cannot be made of 6 drives", "leave out groups; the RAID levels", 4);
    "groups-that-do-not-divide":
        (3, "\"raidz1\"", "array.vault cannot be made of 7 drives", "write 8 drives", 4);
    "too-few-groups":
        (3, "\"raid50\"", "array.vault cannot be made of 6 drives", "write groups = 2", 4);
    "small-groups":
        (3, "\"raidz2\"", "array.vault cannot be made of 6 drives", "write at least 8 drives", 4);
    "lost-array":
        (5, "2", "array.vault is lost", "restore from a second copy", 0);
    "single-of-two":
        (3, "\"single\"", "array.vault cannot be made of 2 drives", "write 1 drive, or another layout, for example raid0", 4);
    "site-name-empty":
        (1, "\"  \"", "the site has an empty name", "write what the place is called, or leave the line out", 0);
    "site-name-with-an-escape":
        (1, "\"Granary\\u001b[31m Lane\"", "the name of the site cannot be shown", "write letters, digits and spaces", 0);
    "slot-and-adapter":
        (13, "\"usb 10 Gb/s\"", "desk.cut-1.port.a has a slot and an adapter", "remove 'slot' or 'adapter'", 13);
    "syntax":
        (1, "", "a quote is not closed", "close the text with the quote that it began with", 0),
        (3, "", "a header is not closed", "write the header in square brackets: [nas.store]", 0),
        (5, ":", "a ':' stands where '=' belongs", "write a field as key = \"value\"", 0),
        (6, "", "a line has no '='", "write a field as key = \"value\", or begin a comment with #", 0),
        (9, "memory =", "a value is missing", "write a value in quotes, for example length = \"30 m\", or rem", 0),
        (10, "", "something stands behind a value", "end the line behind the value, or begin a comment with #", 0),
        (11, "", "a bracket is not closed", "close it with '}' or ']'", 0);
    "twice":
        (23, "store", "'store' is defined twice", "remove one of the two, or give it another name", 6);
    "two-disks":
        (13, "2 x 1 TB nvme-gen3", "desk.cut-1.disk is more than one disk", "write one disk, for example \"1 TB nvme-gen3\"", 0);
    "two-runs-between-switches":
        (32, "\"switch.stairs.any\"", "run.4 closes a loop of switches", "remove one run of the loop: frames would circle in it", 28);
    "unclosed-list":
        (2, "", "a bracket is not closed", "close it with '}' or ']'", 0);
    "unknown-adapter":
        (13, "usb 10 Gbit/s", "desk.cut-1.port.a.adapter is not one of the words it may be", "write one of usb 480 Mb/s, usb 5 Gb/s, usb 10 Gb/s, usb 20 G", 0);
    "unknown-cpu":
        (7, "smal", "nas.store.cpu is not a class of processor", "write one of router, tiny, small, medium, large", 0);
    "unknown-drive":
        (4, "hdd-7201", "array.vault.drives is not a drive that is known", "write one of hdd, hdd-5400, hdd-7200, hdd-smr, ssd-sata, ssd", 0);
    "unknown-key":
        (18, "lenght", "'lenght' is not a field of a run", "the fields of a run are from, to, cable, length, bundle, gra", 0);
    "unknown-layout":
        (3, "tower", "array.vault.layout is not a layout", "write one of single, raid0, raid1, raid5, raid6, raid10", 0);
    "unknown-machine-with-port":
        (20, "desk.cut-2.a", "run.2.from names no machine of this site", "write one of nas.store, switch.attic, desk.cut-1", 0);
    "unknown-machine":
        (20, "desk.cut-2", "run.2.from names no machine of this site", "write one of nas.store, switch.attic, desk.cut-1", 0);
    "unknown-nas":
        (2, "stoer", "array.vault.nas names no NAS of this site", "write one of store", 0);
    "unknown-port":
        (17, "switch.attic.fats", "run.1.to names no port of this site", "write one of switch.attic.fast", 0);
    "unknown-rate":
        (13, "\"3 Gb/s\"", "desk.cut-1.port.a.rate is not the rate of any port", "write one of 10 Mb/s, 100 Mb/s, 1 Gb/s, 2.5 Gb/s, 5 Gb/s, 10", 0);
    "unknown-section":
        (23, "printer", "'printer' is not a part of the site", "the parts of the site are name, network, array, nas, switch,", 0);
    "unknown-word":
        (18, "tigth", "run.1.bundle is not one of the words it may be", "write one of tight, loose, apart, alone", 0);
    "unquoted-letters":
        (12, "schnittplätze", "a name is not in quotes", "write \"schnittplätze\"", 0);
    "unquoted":
        (7, "smb", "a value is not in quotes", "write \"smb\"", 0),
        (19, "3 m", "a value is not in quotes", "write \"3 m\"", 0);
    "which-port":
        (21, "switch.attic", "run.1.to does not say which port", "write one of switch.attic.fast, switch.attic.slow", 0);
    "wireless-and-cable":
        (23, "\"cat6\"", "run.2 is a radio link and has a cable", "remove 'cable' or 'wireless'", 22);
    "wireless-of-zero":
        (22, "measured 0 Mb/s", "run.2.wireless is not a radio link", "write a rate of data above zero", 0);
    "wireless-without-word":
        (22, "866 Mb/s", "run.2.wireless is not a radio link", "write \"measured 300 Mb/s\" for what it was measured to carry,", 0);
    "with-mark":
        (18, "mtr", "run.1.length is not a length", "write a length, for example 31 m, 100 ft", 0);
    "wrong-type":
        (5, "[40, 70]", "array.vault.fill is not written as it has to be", "write fill = \"40..70 %\"", 0);
    "zero-memory":
        (7, "\"0 GB\"", "nas.store.memory is zero", "write an amount of data above zero, for example 14 TB, 12.7 ", 0);
    "only-a-name":
        (1, "", "the site has no array", "add [array.vault] with nas, layout and drives", 0),
        (1, "", "the site has no NAS", "add [nas.store] with a port", 0),
        (1, "", "the site has no desk", "add [desk.cut-1] with a port", 0);
    "network-is-a-number":
        (1, "3", "the network has no fields", "write [network]", 0);
    "nas-is-text":
        (1, "\"store\"", "'nas' has no fields", "write [nas.NAME]", 0);
    "run-of-numbers":
        (1, "1", "run.1 has no fields", "write [[run]]", 0),
        (1, "2", "run.2 has no fields", "write [[run]]", 0);
    "desk-is-text":
        (10, "\"10 Gb/s\"", "desk.cut-1 has no fields", "write [desk.NAME]", 0);
    "name-is-a-number":
        (1, "5", "name is not written as it has to be", "write name = \"Granary Lane\"", 0);
    "long-text":
        (15, "\"333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333333 m\"", "run.1.length is too long", "write at most 200 bytes", 0);
    "long-name":
        (7, "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa", "a name under 'nas.store.port' cannot be used", "write letters of any script, digits, '-' and '_'", 0);
    "rate-of-zero":
        (7, "\"0 Gb/s\"", "nas.store.port.a.rate is zero", "write the rate of a link, for example 10 Gb/s, 2.5 Gb/s, 100", 0);
    "rate-too-slow":
        (7, "\"1 b/s\"", "nas.store.port.a.rate is too slow for a link", "write the rate of a link, for example 10 Gb/s, 2.5 Gb/s, 100", 0);
    "truth-for-a-length":
        (15, "true", "run.1.length is not written as it has to be", "write length = \"20..35 m\"", 0);
    "date-for-a-length":
        (15, "2024-05-01", "run.1.length is not written as it has to be", "write length = \"20..35 m\"", 0);
    "no-nas-named":
        (1, "vault", "array.vault has no 'nas'", "add nas = \"store\": look which machine the drives are in", 0);
    "no-nas-at-all":
        (2, "store", "array.vault.nas names no NAS of this site", "describe the NAS: [nas.NAME]", 0);
    "no-drives-named":
        (1, "vault", "array.vault has no 'drives'", "add drives = \"6 x 10 TB hdd-7200\": look in the storage setti", 0);
    "fraction-for-a-count":
        (10, "1.5", "desk.cut-1.port.a.count is not a whole number from 1 to 1024", "write a whole number from 1 to 1024, for example count = 8", 0);
    "too-many-drives":
        (4, "2000", "array.vault.drives has no number of drives", "write a whole number from 1 to 1024, for example \"6 x 10 TB ", 0);
    "escaped-text":
        (15, "\"30\\u0020mtr\"", "run.1.length is not a length", "write a length, for example 31 m, 100 ft", 0);
    "text-over-lines":
        (15, "\"\"\"\n30 mtr\"\"\"", "run.1.length is not a length", "write a length, for example 31 m, 100 ft", 0);
    "task-active-beyond":
        (26, "120 %", "task.1.active is not a percentage", "write low..high or low..likely..high, for example 40..70 %", 0);
    "task-active-of-zero":
        (26, "\"0 %\"", "task.1.active is zero", "write a percentage above zero, for example 55 %", 0);
    "task-angles-of-play":
        (27, "3", "task.1.angles does not belong to 'play'", "write layers, or does = \"multicam\"", 0);
    "task-array-out-of-reach":
        (34, "\"shelf\"", "task.1 cannot be done", "write another array or desk, or add the run that is missing", 0);
    "task-card-of-a-copy":
        (26, "\"sd-uhs-ii\"", "task.1.card does not belong to 'copy'", "write does = \"ingest\", or remove it", 0);
    "task-codec-alone":
        (26, "\"ProRes 422\"", "task.1 lacks its raster", "add raster = \"UHD\"", 0),
        (26, "\"ProRes 422\"", "task.1 lacks its frames", "add frames = \"25 fps\"", 0);
    "task-codec-not-at-frames":
        (26, "DNxHD 145", "task.1.codec has no known rate at that frame rate", "write demand in its place, or one of those frame rates", 0);
    "task-codec-not-at-raster":
        (26, "DNxHD 145", "task.1.codec has no known rate at that resolution", "write demand in its place, or that resolution", 0);
    "task-demand-and-codec":
        (26, "\"60 MB/s\"", "task.1 has a demand and a codec", "remove 'demand' or 'codec'", 27);
    "task-demand-of-a-copy":
        (26, "\"60 MB/s\"", "task.1.demand does not belong to 'copy'", "write held-to for a task that is held to a rate, or remove i", 0);
    "task-demand-of-zero":
        (26, "\"0 MB/s\"", "task.1.demand is zero", "write a rate of data above zero, for example 117 MB/s, 112 M", 0);
    "task-held-to-play":
        (26, "\"60 MB/s\"", "task.1.held-to does not belong to 'play'", "write demand or codec for what has to be there in time", 0);
    "task-in-single-brackets":
        (23, "[task]", "a task has a header of its own kind", "write [[task]]", 0);
    "task-into-of-play":
        (27, "\"ProRes 422 LT\"", "task.1.into does not belong to 'play'", "write does = \"export\", or remove it", 0);
    "task-layers-of-a-copy":
        (26, "2", "task.1.layers does not belong to 'copy'", "write angles for multicam, or remove it", 0);
    "task-multicam-without-angles":
        (25, "\"multicam\"", "task.1 does not say how many angles", "add angles = 4", 0);
    "task-no-frame-rate":
        (28, "film", "task.1.frames is not a frame rate", "write frames a second, for example 25 fps or 23.976 fps", 0);
    "task-of-no-array":
        (26, "valut", "task.1.array names no array of this site", "write one of vault", 0);
    "task-of-no-desk":
        (24, "cut-l", "task.1.desk names no desk of this site", "write one of cut-1", 0);
    "task-per-day-unit":
        (26, "MB/s", "task.1.per-day is not an amount of data", "write an amount of data, for example 14 TB, 12.7 TiB, 50 kB", 0);
    "task-play-writes":
        (27, "\"write\"", "task.1 does not go that way", "remove it, or write another task", 0);
    "task-raster-alone":
        (26, "\"UHD\"", "task.1.raster belongs to a codec", "add codec = \"ProRes 422 HQ\", or write demand in their place", 0);
    "task-speed-no-number":
        (29, "fast", "task.1.speed is not a speed", "write times real time, for example 1.5 x or 0.3..4 x", 0);
    "task-speed-of-nothing":
        (26, "\"2 x\"", "task.1.speed belongs to a codec", "add codec, raster and frames of what is read", 0);
    "task-speed-out-of-range":
        (29, "\"0 x\"", "task.1.speed is not a speed", "write times real time, for example 1.5 x or 0.3..4 x", 0);
    "task-spell-without-unit":
        (26, "20", "task.1.spell is not a duration", "write the unit, for example spell = \"20 s\"", 0);
    "task-too-many-layers":
        (27, "100", "task.1.layers is not a whole number from 1 to 64", "write a whole number from 1 to 64, for example layers = 2", 0);
    "task-unknown-card":
        (26, "sd-uhs-9", "task.1.card is not one of the words it may be", "write one of sd-uhs-i, sd-uhs-ii, sd-uhs-iii, sd-express-gen", 0);
    "task-unknown-codec":
        (26, "ProRes 422 QH", "task.1.codec is not a codec that is known", "write demand in its place, or a codec: ProRes 422 Proxy, Pro", 0);
    "task-unknown-direction":
        (26, "reed", "task.1.direction is not one of the words it may be", "write one of read, write", 0);
    "task-unknown-does":
        (25, "dances", "task.1.does is not one of the words it may be", "write one of play, multicam, scrub, sequence, export, ingest", 0);
    "task-unknown-key":
        (26, "heldon", "'heldon' is not a field of a task", "the fields of a task are desk, does, array, direction, deman", 0);
    "task-unknown-raster":
        (27, "UDH", "task.1.raster is not a resolution", "write pixels a row x rows, for example 3840x2160, or one of ", 0);
    "task-weight-of-zero":
        (26, "0", "task.1.weight is not a whole number from 1 to 100", "write a whole number from 1 to 100, for example weight = 1", 0);
    "task-which-array":
        (31, "[[task]]", "task.1 does not say which array", "add array = one of vault, shelf", 0);
    "task-without-demand":
        (25, "\"play\"", "task.1 does not say how much it takes", "add demand = \"880 Mb/s\", or codec, raster and frames", 0);
    "task-without-desk":
        (23, "[[task]]", "task.1 has no 'desk'", "add desk = \"cut-1\": ask whoever works there", 0);
    "task-without-does":
        (23, "[[task]]", "task.1 has no 'does'", "add does = \"play\": ask whoever works there", 0);
    "grain-of-another-layout":
        (5, "\"1 MiB\"", "array.vault.record says nothing of raid6", "remove 'record'", 0),
        (11, "\"64 KiB\"", "array.pool.chunk says nothing of raidz2", "remove 'chunk'", 0),
        (17, "96 KiB", "array.odd.chunk is not a chunk", "write for example '64 KiB'; unless somebody chose another it", 0),
        (36, "\"riser\"", "run.2.duct is said of no twisted pair", "remove 'duct': only a twisted pair minds it", 0);
    "half-duplex-too-fast":
        (23, "\"half\"", "run.2 cannot run in half duplex", "remove 'duplex', or write negotiated = \"100 Mb/s\"", 22);
    "lost-without-percent":
        (22, "2", "run.2.lost is not a percentage", "write lost = \"2 %\"", 0);
    "mismatch-without-a-slow-rate":
        (22, "\"mismatched\"", "run.2 cannot have ends that disagree on duplex", "remove 'duplex', or write in 'rates' what desk.cut-1.a knows", 13);
    "pause-is-a-number":
        (10, "1", "switch.attic.pause is not written as it has to be", "write pause = \"no\"", 0);
    "radio-with-duplex":
        (23, "\"half\"", "run.2 is a radio link and has a cable", "remove 'duplex' or 'wireless'", 22);
    "sync-is-a-word":
        (7, "always", "nas.store.sync is not one of the words it may be", "write one of yes, no", 0);
    "too-many-dropped":
        (22, "\"40..60 %\"", "run.2.drops is more than a link survives", "write 0 % to 50 %, for example drops = \"0.1 %\"", 0);
    "too-many-lost":
        (22, "\"40..60 %\"", "run.2.lost is more than a link survives", "write 0 % to 50 %, for example lost = \"0.1 %\"", 0);
    "too-many-members":
        (7, "9", "nas.store.port.a.members is not a whole number from 1 to 8", "write a whole number from 1 to 8, for example members = 2", 0);
    "unknown-duplex":
        (22, "hlaf", "run.2.duplex is not one of the words it may be", "write one of full, half, mismatched", 0);
};

#[test]
fn every_broken_site_has_its_row() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/sites/broken");
    let mut files = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        // beside each site stands how its faults are drawn
        if path.extension().is_none_or(|e| e != "toml") {
            continue;
        }
        let name = path.file_name().unwrap().to_str().unwrap();
        files += 1;
        let has = BROKEN.iter().any(|(n, ..)| format!("{n}.toml") == name);
        assert!(has, "{name}");
    }
    assert_eq!(files, BROKEN.len());
}

#[test]
fn every_fault_is_found_where_it_is_and_says_how_to_put_it_right() {
    let catalogue = catalogue();
    for (name, text, expected) in BROKEN {
        let faults = read(text, &[], &catalogue).expect_err(name);
        let titles: Vec<&str> = faults.iter().map(|f| f.title.as_str()).collect();
        assert_eq!(faults.count(), expected.len(), "{name}: {titles:?}");
        for (fault, (line, marked, title, help, also)) in faults.iter().zip(*expected) {
            assert_eq!(fault.source, FaultSource::File, "{name}");
            assert_eq!(line_of(text, fault.span.start), *line, "{name}: {title}");
            assert_eq!(
                text.get(fault.span.clone()),
                Some(*marked),
                "{name}: {title}"
            );
            assert_eq!(fault.title, *title, "{name}");
            assert!(fault.help.starts_with(help), "{name}: {}", fault.help);
            assert!(!fault.found.is_empty(), "{name}");
            let second = fault
                .also
                .as_ref()
                .map_or(0, |a| line_of(text, a.place.span.start));
            assert_eq!(second, *also, "{name}: {title}");
        }
    }
}

/// A fix that calls itself certain leaves one fault less behind.
#[test]
fn every_certain_fix_works() {
    let catalogue = catalogue();
    let mut fixes = 0;
    for (name, text, _) in BROKEN {
        let faults = read(text, &[], &catalogue).expect_err(name);
        for fault in &faults {
            let Some(fix) = &fault.replacement else {
                continue;
            };
            fixes += 1;
            let mut fixed = (*text).to_owned();
            fixed.replace_range(fix.span.clone(), &fix.text);
            if let Err(after) = read(&fixed, &[], &catalogue) {
                let remains = after
                    .iter()
                    .any(|f| f.title == fault.title && f.span.start == fault.span.start);
                assert!(!remains, "{name}: {fault}");
            }
        }
    }
    assert!(fixes >= 15, "{fixes}");
}

#[test]
fn many_faults_are_reported_at_once_and_in_order() {
    let text = include_str!("../../../../../tests/sites/broken/many-faults.toml");
    let faults = read(text, &[], &catalogue()).unwrap_err();
    assert!(faults.count() >= 8);
    let starts: Vec<usize> = faults.iter().map(|f| f.span.start).collect();
    assert!(starts.is_sorted());
}
