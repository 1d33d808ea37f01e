#include "back/words.h"
#include "front/front.h"
#include "sema/values.h"

/* The model's facts are the tail's and, behind them, its counters. */
static const Fact *fact_at(const BackInput *input, uint32_t fact) {
    return input->model ? &input->model->facts[fact] : &input->tail->facts[fact];
}

static bool several_engines(const Tail *tail, uint32_t engine) {
    return tail->n_engines > 1 && engine != NO_INDEX;
}

static char upper(char c) {
    return c >= 'a' && c <= 'z' ? (char)(c - 32) : c;
}
static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c + 32) : c;
}

void buf_capitals(Buf *buf, Str text) {
    for (size_t i = 0; i < text.len; i++) buf_char(buf, upper(text.ptr[i]));
}

static void buf_engine_name(Buf *buf, const Job *job, Name engine) {
    Str name = name_text(job->names, engine);
    for (size_t i = 0; i < name.len; i++) buf_char(buf, i ? name.ptr[i] : upper(name.ptr[i]));
}

bool buf_engine(Buf *buf, const BackInput *input, uint32_t engine) {
    if (!several_engines(input->tail, engine)) return false;
    buf_engine_name(buf, input->job, input->tail->engines[engine]);
    buf_text(buf, " engine");
    return true;
}

void buf_thing(Buf *buf, const BackInput *input, const Thing *thing) {
    if (thing->kind == THING_ENGINE) {
        if (!buf_engine(buf, input, thing->engine)) buf_text(buf, "Engine");
        return;
    }
    if (several_engines(input->tail, thing->engine)) {
        buf_engine_name(buf, input->job, input->tail->engines[thing->engine]);
        buf_char(buf, ' ');
        Str title = thing->title;
        for (size_t i = 0; i < title.len; i++)
            buf_char(buf,
                     i || (title.len > 1 && upper(title.ptr[1]) == title.ptr[1]) ? title.ptr[i] : lower(title.ptr[i]));
        return;
    }
    buf_str(buf, thing->title);
}

Str spoken(Arena *arena, Str name) {
    Buf buf = {arena, NULL, 0, 0};
    for (size_t i = 0; i < name.len; i++) {
        char c = name.ptr[i] == '-' ? ' ' : name.ptr[i];
        buf_char(&buf, i ? c : upper(c));
    }
    return buf_view(&buf);
}

void buf_ms(Buf *buf, int64_t ms) {
    bool minutes = ms >= 120000 && ms % 30000 == 0;
    QuantityStyle style = {.nbsp = true, .decimals = 3};
    Rational seconds = rational_of(ms, 1000);
    buf_quantity(buf, measure_find(minutes ? STR("min") : STR("s")), seconds, style);
}

void buf_duration(Buf *buf, const BackInput *input, const Duration *duration, const Trigger *after) {
    for (uint32_t i = 0; i < duration->n; i++) {
        if (i) buf_text(buf, ", or ");
        buf_ms(buf, duration->cases[i].ms);
        if (after) buf_text(buf, " of "), buf_event(buf, input, after);
        if (!duration->cases[i].when) continue;
        buf_text(buf, " when ");
        buf_test(buf, input, duration->cases[i].when);
    }
}

/* ---- conditions ---- */

const Thing *test_thing(const BackInput *input, const Test *test) {
    return test->kind == TEST_FACT ? fact_at(input, test->fact)->thing : NULL;
}

static void buf_positions(Buf *buf, const Thing *thing, uint64_t mask) {
    bool first = true;
    for (uint32_t i = 0; i < thing->n_positions; i++) {
        if (!(mask >> i & 1)) continue;
        if (!first) buf_text(buf, " or ");
        first = false;
        buf_str(buf, thing->positions[i].print);
    }
}

/* In another unit as well, for a gauge that is marked in it. Rounded so that what is printed never lets more pass: what is to be at least so
   much up, what is to be at most so much down; what turns away the other way. */
static void buf_converted(Buf *buf, const Measure *unit, Rational base, Rounding rounding) {
    Rational value = measure_from_base(unit, base);
    bool small = rational_cmp(value, rational_whole(10)) < 0 && rational_cmp(value, rational_whole(-10)) > 0;
    buf_rational_rounded(buf, value, small ? 1 : 0, rounding);
}

