/* Notes out of text: lines cut, checked for bytes that are no text, and read by recursive descent; each grammar rule is one
 * function with its rule above it (here, pieces.c, qualifiers.c, statements.c, working.c, part.c). One pass, one lookahead token, no
 * copies: a note points into the file. What a line needs while it is read is gathered in lists that are used again. */
#include "note/parser.h"

#include <string.h>

static const Text VERBS[NOTE_VERB_COUNT] = {
    [NOTE_PRODUCT] = TEXT_INIT("product"), [NOTE_BOUGHT] = TEXT_INIT("bought"), [NOTE_RATED] = TEXT_INIT("rated"),
    [NOTE_STEP] = TEXT_INIT("step"),       [NOTE_BOARD] = TEXT_INIT("board"),   [NOTE_PHOTO] = TEXT_INIT("photo"),
    [NOTE_PART] = TEXT_INIT("part"),       [NOTE_JOIN] = TEXT_INIT("join"),     [NOTE_APART] = TEXT_INIT("apart"),
    [NOTE_NET] = TEXT_INIT("net"),         [NOTE_CUT] = TEXT_INIT("cut"),       [NOTE_BRIDGE] = TEXT_INIT("bridge"),
    [NOTE_HIDDEN] = TEXT_INIT("hidden"),   [NOTE_HOLE] = TEXT_INIT("hole"),     [NOTE_COPPER] = TEXT_INIT("copper"),
    [NOTE_BARE] = TEXT_INIT("bare"),       [NOTE_MODE] = TEXT_INIT("mode"),     [NOTE_DRIVE] = TEXT_INIT("drive"),
    [NOTE_PRESS] = TEXT_INIT("press"),     [NOTE_STALL] = TEXT_INIT("stall"),   [NOTE_DUTY] = TEXT_INIT("duty"),
    [NOTE_GEAR] = TEXT_INIT("gear"),       [NOTE_MEMORY] = TEXT_INIT("memory"), [NOTE_READ] = TEXT_INIT("read"),
    [NOTE_CLAIM] = TEXT_INIT("claim"),     [NOTE_ASK] = TEXT_INIT("ask"),       [NOTE_STRIKE] = TEXT_INIT("strike"),
    [NOTE_MARK] = TEXT_INIT("mark"),       [NOTE_LICENCE] = TEXT_INIT("licence"),
};

static NoteRule *const RULES[NOTE_VERB_COUNT] = {
    [NOTE_PRODUCT] = note_rule_product, [NOTE_BOUGHT] = note_rule_bought, [NOTE_RATED] = note_rule_rated,
    [NOTE_STEP] = note_rule_step,       [NOTE_BOARD] = note_rule_board,   [NOTE_PHOTO] = note_rule_photo,
    [NOTE_PART] = note_rule_part,       [NOTE_JOIN] = note_rule_join,     [NOTE_APART] = note_rule_join,
    [NOTE_NET] = note_rule_net,         [NOTE_CUT] = note_rule_cut,       [NOTE_BRIDGE] = note_rule_bridge,
    [NOTE_HIDDEN] = note_rule_hidden,   [NOTE_HOLE] = note_rule_hole,     [NOTE_COPPER] = note_rule_cut,
    [NOTE_BARE] = note_rule_cut,        [NOTE_MODE] = note_rule_mode,     [NOTE_DRIVE] = note_rule_drive,
    [NOTE_PRESS] = note_rule_press,     [NOTE_STALL] = note_rule_press,   [NOTE_DUTY] = note_rule_duty,
    [NOTE_GEAR] = note_rule_gear,       [NOTE_MEMORY] = note_rule_memory, [NOTE_READ] = note_rule_read,
    [NOTE_CLAIM] = note_rule_claim,     [NOTE_ASK] = note_rule_ask,       [NOTE_STRIKE] = note_rule_strike,
    [NOTE_MARK] = note_rule_mark,       [NOTE_LICENCE] = note_rule_licence,
};

static const char ANY_VERB[] =
    "product, bought, rated, step, board, photo, part, join, apart, net, cut, bridge, hidden, hole, copper, bare, mode, drive, "
    "press, stall, duty, gear, memory, read, claim, ask, mark, licence or strike";

Text note_verb_name(NoteVerb verb) { return VERBS[verb]; }

