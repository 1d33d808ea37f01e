/* Cards as plain text: a page (or more) for each procedure, one for each drill, briefings, and the last page. */
#include "back/card.h"
#include "base/utf8.h"
#include "front/front.h"

/* ---- what is printed ---- */

typedef struct {
    const BackInput *input;
    Arena *arena;
    uint32_t *marks; /* by drill */
    uint32_t n_marks;
    uint32_t *drills; /* in the order of their marks */
    Pages pages;
} Set;

static bool listed(const Edition *edition, Name name) {
    for (uint32_t i = 0; i < edition->n_contains; i++)
        if (edition->contains[i] == name) return true;
    return false;
}

static bool prints_procedure(const Set *set, const Procedure *procedure) {
    return set->input->edition->all_procedures || listed(set->input->edition, procedure->name);
}

static void mark_drill(Set *set, uint32_t drill) {
    if (set->marks[drill]) return;
    set->drills[set->n_marks++] = drill;
    set->marks[drill] = set->n_marks;
}

/* Marks go by the order in which procedures list their drills, then by the tail's order. */
static void mark_drills(Set *set) {
    const Tail *tail = set->input->tail;
    const Edition *edition = set->input->edition;
    bool all = edition->all_drills || edition->all_procedures;
    for (uint32_t p = 0; p < tail->n_procedures; p++)
        for (uint32_t d = 0; prints_procedure(set, &tail->procedures[p]) && d < tail->procedures[p].n_drills; d++)
            if (all || listed(edition, tail->drills[tail->procedures[p].drills[d]].name))
                mark_drill(set, tail->procedures[p].drills[d]);
    for (uint32_t d = 0; d < tail->n_drills; d++)
        if (all || listed(edition, tail->drills[d].name)) mark_drill(set, d);
}

static void add_page(Set *set, Str title, Str lines, uint32_t procedure, uint32_t drill) {
    vec_push(set->arena, &set->pages, ((Page){title, lines, procedure, drill}));
}

static Card card_open(Set *set) {
    return (Card){.input = set->input, .arena = set->arena, .marks = set->marks, .out = {set->arena, NULL, 0, 0}};
}

/* ---- procedures ---- */

static void starter_duty_line(Card *card) {
    const Tail *tail = card->input->tail;
    for (uint32_t i = 0; i < tail->n_duties; i++) {
        Buf buf = {card->arena, NULL, 0, 0};
        buf_thing(&buf, card->input, &tail->things[tail->duties[i].thing]);
        buf_text(&buf, ":");
        for (uint32_t k = 0; k < tail->duties[i].n_lines; k++) {
            const DutyLine *line = &tail->duties[i].lines[k];
            buf_text(&buf, k ? "; or" : "");
            for (uint32_t s = 0; s < line->n_series; s++) {
                if (line->on_ms[s])
                    buf_text(&buf, s ? ", up to " : " up to "), buf_ms(&buf, line->on_ms[s]), buf_text(&buf, " on");
                if (line->rest_ms[s]) buf_text(&buf, ", "), buf_ms(&buf, line->rest_ms[s]), buf_text(&buf, " rest");
            }
            if (line->tries) buf_text(&buf, ", "), buf_uint(&buf, line->tries), buf_text(&buf, " tries");
            if (line->long_rest_ms)
                buf_text(&buf, ", then "), buf_ms(&buf, line->long_rest_ms), buf_text(&buf, " rest");
            if (line->when) buf_text(&buf, " when "), buf_test(&buf, card->input, line->when);
        }
        for (uint32_t k = 0; k < tail->duties[i].n_windows; k++) {
            const DutyWindow *window = &tail->duties[i].windows[k];
            buf_text(&buf, k || tail->duties[i].n_lines ? "; at most " : " at most ");
            buf_uint(&buf, window->most);
            buf_text(&buf, " in ");
            buf_ms(&buf, window->in_ms);
        }
        card_line(card, buf_view(&buf));
    }
}

static void applies_line(Card *card, const char *lead, const Test *test) {
    if (!test) return;
    Buf buf = {card->arena, NULL, 0, 0};
    buf_text(&buf, lead);
    buf_test(&buf, card->input, test);
    card_line(card, buf_view(&buf));
}

static Str capitals(Set *set, Str text) {
    Buf buf = {set->arena, NULL, 0, 0};
    buf_capitals(&buf, text);
    return buf_view(&buf);
}

