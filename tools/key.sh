#!/bin/sh
# key.sh OUT.c NAME FILE...: a digest of the files as the string NAME, so that what one program kept is not taken up by another
set -eu
out=$1 name=$2
shift 2
digest=$(cat "$@" | sha256sum | cut -c1-32)
printf 'extern const char %s[];\nconst char %s[] = "%s";\n' "$name" "$name" "$digest" >"$out"
