/* Prepares the library at build time: parses stdlib/ and writes what came of it as assembler lines, so that no run of the program
   has to read it again. Not a part of the program.

   The library is parsed twice into memory at other addresses. A word that differs between the two holds an address, and becomes a
   reference to the same place in the program; every other word is copied. An address that leads anywhere else fails the build. */
#include "front/front.h"
#include "workspace/library.h"
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

enum { ROOM = 8 << 20 };

typedef struct {
    char *taken, *room; /* ROOM bytes, aligned to 16, within what was taken */
    Arena arena;
    Prepared *prepared; /* the first thing in the room */
    char **texts;       /* by library file: a copy at an address of its own */
} Pass;

static _Noreturn void fail(const char *why) {
    fprintf(stderr, "prepare: %s\n", why);
    exit(1);
}

static void *memory(size_t size) {
    void *taken = calloc(1, size);
    if (!taken) fail("no memory");
    return taken;
}

static void parse_all(Pass *pass) {
    Prepared *prepared = pass->prepared;
    Findings findings = {.arena = &pass->arena, .names = &prepared->names};
    Job job = {&pass->arena, &prepared->names, &prepared->sources, &findings};
    for (size_t i = 0; i < library_file_count; i++) {
        Str text = {pass->texts[i], library_files[i].len};
        Source *source = source_add(&prepared->sources, str_of(library_files[i].path), text, true);
        if (!source) fail("the library is too large");
        prepared->files[i] = parse_file(&job, source);
        if (prepared->files[i]->broken) fail(library_files[i].path);
        (void)source_position(&prepared->sources, source->base); /* makes the index of its lines */
    }
    if (findings.list.n) fail("the library has findings");
}

/* What belongs to the pass and not to the library. */
static void forget_pass(Prepared *prepared) {
    prepared->names.arena = NULL;
    prepared->sources.arena = NULL;
    prepared->sources.memo = NULL;
}

static void run_pass(Pass *pass) {
    pass->taken = memory(ROOM + 64);
    pass->room = pass->taken + (16 - (uintptr_t)pass->taken % 16) % 16;
    pass->arena = (Arena){.next = pass->room, .end = pass->room + ROOM};
    pass->texts = memory(library_file_count * sizeof *pass->texts);
    for (size_t i = 0; i < library_file_count; i++) {
        pass->texts[i] = memory(library_files[i].len + 1);
        memcpy(pass->texts[i], library_files[i].text, library_files[i].len);
    }
    pass->prepared = ARENA_NEW(&pass->arena, Prepared);
    pass->prepared->files = ARENA_ARRAY(&pass->arena, File *, library_file_count);
    names_open(&pass->prepared->names, &pass->arena);
    pass->prepared->sources.arena = &pass->arena;
    parse_all(pass);
    forget_pass(pass->prepared);
}

static void end_pass(Pass *pass) {
    for (size_t i = 0; i < library_file_count; i++) free(pass->texts[i]);
    free(pass->texts);
    free(pass->taken);
}

static uint64_t word_at(const Pass *pass, size_t at) {
    uint64_t word;
    memcpy(&word, pass->room + at, sizeof word);
    return word;
}

static bool within(uint64_t word, const char *from, size_t size) {
    uint64_t start = (uint64_t)(uintptr_t)from;
    return word >= start && word - start <= size;
}

/* True where the word is an address of the pass: gives what it is relative to. */
static bool is_address(const Pass *pass, uint64_t word, size_t used, const char **symbol, size_t *number,
                       uint64_t *offset) {
    *number = SIZE_MAX;
    *symbol = "library_prepared_words";
    *offset = word - (uint64_t)(uintptr_t)pass->room;
    if (within(word, pass->room, used)) return true;
    *symbol = "library_text_";
    for (size_t i = 0; i < library_file_count; i++) {
        if (!within(word, pass->texts[i], library_files[i].len)) continue;
        *number = i;
        *offset = word - (uint64_t)(uintptr_t)pass->texts[i];
        return true;
    }
    return false;
}

static void put_address(const Pass *first, const Pass *second, size_t at, size_t used) {
    const char *symbol, *other_symbol;
    size_t number, other_number;
    uint64_t offset, other_offset;
    bool one = is_address(first, word_at(first, at), used, &symbol, &number, &offset);
    bool two = is_address(second, word_at(second, at), used, &other_symbol, &other_number, &other_offset);
    if (!one || !two || number != other_number || offset != other_offset)
        fail("two passes differ in more than addresses");
    if (number == SIZE_MAX) printf(".quad %s+%" PRIu64 "\n", symbol, offset);
    else printf(".quad %s%zu+%" PRIu64 "\n", symbol, number, offset);
}

/* The linker's names for this program's ends. */
extern char __executable_start; /* NOLINT(bugprone-reserved-identifier) */
extern char _end;               /* NOLINT(bugprone-reserved-identifier) */

static void put_plain(uint64_t word) {
    if (!within(word, &__executable_start, (size_t)(&_end - &__executable_start))) {
        printf(".quad %" PRIu64 "\n", word);
        return;
    }
    if (*(const char *)(uintptr_t)word) fail("an address into this program");
    printf(".quad library_prepared_nothing\n"); /* an empty text */
}

/* A word that both passes share may still be an address: of what is empty inside this program. */
static void put_word(uint64_t word) {
    if (word == (uint64_t)(uintptr_t)&stmt_no_more) printf(".quad stmt_no_more\n");
    else if (word == (uint64_t)(uintptr_t)&decl_no_more) printf(".quad decl_no_more\n");
    else put_plain(word);
}

static void put_image(const Pass *first, const Pass *second) {
    size_t used = (size_t)(first->arena.next - first->room);
    if (first->arena.blocks || used != (size_t)(second->arena.next - second->room))
        fail("the passes have not the same size");
    printf(".section .note.GNU-stack,\"\",@progbits\n.section .rodata\nlibrary_prepared_nothing: .byte 0\n"
           ".section .data.rel.ro,\"aw\",@progbits\n.balign 16\n.globl library_prepared\n.hidden library_prepared\n"
           "library_prepared:\nlibrary_prepared_words:\n");
    for (size_t at = 0; at < used; at += 8) {
        if (word_at(first, at) != word_at(second, at)) put_address(first, second, at, used);
        else put_word(word_at(first, at));
    }
}

int main(void) {
    Pass first = {0}, second = {0};
    run_pass(&first);
    run_pass(&second);
    put_image(&first, &second);
    end_pass(&first);
    end_pass(&second);
    if (fflush(stdout) || ferror(stdout)) fail("standard output cannot be written");
    return 0;
}
