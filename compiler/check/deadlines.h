/* The times of the text that count from a named event (`within T after E`): what is left of them when their line is come to.
   takes   a model, and a way to ask whether such a line is always come to within a time
   gives   CheckResult.text_times
   owns    them in the job's arena
   never   searches by itself */
#ifndef CHECK_DEADLINES_H
#define CHECK_DEADLINES_H
#include "check/slack.h"

/* One line with one of its times, whatever procedures have a copy of it. */
typedef struct {
    const Item *item;
    const DurationCase *limit;
    uint32_t clock;  /* zeroed at the event */
    const bool *way; /* by place: the time runs there, the line is still to come */
} TextDeadline;
typedef VEC(TextDeadline) TextDeadlines;

TextDeadlines deadlines_of(const Model *model, Arena *arena);
/* Bad as soon as more than `ms` have passed since the event and the line is neither come to nor turned away from. */
Observer *deadline_observer(Arena *arena, const Slice *slice, const TextDeadline *deadline, int64_t ms);
/* Of a search with it: how late the clock can be while the time runs, as its zones have it; they are widened, so the truth may be
   less. */
int64_t deadline_latest(const Search *search);
TextTime deadline_told(const Job *job, const Model *model, const TextDeadline *deadline);
#endif
