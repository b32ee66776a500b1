/* What formulas and conditions may ask of a find: values, voltages, properties, counts and facts. */
#include "reason/find.h"

#include <math.h>

uint32_t find_part(const Match *match, uint32_t role) {
    uint32_t unit = match->unit[role];
    return unit == BENCH_NONE ? BENCH_NONE : match->graph->units[unit].part;
}

uint32_t find_pin(const Match *match, uint32_t role, Text name) {
    const Pattern *pattern = match->pattern;
    for (uint32_t i = 0; i < pattern->pin_count; i++)
        if (pattern->pins[i].role == role && match->pin[i] != BENCH_NONE && text_same(pattern->pins[i].name, name))
            return match->pin[i];
    if (match->unit[role] == BENCH_NONE) return BENCH_NONE;
    const GraphUnit *unit = &match->graph->units[match->unit[role]];
    int position = bench_kind_pin(match->graph->bench->kinds, pattern->roles[role].kind, name);
    for (uint32_t i = 0; position >= 0 && i < pattern->pin_count; i++)
        if (pattern->pins[i].role == role && pattern->pins[i].position == position && match->pin[i] != BENCH_NONE)
            return match->pin[i];
    return position >= 0 && (uint32_t)position < unit->pin_count ? unit->pins[position] : BENCH_NONE;
}

/* The rail the pattern names, else, when the circuit has only one, that. */
uint32_t find_rail(const Finder *finder, const Match *match, Text name) {
    bool ground = text_is(name, "ground");
    for (uint32_t i = 0; i < match->pattern->net_count; i++) {
        const PatternNet *net = &match->pattern->nets[i];
        if ((ground ? net->ground : net->supply) && match->net[i] != BENCH_NONE) return match->net[i];
    }
    const Graph *graph = finder->graph;
    uint32_t count = ground ? graph->ground_count : graph->supply_count;
    const uint32_t *nets = ground ? graph->ground_nets : graph->supply_nets;
    uint32_t best = BENCH_NONE;
    for (uint32_t i = 0; i < count; i++) { /* several: the one that feeds most */
        uint32_t ends = graph->net_start[nets[i] + 1] - graph->net_start[nets[i]];
        if (best == BENCH_NONE || ends > graph->net_start[best + 1] - graph->net_start[best]) best = nets[i];
    }
    return best;
}

static const BenchReading *reading_of_part(const Bench *bench, uint32_t part, const char *function) {
    for (uint32_t i = 0; i < bench->readings.count; i++) {
        const BenchReading *reading = &bench->readings.at[i];
        if (reading->about_count == 1 && reading->about[0] == part && text_is(reading->function, function)) return reading;
    }
    return NULL;
}

static bool volts_of_net(const Finder *finder, uint32_t net, Quantity *q) {
    if (net == BENCH_NONE || !finder->graph->rails[net].known) return false;
    *q = finder->graph->rails[net].volts;
    return true;
}

static bool value_of(const Finder *finder, uint32_t part, Quantity *q) {
    if (part == BENCH_NONE || !finder->bench->parts.at[part].has_value) return false;
    *q = finder->bench->parts.at[part].value;
    return true;
}

uint32_t find_distinct(const Members *members, uint32_t columns, uint32_t column) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < members->count; i++) {
        uint32_t k = 0;
        while (members->units.at[k * columns + column] != members->units.at[i * columns + column]) k++;
        if (k == i) count++;
    }
    return count;
}

/* Values over a group, added up straight or as reciprocals. */
static bool over_group(const FindWorld *world, const Formula *leaf, Quantity *q) {
    const PatternRole *role = &world->match->pattern->roles[leaf->role];
    const PatternGroup *group = &world->match->pattern->groups[role->group];
    if (world->members == NULL) return false;
    const Members *members = &world->members[role->group];
    uint32_t column = 0;
    while (column < group->role_count && group->roles[column] != leaf->role) column++;
    if (leaf->op == FORMULA_COUNT) return *q = quantity_exact(find_distinct(members, group->role_count, column), UNIT_NONE), true;
    double value = 0, low = 0, high = 0;
    bool inverse = leaf->op == FORMULA_PARALLEL;
    for (uint32_t i = 0; i < members->count; i++) {
        Quantity one;
        uint32_t unit = members->units.at[i * group->role_count + column];
        if (!value_of(world->finder, world->match->graph->units[unit].part, &one)) return false;
        value += inverse ? 1 / one.value : one.value;
        low += inverse ? 1 / one.low : one.low;
        high += inverse ? 1 / one.high : one.high;
    }
    if (inverse) value = 1 / value, low = 1 / low, high = 1 / high;
    *q = quantity_within(value, low, high, leaf->unit);
    return members->count > 0 && isfinite(value);
}

