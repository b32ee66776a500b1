/* A find becomes a claim: its sentence, its values with limits, its warnings, and the tally of evidence.
 *
 * The tally: the rule's prior and each of its `speaks` that holds, in decibans; then the weakest joint (a pin followed by eye, a
 * part that was guessed) as what it takes away: the claim's probability is that of the rule times that of the joint. Joints are
 * not multiplied with one another, since the eye that follows one track wrongly mostly follows its neighbours rightly. */
#include "reason/claim.h"

#include <math.h>
#include <stdlib.h>

static const double DISPUTED_DECIBANS = -10; /* rests on a note that another contradicts: rule of thumb */
enum { CHAIN_LINES_MOST = 64, VALUES_MOST = 32 };

void lines_add(Arena *arena, Lines *lines, uint32_t line) {
    for (uint32_t i = 0; i < lines->list.count; i++)
        if (lines->list.at[i] == line) return;
    if (line != 0) list_push(arena, &lines->list, line);
}

static int by_line(const void *a, const void *b) {
    uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return (x > y) - (x < y);
}

void lines_sort(Lines *lines) {
    if (lines->list.count > 1) qsort(lines->list.at, lines->list.count, sizeof *lines->list.at, by_line);
}

typedef LIST(ReasonBecause) Becauses;

static void because(Claimer *claimer, Becauses *list, Text says, double decibans, Text place, Lines *lines) {
    lines_sort(lines);
    list_push(claimer->arena, list,
              ((ReasonBecause){says, decibans, place, lines->list.at, lines->list.count}));
}

/* ---- joints ---- */

typedef struct Joints {
    Lines lines;
    BenchChain weakest;
    bool disputed;
} Joints;

static void joint(Claimer *claimer, Joints *joints, uint32_t pin_a, uint32_t pin_b) {
    uint32_t lines[CHAIN_LINES_MOST];
    BenchChain chain;
    if (pin_a == BENCH_NONE || pin_b == BENCH_NONE || pin_a == pin_b) return;
    size_t count = bench_chain(claimer->finder->bench, pin_a, pin_b, lines, CHAIN_LINES_MOST, &chain);
    for (size_t i = 0; i < count; i++) {
        lines_add(claimer->arena, &joints->lines, lines[i]);
        joints->disputed = joints->disputed || claimer->disputed[lines[i]];
    }
    if (count > 0 && chain.weakest < joints->weakest.weakest) joints->weakest = chain;
}

static void joint_part(Claimer *claimer, Joints *joints, uint32_t part) {
    const BenchPart *at = &claimer->finder->bench->parts.at[part];
    lines_add(claimer->arena, &joints->lines, at->line);
    if (at->note == NULL) return;
    double trust = bench_trust(claimer->finder->bench, at->note);
    if (trust < joints->weakest.weakest)
        joints->weakest = (BenchChain){.weakest = trust,
                                       .weakest_line = at->line,
                                       .weakest_by = at->note->with->by == NOTE_BY_UNSAID ? NOTE_BY_EYE : at->note->with->by};
}

/* The pin that stands for a net variable: the first that is bound to it, or what makes it a rail. */
static uint32_t anchor_of(const Claimer *claimer, const Match *match, uint32_t net) {
    const PatternNet *variable = &match->pattern->nets[net];
    uint32_t anchor = claimer->finder->graph->rails[match->net[net]].anchor;
    if ((variable->ground || variable->supply) && anchor != BENCH_NONE) return anchor;
    for (uint32_t i = 0; i < match->pattern->pin_count; i++)
        if (match->pattern->pins[i].net == net && match->pin[i] != BENCH_NONE) return match->pin[i];
    return anchor;
}

static void joint_member(Claimer *claimer, Joints *joints, const Match *match, const GraphUnit *unit) {
    joint_part(claimer, joints, unit->part);
    for (uint32_t p = 0; p < unit->pin_count; p++) {
        if (unit->pins[p] == BENCH_NONE) continue;
        uint32_t net = claimer->finder->bench->pins.at[unit->pins[p]].net;
        for (uint32_t n = 0; n < match->pattern->net_count; n++)
            if (match->net[n] == net) joint(claimer, joints, anchor_of(claimer, match, n), unit->pins[p]);
    }
}

