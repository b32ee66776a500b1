/* A file's bytes to pixels: the file is mapped, a child decodes it (sandbox.h), and its rows come through a small window
 * (photo_window.h) while it goes on; here they are laid where they belong upright. So decoding and the first touch of the
 * photo's memory, which costs as much, go side by side on two cores, and the child never sees where the pixels end up. All
 * that it says of size, turning and faults is a stranger's word, read once and checked. */
#include "copper/photo_inside.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

static const uint64_t FILE_MOST = 1 << 30;
static const double BYTES_A_PIXEL = 8; /* of a decoder's addresses, at most */
/* Processor time: for reading what kind of photo it is, and then for each pixel. HEIC, the slowest, was measured at 90 ns
 * (bench/bench_photo.c). A file whose bytes can't fill its pixels with a picture gets no time for them. */
static const double SECONDS_TO_BEGIN = 0.6, SECONDS_A_PIXEL = 200e-9, PIXELS_A_BYTE = 64;

enum { LARGE = 1 << 20 /* pixels */ };

/* The parent's side of a job. */
typedef struct Taking {
    PhotoJob *job; /* shared with the child */
    size_t file_bytes;
    uint32_t width, height; /* as stored, once checked; 0 until then */
    unsigned turn, shrunk;
    uint32_t first;
    bool in_blocks;      /* turned when the child is gone */
    uint32_t row, slots; /* taken so far */
    bool bad;            /* no memory, or nonsense from the child */
    Photo photo;
} Taking;

static size_t rgb_bytes(uint64_t width, uint64_t height) { return (size_t)(3 * width * height); }

bool photo_new(uint32_t width, uint32_t height, Photo *photo) {
    *photo = (Photo){.width = width, .height = height};
    uint64_t pixels = (uint64_t)width * height;
    if (pixels == 0 || pixels > PHOTO_PIXELS_MOST) return false;
    void *at =
        mmap(NULL, rgb_bytes(width, height), PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS | MAP_NORESERVE, -1, 0);
    if (at == MAP_FAILED) return false;
    if (pixels > LARGE)
        madvise(at, rgb_bytes(width, height), MADV_HUGEPAGE); /* fewer faults, where the kernel has such pages */
    photo->rgb = at;
    return true;
}

void photo_free(Photo *photo) {
    if (photo->rgb != NULL) munmap(photo->rgb, rgb_bytes(photo->width, photo->height));
    *photo = (Photo){0};
}

static void prepare(void *given) { photo_open(((Taking *)given)->job); }

static void work(Sandbox *box, void *given) {
    PhotoJob *job = ((Taking *)given)->job;
    job->box = box;
    photo_decode_job(job);
    window_end(job->window);
}

static double seconds(const void *given) {
    const Taking *taking = given;
    double pixels = (double)taking->width * taking->height, filled = PIXELS_A_BYTE * (double)taking->file_bytes;
    const volatile PhotoJob *job = taking->job;
    if (taking->width == 0)
        pixels =
            fmin((double)job->width * (double)job->height, PHOTO_PIXELS_MOST); /* of a decoder that gives all at its end */
    if (taking->width > 0) pixels *= (double)taking->shrunk * taking->shrunk;
    return SECONDS_TO_BEGIN + SECONDS_A_PIXEL * fmin(pixels, filled);
}

/* Takes the child's word for the photo's size, once, if it is one. What turns a photo on its side touches all of it with
 * the first rows: not while the child holds as much itself. */
