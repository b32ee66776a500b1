/* The weight of evidence of a marking for a spelling: the best alignment of the two, found by dynamic programming over
 * their characters (after Needleman and Wunsch, 1970), where each step weighs what lore/parts-damage.lore says. Beside the
 * usual steps an alignment may skip the letters before the number once, on either side or both (another maker's prefix),
 * and the letters behind it once (body, grade, tape). `?` stands for any character and `*` for any stretch; both weigh
 * nothing.
 *
 * Cost: the product of the two lengths, 12 by 12 for usual part numbers. */
#include "shelf/damage.h"

#include <stdlib.h>
#include <string.h>

/* ---- what is compared ---- */

static bool is_letter(unsigned char c) { return c >= 'A' && c <= 'Z'; }
static bool is_digit(unsigned char c) { return c >= '0' && c <= '9'; }

/* The character of a reading that begins at text byte i, or 0 when it is left out. A micro sign is the U that data sheets
 * put for it. */
static unsigned char character_at(Text text, size_t i, bool wildcards) {
    unsigned char c = (unsigned char)text.at[i];
    if (c >= 'a' && c <= 'z') return (unsigned char)(c - 'a' + 'A');
    if (is_letter(c) || is_digit(c)) return c;
    if (wildcards && (c == '?' || c == '*')) return c;
    bool micro = i + 1 < text.len && (memcmp(text.at + i, "\u00b5", 2) == 0 || memcmp(text.at + i, "\u03bc", 2) == 0);
    return micro ? 'U' : 0;
}

static uint32_t prefix_of(const Reading *reading) {
    uint32_t i = 0;
    while (i < reading->len && is_letter(reading->at[i])) i++;
    return i <= PREFIX_MOST && i < reading->len && is_digit(reading->at[i]) ? i : 0;
}

Reading reading_of(Text text, bool wildcards) {
    Reading reading = {0};
    uint32_t place = 0;
    for (size_t i = 0; i < text.len && reading.len < READING_MOST; i++) {
        if (((unsigned char)text.at[i] & 0xC0) != 0x80) place++;
        unsigned char c = character_at(text, i, wildcards);
        if (c == 0 || (c == '*' && reading.len > 0 && reading.at[reading.len - 1] == '*')) continue;
        reading.place[reading.len] = (unsigned char)(place < 255 ? place : 255);
        reading.at[reading.len++] = c;
        if (c == '*') reading.has_star = true;
        if (c == '?') reading.has_any = true;
    }
    reading.prefix = prefix_of(&reading);
    return reading;
}

bool reading_may_end(const unsigned char *at, uint32_t len, uint32_t i) {
    if (i < CORE_LEAST || i >= len || len - i > ENDING_MOST || !is_letter(at[i])) return false;
    for (uint32_t k = 0; k < i; k++)
        if (is_digit(at[k])) return true;
    return false;
}

/* ---- aligning ---- */

enum { NEVER = -1000000 };

typedef struct Alignment {
    int best[READING_MOST + 1]
            [READING_MOST + 1]; /* [i][j]: of the marking's first i and the spelling's first j characters */
    int weight;
    uint32_t end_i, end_j; /* where its endings begin */
} Alignment;

static int pair_weight(const Damage *damage, unsigned char read, unsigned char said) {
    if (read == said) return damage->weight[SLIP_RIGHT];
    if (read == '?') return 0;
    if (read == '*') return NEVER;
    return damage->weight[damage->fold[read] == damage->fold[said] ? SLIP_ALIKE : SLIP_CHANGE];
}

/* May an alignment begin behind both prefixes (one of which may be empty), which end here? */
static bool begins(const Reading *marking, const Reading *spelling, bool code, uint32_t i, uint32_t j) {
    if (code || i != marking->prefix || j != spelling->prefix) return false;
    return marking->len - i >= CORE_LEAST && spelling->len - j >= CORE_LEAST;
}

static int begin_weight(const Damage *damage, const Reading *marking, const Reading *spelling, bool code, uint32_t i,
                        uint32_t j) {
    if (i == 0 && j == 0) return 0;
    return begins(marking, spelling, code, i, j) ? damage->weight[SLIP_PREFIX] : NEVER;
}

static int skip_read(const Damage *damage, unsigned char read) { return read == '*' ? 0 : damage->weight[SLIP_EXTRA]; }

static int skip_said(const Damage *damage, const Reading *marking, uint32_t i) {
    return i > 0 && marking->at[i - 1] == '*' ? 0 : damage->weight[SLIP_MISSING];
}

static int larger(int a, int b) { return a > b ? a : b; }

/* Weight of leaving out what is behind character i, NEVER when it is no ending; 0 at the end itself. */
static int ending_weight(const Damage *damage, const Reading *reading, bool code, uint32_t i) {
    if (i == reading->len) return 0;
    if (code || !reading_may_end(reading->at, reading->len, i)) return NEVER;
    return (int)(reading->len - i) * damage->weight[SLIP_ENDING_LETTER];
}

static void end_alignment(const Damage *damage, const Reading *marking, const Reading *spelling, bool code, Alignment *a) {
    int behind[READING_MOST + 1];
    for (uint32_t j = 0; j <= spelling->len; j++) behind[j] = ending_weight(damage, spelling, code, j);
    a->weight = NEVER;
    for (uint32_t i = 0; i <= marking->len; i++) {
        int behind_i = ending_weight(damage, marking, code, i);
        if (behind_i == NEVER) continue;
        for (uint32_t j = 0; j <= spelling->len; j++) {
            if (behind[j] == NEVER) continue;
            bool whole = i == marking->len && j == spelling->len;
            int weight = a->best[i][j] + behind_i + behind[j] + (whole ? 0 : damage->weight[SLIP_ENDING]);
            if (weight < a->weight || (weight == a->weight && !whole)) continue;
            a->weight = weight, a->end_i = i, a->end_j = j;
        }
    }
}

