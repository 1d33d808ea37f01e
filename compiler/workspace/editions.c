/* Documents: what they contain for a tail, whether they are approved, which waivers they carry, what they issue. */
#include "front/front.h"
#include "workspace/workspace.h"
#include <string.h>

static Str plain(Unit *unit, Text text) {
    return text.span.hi ? text_raw(&unit->job, text) : STR("");
}

static Str written(Unit *unit, Span span) {
    return span.hi ? span_text(unit->job.sources, span) : STR("");
}

static uint32_t digits(Str text) {
    uint32_t n = 0;
    for (size_t i = 0; i < text.len && n < 100000000; i++)
        if (text.ptr[i] >= '0' && text.ptr[i] <= '9') n = n * 10 + (uint32_t)(text.ptr[i] - '0');
    return n;
}

static void contain(Unit *unit, Edition *edition, const DocLine *line) {
    edition->all_drills |= line->all_drills;
    size_t n = edition->n_contains;
    for (const WordList *word = line->words; word; word = word->next) n++;
    Name *names = ARENA_ARRAY(unit->job.arena, Name, n + 1);
    if (edition->n_contains) memcpy(names, edition->contains, edition->n_contains * sizeof *names);
    for (const WordList *word = line->words; word; word = word->next) names[edition->n_contains++] = word->word.name;
    edition->contains = names;
}

/* In whole parts of a base unit, so many to the unit. False: not a length, or not between lo and hi. */
static bool whole_length(Unit *unit, Amount amount, Rational parts, int64_t lo, int64_t hi, int64_t *whole) {
    Rational value;
    const Measure *measure = measure_find(name_text(unit->job.names, amount.unit.name));
    if (!measure || measure->dimension != DIM_LENGTH || !rational_parse(written(unit, amount.number), &value))
        return false;
    Rational length = rational_mul(measure_to_base(measure, value), parts);
    return rational_to_int(length, whole) && *whole >= lo && *whole <= hi;
}

static void refuse_card(Unit *unit, Span at, const char *wanted) {
    finding_add(unit->told_of_editions, FINDING_CARD_LINE, at, "cards cannot be set for \"%S\"; %s", written(unit, at),
                wanted);
}

/* "card a5, type at least 13.1 pt, read at 60 cm" */
static void card_line(Unit *unit, Edition *edition, const DocLine *line) {
    int64_t whole;
    const Paper *paper = paper_find(name_text(unit->job.names, line->ref.name));
    if (paper) edition->paper = paper;
    else refuse_card(unit, line->ref.span, "papers are a4, a5, a6, letter and half-letter");
    if (line->amount.number.hi) {
        if (whole_length(unit, line->amount, rational_of(360000000, 127), 1, 100 * POINT, &whole))
            edition->type = (Length)whole;
        else refuse_card(unit, line->amount.span, "type is a length up to 100 pt, in whole thousandths of a point");
    }
    for (const WordList *word = line->words; word; word = word->next) {
        const Measure *measure = measure_find(name_text(unit->job.names, word->word.name));
        bool room = edition->n_also < sizeof edition->also / sizeof *edition->also;
        if (measure && room) edition->also[edition->n_also++] = measure;
        else
            refuse_card(unit, word->word.span,
                        measure ? "four units beside a limit are enough" : "no such unit is known");
    }
    if (line->amount2.number.hi) {
        if (whole_length(unit, line->amount2, rational_whole(1000), 100, 5000, &whole)) edition->read_at_mm = whole;
        else refuse_card(unit, line->amount2.span, "they are read from 10 cm to 5 m away, in whole millimetres");
    }
}

/* Where the document does not say: a card to hold in the hand, read from the seat. */
static void default_card(Edition *edition) {
    edition->paper = paper_find(STR("a5"));
    edition->read_at_mm = 600;
}

static void distribute(Unit *unit, Edition *edition, const TextList *texts) {
    size_t n = 0;
    for (const TextList *text = texts; text; text = text->next) n++;
    edition->distribution = ARENA_ARRAY(unit->job.arena, Str, n + 1);
    edition->n_distribution = n;
    n = 0;
    for (const TextList *text = texts; text; text = text->next) edition->distribution[n++] = plain(unit, text->text);
}

