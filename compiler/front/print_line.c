/* Writing pieces on lines: blanks between them, the breaks of a long item, the columns of its last clauses. */
#include "front/print.h"

void print_blanks(Printer *p, size_t n) {
    buf_repeat(&p->out, ' ', n);
    p->column += n;
}

void print_line_begin(Printer *p, size_t indent, bool blank_before) {
    if (p->out.len > 0) {
        buf_char(&p->out, '\n');
        if (blank_before) {
            buf_char(&p->out, '\n');
        }
    }
    p->column = 0;
    p->line_ended = false;
    p->line_empty = true;
    print_blanks(p, indent);
}

void print_comment(Printer *p, const Piece *piece, size_t indent, bool blank_before) {
    if ((piece->marks & MARK_OWN) || p->out.len == 0 || p->line_ended) {
        print_line_begin(p, indent, blank_before);
    } else {
        print_blanks(p, 2);
    }
    buf_str(&p->out, str_slice(p->text, piece->lo, piece->hi));
    p->line_ended = true;
    p->line_empty = false;
}

/* Columns between two pieces of a line. */
static size_t gap(const Piece *before, const Piece *next) {
    if (next->kind == PIECE_COMMA || next->kind == PIECE_COLON || next->kind == PIECE_RIGHT ||
        next->kind == PIECE_DOTS || before->kind == PIECE_LEFT || before->kind == PIECE_DOTS) {
        return 0;
    }
    return 1;
}

/* Whether a comma stands between `before` and the entry that begins with `next`, inside braces on one line. */
static bool entry_comma(const Piece *before, const Piece *next, uint8_t block) {
    return (next->marks & MARK_ITEM) && before->kind != PIECE_OPEN &&
           (block == IN_POSITIONS || block == IN_ROWS || block == IN_WORDING);
}

static size_t piece_width(const Piece *piece) {
    return piece->width + piece->fill + ((piece->marks & MARK_COMMA) ? 1 : 0);
}

static void write_piece(Printer *p, const Piece *piece) {
    buf_str(&p->out, str_slice(p->text, piece->lo, piece->hi));
    if (piece->marks & MARK_COMMA) {
        buf_char(&p->out, ',');
    }
    buf_repeat(&p->out, ' ', piece->fill);
    p->column += piece_width(piece);
    p->line_empty = false;
}

/* The kind of block that the piece after `piece` stands in. */
static uint8_t block_after(const Piece *piece, uint8_t block) {
    return piece->kind == PIECE_OPEN || piece->kind == PIECE_CLOSE ? piece->block : block;
}

size_t print_width(const Printer *p, uint32_t first, uint32_t end, size_t enough) {
    size_t width = 0;
    const Piece *before = NULL;
    uint8_t block = IN_BODY;
    for (uint32_t i = print_next(p, first, end, false); i < end && width <= enough;
         i = print_next(p, i + 1, end, false)) {
        const Piece *piece = &p->pieces.at[i];
        width += piece_width(piece) + (before ? gap(before, piece) : 0);
        width += before && entry_comma(before, piece, block) ? 1 : 0;
        block = block_after(piece, block);
        before = piece;
    }
    return width;
}

void print_flat(Printer *p, uint32_t first, uint32_t end) {
    const Piece *before = NULL;
    uint8_t block = IN_BODY;
    for (uint32_t i = print_next(p, first, end, false); i < end; i = print_next(p, i + 1, end, false)) {
        const Piece *piece = &p->pieces.at[i];
        if (before && entry_comma(before, piece, block)) {
            buf_char(&p->out, ',');
            p->column++;
        }
        print_blanks(p, before ? gap(before, piece) : 0);
        write_piece(p, piece);
        block = block_after(piece, block);
        before = piece;
    }
}

/* ---- clauses ---- */

/* The end of the clause that begins at `i`; `i` itself where none begins. `before`: the piece before it. */
static uint32_t clause_end(const Printer *p, uint32_t i, uint32_t end, uint32_t before, BlockKind in) {
    uint8_t kind = p->pieces.at[i].kind;
    uint32_t next = print_next(p, i + 1, end, false);
    if (next == end) {
        return i;
    }
    bool text = p->pieces.at[next].kind == PIECE_TEXT;
    if (kind == PIECE_BECAUSE) {
        return text && !print_is(p, before, "duty") ? next + 1 : i;
    }
    if (kind == PIECE_AS) {
        return text && in != IN_ADAPT ? next + 1 : i;
    }
    if (kind == PIECE_BY) {
        return in != IN_DOCUMENT ? next + 1 : i;
    }
    if (kind != PIECE_FROM) {
        return i;
    }
    uint32_t section = print_next(p, next + 1, end, false);
    if (section == end) {
        return i;
    }
    uint32_t line = print_next(p, section + 1, end, false);
    if (line < end && print_is(p, line, "line")) {
        uint32_t number = print_next(p, line + 1, end, false);
        return number < end ? number + 1 : end;
    }
    return section + 1;
}

