/* A model as text, for tests: one line a place, edge, deadline; names instead of numbers, in the model's own order. */
#include "sema/lower.h"

typedef struct {
    Buf *buf;
    const Job *job;
    const Model *m;
} Dump;

static const char *const edge_words[] = {"item",     "otherwise", "lapse", "enter", "release", "fire",
                                         "run-down", "stop",      "join",  "begin", "give-up"};
static const char *const actor_words[] = {"pilot", "engine", "world", "time"};

static const char *const engine_words[] = {"STOPPED", "TURNING", "RUNNING", "LATE"};

static void put_name(Dump *d, Name name) {
    buf_str(d->buf, name_text(d->job->names, name));
}

static void put_values(Dump *d, uint32_t index, uint64_t mask) {
    const Fact *fact = &d->m->facts[index];
    bool first = true;
    put_name(d, fact->name);
    buf_char(d->buf, '=');
    if (mask == fact_all(fact)) {
        buf_char(d->buf, '?');
        return;
    }
    for (uint32_t i = 0; i < fact->n_values; i++) {
        if (!(mask >> i & 1)) continue;
        if (!first) buf_char(d->buf, '|');
        first = false;
        if (fact->kind == FACT_ENGINE) {
            buf_text(d->buf, engine_words[i & 3]);
        } else if (fact->value_names && fact->value_names[i].len) {
            buf_str(d->buf, fact->value_names[i]);
        } else {
            buf_uint(d->buf, i);
        }
    }
}

static void put_guard(Dump *d, const Guard *guard) {
    if (!guard) return;
    buf_text(d->buf, " [");
    for (uint32_t t = 0; t < guard->n; t++) {
        if (t) buf_text(d->buf, " or ");
        for (uint32_t i = 0; i < guard->terms[t].n; i++) {
            if (i) buf_text(d->buf, " and ");
            put_values(d, guard->terms[t].literals[i].fact, guard->terms[t].literals[i].mask);
        }
        if (!guard->terms[t].n) buf_text(d->buf, "true");
    }
    if (!guard->n) buf_text(d->buf, "never");
    buf_char(d->buf, ']');
}

static void put_clock(Dump *d, uint32_t clock) {
    buf_format(d->buf, d->job->names, "c%u", (uint64_t)clock);
}

static const Thing *thing_at(const Dump *d, uint32_t index) {
    return index < d->m->tail->n_things ? &d->m->tail->things[index] : NULL;
}

static void put_mark(Dump *d, const Mark *mark) {
    static const char *const words[] = {"becomes", "leaves", "turn",     "seen",  "look",  "set",
                                        "call",    "brief",  "answered", "label", "enter", "nothing"};
    buf_char(d->buf, ' ');
    buf_char(d->buf, '!');
    buf_text(d->buf, words[mark->kind]);
    buf_char(d->buf, ':');
    if (mark->kind == ON_CALL || mark->kind == ON_BRIEF) {
        if (thing_at(d, mark->thing)) put_name(d, thing_at(d, mark->thing)->name);
    } else if (mark->kind == ON_ENTER) {
        put_name(d, mark->name);
    } else {
        put_values(d, mark->fact, mark->mask);
    }
    if (mark->count > 1) buf_format(d->buf, d->job->names, "*%u", (uint64_t)mark->count);
}

static void put_bounds(Dump *d, const Edge *edge) {
    for (uint16_t i = 0; i < edge->n_bounds; i++) {
        const Bound *bound = &edge->bounds[i];
        buf_char(d->buf, ' ');
        if (bound->least_ms >= 0) buf_format(d->buf, d->job->names, "%d<=", bound->least_ms);
        put_clock(d, bound->clock);
        if (bound->most_ms >= 0) buf_format(d->buf, d->job->names, "<=%d", bound->most_ms);
    }
}

