/* Words, numbers, aircraft, conditions and events: each case is a small text and the findings it must give, as "LINE ID". The
   vocabulary stands in a file of its own, so that lines count from the first line of the case. */
#include "front/front.h"
#include "sema/craft.h"
#include "sema/program_parts.h"
#include "unit.h"

static const char vocabulary[] =
    "kind piston\nkind turbine\n"
    "control mixture each engine \"Mixture\" { RICH, LEAN, CUTOFF \"IDLE CUT-OFF\" stops engine }\n"
    "control throttle each engine \"Throttle\" { CLOSED, START, IDLE }\n"
    "control starter each engine \"Starter\" { RELEASED, ENGAGED turns engine }\n"
    "control master \"Master switch\" { OFF, ON powers starter }\n"
    "control ground-power \"External power\" { OFF, ON powers starter } if fitted\n"
    "control alternator each engine \"Alternator\" { OFF, ON powers starter }\n"
    "control avionics \"Avionics\" { OFF, ON } if fitted\n"
    "control primer \"Primer\" { LOCKED, STROKES counted } if fitted\n"
    "gauge oat \"Outside air\" degC\n"
    "gauge tach each engine \"Engine speed\" rpm\n"
    "gauge oil-pressure each engine \"Oil pressure\" psi\n"
    "light starter-light \"Starter light\" if fitted\n"
    "scene daylight \"Daylight\" { DAY, NIGHT }\n"
    "scene prop-area \"Area around the propeller\" { CLEAR, OCCUPIED }\n"
    "call clear each engine \"CLEAR {engine} PROP!\" { CLEAR \"Clear\", NOT-CLEAR \"Not clear\" }\n"
    "briefing passengers \"Passengers\" { \"Belts.\" }\n"
    "source poh \"Handbook\" edition \"1\"\n"
    "state cranking means starter ENGAGED\n"
    "event crank-start means starter becomes ENGAGED\n";

typedef struct {
    Arena arena;
    Names names;
    Sources sources;
    Findings findings;
    Job job;
    Program *program;
    Resolver *r;
    File *library, *second;
} Bench;

static File *bench_parse(Bench *bench, const char *path, const char *text, bool library) {
    return parse_file(&bench->job, source_add(&bench->sources, str_of(path), str_of(text), library));
}

static File *bench_load(void *context, const File *from, const Decl *use) {
    Bench *bench = context;
    (void)from;
    return use->path_is_text ? bench->second : bench->library;
}

static void bench_start(Bench *bench) {
    memset(bench, 0, sizeof *bench);
    names_open(&bench->names, &bench->arena);
    bench->sources.arena = bench->findings.arena = &bench->arena;
    bench->findings.names = &bench->names;
    bench->job = (Job){&bench->arena, &bench->names, &bench->sources, &bench->findings};
    bench->library = bench_parse(bench, "library", vocabulary, true);
    assert_int_equal(bench->findings.list.n, 0);
}

static void bench_open(Bench *bench, const char *second, const char *text) {
    bench_start(bench);
    if (second) bench->second = bench_parse(bench, "second.start", second, false);
    Str first =
        format_text(&bench->arena, &bench->names, "use library %s%s", second ? "\nuse \"second.start\"\n" : "\n", text);
    Buf terminated = {.arena = &bench->arena};
    buf_str(&terminated, first);
    buf_char(&terminated, '\0');
    File *main_file = bench_parse(bench, "main.start", terminated.ptr, false);
    bench->program = program_open(&bench->job, &main_file, 1, (Loader){bench, bench_load});
}

