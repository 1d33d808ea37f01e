#include "sema/tail_key.h"
#include <string.h>

/* Whoever adds a field to one of these says here whether a proof reads it, and then mends the size. Lines of the text are known by
   where they stand: in one compile that is one line. What may stand in a tail's own lines is known by its words. */
#define KNOWN_SIZE(Type, size) _Static_assert(sizeof(void *) != 8 || sizeof(Type) == (size), #Type " has changed")

typedef struct {
    const Job *job;
    bool marks; /* only the mark is wanted */
    uint64_t mark;
    Sha256 sha;
    unsigned char room[1024];
    size_t used;
} Key;

static void flush(Key *key) {
    sha256_add(&key->sha, (Str){(const char *)key->room, key->used});
    key->used = 0;
}

static void mix(Key *key, uint64_t number) {
    key->mark = (key->mark ^ number) * UINT64_C(0x9e3779b97f4a7c15);
    key->mark ^= key->mark >> 29;
}

/* Seven bits a byte, the last one below 128: most numbers are small, and no two sequences of them give the same bytes. */
static void add_number(Key *key, uint64_t number) {
    if (key->marks) {
        mix(key, number);
        return;
    }
    if (key->used + 10 > sizeof key->room) flush(key);
    for (; number > 127; number >>= 7) key->room[key->used++] = (unsigned char)(number | 128);
    key->room[key->used++] = (unsigned char)number;
}

static void mix_text(Key *key, Str text) {
    uint64_t word = 0;
    for (; text.len >= sizeof word; text.ptr += sizeof word, text.len -= sizeof word) {
        memcpy(&word, text.ptr, sizeof word);
        mix(key, word);
    }
    word = 0;
    if (text.len) memcpy(&word, text.ptr, text.len);
    mix(key, word);
}

static void add_text(Key *key, Str text) {
    add_number(key, text.len);
    if (key->marks) {
        mix_text(key, text);
        return;
    }
    if (key->used + text.len > sizeof key->room) flush(key);
    if (text.len > sizeof key->room) {
        sha256_add(&key->sha, text);
        return;
    }
    if (text.len) memcpy(key->room + key->used, text.ptr, text.len);
    key->used += text.len;
}

static void add_name(Key *key, Name name) {
    add_number(key, name);
}

static void add_span(Key *key, Span span) {
    add_number(key, (uint64_t)span.lo << 32 | span.hi);
}

static void add_rational(Key *key, Rational r) {
    add_number(key, (uint64_t)r.numerator);
    add_number(key, (uint64_t)(r.numerator >> 64));
    add_number(key, (uint64_t)r.denominator);
    add_number(key, (uint64_t)(r.denominator >> 64));
}

static void add_measure(Key *key, const Measure *measure) {
    add_text(key, str_of(measure ? measure->spelling : ""));
}

static void add_names(Key *key, const Name *names, uint32_t n) {
    add_number(key, n);
    for (uint32_t i = 0; i < n; i++) add_name(key, names[i]);
}

/* ---- conditions, times, events ---- */
KNOWN_SIZE(Test, 56);
static void add_tests(Key *key, const Test *test) {
    for (; test; test = test->next) {
        add_number(key, 1 + (uint64_t)test->kind);
        add_number(key, test->fact);
        add_number(key, test->mask);
        add_number(key, (uint64_t)test->for_ms);
        add_name(key, test->missing);
        add_text(key, test->written ? span_text(key->job->sources, test->written->span) : STR(""));
        add_tests(key, test->parts);
    }
    add_number(key, 0);
}

KNOWN_SIZE(DurationCase, 16);
KNOWN_SIZE(Duration, 32);
static void add_duration(Key *key, const Duration *duration) {
    add_number(key, duration->n);
    for (uint32_t i = 0; i < duration->n; i++) {
        add_tests(key, duration->cases[i].when);
        add_number(key, (uint64_t)duration->cases[i].ms);
    }
    add_name(key, duration->value);
    add_name(key, duration->missing);
}

