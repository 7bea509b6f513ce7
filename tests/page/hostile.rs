//! Names that would like to be more than names.

use crate::markup::{Tag, tags, visible};
use crate::{Folder, page};

const HOSTILE: [&str; 6] = [
    "</title><script>alert(1)</script>",
    "\\\"><img src=x onerror=alert(2)>",
    "'; }</style><style>*{display:none}",
    "[a](javascript:alert(3)) <a href=//example.test>x</a>",
    "\u{05ea}\u{05d7}\u{05e0}\u{05d4} \u{0627}\u{0644}",
    "&lt;b&gt; &amp; ]]> <!-- -->",
];

/// Files of a small place in which every free text is one of six.
fn files(folder: &Folder, which: &str, words: [&str; 6]) -> Vec<String> {
    let [name, jack, room, job, label, remark] = words;
    let site = std::fs::read_to_string(narrows_tests::root().join("data/sites/granary-lane.toml"))
        .unwrap();
    let site = site.replace("name = \"Granary Lane\"", &format!("name = \"{name}\""));
    let quoted = |text: &str| format!("\"{}\"", text.replace("\\\"", "\"").replace('"', "\"\""));
    let jacks = format!(
        "jack;room;panel port;desk;traced;cable;length m\n{};{};P-1;cut-1;guess;cat6;20\nE-2;{};{};cut-2;verified;cat6;30\n",
        quoted(jack),
        quoted(room),
        quoted(label),
        quoted(job)
    );
    let day = format!(
        "what,size,from,to,earliest,due\n{},100 GB,vault,cut-1,09:00,18:00\n",
        quoted(job)
    );
    let offers = format!(
        "[[offer]]\nid = \"stairs\"\nlabel = \"{label}\"\nprice = \"25 EUR\"\nset = ['switch.stairs.port.any.rate=\"1 Gb/s\"']\n"
    );
    let readings = "desk;what;direction;value;unit\ncolour;copy;read;11,4;MB/s\n".to_owned();
    let _ = remark;
    vec![
        folder.file(&format!("{which}.toml"), &site),
        "--jacks".to_owned(),
        folder.file(&format!("{which}-jacks.csv"), &jacks),
        "--day".to_owned(),
        folder.file(&format!("{which}-day.csv"), &day),
        "--offers".to_owned(),
        folder.file(&format!("{which}-offers.toml"), &offers),
        "--readings".to_owned(),
        folder.file(&format!("{which}-readings.csv"), &readings),
    ]
}

fn made(folder: &Folder, which: &str, words: [&str; 6]) -> String {
    let files = files(folder, which, words);
    page(&files.iter().map(String::as_str).collect::<Vec<_>>())
}

/// The page outside of its pictures: names of elements and of their attributes.
fn skeleton(page: &str) -> Vec<String> {
    let mut inside = false;
    let mut found = Vec::new();
    for tag in tags(page) {
        let Tag {
            name, attributes, ..
        } = tag;
        inside |= name == "svg";
        if !inside {
            let mut all = vec![name.clone()];
            all.extend(attributes.iter().map(|(key, _)| key.clone()));
            found.push(all.join(" "));
        }
        inside &= name != "/svg";
    }
    found
}

/// What may stand in a picture.
const DRAWN: [&str; 13] = [
    "svg", "title", "desc", "defs", "pattern", "rect", "path", "circle", "text", "tspan", "g",
    "style", "-",
];

fn only_drawings(page: &str) {
    let mut inside = false;
    for tag in tags(page) {
        inside |= tag.name == "svg";
        if inside {
            let name = tag.name.trim_start_matches('/');
            assert!(DRAWN.contains(&name), "{name} in a picture");
        }
        inside &= tag.name != "/svg";
        for (key, value) in &tag.attributes {
            assert!(
                !key.starts_with("on") && key != "style" && key != "src",
                "{key} of {}",
                tag.name
            );
            assert!(key != "href" || value.starts_with('#'), "{value}");
        }
    }
}

