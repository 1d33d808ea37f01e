#ifndef FRONT_SUGGEST_H
#define FRONT_SUGGEST_H
#include "front/parse.h"

/* All give NULL where nothing is near. `word` in small letters. */
const char *suggest_foreign(Str word);
const char *suggest_token(Str word, const int *tokens, size_t n);
const char *suggest_close(Str word, const int *tokens, size_t n); /* one slip of the fingers away */
const char *suggest_item(Str word);                               /* what a line of a procedure begins with */
const char *suggest_close_item(Str word);
const char *suggest_comparison(Str word); /* how "less" and the like are written */
const char *suggest_place(int token);     /* where a line that begins with it belongs */
bool suggest_is_item(int token);
#endif
