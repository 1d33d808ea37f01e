#include "press/faces.h"
#include <cairo-ft.h>
#include <ft2build.h>
#include FT_FREETYPE_H
#include FT_TRUETYPE_TABLES_H
#include <hb-subset.h>
#include <string.h>

/* ---- the files' bytes are part of the module, pinned when it is built ---- */

extern const unsigned char face_plain[], face_plain_end[], face_bold[], face_bold_end[];
extern const unsigned char face_other_plain[], face_other_plain_end[], face_other_bold[], face_other_bold_end[];

static const struct {
    const unsigned char *bytes, *end;
} files[FACES] = {[FACE_PLAIN] = {face_plain, face_plain_end},
                  [FACE_BOLD] = {face_bold, face_bold_end},
                  [FACE_OTHER_PLAIN] = {face_other_plain, face_other_plain_end},
                  [FACE_OTHER_BOLD] = {face_other_bold, face_other_bold_end}};

static struct {
    FT_Library library;
    FT_Face faces[FACES];
    cairo_font_face_t *fonts[FACES];
    int32_t em, other_size;
} type;

static FT_Long file_size(Face face) {
    return (FT_Long)(files[face].end - files[face].bytes);
}

static bool open_face(Face face) {
    if (FT_New_Memory_Face(type.library, files[face].bytes, file_size(face), 0, &type.faces[face])) return false;
    type.fonts[face] = cairo_ft_font_face_create_for_ft_face(type.faces[face], FT_LOAD_NO_HINTING);
    return cairo_font_face_status(type.fonts[face]) == CAIRO_STATUS_SUCCESS;
}

/* In units of the em: not every file says it. */
static int64_t measured_x_height(Face face) {
    FT_Face from = type.faces[face];
    return FT_Load_Char(from, 'x', FT_LOAD_NO_SCALE) ? 0 : (int64_t)from->glyph->metrics.horiBearingY;
}

bool faces_open(Press *press) {
    for (int face = 0; face < FACES && !type.fonts[FACES - 1]; face++)
        if ((!type.library && FT_Init_FreeType(&type.library)) || !open_face((Face)face)) return false;
    const TT_OS2 *own = FT_Get_Sfnt_Table(type.faces[FACE_PLAIN], FT_SFNT_OS2);
    int64_t other = measured_x_height(FACE_OTHER_PLAIN);
    if (!own || !own->sxHeight || !other) return false;
    type.em = type.faces[FACE_PLAIN]->units_per_EM;
    type.other_size = (int32_t)((int64_t)own->sxHeight * type.faces[FACE_OTHER_PLAIN]->units_per_EM * WHOLE_SIZE /
                                (other * type.em));
    press->x_height = own->sxHeight, press->cap_height = own->sCapHeight;
    press->other_size = type.other_size;
    press->em = type.em;
    return true;
}

cairo_font_face_t *face_font(Face face) {
    return type.fonts[face];
}

double face_size(Face face) {
    return face_is_own(face) ? 1 : (double)type.other_size / WHOLE_SIZE;
}

unsigned long face_glyph(Face face, uint32_t code) {
    return FT_Get_Char_Index(type.faces[face], code);
}

/* ---- widths ---- */

/* Of the other typeface only what stands by itself, from left to right: its Arabic and its marks need a shaping engine. */
static bool stands_alone(uint32_t code) {
    static const struct {
        uint32_t lo, hi;
    } ranges[] = {{0x20, 0x7e},     {0xa0, 0x2ff},    {0x370, 0x482},   {0x48a, 0x556},   {0x561, 0x58a},
                  {0x10a0, 0x10ff}, {0x1e00, 0x1fff}, {0x2000, 0x200a}, {0x2010, 0x2027}, {0x202f, 0x205f},
                  {0x2070, 0x20bf}, {0x2100, 0x27ff}, {0x2c60, 0x2c7f}};
    for (size_t i = 0; i < sizeof ranges / sizeof *ranges; i++)
        if (code >= ranges[i].lo && code <= ranges[i].hi) return true;
    return false;
}

enum { REMEMBERED = 0x300, ABSENT = -1 };

