#!/bin/bash
# A teardown with a board photo, from the outside: notes, look, why, report; a second look that decodes nothing; and photos that
# can't be used. The photo is the demo's. UNPICK: the program.
set -u
top=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_DATA_HOME=$work/home COLUMNS=100
unpick() { "$UNPICK" "$@"; }
cd "$work" || exit 1
count=0

# check WHAT COMMAND ...: the command succeeds
check() {
    count=$((count + 1))
    if "${@:2}" >said 2>&1; then
        echo "ok $count - $1"
    else
        echo "not ok $count - $1"
        sed 's/^/# /' said
    fi
}

says() { grep -q -- "$2" "$1"; }

unpick new box >/dev/null
mkdir -p box/photos
# a comment behind the photo's first two bytes stands for whatever a camera writes beside the pixels
{ head -c 2 "$top/demo/dispenser/photos/a-bottom.jpg"; printf '\377\376\000\022SERIAL-AND-PLACE'; tail -c +3 "$top/demo/dispenser/photos/a-bottom.jpg"; } \
    >box/photos/a-bottom.jpg
check "a board and its photo are notes" unpick note box 'board A 46.5 x 21.0 mm 1 layer' 'photo A bottom a-bottom.jpg'
grep -E '^part (U1|U2|R[0-9]|Q[12]) ' "$top/demo/board/wiring.txt" >>box/notes.txt
unpick look box >seen 2>errors
check "look needs no more than that" test ! -s errors
check "look has a chapter on the board" says seen '^Board A, 46.5 x 21.0 mm'
check "it says which file and line the copper is from" says seen 'read from the photo a-bottom.jpg (line'
check "corners that were found stand as a note to correct" says seen 'photo A bottom a-bottom.jpg corners [0-9]*,[0-9]* '
check "widths carry what IPC-2221 lets them" says seen 'IPC-2221'
unpick look box --json >look.json
# U1.4 and the receiver's output lie on one track (demo/board/wiring.txt)
check "pins on one track are one net" sh -c "tr -d ' \n' <look.json | grep -q '\"U1.4\",\"U2.OUT\"\|\"U2.OUT\",\"U1.4\"'"
check "the copper is kept in derived/" sh -c 'ls box/derived/* >/dev/null'
unpick note box 'part BT1 battery 2 x LR6' 'net VCC BT1.+ U1.1 by meter' 'net GND BT1.- U1.16 Q1.E by meter' 'part M1 motor' \
    'join M1.1 BT1.+ by meter' 'join M1.2 Q1.C by meter' >/dev/null
unpick why box low-side-switch-bipolar:Q1 >told
check "why names the photo as the weakest joint" says told 'by photo: .* at [0-9.]*,[0-9.]* mm on the bottom'
check "why quotes the photo's note" says told 'photo A bottom a-bottom.jpg'
unpick report box >/dev/null
check "the report has the board" says box/report.html '<h3>Board A, 46.5 x 21.0'
check "a cut is a note" unpick note box 'cut A bottom at 30.0,5.0'
head -c 3000 box/photos/a-bottom.jpg >box/photos/half.jpg
echo 'photo A bottom half.jpg' >>box/notes.txt
echo 'photo B top no.jpg' >>box/notes.txt
unpick look box >seen 2>errors
check "half a photo is a problem with its line" says errors 'half.jpg'
check "a board without a size is told how to say it" says errors 'board B 46.5 x 21.0 mm'
check "all else goes on" says seen 'M1'
check "only pixels are used: nothing that stands beside them is told or kept" sh -c \
    'grep -q SERIAL-AND-PLACE box/photos/a-bottom.jpg && ! grep -rq SERIAL-AND-PLACE seen look.json told box/report.html box/derived'
# what is said on the command line of the same photo; nets_with OPTION ...: how many nets it then has
nets_with() { unpick copper "$top/demo/dispenser/photos/a-bottom.jpg" --board 46.5x21mm --corners "388,483 1492,477 1504,980 378,983" "$@" | sed -n 's/ nets,.*//p'; }
said_nothing=$(nets_with)
check "a cut across a track makes two nets of one" test "$(nets_with --cut 10,5)" -eq $((said_nothing + 1))
check "a beep makes one net of two" test "$(nets_with --joined "14.09,2.38 16.66,3.36")" -le "$said_nothing"
check "a place off the board is refused, and its size said" sh -c '"$UNPICK" copper x.jpg --board 46.5x21mm --cut 99,99 2>told; test $? -eq 2 && grep -q "^unpick copper: 99,99 lies off the board, which is 46.5 x 21 mm" told'
check "an outline with too few corners is refused" sh -c '"$UNPICK" copper x.jpg --board 46.5x21mm --hidden 10,5 2>told; test $? -eq 2 && grep -q "expected three places or more, at most 256" told'
echo "1..$count"