static void put_edge(Dump *d, const Edge *edge) {
    buf_text(d->buf, "    ");
    buf_text(d->buf, edge_words[edge->kind]);
    buf_char(d->buf, ' ');
    buf_text(d->buf, actor_words[edge->actor]);
    if (edge->item) buf_format(d->buf, d->job->names, " %S", edge->item->id);
    put_guard(d, edge->guard);
    put_bounds(d, edge);
    for (uint16_t i = 0; i < edge->n_changes; i++) {
        buf_char(d->buf, ' ');
        put_values(d, edge->changes[i].fact,
                   edge->changes[i].kind == CHANGE_COUNT ? fact_all(&d->m->facts[edge->changes[i].fact])
                                                         : edge->changes[i].mask);
        if (edge->changes[i].kind == CHANGE_COUNT) buf_text(d->buf, "+1");
    }
    for (uint16_t i = 0; i < edge->n_resets; i++) {
        if (edge->resets[i] == d->m->pace_clock) continue;
        buf_char(d->buf, ' ');
        put_clock(d, edge->resets[i]);
        buf_text(d->buf, ":=0");
    }
    for (uint16_t i = 0; i < edge->n_marks; i++) put_mark(d, &edge->marks[i]);
    if (edge->over_duty) buf_text(d->buf, " over-duty");
    if (edge->to == NO_INDEX) {
        buf_text(d->buf, " -> stays\n");
    } else {
        buf_format(d->buf, d->job->names, " -> %u\n", (uint64_t)edge->to);
    }
}

static void put_deadline(Dump *d, const Deadline *deadline) {
    buf_text(d->buf, "    until ");
    put_clock(d, deadline->clock);
    buf_format(d->buf, d->job->names, "<=%d", deadline->ms);
    put_guard(d, deadline->when);
    buf_char(d->buf, '\n');
}

static void put_place(Dump *d, uint32_t index) {
    const Place *place = &d->m->places[index];
    buf_format(d->buf, d->job->names, "%u", (uint64_t)index);
    if (place->kind == PLACE_JOINT) buf_text(d->buf, " joint");
    if (place->procedure != NO_INDEX)
        buf_format(d->buf, d->job->names, " %N", d->m->tail->procedures[place->procedure].name);
    if (place->drill != NO_INDEX) buf_format(d->buf, d->job->names, "/%N", d->m->tail->drills[place->drill].name);
    if (place->item) buf_format(d->buf, d->job->names, " %S", place->item->id);
    if (place->kind == PLACE_END)
        buf_format(d->buf, d->job->names, " end %N%s", place->outcome, place->no_more_starts ? " no-more" : "");
    if (place->own_engine_edges) buf_text(d->buf, " own-engine");
    if (place->pilots_act) buf_text(d->buf, " paced");
    put_guard(d, place->pace_when);
    buf_char(d->buf, '\n');
    for (uint32_t i = 0; i < place->n_deadlines; i++) put_deadline(d, &d->m->deadlines[place->first_deadline + i]);
    for (uint32_t i = 0; i < place->n_edges; i++) put_edge(d, &d->m->edges[place->first_edge + i]);
}

static void put_ambient(Dump *d) {
    const Model *m = d->m;
    uint32_t scope = NO_INDEX;
    for (uint32_t i = m->first_ambient; i < m->n_edges; i++) {
        if (m->edges[i].scope != scope) {
            scope = m->edges[i].scope;
            const Scope *s = &m->scopes[scope];
            buf_format(d->buf, d->job->names, "everywhere in %u..%u but %u..%u%s\n", (uint64_t)s->lo, (uint64_t)s->hi,
                       (uint64_t)s->but_lo, (uint64_t)s->but_hi, s->skip_own ? ", where not own-engine" : "");
        }
        put_edge(d, &m->edges[i]);
    }
    for (uint32_t i = 0; i < m->n_give_ups; i++) {
        if (!i) buf_text(d->buf, "giving up\n");
        buf_format(d->buf, d->job->names, "  from %u", (uint64_t)m->give_ups[i].from);
        put_edge(d, &m->give_ups[i]);
    }
    if (m->n_ambient_deadlines) buf_text(d->buf, "at every place\n");
    for (uint32_t i = 0; i < m->n_ambient_deadlines; i++) put_deadline(d, &m->ambient_deadlines[i]);
}

void model_dump(Buf *buf, const Job *job, const Model *model) {
    Dump d = {buf, job, model};
    for (uint32_t i = 0; i < model->n_clocks; i++) {
        buf_format(buf, job->names, "c%u %S\n", (uint64_t)i, model->clocks[i].what);
    }
    for (uint32_t i = 0; i < model->n_places; i++) put_place(&d, i);
    put_ambient(&d);
}
