/* What is not known, and which measurement tells most. The gain is Shannon's: how many bits of doubt over the claims the
 * answer is expected to take away. For a joint of trust w under a claim of probability p it is H(p) - w H(p / w): with
 * probability w the joint holds and the claim stands at p / w, else the claim falls. For a value to be read, half the
 * claim's doubt is assumed (rule of thumb). */
#include "reason/claim.h"

#include <math.h>
#include <stdlib.h>

static const double ASK_SETTLES = 0.5;     /* of the doubt: rule of thumb */
static const double ASK_PLACE = 0.5;       /* bits: where a part stands whose pins meet no copper: rule of thumb */
static const double TRUSTED_ENOUGH = 0.97; /* joints above this are not asked about */

static double doubt(double p) { return p <= 0 || p >= 1 ? 0 : -(p * log2(p) + (1 - p) * log2(1 - p)); }

static void open_add(Claimer *claimer, Text ask, Text claim, double bits, uint32_t line) {
    uint32_t *lines = arena_many(claimer->arena, uint32_t, 1);
    *lines = line;
    ReasonOpen open = {ask, claim, bits, lines, line == 0 ? 0 : 1};
    list_push(claimer->arena, &claimer->reasoning->open, open);
}

/* Each weak joint once, with the gain summed over the claims that rest on it. */
static void ask_joints(Claimer *claimer) {
    const Bench *bench = claimer->finder->bench;
    double *gain = arena_many(claimer->arena, double, bench->notebook->lines + 2);
    uint32_t *example = arena_many(claimer->arena, uint32_t, bench->notebook->lines + 2);
    for (uint32_t i = 0; i < claimer->weakest.count; i++) {
        const BenchChain *weak = &claimer->weakest.at[i];
        double p = claimer->reasoning->claims.at[i].p;
        if (weak->weakest >= TRUSTED_ENOUGH || weak->weakest_line == 0 || weak->weakest_line > bench->notebook->lines)
            continue;
        if (p < weak->weakest) gain[weak->weakest_line] += doubt(p) - weak->weakest * doubt(p / weak->weakest);
        example[weak->weakest_line] = i + 1;
    }
    for (uint32_t line = 1; line <= bench->notebook->lines; line++) {
        const Note *note = example[line] == 0 ? NULL : note_of_line(bench->notebook, line);
        if (note == NULL || (note->verb != NOTE_JOIN && note->verb != NOTE_NET) || note->net.count < 1) continue;
        Out out = out_new(claimer->arena);
        out_lit(&out, "Beep ");
        for (uint32_t i = 0; i < note->net.count; i++) {
            if (i > 0) out_add(&out, i + 1 == note->net.count ? TEXT(" and ") : TEXT(", "));
            note_terminal_print(&out, note->net.terminals[i]);
        }
        if (note->verb == NOTE_NET) out_fmt(&out, " to %.*s", TEXT_ARG(note->net.name));
        out_lit(&out, ".");
        open_add(claimer, out_text(&out), claimer->reasoning->claims.at[example[line] - 1].id, gain[line], line);
    }
}

static void ask_conflicts(Claimer *claimer) {
    const Bench *bench = claimer->finder->bench;
    for (uint32_t i = 0; i < bench->conflicts.count; i++) {
        const BenchConflict *conflict = &bench->conflicts.at[i];
        if (conflict->settle.len == 0) continue;
        ReasonOpen open = {conflict->settle, TEXT(""), 1, conflict->lines, conflict->line_count}; /* even odds: one bit */
        list_push(claimer->arena, &claimer->reasoning->open, open);
    }
}

