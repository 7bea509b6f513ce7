"""Draws changes of the program and asks the tests which of them they notice; see .ci/mutants.

All changes are put into one copy of the tree, each as a branch that is taken where the environment names it, so that the program is
built once and not once a change. Every test is run once by itself without a change and tells which changes it comes by and how
long it takes; a change is then held against the tests that come by it, near and quick ones first, until one fails.

Changes that the compiler does not take are dropped and the next ones drawn take their place. What stands in constants cannot branch at run
time; these are counted apart. Work lies in target/mutants and goes on where it ended; take the folder away to begin anew.
"""

import csv
import json
import math
import os
import pathlib
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import time

HERE = pathlib.Path.cwd()
COPY = HERE / "target/mutants/tree"
TARGET = HERE / "target/mutants/target"
# what makes no answer: benches, tests, the harness of hostile input; and data, which is text
LEFT_OUT = ("benches/", "tests/", "fuzz/", "data/")
# the longest tests come last, and only where no other noticed a change
LONG = "planted"
# a changed test may take so many times as long as the test does, and never less than this
LONGER, SHORTEST_S = 10, 10
# more than any test needs; a change that fills the memory is noticed and harms nobody
MOST_MEMORY = 8 << 30

MUTANT = '''//! Which change is made in this run.

use std::io::Write;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};

static MADE: OnceLock<u32> = OnceLock::new();
static REACHED: [AtomicBool; 4096] = [const { AtomicBool::new(false) }; 4096];
const NOTING: u32 = u32::MAX;

/// Whether the change of this number is made.
#[inline]
pub fn is(number: u32) -> bool {
    let made = *MADE.get_or_init(|| match std::env::var("MUTANT") {
        Ok(text) if text == "note" => NOTING,
        Ok(text) => text.parse().unwrap_or(0),
        Err(_) => 0,
    });
    if made == NOTING {
        note(number);
    }
    made == number
}

#[cold]
fn note(number: u32) {
    if REACHED[number as usize % 4096].swap(true, Ordering::Relaxed) {
        return;
    }
    if let Ok(path) = std::env::var("MUTANT_NOTES")
        && let Ok(mut file) = std::fs::OpenOptions::new().create(true).append(true).open(path)
    {
        let _ = file.write_all(format!("{number}\\n").as_bytes());
    }
}
'''


# --- which changes


def drawn(seed, before):
    """All changes in the order drawn: one of each file in turn. An order that was drawn before stays, whatever the program became."""
    found = json.loads(
        subprocess.run(
            ["cargo", "mutants", "--list", "--json", "--workspace"], check=True, capture_output=True, text=True
        ).stdout
    )
    by_file, by_name, times = {}, {}, {}
    for change in sorted(found, key=lambda c: (c["file"], c["span"]["start"]["line"], c["span"]["start"]["column"])):
        if change["file"].startswith(LEFT_OUT):
            continue
        # without its line, which moves; the same change elsewhere in a file has a number
        what = change["name"].split(": ", 1)[1]
        alike = times[change["file"], what] = times.get((change["file"], what), 0) + 1
        name = f"{change['file']}: {what}" + (f" ({alike})" if alike > 1 else "")
        by_file.setdefault(change["file"], []).append((change["name"], name))
        by_name[name] = {
            "name": name,
            "file": change["file"],
            "start": [change["span"]["start"]["line"], change["span"]["start"]["column"] - 1],
            "end": [change["span"]["end"]["line"], change["span"]["end"]["column"] - 1],
            "put": change["replacement"],
            "body": change["genre"] == "FnValue",
            "made": False,
        }
    print(f"== {len(by_name)} changes in {len(by_file)} files, seed {seed}")
    if before is None:
        luck = random.Random(seed)
        files = sorted(by_file)
        for file in files:
            by_file[file].sort()
            luck.shuffle(by_file[file])
        luck.shuffle(files)
        before = []
        while any(by_file.values()):
            before += [by_file[file].pop()[1] for file in files if by_file[file]]
    return [by_name[name] for name in before if name in by_name]


def made():
    """The changes of the list, cut down to the letters that differ."""
    taken = []
    with open(".ci/made-mutants.csv", encoding="utf-8") as rows:
        for row in csv.DictReader(rows):
            text = (HERE / row["file"]).read_text(encoding="utf-8")
            found, instead = row["found"], row["instead"]
            if text.count(found) != 1:
                sys.exit(f"{row['file']}: {text.count(found)} times {found!r}")
            head = len(os.path.commonprefix([found, instead]))
            tail = min(len(os.path.commonprefix([found[::-1], instead[::-1]])), len(found) - head, len(instead) - head)
            begin = text.index(found) + head
            taken.append(
                {
                    "name": f"{row['file']}: {row['what']}",
                    "file": row["file"],
                    "start": place(text, begin),
                    "end": place(text, text.index(found) + len(found) - tail),
                    "put": instead[head : len(instead) - tail],
                    "body": False,
                    "made": True,
                }
            )
    return taken


