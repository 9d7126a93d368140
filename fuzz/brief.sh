#!/usr/bin/env bash
# A bounded fuzzing session of every target, from the seeds alone, the same each time.
set -euo pipefail
cd "$(dirname "$0")/.."
runs="${1:-20000}"
for target in entry journal sheet; do
    seeds="fuzz/seeds/$target"
    [ "$target" = sheet ] && seeds="machines"
    new="$(mktemp -d)"
    echo "fuzzing $target: $runs runs"
    # -seed makes a run repeatable; -timeout is per input, in seconds, and generous.
    cargo fuzz run --sanitizer none "$target" "$new" "$seeds" -- \
        -runs="$runs" -seed=1 -max_len=16384 -timeout=20 -rss_limit_mb=2048 -print_final_stats=1
    rm -rf "$new"
done
echo "fuzzing: every target passed"
