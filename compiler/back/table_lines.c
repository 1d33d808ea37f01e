/* What is said, line by line, and the numbers: as members of a state table, and alone as lines.json, of which change lists are made. */
#include "back/table_parts.h"

static void put_ms(Json *json, const char *key, int64_t ms) {
    if (ms >= 0) json_key(json, key), json_int(json, ms);
}

static void put_line(Json *json, const SideLine *line) {
    json_object(json);
    put_ms(json, "atLeastMs", line->least_ms);
    put_ms(json, "atMostMs", line->most_ms);
    json_key(json, "depth"), json_int(json, line->depth);
    if (line->head) json_key(json, "head"), json_bool(json, true);
    json_key(json, "id"), json_str(json, line->id);
    if (line->phase.len) json_key(json, "phase"), json_str(json, line->phase);
    if (line->remark) json_key(json, "remark"), json_bool(json, true);
    json_key(json, "words"), json_str(json, line->words);
    json_end(json);
}

/* "passengers" of "briefing passengers" */
static Str set_id(const SideLine *line) {
    size_t lo = 0;
    for (size_t i = 0; i < line->of.len; i++)
        if (line->of.ptr[i] == ' ') lo = i + 1;
    return str_slice(line->of, lo, line->of.len);
}

static bool one_set(const SideLine *a, const SideLine *b) {
    return str_eq(a->of, b->of) && a->set == b->set;
}

void put_procedures(const Table *table) {
    const Side *side = table->side;
    Json *json = table->json;
    if (!side) return;
    json_key(json, "procedures"), json_array(json);
    for (size_t i = 0, end; i < side->n_lines; i = end) {
        const SideLine *first = &side->lines[i];
        json_object(json);
        json_key(json, "id"), json_str(json, set_id(first));
        json_key(json, "kind"), json_text(json, first->set);
        json_key(json, "lines"), json_array(json);
        for (end = i; end < side->n_lines && one_set(first, &side->lines[end]); end++)
            put_line(json, &side->lines[end]);
        json_end(json);
        json_key(json, "title"), json_str(json, first->title);
        json_end(json);
    }
    json_end(json);
}

static void put_limit(const Table *table, const SideNumber *number) {
    Json *json = table->json;
    Buf amount = {table->arena, NULL, 0, 0};
    if (number->measure)
        buf_quantity(&amount, number->measure, number->amount, (QuantityStyle){.as_written = true, .decimals = 12});
    else buf_rational(&amount, number->amount);
    json_object(json);
    json_key(json, "amount"), json_str(json, buf_view(&amount));
    json_key(json, "key"), json_str(json, number->key);
    json_key(json, "moreRoom"), json_text(json, room_word(number->room));
    if (number->measure) json_key(json, "ucum"), json_text(json, number->measure->ucum);
    json_key(json, "what"), json_str(json, number->what);
    json_key(json, "words"), json_str(json, number->shown);
    json_end(json);
}

void put_numbers(const Table *table) {
    if (!table->side) return;
    json_key(table->json, "limits"), json_array(table->json);
    for (size_t i = 0; i < table->side->n_numbers; i++) put_limit(table, &table->side->numbers[i]);
    json_end(table->json);
}