static bool rated(const Bench *bench, Unit unit, Quantity *q) {
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        if (note->verb != NOTE_RATED) continue;
        for (uint32_t k = 0; k < note->rated.count; k++)
            if (note->rated.items[k].is_quantity && unit_same(note->rated.items[k].quantity.unit, unit))
                return *q = note->rated.items[k].quantity, true;
    }
    return false;
}

static bool read_of(const Bench *bench, uint32_t part, const char *function, Quantity *q) {
    const BenchReading *reading = part == BENCH_NONE ? NULL : reading_of_part(bench, part, function);
    if (reading == NULL) return false;
    *q = reading->value;
    return true;
}

static bool world_leaf(void *of, const Formula *leaf, Quantity *q) {
    const FindWorld *world = of;
    const Bench *bench = world->finder->bench;
    if (leaf->op == FORMULA_RAIL) return volts_of_net(world->finder, find_rail(world->finder, world->match, leaf->name), q);
    if (leaf->op == FORMULA_RATED) return rated(bench, leaf->unit, q);
    if (leaf->op == FORMULA_COUNT || leaf->op == FORMULA_SUM || leaf->op == FORMULA_PARALLEL) return over_group(world, leaf, q);
    uint32_t part = find_part(world->match, leaf->role), pin;
    Text source;
    if (part == BENCH_NONE) return false;
    switch (leaf->op) {
    case FORMULA_ROLE: return value_of(world->finder, part, q) && unit_same(q->unit, leaf->unit);
    case FORMULA_VOLT:
        pin = find_pin(world->match, leaf->role, leaf->name);
        return pin != BENCH_NONE && volts_of_net(world->finder, bench->pins.at[pin].net, q);
    case FORMULA_CURRENT: return read_of(bench, part, "i", q) && unit_same(q->unit, UNIT_AMPERE);
    case FORMULA_OHMS: return read_of(bench, part, "r", q) && unit_same(q->unit, UNIT_OHM);
    case FORMULA_PROPERTY: return bench_part_property(&bench->parts.at[part], leaf->name, q, &source) && unit_same(q->unit, leaf->unit);
    case FORMULA_CELLS:
        *q = quantity_exact(bench->parts.at[part].cell_count, UNIT_NONE);
        return bench->parts.at[part].cell_count > 0;
    case FORMULA_PINS:
        if (leaf->name.len == 0) return *q = quantity_exact(bench->parts.at[part].pin_count, UNIT_NONE), true;
        pin = find_pin(world->match, leaf->role, leaf->name);
        if (pin == BENCH_NONE) return false;
        *q = quantity_exact(bench->nets.at[bench->pins.at[pin].net].pin_count, UNIT_NONE);
        return true;
    default: return false;
    }
}

BenchFact find_leaf_why(const FindWorld *world, const Formula *leaf) {
    const Finder *finder = world->finder;
    BenchFact none = {0};
    if (leaf->op == FORMULA_RAIL) {
        uint32_t net = find_rail(finder, world->match, leaf->name);
        return net == BENCH_NONE ? none : finder->graph->rails[net].why;
    }
    if (leaf->op == FORMULA_RATED || leaf->op == FORMULA_COUNT || leaf->op == FORMULA_SUM || leaf->op == FORMULA_PARALLEL) return none;
    uint32_t part = find_part(world->match, leaf->role);
    if (part == BENCH_NONE) return none;
    const BenchPart *at = &finder->bench->parts.at[part];
    if (leaf->op == FORMULA_ROLE) return at->value_why;
    if (leaf->op == FORMULA_VOLT) {
        uint32_t pin = find_pin(world->match, leaf->role, leaf->name);
        return pin == BENCH_NONE ? none : finder->graph->rails[finder->bench->pins.at[pin].net].why;
    }
    if (leaf->op == FORMULA_PROPERTY) {
        const BenchProperty *usual = bench_kind_property(at->kind, leaf->name);
        Text source = {"", 0};
        Quantity figure;
        bench_part_property(at, leaf->name, &figure, &source);
        none.says = text_fmt(finder->arena, "%.*s of %.*s (%.*s)", TEXT_ARG(usual == NULL ? leaf->name : usual->says),
                             TEXT_ARG(at->ref), TEXT_ARG(source));
    }
    if (leaf->op == FORMULA_CURRENT || leaf->op == FORMULA_OHMS) {
        const BenchReading *reading = reading_of_part(finder->bench, part, leaf->op == FORMULA_CURRENT ? "i" : "r");
        none.says = text_fmt(finder->arena, "%.*s of %.*s was read", leaf->op == FORMULA_CURRENT ? 7 : 10,
                             leaf->op == FORMULA_CURRENT ? "current" : "resistance", TEXT_ARG(at->ref));
        if (reading != NULL) none.lines = &reading->note->line, none.line_count = 1;
    }
    return none;
}

/* ---- facts ---- */

static bool has_words(Text text, Text words) {
    for (size_t i = 0; i + words.len <= text.len; i++)
        if (text_same_folded(text_sub(text, i, words.len), words)) return true;
    return false;
}

