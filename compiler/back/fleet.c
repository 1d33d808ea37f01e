/* All tails of a document against one another, item by item: which say the same, which lines stand elsewhere or say otherwise, and how
   unlike the procedures of two tails are, worst first. Who flies several of them reads here what the hand must not carry over. Tails that
   say the same are one group, so that a fleet costs its groups. */
#include "back/fleet.h"
#include "back/side.h"
#include <stdlib.h>

/* ---- what is said ---- */

static size_t hash_text(Str text) {
    uint64_t hash = 1469598103934665603u;
    for (size_t i = 0; i < text.len; i++) hash = (hash ^ (unsigned char)text.ptr[i]) * 1099511628211u;
    return (size_t)(hash ^ hash >> 32);
}

static size_t slot_of(const Fleet *f, Str key) {
    size_t slot = hash_text(key) & (f->n_slots - 1);
    while (f->slots[slot] && !str_eq(f->kinds.at[f->slots[slot] - 1].key, key)) slot = (slot + 1) & (f->n_slots - 1);
    return slot;
}

static void widen(Fleet *f) {
    if (2 * (f->kinds.n + 1) < f->n_slots) return;
    f->n_slots = f->n_slots ? 2 * f->n_slots : 512;
    f->slots = ARENA_ARRAY(f->arena, size_t, f->n_slots);
    for (size_t i = 0; i < f->kinds.n; i++) f->slots[slot_of(f, f->kinds.at[i].key)] = i + 1;
}

static size_t kind_of(Fleet *f, const SideLine *line, Str key) {
    widen(f);
    size_t slot = slot_of(f, key);
    if (f->slots[slot]) return f->slots[slot] - 1;
    Kind kind = {.key = str_copy(f->arena, key),
                 .of = str_copy(f->arena, line->of),
                 .phase = str_copy(f->arena, line->phase),
                 .id = str_copy(f->arena, line->id)};
    vec_push(f->arena, &f->kinds, kind);
    f->slots[slot] = f->kinds.n;
    return f->kinds.n - 1;
}

static size_t words_of(Fleet *f, size_t at, Str words) {
    Kind *kind = &f->kinds.at[at];
    for (size_t i = 0; i < kind->words.n; i++)
        if (str_eq(kind->words.at[i], words)) return i;
    vec_push(f->arena, &kind->words, str_copy(f->arena, words));
    return kind->words.n - 1;
}

/* A line that is said again in its procedure is another item: the second, the third. */
static size_t said_kind(Fleet *f, Arena *arena, const Side *side, const Said *said, size_t n, size_t i) {
    const SideLine *line = &side->lines[i];
    for (uint64_t count = 1;; count++) {
        size_t kind = kind_of(f, line, format_text(arena, NULL, "%S.%S %u", line->of, line->id, count));
        bool used = false;
        for (size_t k = n; k-- > 0 && str_eq(f->kinds.at[said[k].kind].of, line->of) && !used;)
            used = said[k].kind == kind;
        if (!used) return kind;
    }
}

static bool says_the_same(const Group *group, const Said *said, size_t n) {
    if (group->n != n) return false;
    for (size_t i = 0; i < n; i++)
        if (group->said[i].kind != said[i].kind || group->said[i].words != said[i].words) return false;
    return true;
}

static Group *group_of(Fleet *f, const Said *said, size_t n) {
    for (size_t i = 0; i < f->groups.n; i++)
        if (says_the_same(&f->groups.at[i], said, n)) return &f->groups.at[i];
    Group group = {.said = arena_copy(f->arena, said, (n + 1) * sizeof *said), .n = n};
    vec_push(f->arena, &f->groups, group);
    return &f->groups.at[f->groups.n - 1];
}

static void *fleet_begin(const BackDocument *document) {
    Fleet *f = ARENA_NEW(document->arena, Fleet);
    f->document = document;
    f->arena = document->arena;
    f->head = ARENA_NEW(document->arena, Tail);
    return f;
}