/* What photos leave open: the doubt itself, and what claims rest on it. */
static void ask_photos(Claimer *claimer) {
    const Bench *bench = claimer->finder->bench;
    double *gain = arena_many(claimer->arena, double, bench->steps.count + 1);
    uint32_t *example = arena_many(claimer->arena, uint32_t, bench->steps.count + 1);
    if (bench->asks.count == 0) return;
    for (uint32_t i = 0; i < claimer->weakest.count; i++) {
        const BenchChain *weak = &claimer->weakest.at[i];
        double p = claimer->reasoning->claims.at[i].p;
        if (weak->weakest_by != NOTE_BY_PHOTO || weak->weakest_line == 0 || p >= weak->weakest) continue;
        gain[weak->weakest_step] += doubt(p) - weak->weakest * doubt(p / weak->weakest);
        example[weak->weakest_step] = i + 1;
    }
    for (uint32_t i = 0; i < bench->asks.count; i++) {
        const BenchAsk *ask = &bench->asks.at[i];
        double bits = ask->stake * (isnan(ask->p) ? ASK_PLACE : ASK_SETTLES * doubt(ask->p));
        uint32_t claim = ask->step == BENCH_NONE ? 0 : example[ask->step];
        if (ask->step != BENCH_NONE) bits += gain[ask->step];
        open_add(claimer, ask->says, claim == 0 ? TEXT("") : claimer->reasoning->claims.at[claim - 1].id, bits, ask->line);
    }
}

static void ask_parts(Claimer *claimer) {
    const Bench *bench = claimer->finder->bench;
    for (uint32_t p = 0; p < bench->parts.count; p++) {
        const BenchPart *part = &bench->parts.at[p];
        if (part->note == NULL)
            open_add(claimer,
                     text_fmt(claimer->arena, "What is %.*s? It is joined but not described.", TEXT_ARG(part->ref)),
                     TEXT(""), 0, part->line);
    }
}

static void ask_notes(Claimer *claimer) {
    const Notebook *notebook = claimer->finder->bench->notebook;
    for (uint32_t i = 0; i < notebook->notes.count; i++)
        if (notebook->notes.at[i].verb == NOTE_ASK)
            open_add(claimer, notebook->notes.at[i].ask, TEXT(""), 0, notebook->notes.at[i].line);
}

static void ask_rules(Claimer *claimer) {
    uint32_t made = 0;
    for (uint32_t i = 0; i < claimer->finder->finds.count; i++) {
        const Find *find = claimer->finder->finds.at[i];
        if (find->outdone || find->claim_id.len == 0) continue;
        uint32_t known = names_find(claimer->ids, find->claim_id);
        const ReasonClaim *claim = known == NAME_NONE || claimer->claim_of.at[known] == BENCH_NONE
                                       ? NULL
                                       : &claimer->reasoning->claims.at[claimer->claim_of.at[known]];
        for (uint32_t k = 0; k < find->rule->asks.count && made < REASON_INSTANCES_MOST; k++) {
            Out out = out_new(claimer->arena);
            if (!claim_words(claimer, find, &find->rule->asks.at[k], &out)) continue;
            open_add(claimer, out_text(&out), find->claim_id, claim == NULL ? 0 : ASK_SETTLES * doubt(claim->p), 0);
            made++;
        }
    }
}

typedef struct Ordered {
    ReasonOpen open;
    uint32_t at;
} Ordered;

static int best_first(const void *a, const void *b) {
    const Ordered *x = a, *y = b;
    if (x->open.bits != y->open.bits) return x->open.bits > y->open.bits ? -1 : 1;
    return (x->at > y->at) - (x->at < y->at);
}

/* The same question from two rules is one. */
static void sort_questions(Claimer *claimer) {
    uint32_t count = claimer->reasoning->open.count, kept = 0;
    Ordered *ordered = arena_many(claimer->arena, Ordered, count + 1);
    for (uint32_t i = 0; i < count; i++) ordered[i] = (Ordered){claimer->reasoning->open.at[i], i};
    qsort(ordered, count, sizeof *ordered, best_first);
    Names *asked = names_new(claimer->arena);
    for (uint32_t i = 0; i < count; i++)
        if (names_find(asked, ordered[i].open.ask) == NAME_NONE) {
            names_add(asked, ordered[i].open.ask);
            claimer->reasoning->open.at[kept++] = ordered[i].open;
        }
    claimer->reasoning->open.count = kept;
}

void open_questions(Claimer *claimer) {
    ask_conflicts(claimer);
    ask_joints(claimer);
    ask_photos(claimer);
    ask_rules(claimer);
    ask_notes(claimer);
    ask_parts(claimer);
    sort_questions(claimer);
}