KNOWN_SIZE(Trigger, 48);
static void add_triggers(Key *key, const Trigger *trigger) {
    for (; trigger; trigger = trigger->next) {
        add_number(key, 1 + (uint64_t)trigger->kind);
        add_number(key, (uint64_t)trigger->fact << 32 | trigger->thing);
        add_number(key, trigger->engine);
        add_number(key, trigger->mask);
        add_name(key, trigger->name);
        add_span(key, trigger->written ? trigger->written->span : (Span){0, 0});
    }
    add_number(key, 0);
}

/* ---- items ---- */
static void add_items(Key *key, const Item *item);

KNOWN_SIZE(ItemAction, 112);
static void add_action(Key *key, const ItemAction *action) {
    add_number(key, action != NULL);
    if (!action) return;
    add_number(key, (uint64_t)action->kind << 32 | action->drill);
    add_span(key, action->written ? action->written->span : (Span){0, 0});
    add_name(key, action->outcome);
    add_number(key, action->no_more_starts);
    add_duration(key, &action->next_start);
    add_name(key, action->again_at);
    add_duration(key, &action->after);
    add_items(key, action->block);
}

KNOWN_SIZE(ItemOutcome, 136);
static void add_outcomes(Key *key, const ItemOutcome *outcome) {
    for (; outcome; outcome = outcome->next) {
        add_number(key, 1 + (uint64_t)outcome->inherited);
        add_tests(key, outcome->cond);
        add_action(key, &outcome->action);
    }
    add_number(key, 0);
}

static void add_item_words(Key *key, const Item *item) {
    add_span(key, item->stmt ? item->stmt->span : (Span){0, 0});
    add_span(key, item->span);
    add_text(key, item->id);
    add_name(key, item->phase);
    add_name(key, item->named);
}

/* `around`, `brought` and `unlabelled` are told in outputs, not proved. */
KNOWN_SIZE(Item, 304);
static void add_items(Key *key, const Item *item) {
    for (; item; item = item->next) {
        add_number(key, 1 + (uint64_t)item->kind);
        add_item_words(key, item);
        add_number(key, (uint64_t)item->engine << 32 | item->label);
        add_number(key, (uint64_t)item->implied << 2 | (uint64_t)item->inoperative << 1 | item->over_duty);
        add_number(key, (uint64_t)item->thing << 32 | item->fact);
        add_number(key, item->mask);
        add_number(key, (uint64_t)item->position << 32 | item->count);
        add_number(key, (uint64_t)item->person << 32 | item->passes);
        add_number(key, item->answer);
        add_tests(key, item->cond);
        add_duration(key, &item->limit);
        add_duration(key, &item->least);
        add_duration(key, &item->most);
        add_triggers(key, item->after);
        add_items(key, item->body);
        add_items(key, item->between);
        add_outcomes(key, item->outcomes);
        add_action(key, item->go);
        add_action(key, item->give_up);
        add_action(key, item->give_up_before);
    }
    add_number(key, 0);
}

KNOWN_SIZE(Procedure, 104);
static void add_procedure(Key *key, const Procedure *procedure) {
    add_span(key, procedure->decl->span);
    add_name(key, procedure->name);
    add_text(key, procedure->title);
    add_tests(key, procedure->begins);
    add_tests(key, procedure->applies);
    add_items(key, procedure->items);
    add_number(key, procedure->n_drills);
    for (uint32_t i = 0; i < procedure->n_drills; i++) add_number(key, procedure->drills[i]);
    add_span(key, procedure->drills_line ? procedure->drills_line->span : (Span){0, 0});
}

