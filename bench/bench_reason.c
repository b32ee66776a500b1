/* All rules over an invented board of 5,000 parts and 20,000 pins: the whole reasoning, and the finding alone beside igraph's
 * LAD search for the same patterns (tests/lad.h). Each LAD search runs in a process of its own, with a time
 * limit; where that is reached the limit is counted, so that the ratio is a lower bound. Where LAD came to an end its count
 * must be ours. */
#include "bench/measure.h"

#include "reason/rule.h"
#include "tests/lad.h"

#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { CELLS = 250, RUNS = 5, LAD_SECONDS = 2 };
static const double BAR_SECONDS = 0.100, BAR_RATIO = 10, GRACE_SECONDS = 1;

/* A cell of the board: 20 parts and 80 pins, in one of a few dresses. The whole has two rails and a bus from cell to cell. */
static void write_cell(Out *out, unsigned c) {
    static const char *const parts[] = {
        "part U%u0 chip\n",   "part U%u1 chip\n",   "part R%u0 10k\n",    "part R%u1 1k\n",    "part R%u2 470R\n",
        "part R%u3 4k7\n",    "part R%u4 100k\n",   "part R%u5 100k\n",   "part C%u0 100nF\n", "part C%u1 10uF\n",
        "part C%u2 22pF\n",   "part C%u3 22pF\n",   "part Q%u0 npn\n",    "part Q%u1 nmos\n",  "part D%u0 diode\n",
        "part LED%u0 led\n",  "part LED%u1 led\n",  "part SW%u0 button\n", "part M%u0 motor\n", "part LS%u0 loudspeaker\n",
    };
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) out_fmt(out, parts[i], c);
    static const char *const nets[] = {
        "net VCC U%u0.1 C%u0.1 R%u0.1 M%u0.1 D%u0.K R%u3.1 U%u1.8 C%u1.1 R%u4.1\n",
        "net GND U%u0.34 C%u0.2 SW%u0.2 Q%u0.E Q%u1.S U%u1.4 C%u1.2 R%u5.2 C%u2.2 C%u3.2\n",
        "net SDA U%u0.14 U%u1.6\n",
        "net SCL U%u0.15 U%u1.7\n",
        " U%u0.2 R%u1.1\n",
        " R%u1.2 Q%u0.B\n",
        " Q%u0.C M%u0.2 D%u0.A\n",
        " U%u0.3 R%u0.2 SW%u0.1\n",
        " R%u3.2 LED%u0.A\n",
        " LED%u0.K Q%u1.D\n",
        " U%u0.4 Q%u1.G\n",
        " U%u0.5 LED%u1.A\n",
        " LED%u1.K R%u2.1\n",
        " R%u2.2 U%u0.6\n",
        " U%u0.7 LS%u0.1\n",
        " U%u0.8 LS%u0.2\n",
        " R%u4.2 R%u5.1 U%u0.9\n",
        " U%u0.10 C%u2.1 U%u1.1\n",
        " U%u0.11 C%u3.1 U%u1.2\n",
        " U%u0.12 U%u1.3\n",
        " U%u0.13 U%u1.5\n",
    };
    for (size_t i = 0; i < sizeof nets / sizeof *nets; i++) {
        /* no two neighbours are quite alike: here and there a joint is open */
        if (nets[i][0] == ' ') out_add(out, (c * 31 + i * 17) % 11 == 0 ? TEXT("apart") : TEXT("join"));
        out_fmt(out, nets[i], c, c, c, c, c, c, c, c, c, c);
    }
    for (unsigned pin = 16; pin < 25; pin++) out_fmt(out, "join U%u0.%u U%u0.%u\n", c, pin, (c + 1) % CELLS, pin + 9);
}

typedef struct Board {
    Arena *arena;
    const ReasonRules *rules;
    const Bench *bench;
    const Rail *rails;
    uint64_t *fits; /* size rule count */
} Board;

static Board make_board(Arena *arena) {
    Lore *lore = lore_new(arena);
    lore_add_builtin(lore);
    const BenchKinds *kinds = bench_kinds_new(arena, lore);
    Board board = {.arena = arena, .rules = reason_rules_new(arena, lore, kinds)};
    Out notes = out_new(arena);
    for (unsigned c = 0; c < CELLS; c++) write_cell(&notes, c);
    board.bench = bench_build(arena, note_read(arena, TEXT("board"), out_text(&notes)), (BenchKnows){.kinds = kinds});
    board.rails = rails_find(arena, board.bench);
    board.fits = arena_many(arena, uint64_t, reason_rule_count(board.rules));
    return board;
}

