/* copper: photo files to pixels. Every format comes back as it was; which way is up is the file's word; what is no photo,
 * broken off, absurdly large or hostile is refused in words, soon; the child that decodes can do nothing but compute. */
#include "tests/check.h"

#include "base/file.h"

#include "copper/photo.h"
#include "copper/sandbox.h"
#include "tests/photo_files.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { WIDTH = 100, HEIGHT = 70 };

static const char *const NAMES[FILE_SORTS] = {"jpeg",
                                              "jpeg in scans",
                                              "grey jpeg",
                                              "png",
                                              "interlaced png",
                                              "grey png of 16 bits",
                                              "png with a palette",
                                              "png half seen through",
                                              "webp",
                                              "lossless webp",
                                              "heic"};

/* The last problem said, or an empty text. */
typedef struct Outcome {
    bool read;
    Photo photo;
    Diags problems;
    double seconds;
} Outcome;

static double now(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static Outcome decode(Text bytes) {
    Outcome outcome = {.problems = diags_new(arena_new())};
    double start = now();
    outcome.read = photo_decode(TEXT("photo"), bytes, &outcome.photo, &outcome.problems);
    outcome.seconds = now() - start;
    return outcome;
}

static void forget(Outcome *outcome) {
    photo_free(&outcome->photo);
    arena_free(outcome->problems.arena);
}

static Outcome decode_file(FileSort sort, unsigned turn) {
    unsigned char *rgb = files_picture(WIDTH, HEIGHT);
    Text bytes = files_write(sort, rgb, WIDTH, HEIGHT, turn);
    free(rgb);
    assert_true(bytes.len > 0);
    Outcome outcome = decode(bytes);
    free((void *)(uintptr_t)bytes.at);
    if (!outcome.read) fail_msg("%s: %.*s", NAMES[sort], TEXT_ARG(outcome.problems.list.at[0].message));
    return outcome;
}

static void expected_pixel(FileSort sort, uint32_t x, uint32_t y, unsigned char rgb[3]) {
    files_pixel(x, y, WIDTH, HEIGHT, rgb);
    unsigned char red = rgb[0];
    switch (sort) {
    case FILE_JPEG_GREY:
        memset(rgb, (int)(0.299 * rgb[0] + 0.587 * rgb[1] + 0.114 * rgb[2] + 0.5), 3);
        break; /* JFIF 1.02 */
    case FILE_PNG_GREY16:
        memset(rgb, rgb[1], 3);
        break;
    case FILE_PNG_PALETTE:
        rgb[1] = 255 - red, rgb[2] = red / 2;
        break;
    case FILE_PNG_ALPHA:
        for (int c = 0; c < 3; c++) rgb[c] = (unsigned char)((rgb[c] * 128 + 255 * 127) / 255);
        break;
    default:
        break;
    }
}

static void every_format_comes_back(void **state) {
    (void)state;
    for (FileSort sort = 0; sort < FILE_SORTS; sort++) {
        Outcome outcome = decode_file(sort, 0);
        assert_int_equal(outcome.photo.width, WIDTH);
        assert_int_equal(outcome.photo.height, HEIGHT);
        assert_true(outcome.photo.focal_35mm == 0);
        bool exact = sort >= FILE_PNG && sort <= FILE_PNG_PALETTE;
        exact |= sort == FILE_WEBP_LOSSLESS;
        int worst = 0;
        for (uint32_t y = 0; y < HEIGHT; y++) {
            for (uint32_t x = 0; x < WIDTH; x++) {
                unsigned char rgb[3];
                expected_pixel(sort, x, y, rgb);
                for (int c = 0; c < 3; c++) {
                    int off = abs(rgb[c] - outcome.photo.rgb[3 * (y * WIDTH + x) + (uint32_t)c]);
                    if (off > worst) worst = off;
                }
            }
        }
        if (worst > (exact ? 0 : 12)) fail_msg("%s is off by %d of 255", NAMES[sort], worst);
        forget(&outcome);
    }
}

/* Its lower part comes first, and more than a slot of the window at a time: pixel for pixel all the same. */
static void a_large_webp_without_loss_comes_back(void **state) {
    (void)state;
    enum { WIDE = 1201, HIGH = 1003 };
    unsigned char *rgb = files_picture(WIDE, HIGH);
    Text bytes = files_write(FILE_WEBP_LOSSLESS, rgb, WIDE, HIGH, 1);
    Outcome outcome = decode(bytes);
    assert_true(outcome.read && outcome.photo.width == WIDE && outcome.photo.height == HIGH);
    assert_memory_equal(outcome.photo.rgb, rgb, (size_t)3 * WIDE * HIGH);
    forget(&outcome);
    outcome = decode(text_sub(bytes, 0, bytes.len / 4 * 3)); /* as far as its upper part would need */
    assert_false(outcome.read);
    forget(&outcome);
    free((void *)(uintptr_t)bytes.at);
    free(rgb);
}

/* Exif 2.32, 4.6.4, tag 0x0112 (from memory): where the stored picture's row 0 and column 0 are seen. Row 0 at the top: 1,
 * 2; at the bottom: 3, 4; at the left: 5, 8; at the right: 6, 7. Column 0 at the left: 1, 4; right: 2, 3; top: 5, 6;
 * bottom: 7, 8. */
static void seen_at(unsigned turn, uint32_t x, uint32_t y, uint32_t *seen_x, uint32_t *seen_y) {
    uint32_t right = WIDTH - 1 - x, below = HEIGHT - 1 - y;
    switch (turn) {
    case 1:
        *seen_x = x, *seen_y = y;
        break;
    case 2:
        *seen_x = right, *seen_y = y;
        break;
    case 3:
        *seen_x = right, *seen_y = below;
        break;
    case 4:
        *seen_x = x, *seen_y = below;
        break;
    case 5:
        *seen_x = y, *seen_y = x;
        break;
    case 6:
        *seen_x = below, *seen_y = x;
        break;
    case 7:
        *seen_x = below, *seen_y = right;
        break;
    default:
        *seen_x = y, *seen_y = right;
        break;
    }
}

static void eight_ways_up(void **state) {
    (void)state;
    for (FileSort sort = 0; sort < FILE_SORTS; sort++) {
        for (unsigned turn = 1; turn <= 8; turn++) {
            Outcome outcome = decode_file(sort, turn);
            const Photo *photo = &outcome.photo;
            assert_int_equal(photo->width, turn <= 4 ? WIDTH : HEIGHT);
            assert_int_equal(photo->height, turn <= 4 ? HEIGHT : WIDTH);
            assert_true(photo->focal_35mm == 26);
            for (uint32_t y = 0; y < HEIGHT; y++) {
                for (uint32_t x = 0; x < WIDTH; x++) {
                    unsigned char rgb[3];
                    uint32_t seen_x, seen_y;
                    expected_pixel(sort, x, y, rgb);
                    seen_at(turn, x, y, &seen_x, &seen_y);
                    for (uint32_t c = 0; c < 3; c++) {
                        int off = rgb[c] - photo->rgb[3 * (seen_y * photo->width + seen_x) + c];
                        if (abs(off) > 16) fail_msg("%s turned %u: off by %d at %u,%u", NAMES[sort], turn, off, x, y);
                    }
                }
            }
            forget(&outcome);
        }
    }
}

/* Refused with words, and within a second (a hundred in sanitized builds would still be bounded; here a busy machine has
 * room). */
static void refused(const char *what, Text bytes) {
    Outcome outcome = decode(bytes);
    if (outcome.read) fail_msg("%s was read", what);
    assert_int_equal(outcome.problems.list.count, 1);
    assert_true(outcome.problems.list.at[0].message.len > 0 && outcome.problems.list.at[0].expected.len > 0);
    if (outcome.seconds > 5) fail_msg("%s took %.1f s", what, outcome.seconds);
    assert_null(outcome.photo.rgb);
    forget(&outcome);
}

static void what_is_no_photo(void **state) {
    (void)state;
    refused("nothing", TEXT(""));
    refused("text", TEXT("product \"No-touch soap dispenser\"\n"));
    refused("GIF", TEXT("GIF89a\x01\x00\x01\x00\x80\x00\x00\x00\x00\x00\xFF\xFF\xFF;"));
    refused("a JPEG's first bytes", TEXT("\xFF\xD8\xFF"));
    refused("a JPEG of nothing", TEXT("\xFF\xD8\xFF\xD9"));
    refused("a PNG's first bytes", TEXT("\x89PNG\r\n\x1A\n"));
    refused("a WebP's first bytes", TEXT("RIFF\x08\x00\x00\x00WEBPVP8 "));
    refused("a HEIC's first bytes", TEXT("\x00\x00\x00\x18"
                                         "ftypheic\x00\x00\x00\x00heicmif1"));
}

static void what_breaks_off(void **state) {
    (void)state;
    unsigned char *rgb = files_picture(WIDTH, HEIGHT);
    for (FileSort sort = 0; sort < FILE_SORTS; sort++) {
        Text bytes = files_write(sort, rgb, WIDTH, HEIGHT, 6);
        for (size_t part = 1; part < 8; part++) refused(NAMES[sort], text_sub(bytes, 0, bytes.len * part / 8));
        free((void *)(uintptr_t)bytes.at);
    }
    free(rgb);
}

/* PNG (ISO/IEC 15948, 11.2.2): width and height are big endian at 16 and 20, the header's CRC stands at 29. */
static uint32_t crc(const unsigned char *at, size_t len) {
    uint32_t sum = 0xFFFFFFFF;
    for (size_t i = 0; i < len; i++) {
        sum ^= at[i];
        for (int bit = 0; bit < 8; bit++) sum = sum & 1 ? sum >> 1 ^ 0xEDB88320 : sum >> 1;
    }
    return ~sum;
}

static void put_big_endian(unsigned char *at, uint32_t value) {
    for (int i = 0; i < 4; i++) at[i] = (unsigned char)(value >> (24 - 8 * i));
}

static void refused_png_of(const char *what, uint32_t width, uint32_t height) {
    unsigned char *rgb = files_picture(WIDTH, HEIGHT);
    Text bytes = files_write(FILE_PNG, rgb, WIDTH, HEIGHT, 0);
    unsigned char *at = (unsigned char *)(uintptr_t)bytes.at;
    put_big_endian(at + 16, width);
    put_big_endian(at + 20, height);
    put_big_endian(at + 29, crc(at + 12, 17));
    refused(what, bytes);
    free(at);
    free(rgb);
}

static void what_is_too_large(void **state) {
    (void)state;
    refused_png_of("a PNG of 4 thousand megapixels", 65535, 65535);
    refused_png_of("a PNG of 2 to the 62 pixels", 0x7FFFFFFF, 0x7FFFFFFF);
    refused_png_of("a PNG of 200 megapixels in a few bytes", 20000, 10000);
    refused_png_of("a PNG without pixels", 0, 10);
    unsigned char *rgb = files_picture(WIDTH, HEIGHT);
    Text bytes = files_write(FILE_JPEG, rgb, WIDTH, HEIGHT, 0);
    size_t frame =
        text_find(bytes, TEXT("\xFF\xC0")); /* ISO/IEC 10918-1, B.2.2: height and width follow length and precision */
    unsigned char *at = (unsigned char *)(uintptr_t)bytes.at;
    memset(at + frame + 5, 0xFF, 4);
    refused("a JPEG of 65535 x 65535", bytes);
    put_big_endian(at + frame + 5, 14000 << 16 | 14000);
    refused("a JPEG of 196 megapixels in a few bytes", bytes);
    free(at);
    free(rgb);
}

static void what_is_no_file(void **state) {
    (void)state;
    char folder[] = "/tmp/unpick-photo-XXXXXX", path[64];
    assert_non_null(mkdtemp(folder));
    Diags problems = diags_new(arena_new());
    Photo photo;
    assert_false(photo_read(folder, &photo, &problems));
    snprintf(path, sizeof path, "%s/pipe", folder);
    assert_int_equal(mkfifo(path, 0600), 0);
    assert_false(photo_read(path, &photo, &problems)); /* and does not wait for a writer */
    unlink(path);
    assert_false(photo_read(path, &photo, &problems));
    assert_int_equal(problems.list.count, 3);
    snprintf(path, sizeof path, "%s/a.png", folder);
    unsigned char rgb[] = {255, 0, 0, 0, 255, 0};
    assert_true(photo_write_png(path, 2, 1, rgb));
    assert_true(photo_read(path, &photo, &problems));
    assert_int_equal(photo.width, 2);
    assert_memory_equal(photo.rgb, rgb, sizeof rgb);
    photo_free(&photo);
    assert_true(photo_write_png_grey16(path, 2, 1, (uint16_t[]){0x1234, 0xFFFF}));
    assert_true(photo_read(path, &photo, &problems));
    assert_memory_equal(photo.rgb, ((unsigned char[]){0x12, 0x12, 0x12, 255, 255, 255}), 6);
    photo_free(&photo);
    unlink(path);
    assert_int_equal(rmdir(folder), 0);
    assert_false(photo_write_png("/nowhere/at/all.png", 2, 1, rgb));
    arena_free(problems.arena);
}

/* A first look: a JPEG by halves of its sides while enough pixels are left, the same picture; a PNG whole. */
static void small_photos_are_the_same_smaller(void **state) {
    (void)state;
    enum { WIDE = 400, HIGH = 240 };
    static const struct {
        FileSort sort;
        uint64_t enough, part;
        unsigned turn, shrunk;
    } cases[] = {{FILE_JPEG, WIDE * HIGH, 0, 1, 1},
                 {FILE_JPEG, WIDE * HIGH / 4, 0, 1, 2},
                 {FILE_JPEG, WIDE * HIGH / 16 + 1, 0, 6, 2},
                 {FILE_JPEG, 1, 0, 1, 8},
                 {FILE_JPEG_IN_SCANS, 1, 0, 6, 8},
                 {FILE_PNG, 1, 0, 1, 1},
                 {FILE_JPEG, 1000, 16000, 1, 4},
                 {FILE_JPEG, 1001, 16000, 1, 2}};
    char path[] = "/tmp/unpick-small-XXXXXX";
    int file = mkstemp(path);
    assert_true(file >= 0);
    close(file);
    unsigned char *rgb = files_picture(WIDE, HIGH);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        Text bytes = files_write(cases[i].sort, rgb, WIDE, HIGH, cases[i].turn);
        Diags problems = diags_new(arena_new());
        Photo photo;
        unsigned shrunk = 0;
        assert_true(file_write(path, bytes));
        assert_true(photo_read_small(path, cases[i].enough, cases[i].part, &photo, &shrunk, &problems));
        assert_int_equal(shrunk, cases[i].shrunk);
        bool aside = cases[i].turn == 6;
        assert_int_equal(photo.width, (aside ? HIGH : WIDE) / shrunk);
        assert_int_equal(photo.height, (aside ? WIDE : HIGH) / shrunk);
        for (uint32_t y = 0; y < photo.height; y += 3)
            for (uint32_t x = 0; x < photo.width; x += 3) {
                unsigned char expected[3]; /* turn 6: row 0 is seen at the right */
                uint32_t stored_x = aside ? y : x, stored_y = aside ? photo.width - 1 - x : y;
                files_pixel(stored_x * shrunk + shrunk / 2, stored_y * shrunk + shrunk / 2, WIDE, HIGH, expected);
                for (uint32_t c = 0; c < 3; c++)
                    assert_in_range(photo.rgb[3 * (y * photo.width + x) + c], expected[c] - 12, expected[c] + 12);
            }
        photo_free(&photo);
        arena_free(problems.arena);
        free((void *)(uintptr_t)bytes.at);
    }
    free(rgb);
    unlink(path);
}