static bool begin_taking(Taking *taking) {
    const volatile PhotoJob *job = taking->job;
    uint32_t width = job->width, height = job->height;
    unsigned turn = job->turn, shrunk = job->shrunk, first = job->first;
    if (width == 0 || height == 0 || width > PHOTO_SIDE_MOST || height > PHOTO_SIDE_MOST ||
        (uint64_t)width * height > PHOTO_PIXELS_MOST || turn < 1 || turn > 8 || shrunk < 1 || shrunk > 8 || first >= height)
        return false;
    bool aside = photo_turns_aside(turn);
    taking->in_blocks = job->heavy && aside;
    taking->turn = turn;
    taking->shrunk = shrunk;
    taking->first = first;
    taking->width = width;
    taking->height = height;
    if (!photo_new(aside ? height : width, aside ? width : height, &taking->photo)) return false;
    if (taking->in_blocks)
        madvise(taking->photo.rgb, rgb_bytes(width, height), MADV_NOHUGEPAGE); /* touched here and there */
    return true;
}

static bool take_rows(void *given, double longest) {
    Taking *taking = given;
    PhotoWindow *window = taking->job->window;
    const unsigned char *rows = window_wait(window, taking->slots, longest);
    if (rows == NULL) return longest > 0 && !atomic_load(&window->ended);
    if (taking->bad || (taking->width == 0 && !begin_taking(taking)) || taking->row == taking->height) {
        taking->bad = true;
        return false;
    }
    uint32_t at = photo_row_after(taking->first, taking->row, taking->height);
    uint32_t count = photo_slot_rows(taking->width, taking->height, at, taking->height - taking->row);
    if (taking->in_blocks)
        photo_keep_blocks(rows, at, count, taking->width, taking->height, taking->photo.rgb);
    else
        photo_turn(rows, (PhotoPart){0, at, taking->width, count}, taking->width, taking->height, taking->turn,
                   taking->photo.rgb);
    window_take(window, taking->slots++);
    taking->row += count;
    return taking->row < taking->height;
}

/* A text that the child wrote: ended, and of plain characters, whatever it did. */
static Text child_text(Arena *arena, char *text, size_t room) {
    text[room - 1] = '\0';
    for (char *at = text; *at != '\0'; at++)
        if (*at < ' ' || *at > '~') *at = '?';
    return text_copy(arena, text_of(text));
}

static const char *end_text(SandboxEnd end) {
    switch (end) {
    case SANDBOX_NO_CHILD:
        return "photos can't be read safely here: the process that decodes them can't be shut in";
    case SANDBOX_CRASHED:
        return "the decoder gave up on this file";
    case SANDBOX_TOO_LONG:
        return "decoding takes far too long for a photo of this size";
    default:
        return "the decoder said nothing";
    }
}

/* What was left to turn when the child was there. */
static bool turn_blocks(Taking *taking) {
    if (!taking->in_blocks) return true;
    Photo upright;
    if (!photo_new(taking->photo.width, taking->photo.height, &upright)) return false;
    photo_turn_blocks(taking->photo.rgb, taking->width, taking->height, taking->turn, upright.rgb);
    photo_free(&taking->photo);
    taking->photo = upright;
    return true;
}

/* Says what went wrong: the child in its words, or how it ended. */
static void tell(Taking *taking, SandboxEnd end, Text name, Diags *problems) {
    PhotoJob *job = taking->job;
    Text message = child_text(problems->arena, job->message, sizeof job->message);
    Text expected = child_text(problems->arena, job->expected, sizeof job->expected);
    Text hint = {0};
    if (message.len == 0 || end == SANDBOX_NO_CHILD) {
        message = text_of(end_text(end));
        expected = TEXT("a JPEG, PNG, WebP or HEIC photo as the camera wrote it");
    }
    if (end == SANDBOX_NO_CHILD) {
        expected =
            TEXT("a system where a process may start another, limit it and take rights from it (setrlimit, seccomp)");
        hint = TEXT("valgrind and some containers forbid that: run without them once, with derived/ or --cache to keep "
                    "what it gives");
    }
    diag_add(problems, (Diag){.place.file = name, .message = message, .expected = expected, .hint = hint});
}

