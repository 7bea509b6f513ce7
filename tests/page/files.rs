use crate::{Folder, SITE};
use narrows_tests::{built, narrows, root};
use std::io::Write;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

#[test]
fn a_page_replaces_a_page_and_nothing_else() {
    let folder = Folder::new("files");
    let page = folder.path("page.html");
    for _ in 0..2 {
        let ran = narrows(&["report", SITE, "-o", &page]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(ran.out.contains(&page), "{}", ran.out);
    }
    let other = folder.file("site.toml", "name = \"mine\"\n");
    let ran = narrows(&["report", SITE, "-o", &other]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("no page of this program"), "{}", ran.err);
    assert_eq!(
        std::fs::read_to_string(&other).unwrap(),
        "name = \"mine\"\n"
    );
    let left: Vec<String> = std::fs::read_dir(&folder.0)
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.contains("new"))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

#[test]
fn what_cannot_be_read_or_written_is_said() {
    let folder = Folder::new("faults");
    let page = folder.path("page.html");
    let broken = "tests/sites/broken/unknown-key.toml";
    for (arguments, word) in [
        (vec![broken, "-o", &page], "lenght"),
        (
            vec![SITE, "-o", "/no/such/folder/page.html"],
            "cannot write",
        ),
        (
            vec![SITE, "--jacks", "/no/such/list.csv", "-o", &page],
            "there is no such file",
        ),
        (vec![SITE, "--watch", "-o", "-"], "--watch needs a file"),
    ] {
        let ran = narrows(&[&["report"], &arguments[..]].concat());
        assert_eq!(ran.code, 2, "{arguments:?}");
        assert!(ran.err.contains(word), "{arguments:?}: {}", ran.err);
    }
    assert!(!std::path::Path::new(&page).exists());
}

/// `--open` hands the whole path to whatever opens pages here, and says so where nothing does.
#[cfg(target_os = "linux")]
#[test]
#[allow(clippy::print_stdout)] // what is skipped is said aloud
fn a_page_is_opened_by_what_opens_pages_here() {
    use std::os::unix::fs::PermissionsExt;
    let Some(program) = built() else {
        println!("skipped: the program is not built");
        return;
    };
    let folder = Folder::new("opened");
    let (page, told) = (folder.path("page.html"), folder.path("told"));
    let opener = folder.file(
        "xdg-open",
        &format!(
            "#!/bin/sh\nprintf '%s\\n' \"$@\" > \"{told}.new\"\nmv \"{told}.new\" \"{told}\"\n"
        ),
    );
    std::fs::set_permissions(&opener, std::fs::Permissions::from_mode(0o755)).unwrap();
    let usual = std::env::var("PATH").unwrap();
    let here = folder.0.display().to_string();
    let run = |path: &str| {
        std::process::Command::new(&program)
            .args(["report", SITE, "-o", &page, "--open"])
            .env("PATH", path)
            .current_dir(root())
            .output()
            .unwrap()
    };
    let ran = run(&format!("{here}:{usual}"));
    assert_eq!(ran.status.code(), Some(0), "{ran:?}");
    let until = Instant::now() + Duration::from_secs(60);
    while !std::path::Path::new(&told).exists() && Instant::now() < until {
        std::thread::sleep(Duration::from_millis(20));
    }
    let whole = std::fs::canonicalize(&page).unwrap();
    assert_eq!(
        std::fs::read_to_string(&told).unwrap(),
        format!("{}\n", whole.display())
    );
    let ran = run("/no/such/folder");
    assert_eq!(ran.status.code(), Some(0), "{ran:?}");
    let said = String::from_utf8_lossy(&ran.stderr);
    assert!(
        said.contains("No browser could be opened: open") && said.contains("yourself"),
        "{said}"
    );
}

/// What a run in another thread has written.
#[derive(Clone, Default)]
struct Shared(Arc<Mutex<Vec<u8>>>);

impl Write for Shared {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.lock().unwrap().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

impl Shared {
    fn text(&self) -> String {
        String::from_utf8_lossy(&self.0.lock().unwrap()).into_owned()
    }
}

/// Waits until something is so; a machine that is busy is given a minute.
fn until(what: &str, so: impl Fn() -> bool) {
    let begun = Instant::now();
    while !so() {
        assert!(begun.elapsed() < Duration::from_secs(60), "{what}");
        std::thread::sleep(Duration::from_millis(50));
    }
}

#[test]
fn watching_makes_the_page_anew_and_stops_at_a_file_of_somebody_else() {
    let folder = Folder::new("watch");
    let text = std::fs::read_to_string(root().join(SITE)).unwrap();
    let site = folder.file("site.toml", &text);
    let page = folder.path("page.html");
    let (out, err) = (Shared::default(), Shared::default());
    let thread = {
        let (mut out, mut err) = (out.clone(), err.clone());
        let arguments: Vec<String> = ["narrows", "report", &site, "-o", &page, "--watch"]
            .map(str::to_owned)
            .to_vec();
        std::thread::spawn(move || narrows::run(arguments, &mut out, &mut err, false))
    };
    until("it begins", || out.text().contains("Looking for changes"));
    let has = |word: &str| std::fs::read_to_string(&page).is_ok_and(|page| page.contains(word));
    assert!(has("<h1><bdi>Granary Lane</bdi></h1>"));
    folder.file("site.toml", &text.replace("Granary Lane", "Another Lane"));
    until("the page is made anew", || {
        has("<h1><bdi>Another Lane</bdi></h1>")
    });
    // a fault in between is told, and the page stays
    folder.file("site.toml", "name = 3");
    until("the fault is told", || err.text().contains("error"));
    assert!(has("<h1><bdi>Another Lane</bdi></h1>") && !thread.is_finished());
    // somebody else's page is not written over
    std::fs::write(&page, "mine").unwrap();
    folder.file("site.toml", &text);
    until("it stops", || thread.is_finished());
    assert_eq!(std::fs::read_to_string(&page).unwrap(), "mine");
    assert!(
        err.text().contains("was changed by somebody else"),
        "{}",
        err.text()
    );
    assert_eq!(thread.join().unwrap(), std::process::ExitCode::from(2));
}
