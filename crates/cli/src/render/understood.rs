//! What was understood of a site file, in short, below an answer.

use narrows_core::site::Understood;

/// So many are said; all of them by another command.
const SAID: usize = 3;

/// What was written in a form of its own, said back as it was written; nothing where only case or spaces differ.
pub(crate) fn in_short(all: &[Understood], path: &str) -> Option<String> {
    let bare = |text: &str| -> String {
        let letters = text.chars().filter(|c| c.is_alphanumeric());
        letters.flat_map(char::to_lowercase).collect()
    };
    let worth: Vec<&Understood> = all
        .iter()
        // another name for a section or a key says nothing of the place
        .filter(|one| one.id.contains('.') && bare(&one.said) != bare(&one.meant))
        .collect();
    let said: Vec<String> = worth
        .iter()
        .take(SAID)
        .map(|one| format!("'{}' as {}", one.said, one.meant))
        .collect();
    let more = match worth.len().checked_sub(SAID) {
        None | Some(0) => String::new(),
        Some(more) => format!("; {more} more"),
    };
    let all = match path {
        "standard input" => "narrows check",
        path => &format!("narrows check {path}"),
    };
    (!said.is_empty()).then(|| format!("Understood: {}{more}. All: {all}", said.join("; ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(said: &str, meant: &str) -> Understood {
        Understood {
            id: "run.1".to_owned(),
            said: said.to_owned(),
            meant: meant.to_owned(),
        }
    }

    #[test]
    fn what_differs_in_more_than_case_is_said_back() {
        assert_eq!(
            in_short(&[one("SMB", "smb"), one("8 gb", "8 GB")], "a.toml"),
            None
        );
        let some = [one("10 gig", "10 Gb/s"), one("SMB", "smb")];
        assert_eq!(
            in_short(&some, "a.toml").unwrap(),
            "Understood: '10 gig' as 10 Gb/s. All: narrows check a.toml"
        );
        let many = vec![one("10 gig", "10 Gb/s"); 5];
        let text = in_short(&many, "standard input").unwrap();
        assert!(text.ends_with("; 2 more. All: narrows check"), "{text}");
    }
}
