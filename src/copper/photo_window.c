/* Two counters and the futex system call: no locks that a killed child could leave shut. */
#include "copper/photo_window.h"

#include <linux/futex.h>
#include <stddef.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

/* Sleeps while the counter is `value`, or until the time is over (NULL: never). */
static void sleep_while(_Atomic uint32_t *counter, uint32_t value, const struct timespec *longest) {
    syscall(SYS_futex, counter, FUTEX_WAIT, value, longest, NULL, 0);
}

static void wake(_Atomic uint32_t *counter) { syscall(SYS_futex, counter, FUTEX_WAKE, 1, NULL, NULL, 0); }

unsigned char *window_next(PhotoWindow *window) {
    uint32_t put = atomic_load(&window->put), taken;
    while (put - (taken = atomic_load(&window->taken)) >= WINDOW_SLOTS) sleep_while(&window->taken, taken, NULL);
    return window->slot[put % WINDOW_SLOTS];
}

void window_put(PhotoWindow *window) {
    atomic_fetch_add(&window->put, 1);
    wake(&window->put);
}

void window_end(PhotoWindow *window) {
    atomic_store(&window->ended, 1);
    wake(&window->put);
}

const unsigned char *window_wait(PhotoWindow *window, uint32_t at, double seconds) {
    struct timespec longest = {(time_t)seconds, (long)((seconds - (double)(time_t)seconds) * 1e9)};
    if (atomic_load(&window->put) == at && !atomic_load(&window->ended)) sleep_while(&window->put, at, &longest);
    return atomic_load(&window->put) == at ? NULL : window->slot[at % WINDOW_SLOTS];
}

void window_take(PhotoWindow *window, uint32_t at) {
    atomic_store(&window->taken, at + 1);
    wake(&window->taken);
}