static void edition_line(Unit *unit, Edition *edition, const DocLine *line) {
    switch ((DocLineKind)line->kind) {
    case DOC_CONTAINS: contain(unit, edition, line); break;
    case DOC_REVISION:
        edition->revision = digits(written(unit, line->amount.number));
        edition->effective = written(unit, line->date);
        edition->review_by = written(unit, line->date2);
        break;
    case DOC_CHANGES:
        edition->changes = plain(unit, line->text);
        edition->follows = line->text2.span.hi;
        edition->since = digits(written(unit, line->amount.number));
        break;
    case DOC_DISTRIBUTION: distribute(unit, edition, line->texts); break;
    case DOC_PREPARED: edition->prepared_by = plain(unit, line->text); break;
    case DOC_APPROVED:
        edition->approved_by = plain(unit, line->text);
        edition->approved_on = written(unit, line->date);
        edition->approved_code = name_text(unit->job.names, line->ref.name);
        break;
    case DOC_CARD: card_line(unit, edition, line); break;
    case DOC_FOR:
    case DOC_STANDARD:
    case DOC_ISSUE: break;
    }
}

static Edition edition_of_document(Unit *unit, const Decl *decl) {
    Edition edition = {
        .decl = decl, .document = name_text(unit->job.names, decl->name.name), .title = plain(unit, decl->text)};
    default_card(&edition);
    for (const DocLine *line = decl->u.doclines; line; line = line->next) edition_line(unit, &edition, line);
    edition.all_procedures = !edition.n_contains && !edition.all_drills;
    return edition;
}

/* "examples/saltmarsh/marram.start" -> "marram" */
static Str stem(Str path) {
    size_t lo = path.len;
    while (lo && path.ptr[lo - 1] != '/') lo--;
    Str name = str_slice(path, lo, path.len);
    return str_ends(name, STR(".start")) ? str_slice(name, 0, name.len - 6) : name;
}

/* Named after the file given that the tail stands in; one that is only used by the files given, after the first of them. */
static Edition edition_of_file(const Unit *unit, const Tail *tail) {
    const Source *home = unit->files.at[0]->source,
                 *stands = tail->decl ? source_at(unit->job.sources, tail->decl->span.lo) : NULL;
    for (size_t i = 0; i < unit->n_main; i++)
        if (stands && unit->files.at[i]->source == stands) home = stands;
    Edition edition = {
        .document = stem(home->path), .title = str_copy(unit->job.arena, tail->title), .all_procedures = true};
    default_card(&edition);
    return edition;
}

static void report_later_outputs(Unit *unit, const Edition *edition) {
    for (const DocLine *line = edition->decl ? edition->decl->u.doclines : NULL; line; line = line->next) {
        if (line->kind != DOC_ISSUE) continue;
        for (const WordList *word = line->words; word; word = word->next) {
            bool made = false;
            for (size_t b = 0; b < back_end_count; b++)
                made |= str_eq(name_text(unit->job.names, word->word.name), str_of(back_ends[b].kind));
            if (!made)
                finding_add(unit->told_of_editions, FINDING_OUTPUT_LATER, word->word.span,
                            "this edition of Startwright does not make \"%N\"; it makes %S", word->word.name,
                            back_kinds(unit->job.arena));
        }
    }
}

/* ---- drills that a document's cards send the reader to ---- */

static bool edition_has(const Edition *edition, Name name) {
    for (uint32_t i = 0; i < edition->n_contains; i++)
        if (edition->contains[i] == name) return true;
    return edition->all_drills || edition->all_procedures;
}

static void need_drill(Unit *unit, const UnitTail *at, const Edition *edition, uint32_t drill) {
    const Drill *wanted = &at->tail->drills[drill];
    if (edition_has(edition, wanted->name)) return;
    finding_add(unit->told_of_editions, FINDING_DRILL_NOT_IN_DOCUMENT, edition->decl->name.span,
                "its cards send the reader to the drill \"%S\", which it does not contain; write it, or \"all "
                "drills\", behind contains",
                wanted->title);
}

