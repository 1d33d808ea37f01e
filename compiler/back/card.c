/* What stands on the cards of one tail: each procedure, each drill, and the briefings. */
#include "back/card_changes.h"
#include "front/front.h"

/* ---- what is printed ---- */

static bool listed(const Edition *edition, Name name) {
    for (uint32_t i = 0; i < edition->n_contains; i++)
        if (edition->contains[i] == name) return true;
    return false;
}

bool card_prints_procedure(const CardSet *set, const Procedure *procedure) {
    return set->input->edition->all_procedures || listed(set->input->edition, procedure->name);
}

static void mark_drill(CardSet *set, uint32_t drill) {
    if (set->marks[drill]) return;
    set->drills[set->n_marks++] = drill;
    set->marks[drill] = set->n_marks;
}

/* Marks go by the order in which procedures list their drills, then by the tail's order. */
static void mark_drills(CardSet *set) {
    const Tail *tail = set->input->tail;
    const Edition *edition = set->input->edition;
    bool all = edition->all_drills || edition->all_procedures;
    for (uint32_t p = 0; p < tail->n_procedures; p++)
        for (uint32_t d = 0; card_prints_procedure(set, &tail->procedures[p]) && d < tail->procedures[p].n_drills; d++)
            if (all || listed(edition, tail->drills[tail->procedures[p].drills[d]].name))
                mark_drill(set, tail->procedures[p].drills[d]);
    for (uint32_t d = 0; d < tail->n_drills; d++)
        if (all || listed(edition, tail->drills[d].name)) mark_drill(set, d);
}

void card_add_sheet(CardSet *set, Str title, const Card *card, uint32_t procedure, uint32_t drill) {
    vec_push(set->arena, &set->sheets, ((Sheet){title, procedure, drill, card->rows}));
}

Card card_open(CardSet *set) {
    return (Card){
        .input = set->input, .arena = set->arena, .marks = set->marks, .turns_to = NO_INDEX, .changes = set->changes};
}

/* ---- procedures ---- */

static void starter_duty_line(Card *card) {
    const Tail *tail = card->input->tail;
    for (uint32_t i = 0; i < tail->n_duties; i++) {
        Buf lead = {card->arena, NULL, 0, 0}, buf = lead;
        buf_thing(&lead, card->input, &tail->things[tail->duties[i].thing]);
        buf_text(&lead, ":");
        bool any = false;
        for (uint32_t k = 0; k < tail->duties[i].n_lines; k++) {
            const DutyLine *line = &tail->duties[i].lines[k];
            if (!card_duty_counts(card, line)) continue;
            buf_text(&buf, any ? "; or" : "");
            for (uint32_t s = 0; s < line->n_series; s++) {
                if (line->on_ms[s])
                    buf_text(&buf, s     ? ", up to "
                                   : any ? " up to "
                                         : "up to "),
                        buf_ms(&buf, line->on_ms[s]), buf_text(&buf, " on");
                if (line->rest_ms[s]) buf_text(&buf, ", "), buf_ms(&buf, line->rest_ms[s]), buf_text(&buf, " rest");
            }
            if (line->tries) buf_text(&buf, ", "), buf_uint(&buf, line->tries), buf_text(&buf, " tries");
            if (line->long_rest_ms)
                buf_text(&buf, ", then "), buf_ms(&buf, line->long_rest_ms), buf_text(&buf, " rest");
            if (line->when) buf_text(&buf, " when "), buf_test(&buf, card->input, line->when);
            any = true;
        }
        for (uint32_t k = 0; k < tail->duties[i].n_windows; k++) {
            const DutyWindow *window = &tail->duties[i].windows[k];
            buf_text(&buf, k || any ? "; at most " : "at most ");
            buf_uint(&buf, window->most);
            buf_text(&buf, " in ");
            buf_ms(&buf, window->in_ms);
        }
        card_line(card, ROW_LINE, buf_view(&lead), buf_view(&buf));
    }
}

static void applies_line(Card *card, RowKind kind, Str lead, const Test *test) {
    if (!test) return;
    Buf buf = {card->arena, NULL, 0, 0};
    buf_test(&buf, card->input, test);
    card_line(card, kind, lead, buf_view(&buf));
}

static Str capitals(CardSet *set, Str text) {
    Buf buf = {set->arena, NULL, 0, 0};
    buf_capitals(&buf, text);
    return buf_view(&buf);
}

