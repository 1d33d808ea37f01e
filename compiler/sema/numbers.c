#include "sema/numbers.h"
#include "base/limits.h"
#include "front/front.h"

typedef struct {
    const Job *job;
    const Tail *tail;
    VEC(TailNumber) numbers;
    NameMap above, below; /* Name of a value, or of a band "GAUGE BAND" -> set: it is used so */
} Numbering;

/* ---- how values and bands are used ---- */

static void use(NameMap *way, Name name) {
    if (name) map_put(way, name, way);
}

static Name band_key(const Numbering *n, const Thing *gauge, Name band) {
    return name_intern(n->job->names, format_text(n->job->arena, n->job->names, "%N %N", gauge->name, band));
}

/* wanted: the text goes on where it holds; else it turns away there. */
static void use_test(Numbering *n, const Test *test, bool wanted, uint32_t depth) {
    if (!test || depth > 2 * LIMIT_NESTING) return;
    if (test->kind == TEST_NOT) wanted = !wanted;
    for (const Test *part = test->parts; part; part = part->next) use_test(n, part, wanted, depth + 1);
    const Cond *cond = test->written;
    if (test->kind != TEST_FACT || !cond || test->fact >= n->tail->n_facts) return;
    const Thing *thing = n->tail->facts[test->fact].thing;
    if (cond->kind == COND_IS && thing && thing->kind == THING_GAUGE)
        use(wanted ? &n->above : &n->below, band_key(n, thing, cond->word.name));
    if (cond->kind != COND_COMPARE || !cond->measured || !cond->measured->name.name) return;
    bool least = cond->comparison == COMPARE_AT_LEAST || cond->comparison == COMPARE_ABOVE;
    use(least == wanted ? &n->below : &n->above, cond->measured->name.name);
}

static void use_action(Numbering *n, const ItemAction *action) {
    if (!action) return;
    use(&n->below, action->after.value);
    use(&n->below, action->next_start.value);
}

static void use_items(Numbering *n, const Item *items, uint32_t depth) {
    if (depth > 8 * LIMIT_NESTING) return;
    for (const Item *item = items; item; item = item->next) {
        use(&n->above, item->limit.value);
        use(&n->above, item->most.value);
        use(&n->below, item->least.value);
        bool asks =
            item->kind == STMT_CHECK || item->kind == STMT_EXPECT || item->kind == STMT_TRY || item->kind == STMT_CRANK;
        if (asks) use_test(n, item->cond, true, 0);
        use_action(n, item->go);
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next) {
            use_test(n, outcome->cond, false, 0);
            use_action(n, &outcome->action);
            use_items(n, outcome->action.block, depth + 1);
        }
        use_items(n, item->body, depth + 1);
        use_items(n, item->between, depth + 1);
    }
}

static void use_rule(Numbering *n, const GateInstance *gate) {
    const Rule *rule = &gate->gate->rule;
    static const bool at_most[] = {[RULE_RESPONSE] = true, [RULE_LASTS] = true, [RULE_AT_MOST_REST] = false};
    bool above = rule->kind < sizeof at_most && at_most[rule->kind];
    use(above ? &n->above : &n->below, rule->time.name.name);
    use(&n->above, rule->count.name.name);
    for (const RuleStep *step = rule->steps; step; step = step->next) use(&n->below, step->pause_name.name);
    use_test(n, gate->cond, true, 0);
}

static void use_all(Numbering *n) {
    n->above.arena = n->below.arena = n->job->arena;
    for (uint32_t p = 0; p < n->tail->n_procedures; p++) use_items(n, n->tail->procedures[p].items, 0);
    for (uint32_t d = 0; d < n->tail->n_drills; d++) {
        use_test(n, n->tail->drills[d].cue, false, 0);
        use_items(n, n->tail->drills[d].items, 0);
    }
    for (uint32_t g = 0; g < n->tail->n_gates; g++) use_rule(n, &n->tail->gates[g]);
}