static void buf_also(Buf *buf, const BackInput *input, const Measure *measure, const Rational *lo, const Rational *hi) {
    const Edition *edition = input->edition;
    for (size_t i = 0; edition && measure && i < edition->n_also; i++) {
        const Measure *unit = edition->also[i];
        if (unit == measure || unit->dimension != measure->dimension) continue;
        buf_text(buf, " (");
        if (lo) buf_converted(buf, unit, *lo, input->turns_away ? ROUND_DOWN : ROUND_UP);
        if (lo && hi) buf_text(buf, " to ");
        if (hi) buf_converted(buf, unit, *hi, input->turns_away ? ROUND_UP : ROUND_DOWN);
        buf_text(buf, "\u00a0");
        buf_text(buf, unit->printed);
        buf_char(buf, ')');
    }
}

static void buf_band(Buf *buf, const BackInput *input, const Band *band) {
    QuantityStyle style = {.nbsp = true, .between = " to "};
    if (band->has_lo && band->has_hi) {
        buf_quantity_range(buf, band->measure, band->lo, band->hi, style);
    } else {
        buf_text(buf, band->has_lo ? "at least " : "at most ");
        buf_quantity(buf, band->measure, band->has_lo ? band->lo : band->hi, style);
    }
    buf_also(buf, input, band->measure, band->has_lo ? &band->lo : NULL, band->has_hi ? &band->hi : NULL);
}

/* The band of a name, where it is the same in every case. */
static const Band *named_band(const Thing *thing, Name name) {
    for (uint32_t i = 0; i < thing->n_bands; i++)
        if (thing->bands[i].name == name && !thing->bands[i].when) return &thing->bands[i];
    return NULL;
}

static const Band *written_band(const Thing *thing, const Cond *written) {
    return thing && written && written->kind == COND_IS ? named_band(thing, written->word.name) : NULL;
}

/* "at least 25 psi" of a condition that names a value; not where the value has several cases. */
static bool buf_named_value(Buf *buf, const BackInput *input, const Cond *written) {
    static const char *const words[] = {"at least ", "at most ", "below ", "above "};
    const Value *found = NULL;
    for (uint32_t i = 0; i < input->tail->n_values; i++)
        if (input->tail->values[i].name == written->measured->name.name) {
            if (found) return false;
            found = &input->tail->values[i];
        }
    if (!found || found->when) return false;
    buf_text(buf, words[written->comparison]);
    buf_quantity(buf, found->measure, found->amount, (QuantityStyle){.nbsp = true});
    bool least = written->comparison == COMPARE_AT_LEAST || written->comparison == COMPARE_ABOVE;
    buf_also(buf, input, found->measure, least ? &found->amount : NULL, least ? NULL : &found->amount);
    return true;
}

static bool written_amount(const BackInput *input, Amount amount, Word unit, const Measure **measure, Rational *base) {
    Rational value;
    *measure = measure_find(name_text(input->job->names, unit.name));
    if (!*measure || !amount.number.hi || !rational_parse(span_text(input->job->sources, amount.number), &value))
        return false;
    *base = measure_to_base(*measure, value);
    return true;
}

static void buf_written_also(Buf *buf, const BackInput *input, const Cond *written) {
    const Measure *measure, *same;
    Rational lo, hi;
    if (written->kind == COND_COMPARE && written->measured &&
        written_amount(input, written->measured->amount, written->measured->amount.unit, &measure, &lo)) {
        bool least = written->comparison == COMPARE_AT_LEAST || written->comparison == COMPARE_ABOVE;
        buf_also(buf, input, measure, least ? &lo : NULL, least ? NULL : &lo);
    }
    if (written->kind != COND_RANGE || !written->range) return;
    Word unit = written->range->hi.unit, of_lo = written->range->lo.unit.name ? written->range->lo.unit : unit;
    if (written_amount(input, written->range->lo, of_lo, &same, &lo) &&
        written_amount(input, written->range->hi, unit, &measure, &hi) && same == measure)
        buf_also(buf, input, measure, &lo, &hi);
}