KNOWN_SIZE(Drill, 88);
static void add_drill(Key *key, const Drill *drill) {
    add_span(key, drill->decl->span);
    add_name(key, drill->name);
    add_text(key, drill->title);
    add_number(key, (uint64_t)drill->engine << 1 | drill->keeps_cranking);
    add_tests(key, drill->cue);
    add_tests(key, drill->armed);
    add_items(key, drill->items);
}

/* ---- things and numbers ---- */
KNOWN_SIZE(Band, 112);
static void add_band(Key *key, const Band *band) {
    add_name(key, band->name);
    add_number(key, (uint64_t)band->has_lo << 1 | band->has_hi);
    add_rational(key, band->lo);
    add_rational(key, band->hi);
    add_measure(key, band->measure);
    add_tests(key, band->when);
    add_number(key, band->mask);
}

KNOWN_SIZE(ThingPosition, 40);
static void add_position(Key *key, const ThingPosition *position) {
    add_name(key, position->name);
    add_text(key, position->print);
    add_number(key, (uint64_t)position->counted << 3 | (uint64_t)position->stops << 2 | (uint64_t)position->turns << 1 |
                        position->powers);
    add_name(key, position->effect_of);
}

KNOWN_SIZE(Thing, 112);
static void add_thing(Key *key, const Thing *thing) {
    add_number(key, (uint64_t)thing->kind << 32 | thing->engine);
    add_span(key, thing->decl ? thing->decl->span : (Span){0, 0});
    add_name(key, thing->name);
    add_text(key, thing->title);
    add_number(key, (uint64_t)thing->fitted << 1 | thing->inoperative);
    add_number(key, thing->n_positions);
    for (uint32_t i = 0; i < thing->n_positions; i++) add_position(key, &thing->positions[i]);
    add_measure(key, thing->measure);
    add_number(key, thing->n_bands);
    for (uint32_t i = 0; i < thing->n_bands; i++) add_band(key, &thing->bands[i]);
    add_number(key, (uint64_t)thing->fact << 32 | thing->trend);
    add_number(key, (uint64_t)thing->held << 32 | thing->watched);
    add_number(key, thing->answer);
}

KNOWN_SIZE(Fact, 48); /* the cuts of a gauge are in the names of its values */
static void add_fact(Key *key, const Fact *fact) {
    add_number(key, (uint64_t)fact->kind << 32 | fact->engine);
    add_number(key, (uint64_t)fact->n_values << 1 | fact->frozen);
    add_name(key, fact->name);
    for (uint32_t i = 0; i < fact->n_values; i++) add_text(key, fact->value_names[i]);
}

KNOWN_SIZE(Value, 80);
static void add_value(Key *key, const Value *value) {
    add_name(key, value->name);
    add_rational(key, value->amount);
    add_measure(key, value->measure);
    add_tests(key, value->when);
}

KNOWN_SIZE(DutyLine, 160);
KNOWN_SIZE(DutyWindow, 32);
KNOWN_SIZE(Duty, 48);
static void add_duty(Key *key, const Duty *duty) {
    add_number(key, (uint64_t)duty->thing << 32 | duty->fact);
    add_number(key, duty->engaged);
    add_number(key, (uint64_t)duty->n_lines << 32 | duty->n_windows);
    for (uint32_t i = 0; i < duty->n_lines; i++) {
        const DutyLine *line = &duty->lines[i];
        add_tests(key, line->when);
        for (int k = 0; k < 8; k++) add_number(key, (uint64_t)line->on_ms[k]);
        for (int k = 0; k < 8; k++) add_number(key, (uint64_t)line->rest_ms[k]);
        add_number(key, (uint64_t)line->n_series << 32 | line->tries);
        add_number(key, (uint64_t)line->long_rest_ms);
    }
    for (uint32_t i = 0; i < duty->n_windows; i++) {
        add_tests(key, duty->windows[i].when);
        add_number(key, duty->windows[i].most);
        add_number(key, (uint64_t)duty->windows[i].in_ms);
    }
}

