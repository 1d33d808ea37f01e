/* The places as a board: the pilot against engine and world, without clocks.
   takes   a Slice, and what situations are told apart by; then which of them are won
   gives   every situation that the text can come to; those from which the pilot can force a won one
   owns    all in the arenas given
   never   says how long anything takes

   A situation is a place and values that no condition asked there tells apart. What a line finds, and whether and when a cue comes or
   the engine fires, is for the other side to choose; cues may break in as often as they like, but not for ever. */
#ifndef CHECK_GAME_H
#define CHECK_GAME_H
#include "check/search.h"

typedef struct {
    const Formula *const *asked; /* conditions that situations are told apart by, beside those of the model */
    uint32_t n_asked;
    const uint64_t *values; /* [place * words]: what the facts may be there; more than that no run has */
    const uint64_t *
        apart; /* [place * words]: bits of the facts that situations are told apart by; NULL: all. Of the others the pilot gets
                               what is certain and the other side what is possible: what is won for sure is won, what is lost may be won */
    CheckBudget budget; /* situations count as zones */
} GameRule;

typedef struct {
    uint32_t place, first_arc, n_arcs;
    uint32_t same, hash; /* the next of the same slot */
} Situation;
typedef struct {
    uint32_t from, edge, to;
    bool unsure; /* whether its condition holds is not known there */
} Arc;
typedef enum { ARC_NONE, ARC_PILOT, ARC_OTHER, ARC_LAPSE, ARC_CUE } ArcClass;

typedef struct {
    Arena *arena;
    const Slice *slice;
    const Model *model;
    GameRule rule;
    VEC(Situation) nodes;
    VEC(Arc) arcs;
    uint64_t *masks;
    size_t cap_masks;
    uint32_t *slots, slot_mask;
    uint8_t *classes;            /* by edge: ArcClass */
    VEC(uint64_t) pile;          /* sets of masks that are still to be cut */
    uint32_t *back_first, *back; /* arcs that lead to a situation */
    const bool *goal;            /* by situation: it is won; of what is solved */
    bool *uncued;                /* by situation: won if no cue ever led astray; of the first that was solved */
    bool too_many, stopped;      /* then it is not whole */
} Game;

Game *game_make(Arena *arena, const Slice *slice, GameRule rule);
static inline const uint64_t *game_masks(const Game *game, uint32_t node) {
    return game->masks + (size_t)node * game->slice->words;
}
static inline ArcClass game_class(const Game *game, const Arc *arc) {
    return (ArcClass)game->classes[arc->edge];
}
/* By situation: the pilot can force one of `goal`. `sure`: of what the times may forbid, the pilot gets nothing and the other side all, so
   what is won is won; else the other way round, so what is lost is lost. */
bool *game_solve(Game *game, Arena *arena, const bool *goal, bool sure);
#endif
