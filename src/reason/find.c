/* From matches to finds: conditions, what must not be there, what is taken along, groups; one find for the same own parts; and
 * which finds are outdone by more specific ones.
 *
 * The first match in natural order of references stands for all that differ only in neighbours or in how alike pins are
 * exchanged, so the same nets give the same finds whatever the order of the notes. */
#include "reason/find.h"

#include <stdlib.h>
#include <string.h>

enum { MEMBERS_MOST = 1000 }; /* of one group in one find */

typedef struct Finding {
    Finder *finder;
    const Rule *rule;
    Names *seen;
    uint32_t made;
} Finding;

typedef struct GroupSearch {
    const Finding *finding;
    uint32_t group;
    bool hit;
    Match *keep;      /* maybe: the match that is kept */
    Members *members; /* every */
    Names *sets;      /* every: the sets of units that are members */
} GroupSearch;

/* Do the conditions of this group (0: the whole find) hold? */
static bool conditions_hold(const Finding *finding, const Match *match, const Members *members, uint32_t group, bool after) {
    FindWorld world = {finding->finder, match, members};
    FormulaWorld formulas = find_world(&world);
    for (uint32_t i = 0; i < finding->rule->where.count; i++) {
        const RuleWhere *where = &finding->rule->where.at[i];
        if (where->group != group || where->after != after || (where->way != 0 && where->way != match->pattern->way)) continue;
        if (condition_decide(where->when, &formulas) != TRUTH_TRUE) return false;
    }
    return true;
}

static bool group_there(void *of, Match *match) {
    GroupSearch *search = of;
    if (!conditions_hold(search->finding, match, NULL, search->group, false)) return true;
    search->hit = true;
    if (search->keep != NULL) *search->keep = *match;
    return false;
}

static int by_number(const void *a, const void *b) {
    uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return (x > y) - (x < y);
}

/* A set of numbers as text, so that Names can tell sets apart. */
static Text set_of(uint32_t *numbers, size_t count) {
    if (count > 0) qsort(numbers, count, sizeof *numbers, by_number); /* an empty set may be NULL, which qsort may not */
    return (Text){(const char *)numbers, count * sizeof *numbers};
}

static bool group_member(void *of, Match *match) {
    GroupSearch *search = of;
    const PatternGroup *group = &match->pattern->groups[search->group];
    Arena *arena = search->finding->finder->arena;
    uint32_t *units = arena_many(arena, uint32_t, group->role_count);
    for (uint32_t i = 0; i < group->role_count; i++) units[i] = match->unit[group->roles[i]];
    Text set = set_of(units, group->role_count);
    if (names_find(search->sets, set) != NAME_NONE) return true;
    if (!conditions_hold(search->finding, match, NULL, search->group, false)) return true;
    names_add(search->sets, set);
    for (uint32_t i = 0; i < group->role_count; i++) list_push(arena, &search->members->units, match->unit[group->roles[i]]);
    search->members->count++;
    return search->members->count < MEMBERS_MOST;
}

static bool in_way(const PatternGroup *group, const Match *match) { return group->way == 0 || group->way == match->pattern->way; }

/* Steps spent on groups count against the same bound as the search that they serve. */
static bool nothing_forbidden(const Finding *finding, Match *match) {
    for (uint32_t g = 1; g < finding->rule->group_count; g++) {
        if (finding->rule->groups[g].sort != GROUP_NO || !in_way(&finding->rule->groups[g], match)) continue;
        Match trial = *match;
        GroupSearch search = {.finding = finding, .group = g};
        match_group(&trial, g, group_there, &search);
        match->steps = trial.steps;
        if (search.hit) return false;
    }
    return true;
}

static void take_along(const Finding *finding, Match *match) {
    for (uint32_t g = 1; g < finding->rule->group_count; g++) {
        if (finding->rule->groups[g].sort != GROUP_MAYBE || !in_way(&finding->rule->groups[g], match)) continue;
        Match trial = *match, kept = *match;
        GroupSearch search = {.finding = finding, .group = g, .keep = &kept};
        match_group(&trial, g, group_there, &search);
        if (search.hit) *match = kept;
        match->steps = trial.steps;
    }
}

