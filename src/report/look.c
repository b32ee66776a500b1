/* A teardown on the terminal, in the order a person needs it: what may hurt, how it works, the parts, the boards' copper, what
 * was spared, what does not fit together, what to measure next. */
#include "report/paper.h"
#include "report/words.h"

typedef struct Look {
    Paper paper;
    Arena *arena;
    const Reasoning *reasoning;
    const Story *story;
} Look;

/* The lines under a statement, quoted: `line 31  join U1.5 U1.6 by eye`. */
static void quote_lines(Look *look, const uint32_t *lines, uint32_t count, uint32_t indent) {
    Paper *paper = &look->paper;
    for (uint32_t i = 0; i < count; i++) {
        paper_ink(paper, INK_DIM);
        paper_fmt(paper, "line %-4u ", lines[i]);
        paper_text(paper, words_quote(look->arena, look->reasoning->bench->notebook, lines[i]));
        paper_flow(paper, indent, indent + 10);
    }
}

/* `Sentence. (87 %, why: id)` */
static void say_claim(Look *look, const ReasonClaim *claim) {
    Paper *paper = &look->paper;
    paper_text(paper, report_sentence(look->arena, claim));
    paper_ink(paper, INK_DIM);
    paper_fmt(paper, " (%.*s, why: %.*s)", TEXT_ARG(words_probability(look->arena, claim->p)), TEXT_ARG(claim->id));
    paper_ink(paper, INK_PLAIN);
}

static void say_alarms(Look *look, const Text *texts, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        paper_ink(&look->paper, INK_ALARM);
        paper_fmt(&look->paper, "! ");
        paper_ink(&look->paper, INK_PLAIN);
        paper_text(&look->paper, words_sentence(look->arena, words_capital(look->arena, texts[i])));
        paper_flow(&look->paper, 4, 6);
    }
}

static void say_warnings(Look *look, const ReasonClaim *claim) { say_alarms(look, claim->warnings, claim->warning_count); }

static void say_title(Look *look) {
    Paper *paper = &look->paper;
    paper_ink(paper, INK_BOLD);
    paper_text(paper, look->story->title);
    paper_flow(paper, 0, 0);
    paper_gap(paper);
    paper_text(paper, look->story->intro);
    paper_flow(paper, 0, 0);
}

static void say_hazards(Look *look) {
    Paper *paper = &look->paper;
    const Reasoning *reasoning = look->reasoning;
    if (reasoning->hazards.count == 0) return;
    paper_gap(paper);
    paper_ink(paper, INK_ALARM);
    paper_fmt(paper, "Before you open it");
    paper_flow(paper, 0, 0);
    for (uint32_t i = 0; i < reasoning->hazards.count; i++) {
        const ReasonClaim *hazard = &reasoning->hazards.at[i];
        paper_fmt(paper, "! ");
        say_claim(look, hazard);
        for (uint32_t k = 0; k < hazard->caution_count; k++) {
            paper_fmt(paper, " ");
            paper_text(paper, words_sentence(look->arena, hazard->cautions[k]));
        }
        paper_flow(paper, 2, 4);
        say_warnings(look, hazard);
    }
}

static void say_chapter(Look *look, const StoryChapter *chapter) {
    Paper *paper = &look->paper;
    paper_gap(paper);
    paper_ink(paper, INK_BOLD);
    paper_text(paper, chapter->title);
    paper_ink(paper, INK_PLAIN);
    paper_fmt(paper, ". ");
    for (uint32_t i = 0; i < chapter->claims.count; i++) {
        if (i > 0) paper_fmt(paper, " ");
        say_claim(look, chapter->claims.at[i]);
    }
    paper_flow(paper, 2, 2);
    for (uint32_t i = 0; i < chapter->claims.count; i++) {
        say_warnings(look, chapter->claims.at[i]);
        say_alarms(look, chapter->claims.at[i]->cautions, chapter->claims.at[i]->caution_count);
    }
}

