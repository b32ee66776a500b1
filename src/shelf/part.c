/* Reads `part` and `family` entries; the language stands at the head of lore/parts-damage.lore.
 *
 * Hundreds of parts are compiled in and a run asks for a few. So opening reads heads, names and codes only, a few words an
 * entry; pins, units and figures are read when the part is first asked for. A family's line is read once for each member,
 * with * and $ replaced. */
#include "shelf/part.h"

#include <math.h>
#include <string.h>

enum {
    NAME_MOST = 64,                 /* bytes of a name, alias or code */
    FILLED_MOST = 16 * 1024 * 1024, /* bytes of all lines that families were written out to */
};

/* ---- lines of a family ---- */

static bool is_family(const PartSlot *slot) { return slot->entry != NULL && text_is(slot->entry->head.word, "family"); }

/* The text with * and $ replaced; the text itself when there is neither, or when a hostile family would fill the memory. */
static Text filled(Parts *parts, const PartSlot *slot, Text text) {
    bool any = text.len > 0 && (memchr(text.at, '*', text.len) != NULL || memchr(text.at, '$', text.len) != NULL);
    if (!is_family(slot) || !any || parts->filled > FILLED_MOST) return text;
    Out out = out_new(parts->arena);
    for (size_t i = 0; i < text.len; i++) {
        if (text.at[i] == '*')
            out_add(&out, slot->member);
        else if (text.at[i] == '$')
            out_add(&out, slot->value);
        else
            out_char(&out, text.at[i]);
    }
    parts->filled += out.len;
    return out_text(&out);
}

static LoreLine filled_line(Parts *parts, const PartSlot *slot, const LoreLine *line) {
    LoreLine copy = *line;
    copy.text = filled(parts, slot, line->text);
    return copy;
}

/* ---- names ---- */

static Text upper(Arena *arena, Text text) {
    Text copy = text_copy(arena, text);
    for (size_t i = 0; i < copy.len; i++)
        if (copy.at[i] >= 'a' && copy.at[i] <= 'z') ((char *)copy.at)[i] = (char)(copy.at[i] - 'a' + 'A');
    return copy;
}

static void add_name(Parts *parts, Text name, uint32_t part) {
    uint32_t before = names_count(parts->exact);
    uint32_t number = names_add(parts->exact, upper(parts->arena, name));
    if (number == before) list_push(parts->arena, &parts->exact_part, part);
    list_push(parts->arena, &parts->spellings, ((Spelling){.text = name, .part = part}));
}

uint32_t parts_find(const Parts *parts, Text name) {
    char folded[NAME_MOST];
    if (name.len > NAME_MOST) return UINT32_MAX;
    for (size_t i = 0; i < name.len; i++)
        folded[i] = (char)(name.at[i] >= 'a' && name.at[i] <= 'z' ? name.at[i] - 32 : name.at[i]);
    uint32_t number = names_find(parts->exact, (Text){folded, name.len});
    return number == NAME_NONE ? UINT32_MAX : parts->exact_part.at[number];
}

static bool take_name(Lore *lore, const LoreLine *line, Lexer *lexer, Text *name) {
    Token token = lex_take(lexer);
    *name = lex_string(lore->arena, token);
    if (token.kind == LEX_STRING && name->len > 0 && name->len <= NAME_MOST) return true;
    lore_problem(lore, line, token.column, TEXT("this is no name"), TEXT("up to 64 characters in quotes"), TEXT(""));
    return false;
}

/* also = "also" string { string } */
static void read_also(Parts *parts, const LoreLine *line, uint32_t part) {
    Lexer lexer = lore_lexer(line);
    Text name;
    do {
        if (!take_name(parts->lore, line, &lexer, &name)) return;
        add_name(parts, name, part);
    } while (!lex_at_end(&lexer));
}

/* code = "code" string { string } [ "in" package ] */
static void read_code(Parts *parts, const LoreLine *line, uint32_t part) {
    Lexer lexer = lore_lexer(line);
    uint32_t first = parts->spellings.count;
    Text code;
    do {
        if (!take_name(parts->lore, line, &lexer, &code)) return;
        list_push(parts->arena, &parts->spellings, ((Spelling){.text = code, .part = part, .code = true}));
    } while (lex_peek(&lexer).kind == LEX_STRING);
    if (lex_take_if(&lexer, "in") && lex_peek(&lexer).kind == LEX_WORD) {
        Text body = lex_take(&lexer).text;
        for (uint32_t i = first; i < parts->spellings.count; i++) parts->spellings.at[i].body = body;
    }
    if (!lex_at_end(&lexer))
        lore_problem(parts->lore, line, lex_peek(&lexer).column, TEXT("this does not belong to a code"),
                     TEXT("`in` and one package, or the line's end"), TEXT(""));
}

