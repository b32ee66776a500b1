#!/bin/sh
# Runs a test of this folder in headless Chromium: tests/web/run.sh NAME.mjs ARGUMENT ...
# It fetches what package-lock.json pins when that is not here yet; without Chromium or node the test is skipped and says so.
set -u
web=$(cd "$(dirname "$0")" && pwd)
for command in chromium node npm; do
    command -v $command >/dev/null || {
        echo "1..0 # SKIP there is no $command here: tools/install.sh test"
        exit 0
    }
done
if [ ! -f "$web/node_modules/.package-lock.json" ] || [ "$web/package-lock.json" -nt "$web/node_modules/.package-lock.json" ]; then
    # one at a time: two tests may want it at once
    (
        flock 9
        [ "$web/node_modules/.package-lock.json" -nt "$web/package-lock.json" ] ||
            { npm ci --prefix "$web" --silent --no-audit --no-fund >&2 && touch "$web/node_modules/.package-lock.json"; }
    ) 9<"$web/package-lock.json" || {
        echo "1..1"
        echo "not ok 1 - the packages of tests/web/package-lock.json can't be installed"
        exit 1
    }
fi
test=$1
shift
exec node "$web/$test" "$@"