/* "at least 25 psi": the author's own numbers and units, from behind the thing's name. */
static bool buf_written_numbers(Buf *buf, const BackInput *input, const Cond *written) {
    if (!written || (written->kind != COND_COMPARE && written->kind != COND_RANGE)) return false;
    bool named = written->kind == COND_COMPARE && written->measured && written->measured->name.name;
    if (named && buf_named_value(buf, input, written)) return true;
    Span rest = {written->ref.span.hi, written->span.hi};
    Str text = span_text(input->job->sources, rest);
    while (text.len && text.ptr[0] == ' ') text = str_slice(text, 1, text.len);
    for (size_t i = 0; i < text.len; i++) {
        bool degrees = str_starts(str_slice(text, i, text.len), STR("degC")) ||
                       str_starts(str_slice(text, i, text.len), STR("degF"));
        buf_text(buf, degrees ? "°" : "");
        i += degrees ? 3 : 0;
        if (str_starts(str_slice(text, i, text.len), STR(".."))) {
            buf_text(buf, " to ");
            i++;
            continue;
        }
        bool before_unit = text.ptr[i] == ' ' && i && text.ptr[i - 1] >= '0' && text.ptr[i - 1] <= '9';
        if (before_unit) buf_text(buf, "\u00a0");
        else buf_char(buf, text.ptr[i]);
    }
    buf_written_also(buf, input, written);
    return true;
}

static void buf_fact_wanted(Buf *buf, const BackInput *input, const Test *test) {
    const Fact *fact = fact_at(input, test->fact);
    const Band *band = written_band(fact->thing, test->written);
    if (fact->kind == FACT_GAUGE && buf_written_numbers(buf, input, test->written)) return;
    if (fact->kind == FACT_GAUGE && band) buf_band(buf, input, band);
    else if (fact->kind == FACT_GAUGE && test->written && test->written->kind == COND_IS)
        buf_str(buf, name_text(input->job->names, test->written->word.name));
    else if ((fact->kind == FACT_CONTROL || fact->kind == FACT_SCENE) && fact->thing)
        buf_positions(buf, fact->thing, test->mask);
    else if (fact->kind == FACT_ENGINE)
        buf_str(buf, fact->value_names[test->mask & ENGINE_IS_RUNNING ? ENGINE_RUNNING
                                       : test->mask & 2               ? ENGINE_TURNING
                                                                      : ENGINE_STOPPED]);
    else buf_values(buf, fact, test->mask);
}

void buf_wanted(Buf *buf, const BackInput *input, const Test *test) {
    if (test->kind == TEST_FACT) buf_fact_wanted(buf, input, test);
    else buf_test(buf, input, test);
}

/* A conjunction or alternative of one part is that part. */
static const Test *core(const Test *test) {
    while ((test->kind == TEST_AND || test->kind == TEST_OR) && test->parts && !test->parts->next) test = test->parts;
    return test;
}

static void buf_bracketed(Buf *buf, const BackInput *input, const Test *test, bool brackets) {
    if (brackets) buf_char(buf, '(');
    buf_test(buf, input, test);
    if (brackets) buf_char(buf, ')');
}

static void buf_parts(Buf *buf, const BackInput *input, const Test *test, const char *joint) {
    for (const Test *part = test->parts; part; part = part->next) {
        const Test *inner = core(part);
        if (part != test->parts) buf_text(buf, joint);
        buf_bracketed(buf, input, inner,
                      test->parts->next && (inner->kind == TEST_AND || inner->kind == TEST_OR) &&
                          inner->kind != test->kind);
    }
}

/* The answers in the words that are spoken: "Not clear". The first value of the fact is that none came yet. */
static void buf_answer(Buf *buf, const Fact *fact, uint64_t mask) {
    bool first = true;
    for (uint32_t i = 0; i < fact->n_values; i++) {
        if (!(mask >> i & 1)) continue;
        bool spoken = i > 0 && fact->thing && i - 1 < fact->thing->n_positions;
        if (!first) buf_text(buf, " or ");
        first = false;
        if (!spoken) {
            buf_text(buf, "no answer");
            continue;
        }
        buf_char(buf, '"');
        buf_str(buf, fact->thing->positions[i - 1].print);
        buf_char(buf, '"');
    }
}

static const Item *labelled(const Item *items, uint32_t fact) {
    for (const Item *item = items; item; item = item->next) {
        if (item->label == fact) return item;
        const Item *inside = labelled(item->body, fact);
        if (inside) return inside;
    }
    return NULL;
}

