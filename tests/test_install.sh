#!/bin/sh
# What `meson install` puts where, and that a program of ten lines builds against it through pkg-config alone, and runs.
# BUILD names the build folder, which is already built.
set -u
top=$(cd "$(dirname "$0")/.." && pwd)
stage=$(mktemp -d)
trap 'rm -rf "$stage"' EXIT
count=0

# try NAME COMMAND ...
try() {
    count=$((count + 1))
    name=$1
    shift
    if "$@" >"$stage/log" 2>&1; then
        echo "ok $count - $name"
    else
        echo "not ok $count - $name"
        sed 's/^/# /' "$stage/log"
    fi
}

installed() { # a file whose path ends so
    find "$stage/root" -path "*$1" | grep -q .
}

build_program() {
    # pkg-config's answer is several words
    # shellcheck disable=SC2046
    cc -std=c17 -Wall -Werror "$stage/ten.c" -o "$stage/ten" \
        $(PKG_CONFIG_SYSROOT_DIR=$stage/root PKG_CONFIG_PATH=$pc pkg-config --cflags --libs unpick)
}

run_program() {
    cp -r "$top/demo/dispenser" "$stage/teardown" &&
        "$stage/ten" "$stage/teardown" >"$stage/said" && grep -q '"unpick": 1' "$stage/said"
}

try "meson install" env DESTDIR="$stage/root" meson install -C "$BUILD" --no-rebuild
for file in /bin/unpick /include/unpick.h /libunpick.a /pkgconfig/unpick.pc /man1/unpick.1 \
    /bash-completion/completions/unpick /site-functions/_unpick /fish/vendor_completions.d/unpick.fish; do
    try "installs $file" installed "$file"
done
pc=$(dirname "$(find "$stage/root" -name unpick.pc)")
cat >"$stage/ten.c" <<'C'
#include <stdio.h>
#include <unpick.h>

int main(int argc, char **argv) {
    Unpick *bench = unpick_open(argc > 1 ? argv[1] : NULL, NULL);
    const char *json = unpick_json(bench);
    puts(json != NULL ? json : unpick_problems(bench));
    unpick_close(bench);
    return json == NULL;
}
C
try "a program builds against it" build_program
try "the program tells the demo" run_program
echo "1..$count"
