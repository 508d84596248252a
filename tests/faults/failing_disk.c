/* Preloaded: lets one call that writes below a folder fail, counted from when it was armed.
   With `from_then_on` every later one fails as well, as on a full disk or one that has gone. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <sys/uio.h>
#include <unistd.h>

static char root[PATH_MAX];
static long calls, failing;
static int error, from_then_on, armed;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;

void disk_arm(const char *folder, long nth, int with, int on)
{
    snprintf(root, sizeof root, "%s", folder);
    calls = 0, failing = nth, error = with, from_then_on = on, armed = 1;
}

long disk_disarm(void)
{
    armed = 0;
    return calls;
}

static int fails(void)
{
    pthread_mutex_lock(&lock);
    long call = ++calls;
    pthread_mutex_unlock(&lock);
    if (call != failing && !(from_then_on && failing && call > failing))
        return 0;
    errno = error;
    return 1;
}

static int fails_at(const char *path)
{
    return armed && strncmp(path, root, strlen(root)) == 0 && fails();
}

static int fails_on(int fd)
{
    char name[64], path[PATH_MAX];
    if (!armed)
        return 0;
    snprintf(name, sizeof name, "/proc/self/fd/%d", fd);
    ssize_t size = readlink(name, path, sizeof path - 1);
    if (size < 0)
        return 0;
    path[size] = 0;
    return fails_at(path);
}

#define NEXT(name) ((typeof(&name))dlsym(RTLD_NEXT, #name))

ssize_t write(int fd, const void *from, size_t size)
{
    return fails_on(fd) ? -1 : NEXT(write)(fd, from, size);
}
ssize_t writev(int fd, const struct iovec *from, int count)
{
    return fails_on(fd) ? -1 : NEXT(writev)(fd, from, count);
}
ssize_t pwrite(int fd, const void *from, size_t size, off_t at)
{
    return fails_on(fd) ? -1 : NEXT(pwrite)(fd, from, size, at);
}
ssize_t pwrite64(int fd, const void *from, size_t size, off64_t at)
{
    return fails_on(fd) ? -1 : NEXT(pwrite64)(fd, from, size, at);
}
ssize_t sendfile64(int to, int from, off64_t *at, size_t size)
{
    static ssize_t (*next)(int, int, off64_t *, size_t);
    if (!next)
        next = dlsym(RTLD_NEXT, "sendfile64");
    return fails_on(to) ? -1 : next(to, from, at, size);
}
ssize_t copy_file_range(int from, off64_t *at, int to, off64_t *to_at, size_t size, unsigned flags)
{
    return fails_on(to) ? -1 : NEXT(copy_file_range)(from, at, to, to_at, size, flags);
}
int ftruncate(int fd, off_t size) { return fails_on(fd) ? -1 : NEXT(ftruncate)(fd, size); }
int ftruncate64(int fd, off64_t size) { return fails_on(fd) ? -1 : NEXT(ftruncate64)(fd, size); }
int fallocate64(int fd, int mode, off64_t at, off64_t size)
{
    return fails_on(fd) ? -1 : NEXT(fallocate64)(fd, mode, at, size);
}
int fsync(int fd) { return fails_on(fd) ? -1 : NEXT(fsync)(fd); }
int fdatasync(int fd) { return fails_on(fd) ? -1 : NEXT(fdatasync)(fd); }
int rename(const char *from, const char *to) { return fails_at(to) ? -1 : NEXT(rename)(from, to); }
int link(const char *from, const char *to) { return fails_at(to) ? -1 : NEXT(link)(from, to); }
int linkat(int a, const char *from, int b, const char *to, int flags)
{
    return fails_at(to) ? -1 : NEXT(linkat)(a, from, b, to, flags);
}
int mkdir(const char *path, mode_t mode) { return fails_at(path) ? -1 : NEXT(mkdir)(path, mode); }

static mode_t mode_of(int flags, va_list rest) { return flags & O_CREAT ? va_arg(rest, mode_t) : 0; }

int open64(const char *path, int flags, ...)
{
    va_list rest;
    va_start(rest, flags);
    mode_t mode = mode_of(flags, rest);
    va_end(rest);
    return flags & O_CREAT && fails_at(path) ? -1 : NEXT(open64)(path, flags, mode);
}
int open(const char *path, int flags, ...)
{
    va_list rest;
    va_start(rest, flags);
    mode_t mode = mode_of(flags, rest);
    va_end(rest);
    return flags & O_CREAT && fails_at(path) ? -1 : NEXT(open)(path, flags, mode);
}