def keep(path, value):
    """Writes what goes on where it ended, whole or not at all."""
    beside = path.with_name(path.name + ".new")
    beside.write_text(json.dumps(value, indent=1))
    beside.replace(path)


def place(text, at):
    return [text.count("\n", 0, at) + 1, at - (text.rfind("\n", 0, at) + 1)]


class Text:
    """A file with places as lines and columns."""

    def __init__(self, text):
        self.text = text
        self.lines = [0]
        for line in text.split("\n"):
            self.lines.append(self.lines[-1] + len(line) + 1)

    def at(self, place):
        return self.lines[place[0] - 1] + place[1]


# --- putting changes in


def located(changes):
    """Where each change goes, as the program mutant-places says it."""
    asked = [{k: c[k] for k in ("file", "start", "end", "body")} for c in changes]
    ran = subprocess.run(
        ["cargo", "run", "--quiet", "--locked", "--manifest-path", ".ci/mutant-places/Cargo.toml"],
        input=json.dumps(asked), check=True, capture_output=True, text=True,
        env=dict(os.environ, CARGO_TARGET_DIR=str(HERE / "target/mutants/places")),
    )
    for change, found in zip(changes, json.loads(ran.stdout)):
        change["kind"] = found["kind"]
        change["around"] = [found["start"], found["end"]]
        change["constant"] = found["constant"]


def branched(text, changes):
    """The text of a file with its changes as branches, and where each stands in it: (number, first line, last line)."""
    held = Text(text)
    constants = {held.at(c["constant"]) for c in changes if c["constant"]}
    edits = []
    for change in changes:
        begin, end = map(held.at, change["around"])
        if change["body"]:
            edits.append((begin, begin, end, change, None))
        else:
            first, last = held.at(change["start"]), held.at(change["end"])
            edits.append((begin, end, end, change, text[begin:first] + change["put"] + text[last:end]))
    # the outermost first
    edits.sort(key=lambda edit: (edit[0], -edit[1]))
    out, spans = [], []

    def line():
        return sum(piece.count("\n") for piece in out) + 1

    def plain(begin, end):
        for at in sorted(c for c in constants if begin <= c < end):
            out.append(text[begin:at])
            begin = at + len("const")
        out.append(text[begin:end])

    def write(begin, end, inside):
        while inside:
            (first, last, body, change, other), inside = inside[0], inside[1:]
            nested = [e for e in inside if e[0] >= first and e[1] <= last] if other is not None else []
            inside = [e for e in inside if e not in nested]
            plain(begin, first)
            began = line()
            if other is None:
                out.append(f" if ::mutant::is({change['number']}) {{ return {change['put']}; }} ")
                spans.append((change["number"], began, began + text.count("\n", first, body)))
            else:
                opened, closed = ("{", "}") if change["kind"] == "block" else ("(", ")")
                out.append(f"{opened}if ::mutant::is({change['number']}) {{ {other} }} else {{ ")
                write(first, last, nested)
                out.append(f" }}{closed}")
                spans.append((change["number"], began, line()))
            begin = last
        plain(begin, end)

    write(0, len(text), edits)
    return "".join(out), spans


def written(path, text):
    # what is the same keeps its time, so that cargo does not build it again
    if not (path.is_file() and path.read_text(encoding="utf-8") == text):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


