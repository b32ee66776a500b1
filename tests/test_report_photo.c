/* report: photos made fit for a page. What a camera writes besides pixels (Exif with its GPS tags, XMP, IPTC, comments) stays
 * behind. Markers by ITU-T T.81, table B.1; Exif 2.32, 4.6.6 for the GPS tags; all from memory. */
#include "tests/check.h"
#include "tests/photo_files.h"

#include "copper/photo.h"
#include "report/photo.h"

#include <stdlib.h>
#include <unistd.h>

static void segment(Out *out, unsigned marker, Text body) {
    out_char(out, (char)0xFF);
    out_char(out, (char)marker);
    out_char(out, (char)((body.len + 2) >> 8));
    out_char(out, (char)((body.len + 2) & 255));
    out_add(out, body);
}

/* A GPS IFD in an Exif block of its own: tags 1 to 4, latitude and longitude as rationals, told in words as well. */
static Text gps_block(Arena *arena) {
    static const char ifd[] = "Exif\0\0MM\0*\0\0\0\x08\0\x01\x88\x25\0\x04\0\0\0\x01\0\0\0\x1A\0\0\0\0"
                              "\0\x02\0\x01\0\x02\0\0\0\x02N\0\0\0\0\x02\0\x05\0\0\0\x03\0\0\0\x38\0\0\0\0"
                              "\0\0\0\x30\0\0\0\x01\0\0\0\x33\0\0\0\x01\0\0\0\x1E\0\0\0\x01GPSLatitude 48.8583 N";
    return text_copy(arena, (Text){ifd, sizeof ifd - 1});
}

/* A photo as a telephone writes it, with all that must not travel. */
static Text phone_photo(Arena *arena, const unsigned char *rgb, uint32_t width, uint32_t height, unsigned turn) {
    Text jpeg = files_write(FILE_JPEG, rgb, width, height, turn);
    size_t after = 2 + 18; /* SOI and JFIF's segment; then Exif with the orientation */
    size_t exif = after + 2 + ((size_t)(unsigned char)jpeg.at[after + 2] << 8 | (unsigned char)jpeg.at[after + 3]);
    Out out = out_new(arena);
    out_add(&out, text_sub(jpeg, 0, exif));
    segment(&out, 0xE1, gps_block(arena));
    segment(&out, 0xE1, TEXT("http://ns.adobe.com/xap/1.0/\0<x:xmpmeta exif:GPSLongitude=\"2,17.67E\" aux:SerialNumber=\"SN-4711\"/>"));
    segment(&out, 0xED, TEXT("Photoshop 3.0\0" "8BIM\x04\x04 City GPS-TOWN"));
    segment(&out, 0xFE, TEXT("camera SN-4711"));
    out_add(&out, text_sub(jpeg, exif, jpeg.len));
    out_lit(&out, "a film behind the picture, GPS 48.8583");
    free((void *)(uintptr_t)jpeg.at);
    return out_text(&out);
}

static const char *on_disk(char *path, Text bytes) {
    strcpy(path, "/tmp/unpick-photo-XXXXXX");
    int fd = mkstemp(path);
    assert_true(fd >= 0 && write(fd, bytes.at, bytes.len) == (ssize_t)bytes.len && close(fd) == 0);
    return path;
}

static PagePhoto made_of(Arena *arena, Text bytes, uint32_t side, size_t most) {
    char path[64];
    PagePhoto made;
    Diags problems = diags_new(arena);
    bool done = photo_for_page(arena, on_disk(path, bytes), side, most, &made, &problems);
    unlink(path);
    if (!done) fail_msg("%.*s", TEXT_ARG(problems.list.at[0].message));
    return made;
}

/* Every segment of a JPEG up to its scan is one that a decoder needs. */
static void assert_only_pixels(Text jpeg) {
    size_t at = 2;
    assert_memory_equal(jpeg.at, "\xFF\xD8", 2);
    for (unsigned marker = 0; marker != 0xDA;) {
        assert_true(at + 4 < jpeg.len && (unsigned char)jpeg.at[at] == 0xFF);
        marker = (unsigned char)jpeg.at[at + 1];
        bool needed = marker == 0xE0 || marker == 0xDB || marker == 0xC0 || marker == 0xC4 || marker == 0xDA;
        if (!needed) fail_msg("a segment FF%02X", marker);
        if (marker == 0xE0) assert_memory_equal(jpeg.at + at + 4, "JFIF", 5);
        if (marker == 0xE0) assert_int_equal(jpeg.at[at + 3], 16); /* no thumbnail in it */
        at += 2 + ((size_t)(unsigned char)jpeg.at[at + 2] << 8 | (unsigned char)jpeg.at[at + 3]);
    }
    assert_memory_equal(jpeg.at + jpeg.len - 2, "\xFF\xD9", 2);
}

