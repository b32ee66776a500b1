/* Work on bytes of strangers, done in a child process that can compute and nothing else: no file, no socket, no process, no
 * signal to others (threads of its own, as shut in as it is); bounded in memory and processor time. Results come back
 * through memory shared with it. */
#ifndef UNPICK_COPPER_SANDBOX_H
#define UNPICK_COPPER_SANDBOX_H

#include <stdbool.h>
#include <stddef.h>

typedef struct Sandbox Sandbox;

typedef struct SandboxTask {
    void (*prepare)(void *given);            /* in the child, still free: opens what the work will need; may be NULL */
    void (*work)(Sandbox *box, void *given); /* in the child, shut in; on return the child ends */
    /* In the parent, again and again: waits for something to do for so many seconds at most (0: only what is there now) and does
     * it; false: nothing more to come. May be NULL. */
    bool (*meanwhile)(void *given, double longest);
    double (*seconds)(const void *given); /* processor time it may take, asked again and again as it goes on */
    void *given;                          /* to all of them; changes to it come back only where it is shared memory */
    size_t memory;      /* bytes it may take beyond what this process maps, sandbox_allow can change that ... */
    size_t memory_most; /* ... up to here */
} SandboxTask;

typedef enum SandboxEnd {
    SANDBOX_DONE,
    SANDBOX_NO_CHILD, /* no process or no protection to be had: nothing was done */
    SANDBOX_CRASHED,  /* or was killed */
    SANDBOX_TOO_LONG,
} SandboxEnd;

SandboxEnd sandbox_run(const SandboxTask *task);
/* For the work inside: it may now take so many bytes in all. */
void sandbox_allow(Sandbox *box, size_t memory);

/* Zeroed memory that a child forked later shares. NULL: none left. Pages cost nothing until they are written. */
void *sandbox_shared(size_t bytes);

#endif