static NumberRoom room_of(const Numbering *n, Name name) {
    bool above = map_get(&n->above, name), below = map_get(&n->below, name);
    return above == below ? ROOM_UNKNOWN : above ? ROOM_ABOVE : ROOM_BELOW;
}

/* ---- the numbers ---- */

static void add(Numbering *n, TailNumber number, Span at) {
    for (uint32_t i = 0; i < n->tail->n_held; i++) {
        const Craft *craft = n->tail->held[i].craft;
        if (at.lo < craft->span.lo || at.hi > craft->span.hi) continue;
        number.craft = craft;
        number.given_by = n->tail->held[i].decl;
        break;
    }
    if (number.craft && number.craft->when) {
        Buf key = {n->job->arena, NULL, 0, 0}, what = key;
        buf_str(&key, number.key);
        buf_text(&key, " when ");
        print_cond(&key, n->job, number.craft->when);
        buf_str(&what, number.what);
        buf_text(&what, " when ");
        print_cond(&what, n->job, number.craft->when);
        number.key = buf_view(&key);
        number.what = buf_view(&what);
    }
    vec_push(n->job->arena, &n->numbers, number);
}

#define WORDS(n, ...) format_text((n)->job->arena, (n)->job->names, __VA_ARGS__)

static Str thing_key(const Numbering *n, const Thing *thing) {
    bool own = thing->engine != NO_INDEX && n->tail->n_engines > 1;
    return own ? WORDS(n, "%N.%N", n->tail->engines[thing->engine], thing->name) : WORDS(n, "%N", thing->name);
}

/* A band is what is wanted where the text asks for it, or where its name says so. */
static NumberRoom band_room(const Numbering *n, const Thing *gauge, const Band *band, bool lower) {
    Str name = name_text(n->job->names, band->name);
    bool by_name = str_eq(name, STR("limit")) || str_eq(name, STR("normal"));
    NumberRoom use = room_of(n, band_key(n, gauge, band->name));
    if (use == ROOM_UNKNOWN && !by_name) return ROOM_UNKNOWN;
    bool wanted = by_name || use == ROOM_ABOVE;
    return wanted == lower ? ROOM_BELOW : ROOM_ABOVE;
}

static void add_band(Numbering *n, const Thing *gauge, const Band *band) {
    Str key = WORDS(n, "band %S %N", thing_key(n, gauge), band->name),
        what = WORDS(n, "%S %N", gauge->title, band->name);
    if (band->has_lo)
        add(n,
            (TailNumber){.key = WORDS(n, "%S at-least", key),
                         .what = WORDS(n, "%S, at least", what),
                         .room = band_room(n, gauge, band, true),
                         .amount = band->lo,
                         .measure = band->measure},
            band->span);
    if (band->has_hi)
        add(n,
            (TailNumber){.key = WORDS(n, "%S at-most", key),
                         .what = WORDS(n, "%S, at most", what),
                         .room = band_room(n, gauge, band, false),
                         .amount = band->hi,
                         .measure = band->measure},
            band->span);
}

static void add_time(Numbering *n, const Craft *craft, Str key, Str what, NumberRoom room, int64_t ms) {
    if (ms)
        add(n,
            (TailNumber){.key = key,
                         .what = what,
                         .room = room,
                         .amount = rational_of(ms, 1000),
                         .measure = measure_find(STR("s"))},
            craft->span);
}

static void add_count(Numbering *n, const Craft *craft, Str key, Str what, uint32_t count) {
    if (count)
        add(n, (TailNumber){.key = key, .what = what, .room = ROOM_ABOVE, .amount = rational_whole(count)},
            craft->span);
}