/* The least of a few runs, in seconds. */
static double time_finding(const Board *board) {
    double best = INFINITY;
    for (int i = 0; i < RUNS; i++) {
        double before = measure_seconds();
        reason_count_fits(board->bench, board->rules, board->fits);
        best = fmin(best, measure_seconds() - before);
    }
    return best;
}

static double time_reasoning(const Board *board) {
    double best = INFINITY;
    for (int i = 0; i < RUNS; i++) {
        Arena *arena = arena_new();
        double before = measure_seconds();
        reason_about(arena, board->bench, board->rules);
        best = fmin(best, measure_seconds() - before);
        arena_free(arena);
    }
    return best;
}

typedef struct Reference {
    double seconds; /* in LAD, all patterns */
    uint32_t patterns, ended, vertices;
    bool agrees;    /* the counts, where all ways of a rule came to an end */
} Reference;

/* One pattern in a process of its own: true when it came to an end in time. igraph looks at its clock only now and then, so
 * that it is stopped from outside a little later, when building the graphs is surely done. */
static bool lad_within(const Board *board, const Pattern *pattern, LadAnswer *answer) {
    int ends[2];
    pid_t pid = -1;
    *answer = (LadAnswer){.seconds = LAD_SECONDS};
    if (pipe(ends) == 0) pid = fork();
    if (pid < 0) return false;
    if (pid == 0) {
        LadAnswer found = lad_count(board->arena, board->bench, board->rails, pattern, LAD_SECONDS);
        _exit(write(ends[1], &found, sizeof found) == (ssize_t)sizeof found ? 0 : 1);
    }
    close(ends[1]);
    struct pollfd answered = {.fd = ends[0], .events = POLLIN};
    LadAnswer found;
    bool done = poll(&answered, 1, (int)(1000 * (LAD_SECONDS + GRACE_SECONDS))) == 1 && read(ends[0], &found, sizeof found) == (ssize_t)sizeof found;
    if (done) *answer = found;
    kill(pid, SIGKILL);
    waitpid(pid, NULL, 0);
    close(ends[0]);
    return done && answer->done;
}

static Reference time_lad(const Board *board) {
    Reference all = {.agrees = true};
    for (uint32_t r = 0; r < reason_rule_count(board->rules); r++) {
        const Rule *rule = board->rules->rules.at[r];
        uint64_t count = 0;
        bool whole = true;
        for (uint32_t w = 0; w < rule->way_count; w++) {
            LadAnswer answer;
            bool ended = lad_within(board, rule->ways[w], &answer);
            all.patterns++;
            all.ended += ended;
            all.seconds += answer.seconds;
            all.vertices = answer.vertices > all.vertices ? answer.vertices : all.vertices;
            count += answer.count;
            whole = whole && ended;
        }
        if (!whole || count == board->fits[r]) continue;
        all.agrees = false;
        fprintf(stderr, "bench_reason: \"%.*s\" fits %llu times, LAD says %llu\n", TEXT_ARG(rule->name),
                (unsigned long long)board->fits[r], (unsigned long long)count);
    }
    return all;
}

int main(void) {
    Board board = make_board(arena_new());
    double finding = time_finding(&board), reasoning = time_reasoning(&board), peak = measure_peak_mib();
    uint64_t fits = 0;
    for (uint32_t r = 0; r < reason_rule_count(board.rules); r++) fits += board.fits[r];
    Reference lad = time_lad(&board);
    char value[128], reference[128], ratio[64];
    snprintf(value, sizeof value, "%.1f ms (%u parts, %u pins)", reasoning * 1e3, board.bench->parts.count, board.bench->pins.count);
    measure_print("all rules, claims with their evidence", value, "under 100 ms", "-", "-", reasoning < BAR_SECONDS);
    snprintf(value, sizeof value, "%.1f ms (%llu fits of %u rules)", finding * 1e3, (unsigned long long)fits,
             reason_rule_count(board.rules));
    snprintf(reference, sizeof reference, "igraph LAD: %s%.1f s (%u of %u searches ended within %d s, counts %s)",
             lad.ended < lad.patterns ? "over " : "", lad.seconds, lad.ended, lad.patterns, LAD_SECONDS,
             lad.agrees ? "agree" : "DIFFER");
    snprintf(ratio, sizeof ratio, "%s%.0f x faster", lad.ended < lad.patterns ? "over " : "", lad.seconds / finding);
    measure_print("all rules, finding alone", value, "10 x faster than LAD", reference, ratio,
                  lad.agrees && finding < BAR_SECONDS && lad.seconds >= BAR_RATIO * finding);
    snprintf(value, sizeof value, "%.0f MiB", peak);
    measure_print("all rules, peak memory", value, "-", "-", "-", true);
    arena_free(board.arena);
    return lad.agrees ? 0 : 1;
}