static Joints joints_of(Claimer *claimer, const Find *find) {
    const Match *match = &find->match;
    Joints joints = {.weakest = {.weakest = 1}};
    for (uint32_t i = 0; i < match->pattern->pin_count; i++)
        if (match->pin[i] != BENCH_NONE)
            joint(claimer, &joints, anchor_of(claimer, match, match->pattern->pins[i].net), match->pin[i]);
    for (uint32_t r = 0; r < match->pattern->role_count; r++)
        if (match->unit[r] != BENCH_NONE) joint_part(claimer, &joints, find_part(match, r));
    for (uint32_t g = 1; g < find->rule->group_count; g++)
        for (uint32_t i = 0; i < find->members[g].units.count; i++)
            joint_member(claimer, &joints, match, &match->graph->units[find->members[g].units.at[i]]);
    return joints;
}

/* ---- values ---- */

typedef struct LeafWhy {
    Claimer *claimer;
    const FindWorld *world;
    Becauses *list;
} LeafWhy;

static void leaf_why(void *of, const Formula *leaf) {
    LeafWhy *why = of;
    if (leaf->op == FORMULA_NUMBER) return;
    BenchFact fact = find_leaf_why(why->world, leaf);
    Lines lines = {0};
    if (fact.says.len == 0) return;
    for (uint32_t i = 0; i < why->list->count; i++)
        if (text_same(why->list->at[i].says, fact.says)) return;
    for (uint32_t i = 0; i < fact.line_count; i++) lines_add(why->claimer->arena, &lines, fact.lines[i]);
    because(why->claimer, why->list, fact.says, 0, TEXT(""), &lines);
}

static void derive(Claimer *claimer, const Find *find, ReasonClaim *claim, Becauses *list) {
    FindWorld world = {claimer->finder, &find->match, find->members};
    FormulaWorld formulas = find_world(&world);
    LeafWhy why = {claimer, &world, list};
    ReasonValue *values = arena_many(claimer->arena, ReasonValue, find->rule->gives.count + 1);
    for (uint32_t i = 0; i < find->rule->gives.count && claim->value_count < VALUES_MOST; i++) {
        const RuleGiven *given = &find->rule->gives.at[i];
        ReasonValue value = {.name = given->name, .formula = given->written, .source = given->source};
        bool had = given->way != 0 && given->way != formulas.way;
        for (uint32_t k = 0; k < claim->value_count; k++) had = had || text_same(values[k].name, given->name);
        if (had || !formula_compute(given->formula, &formulas, &value.value)) continue;
        values[claim->value_count++] = value;
        formula_leaves(given->formula, &formulas, leaf_why, &why);
    }
    claim->values = values;
}

/* ---- texts ---- */

static const Text *texts_of(Claimer *claimer, const Find *find, const RuleTexts *texts, uint32_t *count) {
    Text *said = arena_many(claimer->arena, Text, texts->count + 1);
    *count = 0;
    for (uint32_t i = 0; i < texts->count; i++) {
        Out out = out_new(claimer->arena);
        if (claim_words(claimer, find, &texts->at[i], &out)) said[(*count)++] = out_text(&out);
    }
    return said;
}

static Text sentence(Claimer *claimer, const Find *find) {
    for (uint32_t i = 0; i < find->rule->says.count; i++) {
        Out out = out_new(claimer->arena);
        if (claim_words(claimer, find, &find->rule->says.at[i], &out)) return out_text(&out);
    }
    return find->rule->name;
}

static void pin_roles(Claimer *claimer, const Find *find, ReasonClaim *claim) {
    ReasonPinRole *roles = arena_many(claimer->arena, ReasonPinRole, find->rule->pin_roles.count + 1);
    for (uint32_t i = 0; i < find->rule->pin_roles.count; i++) {
        const RuleRole *role = &find->rule->pin_roles.at[i];
        uint32_t pin = role->way != 0 && role->way != find->match.pattern->way ? (uint32_t)BENCH_NONE
                                                                               : find_pin(&find->match, role->role, role->pin);
        if (pin != BENCH_NONE) roles[claim->role_count++] = (ReasonPinRole){pin, role->says};
    }
    claim->roles = roles;
}