static void need_drills(Unit *unit, const UnitTail *at, const Edition *edition, const Item *items) {
    for (const Item *item = items; item; item = item->next) {
        if (item->go && item->go->kind == ACTION_TURN_TO) need_drill(unit, at, edition, item->go->drill);
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next) {
            if (outcome->action.kind == ACTION_TURN_TO) need_drill(unit, at, edition, outcome->action.drill);
            if (outcome->action.kind == ACTION_BLOCK) need_drills(unit, at, edition, outcome->action.block);
        }
        need_drills(unit, at, edition, item->body);
        need_drills(unit, at, edition, item->between);
    }
}

static void need_all_drills(Unit *unit, const UnitTail *at, const Edition *edition) {
    for (uint32_t p = 0; p < at->tail->n_procedures; p++) {
        const Procedure *procedure = &at->tail->procedures[p];
        if (!edition->decl || !edition_has(edition, procedure->name)) continue;
        for (uint32_t d = 0; d < procedure->n_drills; d++) need_drill(unit, at, edition, procedure->drills[d]);
        need_drills(unit, at, edition, procedure->items);
    }
    for (uint32_t d = 0; d < at->tail->n_drills; d++)
        if (edition->decl && edition_has(edition, at->tail->drills[d].name))
            need_drills(unit, at, edition, at->tail->drills[d].items);
}

static void finish_edition(Unit *unit, const UnitTail *at, Edition *edition, bool code) {
    Job job = unit->job;
    job.arena = &unit->workspace->tail_arena;
    BackInput input = {.job = &job,
                       .tail = at->tail,
                       .model = at->model,
                       .result = at->result,
                       .edition = edition,
                       .program = unit->program};
    unit_find_earlier(at, edition);
    /* The code costs as much as an output: made where it is printed or compared. */
    if (code && (unit->goal.kind == SW_GOAL_ISSUE || edition->approved_code.len)) edition_code(&input, edition);
    report_later_outputs(unit, edition);
    need_all_drills(unit, at, edition);
    bool named = edition->approved_by.len && edition->approved_code.len;
    edition->draft = !named || !str_eq(edition->approved_code, str_of(edition->code));
    if (named && edition->draft)
        finding_add(unit->told_of_editions, FINDING_APPROVED_OTHER, edition->decl->name.span,
                    "the approval names the check code %S, but what stands here now has %s: every page says DRAFT "
                    "until it is approved again",
                    edition->approved_code, edition->code);
}

/* ---- waivers ---- */

/* Its `on` names the tail, or what it is derived from; without one it is for all. */
static bool waiver_for_tail(const Program *program, const Decl *waiver, Name tail) {
    const Decl *decl = program_find(program, DECL_TAIL, tail);
    if (!decl) decl = program_find(program, DECL_AIRCRAFT, tail);
    return !waiver->more->words || (decl && program_is_for(program, waiver, decl));
}

static void edition_waivers(Unit *unit, const UnitTail *at, Edition *edition) {
    const Decl **waivers;
    size_t n = program_waivers(unit->program, &waivers);
    edition->waivers = ARENA_ARRAY(unit->job.arena, const Decl *, n + 1);
    for (size_t i = 0; i < n; i++)
        if (waiver_for_tail(unit->program, waivers[i], at->tail->name))
            edition->waivers[edition->n_waivers++] = waivers[i];
}

bool unit_wants_codes(const Unit *unit) {
    if (unit->goal.kind == SW_GOAL_ISSUE) return true;
    const Decl **documents;
    size_t n = program_all(unit->program, DECL_DOCUMENT, &documents);
    for (size_t i = 0; i < n; i++)
        for (const DocLine *line = documents[i]->u.doclines; line; line = line->next)
            if (line->kind == DOC_APPROVED) return true;
    return false;
}

