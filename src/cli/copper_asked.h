/* What `unpick copper` was asked: its options, read. */
#ifndef UNPICK_CLI_COPPER_ASKED_H
#define UNPICK_CLI_COPPER_ASKED_H

#include "cli/cli.h"
#include "copper/export_board.h"

typedef struct CopperAsked {
    BoardAsked board; /* as board_trace takes it */
    BoardSide side;   /* that PHOTO shows */
    bool two_sided;   /* the other is shown too; all places are then the top's */
    bool json;
    double scale; /* of the labels, pixels per mm; 0: as traced */
    const char *labels, *svg, *gerber, *netlist, *back_svg, *back_gerber;
} CopperAsked;

/* False, and said, when an option or its value was not understood; helped: --help was asked. */
bool copper_asked(Cli *cli, int argc, char **argv, CopperAsked *asked, bool *helped);

#endif
