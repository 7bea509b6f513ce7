//! The table of a site file as a JSON Schema (draft 2020-12), for editors that check and
//! complete as a person types.

use super::schema::{Field, Form, Kept, Need, Section};
use crate::array::Level;
use crate::catalogue::Catalogue;
use std::fmt::Write;

/// A JSON value, as far as the schema needs one.
enum Json {
    Text(String),
    Number(u32),
    Truth(bool),
    List(Vec<Json>),
    Object(Vec<(&'static str, Json)>),
    Named(Vec<(String, Json)>),
}

/// The schema of a site file. The words of its lists come from the catalogue.
pub fn json_schema(catalogue: &Catalogue) -> String {
    let mut schema = vec![
        (
            "$schema",
            text("https://json-schema.org/draft/2020-12/schema"),
        ),
        ("title", text("A site file of narrows")),
    ];
    if let Json::Object(root) = section(catalogue, Section::Site) {
        schema.extend(root);
    }
    let mut out = String::new();
    write(&mut out, &Json::Object(schema), 0);
    out.push('\n');
    out
}

fn text(text: &str) -> Json {
    Json::Text(text.to_owned())
}

fn section(catalogue: &Catalogue, section: Section) -> Json {
    let properties = section
        .fields()
        .map(|f| (f.key.to_owned(), field(catalogue, f)))
        .collect();
    let required = section
        .fields()
        .filter(|f| f.is_required())
        .map(|f| text(f.key))
        .collect();
    Json::Object(vec![
        ("type", text("object")),
        ("properties", Json::Named(properties)),
        ("required", Json::List(required)),
        ("additionalProperties", Json::Truth(false)),
    ])
}

fn field(catalogue: &Catalogue, field: &Field) -> Json {
    let mut schema = match field.form {
        Form::One(inner) => return described(field, section(catalogue, inner)),
        Form::Named(inner) => vec![
            ("type", text("object")),
            ("additionalProperties", section(catalogue, inner)),
        ],
        Form::Numbered(inner) => vec![
            ("type", text("array")),
            ("items", section(catalogue, inner)),
        ],
        Form::Whole { least, most } => vec![
            ("type", text("integer")),
            ("minimum", Json::Number(least)),
            ("maximum", Json::Number(most)),
        ],
        Form::YesNo => vec![(
            "enum",
            Json::List(vec![
                Json::Truth(true),
                Json::Truth(false),
                text("yes"),
                text("no"),
                text("unknown"),
            ]),
        )],
        Form::Layout => vec![(
            "enum",
            Json::List(
                Level::ALL
                    .iter()
                    .map(|l| Json::Text(l.to_string()))
                    .collect(),
            ),
        )],
        Form::Word(list) => vec![("enum", words(catalogue, list))],
        Form::Kept(Kept::Speed | Kept::Number) => {
            vec![("type", Json::List(vec![text("string"), text("number")]))]
        }
        Form::Choice(list) => {
            let mut options = vec![
                Json::Object(vec![("enum", words(catalogue, list))]),
                Json::Object(vec![("type", text("string")), ("pattern", text("%"))]),
            ];
            if list == "yes-no" {
                options.push(Json::Object(vec![("type", text("boolean"))]));
            }
            vec![("anyOf", Json::List(options))]
        }
        _ => vec![("type", text("string"))],
    };
    if let Need::Optional(stands_in) = field.need
        && !matches!(field.form, Form::Named(_))
    {
        schema.push(("$comment", Json::Text(format!("Without it: {stands_in}."))));
    }
    described(field, Json::Object(schema))
}

fn described(field: &Field, schema: Json) -> Json {
    let mut all = vec![(
        "description",
        Json::Text(format!("{} For example {}.", field.doc, field.example)),
    )];
    if let Json::Object(rest) = schema {
        all.extend(rest);
    }
    Json::Object(all)
}

fn words(catalogue: &Catalogue, list: &str) -> Json {
    let known = catalogue.words(list).map(|w| text(&w.word));
    Json::List(known.chain([text("unknown")]).collect())
}

fn write(out: &mut String, json: &Json, depth: usize) {
    match json {
        Json::Text(text) => quoted(out, text),
        Json::Number(number) => out.push_str(&number.to_string()),
        Json::Truth(truth) => out.push_str(if *truth { "true" } else { "false" }),
        Json::List(items) => group(out, ['[', ']'], items.iter().map(|i| (None, i)), depth),
        Json::Object(fields) => group(
            out,
            ['{', '}'],
            fields.iter().map(|(k, v)| (Some(*k), v)),
            depth,
        ),
        Json::Named(fields) => group(
            out,
            ['{', '}'],
            fields.iter().map(|(k, v)| (Some(k.as_str()), v)),
            depth,
        ),
    }
}

fn group<'a>(
    out: &mut String,
    brackets: [char; 2],
    items: impl Iterator<Item = (Option<&'a str>, &'a Json)>,
    depth: usize,
) {
    let [open, close] = brackets;
    out.push(open);
    let mut any = false;
    for (key, value) in items {
        out.push_str(if any { ",\n" } else { "\n" });
        any = true;
        out.push_str(&"  ".repeat(depth + 1));
        if let Some(key) = key {
            quoted(out, key);
            out.push_str(": ");
        }
        write(out, value, depth + 1);
    }
    if any {
        out.push('\n');
        out.push_str(&"  ".repeat(depth));
    }
    out.push(close);
}

fn quoted(out: &mut String, text: &str) {
    out.push('"');
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            c if c.is_control() => {
                // writing into a string cannot fail
                let _ = write!(out, "\\u{:04x}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
}
