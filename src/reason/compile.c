/* From the `joined` and `apart` lines of a rule to the patterns of its ways: pins that are joined share a net variable, pins
 * that are only mentioned have one of their own, and it is seen to that the parts hang together, because parts that touch only
 * through a rail would have to be tried in every combination. */
#include "reason/rule.h"

typedef struct Term {
    bool ground, supply;
    uint32_t role;
    int position;
    Text name;
} Term;

enum { TERMS_MOST = 24 };

/* pin = ROLE.FUNCTION | ROLE.* | "ground" | "supply" */
static bool read_term(RuleReader *reader, const Pattern *pattern, Term *term) {
    const Rule *rule = reader->rule;
    Token token = lex_peek(&reader->lexer);
    *term = (Term){.ground = text_is(token.text, "ground"), .supply = text_is(token.text, "supply")};
    if (term->ground || term->supply) return lex_take(&reader->lexer), true;
    size_t dot = text_find(token.text, TEXT("."));
    int role = dot == SIZE_MAX || token.kind != LEX_WORD ? -1 : rule_role(rule, text_sub(token.text, 0, dot));
    term->name = dot == SIZE_MAX ? TEXT("") : text_sub(token.text, dot + 1, token.text.len);
    if (role < 0 || term->name.len == 0 || pattern->roles[role].kind == NULL) {
        rule_problem(reader, text_fmt(reader->arena, "\"%.*s\" is no pin of this entry", TEXT_ARG(token.text)),
                     TEXT("ROLE.FUNCTION, ROLE.*, ground or supply"), TEXT("is the role named by needs, maybe, every or no?"));
        return false;
    }
    const BenchKind *kind = pattern->roles[role].kind;
    term->role = (uint32_t)role;
    term->position = text_is(term->name, "*") ? PIN_ANY
                     : kind->pin_count == 0   ? PIN_VARIABLE
                                              : bench_kind_pin(reader->kinds, kind, term->name);
    if (kind->pin_count > 0 && term->position == -1) {
        rule_problem(reader, text_fmt(reader->arena, "a %.*s has no pin \"%.*s\"", TEXT_ARG(kind->name), TEXT_ARG(term->name)),
                     TEXT("a pin of its kind in lore/kinds.lore"), TEXT(""));
        return false;
    }
    lex_take(&reader->lexer);
    return true;
}

/* The group a line belongs to: that of its roles outside the needs, of which there may be one. */
static bool line_group(RuleReader *reader, const Pattern *pattern, const Term *terms, size_t count, uint32_t *group) {
    const Rule *rule = reader->rule;
    *group = 0;
    for (size_t i = 0; i < count; i++) {
        if (terms[i].ground || terms[i].supply) continue;
        uint32_t of = pattern->roles[terms[i].role].group;
        if (rule->groups[of].sort == GROUP_NEEDS) continue;
        if (*group != 0 && *group != of) {
            rule_problem(reader, TEXT("this line speaks of two groups"),
                         TEXT("roles of one maybe, every or no line, and of needs"), TEXT(""));
            return false;
        }
        *group = of;
    }
    return true;
}

static uint32_t new_net(RuleReader *reader, Pattern *pattern) {
    if (pattern->net_count == PATTERN_NETS_MOST) {
        rule_problem(reader, TEXT("too many nets in one entry"), TEXT("48 at most"), TEXT(""));
        return 0;
    }
    return pattern->net_count++;
}

/* The net variable a term is on already, or BENCH_NONE. */
static uint32_t net_of_term(const Pattern *pattern, const Term *term) {
    for (uint32_t i = 0; (term->ground || term->supply) && i < pattern->net_count; i++)
        if ((term->ground && pattern->nets[i].ground) || (term->supply && pattern->nets[i].supply)) return i;
    for (uint32_t i = 0; !term->ground && !term->supply && i < pattern->pin_count; i++) {
        const PatternPin *pin = &pattern->pins[i];
        if (pin->role == term->role && pin->position == term->position && term->position != PIN_ANY &&
            text_same(pin->name, term->name))
            return pin->net;
        if (pin->role == term->role && pin->position == term->position && term->position >= 0) return pin->net;
    }
    return BENCH_NONE;
}

/* A pin of a needed part that the needs speak of too, and not only a group, must be there from the start. */
static void pin_again(Pattern *pattern, const Term *term, uint32_t group) {
    for (uint32_t i = 0; group == 0 && i < pattern->pin_count; i++) {
        PatternPin *pin = &pattern->pins[i];
        if (pin->role != term->role || pin->position != term->position || pin->position == PIN_ANY) continue;
        if (pin->position == PIN_VARIABLE && !text_same(pin->name, term->name)) continue;
        if (pattern->groups[pattern->roles[pin->role].group].sort == GROUP_NEEDS) pin->group = 0;
        pin->optional = false;
    }
}

