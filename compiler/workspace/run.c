/* sw_run…: a state table that was made, read back and run. */
#include "back/table_run.h"
#include "base/vec.h"
#include "workspace/workspace.h"
#include <stdlib.h>

struct SwRun {
    Arena arena;
    Arena scratch; /* of one call */
    jmp_buf exhausted;
    const RunTable *table; /* NULL: refused */
    Str why_not;
    Run run;
};

static bool read_table(SwRun *run, Str text) {
    if (setjmp(run->exhausted)) return false;
    run->arena.exhausted = run->scratch.exhausted = &run->exhausted;
    Str why_not = STR("");
    /* The tree that is read points into its text. */
    run->table = run_table_read(&run->arena, str_copy(&run->arena, text), &why_not);
    run->why_not = why_not;
    if (run->table) run_begin(&run->run, &run->arena, run->table);
    return true;
}

SwRun *sw_run_open(SwText table) {
    SwRun *run = calloc(1, sizeof *run);
    if (!run) return NULL;
    if (read_table(run, text_in(table))) return run;
    sw_run_close(run);
    return NULL;
}

SwText sw_run_why_not(const SwRun *run) {
    return text_out(run->why_not);
}

bool sw_run_line(SwRun *run, SwText line, SwSink trace) {
    if (!run->table || setjmp(run->exhausted)) return false;
    arena_reset(&run->scratch);
    Buf lines = {&run->scratch, NULL, 0, 0};
    run_line(&run->run, text_in(line), &lines);
    return sink_str((Sink){trace.context, trace.write}, buf_view(&lines));
}

SwRunState sw_run_state(const SwRun *run) {
    if (!run->table) return (SwRunState){.due_ms = -1, .halted = true};
    const RunPlace *place = &run->table->places[run->run.place];
    int64_t due = run_next_due(&run->run);
    return (SwRunState){text_out(place->id), text_out(place->words),        text_out(place->outcome),
                        run->run.now,        due < RUN_TIME_END ? due : -1, run->run.halted};
}

bool sw_run_offers(SwRun *run, const SwOffer **offers, size_t *n) {
    *offers = NULL, *n = 0;
    if (!run->table || setjmp(run->exhausted)) return false;
    arena_reset(&run->scratch);
    const EdgeList *leaving = &run->table->places[run->run.place].edges;
    VEC(SwOffer) list = {0};
    for (uint32_t i = 0; i < leaving->n; i++) {
        const RunEdge *edge = &run->table->edges[leaving->edges[i]];
        int64_t wait_ms = 0;
        RunStanding standing = run_standing(&run->run, edge, run->run.now, &wait_ms);
        if (edge->by_time || standing == RUN_SHUT || standing == RUN_LATE) continue;
        SwOffer offer = {text_out(edge->label), text_out(edge->by),
                         standing == RUN_OPEN ? SW_OFFER_NOW : SW_OFFER_LATER, run->run.now + wait_ms};
        vec_push(&run->scratch, &list, offer);
    }
    *offers = list.at, *n = list.n;
    return true;
}

bool sw_run_again(SwRun *run) {
    if (!run->table) return false;
    run_restart(&run->run);
    return true;
}

void sw_run_close(SwRun *run) {
    if (!run) return;
    arena_free(&run->scratch);
    arena_free(&run->arena);
    free(run);
}
