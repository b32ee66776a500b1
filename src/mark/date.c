/* Dates: the letters of IEC 60062, clause 8, and year-week codes. A week is checked by ISO 8601: a year has 53 weeks when
 * its first of January, or that of the year after, falls so that a Thursday is left over.
 *
 *   letters    = year letter, month (1..9, O, N, D)     R9: September 2003 or 2023
 *   year-week  = Y Y W W | W W Y Y | Y W W              2334: week 34 of 2023 */
#include "mark/inside.h"

#include <math.h>

enum { YEAR_CYCLE = 20, YEAR_FIRST = 1970, YEAR_LATE = 2030 /* later than most products of today */ };

/* Days from 1970-01-01 to a date of the Gregorian calendar: months counted from March, so that the odd day comes last. */
static long days_to(int year, int month, int day) {
    int y = month <= 2 ? year - 1 : year, m = month <= 2 ? month + 9 : month - 3;
    return 365L * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + day - 1 - 719468;
}

static void date_of(long days, int *year, int *month, int *day) {
    *year = 1970 + (int)(days / 366);
    while (days_to(*year + 1, 1, 1) <= days) ++*year;
    *month = 1;
    while (*month < 12 && days_to(*year, *month + 1, 1) <= days) ++*month;
    *day = (int)(days - days_to(*year, *month, 1)) + 1;
}

/* The Monday of week 1: the week with the fourth of January (ISO 8601). 1970-01-01 was a Thursday. */
static long first_monday(int year) {
    long fourth = days_to(year, 1, 4);
    return fourth - (fourth + 3) % 7;
}

int mark_weeks_of(int year) { return (int)((first_monday(year + 1) - first_monday(year)) / 7); }

void mark_week_starts(int year, int week, int *monday_year, int *month, int *day) {
    date_of(first_monday(year) + 7L * (week - 1), monday_year, month, day);
}

static bool too_late(const Reader *reader, int year) { return reader->context.year > 0 && year > reader->context.year; }

static double lateness(const Reader *reader, int year) {
    return reader->context.year == 0 && year >= YEAR_LATE ? weight_of(reader->marks, "date-late") : 0;
}

static void add_week(Reader *reader, Form form, int year, int week, const char *assumed) {
    int monday_year, month, day;
    if (week < 1 || week > mark_weeks_of(year)) {
        reader->refused = text_fmt(reader->arena, "as a date it would be week %d, and %d has %d (ISO 8601)", week, year,
                                   mark_weeks_of(year));
        return;
    }
    if (too_late(reader, year)) return;
    mark_week_starts(year, week, &monday_year, &month, &day);
    Text says = text_fmt(reader->arena, "made in week %d of %d, which begins on %04d-%02d-%02d", week, year, monday_year,
                         month, day);
    Draft *draft = reading_add(reader, form, lateness(reader, year), says);
    reading_field(reader, draft, "year", text_fmt(reader->arena, "%d", year));
    reading_field(reader, draft, "week", text_fmt(reader->arena, "%d", week));
    reading_assume(reader, draft, "%s", assumed);
}

static int century(int two_digits) { return two_digits >= YEAR_FIRST % 100 ? 1900 + two_digits : 2000 + two_digits; }

/* A year that is known but for its decade: every one that a product at hand may be of. */
static void add_decades(Reader *reader, int digit, int week) {
    int last = reader->context.year > 0 ? reader->context.year : YEAR_LATE - 1;
    for (int year = last - last % 10 + digit, n = 0; year >= YEAR_FIRST && n < 3; year -= 10) {
        if (year > last) continue;
        n++;
        add_week(reader, FORM_DATE_DIGIT_WEEK, year, week, "one digit for the year: the decade is not marked");
    }
}

static void read_letters(Reader *reader, Text t) {
    static const char *const months[] = {"January", "February", "March",     "April",   "May",      "June",
                                         "July",    "August",   "September", "October", "November", "December"};
    const CodeEntry *year = code_letter(reader->marks, CODE_YEAR, t.at[0]),
                    *month = code_letter(reader->marks, CODE_MONTH, t.at[1]);
    if (year == NULL || month == NULL) return;
    int number = (int)month->value.value;
    if (number < 1 || number > 12) return;
    for (int y = (int)year->value.value; y < YEAR_LATE; y += YEAR_CYCLE) {
        if (y < YEAR_FIRST || too_late(reader, y)) continue;
        Draft *draft = reading_add(reader, FORM_DATE_LETTERS, (y - YEAR_LATE) / (double)YEAR_CYCLE,
                                   text_fmt(reader->arena, "made in %s %d", months[number - 1], y));
        reading_assume(reader, draft, "year letters come round every %d years", YEAR_CYCLE);
    }
}

void read_date(Reader *reader) {
    Text t = reader->whole;
    if (t.len == 2) read_letters(reader, t);
    if ((t.len != 3 && t.len != 4) || !text_all_digits(t)) return;
    if (t.len == 3) {
        add_decades(reader, t.at[0] - '0', text_number(text_sub(t, 1, 2)));
        return;
    }
    int first = text_number(text_sub(t, 0, 2)), second = text_number(text_sub(t, 2, 2));
    add_week(reader, FORM_DATE_WEEK_YEAR, century(second), first, "week first, then year; years from 1970 to 2069");
    add_week(reader, FORM_DATE_YEAR_WEEK, century(first), second, "year first, then week; years from 1970 to 2069");
}
