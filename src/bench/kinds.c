/* Answers about kinds. Every word is looked up in one hash table (Names) by its folded spelling; pins of one kind are at
 * most KIND_PINS_MOST with a few spellings each, so that a walk over them is as fast as anything. */
#include "bench/kinds_inside.h"

#include <string.h>

static char folded(char c) { return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c; }

Text kind_folded(char room[KIND_WORD_MOST], Text word) {
    if (word.len > KIND_WORD_MOST) return TEXT("");
    for (size_t i = 0; i < word.len; i++) room[i] = folded(word.at[i]);
    return (Text){room, word.len};
}

static uint32_t number_of(const Names *names, Text word) {
    char room[KIND_WORD_MOST];
    Text low = kind_folded(room, word);
    return low.len == 0 ? (uint32_t)NAME_NONE : names_find(names, low);
}

const BenchKind *bench_kind(const BenchKinds *kinds, Text name) {
    uint32_t number = number_of(kinds->words.names, name);
    return number == NAME_NONE ? NULL : kinds->words.of.at[number].kind;
}

static bool is_letter(char c) { return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z'); }

const BenchKind *bench_kind_of_ref(const BenchKinds *kinds, Text ref) {
    size_t len = 0;
    while (len < ref.len && is_letter(ref.at[len])) len++;
    uint32_t number = number_of(kinds->letters.names, text_sub(ref, 0, len));
    return number == NAME_NONE ? kinds->kinds.at[0] : kinds->letters.of.at[number].kind;
}

uint32_t bench_kind_count(const BenchKinds *kinds) { return kinds->kinds.count; }

const BenchKind *bench_kind_at(const BenchKinds *kinds, uint32_t number) { return kinds->kinds.at[number]; }

bool bench_kind_is(const BenchKind *kind, const BenchKind *ancestor) {
    while (kind != NULL && kind != ancestor) kind = kind->parent;
    return kind != NULL;
}

/* The next kind up whose spellings and numberings hold for this one too: the parent, when the pins are its. */
static const BenchKind *pins_from(const BenchKind *kind) { return kind->own_pins ? NULL : kind->parent; }

static int pin_spelled(const BenchKinds *kinds, const BenchKind *kind, Text spelling, bool (*same)(Text, Text)) {
    for (uint32_t p = 0; p < kind->pin_count; p++)
        if (same(kind->pins[p], spelling)) return (int)p;
    for (const BenchKind *up = kind; up != NULL; up = pins_from(up))
        for (uint32_t i = 0; i < kinds->spellings.at[up->number].list.count; i++) {
            const KindSpelling *known = &kinds->spellings.at[up->number].list.at[i];
            if (same(known->spelling, spelling)) return known->position;
        }
    return -1;
}

int bench_kind_pin(const BenchKinds *kinds, const BenchKind *kind, Text spelling) {
    int position = pin_spelled(kinds, kind, spelling, text_same);
    return position >= 0 ? position : pin_spelled(kinds, kind, spelling, text_same_folded);
}

/* `SOT23` is `SOT-23`. */
static bool same_package(Text a, Text b) {
    size_t i = 0, j = 0;
    for (;; i++, j++) {
        while (i < a.len && a.at[i] == '-') i++;
        while (j < b.len && b.at[j] == '-') j++;
        if (i == a.len || j == b.len) return i == a.len && j == b.len;
        if (folded(a.at[i]) != folded(b.at[j])) return false;
    }
}

const BenchNumbering *bench_kind_numbering(const BenchKind *kind, Text package) {
    const BenchNumbering *any = NULL;
    for (; kind != NULL; kind = pins_from(kind))
        for (uint32_t i = 0; i < kind->numberings.count; i++) {
            const BenchNumbering *numbering = &kind->numberings.at[i];
            if (text_is(numbering->package, "*"))
                any = any == NULL ? numbering : any;
            else if (package.len > 0 && same_package(numbering->package, package))
                return numbering;
        }
    return any;
}

int bench_kind_pin_numbered(const BenchKind *kind, Text package, Text number) {
    const BenchNumbering *numbering = bench_kind_numbering(kind, package);
    for (uint32_t i = 0; numbering != NULL && i < numbering->count; i++)
        if (text_same_folded(numbering->number[i], number)) return numbering->position[i];
    return -1;
}

const BenchProperty *bench_kind_property(const BenchKind *kind, Text name) {
    for (; kind != NULL; kind = kind->parent)
        for (uint32_t i = 0; i < kind->properties.count; i++)
            if (text_same(kind->properties.at[i].name, name)) return &kind->properties.at[i];
    return NULL;
}

bool bench_property_unit(const BenchKinds *kinds, Text name, Unit *unit) {
    uint32_t number = names_find(kinds->property_names, name);
    if (number == NAME_NONE) return false;
    *unit = kinds->properties.at[number].unit;
    return true;
}

bool bench_is_ground_name(const BenchKinds *kinds, Text name) { return number_of(kinds->grounds, name) != NAME_NONE; }
bool bench_is_supply_name(const BenchKinds *kinds, Text name) { return number_of(kinds->supplies, name) != NAME_NONE; }
bool bench_is_pad_name(const BenchKinds *kinds, Text label) { return number_of(kinds->pads, label) != NAME_NONE; }

static NoteSource said_or_eye(NoteSource source) { return source == NOTE_BY_UNSAID ? NOTE_BY_EYE : source; }

double bench_source_weight(const BenchKinds *kinds, NoteSource source) {
    return kinds->weights[said_or_eye(source)].decibans;
}
double bench_source_trust(const BenchKinds *kinds, NoteSource source) {
    return kinds->weights[said_or_eye(source)].probability;
}

double bench_weight(const BenchKinds *kinds, BenchWeight weight) {
    return kinds->weights[NOTE_SOURCE_COUNT + weight].decibans;
}