static void fleet_add(void *made, const BackInput *input) {
    Fleet *f = made;
    bool draft = f->edition.draft, not_proved = f->edition.not_proved;
    Side side = side_of(input);
    Said *said = ARENA_ARRAY(input->job->arena, Said, side.n_lines + 1);
    size_t n = 0;
    for (size_t i = 0; i < side.n_lines; i++) {
        if (!side.lines[i].line) continue;
        size_t kind = said_kind(f, input->job->arena, &side, said, n, i);
        said[n++] = (Said){kind, words_of(f, kind, side.lines[i].words)};
    }
    Group *group = group_of(f, said, n);
    Str name = str_copy(f->arena, name_text(input->job->names, input->tail->name));
    vec_push(f->arena, &group->names, name);
    group->tails = group->tails.len ? format_text(f->arena, NULL, "%S, %S", group->tails, name) : name;
    f->job = *input->job;
    f->job.arena = f->arena;
    f->edition = *input->edition;
    f->edition.draft |= draft;
    f->edition.not_proved |= not_proved;
}

/* ---- two groups ---- */

static void find_places(Fleet *f) {
    for (size_t g = 0; g < f->groups.n; g++) {
        Group *group = &f->groups.at[g];
        group->at = ARENA_ARRAY(f->arena, size_t, f->kinds.n + 1);
        for (size_t i = 0; i < group->n; i++) group->at[group->said[i].kind] = i + 1;
    }
}

typedef struct {
    size_t *ends;   /* by length: the item of the first on which the best run of this length ends */
    size_t *before; /* by item of the first: the one before it in its run, + 1; 0: none */
    bool *keeps;    /* by item of the first: it is in the longest run */
} Order;

/* How many of the items that both have keep their order: the longest run that rises. What is not in it stands elsewhere. */
static size_t in_order(const Group *a, const Group *b, const Order *order) {
    size_t length = 0;
    for (size_t i = 0; i < a->n; i++) {
        size_t place = b->at[a->said[i].kind], lo = 0, hi = length;
        order->keeps[i] = false;
        if (!place) continue;
        while (lo < hi) {
            size_t middle = (lo + hi) / 2;
            if (b->at[a->said[order->ends[middle]].kind] < place) lo = middle + 1;
            else hi = middle;
        }
        order->ends[lo] = i;
        order->before[i] = lo ? order->ends[lo - 1] + 1 : 0;
        if (lo == length) length++;
    }
    for (size_t i = length ? order->ends[length - 1] + 1 : 0; i; i = order->before[i - 1]) order->keeps[i - 1] = true;
    return length;
}

static Pair pair_of(Fleet *f, size_t a, size_t b, const Order *order) {
    const Group *one = &f->groups.at[a], *other = &f->groups.at[b];
    Pair pair = {.a = a, .b = b};
    size_t kept = in_order(one, other, order);
    for (size_t i = 0; i < one->n; i++) {
        size_t kind = one->said[i].kind, place = other->at[kind];
        pair.common += place > 0;
        pair.state += place && other->said[place - 1].words != one->said[i].words;
        if (place && !order->keeps[i]) f->kinds.at[kind].moved = true;
    }
    pair.only_a = one->n - pair.common;
    pair.only_b = other->n - pair.common;
    pair.place = pair.common - kept;
    return pair;
}

static int worse(const void *one, const void *other) {
    const Pair *a = one, *b = other;
    size_t first = a->state + a->place, second = b->state + b->place;
    if (first != second) return first < second ? 1 : -1;
    first = a->only_a + a->only_b, second = b->only_a + b->only_b;
    if (first != second) return first < second ? 1 : -1;
    if (a->a != b->a) return a->a < b->a ? -1 : 1;
    return a->b < b->b ? -1 : a->b > b->b;
}

static void pair_all(Fleet *f) {
    size_t n = f->kinds.n + 1;
    Order order = {ARENA_ARRAY(f->arena, size_t, n), ARENA_ARRAY(f->arena, size_t, n), ARENA_ARRAY(f->arena, bool, n)};
    find_places(f);
    for (size_t a = 0; a < f->groups.n; a++)
        for (size_t b = a + 1; b < f->groups.n; b++) vec_push(f->arena, &f->pairs, pair_of(f, a, b, &order));
    if (f->pairs.n) qsort(f->pairs.at, f->pairs.n, sizeof *f->pairs.at, worse);
}

/* ---- as a record ---- */

Str fleet_group_name(const Fleet *f, size_t group) {
    return format_text(f->arena, NULL, "G%u", (uint64_t)group + 1);
}