def copied(changes):
    """Writes the copy with the changes in it; says by file where each stands."""
    by_file, spans = {}, {}
    for change in changes:
        by_file.setdefault(change["file"], []).append(change)
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"], check=True, capture_output=True, text=True
    ).stdout
    for name in filter(None, listed.split("\0")):
        here, there = HERE / name, COPY / name
        if not here.is_file():
            continue
        if name in by_file:
            text, spans[name] = branched(here.read_text(encoding="utf-8"), by_file[name])
            written(there, text)
        elif name.startswith("crates/") and name.count("/") == 2 and name.endswith("/Cargo.toml"):
            text = here.read_text(encoding="utf-8").replace("[lints]\nworkspace = true\n", "")
            added = '[dependencies]\nmutant = { path = "../../mutant" }\n'
            text = text.replace("[dependencies]\n", added) if "[dependencies]\n" in text else f"{text}\n{added}"
            # a changed constant may overflow before the program runs
            written(there, text + '\n[lints.rust]\narithmetic_overflow = "allow"\nunconditional_panic = "allow"\n')
        elif name == "Cargo.toml":
            written(there, here.read_text(encoding="utf-8").replace('members = [', 'members = ["mutant", '))
        elif name == "Cargo.lock":
            if not there.is_file():
                shutil.copy(here, there)
        elif not (there.is_file() and there.read_bytes() == here.read_bytes()):
            there.parent.mkdir(parents=True, exist_ok=True)
            there.write_bytes(here.read_bytes())
            shutil.copymode(here, there)
    written(COPY / "mutant/src/lib.rs", MUTANT)
    written(COPY / "mutant/Cargo.toml", '[package]\nname = "mutant"\nversion = "0.1.0"\nedition = "2024"\n')
    return spans


def cargo(*words):
    """Messages of a cargo command as JSON, and whether it was good."""
    environment = dict(os.environ, CARGO_TARGET_DIR=str(TARGET), CARGO_PROFILE_DEV_DEBUG="0")
    ran = subprocess.run(
        ["cargo", *words, "--offline", "--message-format=json"], cwd=COPY, env=environment, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True,
    )
    messages = [json.loads(line) for line in ran.stdout.splitlines() if line.startswith("{")]
    if ran.returncode != 0 and not any(m["reason"] == "compiler-message" for m in messages):
        sys.exit(ran.stderr)
    return messages, ran.returncode == 0


def refused(messages, spans, changes):
    """Numbers of the changes that the compiler speaks of in its errors."""
    by_number = {c["number"]: c for c in changes}
    bad, lost = set(), []
    for message in messages:
        if message["reason"] != "compiler-message" or message["message"]["level"] != "error":
            continue
        told = message["message"]
        if not told["spans"]:
            continue
        hit = set()
        for span in told["spans"]:
            around = [s for s in spans.get(span["file_name"], []) if s[1] <= span["line_start"] and span["line_end"] <= s[2]]
            if around and (span["is_primary"] or not hit):
                hit.add(min(around, key=lambda s: s[2] - s[1])[0])
        # a function that is no constant any more is missed elsewhere
        for word in re.findall(r"`([^`]+)`", told["message"]) if "constant" in told["message"] else []:
            name = re.escape(word.split("::")[-1].rstrip("()"))
            hit |= {n for n, c in by_number.items() if c["constant"] and re.search(rf"( |::){name}( ->| with|$)", c["name"])}
        if not hit:
            lost.append(told["rendered"])
        bad |= hit
    return bad, lost


def compiled(order, always, count, state):
    """The first changes in the order given that the compiler takes, and those that are always tried, put into the copy."""
    held = json.loads(state.read_text()) if state.exists() else {"numbers": {}, "constant": [], "refused": []}
    held.setdefault("order", [c["name"] for c in order])
    numbers = held["numbers"]
    gone = set(held["constant"]) | set(held["refused"])
    seen = set(numbers) | gone
    kept = [dict(c, number=numbers[c["name"]]) for c in [*order, *always] if c["name"] in numbers and c["name"] not in gone]
    # the program may have moved on: places are those of today
    located(kept)
    waiting = [c for c in order if c["name"] not in seen]
    new = [c for c in always if c["name"] not in seen]
    while True:
        while new or (waiting and sum(not c["made"] for c in kept) < count):
            room = count - sum(not c["made"] for c in kept)
            batch, waiting, new = new + waiting[:room], waiting[room:], []
            located(batch)
            for change in batch:
                if change["kind"] in ("constant", "none"):
                    held["constant"].append(change["name"])
                else:
                    change["number"] = numbers[change["name"]] = len(numbers) + 1
                    kept.append(change)
        spans = copied(kept)
        keep(state, held)
        messages, good = cargo("check", "--workspace", "--lib", "--bins", "--keep-going")
        if good:
            return kept, held
        bad, lost = refused(messages, spans, kept)
        print(f"-- {len(bad)} of {len(kept)} are refused by the compiler", flush=True)
        if not bad:
            sys.exit("what the compiler refuses is no change:\n" + "\n".join(lost[:5]))
        held["refused"] += [c["name"] for c in kept if c["number"] in bad]
        kept = [c for c in kept if c["number"] not in bad]
        keep(state, held)