/* A page ends before a phase that would not fit; what does not fit a page by itself runs on. */
static void break_page(Set *set, Card *card, Str title, uint32_t procedure) {
    add_page(set, title, buf_view(&card->out), procedure, NO_INDEX);
    card->out = (Buf){set->arena, NULL, 0, 0};
    card->lines = 0;
}

static uint32_t measure_item(const Card *card, const Item *item) {
    Card scratch = *card;
    Item alone = *item;
    alone.next = NULL;
    scratch.out = (Buf){card->arena, NULL, 0, 0};
    scratch.lines = 0;
    card_items(&scratch, &alone);
    return scratch.lines;
}

static void set_procedure(Set *set, uint32_t index) {
    const Procedure *procedure = &set->input->tail->procedures[index];
    Card card = card_open(set);
    Str title = capitals(set, procedure->title);
    card_number_items(&card, procedure->items);
    applies_line(&card, "For: ", procedure->applies);
    applies_line(&card, "Begins with: ", procedure->begins);
    starter_duty_line(&card);
    for (const Item *item = procedure->items; item; item = item->next) {
        Item alone = *item;
        alone.next = NULL;
        uint32_t lines = measure_item(&card, item);
        if (card.lines && card.lines + lines > CARD_LINES && lines > 3) break_page(set, &card, title, index);
        card_items(&card, &alone);
    }
    break_page(set, &card, title, index);
}

/* ---- drills ---- */

static void cue_lines(Card *card, const Drill *drill) {
    if (!drill->cue) {
        card_line(card, STR("When: another card turns to it."));
        return;
    }
    applies_line(card, "When: ", drill->cue);
    applies_line(card, "From: ", drill->armed);
    if (drill->keeps_cranking) card_line(card, STR("Keep cranking if the starter is engaged."));
}

/* The last position that each control was set to, in the order of their last lines. */
static void collect_sets(const Item *items, const Item **last, size_t *n) {
    for (const Item *item = items; item; item = item->next) {
        if (item->kind == STMT_SET && item->thing != NO_INDEX) {
            size_t kept = 0;
            for (size_t i = 0; i < *n; i++)
                if (last[i]->thing != item->thing) last[kept++] = last[i];
            last[kept++] = item;
            *n = kept;
        }
        collect_sets(item->body, last, n);
    }
}

static bool ends_one_way_inside(const Set *set, const Item *item);

/* One way through to its end, and that end leaves the engine still: only then is the last position set the one found there. */
static bool ends_one_way(const Set *set, const Item *items) {
    for (const Item *item = items; item; item = item->next) {
        if (item->kind == STMT_CASES || item->kind == STMT_TRY || !ends_one_way_inside(set, item)) return false;
        if (item->kind == STMT_GO && item->go->kind == ACTION_END && !item->next)
            return !str_eq(name_text(set->input->job->names, item->go->outcome), STR("RUNNING"));
    }
    return true;
}

static bool ends_one_way_inside(const Set *set, const Item *item) {
    for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
        if (outcome->action.kind == ACTION_BLOCK) return false;
    return ends_one_way(set, item->body);
}

static void end_state(Set *set, Card *card, const Drill *drill) {
    const Item **last = ARENA_ARRAY(set->arena, const Item *, set->input->tail->n_things + 1);
    size_t n = 0;
    collect_sets(drill->items, last, &n);
    if (!n || !ends_one_way(set, drill->items)) return;
    Buf buf = {set->arena, NULL, 0, 0};
    buf_text(&buf, "Left as: ");
    for (size_t i = 0; i < n; i++) {
        if (i) buf_text(&buf, ", ");
        buf_thing(&buf, set->input, &set->input->tail->things[last[i]->thing]);
        buf_char(&buf, ' ');
        buf_str(&buf, set->input->tail->things[last[i]->thing].positions[last[i]->position].print);
    }
    buf_text(&buf, ". Keep out of the propeller's arc.");
    card_line(card, buf_view(&buf));
}

static void set_drill(Set *set, uint32_t index) {
    const Drill *drill = &set->input->tail->drills[index];
    Card card = card_open(set);
    Buf title = {set->arena, NULL, 0, 0};
    buf_mark(&title, &card, index);
    card_number_items(&card, drill->items);
    cue_lines(&card, drill);
    card_blank(&card);
    card_items(&card, drill->items);
    end_state(set, &card, drill);
    add_page(set, buf_view(&title), buf_view(&card.out), NO_INDEX, index);
}

