#!/bin/sh
# Measures what was promised, each beside a reference in the same run, and prints one table. Exit status 1 when a bar was missed.
set -u
cd "$(dirname "$0")" || exit 2
tools/install.sh build test bench || exit 2
mkdir -p build
{ tools/configure.sh build -Db_lto=true -Dtests=enabled && ninja -C build && ninja -C build tools/boards/boardphoto; } >build/build.log 2>&1 || {
    cat build/build.log >&2
    exit 2
}
tab=$(printf '\t')
{
    echo "measure${tab}value${tab}bar${tab}reference${tab}ratio${tab}verdict"
    for program in build/bench/bench_*; do
        [ -f "$program" ] || continue
        case $program in
        *start) set -- build/src/unpick demo/dispenser ;;
        *jpeg) set -- build/tools/boards/boardphoto build/src/unpick ;;
        *) set -- ;;
        esac
        echo "${program##*/} ..." >&2
        "$program" "$@" || echo "${program##*/}${tab}ended with $?${tab}-${tab}-${tab}-${tab}missed"
    done
    echo "speed.mjs ..." >&2
    UNPICK=$PWD/build/src/unpick tests/web/run.sh speed.mjs || echo "speed.mjs${tab}ended with $?${tab}-${tab}-${tab}-${tab}missed"
} | awk -F '\t' '
    NF == 6 {
        rows++
        for (i = 1; i <= 6; i++) {
            cell[rows, i] = $i
            bytes = length($i)
            if (bytes > width[i]) width[i] = bytes
        }
        missed += $6 == "missed"
    }
    NF != 6 { print }
    END {
        for (r = 1; r <= rows; r++) {
            line = ""
            for (i = 1; i <= 6; i++) line = line sprintf("%-" (i < 6 ? width[i] : 1) "s  ", cell[r, i])
            sub(/ +$/, "", line)
            print line
        }
        exit missed > 0
    }'
