/* What the resolver makes of a source: for the text cases of tests/cases/sema-items.
   usage: tail_driver [--items | --rules | --model | --lowered] FILE…      without an option: the findings, one a line;
   --lowered: those of the model as well
   Library files come from the program; a neighbour is looked for beside the file that names it. */
#include "base/limits.h"
#include "front/front.h"
#include "sema/model.h"
#include "sema/program.h"
#include "workspace/library.h"
#include <stdio.h>

typedef struct {
    Job job;
    Arena arena;
    Names names;
    Sources sources;
    Findings findings;
    NameMap files;
} World;

static File *load_path(World *world, Str path) {
    Name name = name_intern(&world->names, path);
    File *known = map_get(&world->files, name);
    if (known) return known;
    Str text = {NULL, 0};
    bool library = false;
    for (size_t i = 0; i < library_file_count; i++) {
        if (!str_eq(str_of(library_files[i].path), path)) continue;
        text = (Str){library_files[i].text, library_files[i].len};
        library = true;
    }
    if (!library) {
        char c_path[4096];
        if (path.len >= sizeof c_path) return NULL;
        memcpy(c_path, path.ptr, path.len);
        c_path[path.len] = 0;
        FILE *in = fopen(c_path, "rb");
        if (!in) return NULL;
        Buf buf = {.arena = &world->arena};
        for (int c; (c = fgetc(in)) != EOF;) buf_char(&buf, (char)c);
        fclose(in);
        text = buf.len ? buf_view(&buf) : STR("");
    }
    File *file = parse_file(&world->job, source_add(&world->sources, name_text(&world->names, name), text, library));
    map_put(&world->files, name, file);
    return file;
}

static File *load(void *context, const File *from, const Decl *use) {
    World *world = context;
    Str path = name_text(&world->names, use->name.name);
    if (!use->path_is_text) return load_path(world, path);
    Str dir = from->source->path;
    while (dir.len && dir.ptr[dir.len - 1] != '/') dir.len--;
    return load_path(world, format_text(&world->arena, &world->names, "%S%S", dir, path));
}

static void put(Str text) {
    fwrite(text.ptr, 1, text.len, stdout);
}

static void line_of(World *world, Span span) {
    if (!span.hi) return;
    Position at = source_position(&world->sources, span.lo);
    if (at.source && at.source->library) printf("library:");
    printf("%u", at.line);
}

static void show_findings(World *world) {
    static const char *const words[] = {"note", "warning", "error", "undecided"};
    for (size_t i = 0; i < world->findings.list.n; i++) {
        const Finding *finding = world->findings.list.at[i];
        line_of(world, finding->span);
        printf(": %s: ", words[finding->severity]);
        put(finding->message);
        printf(" [%s]\n", finding_info[finding->kind].id);
        for (const Note *note = finding->notes; note; note = note->next) {
            printf("    ");
            line_of(world, note->span);
            printf(": ");
            put(note->text);
            printf("\n");
        }
    }
}

static void show_mask(World *world, const Tail *tail, uint32_t at, uint64_t mask) {
    const Fact *fact = &tail->facts[at];
    put(name_text(&world->names, fact->name));
    const char *joint = " ";
    for (uint32_t value = 0; value < fact->n_values; value++) {
        if (!(mask >> value & 1)) continue;
        printf("%s", joint);
        put(fact->value_names[value]);
        joint = "|";
    }
}

static void show_test(World *world, const Tail *tail, const Test *test) {
    static const char *const words[] = {
        [TEST_TRUE] = "always", [TEST_FALSE] = "never", [TEST_SAID] = "said", [TEST_UNDECIDED] = "undecided",
        [TEST_AND] = "and",     [TEST_OR] = "or",       [TEST_NOT] = "not",   [TEST_FOR] = "for"};
    if (test->kind == TEST_FACT) {
        show_mask(world, tail, test->fact, test->mask);
        return;
    }
    printf("%s", words[test->kind]);
    if (!test->parts) return;
    printf("(");
    for (const Test *part = test->parts; part; part = part->next) {
        show_test(world, tail, part);
        if (part->next) printf(", ");
    }
    printf(")");
}