/* ---- briefings, the last page ---- */

static bool briefed(const Item *items, uint32_t thing) {
    for (const Item *item = items; item; item = item->next)
        if ((item->kind == STMT_BRIEF && item->thing == thing) || briefed(item->body, thing)) return true;
    return false;
}

static bool is_read(const Set *set, uint32_t thing) {
    for (uint32_t p = 0; p < set->input->tail->n_procedures; p++)
        if (prints_procedure(set, &set->input->tail->procedures[p]) &&
            briefed(set->input->tail->procedures[p].items, thing))
            return true;
    return false;
}

static void set_briefings(Set *set) {
    Card card = card_open(set);
    for (uint32_t t = 0; t < set->input->tail->n_things; t++) {
        const Thing *thing = &set->input->tail->things[t];
        if (thing->kind != THING_BRIEFING || !is_read(set, t)) continue;
        card_blank(&card);
        card_line(&card, thing->title);
        for (const TextList *text = thing->decl->more->paragraphs; text; text = text->next) {
            Buf buf = {set->arena, NULL, 0, 0};
            buf_text(&buf, "- ");
            buf_filled(&buf, set->input, text->text, NO_INDEX);
            card_line(&card, buf_view(&buf));
        }
    }
    if (card.lines) add_page(set, STR("BRIEFINGS"), buf_view(&card.out), NO_INDEX, NO_INDEX);
}

static void waiver_lines(Set *set, Card *card) {
    const Edition *edition = set->input->edition;
    for (uint32_t i = 0; i < edition->n_waivers; i++) {
        const Decl *waiver = edition->waivers[i];
        Buf buf = {set->arena, NULL, 0, 0};
        buf_text(&buf, "Waived: ");
        buf_str(&buf, name_text(set->input->job->names, waiver->more->ref.name));
        buf_text(&buf, " at ");
        buf_str(&buf, name_text(set->input->job->names, waiver->more->ref2.name));
        buf_text(&buf, " until ");
        buf_str(&buf, span_text(set->input->job->sources, waiver->more->date));
        buf_text(&buf, ", because ");
        buf_filled(&buf, set->input, waiver->text, NO_INDEX);
        buf_text(&buf, ", by ");
        buf_filled(&buf, set->input, waiver->more->text2, NO_INDEX);
        card_line(card, buf_view(&buf));
    }
}

static void dropped_lines(Set *set, Card *card) {
    const Tail *tail = set->input->tail;
    for (uint32_t p = 0; p < tail->n_procedures; p++) {
        if (!prints_procedure(set, &tail->procedures[p])) continue;
        for (uint32_t i = 0; i < tail->procedures[p].n_dropped; i++) {
            Buf buf = {set->arena, NULL, 0, 0};
            buf_text(&buf, "Left out, not fitted: ");
            buf_str(&buf, tail->procedures[p].title);
            buf_text(&buf, ": ");
            if (tail->procedures[p].dropped[i]->stmt)
                print_stmt_head(&buf, set->input->job, tail->procedures[p].dropped[i]->stmt);
            card_line(card, buf_view(&buf));
        }
    }
}

static void identity_line(Card *card, const char *what, Str who) {
    if (!who.len) return;
    Buf buf = {card->arena, NULL, 0, 0};
    buf_text(&buf, what);
    buf_str(&buf, who);
    card_line(card, buf_view(&buf));
}

static void pages_in_force(Set *set, Card *card) {
    Buf buf = {set->arena, NULL, 0, 0};
    buf_text(&buf, "Pages in force at revision ");
    buf_uint(&buf, set->input->edition->revision);
    buf_char(&buf, ':');
    card_line(card, buf_view(&buf));
    for (size_t i = 0; i < set->pages.n; i++) {
        Buf line = {set->arena, NULL, 0, 0};
        buf_text(&line, "  ");
        buf_uint(&line, i + 1);
        buf_text(&line, "  ");
        buf_str(&line, set->pages.at[i].title);
        card_line(card, buf_view(&line));
    }
}

static void set_last_page(Set *set) {
    Card card = card_open(set);
    for (size_t i = 0; caution_lines[i]; i++) card_line(&card, str_of(caution_lines[i]));
    card_blank(&card);
    waiver_lines(set, &card);
    dropped_lines(set, &card);
    identity_line(&card, "Changes: ", set->input->edition->changes);
    identity_line(&card, "Prepared by: ", set->input->edition->prepared_by);
    if (!set->input->edition->draft) {
        identity_line(&card, "Approved by: ", set->input->edition->approved_by);
        identity_line(&card, "Approved on: ", set->input->edition->approved_on);
    }
    card_blank(&card);
    pages_in_force(set, &card);
    add_page(set, STR("CAUTIONS, CHANGES, PAGES"), buf_view(&card.out), NO_INDEX, NO_INDEX);
}

