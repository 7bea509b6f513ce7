use std::path::Path;

/// A sentence with what it means.
#[derive(Clone, Debug)]
pub(crate) struct Said {
    pub(crate) text: String,
    /// The id of a remark, `reading` or `none`.
    pub(crate) means: String,
    /// What a reading is of, and which way.
    pub(crate) kind: String,
    pub(crate) way: String,
    pub(crate) low: Option<f64>,
    pub(crate) high: Option<f64>,
    pub(crate) unit: String,
    pub(crate) author: String,
}

impl Said {
    /// All of them, in the order of their files.
    pub(crate) fn all() -> Vec<Self> {
        ["remarks", "readings", "none", "ours", "ours-readings"]
            .iter()
            .flat_map(|name| read(name))
            .collect()
    }
}

fn read(name: &str) -> Vec<Said> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/said/{name}.csv"));
    let mut reader = csv::Reader::from_path(&path).unwrap();
    let head = reader.headers().unwrap().clone();
    let at = |column: &str| head.iter().position(|h| h == column);
    let one = |row: &csv::StringRecord| {
        let field = |column: &str| at(column).map_or("", |i| &row[i]).to_owned();
        Said {
            text: field("text"),
            means: if at("what").is_some() {
                "reading".to_owned()
            } else {
                field("id")
            },
            kind: field("what"),
            way: field("direction"),
            low: field("value_low").parse().ok(),
            high: field("value_high").parse().ok(),
            unit: field("unit"),
            author: field("author"),
        }
    };
    reader.records().map(|row| one(&row.unwrap())).collect()
}
