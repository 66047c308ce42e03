/* Preloaded into a process, it writes down every change of the files in $WRITE_LOG_DIR, in order:
 * writes with their bytes, truncations, removals, and each fsync or fdatasync. From that log the
 * directory can be rebuilt as a power cut at any instant could have left it.
 *
 * A record is: 1 byte what (W write, T truncate, S sync, U unlink), 1 byte length of the name,
 * 8 bytes offset (or size), 8 bytes length of the data, the name, the data. Numbers little-endian.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <limits.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/uio.h>
#include <unistd.h>

#define REAL(type, name, ...)                          \
    static type (*real)(__VA_ARGS__);                  \
    if (!real) real = dlsym(RTLD_NEXT, #name)

static int log_fd = -1;

static int log_file(void) {
    const char *path = getenv("WRITE_LOG_FILE");
    if (log_fd < 0 && path) log_fd = open(path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0666);
    return log_fd;
}

static const char *watched(const char *path) {
    const char *directory = getenv("WRITE_LOG_DIR");
    size_t length = directory ? strlen(directory) : 0;
    if (!length || strncmp(path, directory, length) || path[length] != '/') return NULL;
    const char *name = path + length + 1;
    size_t end = strlen(name);
    if (strchr(name, '/') || (end > 4 && !strcmp(name + end - 4, "-shm"))) return NULL;
    return name;
}

static const char *name_of(int fd, char *buffer) {
    char link[64];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = readlink(link, buffer, PATH_MAX - 1);
    if (length < 0) return NULL;
    buffer[length] = 0;
    return watched(buffer);
}

static void put(char what, const char *name, int64_t offset, const void *data, int64_t length) {
    uint8_t head[18] = {(uint8_t)what, (uint8_t)strlen(name)};
    memcpy(head + 2, &offset, 8);
    memcpy(head + 10, &length, 8);
    struct iovec parts[3] = {{head, sizeof head}, {(void *)name, strlen(name)},
                             {(void *)data, (size_t)length}};
    if (log_file() >= 0 && writev(log_fd, parts, 3) < 0) abort();
}

static void put_fd(char what, int fd, int64_t offset, const void *data, int64_t length) {
    char buffer[PATH_MAX];
    const char *name = name_of(fd, buffer);
    if (name) put(what, name, offset, data, length);
}

ssize_t pwrite64(int fd, const void *data, size_t length, off64_t offset) {
    REAL(ssize_t, pwrite64, int, const void *, size_t, off64_t);
    ssize_t done = real(fd, data, length, offset);
    if (done > 0) put_fd('W', fd, offset, data, done);
    return done;
}

ssize_t pwrite(int fd, const void *data, size_t length, off_t offset) {
    REAL(ssize_t, pwrite, int, const void *, size_t, off_t);
    ssize_t done = real(fd, data, length, offset);
    if (done > 0) put_fd('W', fd, offset, data, done);
    return done;
}

ssize_t write(int fd, const void *data, size_t length) {
    REAL(ssize_t, write, int, const void *, size_t);
    ssize_t done = real(fd, data, length);
    if (done > 0 && fd != log_fd) put_fd('W', fd, lseek(fd, 0, SEEK_CUR) - done, data, done);
    return done;
}

int ftruncate64(int fd, off64_t size) {
    REAL(int, ftruncate64, int, off64_t);
    int done = real(fd, size);
    if (!done) put_fd('T', fd, size, NULL, 0);
    return done;
}

int ftruncate(int fd, off_t size) {
    REAL(int, ftruncate, int, off_t);
    int done = real(fd, size);
    if (!done) put_fd('T', fd, size, NULL, 0);
    return done;
}

int fsync(int fd) {
    REAL(int, fsync, int);
    int done = real(fd);
    if (!done) put_fd('S', fd, 0, NULL, 0);
    return done;
}

int fdatasync(int fd) {
    REAL(int, fdatasync, int);
    int done = real(fd);
    if (!done) put_fd('S', fd, 0, NULL, 0);
    return done;
}

int unlink(const char *path) {
    REAL(int, unlink, const char *);
    int done = real(path);
    const char *name = done ? NULL : watched(path);
    if (name) put('U', name, 0, NULL, 0);
    return done;
}