/* One tail as far as this half of the resolver makes it, with every state and event of the program. */
static Tail *bench_tail(Bench *bench, size_t index) {
    Program *program = bench->program;
    Resolver *r = bench->r = ARENA_NEW(&bench->arena, Resolver);
    r->job = &bench->job;
    r->program = program;
    r->tail = ARENA_NEW(&bench->arena, Tail);
    if (!craft_resolve(r, program_tail_decl(program, index))) return NULL;
    items_resolve(r);
    for (size_t i = 0; i < program->all[DECL_STATE].n; i++) {
        const Decl *state = program->all[DECL_STATE].at[i];
        const Scene scene = {.engine = r->tail->n_engines == 1 ? 0 : NO_INDEX, .home = state};
        if (!program_in_library(program, state)) (void)resolve_test(r, state->u.cond, &scene);
    }
    for (size_t i = 0; i < program->all[DECL_EVENT].n; i++) {
        const Decl *event = program->all[DECL_EVENT].at[i];
        const Scene scene = {.engine = r->tail->n_engines == 1 ? 0 : NO_INDEX, .home = event};
        if (!program_in_library(program, event)) (void)resolve_trigger(r, event->u.event, &scene);
    }
    gauges_finish(r);
    return r->tail;
}

static void bench_end(Bench *bench) {
    arena_free(&bench->arena);
}

/* "3 name-unknown, 5 dimension": in the order reported; lines of the case's own text. */
static Str bench_found(Bench *bench, uint32_t skip) {
    Buf found = {.arena = &bench->arena};
    for (size_t i = 0; i < bench->findings.list.n; i++) {
        const Finding *finding = bench->findings.list.at[i];
        Position position = source_position(&bench->sources, finding->span.lo);
        if (found.len) buf_text(&found, ", ");
        if (position.source && !str_eq(position.source->path, STR("main.start"))) {
            buf_str(&found, position.source->path);
            buf_char(&found, ':');
            skip = 0;
        }
        buf_uint(&found, position.line - skip);
        buf_char(&found, ' ');
        buf_text(&found, finding_info[finding->kind].id);
    }
    return buf_view(&found);
}

typedef struct {
    const char *title, *text, *expected, *second;
} Case;

