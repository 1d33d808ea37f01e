#include "front/parse.h"

/* Where lines begin; made once, with the first report, so that a clean file pays nothing. */
static void lines_make(Parser *p) {
    vec_push(&p->scratch, &p->lines, 0);
    for (uint32_t i = 0; i < p->size; i++) {
        char c = p->text[i];
        if (c == '\r' && i + 1 < p->size && p->text[i + 1] == '\n') continue;
        if (c == '\n' || c == '\r') vec_push(&p->scratch, &p->lines, i + 1);
    }
    p->told = ARENA_ARRAY(&p->scratch, uint8_t, p->lines.n / 8 + 1);
}

uint32_t report_line(Parser *p, uint32_t offset) {
    if (p->lines.n == 0) lines_make(p);
    uint32_t at = offset - p->base;
    size_t lo = 0, hi = p->lines.n;
    while (hi - lo > 1) {
        size_t middle = lo + (hi - lo) / 2;
        if (p->lines.at[middle] <= at) lo = middle;
        else hi = middle;
    }
    return (uint32_t)lo;
}

bool report_open(Parser *p, Span span) {
    p->file->broken = true;
    uint32_t line = report_line(p, span.lo);
    uint8_t bit = (uint8_t)(1u << (line % 8));
    if (p->stopped || (p->told[line / 8] & bit)) return false;
    p->told[line / 8] |= bit;
    p->n_told++;
    return true;
}
