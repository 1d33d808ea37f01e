/* What was issued of the revision that a document follows (`changes "…" since revision 6 in "issued"`): a table, or lines, of each tail. */
#include "back/side.h"
#include "front/front.h"
#include "workspace/workspace.h"

/* The shorter file goes before the longer, which says the same. */
static const char *const suffixes[] = {"lines.json", "table.json"};

typedef struct {
    const Decl *decl;
    const DocLine *line;
    Str folder;
    uint32_t since;
    Str tail;
} Earlier;

static const DocLine *follows(const Decl *document) {
    const DocLine *found = NULL;
    for (const DocLine *line = document->u.doclines; line; line = line->next)
        if (line->kind == DOC_CHANGES && line->text2.span.hi) found = line;
    return found;
}

static Str path_of(const Unit *unit, const Earlier *earlier, const char *suffix) {
    bool bare = !earlier->folder.len || earlier->folder.ptr[earlier->folder.len - 1] == '/';
    return format_text(unit->job.arena, unit->job.names, "%S%s%N-%S-%u.%s", earlier->folder, bare ? "" : "/",
                       earlier->decl->name.name, earlier->tail, (uint64_t)earlier->since, suffix);
}

/* NULL: nothing was issued of this tail, or nothing is left of it. */
static const Source *find(const Unit *unit, const Earlier *earlier) {
    Str why_not;
    const Source *found = NULL;
    for (size_t i = 0; i < sizeof suffixes / sizeof *suffixes && !found; i++)
        found = workspace_source(unit->workspace, path_of(unit, earlier, suffixes[i]), &why_not);
    return found;
}

static Earlier earlier_of(const Unit *unit, const Decl *decl, const DocLine *line, Str tail) {
    uint32_t since = 0;
    Str written = span_text(unit->job.sources, line->amount.number);
    for (size_t i = 0; i < written.len && since < 100000000; i++)
        if (written.ptr[i] >= '0' && written.ptr[i] <= '9') since = since * 10 + (uint32_t)(written.ptr[i] - '0');
    return (Earlier){.decl = decl, .line = line, .since = since, .tail = tail};
}

static bool folder_of(const Unit *unit, Earlier *earlier) {
    Job job = unit->job;
    const Source *from = source_at(unit->job.sources, earlier->decl->span.lo);
    return from && unit_path(unit, from, text_raw(&job, earlier->line->text2), &earlier->folder);
}

/* ---- all of them, once ---- */

static bool names_tail(const Unit *unit, const Decl *document, const Decl *tail) {
    const Decl **documents;
    size_t n = program_documents(unit->program, tail, &documents);
    for (size_t i = 0; i < n; i++)
        if (documents[i] == document) return true;
    return false;
}

static void read_document(Unit *unit, const Decl *document, const DocLine *line) {
    Earlier earlier = earlier_of(unit, document, line, STR(""));
    size_t n = program_tail_count(unit->program), found = 0, wanted = 0;
    if (!folder_of(unit, &earlier)) {
        finding_add(&unit->findings, FINDING_USE_OUTSIDE, line->text2.span,
                    "this folder leads out of the project's; what was issued of the earlier revision stands inside it");
        return;
    }
    for (size_t i = 0; i < n; i++) {
        const Decl *tail = program_tail_decl(unit->program, i);
        if (!names_tail(unit, document, tail)) continue;
        earlier.tail = name_text(unit->job.names, tail->name.name);
        wanted++;
        const Source *source = find(unit, &earlier);
        if (source) vec_push(unit->job.arena, &unit->earlier, source);
        found += source != NULL;
    }
    if (wanted && !found)
        finding_add(
            &unit->findings, FINDING_EARLIER_NONE, line->span,
            "nothing of revision %u is in that folder, so no change is told and no bar is drawn; looked for were "
            "%S and its like; issue that revision once more with `--only lines`, and keep it there",
            (uint64_t)earlier.since, path_of(unit, &earlier, suffixes[0]));
}

void unit_read_earlier(Unit *unit) {
    const Decl **documents;
    if (unit->goal.kind != SW_GOAL_CHECK && unit->goal.kind != SW_GOAL_ISSUE) return;
    size_t n = program_all(unit->program, DECL_DOCUMENT, &documents);
    for (size_t i = 0; i < n; i++) {
        const DocLine *line = follows(documents[i]);
        if (line) read_document(unit, documents[i], line);
    }
}

/* ---- of one tail ---- */

static void wrong(const UnitTail *at, const DocLine *line, const Source *source, Str why) {
    finding_add(at->lane->told_of_editions, FINDING_EARLIER_WRONG, line->text2.span, "%S cannot be followed: %S",
                source->path, why);
}

void unit_find_earlier(const UnitTail *at, Edition *edition) {
    const Unit *lane = at->lane;
    const DocLine *line = edition->decl ? follows(edition->decl) : NULL;
    if (!line) return;
    Earlier earlier = earlier_of(lane, edition->decl, line, at->name);
    const Source *source = folder_of(lane, &earlier) ? find(lane, &earlier) : NULL;
    if (!source) return;
    Str why_not = {0};
    const Side *side = side_read(&lane->workspace->tail_arena, source->text, &why_not);
    if (!side) wrong(at, line, source, why_not);
    else if (side->paper.revision != earlier.since || !str_eq(side->paper.tail, at->name) ||
             !str_eq(side->paper.document, edition->document))
        wrong(at, line, source,
              format_text(lane->job.arena, NULL, "it is of %S, revision %u, aircraft %S", side->paper.document,
                          (uint64_t)side->paper.revision, side->paper.tail));
    else edition->earlier = source->text;
}
