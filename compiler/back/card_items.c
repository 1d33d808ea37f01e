/* The items of a procedure or drill as rows: the thing to the right against the spine, its state at once behind it. */
#include "back/card_changes.h"

/* ---- rows ---- */

static void add_row(Card *card, Row row) {
    row.retry = card->retry;
    row.inset = card->inset;
    row.memory = card->in_memory;
    row.block = card->block;
    row.turns_to = card->turns_to;
    row.changed = card->changed && row.kind != ROW_BLANK;
    card->turns_to = NO_INDEX;
    vec_push(card->arena, &card->rows, row);
}

static void card_row(Card *card, const char *gutter, uint32_t number, Str thing, Str state) {
    add_row(card, (Row){.kind = ROW_ITEM, .gutter = gutter, .number = number, .thing = thing, .state = state});
}

/* Behind the spine, below the line it belongs to. */
static void card_below(Card *card, RowKind kind, const char *gutter, Str text) {
    add_row(card, (Row){.kind = kind, .gutter = gutter, .state = text});
}

void card_line(Card *card, RowKind kind, Str lead, Str text) {
    add_row(card, (Row){.kind = kind, .gutter = "", .thing = lead, .state = text});
}

void card_blank(Card *card) {
    add_row(card, (Row){.kind = ROW_BLANK, .gutter = ""});
}

/* ---- numbers ---- */

static bool has_number(const Item *item) {
    switch (item->kind) {
    case STMT_SET:
    case STMT_CHECK:
    case STMT_EXPECT:
    case STMT_LOOK:
    case STMT_CALL:
    case STMT_BRIEF:
    case STMT_CRANK:
    case STMT_HOLD:
    case STMT_RELEASE:
    case STMT_WATCH:
    case STMT_PLAIN:
    case STMT_WAIT: return true;
    case STMT_BAD:
    case STMT_TRY:
    case STMT_NOTE:
    case STMT_CAUTION:
    case STMT_WARNING:
    case STMT_WHEN:
    case STMT_CASES:
    case STMT_CASE:
    case STMT_FOR:
    case STMT_DO:
    case STMT_GO:
    case STMT_PHASE:
    case STMT_BEGINS:
    case STMT_APPLIES:
    case STMT_DRILLS:
    case STMT_CUE:
    case STMT_ARMED:
    case STMT_KEEPS_CRANKING:
    case STMT_MEMORY: return false;
    }
    return false;
}

static void number_item(Card *card, const Item *item) {
    uint32_t *next = card->in_memory ? &card->memory_number : &card->next_number;
    if (has_number(item)) vec_push(card->arena, &card->numbers, ((Numbered){item, ++*next}));
}

void card_number_items(Card *card, const Item *items) {
    for (const Item *item = items; item; item = item->next) {
        bool outside = card->in_memory;
        if (item->kind == STMT_MEMORY) card->in_memory = true;
        number_item(card, item);
        card_number_items(card, item->body);
        for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next)
            if (outcome->action.kind == ACTION_BLOCK) card_number_items(card, outcome->action.block);
        card->in_memory = outside;
    }
}

static uint32_t number_of(const Card *card, const Item *item) {
    for (size_t i = 0; i < card->numbers.n; i++)
        if (card->numbers.at[i].item == item) return card->numbers.at[i].number;
    return 0;
}

static const Item *first_numbered(const Item *items) {
    for (const Item *item = items; item; item = item->next) {
        if (has_number(item)) return item;
        const Item *inside = first_numbered(item->body);
        if (inside) return inside;
    }
    return NULL;
}

/* ---- words of one item ---- */

static Str thing_words(const Card *card, const Item *item) {
    Buf buf = {card->arena, NULL, 0, 0};
    if (item->stmt && item->stmt->why && item->stmt->why->as.span.hi)
        buf_filled(&buf, card->input, item->stmt->why->as, item->engine);
    else if (item->thing != NO_INDEX) buf_thing(&buf, card->input, &card->input->tail->things[item->thing]);
    return buf_view(&buf);
}

