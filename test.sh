#!/bin/sh
# Runs every test there is: ./test.sh [--long]
#
# Installs what is missing (says what), builds with the address and undefined-behaviour sanitizers and warnings as errors,
# runs the tests and the fuzz corpora, then checks the release build as people get it: valgrind on the demo, installing.
# --long also lets each fuzz target search for 60 s, and asks a page that watches its threads for everything at once and for all of its
# stories. Every case of
# every program counts; the last line is the sum.
# Everything it makes is under build/, build-test/, build-fuzz/ and build-tsan/.
set -u
cd "$(dirname "$0")" || exit 2
case ${1-} in
'') long=false ;;
--long) long=true ;;
*) echo "usage: ./test.sh [--long]" >&2 && exit 2 ;;
esac

tools/install.sh build test || exit 2
export RESULTS="$PWD/build-test/results"
export CMOCKA_MESSAGE_OUTPUT=TAP
export ASAN_OPTIONS=detect_stack_use_after_return=1:strict_string_checks=1
export UBSAN_OPTIONS=print_stacktrace=1
own=build-test/test.sh.tap
mkdir -p "$RESULTS" && rm -f "$RESULTS"/* $own

# check NAME COMMAND ...: one case of this script; what a failing command said is shown
check() {
    name=$1
    shift
    if "$@" >build-test/step.log 2>&1; then
        echo "ok - $name" | tee -a "$own"
    else
        tail -n 60 build-test/step.log
        echo "not ok - $name" | tee -a "$own"
        return 1
    fi
}

# build FOLDER TARGETS OPTION ...: configures and compiles, warnings as errors
build() {
    folder=$1 targets=$2
    shift 2
    tools/configure.sh "$folder" -Dwerror=true "$@" || return
    # no target stands for all of them
    # shellcheck disable=SC2086
    ninja -C "$folder" $targets
}

# every program that meson lists left a record
all_recorded() {
    set -- "$RESULTS"/*.tap
    [ $# -eq "$(meson test -C build-test --no-rebuild --list | grep -c .)" ]
}

# under_valgrind PROGRAM ...: no error and no definite leak; 1 is the program's own way to say "there are contradictions"
under_valgrind() {
    # one thread: libgomp never takes back what its threads are made of
    OMP_THREAD_LIMIT=1 valgrind --quiet --error-exitcode=99 --leak-check=full --errors-for-leak-kinds=definite,indirect,possible "$@"
    [ $? -le 1 ]
}

build_fuzzers() {
    CC=clang build build-fuzz all -Dfuzz=true -Dtests=disabled -Dbuildtype=debugoptimized -Db_sanitize=address,undefined \
        -Db_lundef=false
}

# fuzz NAME: the corpus under libFuzzer, then, with --long, a search of 60 s that keeps its finds out of the tree
fuzz() {
    found=build-fuzz/found/$1
    mkdir -p "$found"
    run="build-fuzz/fuzz/fuzz_$1 -timeout=20 -rss_limit_mb=2048 -artifact_prefix=$found-"
    # word splitting of $run is meant
    # shellcheck disable=SC2086
    check "fuzz $1: corpus" $run -runs=0 "fuzz/corpus/$1"
    # shellcheck disable=SC2086
    ! $long || check "fuzz $1: 60 s" $run -max_total_time=60 "$found" "fuzz/corpus/$1"
}

if check "builds with sanitizers" build build-test all -Dtests=enabled -Dbuildtype=debugoptimized -Db_sanitize=address,undefined; then
    meson test -C build-test --no-rebuild --print-errorlogs --wrapper "$PWD/tools/record.sh"
    check "every test program ran" all_recorded
fi

if check "builds with clang and libFuzzer" build_fuzzers; then
    for target in build-fuzz/fuzz/fuzz_*; do
        [ ! -f "$target" ] || fuzz "${target##*/fuzz_}"
    done
fi

build_watching_threads() { build build-tsan src/unpick -Dtests=disabled -Dbuildtype=debugoptimized -Db_sanitize=thread; }
if $long && check "builds with the thread sanitizer" build_watching_threads; then
    # one OpenMP thread: the sanitizer does not see how libgomp's wait for each other
    export OMP_THREAD_LIMIT=1
    check "page: asked for everything at once" env SECONDS=60 UNPICK="$PWD/build-tsan/src/unpick" tests/web/run.sh stress.mjs
    check "page: whole stories" env LIVE_MS=3000 UNPICK="$PWD/build-tsan/src/unpick" tests/web/run.sh page.mjs
    unset OMP_THREAD_LIMIT
fi

if check "builds for release" build build "src/unpick src/libunpick.a"; then
    # a photo can't be decoded under valgrind, which refuses the limits that the decoding process sets itself: its copper is
    # left in derived/ first
    build/src/unpick look demo/dispenser >"$RESULTS/look" 2>&1
    check "valgrind: look" under_valgrind build/src/unpick look demo/dispenser
    check "valgrind: report" under_valgrind build/src/unpick report demo/dispenser
    BUILD=build tools/record.sh tests/test_install.sh
fi

echo "exit 0" >>"$own"
exec tools/tally.sh $own "$RESULTS"/*.tap