static Str count(const Fleet *f, size_t n) {
    return format_text(f->arena, NULL, "%u", (uint64_t)n);
}

static void groups_part(const Fleet *f, Record *record) {
    static const RecordColumn columns[] = {{"Group", 6}, {"Lines", 6}, {"Tails", 100}};
    record_head(record, STR("Tails that say the same"));
    record_table(record, STR("Tails of one group have the same lines in the same order."), columns, 3);
    for (size_t g = 0; g < f->groups.n; g++) {
        Str cells[] = {fleet_group_name(f, g), count(f, f->groups.at[g].n), f->groups.at[g].tails};
        record_row(record, cells);
    }
}

static void pairs_part(const Fleet *f, Record *record) {
    static const RecordColumn columns[] = {{"Groups", 14},      {"Unlike", 20},     {"Says otherwise", 14},
                                           {"Other place", 12}, {"Only first", 12}, {"Only second", 12}};
    record_head(record, STR("How unlike they are, worst first"));
    record_table(record,
                 STR("\"Unlike\": of the items that both have, those that say otherwise or stand at another place; one "
                     "that does both counts twice. It is a count of words and places, and no measure of risk."),
                 columns, sizeof columns / sizeof *columns);
    for (size_t i = 0; i < f->pairs.n; i++) {
        const Pair *pair = &f->pairs.at[i];
        Str cells[] = {
            format_text(f->arena, NULL, "%S, %S", fleet_group_name(f, pair->a), fleet_group_name(f, pair->b)),
            format_text(f->arena, NULL, "%u in %u", (uint64_t)(pair->state + pair->place), (uint64_t)pair->common),
            count(f, pair->state),
            count(f, pair->place),
            count(f, pair->only_a),
            count(f, pair->only_b)};
        record_row(record, cells);
    }
    if (!f->pairs.n) record_words(record, STR("All tails say the same."));
}

bool fleet_differs(const Fleet *f, size_t kind) {
    for (size_t g = 0; g < f->groups.n; g++)
        if (!f->groups.at[g].at[kind]) return true;
    return f->kinds.at[kind].words.n > 1;
}

Str fleet_saying(const Fleet *f, size_t kind, size_t words) {
    Buf buf = {f->arena, NULL, 0, 0};
    for (size_t g = 0; g < f->groups.n; g++) {
        size_t place = f->groups.at[g].at[kind];
        size_t says = place ? f->groups.at[g].said[place - 1].words : f->kinds.at[kind].words.n;
        if (says == words) buf_format(&buf, NULL, "%sG%u", buf.len ? " " : "", (uint64_t)g + 1);
    }
    return buf_view(&buf);
}

static Str where_of(const Fleet *f, const Kind *kind) {
    return kind->phase.len ? format_text(f->arena, NULL, "%S, %S", kind->of, kind->phase) : kind->of;
}

static void items_part(const Fleet *f, Record *record) {
    static const RecordColumn columns[] = {{"Procedure, phase", 26}, {"Item", 24}, {"It says", 42}, {"Said by", 22}};
    record_head(record, STR("Items that differ"));
    record_table(record, STR("\"-\": these groups do not have it."), columns, 4);
    for (size_t k = 0; k < f->kinds.n; k++) {
        const Kind *kind = &f->kinds.at[k];
        if (!fleet_differs(f, k)) continue;
        for (size_t w = 0; w <= kind->words.n; w++) {
            Str by = fleet_saying(f, k, w);
            Str cells[] = {w ? STR("") : where_of(f, kind), w ? STR("") : kind->id,
                           w < kind->words.n ? kind->words.at[w] : STR("-"), by};
            if (by.len) record_row(record, cells);
        }
    }
    if (!record_has_rows(record)) record_words(record, STR("No item is missing or says otherwise."));
}

Str fleet_behind(const Fleet *f, size_t group, size_t kind) {
    const Group *at = &f->groups.at[group];
    size_t place = at->at[kind] - 1;
    const Kind *before = place ? &f->kinds.at[at->said[place - 1].kind] : NULL;
    return before && str_eq(before->of, f->kinds.at[kind].of) ? before->id : STR("");
}