/* Does a note's text speak of it? Product name, label, remarks, markings, what was claimed. */
static bool words_in_notes(const Bench *bench, Text words) {
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        if (has_words(note->with->remark, words)) return true;
        if (note->verb == NOTE_PRODUCT && has_words(note->product.name, words)) return true;
        if (note->verb == NOTE_STEP && has_words(note->step.what, words)) return true;
        if (note->verb == NOTE_CLAIM && has_words(note->claim.says, words)) return true;
    }
    return false;
}

static bool tagged(const Bench *bench, Text tag) {
    for (uint32_t i = 0; bench->product != NULL && i < bench->product->product.tag_count; i++)
        if (text_same_folded(bench->product->product.tags[i], tag)) return true;
    return false;
}

/* Does the find hold the parts of all the roles? */
static bool holds_roles(const FindWorld *world, const Condition *fact, const Find *find) {
    for (uint32_t r = 0; r < fact->role_count; r++) {
        uint32_t part = find_part(world->match, fact->roles[r]), p = 0;
        while (p < find->part_count && find->parts[p] != part) p++;
        if (p == find->part_count) return false;
    }
    return true;
}

static bool found_with(const FindWorld *world, const Condition *fact) {
    const Finder *finder = world->finder;
    uint32_t part = find_part(world->match, fact->roles[0]);
    if (part == BENCH_NONE) return false;
    bool indexed = finder->of_part != NULL;
    uint32_t from = indexed ? finder->part_start[part] : 0, to = indexed ? finder->part_start[part + 1] : finder->finds.count;
    for (uint32_t i = from; i < to; i++) {
        const Find *find = finder->finds.at[indexed ? finder->of_part[i] : i];
        if (text_same(find->rule->name, fact->name) && holds_roles(world, fact, find)) return true;
    }
    return false;
}

/* A fact about one part, or about each member of a group. */
static bool part_fact(const BenchPart *part, const BenchKind *unit_kind, const Condition *fact) {
    switch (fact->op) {
    case CONDITION_KIND: return bench_kind_is(unit_kind, fact->kind);
    case CONDITION_MARKED: return part->has_marking && part->marking.len > 0;
    case CONDITION_UNMARKED: return part->has_marking && part->marking.len == 0;
    case CONDITION_CELL: return text_is(fact->name, "lithium") ? part->cell->lithium : part->cell->button;
    default: return false;
    }
}

static bool role_fact(const FindWorld *world, const Condition *fact) {
    const Match *match = world->match;
    uint32_t role = fact->roles[0], group = match->pattern->roles[role].group;
    const PatternGroup *of = &match->pattern->groups[group];
    if (of->sort == GROUP_EVERY && world->members != NULL && match->unit[role] == BENCH_NONE) {
        uint32_t column = 0, count = world->members[group].count;
        while (of->roles[column] != role) column++;
        for (uint32_t i = 0; i < count; i++) {
            const GraphUnit *unit = &match->graph->units[world->members[group].units.at[i * of->role_count + column]];
            if (!part_fact(&world->finder->bench->parts.at[unit->part], unit->kind, fact)) return false;
        }
        return count > 0;
    }
    if (match->unit[role] == BENCH_NONE) return false;
    const GraphUnit *unit = &match->graph->units[match->unit[role]];
    return part_fact(&world->finder->bench->parts.at[unit->part], unit->kind, fact);
}

/* By its label, its function, or the name of its net. */
static bool called(const FindWorld *world, const Condition *fact) {
    const Bench *bench = world->finder->bench;
    uint32_t pin = find_pin(world->match, fact->roles[0], fact->name);
    for (uint32_t i = 0; pin != BENCH_NONE && i < fact->name_count; i++) {
        const BenchPin *at = &bench->pins.at[pin];
        if (text_same_folded(at->label, fact->names[i]) || text_same_folded(at->function, fact->names[i]) ||
            text_same_folded(bench->nets.at[at->net].name, fact->names[i]))
            return true;
    }
    return false;
}

static int world_fact(void *of, const Condition *fact) {
    const FindWorld *world = of;
    switch (fact->op) {
    case CONDITION_PRESENT: {
        uint32_t group = world->match->pattern->roles[fact->roles[0]].group;
        return world->match->unit[fact->roles[0]] != BENCH_NONE || (world->members != NULL && world->members[group].count > 0);
    }
    case CONDITION_TAGGED: return tagged(world->finder->bench, fact->name);
    case CONDITION_WORDS: return words_in_notes(world->finder->bench, fact->name);
    case CONDITION_FOUND: return found_with(world, fact);
    case CONDITION_CALLED: return called(world, fact);
    case CONDITION_SAME: return find_part(world->match, fact->roles[0]) == find_part(world->match, fact->roles[1]);
    default: return role_fact(world, fact);
    }
}

FormulaWorld find_world(FindWorld *world) { return (FormulaWorld){world, world_leaf, world_fact, world->match->pattern->way}; }
