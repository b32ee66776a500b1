/* Inside the note room: the state of reading one line, and the pieces that every statement is made of.
 *
 * Each rule takes its tokens from the lexer and gives false after noting one problem; the rest of the line is then left. */
#ifndef UNPICK_NOTE_PARSER_H
#define UNPICK_NOTE_PARSER_H

#include "base/lex.h"
#include "note/note.h"

typedef struct Parser {
    Arena *arena;   /* what the notes keep */
    Arena *scratch; /* the lists below */
    Diags *problems;
    Text file, source;
    uint32_t line;
    Lexer lex;
    bool failed;
    unsigned said; /* the qualifiers of this line, as bits */
    bool at_rate;  /* `at` is a word of the statement, unless a point follows */
    NoteQualifiers with;
    const NoteQualifiers *last_with; /* of an earlier line: kept once when the next says the same */
    unsigned last_said;
    LIST(NoteTerminal) terminals; /* gathered here, then kept in their exact number */
    LIST(NotePoint) points;
    LIST(NoteItem) items;
    LIST(Text) words;
    LIST(NoteRatio) ratios;
} Parser;

Parser parser_new(Arena *arena, Text file, Diags *problems);
void parser_free(Parser *parser);

/* ---- problems; each gives false ---- */

/* The next token is not `what`. */
bool parser_wanted(Parser *parser, const char *what, Text hint);
/* The token is what it should be, but "`token` complaint". */
bool parser_wrong(Parser *parser, Token token, const char *complaint, const char *expected, Text hint);
/* The next token has no place in the statement; `words` (size count) are the words that could have been meant. */
bool parser_stray(Parser *parser, const Text *words, size_t count);
/* About the line, or a column of it. */
bool parser_problem(Parser *parser, uint32_t column, Text message, const char *expected, Text hint);
/* "did you mean `...`?" for the nearest of the words; empty when none is near. Costs nothing once problems overflow. */
Text parser_nearest(Parser *parser, Text word, const Text *words, size_t count);

/* ---- pieces ---- */

/* Takes the qualifiers that stand here, if any; a string is a remark only if `remarks`. False on a problem. */
bool parser_qualifiers(Parser *parser, bool remarks);
/* The same with remarks; true when another word of the statement follows, false at the end or on a problem (failed). */
bool parser_more(Parser *parser);
bool qualifier_word(Text word);
/* Says `on BOARD SIDE` for the note in another way than by the qualifier; empty and unsaid: not. False when said already. */
bool parser_say_board(Parser *parser, Token token, Text board, NoteSide side);
/* The qualifiers and then the end of the line; `words` as in parser_stray. */
bool parser_end(Parser *parser, const Text *words, size_t count);
bool qualifiers_same(const NoteQualifiers *a, const NoteQualifiers *b);
/* What this line's qualifiers said, kept for the note. */
const NoteQualifiers *parser_keep_qualifiers(Parser *parser);

/* Each takes one piece. `what` says it for a problem: "a board's name". */
/* The words gathered, kept in their exact number; NULL when there are none. */
const Text *parser_keep_words(Parser *parser);
bool parser_string(Parser *parser, const char *what, Text *text);
bool parser_word(Parser *parser, const char *what, Token *token);
bool parser_name(Parser *parser, const char *what, Text *name); /* a word without a dot */
bool parser_ref(Parser *parser, const char *what, Text *ref);   /* a name that begins with a letter */
bool parser_whole(Parser *parser, const char *what, uint32_t *number);
bool parser_number(Parser *parser, const char *what, double least, double most, double *number);
bool parser_point(Parser *parser, NotePoint *point);
bool parser_at_point(const Parser *parser); /* the next token begins one */
bool lexer_at_point(Lexer ahead);
bool parser_file(Parser *parser, Text *name);
bool parser_terminal(Parser *parser, NoteTerminal *terminal);
bool parser_where(Parser *parser);  /* the board and side that may stand behind a verb of places */
bool parser_placed(Parser *parser, const char *what); /* whether `at X,Y` was among the qualifiers */

bool token_names_file(Token token); /* a string, or a word with a dot in it */
bool token_whole(Token token, uint32_t *number); /* digits alone, from 1 */
bool letter_first(Text text);
bool where_takes(Text word); /* a board's name that may stand right behind a verb of the copper */
bool token_side(Token token, NoteSide *side); /* `top` or `bottom` */
/* A decimal number of at most 15 digits, without exponent: exactly the nearest double. */
bool text_decimal(Text text, double *number);

/* ---- statements: what follows the verb, and whatever qualifiers stand in between ---- */

typedef bool NoteRule(Parser *parser, Note *note);
NoteRule note_rule_product, note_rule_bought, note_rule_rated, note_rule_step, note_rule_board, note_rule_photo,
    note_rule_part, note_rule_join, note_rule_net, note_rule_cut, note_rule_bridge, note_rule_hidden, note_rule_hole,
    note_rule_mode, note_rule_drive, note_rule_press, note_rule_duty, note_rule_gear, note_rule_memory, note_rule_read,
    note_rule_claim, note_rule_ask, note_rule_mark, note_rule_licence,
    note_rule_strike;

/* ---- files ---- */

/* Leaves out of the book what its strikes void. `bad` has a bit for every line that is a problem. */
void note_apply_strikes(Notebook *book, Parser *parser, const uint64_t *bad);

#endif
