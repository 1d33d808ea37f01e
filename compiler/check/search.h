/* The explorer: breadth first over (place, facts, observer's state, zone), shortest paths first.
   takes   a Slice, an Observer (NULL: none, the first pass)
   gives   whether a run exists that drives the observer to bad, and the path of one with the fewest steps
   owns    everything in the Store's arena, used again by the next search
   never   looks at a gate's text */
#ifndef CHECK_SEARCH_H
#define CHECK_SEARCH_H
#include "check/check.h"
#include "check/slice.h"

/* ---- events: which edges count for which part of a rule ---- */
enum {
    ROLE_TRIGGER,
    ROLE_SINCE,
    ROLE_EVENT,
    ROLE_BEFORE,
    ROLE_STEP,
    ROLE_MOST = 32
}; /* the k-th step is ROLE_STEP + k */
#define ROLE_BIT(role) (UINT32_C(1) << (role))

typedef enum { WATCH_BECOMES, WATCH_LEAVES, WATCH_FOUND } WatchKind;
typedef struct {
    WatchKind kind;
    uint32_t role, fact;
    Lit lit;
} Watch; /* an event that depends on the facts before and after the edge */

typedef struct {
    uint32_t roles;   /* events that its marks make, whatever the facts */
    uint32_t entries; /* of these, those that are the entry into a drill or procedure */
    uint32_t count;   /* how often the trigger counts (strokes) */
    uint32_t first_watch, n_watches;
} EdgeEvents;

/* ---- observers ---- */
typedef struct Step Step;
typedef struct {
    bool clocked;  /* the observer's clock matters in this state */
    int32_t limit; /* bad as soon as the clock can pass it; < 0: none */
    int32_t cap;   /* runs in which the clock passes it are of no interest; < 0: none */
} ObserverState;

typedef struct Observer {
    void (*step)(Step *step);
    ObserverState *states; /* state 0 is the beginning */
    uint32_t n_states;
    int32_t lower, upper; /* largest numbers that its clock is tested against; -1: none */
    uint32_t scoped;      /* roles that only count where the rule is in force */
    uint32_t *event_of;   /* by edge: index into events, 0: none */
    EdgeEvents *events;
    uint32_t n_events;
    Watch *watches;
    const uint8_t *scope;  /* by place: SCOPE_* */
    const Formula *bad;    /* what must not be possible, where the rule has a condition */
    const Formula *state;  /* the state that is timed or counted by */
    const Formula **cases; /* which time holds: NULL where there is one */
    const int32_t *times;
    const Formula *any_case;
    uint32_t n_times, shortest;
    const int32_t *pause_lo, *pause_hi; /* after the k-th step, 0: before the first; lo < 0: none, hi < 0: no end */
    uint32_t n_steps;
    uint32_t most;
    int32_t *window; /* within which more than `most` are too many; NULL: another rule */
    bool first_only;
    bool begins_anew;     /* every beginning of a procedure puts it back to state 0 */
    const uint8_t *ahead; /* by place: AHEAD_*; NULL: not looked for */
    const struct DutyRule *duty;
    const Formula *const *at_place; /* by place: where a time of the text runs, NULL: not there */
} Observer;
/* An event of the rule may still come: at all; before the next beginning. */
enum { AHEAD_EVER = 1, AHEAD_SOON = 2 };
enum { SCOPE_WITHIN = 1, SCOPE_EXCEPTED = 2, SCOPE_JOINT = 4, SCOPE_END = 8, SCOPE_EXEMPT = 16 };

/* What one edge did, as the observer sees it. */
struct Step {
    struct Search *search;
    const Observer *observer;
    uint32_t state, edge, from, to;
    EdgeKind kind;
    bool over_duty;
    uint32_t roles, count;
    const uint64_t *before, *after;
};
typedef struct {
    uint32_t state;
    int32_t least, most; /* of the observer's clock at this moment; < 0: none */
    bool reset, bad;
} Move;
#define MOVE(next) ((Move){.state = (next), .least = -1, .most = -1})
void step_go(const Step *step, const uint64_t *after, Move move);
void step_tested(const Step *step); /* this edge puts the rule to the test */
/* Room for `n` sets of masks until scratch_give(mark). */
uint64_t *scratch_take(struct Search *search, uint32_t n, size_t *mark);
void scratch_give(struct Search *search, size_t mark);
uint32_t step_parts(const Step *step, const Formula *formula, const uint64_t *masks, bool holds, uint64_t **parts,
                    size_t *mark);

/* ---- the search ---- */
typedef struct {
    uint32_t bucket, zone, parent, edge, queued;
    uint32_t alike, hash; /* where listed: another node with the same hash of bucket and facts; NO_INDEX: none */
    int32_t least, most;
    uint8_t reset, still, gone, listed, bad,
        moved; /* moved: some edge leaves it; still: entered past a deadline, no time passes; gone: another node covers it */
} Node;
typedef struct {
    uint32_t place, state, hash;
    uint32_t page; /* the newest page of its nodes; NO_INDEX: none */
} Bucket;