static void place_and_serial_number_stay_behind(void **state) {
    (void)state;
    static const char *const secrets[] = {"GPS", "48.8583", "SN-4711", "Exif", "xmpmeta", "8BIM", "camera", "film"};
    Arena *arena = arena_new();
    unsigned char *rgb = files_picture(640, 480);
    Text photo = phone_photo(arena, rgb, 640, 480, 6);
    PagePhoto made = made_of(arena, photo, 1280, SIZE_MAX);
    for (size_t i = 0; i < sizeof secrets / sizeof *secrets; i++) {
        assert_true(text_find(photo, text_of(secrets[i])) != SIZE_MAX); /* it was there */
        if (text_find(made.jpeg, text_of(secrets[i])) != SIZE_MAX) fail_msg("%s is still in it", secrets[i]);
    }
    assert_only_pixels(made.jpeg);
    free(rgb);
    arena_free(arena);
}

/* Orientation 6: the camera was held with its right side down (Exif 2.32, 4.6.4 A): upright, it is 480 wide. */
static void a_photo_stands_upright_and_keeps_its_colours(void **state) {
    (void)state;
    Arena *arena = arena_new();
    unsigned char *rgb = files_picture(640, 480), expected[3];
    PagePhoto made = made_of(arena, phone_photo(arena, rgb, 640, 480, 6), 320, SIZE_MAX);
    assert_int_equal(made.width, 240);
    assert_int_equal(made.height, 320);
    assert_near(made.scale, 0.5);
    Photo read;
    Diags problems = diags_new(arena);
    assert_true(photo_decode(TEXT("made"), made.jpeg, &read, &problems));
    for (uint32_t y = 20; y < 320; y += 60)
        for (uint32_t x = 20; x < 240; x += 60) {
            files_pixel(2 * y, 479 - 2 * x, 640, 480, expected);
            for (int c = 0; c < 3; c++) assert_true(abs(read.rgb[3 * (y * 240 + x) + (uint32_t)c] - expected[c]) < 10);
        }
    photo_free(&read);
    free(rgb);
    arena_free(arena);
}

/* Noise is the worst that a JPEG can be asked to hold. */
static void twenty_photos_fit_a_page(void **state) {
    (void)state;
    enum { WIDTH = 4000, HEIGHT = 3000 };
    Arena *arena = arena_new();
    unsigned char *rgb = files_picture(WIDTH, HEIGHT);
    uint32_t noise = 1;
    for (size_t i = 0; i < 3 * (size_t)WIDTH * HEIGHT; i++) rgb[i] = (unsigned char)(noise = noise * 1664525 + 1013904223, noise >> 24);
    size_t most = PHOTO_PAGE_BYTES / 20;
    Text photo = files_write(FILE_JPEG, rgb, WIDTH, HEIGHT, 1);
    PagePhoto made = made_of(arena, photo, PHOTO_PAGE_SIDE, most);
    assert_true(made.jpeg.len <= most);
    assert_true(made.width >= 320);
    assert_near(made.scale, made.width / 4000.0);
    free((void *)(uintptr_t)photo.at);
    free(rgb);
    arena_free(arena);
}

static void what_is_no_photo_is_said(void **state) {
    (void)state;
    Arena *arena = arena_new();
    char path[64];
    PagePhoto made;
    Diags problems = diags_new(arena);
    assert_false(photo_for_page(arena, on_disk(path, TEXT("no photo")), 1280, SIZE_MAX, &made, &problems));
    assert_int_equal(problems.list.count, 1);
    assert_int_equal(made.jpeg.len, 0);
    unlink(path);
    assert_false(photo_for_page(arena, "/tmp/unpick-no-such-photo.jpg", 1280, SIZE_MAX, &made, &problems));
    assert_int_equal(problems.list.count, 2);
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(place_and_serial_number_stay_behind),
        cmocka_unit_test(a_photo_stands_upright_and_keeps_its_colours),
        cmocka_unit_test(twenty_photos_fit_a_page),
        cmocka_unit_test(what_is_no_photo_is_said),
    };
    return cmocka_run_group_tests_name("report_photo", tests, NULL, NULL);
}