/* ---- details ---- */

static void unexpected(Parts *parts, const LoreLine *line, const Lexer *lexer, Text expected) {
    lore_problem(parts->lore, line, lex_peek(lexer).column, TEXT("this does not belong here"), expected, TEXT(""));
}

static bool known(Parts *parts, const LoreLine *line, Token token, const Names *names, Text what) {
    if (token.kind == LEX_WORD && (names_count(names) == 0 || names_find(names, token.text) != NAME_NONE)) return true;
    lore_problem(parts->lore, line, token.column, text_fmt(parts->arena, "no such %.*s", TEXT_ARG(what)),
                 text_fmt(parts->arena, "a %.*s of lore/kinds.lore", TEXT_ARG(what)), TEXT(""));
    return false;
}

typedef LIST(ShelfPin) PinList;

/* pins = { number function } */
static PinList read_pins(Parts *parts, const LoreLine *line, Lexer *lexer) {
    PinList pins = {0};
    while (!lex_at_end(lexer)) {
        Token number = lex_take(lexer), function = lex_take(lexer);
        if (number.kind != LEX_WORD || function.kind != LEX_WORD) {
            lore_problem(parts->lore, line, number.column, TEXT("pins come in pairs"),
                         TEXT("a pin number and its function"), TEXT("8 VCC"));
            break;
        }
        list_push(parts->arena, &pins, ((ShelfPin){number.text, function.text}));
    }
    return pins;
}

typedef struct Details {
    LIST(Text) packages;
    PinList pins;
    LIST(ShelfUnit) units;
    LIST(ShelfProperty) properties;
} Details;

/* package = "package" word { word } */
static void read_packages(Parts *parts, const LoreLine *line, Details *details) {
    Lexer lexer = lore_lexer(line);
    while (lex_peek(&lexer).kind == LEX_WORD) list_push(parts->arena, &details->packages, lex_take(&lexer).text);
    if (!lex_at_end(&lexer)) unexpected(parts, line, &lexer, TEXT("names of packages"));
}

/* unit = "unit" kind { number function } */
static void read_unit(Parts *parts, const LoreLine *line, Details *details) {
    Lexer lexer = lore_lexer(line);
    Token kind = lex_take(&lexer);
    if (!known(parts, line, kind, parts->kinds, TEXT("kind"))) return;
    PinList pins = read_pins(parts, line, &lexer);
    list_push(parts->arena, &details->units, ((ShelfUnit){kind.text, pins.at, pins.count}));
}

/* property = "property" name quantity */
static void read_property(Parts *parts, const LoreLine *line, Details *details) {
    Lexer lexer = lore_lexer(line);
    ShelfProperty property;
    Token name = lex_take(&lexer);
    if (!known(parts, line, name, parts->properties, TEXT("property"))) return;
    property.name = name.text;
    if (!lex_take_quantity(&lexer, &property.value, NULL)) {
        unexpected(parts, line, &lexer, TEXT("a value with its unit"));
        return;
    }
    list_push(parts->arena, &details->properties, property);
}

/* about = "about" string */
static void read_about(Parts *parts, const LoreLine *line, ShelfPart *part) {
    Lexer lexer = lore_lexer(line);
    Token about = lex_take(&lexer);
    if (about.kind != LEX_STRING) {
        lore_problem(parts->lore, line, about.column, TEXT("this says nothing"), TEXT("one line in quotes"), TEXT(""));
        return;
    }
    part->about = lex_string(parts->arena, about);
}

/* supply = "supply" quantity in volts */
static void read_supply(Parts *parts, const LoreLine *line, ShelfPart *part) {
    Lexer lexer = lore_lexer(line);
    if (!lex_take_quantity(&lexer, &part->supply, NULL) || !unit_same(part->supply.unit, UNIT_VOLT)) {
        unexpected(parts, line, &lexer, TEXT("volts, such as 3..32 V"));
        part->supply = (Quantity){0};
    }
}

