/* The gates of the library, each written anew from its syntax tree with its states and events spelled out, and each weaker than it is in one
   place: what a twin of it must notice.

   A gate is *weaker* where it keeps less: a part of what must hold is dropped, another position is accepted, a trigger or an end less counts, a
   link of a chain is gone, a time or a number has one more to spare, and so on (rule.c has them all). */
#ifndef WEAKENED_H
#define WEAKENED_H
#include "../oracle/texts.h"

/* Writes one version of a gate. `target`: which of its places is made weaker; -1: none, the gate as it is. */
typedef struct {
    const Compiled *in; /* the text for which it is written: its values give the numbers */
    Arena *arena;
    int target, n; /* n: places come by so far */
    Str what;      /* how it is weaker; the same in every text; empty: the target is beyond its last place */
    Buf before;    /* events and states that the gate needs */
    Buf out;
    Str name; /* of the gate, and the beginning of the names of what it needs */
    uint32_t n_names;
    Str subject; /* what the place is in: "the state", "what must hold" … */
} Writer;

/* The words of the library. */
Str weak_text(const Writer *w, Span span);
const Decl *weak_library(const Writer *w, DeclKind kind, Name name); /* NULL: none of the library's */
/* Is this the place that is made weaker? Then `what` says how. Formats: %S, %s. */
bool weak_here(Writer *w, const char *format, ...);

/* condition.c. `weaker`: less is asked for; else it is so in fewer situations. */
void weak_condition(Writer *w, const Cond *cond, bool weaker);

/* rule.c: a declaration of the gate, with what it needs before it; writer->what is empty where there is no such place. */
void weak_gate(Writer *w, const Decl *gate);
#endif
