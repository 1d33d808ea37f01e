/* A gate's rule as an observer beside the model.
   takes   a GateInstance of the model's tail
   gives   the facts it reads, then, once the slice is made, the observer
   owns    all in the arena given
   never   decides a gate */
#ifndef CHECK_OBSERVERS_H
#define CHECK_OBSERVERS_H
#include "check/search.h"

/* One line of a duty, as its observer counts. */
typedef struct {
    const Formula *when; /* NULL: always */
    int32_t on_ms[8], rest_ms[8], long_rest_ms;
    uint32_t n_series, tries;
} DutyShape;
typedef struct DutyRule {
    DutyShape *lines;
    uint32_t n_lines;
    const Formula *any; /* where some line holds */
    uint32_t top;       /* engagements are counted up to here */
} DutyRule;

/* Which search of a gate: 0, but for a duty, which has one for each of its windows after that. */
uint32_t observer_parts(const Model *model, const GateInstance *gate);
/* `alone`: no other facts will be kept, so also those by which retries keep what the rule asks for. */
void observer_facts(const Model *model, const GateInstance *gate, bool alone, uint64_t *set);
/* Clocks that are zeroed only where the rule's events happen: those that a text keeps the rule by. */
void observer_clocks(const Model *model, const GateInstance *gate, Arena *scratch, uint64_t *set);
/* One time of the rule, asked for otherwise than it stands there. */
typedef struct {
    const int64_t *time; /* where it stands, in the gate or its duty; NULL: all as they stand */
    int64_t ms;          /* TIME_NEVER_ENOUGH: longer than any */
} OtherTime;
#define TIME_NEVER_ENOUGH INT64_MAX
/* Where each event of the rule can happen and where the rule is in force, by edge and place; needs no slice. */
typedef struct {
    Arena *arena;
    const Slice *slice;
    const GateInstance *gate;
    uint32_t part;
    OtherTime other;
} ObserverPlan;
/* NULL: the rule leans on something that is not decided or is beyond a limit; `why` says which. */
Observer *observer_make(const ObserverPlan *plan, Str *why);
/* The counted control, for "the last rest": where it stands while it is not released; NULL: another rule. */
const Trigger *held_trigger(const GateInstance *gate);
bool rule_has_search(RuleKind rule); /* false: decided on the graph or not by this program */
bool mark_matches(const Model *model, const Mark *mark, const Trigger *trigger); /* can the mark make the event? */
void scope_mark(const Model *model, const GateInstance *gate, uint8_t *scope);
/* A duty's observer takes its state apart. */
typedef struct {
    uint32_t line, count;
    bool engaged, exempt;
} DutyState;
DutyState duty_state(const DutyRule *duty, uint32_t state);
void duty_step(Step *step);
Observer *duty_observer(const ObserverPlan *plan, Observer *o, Str *why);
const Formula *plan_formula(const ObserverPlan *plan, const Test *test, bool negated);
/* Holds where any of them does; an entry of NULL always holds. */
const Formula *formula_any(Arena *arena, const Formula *const *list, uint32_t n);
void plan_times(Observer *o, const ObserverPlan *plan, const Duration *time);
/* A time of the rule as it is asked for; the observer's clock is then looked at that far. */
int32_t plan_time(Observer *o, const ObserverPlan *plan, const int64_t *time);
/* Of several times of which the longest counts (a rest, a window): that one's place. */
const int64_t *plan_longest(const Duration *time);
void window_step(Step *step);
void observer_states(Observer *o, Arena *arena, uint32_t n);
#endif