/* By the verb's first letter, of which at most four verbs share one: each number plus one. */
static NoteVerb verb_of(Text word) {
    enum { SHARE_MOST = 4 };
    static const unsigned char by_letter[26][SHARE_MOST] = {
        ['a' - 'a'] = {NOTE_APART + 1, NOTE_ASK + 1},
        ['b' - 'a'] = {NOTE_BOARD + 1, NOTE_BOUGHT + 1, NOTE_BRIDGE + 1, NOTE_BARE + 1},
        ['c' - 'a'] = {NOTE_CLAIM + 1, NOTE_CUT + 1, NOTE_COPPER + 1},
        ['d' - 'a'] = {NOTE_DRIVE + 1, NOTE_DUTY + 1},
        ['g' - 'a'] = {NOTE_GEAR + 1},
        ['h' - 'a'] = {NOTE_HOLE + 1, NOTE_HIDDEN + 1},
        ['j' - 'a'] = {NOTE_JOIN + 1},
        ['l' - 'a'] = {NOTE_LICENCE + 1},
        ['m' - 'a'] = {NOTE_MODE + 1, NOTE_MARK + 1, NOTE_MEMORY + 1},
        ['n' - 'a'] = {NOTE_NET + 1},
        ['p' - 'a'] = {NOTE_PART + 1, NOTE_PHOTO + 1, NOTE_PRODUCT + 1, NOTE_PRESS + 1},
        ['r' - 'a'] = {NOTE_READ + 1, NOTE_RATED + 1},
        ['s' - 'a'] = {NOTE_STEP + 1, NOTE_STRIKE + 1, NOTE_STALL + 1},
    };
    if (word.at[0] < 'a' || word.at[0] > 'z') return NOTE_VERB_COUNT;
    const unsigned char *some = by_letter[word.at[0] - 'a'];
    for (int i = 0; i < SHARE_MOST && some[i] != 0; i++)
        if (text_same(word, VERBS[some[i] - 1])) return (NoteVerb)(some[i] - 1);
    return NOTE_VERB_COUNT;
}

Parser parser_new(Arena *arena, Text file, Diags *problems) {
    return (Parser){.arena = arena, .scratch = arena_new(), .problems = problems, .file = file};
}

void parser_free(Parser *parser) { arena_free(parser->scratch); }

/* note = verb statement, with { qualifier } anywhere after the verb */
static bool statement(Parser *p, Note *note) {
    if (lex_peek(&p->lex).kind != LEX_WORD) return parser_wanted(p, ANY_VERB, TEXT(""));
    Token word = lex_peek(&p->lex);
    NoteVerb verb = verb_of(word.text);
    if (verb == NOTE_VERB_COUNT)
        return parser_wrong(p, word, "is not a verb", ANY_VERB, parser_nearest(p, word.text, VERBS, NOTE_VERB_COUNT));
    lex_take(&p->lex);
    *note = (Note){.line = p->line, .verb = verb};
    p->failed = false;
    p->said = 0;
    p->at_rate = false;
    if (!RULES[verb](p, note)) return false;
    note->with = parser_keep_qualifiers(p);
    return true;
}

/* ---- lines ---- */

static bool eight_plain(const char *at) {
    uint64_t w;
    memcpy(&w, at, 8);
    const uint64_t top = 0x8080808080808080u, blank = 0x2020202020202020u, delete = 0x7F7F7F7F7F7F7F7Fu;
    uint64_t d = w ^ delete;
    return ((w | (w - blank) | (d - top / 128)) & top) == 0;
}

/* Offset of the first byte that no note may have: no UTF-8, or a control character other than the tab. */
static size_t bad_byte(Text line) {
    size_t i = 0;
    while (i + 8 <= line.len && eight_plain(line.at + i)) i += 8;
    if (i == line.len) return i;
    Text rest = text_sub(line, i, line.len);
    size_t end = text_bad_byte(rest);
    for (size_t k = 0; k < end; k++) {
        unsigned char c = (unsigned char)rest.at[k];
        if ((c < 0x20 && c != '\t') || c == 0x7F) return i + k;
    }
    return i + end;
}

