/* Finding a pattern in a bench: backtracking over roles. The next role is always the one with the fewest units to try, counted
 * over the nets already bound and over its kind, so that a rail with a thousand pins is looked through only when nothing
 * smaller holds the role. Units are tried in the natural order of their references; nothing depends on the notes' order.
 *
 * Cost: near-linear in parts for patterns that hang together, because bound nets are small; bounded by MATCH_STEPS_MOST. */
#include "reason/pattern.h"
#include "reason/rails.h"

typedef struct Search {
    Match *match;
    const uint32_t *roles; /* size count */
    uint32_t count, group;
    MatchFound *found;
    void *of;
} Search;

void match_start(Match *match, const Pattern *pattern, const Graph *graph) {
    *match = (Match){.pattern = pattern, .graph = graph};
    for (uint32_t i = 0; i < ROLES_MOST; i++) match->unit[i] = BENCH_NONE;
    for (uint32_t i = 0; i < PATTERN_PINS_MOST; i++) match->pin[i] = BENCH_NONE;
    for (uint32_t i = 0; i < PATTERN_NETS_MOST; i++) match->net[i] = BENCH_NONE;
}

static bool pick_role(Search *search, uint32_t bound);

static bool step(Match *match) {
    if (++match->steps <= MATCH_STEPS_MOST) return true;
    match->cut = true;
    return false;
}

/* May the variable stand for this net? Its own already, or a net that is what it asks and that no other variable of the needs
 * or of the same group stands for. */
static bool net_fits(const Match *match, uint32_t variable, uint32_t net) {
    if (match->net[variable] != BENCH_NONE) return match->net[variable] == net;
    const PatternNet *wanted = &match->pattern->nets[variable];
    const Rail *rail = &match->graph->rails[net];
    if ((wanted->ground && !rail->ground) || (wanted->supply && !rail->supply) ||
        (wanted->no_ground && rail->ground) || (wanted->no_supply && rail->supply))
        return false;
    for (uint32_t i = 0; i < match->pattern->net_count; i++) {
        uint32_t group = match->pattern->nets[i].group;
        if (match->net[i] == net && (group == 0 || wanted->group == 0 || group == wanted->group)) return false;
    }
    return true;
}

/* A pin of a needed part that only a group speaks of: bound when that group is. */
static bool is_guest(const Pattern *pattern, const PatternPin *pin) {
    return pin->group != 0 && pin->group != pattern->roles[pin->role].group;
}

/* Pins left to bind of a role: `*` pins and guests are checked at the end. */
static uint32_t next_pin(const Pattern *pattern, uint32_t role, uint32_t from) {
    while (from < pattern->pin_count && (pattern->pins[from].role != role || pattern->pins[from].position == PIN_ANY ||
                                         is_guest(pattern, &pattern->pins[from])))
        from++;
    return from;
}

/* Is some pin of the unit on the net? */
static bool touches(const Graph *graph, uint32_t unit, uint32_t net) {
    for (uint32_t i = 0; i < graph->units[unit].pin_count; i++) {
        uint32_t pin = graph->units[unit].pins[i];
        if (pin != BENCH_NONE && graph->bench->pins.at[pin].net == net) return true;
    }
    return false;
}

/* The `*` pins that this group has on the variable, of parts that are bound: does each part touch the net? */
static bool stars_hold(const Search *search, uint32_t variable, uint32_t net) {
    const Match *match = search->match;
    for (uint32_t i = 0; i < match->pattern->pin_count; i++) {
        const PatternPin *pin = &match->pattern->pins[i];
        if (pin->position != PIN_ANY || pin->net != variable || pin->group != search->group) continue;
        uint32_t unit = match->unit[pin->role];
        if (unit != BENCH_NONE && !touches(match->graph, unit, net)) return false;
    }
    return true;
}

static bool bind_pins(Search *search, uint32_t role, uint32_t at, uint32_t swaps, uint32_t bound);

static bool bind_pin_to(Search *search, uint32_t role, uint32_t at, uint32_t pin, uint32_t swaps, uint32_t bound) {
    Match *match = search->match;
    uint32_t variable = match->pattern->pins[at].net, net = match->graph->bench->pins.at[pin].net;
    if (!net_fits(match, variable, net) || !stars_hold(search, variable, net)) return true;
    uint32_t before = match->net[variable];
    match->net[variable] = net;
    match->pin[at] = pin;
    bool on = bind_pins(search, role, next_pin(match->pattern, role, at + 1), swaps, bound);
    match->net[variable] = before;
    match->pin[at] = BENCH_NONE;
    return on;
}