/* ---- what the child may do ---- */

typedef struct Tries {
    int pipe;
    int open, create, socket, send, fork, kill, exec, thread_memory; /* errno of each, 0 when it could be done */
    bool computed;
} Tries;

static int outcome_of(long result) { return result < 0 ? errno : 0; }

static void try_everything(Sandbox *box, void *given) {
    (void)box;
    Tries *tries = given;
    tries->open = outcome_of(open("/etc/hostname", O_RDONLY));
    tries->create = outcome_of(open("/tmp/unpick-escaped", O_WRONLY | O_CREAT, 0600));
    tries->socket = outcome_of(socket(AF_INET, SOCK_STREAM, 0));
    tries->send = outcome_of(write(tries->pipe, "x", 1));
    tries->fork = outcome_of(fork());
    tries->kill = outcome_of(kill(getppid(), 0));
    tries->exec = outcome_of(execl("/bin/true", "true", (char *)NULL));
    tries->computed = true;
}

static double a_second(const void *given) {
    (void)given;
    return 1;
}

static void child_can_only_compute(void **state) {
    (void)state;
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    Tries *tries = sandbox_shared(sizeof *tries);
    tries->pipe = ends[1];
    SandboxTask task = {
        .work = try_everything, .seconds = a_second, .given = tries, .memory = 1 << 20, .memory_most = 1 << 20};
    assert_int_equal(sandbox_run(&task), SANDBOX_DONE);
    assert_true(tries->computed);
    assert_int_equal(tries->open, EPERM);
    assert_int_equal(tries->create, EPERM);
    assert_int_equal(tries->socket, EPERM);
    assert_int_equal(tries->send, EPERM);
    assert_int_equal(tries->fork, EPERM);
    assert_int_equal(tries->kill, EPERM);
    assert_int_equal(tries->exec, EPERM);
    assert_int_not_equal(access("/tmp/unpick-escaped", F_OK), 0);
    close(ends[0]);
    close(ends[1]);
}

