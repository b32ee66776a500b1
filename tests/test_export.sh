#!/bin/sh
# What unpick export writes: well-formed, and still only text where the notes mean mischief. UNPICK: the program.
set -u
top=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_DATA_HOME="$work/data"
cp -r "$top/demo/dispenser" "$work/demo"
mkdir "$work/mischief"
cp "$top/tests/web/mischief.txt" "$work/mischief/notes.txt"
count=0

# holds NAME COMMAND ...
holds() {
    name=$1
    shift
    count=$((count + 1))
    if "$@" >"$work/said" 2>&1; then
        echo "ok $count - $name"
    else
        echo "not ok $count - $name"
        head -20 "$work/said" | sed 's/^/# /'
    fi
}

export_to() { "$UNPICK" export "$1" "$2" --out "$work/$2"; }
no_text() { ! grep -q -e "$1" "$2"; }

schematic_in() { "$UNPICK" export "$work/demo" schematic.svg --symbols "$1" --out "$work/$1.svg"; }
differ() { ! cmp -s "$1" "$2"; }
holds "a schematic with symbols of IEC 60617" schematic_in iec
holds "a schematic with symbols of IEEE 315" schematic_in ieee
holds "a resistor is a box in the one and a zigzag in the other" differ "$work/iec.svg" "$work/ieee.svg"
holds "which is well-formed too" xmllint --noout "$work/ieee.svg"
holds "other symbols are refused" sh -c "! '$UNPICK' export '$work/demo' schematic.svg --symbols din"
holds "the report takes them too" "$UNPICK" report "$work/demo" --symbols ieee -o "$work/ieee.html"

for folder in demo mischief; do
    for drawing in board schematic currents readings blocks battery; do
        if [ $folder != mischief ] || [ $drawing != blocks ]; then # too little is known there
            holds "$folder: $drawing.svg is written" export_to "$work/$folder" $drawing.svg
            holds "$folder: $drawing.svg is well-formed XML" xmllint --noout "$work/$drawing.svg"
            holds "$folder: $drawing.svg holds no element that runs or fetches" no_text '<script\|<iframe\|<foreignObject\|on[a-z]*="\|href="[^d]' "$work/$drawing.svg"
        fi
    done
    holds "$folder: nets.json" export_to "$work/$folder" nets.json
    holds "$folder: parts.csv" export_to "$work/$folder" parts.csv
    # every field stands between quotes, and none begins as a formula does
    holds "$folder: no field of parts.csv is a formula" no_text '\(^\|,\)"[=+@-]' "$work/parts.csv"
    holds "$folder: parts.csv begins with the mark that says UTF-8" sh -c "head -c 3 '$work/parts.csv' | od -An -tx1 | grep -q 'ef bb bf'"
done
holds "a marking that is a formula is text" grep -q "\"'=1+1\"" "$work/parts.csv"
holds "the demo's copper as Gerber" sh -c "'$UNPICK' export '$work/demo' copper.gbr | grep -q '^%TF.FileFunction'"
holds "the demo's nets as IPC-D-356A, by their names" sh -c "'$UNPICK' export '$work/demo' nets.ipc | grep -q '^317VDD\|^327VDD'"
holds "what there is not is said" sh -c "! '$UNPICK' export '$work/mischief' nets.ipc 2>'$work/why' && grep -q 'copper is known' '$work/why'"
holds "the nearest name is said" sh -c "! '$UNPICK' export '$work/demo' part.csv 2>'$work/why' && grep -q 'did you mean .parts.csv' '$work/why'"
echo "1..$count"
