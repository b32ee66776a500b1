#!/bin/sh
# The completions of zsh and fish, and the man page, read by what they are for. UNPICK: the program.
set -u
top=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/bin" "$work/lamp"
ln -s "$(realpath "$UNPICK")" "$work/bin/unpick"
PATH=$work/bin:$PATH
export HOME="$work" XDG_CONFIG_HOME="$work" XDG_DATA_HOME="$work"
count=0

# try NAME COMMAND ...
try() {
    count=$((count + 1))
    name=$1
    shift
    if "$@" >"$work/log" 2>&1; then
        echo "ok $count - $name"
    else
        echo "not ok $count - $name"
        sed 's/^/# /' "$work/log"
    fi
}

# fish_offers LINE WORD: fish offers the word at the end of the line
fish_offers() {
    (cd "$work" && fish --no-config -c "source $top/completions/unpick.fish; complete -C '$1'") | cut -f 1 | tee "$work/log" | grep -qxF -- "$2"
}

page_is_clean() { # groff warns of nothing, and the page names every command
    man --warnings -E UTF-8 -l "$top/doc/unpick.1" >"$work/page" 2>"$work/warnings" && cat "$work/warnings" && [ ! -s "$work/warnings" ] &&
        for command in new note look why mark shelf report export; do grep -qw "$command" "$work/page" || return 1; done
}

try "zsh reads its completion" zsh -n "$top/completions/_unpick"
try "fish reads its completion" fish --no-config --no-execute "$top/completions/unpick.fish"
try "fish: unpick l ... look" fish_offers 'unpick l' look
try "fish: unpick look ... lamp/" fish_offers 'unpick look la' lamp/
try "fish: unpick look -- ... --json" fish_offers 'unpick look --' --json
try "fish: unpick mark --as re ... resistor" fish_offers 'unpick mark --as re' resistor
try "man finds nothing wrong with the page" page_is_clean
echo "1..$count"
