# Completion of unpick for fish.

function __unpick_claims
    set -l words (commandline -opc)
    unpick why $words[3] 2>/dev/null | string match -r '^[^ ]+'
end

set -l commands new note look why mark shelf copper sums report export page help
complete -c unpick -f
complete -c unpick -n "not __fish_seen_subcommand_from $commands" -a new -d 'start a teardown folder'
complete -c unpick -n "not __fish_seen_subcommand_from $commands" -a note -d 'check a note and append it'
complete -c unpick -n "not __fish_seen_subcommand_from $commands" -a look -d 'hazards, how it works, contradictions, what is open'
complete -c unpick -n "not __fish_seen_subcommand_from $commands" -a why -d 'the tally of evidence behind one claim'
complete -c unpick -n "not __fish_seen_subcommand_from $commands" -a mark -d 'what a marking may mean; which package fits'
complete -c unpick -n "not __fish_seen_subcommand_from $commands" -a shelf -d 'the parts catalogue'
complete -c unpick -n "not __fish_seen_subcommand_from $commands" -a copper -d 'photos of the sides of a board to its copper nets'
complete -c unpick -n "not __fish_seen_subcommand_from $commands" -a sums -d 'volts, currents and powers in each mode, beside the meter'
complete -c unpick -n "not __fish_seen_subcommand_from $commands" -a report -d 'write report.html'
complete -c unpick -n "not __fish_seen_subcommand_from $commands" -a export -d 'parts, nets, copper and drawings in open formats'
complete -c unpick -n "not __fish_seen_subcommand_from $commands" -a page -d 'work on a teardown in a browser'
complete -c unpick -n "not __fish_seen_subcommand_from $commands" -a help -d 'what a command does'
complete -c unpick -n "__fish_seen_subcommand_from $commands" -l help -d 'what it does, with examples'
complete -c unpick -n "__fish_seen_subcommand_from new note look why sums report export page" -a '(__fish_complete_directories)'
complete -c unpick -n "__fish_seen_subcommand_from look why mark shelf copper sums report" -l json -d 'facts as JSON'
complete -c unpick -n "__fish_seen_subcommand_from look why shelf sums report export page" -l shelf -r -F -d 'parts catalogue'
complete -c unpick -n "__fish_seen_subcommand_from page" -l listen -x -d 'an address to listen on'
complete -c unpick -n "__fish_seen_subcommand_from page" -l port -x -d 'the port'
complete -c unpick -n "__fish_seen_subcommand_from page" -l phone -d 'a phone may add photos'
complete -c unpick -n "__fish_seen_subcommand_from report export" -l symbols -x -a 'iec ieee' -d 'of the schematic'
complete -c unpick -n "__fish_seen_subcommand_from report" -l show -d 'for telling it to an audience'
complete -c unpick -n "__fish_seen_subcommand_from report" -s o -l output -r -F -d 'write there'
complete -c unpick -n "__fish_seen_subcommand_from why" -a '(__unpick_claims)'
complete -c unpick -n "__fish_seen_subcommand_from mark" -l as -x -a '(unpick mark --kinds 2>/dev/null)' -d 'only this kind'
complete -c unpick -n "__fish_seen_subcommand_from mark" -l kinds -d 'list the kinds'
complete -c unpick -n "__fish_seen_subcommand_from mark shelf" -l package -x -d 'the package it stands on'
complete -c unpick -n "__fish_seen_subcommand_from mark" -l body -x -d 'body, AxB'
complete -c unpick -n "__fish_seen_subcommand_from mark" -l pitch -x -d 'of the leads, mm'
complete -c unpick -n "__fish_seen_subcommand_from mark" -l leads -x -d 'how many leads'
complete -c unpick -n "__fish_seen_subcommand_from mark" -l span -x -d 'over the tips of the leads, mm'
complete -c unpick -n "__fish_seen_subcommand_from mark" -l height -x -d 'of the body, mm'
complete -c unpick -n "__fish_seen_subcommand_from shelf" -a 'find load'
complete -c unpick -n "__fish_seen_subcommand_from shelf" -l pins -x -d 'how many pins'
complete -c unpick -n "__fish_seen_subcommand_from copper" -F
for place in board corners back-corners hole bare-hole copper bare joined apart cut bridge hidden scale
    complete -c unpick -n "__fish_seen_subcommand_from copper" -l $place -x
end
complete -c unpick -n "__fish_seen_subcommand_from copper" -l bottom -d 'the photo shows the bottom'
complete -c unpick -n "__fish_seen_subcommand_from copper" -l preview -d 'a first look, at once'
complete -c unpick -n "__fish_seen_subcommand_from copper" -l on -x -a 'top bottom' -d 'what follows is meant for this side'
for file in back cache labels svg back-svg gerber back-gerber netlist
    complete -c unpick -n "__fish_seen_subcommand_from copper" -l $file -r -F
end
complete -c unpick -n "__fish_seen_subcommand_from help" -a "$commands"
complete -c unpick -n "__fish_seen_subcommand_from export" -a 'parts.csv nets.json nets.ipc copper.gbr board.svg blocks.svg schematic.svg currents.svg battery.svg readings.svg'
complete -c unpick -n "__fish_seen_subcommand_from export" -l out -r -F -d 'write there'
complete -c unpick -n "__fish_seen_subcommand_from export" -l board -x -d 'of which board'
complete -c unpick -n "__fish_seen_subcommand_from export" -l side -x -a 'top bottom' -d 'of which side'
complete -c unpick -n "__fish_seen_subcommand_from export" -l sheet -x -d 'of the schematic'