void unit_make_editions(UnitTail *at, bool code) {
    Unit *unit = at->lane;
    const Decl **documents;
    size_t n = program_documents(unit->program, at->tail->decl, &documents);
    unit->told_of_editions = &at->proofs;
    at->n_editions = n ? n : 1;
    at->editions = ARENA_ARRAY(unit->job.arena, Edition, at->n_editions);
    for (size_t i = 0; i < n; i++) at->editions[i] = edition_of_document(unit, documents[i]);
    if (!n) at->editions[0] = edition_of_file(unit, at->tail);
    for (size_t i = 0; i < at->n_editions; i++) {
        edition_waivers(unit, at, &at->editions[i]);
        finish_edition(unit, at, &at->editions[i], code);
    }
}

/* "crank" names any line of that id; "cold-start.crank", "start.crank" and "cold-start.start.crank" the one of that procedure, phase or both. */
static bool names_line(const Unit *unit, Str wanted, const Trace *trace) {
    Str item = trace->steps.at[trace->steps.n - 1].item, home = trace->home;
    if (!item.len) return false;
    if (str_eq(wanted, item)) return true;
    if (!str_ends(wanted, item) || wanted.len <= item.len || wanted.ptr[wanted.len - item.len - 1] != '.') return false;
    Str before = str_slice(wanted, 0, wanted.len - item.len - 1);
    if (str_eq(before, home)) return true;
    if (home.len && str_starts(before, home) && before.ptr[home.len] == '.') return true;
    Name first = name_find(unit->job.names, before); /* a phase, unless a procedure or drill is called so */
    return memchr(before.ptr, '.', before.len) == NULL && !program_find(unit->program, DECL_PROCEDURE, first) &&
           !program_find(unit->program, DECL_DRILL, first);
}

static bool waiver_fits(const Unit *unit, const Decl *waiver, const Finding *finding) {
    Str gate = name_text(unit->job.names, waiver->more->ref.name);
    if (!str_eq(gate, finding->gate) || !finding->trace || !finding->trace->steps.n) return false;
    return waiver_for_tail(unit->program, waiver, name_find(unit->job.names, finding->tail)) &&
           names_line(unit, name_text(unit->job.names, waiver->more->ref2.name), finding->trace);
}

/* Tails that share a proof share what is noted of its findings. */
static bool noted(const Finding *finding, Span span) {
    for (const Note *note = finding->notes; note; note = note->next)
        if (note->span.lo == span.lo && note->span.hi == span.hi) return true;
    return false;
}

static void apply_waiver(Unit *unit, const Decl *waiver) {
    Str until = written(unit, waiver->more->date), today = text_in(unit->goal.today);
    bool over = today.len && until.len && str_cmp(until, today) < 0;
    bool used = false;
    for (size_t i = 0; i < unit->findings.list.n; i++) {
        Finding *finding = unit->findings.list.at[i];
        if (!waiver_fits(unit, waiver, finding)) continue;
        used = true;
        finding->waived = !over;
        if (!over && !noted(finding, waiver->more->ref.span))
            finding_note(&unit->findings, finding, waiver->more->ref.span,
                         "waived here until %S; one path was looked for, so whether the rule is broken elsewhere, too, "
                         "is not known",
                         until);
    }
    Str gate = name_text(unit->job.names, waiver->more->ref.name);
    if (used && over)
        finding_add(&unit->findings, FINDING_WAIVER_OVER, waiver->more->ref.span,
                    "the waiver of %S ran out on %S; renew it with a reason, or mend the procedure", gate, until);
    if (!used)
        finding_add(&unit->findings, FINDING_WAIVER_UNUSED, waiver->more->ref.span,
                    "nothing is left for this waiver of %S to silence; take it out", gate);
}

/* ---- inoperative equipment ---- */