#define M "aircraft m \"M\" {\n"
static const Case cases[] = {
    {"a plain aircraft is silent",
     M "kind piston\nfitted avionics, starter-light\nnot fitted primer, ground-power\n}\n", "", NULL},
    /* names */
    {"a thing twice", "control avionics \"A\" { OFF, ON }\n" M "}\n", "1 name-twice", NULL},
    {"engine is built in", "control engine \"E\" { OFF, ON }\n" M "}\n", "1 name-twice", NULL},
    {"a state and a kind share a space", "state piston means master ON\n" M "}\n", "1 name-twice", NULL},
    {"a name in two files", "scene gate \"G\" { OPEN, SHUT }\n" M "}\n", "1 name-twice",
     "scene gate \"G\" { OPEN, SHUT }\n"},
    {"two aircraft of one name", M "}\n" M "}\n", "3 name-twice", NULL},
    {"a misspelt kind", M "kind pistn\n}\n", "2 name-unknown", NULL},
    {"misspelt equipment", M "fitted avionisc\n}\n", "2 name-unknown", NULL},
    {"an unknown name once only", "state s means maser ON\nstate t means maser OFF\n" M "}\n", "1 name-unknown", NULL},
    {"a name of another kind", M "kind poh\n}\n", "2 name-other", NULL},
    {"an unknown source", M "value x 3 s from phh 1-1\n}\n", "2 name-unknown", NULL},
    {"a tail of nothing", M "}\ntail t \"T\" is mm { }\n", "3 name-unknown", NULL},
    {"tails derived from themselves", M "}\ntail a \"A\" is b { }\ntail b \"B\" is a { }\n", "3 name-circle", NULL},
    {"states in a circle", "state a means b\nstate b means not a\n" M "}\n", "2 name-circle", NULL},
    {"events in a circle", "event a means b\nevent b means a or crank-start\n" M "}\n", "2 name-circle", NULL},
    {"a state is no circle when it is named twice",
     "state a means cranking\nstate b means a or (a and master ON)\n" M "}\n", "", NULL},
    {"a document for nobody", M "}\ndocument d \"D\" {\nfor mm\n}\n", "4 name-unknown", NULL},
    {"a fleet with an unknown tail", M "}\nfleet f { m2 }\n", "3 name-unknown", NULL},
    {"a waiver of no gate", M "}\nwaive g at x on m until 2031-01-01 because \"b\" by \"B\"\n", "3 name-unknown", NULL},
    {"a rank that is none", M "}\nstandard s \"S\" {\nrank name-twice as shall\n}\n", "4 name-unknown", NULL},
    /* things */
    {"a position twice", "control a \"A\" { ON, OFF, ON }\n" M "}\n", "1 position-twice", NULL},
    {"no positions", "control a \"A\" { }\n" M "}\n", "1 no-positions", NULL},
    {"powers nothing known", "control a \"A\" { OFF, ON powers startr }\n" M "}\n", "1 name-unknown", NULL},
    {"powers the engine", "control a \"A\" { OFF, ON powers engine }\n" M "}\n", "1 effect-wrong", NULL},
    {"stops no engine", "control a \"A\" { OFF, ON stops mixture }\n" M "}\n", "1 effect-wrong", NULL},
    {"a scene stops nothing", "scene a \"A\" { OFF, ON stops engine }\n" M "}\n", "1 effect-wrong", NULL},
    {"an unknown unit of a gauge", "gauge g \"G\" psii\n" M "}\n", "1 unit-unknown", NULL},
    {"an unknown position", "state s means mixture RICHH\n" M "}\n", "1 position-unknown", NULL},
    {"a thing without its position", "state s means mixture\n" M "}\n", "1 thing-alone", NULL},
    {"nothing powers it", "state s means master UNPOWERED\n" M "}\n", "1 nothing-powers", NULL},
    /* equipment */
    {"fitted and not fitted", M "fitted avionics\nnot fitted avionics\n}\n", "3 fitted-both", NULL},
    {"a tail may differ", M "fitted avionics\n}\ntail t \"T\" is m { not fitted avionics }\n", "", NULL},
    {"what everybody has", M "not fitted mixture\n}\n", "2 fitted-always", NULL},
    {"inoperative, but not there",
     M "not fitted avionics\ninoperative avionics until 2031-01-01 because \"b\" by \"B\"\n}\n",
     "3 inoperative-unfitted", NULL},
    /* engines */
    {"an engine twice", M "engines left, left\n}\n", "2 engines-wrong", NULL},
    {"which engine", "state s means mixture RICH\n" M "engines left, right\n}\n", "1 engine-not-chosen", NULL},
    {"a named engine", "state s means left.mixture RICH and right.engine STOPPED\n" M "engines left, right\n}\n", "",
     NULL},
    {"an engine it has not", "state s means lefft.mixture RICH\n" M "engines left, right\n}\n", "1 engine-unknown",
     NULL},
    {"one engine is not named", "state s means left.mixture RICH\n" M "}\n", "1 engine-unknown", NULL},
    {"one for the whole aircraft", "state s means left.master ON\n" M "engines left, right\n}\n", "1 engine-unknown",
     NULL},
    /* numbers */
    {"a wrong unit for a gauge", M "band tach idle 800..1000 psi\n}\n", "2 dimension", NULL},
    {"absolute is not gauge pressure", M "band oil-pressure limit 25..115 psia\n}\n", "2 dimension", NULL},
    {"a range backwards", M "band tach idle 1000..800 rpm\n}\n", "2 range-reversed", NULL},
    {"too many digits", M "value x 1234567890123456789 s\n}\n", "2 number-long", NULL},
    {"a unit that is none", M "value x 5 sces\n}\n", "2 unit-unknown", NULL},
    {"finer than a millisecond", M "value x 0.0001 s\nduty starter up to x on\n}\n", "2 time-impossible", NULL},
    {"a band of no gauge", M "band mixture idle at least 3 psi\n}\n", "2 not-a-gauge", NULL},
    {"a band named like a trend", M "band oat rising at least 3 degC\n}\n", "2 band-name", NULL},
    {"normal outside the limit", M "band oil-pressure limit 25..115 psi, normal 20..90 psi\n}\n",
     "2 band-outside-limit", NULL},
    {"a unit copied with the wrong number", M "band oil-pressure limit 25..115 psi, rise at least 172 psi\n}\n",
     "2 band-outside-limit", NULL},
    {"a rise from the limit on",
     M "band oil-pressure limit 25..115 psi, rise at least 25 psi, normal at least 60 psi\n}\n", "", NULL},
    {"below the limit on purpose", M "band oil-pressure limit 25..115 psi, too-low at most 24 psi\n}\n", "", NULL},
    {"two units for one gauge", M "band oil-pressure limit 25..115 psi, low at most 20 kPa\n}\n", "2 two-units", NULL},
    {"an unknown band", "state s means tach idel\n" M "band tach idle 800..1000 rpm\n}\n", "1 band-unknown", NULL},
    {"a joining word as a band", "state s means tach wihtin\n" M "band tach idle 800..1000 rpm\n}\n", "1 band-unknown",
     NULL},
    {"a band of a lever", "state s means mixture normal\n" M "}\n", "1 not-a-gauge", NULL},
    {"compared with a time", "state s means oat below 5 s\n" M "}\n", "1 dimension", NULL},
    {"compared with a value of another kind", "state s means oat below x\n" M "value x 3 s\n}\n", "1 dimension", NULL},
    {"compared with a value nobody gives", "state s means oat below frost\n" M "}\n", "1 value-unknown", NULL},
    /* cases */
    {"every case once", M "value x 3 s when oat below 0 degC\nvalue x 5 s when oat at least 0 degC\n}\n", "", NULL},
    {"a case left out", M "value x 3 s when oat below -1 degC\nvalue x 5 s when oat at least 0 degC\n}\n",
     "2 case-missing", NULL},
    {"a case twice", M "value x 3 s when oat at most 0 degC\nvalue x 5 s when oat at least 0 degC\n}\n", "3 case-twice",
     NULL},
    {"two things make four cases",
     M "value x 3 s when daylight DAY and oat below 0 degC\nvalue x 5 s when daylight NIGHT\n}\n", "2 case-missing",
     NULL},
    {"given twice without a case", M "value x 3 s\nvalue x 4 s\n}\n", "3 case-twice", NULL},
    {"bands with cases",
     M "band tach idle 800..900 rpm when oat below 0 degC\nband tach idle 700..800 rpm when oat above 0 degC\n}\n",
     "2 case-missing", NULL},
    {"a duty for what is not fitted", M "not fitted ground-power\nduty starter up to 10 s on when ground-power ON\n}\n",
     "3 case-missing", NULL},
    {"a tail's lines replace all",
     M
     "value x 3 s when oat below 0 degC\nvalue x 5 s when oat at least 0 degC\n}\ntail t \"T\" is m { value x 4 s }\n",
     "", NULL},
    /* duty */
    {"the usual duty",
     M "duty starter up to 10 s on, 20 s rest, 3 tries, then 10 min rest\nduty starter at most 8 in 60 min\n}\n", "",
     NULL},
    {"falling on-times",
     M "duty starter up to 70 s on, 2 min rest, up to 50 s on, 5 min rest, up to 30 s on, then 30 min rest\n}\n", "",
     NULL},
    {"no rest between", M "duty starter up to 10 s on, up to 20 s on\n}\n", "2 duty-shape", NULL},
    {"a rest first", M "duty starter 20 s rest\n}\n", "2 duty-shape", NULL},
    {"tries of nothing", M "duty starter 3 tries\n}\n", "2 duty-shape", NULL},
    {"a long rest after how many", M "duty starter up to 10 s on, 20 s rest, then 10 min rest\n}\n", "2 duty-shape",
     NULL},
    {"a long rest that is short", M "duty starter up to 10 s on, 20 min rest, 3 tries, then 10 min rest\n}\n",
     "2 duty-shape", NULL},
    {"a duty of a gauge", M "duty tach up to 10 s on\n}\n", "2 duty-shape", NULL},
    {"a pace of nothing", M "pace each item at most 0 s\n}\n", "2 time-impossible", NULL},
    {"print of no position", M "print throttle STRAT \"x\"\n}\n", "2 position-unknown", NULL},
    /* conditions and events */
    {"a text outside a cue", "state s means \"smoke\"\n" M "}\n", "1 only-in-cue", NULL},
    {"for outside a cue", "state s means engine RUNNING for 3 s\n" M "}\n", "1 only-in-cue", NULL},
    {"an unknown state", "state s means crankin\n" M "}\n", "1 name-unknown", NULL},
    {"a gauge becomes nothing", "event e means oat becomes ON\n" M "}\n", "1 event-impossible", NULL},
    {"a scene is not set", "event e means set daylight DAY\n" M "}\n", "1 event-impossible", NULL},
    {"a lever is not looked at", "event e means look mixture RICH\n" M "}\n", "1 event-impossible", NULL},
    {"a lever does not answer", "event e means mixture answered RICH\n" M "}\n", "1 event-impossible", NULL},
    {"a thing alone is no event", "event e means daylight\n" M "}\n", "1 event-impossible", NULL},
    {"an unknown event", "event e means crank-strat\n" M "}\n", "1 name-unknown", NULL},
    {"a briefing is not called", "event e means call passengers\n" M "}\n", "1 event-impossible", NULL},
    {"a band that varies cannot be seen",
     "event e means tach seen idle\n" M
     "band tach idle 800..900 rpm when daylight DAY\nband tach idle 700..900 rpm when daylight NIGHT\n}\n",
     "1 band-varies", NULL},
};

