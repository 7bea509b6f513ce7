//! Says where changes of a program can be put in as branches.
//!
//! Reads a JSON list of changes: a file, where the change begins and ends, and whether it puts a value in place of a whole body. Writes a
//! JSON list of the same length: the smallest expression around each change, or the place where the body begins. Lines and
//! columns are those of `proc_macro2`: lines from 1, columns in characters from 0, ends behind the last.

use std::collections::HashMap;
use std::error::Error;
use std::io;

use proc_macro2::{LineColumn, Span};
use serde::{Deserialize, Serialize};
use syn::spanned::Spanned;
use syn::visit::{self, Visit};
use syn::{Block, Expr, File, Pat, Signature, Type};

#[derive(Deserialize)]
struct Change {
    file: String,
    start: [usize; 2],
    end: [usize; 2],
    body: bool,
}

/// Where a change goes.
#[derive(Clone, Serialize)]
struct Place {
    /// `value` or `block` (an expression that ends with a brace), `body`, `constant` (worked out before the program runs) or `none`.
    kind: &'static str,
    start: [usize; 2],
    end: [usize; 2],
    /// Where the word `const` of the function around it stands.
    constant: Option<[usize; 2]>,
}

struct Search<'a> {
    change: &'a Change,
    found: Option<Place>,
    function: Option<[usize; 2]>,
    is_constant: bool,
}

fn pair(at: LineColumn) -> [usize; 2] {
    [at.line, at.column]
}

impl Search<'_> {
    fn is_in(&self, span: Span) -> bool {
        pair(span.start()) <= self.change.start && self.change.end <= pair(span.end())
    }

    fn found(&mut self, kind: &'static str, start: LineColumn, end: LineColumn) {
        self.found = Some(Place {
            kind: if self.is_constant { "constant" } else { kind },
            start: pair(start),
            end: pair(end),
            constant: self.function,
        });
    }

    fn function(&mut self, signature: &Signature, body: &Block) {
        if !self.is_in(body.span()) {
            return;
        }
        let above = self.function;
        self.function = signature.constness.map(|word| pair(word.span.start()));
        if self.change.body {
            let start = body.brace_token.span.open().end();
            self.found("body", start, body.brace_token.span.close().start());
        }
        visit::visit_block(self, body);
        self.function = above;
    }

    fn constant(&mut self, expression: &Expr) {
        let above = std::mem::replace(&mut self.is_constant, true);
        self.visit_expr(expression);
        self.is_constant = above;
    }
}

impl<'ast> Visit<'ast> for Search<'_> {
    fn visit_expr(&mut self, expression: &'ast Expr) {
        if !self.is_in(expression.span()) {
            return;
        }
        let kind = match expression {
            // stands only where a condition does
            Expr::Let(_) => None,
            Expr::Block(_)
            | Expr::ForLoop(_)
            | Expr::If(_)
            | Expr::Loop(_)
            | Expr::Match(_)
            | Expr::Unsafe(_)
            | Expr::While(_) => Some("block"),
            _ => Some("value"),
        };
        if let (Some(kind), false) = (kind, self.change.body) {
            self.found(kind, expression.span().start(), expression.span().end());
        }
        if let Expr::Repeat(repeat) = expression {
            self.visit_expr(&repeat.expr);
            self.constant(&repeat.len);
        } else {
            visit::visit_expr(self, expression);
        }
    }

    // nothing can branch in a pattern
    fn visit_pat(&mut self, _: &'ast Pat) {}

    fn visit_type(&mut self, _: &'ast Type) {}

    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        self.function(&item.sig, &item.block);
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        self.function(&item.sig, &item.block);
    }

    fn visit_trait_item_fn(&mut self, item: &'ast syn::TraitItemFn) {
        if let Some(block) = &item.default {
            self.function(&item.sig, block);
        }
    }

    fn visit_item_const(&mut self, item: &'ast syn::ItemConst) {
        self.constant(&item.expr);
    }

    fn visit_item_static(&mut self, item: &'ast syn::ItemStatic) {
        self.constant(&item.expr);
    }

    fn visit_impl_item_const(&mut self, item: &'ast syn::ImplItemConst) {
        self.constant(&item.expr);
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let changes: Vec<Change> = serde_json::from_reader(io::stdin())?;
    let mut files: HashMap<&str, File> = HashMap::new();
    let mut places = Vec::new();
    for change in &changes {
        if !files.contains_key(change.file.as_str()) {
            files.insert(&change.file, syn::parse_file(&std::fs::read_to_string(&change.file)?)?);
        }
        let mut search = Search {
            change,
            found: None,
            function: None,
            is_constant: false,
        };
        search.visit_file(&files[change.file.as_str()]);
        places.push(search.found.unwrap_or(Place {
            kind: "none",
            start: change.start,
            end: change.end,
            constant: None,
        }));
    }
    serde_json::to_writer(io::stdout(), &places)?;
    Ok(())
}
