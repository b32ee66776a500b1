/* CSV out. */
#ifndef UNPICK_REPORT_CSV_H
#define UNPICK_REPORT_CSV_H

#include "report/words.h"

/* One field between quotes: nothing in it can end it or be taken for a formula. */
void csv_field(Out *out, Text text);

#endif