static bool run_case(const Case *item) {
    Bench bench;
    bench_open(&bench, item->second, item->text);
    for (size_t i = 0; i < program_tail_count(bench.program); i++) (void)bench_tail(&bench, i);
    Str found = bench_found(&bench, item->second ? 2 : 1);
    bool good = str_eq(found, str_of(item->expected));
    if (!good)
        print_error("%s:\n  expected: %s\n  found:    %.*s\n", item->title, item->expected, (int)found.len, found.ptr);
    bench_end(&bench);
    return good;
}

static void test_cases(void **state) {
    (void)state;
    size_t bad = 0;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) bad += !run_case(&cases[i]);
    assert_int_equal(bad, 0);
}

/* The whole way, with items and gates: what only shows there. */
static const Case whole_cases[] = {
    {"a slip in a state that nothing uses", "state s means mixture RICHH\n" M "}\n", "1 position-unknown", NULL},
    {"a label of another aircraft is no slip",
     M "}\naircraft n \"N\" {\n}\nprocedure p \"P\" for n {\nphase a \"A\" {\ndone: set master ON\n}\nend "
       "RUNNING\n}\nstate s means done\n",
     "", NULL},
    {"a number in a text",
     M "}\nprocedure p \"P\" for m {\nphase a \"A\" {\nplain \"Wait\" \"25 SECONDS\"\n}\nend RUNNING\n}\n",
     "5 value-unit-range", NULL},
    {"a key is no number",
     M "}\nprocedure p \"P\" for m {\nphase a \"A\" {\nplain \"Page QM-3, 4-8\" \"{25 s}\"\n}\nend RUNNING\n}\n", "",
     NULL},
    {"a hole that names nothing",
     M "}\nprocedure p \"P\" for m {\nphase a \"A\" {\nplain \"Wait\" \"{lag}\"\n}\nend RUNNING\n}\n",
     "5 value-unknown", NULL},
    {"an engine in a text on a twin",
     M "engines left, right\n}\nprocedure p \"P\" for m {\nphase a \"A\" {\nplain \"{engine}\" \"OUT\"\n}\nend "
       "RUNNING\n}\n",
     "6 engine-not-chosen", NULL},
};

