/* Answers to single questions on the terminal: a marking, a measured package, a part of the catalogue. Best first. */
#include "report/paper.h"
#include "report/words.h"

#include <math.h>

void report_mark(Out *out, Text marking, MarkReadings readings, ReportStyle style) {
    Paper paper = paper_new(out, style);
    if (readings.count == 0) {
        if (readings.refused.len > 0)
            paper_text(&paper, words_sentence(out->arena, words_capital(out->arena, readings.refused)));
        else
            paper_fmt(&paper, "No code that is known reads \"%.*s\". It may be a part number: unpick shelf find.",
                      TEXT_ARG(marking));
        paper_flow(&paper, 0, 0);
    }
    for (uint32_t i = 0; i < readings.count; i++) {
        const MarkReading *reading = &readings.at[i];
        if (i > 0) paper_gap(&paper);
        paper_ink(&paper, INK_BOLD);
        paper_text(&paper, reading->kind);
        paper_ink(&paper, INK_PLAIN);
        paper_fmt(&paper, ": ");
        paper_text(&paper, words_sentence(out->arena, reading->says));
        paper_ink(&paper, INK_DIM);
        paper_fmt(&paper, " (%.*s)", TEXT_ARG(words_probability(out->arena, mark_share(readings, i))));
        paper_flow(&paper, 0, 2);
        if (reading->has_value && reading->value.low < reading->value.high) {
            paper_fmt(&paper, "within: ");
            paper_text(&paper, words_range(out->arena, reading->value));
            paper_flow(&paper, 2, 4);
        }
        for (uint32_t k = 0; k < reading->field_count; k++) {
            paper_fmt(&paper, "%.*s: %.*s", TEXT_ARG(reading->fields[k].name), TEXT_ARG(reading->fields[k].value));
            paper_flow(&paper, 2, 4);
        }
        paper_ink(&paper, INK_DIM);
        paper_fmt(&paper, "by %.*s", TEXT_ARG(reading->standard));
        if (reading->assumed.len > 0) paper_fmt(&paper, "; assumed: %.*s", TEXT_ARG(reading->assumed));
        paper_flow(&paper, 2, 4);
    }
}

void report_fits(Out *out, const MarkFit *fits, size_t count, ReportStyle style) {
    Paper paper = paper_new(out, style);
    if (count == 0) {
        paper_fmt(&paper, "No package of the lore is near to these measures.");
        paper_flow(&paper, 0, 0);
    }
    for (size_t i = 0; i < count; i++) {
        const MarkPackage *package = fits[i].package;
        paper_ink(&paper, INK_BOLD);
        paper_text(&paper, package->name);
        paper_ink(&paper, INK_PLAIN);
        paper_fmt(&paper, ": body %g x %g mm", package->body_length, package->body_width);
        if (package->pitch > 0) paper_fmt(&paper, ", pitch %g mm", package->pitch);
        if (package->span > 0) paper_fmt(&paper, ", %g mm over the leads", package->span);
        paper_fmt(&paper, ", %u lead%s", package->leads, package->leads == 1 ? "" : "s");
        paper_fmt(&paper, " (%.*s)", TEXT_ARG(words_decibans(out->arena, fits[i].decibans)));
        if (fits[i].differs.len > 0) paper_fmt(&paper, "; %.*s", TEXT_ARG(fits[i].differs));
        paper_ink(&paper, INK_DIM);
        paper_fmt(&paper, " [%.*s]", TEXT_ARG(package->source));
        paper_flow(&paper, 0, 4);
    }
}

static void say_packages(Paper *paper, const ShelfPart *part) {
    for (uint32_t i = 0; i < part->package_count; i++)
        paper_fmt(paper, "%s%.*s", i == 0 ? "comes in " : ", ", TEXT_ARG(part->packages[i]));
    if (part->package_count > 0) paper_fmt(paper, "; ");
}

void report_matches(Out *out, const ShelfMatch *matches, size_t count, ReportStyle style) {
    Paper paper = paper_new(out, style);
    if (count == 0) {
        paper_fmt(&paper, "No part of the catalogue is near to this marking.");
        paper_flow(&paper, 0, 0);
    }
    for (size_t i = 0; i < count; i++) {
        const ShelfPart *part = matches[i].part;
        paper_ink(&paper, INK_BOLD);
        paper_text(&paper, part->name);
        paper_ink(&paper, INK_PLAIN);
        paper_fmt(&paper, "  %.*s: ", TEXT_ARG(part->kind));
        paper_text(&paper, words_sentence(out->arena, part->about));
        paper_ink(&paper, INK_DIM);
        paper_fmt(&paper, " (%.*s)", TEXT_ARG(words_decibans(out->arena, matches[i].decibans)));
        paper_flow(&paper, 0, 4);
        if (!text_same(matches[i].matched, part->name))
            paper_fmt(&paper, "%s %.*s; ", matches[i].by_code ? "body code" : "as", TEXT_ARG(matches[i].matched));
        if (matches[i].differs.len > 0) paper_fmt(&paper, "%.*s; ", TEXT_ARG(matches[i].differs));
        say_packages(&paper, part);
        if (part->supply.high > 0) paper_fmt(&paper, "supply %.*s; ", TEXT_ARG(words_range(out->arena, part->supply)));
        if (!isnan(part->price)) paper_fmt(&paper, "%.2f %.*s; ", part->price, TEXT_ARG(part->currency));
        paper_ink(&paper, INK_DIM);
        paper_fmt(&paper, "by %.*s", TEXT_ARG(part->source));
        paper_flow(&paper, 4, 6);
    }
}
