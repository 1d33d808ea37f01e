/* Which declarations are written for a tail: found by the names of its aircraft, not by going over all there are. */
#include "sema/program_parts.h"

typedef VEC(uint32_t) Places; /* in the order of program->all */

typedef struct {
    bool filled;
    Places of_all;    /* written for whichever */
    NameMap by_name;  /* Name of an aircraft or tail -> Places */
    const Decl *tail; /* the one asked for last */
    Decls found;
} ForKind;

struct ForIndex {
    ForKind kinds[DECL_KINDS];
};

ForIndex *program_for_new(Arena *arena) {
    return ARENA_NEW(arena, ForIndex);
}

static void put_words(Arena *arena, ForKind *index, const WordList *words, uint32_t place) {
    for (const WordList *word = words; word; word = word->next) {
        Name name = word->word.name;
        if (!name) continue;
        Places *places = map_get(&index->by_name, name);
        if (!places) map_put(&index->by_name, name, places = ARENA_NEW(arena, Places));
        if (!places->n || places->at[places->n - 1] != place) vec_push(arena, places, place);
    }
}

static void put_decl(Arena *arena, ForKind *index, const Decl *decl, uint32_t place) {
    if (decl->kind != DECL_DOCUMENT) {
        if (!decl->more->words) vec_push(arena, &index->of_all, place);
        put_words(arena, index, decl->more->words, place);
        return;
    }
    for (const DocLine *line = decl->u.doclines; line; line = line->next)
        if (line->kind == DOC_FOR) put_words(arena, index, line->words, place);
}

static void fill(const Program *program, ForKind *index, DeclKind kind) {
    index->filled = true;
    index->by_name.arena = program->job->arena;
    const Decls *all = &program->all[kind];
    for (size_t i = 0; i < all->n; i++) put_decl(program->job->arena, index, all->at[i], (uint32_t)i);
}

/* What is in one of two lists or both, in order. */
static Places merge(Arena *arena, const Places *a, const Places *b) {
    if (!a->n) return *b;
    if (!b->n) return *a;
    Places both = {0};
    for (size_t i = 0, k = 0; i < a->n || k < b->n;) {
        bool first = k == b->n || (i < a->n && a->at[i] <= b->at[k]);
        uint32_t place = first ? a->at[i] : b->at[k];
        vec_push(arena, &both, place);
        i += i < a->n && a->at[i] == place;
        k += k < b->n && b->at[k] == place;
    }
    return both;
}

/* Those that name the tail or one it is derived from, and those for whichever. */
static Places places_for(const Program *program, const ForKind *index, const Decl *tail) {
    Places found = index->of_all;
    size_t most = program->all[DECL_TAIL].n + 1;
    for (const Decl *at = tail; at && most > 0; most--) {
        const Places *own = map_get(&index->by_name, at->name.name);
        if (own && at->name.name) found = merge(program->job->arena, &found, own);
        at = at->kind == DECL_TAIL ? program_parent(program, at) : NULL;
    }
    return found;
}

size_t program_all_for(const Program *program, DeclKind kind, const Decl *tail, const Decl ***decls) {
    ForKind *index = &program->for_index->kinds[kind];
    if (!index->filled) fill(program, index, kind);
    if (index->tail != tail) {
        index->tail = tail;
        index->found = (Decls){0};
        Places places = places_for(program, index, tail);
        for (size_t i = 0; i < places.n; i++)
            vec_push(program->job->arena, &index->found, program->all[kind].at[places.at[i]]);
    }
    *decls = index->found.at;
    return index->found.n;
}
