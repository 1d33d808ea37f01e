/* Inside back: the tails of a document against one another.
   takes   the items of each tail, while it is at hand
   gives   groups of tails that say the same, pairs of groups, worst first, and items with what each group says and where it has them
   owns    all in the document's arena */
#ifndef BACK_FLEET_H
#define BACK_FLEET_H
#include "back/record.h"

typedef struct {
    Str key, of, phase, id; /* key: with its count among lines of this name in the procedure */
    VEC(Str) words;         /* each once, in the order met */
    bool moved;             /* of two groups that both have it, it stands elsewhere in one */
} Kind;
typedef struct {
    size_t kind, words;
} Said;
typedef struct {
    Str tails; /* "qm-1, qm-2" */
    VEC(Str) names;
    Said *said;
    size_t n;
    size_t *at; /* by kind: where it is said, + 1; 0: not */
} Group;
typedef struct {
    size_t a, b, common, state, place, only_a, only_b;
} Pair;
typedef struct {
    const BackDocument *document;
    Arena *arena;
    VEC(Kind) kinds;
    size_t *slots, n_slots; /* of kinds, + 1; open addressing, at most half full */
    VEC(Group) groups;
    VEC(Pair) pairs;
    Job job;
    Edition edition;
    Tail *head; /* bears the title only */
} Fleet;

/* Which groups say it so, as "G1 G2"; of those that do not have it at all for `words` past the last. */
Str fleet_saying(const Fleet *f, size_t kind, size_t words);
/* Some group does not have it, or says it otherwise than another. */
bool fleet_differs(const Fleet *f, size_t kind);
/* What stands before it there: an item of its procedure, by id; empty: it is the first. Only of a group that has it. */
Str fleet_behind(const Fleet *f, size_t group, size_t kind);
Str fleet_group_name(const Fleet *f, size_t group);
/* Canonical JSON (back/fleet.schema.json). */
bool fleet_write_json(const Fleet *f, Sink sink);
#endif
