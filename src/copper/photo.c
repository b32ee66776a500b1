/* A file's bytes to pixels: the file is mapped, a child decodes it (sandbox.h) straight into memory that both see, and the
 * unused rest of that memory is given back. So a photo costs its own 3 bytes a pixel and what its decoder needs, no copy.
 * What the child says of size and faults is checked here as a stranger's word. */
#include "copper/photo_inside.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

static const uint64_t FILE_MOST = 1 << 30;
static const double BYTES_A_PIXEL = 3; /* of a decoder, at most, beside the photo's own 3 */
/* Processor time: for reading what kind of photo it is, and then for each pixel. HEIC, the slowest, takes about 60 ns, here
 * measured. A file whose bytes can't fill its pixels with a picture (fewer than one bit in eight pixels) gets no time for
 * them. */
static const double SECONDS_TO_BEGIN = 0.6, SECONDS_A_PIXEL = 150e-9, PIXELS_A_BYTE = 64;

static size_t rgb_bytes(uint64_t width, uint64_t height) { return (size_t)(3 * width * height); }

bool photo_new(uint32_t width, uint32_t height, Photo *photo) {
    *photo = (Photo){.width = width, .height = height};
    uint64_t pixels = (uint64_t)width * height;
    photo->rgb = pixels == 0 || pixels > PHOTO_PIXELS_MOST ? NULL : sandbox_shared(rgb_bytes(width, height));
    return photo->rgb != NULL;
}

void photo_free(Photo *photo) {
    if (photo->rgb != NULL) munmap(photo->rgb, rgb_bytes(photo->width, photo->height));
    *photo = (Photo){0};
}

static void prepare(void *given) { photo_open(given); }

static void work(Sandbox *box, void *given) {
    PhotoJob *job = given;
    job->box = box;
    photo_decode_job(job);
}

static double seconds(const void *given) {
    const volatile PhotoJob *job = given;
    double pixels = (double)job->width * (double)job->height, filled = PIXELS_A_BYTE * (double)job->bytes.len;
    if (pixels > PHOTO_PIXELS_MOST) pixels = PHOTO_PIXELS_MOST;
    return SECONDS_TO_BEGIN + SECONDS_A_PIXEL * (pixels < filled ? pixels : filled);
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
        return "photos can't be read safely here: no child process, or no seccomp in this kernel";
    case SANDBOX_CRASHED:
        return "the decoder gave up on this file";
    case SANDBOX_TOO_LONG:
        return "decoding takes far too long for a photo of this size";
    default:
        return "the decoder said nothing";
    }
}

/* Takes the pixels over when the job went well. False with a problem. */
static bool take_over(PhotoJob *job, SandboxEnd end, Text name, Photo *photo, Diags *problems) {
    uint64_t pixels = (uint64_t)job->width * job->height;
    if (end == SANDBOX_DONE && job->whole && pixels > 0 && pixels <= job->pixels_most) {
        bool aside = photo_turns_aside(job->turn);
        *photo = (Photo){aside ? job->height : job->width, aside ? job->width : job->height, job->rgb,
                         job->focal_35mm > 0 && job->focal_35mm < 10000 ? job->focal_35mm : 0};
        return true;
    }
    Text message = child_text(problems->arena, job->message, sizeof job->message);
    Text expected = child_text(problems->arena, job->expected, sizeof job->expected);
    if (message.len == 0 || end == SANDBOX_NO_CHILD) {
        message = text_of(end_text(end));
        expected = TEXT("a JPEG, PNG, WebP or HEIC photo as the camera wrote it");
    }
    diag_add(problems, (Diag){.place.file = name, .message = message, .expected = expected});
    return false;
}

bool photo_decode(Text name, Text bytes, Photo *photo, Diags *problems) {
    *photo = (Photo){0};
    long page = sysconf(_SC_PAGESIZE);
    size_t room = rgb_bytes(PHOTO_PIXELS_MOST, 1), used = 0;
    room += (size_t)page - room % (size_t)page;
    PhotoJob *job = sandbox_shared(sizeof *job);
    unsigned char *rgb = sandbox_shared(room);
    bool done = false;
    if (job == NULL || rgb == NULL) {
        diag_add(problems,
                 (Diag){.place.file = name, .message = TEXT("no memory for a photo"), .hint = text_of(strerror(errno))});
    } else {
        *job = (PhotoJob){.bytes = bytes, .pixels_most = PHOTO_PIXELS_MOST, .rgb = rgb, .turn = 1};
        PhotoJob asked = *job; /* the child's changes to these are not believed */
        SandboxEnd end = sandbox_run(&(SandboxTask){prepare, work, seconds, job, PHOTO_BESIDE,
                                                    PHOTO_BESIDE + (size_t)(BYTES_A_PIXEL * PHOTO_PIXELS_MOST)});
        job->rgb = asked.rgb;
        job->pixels_most = asked.pixels_most;
        done = take_over(job, end, name, photo, problems);
    }
    if (done) used = rgb_bytes(photo->width, photo->height) + (size_t)page - 1;
    used -= used % (size_t)page;
    if (rgb != NULL && used < room) munmap(rgb + used, room - used);
    if (job != NULL) munmap(job, sizeof *job);
    return done;
}

static bool refuse_file(const char *path, Diags *problems, const char *why) {
    Text name = text_copy(problems->arena, text_of(path));
    diag_add(problems,
             (Diag){.place.file = name, .message = text_of(why), .expected = TEXT("a JPEG, PNG, WebP or HEIC photo")});
    return false;
}

bool photo_read(const char *path, Photo *photo, Diags *problems) {
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
        else
            done = photo_decode(text_copy(problems->arena, text_of(path)), (Text){at, size}, photo, problems);
        if (at != MAP_FAILED) munmap(at, size);
    }
    close(fd);
    return done;
}
