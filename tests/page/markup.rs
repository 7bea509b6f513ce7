//! As much of HTML as our own pages use.

/// A tag as it stands in the page.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Tag {
    pub name: String,
    pub attributes: Vec<(String, String)>,
    /// Where the text behind it begins.
    pub end: usize,
}

impl Tag {
    pub(crate) fn value(&self, name: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(known, _)| known == name);
        found.map(|(_, value)| value.as_str())
    }
}

/// Every opening tag outside of the style; closing tags come with a stroke before their name.
pub(crate) fn tags(page: &str) -> Vec<Tag> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(open) = page[at..].find('<') {
        let start = at + open + 1;
        // a bracket inside a value would end the tag too early
        let mut quoted = false;
        let length = page[start..]
            .find(|c: char| {
                quoted ^= c == '"';
                c == '>' && !quoted
            })
            .unwrap();
        let inner = &page[start..start + length];
        let end = start + length + 1;
        at = end;
        let (name, rest) = inner.split_once(' ').unwrap_or((inner, ""));
        let mut attributes = Vec::new();
        let mut left = rest.trim();
        while !left.is_empty() {
            let (key, after) = left.split_at(left.find(['=', ' ']).unwrap_or(left.len()));
            if let Some(value) = after.strip_prefix("=\"") {
                let close = value.find('"').unwrap();
                attributes.push((key.to_owned(), unescaped(&value[..close])));
                left = value[close + 1..].trim();
            } else {
                attributes.push((key.to_owned(), String::new()));
                left = after.trim();
            }
        }
        found.push(Tag {
            name: name.to_owned(),
            attributes,
            end,
        });
        if name == "style" {
            at = page[at..]
                .find("</style>")
                .map_or(page.len(), |close| at + close);
        }
    }
    found
}

/// Text as it is read.
pub(crate) fn unescaped(text: &str) -> String {
    text.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&amp;", "&")
}

/// A page without some of its elements, from their opening tag to their closing one; they are not nested.
pub(crate) fn without(page: &str, open: &str, close: &str) -> String {
    let mut out = String::new();
    let mut left = page;
    while let Some(start) = left.find(open) {
        out.push_str(&left[..start]);
        out.push(' ');
        left = &left[start..];
        left = left
            .find(close)
            .map_or("", |end| &left[end + close.len()..]);
    }
    out.push_str(left);
    out
}

/// All text between tags, without the style.
pub(crate) fn visible(page: &str) -> String {
    let page = without(page, "<style>", "</style>");
    let mut out = String::new();
    let mut left = page.as_str();
    while let Some(open) = left.find('<') {
        out.push_str(&left[..open]);
        // inline elements part no words
        let inline = [
            "<span", "</span", "<strong", "</strong", "<bdi", "</bdi", "<tspan", "</tspan",
        ];
        if !inline.iter().any(|tag| left[open..].starts_with(tag)) {
            out.push(' ');
        }
        left = left[open..]
            .find('>')
            .map_or("", |end| &left[open + end + 1..]);
    }
    out.push_str(left);
    unescaped(&out)
}