static int32_t measure(Face face, uint32_t code) {
    FT_UInt glyph = FT_Get_Char_Index(type.faces[face], code);
    if (!face_is_own(face) && !stands_alone(code)) return ABSENT;
    if (!glyph || FT_Load_Glyph(type.faces[face], glyph, FT_LOAD_NO_SCALE)) return ABSENT;
    int64_t step = (int64_t)type.faces[face]->glyph->advance.x;
    if (face_is_own(face)) return (int32_t)step;
    return (int32_t)(step * type.em * type.other_size / ((int64_t)type.faces[face]->units_per_EM * WHOLE_SIZE));
}

int32_t face_advance(Face face, uint32_t code) {
    static int32_t known[FACES][REMEMBERED];
    if (code >= REMEMBERED) return measure(face, code);
    if (!known[face][code]) known[face][code] = measure(face, code);
    return known[face][code];
}

/* ---- how alike two characters look ---- */

enum { CELL = 96, GLYPH_PIXELS = 64 };

/* A character, its left edge and its line at the same place whatever it is. */
static bool set_cell(FT_Face from, uint32_t code, bool cell[CELL][CELL]) {
    if (FT_Set_Pixel_Sizes(from, 0, GLYPH_PIXELS) || FT_Load_Char(from, code, FT_LOAD_RENDER | FT_LOAD_NO_HINTING))
        return false;
    const FT_Bitmap *map = &from->glyph->bitmap;
    for (int row = 0; row < (int)map->rows; row++)
        for (int column = 0; column < (int)map->width && column < CELL; column++) {
            int line = GLYPH_PIXELS - from->glyph->bitmap_top + row;
            if (line >= 0 && line < CELL) cell[line][column] = map->buffer[row * map->pitch + column] >= 128;
        }
    return true;
}

int32_t face_unlike(Face face, uint32_t a, uint32_t b) {
    static bool cells[2][CELL][CELL];
    FT_Face own; /* cairo counts on the size that it has set the others to */
    memset(cells, 0, sizeof cells);
    if (FT_New_Memory_Face(type.library, files[face].bytes, file_size(face), 0, &own)) return 0;
    bool both = set_cell(own, a, cells[0]) && set_cell(own, b, cells[1]);
    FT_Done_Face(own);
    if (!both) return 0;
    int32_t either = 0, one = 0;
    for (int row = 0; row < CELL; row++)
        for (int column = 0; column < CELL; column++) {
            bool first = cells[0][row][column], second = cells[1][row][column];
            either += first || second;
            one += first != second;
        }
    return either ? one * 100 / either : 0;
}

/* ---- a face cut down to what is used of it ---- */

bool face_subset(Face face, const uint32_t *codes, size_t n, Sink sink) {
    hb_blob_t *blob =
        hb_blob_create((const char *)files[face].bytes, (unsigned)file_size(face), HB_MEMORY_MODE_READONLY, NULL, NULL);
    hb_face_t *whole = hb_face_create(blob, 0);
    hb_subset_input_t *input = hb_subset_input_create_or_fail();
    for (size_t i = 0; input && i < n; i++) hb_set_add(hb_subset_input_unicode_set(input), codes[i]);
    /* letters stand where their widths put them, as on paper: no pairs drawn together, no letters joined */
    hb_set_t *dropped = input ? hb_subset_input_set(input, HB_SUBSET_SETS_DROP_TABLE_TAG) : NULL;
    if (dropped) hb_set_add(dropped, HB_TAG('G', 'S', 'U', 'B')), hb_set_add(dropped, HB_TAG('G', 'P', 'O', 'S'));
    hb_face_t *cut = input ? hb_subset_or_fail(whole, input) : NULL;
    hb_blob_t *made = cut ? hb_face_reference_blob(cut) : NULL;
    unsigned length = 0;
    const char *data = made ? hb_blob_get_data(made, &length) : NULL;
    bool good = data && sink.write(sink.context, data, length);
    hb_blob_destroy(made);
    hb_face_destroy(cut);
    hb_subset_input_destroy(input);
    hb_face_destroy(whole);
    hb_blob_destroy(blob);
    return good;
}
