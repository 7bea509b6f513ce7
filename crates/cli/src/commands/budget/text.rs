use crate::arguments::Budget;
use crate::commands::budget::names::{headline, limits, meaning, times, together};
use crate::render::prose::{item, minutes, paragraph, rate, sentence, share};
use crate::render::table::{Side, Table};
use narrows_core::budget::{Answer, Change, Flow};
use narrows_core::quantity::three_digits;
use narrows_core::work::Activity;
use std::fmt::Write;

/// Everything that is shown.
pub(crate) struct Shown<'a> {
    pub arguments: &'a Budget,
    pub before: &'a Answer,
    pub after: Option<&'a Answer>,
    pub changes: &'a [Change],
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
        if self.after.is_some() {
            self.compared(&mut out);
        } else {
            let _ = writeln!(
                out,
                "{}\n",
                paragraph(&headline(&answer.flows), self.width, 0)
            );
            let _ = writeln!(out, "{}", paragraph(&self.title(), self.width, 0));
            out.push_str(&rates(&answer.flows).text(self.width));
            self.legend(&mut out);
        }
        self.needs(&mut out);
        self.transfers(&mut out);
        self.branches(&mut out);
        if self.arguments.desk.is_some() && self.after.is_none() {
            for flow in &answer.flows {
                self.hops(flow, &mut out);
            }
        }
        self.remarks(&mut out);
        out
    }

    fn title(&self) -> String {
        let work = match self.before.flows.first().map(|f| f.work) {
            Some(Activity::Copy) => "copying to and from the desk's own disk",
            Some(Activity::Play) => "streaming, without the desk's own disk",
            Some(Activity::Wire) => "memory to memory, without files",
            _ => "a program on the NAS itself",
        };
        let what = match &self.arguments.files {
            Some(files) => format!("{work}, {files}"),
            None => work.to_owned(),
        };
        format!("{}, each desk alone, {what}:", self.before.site)
    }

    fn legend(&self, out: &mut String) {
        let text = "MB/s is the median; one copy in twenty is slower than 5 %, one in twenty \
            faster than 95 %. A percentage behind a limit is the share of cases in which it \
            decides.";
        let _ = writeln!(out, "{}", paragraph(text, self.width, 0));
    }

    fn comparison(&self) -> Table {
        let mut table = Table::new(&[
            ("desk", Side::Left),
            ("array", Side::Left),
            ("port", Side::Left),
            ("direction", Side::Left),
            ("before MB/s", Side::Right),
            ("after MB/s", Side::Right),
            ("times", Side::Right),
            ("what it means", Side::Left),
        ]);
        let after = self.after.map_or(&[][..], |a| &a.flows);
        for change in self.changes {
            let find = |flows: &[Flow]| {
                flows
                    .iter()
                    .find(|f| {
                        f.desk == change.desk
                            && f.array == change.array
                            && f.port == change.port
                            && f.direction.word() == change.direction
                    })
                    .map_or(String::new(), |f| rate(f.megabytes_per_s.p50))
            };
            table.row(vec![
                change.desk.clone(),
                change.array.clone(),
                change.port.clone(),
                change.direction.to_owned(),
                find(&self.before.flows),
                find(after),
                times(change),
                meaning(change),
            ]);
        }
        narrow(table)
    }

    fn compared(&self, out: &mut String) {
        let sets = self.arguments.set.join(", ");
        let noticed: Vec<&Change> = self.changes.iter().filter(|c| c.noticeable).collect();
        let first = if noticed.is_empty() {
            format!("With {sets}: no difference you would notice, on any desk.")
        } else {
            let far = |c: &Change| c.factor_p50.ln().abs().max(c.factor_p95.ln().abs());
            let best = noticed
                .iter()
                .max_by(|a, b| far(a).total_cmp(&far(b)))
                .map_or(String::new(), |c| {
                    format!(
                        "; the most for {}, which {}s {} times as fast",
                        c.desk,
                        c.direction,
                        times(c)
                    )
                });
            format!(
                "With {sets}: a difference you would notice in {} of {} rows{best}.",
                noticed.len(),
                self.changes.len()
            )
        };
        let _ = writeln!(out, "{}\n", paragraph(&first, self.width, 0));
        let _ = writeln!(
            out,
            "{}, each desk alone, before and after:",
            self.before.site
        );
        out.push_str(&self.comparison().text(self.width));
        let text = "Both are computed with the same luck, draw by draw; times is after \
            over before, from its 5th to its 95th percentile. Less than 5 % is lost in the scatter \
            of two copies of one file.";
        let _ = writeln!(out, "{}", paragraph(text, self.width, 0));
    }

    fn branches(&self, out: &mut String) {
        let mut table = Table::new(&[
            ("desk", Side::Left),
            ("array", Side::Left),
            ("port", Side::Left),
            ("direction", Side::Left),
            ("chance %", Side::Right),
            ("MB/s", Side::Right),
            ("5 %", Side::Right),
            ("95 %", Side::Right),
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
            out.push_str("\nWhat is not known splits these answers:\n");
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
                let who = if f.desk.is_empty() { &f.array } else { &f.desk };
                format!("{who} {} ({})", f.direction.word(), share(n.probability))
            })
            .collect();
        let wanted = rate(need.rate);
        let text = if missing.is_empty() {
            format!("Needed: {wanted} MB/s. Every row reaches it in at least 95 % of cases.")
        } else {
            format!(
                "Needed: {wanted} MB/s in at least 95 % of cases. Not met, with the share of cases \
                 that reach it: {}.",
                missing.join(", ")
            )
        };
        let _ = writeln!(out, "\n{}", paragraph(&text, self.width, 0));
    }

    /// One flow hop by hop.
    fn hops(&self, flow: &Flow, out: &mut String) {
        let _ = writeln!(
            out,
            "\n{} {}s {} by port {}, from desk to array:",
            flow.desk,
            flow.direction.word(),
            flow.array,
            flow.port
        );
        let mut table = Table::new(&[
            ("hop", Side::Left),
            ("MB/s", Side::Right),
            ("5 %", Side::Right),
            ("95 %", Side::Right),
            ("Gb/s", Side::Right),
            ("lifted", Side::Right),
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
            "MB/s: the ceiling of each hop. Gb/s: the link's own rate. lifted: the flow's median \
             if this hop were no limit. A real copy reaches {} of the lowest ceiling (median), \
             and in each case another hop may be the lowest, so the flow's median lies below \
             every hop's median.",
            share(flow.real_copy_share)
        );
        let _ = writeln!(out, "{}", paragraph(&text, self.width, 0));
        for limit in flow
            .limits
            .iter()
            .filter(|l| l.hops.len() > 1 && l.share >= 0.02)
        {
            let text = format!(
                "In {} of cases {} limit together: lifting one alone changes nothing{}.",
                share(limit.share),
                limit.hops.join(" and "),
                limit
                    .if_lifted_megabytes_per_s
                    .map_or(String::new(), |r| format!(
                        ", lifting all gives {} MB/s",
                        rate(r)
                    ))
            );
            let _ = writeln!(out, "{}", paragraph(&text, self.width, 0));
        }
        for hop in &flow.hops {
            if let Some(better) = &hop.next_better {
                let text = format!(
                    "With {} in place of {}: {} MB/s ({} to {}). Try it: --set '{}'.",
                    better.part,
                    hop.label,
                    rate(better.megabytes_per_s.p50),
                    rate(better.megabytes_per_s.p05),
                    rate(better.megabytes_per_s.p95),
                    better.set.join("' --set '")
                );
                let _ = writeln!(out, "{}", paragraph(&text, self.width, 2));
            }
        }
        if let Some(unknown) = flow.worth_finding_out() {
            let text = format!(
                "Worth finding out first: {} ({}), behind {} of the scatter.{}",
                unknown.id,
                unknown.text,
                share(unknown.share),
                self.how_to_find(&unknown.id)
            );
            let _ = writeln!(out, "{}", paragraph(&text, self.width, 0));
        }
    }

    fn how_to_find(&self, id: &str) -> String {
        self.latest()
            .assumptions
            .iter()
            .filter(|a| id == a.id || id.starts_with(&format!("{}/", a.id)))
            .map(|a| format!(" {}", sentence(&a.find_out)))
            .next()
            .unwrap_or_default()
    }

    fn remarks(&self, out: &mut String) {
        let answer = self.latest();
        if !answer.warnings.is_empty() {
            out.push_str("\nLook at this:\n");
            for w in &answer.warnings {
                let text = format!("{}: {}. Next: {}.", w.place, w.message, w.next);
                let _ = writeln!(out, "{}", item(&text, self.width));
            }
        }
        if self.arguments.site.is_none() || self.arguments.desk.is_some() {
            if !answer.assumptions.is_empty() {
                out.push_str("\nAssumed, because nobody said:\n");
                for a in &answer.assumptions {
                    let _ = writeln!(
                        out,
                        "{}",
                        item(&format!("{} = {}", a.id, a.value), self.width)
                    );
                }
            }
        } else if !answer.assumptions.is_empty() {
            let text = format!(
                "Assumed, because nobody said: {}. Values, and how to find them: narrows check {}",
                together(answer.assumptions.iter().map(|a| a.id.as_str())),
                self.arguments
                    .site
                    .as_ref()
                    .map_or(String::new(), |p| p.display().to_string())
            );
            let _ = writeln!(out, "\n{}", paragraph(&text, self.width, 0));
        }
        if let Some(question) = self.best_question() {
            let _ = writeln!(out, "\n{}", paragraph(&question, self.width, 0));
        }
        for caution in &answer.cautions {
            let _ = writeln!(out, "\n{}", paragraph(caution, self.width, 0));
        }
    }

    /// The one fact that would narrow the answers most.
    fn best_question(&self) -> Option<String> {
        if self.arguments.desk.is_some() {
            return None;
        }
        let (flow, unknown) = self.latest().worth_asking_for()?;
        let whose = if flow.desk.is_empty() {
            &flow.array
        } else {
            &flow.desk
        };
        Some(format!(
            "What would narrow the answers most: {} (now {}), behind {} of the scatter of {whose}.{}",
            unknown.id,
            unknown.text,
            share(unknown.share),
            self.how_to_find(&unknown.id)
        ))
    }
}

