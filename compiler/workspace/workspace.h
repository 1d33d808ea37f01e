/* Inside the workspace: what lives as long as it, and what lives for one compile. */
#ifndef WORKSPACE_WORKSPACE_H
#define WORKSPACE_WORKSPACE_H
#include "back/back.h"
#include "sema/program.h"
#include "workspace/startwright.h"

typedef struct UnitTail UnitTail;
typedef struct Unit Unit;

/* What compiling one tail gave. It lies in the arena of `lane`, the unit that compiled it: the one that was asked for, or a copy of it
   that works beside it (lanes.c). The tail and its model are made again where an output wants them (unit_make_tail), so that a fleet costs
   the memory of one. */
struct UnitTail {
    Str name;
    size_t index; /* of the program's tails */
    Unit *lane;
    uint64_t mark;    /* of all that its proof reads: tails with one key have one mark */
    Sha256Digest key; /* likewise; only where `keyed`: another has the same mark */
    bool keyed;
    const UnitTail *same; /* an earlier one with this key, whose proof holds for it; NULL: it has its own */
    Findings read, lowered, proofs;
    size_t n_proved;      /* of `proofs`: what the check itself found */
    bool proved, counted; /* counted: in what was looked at */
    bool open;            /* an error of it stands, or something of it is not decided */
    VEC(SwVerdict) verdicts;
    VEC(Finding *) told; /* by verdict: its finding, or NULL */
    VEC(SwAssumption) assumptions;
    VEC(SwTextTime) text_times;
    VEC(SwGate) gates;
    VEC(SwLine) lines;
    uint32_t n_procedures;
    CheckResult *kept; /* without its gates and findings; NULL where no output may be wanted */
    Edition *editions; /* one a document that names the tail; one of its own where none does */
    size_t n_editions;
    /* while it is at hand */
    Tail *tail;
    Model *model;
    CheckResult *result;
};

struct Unit {
    SwUnit public; /* first: an SwUnit * is a Unit * */
    SwWorkspace *workspace;
    Job job;
    Findings findings;
    Findings *told_of_editions; /* what the editions of the tail at hand tell */
    Program *program;
    VEC(File *) files; /* main files, then the library's gates */
    size_t n_main;
    VEC(const Source *) earlier; /* what was issued of revisions that documents follow */
    UnitTail *tails;             /* those asked for, in order */
    size_t n_tails;
    VEC(SwVerdict) verdicts;
    VEC(Finding *) told; /* by verdict: its finding, or NULL */
    VEC(SwAssumption) assumptions;
    VEC(SwGate) gates;
    VEC(SwLine) lines;
    VEC(SwTextTime) text_times;
    struct UnitOutput {
        size_t tail, edition, back_end;
    } * outputs; /* beside public.outputs */
    SwGoal goal;
    const SwText *paths; /* as given */
    size_t n_paths;
};

struct SwWorkspace {
    SwHost host;
    jmp_buf exhausted;
    Arena arena; /* the workspace's: names, sources */
    Arena unit_arena;
    Arena tail_arena;        /* one tail, while it is compiled or an output of it is made */
    const UnitTail *at_hand; /* that output's */
    CheckRoom *room;         /* in the workspace's arena; NULL until the first proof */
    Names names;
    Sources sources;
    NameMap texts; /* path -> Source, the newest text */
    Unit *unit;
    SwWorkspace **lanes; /* copies that compile other tails at the same time, until the next compile */
    size_t n_lanes;
};

/* files.c: texts by path, the library, `use`. */
const Source *workspace_source(SwWorkspace *workspace, Str path, Str *why_not);
File *library_file(Str path); /* NULL: no such file */
void unit_read_files(Unit *unit, const SwText *paths, size_t n_paths);
Loader unit_loader(Unit *unit);
/* A path as written in a file, from the root. False: it leads out of the project. */
bool unit_path(const Unit *unit, const Source *from, Str relative, Str *full);

/* tails.c: every tail, from its lines to its verdicts. */
void unit_compile_tails(Unit *unit);
/* Makes the tail and its model again, and its result fit to be printed, in the arena; they last as long as that. */
void unit_make_tail(UnitTail *at, Arena *arena);

/* workspace.c: one compile of a workspace. */
Unit *unit_open(SwWorkspace *workspace, const SwGoal *goal);
/* Parses the files and opens the program; without one, what they are is too broken to go on. */
void unit_read(Unit *unit, const SwText *paths, size_t n_paths);

/* editions.c: documents, revisions, approvals, waivers. */
/* Needs the tail; its model and result only where the code is wanted. */
void unit_make_editions(UnitTail *at, bool code);
bool unit_wants_codes(const Unit *unit);
void unit_judge_days(Unit *unit);  /* waivers and inoperative equipment, by the day of the goal */
void unit_judge_tails(Unit *unit); /* which tails are open; before findings of several tails are joined */
void unit_list_outputs(Unit *unit);
/* The tail's edition of the same document; n_editions: it has none. given: not of a tail that is held back either. */
size_t unit_edition(const Unit *unit, const UnitTail *tail, const Edition *like, bool given);
/* Whether a tail of which no editions were made would have one of that document. */
bool unit_may_have(const Unit *unit, const UnitTail *tail, const Edition *like);

/* earlier.c: what was issued of an earlier revision, which a document follows. */
/* Reads it for all tails of all documents, before lanes are opened, and tells where there is none. */
void unit_read_earlier(Unit *unit);
/* Puts it into the edition of one tail. */
void unit_find_earlier(const UnitTail *at, Edition *edition);

/* ranks.c: severities of the program's own checks, as the standards have them. */
void unit_apply_ranks(Unit *unit);

/* known.c: lists of known findings. */
void unit_apply_known(Unit *unit); /* marks what stands in the list of the goal */
void unit_list_known(Unit *unit);  /* makes such a list of what is found */

/* publish.c: findings and verdicts in the public shape. */
/* Copies the verdicts of a tail and what was found into the arena of its lane. */
void unit_publish_proof(UnitTail *at);
void unit_publish_gates(UnitTail *at);
/* Gathers what the tails gave. first_wrong: the first with an error of the text; read_whole: none of them shows one by its lines alone. */
void unit_collect(Unit *unit, size_t first_wrong, bool read_whole);
/* publish_lines.c */
/* `job`: where what is needed for it may be made. */
void unit_publish_lines(UnitTail *at, const Job *job);
void unit_publish(Unit *unit);
Str text_in(SwText text);
SwText text_out(Str text);
#endif