static bool gather_groups(const Finding *finding, Match *match, Members *members) {
    for (uint32_t g = 1; g < finding->rule->group_count; g++) {
        const PatternGroup *group = &finding->rule->groups[g];
        if (group->sort != GROUP_EVERY || !in_way(group, match)) continue;
        Match trial = *match;
        GroupSearch search = {.finding = finding, .group = g, .members = &members[g]};
        search.sets = names_new(finding->finder->arena);
        match_group(&trial, g, group_member, &search);
        match->steps = trial.steps;
        if (members[g].count < group->at_least) return false;
    }
    return true;
}

/* What makes two matches of a rule one find: the same own units, of the needs and, once they are gathered, of the groups. */
static Text key_of(const Finding *finding, const Match *match, const Members *members) {
    LIST(uint32_t) key = {0};
    Arena *arena = finding->finder->arena;
    const Pattern *pattern = match->pattern;
    for (uint32_t i = 0; i < pattern->main_count; i++)
        if (!pattern->roles[pattern->main_roles[i]].aside) list_push(arena, &key, match->unit[pattern->main_roles[i]]);
    for (uint32_t g = 1; members != NULL && g < pattern->group_count; g++)
        for (uint32_t i = 0; i < members[g].units.count; i++)
            if (!pattern->roles[pattern->groups[g].roles[i % pattern->groups[g].role_count]].aside)
                list_push(arena, &key, members[g].units.at[i]);
    Text set = set_of(key.at, key.count);
    uint32_t kept = 0;
    for (uint32_t i = 0; i < key.count; i++)
        if (i == 0 || key.at[i] != key.at[i - 1]) key.at[kept++] = key.at[i];
    return text_sub(set, 0, kept * sizeof *key.at);
}

static bool has_groups(const Match *match) {
    for (uint32_t g = 1; g < match->pattern->group_count; g++)
        if (match->pattern->groups[g].sort == GROUP_EVERY && in_way(&match->pattern->groups[g], match)) return true;
    return false;
}

static void add_part(Find *find, uint32_t part) {
    for (uint32_t i = 0; i < find->part_count; i++)
        if (find->parts[i] == part) return;
    find->parts[find->part_count++] = part;
}

static void list_parts(Arena *arena, Find *find) {
    const Match *match = &find->match;
    const Rule *rule = find->rule;
    const PatternRole *roles = match->pattern->roles;
    uint32_t most = rule->role_count;
    for (uint32_t g = 0; g < rule->group_count; g++) most += find->members[g].units.count;
    find->parts = arena_many(arena, uint32_t, most + 1);
    for (int aside = 0; aside < 2; aside++) {
        for (int sort = GROUP_NEEDS; sort <= GROUP_MAYBE; sort++)
            for (uint32_t r = 0; r < rule->role_count; r++)
                if (match->unit[r] != BENCH_NONE && roles[r].aside == (aside == 1) &&
                    rule->groups[roles[r].group].sort == (GroupSort)sort)
                    add_part(find, find_part(match, r));
        for (uint32_t g = 1; g < rule->group_count; g++)
            for (uint32_t i = 0; i < find->members[g].units.count; i++)
                if (roles[rule->groups[g].roles[i % rule->groups[g].role_count]].aside == (aside == 1))
                    add_part(find, match->graph->units[find->members[g].units.at[i]].part);
        if (aside == 0) find->own_count = find->part_count;
    }
}

static bool needs_fit(void *of, Match *match) {
    Finding *finding = of;
    Finder *finder = finding->finder;
    Members members[GROUPS_MOST] = {0};
    bool by_needs = !has_groups(match);
    if (by_needs && names_find(finding->seen, key_of(finding, match, NULL)) != NAME_NONE) return true;
    if (!conditions_hold(finding, match, NULL, 0, false) || !nothing_forbidden(finding, match)) return true;
    Match whole = *match;
    take_along(finding, &whole);
    bool gathered = gather_groups(finding, &whole, members);
    match->steps = whole.steps;
    if (!gathered || !conditions_hold(finding, &whole, members, 0, true)) return true;
    Text key = key_of(finding, match, members);
    if (names_find(finding->seen, key) != NAME_NONE) return true;
    names_add(finding->seen, key);
    if (finder->finds.count >= REASON_INSTANCES_MOST) {
        finder->cut++;
        return finder->cut < REASON_INSTANCES_MOST;
    }
    Find *find = arena_one(finder->arena, Find);
    find->rule = finding->rule;
    find->match = whole;
    memcpy(find->members, members, sizeof members);
    list_parts(finder->arena, find);
    list_push(finder->arena, &finder->finds, find);
    return true;
}

