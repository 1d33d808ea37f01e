#include "base/diag.h"
#include "base/limits.h"
#include <assert.h>
#include <stdarg.h>

const FindingInfo finding_info[FINDING_COUNT] = {
    [FINDING_NONE] = {"none", SEVERITY_NOTE, ""},
#define FINDING(symbol, id, severity, title) [FINDING_##symbol] = {(id), (severity), (title)},
#include "base/findings.def"
#undef FINDING
};

/* "U+200B": a character as a table of characters names it. */
static void buf_code_point(Buf *buf, uint32_t code) {
    buf_text(buf, "U+");
    for (uint32_t shift = code > 0xFFFFF ? 20 : code > 0xFFFF ? 16 : 12;; shift -= 4) {
        buf_char(buf, "0123456789ABCDEF"[code >> shift & 0xF]);
        if (shift == 0) return;
    }
}

static void format_into(Buf *buf, const Names *names, const char *format, va_list *args) {
    for (const char *at = format; *at; at++) {
        size_t plain = strcspn(at, "%");
        buf_str(buf, (Str){at, plain});
        at += plain;
        if (!*at) return;
        switch (*++at) {
        case 's': buf_text(buf, va_arg(*args, const char *)); break;
        case 'S': buf_str(buf, va_arg(*args, Str)); break;
        case 'N': buf_str(buf, name_text(names, va_arg(*args, Name))); break;
        case 'u': buf_uint(buf, va_arg(*args, uint64_t)); break;
        case 'd': buf_int(buf, va_arg(*args, int64_t)); break;
        case 'X': buf_code_point(buf, va_arg(*args, uint32_t)); break;
        case '%': buf_char(buf, '%'); break;
        default: assert(!"a format that diag.h does not list"); return;
        }
    }
}

static Str format_list(Arena *arena, const Names *names, const char *format, va_list *args) {
    Buf buf = {.arena = arena};
    format_into(&buf, names, format, args);
    return buf_finish(&buf);
}

Str format_text(Arena *arena, const Names *names, const char *format, ...) {
    va_list args;
    va_start(args, format);
    Str text = format_list(arena, names, format, &args);
    va_end(args);
    return text;
}

void buf_format(Buf *buf, const Names *names, const char *format, ...) {
    va_list args;
    va_start(args, format);
    format_into(buf, names, format, &args);
    va_end(args);
}

/* Past the limit a finding is only counted: a file of mistakes must not eat the machine's memory. */
static Finding *finding_scrap(Findings *findings, FindingKind kind) {
    findings->beyond[finding_info[kind].severity]++;
    if (!findings->scrap) findings->scrap = ARENA_NEW(findings->arena, Finding);
    *findings->scrap = (Finding){.kind = kind, .severity = finding_info[kind].severity};
    return findings->scrap;
}

Finding *finding_add(Findings *findings, FindingKind kind, Span span, const char *format, ...) {
    if (findings->list.n >= LIMIT_FINDINGS) return finding_scrap(findings, kind);
    va_list args;
    va_start(args, format);
    Finding *finding = ARENA_NEW(findings->arena, Finding);
    finding->kind = kind;
    finding->severity = finding_info[kind].severity;
    finding->span = span;
    finding->message = format_list(findings->arena, findings->names, format, &args);
    va_end(args);
    vec_push(findings->arena, &findings->list, finding);
    return finding;
}

void findings_append(Findings *findings, const Findings *more) {
    for (size_t i = 0; i < more->list.n; i++) {
        if (findings->list.n < LIMIT_FINDINGS) vec_push(findings->arena, &findings->list, more->list.at[i]);
        else findings->beyond[more->list.at[i]->severity]++;
    }
    for (int severity = 0; severity <= SEVERITY_UNDECIDED; severity++)
        findings->beyond[severity] += more->beyond[severity];
}

void finding_note(Findings *findings, Finding *finding, Span span, const char *format, ...) {
    if (finding == findings->scrap) return;
    va_list args;
    va_start(args, format);
    Note *note = ARENA_NEW(findings->arena, Note);
    note->span = span;
    note->text = format_list(findings->arena, findings->names, format, &args);
    va_end(args);
    Note **end = &finding->notes;
    while (*end) end = &(*end)->next;
    *end = note;
}

void finding_fix(Findings *findings, Finding *finding, FixGrade grade, Span span, const char *format, ...) {
    if (finding == findings->scrap) return;
    va_list args;
    va_start(args, format);
    Fix *fix = ARENA_NEW(findings->arena, Fix);
    fix->grade = grade;
    fix->span = span;
    fix->text = format_list(findings->arena, findings->names, format, &args);
    va_end(args);
    Fix **end = &finding->fixes;
    while (*end) end = &(*end)->next;
    *end = fix;
}
