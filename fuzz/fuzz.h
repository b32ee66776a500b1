/* What a fuzz target is: one function that takes any bytes and must come back, whatever they are. Its name and shape are
 * libFuzzer's; fuzz/corpus_main.c calls the same function on every file of a corpus. */
#ifndef UNPICK_FUZZ_FUZZ_H
#define UNPICK_FUZZ_FUZZ_H

#include <stddef.h>
#include <stdint.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#endif
