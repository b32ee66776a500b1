#!/bin/sh
# The command line: what each command answers and with which exit code. UNPICK: the program.
set -u
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
top=$(cd "$(dirname "$0")/.." && pwd)
export XDG_DATA_HOME="$work/data"
unset COLUMNS
count=0

# says CODE PATTERN ARGUMENT ...: exits so, and a line of stdout or stderr matches
says() {
    code=$1 pattern=$2
    shift 2
    count=$((count + 1))
    "$UNPICK" "$@" >"$work/said" 2>&1 </dev/null
    got=$?
    if [ $got -eq "$code" ] && grep -q -e "$pattern" "$work/said"; then
        echo "ok $count - unpick $*" | tr '\n#' '  '
        echo
    else
        echo "not ok $count - unpick $*: exit $got, expected $code and \"$pattern\""
        sed 's/^/# /' "$work/said"
    fi
}

# holds NAME COMMAND ...
holds() {
    name=$1
    shift
    count=$((count + 1))
    if "$@" >"$work/said" 2>&1; then
        echo "ok $count - $name"
    else
        echo "not ok $count - $name"
        sed 's/^/# /' "$work/said"
    fi
}

lamp=$work/lamp
says 2 '^usage: unpick COMMAND'
says 0 '^  look ' help
says 0 '^usage: unpick mark' help mark
says 0 '^unpick [0-9]*\.[0-9]*\.[0-9]*$' --version
says 2 'did you mean "look"' lok "$lamp"
says 2 'there is no option --jsn' look --jsn .
says 2 'wants a value' look . --shelf
says 2 'something is missing' look
says 2 'more than it takes' look a b
for command in new note look why mark shelf copper sums report export page; do
    says 0 "^usage: unpick $command" $command --help
    holds "the man page tells of $command" grep -qx "^\.Ss $command" "$top/doc/unpick.1"
    for option in $("$UNPICK" $command --help | grep -o -e '--[a-z]*' | sort -u); do
        holds "the man page tells of $command $option" grep -q "Fl -${option#--}\|-${option#--}" "$top/doc/unpick.1"
    done
done

says 2 'how big is the board' copper top.jpg
says 2 'expected top or bottom' copper top.jpg --board 2x2mm --on left
says 2 'expected a place in mm' copper top.jpg --board 2x2mm --hole here
says 2 'say.* where it is seen' copper top.jpg --board 2x2mm --back-svg bottom.svg
says 2 'something was said of the other side' copper top.jpg --board 2x2mm --on bottom --joined '1,1 2,1'
says 2 '--board "12": expected the board' copper top.jpg --board 12
says 2 '--board "1e400x3mm": expected the board' copper top.jpg --board 1e400x3mm
says 2 '--corners "1,2": expected the four corners' copper top.jpg --board 2x2mm --corners 1,2
says 2 '--back-corners "1,2 nan,4 5,6 7,8": expected the four' copper top.jpg --board 2x2mm --back-corners '1,2 nan,4 5,6 7,8'
says 2 '--cut "1,1 2,2": expected a place' copper top.jpg --board 2x2mm --cut '1,1 2,2'
says 2 '--bridge "1,1": expected two places' copper top.jpg --board 2x2mm --bridge 1,1
says 2 '--apart "": expected two places' copper top.jpg --board 2x2mm --apart ''
says 2 '--hidden "1,1 2,2": expected three places or more, at most 256' copper top.jpg --board 2x2mm --hidden '1,1 2,2'
says 2 '1,1 is said to be a plated hole and a bare one' copper top.jpg --board 2x2mm --hole 1,1 --bare-hole 1,1
says 2 '1,1 is said to be copper and bare' copper top.jpg --board 2x2mm --bare 1,1 --copper 1,1
says 2 '9,1 lies off the board, which is 2 x 2 mm' copper top.jpg --board 2x2mm --bare-hole 9,1
says 2 '--scale "1e9": expected 1 to 200 pixels' copper top.jpg --board 2x2mm --scale 1e9 --labels l.png
says 2 'expected --labels FILE.png as well' copper top.jpg --board 2x2mm --scale 20
says 2 '--netlist "": expected a name' copper top.jpg --board 2x2mm --netlist ''
says 2 'is both sides: expected a photo of each' copper top.jpg --board 2x2mm --back top.jpg
says 2 'is to be two files' copper top.jpg --board 2x2mm --svg a --gerber a
says 2 'is a photo, and would be written over' copper top.jpg --board 2x2mm --back b.jpg --back-gerber b.jpg
: >"$work/one.jpg"
ln "$work/one.jpg" "$work/other.svg"
says 2 'is a photo, and would be written over' copper "$work/one.jpg" --board 2x2mm --svg "$work/other.svg"
says 3 'one.jpg: nothing can be kept there: Not a directory' copper top.jpg --board 2x2mm --cache "$work/one.jpg"
says 3 'expected a JPEG, PNG, WebP or HEIC photo' copper "$work/none.jpg" --board 2x2mm --back "$work/none.png"