static Str position_words(const Card *card, const Item *item) {
    Buf buf = {card->arena, NULL, 0, 0};
    if (item->count) buf_uint(&buf, item->count), buf_char(&buf, ' ');
    if (item->thing != NO_INDEX && item->position != NO_INDEX)
        buf_str(&buf, card->input->tail->things[item->thing].positions[item->position].print);
    else if (item->kind == STMT_HOLD || item->kind == STMT_RELEASE)
        buf_text(&buf, item->kind == STMT_HOLD ? "HELD" : "FREE");
    else if (item->kind == STMT_WATCH) buf_text(&buf, "WATCH");
    if (item->inoperative) buf_text(&buf, "  INOP");
    return buf_view(&buf);
}

static const char *gutter_of(const Item *item) {
    static const char *const words[] = {[STMT_LOOK] = "look",    [STMT_CALL] = "say",  [STMT_HOLD] = "hold",
                                        [STMT_RELEASE] = "free", [STMT_WAIT] = "wait", [STMT_WATCH] = "watch"};
    return item->kind < sizeof words / sizeof *words && words[item->kind] ? words[item->kind] : "";
}

void buf_mark(Buf *buf, const Card *card, uint32_t drill) {
    if (drill == NO_INDEX) { /* nobody knows the drill that is named: of a text with errors only lists are made */
        buf_char(buf, '?');
        return;
    }
    if (card->marks[drill]) {
        buf_char(buf, 'D');
        buf_uint(buf, card->marks[drill]);
        buf_char(buf, ' ');
    }
    /* of a twin's drills for one engine each, whose it is comes first: two pages of one name are turned to in a hurry */
    Buf engine = {card->arena, NULL, 0, 0};
    if (buf_engine(&engine, card->input, card->input->tail->drills[drill].engine)) buf_text(&engine, ": ");
    buf_capitals(buf, buf_view(&engine));
    buf_capitals(buf, card->input->tail->drills[drill].title);
}

static Str phase_title(const Card *card, Name phase) {
    for (uint32_t p = 0; p < card->input->tail->n_procedures; p++)
        for (const Item *item = card->input->tail->procedures[p].items; item; item = item->next)
            if (item->kind == STMT_PHASE && item->stmt->ref.name == phase) {
                Buf buf = {card->arena, NULL, 0, 0};
                buf_filled(&buf, card->input, item->stmt->more->text, NO_INDEX);
                return buf_view(&buf);
            }
    return name_text(card->input->job->names, phase);
}

static void buf_end(Buf *buf, const Card *card, const ItemAction *action) {
    buf_str(buf, name_text(card->input->job->names, action->outcome));
    if (action->no_more_starts) buf_text(buf, ". NO MORE STARTS");
    if (action->next_start.n) {
        buf_text(buf, ". Next start after ");
        buf_duration(buf, card->input, &action->next_start, NULL);
    }
    if (action->again_at) {
        buf_text(buf, ". Start again at: ");
        buf_str(buf, phase_title(card, action->again_at));
    }
}

static void buf_back(Buf *buf, const Card *card) {
    uint32_t number = card->retry_head ? number_of(card, card->retry_head) : 0;
    buf_text(buf, "back");
    if (!number) return;
    buf_text(buf, " to ");
    buf_uint(buf, number);
}

void buf_action(Buf *buf, Card *card, const ItemAction *action) {
    switch (action->kind) {
    case ACTION_TURN_TO:
        buf_mark(buf, card, action->drill);
        card->turns_to = action->drill;
        return;
    case ACTION_END: buf_end(buf, card, action); return;
    case ACTION_AGAIN:
        if (action->after.n) {
            buf_text(buf, "wait ");
            buf_duration(buf, card->input, &action->after, NULL);
            buf_text(buf, ", ");
        }
        buf_back(buf, card);
        return;
    case ACTION_BLOCK:
    case ACTION_NONE: return;
    }
}

/* "within 30 s of firing, else D2 OIL" */
static void buf_deadline(Buf *buf, const Card *card, const Item *item) {
    buf_text(buf, "within ");
    buf_duration(buf, card->input, &item->limit, item->after);
}

/* What is done then has lines of its own. */
static bool is_block(const ItemOutcome *outcome) {
    return outcome->action.kind == ACTION_BLOCK;
}