/* One paragraph a chip: `U1, pin by pin. 5: loudspeaker output (91 %); 6: ...` */
static void say_roles(Look *look) {
    Paper *paper = &look->paper;
    const Bench *bench = look->reasoning->bench;
    uint32_t last = BENCH_NONE;
    for (uint32_t i = 0; i < look->story->roles.count; i++) {
        const StoryRole *role = &look->story->roles.at[i];
        const BenchPin *pin = &bench->pins.at[role->pin];
        bool new_pin = i == 0 || role[-1].pin != role->pin;
        if (pin->part != last) {
            paper_flow(paper, 2, 2);
            paper_gap(paper);
            paper_ink(paper, INK_BOLD);
            paper_fmt(paper, "%.*s, pin by pin", TEXT_ARG(bench->parts.at[pin->part].ref));
            paper_ink(paper, INK_PLAIN);
            paper_fmt(paper, ". Seen from what is around it: ");
        } else {
            paper_fmt(paper, new_pin ? "; " : ", ");
        }
        if (new_pin) paper_fmt(paper, "%.*s: ", TEXT_ARG(pin->label));
        paper_text(paper, role->role);
        paper_ink(paper, INK_DIM);
        paper_fmt(paper, " (%.*s)", TEXT_ARG(words_probability(look->arena, role->claim->p)));
        paper_ink(paper, INK_PLAIN);
        last = pin->part;
    }
    paper_flow(paper, 2, 2);
}

static void say_how(Look *look) {
    paper_title(&look->paper, "How it works");
    if (look->story->chapters.count == 0) {
        paper_fmt(&look->paper, "No circuit is recognised yet: note the parts and how their pins are joined.");
        paper_flow(&look->paper, 2, 2);
    }
    for (uint32_t i = 0; i < look->story->chapters.count; i++) say_chapter(look, &look->story->chapters.at[i]);
    say_roles(look);
}

static void say_parts(Look *look) {
    enum { CELLS = 7 };
    const Bench *bench = look->reasoning->bench;
    const Story *story = look->story;
    if (story->parts.count == 0) return;
    Text *cells = arena_many(look->arena, Text, (size_t)story->parts.count * CELLS);
    for (uint32_t i = 0; i < story->parts.count; i++) {
        const StoryPart *row = &story->parts.at[i];
        const BenchPart *part = &bench->parts.at[row->part];
        Text sure = {"", 0};
        if (row->claim != NULL)
            sure = text_fmt(look->arena, " (%.*s, why: %.*s)", TEXT_ARG(words_probability(look->arena, row->claim->p)),
                            TEXT_ARG(row->claim->id));
        Text is = text_fmt(look->arena, "%.*s%.*s", TEXT_ARG(row->is), TEXT_ARG(sure));
        Text line = part->line > 0 ? text_fmt(look->arena, "%u", part->line) : TEXT("");
        const Text set[CELLS] = {part->ref, part->kind->name, row->package, row->marking, row->value, is, line};
        for (uint32_t c = 0; c < CELLS; c++) cells[i * CELLS + c] = set[c];
    }
    paper_title(&look->paper, "Parts");
    paper_table(&look->paper, &(PaperTable){.cell_count = CELLS,
                                            .heads = {"part", "kind", "package", "marking", "value", "what it is", "line"},
                                            .widest = {8, 16, 12, 14, 16, 0, 6},
                                            .cells = cells,
                                            .row_count = story->parts.count});
}

/* To correct corners that were found: the note as it would stand. */
static void say_corners(Look *look, const StoryBoard *board) {
    if (board->corners.count == 0) return;
    paper_fmt(&look->paper, "To correct the corners, add:");
    paper_flow(&look->paper, 2, 2);
    for (uint32_t i = 0; i < board->corners.count; i++) {
        paper_ink(&look->paper, INK_DIM);
        paper_text(&look->paper, board->corners.at[i]);
        paper_flow(&look->paper, 6, 8);
    }
}

