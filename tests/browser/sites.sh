#!/usr/bin/env bash
# Writes sites that are hard to draw into a folder.
set -euo pipefail
to="$1"

{
  echo 'name = "Forty desks"'
  printf '[array.vault]\nnas = "store"\nlayout = "raid6"\ndrives = "12 x 10 TB hdd-7200"\n'
  printf '[nas.store]\nport.a = { rate = "10 Gb/s" }\n'
  printf '[switch.attic]\nport.any = { rate = "10 Gb/s", count = 45 }\n'
  for i in $(seq 1 40); do printf '[desk.d%s]\nport.a = { rate = "1 Gb/s" }\n' "$i"; done
  printf '[[run]]\nfrom = "nas.store"\nto = "switch.attic.any"\ncable = "cat6a"\nlength = "3 m"\n'
  for i in $(seq 1 40); do printf '[[run]]\nfrom = "desk.d%s"\nto = "switch.attic.any"\ncable = "cat5e"\nlength = "%s m"\n' "$i" "$((i + 5))"; done
} > "$to/forty-desks.toml"

{
  echo 'name = "</title><script>alert(1)</script> <img src=x onerror=alert(2)> תחנה"'
  sed '/^name/d' data/sites/granary-lane.toml
} > "$to/hostile.toml"
