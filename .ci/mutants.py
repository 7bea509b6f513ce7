"""Draws changes of the program and runs the tests that should notice them; see .ci/mutants.

The changes are made in a copy of the tree with a target folder of its own (target/mutants), so that what is worked on stays as it is.
A change is first held against the tests of its own crate, without the longest of them; where those notice nothing, against all tests.
With NEAR=1 in the environment only the former are asked, so that what is said is the least that the tests notice.
"""

import csv
import json
import math
import os
import pathlib
import random
import shutil
import signal
import subprocess
import sys
import time

COPY = pathlib.Path("target/mutants/tree")
TARGET = pathlib.Path("target/mutants/target").resolve()
# crates whose tests are of the whole program
WITHOUT_OWN_TESTS = {"narrows", "narrows-draw"}
# a change that makes the tests run for ever is noticed; a build only waits for a busy machine
LONGEST_TESTS_S = 900
LONGEST_BUILD_S = 3600
# with NEAR=1 only the tests of its own crate are run on a change, and crates without any are left out
NEAR = os.environ.get("NEAR") == "1"
# what makes no answer: benches, tests, and the harness of hostile input
LEFT_OUT = ("benches/", "tests/", "fuzz/", "data/")


def drawn(count, seed):
    found = subprocess.run(
        ["cargo", "mutants", "--list", "--json", "--workspace"], check=True, capture_output=True, text=True
    )
    by_file = {}
    for mutant in json.loads(found.stdout):
        if not mutant["file"].startswith(LEFT_OUT) and not (NEAR and mutant["package"] in WITHOUT_OWN_TESTS):
            by_file.setdefault(mutant["file"], []).append(mutant)
    luck = random.Random(seed)
    files = sorted(by_file)
    for file in files:
        by_file[file].sort(key=lambda mutant: mutant["name"])
        luck.shuffle(by_file[file])
    luck.shuffle(files)
    print(f"== {sum(map(len, by_file.values()))} changes in {len(files)} files, {count} of them with seed {seed}")
    taken = []
    while len(taken) < count and any(by_file.values()):
        for file in files:
            if by_file[file] and len(taken) < count:
                taken.append(by_file[file].pop())
    return [(m["name"], m["package"], m["file"], between(m)) for m in taken]


def between(mutant):
    """The text with the span of a drawn change replaced."""
    span, put = mutant["span"], mutant["replacement"]

    def change(text):
        lines = text.split("\n")
        first, last = span["start"], span["end"]
        head = lines[first["line"] - 1][: first["column"] - 1]
        tail = lines[last["line"] - 1][last["column"] - 1 :]
        return "\n".join(lines[: first["line"] - 1] + [head + put + tail] + lines[last["line"] :])

    return change


def made():
    with open(".ci/made-mutants.csv", encoding="utf-8") as rows:
        listed = list(csv.DictReader(rows))
    taken = []
    for row in listed:

        def change(text, row=row):
            if text.count(row["found"]) != 1:
                sys.exit(f"{row['file']}: {text.count(row['found'])} times {row['found']!r}")
            return text.replace(row["found"], row["instead"])

        taken.append((row["what"], package(row["file"]), row["file"], change))
    return taken


def package(file):
    for above in pathlib.Path(file).parents:
        manifest = above / "Cargo.toml"
        if manifest.exists():
            for line in manifest.read_text().splitlines():
                if line.startswith("name = "):
                    return line.split('"')[1]
    sys.exit(f"{file} belongs to no crate")


def copied():
    listed = subprocess.run(["git", "ls-files", "-z"], check=True, capture_output=True, text=True).stdout
    for name in filter(None, listed.split("\0")):
        here, there = pathlib.Path(name), COPY / name
        # what is the same keeps its time: an older one would hide from cargo that it was another meanwhile
        if here.is_file() and not (there.is_file() and there.read_bytes() == here.read_bytes()):
            there.parent.mkdir(parents=True, exist_ok=True)
            there.write_bytes(here.read_bytes())
            shutil.copymode(here, there)