static void block_rows(Card *card, Str head, const Item *items) {
    card->inset++;
    card_line(card, ROW_IF_NOT, STR(""), head);
    card_items(card, items);
    card->inset--;
}

static void outcome_rows_of(Card *card, const ItemOutcome *outcome) {
    Buf buf = {card->arena, NULL, 0, 0};
    if (outcome->cond) {
        buf_text(&buf, "if ");
        buf_turn_away(&buf, card->input, outcome->cond);
        buf_char(&buf, ':');
    } else buf_text(&buf, is_block(outcome) ? "if not:" : "else");
    if (is_block(outcome)) {
        block_rows(card, buf_view(&buf), outcome->action.block);
        return;
    }
    buf_char(&buf, ' ');
    buf_action(&buf, card, &outcome->action);
    card_below(card, ROW_STATE, "", buf_view(&buf));
}

static void outcome_rows(Card *card, const Item *item) {
    const ItemOutcome *outcome = item->outcomes;
    if ((item->kind == STMT_SET || item->kind == STMT_EXPECT) && (item->limit.n || item->limit.missing)) {
        bool or_else = outcome && !outcome->cond && !is_block(outcome);
        Buf buf = {card->arena, NULL, 0, 0};
        buf_deadline(&buf, card, item);
        if (or_else) buf_text(&buf, ", else "), buf_action(&buf, card, &outcome->action);
        card_below(card, ROW_STATE, "", buf_view(&buf));
        if (or_else) outcome = outcome->next;
    }
    for (; outcome; outcome = outcome->next) outcome_rows_of(card, outcome);
}

/* A reason stands below its line, in drills only; elsewhere it belongs to the review, not to the cockpit. */
static void reason_row(Card *card, const Item *item) {
    if (!card->in_memory || !item->stmt || !item->stmt->why || !item->stmt->why->because.span.hi ||
        item->kind == STMT_CRANK)
        return;
    Buf buf = {card->arena, NULL, 0, 0};
    buf_char(&buf, '(');
    buf_filled(&buf, card->input, item->stmt->why->because, item->engine);
    buf_char(&buf, ')');
    card_below(card, ROW_REASON, "", buf_view(&buf));
}

/* ---- each kind ---- */

static void simple_row(Card *card, const Item *item) {
    Str state = position_words(card, item);
    if (item->person != NO_INDEX) {
        Buf buf = {card->arena, NULL, 0, 0};
        buf_str(&buf, state);
        buf_text(&buf, ", by ");
        buf_thing(&buf, card->input, &card->input->tail->things[item->person]);
        state = buf_view(&buf);
    }
    card_row(card, gutter_of(item), number_of(card, item), thing_words(card, item), state);
    reason_row(card, item);
    outcome_rows(card, item);
}

static void check_part(Card *card, const Item *item, const Test *test, bool first) {
    Buf thing = {card->arena, NULL, 0, 0}, state = {card->arena, NULL, 0, 0};
    const Thing *of = test_thing(card->input, test);
    Str as = first ? thing_words(card, item) : STR("");
    if (as.len) buf_str(&thing, as);
    else if (of) buf_thing(&thing, card->input, of);
    if (of) buf_wanted(&state, card->input, test);
    else buf_test(&state, card->input, test);
    if (item->person != NO_INDEX && first) {
        buf_text(&state, ", by ");
        buf_thing(&state, card->input, &card->input->tail->things[item->person]);
    }
    card_row(card, first ? "see" : "", first ? number_of(card, item) : 0, buf_view(&thing), buf_view(&state));
}

static void check_rows(Card *card, const Item *item) {
    if (item->cond->kind == TEST_AND) {
        for (const Test *part = item->cond->parts; part; part = part->next)
            check_part(card, item, part, part == item->cond->parts);
    } else check_part(card, item, item->cond, true);
    reason_row(card, item);
    outcome_rows(card, item);
}

