/* Marking the words of a declaration: where its items begin, what its braces hold, which brackets and commas change nothing. */
#include "front/print.h"

#define NONE UINT32_MAX

typedef struct {
    Printer *p;
    uint32_t before; /* the last piece that is neither comment nor left out; UINT32_MAX: none */
} Marker;

bool print_is(const Printer *p, uint32_t i, const char *word) {
    if (i >= p->pieces.n || p->pieces.at[i].kind == PIECE_TEXT || p->pieces.at[i].kind == PIECE_COMMENT) {
        return false;
    }
    const Piece *piece = &p->pieces.at[i];
    return str_eq(str_slice(p->text, piece->lo, piece->hi), str_of(word));
}

static bool is_one_of(const Printer *p, uint32_t i, const char *const *words) {
    for (; *words; words++) {
        if (print_is(p, i, *words)) {
            return true;
        }
    }
    return false;
}

static void mark(Piece *piece, Mark what) {
    piece->marks = (uint8_t)(piece->marks | (unsigned)what);
}

/* The word that says what the item is: the one after its label. */
static uint32_t item_verb(const Printer *p, uint32_t item, uint32_t end) {
    uint32_t colon = print_next(p, item + 1, end, false);
    if (colon < end && p->pieces.at[colon].kind == PIECE_COLON) {
        return print_next(p, colon + 1, end, false);
    }
    return item;
}

static BlockKind file_block(const Printer *p, uint32_t item) {
    static const char *const positions[] = {"control", "scene", "call", "light", NULL};
    static const char *const rows[] = {"lines", "fleet", NULL};
    static const char *const craft[] = {"aircraft", "tail", NULL};
    static const struct {
        const char *word;
        BlockKind kind;
    } others[] = {
        {"briefing", IN_TEXTS},    {"wording", IN_WORDING}, {"document", IN_DOCUMENT},
        {"standard", IN_STANDARD}, {"adapt", IN_ADAPT},     {"gate", IN_GATE},
    };
    if (is_one_of(p, item, positions)) {
        return IN_POSITIONS;
    }
    if (is_one_of(p, item, rows)) {
        return IN_ROWS;
    }
    if (is_one_of(p, item, craft)) {
        return IN_CRAFT;
    }
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        if (print_is(p, item, others[i].word)) {
            return others[i].kind;
        }
    }
    return IN_BODY;
}

static BlockKind block_kind(const Printer *p, const BlockFrame *frame) {
    switch ((BlockKind)frame->kind) {
    case IN_FILE: return frame->item == NONE ? IN_BODY : file_block(p, frame->item);
    case IN_WORDING: return IN_POSITIONS;
    case IN_STANDARD: return IN_GATE;
    case IN_BODY: {
        uint32_t end = (uint32_t)p->pieces.n;
        return frame->item != NONE && print_is(p, item_verb(p, frame->item, end), "cases") ? IN_CASES : IN_BODY;
    }
    case IN_CASES:
    case IN_CRAFT:
    case IN_DOCUMENT:
    case IN_ADAPT:
    case IN_GATE:
    case IN_POSITIONS:
    case IN_ROWS:
    case IN_TEXTS: return IN_BODY;
    }
    return IN_BODY;
}

static bool has_separators(uint8_t kind) {
    return kind == IN_POSITIONS || kind == IN_ROWS || kind == IN_TEXTS || kind == IN_WORDING;
}

static BlockFrame *top_frame(Marker *m) {
    return &m->p->frames.at[m->p->frames.n - 1];
}

static uint8_t kind_at(const Marker *m, uint32_t i) {
    return i == NONE ? (uint8_t)PIECE_OPEN : m->p->pieces.at[i].kind;
}

static bool begins_item(const Marker *m, const BlockFrame *frame, const Piece *piece) {
    if (piece->kind == PIECE_CLOSE) {
        return false;
    }
    if (frame->item == NONE) {
        return true;
    }
    if (frame->kind == IN_TEXTS) {
        return piece->kind == PIECE_TEXT;
    }
    if (frame->kind == IN_CASES && piece->kind == PIECE_OTHERWISE) {
        return true;
    }
    /* A separator has no item before it any more: its frame's item is NONE then. */
    return piece->ends_line && m->p->brackets.n == 0;
}

/* The last printed piece before `i`. */
static uint32_t back(const Marker *m, uint32_t i) {
    while (i-- > 0) {
        if (!(m->p->pieces.at[i].marks & MARK_SKIP) && m->p->pieces.at[i].kind != PIECE_COMMENT) {
            return i;
        }
    }
    return NONE;
}

/* The grammar leaves the comma before `otherwise`, `answered`, `between tries` open: it is there but after a brace. */
static void mark_open_comma(Marker *m, uint32_t i) {
    Printer *p = m->p;
    mark(&p->pieces.at[i], MARK_MAJOR);
    uint32_t before = back(m, i);
    if (before != NONE && p->pieces.at[before].kind == PIECE_COMMA) {
        mark(&p->pieces.at[before], MARK_SKIP);
        before = back(m, before);
    }
    if (before != NONE && p->pieces.at[before].kind != PIECE_CLOSE && p->pieces.at[before].kind != PIECE_OPEN) {
        mark(&p->pieces.at[before], MARK_COMMA);
    }
}

static void mark_joint(Marker *m, uint32_t i) {
    Printer *p = m->p;
    Piece *piece = &p->pieces.at[i];
    const BlockFrame *frame = top_frame(m);
    bool begins = (piece->marks & MARK_ITEM) != 0;
    if (piece->kind == PIECE_IF && kind_at(m, m->before) == PIECE_COMMA) {
        mark(piece, MARK_MAJOR);
    } else if (piece->kind == PIECE_OTHERWISE && !begins) {
        mark_open_comma(m, i);
    } else if (piece->kind == PIECE_BETWEEN && !begins) {
        mark_open_comma(m, i);
    } else if (piece->kind == PIECE_ANSWERED && frame->kind == IN_BODY && frame->item != NONE &&
               print_is(p, item_verb(p, frame->item, i), "call")) {
        mark_open_comma(m, i);
    }
}

