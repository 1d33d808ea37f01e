/* Places from which all goes on alike, made one: a drill that several procedures come to is searched once.
   takes   const Model *
   gives   a model with the same runs, in fewer places; the same model where no two places are alike
   owns    what is new lies in the arena; the rest is the first model's
   never   makes one of places that a rule or a finding tells apart: those of procedures themselves */
#ifndef CHECK_MERGE_H
#define CHECK_MERGE_H
#include "sema/model.h"

/* `place_of`, where not NULL: by place of the first model its place in the one given, in `scratch`; NULL: they are the same. The k-th own edge of
   a place is that of each place for which it stands. */
const Model *model_merged(Arena *arena, const Model *model, Arena *scratch, const uint32_t **place_of);
#endif