static bool decode(Text name, PhotoJob asked, Photo *photo, unsigned *shrunk, Diags *problems) {
    Taking taking = {.job = sandbox_shared(sizeof *taking.job), .file_bytes = asked.bytes.len};
    PhotoWindow *window = sandbox_shared(sizeof *window);
    bool done = false;
    *photo = (Photo){0};
    if (taking.job == NULL || window == NULL) {
        diag_add(problems,
                 (Diag){.place.file = name, .message = TEXT("no memory for a photo"), .hint = text_of(strerror(errno))});
    } else {
        *taking.job = asked;
        taking.job->window = window, taking.job->pixels_most = PHOTO_PIXELS_MOST;
        taking.job->turn = taking.job->shrunk = 1;
        SandboxEnd end =
            sandbox_run(&(SandboxTask){.prepare = prepare,
                                       .work = work,
                                       .meanwhile = take_rows,
                                       .seconds = seconds,
                                       .given = &taking,
                                       .memory = PHOTO_BESIDE,
                                       .memory_most = PHOTO_BESIDE + (size_t)(BYTES_A_PIXEL * PHOTO_PIXELS_MOST)});
        done = end == SANDBOX_DONE && taking.job->whole && !taking.bad && taking.width > 0 && taking.row == taking.height &&
               turn_blocks(&taking);
        if (!done) tell(&taking, end, name, problems);
    }
    if (done) {
        double focal = taking.job->focal_35mm;
        *photo = taking.photo;
        photo->focal_35mm = focal > 0 && focal < 10000 ? focal : 0;
        *shrunk = taking.shrunk;
    } else {
        photo_free(&taking.photo);
    }
    if (window != NULL) munmap(window, sizeof *window);
    if (taking.job != NULL) munmap(taking.job, sizeof *taking.job);
    return done;
}

bool photo_decode(Text name, Text bytes, Photo *photo, Diags *problems) {
    unsigned shrunk;
    return decode(name, (PhotoJob){.bytes = bytes}, photo, &shrunk, problems);
}

static bool refuse_file(const char *path, Diags *problems, const char *why) {
    Text name = text_copy(problems->arena, text_of(path));
    diag_add(problems,
             (Diag){.place.file = name, .message = text_of(why), .expected = TEXT("a JPEG, PNG, WebP or HEIC photo")});
    return false;
}

static bool read_file(const char *path, PhotoJob asked, Photo *photo, unsigned *shrunk, Diags *problems) {
    *photo = (Photo){0};
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK); /* a pipe that nobody writes must not hold us */
    if (fd < 0) return refuse_file(path, problems, strerror(errno));
    struct stat info;
    bool done = false;
    if (fstat(fd, &info) != 0) {
        refuse_file(path, problems, strerror(errno));
    } else if (!S_ISREG(info.st_mode)) {
        refuse_file(path, problems, S_ISDIR(info.st_mode) ? "a folder, not a photo" : "not a plain file");
    } else if (info.st_size == 0) {
        refuse_file(path, problems, "an empty file");
    } else if ((uint64_t)info.st_size > FILE_MOST) {
        refuse_file(path, problems, "larger than 1 GiB: no photo of up to 200 megapixels is");
    } else {
        size_t size = (size_t)info.st_size;
        char *at = mmap(NULL, size, PROT_READ, MAP_PRIVATE, fd,
                        0); /* only the child reads it: a file cut short meanwhile ends the child */
        if (at == MAP_FAILED)
            refuse_file(path, problems, strerror(errno));
        else {
            asked.bytes = (Text){at, size};
            done = decode(text_copy(problems->arena, text_of(path)), asked, photo, shrunk, problems);
        }
        if (at != MAP_FAILED) munmap(at, size);
    }
    close(fd);
    return done;
}

bool photo_read(const char *path, Photo *photo, Diags *problems) {
    unsigned shrunk;
    return read_file(path, (PhotoJob){0}, photo, &shrunk, problems);
}

bool photo_read_small(const char *path, uint64_t enough, uint64_t part, Photo *photo, unsigned *shrunk, Diags *problems) {
    return read_file(path, (PhotoJob){.enough = enough, .part = part}, photo, shrunk, problems);
}