/* ---- gates ---- */
KNOWN_SIZE(GateStep, 32);
static void add_steps(Key *key, const GateInstance *gate) {
    add_number(key, gate->n_steps);
    for (uint32_t i = 0; i < gate->n_steps; i++) {
        add_triggers(key, gate->steps[i].event);
        add_number(key, (uint64_t)gate->steps[i].least_ms);
        add_number(key, (uint64_t)gate->steps[i].most_ms);
    }
}

static void add_gate_frame(Key *key, const GateInstance *gate) {
    add_number(key,
               (uint64_t)gate->end_any_drill << 2 | (uint64_t)gate->within_any_drill << 1 | gate->except_any_drill);
    add_number(key, (uint64_t)gate->target_drill << 32 | gate->end_drill);
    add_names(key, gate->ends, gate->n_ends);
    add_names(key, gate->within, gate->n_within);
    add_names(key, gate->except, gate->n_except);
}

KNOWN_SIZE(GateInstance, 280);
static void add_gate(Key *key, const GateInstance *gate) {
    add_span(key, gate->decl->span);
    add_number(key, (uint64_t)gate->engine << 32 | (uint64_t)gate->severity << 16 | (uint64_t)gate->standing << 8 |
                        (uint64_t)gate->rule);
    add_text(key, gate->title);
    add_number(key, gate->told);
    add_text(key, gate->why_not);
    add_text(key, gate->in_words);
    add_triggers(key, gate->trigger);
    add_triggers(key, gate->since);
    add_triggers(key, gate->events);
    add_triggers(key, gate->before);
    add_steps(key, gate);
    add_duration(key, &gate->time);
    add_number(key, (uint64_t)gate->count << 32 | gate->duty);
    add_tests(key, gate->state);
    add_tests(key, gate->cond);
    add_tests(key, gate->target);
    add_gate_frame(key, gate);
}

/* Its own declaration, its name and title, its lines, its handbook and the adaptations that led to these items are told of it, not proved. */
KNOWN_SIZE(Tail, 240);
static void add_tail(Key *key, const Tail *tail) {
    add_number(key, (uint64_t)tail->adapted);
    add_names(key, tail->engines, tail->n_engines);
    for (uint32_t i = 0; i < tail->n_engines; i++) {
        add_number(key, tail->engine_facts[i]);
        add_number(key, (uint64_t)tail->run_down_ms[i]);
    }
    add_number(key, tail->n_things);
    for (uint32_t i = 0; i < tail->n_things; i++) add_thing(key, &tail->things[i]);
    add_number(key, tail->n_facts);
    for (uint32_t i = 0; i < tail->n_facts; i++) add_fact(key, &tail->facts[i]);
    add_number(key, tail->n_values);
    for (uint32_t i = 0; i < tail->n_values; i++) add_value(key, &tail->values[i]);
    add_number(key, tail->n_duties);
    for (uint32_t i = 0; i < tail->n_duties; i++) add_duty(key, &tail->duties[i]);
    add_number(key, (uint64_t)tail->pace_ms);
    add_number(key, tail->n_procedures);
    for (uint32_t i = 0; i < tail->n_procedures; i++) add_procedure(key, &tail->procedures[i]);
    add_number(key, tail->n_drills);
    for (uint32_t i = 0; i < tail->n_drills; i++) add_drill(key, &tail->drills[i]);
    add_number(key, tail->n_gates);
    for (uint32_t i = 0; i < tail->n_gates; i++) add_gate(key, &tail->gates[i]);
}

uint64_t tail_mark(const Job *job, const Tail *tail) {
    Key key = {.job = job, .marks = true};
    add_tail(&key, tail);
    return key.mark;
}

Sha256Digest tail_key(const Job *job, const Tail *tail) {
    Key key = {.job = job};
    sha256_open(&key.sha);
    add_tail(&key, tail);
    flush(&key);
    return sha256_close(&key.sha);
}
