#!/bin/sh
# The demo's report as a browser shows it: valid, self-contained, accessible. UNPICK: the program.
set -u
top=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_DATA_HOME="$work/data"
cp -r "$top/demo/dispenser" "$work/demo"
"$UNPICK" report "$work/demo" >"$work/said" 2>&1 || {
    echo "1..1"
    echo "not ok 1 - the demo's report is written"
    exit 1
}
"$top/tests/web/run.sh" report.mjs "$work/demo/report.html"