static void set_procedure(CardSet *set, uint32_t index) {
    const Procedure *procedure = &set->input->tail->procedures[index];
    Card card = card_open(set);
    card.applies = procedure->applies;
    card_number_items(&card, procedure->items);
    applies_line(&card, ROW_LINE, STR("For:"), procedure->applies);
    applies_line(&card, ROW_LINE, STR("Begins with:"), procedure->begins);
    starter_duty_line(&card);
    for (const Item *item = procedure->items; item; item = item->next) {
        card.block++;
        card_item(&card, item);
    }
    card_add_sheet(set, capitals(set, procedure->title), &card, index, NO_INDEX);
}

/* ---- drills ---- */

static void cue_lines(Card *card, const Drill *drill) {
    if (!drill->cue) {
        card_line(card, ROW_CUE, STR("When:"), STR("another card turns to it."));
        return;
    }
    Buf cue = {card->arena, NULL, 0, 0};
    buf_turn_away(&cue, card->input, drill->cue);
    card_line(card, ROW_CUE, STR("When:"), buf_view(&cue));
    applies_line(card, ROW_CUE, STR("From:"), drill->armed);
    if (drill->keeps_cranking) card_line(card, ROW_CUE, STR(""), STR("Keep cranking if the starter is engaged."));
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

static bool ends_one_way_inside(const CardSet *set, const Item *item);

/* One way through to its end, and that end leaves the engine still: only then is the last position set the one found there. */
static bool ends_one_way(const CardSet *set, const Item *items) {
    for (const Item *item = items; item; item = item->next) {
        if (item->kind == STMT_CASES || item->kind == STMT_TRY || !ends_one_way_inside(set, item)) return false;
        if (item->kind == STMT_GO && item->go->kind == ACTION_END && !item->next)
            return !str_eq(name_text(set->input->job->names, item->go->outcome), STR("RUNNING"));
    }
    return true;
}

static bool ends_one_way_inside(const CardSet *set, const Item *item) {
    for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
        if (outcome->action.kind == ACTION_BLOCK) return false;
    return ends_one_way(set, item->body);
}

size_t drill_left_as(const CardSet *set, const Drill *drill, const Item ***last) {
    size_t n = 0;
    *last = ARENA_ARRAY(set->arena, const Item *, set->input->tail->n_things + 1);
    collect_sets(drill->items, *last, &n);
    return ends_one_way(set, drill->items) ? n : 0;
}

static void end_state(CardSet *set, Card *card, const Drill *drill) {
    const Item **last;
    size_t n = drill_left_as(set, drill, &last);
    if (!n) return;
    Buf buf = {set->arena, NULL, 0, 0};
    for (size_t i = 0; i < n; i++) {
        if (i) buf_text(&buf, ", ");
        buf_thing(&buf, set->input, &set->input->tail->things[last[i]->thing]);
        buf_char(&buf, ' ');
        buf_str(&buf, set->input->tail->things[last[i]->thing].positions[last[i]->position].print);
    }
    buf_text(&buf, ". Treat it as live: keep clear.");
    card_line(card, ROW_LEFT, STR("Left as:"), buf_view(&buf));
}

static void set_drill(CardSet *set, uint32_t index) {
    const Drill *drill = &set->input->tail->drills[index];
    Card card = card_open(set);
    Buf title = {set->arena, NULL, 0, 0};
    buf_mark(&title, &card, index);
    card_number_items(&card, drill->items);
    cue_lines(&card, drill);
    card_blank(&card);
    card_items(&card, drill->items);
    end_state(set, &card, drill);
    card_add_sheet(set, buf_view(&title), &card, NO_INDEX, index);
}

/* ---- briefings ---- */

static bool briefed(const Item *items, uint32_t thing) {
    for (const Item *item = items; item; item = item->next)
        if ((item->kind == STMT_BRIEF && item->thing == thing) || briefed(item->body, thing)) return true;
    return false;
}

static bool is_read(const CardSet *set, uint32_t thing) {
    for (uint32_t p = 0; p < set->input->tail->n_procedures; p++)
        if (card_prints_procedure(set, &set->input->tail->procedures[p]) &&
            briefed(set->input->tail->procedures[p].items, thing))
            return true;
    return false;
}

static void set_briefings(CardSet *set) {
    Card card = card_open(set);
    for (uint32_t t = 0; t < set->input->tail->n_things; t++) {
        const Thing *thing = &set->input->tail->things[t];
        if (thing->kind != THING_BRIEFING || !is_read(set, t)) continue;
        card_blank(&card);
        card_line(&card, ROW_PHASE, STR(""), thing->title);
        for (const TextList *text = thing->decl->more->paragraphs; text; text = text->next) {
            Buf buf = {set->arena, NULL, 0, 0};
            buf_text(&buf, "- ");
            buf_filled(&buf, set->input, text->text, NO_INDEX);
            card_line(&card, ROW_LINE, STR(""), buf_view(&buf));
        }
    }
    if (card.rows.n) card_add_sheet(set, STR("BRIEFINGS"), &card, NO_INDEX, NO_INDEX);
}

/* ---- what stands on every page ---- */

Str edition_distribution(const BackInput *input) {
    const Edition *edition = input->edition;
    Buf buf = {input->job->arena, NULL, 0, 0};
    for (size_t i = 0; i < edition->n_distribution; i++)
        buf_format(&buf, NULL, "%s%S", i ? "; " : "", edition->distribution[i]);
    return buf_view(&buf);
}

const char *card_standing(const Edition *edition) {
    return edition->not_proved ? "NOT PROVED" : edition->draft ? "DRAFT" : "";
}

Str card_identity(const CardSet *set) {
    const Edition *edition = set->input->edition;
    Buf buf = {set->arena, NULL, 0, 0};
    buf_format(&buf, set->input->job->names, "%S, revision %u", edition->document, (uint64_t)edition->revision);
    if (edition->effective.len) buf_text(&buf, ", effective "), buf_str(&buf, edition->effective);
    if (edition->review_by.len) buf_text(&buf, ", review by "), buf_str(&buf, edition->review_by);
    return buf_view(&buf);
}

Str card_caution(const CardSet *set) {
    Buf buf = {set->arena, NULL, 0, 0};
    buf_str(&buf, set->input->tail->title);
    buf_char(&buf, ' ');
    buf_text(&buf, caution_line);
    return buf_view(&buf);
}

CardSet card_set(const BackInput *input) {
    Arena *arena = input->job->arena;
    CardSet set = {.input = input,
                   .arena = arena,
                   .marks = ARENA_ARRAY(arena, uint32_t, (size_t)input->tail->n_drills + 1),
                   .drills = ARENA_ARRAY(arena, uint32_t, (size_t)input->tail->n_drills + 1)};
    set.changes = card_changes(input);
    mark_drills(&set);
    for (uint32_t p = 0; p < input->tail->n_procedures; p++)
        if (card_prints_procedure(&set, &input->tail->procedures[p])) set_procedure(&set, p);
    for (uint32_t d = 0; d < set.n_marks; d++) set_drill(&set, set.drills[d]);
    set_briefings(&set);
    Sheet changes = card_change_sheet(set.changes, input);
    if (changes.title.len) vec_push(arena, &set.sheets, changes);
    return set;
}

static void hash_number(Sha256 *sha, uint32_t number) {
    char bytes[4];
    for (int i = 0; i < 4; i++) bytes[i] = (char)(number >> 8 * i & 0xff);
    sha256_add(sha, (Str){bytes, sizeof bytes});
}

static void hash_text(Sha256 *sha, Str text) {
    hash_number(sha, (uint32_t)text.len);
    sha256_add(sha, text);
}

static void hash_row(Sha256 *sha, const Row *row) {
    hash_number(sha, row->kind);
    hash_number(sha, row->number);
    hash_number(sha, row->memory);
    hash_number(sha, row->retry);
    hash_number(sha, row->inset);
    hash_text(sha, str_of(row->gutter));
    hash_text(sha, row->thing);
    hash_text(sha, row->state);
}

Sha256Digest card_words_digest(const BackInput *input) {
    CardSet set = card_set(input);
    Sha256 sha;
    sha256_open(&sha);
    for (size_t i = 0; i < set.sheets.n; i++) {
        hash_text(&sha, set.sheets.at[i].title);
        for (size_t r = 0; r < set.sheets.at[i].rows.n; r++) hash_row(&sha, &set.sheets.at[i].rows.at[r]);
    }
    return sha256_close(&sha);
}