uint32_t print_find_why(const Printer *p, uint32_t item, uint32_t first, uint32_t end, BlockKind in) {
    uint32_t why = end, before = first;
    for (uint32_t i = print_next(p, first, end, false); i < end;) {
        const Piece *piece = &p->pieces.at[i];
        uint32_t clause = clause_end(p, i, end, before, in);
        uint32_t past = clause > i ? clause : piece->kind == PIECE_OPEN && piece->match > i ? piece->match + 1 : i + 1;
        if (clause == i || i == item || (piece->kind == PIECE_BY && why == end)) {
            why = end; /* the item's first word, and who does it, stay with the item */
        } else if (why == end) {
            why = i;
        }
        before = i;
        i = print_next(p, past, end, false);
    }
    return why;
}

/* ---- breaking ---- */

typedef enum { STAY, MAY_BREAK, MUST_BREAK } Break;

/* Whether a line may begin with piece `i`, which stands after `before`: only where the grammar lets an item go on. */
static Break break_before(const Printer *p, const Stretch *s, uint32_t before, uint32_t i) {
    const Piece *piece = &p->pieces.at[i];
    const Piece *left = &p->pieces.at[before];
    if (piece->marks & MARK_MAJOR) {
        return MUST_BREAK;
    }
    switch ((PieceKind)piece->kind) {
    case PIECE_AND:
    case PIECE_OR:
    case PIECE_UNTIL:
    case PIECE_WITHIN:
    case PIECE_FROM:
    case PIECE_AS:
    case PIECE_BY:
    case PIECE_OVER: return MAY_BREAK;
    case PIECE_BECAUSE: return print_is(p, before, "duty") ? STAY : MAY_BREAK;
    case PIECE_TEXT: return left->kind == PIECE_TEXT ? MAY_BREAK : STAY;
    case PIECE_COMMA:
    case PIECE_COLON:
    case PIECE_RIGHT:
    case PIECE_OPEN: return STAY;
    case PIECE_WORD:
    case PIECE_COMMENT:
    case PIECE_CLOSE:
    case PIECE_LEFT:
    case PIECE_DOTS:
    case PIECE_NOT:
    case PIECE_IS:
    case PIECE_IF:
    case PIECE_FOR:
    case PIECE_OTHERWISE:
    case PIECE_THEN:
    case PIECE_ANSWERED:
    case PIECE_BETWEEN: break;
    }
    return left->kind == PIECE_COMMA || (left->kind == PIECE_COLON && before != s->label) ? MAY_BREAK : STAY;
}

/* The last of the pieces that hold together with piece `i`: a block on one line, a bracket that a line has room for. */
static uint32_t held_by(const Printer *p, const Stretch *s, uint32_t i, uint32_t end) {
    const Piece *piece = &p->pieces.at[i];
    bool opens = piece->kind == PIECE_OPEN || piece->kind == PIECE_LEFT;
    if (!opens || piece->match <= i || piece->match >= end) return i;
    size_t room = PRINT_WIDTH - s->indent - PRINT_CONTINUE;
    bool fits = piece->kind == PIECE_OPEN || s->indent + PRINT_CONTINUE > PRINT_WIDTH / 2 ||
                print_width(p, i, piece->match + 1, room) <= room;
    return fits ? piece->match : i;
}

/* The end of the run of pieces from `i` on that no line may break. */
static uint32_t run_end(const Printer *p, const Stretch *s, uint32_t i, uint32_t end) {
    for (;;) {
        uint32_t last = held_by(p, s, i, end);
        uint32_t next = print_next(p, last + 1, end, true);
        if (next == end || p->pieces.at[next].kind == PIECE_COMMENT || break_before(p, s, last, next) != STAY)
            return last + 1;
        i = next;
    }
}

bool print_has_comment(const Printer *p, uint32_t first, uint32_t end) {
    for (uint32_t i = first; i < end; i++) {
        if (p->pieces.at[i].kind == PIECE_COMMENT) {
            return true;
        }
    }
    return false;
}

/* Room left between what is written and the next piece, or a new line where a comment has ended this one. */
static size_t join(Printer *p, const Stretch *s, const Piece *before, const Piece *next) {
    if (p->line_ended) {
        print_line_begin(p, s->indent + PRINT_CONTINUE, false);
        return 0;
    }
    return before ? gap(before, next) : 0;
}