static void judge_inoperative(Unit *unit, const Decl *decl) {
    Str today = text_in(unit->goal.today);
    for (const Craft *craft = decl->u.craft; craft; craft = craft->next) {
        Str until = craft->kind == CRAFT_INOPERATIVE ? written(unit, craft->until) : STR("");
        if (until.len && str_cmp(until, today) < 0)
            finding_add(
                &unit->findings, FINDING_INOPERATIVE_OVER, craft->words->word.span,
                "%N may be inoperative until %S only, and that day is over; it works again and this line goes, or "
                "somebody gives it another day",
                craft->words->word.name, until);
    }
}

static void judge_all_inoperative(Unit *unit) {
    static const DeclKind kinds[] = {DECL_AIRCRAFT, DECL_TAIL};
    for (size_t k = 0; unit->goal.today.len && k < sizeof kinds / sizeof *kinds; k++) {
        const Decl **decls;
        size_t n = program_all(unit->program, kinds[k], &decls);
        for (size_t i = 0; i < n; i++) judge_inoperative(unit, decls[i]);
    }
}

/* ---- documents whose review is due ---- */

static void judge_review(Unit *unit, const Decl *document) {
    Str today = text_in(unit->goal.today);
    for (const DocLine *line = document->u.doclines; line; line = line->next) {
        Str by = line->kind == DOC_REVISION ? written(unit, line->date2) : STR("");
        if (by.len && str_cmp(by, today) < 0)
            finding_add(&unit->findings, FINDING_REVIEW_OVER, line->date2,
                        "%N was to be reviewed by %S; compare it with its sources again, and give it another day, or "
                        "withdraw its cards",
                        document->name.name, by);
    }
}

static void judge_reviews(Unit *unit) {
    const Decl **documents;
    size_t n = program_all(unit->program, DECL_DOCUMENT, &documents);
    for (size_t i = 0; unit->goal.today.len && i < n; i++) judge_review(unit, documents[i]);
}

void unit_judge_days(Unit *unit) {
    const Decl **waivers;
    size_t n = program_waivers(unit->program, &waivers);
    for (size_t i = 0; unit->public.tails && i < n; i++) apply_waiver(unit, waivers[i]);
    judge_all_inoperative(unit);
    judge_reviews(unit);
}

/* ---- outputs ---- */

/* Names are those of the lane that read the document. */
static bool issues(const Edition *edition, const Names *names, const BackEnd *back) {
    bool any = false;
    for (const DocLine *line = edition->decl ? edition->decl->u.doclines : NULL; line; line = line->next) {
        if (line->kind != DOC_ISSUE) continue;
        any = true;
        for (const WordList *word = line->words; word; word = word->next)
            if (str_eq(name_text(names, word->word.name), str_of(back->kind))) return true;
    }
    return !any && !back->on_request;
}

static bool held_back(const Unit *unit, const UnitTail *at) {
    return !at->counted || (at->open && !unit->goal.draft);
}

size_t unit_edition(const Unit *unit, const UnitTail *tail, const Edition *like, bool given) {
    if (given && held_back(unit, tail)) return tail->n_editions;
    for (size_t e = 0; e < tail->n_editions; e++)
        if (str_eq(tail->editions[e].document, like->document)) return e;
    return tail->n_editions;
}

bool unit_may_have(const Unit *unit, const UnitTail *tail, const Edition *like) {
    const Decl **documents;
    if (tail->n_editions) return false;
    size_t n = program_documents(unit->program, program_tail_decl(unit->program, tail->index), &documents);
    for (size_t i = 0; i < n; i++)
        if (documents[i] == like->decl) return true;
    return !n && !like->decl;
}

/* What is one for all tails of a document is named without them, but of the one tail that was asked for. */
static SwOutput describe(Unit *unit, const UnitTail *at, const Edition *edition, const BackEnd *back) {
    Str tail = back->whole && !unit->goal.tail.len ? STR("") : at->name;
    Str name = format_text(unit->job.arena, unit->job.names, "%S-%S%s%u.%s", edition->document, tail,
                           tail.len ? "-" : "", (uint64_t)edition->revision, back->suffix);
    SwOutput output = {.kind = text_out(str_of(back->kind)),
                       .file_name = text_out(name),
                       .document = text_out(edition->document),
                       .tail = text_out(tail),
                       .draft = edition->draft,
                       .not_proved = edition->not_proved};
    for (size_t i = 0; back->whole && i < unit->n_tails; i++) {
        size_t e = unit_edition(unit, &unit->tails[i], edition, true);
        if (e == unit->tails[i].n_editions) continue;
        output.draft |= unit->tails[i].editions[e].draft;
        output.not_proved |= unit->tails[i].open;
    }
    return output;
}