static void test_whole(void **state) {
    (void)state;
    size_t bad = 0;
    for (size_t i = 0; i < sizeof whole_cases / sizeof *whole_cases; i++) {
        Bench bench;
        bench_open(&bench, whole_cases[i].second, whole_cases[i].text);
        for (size_t t = 0; t < program_tail_count(bench.program); t++)
            (void)program_tail(&bench.job, bench.program, program_tail_decl(bench.program, t));
        Str found = bench_found(&bench, 1);
        if (!str_eq(found, str_of(whole_cases[i].expected))) {
            print_error("%s:\n  expected: %s\n  found:    %.*s\n", whole_cases[i].title, whole_cases[i].expected,
                        (int)found.len, found.ptr);
            bad++;
        }
        bench_end(&bench);
    }
    assert_int_equal(bad, 0);
}

/* ---- what is made ---- */

static Name word(Bench *bench, const char *text) {
    return name_intern(&bench->names, str_of(text));
}

static const Fact *fact_called(Bench *bench, const char *name) {
    for (size_t i = 0; i < bench->r->facts.n; i++)
        if (bench->r->facts.at[i].name == word(bench, name)) return &bench->r->facts.at[i];
    fail_msg("no fact %s", name);
    return NULL;
}

static void test_circle_of_files(void **state) {
    (void)state;
    Bench bench;
    bench_start(&bench);
    File *first = bench_parse(&bench, "main.start", "use \"second.start\"\n", false);
    bench.second = first; /* whatever is used is the first file again */
    bench.program = program_open(&bench.job, &first, 1, (Loader){&bench, bench_load});
    assert_int_equal(bench.findings.list.n, 1);
    assert_int_equal(bench.findings.list.at[0]->kind, FINDING_USE_CIRCLE);
    bench_end(&bench);
}

