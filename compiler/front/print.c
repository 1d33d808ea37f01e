/* The layout of a file: items on lines, blocks in braces, lists in rows. Time and memory are linear in the text:
   one declaration is held at a time, and no piece is measured more often than its braces nest within one line. */
#include "front/print.h"

static void print_items(Printer *p, uint32_t first, uint32_t end, BlockKind kind, size_t indent);

/* ---- the column of the objects ---- */

/* Columns that an item's first word is filled up to, so that objects stand below each other. */
static size_t verb_columns(const Printer *p, uint32_t verb, BlockKind in) {
    static const char *const body[] = {"set",     "check", "expect",  "look",  "call",  "brief", "wait",
                                       "crank",   "hold",  "release", "watch", "plain", "note",  "caution",
                                       "warning", "do",    "drills",  "cue",   "armed", NULL};
    static const char *const file[] = {"control", "scene", "gauge", "light", "person", "call", "kind", NULL};
    const char *const *words = in == IN_FILE ? file : body;
    switch (in) {
    case IN_CRAFT: return 11;
    case IN_DOCUMENT: return 10;
    case IN_STANDARD: return print_is(p, verb, "gate") ? 0 : 9;
    case IN_ADAPT: return 8;
    case IN_FILE:
    case IN_BODY:
        for (; *words; words++) {
            if (print_is(p, verb, *words)) {
                return 8;
            }
        }
        return 0;
    case IN_CASES:
    case IN_GATE:
    case IN_POSITIONS:
    case IN_ROWS:
    case IN_TEXTS:
    case IN_WORDING: return 0;
    }
    return 0;
}

static void fill_verb(Printer *p, uint32_t first, uint32_t end, BlockKind in) {
    uint32_t verb = first;
    uint32_t next = print_next(p, verb + 1, end, true);
    uint8_t kind = next < end ? p->pieces.at[next].kind : (uint8_t)PIECE_COMMENT;
    if (kind == PIECE_COLON || kind == PIECE_OPEN || kind == PIECE_COMMENT) {
        return;
    }
    size_t columns = verb_columns(p, verb, in);
    size_t width = p->pieces.at[verb].width;
    if (in == IN_CRAFT && print_is(p, verb, "not")) {
        verb = next;
        width += 1 + p->pieces.at[verb].width;
    }
    next = print_next(p, verb + 1, end, true);
    if (width + 1 < columns && next < end && p->pieces.at[next].kind != PIECE_COMMENT) {
        p->pieces.at[verb].fill = (uint8_t)(columns - 1 - width);
    }
}

/* ---- items ---- */

/* The end of the item that begins at `i`: behind its last piece, before the comments that follow it. */
static uint32_t item_end(const Printer *p, uint32_t i, uint32_t end) {
    uint32_t past = i;
    for (uint32_t at = i; at < end; at = print_next(p, at + 1, end, false)) {
        const Piece *piece = &p->pieces.at[at];
        if (at > i && (piece->marks & MARK_ITEM)) {
            break;
        }
        at = piece->kind == PIECE_OPEN && piece->match > at && piece->match < end ? piece->match : at;
        past = at + 1;
    }
    return past;
}

static bool is_list(uint8_t block) {
    return block == IN_POSITIONS || block == IN_ROWS;
}

/* Whether the block at `open` stands on one line, which has `column` columns before it. `end`: of its item. */
static bool block_fits(const Printer *p, uint32_t open, uint32_t end, size_t column) {
    const Piece *piece = &p->pieces.at[open];
    if (piece->match <= open || (piece->marks & MARK_NOTES)) {
        return false;
    }
    if (print_next(p, open + 1, piece->match, true) == piece->match) {
        return true; /* nothing in it */
    }
    bool list = is_list(piece->block);
    bool written_so = (piece->marks & MARK_ROW) && (piece->block == IN_WORDING || !(piece->marks & MARK_MANY));
    if (!list && !written_so) {
        return false;
    }
    uint32_t past = list ? end : piece->match + 1; /* nothing that follows a list can be moved to the next line */
    return column + 1 + print_width(p, open, past, PRINT_WIDTH) <= PRINT_WIDTH;
}

/* Whether the block at `open` fits behind its outcome, which begins a line if the item is broken at its outcomes. */
static bool outcome_fits(const Printer *p, uint32_t outcome, uint32_t open, uint32_t end, size_t indent) {
    size_t column = indent + PRINT_CONTINUE;
    return outcome < open && block_fits(p, open, end, column + print_width(p, outcome, open, PRINT_WIDTH));
}

