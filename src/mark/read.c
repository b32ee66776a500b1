/* All readings of a marking: every reader is asked, the context weighs what they found, equal readings become one, the
 * likeliest stands first. A marking that can't be one (too long, control bytes, bad UTF-8) is refused before anything else,
 * so that cost is bounded by MARK_LONGEST whatever the input. */
#include "mark/inside.h"

#include <math.h>
#include <stdlib.h>

static const Text KINDS[] = {TEXT_INIT("resistor"), TEXT_INIT("capacitor"), TEXT_INIT("inductor"), TEXT_INIT("date"),
                             TEXT_INIT("cell"),     TEXT_INIT("ip"),        TEXT_INIT("sign"),     TEXT_INIT("wire"),
                             TEXT_INIT("memory"),   TEXT_INIT("maker")};

const Text *mark_kinds(size_t *count) {
    *count = sizeof KINDS / sizeof KINDS[0];
    return KINDS;
}

static const Narrow *narrow_of(const Marks *marks, Text kind) {
    for (uint32_t i = marks->narrows.count; i-- > 0;)
        for (uint32_t k = 0; k < marks->narrows.at[i].names.count; k++)
            if (text_same_folded(marks->narrows.at[i].names.at[k], kind)) return &marks->narrows.at[i];
    return NULL;
}

static bool narrow_allows(const Narrow *narrow, Text kind) {
    for (uint32_t i = 0; i < narrow->may.count; i++)
        if (text_same(narrow->may.at[i], kind)) return true;
    return false;
}

/* The context's weight for a form: by the package's name first, then by its style or the word given. */
static double context_weight(const Reader *reader, const FormRule *rule) {
    Text words[] = {reader->package == NULL ? (Text){"", 0} : reader->package->name,
                    reader->package == NULL ? (Text){"", 0} : reader->package->style, reader->context.package};
    for (size_t w = 0; w < sizeof words / sizeof words[0]; w++)
        for (uint32_t i = rule->cases.count; words[w].len > 0 && i-- > 0;)
            if (text_same_folded(rule->cases.at[i].word, words[w])) return rule->cases.at[i].decibans;
    return 0;
}

Draft *reading_add(Reader *reader, Form form, double decibans, Text says) {
    const FormRule *rule = &reader->marks->forms[form];
    Draft *draft = list_add(reader->arena, &reader->drafts);
    bool narrowed = reader->narrow != NULL && !narrow_allows(reader->narrow, rule->kind);
    draft->reading.kind = rule->kind;
    draft->reading.standard = rule->standard;
    draft->reading.says = says;
    draft->reading.decibans =
        narrowed || !rule->said ? -INFINITY : rule->decibans + context_weight(reader, rule) + decibans;
    return draft;
}

void reading_value(Draft *draft, Quantity value) {
    draft->reading.has_value = true;
    draft->reading.value = value;
}

void reading_field(Reader *reader, Draft *draft, const char *name, Text value) {
    MarkField *field = list_add(reader->arena, &draft->fields);
    *field = (MarkField){text_of(name), value};
}

void reading_assume(Reader *reader, Draft *draft, const char *format, ...) {
    va_list args;
    va_start(args, format);
    Text more = text_vfmt(reader->arena, format, args);
    va_end(args);
    Text *assumed = &draft->reading.assumed;
    *assumed = assumed->len == 0 ? more : text_fmt(reader->arena, "%.*s; %.*s", TEXT_ARG(*assumed), TEXT_ARG(more));
}

bool reader_asked(const Reader *reader, const char *kind) {
    return reader->narrow != NULL && reader->narrow->may.count > 0 && text_is(reader->narrow->may.at[0], kind);
}

bool reader_on(const Reader *reader, const char *case_word) {
    Text word = text_of(case_word);
    return text_same_folded(reader->context.package, word) ||
           (reader->package != NULL && text_same_folded(reader->package->style, word));
}

static bool readable(Text marking) {
    if (marking.len == 0 || marking.len > MARK_LONGEST || text_bad_byte(marking) < marking.len) return false;
    for (size_t i = 0; i < marking.len; i++)
        if (((unsigned char)marking.at[i] < 0x20 && marking.at[i] != '\t') || marking.at[i] == 0x7F) return false;
    return true;
}

static void split_words(Reader *reader) {
    Text rest = reader->whole;
    while (rest.len > 0) {
        size_t end = 0;
        while (end < rest.len && rest.at[end] != ' ' && rest.at[end] != '\t') end++;
        if (reader->word_count == MARK_WORDS_MOST) {
            reader->word_count = 0;
            return;
        }
        reader->words[reader->word_count++] = text_sub(rest, 0, end);
        rest = text_trim(text_sub(rest, end, rest.len));
    }
}

static int likelier(const void *a, const void *b) {
    const MarkReading *x = a, *y = b;
    if (x->decibans != y->decibans) return x->decibans > y->decibans ? -1 : 1;
    int order = text_order(x->kind, y->kind);
    return order != 0 ? order : text_order(x->says, y->says);
}

/* Drops what was ruled out, keeps the likelier of equals, sorts. */
static MarkReadings finish(Reader *reader) {
    MarkReading *kept = arena_many(reader->arena, MarkReading, reader->drafts.count);
    uint32_t count = 0, distinct = 0;
    for (uint32_t i = 0; i < reader->drafts.count; i++) {
        Draft *draft = &reader->drafts.at[i];
        if (!isfinite(draft->reading.decibans)) continue;
        draft->reading.fields = draft->fields.at;
        draft->reading.field_count = draft->fields.count;
        kept[count++] = draft->reading;
    }
    if (count > 0) qsort(kept, count, sizeof kept[0], likelier);
    for (uint32_t i = 0; i < count; i++) {
        bool again = false;
        for (uint32_t k = 0; k < distinct; k++)
            again |= text_same(kept[k].kind, kept[i].kind) && text_same(kept[k].says, kept[i].says);
        if (!again) kept[distinct++] = kept[i];
    }
    return (MarkReadings){kept, distinct, distinct == 0 ? reader->refused : TEXT("")};
}

MarkReadings mark_read(Arena *arena, const Marks *marks, Text marking, MarkContext context) {
    static void (*const readers[])(Reader *) = {read_resistor, read_colours, read_capacitor, read_dielectric,
                                                read_inductor, read_date,    read_cell,      read_ip,
                                                read_sign,     read_wire,    read_memory,    read_maker};
    static const Narrow nothing = {0};
    marking = text_trim(marking);
    if (!readable(marking)) {
        bool empty = marking.len == 0;
        return (MarkReadings){NULL, 0,
                              empty ? TEXT("") : TEXT("a marking is text of at most 128 bytes without control bytes")};
    }
    Reader reader = {.arena = arena, .marks = marks, .context = context, .whole = marking};
    if (context.package.len > 0) reader.package = mark_package(marks, context.package);
    if (context.kind.len > 0) reader.narrow = narrow_of(marks, context.kind);
    if (context.kind.len > 0 && reader.narrow == NULL)
        reader.narrow = &nothing; /* a kind that carries none of these codes */
    split_words(&reader);
    for (size_t i = 0; i < sizeof readers / sizeof readers[0]; i++) readers[i](&reader);
    return finish(&reader);
}

double mark_share(MarkReadings readings, uint32_t i) {
    double sum = 0;
    for (uint32_t k = 0; k < readings.count; k++) sum += pow(10, (readings.at[k].decibans - readings.at[0].decibans) / 10);
    return i < readings.count ? pow(10, (readings.at[i].decibans - readings.at[0].decibans) / 10) / sum : 0;
}