static bool pin_taken(const Match *match, uint32_t role, uint32_t pin) {
    for (uint32_t i = 0; i < match->pattern->pin_count; i++)
        if (match->pattern->pins[i].role == role && match->pin[i] == pin) return true;
    return false;
}

/* The pattern pins of one role from `at` on; `swaps` has a bit for each position that takes its mate's place. */
static bool bind_pins(Search *search, uint32_t role, uint32_t at, uint32_t swaps, uint32_t bound) {
    Match *match = search->match;
    const Pattern *pattern = match->pattern;
    if (at == pattern->pin_count) return pick_role(search, bound + 1);
    const GraphUnit *unit = &match->graph->units[match->unit[role]];
    int position = pattern->pins[at].position;
    if (position >= 0) {
        if (swaps >> position & 1) position = unit->kind->mate[position];
        uint32_t pin = (uint32_t)position < unit->pin_count ? unit->pins[position] : BENCH_NONE;
        if (pin == BENCH_NONE && pattern->pins[at].optional)
            return bind_pins(search, role, next_pin(pattern, role, at + 1), swaps, bound);
        return pin == BENCH_NONE || bind_pin_to(search, role, at, pin, swaps, bound);
    }
    for (uint32_t i = 0; i < unit->pin_count; i++) {
        uint32_t pin = unit->pins[i];
        if (pin == BENCH_NONE || pin_taken(match, role, pin)) continue;
        if (!step(match)) return false;
        if (!bind_pin_to(search, role, at, pin, swaps, bound)) return false;
    }
    return true;
}

/* Every way the unit may sit: each pair of alike pins of which one is mentioned, straight and exchanged. */
static bool try_unit(Search *search, uint32_t role, uint32_t unit, uint32_t bound) {
    Match *match = search->match;
    const Pattern *pattern = match->pattern;
    const Graph *graph = match->graph;
    const BenchKind *kind = graph->units[unit].kind;
    if (!graph->is_a[kind->number * graph->kind_count + pattern->roles[role].kind->number]) return true;
    for (uint32_t i = 0; i < pattern->role_count; i++)
        if (match->unit[i] == unit) return true;
    if (!step(match)) return false;
    uint32_t mentioned = 0, pairs = 0;
    for (uint32_t i = 0; i < pattern->pin_count; i++)
        if (pattern->pins[i].role == role && pattern->pins[i].position >= 0) mentioned |= 1u << pattern->pins[i].position;
    for (uint32_t p = 0; p < kind->pin_count; p++)
        if (kind->mate[p] > p && (mentioned >> p & 1 || mentioned >> kind->mate[p] & 1)) pairs |= 1u << p;
    match->unit[role] = unit;
    bool on = true;
    uint32_t swaps = 0;
    do {
        uint32_t both = swaps;
        for (uint32_t p = 0; p < kind->pin_count; p++)
            if (swaps >> p & 1) both |= 1u << kind->mate[p];
        on = bind_pins(search, role, next_pin(pattern, role, 0), both, bound);
        swaps = (swaps - pairs) & pairs; /* the next subset of `pairs` */
    } while (on && swaps != 0);
    match->unit[role] = BENCH_NONE;
    return on;
}

/* Binds the guest pin, a variable of a part bound before, to a pin of that part on its net; false when there is none free. */
static bool seat_guest(Match *match, uint32_t at) {
    const PatternPin *guest = &match->pattern->pins[at];
    uint32_t unit = match->unit[guest->role];
    if (unit == BENCH_NONE) return false;
    const GraphUnit *in = &match->graph->units[unit];
    for (uint32_t i = 0; i < in->pin_count; i++) {
        uint32_t pin = in->pins[i];
        if (pin == BENCH_NONE || match->graph->bench->pins.at[pin].net != match->net[guest->net]) continue;
        if (pin_taken(match, guest->role, pin)) continue;
        match->pin[at] = pin;
        return true;
    }
    return false;
}

