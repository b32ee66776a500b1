#!/bin/bash
# The session shown in README.md, run again: every command must say what stands below it. `...` on a line of its own stands for
# any lines; a line that ends in `...` goes on in some way. UNPICK: the program.
set -u
top=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/bin" "$work/home"
ln -s "$(realpath "$UNPICK")" "$work/bin/unpick"
ln -s "$top/demo" "$work/demo"
PATH=$work/bin:$PATH
export XDG_DATA_HOME=$work/home COLUMNS=80
cd "$work" || exit 1
count=0

# as_shown EXPECTED SAID: two files
as_shown() {
    awk '
        function fits(line, head) { return sub(/\.\.\.$/, "", head) ? index(line, head) == 1 : line == head }
        NR == FNR { wanted[++n] = $0; next }
        { said[++m] = $0 }
        END {
            for (i = j = 1; i <= n; i++) {
                if (wanted[i] == "...") {
                    if (i == n) exit 0
                    while (j <= m && !fits(said[j], wanted[i + 1])) j++
                    continue
                }
                if (j > m || !fits(said[j], wanted[i])) exit 1
                j++
            }
            exit j <= m
        }' "$1" "$2"
}

# run_step: the command in $command, its text in $shown
run_step() {
    [ -n "$command" ] || return
    count=$((count + 1))
    # the shell takes the blank lines off the end of both
    # shellcheck disable=SC2005,SC2116
    echo "$(echo "$shown")" >shown
    # shellcheck disable=SC2005
    echo "$(bash -c "$command" 2>&1 </dev/null)" >said
    if as_shown shown said; then
        echo "ok $count - ${command%%$'\n'*}"
    else
        echo "not ok $count - ${command%%$'\n'*}"
        diff shown said | sed 's/^/# /'
    fi
}

command='' shown='' inside=false
while IFS= read -r line; do
    case $line in
    '    $ '*)
        run_step
        command=${line#'    $ '} shown=''
        [[ $command != *"<<'END'" ]] || inside=true
        ;;
    '    '* | '')
        [ -n "$command" ] || continue
        if $inside; then
            command+=$'\n'${line#'    '}
            [[ $line != '    END' ]] || inside=false
        else
            shown+=${line#'    '}$'\n'
        fi
        ;;
    *)
        run_step
        command='' shown=''
        ;;
    esac
done < <(sed 's/[[:space:]]*$//' "$top/README.md")
run_step
echo "1..$count"
