#!/bin/bash
# The bash completion, sourced and asked as bash asks it. UNPICK: the program.
set -u
top=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/bin" "$work/lamp"
ln -s "$(realpath "$UNPICK")" "$work/bin/unpick"
PATH=$work/bin:$PATH
export XDG_DATA_HOME=$work
count=0
cd "$work" || exit 1
# shellcheck source=completions/unpick.bash
. "$top/completions/unpick.bash"

# replies LINE: what is offered at the end of the line, one a line; words are broken as bash does
replies() {
    COMP_LINE=$1 COMP_POINT=${#1}
    read -ra COMP_WORDS <<<"${1//:/ : }"
    [[ $1 != *' ' ]] || COMP_WORDS+=('')
    COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
    COMPREPLY=()
    _unpick
    printf '%s\n' "${COMPREPLY[@]}"
}

# offers LINE WORD: the word is among the replies
offers() {
    count=$((count + 1))
    if replies "$1" | grep -qxF -- "$2"; then
        echo "ok $count - '$1' offers $2"
    else
        echo "not ok $count - '$1' offers $2"
        replies "$1" | sed 's/^/# /'
    fi
}

withholds() {
    count=$((count + 1))
    if replies "$1" | grep -qxF -- "$2"; then
        echo "not ok $count - '$1' does not offer $2"
    else
        echo "ok $count - '$1' does not offer $2"
    fi
}

printf '%s\n' 'part BT1 battery 4 x LR03' 'part Q1 npn' 'claim Q1 "a switch" sure 70%' >lamp/notes.txt
id=$(unpick why lamp | grep '^[^ ]*:Q1' | head -n 1 | cut -d ' ' -f 1)

for command in $(unpick help | sed -n 's/^  \([a-z]*\) .*/\1/p'); do
    offers 'unpick ' "$command"
done
offers 'unpick l' look
withholds 'unpick l' why
offers 'unpick look ' lamp
offers 'unpick look --' --json
withholds 'unpick note --' --json
offers 'unpick mark --as res' resistor
offers 'unpick shelf ' find
offers 'unpick shelf lo' load
withholds 'unpick shelf find ' load
offers 'unpick help rep' report
offers 'unpick why lamp ' "$id"
offers "unpick why lamp ${id%1}" Q1 # bash completes what stands after the colon
for command in new note look why mark shelf report export page; do # every option that the help names
    for option in $(unpick $command --help | grep -o -- '--[a-z]*' | sort -u); do
        [[ $option == --help ]] || offers "unpick $command --" "$option"
    done
done
echo "1..$count"
