#!/bin/sh
# Runs a test program and keeps what it said, and how it ended, for tools/tally.sh: RESULTS=FOLDER tools/record.sh PROGRAM ...
# (meson test --wrapper). A program that is killed leaves no `exit` line.
record=$RESULTS/$(basename "$1").$$.tap
"$@" >"$record" 2>"$record.err"
code=$?
cat "$record" "$record.err"
echo "exit $code" >>"$record"
exit $code
