use super::*;
use narrows_units::quantity::{bytes, megabytes_per_second, seconds};
use std::sync::atomic::AtomicU32;

static NEXT: AtomicU32 = AtomicU32::new(0);

struct Scratch(PathBuf);

impl Scratch {
    fn new() -> Self {
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let at =
            std::env::temp_dir().join(format!("narrows-files-{}-{number}", std::process::id()));
        std::fs::create_dir_all(&at).unwrap();
        Self(at)
    }
    fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(&self.0).unwrap();
        entries
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect()
    }
    fn asked(&self, megabytes: u64) -> Asked {
        Asked {
            folder: self.0.clone(),
            bytes: megabytes * 1_000_000,
            time: Duration::from_secs(300),
            at_once: 0,
            small: 30,
            settle: Duration::ZERO,
        }
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

#[test]
fn validate_size_of_a_test() {
    let gb = |n: f64| bytes(n * 1e9);
    for (m, r, t, f, reserve, cap, size, short) in [
        (16.0, 0.112, 20.0, 400.0, 20.0, 64.0, 32.0, false),
        (16.0, 0.112, 20.0, 30.0, 20.0, 64.0, 10.0, true),
        (8.0, 1.1, 20.0, 400.0, 20.0, 64.0, 22.0, false),
    ] {
        let found = size_of_test(
            gb(m),
            megabytes_per_second(r * 1e3),
            seconds(t),
            gb(f),
            gb(reserve),
            gb(cap),
        );
        assert!(
            (found.size.value / gb(size).value - 1.0).abs() < 1e-12,
            "{found:?}"
        );
        assert_eq!(found.short_of_memory, short);
    }
    let none = size_of_test(
        gb(1.0),
        megabytes_per_second(1.0),
        seconds(1.0),
        gb(1.0),
        gb(2.0),
        gb(9.0),
    );
    assert_eq!(none.size, bytes(0.0));
    assert!(is_small(gb(0.1), gb(10.0)) && !is_small(gb(0.11), gb(10.0)));
    assert_eq!(reserve(gb(10.0)), gb(2.0));
    assert_eq!(reserve(gb(1000.0)), gb(50.0));
}

#[test]
fn verify_a_run_in_a_folder_of_its_own() {
    let scratch = Scratch::new();
    std::fs::write(scratch.0.join("picture.tif"), b"kept").unwrap();
    let mut told = Vec::new();
    let found = measure(&scratch.asked(40), &AtomicBool::new(false), &mut |p| {
        told.push(p.stage);
    })
    .unwrap();
    assert_eq!(
        (found.written.bytes, found.read.bytes),
        (40_000_000, 40_000_000)
    );
    assert!(found.written.until_safe >= found.written.until_last_write);
    let counted: u64 = found.written.windows.iter().map(|w| w.bytes).sum();
    // what is left of a window at the end is in none where it is shorter than half of one
    assert!((1..=40_000_000).contains(&counted), "{counted}");
    assert!(found.read.judged.unwrap().rate.mean > 0.0);
    let small = found.small.unwrap();
    assert_eq!(small.count, 30);
    assert!(found.opening.unwrap().create.median > 0.0);
    assert!(told.contains(&Stage::Syncing));
    assert_eq!(scratch.names(), ["picture.tif"]);
    assert_eq!(
        std::fs::read(scratch.0.join("picture.tif")).unwrap(),
        b"kept"
    );
}

#[test]
fn verify_several_files_at_once() {
    let scratch = Scratch::new();
    let asked = Asked {
        at_once: 3,
        small: 0,
        settle: Duration::from_millis(80),
        ..scratch.asked(40)
    };
    let mut told = Vec::new();
    let found = measure(&asked, &AtomicBool::new(false), &mut |p| told.push(p.stage)).unwrap();
    assert_eq!(told[0], Stage::Waking);
    assert!(found.woken.is_some());
    let several = found.several.unwrap();
    // a quarter of 40 MB in three files of whole bytes
    let each = 10_000_000 / 3;
    assert_eq!(
        (several.files, several.written.bytes, several.read.bytes),
        (3, 3 * each, 3 * each)
    );
    for windows in [&several.written.windows, &several.read.windows] {
        let counted: u64 = windows.iter().map(|w| w.bytes).sum();
        assert!(!windows.is_empty() && counted <= 3 * each);
    }
    assert!(several.written.until_safe >= several.written.until_last_write);
    assert!(scratch.names().is_empty());
    // a stop ends all threads, and nothing is left
    let stop = AtomicBool::new(false);
    let ended = measure(
        &Asked {
            bytes: 400_000_000,
            ..asked
        },
        &stop,
        &mut |p| stop.store(p.stage == Stage::Several, Ordering::Relaxed),
    );
    assert!(matches!(ended, Err(Trouble::Stopped) | Ok(_)), "{ended:?}");
    assert!(scratch.names().is_empty());
}

#[test]
fn verify_a_file_is_read_whole_whether_past_memory_or_not() {
    let scratch = Scratch::new();
    let stop = AtomicBool::new(false);
    // ends inside a block, at a block, and before the first one
    for bytes in [9_000_001, 8 << 20, 700] {
        let caps = Caps {
            bytes,
            time: Duration::from_secs(60),
            stop: &stop,
        };
        let mut own = own::OwnFile::create(&scratch.0).unwrap();
        let mut ring = Ring::of_size(5, 1 << 20);
        pieces::write(&mut own, &mut ring, &caps, &mut |_| {}).unwrap();
        own.file.sync_all().unwrap();
        let mut read = 0;
        let past = pieces::read(&mut own, &ring, &caps, &mut |more| read += more).unwrap();
        assert_eq!(read, bytes);
        assert!(bytes > 4096 || !past.direct);
        // one byte that is not what was written is noticed either way
        let mut all = std::fs::read(&own.path).unwrap();
        if let Some(byte) = all.get_mut(8192) {
            *byte ^= 1;
            std::fs::write(&own.path, &all).unwrap();
            own.file.sync_all().unwrap();
            let spoilt = pieces::read(&mut own, &ring, &caps, &mut |_| {});
            assert!(matches!(spoilt, Err(Trouble::Differs(_))), "{spoilt:?}");
        }
    }
}

#[test]
fn verify_no_cap_is_passed() {
    let scratch = Scratch::new();
    let asked = Asked {
        time: Duration::ZERO,
        ..scratch.asked(1)
    };
    let caps = Caps {
        bytes: 3_000_001,
        time: Duration::from_secs(60),
        stop: &AtomicBool::new(false),
    };
    let (written, read) = large_file(&scratch.0, &caps, &mut |_| {}).unwrap();
    assert_eq!((written.bytes, read.bytes), (3_000_001, 3_000_001));
    // no time: nothing is written, and it ends
    assert!(measure(&asked, &AtomicBool::new(false), &mut |_| {}).is_err());
    assert!(scratch.names().is_empty());
}

#[test]
fn verify_a_stop_leaves_nothing() {
    let scratch = Scratch::new();
    let stop = AtomicBool::new(false);
    let mut seen = false;
    let ended = measure(
        &Asked {
            bytes: 4_000_000_000,
            ..scratch.asked(0)
        },
        &stop,
        &mut |progress| {
            seen |= progress.stage == Stage::Writing && scratch.names().len() == 1;
            stop.store(true, Ordering::Relaxed);
        },
    );
    assert_eq!(ended, Err(Trouble::Stopped));
    assert!(seen && scratch.names().is_empty());
}

#[test]
fn verify_only_folders_of_people() {
    let scratch = Scratch::new();
    let file = scratch.0.join("file");
    std::fs::write(&file, b"x").unwrap();
    assert!(matches!(fit(&file), Err(Trouble::NoFolder(_))));
    assert!(matches!(
        fit(&scratch.0.join("nothing")),
        Err(Trouble::Refused(..))
    ));
    if cfg!(target_os = "linux") {
        for folder in ["/proc", "/sys/kernel", "/dev"] {
            assert!(
                matches!(fit(Path::new(folder)), Err(Trouble::OfTheSystem(_))),
                "{folder}"
            );
        }
    }
}

#[test]
fn verify_what_a_killed_run_left_is_found_and_removed() {
    let scratch = Scratch::new();
    let own = scratch.0.join("narrows-test-0123456789abcdef.tmp");
    let folder = scratch.0.join("narrows-test-00000000000000ff.tmp");
    std::fs::write(&own, b"x").unwrap();
    std::fs::create_dir(&folder).unwrap();
    std::fs::write(folder.join("7"), b"x").unwrap();
    for other in [
        "narrows-test-012345678.tmp",
        "narrows-test-0123456789ABCDEF.tmp",
        "notes.tmp",
    ] {
        std::fs::write(scratch.0.join(other), b"x").unwrap();
    }
    // just written: perhaps of a run that goes on
    assert!(left_over(&scratch.0).is_empty());
    let found = own::left_over_for(&scratch.0, Duration::ZERO);
    assert_eq!(found, [folder.clone(), own.clone()]);
    std::fs::write(folder.join("notes"), b"somebody's").unwrap();
    assert!(remove_left_over(&folder).is_err());
    assert!(folder.join("notes").exists() && !folder.join("7").exists());
    remove_left_over(&own).unwrap();
    assert!(remove_left_over(&scratch.0.join("notes.tmp")).is_err());
    assert_eq!(scratch.names().len(), 4);
}

#[test]
fn verify_a_full_drive_ends_with_its_reason() {
    let full = std::io::Error::from(std::io::ErrorKind::StorageFull);
    assert_eq!(Trouble::of("writing", &full), Trouble::Full);
    let gone = std::io::Error::from(std::io::ErrorKind::NotConnected);
    let text = Trouble::of("writing", &gone).to_string();
    assert!(text.starts_with("writing failed: "), "{text}");
}

#[cfg(unix)]
#[test]
fn verify_a_link_in_the_way_is_never_followed() {
    let scratch = Scratch::new();
    let elsewhere = Scratch::new();
    let target = elsewhere.0.join("picture");
    std::fs::write(&target, b"kept").unwrap();
    let link = scratch.0.join("narrows-test-0123456789abcdef.tmp");
    std::os::unix::fs::symlink(&target, &link).unwrap();
    assert!(own::left_over_for(&scratch.0, Duration::ZERO).is_empty());
    remove_left_over(&link).unwrap();
    assert_eq!(std::fs::read(target).unwrap(), b"kept");
}
