/* Builds the index: spellings sorted by character from the left (most significant digit radix sort), the buckets of the
 * sort being the nodes of a tree. A bucket of up to LEAF_MOST spellings is not cut further, which keeps the tree a small
 * fraction of the text. Look-alikes are folded into one character before sorting, so that they cost a search nothing.
 *
 * Three trees over the same spellings: forward, backward, and forward from behind the letters that a maker puts before the
 * number. Spellings are stored in the forward order; the other two keep theirs as numbers. All of it lies in one block of
 * memory that is stored beside the catalogue and used as it was read. */
#include "shelf/index.h"
#include "base/list.h"

#include <string.h>
#include <xxhash.h>

enum { LEAF_MOST = 16, INDEX_VERSION = 1 };

struct IndexBuilder {
    Arena *arena;
    const Damage *damage;
    LIST(uint8_t) chars;
    LIST(uint32_t) start, owner;
    LIST(uint8_t) prefix, nth;
};

/* ---- gathering ---- */

IndexBuilder *index_builder(const Damage *damage) {
    Arena *arena = arena_new();
    IndexBuilder *builder = arena_one(arena, IndexBuilder);
    builder->arena = arena, builder->damage = damage;
    list_push(arena, &builder->start, 0);
    return builder;
}

void index_drop(IndexBuilder *builder) {
    if (builder != NULL) arena_free(builder->arena);
}

bool index_add(IndexBuilder *builder, Text spelling, bool code, uint32_t owner, uint8_t nth) {
    Reading reading = reading_of(spelling, false);
    if (builder->owner.count >= INDEX_SPELLINGS_MOST) return false;
    if (reading.len == 0) return true;
    for (uint32_t i = 0; i < reading.len; i++) list_push(builder->arena, &builder->chars, reading.at[i]);
    list_push(builder->arena, &builder->start, builder->chars.count);
    list_push(builder->arena, &builder->owner, owner);
    list_push(builder->arena, &builder->prefix, (uint8_t)(reading.prefix | (code ? CODE_FLAG : 0u)));
    list_push(builder->arena, &builder->nth, nth);
    return true;
}

/* ---- sorting ---- */

typedef struct Sort {
    Arena *arena;
    const Damage *damage;
    const uint8_t *chars, *prefix;
    const uint32_t *start;
    IndexView view;
    uint32_t *order, *spare; /* size of the range: being sorted, and room for it */
    LIST(IndexNode) nodes;
} Sort;

/* Character `depth` of a spelling in the sort's view, folded; 0 behind the end. */
static uint8_t letter_at(const Sort *sort, uint32_t number, uint32_t depth) {
    uint32_t from = sort->start[number], to = sort->start[number + 1];
    if (sort->view == VIEW_CORE) from += sort->prefix[number];
    if (depth >= to - from) return 0;
    return sort->damage->fold[sort->view == VIEW_BACKWARD ? sort->chars[to - 1 - depth] : sort->chars[from + depth]];
}

/* Sorts one bucket by its next character, and each of the buckets that makes; depth: characters that it shares. */
static void sort_bucket(Sort *sort, uint32_t first, uint32_t end, uint32_t depth, uint8_t letter) {
    uint32_t node = sort->nodes.count, at[257] = {0};
    list_push(sort->arena, &sort->nodes, ((IndexNode){.first = first, .depth = (uint8_t)depth, .letter = letter}));
    if (end - first > LEAF_MOST && depth < READING_MOST) {
        for (uint32_t i = first; i < end; i++) at[letter_at(sort, sort->order[i], depth) + 1]++;
        at[0] = first;
        for (int c = 1; c <= 256; c++) at[c] += at[c - 1];
        for (uint32_t i = first; i < end; i++) sort->spare[at[letter_at(sort, sort->order[i], depth)]++] = sort->order[i];
        memcpy(sort->order + first, sort->spare + first, (end - first) * sizeof *sort->order);
        for (int c = 1; c < 256;
             c++) /* at[c] is now the end of c; the spellings that end here come first and need no node */
            if (at[c] > at[c - 1]) sort_bucket(sort, at[c - 1], at[c], depth + 1, (uint8_t)c);
    }
    sort->nodes.at[node].next = sort->nodes.count;
}

/* ---- one block of memory ---- */

typedef struct Head {
    char magic[8];
    uint64_t stamp; /* of the look-alikes it was built for */
    uint32_t version, count, chars, cores;
    uint32_t nodes[VIEW_COUNT];
    uint32_t unused;
} Head;

