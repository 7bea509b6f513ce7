use super::tables::{narrow_by, rates, three_or_exact};
use crate::arguments::Budget;
use crate::commands::budget::better;
use crate::commands::budget::lead::{DECIDES, whose};
use crate::commands::budget::tries::Tried;
use crate::render::lead::{hanging, listed};
use crate::render::parts;
use crate::render::prose::{item, of_100, paragraph, rate, share};
use crate::render::table::{Side, Table};
use crate::render::unknowns;
use narrows_core::budget::{Answer, Change, Flow, WarningKind};
use narrows_core::site::{Assumption, Site, SitePath};
use narrows_core::work::Activity;
use std::fmt::Write;

/// So many desks that are alike share a row.
pub(super) const ALIKE: usize = 4;

/// Everything that is shown.
pub(crate) struct Shown<'a> {
    pub arguments: &'a Budget,
    pub before: &'a Answer,
    pub after: Option<&'a Answer>,
    pub changes: &'a [Change],
    /// The site that the latest answer is about.
    pub site: &'a Site,
    /// What stands in for parts that nobody described.
    pub stand_ins: &'a [Assumption],
    /// Better parts that were tried.
    pub tried: &'a [Tried],
    pub width: usize,
}

impl Shown<'_> {
    pub(crate) fn latest(&self) -> &Answer {
        self.after.unwrap_or(self.before)
    }

    /// The main table, for any format.
    pub(crate) fn table(&self) -> Table {
        if self.after.is_some() {
            self.comparison()
        } else {
            rates(&self.before.flows)
        }
    }

    /// The answer for a person.
    pub(crate) fn text(&self) -> String {
        let answer = self.latest();
        let mut out = String::new();
        if answer.flows.is_empty() {
            out.push_str("No desk reaches an array over a link that comes up.\n");
            self.remarks(&mut out);
            return out;
        }
        out.push_str(&self.lead().text(self.width));
        if let Some(text) = self.stood_in() {
            let _ = writeln!(out, "{}", hanging(&text, self.width));
        }
        out.push('\n');
        if self.after.is_some() {
            self.compared(&mut out);
        } else {
            out.push_str(&self.by_desk().text(self.width));
            let _ = writeln!(out, "{}", paragraph(&self.legend(), self.width, 0));
        }
        self.needs(&mut out);
        self.transfers(&mut out);
        self.branches(&mut out);
        if self.arguments.desk.is_some() && self.after.is_none() {
            for flow in &answer.flows {
                self.hops(flow, &mut out);
            }
        }
        if self.arguments.better {
            out.push_str(&better::text(self.latest(), self.width));
        }
        self.would_help(&mut out);
        self.remarks(&mut out);
        out
    }

    /// What was taken for parts that nobody described, and so decides.
    fn stood_in(&self) -> Option<String> {
        let said = |a: &Assumption| match a.id.as_str() {
            "switch" => "no switch between desk and NAS".to_owned(),
            "array.array" => format!("an array {}", a.value.replace(" x unknown", " drives")),
            id => match SitePath::of(id) {
                SitePath::Nas(..) => format!("a NAS with a {} port", a.value),
                SitePath::Desk(..) => format!("a desk with a {} port", a.value),
                _ => format!("{id} = {}", a.value),
            },
        };
        let decides = |a: &&Assumption| !matches!(SitePath::of(&a.id), SitePath::Run(..));
        let parts: Vec<String> = self.stand_ins.iter().filter(decides).map(said).collect();
        (!parts.is_empty()).then(|| {
            format!(
                "You did not say, so this is taken: {}. Say it with {}.",
                parts.join("; "),
                "--nas, --port, --switch or --array"
            )
        })
    }

    /// What a better part would do where one place decides.
    fn would_help(&self, out: &mut String) {
        if self.after.is_some() {
            return;
        }
        for tried in self.tried {
            let text = format!(
                "{}. Try it: {}",
                tried.said(self.places()),
                parts::options(&tried.better)
            );
            let _ = writeln!(out, "\n{}", hanging(&text, self.width));
        }
    }

    /// What the figures are.
    fn legend(&self) -> String {
        let work = match self.before.flows.first().map(|f| f.work) {
            Some(Activity::Copy) => "each desk alone, copying",
            Some(Activity::Play) => "each desk alone, streaming without its own disk",
            Some(Activity::Wire) => "each desk alone, from memory to memory without files",
            _ => "a program on the NAS itself",
        };
        let what = match (&self.arguments.files, &self.arguments.random) {
            (Some(files), _) => format!("{work} {files}"),
            (_, Some(size)) => format!("{work}, pieces of {size} at random places"),
            _ => work.to_owned(),
        };
        let last = if self.arguments.random.is_some() {
            "a second: pieces read, in the middle."
        } else {
            "100 GB: read at that rate."
        };
        let flows = &self.before.flows;
        let shares = flows
            .iter()
            .any(|f| f.limits.first().is_some_and(|l| l.share < DECIDES));
        let often = if shares {
            " (36): in 36 of 100 cases."
        } else {
            ""
        };
        format!(
            "MB/s in the middle, {what}. from, to: 1 in 20 is slower, 1 in 20 faster. \
             {last}{often}"
        )
    }

    fn compared(&self, out: &mut String) {
        out.push_str(&self.comparison().text(self.width));
        let sides = match &self.arguments.compare {
            Some(other) => format!(
                " before: {}; after: {} ({}). Desks of one name are compared.",
                self.before.site,
                self.latest().site,
                other.display()
            ),
            None => String::new(),
        };
        let text = format!(
            "MB/s in the middle, each desk alone.{sides} times: after over before, the same cases; 1 in 20 \
             lies below the first number and 1 in 20 above the second. Less than 5 % is lost between two \
             copies of one file."
        );
        let _ = writeln!(out, "{}", paragraph(&text, self.width, 0));
        let alone = self.only_one_has();
        if !alone.is_empty() {
            let names: Vec<&str> = alone.iter().map(String::as_str).collect();
            let text = format!("In one of the two only: {}.", listed(&names));
            let _ = writeln!(out, "{}", paragraph(&text, self.width, 0));
        }
    }

    /// Desks that only one of two places has.
    fn only_one_has(&self) -> Vec<String> {
        let mut found: Vec<String> = Vec::new();
        let (one, other) = (&self.before.flows, &self.latest().flows);
        for (here, there) in [(one, other), (other, one)] {
            for flow in here {
                let known = there.iter().any(|f| f.desk == flow.desk);
                if !known && !found.contains(&flow.desk) {
                    found.push(flow.desk.clone());
                }
            }
        }
        found
    }

    fn branches(&self, out: &mut String) {
        let mut table = Table::new(&[
            ("desk", Side::Left),
            ("array", Side::Left),
            ("port", Side::Left),
            ("direction", Side::Left),
            ("chance %", Side::Right),
            ("MB/s", Side::Right),
            ("from", Side::Right),
            ("to", Side::Right),
            ("if", Side::Left),
        ]);
        for flow in &self.latest().flows {
            for branch in &flow.branches {
                table.row(vec![
                    flow.desk.clone(),
                    flow.array.clone(),
                    flow.port.clone(),
                    flow.direction.word().to_owned(),
                    share(branch.probability).trim_end_matches(" %").to_owned(),
                    rate(branch.megabytes_per_s.p50),
                    rate(branch.megabytes_per_s.p05),
                    rate(branch.megabytes_per_s.p95),
                    branch.when.clone(),
                ]);
            }
        }
        if !table.is_empty() {
            out.push_str("\nWhat is not known, and splits these answers:\n");
            out.push_str(&narrow_by(table, &rates(&self.latest().flows)).text(self.width));
        }
    }

    fn needs(&self, out: &mut String) {
        let flows = &self.latest().flows;
        let Some(need) = flows.iter().find_map(|f| f.need) else {
            return;
        };
        let missing: Vec<String> = flows
            .iter()
            .filter_map(|f| Some((f, f.need?)))
            .filter(|(_, n)| !n.met)
            .map(|(f, n)| {
                let way = f.direction.word();
                format!("{} {way} ({})", whose(f), of_100(n.probability))
            })
            .collect();
        if !missing.is_empty() {
            let text = format!(
                "Not met: {} MB/s in at least 95 of 100 cases; in how many each reaches it: {}.",
                rate(need.rate),
                missing.join(", ")
            );
            let _ = writeln!(out, "\n{}", paragraph(&text, self.width, 0));
        }
    }

    /// One flow hop by hop.
    pub(super) fn hops(&self, flow: &Flow, out: &mut String) {
        let _ = writeln!(
            out,
            "\n{} {}s {} by port {}, from desk to array:",
            flow.desk,
            flow.direction.word(),
            flow.array,
            flow.port
        );
        let mut table = Table::new(&[
            ("place", Side::Left),
            ("MB/s", Side::Right),
            ("from", Side::Right),
            ("to", Side::Right),
            ("Gb/s", Side::Right),
            ("without", Side::Right),
            ("what it is", Side::Left),
        ]);
        for hop in &flow.hops {
            let c = hop.ceiling_megabytes_per_s;
            let link = hop
                .link_megabits_per_s
                .map_or(String::new(), |r| three_or_exact(r.megabits() / 1000.0));
            let lifted = hop.if_lifted_megabytes_per_s.map_or(String::new(), rate);
            let mut what = format!("{}: {}", hop.label, hop.note);
            if let Some(empty) = hop.when_empty_megabytes_per_s {
                let _ = write!(what, "; {} when empty", rate(empty.p50));
            }
            table.row(vec![
                hop.id.clone(),
                rate(c.p50),
                rate(c.p05),
                rate(c.p95),
                link,
                lifted,
                what,
            ]);
        }
        out.push_str(&table.text(self.width));
        let text = format!(
            "MB/s: the most that each place carries. Gb/s: the link's own rate. without: what {} \
             would get without this place. A real copy reaches {} of the narrowest place, and in \
             each case another one may be the narrowest: so what it gets lies below them all.",
            whose(flow),
            share(flow.real_copy_share)
        );
        let _ = writeln!(out, "{}", paragraph(&text, self.width, 0));
        for limit in flow
            .limits
            .iter()
            .filter(|l| l.hops.len() > 1 && l.share >= 0.02)
        {
            let then = limit.if_lifted_megabytes_per_s.map_or(String::new(), |r| {
                format!("; without all of them {} MB/s", rate(r))
            });
            let text = format!(
                "In {} of 100 cases {} are equally narrow: one of them alone changes nothing{then}.",
                of_100(limit.share),
                limit.hops.join(" and "),
            );
            let _ = writeln!(out, "{}", paragraph(&text, self.width, 0));
        }
    }

    fn remarks(&self, out: &mut String) {
        let answer = self.latest();
        let said = |kind: WarningKind| {
            kind == WarningKind::SlowPortInTheWay && !self.tried.is_empty() && self.after.is_none()
        };
        let warnings: Vec<_> = answer.warnings.iter().filter(|w| !said(w.kind)).collect();
        if !warnings.is_empty() {
            out.push_str("\nLook at this:\n");
            for w in warnings {
                let text = format!("{}: {}. Next: {}.", w.place, w.message, w.next);
                let _ = writeln!(out, "{}", item(&text, self.width));
            }
        }
        let path = self.arguments.site.as_ref();
        let path = path.map_or(String::new(), |p| p.display().to_string());
        if path.is_empty() || self.arguments.desk.is_some() {
            self.all_assumed(out);
        } else if let Some(text) = unknowns::assumed(answer, &path) {
            let _ = writeln!(out, "\n{}", hanging(&text, self.width));
        }
        for caution in &answer.cautions {
            let _ = writeln!(out, "{}", paragraph(caution, self.width, 0));
        }
    }

    /// Every value that nobody stated, where there are few: of one desk.
    fn all_assumed(&self, out: &mut String) {
        let answer = self.latest();
        if answer.assumptions.is_empty() {
            return;
        }
        out.push_str("\nAssumed, because nobody said:\n");
        for a in &answer.assumptions {
            let text = format!("{} = {}", a.id, a.value);
            let _ = writeln!(out, "{}", item(&text, self.width));
        }
    }
}
