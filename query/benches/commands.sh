#!/usr/bin/env bash
# Whole commands on the corpus, each process started anew (files in the page cache): hyperfine's means against what is
# asked of the release build on two cores. Ends with 1 where one is slower than that.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."

if ! command -v hyperfine >/dev/null; then
    echo "hyperfine is missing: apt-get install hyperfine, or cargo install hyperfine" >&2
    exit 2
fi
cargo build --release --quiet -p leadsman-query
program=${CARGO_TARGET_DIR:-target}/release/leadsman
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
boats=$(printf 'fixtures/corpus/%s ' quillback marigold corncrake saltmarsh sastrugi lanternfish)
export LEADSMAN_HOME=$folder/home

slow=0
measure() { # measure NAME MOST_SECONDS COMMAND [PREPARE]
    hyperfine --shell=none --warmup 2 --min-runs 10 --export-json "$folder/$1.json" ${4:+--prepare "$4"} "$3" \
        >"$folder/$1.log" 2>&1 || { cat "$folder/$1.log"; exit 1; }
    python3 - "$1" "$2" "$folder/$1.json" <<'PY' || slow=1
import json, sys
name, most, path = sys.argv[1], float(sys.argv[2]), sys.argv[3]
result = json.load(open(path))["results"][0]
mean = result["mean"]
print(f"{name:24} {mean * 1000:7.1f} ms ± {result['stddev'] * 1000:.1f}   (asked for: under {most * 1000:.0f} ms)")
sys.exit(mean >= most)
PY
}

measure ingest-six-boats 1.0 "$program ingest $boats" "rm -rf $LEADSMAN_HOME"
"$program" ingest $boats >/dev/null
measure ingest-again 1.0 "$program ingest $boats"
measure open 0.05 "$program open --all"
measure find 0.05 "$program find heater"
measure trend 0.05 "$program trend voltage"
"$program" passage --departure 2026-10-10 --days 20 --distance 1800 --crew 2 --back 2027-03-31 >/dev/null
measure open-with-a-passage 0.05 "$program --on 2026-10-06 open --all"

# Ten years of notes: a thousand files, 20 MB.
query/benches/ten_years.py "$folder/notes"
export LEADSMAN_HOME=$folder/ten-years
"$program" ingest "$folder/notes" >/dev/null
"$program" passage --departure 2026-03-10 --days 20 --distance 1800 --crew 2 --back 2026-08-31 >/dev/null
measure ten-years-rebuild 10 "$program rebuild"
measure ten-years-open 0.1 "$program --on 2026-03-01 open"
measure ten-years-gear 0.1 "$program gear"
measure ten-years-proved 0.1 "$program proved"
measure ten-years-budget 0.2 "$program budget"
exit $slow
