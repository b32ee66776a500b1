#!/bin/sh
# The bench page as a person works at it, in headless Chromium: whole stories. UNPICK: the program.
set -u
web=$(cd "$(dirname "$0")/web" && pwd)
UNPICK=$(realpath "$UNPICK")
export UNPICK
# sanitizers make it some times slower, and tests run beside each other: still sooner than the look each second would show it
! nm "$UNPICK" 2>/dev/null | grep -q __asan_init || export LIVE_MS=900
exec sh "$web/run.sh" page.mjs