static void print_broken(Printer *p, const Stretch *s, uint32_t end) {
    const Piece *before = s->after_block ? &p->pieces.at[s->first - 1] : NULL;
    for (uint32_t i = print_next(p, s->first, end, true); i < end;) {
        const Piece *piece = &p->pieces.at[i];
        if (piece->kind == PIECE_COMMENT) {
            print_comment(p, piece, s->indent + PRINT_CONTINUE, false);
            i = print_next(p, i + 1, end, true);
            continue;
        }
        uint32_t past = run_end(p, s, i, end);
        size_t room = join(p, s, before, piece);
        bool first = i == print_next(p, s->first, end, true);
        bool must = !first && before && break_before(p, s, (uint32_t)(before - p->pieces.at), i) == MUST_BREAK;
        size_t width = print_width(p, i, past, PRINT_WIDTH);
        if (!first && !p->line_empty && (must || p->column + room + width > PRINT_WIDTH)) {
            print_line_begin(p, s->indent + PRINT_CONTINUE, false);
            room = 0;
        }
        print_blanks(p, room);
        print_flat(p, i, past);
        before = &p->pieces.at[past - 1];
        i = print_next(p, past, end, true);
    }
}

/* Where the clauses begin: at the column of their kind if they fit behind it, else two blanks on, else on a new line. */
static size_t why_column(const Printer *p, const Stretch *s, size_t width, uint8_t kind) {
    if (s->after_block) {
        return p->column + 1 + width <= PRINT_WHY_WIDTH ? p->column + 1 : 0;
    }
    size_t columns[] = {PRINT_WHY_COLUMN, PRINT_FROM_COLUMN, p->column + 2};
    for (size_t i = kind == PIECE_FROM || s->late ? 1 : 0; i < sizeof columns / sizeof *columns; i++) {
        if (p->column + 2 <= columns[i] && columns[i] + width <= PRINT_WHY_WIDTH) {
            return columns[i];
        }
    }
    return 0;
}

static uint32_t one_clause(const Printer *p, uint32_t i, uint32_t end, BlockKind in) {
    uint32_t past = clause_end(p, i, end, i, in);
    return past > i ? past : end;
}

/* Clauses of a gate's line: behind it if all fit, else below it, one a line. */
static void print_listed(Printer *p, const Stretch *s) {
    size_t width = 0;
    uint32_t past;
    for (uint32_t i = print_next(p, s->why, s->end, false); i < s->end; i = print_next(p, past, s->end, false)) {
        past = one_clause(p, i, s->end, IN_BODY);
        width += 2 + print_width(p, i, past, PRINT_WIDTH);
    }
    bool behind = !p->line_ended && p->column + width <= PRINT_WIDTH;
    for (uint32_t i = print_next(p, s->why, s->end, false); i < s->end; i = print_next(p, past, s->end, false)) {
        past = one_clause(p, i, s->end, IN_BODY);
        Piece *word = &p->pieces.at[i];
        if (behind) {
            print_blanks(p, 2);
        } else {
            print_line_begin(p, s->indent, false);
            word->fill = (uint8_t)(strlen("because ") - word->width);
        }
        print_flat(p, i, past);
    }
}

static void print_clauses(Printer *p, const Stretch *s) {
    size_t all = print_width(p, s->why, s->end, PRINT_WHY_WIDTH);
    for (uint32_t i = print_next(p, s->why, s->end, false); i < s->end;) {
        uint32_t past = one_clause(p, i, s->end, IN_BODY);
        size_t width = print_width(p, i, past, PRINT_WHY_WIDTH), column = 0;
        if (i > s->why) {
            column = p->column + 1 + width <= PRINT_WHY_WIDTH ? p->column + 1 : 0;
        } else if (!p->line_ended) {
            column = why_column(p, s, all, p->pieces.at[i].kind);
            column = column ? column : why_column(p, s, width, p->pieces.at[i].kind);
        }
        if (column == 0) {
            print_line_begin(p, s->indent + PRINT_CONTINUE, false);
            column = p->column;
        }
        print_blanks(p, column - p->column);
        print_flat(p, i, past);
        i = print_next(p, past, s->end, false);
    }
}

void print_stretch(Printer *p, const Stretch *s) {
    /* Clauses with comments among them take no columns of their own. */
    uint32_t body = print_has_comment(p, s->why, s->end) ? s->end : s->why;
    uint32_t first = print_next(p, s->first, body, true);
    if (first < body) {
        size_t room = s->after_block ? gap(&p->pieces.at[s->first - 1], &p->pieces.at[first]) : 0;
        size_t width = print_width(p, s->first, body, PRINT_WIDTH);
        if (!p->line_ended && p->column + room + width <= PRINT_WIDTH && !print_has_comment(p, s->first, body)) {
            print_blanks(p, room);
            print_flat(p, s->first, body);
        } else {
            print_broken(p, s, body);
        }
    }
    if (body != s->why) return;
    if (s->listed) print_listed(p, s);
    else print_clauses(p, s);
}