static void test_inheritance(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, NULL,
               M "kind piston\nfitted avionics\nnot fitted primer\nduty starter up to 10 s on, 20 s rest, 3 tries, "
                 "then 10 min rest\n"
                 "duty starter at most 8 in 60 min\nvalue run-down 8 s\nvalue x 1 s\nband tach idle 800..1000 rpm, "
                 "racing at least 1001 rpm\n"
                 "print throttle START \"OPEN {6 mm}\"\nprint throttle IDLE \"SHUT\"\npace each item at most 8 s\n}\n"
                 "tail a \"A\" is m {\nfitted ground-power\nduty starter up to 5 s on\nvalue run-down 9 s when oat "
                 "below 0 degC\nvalue run-down 7 s when oat at least 0 degC\n}\n"
                 "tail b \"B\" is a {\nnot fitted avionics\nband tach idle 700..900 rpm\nprint throttle IDLE \"CLOSED "
                 "STOP\"\n}\n");
    assert_int_equal(program_tail_count(bench.program), 2);
    Tail *tail = bench_tail(&bench, 1);
    assert_int_equal(bench.findings.list.n, 0);
    assert_true(str_eq(name_text(&bench.names, tail->aircraft->name.name), STR("m")));
    assert_int_equal(first_instance(bench.r, word(&bench, "avionics"))->fitted, FITTED_NO);
    assert_int_equal(first_instance(bench.r, word(&bench, "primer"))->fitted, FITTED_NO);
    assert_int_equal(first_instance(bench.r, word(&bench, "ground-power"))->fitted, FITTED_YES);
    assert_int_equal(first_instance(bench.r, word(&bench, "starter-light"))->fitted, FITTED_UNDECIDED);
    assert_int_equal(tail->n_duties, 1);
    assert_int_equal(tail->duties[0].n_lines, 1);
    assert_int_equal(tail->duties[0].n_windows, 0); /* all lines of the aircraft for that name are gone */
    assert_int_equal(tail->duties[0].lines[0].on_ms[0], 5000);
    assert_int_equal(tail->duties[0].engaged, 2);
    assert_int_equal(tail->run_down_ms[0], 9000);
    assert_int_equal(tail->pace_ms, 8000);
    assert_int_equal(first_instance(bench.r, word(&bench, "tach"))->n_bands, 1);
    const Thing *throttle = first_instance(bench.r, word(&bench, "throttle"));
    assert_true(str_eq(throttle->positions[1].print, STR("OPEN 6 mm")));
    assert_true(str_eq(throttle->positions[2].print, STR("CLOSED STOP")));
    assert_true(fact_called(&bench, "oat")->frozen);
    assert_int_equal(fact_called(&bench, "oat")->n_values, 2);
    bench_end(&bench);
}

