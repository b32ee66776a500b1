/* The texts of a rule filled in for one find. */
#include "reason/claim.h"

enum { LISTED_MOST = 8 }; /* parts of a group named one by one */

static void say_group(Claimer *claimer, const Find *find, uint32_t role, Out *out) {
    const Match *match = &find->match;
    uint32_t g = match->pattern->roles[role].group, column = 0, listed = 0;
    const PatternGroup *group = &match->pattern->groups[g];
    const Members *members = &find->members[g];
    while (group->roles[column] != role) column++;
    uint32_t distinct = find_distinct(members, group->role_count, column);
    for (uint32_t i = 0; i < members->count; i++) {
        uint32_t unit = members->units.at[i * group->role_count + column], k = 0;
        while (members->units.at[k * group->role_count + column] != unit) k++;
        if (k < i) continue;
        if (listed == LISTED_MOST && distinct > LISTED_MOST + 1) {
            out_fmt(out, " and %u more", distinct - listed);
            return;
        }
        if (listed > 0) out_add(out, listed + 1 == distinct ? TEXT(" and ") : TEXT(", "));
        out_add(out, claimer->finder->bench->parts.at[match->graph->units[unit].part].ref);
        listed++;
    }
}

static bool say_value(const FindWorld *world, const Words *piece, Out *out) {
    uint32_t part = find_part(world->match, piece->role);
    if (part == BENCH_NONE || !world->finder->bench->parts.at[part].has_value) return false;
    if (piece->op == WORDS_VALUE)
        quantity_print(out, world->finder->bench->parts.at[part].value);
    else
        quantity_print_range(out, world->finder->bench->parts.at[part].value);
    return true;
}

static bool say_given(const FindWorld *world, const Find *find, const Words *piece, Out *out) {
    FindWorld mine = *world;
    FormulaWorld formulas = find_world(&mine);
    Text name = find->rule->gives.at[piece->given].name;
    for (uint32_t i = 0; i < find->rule->gives.count; i++) {
        const RuleGiven *given = &find->rule->gives.at[i];
        Quantity q;
        if (!text_same(given->name, name) || (given->way != 0 && given->way != formulas.way)) continue;
        if (!formula_compute(given->formula, &formulas, &q)) continue;
        if (piece->op == WORDS_GIVEN)
            quantity_print(out, q);
        else
            quantity_print_range(out, q);
        return true;
    }
    return false;
}

static bool say_piece(Claimer *claimer, const Find *find, const FindWorld *world, const Words *piece, Out *out) {
    const Bench *bench = claimer->finder->bench;
    const Match *match = &find->match;
    uint32_t pin, net;
    switch (piece->op) {
    case WORDS_TEXT: out_add(out, piece->text); return true;
    case WORDS_ROLE:
        if (match->pattern->roles[piece->role].kind == NULL) return false;
        if (match->pattern->groups[match->pattern->roles[piece->role].group].sort == GROUP_EVERY) {
            size_t before = out->len;
            say_group(claimer, find, piece->role, out);
            return out->len > before;
        }
        if (match->unit[piece->role] == BENCH_NONE) return false;
        out_add(out, bench->parts.at[find_part(match, piece->role)].ref);
        return true;
    case WORDS_PIN:
        if ((pin = find_pin(match, piece->role, piece->text)) == BENCH_NONE) return false;
        out_add(out, bench_pin_name(claimer->arena, bench, pin));
        return true;
    case WORDS_NET:
        net = piece->role == BENCH_NONE                                              ? find_rail(claimer->finder, match, piece->text)
              : (pin = find_pin(match, piece->role, piece->text)) == BENCH_NONE ? BENCH_NONE
                                                                                     : bench->pins.at[pin].net;
        if (net == BENCH_NONE) return false;
        out_add(out, bench->nets.at[net].name);
        return true;
    case WORDS_VALUE:
    case WORDS_RANGE: return say_value(world, piece, out);
    case WORDS_COUNT: {
        uint32_t g = match->pattern->roles[piece->role].group, column = 0;
        const PatternGroup *group = &match->pattern->groups[g];
        while (column < group->role_count && group->roles[column] != piece->role) column++;
        if (column == group->role_count) return false;
        out_fmt(out, "%u", find_distinct(&find->members[g], group->role_count, column));
        return true;
    }
    case WORDS_GIVEN:
    case WORDS_GIVEN_RANGE: return say_given(world, find, piece, out);
    }
    return false;
}

bool claim_words(Claimer *claimer, const Find *find, const RuleText *text, Out *out) {
    FindWorld world = {claimer->finder, &find->match, find->members};
    FormulaWorld formulas = find_world(&world);
    size_t before = out->len;
    if (text->way != 0 && text->way != formulas.way) return false;
    if (text->when != NULL && condition_decide(text->when, &formulas) != TRUTH_TRUE) return false;
    for (uint32_t i = 0; i < text->word_count; i++) {
        if (say_piece(claimer, find, &world, &text->words[i], out)) continue;
        out->len = before;
        return false;
    }
    return true;
}
