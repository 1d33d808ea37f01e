#include "back/changes.h"

/* ---- lines that are the same ---- */

typedef struct {
    Arena *arena;
    const Side *from, *to;
    Names names;                 /* keys of lines */
    size_t *mate_from, *mate_to; /* index + 1 on the other side; 0: none */
    bool *moved;                 /* by index in `to` */
    Differences found;
} Comparing;

static Name key_of(Comparing *c, const SideLine *line, bool with_phase) {
    const char *what = line->head ? "head" : "line";
    return name_intern(&c->names,
                       with_phase ? format_text(c->arena, NULL, "%S/%s/%S/%S", line->of, what, line->phase, line->id)
                                  : format_text(c->arena, NULL, "%S/%s//%S", line->of, what, line->id));
}

/* The first of one key goes with the first, the second with the second: the lists are run through from the end, so that each map holds
   the first that is left. */
static void match(Comparing *c, bool with_phase) {
    NameMap first = {.arena = c->arena};
    size_t *next = ARENA_ARRAY(c->arena, size_t, c->from->n_lines + 1);
    for (size_t i = c->from->n_lines; i-- > 0;) {
        if (c->mate_from[i]) continue;
        Name key = key_of(c, &c->from->lines[i], with_phase);
        next[i] = (size_t)(uintptr_t)map_get(&first, key);
        map_put(&first, key, (void *)(uintptr_t)(i + 1));
    }
    for (size_t k = 0; k < c->to->n_lines; k++) {
        if (c->mate_to[k]) continue;
        Name key = key_of(c, &c->to->lines[k], with_phase);
        size_t at = (size_t)(uintptr_t)map_get(&first, key);
        if (!at) continue;
        c->mate_to[k] = at;
        c->mate_from[at - 1] = k + 1;
        map_put(&first, key, (void *)(uintptr_t)next[at - 1]);
    }
}

/* Lines of one procedure stand together. */
static size_t procedure_end(const Side *side, size_t at) {
    size_t end = at;
    while (end < side->n_lines && str_eq(side->lines[end].of, side->lines[at].of)) end++;
    return end;
}

/* What keeps its order is the longest rising run of places; the others were moved. */
static void find_moved(Comparing *c, size_t at, size_t end) {
    size_t n = c->to->n_lines, length = 0;
    size_t *ends = ARENA_ARRAY(c->arena, size_t, n + 1), *before = ARENA_ARRAY(c->arena, size_t, n + 1);
    for (size_t k = at; k < end; k++) {
        c->moved[k] = c->mate_to[k] != 0;
        if (!c->mate_to[k]) continue;
        size_t lo = 0, hi = length;
        while (lo < hi) {
            size_t mid = (lo + hi) / 2;
            if (c->mate_to[ends[mid]] < c->mate_to[k]) lo = mid + 1;
            else hi = mid;
        }
        before[k] = lo ? ends[lo - 1] + 1 : 0;
        ends[lo] = k;
        if (lo == length) length++;
    }
    for (size_t k = length ? ends[length - 1] + 1 : 0; k; k = before[k - 1]) c->moved[k - 1] = false;
}

/* "set-mixture" of "set-mixture-rich" */
static Str stem(Str id) {
    size_t hyphens = 0;
    for (size_t i = 0; i < id.len; i++)
        if (id.ptr[i] == '-' && ++hyphens == 2) return str_slice(id, 0, i);
    return id;
}

/* A line that went, and one that came behind the same line. */
static void pair_up(Comparing *c) {
    size_t behind = 0; /* where the last line before it stands now, + 1 */
    for (size_t i = 0; i < c->from->n_lines; i++) {
        if (c->mate_from[i]) {
            behind = c->mate_from[i];
            continue;
        }
        for (size_t k = behind; k < c->to->n_lines && !(c->mate_to[k] && k + 1 != behind); k++) {
            if (c->mate_to[k] || !str_eq(c->to->lines[k].of, c->from->lines[i].of) || c->to->lines[k].head ||
                c->from->lines[i].head || !str_eq(stem(c->to->lines[k].id), stem(c->from->lines[i].id)))
                continue;
            c->mate_to[k] = i + 1;
            c->mate_from[i] = k + 1;
            behind = k + 1;
            break;
        }
    }
}

/* ---- what differs ---- */

static void add(Comparing *c, Difference difference) {
    vec_push(c->arena, &c->found, difference);
}

static NumberChange time_change(const SideLine *from, const SideLine *to) {
    bool looser = (from->most_ms >= 0 && (to->most_ms < 0 || to->most_ms > from->most_ms)) ||
                  (from->least_ms >= 0 && to->least_ms < from->least_ms);
    bool tighter = (to->most_ms >= 0 && (from->most_ms < 0 || to->most_ms < from->most_ms)) ||
                   (to->least_ms >= 0 && to->least_ms > from->least_ms);
    if (looser) return NUMBER_LOOSER;
    return tighter                                                          ? NUMBER_TIGHTER
           : from->most_ms == to->most_ms && from->least_ms == to->least_ms ? NUMBER_SAME
                                                                            : NUMBER_OTHER;
}

static bool has_procedure(const Side *side, Str of) {
    for (size_t i = 0; i < side->n_lines; i++)
        if (str_eq(side->lines[i].of, of)) return true;
    return false;
}

