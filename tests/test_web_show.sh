#!/bin/sh
# The show as a browser shows it, of the demo and of a teardown whose notes mean mischief. UNPICK: the program.
set -u
top=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_DATA_HOME="$work/data"
cp -r "$top/demo/dispenser" "$work/demo"
mkdir "$work/mischief"
cp "$top/tests/web/mischief.txt" "$work/mischief/notes.txt"
for folder in demo mischief; do
    "$UNPICK" report "$work/$folder" --show >"$work/said" 2>&1 || {
        echo "1..1"
        echo "not ok 1 - the show of $folder is written"
        exit 1
    }
    mv "$work/$folder/show.html" "$work/$folder.html"
done
"$top/tests/web/run.sh" show.mjs "$work/demo.html" "$work/mischief.html"
