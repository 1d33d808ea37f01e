/* Things, conditions and times in the words a pilot reads, for cards and tables alike. */
#ifndef BACK_WORDS_H
#define BACK_WORDS_H
#include "back/back.h"

/* "Mixture", "Left mixture" on a twin. */
void buf_thing(Buf *buf, const BackInput *input, const Thing *thing);
/* "Left engine"; false, and nothing, where there is only one or it is about none. */
bool buf_engine(Buf *buf, const BackInput *input, uint32_t engine);
/* "60 s", "1.5 min": whole minutes from 120 s on. */
void buf_ms(Buf *buf, int64_t ms);
/* "30 s of firing, or 60 s of firing when Outside air below 0 °C"; after NULL: only the times. */
void buf_duration(Buf *buf, const BackInput *input, const Duration *duration, const Trigger *after);
/* A condition in full: "Oil pressure 25 to 115 psi and Chocks REMOVED". */
void buf_test(Buf *buf, const BackInput *input, const Test *test);
/* The same of a cue, or of what leads to a way out. */
void buf_turn_away(Buf *buf, const BackInput *input, const Test *test);
/* What a condition on one fact wants, without the thing: "25 to 115 psi", "REMOVED". */
void buf_wanted(Buf *buf, const BackInput *input, const Test *test);
/* The event a time runs from: "firing", "the call", an item's id. */
void buf_event(Buf *buf, const BackInput *input, const Trigger *trigger);
const Thing *test_thing(const BackInput *input, const Test *test); /* of a TEST_FACT; NULL: a label or a counter */
/* A name as somebody would say it: "Ground power" for ground-power. */
Str spoken(Arena *arena, Str name);
/* A title in capitals, ASCII letters only. */
void buf_capitals(Buf *buf, Str text);
/* A text literal with its holes filled in for this tail. */
void buf_filled(Buf *buf, const BackInput *input, Text text, uint32_t engine);
#endif
