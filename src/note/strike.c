/* What strikes void. A strike may stand before or after its line. A strike can itself be struck, by a later one only, so
 * that "who voids whom" never runs in a circle: strikes are judged from the last line up, then carried out from the first
 * down. Lines are found by bisection; a file of n notes and k strikes costs n + k log n. */
#include "note/parser.h"

typedef enum Fate { FATE_KEPT, FATE_STRUCK, FATE_WORKED, FATE_REFUSED } Fate;

Note *note_of_line(const Notebook *book, uint32_t line) {
    uint32_t low = 0, high = book->notes.count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (book->notes.at[middle].line < line)
            low = middle + 1;
        else
            high = middle;
    }
    return low < book->notes.count && book->notes.at[low].line == line ? &book->notes.at[low] : NULL;
}

static Fate refuse(Parser *p, const Note *strike, const char *why) {
    if (p->problems->list.count >= DIAGS_MOST) {
        p->problems->left_out++;
        return FATE_REFUSED;
    }
    p->line = strike->line;
    p->source = TEXT("");
    parser_problem(p, 0, text_fmt(p->arena, "strike %u: line %u %s", strike->strike, strike->strike, why),
                   "the number of a line with a note that counts", TEXT(""));
    return FATE_REFUSED;
}

/* Why a strike can't work before any other is looked at; NULL when it can. */
static const char *hopeless(const Notebook *book, const Note *strike, const Note *target, const uint64_t *bad) {
    if (strike->strike > book->lines) return "does not exist";
    if (strike->strike == strike->line) return "is this line itself";
    if (target == NULL)
        return bad[strike->strike / 64] >> strike->strike % 64 & 1 ? "is bad and does not count anyway"
                                                                   : "has no note to strike";
    if (target->verb == NOTE_STRIKE && target->line > strike->line)
        return "is a later strike, which only a still later one can void";
    return NULL;
}

/* From the last line up: which strikes work, and which are themselves struck. */
static void judge(const Notebook *book, Parser *p, const uint64_t *bad, unsigned char *fate) {
    for (uint32_t i = book->notes.count; i-- > 0;) {
        const Note *note = &book->notes.at[i];
        if (note->verb != NOTE_STRIKE || fate[i] == FATE_STRUCK) continue;
        const Note *target = note_of_line(book, note->strike);
        const char *why = hopeless(book, note, target, bad);
        fate[i] = why == NULL ? FATE_WORKED : (unsigned char)refuse(p, note, why);
        if (why != NULL || target->verb != NOTE_STRIKE) continue;
        unsigned char *other = &fate[target - book->notes.at];
        if (*other == FATE_STRUCK)
            fate[i] = (unsigned char)refuse(p, note, "is struck already");
        else
            *other = FATE_STRUCK;
    }
}

static void carry_out(const Notebook *book, Parser *p, unsigned char *fate) {
    for (uint32_t i = 0; i < book->notes.count; i++) {
        const Note *note = &book->notes.at[i];
        if (note->verb != NOTE_STRIKE || fate[i] != FATE_WORKED) continue;
        const Note *target = note_of_line(book, note->strike);
        if (target->verb == NOTE_STRIKE) continue;
        unsigned char *other = &fate[target - book->notes.at];
        if (*other == FATE_STRUCK)
            fate[i] = (unsigned char)refuse(p, note, "is struck already");
        else
            *other = FATE_STRUCK;
    }
}

static void part_notes(Notebook *book, const unsigned char *fate) {
    Arena *arena = book->problems.arena;
    uint32_t kept = 0;
    for (uint32_t i = 0; i < book->notes.count; i++) {
        Note note = book->notes.at[i];
        if (fate[i] == FATE_KEPT)
            book->notes.at[kept++] = note;
        else if (fate[i] != FATE_REFUSED)
            list_push(arena, &book->struck, note);
    }
    book->notes.count = kept;
}

void note_apply_strikes(Notebook *book, Parser *p, const uint64_t *bad) {
    bool any = false;
    for (uint32_t i = 0; i < book->notes.count && !any; i++) any = book->notes.at[i].verb == NOTE_STRIKE;
    if (!any) return;
    unsigned char *fate = arena_take(p->scratch, book->notes.count);
    judge(book, p, bad, fate);
    carry_out(book, p, fate);
    part_notes(book, fate);
}
