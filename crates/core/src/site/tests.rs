use super::*;
use crate::catalogue::Catalogue;

fn catalogue() -> Catalogue {
    Catalogue::embedded().unwrap()
}

#[test]
fn the_example_sites_can_be_read() {
    let catalogue = catalogue();
    for (name, text) in narrows_data::SITES {
        read(text, &[], &catalogue).unwrap_or_else(|f| panic!("{name}: {f}"));
    }
}
#[test]
fn dump() {
    let c = catalogue();
    let mut names: Vec<_> = std::fs::read_dir("/work/wt-site/tests/sites/broken")
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    names.sort();
    for p in names {
        let t = std::fs::read_to_string(&p).unwrap();
        println!("## {}", p.file_stem().unwrap().to_str().unwrap());
        match read(&t, &[], &c) {
            Ok(_) => println!("  OK!!!"),
            Err(f) => {
                for f in &f {
                    let line = t[..f.span.start].matches('\n').count() + 1;
                    println!(
                        "  {line} [{}] {} | {} | {} | {:?} {:?}",
                        &t[f.span.clone()],
                        f.title,
                        f.found,
                        f.help,
                        f.also.as_ref().map(|a| (
                            t[..a.place.span.start].matches('\n').count() + 1,
                            &t[a.place.span.clone()],
                            a.label.clone()
                        )),
                        f.replacement
                            .as_ref()
                            .map(|r| (&t[r.span.clone()], r.text.clone()))
                    );
                }
            }
        }
    }
}
