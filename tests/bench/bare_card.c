/* What any program has to pay for that sets a card's lines with cairo and pango: each line once, where and as large as it is told, into a PDF.
   usage: bare_card LINES OUT.pdf      a line: `page`, or X Y SIZE WEIGHT TEXT in points; the typeface is what the font configuration finds */
#include <cairo-pdf.h>
#include <pango/pangocairo.h>
#include <stdio.h>
#include <string.h>

int main(int argc, char **argv) {
    FILE *lines = argc == 3 ? fopen(argv[1], "r") : NULL;
    if (!lines) return 2;
    char line[4096];
    int pages = 0;
    cairo_surface_t *surface = cairo_pdf_surface_create(argv[2], 419.528, 595.276);
    cairo_t *cr = cairo_create(surface);
    PangoLayout *layout = pango_cairo_create_layout(cr);
    PangoFontDescription *font = pango_font_description_from_string("B612");
    while (fgets(line, sizeof line, lines)) {
        double x, y, size;
        char weight[16];
        int at = 0;
        line[strcspn(line, "\n")] = 0;
        if (strcmp(line, "page") == 0 && pages++) cairo_show_page(cr);
        if (sscanf(line, "%lf %lf %lf %15s %n", &x, &y, &size, weight, &at) != 4 || !at) continue;
        pango_font_description_set_weight(font, strcmp(weight, "bold") == 0 ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
        pango_font_description_set_absolute_size(font, size * PANGO_SCALE);
        pango_layout_set_font_description(layout, font);
        pango_layout_set_text(layout, line + at, -1);
        cairo_move_to(cr, x, y - pango_layout_get_baseline(layout) / (double)PANGO_SCALE);
        pango_cairo_show_layout(cr, layout);
    }
    fclose(lines);
    pango_font_description_free(font);
    g_object_unref(layout);
    cairo_destroy(cr);
    cairo_surface_finish(surface);
    int failed = cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS;
    cairo_surface_destroy(surface);
    return failed || !pages;
}
