/* Opening a teardown with what was kept of the last time. Private to the room. */
#ifndef UNPICK_REPORT_KEEP_H
#define UNPICK_REPORT_KEEP_H

#include "report/report.h"

/* All that is known before the first note, the folder's own shelf.csv with it. False, with a problem: nothing is. */
bool know_all(Arena *arena, const char *folder, const char *catalogue, ReportKnowledge *knows, Diags *problems);
/* The same, as it was kept or anew: teardown->knows and kept. */
bool keep_know(ReportKeep *keep, const char *folder, const char *catalogue, ReportTeardown *teardown, Diags *problems);
BoardKeep *keep_boards(ReportKeep *keep);
void keep_let_go(struct ReportKept *kept);

#endif