/* ---- heads and feet ---- */

static void buf_sides(Buf *buf, Str left, Str right) {
    size_t used = utf8_text_width(left) + utf8_text_width(right);
    buf_str(buf, left);
    if (right.len) buf_repeat(buf, ' ', used < CARD_WIDTH ? CARD_WIDTH - used : 2);
    buf_str(buf, right);
    buf_char(buf, '\n');
}

static void buf_rule(Buf *buf) {
    for (int i = 0; i < CARD_WIDTH; i++) buf_text(buf, "─");
    buf_char(buf, '\n');
}

static const char *standing(const Edition *edition) {
    return edition->not_proved ? "NOT PROVED" : edition->draft ? "DRAFT" : "";
}

static void buf_page(Buf *buf, const Set *set, size_t index) {
    const Edition *edition = set->input->edition;
    const Page *page = &set->pages.at[index];
    Arena *arena = set->arena;
    Buf left = {arena, NULL, 0, 0}, foot = {arena, NULL, 0, 0}, right = {arena, NULL, 0, 0},
        caution = {arena, NULL, 0, 0};
    buf_str(&left, set->input->tail->title);
    buf_text(&left, "   ");
    buf_str(&left, page->title);
    buf_sides(buf, buf_view(&left), str_of(standing(edition)));
    buf_rule(buf);
    buf_str(buf, page->lines);
    buf_rule(buf);
    buf_format(&foot, set->input->job->names, "%S, revision %u", edition->document, (uint64_t)edition->revision);
    if (edition->effective.len) buf_text(&foot, ", effective "), buf_str(&foot, edition->effective);
    if (edition->review_by.len) buf_text(&foot, ", review by "), buf_str(&foot, edition->review_by);
    buf_format(&right, set->input->job->names, "%s  page %u of %u", edition->code, (uint64_t)(index + 1),
               (uint64_t)set->pages.n);
    bool one_line = utf8_text_width(buf_view(&foot)) + utf8_text_width(buf_view(&right)) + 2 <= CARD_WIDTH;
    buf_sides(buf, buf_view(&foot), one_line ? buf_view(&right) : STR(""));
    if (!one_line) buf_sides(buf, STR(""), buf_view(&right));
    buf_str(&caution, set->input->tail->title);
    buf_char(&caution, ' ');
    buf_text(&caution, caution_line);
    for (size_t at = 0; at < caution.len;) {
        Str line;
        at = wrap_line(buf_view(&caution), at, CARD_WIDTH, &line);
        buf_str(buf, line);
        buf_char(buf, '\n');
    }
    if (index + 1 < set->pages.n) buf_text(buf, "\f");
}

static Set set_pages(const BackInput *input) {
    Arena *arena = input->job->arena;
    Set set = {.input = input,
               .arena = arena,
               .marks = ARENA_ARRAY(arena, uint32_t, (size_t)input->tail->n_drills + 1),
               .drills = ARENA_ARRAY(arena, uint32_t, (size_t)input->tail->n_drills + 1)};
    mark_drills(&set);
    for (uint32_t p = 0; p < input->tail->n_procedures; p++)
        if (prints_procedure(&set, &input->tail->procedures[p])) set_procedure(&set, p);
    for (uint32_t d = 0; d < set.n_marks; d++) set_drill(&set, set.drills[d]);
    set_briefings(&set);
    return set;
}

bool card_emit(const BackInput *input, Sink sink) {
    Set set = set_pages(input);
    set_last_page(&set);
    Buf out = {set.arena, NULL, 0, 0};
    for (size_t i = 0; i < set.pages.n; i++) buf_page(&out, &set, i);
    return sink.write(sink.context, out.ptr, out.len);
}

Sha256Digest card_words_digest(const BackInput *input) {
    Set set = set_pages(input);
    Sha256 sha;
    sha256_open(&sha);
    for (size_t i = 0; i < set.pages.n; i++)
        sha256_add(&sha, set.pages.at[i].title), sha256_add(&sha, set.pages.at[i].lines);
    return sha256_close(&sha);
}