static void test_steps(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, NULL,
               "state a means tach 800..1000 rpm\nstate b means tach above 1000 rpm\nstate c means tach below 800 "
               "rpm\nstate d means tach at least 1001 rpm\n"
               "state all means a or b or c or d\n" /* so that each is kept under its name */
               M "}\n");
    (void)bench_tail(&bench, 0);
    const Fact *tach = fact_called(&bench, "tach");
    static const char *const names[] = {"below 800 rpm", "800..1000 rpm", "above 1000 rpm and below 1001 rpm",
                                        "at least 1001 rpm"};
    assert_int_equal(tach->n_values, 4);
    for (uint32_t i = 0; i < 4; i++) assert_true(str_eq(tach->value_names[i], str_of(names[i])));
    static const struct {
        const char *state;
        uint64_t mask;
    } masks[] = {{"a", 2}, {"b", 12}, {"c", 1}, {"d", 8}};
    for (size_t i = 0; i < 4; i++) {
        const StateEntry *entry = map_get(&bench.r->scratch->states[0][0], word(&bench, masks[i].state));
        assert_non_null(entry);
        assert_int_equal(entry->test->mask, masks[i].mask);
    }
    bench_end(&bench);
}

/* The shape of a condition on one tail: "and(master|OFF alternator|OFF)". */
static void put_test(Bench *bench, Buf *buf, const Test *test) {
    static const char *const kinds[] = {"true", "false", "", "and", "or", "not", "for", "said", "undecided"};
    buf_text(buf, kinds[test->kind]);
    if (test->kind == TEST_FACT) {
        const Fact *fact = &bench->r->facts.at[test->fact];
        buf_str(buf, name_text(&bench->names, fact->name));
        for (uint32_t i = 0; i < fact->n_values; i++)
            if (test->mask >> i & 1) {
                buf_char(buf, '|');
                buf_str(buf, fact->value_names[i]);
            }
    }
    if (test->missing) buf_format(buf, &bench->names, " %N", test->missing);
    if (!test->parts) return;
    buf_char(buf, '(');
    for (const Test *part = test->parts; part; part = part->next) {
        if (part != test->parts) buf_char(buf, ' ');
        put_test(bench, buf, part);
    }
    buf_char(buf, ')');
}

static const struct {
    const char *craft, *cond, *expected;
    bool cue;
} conditions[] = {
    {"not fitted ground-power", "starter UNPOWERED", "and(master|OFF alternator|OFF)", false},
    {"fitted ground-power", "starter UNPOWERED", "and(master|OFF ground-power|OFF alternator|OFF)", false},
    {"", "starter UNPOWERED", "undecided ground-power", false},
    {"not fitted avionics", "avionics ON", "false avionics", false},
    {"not fitted avionics", "avionics ON or master ON", "master|ON", false},
    {"not fitted avionics", "not (avionics ON)", "true", false},
    {"", "avionics ON and master ON", "undecided avionics", false},
    {"", "fitted avionics", "undecided avionics", false},
    {"fitted avionics", "fitted avionics and avionics is not ON", "not(avionics|ON)", false},
    {"fitted starter-light\ninoperative starter-light until 2031-01-01 because \"b\" by \"B\"", "starter-light ON",
     "undecided starter-light", false},
    {"kind piston", "piston and not turbine", "true", false},
    {"", "engine RUNNING", "engine|RUNNING|RUNNING", false},
    {"", "engine STOPPED or engine TURNING", "or(engine|STOPPED engine|TURNING)", false},
    {"", "clear NOT-CLEAR", "clear answer|NOT-CLEAR", false},
    {"", "throttle HELD", "throttle held|HELD", false},
    {"", "watching tach and tach rising", "and(tach watched|YES tach trend|rising)", false},
    {"", "other.starter RELEASED", "false other starter", false},
    {"", "\"smoke\" or master ON for 3 s", "or(said for(and(master|ON)))", true},
    {"value lag 5 s", "master ON for lag", "for(and(master|ON))", true},
    {"value frost 0 degC", "oat below frost", "oat|below 0 degC", false},
    {"", "oil-pressure normal", "undecided oil-pressure normal", false},
};