fn three_or_exact(value: f64) -> String {
    let text = three_digits(value);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// One row for each desk and direction.
pub(crate) fn rates(flows: &[Flow]) -> Table {
    let mut table = Table::new(&[
        ("desk", Side::Left),
        ("array", Side::Left),
        ("port", Side::Left),
        ("direction", Side::Left),
        ("MB/s", Side::Right),
        ("5 %", Side::Right),
        ("95 %", Side::Right),
        ("100 GB, min", Side::Right),
        ("limited by", Side::Left),
    ]);
    for flow in flows {
        let r = flow.megabytes_per_s;
        table.row(vec![
            flow.desk.clone(),
            flow.array.clone(),
            flow.port.clone(),
            flow.direction.word().to_owned(),
            rate(r.p50),
            rate(r.p05),
            rate(r.p95),
            minutes(flow.hundred_gigabytes_s.p50),
            limits(flow),
        ]);
    }
    narrow(table)
}

/// Leaves out the columns that say the same in every row.
fn narrow(table: Table) -> Table {
    let template = table.clone();
    narrow_by(table, &template)
}

pub(crate) fn narrow_by(mut table: Table, template: &Table) -> Table {
    for head in ["array", "port"] {
        if template.same(head) || !template.has(head) {
            table = table.without(head);
        }
    }
    table
}