/* The end of the stretch from `first` on: behind the next brace whose block takes lines of its own, or the item's end. */
static uint32_t stretch_end(const Printer *p, uint32_t first, uint32_t end, size_t indent) {
    uint32_t from = first, outcome = UINT32_MAX;
    size_t column = p->column;
    for (uint32_t i = print_next(p, first, end, true); i < end; i = print_next(p, i + 1, end, true)) {
        const Piece *piece = &p->pieces.at[i];
        if (piece->marks & MARK_MAJOR) {
            outcome = i;
        }
        if (piece->kind != PIECE_OPEN) {
            continue;
        }
        column += print_width(p, from, i, PRINT_WIDTH);
        if (!block_fits(p, i, end, column) && !outcome_fits(p, outcome, i, end, indent)) {
            return i + 1;
        }
        column += 1;
        from = i;
        i = piece->match;
    }
    return end;
}

static uint32_t label_colon(const Printer *p, uint32_t first, uint32_t end) {
    uint32_t next = print_next(p, first + 1, end, false);
    return next < end && p->pieces.at[next].kind == PIECE_COLON ? next : UINT32_MAX;
}

static void print_item(Printer *p, uint32_t first, uint32_t end, BlockKind in, size_t indent) {
    fill_verb(p, first, end, in);
    Stretch s = {.first = first,
                 .label = label_colon(p, first, end),
                 .indent = indent,
                 .late = in == IN_CRAFT || in == IN_ADAPT,
                 .listed = in == IN_GATE};
    while (s.first < end) {
        s.end = stretch_end(p, s.first, end, indent);
        bool block = s.end > s.first && p->pieces.at[s.end - 1].kind == PIECE_OPEN;
        s.why = block ? s.end : print_find_why(p, first, s.first, s.end, in);
        print_stretch(p, &s);
        if (!block) {
            return;
        }
        const Piece *open = &p->pieces.at[s.end - 1];
        uint32_t close = open->match;
        print_items(p, s.end, close, (BlockKind)open->block, indent + PRINT_INDENT);
        print_line_begin(p, indent, false);
        print_flat(p, close, close + 1);
        s.first = close + 1;
        s.after_block = true;
    }
}

/* ---- blocks ---- */

/* Entries of a long list in rows; a row ends where it is full or a comment ends it. */
static void print_rows(Printer *p, uint32_t first, uint32_t end, size_t indent) {
    bool begun = false;
    for (uint32_t i = print_next(p, first, end, true); i < end;) {
        const Piece *piece = &p->pieces.at[i];
        if (piece->kind == PIECE_COMMENT) {
            print_comment(p, piece, indent, begun && piece->breaks > 1);
            i = print_next(p, i + 1, end, true);
            continue;
        }
        uint32_t past = item_end(p, i, end);
        size_t width = print_width(p, i, past, PRINT_WIDTH);
        if (begun && !p->line_ended && p->column + 2 + width <= PRINT_WIDTH && !print_has_comment(p, i, past)) {
            buf_text(&p->out, ", ");
            p->column += 2;
        } else {
            print_line_begin(p, indent, begun && piece->breaks > 1);
        }
        print_item(p, i, past, IN_ROWS, indent);
        begun = true;
        i = print_next(p, past, end, true);
    }
}

static void print_items(Printer *p, uint32_t first, uint32_t end, BlockKind kind, size_t indent) {
    if (kind == IN_ROWS) {
        print_rows(p, first, end, indent);
        return;
    }
    bool begun = kind == IN_FILE; /* a blank line at the beginning of a block is left out */
    for (uint32_t i = print_next(p, first, end, true); i < end;) {
        const Piece *piece = &p->pieces.at[i];
        bool blank = begun && piece->breaks > 1;
        if (piece->kind == PIECE_COMMENT) {
            if (kind == IN_FILE && (piece->marks & MARK_OWN)) print_align_close(p);
            print_comment(p, piece, indent, blank);
            begun |= (piece->marks & MARK_OWN) != 0;
            i = print_next(p, i + 1, end, true);
            continue;
        }
        uint32_t past = item_end(p, i, end);
        if (kind == IN_FILE && (blank || !print_align_goes_on(p, i))) print_align_close(p);
        print_line_begin(p, indent, blank);
        size_t start = p->out.len;
        print_item(p, i, past, kind, indent);
        if (kind == IN_FILE) print_align_add(p, start, i, past);
        begun = true;
        i = print_next(p, past, end, true);
    }
}

Str print_file(Job *job, const File *file) {
    Printer p = {.arena = job->arena,
                 .text = file->source->text,
                 .out = {.arena = job->arena},
                 .table_text = {.arena = job->arena},
                 .line_empty = true};
    while (!file->broken && !p.unreadable && print_read(&p)) {
        print_mark(&p);
        if (!p.unreadable) {
            print_items(&p, 0, (uint32_t)p.pieces.n, IN_FILE, 0);
        }
    }
    if (file->broken || p.unreadable) {
        return file->source->text; /* what cannot be read is not touched */
    }
    print_align_close(&p);
    if (p.out.len > 0) {
        buf_char(&p.out, '\n');
    }
    return buf_view(&p.out);
}
