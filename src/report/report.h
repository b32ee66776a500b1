/* Words and pages out of claims: a teardown told on the terminal, as one HTML page, and as JSON (doc/json.md).
 *
 * Nothing is found out here: everything told comes from a Reasoning, its bench and its notebook. All functions write to an
 * Out on its arena and leave printing to the caller. Text from outside loses its control characters on the way. */
#ifndef UNPICK_REPORT_REPORT_H
#define UNPICK_REPORT_REPORT_H

#include "reason/reason.h"
#include "draw/schematic.h"
#include "sums/sums.h"

/* ---- a teardown, opened ---- */

/* What is known before the first note: the lore, read once, and the catalogue. */
typedef struct ReportKnowledge {
    Lore *lore;
    const Marks *marks;
    const BenchKinds *kinds;
    Shelf *shelf; /* NULL until report_know gave true */
    const ReasonRules *rules;
    const SumsModels *models;
} ReportKnowledge;

/* The built-in lore, that of folder/lore on top (folder NULL: none), and the catalogue file (NULL: the built-in families
 * only). Problems of lore entries are added to `problems` and are no failure; false: the catalogue can't be read. */
bool report_know(Arena *arena, const char *folder, const char *catalogue, ReportKnowledge *knows, Diags *problems);
void report_forget(ReportKnowledge *knows); /* closes the catalogue */

typedef struct ReportTeardown {
    ReportKnowledge knows;
    struct ReportKept *kept; /* whose that is; NULL: its own */
    const Notebook *notebook;
    Bench *bench;
    const Reasoning *reasoning;
    const Sums *sums; /* its claims and questions are among the reasoning's */
    bool again;       /* they are those of a teardown opened before, which must outlive this one */
} ReportTeardown;

/* Reads the notes and the boards' photos, builds the bench, reasons about it and does the sums. Bad notes and photos are problems and no
 * failure; false: nothing to tell. */
bool report_open(Arena *arena, const char *folder, const char *catalogue, ReportTeardown *teardown, Diags *problems);

/* For one who opens the same folder over and over: lore, catalogue and boards, as long as their files are what they were.
 * It may be freed before the teardowns opened with it. One thread at a time may open with it; any may close. */
typedef struct ReportKeep ReportKeep;
ReportKeep *report_keep_new(void);
void report_keep_free(ReportKeep *keep); /* NULL is fine */

typedef struct ReportBefore {
    ReportKeep *keep;               /* NULL: none */
    const ReportTeardown *teardown; /* whose sums are taken over when they would come out the same; NULL: none */
} ReportBefore;
bool report_open_after(Arena *arena, const char *folder, const char *catalogue, ReportBefore before,
                       ReportTeardown *teardown, Diags *problems);
void report_close(ReportTeardown *teardown);

/* ---- for the terminal ---- */

typedef struct ReportStyle {
    uint32_t columns; /* of the terminal; prose is never set wider than is good to read */
    bool colour;
} ReportStyle;

/* Hazards, how it works by block from power to output, parts, what was spared, contradictions, open questions. */
void report_look(Out *out, const Reasoning *reasoning, ReportStyle style);

/* What differs from the meter and what would explain it, the readings beside the sums, and each mode's figures. */
void report_sums(Out *out, const Sums *sums, ReportStyle style);

/* The tally behind one claim or hazard. `what` is a claim's id; or a part (`Q1`) or pin (`Q1.B`), which lists the claims
 * about it; or empty, which lists all. False when it is none of these: the nearest ids are named. */
bool report_why(Out *out, const Reasoning *reasoning, Text what, ReportStyle style);

/* Readings of a marking, packages that fit, parts that match: best first. */
void report_mark(Out *out, Text marking, MarkReadings readings, ReportStyle style);
void report_fits(Out *out, const MarkFit *fits, size_t count, ReportStyle style);
void report_matches(Out *out, const ShelfMatch *matches, size_t count, ReportStyle style);

/* ---- pieces, for other rooms that tell ---- */

/* A claim's sentence: hedged when it is less likely than not, so that no guess reads as a fact. */
Text report_sentence(Arena *arena, const ReasonClaim *claim);
/* A text of the model as a sentence: its first letter large, with a full stop if it lacks an end. */
Text report_as_sentence(Arena *arena, Text text);
/* A figure of the sums with its range; empty when unknown. Whether it is unknown, or so little that it is told as 0. */
Text report_figure(Arena *arena, const SumsFigure *figure, Unit unit);
bool report_figure_is_nothing(const SumsFigure *figure, Unit unit);
/* The schematic with the volts that the sums (NULL for none) give for the first mode they solve; volts: whether any stand there. */
const Schematic *report_schematic(Arena *arena, const Reasoning *reasoning, const Sums *sums, Text *mode, bool *volts);

/* ---- as a page ---- */

/* report.html: one file, nothing fetched from anywhere; all of it can be read without its small script. Photos are read when
 * the bench knows its folder; one that can't be is left out, with a problem. sums: NULL for none; ansi: the
 * schematic with symbols of IEEE 315. */
void report_html(Out *out, const Reasoning *reasoning, const Sums *sums, bool ansi, Diags *problems);

/* show.html: the same told to an audience, one idea a screen, stepped through by keys, touch or buttons; without its script a page
 * that scrolls. Printed, it is the cue sheet: each screen's sentence, its evidence, and how long it takes. */
void report_show(Out *out, const Reasoning *reasoning, const Sums *sums, bool ansi, Diags *problems);

/* The parts table as CSV. */
void report_parts_csv(Out *out, const Reasoning *reasoning);

/* ---- as JSON: doc/json.md, doc/unpick.schema.json ---- */

void report_json(Out *out, const Reasoning *reasoning);
void report_sums_json(Out *out, const Sums *sums);
bool report_why_json(Out *out, const Reasoning *reasoning, Text what); /* false as report_why, with an empty list */
void report_mark_json(Out *out, Text marking, MarkReadings readings);
void report_fits_json(Out *out, const MarkFit *fits, size_t count);
void report_matches_json(Out *out, Text marking, const ShelfMatch *matches, size_t count);

#endif
