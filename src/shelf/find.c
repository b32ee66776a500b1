/* Weighs what the index finds and keeps the best: each find costs one alignment, and the pool is a short sorted array. */
#include "shelf/find.h"

#include <string.h>

/* Moves the places of a word's characters to where the word stands in the marking. */
static void shift_places(Reading *reading, uint32_t by) {
    for (uint32_t i = 0; i < reading->len; i++) {
        uint32_t place = reading->place[i] + by;
        reading->place[i] = (unsigned char)(place < 255 ? place : 255);
    }
}

static bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

size_t marking_readings(Text marking, Reading *readings) {
    size_t count = 0;
    uint32_t passed = 0; /* characters before the word */
    marking = text_sub(marking, 0, 4 * READING_MOST);
    readings[count++] = reading_of(marking, true);
    for (size_t i = 0, from = 0; i <= marking.len && count <= MARKING_WORDS_MOST; i++) {
        if (i < marking.len && !is_blank(marking.at[i])) continue;
        Text word = text_sub(marking, from, i - from);
        if (word.len == marking.len) break;
        readings[count] = reading_of(word, true);
        shift_places(&readings[count], passed);
        if (readings[count].len >= CORE_LEAST) count++;
        for (; from <= i && from < marking.len; from++) passed += ((unsigned char)marking.at[from] & 0xC0) != 0x80;
        from = i + 1;
    }
    return count;
}

/* Order of the pool: weight, then fewer characters, then by the characters themselves, so that ties don't depend on chance.
 */
static bool before(const Candidate *a, const Candidate *b) {
    if (a->weight != b->weight) return a->weight > b->weight;
    if (a->spelling.len != b->spelling.len) return a->spelling.len < b->spelling.len;
    return memcmp(a->spelling.at, b->spelling.at, a->spelling.len) < 0;
}

static int larger(int a, int b) { return a > b ? a : b; }

static void take_out(Pool *pool, size_t place) {
    memmove(&pool->at[place], &pool->at[place + 1], (--pool->count - place) * sizeof *pool->at);
}

static void put_in(Pool *pool, const Candidate *candidate) {
    size_t place = pool->count;
    while (place > 0 && before(candidate, &pool->at[place - 1])) place--;
    if (place == pool->room) return;
    if (pool->count == pool->room) pool->count--;
    memmove(&pool->at[place + 1], &pool->at[place], (pool->count++ - place) * sizeof *pool->at);
    pool->at[place] = *candidate;
    if (pool->count >= pool->most)
        pool->asker.least = larger(pool->asker.least, pool->at[pool->most - 1].weight - pool->overtake);
    if (pool->count == pool->room) pool->asker.least = larger(pool->asker.least, pool->at[pool->room - 1].weight);
}

static void offer(void *context, uint32_t number) {
    Pool *pool = context;
    const Index *index = pool->index;
    Candidate candidate = {.owner = index->owner[number],
                           .nth = index->nth[number],
                           .spelling = index_reading(index, number),
                           .marking = pool->marking,
                           .stored = pool->stored,
                           .code = (index->prefix[number] & CODE_FLAG) != 0};
    candidate.weight = damage_weigh(pool->damage, pool->marking, &candidate.spelling, candidate.code);
    if (candidate.weight <= 0 || candidate.weight < pool->asker.least) return;
    if (pool->count == pool->room && !before(&candidate, &pool->at[pool->count - 1])) return;
    for (size_t i = 0; i < pool->count; i++) {
        if (pool->at[i].owner != candidate.owner || pool->at[i].stored != candidate.stored) continue;
        if (!before(&candidate, &pool->at[i])) return;
        take_out(pool, i);
        break;
    }
    put_in(pool, &candidate);
}

void pool_search(Pool *pool, Index *index, bool stored, const Reading *marking) {
    if (index == NULL || pool->room == 0) return;
    pool->index = index, pool->stored = stored, pool->marking = marking;
    pool->asker.found = offer, pool->asker.context = pool;
    index_search(index, pool->damage, marking, &pool->asker);
}