/* A row for each place: all groups that have it there are named with the first of them. */
static void rows_of_places(const Fleet *f, Record *record, size_t k) {
    const Kind *kind = &f->kinds.at[k];
    bool *told = ARENA_ARRAY(f->arena, bool, f->groups.n), any = false;
    for (size_t g = 0; g < f->groups.n; g++) {
        if (told[g] || !f->groups.at[g].at[k]) continue;
        Str behind = fleet_behind(f, g, k);
        Buf by = {f->arena, NULL, 0, 0};
        for (size_t h = g; h < f->groups.n; h++) {
            if (!f->groups.at[h].at[k] || !str_eq(fleet_behind(f, h, k), behind)) continue;
            told[h] = true;
            buf_format(&by, NULL, "%sG%u", by.len ? " " : "", (uint64_t)h + 1);
        }
        Str cells[] = {any ? STR("") : where_of(f, kind), any ? STR("") : kind->id,
                       behind.len ? behind : STR("(first of all)"), buf_view(&by)};
        record_row(record, cells);
        any = true;
    }
}

static void places_part(const Fleet *f, Record *record) {
    static const RecordColumn columns[] = {{"Procedure, phase", 26}, {"Item", 24}, {"Stands behind", 42}, {"In", 22}};
    record_head(record, STR("Items at another place"));
    record_table(record, STR("Of two groups that both have it, one has it earlier than the other."), columns, 4);
    for (size_t k = 0; k < f->kinds.n; k++)
        if (f->kinds.at[k].moved) rows_of_places(f, record, k);
    if (!record_has_rows(record)) record_words(record, STR("No item stands elsewhere."));
}

static void close_up(Fleet *f) {
    pair_all(f);
    f->edition.code[0] = 0; /* a tail's */
    f->head->title = f->edition.title.len ? f->edition.title : f->edition.document;
}

static Record fleet_record(Fleet *f, BackInput *input) {
    close_up(f);
    *input = (BackInput){.job = &f->job, .tail = f->head, .edition = &f->edition};
    Record record =
        record_open(input, format_text(f->arena, NULL, "%S: its tails against one another", f->head->title));
    if (f->document->n_held_back) {
        Buf buf = {f->arena, NULL, 0, 0};
        for (size_t i = 0; i < f->document->n_held_back; i++)
            buf_format(&buf, NULL, "%s%S", i ? ", " : "", f->document->held_back[i]);
        record_words(&record, format_text(f->arena, NULL, "Not in it, as they are held back: %S.", buf_view(&buf)));
    }
    groups_part(f, &record);
    pairs_part(f, &record);
    places_part(f, &record);
    items_part(f, &record);
    return record;
}

/* For the terminal: the two that are most unlike. */
static void tell_worst(const Fleet *f) {
    const Pair *pair = f->pairs.n ? &f->pairs.at[0] : NULL;
    size_t only = pair ? pair->only_a + pair->only_b : 0;
    *f->document->why_not =
        !pair
            ? STR("its tails all say the same")
            : format_text(f->arena, NULL,
                          "most unlike are %S and %S: of %u items that both have %u %s otherwise and %u %s at "
                          "another place; %u %s in one only",
                          f->groups.at[pair->a].names.at[0], f->groups.at[pair->b].names.at[0], (uint64_t)pair->common,
                          (uint64_t)pair->state, pair->state == 1 ? "says" : "say", (uint64_t)pair->place,
                          pair->place == 1 ? "stands" : "stand", (uint64_t)only, only == 1 ? "stands" : "stand");
}

static bool fleet_text(void *made, Sink sink) {
    BackInput input;
    Record record = fleet_record(made, &input);
    if (!record_text(&record, sink)) return false;
    tell_worst(made);
    return true;
}

static bool fleet_html(void *made, Sink sink) {
    BackInput input;
    Record record = fleet_record(made, &input);
    return record_html(&record, sink);
}

static bool fleet_json(void *made, Sink sink) {
    close_up(made);
    return fleet_write_json(made, sink);
}

const BackWhole fleet_text_whole = {fleet_begin, fleet_add, fleet_text, true};
const BackWhole fleet_html_whole = {fleet_begin, fleet_add, fleet_html, true};
const BackWhole fleet_json_whole = {fleet_begin, fleet_add, fleet_json, true};