static void open_block(Marker *m, uint32_t i) {
    Piece *piece = &m->p->pieces.at[i];
    piece->block = (uint8_t)block_kind(m->p, top_frame(m));
    BlockFrame frame = {.open = i, .item = NONE, .kind = piece->block};
    vec_push(m->p->arena, &m->p->frames, frame);
}

static void close_block(Marker *m, uint32_t i) {
    if (m->p->frames.n < 2) {
        m->p->unreadable = true;
        return;
    }
    BlockFrame frame = m->p->frames.at[--m->p->frames.n];
    Piece *open = &m->p->pieces.at[frame.open];
    Piece *close = &m->p->pieces.at[i];
    open->match = i;
    close->match = frame.open;
    if (frame.notes) {
        mark(open, MARK_NOTES);
    }
    if (!frame.lines && close->breaks == 0) {
        mark(open, MARK_ROW);
    }
    if (frame.items > 1) {
        mark(open, MARK_MANY);
    }
    BlockFrame *outer = top_frame(m);
    close->block = outer->kind;
    outer->notes |= frame.notes;
    outer->lines |= frame.lines || close->breaks > 0;
}

static void open_bracket(Marker *m, uint32_t i) {
    Bracket bracket = {.open = i, .before = kind_at(m, m->before)};
    vec_push(m->p->arena, &m->p->brackets, bracket);
}

static bool bracket_needed(const Bracket *b, uint8_t after) {
    bool joins = b->before == PIECE_AND || b->before == PIECE_OR || b->before == PIECE_NOT || after == PIECE_AND ||
                 after == PIECE_OR || after == PIECE_FOR;
    return b->notes || (b->joined && joins) || (after == PIECE_FOR && (b->negated || b->lasting));
}

static void close_bracket(Marker *m, uint32_t i) {
    Printer *p = m->p;
    if (m->p->brackets.n == 0) {
        return;
    }
    Bracket b = m->p->brackets.at[--m->p->brackets.n];
    uint32_t end = (uint32_t)p->pieces.n;
    uint32_t next = print_next(p, i + 1, end, false);
    Bracket *outer = m->p->brackets.n > 0 ? &m->p->brackets.at[m->p->brackets.n - 1] : NULL;
    if (outer) {
        outer->notes |= b.notes;
    }
    if (bracket_needed(&b, next < end ? p->pieces.at[next].kind : (uint8_t)PIECE_CLOSE)) {
        if (!b.notes) {
            p->pieces.at[b.open].match = i;
            p->pieces.at[i].match = b.open;
        }
        return;
    }
    mark(&p->pieces.at[b.open], MARK_SKIP);
    mark(&p->pieces.at[i], MARK_SKIP);
    if (outer) {
        outer->joined |= b.joined;
        outer->negated |= b.negated;
        outer->lasting |= b.lasting;
    }
}

static void mark_bracketed(Marker *m, const Piece *piece) {
    if (m->p->brackets.n == 0) {
        return;
    }
    Bracket *b = &m->p->brackets.at[m->p->brackets.n - 1];
    b->joined |= piece->kind == PIECE_AND || piece->kind == PIECE_OR;
    b->negated |= piece->kind == PIECE_NOT && kind_at(m, m->before) != PIECE_IS;
    b->lasting |= piece->kind == PIECE_FOR;
}

static void mark_comment(Marker *m) {
    top_frame(m)->notes = true;
    top_frame(m)->lines = true;
    if (m->p->brackets.n > 0) {
        m->p->brackets.at[m->p->brackets.n - 1].notes = true;
    }
}

static void mark_begin(Marker *m, uint32_t i) {
    BlockFrame *frame = top_frame(m);
    Piece *piece = &m->p->pieces.at[i];
    frame->lines |= piece->breaks > 0 && piece->kind != PIECE_CLOSE;
    if (begins_item(m, frame, piece)) {
        mark(piece, MARK_ITEM);
        frame->item = i;
        frame->items++;
        m->p->brackets.n = 0;
    }
}

static void mark_piece(Marker *m, uint32_t i) {
    Piece *piece = &m->p->pieces.at[i];
    if (piece->kind == PIECE_COMMENT) {
        mark_comment(m);
        return;
    }
    if (piece->kind == PIECE_COMMA && has_separators(top_frame(m)->kind)) {
        mark(piece, MARK_SKIP);
        top_frame(m)->item = NONE;
        top_frame(m)->lines |= piece->breaks > 0;
        return;
    }
    mark_begin(m, i);
    mark_joint(m, i);
    mark_bracketed(m, piece);
    if (piece->kind == PIECE_OPEN) {
        open_block(m, i);
    } else if (piece->kind == PIECE_CLOSE) {
        close_block(m, i);
    } else if (piece->kind == PIECE_LEFT) {
        open_bracket(m, i);
    } else if (piece->kind == PIECE_RIGHT) {
        close_bracket(m, i);
    }
    m->before = i;
}

void print_mark(Printer *p) {
    Marker m = {.p = p, .before = NONE};
    BlockFrame file = {.open = NONE, .item = NONE, .kind = IN_FILE};
    p->frames.n = p->brackets.n = 0;
    vec_push(p->arena, &p->frames, file);
    for (uint32_t i = 0; i < p->pieces.n; i++) {
        mark_piece(&m, i);
    }
    p->unreadable |= p->frames.n > 1;
}