/* ---- the claim ---- */

/* slug:R1, else slug:R1+C1 ..., else slug:R1.2 */
static Text fresh_id(Claimer *claimer, const Find *find) {
    Out id = out_new(claimer->arena);
    out_add(&id, find->rule->slug);
    for (uint32_t i = 0; i < find->own_count || i == 0; i++) {
        if (i < find->part_count) out_fmt(&id, "%s%.*s", i == 0 ? ":" : "+", TEXT_ARG(claimer->finder->bench->parts.at[find->parts[i]].ref));
        if (names_find(claimer->ids, out_text(&id)) == NAME_NONE) return out_text(&id);
    }
    for (uint32_t n = 2;; n++) {
        Text numbered = text_fmt(claimer->arena, "%.*s.%u", TEXT_ARG(out_text(&id)), n);
        if (names_find(claimer->ids, numbered) == NAME_NONE) return numbered;
    }
}

static void weigh(Claimer *claimer, const Find *find, ReasonClaim *claim, Joints *joints, Becauses *list) {
    const Rule *rule = find->rule;
    static const char *const shapes[] = {"found in the nets", "what is and is not around it", "the notes speak of it"};
    double sum = rule->prior;
    because(claimer, list, text_fmt(claimer->arena, "%.*s: %s", TEXT_ARG(rule->name), shapes[rule->sort]), rule->prior,
            lore_place(claimer->arena, &rule->entry->head), &joints->lines);
    for (uint32_t i = 0; i < rule->speaks.count; i++) {
        Out out = out_new(claimer->arena);
        Lines none = {0};
        if (!claim_words(claimer, find, &rule->speaks.at[i], &out)) continue;
        because(claimer, list, out_text(&out), rule->speaks.at[i].decibans, lore_place(claimer->arena, rule->speaks.at[i].line), &none);
        sum += rule->speaks.at[i].decibans;
    }
    if (joints->disputed) {
        Lines none = {0};
        because(claimer, list, TEXT("it rests on notes that contradict others (rule of thumb)"), DISPUTED_DECIBANS, TEXT(""), &none);
        sum += DISPUTED_DECIBANS;
    }
    double capped = decibans_of_probability(probability_of_decibans(sum) * joints->weakest.weakest);
    if (joints->weakest.weakest < 1) {
        Lines line = {0};
        lines_add(claimer->arena, &line, joints->weakest.weakest_line);
        NoteSource by = joints->weakest.weakest_by == NOTE_BY_UNSAID ? NOTE_BY_EYE : joints->weakest.weakest_by;
        Text where = by == NOTE_BY_PHOTO ? bench_step_says(claimer->arena, claimer->finder->bench, joints->weakest.weakest_step)
                                         : TEXT("");
        because(claimer, list,
                text_fmt(claimer->arena, "no surer than its weakest joint, by %.*s%s%.*s", TEXT_ARG(note_source_name(by)),
                         where.len > 0 ? ": " : "", TEXT_ARG(where)),
                capped - sum, TEXT(""), &line);
    }
    claim->decibans = capped;
}

static ReasonClaim make(Claimer *claimer, const Find *find, BenchChain *weakest) {
    Becauses list = {0};
    ReasonClaim claim = {.sort = find->rule->sort,
                         .name = find->rule->name,
                         .block = find->rule->block,
                         .about = find->parts,
                         .about_count = find->part_count,
                         .own_count = find->own_count};
    Joints joints = joints_of(claimer, find);
    claim.says = sentence(claimer, find);
    weigh(claimer, find, &claim, &joints, &list);
    derive(claimer, find, &claim, &list);
    claim.warnings = texts_of(claimer, find, &find->rule->warns, &claim.warning_count);
    claim.spared = texts_of(claimer, find, &find->rule->spares, &claim.spared_count);
    claim.cautions = texts_of(claimer, find, &find->rule->cautions, &claim.caution_count);
    pin_roles(claimer, find, &claim);
    claim.because = list.at;
    claim.because_count = list.count;
    claim.p = probability_of_decibans(claim.decibans);
    *weakest = joints.weakest;
    return claim;
}

