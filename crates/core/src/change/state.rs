//! The state of a part of a site that was read already, set as an edit says: what may be wrong with
//! it, as far as a site has words for that.
//!
//! The same edit made in the text of the site and read gives the same site, field by field; a test
//! holds both together for every state that is known here.

use super::Edit;
use crate::air::{Band, Link, Reading};
use crate::quantity::{LinkRate, Ratio, parse};
use crate::site::{
    Attachment, Chosen, Duplex, Known, Medium, Port, Radio, Site, Value, lay_in_ducts, retie,
};
use crate::spread::{Bounds, Choice, Spread};

/// Sets what an edit says; `false` where the site has no such part, the field is no state, or the
/// part is in that state already.
pub(crate) fn set(site: &mut Site, edit: &Edit) -> bool {
    let steps: Vec<&str> = edit.steps().iter().map(|s| s.name.as_str()).collect();
    let value = edit.value().1.trim().trim_matches('"');
    match steps.as_slice() {
        ["run", number, field @ ("band" | "weaker" | "relayed")] => {
            let new = radio(site, number, field, value);
            retie(site);
            new
        }
        ["run", number, field] => run(site, number, field, value),
        ["access-point", name, field] => {
            let new = cell(site, name, field, value);
            retie(site);
            new
        }
        ["array", name, field] => array(site, name, field, value),
        ["nas", name, field] => nas(site, name, field, value),
        ["desk", name, "overlap"] => {
            let desk = site.desks.iter_mut().find(|d| d.name == *name);
            let overlap = truth(format!("desk.{name}.overlap"), value);
            desk.zip(overlap)
                .is_some_and(|(desk, overlap)| put(&mut desk.overlap, overlap))
        }
        ["desk", name, "port", port, field] => {
            let desk = site.desks.iter_mut().find(|d| d.name == *name);
            let port = desk.and_then(|d| d.ports.iter_mut().find(|p| p.name == *port));
            port.is_some_and(|port| attach(port, field, value))
        }
        _ => false,
    }
}

/// Sets a field; `false` where it is that already.
fn put<T: PartialEq>(field: &mut T, value: T) -> bool {
    let new = *field != value;
    *field = value;
    new
}

fn share(id: String, text: &str) -> Option<Value<Ratio>> {
    let spread = Spread::<Ratio>::parse(text, Bounds::FRACTION).ok()?;
    Some(Known::stated(id, spread))
}

fn truth(id: String, text: &str) -> Option<Chosen<bool>> {
    let so = match text {
        "yes" | "signed" => true,
        "no" | "plain" | "unsigned" => false,
        _ => return None,
    };
    Some(Known::stated(id, Choice::certain(so)))
}

fn run(site: &mut Site, number: &str, field: &str, value: &str) -> bool {
    let number: Option<usize> = number.parse().ok();
    let Some(at) = site.runs.iter().position(|run| Some(run.number) == number) else {
        return false;
    };
    if field == "negotiated" {
        let Ok(rate) = parse::<LinkRate>(value) else {
            return false;
        };
        // both ends have to know it, and a faster one besides
        let run = &site.runs[at];
        let ends = [&run.from, &run.to].map(|end| site.port(end));
        let [Some(from), Some(to)] = ends else {
            return false;
        };
        let both = || from.knows.iter().filter(|r| to.knows.contains(r));
        let most = both().copied().chain(run.negotiated).max();
        if !both().any(|r| *r == rate) || most <= Some(rate) {
            return false;
        }
        let new = put(&mut site.runs[at].negotiated, Some(rate));
        lay_in_ducts(site);
        return new;
    }
    let run = &mut site.runs[at];
    let id = format!("run.{}.{field}", run.number);
    match field {
        "duplex" => {
            let known = Duplex::ALL.into_iter().find(|d| d.word() == value);
            known.is_some_and(|duplex| put(&mut run.duplex, Some(duplex)))
        }
        "errors" => truth(id, value).is_some_and(|so| put(&mut run.errors, Some(so))),
        "lost" => share(id, value).is_some_and(|lost| put(&mut run.lost, Some(lost))),
        "drops" => share(id, value).is_some_and(|drops| put(&mut run.drops, Some(drops))),
        _ => false,
    }
}

