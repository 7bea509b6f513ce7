use crate::render::table::wrapped;
use narrows_core::working::Step;
use std::fmt::Write;

/// A step with the steps that lead to it below, each once.
pub(crate) struct Steps<'a> {
    all: &'a [Step],
    width: usize,
    done: Vec<usize>,
    out: String,
}

/// How the step at `root` comes about.
pub(crate) fn tree(all: &[Step], root: usize, symbol: &str, width: usize) -> String {
    trees(all, &[(symbol, root)], width)
}

/// How several steps come about, one after the other; what was told once is not told again.
pub(crate) fn trees(all: &[Step], roots: &[(&str, usize)], width: usize) -> String {
    let mut steps = Steps {
        all,
        width,
        done: Vec::new(),
        out: String::new(),
    };
    for (symbol, root) in roots {
        steps.step(*root, symbol, 1);
    }
    steps.out
}

impl Steps<'_> {
    fn step(&mut self, index: usize, symbol: &str, depth: usize) {
        let Some(step) = self.all.get(index) else {
            return;
        };
        let indent = depth * 2;
        let mut text = format!("{symbol} = {}: {}", step.result, step.name);
        if !step.formula.is_empty() {
            let _ = write!(text, " = {}", step.formula);
        }
        let again = self.done.contains(&index);
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
            self.out,
            "{}{}",
            " ".repeat(indent),
            wrapped(&text, self.width.saturating_sub(indent + 4).max(30))
                .join(&format!("\n{}", " ".repeat(indent + 4)))
        );
        if again {
            return;
        }
        self.done.push(index);
        for (symbol, input) in &step.inputs {
            self.step(*input, symbol, depth + 1);
        }
    }
}
