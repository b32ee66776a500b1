/* The innermost loop of a convolution, included once for each width of vector: NET_LANES floats by NET_ROWS_KEPT channels
 * of the result at a time, in registers with three vectors of pixels. No guard: it is meant to be included again. */
#define NET_UNROLLED _Pragma("GCC unroll 8") /* for the sums to be registers in builds that unroll little by themselves */
#define NET_PASTE(a, b) a##b
#define NET_NAMED(name, lanes) NET_PASTE(name, lanes)
#define NET_VECTOR NET_NAMED(Lanes, NET_LANES)

typedef float NET_VECTOR __attribute__((vector_size(NET_LANES * sizeof(float)), aligned(4), may_alias));

static inline __attribute__((always_inline)) void NET_NAMED(sum_block, NET_LANES)(const NetTile *tile, uint32_t depth,
                                                                                  const float *in, const float *weights,
                                                                                  float *sums, const int vectors) {
    NET_VECTOR sum[NET_ROWS_KEPT][3] = {0};
    for (uint32_t d = 0; d < depth; d++, in += tile->step)
        for (int k = 0; k < 3; k++, weights += NET_OUTS) {
            NET_VECTOR pixels[3];
            NET_UNROLLED
            for (int v = 0; v < vectors; v++) pixels[v] = *(const NET_VECTOR *)(in + tile->tap[k] + v * NET_LANES);
            NET_UNROLLED
            for (int o = 0; o < NET_ROWS_KEPT; o++)
                NET_UNROLLED
                for (int v = 0; v < vectors; v++) sum[o][v] += weights[o] * pixels[v];
        }
    NET_UNROLLED
    for (int o = 0; o < NET_ROWS_KEPT; o++)
        NET_UNROLLED
        for (int v = 0; v < vectors; v++) *(NET_VECTOR *)(sums + o * BLOCK + v * NET_LANES) = sum[o][v];
}

/* sums[NET_OUTS][BLOCK]: of `count` pixels and the weights of `depth` channels. */
static inline __attribute__((always_inline)) void NET_NAMED(sum_tile, NET_LANES)(const NetTile *tile, const float *in,
                                                                                 uint32_t depth, const float *weights,
                                                                                 uint32_t count, float *sums) {
    for (int o = 0; o < NET_OUTS; o += NET_ROWS_KEPT) {
        uint32_t x = 0;
        for (; x + 2 * NET_LANES < count; x += 3 * NET_LANES)
            NET_NAMED(sum_block, NET_LANES)(tile, depth, in + x, weights + o, sums + o * BLOCK + x, 3);
        if (x + NET_LANES < count)
            NET_NAMED(sum_block, NET_LANES)(tile, depth, in + x, weights + o, sums + o * BLOCK + x, 2);
        else if (x < count)
            NET_NAMED(sum_block, NET_LANES)(tile, depth, in + x, weights + o, sums + o * BLOCK + x, 1);
    }
}

#undef NET_VECTOR
#undef NET_NAMED
#undef NET_PASTE
#undef NET_UNROLLED
#undef NET_LANES
#undef NET_ROWS_KEPT
