#!/usr/bin/env python3
"""The same desk in vectorised NumPy: the same answer, and how much longer it takes.

Desk cut-1 of the example site, copying, both directions, 4096 draws, with both of its runs
negotiated as stated in SETS: what a run carries is another question than this one. The rows come
from data/*.csv, the laws and hops are written out again below. First the percentiles of every hop and
of both rates must agree with `narrows budget --format json`; then both sides are timed in
process. Needs numpy and cargo:

    python3 benches/against_numpy.py

What counts as agreeing: our percentile q comes from n = 4096 draws, so the share of the
distribution below it scatters around q by at most sqrt(q (1 - q) / n), what independent draws
would do; a Latin hypercube does no worse. Each value of ours must lie between the values that
4 such deviations lead to in 64 times as many draws here, whose own scatter is an eighth of ours
and allowed on top.

What is timed: drawing all unknowns, all hops, the percentiles of every hop and of the rate
("plain"), and with the rest of what an answer reports ("whole": what limits, the rate without
it, the share of every unknown). Ours is always the whole answer; humps, words and warnings are
on our side only. Normal scores are computed beforehand on both sides; reading rows is not timed.
"""

import csv
import json
import pathlib
import statistics
import subprocess
import sys
import time

import numpy as np

ROOT = pathlib.Path(__file__).resolve().parent.parent
SITE = ROOT / "data" / "sites" / "granary-lane.toml"
DESK = "cut-1"
# as in examples/one_desk.rs
SETS = ['run.1.negotiated="10 Gb/s"', 'run.2.negotiated="10 Gb/s"']
DRAWS = 4096
GOAL = 6.0
RUNS = 200
SCORE_95 = 1.6448536269514722
GROUPS = 16
WORTH_LIFTING = 0.02


# ---- rows -------------------------------------------------------------------------------------

UNITS = {"": 1.0, "MB/s": 1e6, "GB/s": 1e9, "MB": 1e6, "GB": 1e9, "TB": 1e12, "MiB/op": 2.0**20, "op": 1.0,
         "ms": 1e-3, "B": 1.0}