static void call_rows(Card *card, const Item *item) {
    const BackInput *input = card->input;
    const Thing *call = &input->tail->things[item->thing];
    Buf words = {card->arena, NULL, 0, 0};
    buf_char(&words, '"');
    if (item->stmt->why && item->stmt->why->as.span.hi) buf_filled(&words, input, item->stmt->why->as, item->engine);
    else buf_filled(&words, input, call->text, item->engine);
    buf_char(&words, '"');
    card_row(card, "say", number_of(card, item), STR(""), buf_view(&words));
    if (item->answer) {
        Buf hear = {card->arena, NULL, 0, 0};
        const Fact *fact = &input->tail->facts[call->answer];
        buf_char(&hear, '"');
        for (uint32_t i = 0; i < fact->n_values; i++)
            if (item->answer >> i & 1)
                buf_str(&hear,
                        i > 0 && i - 1 < call->n_positions ? call->positions[i - 1].print : fact->value_names[i]);
        buf_char(&hear, '"');
        if (item->limit.n) buf_text(&hear, " in "), buf_duration(&hear, input, &item->limit, NULL);
        card_below(card, ROW_STATE, "hear", buf_view(&hear));
    }
    outcome_rows(card, item);
}

static void wait_rows(Card *card, const Item *item) {
    Buf state = {card->arena, NULL, 0, 0}, thing = {card->arena, NULL, 0, 0};
    if (item->stmt->more->text.span.hi) buf_filled(&thing, card->input, item->stmt->more->text, item->engine);
    buf_text(&state, !item->most.n ? "at least " : !item->least.n ? "at most " : "");
    if (item->least.n) buf_duration(&state, card->input, &item->least, NULL);
    if (item->least.n && item->most.n) buf_text(&state, " to ");
    if (item->most.n) buf_duration(&state, card->input, &item->most, NULL);
    if (item->after) buf_text(&state, " after "), buf_event(&state, card->input, item->after);
    card_row(card, "wait", number_of(card, item), buf_view(&thing), buf_view(&state));
    outcome_rows(card, item);
}

static Str starter_title(const Card *card, const Item *item) {
    Buf buf = {card->arena, NULL, 0, 0};
    for (uint32_t i = 0; i < card->input->tail->n_duties; i++) {
        const Thing *thing = &card->input->tail->things[card->input->tail->duties[i].thing];
        if (item->engine != NO_INDEX && thing->engine != item->engine) continue;
        buf_thing(&buf, card->input, thing);
        return buf_view(&buf);
    }
    return STR("Starter");
}

/* Whether two conjunctions want one fact in different places. */
static bool shut_out(const Test *a, const Test *b) {
    const Test *first = a->kind == TEST_AND ? a->parts : a, *second = b->kind == TEST_AND ? b->parts : b;
    for (const Test *x = first; x; x = a->kind == TEST_AND ? x->next : NULL)
        for (const Test *y = second; y; y = b->kind == TEST_AND ? y->next : NULL)
            if (x->kind == TEST_FACT && y->kind == TEST_FACT && x->fact == y->fact && !(x->mask & y->mask)) return true;
    return false;
}

bool card_duty_counts(const Card *card, const DutyLine *line) {
    return !card->applies || !line->when || !shut_out(card->applies, line->when);
}

static void duty_on(Buf *buf, const Card *card, const Item *item) {
    for (uint32_t i = 0; i < card->input->tail->n_duties; i++) {
        const Duty *duty = &card->input->tail->duties[i];
        const Thing *thing = &card->input->tail->things[duty->thing];
        if (item->engine != NO_INDEX && thing->engine != item->engine) continue;
        bool any = false;
        for (uint32_t k = 0; k < duty->n_lines; k++) {
            if (!duty->lines[k].on_ms[0] || !card_duty_counts(card, &duty->lines[k])) continue;
            if (any) buf_text(buf, " or ");
            buf_ms(buf, duty->lines[k].on_ms[0]);
            any = true;
        }
        if (any) buf_text(buf, " at most");
        return;
    }
}

static void crank_rows(Card *card, const Item *item) {
    Buf state = {card->arena, NULL, 0, 0};
    buf_text(&state, "HOLD");
    if (item->cond) buf_text(&state, " until "), buf_test(&state, card->input, item->cond);
    else if (!item->body) buf_text(&state, " until it fires");
    buf_text(&state, ", ");
    if (item->limit.n) buf_duration(&state, card->input, &item->limit, NULL), buf_text(&state, " at most");
    else duty_on(&state, card, item);
    card_row(card, "", number_of(card, item), starter_title(card, item), buf_view(&state));
    card->inset++;
    card_items(card, item->body);
    card->inset--;
    card_row(card, "", 0, starter_title(card, item), STR("LET GO"));
    outcome_rows(card, item);
}

