/* Names to dense numbers and back: 0, 1, 2 ... in the order first seen. Hashing is XXH3 (libxxhash). */
#ifndef UNPICK_BASE_NAMES_H
#define UNPICK_BASE_NAMES_H

#include "base/text.h"

enum { NAME_NONE = UINT32_MAX };

typedef struct Names Names;

Names *names_new(Arena *arena);
/* Makes room for so many names in all, so that filling it wastes nothing. */
void names_reserve(Names *names, uint32_t count);
uint32_t names_add(Names *names, Text name);        /* its number; a new name is not copied: it must outlive the arena */
/* A hint that this name will soon be added or looked for: its place in memory is fetched meanwhile. */
void names_expect(const Names *names, Text name);
uint32_t names_find(const Names *names, Text name); /* its number, or NAME_NONE */
Text names_text(const Names *names, uint32_t number);
uint32_t names_count(const Names *names);

#endif