/// A radio link that is worked out: where it was seen, what is lost besides, whether a repeater passes it on.
fn radio(site: &mut Site, number: &str, field: &str, value: &str) -> bool {
    let number: Option<usize> = number.parse().ok();
    let run = site.runs.iter_mut().find(|run| Some(run.number) == number);
    let Some(Medium::Wireless {
        carries: Radio::Link(link),
    }) = run.map(|run| &mut run.medium)
    else {
        return false;
    };
    let link: &mut Link = link;
    let id = format!("{}.{field}", link.id);
    let shown = matches!(link.reading, Reading::Shown(_));
    match field {
        // a rate that is shown is of the band and the signal that there are
        "band" if !shown => {
            let band = Band::ALL.into_iter().find(|band| band.word() == value);
            band.is_some_and(|band| {
                link.speaks.band != Some(band) && put(&mut link.band, Some(band))
            })
        }
        "weaker" if !shown => {
            let number = value.strip_suffix("dB").map(str::trim_end);
            let spread = number.and_then(|n| Spread::<f64>::parse(n, Bounds::POSITIVE).ok());
            spread.is_some_and(|spread| put(&mut link.weaker, Some(Known::stated(id, spread))))
        }
        "relayed" => truth(id, value)
            .and_then(|so| so.value.only().copied())
            .is_some_and(|so| put(&mut link.relayed, so)),
        _ => false,
    }
}

/// The air around an access point.
fn cell(site: &mut Site, name: &str, field: &str, value: &str) -> bool {
    let point = site.switches.iter_mut().find(|s| s.name == name);
    let Some(cell) = point.and_then(|point| point.cell.as_mut()) else {
        return false;
    };
    let Some(share) = share(format!("access-point.{name}.{field}"), value) else {
        return false;
    };
    match field {
        "busy" => put(&mut cell.busy, Some(share)),
        "crowd" => put(&mut cell.crowd, Some(share)),
        _ => false,
    }
}

fn array(site: &mut Site, name: &str, field: &str, value: &str) -> bool {
    let Some(array) = site.arrays.iter_mut().find(|a| a.name == name) else {
        return false;
    };
    let id = format!("array.{name}.{field}");
    let width = array.drives.count / array.groups.max(1);
    match field {
        "failed" => {
            let failed: Option<usize> = value.parse().ok();
            let survives = array.level.survives_any(width);
            failed
                .filter(|failed| *failed <= survives)
                .is_some_and(|failed| put(&mut array.failed, failed))
        }
        "rebuilding" => truth(id, value).is_some_and(|so| put(&mut array.rebuilding, so)),
        "scrubbing" => truth(id, value).is_some_and(|so| put(&mut array.scrubbing, so)),
        "fill" => share(id, value).is_some_and(|fill| put(&mut array.fill, fill)),
        "others" => share(id, value).is_some_and(|share| put(&mut array.others, Some(share))),
        "slowest" => share(id, value).is_some_and(|share| put(&mut array.slowest, Some(share))),
        _ => false,
    }
}

fn nas(site: &mut Site, name: &str, field: &str, value: &str) -> bool {
    let Some(nas) = site.nas.iter_mut().find(|n| n.name == name) else {
        return false;
    };
    let Some(so) = truth(format!("nas.{name}.{field}"), value) else {
        return false;
    };
    match field {
        "signed" => put(&mut nas.signed, so),
        "encrypted" => put(&mut nas.encrypted, so),
        "sync" => put(&mut nas.sync, Some(so)),
        _ => false,
    }
}

fn attach(port: &mut Port, field: &str, value: &str) -> bool {
    let attachment = match field {
        "adapter" => Some(Attachment::Adapter(value.to_owned())),
        "slot" => slot(value),
        _ => None,
    };
    attachment.is_some_and(|attachment| put(&mut port.attachment, Some(attachment)))
}

/// `pcie 2 x1`.
fn slot(text: &str) -> Option<Attachment> {
    let (generation, lanes) = text.strip_prefix("pcie ")?.split_once(" x")?;
    Some(Attachment::Slot {
        generation: generation.parse().ok()?,
        lanes: lanes.parse().ok()?,
    })
}