static void plain_row(Card *card, const Item *item) {
    Buf thing = {card->arena, NULL, 0, 0}, state = {card->arena, NULL, 0, 0};
    buf_filled(&thing, card->input, item->stmt->more->text, item->engine);
    if (item->stmt->more->text2.span.hi) buf_filled(&state, card->input, item->stmt->more->text2, item->engine);
    card_row(card, "", number_of(card, item), buf_view(&thing), buf_view(&state));
}

static void remark_line(Card *card, const Item *item) {
    Buf buf = {card->arena, NULL, 0, 0};
    buf_filled(&buf, card->input, item->stmt->more->text, item->engine);
    if (item->kind == STMT_WARNING) card_line(card, ROW_WARNING, STR("WARNING:"), buf_view(&buf));
    else if (item->kind == STMT_CAUTION) card_line(card, ROW_CAUTION, STR("CAUTION:"), buf_view(&buf));
    else card_line(card, ROW_NOTE, STR("Note:"), buf_view(&buf));
}

static void case_rows(Card *card, const Item *item) {
    for (const Item *part = item->body; part; part = part->next) {
        if (!part->body) continue;
        Buf buf = {card->arena, NULL, 0, 0};
        bool otherwise = part != item->body && part->stmt && part->stmt->kind == STMT_CASE && !part->stmt->cond;
        if (otherwise || !part->cond) buf_text(&buf, "otherwise:");
        else buf_text(&buf, "if "), buf_test(&buf, card->input, part->cond), buf_char(&buf, ':');
        card->inset++;
        card_line(card, ROW_IF, STR(""), buf_view(&buf));
        card_items(card, part->body);
        card->inset--;
    }
}

/* ---- a retry and its foot ---- */

static void buf_between(Buf *buf, const Card *card, const Item *items) {
    for (const Item *item = items; item; item = item->next) {
        Str thing = thing_words(card, item);
        if (item->kind == STMT_SET || item->kind == STMT_LOOK) {
            buf_str(buf, thing);
            buf_char(buf, ' ');
            buf_str(buf, position_words(card, item));
            buf_text(buf, ", ");
        } else if (item->kind == STMT_CHECK || item->kind == STMT_EXPECT) {
            buf_test(buf, card->input, item->cond);
            buf_text(buf, ", ");
        }
    }
}

static bool has_crank(const Item *items) {
    for (const Item *item = items; item; item = item->next)
        if (item->kind == STMT_CRANK || has_crank(item->body)) return true;
    return false;
}

static const Duty *duty_for(const Card *card, const Item *item) {
    for (uint32_t i = 0; i < card->input->tail->n_duties; i++) {
        const Duty *duty = &card->input->tail->duties[i];
        if (item->engine == NO_INDEX || card->input->tail->things[duty->thing].engine == item->engine) return duty;
    }
    return NULL;
}

static void buf_rest(Buf *buf, const Card *card, const Duty *duty) {
    bool any = false;
    for (uint32_t k = 0; k < duty->n_lines; k++) {
        for (uint32_t s = 0; s < duty->lines[k].n_series; s++) {
            if (!duty->lines[k].rest_ms[s] || !card_duty_counts(card, &duty->lines[k])) continue;
            if (any) buf_text(buf, " or ");
            buf_ms(buf, duty->lines[k].rest_ms[s]);
            any = true;
        }
    }
    if (any) buf_text(buf, " from letting go, ");
}

static void buf_passes(Buf *buf, const Card *card, const Item *item, const Duty *duty) {
    uint32_t tries = item->passes;
    for (uint32_t k = 0; !tries && duty && k < duty->n_lines; k++)
        if (card_duty_counts(card, &duty->lines[k])) tries = duty->lines[k].tries;
    if (!tries) return;
    buf_text(buf, "After ");
    buf_uint(buf, tries);
    buf_text(buf, tries == 1 ? " try: " : " tries: ");
}

