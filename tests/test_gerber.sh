#!/bin/sh
# The Gerber file drawn by an independent reader (gerber-to-svg from the npm registry, then rsvg-convert) covers the copper that was
# traced: intersection over union of at least 0.99. SAMPLE: the program gerber_sample. Skipped where npm or the registry is missing.
set -u
top=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
count=0

if ! command -v npm >/dev/null || ! command -v rsvg-convert >/dev/null ||
    ! (cd "$work" && npm install --silent --no-audit --no-fund gerber-to-svg@4.2.8 >"$work/npm.log" 2>&1); then
    echo "1..0 # SKIP npm, its registry or rsvg-convert can't be reached"
    exit 0
fi

# covers NAME [BOARD]
covers() {
    count=$((count + 1))
    name=$1
    shift
    mkdir "$work/$name"
    if "$SAMPLE" write "$work/$name" "$@" >"$work/log" 2>&1 && node "$top/tests/gerber_draw.js" "$work/$name" "$work" >>"$work/log" 2>&1 &&
        width=$(node -p "const s = require('$work/$name/size.json'); Math.round(s.width * s.scale)") &&
        rsvg-convert --background-color=white --width="$width" "$work/$name/copper.svg" >"$work/$name/copper.png" 2>>"$work/log" &&
        overlap=$("$SAMPLE" compare "$work/$name/labels.png" "$work/$name/copper.png") && echo "overlap $overlap" >>"$work/log" &&
        [ "${overlap#0.99}" != "$overlap" -o "$overlap" = 1.0000 ]; then
        echo "ok $count - $name: the drawn Gerber file overlaps its copper by $overlap"
    else
        echo "not ok $count - $name"
        sed 's/^/# /' "$work/log"
    fi
}

covers drawn
for board in "$top"/../shared/boards/*/truth.json; do
    if [ -f "$board" ]; then
        board=${board%/truth.json}
        covers "${board##*/}" "$board"
    fi
done
echo "1..$count"