static bool finish(Search *search) {
    Match *match = search->match;
    const Pattern *pattern = match->pattern;
    bool fits = true, on = true;
    for (uint32_t i = 0; i < pattern->ban_count && fits; i++) {
        const PatternBan *ban = &pattern->bans[i];
        if (ban->group != search->group || match->net[ban->net] == BENCH_NONE) continue;
        const Rail *rail = &match->graph->rails[match->net[ban->net]];
        fits = !(ban->no_ground && rail->ground) && !(ban->no_supply && rail->supply);
    }
    for (uint32_t i = 0; i < pattern->pin_count && fits; i++) {
        const PatternPin *pin = &pattern->pins[i];
        if (pin->group != search->group) continue;
        if (pin->position == PIN_ANY)
            fits = match->net[pin->net] != BENCH_NONE && match->unit[pin->role] != BENCH_NONE &&
                   touches(match->graph, match->unit[pin->role], match->net[pin->net]);
        else if (is_guest(pattern, pin))
            fits = seat_guest(match, i);
    }
    if (fits) on = search->found(search->of, match);
    for (uint32_t i = 0; i < pattern->pin_count; i++)
        if (pattern->pins[i].group == search->group && is_guest(pattern, &pattern->pins[i])) match->pin[i] = BENCH_NONE;
    return on;
}

/* The bound net with the fewest ends that this role must touch, or BENCH_NONE. */
static uint32_t smallest_net(const Match *match, uint32_t role, uint32_t *ends) {
    uint32_t best = BENCH_NONE;
    for (uint32_t i = 0; i < match->pattern->pin_count; i++) {
        const PatternPin *pin = &match->pattern->pins[i];
        if (pin->role != role || pin->optional || match->net[pin->net] == BENCH_NONE) continue;
        uint32_t net = match->net[pin->net], count = match->graph->net_start[net + 1] - match->graph->net_start[net];
        if (best == BENCH_NONE || count < *ends) best = net, *ends = count;
    }
    return best;
}

static bool try_along_net(Search *search, uint32_t role, uint32_t net, uint32_t bound) {
    const Graph *graph = search->match->graph;
    uint32_t last = BENCH_NONE;
    for (uint32_t i = graph->net_start[net]; i < graph->net_start[net + 1]; i++) {
        uint32_t unit = graph->ends[i].unit; /* ends of a net are sorted by unit */
        if (unit == last) continue;
        last = unit;
        if (!try_unit(search, role, unit, bound)) return false;
    }
    return true;
}

static bool try_kind(Search *search, uint32_t role, uint32_t bound) {
    const Graph *graph = search->match->graph;
    uint32_t kind = search->match->pattern->roles[role].kind->number;
    for (uint32_t i = graph->kind_start[kind]; i < graph->kind_start[kind + 1]; i++)
        if (!try_unit(search, role, graph->of_kind[i], bound)) return false;
    return true;
}

static uint32_t ends_on(const Graph *graph, uint32_t net) { return graph->net_start[net + 1] - graph->net_start[net]; }

/* `joined D.A U.*` in a group, with U bound: D is on a net of one of U's pins. The variable of that net, or BENCH_NONE. */
static uint32_t beside(const Search *search, uint32_t role, uint32_t *unit) {
    const Match *match = search->match;
    for (uint32_t i = 0; search->group != 0 && i < match->pattern->pin_count; i++) {
        const PatternPin *any = &match->pattern->pins[i];
        if (any->group != search->group || any->position >= 0 || match->unit[any->role] == BENCH_NONE || match->net[any->net] != BENCH_NONE)
            continue;
        for (uint32_t k = 0; k < match->pattern->pin_count; k++) {
            const PatternPin *pin = &match->pattern->pins[k];
            if (pin->role != role || pin->net != any->net || pin->optional) continue;
            *unit = match->unit[any->role];
            return any->net;
        }
    }
    return BENCH_NONE;
}

static uint32_t net_of_unit_pin(const Graph *graph, uint32_t unit, uint32_t at) {
    uint32_t pin = graph->units[unit].pins[at];
    return pin == BENCH_NONE ? (uint32_t)BENCH_NONE : graph->bench->pins.at[pin].net;
}

/* Along each net of the unit's pins that the variable may stand for, once. */
static bool try_along_unit(Search *search, uint32_t role, uint32_t variable, uint32_t unit, uint32_t bound) {
    const Graph *graph = search->match->graph;
    for (uint32_t i = 0; i < graph->units[unit].pin_count; i++) {
        uint32_t net = net_of_unit_pin(graph, unit, i);
        if (net == BENCH_NONE || ends_on(graph, net) < 2 || !net_fits(search->match, variable, net)) continue;
        bool again = false;
        for (uint32_t k = 0; k < i && !again; k++) again = net_of_unit_pin(graph, unit, k) == net;
        if (!again && !try_along_net(search, role, net, bound)) return false;
    }
    return true;
}

