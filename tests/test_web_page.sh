#!/bin/sh
# The bench page as a person works at it, in headless Chromium: whole stories. UNPICK: the program.
set -u
web=$(cd "$(dirname "$0")/web" && pwd)
UNPICK=$(realpath "$UNPICK")
export UNPICK
exec sh "$web/run.sh" page.mjs
