/* What the files flat*.c share. */
#ifndef UNPICK_COPPER_FLAT_INSIDE_H
#define UNPICK_COPPER_FLAT_INSIDE_H

#include "copper/flat.h"

#endif