static void say_boards(Look *look) {
    Paper *paper = &look->paper;
    for (uint32_t i = 0; i < look->story->boards.count; i++) {
        const StoryBoard *board = &look->story->boards.at[i];
        paper_title(paper, text_cstring(look->arena, board->title));
        for (uint32_t k = 0; k < board->says.count; k++) {
            if (k > 0) paper_fmt(paper, " ");
            paper_text(paper, board->says.at[k]);
        }
        paper_flow(paper, 2, 2);
        for (uint32_t k = 0; k < board->warns.count; k++) {
            paper_ink(paper, INK_ALARM);
            paper_fmt(paper, "! ");
            paper_ink(paper, INK_PLAIN);
            paper_text(paper, board->warns.at[k]);
            paper_flow(paper, 2, 4);
        }
        say_corners(look, board);
    }
}

static void say_spared(Look *look) {
    bool first = true;
    for (uint32_t i = 0; i < look->reasoning->claims.count; i++) {
        const ReasonClaim *claim = &look->reasoning->claims.at[i];
        for (uint32_t k = 0; k < claim->spared_count; k++) {
            if (first) paper_title(&look->paper, "Left out to save money");
            first = false;
            paper_fmt(&look->paper, "- ");
            paper_text(&look->paper, words_sentence(look->arena, words_capital(look->arena, claim->spared[k])));
            paper_ink(&look->paper, INK_DIM);
            paper_fmt(&look->paper, " (%.*s, why: %.*s)", TEXT_ARG(words_probability(look->arena, claim->p)),
                      TEXT_ARG(claim->id));
            paper_flow(&look->paper, 2, 4);
        }
    }
}

static void say_conflicts(Look *look) {
    const Bench *bench = look->reasoning->bench;
    if (bench->conflicts.count == 0) return;
    paper_title(&look->paper, "Contradictions");
    for (uint32_t i = 0; i < bench->conflicts.count; i++) {
        const BenchConflict *conflict = &bench->conflicts.at[i];
        if (i > 0) paper_gap(&look->paper);
        paper_ink(&look->paper, INK_ALARM);
        paper_fmt(&look->paper, "! ");
        paper_ink(&look->paper, INK_PLAIN);
        paper_text(&look->paper, words_sentence(look->arena, words_capital(look->arena, conflict->says)));
        paper_flow(&look->paper, 2, 4);
        quote_lines(look, conflict->lines, conflict->line_count, 6);
        if (conflict->settle.len == 0) continue;
        paper_text(&look->paper, TEXT("To settle it: "));
        paper_text(&look->paper, words_sentence(look->arena, conflict->settle));
        paper_flow(&look->paper, 4, 6);
    }
}

static void say_open(Look *look) {
    const Reasoning *reasoning = look->reasoning;
    if (reasoning->open.count == 0) return;
    paper_title(&look->paper, "Open questions, the most telling first");
    for (uint32_t i = 0; i < reasoning->open.count; i++) {
        const ReasonOpen *open = &reasoning->open.at[i];
        Paper *paper = &look->paper;
        paper_fmt(paper, "%2u. ", i + 1);
        paper_text(paper, words_capital(look->arena, open->ask));
        paper_ink(paper, INK_DIM);
        Text lines = words_lines(look->arena, open->lines, open->line_count);
        if (open->claim.len > 0) paper_fmt(paper, " (settles: %.*s)", TEXT_ARG(open->claim));
        if (lines.len > 0) paper_fmt(paper, " (%.*s)", TEXT_ARG(lines));
        paper_flow(paper, 2, 6);
    }
}

void report_look(Out *out, const Reasoning *reasoning, ReportStyle style) {
    Look look = {.paper = paper_new(out, style),
                 .arena = out->arena,
                 .reasoning = reasoning,
                 .story = story_of(out->arena, reasoning)};
    say_title(&look);
    say_hazards(&look);
    say_how(&look);
    say_parts(&look);
    say_boards(&look);
    say_spared(&look);
    say_conflicts(&look);
    say_open(&look);
}
