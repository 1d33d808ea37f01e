/* The change list of a document's tail, as a record: what whoever approves the revision reads. */
#include "back/change_list.h"
#include "back/record.h"

static void group_part(Record *record, const ChangeList *list, ChangeGroup group) {
    static const RecordColumn columns[] = {{"What", 16}, {"Where", 30}, {"Was", 34}, {"Now", 35}};
    bool *told = ARENA_ARRAY(record->arena, bool, list->rows.n + 1);
    record_head(record, str_of(change_group_title(group)));
    record_table(record, STR(""), columns, sizeof columns / sizeof *columns);
    for (size_t i = 0; i < list->rows.n; i++) {
        const ChangeRow *row = &list->rows.at[i];
        if (told[i] || row->group != group) continue;
        Str cells[] = {str_of(row->what), change_where(record->arena, list, i, told, true),
                       row->from.len ? row->from : STR("-"), row->to.len ? row->to : STR("-")};
        record_row(record, cells);
    }
    if (!record_has_rows(record)) record_words(record, STR("Nothing changed."));
}

static Record changes_record(const BackInput *input) {
    const Edition *edition = input->edition;
    Arena *arena = input->job->arena;
    Record record = record_open(input, format_text(arena, NULL, "Changes of %S", input->tail->title));
    if (edition->changes.len) record_words(&record, edition->changes);
    Str why_not;
    const Side *from = edition->earlier.len ? side_read(arena, edition->earlier, &why_not) : NULL;
    if (!from) {
        record_words(&record, edition->follows
                                  ? format_text(arena, NULL, "New: nothing was issued of %S in revision %u.",
                                                input->tail->title, (uint64_t)edition->since)
                                  : STR("The document names no revision that it follows (`changes \"…\" since "
                                        "revision 6 in \"issued\"`): there is nothing to compare."));
        return record;
    }
    Side to = side_of(input);
    ChangeList list = change_list(arena, from, &to);
    record_words(&record, format_text(arena, NULL, "From %S to %S.", side_revision(arena, &from->paper),
                                      side_revision(arena, &to.paper)));
    record_words(&record, format_text(arena, NULL, "In all: %S.", change_sum(arena, list.counts)));
    for (int group = 0; group < CHANGE_GROUPS; group++) group_part(&record, &list, (ChangeGroup)group);
    record_words(&record, STR("Read and compared by: ______________________________   Date: ____________   Signature: "
                              "______________________________"));
    return record;
}

bool changes_text(const BackInput *input, Sink sink) {
    Record record = changes_record(input);
    return record_text(&record, sink);
}

bool changes_html(const BackInput *input, Sink sink) {
    Record record = changes_record(input);
    return record_html(&record, sink);
}
