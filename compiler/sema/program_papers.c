/* Papers: are waivers complete and given once, do adaptations give reasons, do documents keep their dates, can aircraft and documents be
   told apart by their titles? */
#include "front/front.h"
#include "sema/handbook.h"
#include "sema/program_parts.h"

/* A text that is written and says nothing. */
static bool blank(const Program *program, Text text) {
    Str raw = text_raw(program->job, text);
    for (size_t i = 0; i < raw.len; i++)
        if (raw.ptr[i] != ' ' && raw.ptr[i] != '\t') return false;
    return true;
}

static bool says(const Program *program, Text text) {
    return text.span.hi && !blank(program, text);
}

/* ---- what holds for a time: waivers, inoperative equipment ---- */

/* "`until` a day and `by` whoever answers for it"; empty: all is there. */
static Str lacking(Program *program, Span until, Text because, Text by) {
    const char *lacks[3];
    size_t n = 0;
    if (!until.hi) lacks[n++] = "`until` a day";
    if (!says(program, because)) lacks[n++] = "`because` a reason";
    if (!says(program, by)) lacks[n++] = "`by` whoever answers for it";
    Buf list = {.arena = program->job->arena};
    for (size_t i = 0; i < n; i++) {
        if (i) buf_text(&list, i + 1 == n ? " and " : ", ");
        buf_text(&list, lacks[i]);
    }
    return buf_view(&list);
}

static void check_complete(Program *program, const Decl *waiver) {
    Str lacks = lacking(program, waiver->more->date, waiver->text, waiver->more->text2);
    if (!lacks.len || !waiver->more->ref.name) return;
    finding_add(program->job->findings, FINDING_WAIVER_INCOMPLETE, waiver->more->ref.span,
                "this waiver of %N does not say %S; a rule is set aside for a time, for a reason, by a person",
                waiver->more->ref.name, lacks);
}

static void check_inoperative(Program *program, const Decl *decl) {
    for (const Craft *craft = decl->u.craft; craft; craft = craft->next) {
        if (craft->kind != CRAFT_INOPERATIVE || !craft->words || !craft->words->word.name) continue;
        Str lacks = lacking(program, craft->until, craft->because, craft->by);
        if (lacks.len)
            finding_add(program->job->findings, FINDING_INOPERATIVE_INCOMPLETE, craft->words->word.span,
                        "that %N is inoperative does not say %S; nobody flies without it for ever, for nothing, or on "
                        "nobody's word",
                        craft->words->word.name, lacks);
    }
}

/* "crank" speaks of "cold-start.crank" too. */
static bool one_item(const Names *names, Name a, Name b) {
    Str x = name_text(names, a), y = name_text(names, b);
    Str longer = x.len > y.len ? x : y, shorter = x.len > y.len ? y : x;
    if (a == b) return true;
    return longer.len > shorter.len && str_ends(longer, shorter) && longer.ptr[longer.len - shorter.len - 1] == '.';
}

static bool one_tail(const Decl *a, const Decl *b) {
    if (!a->more->words || !b->more->words) return true; /* for every tail */
    for (const WordList *x = a->more->words; x; x = x->next)
        for (const WordList *y = b->more->words; y; y = y->next)
            if (x->word.name && x->word.name == y->word.name) return true;
    return false;
}

static void check_once(Program *program, const Decls *waivers, size_t index) {
    const Decl *waiver = waivers->at[index];
    for (size_t i = 0; i < index; i++) {
        const Decl *earlier = waivers->at[i];
        if (!waiver->more->ref.name || waiver->more->ref.name != earlier->more->ref.name || !one_tail(waiver, earlier))
            continue;
        if (!one_item(program->job->names, waiver->more->ref2.name, earlier->more->ref2.name)) continue;
        Finding *finding =
            finding_add(program->job->findings, FINDING_WAIVER_TWICE, waiver->more->ref.span,
                        "%N is waived at %N already; keep one of the two, so that one day and one reason count",
                        waiver->more->ref.name, earlier->more->ref2.name);
        finding_note(program->job->findings, finding, earlier->more->ref.span, "the other waiver stands here");
        return;
    }
}

/* ---- adaptations ---- */

/* One reason at the head holds for all of the adaptation. */
static void check_reasons(Program *program, const Decl *adapt) {
    const Why *head = adapt->more->why;
    if (head && says(program, head->because)) return;
    for (const Edit *edit = adapt->u.edits; edit; edit = edit->next) {
        if (!edit->ref.name || (edit->why && says(program, edit->why->because))) continue;
        if (edit->kind == EDIT_OMIT_LINE) {
            finding_add(program->job->findings, FINDING_ADAPT_NO_REASON, edit->line.span,
                        "nothing says why this line of %N is left out; end the line with `because` and a reason",
                        edit->ref.name);
            continue;
        }
        finding_add(
            program->job->findings, FINDING_ADAPT_NO_REASON, edit->ref.span,
            "nothing says why %N is otherwise here than in %N; end the line with `because` and a reason, so that "
            "whoever revises it can tell whether it still holds",
            edit->ref.name, adapt->name.name);
    }
}

/* ---- documents ---- */

static void check_revision(Program *program, const DocLine *line) {
    if (line->kind != DOC_REVISION || !line->date.hi || !line->date2.hi) return;
    Str from = span_text(program->job->sources, line->date), review = span_text(program->job->sources, line->date2);
    if (str_cmp(review, from) >= 0) return;
    finding_add(program->job->findings, FINDING_REVIEW_EARLY, line->date2,
                "the review is due on %S, before this revision is effective (%S); one of the two dates is wrong",
                review, from);
}