says 0 'notes.txt is ready' new "$lamp"
says 3 'something in it already' new "$lamp"
first=$(($(wc -l <"$lamp/notes.txt") + 1))
says 0 "^line $first$" note "$lamp" 'part R1 0805 marked "101"'
says 1 'expected' note "$lamp" 'prat R2 0805'
says 3 'no notes here' note "$work/nowhere" 'part R2 0805'
stdin_notes() {
    printf '%s\n' '# seen today' '' 'part BT1 battery 4 x LR03' 'prat' 'part SW1 switch' 'join BT1.+ SW1.1' | "$UNPICK" note "$lamp" -
    [ $? -eq 1 ]
}
holds "notes from standard input: a bad one is refused" stdin_notes
holds "and all others are kept" test "$(grep -c '^part\|^join' "$lamp/notes.txt")" -eq 4
long_line() {
    { head -c 3000000 /dev/zero | tr '\0' x; printf '\npart C1\n'; } | "$UNPICK" note "$lamp" -
    [ $? -eq 1 ] && grep -qx 'part C1' "$lamp/notes.txt" && [ "$(wc -c <"$lamp/notes.txt")" -lt 10000 ]
}
holds "a line of megabytes is refused, the next one counts" long_line

says 0 'How it works' look "$lamp"
says 3 'no notes here' look "$work/nowhere"
says 3 'no notes here' report "$work/nowhere"
says 3 'no notes here' why "$work/nowhere" x
printf 'not a note\n' >>"$lamp/notes.txt"
says 0 'notes.txt:[0-9]*:1: ' look "$lamp"
says 0 'marking:R1\|part:R1' why "$lamp" R1
says 1 'There is no claim' why "$lamp" no-such-claim
says 0 '"claims"' why "$lamp" --json
no_colour() { ! "$UNPICK" look "$lamp" 2>/dev/null | grep -q "$(printf '\033')"; }
holds "no colour but on a terminal" no_colour
narrow() { [ "$(COLUMNS=40 "$UNPICK" look "$lamp" 2>/dev/null | awk '{ if (length > n) n = length } END { print n }')" -le 80 ]; }
holds "COLUMNS is honoured" narrow # awk may count bytes: at most two for a character here
says 0 'report.html: 4 parts' report "$lamp"
holds "the report is whole" grep -q '</html>' "$lamp/report.html"
says 0 '"unpick": 1' report "$lamp" --json
says 0 '</html>' report "$lamp" -o -
mkfifo "$work/pipe" && cat "$work/pipe" >"$work/piped" &
while [ ! -p "$work/pipe" ]; do :; done
says 0 'pipe: 4 parts' report "$lamp" -o "$work/pipe"
wait
holds "what is no file is written into, not put away: a device would be gone" test -p "$work/pipe" -a -s "$work/piped"
says 3 "can't be written" report "$lamp" -o "$work/no/such/folder.html"
printf '%s\n' 'join BT1.- R1.1' 'apart BT1.- R1.1' >>"$lamp/notes.txt"
says 1 'Contradictions' look "$lamp"
says 1 '"joined and apart"' look --json "$lamp"
says 0 '1 contradiction to settle' report "$lamp"
full_disk() { "$UNPICK" help >/dev/full; [ $? -eq 3 ]; }
holds "an answer that can't be written is no success" full_disk

says 0 '4.7 kΩ' mark 472 --as resistor
says 1 'No code that is known' mark zzzzzzzz
says 2 'did you mean "resistor"' mark 472 --as resistr
says 2 'not text' mark "$(printf '\377')"
says 0 '^resistor$' mark --kinds
says 0 '^SOP-8' mark --body 4.9x3.9mm --pitch 1.27mm --leads 8
says 2 'leads' mark --body 4.9x3.9mm --leads many
says 0 '^LM358 ' shelf find LM35B --pins 8
says 1 'No part of the catalogue' shelf find QQQQQQQQQQQQ
says 2 'load or find' shelf sell x
says 2 'number of pins' shelf find LM358 --pins 0
printf 'name,kind,about\nZQ9981,chip,a test of the shelf\n' >"$work/mine.csv"
says 0 '1 part loaded' shelf load "$work/mine.csv"
says 0 'a test of the shelf' shelf find ZQ9981
says 3 'nowhere.csv' shelf load "$work/nowhere.csv"
printf 'no catalogue' >"$work/bad.db"
says 3 'bad.db' shelf find LM358 --shelf "$work/bad.db"
echo "1..$count"
