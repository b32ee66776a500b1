/* What a cell gives: its chemistry's curve and its size's charge, by load, from lore/discharge.lore. Between the currents that
 * are said the charge is interpolated with both on logarithmic scales, where published curves of capacity against load are
 * nearly straight (W. Peukert, 1897, from memory); below the first it stays, beyond the last it goes on falling as steeply. */
#include "mark/inside.h"

#include <math.h>

static void open_line(Line *line, MarkChemistry *chemistry) {
    for (unsigned i = 0; i < MARK_CHARGE_POINTS; i++) {
        bool last = i + 1 == MARK_CHARGE_POINTS;
        chemistry->open[i] = line_quantity(line, last ? UNIT_VOLT : UNIT_NONE, "11 figures, the last with V").value;
        if (!line->bad && (chemistry->open[i] <= 0 || (i > 0 && chemistry->open[i] < chemistry->open[i - 1])))
            line_wrong(line, TEXT("the volts fall as the charge rises"), TEXT("11 figures from empty to full, none below the one before"));
    }
}

/* A point of charge against load. Ascending loads, no more charge than before. */
static void add_load(Line *line, MarkLoad *loads, uint32_t *count, MarkLoad load) {
    bool fits = *count == 0 || (load.load > loads[*count - 1].load && load.gives <= loads[*count - 1].gives);
    if (*count == MARK_LOADS_MOST || !(load.load > 0) || !(load.gives > 0) || !fits)
        line_wrong(line, TEXT("the loads are out of order"), TEXT("at most 8, each larger than the one before and giving no more"));
    if (!line->bad) loads[(*count)++] = load;
}

static void chemistry_line(Marks *marks, Line *line, MarkChemistry *chemistry, CellChemistry *of) {
    Text word = line->line->word;
    if (text_is(word, "systems")) {
        while (line_more(line)) list_push(marks->arena, &of->systems, line_text(line));
    } else if (text_is(word, "open")) {
        open_line(line, chemistry);
    } else if (text_is(word, "end")) {
        chemistry->end = line_quantity(line, UNIT_VOLT, "volts").value;
    } else if (text_is(word, "loses")) {
        chemistry->loses = line_quantity(line, UNIT_NONE, "a share a year, such as 3 %");
    } else if (text_is(word, "rises")) {
        chemistry->rises = line_quantity(line, UNIT_NONE, "a ratio").value;
    } else if (text_is(word, "spread")) {
        chemistry->spread = line_quantity(line, UNIT_NONE, "a share, such as 15 %").value;
    } else if (text_is(word, "rate")) {
        MarkLoad load = {.load = line_quantity(line, UNIT_NONE, "times the capacity an hour, such as 0.2").value / 3600};
        load.gives = line_quantity(line, UNIT_NONE, "the share that it then gives, such as 95 %").value;
        add_load(line, chemistry->rates, &chemistry->rate_count, load);
    } else if (text_is(word, "source")) {
        chemistry->source = line_text(line);
    } else {
        line_wrong(line, TEXT("a cell chemistry has no such line"), TEXT("systems, open, end, loses, rises, spread, rate, source"));
    }
}

void chemistry_load(Marks *marks, Lore *lore, const LoreEntry *entry) {
    CellChemistry *of = arena_one(marks->arena, CellChemistry);
    Line line = line_start(lore, &entry->head);
    of->is = (MarkChemistry){.name = line_text(&line), .rises = 1};
    bool bad = line.bad;
    for (uint32_t i = 0; i < entry->line_count; i++) {
        line = line_start(lore, &entry->lines[i]);
        chemistry_line(marks, &line, &of->is, of);
        line_end(&line);
        bad |= line.bad;
    }
    line = line_start(lore, &entry->head);
    const MarkChemistry *is = &of->is;
    bool whole = is->open[0] > 0 && is->end > 0 && is->rises >= 1 && is->loses.low >= 0 && is->spread >= 0 && is->spread < 1;
    if (!bad && !whole) line_wrong(&line, TEXT("the chemistry is not whole"), TEXT("open and end, rises from 1, spread below 100 %"));
    if (!bad && !line.bad) list_push(marks->arena, &marks->chemistries, of);
}

void stock_load(Marks *marks, Lore *lore, const LoreEntry *entry) {
    Line line = line_start(lore, &entry->head);
    CellStock stock = {.key = line_text(&line)};
    bool bad = line.bad;
    for (uint32_t i = 0; i < entry->line_count; i++) {
        line = line_start(lore, &entry->lines[i]);
        Text word = line.line->word;
        if (text_is(word, "gives")) {
            MarkLoad load = {.gives = line_quantity(&line, UNIT_COULOMB, "a charge, such as 950 mAh").value};
            if (!line_take(&line, "at")) line_wrong(&line, TEXT("at which load?"), TEXT("at and a current"));
            load.load = line_quantity(&line, UNIT_AMPERE, "a current, such as 25 mA").value;
            add_load(&line, stock.loads, &stock.load_count, load);
        } else if (text_is(word, "holds")) {
            stock.holds = line_quantity(&line, UNIT_COULOMB, "a charge, such as 1300..2700 mAh");
        } else if (text_is(word, "ohms")) {
            stock.ohms = line_quantity(&line, UNIT_OHM, "ohms, fresh");
        } else if (text_is(word, "source")) {
            stock.source = line_text(&line);
        } else {
            line_wrong(&line, TEXT("a cell stock has no such line"), TEXT("gives, holds, ohms, source"));
        }
        line_end(&line);
        bad |= line.bad;
    }
    line = line_start(lore, &entry->head);
    bool whole = (stock.load_count > 0) != (stock.holds.low > 0) && stock.ohms.low > 0;
    if (!bad && !whole) line_wrong(&line, TEXT("the stock is not whole"), TEXT("gives or holds, and ohms"));
    if (!bad && !line.bad) list_push(marks->arena, &marks->stocks, stock);
}

