/* libxlsxwriter writes each part of a workbook to a temporary file and does not look whether that worked: on a full disk it would make a
   workbook that lacks rows. So it is given files in memory, which remember that they ran out of room. The library calls lxw_tmpfile() by
   name; the one of this module is found first, since the library is opened by it. */
#define _GNU_SOURCE /* fopencookie */
#include "binder/binder.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    char *bytes;
    size_t len, room, at;
} MemoryFile;

static _Thread_local size_t made;
static _Thread_local bool out_of_room;

size_t memory_files_made(bool *refused) {
    size_t n = made;
    *refused = out_of_room;
    made = 0;
    out_of_room = false;
    return n;
}

static ssize_t memory_read(void *cookie, char *to, size_t size) {
    MemoryFile *file = cookie;
    size_t left = file->at < file->len ? file->len - file->at : 0, n = size < left ? size : left;
    if (n) memcpy(to, file->bytes + file->at, n);
    file->at += n;
    return (ssize_t)n;
}

static bool make_room(MemoryFile *file, size_t end) {
    if (end <= file->room) return true;
    size_t room = file->room ? file->room : 1 << 16;
    while (room < end) room *= 2;
    char *more = realloc(file->bytes, room);
    if (!more) return false;
    file->bytes = more;
    file->room = room;
    return true;
}

static ssize_t memory_write(void *cookie, const char *from, size_t size) {
    MemoryFile *file = cookie;
    if (!make_room(file, file->at + size)) {
        out_of_room = true;
        return 0;
    }
    if (file->at > file->len) memset(file->bytes + file->len, 0, file->at - file->len);
    memcpy(file->bytes + file->at, from, size);
    file->at += size;
    if (file->at > file->len) file->len = file->at;
    return (ssize_t)size;
}

static int memory_seek(void *cookie, off64_t *offset, int whence) {
    MemoryFile *file = cookie;
    off64_t from = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? (off64_t)file->at : (off64_t)file->len;
    if (from + *offset < 0) return -1;
    *offset += from;
    file->at = (size_t)*offset;
    return 0;
}

static int memory_close(void *cookie) {
    MemoryFile *file = cookie;
    free(file->bytes);
    free(file);
    return 0;
}

/* As the library declares it. */
__attribute__((visibility("default"))) FILE *lxw_tmpfile(const char *folder);
FILE *lxw_tmpfile(const char *folder) {
    (void)folder;
    MemoryFile *file = calloc(1, sizeof *file);
    FILE *opened =
        file ? fopencookie(file, "w+", (cookie_io_functions_t){memory_read, memory_write, memory_seek, memory_close})
             : NULL;
    if (!opened) {
        free(file);
        out_of_room = true;
        return NULL;
    }
    made++;
    return opened;
}