#[test]
fn hostile_names_change_nothing_but_text() {
    let folder = Folder::new("hostile");
    let hostile = made(&folder, "hostile", HOSTILE);
    let harmless = made(
        &folder,
        "harmless",
        ["one", "two", "three", "four", "five", "six"],
    );
    only_drawings(&hostile);
    only_drawings(&harmless);
    let (a, b) = (skeleton(&hostile), skeleton(&harmless));
    let differs = a.iter().zip(&b).position(|(a, b)| a != b);
    assert_eq!(a, b, "first at {differs:?}");
    let text = visible(&hostile);
    assert!(
        text.contains("</title><script>alert(1)</script>"),
        "the name is gone"
    );
    assert!(text.contains("<img src=x onerror=alert(2)>"));
}

/// The parts that keep the pictures, with names of another script and a name that would like to be markup.
#[test]
fn hostile_names_of_rooms_copies_and_supplies_change_nothing_but_text() {
    let folder = Folder::new("kept");
    let text = std::fs::read_to_string(narrows_tests::root().join(crate::WHOLE)).unwrap();
    let made = |which: &str, name: &str, [room, copy, supply]: [&str; 3]| {
        let site = text
            .replace("name = \"Granary Lane\"", &format!("name = \"{name}\""))
            .replace("[room.kitchen]", &format!("[room.\"{room}\"]"))
            .replace("[jack.kitchen]", &format!("[jack.\"{room}\"]"))
            .replace("kitchen", room)
            .replace("copy.cellar", &format!("copy.\"{copy}\""))
            .replace("supply.closet", &format!("supply.\"{supply}\""));
        page(&[&folder.file(&format!("{which}.toml"), &site)])
    };
    let letters = "\u{05de}\u{05d8}\u{05d1}\u{05d7}";
    let hostile = made("hostile", HOSTILE[0], [letters, letters, letters]);
    let harmless = made("harmless", "one", ["two", "three", "four"]);
    only_drawings(&hostile);
    assert_eq!(skeleton(&hostile), skeleton(&harmless));
    assert!(visible(&hostile).contains(letters));
    let long = "k".repeat(60);
    let long = made("long", "one", [&long, &long, &long]);
    only_drawings(&long);
    assert_eq!(skeleton(&long), skeleton(&harmless));
}

#[test]
fn ten_thousand_letters_are_cut_and_stay_whole_as_a_title() {
    let folder = Folder::new("long");
    let long = "x".repeat(10_000);
    let page = made(
        &folder,
        "long",
        ["one", "two", "three", &long, "five", "six"],
    );
    only_drawings(&page);
    for text in page.split("<text ").skip(1) {
        let words = text
            .split_once('>')
            .unwrap()
            .1
            .split("</text>")
            .next()
            .unwrap();
        assert!(words.len() < 700, "{} letters in a picture", words.len());
    }
    // no row is higher than a sheet, and the whole name is there for who asks
    for row in page.split("<tr>").skip(1) {
        let row = row.split("</tr>").next().unwrap();
        let letters = visible(row).chars().count();
        assert!(letters < 2000, "{letters} letters in a row");
    }
    assert!(page.contains(&format!("<bdi title=\"{long}\">")));
    assert!(page.contains(&format!(">{}\u{2026}</bdi>", "x".repeat(159))));
}

#[test]
fn desks_of_any_name_that_a_site_may_have_are_drawn() {
    let folder = Folder::new("letters");
    let site = "name = \"\u{6771}\u{4eac}\"\n[array.vault]\nnas = \"store\"\nlayout = \"raid1\"\ndrives = \"2 x 8 TB hdd-5400\"\n\
        [nas.store]\nport.a = { rate = \"1 Gb/s\" }\n[desk.\"\u{5de6}\"]\nport.a = { rate = \"1 Gb/s\" }\n[desk.alone]\nport.a = { rate = \"1 Gb/s\" }\n\
        [[run]]\nfrom = \"nas.store\"\nto = \"desk.\u{5de6}\"\ncable = \"cat6\"\nlength = \"9 m\"\n";
    let path = folder.file("letters.toml", site);
    let ran = narrows_tests::narrows(&["report", &path, "-o", "-"]);
    // a site may refuse the letter; then it says so, and makes no page
    if ran.code == 0 {
        only_drawings(&ran.out);
        assert!(ran.out.contains("alone has no path to the drives."));
    } else {
        assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    }
}
