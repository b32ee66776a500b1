/* Words of one line: what notes and lore have in common.
 *
 *   word    a run of anything but blanks and the signs below: `U1.8`, `BT1.+`, `6.21`, `paper-phenolic`
 *   string  "between quotes"; \" and \\ stand for themselves
 *   sign    one of ( ) , = :
 *   #       at the start of a word begins a comment that ends with the line
 */
#ifndef UNPICK_BASE_LEX_H
#define UNPICK_BASE_LEX_H

#include "base/quantity.h"
#include "base/text.h"

typedef enum LexKind { LEX_END, LEX_WORD, LEX_STRING, LEX_SIGN, LEX_OPEN_STRING /* the closing quote is missing */ } LexKind;

typedef struct Token {
    LexKind kind;
    uint32_t column; /* from 1, in bytes, of its first byte (the quote of a string) */
    Text text;       /* for a string: what is between the quotes, escapes still in */
} Token;

typedef struct Lexer {
    Text line;
    size_t at; /* where the next token's search starts */
    Token next;
} Lexer;

void lex_start(Lexer *lexer, Text line);
/* Starts at byte offset `from` of the line; columns still count from the line's start. */
void lex_start_at(Lexer *lexer, Text line, size_t from);
static inline Token lex_peek(const Lexer *lexer) { return lexer->next; }
Token lex_take(Lexer *lexer);
bool lex_is(const Lexer *lexer, const char *word);      /* the next token is this word or sign */
bool lex_take_if(Lexer *lexer, const char *word_or_sign); /* takes it if it is */
bool lex_at_end(const Lexer *lexer);

/* Takes the quantity that starts at the next token and ends at the end of some token (`6.21 V`, `10k ±5%`, `3..5 V`). */
bool lex_take_quantity(Lexer *lexer, Quantity *quantity, Text *written);

/* What a string token says, escapes resolved; not copied when there are none. */
Text lex_string(Arena *arena, Token token);
/* The other way: writes "..." with escapes. */
void lex_print_string(Out *out, Text text);
/* Everything from the next token to the end of the line, comment included. */
Text lex_rest(const Lexer *lexer);

#endif