static void apply(Finder *finder, const Rule *rule) {
    Finding finding = {.finder = finder, .rule = rule, .seen = names_new(finder->arena)};
    for (uint32_t w = 0; w < rule->way_count; w++) {
        Match match;
        match_start(&match, rule->ways[w], finder->graph);
        match_needs(&match, needs_fit, &finding);
        if (match.cut) finder->cut++;
    }
}

/* Finds by part, so that `over` and `found` are looked for only where parts are shared. */
static void index_finds(Finder *finder) {
    uint32_t parts = finder->bench->parts.count;
    uint32_t *start = arena_many(finder->arena, uint32_t, parts + 2);
    for (uint32_t i = 0; i < finder->finds.count; i++)
        for (uint32_t p = 0; p < finder->finds.at[i]->part_count; p++) start[finder->finds.at[i]->parts[p] + 1]++;
    for (uint32_t p = 0; p < parts; p++) start[p + 1] += start[p];
    uint32_t *of_part = arena_many(finder->arena, uint32_t, start[parts] + 1), *next = arena_many(finder->arena, uint32_t, parts + 1);
    memcpy(next, start, parts * sizeof *next);
    for (uint32_t i = 0; i < finder->finds.count; i++)
        for (uint32_t p = 0; p < finder->finds.at[i]->part_count; p++) of_part[next[finder->finds.at[i]->parts[p]]++] = i;
    finder->part_start = start;
    finder->of_part = of_part;
}

static void mark_outdone(Finder *finder) {
    const uint32_t *start = finder->part_start, *of_part = finder->of_part;
    unsigned char *held = arena_many(finder->arena, unsigned char, finder->bench->parts.count + 1);
    for (uint32_t i = 0; i < finder->finds.count; i++) {
        const Find *over = finder->finds.at[i];
        if (over->rule->over.count == 0) continue;
        for (uint32_t p = 0; p < over->part_count; p++) held[over->parts[p]] = 1;
        for (uint32_t p = 0; p < over->part_count; p++)
            for (uint32_t k = start[over->parts[p]]; k < start[over->parts[p] + 1]; k++) {
                Find *other = finder->finds.at[of_part[k]];
                if (other == over || other->outdone || other->parts[0] != over->parts[p]) continue;
                bool named = false, all = true;
                for (uint32_t n = 0; n < over->rule->over.count; n++)
                    named |= text_same(over->rule->over.at[n], other->rule->name);
                for (uint32_t q = 0; named && q < other->own_count; q++) all = all && held[other->parts[q]];
                if (named && all) other->outdone = true;
            }
        for (uint32_t p = 0; p < over->part_count; p++) held[over->parts[p]] = 0;
    }
}

Finder *find_all(Arena *arena, const Bench *bench, const ReasonRules *rules) {
    Finder *finder = arena_one(arena, Finder);
    *finder = (Finder){.arena = arena, .bench = bench, .rules = rules, .graph = graph_new(arena, bench)};
    for (int later = 0; later < 2; later++) /* those that ask for other finds come last */
        for (uint32_t i = 0; i < rules->rules.count; i++)
            if (rules->rules.at[i]->asks_found == (later == 1)) apply(finder, rules->rules.at[i]);
    index_finds(finder);
    mark_outdone(finder);
    return finder;
}

static bool count_fit(void *of, Match *match) {
    (void)match;
    ++*(uint64_t *)of;
    return true;
}

void reason_count_fits(const Bench *bench, const ReasonRules *rules, uint64_t *counts) {
    Arena *arena = arena_new();
    const Graph *graph = graph_new(arena, bench);
    for (uint32_t i = 0; i < rules->rules.count; i++) {
        counts[i] = 0;
        for (uint32_t w = 0; w < rules->rules.at[i]->way_count; w++) {
            Match match;
            match_start(&match, rules->rules.at[i]->ways[w], graph);
            match_needs(&match, count_fit, &counts[i]);
        }
    }
    arena_free(arena);
}
