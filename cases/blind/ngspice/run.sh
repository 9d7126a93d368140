#!/bin/sh
# Runs every netlist with ngspice and writes what it gave to values.txt.
set -eu
cd "$(dirname "$0")"
for f in *.cir; do
  echo "${f%.cir}: $(head -n 1 "$f" | cut -c3-)"
  ngspice -b "$f" 2>/dev/null | grep -E '^[a-z0-9_]+ = ' | sed 's/^/  /'
done > values.txt
