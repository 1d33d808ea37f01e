#include "back/type.h"
#include "base/utf8.h"

Face word_face(const Press *press, Face face, Str text, size_t at, size_t *end) {
    bool own = true;
    while (at < text.len && text.ptr[at] != ' ') {
        Utf8 code = utf8_decode(text, at);
        own = own && press->advance(face, code.code) >= 0;
        at += code.size;
    }
    while (at < text.len && text.ptr[at] == ' ') at++;
    *end = at;
    return own ? face : other_face(face);
}

bool next_run(const Press *press, Face face, Str text, size_t *at, Str *run, Face *run_face) {
    size_t from = *at, end;
    if (from >= text.len) return false;
    *run_face = word_face(press, face, text, from, &end);
    for (size_t next; end < text.len && word_face(press, face, text, end, &next) == *run_face;) end = next;
    *run = str_slice(text, from, end);
    *at = end;
    return true;
}

int64_t run_units(const Press *press, Face face, Str run) {
    int64_t units = 0;
    for (size_t at = 0; at < run.len;) {
        Utf8 code = utf8_decode(run, at);
        int32_t step = press->advance(face, code.code);
        units += step > 0 ? step : 0;
        at += code.size;
    }
    return units;
}

int64_t text_units(const Press *press, Face face, Str text) {
    int64_t units = 0;
    Str run;
    Face run_face;
    for (size_t at = 0; next_run(press, face, text, &at, &run, &run_face);) units += run_units(press, run_face, run);
    return units;
}

bool is_own(const Press *press, uint32_t code) {
    return press->advance(FACE_PLAIN, code) >= 0 && press->advance(FACE_BOLD, code) >= 0;
}

uint32_t text_unset(const Press *press, Str text) {
    for (size_t at = 0; at < text.len;) {
        Utf8 code = utf8_decode(text, at);
        if (!is_own(press, code.code) && press->advance(FACE_OTHER_PLAIN, code.code) < 0) return code.code;
        at += code.size;
    }
    return 0;
}