static void read_detail(Parts *parts, const LoreLine *line, ShelfPart *part, Details *details) {
    static const Text words[] = {TEXT_INIT("about"),   TEXT_INIT("also"),     TEXT_INIT("code"),
                                 TEXT_INIT("package"), TEXT_INIT("pins"),     TEXT_INIT("unit"),
                                 TEXT_INIT("supply"),  TEXT_INIT("property"), TEXT_INIT("members")};
    if (text_is(line->word, "about")) {
        read_about(parts, line, part);
    } else if (text_is(line->word, "package")) {
        read_packages(parts, line, details);
    } else if (text_is(line->word, "pins")) {
        Lexer lexer = lore_lexer(line);
        details->pins = read_pins(parts, line, &lexer);
    } else if (text_is(line->word, "unit")) {
        read_unit(parts, line, details);
    } else if (text_is(line->word, "supply")) {
        read_supply(parts, line, part);
    } else if (text_is(line->word, "property")) {
        read_property(parts, line, details);
    } else if (!text_is(line->word, "also") && !text_is(line->word, "code") && !text_is(line->word, "members")) {
        Text nearest = text_nearest(line->word, words, sizeof words / sizeof words[0]);
        Text hint = nearest.len == 0 ? nearest : text_fmt(parts->arena, "did you mean `%.*s`?", TEXT_ARG(nearest));
        lore_problem(parts->lore, line, 1, TEXT("a part has no such line"),
                     TEXT("about, also, code, package, pins, unit, supply or property"), hint);
    }
}

uint32_t package_leads(Text package) {
    static const char *const unsaid[] = {"SOT-", "TO-", "SOD-", "DO-", "SC-", "D2", "SMA", "SMB", "SMC"};
    size_t end = package.len, hyphens = 0;
    while (end > 0 && package.at[end - 1] >= '0' && package.at[end - 1] <= '9') end--;
    for (size_t i = 0; i < end; i++) hyphens += package.at[i] == '-';
    if (end == package.len || package.len - end > 3) return 0;
    for (size_t i = 0; i < sizeof unsaid / sizeof unsaid[0]; i++)
        if (text_starts(package, unsaid[i]) && hyphens < 2) return 0;
    uint32_t leads = 0;
    for (size_t i = end; i < package.len; i++) leads = leads * 10 + (uint32_t)(package.at[i] - '0');
    return leads;
}

/* What all its packages agree on, or else its pin list. */
static uint32_t leads_of(const ShelfPart *part) {
    uint32_t leads = 0;
    for (uint32_t i = 0; i < part->package_count; i++) {
        uint32_t one = package_leads(part->packages[i]);
        if (one == 0 || (leads != 0 && one != leads)) return part->pin_count;
        leads = one;
    }
    return leads == 0 ? part->pin_count : leads;
}

const ShelfPart *parts_read(Parts *parts, uint32_t number) {
    PartSlot *slot = parts->slots.at[number];
    if (slot->read) return &slot->part;
    slot->read = true;
    Details details = {0};
    ShelfPart *part = &slot->part;
    for (uint32_t i = 0; i < slot->entry->line_count; i++) {
        LoreLine line = filled_line(parts, slot, &slot->entry->lines[i]);
        read_detail(parts, &line, part, &details);
    }
    part->packages = details.packages.at, part->package_count = details.packages.count;
    part->pins = details.pins.at, part->pin_count = details.pins.count;
    part->units = details.units.at, part->unit_count = details.units.count;
    part->properties = details.properties.at, part->property_count = details.properties.count;
    part->leads = leads_of(part);
    return part;
}

/* ---- heads ---- */

static void add_slot(Parts *parts, const LoreEntry *entry, Text name, Text kind, Text member, Text value) {
    uint32_t number = parts->slots.count;
    PartSlot *slot = arena_one(parts->arena, PartSlot);
    list_push(parts->arena, &parts->slots, slot);
    slot->entry = entry, slot->member = member, slot->value = value, slot->first_spelling = parts->spellings.count;
    slot->part = (ShelfPart){.kind = kind, .about = TEXT(""), .currency = TEXT(""), .price = NAN};
    slot->part.name = filled(parts, slot, name);
    slot->part.source = entry->builtin ? TEXT("general knowledge") : lore_place(parts->arena, &entry->head);
    add_name(parts, slot->part.name, number);
    for (uint32_t i = 0; i < entry->line_count; i++) {
        bool also = text_is(entry->lines[i].word, "also");
        if (!also && !text_is(entry->lines[i].word, "code")) continue;
        LoreLine line = filled_line(parts, slot, &entry->lines[i]);
        (also ? read_also : read_code)(parts, &line, number);
    }
    if (!entry->builtin) parts_read(parts, number);
}