def binaries():
    """Programs that hold tests: (name, program, folder, stage)."""
    messages, good = cargo("test", "--workspace", "--lib", "--bins", "--tests", "--no-run")
    if not good:
        sys.exit("\n".join(m["message"]["rendered"] for m in messages if m["reason"] == "compiler-message")[-4000:])
    found = []
    for message in messages:
        if message["reason"] == "compiler-artifact" and message["profile"]["test"] and message["executable"]:
            folder = pathlib.Path(message["manifest_path"]).parent
            if folder.name not in ("benches", "fuzz", "mutant"):
                # tests of a crate's own are near and quick; those of the whole program are asked about what these do not notice
                stage = 1 if "test" in message["target"]["kind"] else 0
                # a program and its library may have one name
                name = f"{folder.name}/{message['target']['name']}" + ("-program" if "bin" in message["target"]["kind"] else "")
                found.append((name, message["executable"], folder, stage))
    return sorted(found)


# --- running


def run(program, folder, words, made, longest, notes=None):
    """Runs tests with a change: whether all were good, what they printed, seconds of processor."""

    def bounded():
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        if longest < math.inf:
            resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(longest), math.ceil(longest) + 5))

    environment = dict(
        os.environ, CARGO_MANIFEST_DIR=str(folder), MUTANT=str(made), PROPTEST_DISABLE_FAILURE_PERSISTENCE="1", RUST_BACKTRACE="0"
    )
    if notes:
        environment["MUTANT_NOTES"] = str(notes)
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    ran = subprocess.Popen(
        [program, *words], cwd=folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL,
        start_new_session=True, preexec_fn=bounded, text=True, errors="replace",
    )
    try:
        # a busy machine gives little of a processor: what waits for ever is told from what computes for long
        printed, _ = ran.communicate(timeout=60 + 20 * longest if longest < math.inf else None)
    except subprocess.TimeoutExpired:
        os.killpg(ran.pid, signal.SIGKILL)
        printed, _ = ran.communicate()
        printed += "\ntoo long"
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if ran.returncode in (-signal.SIGXCPU, -signal.SIGKILL):
        printed += "\ntoo long"
    return ran.returncode == 0, printed, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def tests_of(found):
    listed = {}
    for name, program, folder, _ in found:
        ran = subprocess.run([program, "--list", "--format", "terse"], cwd=folder, capture_output=True, text=True, check=True)
        listed[name] = [line.removesuffix(": test") for line in ran.stdout.splitlines() if line.endswith(": test")]
    return listed


LAST = 2


def noted(found, kept, stage):
    """What each test of a stage comes by and what it takes: {binary test: {"reached": numbers, "s": seconds}}, kept in a file."""
    notes = kept.parent / "notes"
    held = json.loads(kept.read_text()) if kept.exists() else {}
    listed = tests_of(found)
    of_stage = {
        f"{name} {test}": (name, test, program, folder)
        for name, program, folder, first in found
        for test in listed[name]
        if stage == (LAST if LONG in test else first)
    }
    left = [key for key in of_stage if key not in held]
    print(f"== {len(of_stage)} tests, {len(left)} of them not run without a change yet", flush=True)
    saved = time.monotonic()
    for key in left:
        _, test, program, folder = of_stage[key]
        notes.unlink(missing_ok=True)
        good, _, took = run(program, folder, ["--exact", test], "note", math.inf, notes)
        reached = sorted({int(n) for n in notes.read_text().split()}) if notes.exists() else []
        held[key] = {"reached": reached, "s": round(took, 3), "good": good}
        if time.monotonic() > saved + 20:
            keep(kept, held)
            saved = time.monotonic()
    keep(kept, held)
    failed = [key for key in of_stage if not held[key]["good"]]
    if failed:
        print("== fail without a change, and are not asked:", *failed, sep="\n   ", flush=True)
    return {key: held[key] for key in of_stage if held[key]["good"]}


def asked(change, tests):
    """Tests that come by a change, near and quick ones first."""
    crate, _, file = change["file"].removeprefix("crates/").partition("/src/")
    parts = file.removesuffix(".rs").removesuffix("/mod").split("/")

    def order(key):
        binary, test = key.split(" ", 1)
        near = len(os.path.commonprefix([parts, test.split("::")])) if binary.startswith(f"{crate}/") else 0
        return (tests[key]["s"] + 0.02) / (1 + 4 * near)

    return sorted((key for key, entry in tests.items() if change["number"] in entry["reached"]), key=order)


