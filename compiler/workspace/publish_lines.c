/* The lines, limits and rules of a tail in the public shape, each with what it rests on. */
#include "back/lines.h"
#include "front/front.h"
#include "workspace/publish.h"

typedef struct {
    UnitTail *at;
    Unit *unit;
    const BackInput *input;
    SwText tail;
} Publisher;

static SwText kept(const Publisher *p, Str text) {
    return text_out(str_copy(p->unit->job.arena, text));
}

static SwText named(const Publisher *p, Name name) {
    return text_out(name_text(p->unit->job.names, name));
}

static uint32_t digits(Str text) {
    uint32_t n = 0;
    for (size_t i = 0; i < text.len && n < 100000000; i++)
        if (text.ptr[i] >= '0' && text.ptr[i] <= '9') n = n * 10 + (uint32_t)(text.ptr[i] - '0');
    return n;
}

static Str unquoted(Str text) {
    bool quoted = text.len > 1 && text.ptr[0] == '"' && text.ptr[text.len - 1] == '"';
    return quoted ? str_slice(text, 1, text.len - 1) : text;
}

static void set_source(const Publisher *p, SwLine *line, const Why *why, bool own) {
    if (!why || !why->source.name) return;
    line->source = named(p, why->source.name);
    line->source_title = kept(p, source_title(p->input, why->source.name));
    line->section = text_out(unquoted(name_text(p->unit->job.names, why->section.name)));
    if (own && why->line.number.hi) line->source_line = digits(span_text(p->unit->job.sources, why->line.number));
    line->own = own;
}

static void publish_item(const Publisher *p, const TailLine *from) {
    const Tail *tail = p->input->tail;
    SwLine line = {.kind = SW_LINE_ITEM,
                   .tail = p->tail,
                   .of = named(p, from->of->name.name),
                   .of_title = kept(p, from->title),
                   .phase = named(p, from->item->phase),
                   .id = named(p, from->item->named),
                   .words = kept(p, from->words),
                   .dropped = from->dropped,
                   .inoperative = from->item->inoperative,
                   .depth = from->depth,
                   .times = from->times,
                   .in_phase = from->in_phase,
                   .place = publish_place(p->unit, from->item->span)};
    if (from->engine != NO_INDEX && tail->n_engines > 1) line.engine = named(p, tail->engines[from->engine]);
    set_source(p, &line, from->why, from->own);
    vec_push(p->unit->job.arena, &p->at->lines, line);
}

/* As written, without its clauses, on one line. */
static Str craft_words(const Publisher *p, const Craft *craft) {
    Span span = craft->span;
    if (craft->why && craft->why->span.hi) span.hi = craft->why->span.lo;
    Str text = span_text(p->unit->job.sources, span);
    Buf buf = {p->input->job->arena, NULL, 0, 0};
    for (size_t i = 0; i < text.len; i++) {
        bool blank = text.ptr[i] == ' ' || text.ptr[i] == '\n' || text.ptr[i] == '\t' || text.ptr[i] == '\r';
        if (!blank) buf_char(&buf, text.ptr[i]);
        else if (buf.len && buf.ptr[buf.len - 1] != ' ') buf_char(&buf, ' ');
    }
    while (buf.len && buf.ptr[buf.len - 1] == ' ') buf.len--;
    return buf_view(&buf);
}

static bool is_limit(const Craft *craft) {
    return craft->kind == CRAFT_DUTY || craft->kind == CRAFT_BAND || craft->kind == CRAFT_VALUE ||
           craft->kind == CRAFT_PRINT || craft->kind == CRAFT_PACE;
}

static void publish_limit(const Publisher *p, const CraftLine *from) {
    if (!is_limit(from->craft)) return;
    SwLine line = {.kind = SW_LINE_LIMIT,
                   .tail = p->tail,
                   .of = named(p, from->decl->name.name),
                   .of_title = kept(p, text_raw(&p->unit->job, from->decl->text)),
                   .words = kept(p, craft_words(p, from->craft)),
                   .place = publish_place(p->unit, from->craft->span)};
    set_source(p, &line, from->craft->why, true);
    vec_push(p->unit->job.arena, &p->at->lines, line);
}

static const Why *rule_source(const Decl *decl) {
    const Gate *gate = decl->u.gate;
    const Why *whys[] = {gate->why, gate->rule_why, gate->severity_why, gate->applies_why, decl->more->why};
    for (size_t i = 0; i < sizeof whys / sizeof *whys; i++)
        if (whys[i] && whys[i]->source.name) return whys[i];
    return NULL;
}

static void publish_rule(const Publisher *p, const GateInstance *gate) {
    SwLine line = {.kind = SW_LINE_RULE,
                   .tail = p->tail,
                   .id = named(p, gate->name),
                   .words = kept(p, gate->title),
                   .place = publish_place(p->unit, gate->decl->name.span)};
    set_source(p, &line, rule_source(gate->decl), true);
    vec_push(p->unit->job.arena, &p->at->lines, line);
}

void unit_publish_lines(UnitTail *at, const Job *job) {
    const Tail *tail = at->tail;
    BackInput input = {.job = job, .tail = tail, .program = at->lane->program};
    Publisher p = {at, at->lane, &input, text_out(at->name)};
    TailLines lines = tail_lines(&input);
    for (size_t i = 0; i < lines.n; i++) publish_item(&p, &lines.at[i]);
    for (uint32_t i = 0; i < tail->n_held; i++) publish_limit(&p, &tail->held[i]);
    for (uint32_t i = 0; i < tail->n_gates; i++)
        if (!i || tail->gates[i].name != tail->gates[i - 1].name) publish_rule(&p, &tail->gates[i]);
    at->counted = true;
}
