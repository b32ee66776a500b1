/* A teardown in open formats. */
#ifndef UNPICK_REPORT_EXPORT_H
#define UNPICK_REPORT_EXPORT_H

#include "report/report.h"

typedef struct ReportExport {
    Text what;      /* parts.csv, nets.json, nets.ipc, copper.gbr, board.svg, blocks.svg, schematic.svg, currents.svg, battery.svg,
                       readings.svg */
    Text board;     /* empty: the first there is */
    bool has_side;  /* else the only side that is known */
    BoardSide side;
    bool ansi;      /* the schematic with symbols of IEEE 315 */
    uint32_t sheet; /* of the schematic, from 1; 0: the first */
} ReportExport;

/* Writes the file's bytes. False, with a problem that says what there is, when it can't be had. */
bool report_export(Out *out, const ReportTeardown *teardown, const ReportExport *asked, Diags *problems);

#endif