static void keep(Claimer *claimer, ReasonClaim claim, BenchChain weakest) {
    names_add(claimer->ids, claim.id);
    bool hazard = claim.sort == REASON_HAZARD;
    list_push(claimer->arena, &claimer->claim_of, hazard ? (uint32_t)BENCH_NONE : claimer->reasoning->claims.count);
    if (hazard) {
        list_push(claimer->arena, &claimer->reasoning->hazards, claim);
        return;
    }
    list_push(claimer->arena, &claimer->reasoning->claims, claim);
    list_push(claimer->arena, &claimer->weakest, weakest);
}

/* Two arrays of one type end to end. */
#define JOIN_LISTS(claimer, type, to, to_count, from, from_count)                                                              \
    do {                                                                                                                       \
        type *both = arena_many((claimer)->arena, type, (to_count) + (from_count) + 1);                                        \
        for (uint32_t i = 0; i < (to_count); i++) both[i] = (to)[i];                                                           \
        for (uint32_t i = 0; i < (from_count); i++) both[(to_count) + i] = (from)[i];                                          \
        (to) = both;                                                                                                           \
        (to_count) += (from_count);                                                                                            \
    } while (0)

/* One more observation for the same conclusion. The same rule seen again counts once, the stronger. */
static void add_evidence(Claimer *claimer, ReasonClaim *to, const ReasonClaim *from) {
    bool again = false;
    for (uint32_t i = 0; i < to->because_count; i++)
        again = again || (from->because[0].place.len > 0 && text_same(to->because[i].place, from->because[0].place));
    JOIN_LISTS(claimer, ReasonPinRole, to->roles, to->role_count, from->roles, from->role_count);
    JOIN_LISTS(claimer, Text, to->warnings, to->warning_count, from->warnings, from->warning_count);
    to->says = text_fmt(claimer->arena, "%.*s %.*s", TEXT_ARG(to->says), TEXT_ARG(from->says));
    if (again) return;
    JOIN_LISTS(claimer, ReasonBecause, to->because, to->because_count, from->because, from->because_count);
    to->decibans += from->decibans;
    to->p = probability_of_decibans(to->decibans);
}

static Text claim_conclusion(Claimer *claimer, const Find *find) {
    BenchChain weakest;
    ReasonClaim claim = make(claimer, find, &weakest);
    uint32_t part = find_part(&find->match, find->rule->conclude_role);
    Text ref = claimer->finder->bench->parts.at[part].ref;
    Out id = out_new(claimer->arena);
    for (size_t i = 0; i < find->rule->conclusion.len; i++) {
        char c = find->rule->conclusion.at[i];
        bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
        if (plain || (id.len > 0 && id.at[id.len - 1] != '-')) out_char(&id, plain ? c : '-');
    }
    out_fmt(&id, ":%.*s", TEXT_ARG(ref));
    claim.id = out_text(&id);
    claim.name = find->rule->conclusion;
    uint32_t known = names_find(claimer->ids, claim.id);
    if (known != NAME_NONE && claimer->claim_of.at[known] != BENCH_NONE) {
        add_evidence(claimer, &claimer->reasoning->claims.at[claimer->claim_of.at[known]], &claim);
        return claim.id;
    }
    uint32_t *about = arena_many(claimer->arena, uint32_t, claim.about_count + 1);
    uint32_t count = 0;
    about[count++] = part;
    for (uint32_t i = 0; i < claim.about_count; i++)
        if (claim.about[i] != part) about[count++] = claim.about[i];
    claim.about = about;
    claim.about_count = count;
    claim.own_count = 1;
    keep(claimer, claim, weakest);
    return claim.id;
}

Text claim_find(Claimer *claimer, const Find *find) {
    if (find->rule->concludes) return claim_conclusion(claimer, find);
    BenchChain weakest;
    ReasonClaim claim = make(claimer, find, &weakest);
    claim.id = fresh_id(claimer, find);
    keep(claimer, claim, weakest);
    return claim.id;
}