static bool refuse_byte(Parser *p, size_t offset) {
    unsigned char c = (unsigned char)p->source.at[offset];
    uint32_t column = (uint32_t)offset + 1;
    if (c >= 0x80)
        return parser_problem(p, column, TEXT("this is not UTF-8"), "UTF-8 text", TEXT("set the editor to save as UTF-8"));
    if (c == 0) return parser_problem(p, column, TEXT("a NUL byte"), "text", TEXT("delete it, or save the file as UTF-8"));
    return parser_problem(p, column, TEXT("a control character"), "text", TEXT("delete it"));
}

/* line = [ note ] [ comment ] */
static bool read_line(Parser *p, uint32_t number, Text line, Note *note) {
    if (line.len > 0 && line.at[line.len - 1] == '\r') line.len--;
    size_t start = 0;
    while (start < line.len && (line.at[start] == ' ' || line.at[start] == '\t')) start++;
    if (start == line.len || line.at[start] == '#') return false;
    p->line = number;
    p->source = line;
    if (line.len > NOTE_LINE_MOST) {
        p->source = text_sub(line, 0, 100);
        return parser_problem(p, 0, TEXT("the line is too long for a note"), "at most 65536 bytes", TEXT("cut it in two"));
    }
    size_t bad = bad_byte(line);
    if (bad < line.len) return refuse_byte(p, bad);
    lex_start_at(&p->lex, line, start);
    return statement(p, note);
}

bool note_parse(Arena *arena, Text file, uint32_t line, Text text, Note *note, Diags *problems) {
    Parser parser = parser_new(arena, file, problems);
    bool done = read_line(&parser, line, text, note);
    parser_free(&parser);
    return done;
}

/* ---- files ---- */

typedef struct LineCount {
    uint32_t lines;
    size_t noted; /* lines that are not plainly blank or a comment */
} LineCount;

static LineCount count_lines(Text content) {
    LineCount count = {0};
    const char *at = content.at, *end = content.at + content.len;
    while (at < end) {
        count.lines++;
        count.noted += *at != '#' && *at != '\n' && *at != '\r';
        const char *newline = memchr(at, '\n', (size_t)(end - at));
        at = newline == NULL ? end : newline + 1;
    }
    return count;
}

enum { NOTE_LEAST = 7 }; /* bytes of the shortest note with its newline: `mode a` */

static void read_lines(Notebook *book, Parser *p, Text content, uint64_t *bad) {
    uint32_t number = 0;
    for (const char *at = content.at, *end = at + content.len; at < end;) {
        const char *newline = memchr(at, '\n', (size_t)(end - at));
        const char *stop = newline == NULL ? end : newline;
        Note note;
        uint32_t known = p->problems->list.count + p->problems->left_out;
        if (read_line(p, ++number, (Text){at, (size_t)(stop - at)}, &note))
            list_push(p->arena, &book->notes, note);
        else if (p->problems->list.count + p->problems->left_out > known)
            bad[number / 64] |= (uint64_t)1 << number % 64;
        at = newline == NULL ? end : newline + 1;
    }
}

static bool utf16(Text content) { return text_starts(content, "\xFF\xFE") || text_starts(content, "\xFE\xFF"); }

Notebook *note_read(Arena *arena, Text file, Text content) {
    Notebook *book = arena_one(arena, Notebook);
    book->file = file;
    book->problems = diags_new(arena);
    if (text_starts(content, "\xEF\xBB\xBF")) content = text_sub(content, 3, content.len);
    LineCount count = count_lines(content);
    book->lines = count.lines;
    if (utf16(content)) {
        diag_add(&book->problems, (Diag){{file, 0, 0},
                                         TEXT("the file is UTF-16"),
                                         TEXT("UTF-8 text"),
                                         TEXT("set the editor to save as UTF-8"),
                                         TEXT("")});
        return book;
    }
    size_t most = content.len / NOTE_LEAST + 1;
    book->notes.room = (uint32_t)(count.noted < most ? count.noted : most);
    book->notes.at = arena_many(arena, Note, book->notes.room);
    Parser parser = parser_new(arena, file, &book->problems);
    uint64_t *bad = arena_many(parser.scratch, uint64_t, count.lines / 64 + 1);
    read_lines(book, &parser, content, bad);
    note_apply_strikes(book, &parser, bad);
    parser_free(&parser);
    return book;
}