/* A label is the author's word, not the pilot's: "Oil pressure at least 25 psi seen" for `oil-up`. */
static void buf_label_done(Buf *buf, const BackInput *input, uint32_t fact) {
    const Item *item = NULL;
    for (uint32_t p = 0; p < input->tail->n_procedures && !item; p++)
        item = labelled(input->tail->procedures[p].items, fact);
    if (item && item->cond && (item->kind == STMT_CHECK || item->kind == STMT_EXPECT)) {
        buf_test(buf, input, item->cond);
        buf_text(buf, " seen");
        return;
    }
    Str name = name_text(input->job->names, fact_at(input, fact)->name);
    for (size_t i = 0; i < name.len; i++) buf_char(buf, name.ptr[i] == '-' ? ' ' : name.ptr[i]);
    buf_text(buf, " done");
}

static void buf_fact_test(Buf *buf, const BackInput *input, const Test *test) {
    const Fact *fact = fact_at(input, test->fact);
    switch (fact->kind) {
    case FACT_LABEL: buf_label_done(buf, input, test->fact); return;
    case FACT_WATCHED:
        buf_text(buf, "watching ");
        if (fact->thing) buf_thing(buf, input, fact->thing);
        return;
    case FACT_ANSWER: buf_answer(buf, fact, test->mask); return;
    case FACT_ENGINE:
        if (!buf_engine(buf, input, fact->engine)) buf_text(buf, "Engine");
        break;
    case FACT_CONTROL:
    case FACT_SCENE:
    case FACT_GAUGE:
    case FACT_TREND:
    case FACT_HELD:
    case FACT_COUNT:
        if (fact->thing) buf_thing(buf, input, fact->thing);
        else buf_str(buf, name_text(input->job->names, fact->name));
        break;
    }
    buf_char(buf, ' ');
    buf_fact_wanted(buf, input, test);
}

static void buf_not(Buf *buf, const BackInput *input, const Test *test) {
    const Thing *thing = test_thing(input, test);
    const Fact *fact = thing ? fact_at(input, test->fact) : NULL;
    if (fact && (fact->kind == FACT_CONTROL || fact->kind == FACT_SCENE)) {
        buf_thing(buf, input, thing);
        buf_text(buf, " not ");
        buf_wanted(buf, input, test);
        return;
    }
    buf_text(buf, "not ");
    buf_bracketed(buf, input, test, true);
}

static void buf_said(Buf *buf, const BackInput *input, const Test *test) {
    buf_char(buf, '"');
    if (test->written) buf_filled(buf, input, test->written->text, NO_INDEX);
    buf_char(buf, '"');
}

void buf_test(Buf *buf, const BackInput *input, const Test *test) {
    switch (test->kind) {
    case TEST_TRUE: buf_text(buf, "always"); return;
    case TEST_FALSE: buf_text(buf, "never"); return;
    case TEST_FACT: buf_fact_test(buf, input, test); return;
    case TEST_AND: buf_parts(buf, input, test, " and "); return;
    case TEST_OR: buf_parts(buf, input, test, " or "); return;
    case TEST_NOT: buf_not(buf, input, core(test->parts)); return;
    case TEST_FOR:
        buf_bracketed(buf, input, core(test->parts),
                      core(test->parts)->kind == TEST_AND || core(test->parts)->kind == TEST_OR);
        buf_text(buf, " for ");
        buf_ms(buf, test->for_ms);
        return;
    case TEST_SAID: buf_said(buf, input, test); return;
    case TEST_UNDECIDED:
        buf_str(buf, name_text(input->job->names, test->missing));
        buf_text(buf, " (not decided)");
        return;
    }
}

void buf_turn_away(Buf *buf, const BackInput *input, const Test *test) {
    BackInput away = *input;
    away.turns_away = true;
    buf_test(buf, &away, test);
}

/* ---- events ---- */

/* "Starter RELEASED", "Fuel flow 4 to 6 US gal/h seen": the thing and where it then stands. */
static bool buf_state_reached(Buf *buf, const BackInput *input, const Trigger *trigger) {
    if (trigger->kind != ON_BECOMES && trigger->kind != ON_SEEN) return false;
    const Fact *fact = fact_at(input, trigger->fact);
    if (!fact->thing || (fact->kind != FACT_CONTROL && fact->kind != FACT_SCENE && fact->kind != FACT_GAUGE))
        return false;
    const Band *band =
        fact->kind == FACT_GAUGE && trigger->written ? named_band(fact->thing, trigger->written->pos.name) : NULL;
    if (fact->kind == FACT_GAUGE && !band) return false;
    buf_thing(buf, input, fact->thing);
    buf_char(buf, ' ');
    if (band) buf_band(buf, input, band);
    else buf_positions(buf, fact->thing, trigger->mask);
    buf_text(buf, trigger->kind == ON_SEEN ? " seen" : "");
    return true;
}