static const char MAGIC[8] = {'u', 'n', 'p', 'i', 'c', 'k', 'I', 'x'};

static uint64_t stamp_of(const Damage *damage) { return XXH3_64bits(damage->fold, sizeof damage->fold); }

static size_t image_size(const Head *head) {
    size_t nodes = (size_t)head->nodes[0] + head->nodes[1] + head->nodes[2];
    return sizeof *head + nodes * sizeof(IndexNode) + (3 * (size_t)head->count + 1 + head->cores) * sizeof(uint32_t) +
           2 * (size_t)head->count + head->chars;
}

/* Points into the image: head, nodes, start, owner, backward order, core order, prefix, nth, chars. */
static Index *lay_out(Arena *arena, const uint8_t *image) {
    Index *index = arena_one(arena, Index);
    Head head;
    memcpy(&head, image, sizeof head);
    index->image = image, index->image_size = image_size(&head), index->count = head.count;
    const uint8_t *at = image + sizeof head;
    for (int view = 0; view < VIEW_COUNT; view++) {
        index->trees[view].nodes = (const IndexNode *)(const void *)at;
        index->trees[view].node_count = head.nodes[view];
        index->trees[view].count = view == VIEW_CORE ? head.cores : head.count;
        at += head.nodes[view] * sizeof(IndexNode);
    }
    const uint32_t *numbers = (const uint32_t *)(const void *)at;
    index->start = numbers, numbers += (size_t)head.count + 1;
    index->owner = numbers, numbers += head.count;
    index->trees[VIEW_BACKWARD].order = numbers, numbers += head.count;
    index->trees[VIEW_CORE].order = numbers, numbers += head.cores;
    index->prefix = (const uint8_t *)numbers;
    index->nth = index->prefix + head.count;
    index->chars = index->nth + head.count;
    index->seen = arena_take(arena, ((size_t)head.count + 63) / 64 * sizeof(uint64_t));
    return index;
}

/* Copies the builder's spellings in a new order. */
static IndexBuilder *reordered(const IndexBuilder *from, const uint32_t *order) {
    uint32_t count = from->owner.count;
    IndexBuilder *to = index_builder(from->damage);
    to->chars.at = arena_many(to->arena, uint8_t, from->chars.count + 1);
    to->start.at = arena_many(to->arena, uint32_t, count + 1);
    to->owner.at = arena_many(to->arena, uint32_t, count + 1);
    to->prefix.at = arena_many(to->arena, uint8_t, count + 1);
    to->nth.at = arena_many(to->arena, uint8_t, count + 1);
    for (uint32_t i = 0; i < count; i++) {
        uint32_t old = order[i], begin = from->start.at[old], len = from->start.at[old + 1] - begin;
        memcpy(to->chars.at + to->chars.count, from->chars.at + begin, len);
        to->chars.count += len;
        to->start.at[i + 1] = to->chars.count;
        to->owner.at[i] = from->owner.at[old];
        to->prefix.at[i] = from->prefix.at[old];
        to->nth.at[i] = from->nth.at[old];
    }
    to->start.count = count + 1, to->owner.count = to->prefix.count = to->nth.count = count;
    return to;
}

static bool has_core(const IndexBuilder *b, uint32_t i) {
    return (b->prefix.at[i] & CODE_FLAG) == 0 &&
           b->start.at[i + 1] - b->start.at[i] >= b->prefix.at[i] + (uint32_t)CORE_LEAST;
}

/* Sorts the builder's spellings in one view. order: room for all of them; the count that the view has is returned. */
static uint32_t sort_view(Sort *sort, Arena *arena, const IndexBuilder *b, IndexView view, uint32_t *order,
                          uint32_t *spare) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < b->owner.count; i++)
        if (view != VIEW_CORE || has_core(b, i)) order[count++] = i;
    *sort = (Sort){.arena = arena,
                   .damage = b->damage,
                   .chars = b->chars.at,
                   .prefix = b->prefix.at,
                   .start = b->start.at,
                   .view = view,
                   .order = order,
                   .spare = spare};
    sort_bucket(sort, 0, count, 0, 0);
    return count;
}

static uint8_t *put(uint8_t *at, const void *from, size_t bytes) {
    if (bytes > 0) memcpy(at, from, bytes);
    return at + bytes;
}

