/* What `unpick copper` was asked: its options, read. */
#ifndef UNPICK_CLI_COPPER_ASKED_H
#define UNPICK_CLI_COPPER_ASKED_H

#include "cli/cli.h"
#include "copper/export.h"

typedef struct CopperAsked {
    double width_mm, height_mm;
    PlacePoint corners[4];
    bool has_corners, bottom, json, preview;
    double scale; /* of the labels, pixels per mm; 0: as traced */
    LIST(LayerHint) hints;
    LIST(CopperWord) words;
    const char *labels, *svg, *gerber, *netlist;
} CopperAsked;

/* False, and said, when an option or its value was not understood; helped: --help was asked. */
bool copper_asked(Cli *cli, int argc, char **argv, CopperAsked *asked, bool *helped);

#endif