static void add_duty(Numbering *n, const Duty *duty) {
    const Thing *thing = &n->tail->things[duty->thing];
    Str key = WORDS(n, "duty %S", thing_key(n, thing)), what = thing->title;
    for (uint32_t k = 0; k < duty->n_lines; k++) {
        const DutyLine *line = &duty->lines[k];
        for (uint32_t s = 0; s < line->n_series; s++) {
            bool series = line->n_series > 1;
            Str of = series ? WORDS(n, " of try %u", (uint64_t)s + 1) : STR("");
            add_time(n, line->craft, WORDS(n, "%S on%S", key, of), WORDS(n, "%S, on%S", what, of), ROOM_ABOVE,
                     line->on_ms[s]);
            add_time(n, line->craft, WORDS(n, "%S rest%S", key, of), WORDS(n, "%S, rest%S", what, of), ROOM_BELOW,
                     line->rest_ms[s]);
        }
        add_count(n, line->craft, WORDS(n, "%S tries", key), WORDS(n, "%S, tries", what), line->tries);
        add_time(n, line->craft, WORDS(n, "%S last-rest", key), WORDS(n, "%S, rest after the last try", what),
                 ROOM_BELOW, line->long_rest_ms);
    }
    for (uint32_t k = 0; k < duty->n_windows; k++) {
        const DutyWindow *window = &duty->windows[k];
        Str at = duty->n_windows > 1 ? WORDS(n, " %u", (uint64_t)k + 1) : STR("");
        add_count(n, window->craft, WORDS(n, "%S window%S count", key, at),
                  WORDS(n, "%S, times in the window%S", what, at), window->most);
        add_time(n, window->craft, WORDS(n, "%S window%S length", key, at),
                 WORDS(n, "%S, length of the window%S", what, at), ROOM_BELOW, window->in_ms);
    }
}

TailNumbers tail_numbers(const Job *job, const Tail *tail) {
    Numbering n = {.job = job, .tail = tail};
    use_all(&n);
    for (uint32_t t = 0; t < tail->n_things; t++)
        for (uint32_t b = 0; b < tail->things[t].n_bands; b++)
            add_band(&n, &tail->things[t], &tail->things[t].bands[b]);
    for (uint32_t v = 0; v < tail->n_values; v++) {
        const Value *value = &tail->values[v];
        add(&n,
            (TailNumber){.key = WORDS(&n, "value %N", value->name),
                         .what = WORDS(&n, "%N", value->name),
                         .room = room_of(&n, value->name),
                         .amount = value->amount,
                         .measure = value->measure},
            value->craft->span);
    }
    for (uint32_t d = 0; d < tail->n_duties; d++) add_duty(&n, &tail->duties[d]);
    if (tail->pace_ms)
        for (uint32_t i = 0; i < tail->n_held; i++)
            if (tail->held[i].craft->kind == CRAFT_PACE)
                add_time(&n, tail->held[i].craft, STR("pace"), STR("Pace, each item at most"), ROOM_UNKNOWN,
                         tail->pace_ms);
    return (TailNumbers){n.numbers.at, n.numbers.n};
}

const TailNumber *number_find(const TailNumbers *numbers, Str key) {
    for (size_t i = 0; i < numbers->n; i++)
        if (str_eq(numbers->at[i].key, key)) return &numbers->at[i];
    return NULL;
}

NumberChange number_change(const TailNumber *from, const TailNumber *to) {
    bool alike = (!from->measure && !to->measure) ||
                 (from->measure && to->measure && from->measure->dimension == to->measure->dimension);
    if (!alike) return NUMBER_OTHER;
    int order = rational_cmp(to->amount, from->amount);
    if (!order) return NUMBER_SAME;
    if (to->room == ROOM_UNKNOWN) return NUMBER_OTHER;
    return (order > 0) == (to->room == ROOM_ABOVE) ? NUMBER_LOOSER : NUMBER_TIGHTER;
}

void buf_number(Buf *buf, const Measure *measure, Rational amount) {
    bool minutes = false;
    int64_t seconds;
    if (measure && measure->dimension == DIM_TIME && rational_to_int(amount, &seconds))
        minutes = seconds >= 120 && seconds % 30 == 0;
    if (measure) buf_quantity(buf, minutes ? measure_find(STR("min")) : measure, amount, (QuantityStyle){0});
    else buf_rational(buf, amount);
}