Index *index_finish(IndexBuilder *builder, Arena *arena) {
    uint32_t count = builder->owner.count;
    Arena *work = arena_new();
    Sort sorts[VIEW_COUNT];
    uint32_t *orders[VIEW_COUNT], *spare = arena_many(work, uint32_t, count + 1);
    for (int view = 0; view < VIEW_COUNT; view++) orders[view] = arena_many(work, uint32_t, count + 1);
    sort_view(&sorts[VIEW_FORWARD], work, builder, VIEW_FORWARD, orders[VIEW_FORWARD], spare);
    IndexBuilder *sorted = reordered(builder, orders[VIEW_FORWARD]);
    Head head = {
        .stamp = stamp_of(builder->damage), .version = INDEX_VERSION, .count = count, .chars = sorted->chars.count};
    index_drop(builder);
    sort_view(&sorts[VIEW_BACKWARD], work, sorted, VIEW_BACKWARD, orders[VIEW_BACKWARD], spare);
    head.cores = sort_view(&sorts[VIEW_CORE], work, sorted, VIEW_CORE, orders[VIEW_CORE], spare);
    memcpy(head.magic, MAGIC, sizeof MAGIC);
    for (int view = 0; view < VIEW_COUNT; view++) head.nodes[view] = sorts[view].nodes.count;

    uint8_t *image = arena_take(arena, image_size(&head)), *at = put(image, &head, sizeof head);
    for (int view = 0; view < VIEW_COUNT; view++) at = put(at, sorts[view].nodes.at, head.nodes[view] * sizeof(IndexNode));
    at = put(at, sorted->start.at, ((size_t)count + 1) * sizeof(uint32_t));
    at = put(at, sorted->owner.at, count * sizeof(uint32_t));
    at = put(at, orders[VIEW_BACKWARD], count * sizeof(uint32_t));
    at = put(at, orders[VIEW_CORE], head.cores * sizeof(uint32_t));
    at = put(at, sorted->prefix.at, count);
    at = put(at, sorted->nth.at, count);
    put(at, sorted->chars.at, head.chars);
    index_drop(sorted);
    arena_free(work);
    return lay_out(arena, image);
}

/* ---- a stored image ---- */

static bool tree_is_sound(const IndexTree *tree, uint32_t spellings) {
    const IndexNode *nodes = tree->nodes;
    if (tree->node_count == 0 || nodes[0].depth != 0 || nodes[0].next != tree->node_count || nodes[0].first != 0)
        return false;
    for (uint32_t i = 0; i < tree->node_count; i++) {
        if (nodes[i].next <= i || nodes[i].next > tree->node_count || nodes[i].first > tree->count) return false;
        if (i > 0 && (nodes[i].first < nodes[i - 1].first || nodes[i].depth == 0 ||
                      nodes[i].depth > nodes[i - 1].depth + 1 || nodes[i].depth > READING_MOST))
            return false;
    }
    for (uint32_t i = 0; tree->order != NULL && i < tree->count; i++)
        if (tree->order[i] >= spellings) return false;
    return true;
}

static bool spellings_are_sound(const Index *index, uint32_t chars) {
    if (index->start[0] != 0 || index->start[index->count] != chars) return false;
    for (uint32_t i = 0; i < index->count; i++) {
        if (index->start[i + 1] <= index->start[i] || index->start[i + 1] - index->start[i] > READING_MOST) return false;
        if ((index->prefix[i] & ~CODE_FLAG) > PREFIX_MOST ||
            (index->prefix[i] & ~CODE_FLAG) >= index->start[i + 1] - index->start[i])
            return false;
    }
    return true;
}

Index *index_from(Arena *arena, const Damage *damage, const uint8_t *image, size_t size) {
    Head head;
    if (size < sizeof head) return NULL;
    memcpy(&head, image, sizeof head);
    if (memcmp(head.magic, MAGIC, sizeof MAGIC) != 0 || head.version != INDEX_VERSION || head.stamp != stamp_of(damage))
        return NULL;
    if (head.count > INDEX_SPELLINGS_MOST || head.cores > head.count || size != image_size(&head)) return NULL;
    Index *index = lay_out(arena, image);
    bool sound = spellings_are_sound(index, head.chars);
    for (int view = 0; view < VIEW_COUNT && sound; view++) sound = tree_is_sound(&index->trees[view], index->count);
    return sound ? index : NULL;
}

Reading index_reading(const Index *index, uint32_t number) {
    uint32_t from = index->start[number];
    Reading reading = {.len = index->start[number + 1] - from, .prefix = index->prefix[number] & ~(uint32_t)CODE_FLAG};
    memcpy(reading.at, index->chars + from, reading.len);
    return reading;
}
