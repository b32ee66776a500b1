#!/bin/sh
# Makes or refreshes a build folder of this tree: tools/configure.sh FOLDER [MESON OPTION ...]
set -eu
top=$(cd "$(dirname "$0")/.." && pwd)
folder=$1
shift
again=
[ ! -f "$folder/build.ninja" ] || again=--reconfigure
# an empty $again is no argument
# shellcheck disable=SC2086
meson setup $again "$@" "$folder" "$top"