static void retry_foot(Card *card, const Item *item) {
    Buf buf = {card->arena, NULL, 0, 0};
    const Duty *duty = has_crank(item->body) ? duty_for(card, item) : NULL;
    buf_between(&buf, card, item->between);
    if (duty) buf_rest(&buf, card, duty);
    buf_back(&buf, card);
    buf_text(&buf, ". ");
    for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next) {
        if (outcome->cond) continue;
        buf_passes(&buf, card, item, duty);
        buf_action(&buf, card, &outcome->action);
        buf_char(&buf, '.');
    }
    card_line(card, ROW_AGAIN, duty ? STR("Did not fire:") : STR("Not so:"), buf_view(&buf));
}

static void try_rows(Card *card, const Item *item) {
    const Item *outer = card->retry_head;
    card->retry_head = first_numbered(item->body);
    card->retry++;
    card_items(card, item->body);
    retry_foot(card, item);
    card->retry--;
    card->retry_head = outer;
}

static void end_line(Card *card, const Item *item) {
    Buf buf = {card->arena, NULL, 0, 0};
    buf_action(&buf, card, item->go);
    if (item->go->kind == ACTION_END) buf_char(&buf, '.');
    card_line(card, ROW_END, item->go->kind == ACTION_END ? STR("Now:") : STR("Go to:"), buf_view(&buf));
}

static void memory_rows(Card *card, const Item *item) {
    card->in_memory = true;
    card_items(card, item->body);
    card->in_memory = false;
    if (item->next && item->next->kind != STMT_GO) card_line(card, ROW_READ_ON, STR(""), STR("Read on:"));
}

static void phase_rows(Card *card, const Item *item) {
    Buf head = {card->arena, NULL, 0, 0}, foot = {card->arena, NULL, 0, 0};
    buf_filled(&head, card->input, item->stmt->more->text, NO_INDEX);
    card_blank(card);
    Buf capitals = {card->arena, NULL, 0, 0};
    buf_capitals(&capitals, buf_view(&head));
    card_line(card, ROW_PHASE, STR(""), buf_view(&capitals));
    card_items(card, item->body);
    buf_str(&foot, buf_view(&head));
    buf_text(&foot, " complete");
    card_line(card, ROW_PHASE_DONE, STR(""), buf_view(&foot));
}

static void item_rows(Card *card, const Item *item) {
    switch (item->kind) {
    case STMT_SET:
    case STMT_LOOK:
    case STMT_HOLD:
    case STMT_RELEASE:
    case STMT_WATCH: simple_row(card, item); return;
    case STMT_CHECK:
    case STMT_EXPECT: check_rows(card, item); return;
    case STMT_CALL: call_rows(card, item); return;
    case STMT_BRIEF: card_row(card, "", number_of(card, item), thing_words(card, item), STR("READ")); return;
    case STMT_WAIT: wait_rows(card, item); return;
    case STMT_CRANK: crank_rows(card, item); return;
    case STMT_TRY: try_rows(card, item); return;
    case STMT_PLAIN: plain_row(card, item); return;
    case STMT_NOTE:
    case STMT_CAUTION:
    case STMT_WARNING: remark_line(card, item); return;
    case STMT_CASES: case_rows(card, item); return;
    case STMT_GO: end_line(card, item); return;
    case STMT_PHASE: phase_rows(card, item); return;
    case STMT_MEMORY: memory_rows(card, item); return;
    case STMT_BAD:
    case STMT_WHEN:
    case STMT_CASE:
    case STMT_FOR:
    case STMT_DO:
    case STMT_BEGINS:
    case STMT_APPLIES:
    case STMT_DRILLS:
    case STMT_CUE:
    case STMT_ARMED:
    case STMT_KEEPS_CRANKING: return; /* expanded away, or in the page's head */
    }
}

void card_item(Card *card, const Item *item) {
    bool around = card->changed;
    card->changed = card_changed(card->changes, item);
    item_rows(card, item);
    card->changed = around;
}

void card_items(Card *card, const Item *items) {
    for (const Item *item = items; item; item = item->next) card_item(card, item);
}
