use crate::arguments::Budget;
use crate::render::prose::{duration, item, minutes, paragraph, rate, sentence, share};
use crate::render::table::{Side, Table, wrapped};
use narrows_core::budget::{Answer, Change, Flow, FlowHop, HopKind, Limit};
use narrows_core::quantity::{three_digits, units};
use narrows_core::work::{Activity, Direction};
use std::fmt::Write;

/// Everything that is shown.
pub(super) struct Shown<'a> {
    pub arguments: &'a Budget,
    pub before: &'a Answer,
    pub after: Option<&'a Answer>,
    pub changes: &'a [Change],
    pub width: usize,
}

impl Shown<'_> {
    fn latest(&self) -> &Answer {
        self.after.unwrap_or(self.before)
    }

    /// The main table, for any format.
    pub(super) fn table(&self) -> Table {
        if self.after.is_some() {
            self.comparison()
        } else {
            rates(&self.before.flows)
        }
    }

    /// The answer for a person.
    pub(super) fn text(&self) -> String {
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

    fn transfers(&self, out: &mut String) {
        let flows = &self.latest().flows;
        let Some(size) = flows
            .iter()
            .find_map(|f| f.transfer.as_ref())
            .map(|t| &t.size)
        else {
            return;
        };
        let mut table = Table::new(&[
            ("desk", Side::Left),
            ("array", Side::Left),
            ("port", Side::Left),
            ("direction", Side::Left),
            ("first MB/s", Side::Right),
            ("later MB/s", Side::Right),
            ("closes min", Side::Right),
            ("safe min", Side::Right),
            ("drops", Side::Left),
        ]);
        for flow in flows {
            let Some(t) = &flow.transfer else { continue };
            let drops = match (&t.drops_after, &t.because) {
                (Some(after), Some(because)) if t.drops_probability >= 0.05 => format!(
                    "in {} of cases, after {after}: {because}",
                    share(t.drops_probability)
                ),
                _ => "no".to_owned(),
            };
            table.row(vec![
                flow.desk.clone(),
                flow.array.clone(),
                flow.port.clone(),
                flow.direction.word().to_owned(),
                rate(t.first_megabytes_per_s.p50),
                rate(t.later_megabytes_per_s.p50),
                minutes(t.dialog_closes_s.p50),
                minutes(t.data_safe_s.p50),
                drops,
            ]);
        }
        let _ = writeln!(out, "\nOne copy of {size}:");
        out.push_str(&narrow_by(table, &rates(flows)).text(self.width));
        let text = "closes: the copy dialog goes away. safe: the data are on drives, not in \
            memory; do not empty a card before that.";
        let _ = writeln!(out, "{}", paragraph(text, self.width, 0));
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
        let mut best: Option<(f64, String)> = None;
        for flow in &self.latest().flows {
            if let Some(u) = flow.worth_finding_out() {
                let p = flow.megabytes_per_s;
                let width = (p.p95 / p.p05).get::<units::ratio::one>().ln().max(0.0);
                let weight = u.share * width;
                if best.as_ref().is_none_or(|(w, _)| weight > *w) {
                    let whose = if flow.desk.is_empty() {
                        flow.array.clone()
                    } else {
                        flow.desk.clone()
                    };
                    best = Some((
                        weight,
                        format!(
                            "What would narrow the answers most: {} (now {}), behind {} of the \
                             scatter of {whose}.{}",
                            u.id,
                            u.text,
                            share(u.share),
                            self.how_to_find(&u.id)
                        ),
                    ));
                }
            }
        }
        best.filter(|(weight, _)| *weight > 0.05)
            .map(|(_, text)| text)
    }

    /// How the number of a hop comes about, for every flow that passes it.
    pub(super) fn why(&self, id: &str) -> Result<String, String> {
        let answer = self.latest();
        let mut out = String::new();
        let mut known: Vec<&str> = Vec::new();
        let mut shown: Vec<String> = Vec::new();
        for flow in &answer.flows {
            for hop in &flow.hops {
                if !known.contains(&hop.id.as_str()) {
                    known.push(&hop.id);
                }
            }
            let Some(hop) = flow.hop(id) else { continue };
            let text = self.working(flow, hop);
            // the same hop has the same working for every desk
            if !shown.contains(&text) {
                let whose = if flow.desk.is_empty() {
                    String::new()
                } else {
                    format!(" (as {} {}s)", flow.desk, flow.direction.word())
                };
                let _ = writeln!(
                    out,
                    "{}{}, {}: {}{whose}\n{text}",
                    if out.is_empty() { "" } else { "\n" },
                    hop.id,
                    flow.direction.word(),
                    hop.label
                );
                shown.push(text);
            }
        }
        if out.is_empty() {
            return Err(format!("hops on the way: {}", known.join(", ")));
        }
        out.push_str(&paragraph(
            "Values are medians, with the 5th and 95th percentile where something is not known.",
            self.width,
            0,
        ));
        out.push('\n');
        Ok(out)
    }

    fn working(&self, flow: &Flow, hop: &FlowHop) -> String {
        let mut out = String::new();
        let mut done = Vec::new();
        if let Some(step) = hop.step {
            self.step(flow, step, "X", 1, &mut done, &mut out);
        }
        out
    }

    fn step(
        &self,
        flow: &Flow,
        index: usize,
        symbol: &str,
        depth: usize,
        done: &mut Vec<usize>,
        out: &mut String,
    ) {
        let Some(step) = flow.steps.get(index) else {
            return;
        };
        let indent = depth * 2;
        let mut text = format!("{symbol} = {}: {}", step.result, step.name);
        if !step.formula.is_empty() {
            let _ = write!(text, " = {}", step.formula);
        }
        let again = done.contains(&index);
        if again {
            text.push_str(" (above)");
        } else if !step.source.is_empty() {
            let _ = write!(text, " [{}]", step.source);
        }
        if let Some(id) = &step.id
            && !again
        {
            let _ = write!(text, " {id}");
        }
        let _ = writeln!(
            out,
            "{}{}",
            " ".repeat(indent),
            wrapped(&text, self.width.saturating_sub(indent + 4).max(30))
                .join(&format!("\n{}", " ".repeat(indent + 4)))
        );
        if again {
            return;
        }
        done.push(index);
        for (symbol, input) in &step.inputs {
            self.step(flow, *input, symbol, depth + 1, done, out);
        }
    }
}

