use super::*;
use crate::catalogue::Catalogue;
use crate::change::Edit;

fn catalogue() -> Catalogue {
    Catalogue::embedded().unwrap()
}

#[test]
fn the_example_sites_can_be_read() {
    let catalogue = catalogue();
    for (name, text) in narrows_data::SITES {
        let site = read(text, &[], &catalogue).unwrap_or_else(|f| panic!("{name}: {f}"));
        for a in &site.assumptions {
            println!("{a:?}");
        }
    }
}