/* members = "members" { word [ "=" word ] } */
static void read_members(Parts *parts, const LoreEntry *entry, const LoreLine *line, Text name, Text kind) {
    Lexer lexer = lore_lexer(line);
    while (lex_peek(&lexer).kind == LEX_WORD) {
        Token member = lex_take(&lexer);
        Text value = member.text;
        if (lex_take_if(&lexer, "=")) {
            if (lex_peek(&lexer).kind != LEX_WORD) break;
            value = lex_take(&lexer).text;
        }
        if (member.text.len + name.len > NAME_MOST || parts->filled > FILLED_MOST) {
            lore_problem(parts->lore, line, member.column, TEXT("this family grows too large"),
                         TEXT("names of up to 64 characters, 16 MB in all"), TEXT(""));
            return;
        }
        add_slot(parts, entry, name, kind, member.text, value);
    }
    if (!lex_at_end(&lexer)) unexpected(parts, line, &lexer, TEXT("members such as 05=5"));
}

/* entry = ( "part" | "family" ) string kind */
static void read_head(Parts *parts, const LoreEntry *entry) {
    Lexer lexer = lore_lexer(&entry->head);
    Text name;
    if (!take_name(parts->lore, &entry->head, &lexer, &name)) return;
    Token kind = lex_take(&lexer);
    if (!known(parts, &entry->head, kind, parts->kinds, TEXT("kind"))) return;
    if (!lex_at_end(&lexer)) unexpected(parts, &entry->head, &lexer, TEXT("the line's end"));
    if (text_is(entry->head.word, "part")) {
        add_slot(parts, entry, name, kind.text, TEXT(""), TEXT(""));
        return;
    }
    bool any = false;
    for (uint32_t i = 0; i < entry->line_count; i++) {
        if (!text_is(entry->lines[i].word, "members")) continue;
        read_members(parts, entry, &entry->lines[i], name, kind.text);
        any = true;
    }
    if (!any)
        lore_problem(parts->lore, &entry->head, 1, TEXT("this family has no members"), TEXT("a line `members 05=5 12=12`"),
                     TEXT(""));
}

Parts *parts_new(Arena *arena, Lore *lore) {
    Parts *parts = arena_one(arena, Parts);
    *parts = (Parts){
        .arena = arena, .lore = lore, .kinds = names_new(arena), .properties = names_new(arena), .exact = names_new(arena)};
    for (uint32_t i = 0; i < lore->entries.count; i++) {
        const LoreLine *head = &lore->entries.at[i].head;
        bool kind = text_is(head->word, "kind");
        if (!kind && !text_is(head->word, "property")) continue;
        Lexer lexer = lore_lexer(head);
        names_add(kind ? parts->kinds : parts->properties, lex_peek(&lexer).text);
    }
    for (uint32_t i = 0; i < lore->entries.count; i++) {
        const LoreEntry *entry = &lore->entries.at[i];
        if (text_is(entry->head.word, "part") || text_is(entry->head.word, "family")) read_head(parts, entry);
    }
    return parts;
}

void parts_add(Parts *parts, const ShelfPart *part, const Text *aliases, uint32_t alias_count, const Text *codes,
               uint32_t code_count) {
    uint32_t number = parts->slots.count;
    PartSlot *slot = arena_one(parts->arena, PartSlot);
    *slot = (PartSlot){.part = *part, .read = true, .first_spelling = parts->spellings.count};
    list_push(parts->arena, &parts->slots, slot);
    add_name(parts, part->name, number);
    for (uint32_t i = 0; i < alias_count; i++) add_name(parts, aliases[i], number);
    for (uint32_t i = 0; i < code_count; i++)
        list_push(parts->arena, &parts->spellings, ((Spelling){.text = codes[i], .part = number, .code = true}));
}