/// Site paths in short: those that differ only in the name are counted.
fn together<'a>(ids: impl Iterator<Item = &'a str>) -> String {
    let mut kinds: Vec<(String, usize, &str)> = Vec::new();
    for id in ids {
        let mut parts: Vec<&str> = id.split('.').collect();
        if let Some(name) = parts.get_mut(1) {
            *name = "*";
        }
        let kind = parts.join(".");
        match kinds.iter_mut().find(|(k, ..)| *k == kind) {
            Some((_, count, _)) => *count += 1,
            None => kinds.push((kind, 1, id)),
        }
    }
    kinds
        .into_iter()
        .map(|(kind, count, first)| {
            if count == 1 {
                first.to_owned()
            } else {
                format!("{kind} ({count} of them)")
            }
        })
        .collect::<Vec<_>>()
        .join(", ")
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
fn rates(flows: &[Flow]) -> Table {
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

fn narrow_by(mut table: Table, template: &Table) -> Table {
    for head in ["array", "port"] {
        if template.same(head) || !template.has(head) {
            table = table.without(head);
        }
    }
    table
}

fn limits(flow: &Flow) -> String {
    let worth: Vec<&Limit> = flow
        .limits
        .iter()
        .filter(|l| l.share >= 0.1)
        .take(3)
        .collect();
    worth
        .iter()
        .map(|l| {
            let names: Vec<String> = l.hops.iter().map(|h| name_of(flow, h)).collect();
            let names = names.join(" with ");
            if l.share > 0.99 {
                names
            } else {
                format!("{names} {}", share(l.share))
            }
        })
        .collect::<Vec<_>>()
        .join(", ")
}

/// A hop in a few words.
fn name_of(flow: &Flow, id: &str) -> String {
    let Some(hop) = flow.hop(id) else {
        return id.to_owned();
    };
    match hop.kind {
        HopKind::Array => format!("array {}", hop.label),
        HopKind::Link => {
            let range = hop.ceiling_megabytes_per_s;
            // a run that may fall back has no one rate to name
            let certain = range.p05 > range.p95 * narrows_core::quantity::ratio(0.8);
            let at = hop
                .link_megabits_per_s
                .filter(|_| certain)
                .map_or(String::new(), |r| format!(" at {r}"));
            format!("{id}{at}")
        }
        HopKind::Disk => "own disk".to_owned(),
        HopKind::Bus => hop.note.clone(),
        HopKind::Processor | HopKind::Window | HopKind::Requests | HopKind::Files => {
            hop.label.clone()
        }
    }
}

/// After over before, as a range where there is one.
fn times(change: &Change) -> String {
    let (low, high) = (
        three_digits(change.factor_p05),
        three_digits(change.factor_p95),
    );
    if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

fn meaning(change: &Change) -> String {
    if !change.noticeable {
        return "no difference you would notice".to_owned();
    }
    match (change.gains_probability, change.loses_probability) {
        (g, l) if l < 0.01 && g > 0.99 => "faster".to_owned(),
        (g, l) if g < 0.01 && l > 0.99 => "slower".to_owned(),
        (g, l) if l < 0.01 => format!("faster in {} of cases", share(g)),
        (g, l) if g < 0.01 => format!("slower in {} of cases", share(l)),
        (g, l) => format!("faster in {}, slower in {} of cases", share(g), share(l)),
    }
}

/// The answer in a sentence or two.
fn headline(flows: &[Flow]) -> String {
    let by = |flow: &Flow| {
        flow.limits.first().map_or(String::new(), |l| {
            format!(", held back by {}", places_of(flow, &l.hops))
        })
    };
    if let [read, write] = flows
        && read.desk == write.desk
        && read.direction == Direction::Read
        && write.direction == Direction::Write
    {
        let subject = if read.desk.is_empty() {
            format!("On its own NAS, {} is", read.array)
        } else {
            format!("{} gets", read.desk)
        };
        let (r, w) = (by(read), by(write));
        let (r_rate, w_rate) = (
            rate(read.megabytes_per_s.p50),
            rate(write.megabytes_per_s.p50),
        );
        let verb = if read.desk.is_empty() { "read at" } else { "" };
        return if r == w {
            format!("{subject} {verb} {r_rate} MB/s reading and {w_rate} MB/s writing{r}; 100 GB take {} to read.", duration(read.hundred_gigabytes_s.p50))
        } else {
            format!("{subject} {verb} {r_rate} MB/s reading{r}, and {w_rate} MB/s writing{w}.")
        }
        .replace("gets  ", "gets ")
        .replace("is read at", "gives");
    }
    let key = |f: &&Flow| narrows_core::quantity::in_megabytes_per_second(f.megabytes_per_s.p50);
    let fastest = flows.iter().max_by(|a, b| key(a).total_cmp(&key(b)));
    let slowest = flows.iter().min_by(|a, b| key(a).total_cmp(&key(b)));
    let (Some(fastest), Some(slowest)) = (fastest, slowest) else {
        return String::new();
    };
    let say = |f: &Flow| {
        let who = if f.desk.is_empty() { &f.array } else { &f.desk };
        format!(
            "{who} {}s {} MB/s{}",
            f.direction.word(),
            rate(f.megabytes_per_s.p50),
            by(f)
        )
    };
    format!("Slowest: {}. Fastest: {}.", say(slowest), say(fastest))
}

/// One place, or several equally slow ones.
fn places_of(flow: &Flow, ids: &[String]) -> String {
    if let [id] = ids {
        return place_of(flow, id);
    }
    let notes: Vec<&str> = ids
        .iter()
        .filter_map(|id| flow.hop(id))
        .map(|h| h.note.as_str())
        .collect();
    let note = match notes.split_first() {
        Some((first, rest)) if rest.iter().all(|n| n == first) => format!(" ({first})"),
        Some((first, _)) => format!(" ({first})"),
        None => String::new(),
    };
    format!("{}, equally slow{note}", ids.join(" and "))
}

fn place_of(flow: &Flow, id: &str) -> String {
    let Some(hop) = flow.hop(id) else {
        return id.to_owned();
    };
    match hop.kind {
        HopKind::Array => format!("the array ({})", hop.label),
        HopKind::Link => format!("{id}, {} ({})", hop.label, hop.note),
        HopKind::Disk => "the desk's own disk".to_owned(),
        HopKind::Bus | HopKind::Processor => format!("{} ({})", hop.label, hop.note),
        HopKind::Window | HopKind::Requests | HopKind::Files => hop.label.clone(),
    }
}
