/* What may stand next in a note that is being typed: verbs, references, pins, nets, packages, kinds, units, modes, boards, photos
 * and the qualifiers' words, those first that begin as the word at hand does. An offer, no judgement: add.c judges. */
#include "page/inside.h"

#include "base/json.h"
#include "base/lex.h"
#include "page/pictures.h"
#include "page/verbs.h"

enum { OFFERS_MOST = 12, WORDS_MOST = 64 };

typedef struct Offers {
    Call *call;
    const Bench *bench;
    Text word; /* what has been typed of it */
    json_t *items;
    Text words[WORDS_MOST]; /* those before it */
    uint32_t word_count;
} Offers;

static bool begins(Text text, Text word) { return text.len >= word.len && text_same_folded(text_sub(text, 0, word.len), word); }

static bool full(const Offers *offers) { return json_array_size(offers->items) >= OFFERS_MOST; }

static void offer(Offers *offers, Text text, Text says) {
    if (full(offers) || text.len == 0 || !begins(text, offers->word)) return;
    for (size_t i = 0; i < json_array_size(offers->items); i++) {
        const char *other = json_string_value(json_object_get(json_array_get(offers->items, i), "text"));
        if (other != NULL && text_is(text, other)) return;
    }
    json_t *item = json_object();
    json_put_text(item, "text", text);
    json_put_text(item, "says", says);
    json_array_append_new(offers->items, item);
}

/* ---- what there is ---- */

static void offer_verbs(Offers *offers) {
    size_t count;
    const VerbHelp *helps = verb_helps(&count);
    for (size_t i = 0; i < count; i++) offer(offers, note_verb_name(helps[i].verb), text_of(helps[i].says));
}

static void offer_pin(Offers *offers, const BenchPart *part, Text label, Text says) {
    if (label.len > 0)
        offer(offers, text_fmt(offers->call->arena, "%.*s.%.*s", TEXT_ARG(part->ref), TEXT_ARG(label)), says);
}

static void offer_pins(Offers *offers, Text ref) {
    uint32_t number = bench_part(offers->bench, ref);
    if (number == BENCH_NONE) return;
    const BenchPart *part = &offers->bench->parts.at[number];
    for (uint32_t i = 0; i < part->pin_count; i++) {
        const BenchPin *pin = &offers->bench->pins.at[part->pins[i]];
        offer_pin(offers, part, pin->label, pin->function);
    }
    for (uint32_t i = 0; i < part->kind->pin_count; i++) offer_pin(offers, part, part->kind->pins[i], part->kind->name);
    for (uint32_t i = 0; part->package != NULL && i < part->package->pin_count; i++)
        offer_pin(offers, part, part->package->pins[i].number, part->package->name);
}

static void offer_terminals(Offers *offers) {
    const Bench *bench = offers->bench;
    const char *dot = memchr(offers->word.at, '.', offers->word.len);
    if (dot != NULL) offer_pins(offers, text_sub(offers->word, 0, (size_t)(dot - offers->word.at)));
    for (uint32_t i = 0; i < bench->nets.count; i++)
        if (bench->nets.at[i].named) offer(offers, bench->nets.at[i].name, TEXT("a net"));
    for (uint32_t i = 0; i < bench->parts.count; i++)
        offer(offers, text_fmt(offers->call->arena, "%.*s.", TEXT_ARG(bench->parts.at[i].ref)), bench->parts.at[i].kind->name);
}

/* The references there are, and the next free one of the same letters. */
static void offer_refs(Offers *offers) {
    Text letters = offers->word;
    while (letters.len > 0 && letters.at[letters.len - 1] >= '0' && letters.at[letters.len - 1] <= '9') letters.len--;
    for (uint32_t n = 1; letters.len > 0 && n <= offers->bench->parts.count + 1; n++) {
        Text ref = text_fmt(offers->call->arena, "%.*s%u", TEXT_ARG(letters), n);
        if (bench_part(offers->bench, ref) != BENCH_NONE) continue;
        offer(offers, ref, bench_kind_of_ref(offers->bench->kinds, ref)->name);
        break;
    }
    for (uint32_t i = 0; i < offers->bench->parts.count; i++)
        offer(offers, offers->bench->parts.at[i].ref, offers->bench->parts.at[i].kind->name);
}

static void offer_packages_and_kinds(Offers *offers) {
    size_t count;
    const MarkPackage *packages = mark_packages(offers->bench->marks, &count);
    for (size_t i = 0; i < count; i++) offer(offers, packages[i].name, packages[i].style);
    for (uint32_t i = 0; i < bench_kind_count(offers->bench->kinds); i++)
        offer(offers, bench_kind_at(offers->bench->kinds, i)->name, TEXT("a kind of part"));
}

static void offer_words(Offers *offers, const char *const *words, const char *says) {
    for (; *words != NULL; words++) offer(offers, text_of(*words), text_of(says));
}

static void offer_named(Offers *offers, NoteVerb verb, const char *says) {
    const Notebook *book = offers->call->model->teardown.notebook;
    for (uint32_t i = 0; i < book->notes.count; i++) {
        const Note *note = &book->notes.at[i];
        if (note->verb == verb) offer(offers, verb == NOTE_MODE ? note->mode : note->board->name, text_of(says));
    }
}

static void offer_photos(Offers *offers) {
    PictureNames names = picture_names(offers->call->arena, offers->call->page->folder);
    for (uint32_t i = 0; i < names.count; i++) {
        Out written = out_new(offers->call->arena);
        note_file_print(&written, names.at[i]);
        offer(offers, out_text(&written), TEXT("in photos/"));
    }
}