static void align(const Damage *damage, const Reading *marking, const Reading *spelling, bool code, Alignment *a) {
    for (uint32_t i = 0; i <= marking->len; i++) {
        unsigned char read = i == 0 ? 0 : marking->at[i - 1];
        int missing = skip_said(damage, marking, i), extra = skip_read(damage, read), left = NEVER;
        bool begin = i == 0 || i == marking->prefix; /* only there is begin_weight ever possible */
        for (uint32_t j = 0; j <= spelling->len; j++) {
            int best = left + missing;
            if (begin && (j == 0 || j == spelling->prefix))
                best = larger(best, begin_weight(damage, marking, spelling, code, i, j));
            if (i > 0) best = larger(best, a->best[i - 1][j] + extra);
            if (i > 0 && j > 0) best = larger(best, a->best[i - 1][j - 1] + pair_weight(damage, read, spelling->at[j - 1]));
            a->best[i][j] = left = best;
        }
    }
    end_alignment(damage, marking, spelling, code, a);
}

int damage_weigh(const Damage *damage, const Reading *marking, const Reading *spelling, bool code) {
    Alignment a;
    align(damage, marking, spelling, code, &a);
    return a.weight;
}

/* ---- saying it ---- */

typedef enum StepKind { STEP_PAIR, STEP_MISSING, STEP_EXTRA } StepKind;

typedef struct Step {
    StepKind kind;
    uint32_t i, j; /* characters before it */
} Step;

static const char *ordinal(uint32_t n) {
    if (n % 100 >= 11 && n % 100 <= 13) return "th";
    return n % 10 == 1 ? "st" : n % 10 == 2 ? "nd" : n % 10 == 3 ? "rd" : "th";
}

static void comma(Out *out) {
    if (out->len > 0) out_lit(out, ", ");
}

static void say_place(Out *out, const Reading *marking, uint32_t i) {
    comma(out);
    out_fmt(out, "%u%s: ", marking->place[i], ordinal(marking->place[i]));
}

/* What stands before or behind the number on one side and not, or differently, on the other. */
static void say_aside(Out *out, const char *what, Text read, Text said) {
    if (read.len == 0 && said.len == 0) return;
    comma(out);
    if (read.len == 0)
        out_fmt(out, "%s %.*s left out", what, TEXT_ARG(said));
    else if (said.len == 0)
        out_fmt(out, "%s %.*s added", what, TEXT_ARG(read));
    else
        out_fmt(out, "%s %.*s instead of %.*s", what, TEXT_ARG(read), TEXT_ARG(said));
}

static Text part_of(const Reading *reading, uint32_t from, uint32_t to) {
    return (Text){(const char *)reading->at + from, to - from};
}

static void say_missing(Out *out, const Reading *marking, const Reading *spelling, Step step) {
    comma(out);
    if (step.i == 0)
        out_lit(out, "before the 1st: ");
    else
        out_fmt(out, "after the %u%s: ", marking->place[step.i - 1], ordinal(marking->place[step.i - 1]));
    out_fmt(out, "%c missing", spelling->at[step.j]);
}

static void say_step(Out *out, const Reading *marking, const Reading *spelling, Step step) {
    if (step.kind == STEP_MISSING) {
        if (step.i == 0 || marking->at[step.i - 1] != '*') say_missing(out, marking, spelling, step);
        return;
    }
    unsigned char read = marking->at[step.i];
    if (step.kind == STEP_EXTRA) {
        if (read == '*') return;
        say_place(out, marking, step.i);
        out_fmt(out, "%c too many", read);
    } else if (read != spelling->at[step.j]) {
        say_place(out, marking, step.i);
        out_fmt(out, read == '?' ? "%c unread" : "%c read as %c", spelling->at[step.j], read);
    }
}

/* Walks back from the end of the alignment to its beginning. Returns the count of steps, last step first. */
static uint32_t walk_back(const Damage *damage, const Reading *marking, const Reading *spelling, bool code,
                          const Alignment *a, Step *steps, uint32_t *at_i, uint32_t *at_j) {
    uint32_t i = a->end_i, j = a->end_j, count = 0;
    while ((i > 0 || j > 0) && a->best[i][j] != begin_weight(damage, marking, spelling, code, i, j)) {
        int here = a->best[i][j];
        if (i > 0 && j > 0 && here == a->best[i - 1][j - 1] + pair_weight(damage, marking->at[i - 1], spelling->at[j - 1]))
            steps[count++] = (Step){STEP_PAIR, --i, --j};
        else if (j > 0 && here == a->best[i][j - 1] + skip_said(damage, marking, i))
            steps[count++] = (Step){STEP_MISSING, i, --j};
        else
            steps[count++] = (Step){STEP_EXTRA, --i, j};
    }
    *at_i = i, *at_j = j;
    return count;
}

Text damage_words(Arena *arena, const Damage *damage, const Reading *marking, const Reading *spelling, bool code) {
    Alignment a;
    Step steps[2 * READING_MOST];
    uint32_t i, j;
    align(damage, marking, spelling, code, &a);
    uint32_t count = walk_back(damage, marking, spelling, code, &a, steps, &i, &j);
    Out out = out_new(arena);
    say_aside(&out, "prefix", part_of(marking, 0, i), part_of(spelling, 0, j));
    while (count > 0) say_step(&out, marking, spelling, steps[--count]);
    say_aside(&out, "ending", part_of(marking, a.end_i, marking->len), part_of(spelling, a.end_j, spelling->len));
    return out_text(&out);
}