/* Some of the nodes of a bucket: what is asked of all of them, their facts, lies close together. Only the newest page is not full. */
enum { PAGE_NODES = 6 };
typedef struct {
    uint32_t older, n, nodes[PAGE_NODES];
} Page;

/* What a step computes with: large, and written before it is read, so one for all searches of a store. */
typedef struct {
    Zone zone, work, arrived, bounded, told;
} WorkZones;

typedef struct {
    Arena *arena;
    Node *nodes;
    uint32_t n_nodes, cap_nodes;
    Bucket *buckets;
    uint32_t n_buckets, cap_buckets;
    Page *pages;
    uint32_t n_pages, cap_pages;
    uint64_t *page_masks; /* of the k-th node of page p: page_masks + (p * PAGE_NODES + k) * words */
    size_t cap_page_masks;
    uint64_t *masks; /* of node n: masks + n * words */
    size_t cap_masks;
    int32_t *zones;
    size_t n_zones, cap_zones;
    uint32_t *slots, slot_mask;
    uint32_t *node_slots, node_slot_mask; /* nodes of large buckets by hash: node + 1, linked by alike */
    uint32_t n_alike;                     /* how many stand in it */
    uint64_t *scratch;
    size_t cap_scratch;
    WorkZones *work; /* NULL until the first search */
} Store;

/* What a search that goes on from nodes of a broken path looks for: a step that keeps the rule. Runs that break it end. */
typedef struct Sought Sought;
struct Sought {
    bool (*is)(const Sought *sought, const Step *step, const Move *move);
    bool (*passes)(const Sought *sought, const Edge *edge); /* false: such edges are not gone */
};

typedef enum { SEARCH_HOLDS, SEARCH_BROKEN, SEARCH_BUDGET, SEARCH_STOPPED } SearchEnd;
/* Node.bad: the rule is broken by the edge, or by time that goes on in the place entered; or it is what was sought. */
enum { BAD_BY_EDGE = 1, BAD_BY_TIME, NOT_BAD_BUT_SOUGHT };
typedef struct Search {
    const Slice *slice;
    const Frame *frame;
    const Observer *observer;
    Store *store;
    CheckBudget budget;
    const Sought *sought; /* NULL: a break */
    uint32_t next;        /* the first node that was not gone on from, where that goes by the order of nodes */
    bool apart;           /* keeps nodes apart that together say the same: for paths that are told */
    bool narrows;         /* a window with too many is no end: from there on a shorter one is looked for */
    bool narrowed;        /* … and one was found: the observer's window is the longest that the nodes so far keep */
    bool sweeps;          /* see sweep.h: nodes are situations, whatever the place, at most 64 */
    uint64_t found;       /* those that the last step led to */
    uint64_t *edge_taken; /* sets of edges */
    uint64_t *out_taken;  /* by index into frame->out: edges taken at each place */
    uint64_t *edge_tested;
    uint64_t *place_seen;
    uint32_t *queued;     /* by place: the newest node still to be expanded, linked by queued; NO_INDEX: none */
    uint64_t *place_todo; /* set of places that have one */
    uint32_t first_todo;  /* no place of a word of it before this one has */
    uint32_t bad;         /* the node of the break */
    SearchEnd end;
    /* of the node that is being expanded */
    uint32_t node, place, state, here_dims;
    uint64_t here[MASK_WORDS], before[MASK_WORDS];
    uint8_t *clock_at;   /* by clock: its row, 0: not kept here */
    WorkZones *zones;    /* the store's */
    const Zone *guarded; /* the node's zone within the bounds of the edge */
    Move move;
    uint32_t edge, out_index;
    bool repeats; /* the edge does nothing here that it did not do from the node before */
    size_t scratch_used;
} Search;

/* The search goes on over sets of facts: nodes that differ in the values of one fact only are one node, so a path that is told must
   come from a search with `apart`. */
Search *search_new(Arena *arena, const Slice *slice, const Observer *observer, Store *store, CheckBudget budget);
SearchEnd search_run(Search *search);
/* After a run with `apart` that ended in a break: its nodes stay, but all are looked at afresh, on from those that search_from names. It
   ends with SEARCH_BROKEN where it found what is sought, which is then `bad`; else more nodes may be named. */
void search_again(Search *search, const Sought *sought, uint32_t more_zones);
SearchEnd search_from(Search *search, uint32_t node);
/* For a sweep: the first situations; one step of a situation from a place, by index into frame->out. */
void search_begin(Search *search);
void search_step(Search *search, uint32_t situation, uint32_t place, uint32_t out);
const uint64_t *node_masks(const Search *search, uint32_t node);
static inline const Bucket *node_bucket(const Search *search, uint32_t node) {
    return &search->store->buckets[search->store->nodes[node].bucket];
}
bool search_guard_fails(const Search *search, uint32_t node, uint32_t edge); /* its guard cannot hold there */
#endif
