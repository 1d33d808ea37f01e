/* The words in which findings speak: items, events, conditions and times as their author wrote them.
   All texts live in the job's arena. */
#ifndef CHECK_WORDS_H
#define CHECK_WORDS_H
#include "base/job.h"
#include "sema/model.h"

Str words_item(const Job *job, const Model *model, const Item *item);          /* "set Mixture RICH" */
Str words_trigger(const Job *job, const Model *model, const Trigger *trigger); /* the whole "A or B" */
Str words_test(const Job *job, const Model *model, const Test *test);
Str words_values(const Job *job, const Model *model, uint32_t fact, uint64_t mask); /* "RICH or LEAN" */
Str words_fact(const Job *job, const Model *model, uint32_t fact);                  /* "Mixture", "Left mixture" */
void buf_time(Buf *buf, int64_t ms);
Str words_time(const Job *job, int64_t ms);  /* "1 min 30 s" */
Str words_clock(const Job *job, int64_t ms); /* "0:42", "0:42.001" */
Str words_duration(const Job *job, const Duration *time);
Span item_span(const Item *item); /* 0,0 for NULL */
#endif
