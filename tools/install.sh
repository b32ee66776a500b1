#!/bin/sh
# Installs from the Debian mirror what is missing, and says what: tools/install.sh build|test|bench ...
#   build   what it takes to build the program
#   test    also what it takes to test and time it: the test library, a second compiler, valgrind, references to check against
#   bench   also what the page is timed beside: a web server and what asks it
# Nothing else is ever downloaded, but for what tests/web/package-lock.json pins, which its tests fetch from npm themselves.
set -eu

build='gcc libc6-dev meson ninja-build pkg-config libsqlite3-dev libjansson-dev libxxhash-dev zlib1g-dev libjpeg-dev libpng-dev libwebp-dev libheif-dev libexif-dev libsuitesparse-dev libgraphviz-dev libmicrohttpd-dev libqrencode-dev'
test='git g++ libcmocka-dev libopencv-imgproc-dev libopencv-imgcodecs-dev libopencv-dnn-dev libopenblas-dev libleptonica-dev librsvg2-bin libigraph-dev libgsl-dev liblapacke-dev clang libclang-rt-14-dev valgrind man-db bash zsh fish nodejs npm chromium fonts-liberation fonts-dejavu-core poppler-utils libxml2-utils'
bench='nginx wrk'

missing=
for set in "$@"; do
    case $set in
    build) packages=$build ;;
    test) packages=$test ;;
    bench) packages=$bench ;;
    *) echo "usage: tools/install.sh build|test|bench ..." >&2 && exit 2 ;;
    esac
    for package in $packages; do
        state=$(dpkg-query -W -f '${db:Status-Abbrev}' "$package" 2>/dev/null) || state=
        # npm may have come with another packaging of node
        [ "$state" = 'ii ' ] || [ "$state" = 'hi ' ] || { [ "$package" = npm ] && command -v npm >/dev/null; } || missing="$missing $package"
    done
done
[ -n "$missing" ] || exit 0

command -v apt-get >/dev/null || {
    echo "This needs a Debian system. Packages, by their Debian names:$missing" >&2
    exit 1
}
as_root=
if [ "$(id -u)" -ne 0 ]; then
    as_root=sudo
    command -v sudo >/dev/null || {
        echo "Missing:$missing. Install them as root: apt-get install$missing" >&2
        exit 1
    }
fi
echo "Installing what is missing:$missing"
$as_root apt-get update -qq || echo "The package lists could not all be refreshed; going on with those there are." >&2
# word splitting of the list is meant
# shellcheck disable=SC2086
$as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null