def noticed(change, tests, found):
    """What became of a change, and the test that noticed it."""
    programs = {name: (program, folder) for name, program, folder, _ in found}
    left = asked(change, tests)
    if not left:
        return "reached by no test", ""
    room = 1.0
    while left:
        # more and more at once: most changes are noticed by the first, and starting a program costs
        taken, seconds = [], 0.0
        while left and (not taken or (seconds + tests[left[0]]["s"] <= room and len(taken) < 60)):
            taken.append(left.pop(0))
            seconds += tests[taken[-1]]["s"]
        room *= 2
        by_binary = {}
        for key in taken:
            binary, test = key.split(" ", 1)
            by_binary.setdefault(binary, []).append(test)
        for binary, names in by_binary.items():
            program, folder = programs[binary]
            longest = max(SHORTEST_S, LONGER * sum(tests[f"{binary} {n}"]["s"] for n in names))
            good, printed, _ = run(program, folder, ["--exact", *names], change["number"], longest)
            if good:
                continue
            by = re.findall(r"^test (.*?)(?: - should panic)? \.\.\. FAILED", printed, re.M) or names
            # a test that fails now and then notices nothing
            if run(program, folder, ["--exact", *by], 0, math.inf)[0]:
                return ("too long" if printed.endswith("too long") else "caught"), f"{binary} {by[0]}"
            print(f"-- fails without a change too: {binary} {by}", flush=True)
    return "missed", ""


def interval(caught, n):
    # Wilson 1927
    p, z = caught / n, 1.959964
    middle = (p + z * z / (2 * n)) / (1 + z * z / n)
    half = z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    return f"{caught} of {n}: {p:.1%}, 95 % between {middle - half:.1%} and {min(1, middle + half):.1%}"


UNNOTICED = ("missed", "reached by no test")


def told(changes, results, held, folder):
    # what no test of a crate noticed is missed only when those of the whole program said nothing either
    results = {name: r for name, r in results.items() if r[0] not in UNNOTICED or r[2] >= 1}
    for made, kind in ((False, "drawn"), (True, "thought of")):
        those = [c for c in changes if c["made"] == made]
        words = [results[c["name"]][0] for c in those if c["name"] in results]
        if not words:
            continue
        caught = words.count("caught") + words.count("too long")
        print(f"== {kind}: noticed {interval(caught, len(words))}; {words.count('too long')} by taking too long; {len(those) - len(words)} not tried")
    print(f"== left out: {len(held['constant'])} in a constant, {len(held['refused'])} refused by the compiler")
    tried = [c for c in changes if c["name"] in results]
    with open(folder / "results.csv", "w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["change", "outcome", "by"])
        rows.writerows([c["name"], *results[c["name"]][:2]] for c in tried)
    print("\n".join(sorted(f"{results[c['name']][0]}: {c['name']}" for c in tried if results[c["name"]][0] in UNNOTICED)))


def main():
    words = [word for word in sys.argv[1:] if word != "again"]
    if words[:1] == ["made"]:
        order, count, name, words = [], 0, "made", words[1:]
    else:
        count = int(words[0]) if words else 300
        seed = int(words[1]) if len(words) > 1 else int(time.time())
        name = f"seed-{seed}"
        state = HERE / "target/mutants" / name / "changes.json"
        order = drawn(seed, json.loads(state.read_text())["order"] if state.exists() else None)
        words = words[2:]
    end = time.monotonic() + 60 * float(words[0]) if words else math.inf
    folder = HERE / "target/mutants" / name
    folder.mkdir(parents=True, exist_ok=True)
    changes, held = compiled(order, made(), count, folder / "changes.json")
    print(f"== {len(changes)} changes are put in", flush=True)
    found = binaries()
    kept = folder / "results.json"
    results = json.loads(kept.read_text()) if kept.exists() else {}
    if "again" in sys.argv[1:]:
        results = {name: r for name, r in results.items() if r[0] not in UNNOTICED}

    for stage in range(LAST + 1):
        if (stage == LAST and os.environ.get("SHORT") == "1") or time.monotonic() > end:
            break
        tests = noted(found, folder / "tests.json", stage)
        for change in changes:
            before = results.get(change["name"], ["reached by no test", "", -1])
            if before[0] not in UNNOTICED or before[2] >= stage or time.monotonic() > end:
                continue
            began = time.monotonic()
            outcome, by = noticed(change, tests, found)
            if outcome == "reached by no test":
                outcome = before[0]
            results[change["name"]] = [outcome, by, stage]
            keep(kept, results)
            print(f"{stage} {change['number']:4} {outcome:20} {time.monotonic() - began:5.0f} s  {change['name']}", flush=True)
    told(changes, results, held, folder)


main()
