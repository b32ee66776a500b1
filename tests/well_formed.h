/* Is this text well-formed as SVG must be? Elements nest and close, attributes stand between quotes, nothing that should
 * have been escaped is bare, there are no controls (XML 1.0, sections 2.2 to 2.4 and 3.1, from memory: as much of it as our
 * writers use). For tests and fuzz targets; no XML library is needed. */
#ifndef UNPICK_TESTS_WELL_FORMED_H
#define UNPICK_TESTS_WELL_FORMED_H

#include "base/text.h"

enum { WELL_FORMED_DEEP = 64 };

/* From a `&`: the bytes of the reference, 0 when it is none. */
static inline size_t well_formed_reference(Text rest) {
    size_t end = text_find(text_sub(rest, 0, 12), TEXT(";"));
    if (end == SIZE_MAX || end < 2) return 0;
    for (size_t i = 1; i < end; i++) {
        char c = rest.at[i];
        bool fine = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || (c == '#' && i == 1);
        if (!fine) return 0;
    }
    return end + 1;
}

/* From behind the element's name to its `>`: the bytes used, 0 when that is wrong. */
static inline size_t well_formed_attributes(Text rest, bool *alone) {
    size_t i = 0;
    while (i < rest.len && rest.at[i] != '>') {
        if (rest.at[i] == '/' && i + 1 < rest.len && rest.at[i + 1] == '>') return *alone = true, i + 2;
        if (rest.at[i] != ' ') return 0;
        size_t equals = text_find(text_sub(rest, i, rest.len), TEXT("=\""));
        if (equals == SIZE_MAX) return 0;
        size_t name_end = i + equals;
        for (size_t k = i + 1; k < name_end; k++)
            if (rest.at[k] == '<' || rest.at[k] == '>' || rest.at[k] == ' ' || rest.at[k] == '"') return 0;
        for (i = name_end + 2; i < rest.len && rest.at[i] != '"';) {
            if (rest.at[i] == '<') return 0;
            size_t used = rest.at[i] == '&' ? well_formed_reference(text_sub(rest, i, rest.len)) : 1;
            if (used == 0) return 0;
            i += used;
        }
        i++;
    }
    return i < rest.len ? i + 1 : 0;
}

/* Where it is wrong: an offset; SIZE_MAX: nowhere. */
static inline size_t well_formed_fault(Text svg) {
    Text open[WELL_FORMED_DEEP];
    size_t deep = 0, elements = 0;
    if (text_bad_byte(svg) < svg.len) return text_bad_byte(svg);
    for (size_t i = 0; i < svg.len;) {
        unsigned char c = (unsigned char)svg.at[i];
        if (c < ' ' && c != '\n' && c != '\t') return i;
        if (c == '&') {
            size_t used = well_formed_reference(text_sub(svg, i, svg.len));
            if (used == 0) return i;
            i += used;
        } else if (c == '<') {
            bool closing = i + 1 < svg.len && svg.at[i + 1] == '/', alone = false;
            size_t name = i + (closing ? 2 : 1), end = name;
            while (end < svg.len &&
                   ((svg.at[end] >= 'a' && svg.at[end] <= 'z') || (svg.at[end] >= 'A' && svg.at[end] <= 'Z')))
                end++;
            Text is = text_sub(svg, name, end - name);
            size_t used = well_formed_attributes(text_sub(svg, end, svg.len), &alone);
            if (is.len == 0 || used == 0 || (closing && (deep == 0 || !text_same(open[deep - 1], is)))) return i;
            if (!closing && !alone && deep == WELL_FORMED_DEEP) return i;
            if (!closing && deep == 0 && elements++ > 0) return i; /* one element holds all */
            if (closing) deep--;
            if (!closing && !alone) open[deep++] = is;
            i = end + used;
        } else {
            i++;
        }
    }
    return deep == 0 && elements == 1 ? SIZE_MAX : svg.len;
}

#endif
