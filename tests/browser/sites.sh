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

# names of ten thousand letters, of letters that run the other way, and of what would end a cell or a tag, in every list
mkdir -p "$to/lists"
long="$(printf 'x%.0s' $(seq 10000))"
turned="$(printf 'תחנה מחטה %.0s' $(seq 40))"
hostile="</td></table><script>alert(3)</script> <b>\"\"quoted\"\"</b> 'one' & &amp; --> ]]>"
{
  echo 'jack;room;panel port;desk;traced;cable;length m'
  printf '"%s";"%s";P-1;cut-1;guess;cat6;20\n' "$hostile" "$turned"
  printf 'E-2;"%s";"%s";cut-2;verified;cat6;30\n' "$long" "$hostile"
} > "$to/lists/jacks.csv"
{
  echo 'what,size,from,to,earliest,due'
  printf '"%s",100 GB,vault,cut-1,09:00,18:00\n' "$long" "$turned" "$hostile"
} > "$to/lists/day.csv"
{
  for i in 1 2 3; do
    case $i in 1) label="$long" ;; 2) label="$turned" ;; 3) label="${hostile//\"/\\\"}" ;; esac
    printf '[[offer]]\nid = "o%s"\nlabel = "%s"\nprice = "2%s EUR"\nset = ['"'"'switch.stairs.port.any.rate="1 Gb/s"'"'"']\n' "$i" "$label" "$i"
  done
} > "$to/lists/offers.toml"
