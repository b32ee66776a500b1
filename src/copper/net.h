/* A small convolutional network in plain C, one image at a time.
 *
 * The file says what to do, line by line, then holds the weights as 16-bit floats (IEEE 754 binary16, little endian):
 *
 *   unpick-net 1
 *   take N                  planes of the picture, at most 8; 3 when it is not said; before all else
 *   fold                    2x2 pixels to one of four times the channels
 *   conv IN OUT STRIDE DILATION relu|none     3x3, zero border, bias
 *   keep N                  remember this tensor
 *   grow                    each pixel to 2x2 alike
 *   join N                  the channels of a kept tensor behind these
 *   unfold                  four channels to 2x2 pixels of one
 *   weights COUNT
 */
#ifndef UNPICK_COPPER_NET_H
#define UNPICK_COPPER_NET_H

#include "base/diag.h"
#include "base/lex.h"

typedef struct Net Net;

/* NULL with a problem when the bytes are no net. */
Net *net_new(Arena *arena, Text name, Text bytes, Diags *problems);
uint32_t net_channels_in(const Net *net);
uint32_t net_channels_out(const Net *net);

/* in: size net_channels_in * width * height, pixel by pixel, 0..255; out: net_channels_out planes of width * height, the
 * logistic function of the last layer in 255ths. Width and height multiples of the most pixels that the net makes one of
 * (16). Takes its memory, some hundred rows of the picture, from the system and gives it back; false when there is none.
 * Safe to call from several threads. */
bool net_run(const Net *net, uint32_t width, uint32_t height, const unsigned char *in, unsigned char *out);

/* The same of a picture that is nowhere whole: its rows are taken, and those of each channel put, once each and from the
 * top down. */
typedef struct NetPort {
    void *given;
    void (*take)(void *given, uint32_t y, unsigned char *pixels); /* size net_channels_in * width */
    void (*put)(void *given, uint32_t y, uint32_t channel, const unsigned char *row);
} NetPort;
bool net_stream(const Net *net, uint32_t width, uint32_t height, const NetPort *port);

#endif
