/* What every test program includes: cmocka, and what it lacks. */
#ifndef UNPICK_TESTS_CHECK_H
#define UNPICK_TESTS_CHECK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <math.h>

/* Equal to the 12th digit: for values that should be the same number. */
#define assert_near(a, b)                                                                                                      \
    do {                                                                                                                       \
        double near_a = (a), near_b = (b);                                                                                     \
        if (!(fabs(near_a - near_b) <= 1e-12 * fmax(fabs(near_a), fabs(near_b))))                                              \
            fail_msg("%s is %.15g, expected %s = %.15g", #a, near_a, #b, near_b);                                              \
    } while (0)

#endif
