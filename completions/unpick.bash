# Completion of unpick for bash.

# The claims, parts and pins that `unpick why DIR` takes: the claims' ids, and what stands after their colons.
_unpick_claims() {
    unpick why "$1" 2>/dev/null | grep '^[^ ]' | cut -d ' ' -f 1
}

_unpick() {
    local words cword cur prev command options dirs=false i folder=''
    words=("${COMP_WORDS[@]}")
    cword=$COMP_CWORD
    cur=${words[cword]}
    prev=${words[cword - 1]}
    command=${words[1]}
    COMPREPLY=()
    if ((cword == 1)); then
        mapfile -t COMPREPLY < <(compgen -W 'new note look why mark shelf copper sums report export page help --help --version' -- "$cur")
        return
    fi
    case $prev in
    --as)
        mapfile -t COMPREPLY < <(compgen -W "$(unpick mark --kinds 2>/dev/null)" -- "$cur")
        return
        ;;
    --shelf | --output | -o | --labels | --svg | --gerber | --netlist)
        mapfile -t COMPREPLY < <(compgen -f -- "$cur")
        return
        ;;
    --symbols)
        mapfile -t COMPREPLY < <(compgen -W 'iec ieee' -- "$cur")
        return
        ;;
    --listen | --port | --package | --pins | --body | --pitch | --leads | --span | --height) return ;;
    esac
    case $command in
    new) options='--help' dirs=true ;;
    note) options='--help' dirs=true ;;
    look) options='--json --shelf --help' dirs=true ;;
    why) options='--json --shelf --help' dirs=true ;;
    sums) options='--json --shelf --help' dirs=true ;;
    page) options='--listen --port --phone --shelf --help' dirs=true ;;
    report) options='--output --show --symbols --json --shelf --help' dirs=true ;;
    export) options='--out --board --side --sheet --symbols --shelf --help' dirs=true ;;
    mark) options='--as --kinds --package --body --pitch --leads --span --height --json --help' ;;
    shelf) options='--package --pins --shelf --json --help' ;;
    copper) options='--board --corners --bottom --preview --back --back-corners --on --hole --bare-hole --cache --back-svg --back-gerber --copper --bare --joined --apart --cut --bridge --hidden --labels --scale --svg --gerber --netlist --json --help' ;;
    help) options='new note look why mark shelf copper sums report export page' ;;
    *) return ;;
    esac
    if [[ $cur == -* || $command == help ]]; then
        mapfile -t COMPREPLY < <(compgen -W "$options" -- "$cur")
        return
    fi
    for ((i = 2; i < cword; i++)); do # the first word that is no option: the folder, or what the shelf is to do
        [[ ${words[i]} == -* || ${words[i - 1]} == --shelf || ${words[i - 1]} == --port || ${words[i - 1]} == --listen || ${words[i - 1]} == -o || ${words[i - 1]} == --output ]] || {
            folder=${words[i]}
            break
        }
    done
    if [[ $command == shelf && -z $folder ]]; then
        mapfile -t COMPREPLY < <(compgen -W 'find load' -- "$cur")
    elif [[ $command == shelf && $folder == load ]]; then
        mapfile -t COMPREPLY < <(compgen -f -X '!*.csv' -- "$cur" && compgen -d -- "$cur")
    elif [[ $command == why && -n $folder ]]; then
        _unpick_claims_reply "$folder"
    elif $dirs && [[ -z $folder ]]; then
        mapfile -t COMPREPLY < <(compgen -d -- "$cur")
    fi
}

# Ids hold colons, at which bash breaks words unless told otherwise: what stands before the last one is left out of the reply.
_unpick_claims_reply() {
    local word=${COMP_LINE:0:COMP_POINT}
    word=${word##* }
    mapfile -t COMPREPLY < <(compgen -W "$(_unpick_claims "$1")" -- "$word")
    [[ $COMP_WORDBREAKS != *:* ]] || COMPREPLY=("${COMPREPLY[@]#"${word%"${word##*:}"}"}")
}

complete -F _unpick unpick