static void show_items(World *world, const Tail *tail, const Item *item, int depth);

static void show_action(World *world, const Tail *tail, const ItemAction *action, int depth) {
    switch (action->kind) {
    case ACTION_NONE: printf("nothing\n"); return;
    case ACTION_TURN_TO:
        printf("turn to ");
        put(action->drill == NO_INDEX ? STR("?") : name_text(&world->names, tail->drills[action->drill].name));
        if (action->drill != NO_INDEX && tail->drills[action->drill].engine != NO_INDEX)
            printf(" of %u", tail->drills[action->drill].engine);
        printf("\n");
        return;
    case ACTION_END:
        printf("end ");
        put(name_text(&world->names, action->outcome));
        if (action->no_more_starts) printf(", no more starts");
        if (action->next_start.n) printf(", next start after %lld ms", (long long)action->next_start.cases[0].ms);
        if (action->again_at) {
            printf(", again at ");
            put(name_text(&world->names, action->again_at));
        }
        printf("\n");
        return;
    case ACTION_AGAIN:
        printf("again");
        if (action->after.n) printf(" after %lld ms", (long long)action->after.cases[0].ms);
        printf("\n");
        return;
    case ACTION_BLOCK:
        printf("block\n");
        show_items(world, tail, action->block, depth + 1);
        return;
    }
}

static void show_duration(const char *what, const Duration *duration) {
    for (uint32_t i = 0; i < duration->n; i++) printf("%s%lld ms", i ? " or " : what, (long long)duration->cases[i].ms);
}

static void show_item(World *world, const Tail *tail, const Item *item, int depth) {
    printf("%*s", depth * 2, "");
    put(item->id);
    if (item->kind == STMT_CASE) {
        printf(" case ");
        show_test(world, tail, item->cond);
    }
    if (item->label != NO_INDEX) {
        printf(" label ");
        put(name_text(&world->names, tail->facts[item->label].name));
    }
    if (item->implied) printf(" implied");
    if (item->inoperative) printf(" INOP");
    if (item->count) printf(" count %u", item->count);
    if (item->passes) printf(" passes %u", item->passes);
    if (item->person != NO_INDEX) {
        printf(" by ");
        put(name_text(&world->names, tail->things[item->person].name));
    }
    show_duration(" limit ", &item->limit);
    show_duration(" least ", &item->least);
    show_duration(" most ", &item->most);
    printf("\n");
    if (item->go) {
        printf("%*s> ", depth * 2, "");
        show_action(world, tail, item->go, depth);
    }
    show_items(world, tail, item->body, depth + 1);
    if (item->between) printf("%*sbetween\n", depth * 2, "");
    show_items(world, tail, item->between, depth + 1);
    for (const ItemOutcome *outcome = item->outcomes; outcome; outcome = outcome->next) {
        printf("%*s%s%s: ", depth * 2, "", outcome->cond ? "if" : "otherwise",
               outcome->inherited ? " (of the phase)" : "");
        show_action(world, tail, &outcome->action, depth);
    }
}

static void show_items(World *world, const Tail *tail, const Item *item, int depth) {
    for (; item; item = item->next) show_item(world, tail, item, depth);
}

static void show_dropped(Item **dropped, uint32_t n) {
    for (uint32_t i = 0; i < n; i++) {
        printf("  dropped: ");
        put(dropped[i]->id);
        printf("\n");
    }
}

