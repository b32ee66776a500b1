/* Packages ranked by what was measured: for each measurement, the weight of evidence for the package against chance, which
 * is ten times the log of a normal density about the nominal figure over a flat one (I. J. Good's weight of evidence).
 * Sigmas, spreads and the prior of common packages stand in lore/codes.lore. Cost: one pass over all packages. */
#include "mark/inside.h"

#include <math.h>

typedef struct Fit {
    double decibans;
    double worst; /* distance in sigmas of what fits least */
    Text differs;
    bool ruled_out;
} Fit;

/* 10 log10 of normal density over flat density; never below the floor, since a caliper slips and lore may err. */
static double weight(double distance, double sigma, double spread, double least) {
    const double ten_log_e = 4.342944819032518;
    double z = distance / sigma;
    return fmax(least, 10 * log10(spread / (sigma * 2.5066282746310002)) - ten_log_e * z * z / 2);
}

typedef struct Try {
    double decibans, worst;
    double measured, nominal; /* of the side that fits least, mm */
    bool over_leads;
} Try;

typedef struct Sides {
    double a, b;
    bool over_leads;
} Sides;

/* One side against its nominal; sigma grows by 1 % of the size, as moulds vary. */
static void try_side(const Marks *marks, Try *t, double measured, double nominal) {
    double sigma = hypot(weight_of(marks, "package-body-sigma"), nominal * 0.01);
    double distance = fabs(measured - nominal);
    t->decibans += weight(distance, sigma, weight_of(marks, "package-body-spread"), weight_of(marks, "package-least"));
    if (distance / sigma > t->worst) t->worst = distance / sigma, t->measured = measured, t->nominal = nominal;
}

/* People measure across the leads as often as across the body, and either side first: the best of these counts. */
static void fit_body(Arena *arena, const Marks *marks, const MarkMeasured *m, const MarkPackage *p, Fit *fit) {
    const Sides sides[] = {{p->body_length, p->body_width, false},
                           {p->body_length, p->span, true},
                           {p->span_length > 0 ? p->span_length : p->body_length, p->span, true}};
    Try best = {.decibans = -INFINITY};
    for (size_t i = 0; i < 6; i++) {
        Sides s = sides[i / 2];
        if (s.over_leads && p->span <= 0) continue;
        Try t = {.over_leads = s.over_leads};
        if (s.over_leads) t.decibans += weight_of(marks, "package-over-leads");
        try_side(marks, &t, i % 2 ? m->body_b : m->body_a, s.a);
        if (m->body_b > 0) try_side(marks, &t, i % 2 ? m->body_a : m->body_b, s.b);
        if (t.decibans > best.decibans) best = t;
    }
    fit->decibans += best.decibans;
    if (best.worst <= fit->worst && !best.over_leads) return;
    fit->worst = fmax(fit->worst, best.worst);
    fit->differs = text_fmt(arena, "%.4g mm measured, %.4g mm nominal%s", best.measured, best.nominal,
                            best.over_leads ? ", read as over the leads" : "");
}

static void fit_one(Arena *arena, const Marks *marks, Fit *fit, const char *what, double measured, double nominal,
                    const char *sigma_name, const char *spread_name) {
    if (measured <= 0 || nominal <= 0) return;
    double sigma = hypot(weight_of(marks, sigma_name), nominal * 0.01), distance = fabs(measured - nominal);
    fit->decibans += weight(distance, sigma, weight_of(marks, spread_name), weight_of(marks, "package-least"));
    if (distance / sigma <= fit->worst) return;
    fit->worst = distance / sigma;
    fit->differs = text_fmt(arena, "%s %.4g mm measured, %.4g mm nominal", what, measured, nominal);
}

static void fit_leads(Arena *arena, const Marks *marks, const MarkMeasured *m, const MarkPackage *p, Fit *fit) {
    if (m->leads == 0) return;
    bool with_extra = m->leads == p->pin_count; /* a tab or pad counted too */
    fit->decibans += weight_of(marks, m->leads == p->leads || with_extra ? "package-leads-right" : "package-leads-wrong");
    if (m->leads == p->leads || with_extra) return;
    fit->worst = INFINITY;
    fit->differs = text_fmt(arena, "%u leads counted, %u in the outline", m->leads, p->leads);
}

static Fit fit_package(Arena *arena, const Marks *marks, const MarkMeasured *m, const MarkPackage *p) {
    Fit fit = {.decibans = package_prior(marks, p), .worst = 1};
    if (m->body_a > 0 || m->body_b > 0) {
        MarkMeasured known = *m;
        if (known.body_a <= 0) known.body_a = known.body_b, known.body_b = 0;
        fit_body(arena, marks, &known, p, &fit);
    }
    fit_one(arena, marks, &fit, "height", m->body_height, p->body_height, "package-body-sigma", "package-body-spread");
    fit_one(arena, marks, &fit, "span", m->span, p->span, "package-body-sigma", "package-body-spread");
    fit_one(arena, marks, &fit, "pitch", m->pitch, p->pitch, "package-pitch-sigma", "package-pitch-spread");
    fit_leads(arena, marks, m, p, &fit);
    fit.ruled_out = m->pitch > 0 && p->pitch <= 0;
    return fit;
}

size_t mark_package_rank(Arena *arena, const Marks *marks, MarkMeasured measured, MarkFit *fits, size_t most) {
    size_t count = 0;
    for (uint32_t i = 0; i < marks->packages.count; i++) {
        const MarkPackage *package = &marks->packages.at[i];
        Fit fit = fit_package(arena, marks, &measured, package);
        if (fit.ruled_out || fit.decibans <= 0 || most == 0) continue;
        if (count == most && fit.decibans <= fits[count - 1].decibans) continue;
        size_t at = count < most ? count++ : count - 1;
        for (; at > 0 && fits[at - 1].decibans < fit.decibans; at--) fits[at] = fits[at - 1];
        fits[at] = (MarkFit){package, fit.decibans, fit.differs};
    }
    return count;
}

static bool not_measured(Diags *diags, Text option, Text value, const char *expected) {
    diag_add(diags,
             (Diag){.place = {.file = text_fmt(diags->arena, "--%.*s", TEXT_ARG(option))},
                    .message = text_fmt(diags->arena, "\"%.*s\" is not that measurement", TEXT_ARG(text_sub(value, 0, 40))),
                    .expected = text_of(expected)});
    return false;
}

bool mark_measure(Text option, Text value, MarkMeasured *measured, Diags *diags) {
    double mm[3] = {0};
    size_t count = 0;
    value = text_trim(value);
    if (text_is(option, "leads")) {
        int leads = text_number(value);
        if (leads < 1 || leads > 9999) return not_measured(diags, option, value, "a number of leads, such as 8");
        measured->leads = (uint32_t)leads;
        return true;
    }
    bool body = text_is(option, "body");
    if (sizes_parse(value, mm, body ? 3 : 1, &count) != value.len || value.len == 0)
        return not_measured(diags, option, value,
                            body ? "lengths with a unit, such as 5.0x6.2mm or 5.0x6.2x1.7mm"
                                 : "a length with a unit, such as 1.27mm or 50mil");
    if (body) {
        measured->body_a = mm[0], measured->body_b = mm[1];
        if (count == 3) measured->body_height = mm[2];
    } else if (text_is(option, "pitch"))
        measured->pitch = mm[0];
    else if (text_is(option, "span"))
        measured->span = mm[0];
    else if (text_is(option, "height"))
        measured->body_height = mm[0];
    else
        return not_measured(diags, option, value, "body, pitch, span, height or leads");
    return true;
}