static void put_term(RuleReader *reader, Pattern *pattern, const Term *term, uint32_t net, uint32_t group) {
    if (term->ground || term->supply) {
        pattern->nets[net].ground |= term->ground;
        pattern->nets[net].supply |= term->supply;
        return;
    }
    if (net_of_term(pattern, term) != BENCH_NONE) {
        pin_again(pattern, term, group);
        return;
    }
    if (pattern->pin_count == PATTERN_PINS_MOST) {
        rule_problem(reader, TEXT("too many pins in one entry"), TEXT("96 at most"), TEXT(""));
        return;
    }
    uint32_t own = pattern->roles[term->role].group;
    bool needed = reader->rule->groups[own].sort == GROUP_NEEDS;
    bool guest = needed && term->position < 0;
    pattern->pins[pattern->pin_count++] = (PatternPin){.role = term->role,
                                                       .position = term->position,
                                                       .name = term->name,
                                                       .net = net,
                                                       .group = guest ? group : needed ? 0 : term->position == PIN_ANY ? group : own,
                                                       .optional = needed && !guest && group != 0};
}

static void merge_nets(Pattern *pattern, uint32_t keep, uint32_t gone) {
    pattern->nets[keep].ground |= pattern->nets[gone].ground;
    pattern->nets[keep].supply |= pattern->nets[gone].supply;
    pattern->nets[keep].no_ground |= pattern->nets[gone].no_ground;
    pattern->nets[keep].no_supply |= pattern->nets[gone].no_supply;
    for (uint32_t i = 0; i < pattern->pin_count; i++) {
        if (pattern->pins[i].net == gone) pattern->pins[i].net = keep;
        if (pattern->pins[i].net == pattern->net_count - 1) pattern->pins[i].net = gone;
    }
    for (uint32_t i = 0; i < pattern->ban_count; i++) {
        if (pattern->bans[i].net == gone) pattern->bans[i].net = keep;
        if (pattern->bans[i].net == pattern->net_count - 1) pattern->bans[i].net = gone;
    }
    pattern->nets[gone] = pattern->nets[--pattern->net_count];
}

/* Each pin on a net of its own; `ground` and `supply` here say what those nets must not be. */
static void read_apart(RuleReader *reader, Pattern *pattern, const Term *terms, size_t count, uint32_t group) {
    bool no_ground = false, no_supply = false;
    for (size_t i = 0; i < count; i++) no_ground |= terms[i].ground, no_supply |= terms[i].supply;
    for (size_t i = 0; i < count; i++) {
        if (terms[i].ground || terms[i].supply) continue;
        uint32_t net = net_of_term(pattern, &terms[i]);
        if (net == BENCH_NONE) net = new_net(reader, pattern);
        put_term(reader, pattern, &terms[i], net, group);
        if (group == 0 || pattern->ban_count == PATTERN_NETS_MOST) {
            pattern->nets[net].no_ground |= no_ground;
            pattern->nets[net].no_supply |= no_supply;
        } else if (no_ground || no_supply) { /* in a group's line it narrows that group only */
            pattern->bans[pattern->ban_count++] = (PatternBan){net, group, no_ground, no_supply};
        }
    }
}

static bool is_needed(const Pattern *pattern, const Term *term) {
    return term->ground || term->supply || pattern->groups[pattern->roles[term->role].group].sort == GROUP_NEEDS;
}

/* How many ends of a line are the needs' own: two of them are joined whether or not the group that the line also speaks of is
 * found. */
static size_t needed_ends(const Pattern *pattern, const Term *terms, size_t count) {
    size_t ends = 0;
    for (size_t i = 0; i < count; i++) ends += is_needed(pattern, &terms[i]);
    return ends;
}

/* joined = "joined" pin pin { pin }            apart = "apart" pin { pin } */
static void read_nets(RuleReader *reader, Pattern *pattern, bool joined) {
    Term terms[TERMS_MOST];
    size_t count = 0;
    while (!lex_at_end(&reader->lexer) && count < TERMS_MOST)
        if (!read_term(reader, pattern, &terms[count++])) return;
    uint32_t group;
    if (count < (joined ? 2 : 1) || !lex_at_end(&reader->lexer)) {
        rule_problem(reader, TEXT("pins are missing, or too many"), TEXT("2 to 24 pins"), TEXT(""));
        return;
    }
    if (!line_group(reader, pattern, terms, count, &group)) return;
    if (!joined) {
        read_apart(reader, pattern, terms, count, group);
        return;
    }
    uint32_t shared = BENCH_NONE;
    for (size_t i = 0; i < count; i++) {
        uint32_t net = net_of_term(pattern, &terms[i]);
        if (shared == BENCH_NONE) {
            shared = net;
        } else if (net != BENCH_NONE && net != shared) {
            uint32_t keep = shared < net ? shared : net, gone = shared < net ? net : shared;
            merge_nets(pattern, keep, gone);
            shared = keep;
        }
    }
    if (shared == BENCH_NONE) shared = new_net(reader, pattern);
    uint32_t of_needs = needed_ends(pattern, terms, count) >= 2 ? 0 : group;
    for (size_t i = 0; i < count; i++)
        put_term(reader, pattern, &terms[i], shared, is_needed(pattern, &terms[i]) ? of_needs : group);
}

