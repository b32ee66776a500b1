#!/bin/sh
# Adds up what test programs said in TAP (`1..N`, `ok`, `not ok`): tools/tally.sh FILE.tap ...
# A case that was announced and never ran has failed; so has a program that ended badly after its last case. A case that is
# skipped counts neither way, and is shown.
# The last line is `N passed, N failed`; exit status 1 when any failed, or when nothing passed.
exec awk '
    function finish(    never) {
        if (file == "") return
        never = plan - passed_here - failed_here
        if (never > 0) print file ": " never " cases never ran (it ended with " code ")"
        else if (code != "0" && failed_here == 0) { print file ": ended with " code; never = 1 }
        else never = 0
        passed += passed_here
        failed += failed_here + never
    }
    FNR == 1 { finish(); file = FILENAME; plan = passed_here = failed_here = 0; code = "a signal" }
    /^1\.\.[0-9]+$/ { plan = substr($0, 4) }
    /^(not )?ok [0-9]+ # SKIP/ { plan--; print file ": " $0; next }
    /^ok( |$)/ { passed_here++ }
    /^not ok( |$)/ { failed_here++; print file ": " $0 }
    /^exit [0-9]+$/ { code = $2 }
    END {
        finish()
        printf "%d passed, %d failed\n", passed, failed
        exit failed > 0 || passed == 0
    }' "$@" /dev/null
