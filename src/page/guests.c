#include "page/guests.h"

#include <errno.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <time.h>

enum { GUESTS_MOST = 256, BYTES_A_SECOND = 20 * 1000 /* of a poor wireless network: rule of thumb */ };

struct Guest {
    int socket;            /* under the lock; -1: free */
    _Atomic int64_t until; /* seconds of the monotonic clock; 0: for ever */
    const Guests *guests;
};

struct Guests {
    Guest all[GUESTS_MOST];
    uint32_t patience;
    pthread_mutex_t lock;
    pthread_cond_t stop;
    bool stopping; /* under the lock */
    pthread_t thread;
};

static int64_t now(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return time.tv_sec;
}

static void cut_the_late(Guests *guests, int64_t at) {
    for (size_t i = 0; i < GUESTS_MOST; i++) {
        Guest *guest = &guests->all[i];
        int64_t until = atomic_load(&guest->until);
        if (guest->socket >= 0 && until > 0 && until < at) shutdown(guest->socket, SHUT_RDWR);
    }
}

static void *look_after(void *given) {
    Guests *guests = given;
    pthread_mutex_lock(&guests->lock);
    while (!guests->stopping) {
        struct timespec next = {.tv_sec = now() + 1};
        pthread_cond_timedwait(&guests->stop, &guests->lock, &next);
        cut_the_late(guests, now());
    }
    pthread_mutex_unlock(&guests->lock);
    return NULL;
}

Guests *guests_new(uint32_t patience, Diags *problems) {
    Guests *guests = calloc(1, sizeof *guests);
    pthread_condattr_t clock;
    int error = guests == NULL ? ENOMEM : 0;
    if (error == 0) {
        guests->patience = patience;
        for (size_t i = 0; i < GUESTS_MOST; i++) guests->all[i].socket = -1, guests->all[i].guests = guests;
        pthread_condattr_init(&clock);
        pthread_condattr_setclock(&clock, CLOCK_MONOTONIC);
        pthread_cond_init(&guests->stop, &clock);
        pthread_condattr_destroy(&clock);
        pthread_mutex_init(&guests->lock, NULL);
        error = pthread_create(&guests->thread, NULL, look_after, guests);
    }
    if (error == 0) return guests;
    diag_add(problems, (Diag){.message = TEXT("no thread that looks after connections"), .hint = text_of(strerror(error))});
    free(guests);
    return NULL;
}

Guest *guests_come(Guests *guests, int socket) {
    Guest *guest = NULL;
    pthread_mutex_lock(&guests->lock);
    for (size_t i = 0; i < GUESTS_MOST && guest == NULL; i++)
        if (guests->all[i].socket < 0) guest = &guests->all[i];
    if (guest != NULL) {
        guest_may_take(guest, 0);
        guest->socket = socket;
    }
    pthread_mutex_unlock(&guests->lock);
    return guest;
}

void guest_may_take(Guest *guest, uint64_t bytes) {
    if (guest != NULL) atomic_store(&guest->until, now() + guest->guests->patience + (int64_t)(bytes / BYTES_A_SECOND));
}

void guest_may_stay(Guest *guest) {
    if (guest != NULL) atomic_store(&guest->until, 0);
}

void guests_go(Guests *guests, Guest *guest) {
    if (guest == NULL) return;
    pthread_mutex_lock(&guests->lock);
    guest->socket = -1;
    pthread_mutex_unlock(&guests->lock);
}

void guests_free(Guests *guests) {
    if (guests == NULL) return;
    pthread_mutex_lock(&guests->lock);
    guests->stopping = true;
    pthread_cond_signal(&guests->stop);
    pthread_mutex_unlock(&guests->lock);
    pthread_join(guests->thread, NULL);
    pthread_cond_destroy(&guests->stop);
    pthread_mutex_destroy(&guests->lock);
    free(guests);
}