/* How many ends that would be, about; stops beyond `enough`. */
static uint32_t ends_along_unit(const Match *match, uint32_t variable, uint32_t unit, uint32_t enough) {
    const Graph *graph = match->graph;
    uint32_t count = 0;
    for (uint32_t i = 0; i < graph->units[unit].pin_count && count < enough; i++) {
        uint32_t net = net_of_unit_pin(graph, unit, i);
        if (net != BENCH_NONE && ends_on(graph, net) > 1 && net_fits(match, variable, net)) count += ends_on(graph, net) - 1;
    }
    return count;
}

/* Where a role may be looked for, and how many tries that is. */
typedef struct Look {
    uint32_t role, tries;
    uint32_t net;            /* along this net; BENCH_NONE: not */
    uint32_t variable, unit; /* along the nets of this unit's pins; BENCH_NONE: not; else over the whole kind */
} Look;

enum {
    FREE_PINS = 16, /* tries that a free pin of a chip multiplies, about: rule of thumb */
    FEW_TRIES = 8   /* not worth looking for fewer */
};

static Look best_look(const Search *search, uint32_t role) {
    const Match *match = search->match;
    const BenchKind *kind = match->pattern->roles[role].kind;
    uint32_t ends = UINT32_MAX, unit = BENCH_NONE;
    Look look = {role, match->graph->kind_start[kind->number + 1] - match->graph->kind_start[kind->number], BENCH_NONE, BENCH_NONE, BENCH_NONE};
    if (kind->pin_count == 0 && look.tries < UINT32_MAX / FREE_PINS) look.tries *= FREE_PINS;
    uint32_t net = smallest_net(match, role, &ends);
    if (net != BENCH_NONE && ends <= look.tries) look.tries = ends, look.net = net;
    uint32_t variable = look.tries > FEW_TRIES ? beside(search, role, &unit) : (uint32_t)BENCH_NONE;
    if (variable == BENCH_NONE) return look;
    uint32_t count = ends_along_unit(match, variable, unit, look.tries);
    if (count < look.tries) look = (Look){role, count, BENCH_NONE, variable, unit};
    return look;
}

static bool pick_role(Search *search, uint32_t bound) {
    if (bound == search->count) return finish(search);
    Look best = {.role = BENCH_NONE};
    for (uint32_t i = 0; i < search->count; i++) {
        if (search->match->unit[search->roles[i]] != BENCH_NONE) continue;
        Look look = best_look(search, search->roles[i]);
        if (best.role == BENCH_NONE || look.tries < best.tries) best = look;
    }
    if (best.net != BENCH_NONE) return try_along_net(search, best.role, best.net, bound);
    if (best.variable != BENCH_NONE) return try_along_unit(search, best.role, best.variable, best.unit, bound);
    return try_kind(search, best.role, bound);
}

/* A pattern without needs is about the rails: each pair of a supply and a ground that it speaks of, once. */
static bool bind_rails(Search *search, uint32_t variable) {
    Match *match = search->match;
    const Pattern *pattern = match->pattern;
    while (variable < pattern->net_count && !pattern->nets[variable].floating) variable++;
    if (variable == pattern->net_count) return finish(search);
    bool ground = pattern->nets[variable].ground;
    const uint32_t *nets = ground ? match->graph->ground_nets : match->graph->supply_nets;
    uint32_t count = ground ? match->graph->ground_count : match->graph->supply_count;
    bool on = true;
    for (uint32_t i = 0; i < count && on; i++) {
        if (!step(match)) return false;
        if (!net_fits(match, variable, nets[i])) continue;
        match->net[variable] = nets[i];
        on = bind_rails(search, variable + 1);
        match->net[variable] = BENCH_NONE;
    }
    return on;
}

void match_needs(Match *match, MatchFound *found, void *of) {
    Search search = {match, match->pattern->main_roles, match->pattern->main_count, 0, found, of};
    if (search.count == 0)
        bind_rails(&search, 0);
    else
        pick_role(&search, 0);
}

void match_group(Match *match, uint32_t group, MatchFound *found, void *of) {
    const PatternGroup *wanted = &match->pattern->groups[group];
    for (uint32_t i = 0; i < match->pattern->pin_count; i++) { /* it hangs on a pin of the needs that was not noted */
        const PatternPin *pin = &match->pattern->pins[i];
        const PatternNet *net = &match->pattern->nets[pin->net];
        if (pin->group == group && net->group == 0 && !net->floating && match->net[pin->net] == BENCH_NONE) return;
    }
    Search search = {match, wanted->roles, wanted->role_count, group, found, of};
    pick_role(&search, 0);
}
