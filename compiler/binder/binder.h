/* The binder: sets a workbook as an Office Open XML file (libxlsxwriter).
   takes   a Book
   gives   the file's bytes to a sink; the same book gives the same bytes
   owns    nothing beyond the call
   never   asks for anything else: no clock, no locale, no file on a disk; writes no formula into a cell
   The file is put together in a file in memory, for which a limit on the size of files counts (RLIMIT_FSIZE): who sets one ignores SIGXFSZ.

   It is a module beside the program, opened when the first workbook is made, like the press. */
#ifndef BINDER_BINDER_H
#define BINDER_BINDER_H
#include "back/book.h"

__attribute__((visibility("default"))) extern const Binder *startwright_binder(void);

/* ---- marks.c: what a column does beyond its cells ---- */
struct lxw_workbook;
struct lxw_worksheet;
struct lxw_format;
enum { TONES = TONE_QUIET + 1 };
/* first_row, last_row: of the table's body. 0, or an error of the library. */
int column_marks(struct lxw_worksheet *out, const BookColumn *column, uint16_t at, uint32_t first_row,
                 uint32_t last_row, struct lxw_format *const tones[TONES]);
int column_choices(struct lxw_worksheet *out, const BookColumn *column, uint16_t at, uint32_t first_row,
                   uint32_t last_row);

/* ---- memory_files.c ---- */
/* How many of the library's temporary files were made in memory since the last call, by this thread; *refused: there was no room for
   one of them, so what was made of it is not whole. */
size_t memory_files_made(bool *refused);
#endif