/* ---- which of them ---- */

static const char *const SOURCES[] = {"eye", "meter", "scope", "datasheet", "label", "guess", NULL};
static const char *const QUALIFIERS[] = {"by", "sure", "in", "on", "at", "photo", NULL};
static const char *const PART_WORDS[] = {"marked", "turn", "pin", NULL};
static const char *const SIDES[] = {"top", "bottom", NULL};
static const char *const READ_WHAT[] = {"v(", "i(", "r(", "c(", "l(", "f(", "t(", "p(", "diode(", "beep(", "temp(", "duty(", NULL};
static const char *const UNITS[] = {"V", "mV", "mA", "uA", "A", "ohm", "kohm", "Mohm", "nF", "uF", "pF", "uH", "mH", "Hz", "kHz", "MHz", "s", "ms", "us", "W", "mW", "degC", "%", "mm", NULL};

static bool is_number(Text text) {
    Quantity quantity;
    return text.len > 0 && quantity_parse(text, &quantity) == text.len && unit_same(quantity.unit, UNIT_NONE);
}

static bool stands_on_a_board(NoteVerb verb) {
    return verb == NOTE_PHOTO || verb == NOTE_CUT || verb == NOTE_BRIDGE || verb == NOTE_HIDDEN || verb == NOTE_HOLE ||
           verb == NOTE_COPPER || verb == NOTE_BARE || verb == NOTE_MARK;
}

static bool takes_terminals(NoteVerb verb) {
    return verb == NOTE_JOIN || verb == NOTE_APART || verb == NOTE_NET || verb == NOTE_CLAIM || verb == NOTE_READ ||
           verb == NOTE_DRIVE;
}

static void offer_by_verb(Offers *offers, NoteVerb verb) {
    Text last = offers->words[offers->word_count - 1];
    bool first = offers->word_count == 1;
    if (verb == NOTE_READ && first) offer_words(offers, READ_WHAT, "what was measured");
    if (verb == NOTE_PART && first) offer_refs(offers);
    if (verb == NOTE_PRESS || verb == NOTE_STALL || verb == NOTE_GEAR || verb == NOTE_MEMORY) offer_refs(offers);
    if (verb == NOTE_DUTY && first) offer_named(offers, NOTE_MODE, "a mode");
    if (verb == NOTE_PHOTO) offer_photos(offers);
    if (stands_on_a_board(verb)) {
        if (first) offer_named(offers, NOTE_BOARD, "a board");
        offer_words(offers, SIDES, "a side of the board");
    }
    if (takes_terminals(verb) && !(verb == NOTE_READ && first) && !(verb == NOTE_NET && first && offers->word.len == 0))
        offer_terminals(offers);
    if (is_number(last)) offer_words(offers, UNITS, "a unit");
    if (verb == NOTE_PART && !first) {
        offer_words(offers, PART_WORDS, "");
        if (offers->word.len > 0) offer_packages_and_kinds(offers);
    }
    offer_words(offers, QUALIFIERS, "");
}

static void find_offers(Offers *offers) {
    const VerbHelp *help = offers->word_count > 0 ? verb_help(offers->words[0]) : NULL;
    Text last = offers->word_count > 0 ? offers->words[offers->word_count - 1] : TEXT("");
    if (offers->word_count == 0)
        offer_verbs(offers);
    else if (text_is(last, "by"))
        offer_words(offers, SOURCES, "where you have it from");
    else if (text_is(last, "in"))
        offer_named(offers, NOTE_MODE, "a mode");
    else if (text_is(last, "on"))
        offer_named(offers, NOTE_BOARD, "a board");
    else if (text_is(last, "photo"))
        offer_photos(offers);
    else if (help != NULL)
        offer_by_verb(offers, help->verb);
}

/* Cuts what was typed into words. True when the hand is within a word that can be completed, so not within a string. */
static bool cut(Offers *offers, Text typed) {
    Lexer lexer;
    for (lex_start(&lexer, typed); !lex_at_end(&lexer);) {
        Token token = lex_take(&lexer);
        size_t end = (size_t)(token.text.at - typed.at) + token.text.len;
        if (token.kind == LEX_OPEN_STRING) return false;
        if (token.kind == LEX_WORD && end == typed.len) {
            offers->word = token.text;
            break;
        }
        if (offers->word_count == WORDS_MOST) return false;
        offers->words[offers->word_count++] = token.text;
    }
    return true;
}

void answer_complete(Call *call) {
    Text typed = call_argument(call, "typed");
    json_t *object = json_object();
    Offers offers = {.call = call, .items = json_array(), .word = text_sub(typed, typed.len, 0)};
    call->answer->type = "application/json";
    if (call->model->open) {
        offers.bench = call->model->teardown.bench;
        if (cut(&offers, typed)) find_offers(&offers);
    }
    Text verb = offers.word_count > 0 ? offers.words[0] : offers.word;
    const VerbHelp *help = verb_help(verb);
    if (help != NULL) {
        json_put_text(object, "form", text_of(help->form));
        json_put_text(object, "says", text_of(help->says));
        json_put_text(object, "example", text_of(help->example));
    }
    json_put(object, "length", json_integer((json_int_t)offers.word.len)); /* bytes before the hand that an offer replaces */
    json_put(object, "offers", offers.items);
    json_finish(&call->out, object);
}