static void show_tail(World *world, const Tail *tail) {
    for (uint32_t i = 0; i < tail->n_procedures; i++) {
        const Procedure *procedure = &tail->procedures[i];
        printf("procedure ");
        put(name_text(&world->names, procedure->name));
        for (uint32_t k = 0; k < procedure->n_drills; k++) {
            printf(k ? ", " : " drills ");
            put(name_text(&world->names, tail->drills[procedure->drills[k]].name));
        }
        printf("\n");
        show_items(world, tail, procedure->items, 1);
        show_dropped(procedure->dropped, procedure->n_dropped);
    }
    for (uint32_t i = 0; i < tail->n_drills; i++) {
        const Drill *drill = &tail->drills[i];
        printf("drill ");
        put(name_text(&world->names, drill->name));
        if (drill->engine != NO_INDEX) printf(" of %u", drill->engine);
        printf("\n");
        show_items(world, tail, drill->items, 1);
        show_dropped(drill->dropped, drill->n_dropped);
    }
}

static void show_seen(World *world, const Tail *tail, const Trigger *trigger) {
    for (; trigger; trigger = trigger->next) {
        if (trigger->kind != ON_SEEN) continue;
        printf(" (seen: ");
        show_mask(world, tail, trigger->fact, trigger->mask);
        printf(")");
    }
}

static void show_rules(World *world, const Tail *tail) {
    static const char *const severities[] = {"note", "should", "must", ""};
    for (uint32_t i = 0; i < tail->n_gates; i++) {
        const GateInstance *gate = &tail->gates[i];
        put(name_text(&world->names, gate->name));
        if (gate->engine != NO_INDEX) printf(" of %u", gate->engine);
        printf(" (%s): ", severities[gate->severity]);
        put(gate->in_words);
        show_seen(world, tail, gate->events);
        if (gate->standing != GATE_APPLIES) {
            printf(gate->standing == GATE_NOT_APPLICABLE ? " -- not applicable: " : " -- not decided: ");
            put(gate->why_not);
        }
        printf("\n");
    }
}

static void show_model(World *world, const Tail *tail) {
    Buf buf = {.arena = &world->arena};
    model_dump(&buf, &world->job, model_lower(&world->job, tail));
    put(buf_view(&buf));
}

/* Then all of the library's words are there, as in the program, but not its gates and standards: the cases are about their own. */
static bool uses_library(const File *file) {
    const Decl *decl = file->first;
    while (decl && (decl->kind != DECL_USE || decl->path_is_text)) decl = decl->next;
    return decl != NULL;
}

int main(int argc, char **argv) {
    static World world;
    const char *option = argc > 1 && argv[1][0] == '-' ? argv[1] : "";
    int first = option[0] ? 2 : 1;
    world.job = (Job){&world.arena, &world.names, &world.sources, &world.findings};
    world.sources.arena = world.findings.arena = world.files.arena = &world.arena;
    world.findings.names = &world.names;
    names_open(&world.names, &world.arena);
    File *files[64];
    size_t n = 0;
    for (int i = first; i < argc && n < 32; i++) {
        files[n] = load_path(&world, str_of(argv[i]));
        if (files[n]) n++;
    }
    bool library = false;
    for (size_t i = 0; i < n; i++) library = library || uses_library(files[i]);
    for (size_t i = 0; library && i < library_file_count && n < 64; i++)
        if (strncmp(library_files[i].path, "trade/gates/", 12) != 0 &&
            strncmp(library_files[i].path, "trade/standard/", 15) != 0)
            files[n++] = load_path(&world, str_of(library_files[i].path));
    Program *program = program_open(&world.job, files, n, (Loader){&world, load});
    for (size_t i = 0; i < program_tail_count(program); i++) {
        const Tail *tail = program_tail(&world.job, program, program_tail_decl(program, i));
        bool lowered = !strcmp(option, "--lowered");
        if (tail && lowered) (void)model_lower(&world.job, tail);
        if (!option[0] || lowered) continue;
        printf("== ");
        put(name_text(&world.names, program_tail_decl(program, i)->name.name));
        printf("\n");
        if (tail && !strcmp(option, "--items")) show_tail(&world, tail);
        if (tail && !strcmp(option, "--rules")) show_rules(&world, tail);
        if (tail && !strcmp(option, "--model")) show_model(&world, tail);
    }
    if (!option[0] || !strcmp(option, "--lowered")) show_findings(&world);
    return 0;
}
