/* Which texts there are: those the caller set, those its host reads, and the library inside the program. */
#include "base/limits.h"
#include "front/front.h"
#include "workspace/library.h"
#include "workspace/workspace.h"
#include <string.h>

const Source *workspace_source(SwWorkspace *workspace, Str path, Str *why_not) {
    Name name = name_intern(&workspace->names, path);
    const Source *known = map_get(&workspace->texts, name);
    if (known) return known;
    SwText text = {NULL, 0};
    SwRead read =
        workspace->host.read ? workspace->host.read(workspace->host.context, text_out(path), &text) : SW_READ_MISSING;
    *why_not = read == SW_READ_MISSING ? STR("there is no such file") : text_in(text);
    if (read != SW_READ_OK) return NULL;
    Source *source = source_add(&workspace->sources, str_copy(&workspace->arena, path), text_in(text), false);
    *why_not = STR("all texts together are over 4 GiB");
    if (source) map_put(&workspace->texts, name, source);
    return source;
}

File *library_file(Str path) {
    for (size_t i = 0; i < library_file_count; i++)
        if (str_eq(str_of(library_files[i].path), path)) return library_prepared.files[i];
    return NULL;
}

/* ---- paths ---- */

static Str directory_of(Str path) {
    size_t n = path.len;
    while (n && path.ptr[n - 1] != '/') n--;
    return str_slice(path, 0, n);
}

/* What a path may not leave: the folder the command was given names in, or, for a file named from elsewhere, the file's own folder. */
static Str root_of(Str main_path) {
    bool elsewhere = str_starts(main_path, STR("/")) || str_starts(main_path, STR("../"));
    return elsewhere ? directory_of(main_path) : STR("");
}

/* "a/b/../c" -> "a/c"; false where ".." goes above the beginning. */
static bool path_resolve(Arena *arena, Str from_directory, Str relative, Str *out) {
    Buf buf = {arena, NULL, 0, 0};
    buf_str(&buf, from_directory);
    size_t at = 0;
    while (at <= relative.len) {
        size_t end = at;
        while (end < relative.len && relative.ptr[end] != '/') end++;
        Str part = str_slice(relative, at, end);
        at = end + 1;
        if (!part.len || str_eq(part, STR("."))) continue;
        if (str_eq(part, STR(".."))) {
            if (!buf.len) return false;
            buf.len = directory_of(str_slice(buf_view(&buf), 0, buf.len - 1)).len;
            continue;
        }
        buf_str(&buf, part);
        if (end < relative.len) buf_char(&buf, '/');
    }
    *out = buf_view(&buf);
    return true;
}

/* ---- use ---- */

static File *load_library(Unit *unit, const Decl *use, Str path) {
    File *file = library_file(path);
    if (file) return file;
    Finding *finding =
        finding_add(&unit->findings, FINDING_USE_UNKNOWN, use->name.span, "the library has no \"%S\"", path);
    size_t best = 0, best_distance = 4;
    for (size_t i = 0; i < library_file_count; i++) {
        size_t distance = str_distance(path, str_of(library_files[i].path), 3);
        if (distance < best_distance) best = i, best_distance = distance;
    }
    if (best_distance < 4)
        finding_fix(&unit->findings, finding, FIX_REVIEW, use->name.span, "%s", library_files[best].path);
    return NULL;
}

static File *find_read(const Unit *unit, const Source *source) {
    for (size_t i = 0; i < unit->files.n; i++)
        if (unit->files.at[i]->source == source) return unit->files.at[i];
    return NULL;
}

bool unit_path(const Unit *unit, const Source *from, Str relative, Str *full) {
    return !str_starts(relative, STR("/")) && path_resolve(unit->job.arena, directory_of(from->path), relative, full) &&
           str_starts(*full, root_of(unit->files.at[0]->source->path));
}

static File *load_neighbour(Unit *unit, const File *from, const Decl *use, Str path) {
    Str full, why_not;
    if (!unit_path(unit, from->source, path, &full)) {
        finding_add(&unit->findings, FINDING_USE_OUTSIDE, use->name.span,
                    "\"%S\" leads out of the project's folder; a file may only use files inside it", path);
        return NULL;
    }
    const Source *source = workspace_source(unit->workspace, full, &why_not);
    if (!source) {
        finding_add(&unit->findings, FINDING_USE_UNKNOWN, use->name.span, "cannot read \"%S\": %S", full, why_not);
        return NULL;
    }
    File *file = find_read(unit, source);
    if (file) return file;
    file = parse_file(&unit->job, source);
    vec_push(unit->job.arena, &unit->files, file);
    return file;
}

static File *unit_load(void *context, const File *from, const Decl *use) {
    Unit *unit = context;
    Str path = name_text(unit->job.names, use->name.name);
    return use->path_is_text ? load_neighbour(unit, from, use, path) : load_library(unit, use, path);
}

Loader unit_loader(Unit *unit) {
    return (Loader){unit, unit_load};
}

static void read_main(Unit *unit, Str path) {
    Str why_not;
    const Source *source = workspace_source(unit->workspace, path, &why_not);
    if (!source) {
        finding_add(&unit->findings, FINDING_CANNOT_READ, (Span){0, 0}, "cannot read %S: %S", path, why_not);
        return;
    }
    if (find_read(unit, source)) return;
    vec_push(unit->job.arena, &unit->files, parse_file(&unit->job, source));
}

/* Every gate of the library is proved where it fits, whatever a file uses: its gates are always read. */
static void read_library_gates(Unit *unit) {
    for (size_t i = 0; i < library_file_count; i++) {
        Str path = str_of(library_files[i].path);
        if (!str_starts(path, STR("trade/gates/"))) continue;
        File *file = library_file(path);
        if (file) vec_push(unit->job.arena, &unit->files, file);
    }
}

void unit_read_files(Unit *unit, const SwText *paths, size_t n_paths) {
    for (size_t i = 0; i < n_paths; i++) read_main(unit, text_in(paths[i]));
    unit->n_main = unit->files.n;
    if (unit->goal.kind != SW_GOAL_PARSE) read_library_gates(unit);
}
