/* The screens of figures: where the current goes, how long the battery lasts, what the meter says to the sums. */
#include "report/show.h"

#include "draw/plot.h"

enum { BATTERIES_MOST = 2, ALSO_MOST = 3, ROWS_MOST = 6 };

static Text mode_name(const SumsMode *mode) { return mode->name.len > 0 ? mode->name : TEXT("rest"); }

/* To two digits, which is what one remembers. */
static Text about(Arena *arena, double amperes) {
    return words_quantity(arena, quantity_within(amperes, 0.95 * amperes, 1.05 * amperes, UNIT_AMPERE));
}

static void say_currents(Show *show) {
    Html *html = &show->html;
    Out svg = out_new(html->arena), says = out_new(html->arena);
    if (!draw_currents(&svg, &(PlotAsked){.sums = html->sums, .id = TEXT("plot-currents")})) return;
    PlotDraws draws = plot_draws(html->arena, html->sums);
    uint32_t least = BENCH_NONE, most = BENCH_NONE;
    for (uint32_t m = 0; m < html->sums->modes.count; m++) {
        if (!(draws.total[m] > 0)) continue;
        if (least == BENCH_NONE || draws.total[m] < draws.total[least]) least = m;
        if (most == BENCH_NONE || draws.total[m] > draws.total[most]) most = m;
    }
    Text a = about(html->arena, draws.total[least]), b = about(html->arena, draws.total[most]);
    out_fmt(&says, "It draws about %.*s in %.*s", TEXT_ARG(a), TEXT_ARG(mode_name(&html->sums->modes.at[least])));
    if (most != least) out_fmt(&says, " and %.*s in %.*s", TEXT_ARG(b), TEXT_ARG(mode_name(&html->sums->modes.at[most])));
    show_open(show, "figure", TEXT("Where the current goes"));
    show_says(show, out_text(&says));
    show_because(show, TEXT("computed from the parts and joins as noted"));
    show_picture(show);
    out_add(html->out, out_text(&svg));
    show_close(show);
}

static void say_batteries(Show *show) {
    Html *html = &show->html;
    for (uint32_t i = 0; html->sums != NULL && i < html->sums->batteries.count && i < BATTERIES_MOST; i++) {
        Out svg = out_new(html->arena);
        const SumsBattery *battery = &html->sums->batteries.at[i];
        Text ref = html->bench->parts.at[battery->part].ref;
        if (!draw_battery(&svg, &(PlotAsked){.sums = html->sums, .id = text_fmt(html->arena, "plot-battery-%u", i + 1)}, i))
            continue;
        const ReasonClaim *claim = reason_claim(html->reasoning, text_fmt(html->arena, "battery-life:%.*s", TEXT_ARG(ref)));
        show_open(show, "figure", TEXT("How long the battery lasts"));
        Text life =
            words_quantity(html->arena, quantity_within(battery->seconds, battery->low, battery->high, UNIT_SECOND));
        show_says(show, text_fmt(html->arena, "%.*s lasts about %.*s. %.*s", TEXT_ARG(ref), TEXT_ARG(life),
                                 TEXT_ARG(battery->stops)));
        if (claim != NULL) show_because(show, claim->says);
        if (claim != NULL) show_because_claim(show, claim);
        show_picture(show);
        out_add(html->out, out_text(&svg));
        show_close(show);
    }
}

static void say_readings(Show *show) {
    Html *html = &show->html;
    Out svg = out_new(html->arena);
    uint32_t agree = 0, differ = 0;
    if (!draw_ranges(&svg, &(PlotAsked){.sums = html->sums, .id = TEXT("plot-readings"), .most = ROWS_MOST})) return;
    for (uint32_t i = 0; i < html->sums->compared.count; i++) {
        agree += html->sums->compared.at[i].verdict == SUMS_AGREES;
        differ += html->sums->compared.at[i].verdict == SUMS_OFF;
    }
    show_open(show, "figure", TEXT("Beside the meter"));
    if (differ == 0)
        show_says(show, text_fmt(html->arena, "All %u readings agree with the sums", agree));
    else
        show_says(show, text_fmt(html->arena, "%u of %u readings agree with the sums", agree, agree + differ));
    for (uint32_t i = 0; i < html->sums->explanations.count && i < ALSO_MOST; i++) {
        const SumsExplanation *explanation = &html->sums->explanations.at[i];
        show_because(show, text_fmt(html->arena, "%.*s: %.*s", TEXT_ARG(words_probability(html->arena, explanation->p)),
                                    TEXT_ARG(explanation->says)));
    }
    show_picture(show);
    out_add(html->out, out_text(&svg));
    show_close(show);
}

void show_figures(Show *show) {
    say_currents(show);
    say_batteries(show);
    say_readings(show);
}
