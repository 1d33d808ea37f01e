/* Words in their faces: a word with a character that the cards' typeface lacks stands in the other one, all of it, so that no word
   changes its look in the middle.
   takes   a press, a text, the face it is meant to stand in
   gives   its parts by face, how wide they are, or which character no face has
   owns    nothing
   never   looks at more than one word: a line cut from a text has the faces that its words have in the text */
#ifndef BACK_TYPE_H
#define BACK_TYPE_H
#include "back/draw.h"

/* The face of the word that begins at `at`; *end: where the next one begins, behind its blanks. */
Face word_face(const Press *press, Face face, Str text, size_t at, size_t *end);
/* The words from *at that stand in one face; moves *at behind them. False: there are none left. */
bool next_run(const Press *press, Face face, Str text, size_t *at, Str *run, Face *run_face);
/* In units of the em. */
int64_t run_units(const Press *press, Face face, Str run);
int64_t text_units(const Press *press, Face face, Str text);
/* Whether the cards' own typeface has it. */
bool is_own(const Press *press, uint32_t code);
/* The first character that cannot be set, in either face; 0: all can. */
uint32_t text_unset(const Press *press, Str text);
#endif