/* ---- parts and statements ---- */

static void claim_one(Claimer *claimer, ReasonClaim claim, uint32_t part, double decibans, Text why, Text place, uint32_t line) {
    Becauses list = {0};
    Lines lines = {0};
    uint32_t *about = arena_many(claimer->arena, uint32_t, 1);
    *about = part;
    lines_add(claimer->arena, &lines, line);
    because(claimer, &list, why, decibans, place, &lines);
    claim.about = about;
    claim.about_count = claim.own_count = part == BENCH_NONE ? 0 : 1;
    claim.because = list.at;
    claim.because_count = list.count;
    claim.decibans = decibans;
    claim.p = probability_of_decibans(decibans);
    keep(claimer, claim, (BenchChain){.weakest = 1});
}

/* Decibans of the first reading against all others together. */
static double reading_decibans(MarkReadings readings) {
    double rest = 0;
    for (uint32_t i = 1; i < readings.count; i++) rest += pow(10, (readings.at[i].decibans - readings.at[0].decibans) / 10);
    const double at_most = 20; /* even a sole reading may be a misprint: rule of thumb */
    return rest > 0 && -10 * log10(rest) < at_most ? -10 * log10(rest) : at_most;
}

void claim_parts(Claimer *claimer) {
    const Bench *bench = claimer->finder->bench;
    for (uint32_t p = 0; p < bench->parts.count; p++) {
        const BenchPart *part = &bench->parts.at[p];
        if (!part->has_marking || part->marking.len == 0) continue;
        ReasonClaim claim = {.sort = REASON_PART};
        if (part->shelf != NULL) {
            const ShelfMatch *match = &part->shelf_match;
            claim.id = text_fmt(claimer->arena, "part:%.*s", TEXT_ARG(part->ref));
            claim.name = part->shelf->name;
            claim.says = text_fmt(claimer->arena, "%.*s, marked \"%.*s\", is %.*s: %.*s.", TEXT_ARG(part->ref), TEXT_ARG(part->marking),
                                  TEXT_ARG(part->shelf->name), TEXT_ARG(part->shelf->about));
            Text why = text_fmt(claimer->arena, "the marking names %.*s%s%.*s%s", TEXT_ARG(match->matched),
                                match->differs.len > 0 ? " (" : "", TEXT_ARG(match->differs), match->differs.len > 0 ? ")" : "");
            claim_one(claimer, claim, p, match->decibans, why, part->shelf->source, part->line);
        } else if (part->readings.count > 0) {
            const MarkReading *reading = &part->readings.at[0];
            claim.id = text_fmt(claimer->arena, "marking:%.*s", TEXT_ARG(part->ref));
            claim.name = reading->kind;
            claim.says = text_fmt(claimer->arena, "%.*s, marked \"%.*s\": %.*s", TEXT_ARG(part->ref), TEXT_ARG(part->marking),
                                  TEXT_ARG(reading->says));
            claim_one(claimer, claim, p, reading_decibans(part->readings), reading->standard, TEXT(""), part->line);
        }
    }
}

void claim_statements(Claimer *claimer) {
    const Bench *bench = claimer->finder->bench;
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        if (note->verb != NOTE_CLAIM) continue;
        Out about = out_new(claimer->arena);
        note_terminal_print(&about, note->claim.about);
        ReasonClaim claim = {.sort = REASON_STATED, .name = note->claim.says};
        claim.id = text_fmt(claimer->arena, "stated:%.*s", TEXT_ARG(out_text(&about)));
        if (names_find(claimer->ids, claim.id) != NAME_NONE)
            claim.id = text_fmt(claimer->arena, "%.*s.%u", TEXT_ARG(claim.id), note->line);
        claim.says = text_fmt(claimer->arena, "%.*s: %.*s (so the notes say).", TEXT_ARG(out_text(&about)), TEXT_ARG(note->claim.says));
        claim_one(claimer, claim, bench_part(bench, note->claim.about.part), decibans_of_probability(bench_trust(bench, note)),
                  TEXT("stated in the notes"), TEXT(""), note->line);
    }
}