/* Which part of the search binds each net variable. */
static void place_nets(RuleReader *reader, Pattern *pattern) {
    for (uint32_t n = 0; n < pattern->net_count; n++) {
        PatternNet *net = &pattern->nets[n];
        bool main = false, two = false;
        uint32_t group = 0;
        for (uint32_t i = 0; i < pattern->pin_count; i++) {
            const PatternPin *pin = &pattern->pins[i];
            if (pin->net != n || (pin->position == PIN_ANY && pin->group == 0)) continue;
            if (pin->group == 0) main = true;
            two = two || (group != 0 && pin->group != 0 && pin->group != group);
            if (pin->group != 0) group = pin->group;
        }
        net->floating = !main && (net->ground || net->supply);
        net->group = main || net->floating ? 0 : group;
        if (two && !main && !net->floating)
            rule_problem(reader, TEXT("two groups share a net that no needed part is on"), TEXT("one group for both"), TEXT(""));
    }
}

/* Roles reached from the first over net variables that are no rails; they must be all. */
static bool hangs_together(const Pattern *pattern, const uint32_t *roles, uint32_t count) {
    bool reached[ROLES_MOST] = {false}, grown = true;
    if (count > 0) reached[roles[0]] = true;
    while (grown) {
        grown = false;
        for (uint32_t a = 0; a < pattern->pin_count; a++)
            for (uint32_t b = 0; b < pattern->pin_count; b++) {
                const PatternPin *from = &pattern->pins[a], *to = &pattern->pins[b];
                const PatternNet *net = &pattern->nets[from->net];
                if (from->net != to->net || net->ground || net->supply || !reached[from->role] || reached[to->role]) continue;
                reached[to->role] = grown = true;
            }
    }
    for (uint32_t i = 0; i < count; i++)
        if (!reached[roles[i]]) return false;
    return true;
}

static void check_shape(RuleReader *reader, const Pattern *pattern) {
    Rule *rule = reader->rule;
    for (uint32_t i = 0; i < pattern->main_count; i++) {
        bool mentioned = pattern->main_count == 1;
        for (uint32_t k = 0; k < pattern->pin_count; k++) mentioned |= pattern->pins[k].role == pattern->main_roles[i];
        if (!mentioned)
            rule_problem(reader, text_fmt(reader->arena, "%.*s is joined to nothing", TEXT_ARG(rule->roles[pattern->main_roles[i]])),
                         TEXT("a joined line that mentions it"), TEXT(""));
    }
    if (!hangs_together(pattern, pattern->main_roles, pattern->main_count))
        rule_problem(reader, TEXT("the needed parts touch only through a rail, or not at all"),
                     TEXT("joined lines that hold them together"), TEXT("a part that may be anywhere is better found by its own idiom"));
    for (uint32_t g = 1; g < rule->group_count; g++)
        if (rule->groups[g].role_count > 1 && rule->groups[g].sort != GROUP_NEEDS &&
            (rule->groups[g].way == 0 || rule->groups[g].way == pattern->way) &&
            !hangs_together(pattern, rule->groups[g].roles, rule->groups[g].role_count))
            rule_problem(reader, TEXT("the parts of one group do not hang together"), TEXT("joined lines that hold them together"),
                         TEXT(""));
}

static Pattern *compile_way(RuleReader *reader, uint32_t way) {
    Rule *rule = reader->rule;
    Pattern *pattern = arena_one(reader->arena, Pattern);
    for (uint32_t r = 0; r < rule->role_count; r++) {
        const RuleDeclares *declared = rule_declares(rule, r, way);
        pattern->roles[r].name = rule->roles[r];
        if (declared != NULL) pattern->roles[r] = (PatternRole){rule->roles[r], declared->kind, declared->group, declared->aside};
    }
    pattern->role_count = rule->role_count;
    pattern->groups = rule->groups;
    pattern->group_count = rule->group_count;
    pattern->way = way;
    uint32_t now = 0;
    for (uint32_t i = 0; i < rule->entry->line_count && !reader->failed; i++) {
        reader->line = &rule->entry->lines[i];
        reader->lexer = lore_lexer(reader->line);
        if (text_is(reader->line->word, "way")) now++;
        if (now != 0 && now != way) continue;
        if (text_is(reader->line->word, "joined")) read_nets(reader, pattern, true);
        if (text_is(reader->line->word, "apart")) read_nets(reader, pattern, false);
    }
    for (uint32_t r = 0; r < rule->role_count; r++) {
        if (pattern->roles[r].kind != NULL && rule->groups[pattern->roles[r].group].sort == GROUP_NEEDS) pattern->main_roles[pattern->main_count++] = r;
    }
    reader->line = &rule->entry->head;
    lex_start(&reader->lexer, reader->line->text);
    if (!reader->failed) place_nets(reader, pattern);
    if (!reader->failed) check_shape(reader, pattern);
    return pattern;
}

bool rule_compile(RuleReader *reader) {
    Rule *rule = reader->rule;
    uint32_t ways = rule->way_count;
    if (ways == 0) rule->way_count = 1;
    for (uint32_t w = 0; w < rule->way_count && !reader->failed; w++)
        rule->ways[w] = compile_way(reader, ways == 0 ? 0 : w + 1);
    return !reader->failed;
}