/* A document's tails before this one have its output already. */
static bool made_before(const Unit *unit, size_t tail, const Edition *edition) {
    for (size_t i = 0; i < tail; i++)
        if (unit_edition(unit, &unit->tails[i], edition, true) < unit->tails[i].n_editions) return true;
    return false;
}

typedef struct {
    SwOutput *shown;
    struct UnitOutput *at;
    size_t n;
} OutputList;

static bool of_several_tails(const Unit *unit, size_t tail, const Edition *edition) {
    for (size_t i = tail + 1; i < unit->n_tails; i++)
        if (unit_edition(unit, &unit->tails[i], edition, true) < unit->tails[i].n_editions) return true;
    return false;
}

static void list_edition(Unit *unit, OutputList *list, size_t tail, size_t edition) {
    UnitTail *at = &unit->tails[tail];
    at->editions[edition].not_proved = at->open;
    for (size_t b = 0; b < back_end_count; b++) {
        bool asked = issues(&at->editions[edition], at->lane->job.names, &back_ends[b]);
        if (!asked && !back_ends[b].on_request) continue;
        if (back_ends[b].whole && made_before(unit, tail, &at->editions[edition])) continue;
        if (back_ends[b].whole && back_ends[b].whole->of_several &&
            !of_several_tails(unit, tail, &at->editions[edition]))
            continue;
        list->shown[list->n] = describe(unit, at, &at->editions[edition], &back_ends[b]);
        list->shown[list->n].on_request = !asked;
        list->at[list->n++] = (struct UnitOutput){tail, edition, b};
    }
}

/* What is known is open all the same; what is waived is not. A finding of no tail is one of all. */
static bool keeps_open(const Finding *finding, Str tail) {
    bool grave = finding->severity == SEVERITY_ERROR || finding->severity == SEVERITY_UNDECIDED;
    return grave && !finding->waived && (!finding->tail.len || str_eq(finding->tail, tail));
}

void unit_judge_tails(Unit *unit) {
    bool uncounted = unit->findings.beyond[SEVERITY_ERROR] || unit->findings.beyond[SEVERITY_UNDECIDED];
    for (size_t i = 0; i < unit->n_tails; i++) {
        UnitTail *at = &unit->tails[i];
        at->open = uncounted;
        for (size_t k = 0; k < unit->findings.list.n && !at->open; k++)
            at->open = keeps_open(unit->findings.list.at[k], at->name);
    }
}

/* Of a tail on which errors are open, or something is not decided, there is nothing, unless a draft is asked for. One such tail holds no other
   back. */
void unit_list_outputs(Unit *unit) {
    size_t most = 0;
    for (size_t i = 0; i < unit->n_tails; i++) most += unit->tails[i].n_editions * back_end_count;
    OutputList list = {ARENA_ARRAY(unit->job.arena, SwOutput, most + 1),
                       ARENA_ARRAY(unit->job.arena, struct UnitOutput, most + 1), 0};
    SwText *names = ARENA_ARRAY(unit->job.arena, SwText, unit->n_tails + 1);
    for (size_t i = 0; i < unit->n_tails; i++) {
        const UnitTail *at = &unit->tails[i];
        bool held = held_back(unit, at);
        if (held) names[unit->public.n_held_back++] = text_out(at->name);
        for (size_t e = 0; !held && e < at->n_editions; e++) list_edition(unit, &list, i, e);
    }
    unit->public.held_back = names;
    unit->public.outputs = list.shown;
    unit->public.n_outputs = list.n;
    unit->outputs = list.at;
}