def rows(name):
    with open(ROOT / "data" / name, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


NUMBERS = {row["id"]: row
           for name in ["network.csv", "hosts.csv", "drives.csv", "copies.csv", "arrays.csv"]
           for row in rows(name)}


def number(name):
    row = NUMBERS[name]
    return tuple(float(row[key]) * UNITS[row["unit"]] for key in ("low", "likely", "high"))


def between(name, low, high, at):
    """Rows at two capacities, joined by straight lines."""
    return tuple(a + (b - a) * (at - low) / (high - low)
                 for a, b in zip(number(f"{name}@{low} TB"), number(f"{name}@{high} TB")))


def weights(name):
    return {row["word"]: float(row["percent"]) for row in rows("choices.csv") if row["id"] == name}


# ---- laws -------------------------------------------------------------------------------------

POSITIVE, FRACTION = (0.0, np.inf), (0.0, 1.0)

CLASSES = ["small", "medium", "large"]
TEN_TB = 10

CLIENTS = list(weights("client"))

# every unknown quantity of the desk: low, likely, high and where values cannot lie
QUANTITIES = {
    "disk burst": (number("drive.nvme-gen3.burst-write"), POSITIVE),
    "disk later": (number("drive.nvme-gen3.later-write"), POSITIVE),
    "disk share": (number("drive.nvme-gen3.cache-share"), FRACTION),
    "disk capacity": (number("desk.disk-capacity"), POSITIVE),
    "disk fill": (number("desk.disk-fill"), FRACTION),
    "disk read": (number("drive.nvme-gen3.read"), POSITIVE),
    **{f"desk {what} {c}": (number(f"cpu.{c}.{what}"), POSITIVE)
       for what in ("stack", "signing", "encryption") for c in CLASSES},
    "framing": (number("framing.share"), FRACTION),
    "payload": (number("pcie.payload"), POSITIVE),
    "link layer": (number("pcie.link-layer"), FRACTION),
    "window": (number("tcp.window"), POSITIVE),
    "round trip": (number("network.round-trip"), POSITIVE),
    "request size": (number("requests.smb.size"), POSITIVE),
    "request depth": (number("requests.smb.depth"), POSITIVE),
    "service time": (number("service-time"), POSITIVE),
    **{f"store {what}": (number(f"cpu.small.{what}"), POSITIVE)
       for what in ("stack", "signing", "encryption")},
    "interface": (number("drive.hdd-7200.interface"), POSITIVE),
    "outer": (between("drive.hdd-7200.outer-rate", 8, 12, TEN_TB), POSITIVE),
    "inner": (between("drive.hdd-7200.inner-ratio", 8, 12, TEN_TB), FRACTION),
    "fill": ((0.4, 0.55, 0.7), FRACTION),
    "place": ((0.05, 0.5, 0.95), FRACTION),
    # four data drives; chunks longer than a track let the heads jump over parity, up to all six
    "drives at work": ((4.0, 4.3, 6.0), (4.0, 6.0)),
    "stripes": (number("cpu.small.stripes"), POSITIVE),
    "scatter": (number("drive.scatter"), FRACTION),
    # what a program reaches of the drives
    "reached": (number("array.reached"), FRACTION),
    "parity": (number("parity.write-share"), FRACTION),
    **{f"pace {word}": (number(f"copy.{word}.pace"), POSITIVE) for word in CLIENTS},
}

# every choice: its weights, in the order of its options
CHOICES = {
    "overlap": list(weights("overlap").values()),
    "client": list(weights("client").values()),
    "class": [weights("cpu.desk")[c] for c in CLASSES],
    "signed": [weights("signed.smb")["signed"], weights("signed.smb")["plain"]],
    "encrypted": [weights("encrypted.smb")["yes"], weights("encrypted.smb")["no"]],
    "workers": list(weights("workers.smb").values()),
    "headers": list(weights("network.headers").values()),
}
WORKERS = np.array([float(w) for w in weights("workers.smb")])
HEADER_BYTES = {"ipv4": 40, "ipv4-timestamps": 52, "ipv6": 60, "ipv6-timestamps": 72}
EFFICIENCY = np.array([(1500 - HEADER_BYTES[w]) / 1538 for w in weights("network.headers")])
DATA_DRIVES = 4.0
# standard deviations by which the slowest of six lies below their mean; Tippett 1925
SLOWEST_OF_SIX = 1.26721

BOUNDED = [k for k, ((low, _, _), (_, most)) in QUANTITIES.items() if low <= 0 or most < np.inf]
LOGARITHMIC = [k for k in QUANTITIES if k not in BOUNDED]
PLACES = {name: i for i, name in enumerate(LOGARITHMIC + BOUNDED + list(CHOICES))}


class Laws:
    """What does not depend on luck: shares and normal scores of the slices."""

    def __init__(self, count):
        self.count = count
        normal = statistics.NormalDist()
        self.shares = (np.arange(count) + 0.5) / count
        self.scores = np.array([normal.inv_cdf(s) for s in self.shares])
        low, likely, high = np.array([QUANTITIES[k][0] for k in LOGARITHMIC]).T[:, :, None]
        # positive: the logarithm is normal, with its own width on each side of the median
        self.likely = likely
        self.below, self.above = np.log(likely / low) / SCORE_95, np.log(high / likely) / SCORE_95
        self.low_b, self.likely_b, self.high_b = (
            np.array([QUANTITIES[k][0] for k in BOUNDED]).T[:, :, None])
        self.least, self.most = np.array([QUANTITIES[k][1] for k in BOUNDED]).T[:, :, None]
        self.half = count // 2
        self.slices = np.arange(count, dtype=np.int32)
        # the straight line has its knots at 5, 50 and 95 %
        self.down, self.up = (0.5 - self.shares) / 0.45, (self.shares - 0.5) / 0.45
        self.cuts = {k: np.cumsum(np.array(w) / sum(w)) for k, w in CHOICES.items()}


def draw(laws, generator):
    """A Latin hypercube: for every unknown the slices in a random order, and its values."""
    n, half = laws.count, laws.half
    strata = generator.permuted(np.broadcast_to(laws.slices, (len(PLACES), n)), axis=1)
    exponent = np.empty((len(LOGARITHMIC), n))
    np.multiply(laws.below, laws.scores[:half], out=exponent[:, :half])
    np.multiply(laws.above, laws.scores[half:], out=exponent[:, half:])
    positive = laws.likely * np.exp(exponent, out=exponent)
    bounded = np.empty((len(BOUNDED), n))
    bounded[:, :half] = laws.likely_b - (laws.likely_b - laws.low_b) * laws.down[:half]
    bounded[:, half:] = laws.likely_b + (laws.high_b - laws.likely_b) * laws.up[half:]
    np.clip(bounded, laws.least, laws.most, out=bounded)
    table = np.concatenate([positive, bounded])
    values = np.take_along_axis(table, strata[:len(table)], axis=1)
    drawn = dict(zip(LOGARITHMIC + BOUNDED, values))
    for name in CHOICES:
        of_slice = np.searchsorted(laws.cuts[name], laws.shares, side="right").astype(np.int8)
        drawn[name] = of_slice[strata[PLACES[name]]]
    return drawn, strata


# ---- hops -------------------------------------------------------------------------------------


def thread(stack, signing, encryption, signed, encrypted, workers):
    """One thread handles every byte: costs add; encryption replaces the signature."""
    task = np.where(encrypted, encryption, signing)
    return 1.0 / (1.0 / stack + np.where(signed | encrypted, 1.0 / (task * workers), 0.0))


def one_desk(laws, generator):
    """All ceilings of both directions, and whether the disk is waited for."""
    d, strata = draw(laws, generator)
    signed, encrypted = d["signed"] == 0, d["encrypted"] == 0
    workers = WORKERS[d["workers"]]
    desk = {what: np.choose(d["class"], [d[f"desk {what} {c}"] for c in CLASSES])
            for what in ("stack", "signing", "encryption")}
    desk_cpu = thread(desk["stack"], desk["signing"], desk["encryption"], signed, encrypted,
                      workers)
    store_cpu = thread(d["store stack"], d["store signing"], d["store encryption"], signed,
                       encrypted, workers)
    # both links are the same
    wire = 1e4 * 125e3 * EFFICIENCY[d["headers"]] * d["framing"]
    window = d["window"] / d["round trip"]
    wait = d["round trip"] + d["service time"]
    size = d["request size"]
    requests = size * d["request depth"] / (wait + size / wire)
    # what the pauses of the copy program alone would leave; all else waits for them
    pauses = np.choose(d["client"], [d[f"pace {word}"] for word in CLIENTS])
    waited_for = d["overlap"] == 1
    capped = np.minimum(d["outer"], d["interface"])
    zone = 1.0 - d["inner"] ** 2
    step = np.maximum(1.0 - SLOWEST_OF_SIX * d["scatter"], 0.5) * d["reached"]
    flows = []
    for direction in ("read", "write"):
        # the desk's own disk does the opposite
        reading = direction == "read"
        disk = d["disk burst"] if reading else d["disk read"]
        header = 20.0 if reading else 24.0
        slot = 4 * 984.615385e6 * (d["payload"] / (d["payload"] + header)) * d["link layer"]
        place = d["place"] * d["fill"] if reading else d["fill"]
        # drives in step wait for the slowest; writing parity costs on top
        worth = (d["drives at work"] if reading else DATA_DRIVES * d["parity"]) * step
        array = worth * np.minimum(d["outer"] * np.sqrt(1.0 - zone * place), d["interface"])
        hops = [disk, desk_cpu, wire, wire, slot, window, requests, store_cpu]
        hops += [array] if reading else [d["stripes"], array]
        hops.append(pauses)
        flow = {"direction": direction, "hops": hops, "empty": worth * capped,
                "waited_for": waited_for}
        if reading:
            # the fast cache of the desk's disk, and what comes after it
            flow["cache"] = d["disk capacity"] * d["disk share"] * (1.0 - d["disk fill"])
            flow["later"] = d["disk later"]
        flows.append(flow)
    return flows, strata


def rate(ceilings, waited_for):
    """The slowest hop decides; a disk that is waited for comes on top, and so do pauses."""
    least = ceilings[1:-1].min(axis=0)
    disk = ceilings[0]
    cost = np.where(waited_for, 1.0 / least + 1.0 / disk, 1.0 / np.minimum(least, disk))
    return 1.0 / (cost + 1.0 / ceilings[-1])


def percentiles(values):
    """Of the last axis: the slices that hold 5, 50 and 95 %."""
    n = values.shape[-1]
    at = [int(q * n - 0.5 + 0.5) for q in (0.05, 0.5, 0.95)]
    return np.partition(values, at, axis=-1)[..., at]


def plain(laws, generator):
    """Draws, hops and percentiles."""
    flows, strata = one_desk(laws, generator)
    out = []
    for flow in flows:
        ceilings = np.array(flow["hops"])
        values = rate(ceilings, flow["waited_for"])
        table = percentiles(np.vstack([ceilings, flow["empty"], values]))
        out.append((flow, ceilings, values, table))
    return out, strata


def whole(laws, generator):
    """And what limits, what would come of lifting it, and the share of every unknown."""
    found, strata = plain(laws, generator)
    out = []
    group = (strata.astype(np.int64) * GROUPS) // laws.count
    for name in CHOICES:
        of_slice = np.searchsorted(laws.cuts[name], laws.shares, side="right")
        group[PLACES[name]] = of_slice[strata[PLACES[name]]]
    group += np.arange(len(group))[:, None] * GROUPS
    group = group.ravel()
    counts = np.bincount(group, minlength=len(strata) * GROUPS).reshape(-1, GROUPS)
    some = np.maximum(counts, 1)
    for flow, ceilings, values, table in found:
        waited_for = flow["waited_for"]
        # without the slowest hop the second decides; without the disk its own cost goes
        others = np.where(waited_for, np.inf, ceilings[0])
        both = np.partition(np.vstack([others, ceilings[1:-1]]), 1, axis=0)[:2]
        gain = 1.0 / both[0] - 1.0 / both[1]
        slowest = np.vstack([others, ceilings[1:-1]]).argmin(axis=0)
        held = waited_for & (1.0 / ceilings[0] > gain)
        limit = np.where(held, 0, slowest)
        gain = np.where(held, 1.0 / ceilings[0], gain)
        limit = np.where(1.0 / ceilings[-1] > gain, len(ceilings) - 1, limit)
        tally = np.bincount(limit, minlength=len(ceilings)) / laws.count
        lifted = {}
        for hop in np.flatnonzero(tally >= WORTH_LIFTING):
            without = ceilings.copy()
            without[hop] = np.inf
            lifted[hop] = percentiles(rate(without, waited_for))[1]
        mean, variance = values.mean(), values.var()
        sums = np.bincount(group, np.tile(values, len(strata)), minlength=len(strata) * GROUPS)
        sums = sums.reshape(-1, GROUPS)
        between_groups = (counts * (sums / some - mean) ** 2).sum(axis=1) / laws.count
        chance = ((counts > 0).sum(axis=1) - 1) / (laws.count - 1)
        shares = np.clip((between_groups / variance - chance) / (1 - chance), 0, 1)
        out.append((flow, tally, lifted, shares, table))
    return out


# ---- both sides -------------------------------------------------------------------------------


def cargo(*arguments):
    run = subprocess.run(["cargo", "run", "--release", "--quiet", *arguments], cwd=ROOT,
                         check=True, capture_output=True, text=True)
    return json.loads(run.stdout)


def agree():
    sets = [word for edit in SETS for word in ("--set", edit)]
    ours = cargo("-p", "narrows", "--", "budget", str(SITE), "--desk", DESK, *sets,
                 "--format", "json")
    many = 64 * DRAWS
    found, _ = plain(Laws(many), np.random.default_rng(20261124))
    compared = failed = 0
    for ours_flow, (flow, ceilings, values, _) in zip(ours["answer"]["after"]["flows"], found):
        assert ours_flow["direction"] == flow["direction"]
        pairs = [("rate", ours_flow["megabytes_per_s"], values)]
        (array,) = (hop for hop in ours_flow["hops"] if hop["kind"] == "array")
        pairs.append(("empty array", array["when_empty_megabytes_per_s"], flow["empty"]))
        assert len(ours_flow["hops"]) == len(ceilings)
        for hop, column in zip(ours_flow["hops"], ceilings):
            pairs.append((hop["id"], hop["ceiling_megabytes_per_s"], column))
        for name, told, column in pairs:
            ordered = np.sort(column) / 1e6
            for q, key in ((0.05, "p05"), (0.5, "p50"), (0.95, "p95")):
                deviation = (q * (1 - q) / DRAWS) ** 0.5 * (1 + 1 / 8)
                low, high = (ordered[int((q + s * 4 * deviation) * many)] for s in (-1, 1))
                # six digits are printed
                fine = low * (1 - 5e-6) <= told[key] <= high * (1 + 5e-6)
                compared += 1
                failed += not fine
                if name == "rate" or not fine:
                    print(f"  {flow['direction']:5} {name:20} {key} ours {told[key]:8.1f} MB/s, "
                          f"here {ordered[int(q * many)]:8.1f}, allowed {low:.1f} to {high:.1f}"
                          f"{'' if fine else '  DIFFERS'}")
    print(f"{compared} percentiles compared, {failed} differ")
    return failed == 0


def best(work):
    laws, generator = Laws(DRAWS), np.random.default_rng(1)
    times = []
    for _ in range(RUNS):
        start = time.perf_counter_ns()
        work(laws, generator)
        times.append(time.perf_counter_ns() - start)
    return min(times), statistics.median(times)


def main():
    if not agree():
        return 1
    ours = cargo("-p", "narrows-benches", "--example", "one_desk")
    least, median = ours["cold_ns"], ours["cold_median_ns"]
    print(f"one desk, both directions, {DRAWS} draws, milliseconds, best (median) of many runs:")
    print(f"  narrows, whole answer  {least / 1e6:6.2f} ({median / 1e6:.2f})")
    for name, work in (("plain", plain), ("whole", whole)):
        time_best, time_median = best(work)
        ratio = time_best / least
        verdict = "met" if ratio >= GOAL else f"missed by {GOAL - ratio:.1f}"
        print(f"  numpy {np.__version__}, {name}   {time_best / 1e6:6.2f} ({time_median / 1e6:.2f})"
              f"  = {ratio:.1f} times ours; goal {GOAL:.0f} {verdict}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
