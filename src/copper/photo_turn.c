/* A photo turned upright, a part at a time, as its rows come. A quarter turn writes to all of the upright photo with the
 * first rows; where that would be too much memory at once, rows are kept as blocks of columns (each block's rows together)
 * and turned block by block at the end, each block's memory going back as it is done with. */
#include "copper/photo_inside.h"

#include <sys/mman.h>
#include <unistd.h>

enum { COLUMNS = 256 /* of a block */ };

/* Where the pixel at (x, y) of the stored picture belongs (Exif 2.32, tag 0x0112): 1 as it is, 2 left and right changed, 3
 * both ways round, 4 up and down changed; 5 to 8 with rows and columns in each other's place first. Given as an offset and
 * two steps, in pixels. */
static void turn_steps(unsigned turn, ptrdiff_t width, ptrdiff_t height, ptrdiff_t *start, ptrdiff_t *right,
                       ptrdiff_t *down) {
    bool aside = photo_turns_aside(turn);
    bool flip_x = turn == 2 || turn == 3 || turn == 6 || turn == 7,
         flip_y = turn == 3 || turn == 4 || turn == 7 || turn == 8;
    ptrdiff_t w = aside ? height : width, h = aside ? width : height; /* upright */
    ptrdiff_t x_step = flip_x ? -1 : 1, y_step = flip_y ? -w : w;
    *start = (flip_x ? w - 1 : 0) + (flip_y ? (h - 1) * w : 0);
    *right = aside ? y_step : x_step;
    *down = aside ? x_step : y_step;
}

/* Pixels a step apart to one beside the other. Four bytes at a time: the fourth is set right by the next pixel; not the
 * first nor the last, next to which there may be nothing. */
static void copy_apart(const unsigned char *in, ptrdiff_t step, uint32_t count, unsigned char *out) {
    for (uint32_t i = 0; i < count; i++, in += step, out += 3) memcpy(out, in, i > 0 && i + 1 < count ? 4 : 3);
}

void photo_turn(const unsigned char *pixels, PhotoPart part, uint32_t width, uint32_t height, unsigned turn,
                unsigned char *upright) {
    ptrdiff_t start, right, down;
    turn_steps(turn, width, height, &start, &right, &down);
    start += (ptrdiff_t)part.x * right + (ptrdiff_t)part.y * down;
    if (turn == 1 && part.width == width) {
        memcpy(upright + 3 * start, pixels, (size_t)part.height * width * 3);
        return;
    }
    bool aside =
        photo_turns_aside(turn); /* then a column of these is a row upright: walked along what lies together there */
    uint32_t outer = aside ? part.width : part.height, inner = aside ? part.height : part.width;
    ptrdiff_t in_step = 3 * (aside ? (ptrdiff_t)part.width : 1), out_step = 3 * (aside ? down : right);
    ptrdiff_t skip_in = 0, skip_out = 0;
    if (out_step < 0) { /* from the other end, so that addresses grow */
        skip_in = (ptrdiff_t)(inner - 1) * in_step, skip_out = (ptrdiff_t)(inner - 1) * out_step;
        in_step = -in_step;
    }
    for (uint32_t o = 0; o < outer; o++) {
        const unsigned char *in = pixels + 3 * (aside ? (size_t)o : (size_t)o * part.width) + skip_in;
        unsigned char *out = upright + 3 * (start + (ptrdiff_t)o * (aside ? right : down)) + skip_out;
        copy_apart(in, in_step, inner, out);
    }
}

static uint32_t block_width(uint32_t x, uint32_t width) { return width - x < COLUMNS ? width - x : COLUMNS; }

void photo_keep_blocks(const unsigned char *rows, uint32_t from, uint32_t count, uint32_t width, uint32_t height,
                       unsigned char *blocks) {
    for (uint32_t x = 0; x < width; x += COLUMNS) {
        uint32_t wide = block_width(x, width);
        unsigned char *block = blocks + 3 * ((size_t)x * height + (size_t)from * wide);
        for (uint32_t y = 0; y < count; y++)
            memcpy(block + (size_t)3 * y * wide, rows + 3 * ((size_t)y * width + x), (size_t)3 * wide);
    }
}

void photo_turn_blocks(unsigned char *blocks, uint32_t width, uint32_t height, unsigned turn, unsigned char *upright) {
    uintptr_t page = (uintptr_t)sysconf(_SC_PAGESIZE), from = (uintptr_t)blocks;
    for (uint32_t x = 0; x < width; x += COLUMNS) {
        uint32_t wide = block_width(x, width);
        unsigned char *block = blocks + 3 * (size_t)x * height;
        photo_turn(block, (PhotoPart){x, 0, wide, height}, width, height, turn, upright);
        uintptr_t to = ((uintptr_t)block + 3 * (size_t)wide * height) / page * page;
        if (from < to) madvise((void *)from, to - from, MADV_DONTNEED);
        from = to;
    }
}