static void compare_line(Comparing *c, size_t k) {
    const SideLine *to = &c->to->lines[k];
    if (!c->mate_to[k]) {
        add(c, (Difference){.kind = DIFFERS_ADDED, .to = to});
        return;
    }
    const SideLine *from = &c->from->lines[c->mate_to[k] - 1];
    NumberChange times = time_change(from, to);
    bool same = str_eq(from->words, to->words) && times == NUMBER_SAME;
    if (same && !c->moved[k]) return;
    add(c, (Difference){.kind = same ? DIFFERS_MOVED : DIFFERS_CHANGED,
                        .moved = c->moved[k],
                        .room = times,
                        .from = from,
                        .to = to});
}

/* The lines of both sides in one order: those that went, before the line that followed them. */
static void compare_procedure(Comparing *c, size_t at, size_t end) {
    size_t i = 0;
    Str of = c->to->lines[at].of;
    while (i < c->from->n_lines && !str_eq(c->from->lines[i].of, of)) i++;
    size_t last = i < c->from->n_lines ? procedure_end(c->from, i) : i;
    for (size_t k = at; k < end; k++) {
        if (c->mate_to[k] && !c->moved[k])
            for (; i + 1 < c->mate_to[k] && i < last; i++)
                if (!c->mate_from[i]) add(c, (Difference){.kind = DIFFERS_DROPPED, .from = &c->from->lines[i]});
        compare_line(c, k);
    }
    for (; i < last; i++)
        if (!c->mate_from[i]) add(c, (Difference){.kind = DIFFERS_DROPPED, .from = &c->from->lines[i]});
}

static void compare_lines(Comparing *c) {
    for (size_t k = 0, end; k < c->to->n_lines; k = end) {
        end = procedure_end(c->to, k);
        if (has_procedure(c->from, c->to->lines[k].of)) compare_procedure(c, k, end);
        else add(c, (Difference){.kind = DIFFERS_NEW_PROCEDURE, .to = &c->to->lines[k]});
    }
    for (size_t i = 0; i < c->from->n_lines; i = procedure_end(c->from, i))
        if (!has_procedure(c->to, c->from->lines[i].of))
            add(c, (Difference){.kind = DIFFERS_NO_PROCEDURE, .from = &c->from->lines[i]});
}

static NumberChange room_change(const SideNumber *from, const SideNumber *to) {
    TailNumber a = {.amount = from->amount, .measure = from->measure, .room = from->room},
               b = {.amount = to->amount, .measure = to->measure, .room = to->room};
    return number_change(&a, &b);
}

static const SideNumber *find_number(const Side *side, Str key) {
    for (size_t i = 0; i < side->n_numbers; i++)
        if (str_eq(side->numbers[i].key, key)) return &side->numbers[i];
    return NULL;
}

static void compare_numbers(Comparing *c) {
    for (size_t k = 0; k < c->to->n_numbers; k++) {
        const SideNumber *to = &c->to->numbers[k], *from = find_number(c->from, to->key);
        NumberChange room = from ? room_change(from, to) : NUMBER_OTHER;
        if (room != NUMBER_SAME)
            add(c, (Difference){.kind = DIFFERS_NUMBER, .room = room, .number_from = from, .number_to = to});
    }
    for (size_t i = 0; i < c->from->n_numbers; i++)
        if (!find_number(c->to, c->from->numbers[i].key))
            add(c, (Difference){.kind = DIFFERS_NUMBER, .room = NUMBER_OTHER, .number_from = &c->from->numbers[i]});
}

static const SideVerdict *find_verdict(const Side *side, Str gate) {
    for (size_t i = 0; i < side->n_verdicts; i++)
        if (str_eq(side->verdicts[i].gate, gate)) return &side->verdicts[i];
    return NULL;
}

/* A rule that does not apply is no news: only one that did, or now does. */
static bool speaks(const SideVerdict *verdict) {
    return verdict && !str_eq(verdict->verdict, STR("notApplicable"));
}

/* Its text is another and says otherwise; the aircraft's own numbers in it are told as numbers. */
static bool says_otherwise(const SideVerdict *from, const SideVerdict *to) {
    return speaks(to) && !str_eq(from->hash, to->hash) && !str_eq(from->rule, to->rule);
}

static void compare_verdicts(Comparing *c) {
    for (size_t k = 0; k < c->to->n_verdicts; k++) {
        const SideVerdict *to = &c->to->verdicts[k], *from = find_verdict(c->from, to->gate);
        Difference found = {.kind = DIFFERS_VERDICT, .verdict_from = from, .verdict_to = to};
        if (from ? !str_eq(from->verdict, to->verdict) : speaks(to)) add(c, found);
        found.kind = DIFFERS_RULE;
        if (from && says_otherwise(from, to)) add(c, found);
    }
    for (size_t i = 0; i < c->from->n_verdicts; i++)
        if (speaks(&c->from->verdicts[i]) && !find_verdict(c->to, c->from->verdicts[i].gate))
            add(c, (Difference){.kind = DIFFERS_VERDICT, .verdict_from = &c->from->verdicts[i]});
}

Differences differences(Arena *arena, const Side *from, const Side *to, bool pair) {
    Comparing c = {.arena = arena,
                   .from = from,
                   .to = to,
                   .mate_from = ARENA_ARRAY(arena, size_t, from->n_lines + 1),
                   .mate_to = ARENA_ARRAY(arena, size_t, to->n_lines + 1),
                   .moved = ARENA_ARRAY(arena, bool, to->n_lines + 1)};
    names_open(&c.names, arena);
    match(&c, true);
    match(&c, false);
    for (size_t k = 0, end; k < to->n_lines; k = end) find_moved(&c, k, end = procedure_end(to, k));
    if (pair) pair_up(&c);
    compare_lines(&c);
    compare_numbers(&c);
    compare_verdicts(&c);
    return c.found;
}
