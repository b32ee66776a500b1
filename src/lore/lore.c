#include "lore/lore.h"
#include "base/file.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

enum { LORE_FILE_MOST = 16 * 1024 * 1024, LORE_LINE_MOST = 64 * 1024 };

Lore *lore_new(Arena *arena) {
    Lore *lore = arena_one(arena, Lore);
    lore->arena = arena;
    lore->problems = diags_new(arena);
    return lore;
}

void lore_add_builtin(Lore *lore) {
    uint32_t before = lore->entries.count;
    for (size_t i = 0; i < LORE_FILE_COUNT; i++)
        lore_add_text(lore, text_of(LORE_FILES[i].name), (Text){LORE_FILES[i].content, LORE_FILES[i].len});
    for (uint32_t i = before; i < lore->entries.count; i++) lore->entries.at[i].builtin = true;
}

typedef LIST(LoreLine) LoreLines;

/* The lines of one file with blank and comment-only lines left out; each checked to be text. */
static LoreLines cut_lines(Lore *lore, Text file, Text content) {
    LoreLines lines = {0};
    uint32_t number = 0;
    if (text_starts(content, "\xEF\xBB\xBF")) content = text_sub(content, 3, content.len);
    while (content.len > 0) {
        const char *end = memchr(content.at, '\n', content.len);
        size_t len = end == NULL ? content.len : (size_t)(end - content.at);
        LoreLine line = {.text = {content.at, len}, .file = file, .line = ++number};
        content = text_sub(content, len + 1, content.len);
        if (line.text.len > LORE_LINE_MOST) {
            line.text.len = 0;
            lore_problem(lore, &line, 0, TEXT("this line is longer than 65,536 bytes"), TEXT(""), TEXT("left out"));
            continue;
        }
        size_t bad = text_bad_byte(line.text);
        if (bad < line.text.len) {
            lore_problem(lore, &line, (uint32_t)bad + 1, TEXT("this byte is not text"), TEXT("UTF-8"), TEXT(""));
            continue;
        }
        Lexer lexer;
        lex_start(&lexer, line.text);
        if (lex_at_end(&lexer)) continue;
        line.word = lex_peek(&lexer).text;
        list_push(lore->arena, &lines, line);
    }
    return lines;
}

void lore_add_text(Lore *lore, Text file, Text content) {
    LoreLines lines = cut_lines(lore, file, content);
    for (uint32_t i = 0; i < lines.count;) {
        LoreLine *head = &lines.at[i++];
        if (head->text.at[0] == ' ' || head->text.at[0] == '\t') {
            lore_problem(lore, head, 1, TEXT("this line belongs to no entry"), TEXT("an entry's head in column 1 above it"),
                         TEXT(""));
            continue;
        }
        LoreEntry *entry = list_add(lore->arena, &lore->entries);
        entry->head = *head;
        entry->lines = &lines.at[i];
        while (i < lines.count && (lines.at[i].text.at[0] == ' ' || lines.at[i].text.at[0] == '\t')) i++;
        entry->line_count = (uint32_t)(&lines.at[i] - entry->lines);
    }
}

static int is_lore(const struct dirent *item) {
    size_t len = strlen(item->d_name);
    return item->d_name[0] != '.' && len > 5 && strcmp(item->d_name + len - 5, ".lore") == 0;
}

bool lore_add_folder(Lore *lore, const char *folder) {
    struct dirent **items = NULL;
    int count = scandir(folder, &items, is_lore, alphasort);
    bool all = true;
    for (int i = 0; i < count; i++) {
        Text path = text_fmt(lore->arena, "%s/%s", folder, items[i]->d_name);
        Text content;
        free(items[i]);
        if (file_read(lore->arena, path.at, LORE_FILE_MOST, &content)) {
            lore_add_text(lore, path, content);
            continue;
        }
        LoreLine whole = {.file = path};
        lore_problem(lore, &whole, 0, text_fmt(lore->arena, "can't be read: %s", strerror(errno)), TEXT(""), TEXT(""));
        all = false;
    }
    free(items);
    return all;
}

Lexer lore_lexer(const LoreLine *line) {
    Lexer lexer;
    lex_start(&lexer, line->text);
    lex_take(&lexer);
    return lexer;
}

void lore_problem(Lore *lore, const LoreLine *line, uint32_t column, Text message, Text expected, Text hint) {
    diag_add(&lore->problems, (Diag){.place = {line->file, line->line, column},
                                     .message = message,
                                     .expected = expected,
                                     .hint = hint,
                                     .source = line->text});
}

Text lore_place(Arena *arena, const LoreLine *line) {
    return text_fmt(arena, "%.*s:%u", TEXT_ARG(line->file), line->line);
}