static void fall(Sandbox *box, void *given) {
    (void)box, (void)given;
    __builtin_trap();
}

static void never_end(Sandbox *box, void *given) {
    (void)box;
    for (volatile int *count = given;;) ++*count;
}

static void take_a_gigabyte(Sandbox *box, void *given) {
    (void)box;
    *(int *)given = malloc((size_t)1 << 30) == NULL;
}

static double a_moment(const void *given) {
    (void)given;
    return 0.02;
}

static void child_is_bounded(void **state) {
    (void)state;
    int *shared = sandbox_shared(sizeof *shared);
    SandboxTask task = {.work = fall, .seconds = a_second, .given = shared, .memory = 1 << 20, .memory_most = 1 << 20};
    assert_int_equal(sandbox_run(&task), SANDBOX_CRASHED);
    task.work = never_end;
    task.seconds = a_moment;
    assert_int_equal(sandbox_run(&task), SANDBOX_TOO_LONG);
#if !defined(__SANITIZE_ADDRESS__) /* a sanitizer maps terabytes: no limit is set then */
    task.work = take_a_gigabyte;
    task.seconds = a_second;
    assert_int_equal(sandbox_run(&task), SANDBOX_DONE);
    assert_int_equal(*shared, 1);
#else
    (void)take_a_gigabyte;
#endif
    assert_true(waitpid(-1, NULL, WNOHANG) < 0); /* and leaves no process behind */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(small_photos_are_the_same_smaller),
        cmocka_unit_test(every_format_comes_back),
        cmocka_unit_test(a_large_webp_without_loss_comes_back),
        cmocka_unit_test(eight_ways_up),
        cmocka_unit_test(what_is_no_photo),
        cmocka_unit_test(what_breaks_off),
        cmocka_unit_test(what_is_too_large),
        cmocka_unit_test(what_is_no_file),
        cmocka_unit_test(child_can_only_compute),
        cmocka_unit_test(child_is_bounded),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
