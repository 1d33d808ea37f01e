/* Lanes: copies of a workspace that compile tails of the same texts beside it, each in a thread of its own. They share nothing but the texts
   and what is only read; what they give lies in their own arenas, which the workspace keeps until its next compile. */
#include "workspace/lanes.h"
#include "workspace/library.h"
#include <pthread.h>
#include <string.h>

/* ---- opening ---- */

/* The same texts at the same places, so that a span says the same in all. */
static bool copy_texts(const SwWorkspace *from, SwWorkspace *lane) {
    for (uint32_t i = library_prepared.sources.n; i < from->sources.n; i++) {
        const Source *source = from->sources.at[i];
        if (!sw_set_text(lane, text_out(source->path), text_out(source->text))) return false;
    }
    return true;
}

static Unit *open_unit(const Unit *unit, SwWorkspace *lane) {
    SwGoal goal = unit->goal;
    goal.known = (SwText){0};
    goal.list_known = false;
    Unit *copy = unit_open(lane, &goal);
    if (setjmp(lane->exhausted)) return NULL;
    unit_read(copy, unit->paths, unit->n_paths);
    return copy->program ? copy : NULL;
}

static SwWorkspace *open_lane(const Unit *unit) {
    SwHost host = unit->workspace->host;
    host.read = NULL; /* all is read */
    SwWorkspace *lane = sw_open(&host);
    if (!lane) return NULL;
    if (copy_texts(unit->workspace, lane) && open_unit(unit, lane)) return lane;
    sw_close(lane);
    return NULL;
}

size_t lanes_open(Unit *unit, size_t wanted) {
    SwWorkspace *workspace = unit->workspace;
    workspace->lanes = ARENA_ARRAY(&unit->workspace->unit_arena, SwWorkspace *, wanted);
    while (workspace->n_lanes + 1 < wanted) {
        SwWorkspace *lane = open_lane(unit);
        if (!lane) break; /* no memory for one more: it goes slower */
        workspace->lanes[workspace->n_lanes++] = lane;
    }
    return workspace->n_lanes + 1;
}

void lanes_close(SwWorkspace *workspace) {
    for (size_t i = 0; i < workspace->n_lanes; i++) sw_close(workspace->lanes[i]);
    workspace->n_lanes = 0;
    workspace->lanes = NULL;
}

/* ---- running ---- */
typedef struct {
    pthread_mutex_t lock;
    const SwHost *host;
    LaneWork work;
    size_t next, done, n;
    bool exhausted;
} Queue;
typedef struct {
    Queue *queue;
    Unit *unit;
    pthread_t thread;
} Lane;

static bool take(Queue *queue, size_t *i) {
    pthread_mutex_lock(&queue->lock);
    bool more = queue->next < queue->n && !queue->exhausted;
    if (more) *i = queue->next++;
    pthread_mutex_unlock(&queue->lock);
    return more;
}

static void finish(Queue *queue) {
    pthread_mutex_lock(&queue->lock);
    queue->done++;
    if (queue->host->progress) queue->host->progress(queue->host->context, queue->done, queue->n);
    pthread_mutex_unlock(&queue->lock);
}

static void give_up(Queue *queue) {
    pthread_mutex_lock(&queue->lock);
    queue->exhausted = true;
    pthread_mutex_unlock(&queue->lock);
}

static void *work_on(void *context) {
    Lane *lane = context;
    Queue *queue = lane->queue;
    if (setjmp(lane->unit->workspace->exhausted)) {
        give_up(queue);
        return NULL;
    }
    for (size_t i; take(queue, &i);) {
        queue->work.each(queue->work.context, lane->unit, i);
        finish(queue);
    }
    return NULL;
}

/* A thread that cannot be had is one less; the last lane is the caller's own thread. */
static void run_threads(Lane *lanes, size_t n) {
    size_t started = 0;
    while (started + 1 < n && !pthread_create(&lanes[started].thread, NULL, work_on, &lanes[started])) started++;
    (void)work_on(&lanes[n - 1]);
    for (size_t i = 0; i < started; i++) pthread_join(lanes[i].thread, NULL);
}

void lanes_run(Unit *unit, LaneWork work, size_t n) {
    SwWorkspace *workspace = unit->workspace;
    Queue queue = {.lock = PTHREAD_MUTEX_INITIALIZER, .host = &workspace->host, .work = work, .n = n};
    size_t n_lanes = workspace->n_lanes + 1;
    jmp_buf outer;
    memcpy(&outer, &workspace->exhausted, sizeof outer);
    Lane *lanes = ARENA_ARRAY(unit->job.arena, Lane, n_lanes);
    for (size_t i = 0; i < n_lanes; i++)
        lanes[i] = (Lane){.queue = &queue, .unit = i + 1 < n_lanes ? workspace->lanes[i]->unit : unit};
    if (n) run_threads(lanes, n_lanes);
    memcpy(&workspace->exhausted, &outer, sizeof outer);
    if (queue.exhausted) longjmp(workspace->exhausted, 1);
}