static void document_lacks(Program *program, Span at, const char *words) {
    finding_add(program->job->findings, FINDING_DOCUMENT_LINE, at, "%s", words);
}

/* The first line of each kind. */
typedef struct {
    const DocLine *of[DOC_KINDS];
} FirstLines;

/* `for`, `contains` and `issue` lines add up; of all others the second would silently win. */
static FirstLines first_lines(Program *program, const Decl *document) {
    static const char *const words[DOC_KINDS] = {[DOC_STANDARD] = "standard",
                                                 [DOC_REVISION] = "revision",
                                                 [DOC_CHANGES] = "changes",
                                                 [DOC_PREPARED] = "prepared by",
                                                 [DOC_APPROVED] = "approved by",
                                                 [DOC_DISTRIBUTION] = "distribution",
                                                 [DOC_CARD] = "card"};
    FirstLines first = {{NULL}};
    for (const DocLine *line = document->u.doclines; line; line = line->next) {
        const DocLine *before = first.of[line->kind];
        if (!before) first.of[line->kind] = line;
        if (!before || !words[line->kind]) continue;
        Finding *finding = finding_add(program->job->findings, FINDING_DOCUMENT_LINE, line->span,
                                       "this document says `%s` twice; keep the one that holds", words[line->kind]);
        finding_note(program->job->findings, finding, before->span, "the other stands here");
    }
    return first;
}

static bool later(Program *program, Span a, Span b) {
    return a.hi && b.hi && str_cmp(span_text(program->job->sources, a), span_text(program->job->sources, b)) > 0;
}

static void check_approval(Program *program, const DocLine *approved, const DocLine *revision) {
    if (!approved) return;
    if (!revision || !revision->date.hi)
        document_lacks(program, approved->span,
                       "this document is approved, and does not say from when on it counts; write `revision 1, "
                       "effective 2031-05-01`");
    else if (later(program, approved->date, revision->date))
        document_lacks(program, approved->date,
                       "it is approved on a later day than it is effective; nothing counts before it is approved");
}

static void check_follows(Program *program, const DocLine *changes, const DocLine *revision) {
    if (!changes || !changes->text2.span.hi) return;
    uint32_t since = number_written(program->job, changes->amount),
             own = revision ? number_written(program->job, revision->amount) : 0;
    if (since >= own)
        document_lacks(
            program, changes->span,
            "a document follows an earlier revision than its own; say what has changed since the one before");
}

static void check_document(Program *program, const Decl *document) {
    FirstLines first = first_lines(program, document);
    if (!first.of[DOC_FOR])
        document_lacks(program, document->name.span,
                       "this document is for no aircraft, so nothing is made of it; write `for` and its tails");
    const DocLine *standard = first.of[DOC_STANDARD];
    if (standard && standard->words && standard->words->next)
        document_lacks(program, standard->words->next->word.span,
                       "a document is held to one standard; write one that `holds` both");
    check_approval(program, first.of[DOC_APPROVED], first.of[DOC_REVISION]);
    check_follows(program, first.of[DOC_CHANGES], first.of[DOC_REVISION]);
    for (const DocLine *line = document->u.doclines; line; line = line->next) check_revision(program, line);
}

/* ---- titles ---- */

static void check_title(Program *program, const Decl *decl) {
    if (!decl->text.span.hi || !blank(program, decl->text)) return;
    finding_add(
        program->job->findings, FINDING_TITLE_EMPTY, decl->text.span,
        "%N has an empty title, so its cards would not say what they are for; write what is painted or printed on it",
        decl->name.name);
}

static void check_title_once(Program *program, NameMap *titles, const Decl *tail) {
    if (!says(program, tail->text)) return;
    Name title = name_intern(program->job->names, text_raw(program->job, tail->text));
    const Decl *first = map_get(titles, title);
    if (!first) {
        map_put(titles, title, (void *)(uintptr_t)tail);
        return;
    }
    Finding *finding = finding_add(program->job->findings, FINDING_TITLE_TWICE, tail->text.span,
                                   "%N and %N are both printed as %N, so nobody could tell whose card it is",
                                   first->name.name, tail->name.name, title);
    finding_note(program->job->findings, finding, first->text.span, "the same title stands here");
}

void program_check_papers(Program *program) {
    static const DeclKind titled[] = {DECL_AIRCRAFT, DECL_TAIL, DECL_DOCUMENT};
    const Decls *waivers = &program->all[DECL_WAIVE], *tails = &program->all[DECL_TAIL];
    NameMap titles = {.arena = program->job->arena};
    for (size_t i = 0; i < waivers->n; i++) {
        check_complete(program, waivers->at[i]);
        check_once(program, waivers, i);
    }
    for (size_t k = 0; k < sizeof titled / sizeof *titled; k++)
        for (size_t i = 0; i < program->all[titled[k]].n; i++) check_title(program, program->all[titled[k]].at[i]);
    for (size_t i = 0; i < program->all[DECL_AIRCRAFT].n; i++)
        check_inoperative(program, program->all[DECL_AIRCRAFT].at[i]);
    for (size_t i = 0; i < tails->n; i++) check_inoperative(program, tails->at[i]);
    for (size_t i = 0; i < program->all[DECL_ADAPT].n; i++) check_reasons(program, program->all[DECL_ADAPT].at[i]);
    for (size_t i = 0; i < tails->n; i++) check_title_once(program, &titles, tails->at[i]);
    const Decls *documents = &program->all[DECL_DOCUMENT];
    for (size_t i = 0; i < documents->n; i++) check_document(program, documents->at[i]);
}
