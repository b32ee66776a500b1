/* The child is forked, gives up everything but computing (seccomp-bpf: a list of the system calls that memory, time and
 * ending need; every other one answers EPERM), and works. Fork, not a helper program: the bytes are already mapped, and a
 * fork of a small process takes a fraction of a millisecond. The parent never trusts what the child says, watches its
 * processor clock (so that a busy machine refuses nothing), and kills it when the time is up. Linux only, x86-64 and arm64.
 */
#include "copper/sandbox.h"

#include <errno.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <math.h>
#include <poll.h>
#include <sched.h>
#include <signal.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#if defined(__x86_64__)
#define SANDBOX_ARCH AUDIT_ARCH_X86_64
#elif defined(__aarch64__)
#define SANDBOX_ARCH AUDIT_ARCH_AARCH64
#else
#error "the sandbox knows the system calls of x86-64 and arm64 only"
#endif

#if defined(__SANITIZE_ADDRESS__)
#define SANITIZED true
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(memory_sanitizer)
#define SANITIZED true
#endif
#endif
#ifndef SANITIZED
#define SANITIZED false
#endif

enum { EXIT_DONE = 0, EXIT_UNPROTECTED = 97 };
/* A stopped or starved child: so many times its processor time on the wall, and it is killed as well. */
static const double WALL_TIMES = 8;
static const double LOOK_AGAIN = 0.05;   /* seconds: at most so late is a crash noticed */
static const double SANITIZED_TIMES = 8; /* what the sanitizers slow down */

struct Sandbox {
    size_t base; /* bytes mapped when the work began */
};

void *sandbox_shared(size_t bytes) {
    void *at = mmap(NULL, bytes, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS | MAP_NORESERVE, -1, 0);
    return at == MAP_FAILED ? NULL : at;
}

/* ---- the child ---- */

#define LOAD(field) BPF_STMT(BPF_LD | BPF_W | BPF_ABS, (uint32_t)offsetof(struct seccomp_data, field))
#define ANSWER(what) BPF_STMT(BPF_RET | BPF_K, (what))
#define REFUSE ANSWER(SECCOMP_RET_ERRNO | EPERM)
#define ALLOW(name) BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, __NR_##name, 0, 1), ANSWER(SECCOMP_RET_ALLOW)
/* one argument's low half (little endian) decides: all of `bits` set, or none of them */
#define ALLOW_WITH(name, argument, bits)                                                                                   \
    BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, __NR_##name, 0, 4), LOAD(args[argument]),                                          \
        BPF_JUMP(BPF_JMP | BPF_JSET | BPF_K, (bits), 0, 1), ANSWER(SECCOMP_RET_ALLOW), REFUSE
#define ALLOW_WITHOUT(name, argument, bits)                                                                                \
    BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, __NR_##name, 0, 4), LOAD(args[argument]),                                          \
        BPF_JUMP(BPF_JMP | BPF_JSET | BPF_K, (bits), 1, 0), ANSWER(SECCOMP_RET_ALLOW), REFUSE
#define ALLOW_WHEN(name, argument, value)                                                                                  \
    BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, __NR_##name, 0, 4), LOAD(args[argument]),                                          \
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, (value), 0, 1), ANSWER(SECCOMP_RET_ALLOW), REFUSE

/* No way back: from here on this process computes. */
static bool give_up_rights(void) {
    static const struct sock_filter rules[] = {
        LOAD(arch),
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SANDBOX_ARCH, 1, 0),
        ANSWER(SECCOMP_RET_KILL_PROCESS),
        LOAD(nr),
        ALLOW(exit),
        ALLOW(exit_group),
        ALLOW(brk),
        ALLOW(munmap),
        ALLOW(mremap),
        ALLOW(madvise),
        ALLOW(futex),
        ALLOW(sched_yield),
        ALLOW(clock_gettime),
        ALLOW(gettimeofday),
        ALLOW(getrandom),
        ALLOW(getpid),
        ALLOW(gettid),
        ALLOW(sigaltstack),
        ALLOW(rt_sigprocmask),
        ALLOW(rt_sigreturn),
        ALLOW_WITHOUT(mprotect, 2, PROT_EXEC),
        ALLOW_WITH(mmap, 3, MAP_ANONYMOUS), /* memory, never a file */
        ALLOW_WHEN(prlimit64, 1, RLIMIT_AS),
        ALLOW_WITH(clone, 0, CLONE_THREAD), /* a thread has this same filter; libde265 hangs without one */
        ALLOW(set_robust_list),
        ALLOW(rseq),
        ALLOW(sched_getaffinity),
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, __NR_clone3, 0, 1),
        ANSWER(SECCOMP_RET_ERRNO | ENOSYS), /* its flags can't be looked at: the C library then asks for clone */
#if defined(__SANITIZE_ADDRESS__)
        ALLOW_WHEN(write, 0, STDERR_FILENO), /* what the sanitizer found */
