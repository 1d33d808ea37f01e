/* Inside the workspace: what lives as long as it, and what lives for one compile. */
#ifndef WORKSPACE_WORKSPACE_H
#define WORKSPACE_WORKSPACE_H
#include "back/back.h"
#include "sema/program.h"
#include "workspace/startwright.h"

typedef struct {
    Tail *tail;
    Model *model;        /* NULL: errors stood before the proof */
    CheckResult *result; /* NULL likewise */
    Edition *editions;   /* one a document that names the tail; one of its own where none does */
    size_t n_editions;
    bool open; /* an error of it stands, or something of it is not decided */
} UnitTail;

typedef struct {
    SwUnit public; /* first: an SwUnit * is a Unit * */
    SwWorkspace *workspace;
    Job job;
    Findings findings;
    Findings proofs; /* what the proofs found; joins the others once it is known that the text has no error */
    size_t n_judged; /* findings looked at for errors of the text */
    bool text_wrong; /* some were */
    Program *program;
    VEC(File *) files; /* main files, then the library's gates */
    size_t n_main;
    VEC(UnitTail) tails; /* those of which outputs may be wanted */
    VEC(SwVerdict) verdicts;
    VEC(const Finding *) told; /* by verdict: its finding, or NULL */
    VEC(SwAssumption) assumptions;
    VEC(SwGate) gates;
    VEC(SwLine) lines;
    VEC(SwTextTime) text_times;
    struct UnitOutput {
        size_t tail, edition, back_end;
    } * outputs; /* beside public.outputs */
    SwGoal goal;
} Unit;

struct SwWorkspace {
    SwHost host;
    jmp_buf exhausted;
    Arena arena; /* the workspace's: names, sources */
    Arena unit_arena;
    Arena tail_arena; /* one tail, where nothing is needed of it once it is proved */
    CheckRoom *room;  /* in the workspace's arena; NULL until the first proof */
    Names names;
    Sources sources;
    NameMap texts; /* path -> Source, the newest text */
    Unit *unit;
};

/* files.c: texts by path, the library, `use`. */
const Source *workspace_source(SwWorkspace *workspace, Str path, Str *why_not);
File *library_file(Str path); /* NULL: no such file */
void unit_read_files(Unit *unit, const SwText *paths, size_t n_paths);
Loader unit_loader(Unit *unit);

/* editions.c: documents, revisions, approvals, waivers. */
void unit_make_editions(Unit *unit, const Decl *tail_decl, UnitTail *at);
void unit_apply_waivers(Unit *unit);
void unit_judge_tails(Unit *unit); /* which tails are open; before findings of several tails are joined */
void unit_list_outputs(Unit *unit);

/* ranks.c: severities of the program's own checks, as the standards have them. */
void unit_apply_ranks(Unit *unit);

/* known.c: lists of known findings. */
void unit_apply_known(Unit *unit); /* marks what stands in the list of the goal */
void unit_list_known(Unit *unit);  /* makes such a list of what is found */

/* publish.c: findings and verdicts in the public shape. */
/* Copies the verdicts of a tail, and what its findings, from the n-th of the proofs on, hold of it. */
void unit_publish_proof(Unit *unit, const UnitTail *at, size_t n);
void unit_publish_gates(Unit *unit, const Tail *tail);
void unit_drop_proofs(Unit *unit);
/* publish_lines.c */
/* `job`: where what is needed for it may be made. */
void unit_publish_lines(Unit *unit, const Tail *tail, const Job *job);
void unit_publish(Unit *unit);
Str text_in(SwText text);
SwText text_out(Str text);
#endif
