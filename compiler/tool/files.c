#include "tool/files.h"
#include "base/diag.h"
#include "base/limits.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static Str reason(int error) {
    switch (error) {
    case ENOENT: return STR("there is no such file");
    case EACCES:
    case EPERM: return STR("you may not");
    case EISDIR: return STR("it is a folder");
    case ENOTDIR: return STR("a part of its path is not a folder");
    case ENOSPC: return STR("the disk is full");
    case EROFS: return STR("the disk can only be read");
    case EFBIG: return STR("it would be larger than files may be here");
    case ENAMETOOLONG: return STR("its name is too long");
    case EBADF: return STR("it is closed");
    default: return str_of(strerror(error));
    }
}

static Str no_such_file(Arena *arena, const char *path) {
    Str nearest = file_nearest(arena, path);
    return nearest.len ? format_text(arena, NULL, "there is no such file; did you mean \"%S\"?", nearest)
                       : reason(ENOENT);
}

static bool read_all(Arena *arena, int file, size_t expected, Str *text, Str *why_not) {
    size_t cap = expected + 1, len = 0;
    char *bytes = arena_alloc(arena, cap);
    for (;;) {
        if (len == cap) {
            char *wider = arena_alloc(arena, cap * 2 + 4096);
            memcpy(wider, bytes, len);
            bytes = wider;
            cap = cap * 2 + 4096;
        }
        ssize_t got = read(file, bytes + len, cap - len);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) {
            *why_not = reason(errno);
            return false;
        }
        if (got == 0) break;
        len += (size_t)got;
        if (len > LIMIT_FILE_BYTES) {
            *why_not = STR("it is larger than the 256 MiB that one file may have");
            return false;
        }
    }
    *text = (Str){bytes, len};
    return true;
}

bool file_read(Arena *arena, const char *path, Str *text, Str *why_not) {
    bool standard_input = strcmp(path, "-") == 0;
    int file = standard_input ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC);
    struct stat about;
    bool done = false;
    if (file < 0 && errno == ENOENT) *why_not = no_such_file(arena, path);
    else if (file < 0 || fstat(file, &about)) *why_not = reason(errno);
    else if (S_ISDIR(about.st_mode)) *why_not = STR("it is a folder");
    else if (S_ISREG(about.st_mode) && about.st_size > (off_t)LIMIT_FILE_BYTES)
        *why_not = STR("it is larger than the 256 MiB that one file may have");
    else done = read_all(arena, file, S_ISREG(about.st_mode) ? (size_t)about.st_size : 4096, text, why_not);
    if (file >= 0 && !standard_input) close(file);
    return done;
}

static bool write_all(int file, Str text) {
    while (text.len) {
        ssize_t put = write(file, text.ptr, text.len);
        if (put < 0 && errno == EINTR) continue;
        if (put < 0) return false;
        text.ptr += put;
        text.len -= (size_t)put;
    }
    return true;
}

/* The new file takes over the old one's permissions; a new one gets what the user's mask allows. */
static mode_t wanted_mode(const char *path) {
    struct stat about;
    if (!stat(path, &about)) return about.st_mode & 07777;
    mode_t mask = umask(0);
    umask(mask);
    return 0666 & ~mask;
}

static bool is_folder(const char *path) {
    struct stat about;
    return !stat(path, &about) && S_ISDIR(about.st_mode);
}

bool file_stage(const char *path, Str text, char **beside, Str *why_not) {
    char *name = malloc(strlen(path) + 8);
    *beside = NULL;
    if (!name || is_folder(path)) {
        *why_not = name ? reason(EISDIR) : STR("there is no memory left");
        free(name);
        return false;
    }
    strcpy(name, path);
    strcat(name, ".XXXXXX");
    signal(SIGXFSZ, SIG_IGN); /* a limit on the size of files is an error to tell, not a death */
    int file = mkstemp(name);
    bool ok = file >= 0 && write_all(file, text) && !fchmod(file, wanted_mode(path)) && !fsync(file);
    int error = errno;
    if (file >= 0 && close(file) && ok) ok = false, error = errno;
    if (ok) {
        *beside = name;
        return true;
    }
    *why_not = reason(error);
    if (file >= 0) unlink(name);
    free(name);
    return false;
}

bool file_settle(const char *path, char *beside, Str *why_not) {
    bool ok = !rename(beside, path);
    if (!ok) {
        *why_not = reason(errno);
        unlink(beside);
    }
    free(beside);
    return ok;
}

void file_unstage(char *beside) {
    if (beside) unlink(beside);
    free(beside);
}

bool file_replace(const char *path, Str text, Str *why_not) {
    char *beside;
    return file_stage(path, text, &beside, why_not) && file_settle(path, beside, why_not);
}

/* ---- did you mean ---- */

/* Of two names equally near the first in the order of bytes, whatever order the folder has. */
static Str nearest_in(Arena *arena, DIR *folder, Str name) {
    Str best = {NULL, 0};
    size_t best_distance = 3;
    for (const struct dirent *entry; (entry = readdir(folder));) {
        Str other = str_of(entry->d_name);
        size_t distance = other.len > 255 || other.ptr[0] == '.' ? 3 : str_distance(name, other, 2);
        if (distance > 2 || distance > best_distance || (distance == best_distance && str_cmp(best, other) < 0))
            continue;
        best = str_copy(arena, other);
        best_distance = distance;
    }
    return best;
}

Str file_nearest(Arena *arena, const char *path) {
    const char *slash = strrchr(path, '/');
    size_t length = slash ? (size_t)(slash - path) + 1 : 0;
    Str name = str_of(path + length), best = {NULL, 0};
    char *folder_name = arena_alloc(arena, length + 2);
    memcpy(folder_name, length ? path : ".", length ? length : 1);
    DIR *folder = name.len && name.len <= 255 ? opendir(folder_name) : NULL;
    if (!folder) return best;
    best = nearest_in(arena, folder, name);
    closedir(folder);
    if (!best.len) return best;
    Buf full = {arena, NULL, 0, 0};
    buf_str(&full, (Str){path, length});
    buf_str(&full, best);
    return buf_view(&full);
}

bool folder_make(const char *path, Str *why_not) {
    char *part = strdup(path);
    bool ok = part != NULL;
    for (size_t i = 1; ok && i <= strlen(path); i++) {
        if (path[i] != '/' && path[i] != 0) continue;
        part[i] = 0;
        if (mkdir(part, 0777) && errno != EEXIST) {
            *why_not = reason(errno);
            ok = false;
        }
        part[i] = path[i];
    }
    struct stat about;
    if (ok && (stat(path, &about) || !S_ISDIR(about.st_mode))) {
        *why_not = STR("it is a file, not a folder");
        ok = false;
    }
    free(part);
    return ok;
}