#endif
        REFUSE,
    };
    struct sock_fprog program = {sizeof rules / sizeof rules[0], (struct sock_filter *)rules};
    return prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 && prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program) == 0;
}

static size_t bytes_mapped(void) {
    unsigned long pages = 0;
    FILE *statm = fopen("/proc/self/statm", "r");
    if (statm == NULL) return 0;
    if (fscanf(statm, "%lu", &pages) != 1) pages = 0;
    fclose(statm);
    return (size_t)pages * (size_t)sysconf(_SC_PAGESIZE);
}

/* The sanitizers map terabytes of shadow: no limit on addresses then. */
static bool limit_memory(const Sandbox *box, size_t now, size_t most) {
    struct rlimit limit = {box->base + now, box->base + most};
    return SANITIZED || setrlimit(RLIMIT_AS, &limit) == 0;
}

void sandbox_allow(Sandbox *box, size_t memory) {
    struct rlimit limit;
    if (SANITIZED || getrlimit(RLIMIT_AS, &limit) != 0) return;
    limit.rlim_cur = box->base + memory < limit.rlim_max ? box->base + memory : limit.rlim_max;
    setrlimit(RLIMIT_AS, &limit);
}

_Noreturn static void be_child(const SandboxTask *task, pid_t parent) {
    if (task->prepare != NULL) task->prepare(task->given);
    Sandbox box = {bytes_mapped()};
    struct rlimit none = {0, 0};
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    static const int faults[] = {SIGSEGV, SIGBUS, SIGILL, SIGFPE, SIGABRT, SIGTRAP, SIGSYS, SIGTERM, SIGINT};
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++)
        signal(faults[i], SIG_DFL); /* the parent's ways to go on are not ours */
    bool ready = getppid() == parent && prctl(PR_SET_DUMPABLE, SANITIZED) == 0 && setrlimit(RLIMIT_CORE, &none) == 0 &&
                 setrlimit(RLIMIT_FSIZE, &none) == 0 && setrlimit(RLIMIT_NOFILE, &none) == 0 && box.base > 0 &&
                 limit_memory(&box, task->memory, task->memory_most) && give_up_rights();
    if (!ready) _exit(EXIT_UNPROTECTED);
    task->work(&box, task->given);
    _exit(EXIT_DONE);
}

/* ---- the parent ---- */

static double read_clock(clockid_t clock) {
    struct timespec now = {0};
    clock_gettime(clock, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Until it ends or its time is up. Returns waitpid's answer; status as waitpid's. */
static pid_t watch(const SandboxTask *task, pid_t child, int *status, bool *too_long) {
    clockid_t clock;
    bool has_clock = clock_getcpuclockid(child, &clock) == 0, busy = task->meanwhile != NULL;
    double start = read_clock(CLOCK_MONOTONIC);
    int handle = (int)syscall(SYS_pidfd_open, child, 0); /* -1 on kernels before 5.3: then poll only sleeps */
    pid_t ended = 0;
    while (!*too_long) {
        ended = waitpid(child, status, WNOHANG);
        if (ended != 0 && !(ended < 0 && errno == EINTR)) break;
        double allowed = task->seconds(task->given) * (SANITIZED ? SANITIZED_TIMES : 1);
        double left = allowed - (has_clock ? read_clock(clock) : 0), wait = fmin(fmax(left, 0.002), LOOK_AGAIN);
        *too_long = left <= 0 || read_clock(CLOCK_MONOTONIC) - start > WALL_TIMES * allowed;
        if (*too_long) break;
        if (busy)
            busy = task->meanwhile(task->given, wait);
        else
            poll(&(struct pollfd){.fd = handle, .events = POLLIN}, 1, handle < 0 ? 2 : (int)(wait * 1000));
    }
    if (*too_long) {
        kill(child, SIGKILL);
        while ((ended = waitpid(child, status, 0)) < 0 && errno == EINTR) {
        }
    }
    while (busy && !*too_long && task->meanwhile(task->given, 0)) { /* what it left behind */
        if (read_clock(CLOCK_MONOTONIC) - start > WALL_TIMES * task->seconds(task->given)) break;
    }
    if (handle >= 0) close(handle);
    return ended;
}

SandboxEnd sandbox_run(const SandboxTask *task) {
    pid_t self = getpid(), child = fork();
    if (child < 0) return SANDBOX_NO_CHILD;
    if (child == 0) be_child(task, self);
    int status = 0;
    bool too_long = false;
    pid_t ended = watch(task, child, &status, &too_long);
    if (too_long) return SANDBOX_TOO_LONG;
    if (ended != child || !WIFEXITED(status)) return SANDBOX_CRASHED;
    return WEXITSTATUS(status) == EXIT_DONE          ? SANDBOX_DONE
           : WEXITSTATUS(status) == EXIT_UNPROTECTED ? SANDBOX_NO_CHILD
                                                     : SANDBOX_CRASHED;
}
