/* Manufacturer id bytes of JEDEC JEP106 and the reply of a serial flash to 9Fh (from memory). Each byte 7Fh goes to the
 * next bank; the id has seven bits and one for odd parity. Names of makers are not kept here: bank and number find them in
 * JEP106. The third byte of a flash's reply is, by common practice, the power of two of its bytes.
 *
 *   reply = { "7F" } id [ type [ capacity ] ] ; bytes in hexadecimal, with or without blanks, commas and 0x */
#include "mark/inside.h"

#include <math.h>

enum { BYTES_MOST = 20, CONTINUED = 0x7F, POWER_LEAST = 0x0F, POWER_MOST = 0x19 };

static int hex(char c) {
    if (is_digit(c)) return c - '0';
    c = to_upper(c);
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

/* The bytes of the marking; 0 when it isn't bytes. */
static size_t cut_bytes(Text t, unsigned char *bytes) {
    size_t count = 0;
    for (size_t i = 0; i < t.len;) {
        if (t.at[i] == ' ' || t.at[i] == ',' || t.at[i] == '-' || t.at[i] == ':') {
            i++;
            continue;
        }
        if (t.at[i] == '0' && i + 1 < t.len && (t.at[i + 1] == 'x' || t.at[i + 1] == 'X')) i += 2;
        int high = i < t.len ? hex(t.at[i]) : -1, low = i + 1 < t.len ? hex(t.at[i + 1]) : -1;
        if (high < 0 || low < 0 || count == BYTES_MOST) return 0;
        bytes[count++] = (unsigned char)(high * 16 + low);
        i += 2;
    }
    return count;
}

static bool odd_parity(unsigned char byte) {
    unsigned ones = 0;
    for (; byte != 0; byte >>= 1) ones += byte & 1;
    return ones % 2 == 1;
}

static void add_capacity(Reader *reader, Draft *draft, unsigned char code) {
    if (code < POWER_LEAST || code > POWER_MOST) {
        reading_field(reader, draft, "capacity code",
                      text_fmt(reader->arena, "%02Xh, not a plain power of two: see the data sheet", code));
        return;
    }
    double bytes = pow(2, code);
    Quantity size = memory_size(bytes * 8);
    Text said = quantity_said(reader->arena, size);
    reading_value(draft, size);
    draft->reading.says =
        text_fmt(reader->arena, "%.*s; memory of %.*s (2^%d bytes)", TEXT_ARG(draft->reading.says), TEXT_ARG(said), code);
    reading_field(reader, draft, "size",
                  bytes >= 1048576 ? text_fmt(reader->arena, "%.4g MiB", bytes / 1048576)
                                   : text_fmt(reader->arena, "%.4g KiB", bytes / 1024));
    reading_assume(reader, draft, "the last byte is the power of two of the bytes, as common practice has it");
}

void read_maker(Reader *reader) {
    unsigned char bytes[BYTES_MOST];
    size_t count = cut_bytes(reader->whole, bytes), at = 0;
    bool asked = reader_asked(reader, "maker");
    while (at < count && bytes[at] == CONTINUED) at++;
    if (at == count || (count - at != 3 && !asked) || count - at > 3) return;
    if (!odd_parity(bytes[at]) || (bytes[at] & 0x7F) == 0) {
        if (asked || reader->word_count == 3)
            reader->refused = text_fmt(
                reader->arena, "%02Xh has even parity, so it is no id of JEP106: look at the bytes' order and the wiring",
                bytes[at]);
        return;
    }
    unsigned bank = (unsigned)at + 1, number = bytes[at] & 0x7F;
    double decibans = reader->word_count == 1 ? weight_of(reader->marks, "maker-unspaced") : 0;
    Draft *draft =
        reading_add(reader, FORM_MAKER, decibans,
                    text_fmt(reader->arena, "manufacturer %u of bank %u, parity odd as it must be", number, bank));
    reading_field(reader, draft, "bank", text_fmt(reader->arena, "%u", bank));
    reading_field(reader, draft, "number", text_fmt(reader->arena, "%u (%02Xh)", number, bytes[at]));
    if (at == 0) reading_assume(reader, draft, "no byte 7Fh came first, so bank 1; many chips leave those bytes out");
    if (count - at >= 2)
        reading_field(reader, draft, "type byte", text_fmt(reader->arena, "%02Xh, the maker's own", bytes[at + 1]));
    if (count - at == 3) add_capacity(reader, draft, bytes[at + 2]);
}