def cargo(longest, *arguments):
    """Whether a cargo command was good; what ran too long was not."""
    environment = dict(os.environ, CARGO_TARGET_DIR=str(TARGET), CARGO_PROFILE_DEV_DEBUG="0", RUST_BACKTRACE="0", PROPTEST_DISABLE_FAILURE_PERSISTENCE="1")
    try:
        ran = subprocess.Popen(
            ["cargo", *arguments], cwd=COPY, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        return ran.wait(longest) == 0
    except subprocess.TimeoutExpired:
        # with the tests that it started
        os.killpg(ran.pid, signal.SIGKILL)
        ran.wait()
        return False


def noticed(crate, file):
    """In a word what became of the change that stands in the copy."""
    if crate not in WITHOUT_OWN_TESTS:
        # what is changed is compiled anew each time, so it is not optimised
        own = ["test", "--locked", "-p", crate, "--lib", "--tests", "--config", f"profile.dev.package.{crate}.opt-level=0"]
        if not cargo(LONGEST_BUILD_S, *own, "--no-run"):
            return "unviable"
        # first those of its part of the crate
        part = pathlib.Path(file.split("/src/", 1)[-1]).parts[0].removesuffix(".rs")
        for wanted in ([f"{part}::"], []) if part != "lib" else ([],):
            if not cargo(LONGEST_TESTS_S, *own, "--", "--skip", "planted", *wanted):
                return "caught by its crate"
    if NEAR:
        return "missed by its crate"
    whole = ["test", "--locked", "--workspace", "--lib", "--bins", "--tests"]
    if not cargo(LONGEST_BUILD_S, *whole, "--no-run"):
        return "unviable"
    long = [] if "/explain/" in file else ["--skip", "planted"]
    if not cargo(LONGEST_TESTS_S, *whole, "--", *long):
        return "caught by the whole"
    return "missed"


def told(results):
    caught = sum(r.startswith("caught") for r in results.values())
    missed = [name for name, r in results.items() if r.startswith("missed")]
    n = caught + len(missed)
    if n == 0:
        sys.exit("no change was tried")
    # Wilson 1927
    p, z = caught / n, 1.959964
    middle = (p + z * z / (2 * n)) / (1 + z * z / n)
    half = z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    print(f"== caught {caught} of {n}: {p:.1%}, 95 % between {middle - half:.1%} and {min(1, middle + half):.1%}")
    by_crate = sum(r == "caught by its crate" for r in results.values())
    print(f"== {by_crate} of them by the tests of their own crate; {len(results) - n} did not compile")
    print("\n".join(missed))


def main():
    words = sys.argv[1:]
    if words[:1] == ["made"]:
        tried, kept = made(), pathlib.Path("target/mutants/made.json")
        end = math.inf
    else:
        count = int(words[0]) if words else 300
        seed = int(words[1]) if len(words) > 1 else int(time.time())
        end = time.monotonic() + 60 * float(words[2]) if len(words) > 2 else math.inf
        tried, kept = drawn(count, seed), pathlib.Path(f"target/mutants/seed-{seed}{'-near' if NEAR else ''}.json")
    kept.parent.mkdir(parents=True, exist_ok=True)
    results = json.loads(kept.read_text()) if kept.exists() else {}
    copied()
    for number, (name, crate, file, change) in enumerate(tried, 1):
        if name in results:
            continue
        if time.monotonic() > end:
            print(f"== the time is over; {len(tried) - number + 1} were not tried")
            break
        place = COPY / file
        whole = place.read_text(encoding="utf-8")
        began = time.monotonic()
        try:
            place.write_text(change(whole), encoding="utf-8")
            results[name] = noticed(crate, file)
        finally:
            place.write_text(whole, encoding="utf-8")
        kept.write_text(json.dumps(results, indent=1))
        print(f"{number:4} {results[name]:20} {time.monotonic() - began:5.0f} s  {name}", flush=True)
    told(results)


main()