void buf_event(Buf *buf, const BackInput *input, const Trigger *trigger) {
    bool fires = trigger->kind == ON_BECOMES && fact_at(input, trigger->fact)->kind == FACT_ENGINE &&
                 (trigger->mask & ENGINE_IS_RUNNING);
    if (fires) buf_text(buf, "firing");
    else if (trigger->kind == ON_CALL) buf_text(buf, "the call");
    else if (trigger->kind == ON_TURN) buf_text(buf, "the first turn");
    else if (trigger->kind == ON_LABEL) {
        Str name = name_text(input->job->names, fact_at(input, trigger->fact)->name);
        for (size_t i = 0; i < name.len; i++) buf_char(buf, name.ptr[i] == '-' ? ' ' : name.ptr[i]);
    } else if (buf_state_reached(buf, input, trigger)) return;
    else if (trigger->written) print_event(buf, input->job, trigger->written);
    else buf_str(buf, name_text(input->job->names, trigger->name));
}

/* ---- texts with holes ---- */

static void buf_amount_hole(Buf *buf, const BackInput *input, const TextPart *part) {
    Str whole = span_text(input->job->sources, part->span);
    if (whole.len && whole.ptr[0] == '{') whole = str_slice(whole, 1, whole.len - 1);
    for (size_t i = 0; i < whole.len; i++) {
        bool range = str_starts(str_slice(whole, i, whole.len), STR(".."));
        if (range) buf_text(buf, " to ");
        else buf_char(buf, whole.ptr[i]);
        i += range;
    }
}

static bool buf_value_hole(Buf *buf, const BackInput *input, Name name) {
    bool any = false;
    for (uint32_t i = 0; i < input->tail->n_values; i++) {
        const Value *value = &input->tail->values[i];
        if (value->name != name) continue;
        if (any) buf_text(buf, " or ");
        if (value->measure) buf_quantity(buf, value->measure, value->amount, (QuantityStyle){.nbsp = true});
        else buf_rational(buf, value->amount);
        any = true;
    }
    return any;
}

static void buf_ref_hole(Buf *buf, const BackInput *input, const TextPart *part, uint32_t engine) {
    if (str_eq(name_text(input->job->names, part->ref.name), STR("engine"))) {
        if (several_engines(input->tail, engine))
            buf_capitals(buf, name_text(input->job->names, input->tail->engines[engine]));
        return;
    }
    if (buf_value_hole(buf, input, part->ref.name)) return;
    for (uint32_t i = 0; i < input->tail->n_things; i++) {
        const Thing *thing = &input->tail->things[i];
        if (thing->name != part->ref.name) continue;
        for (uint32_t b = 0; b < thing->n_bands; b++)
            if (thing->bands[b].name == part->band.name) {
                buf_band(buf, input, &thing->bands[b]);
                return;
            }
    }
    buf_str(buf, name_text(input->job->names, part->ref.name));
}

/* A hole that stays empty ("CLEAR {engine} PROP!" on a single) takes one of the blanks around it along. */
void buf_filled(Buf *buf, const BackInput *input, Text text, uint32_t engine) {
    Job job = *input->job;
    bool skip_blank = false;
    for (const TextPart *part = text_parse(&job, text); part; part = part->next) {
        size_t before = buf->len;
        switch ((TextPartKind)part->kind) {
        case TEXT_LITERAL: {
            Str literal = part->literal;
            if (skip_blank && literal.len && literal.ptr[0] == ' ') literal = str_slice(literal, 1, literal.len);
            buf_str(buf, literal);
            break;
        }
        case TEXT_AMOUNT: buf_amount_hole(buf, input, part); break;
        case TEXT_REF: buf_ref_hole(buf, input, part, engine); break;
        }
        skip_blank = part->kind == TEXT_REF && buf->len == before && (before == 0 || buf->ptr[before - 1] == ' ');
    }
}