static void test_conditions(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof conditions / sizeof *conditions; i++) {
        Bench bench;
        bench_start(&bench);
        Buf source = {.arena = &bench.arena};
        buf_format(&source, &bench.names,
                   "use library\n" M "%s\n}\ndrill d \"D\" {\ncue %s\nset master OFF\nend ABANDONED\n}\n",
                   conditions[i].craft, conditions[i].cond);
        buf_char(&source, '\0');
        File *main_file = bench_parse(&bench, "main.start", source.ptr, false);
        bench.program = program_open(&bench.job, &main_file, 1, (Loader){&bench, bench_load});
        const Decl *drill = program_find(bench.program, DECL_DRILL, word(&bench, "d"));
        assert_non_null(drill);
        Resolver *r = bench.r = ARENA_NEW(&bench.arena, Resolver);
        *r = (Resolver){.job = &bench.job, .program = bench.program, .tail = ARENA_NEW(&bench.arena, Tail)};
        assert_true(craft_resolve(r, program_tail_decl(bench.program, 0)));
        const Scene scene = {.engine = 0, .in_cue = conditions[i].cue, .home = drill};
        const Test *test = resolve_test(r, drill->u.parts->cond, &scene);
        gauges_finish(r);
        Buf shape = {.arena = &bench.arena};
        put_test(&bench, &shape, test);
        if (!str_eq(buf_view(&shape), str_of(conditions[i].expected)))
            fail_msg("%s: expected %s, found %.*s", conditions[i].cond, conditions[i].expected, (int)shape.len,
                     shape.ptr);
        bench_end(&bench);
    }
}

static void test_suggestions(void **state) {
    (void)state;
    Bench bench;
    bench_open(&bench, NULL, "state s means mixture RICHH\n" M "kind pistn\n}\n");
    (void)bench_tail(&bench, 0);
    assert_int_equal(bench.findings.list.n, 2);
    assert_true(str_eq(bench.findings.list.at[0]->fixes->text, STR("piston")));
    assert_true(str_eq(bench.findings.list.at[1]->fixes->text, STR("RICH")));
    bench_end(&bench);
}

/* A state that doubles itself through forty others must stay small. */
static void test_doubling(void **state) {
    (void)state;
    Bench bench;
    bench_start(&bench);
    Buf text = {.arena = &bench.arena};
    buf_text(&text, "use library\nstate s0 means master ON\n");
    for (uint64_t i = 1; i <= 40; i++)
        buf_format(&text, &bench.names, "state s%u means s%u and not s%u\n", i, i - 1, i - 1);
    buf_text(&text, M "}\n");
    buf_char(&text, '\0');
    File *main_file = bench_parse(&bench, "main.start", text.ptr, false);
    bench.program = program_open(&bench.job, &main_file, 1, (Loader){&bench, bench_load});
    (void)bench_tail(&bench, 0);
    assert_true(bench.findings.list.n >= 1);
    assert_int_equal(bench.findings.list.at[0]->kind, FINDING_CONDITION_LARGE);
    bench_end(&bench);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cases),    cmocka_unit_test(test_circle_of_files), cmocka_unit_test(test_inheritance),
        cmocka_unit_test(test_steps),    cmocka_unit_test(test_conditions),      cmocka_unit_test(test_suggestions),
        cmocka_unit_test(test_doubling), cmocka_unit_test(test_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