/* ---- asked ---- */

static const MarkChemistry *chemistry_of(const Marks *marks, Text system) {
    for (uint32_t i = marks->chemistries.count; i-- > 0;) /* the person's own lore comes after, and wins */
        for (uint32_t k = 0; k < marks->chemistries.at[i]->systems.count; k++)
            if (text_same(marks->chemistries.at[i]->systems.at[k], system)) return &marks->chemistries.at[i]->is;
    return NULL;
}

/* `6R61` and `L`: 6LR61 */
static const CellStock *stock_of(const Marks *marks, const MarkCell *cell, Text system) {
    char key[32];
    size_t len = 0, digits = 0;
    if (text_is(system, "-")) system.len = 0;
    if (cell->code.len + system.len > sizeof key) return NULL;
    while (digits < cell->code.len && is_digit(cell->code.at[digits])) key[len++] = cell->code.at[digits++];
    for (size_t i = 0; i < system.len; i++) key[len++] = system.at[i];
    for (size_t i = digits; i < cell->code.len; i++) key[len++] = cell->code.at[i];
    for (uint32_t i = marks->stocks.count; i-- > 0;)
        if (text_same(marks->stocks.at[i].key, (Text){key, len})) return &marks->stocks.at[i];
    return NULL;
}

/* A stated charge, where no stock of the size is known: 0.1 ohm for one of 2 Ah, the more the smaller. Rule of thumb. */
static Quantity usual_ohms(double coulombs, uint32_t in_series) {
    const double ohms = 0.1 * 2 * 3600 / coulombs * in_series;
    return quantity_within(ohms, ohms / 2, ohms * 2, UNIT_OHM);
}

bool mark_discharge(const Marks *marks, const MarkCell *cell, Quantity stated, MarkDischarge *discharge) {
    bool said = cell->system.len > 0;
    Text system = said ? cell->system : TEXT("L");
    const MarkChemistry *chemistry = chemistry_of(marks, system);
    const CellStock *stock = stock_of(marks, cell, system);
    bool says = unit_same(stated.unit, UNIT_COULOMB) && stated.low > 0;
    if (chemistry == NULL || (stock == NULL && !says)) return false;
    *discharge = (MarkDischarge){.chemistry = chemistry, .in_series = cell->in_series == 0 ? 1 : cell->in_series, .assumed = !said};
    discharge->source = stock != NULL ? stock->source : chemistry->source;
    discharge->ohms = stock != NULL ? stock->ohms : usual_ohms(stated.value, discharge->in_series);
    Quantity holds = says ? stated : stock->holds;
    double low = holds.value > 0 ? holds.low / holds.value : 1, high = holds.value > 0 ? holds.high / holds.value : 1;
    discharge->low = low * (1 - chemistry->spread), discharge->high = high * (1 + chemistry->spread);
    if (says || stock->load_count == 0) {
        bool rates = chemistry->rate_count > 0;
        discharge->load_count = rates ? chemistry->rate_count : 1;
        discharge->loads[0] = (MarkLoad){holds.value / 3600, holds.value};
        for (uint32_t i = 0; rates && i < chemistry->rate_count; i++)
            discharge->loads[i] = (MarkLoad){chemistry->rates[i].load * holds.value, chemistry->rates[i].gives * holds.value};
    } else {
        discharge->load_count = stock->load_count;
        memcpy(discharge->loads, stock->loads, sizeof discharge->loads);
    }
    return true;
}

double mark_charge_at(const MarkDischarge *discharge, double amperes) {
    const MarkLoad *loads = discharge->loads;
    uint32_t count = discharge->load_count, i = 1;
    if (count == 1 || !(amperes > loads[0].load)) return loads[0].gives;
    while (i + 1 < count && amperes > loads[i].load) i++;
    double slope = log(loads[i].gives / loads[i - 1].gives) / log(loads[i].load / loads[i - 1].load);
    return loads[i].gives * pow(amperes / loads[i].load, slope);
}

double mark_open_volts(const MarkDischarge *discharge, double share) {
    double at = fmin(fmax(share, 0), 1) * (MARK_CHARGE_POINTS - 1);
    unsigned i = at >= MARK_CHARGE_POINTS - 1 ? MARK_CHARGE_POINTS - 2 : (unsigned)at;
    const double *open = discharge->chemistry->open;
    return discharge->in_series * (open[i] + (open[i + 1] - open[i]) * (at - i));
}

double mark_inner_ohms(const MarkDischarge *discharge, double share) {
    double used = 1 - fmin(fmax(share, 0), 1);
    return discharge->ohms.value * (1 + (discharge->chemistry->rises - 1) * used);
}
