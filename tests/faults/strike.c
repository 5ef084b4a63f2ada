/* Preloaded before a command: strikes at the n-th call that writes something. kills.py compiles it. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <sys/types.h>
#include <unistd.h>

enum { KILLED, TORN, INTERRUPTED, FULL };
static int kind;
static long left, count;

void arm(int how, long at) { kind = how; left = at; count = 0; }
long calls(void) { return count; }

/* 1 where the call is to fail, for the disk is full */
static int strike(void)
{
    count++;
    if (left <= 0 || --left) return 0;
    if (kind == INTERRUPTED) raise(SIGINT);
    else if (kind == FULL) { errno = ENOSPC; left = 1; return 1; }
    else kill(getpid(), SIGKILL);
    return 0;
}

#define REAL(name) static __typeof__(&name) real; if (!real) real = dlsym(RTLD_NEXT, #name)

ssize_t write(int f, const void *b, size_t n)
{
    REAL(write);
    if (f < 3) return real(f, b, n);
    if (kind == TORN && left == 1) real(f, b, n / 2);
    return strike() ? -1 : real(f, b, n);
}
ssize_t pwrite64(int f, const void *b, size_t n, off64_t at)
{
    REAL(pwrite64);
    if (kind == TORN && left == 1) real(f, b, n / 2, at);
    return strike() ? -1 : real(f, b, n, at);
}
ssize_t pwrite(int f, const void *b, size_t n, off_t at)
{
    REAL(pwrite);
    if (kind == TORN && left == 1) real(f, b, n / 2, at);
    return strike() ? -1 : real(f, b, n, at);
}
int ftruncate64(int f, off64_t n) { REAL(ftruncate64); return strike() ? -1 : real(f, n); }
int ftruncate(int f, off_t n) { REAL(ftruncate); return strike() ? -1 : real(f, n); }
/* a full disk lets these through */
int fsync(int f) { REAL(fsync); if (kind != FULL) strike(); return real(f); }
int fdatasync(int f) { REAL(fdatasync); if (kind != FULL) strike(); return real(f); }
int unlink(const char *p) { REAL(unlink); if (kind != FULL) strike(); return real(p); }
int rename(const char *a, const char *b) { REAL(rename); if (kind != FULL) strike(); return real(a, b); }

#define OPENED(name)                                                      \
    int name(const char *p, int flags, ...)                               \
    {                                                                     \
        REAL(name);                                                       \
        va_list rest; va_start(rest, flags);                              \
        int mode = flags & O_CREAT ? va_arg(rest, int) : 0; va_end(rest); \
        if (flags & O_CREAT && strike()) return -1;                       \
        return real(p, flags, mode);                                      \
    }
OPENED(open)
OPENED(open64)
