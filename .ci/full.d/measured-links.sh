#!/usr/bin/env bash
# Links with a known rate, delay and loss, in network namespaces of their own: what `narrows measure network` reads there, and
# whether `narrows explain` names the fault from those readings alone. Needs rights to make namespaces, ip, tc, python3 and /dev/net/tun;
# says aloud what is skipped. Touches nothing outside its own namespaces and one folder of its own.
set -euo pipefail
cd "$(dirname "$0")/../.."

skip() { echo "SKIPPED: measured links: $*"; exit 0; }
for tool in unshare nsenter ip tc python3; do
  command -v "$tool" >/dev/null || skip "no $tool"
done
if [ "${MEASURED_LINKS:-}" != inside ]; then
  unshare -n true 2>/dev/null || skip "no rights to make a network namespace"
  [ -c /dev/net/tun ] || skip "no /dev/net/tun"
  program=${NARROWS:-}
  if [ -z "$program" ]; then
    cargo build --release --locked --quiet
    program=target/release/narrows
  fi
  MEASURED_LINKS=inside NARROWS=$program exec unshare -n bash "$0" "$@"
fi

work=$(mktemp -d)
here=198.51.100.1
there=198.51.100.2
ip link set lo up
unshare -n sleep 600 &
other=$!
relay=
finish() {
  [ -z "$relay" ] || kill "$relay" 2>/dev/null || true
  kill "$other" 2>/dev/null || true
  rm -rf "$work"
}
trap finish EXIT
sleep 0.5
in_other() { nsenter -t "$other" -n "$@"; }
in_other ip link set lo up
cubic() { echo cubic > /proc/sys/net/ipv4/tcp_congestion_control 2>/dev/null || true; }
cubic
in_other bash -c 'echo cubic > /proc/sys/net/ipv4/tcp_congestion_control' 2>/dev/null || true

# The other end waits, this one asks; readings of the desk colour, whose path is 1 Gb/s throughout.
measured() {
  rm -f "$work/token" "$work/readings.csv"
  in_other "$NARROWS" measure network --wait --at "$there:47113" --token-file "$work/token" --as-administrator \
    --seconds 60 >"$work/waiting" 2>&1 &
  local waiting=$!
  for _ in $(seq 100); do [ -s "$work/token" ] && break; sleep 0.1; done
  timeout 300 "$NARROWS" measure network --ask "$there:47113" --token-file "$work/token" --as-administrator \
    --desk colour --seconds "$1" --readings "$work/readings.csv" --format json >"$work/found.json" 2>"$work/err" ||
    { cat "$work/err" "$work/waiting"; exit 1; }
  wait "$waiting"
}

# held NAME PAYLOAD: one stream each way lies within 1 % of what the shaped link carries.
held() {
  python3 - "$work/found.json" "$1" "$2" <<'PY'
import json, sys
found, name, payload = json.load(open(sys.argv[1])), sys.argv[2], float(sys.argv[3])
worst = 0.0
for run in found["answer"]["runs"]:
    if run["way"] in ("receive", "send") and run["streams"] == 1:
        way = run["read"] or run["write"]
        mean = way["megabytes_per_s"]["mean"]
        worst = max(worst, abs(mean / payload - 1))
        print(f"  {name}: {run['way']} {mean:.3f} MB/s of {payload:.3f}")
assert worst <= 0.01, f"{name}: {100 * worst:.2f} % off"
PY
}

# named NAME WORDS...: the likeliest fault is of one of these families.
named() {
  local name=$1
  shift
  "$NARROWS" explain data/sites/granary-lane.toml --readings "$work/readings.csv" --format json >"$work/why.json"
  python3 - "$work/why.json" "$name" "$@" <<'PY'
import json, sys
answer, name, wanted = json.load(open(sys.argv[1]))["answer"], sys.argv[2], sys.argv[3:]
first = [(c["family"], c["id"], c["probability"]) for c in answer["causes"][:3]]
print(f"  {name}: {answer['in_words'].splitlines()[0]} {first}")
assert first and first[0][0] in wanted, f"{name}: {first}, wanted {wanted}"
PY
}

echo "== a link shaped to 100 Mb/s by the kernel"
ip link add near type veth peer name far
ip link set far netns "$other"
ip addr add "$here/24" dev near
ip link set near up
in_other ip addr add "$there/24" dev far
in_other ip link set far up
if tc qdisc add dev near root tbf rate 100mbit burst 16kb latency 30ms 2>/dev/null &&
  in_other tc qdisc add dev far root tbf rate 100mbit burst 16kb latency 30ms 2>/dev/null; then
  measured 8
  # the kernel counts 14 bytes of header a packet: 1448 of 1514
  held "100 Mb/s" 11.9551
  named "100 Mb/s" slow-hop
else
  echo "SKIPPED: measured links: the kernel shapes no link"
fi
ip link del near

# linked MEGABITS DELAY_MS LOSS MTU SECONDS
linked() {
  nice -n "${RELAY_NICE:-0}" python3 .ci/full.d/relay.py near far "$1" "$2" "$3" "$5" >"$work/relay" &
  relay=$!
  for _ in $(seq 100); do [ -s "$work/relay" ] && break; sleep 0.1; done
  ip link set far netns "$other"
  ip addr add "$here/24" dev near
  ip link set near mtu "$4" up
  in_other ip addr add "$there/24" dev far
  in_other ip link set far mtu "$4" up
}
unlinked() {
  kill "$relay" 2>/dev/null || true
  wait "$relay" 2>/dev/null || true
  relay=
  ip link del near 2>/dev/null || true
  in_other ip link del far 2>/dev/null || true
  sleep 0.5
}

echo "== 1 Gb/s with 2 ms added"
linked 1000 1 0 9000 200
measured 8
# 8948 of 9000 bytes of a packet, no header of the link
held "1 Gb/s, 2 ms" 124.278
unlinked

echo "== 1 Gb/s with 2 ms added and a window of 64 KiB"
windows() {
  bash -c 'echo "4096 65536 65536" > /proc/sys/net/ipv4/tcp_rmem; echo "4096 65536 65536" > /proc/sys/net/ipv4/tcp_wmem' 2>/dev/null
}
before_r=$(cat /proc/sys/net/ipv4/tcp_rmem)
before_w=$(cat /proc/sys/net/ipv4/tcp_wmem)
if windows && nsenter -t "$other" -n bash -c 'echo "4096 65536 65536" > /proc/sys/net/ipv4/tcp_rmem; echo "4096 65536 65536" > /proc/sys/net/ipv4/tcp_wmem'; then
  linked 1000 1 0 1500 200
  measured 6
  named "small window" latency-window
  unlinked
else
  echo "SKIPPED: measured links: windows cannot be set here"
fi
echo "$before_r" > /proc/sys/net/ipv4/tcp_rmem
echo "$before_w" > /proc/sys/net/ipv4/tcp_wmem
in_other bash -c "echo '$before_r' > /proc/sys/net/ipv4/tcp_rmem; echo '$before_w' > /proc/sys/net/ipv4/tcp_wmem"

echo "== 1 Gb/s that loses one packet in 300"
linked 1000 0.5 0.3 1500 200
measured 6
named "loss" loss-or-step-down
unlinked
echo "== measured links: all held"
