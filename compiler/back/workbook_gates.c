/* The sheets of rules: each gate of each tail with its verdict; the paths on which gates are broken, told as steps; what proofs take for
   granted; what the times of proved rules have to spare. */
#include "back/workbook.h"
#include "front/front.h"

/* ---- gates ---- */
enum {
    GATE_TAIL,
    GATE_NAME,
    GATE_TITLE,
    GATE_VERDICT,
    GATE_RULE,
    GATE_WHY,
    GATE_TESTS,
    GATE_POINTS,
    GATE_LEANS,
    GATE_PATH,
    GATE_RANK,
    GATE_SOURCE,
    GATE_BECAUSE,
    GATE_COLUMNS
};

static const BookMark verdict_marks[] = {{BOOK_IS, TONE_ALARM, "broken", NULL, 0},
                                         {BOOK_BEGINS, TONE_ALARM, "broken, waived", NULL, 0},
                                         {BOOK_IS, TONE_OPEN, "not decided", NULL, 0},
                                         {BOOK_IS, TONE_OPEN, "never tested", NULL, 0},
                                         {BOOK_IS, TONE_QUIET, "not applicable", NULL, 0}};

static void gate_columns(Workbook *workbook) {
    const BookColumn columns[GATE_COLUMNS] = {[GATE_TAIL] = {.title = STR("Tail"), .width = 8},
                                              [GATE_NAME] = {.title = STR("Gate"), .width = 22},
                                              [GATE_TITLE] = {.title = STR("Title"), .width = 26},
                                              [GATE_VERDICT] = {.title = STR("Verdict"),
                                                                .width = 12,
                                                                .marks = verdict_marks,
                                                                .n_marks = sizeof verdict_marks / sizeof *verdict_marks,
                                                                .name = "verdicts"},
                                              [GATE_RULE] = {.title = STR("The rule in words"), .width = 44},
                                              [GATE_WHY] = {.title = STR("Why not proved"), .width = 24},
                                              [GATE_TESTS] = {.title = STR("Put to the test by"), .width = 26},
                                              [GATE_POINTS] = {.title = STR("Points"), .width = 7},
                                              [GATE_LEANS] = {.title = STR("Leans on"), .width = 12},
                                              [GATE_PATH] = {.title = STR("Path"), .width = 8},
                                              [GATE_RANK] = {.title = STR("If broken"), .width = 9},
                                              [GATE_SOURCE] = {.title = STR("Source"), .width = 24},
                                              [GATE_BECAUSE] = {.title = STR("Because"), .width = 34}};
    BookSheet *sheet =
        workbook_sheet(workbook, SHEET_GATES, "Gates", "Gates",
                       "Each safety rule with its verdict. \"Proved as written\" says that on every path of "
                       "this text the rule was kept, under the assumptions of the sheet Assumptions; it does "
                       "not say that the list of rules is complete.",
                       "No rule was looked at.");
    sheet->frozen = GATE_TITLE;
    sheet_columns(&workbook->book, sheet, columns, GATE_COLUMNS);
}

/* The nearest of the gate's clauses that names one. */
static const Why *gate_source(const GateInstance *gate) {
    const Why *whys[] = {gate->gate->why, gate->gate->rule_why, gate->gate->severity_why, gate->gate->applies_why,
                         gate->decl->more->why};
    for (size_t i = 0; i < sizeof whys / sizeof *whys; i++)
        if (whys[i] && whys[i]->source.name) return whys[i];
    return NULL;
}

static Str gate_because(const TailBook *t, const GateInstance *gate) {
    Str because = why_because(t, gate->gate->why, gate->engine);
    return because.len ? because : why_because(t, gate->gate->rule_why, gate->engine);
}

static Str gate_name(const TailBook *t, const GateInstance *gate) {
    Str engine = engine_of(t, gate->engine);
    return engine.len ? TAIL_WORDS(t, "%N (%S)", gate->name, engine) : name_text(t->input->job->names, gate->name);
}

/* "crank: marram.start 97, 104", a line for each kind of event. */
static Str tested_words(const TailBook *t, const Verdict *verdict) {
    Buf buf = {t->arena, NULL, 0, 0};
    for (uint32_t k = 0; k < verdict->n_tests; k++) {
        const TestedBy *test = &verdict->tests[k];
        if (k) buf_char(&buf, '\n');
        buf_str(&buf, test->what);
        if (test->n_lines) buf_format(&buf, NULL, ": %S", test->file);
        for (uint32_t i = 0; i < test->n_lines; i++)
            buf_format(&buf, NULL, "%s %u", i ? "," : test->n_lines > 1 ? " lines" : " line", (uint64_t)test->lines[i]);
    }
    return buf_view(&buf);
}

static const Decl *waiver_of(const TailBook *t, const GateInstance *gate) {
    for (uint32_t i = 0; i < t->input->edition->n_waivers; i++)
        if (t->input->edition->waivers[i]->more->ref.name == gate->name) return t->input->edition->waivers[i];
    return NULL;
}

static Str verdict_cell(const TailBook *t, const Verdict *verdict) {
    bool waived = verdict->kind == VERDICT_BROKEN && verdict->finding && verdict->finding->waived;
    const Decl *waiver = waived ? waiver_of(t, verdict->gate) : NULL;
    if (!waiver) return str_of(verdict_words[verdict->kind]);
    return TAIL_WORDS(t, "broken, waived until %S", span_text(t->input->job->sources, waiver->more->date));
}

static void put_leans(const TailBook *t, BookCell *cell, const Verdict *verdict) {
    Buf buf = {t->arena, NULL, 0, 0};
    int first = ASSUMED_KINDS;
    for (int kind = 0; kind < ASSUMED_KINDS; kind++) {
        if (!verdict_assumes(verdict, (AssumptionKind)kind)) continue;
        if (buf.len) buf_text(&buf, ", ");
        else first = kind;
        buf_text(&buf, assumption_ids[kind]);
    }
    cell_text(t->book, cell, buf_view(&buf));
    if (first < ASSUMED_KINDS) cell_link(t->book, cell, row_of_assumption(t, (AssumptionKind)first));
}

static void gate_row(TailBook *t, uint32_t index) {
    static const char *const ranks[] = {"note", "warning", "error", "not decided"};
    const Verdict *verdict = &t->input->result->verdicts[index];
    const GateInstance *gate = verdict->gate;
    BookSheet *sheet = t->workbook->sheets[SHEET_GATES];
    BookCell *row = sheet_row(t->book, sheet);
    cell_text(t->book, &row[GATE_TAIL], t->tail);
    cell_text(t->book, &row[GATE_NAME], gate_name(t, gate));
    cell_text(t->book, &row[GATE_TITLE], gate->title);
    cell_text(t->book, &row[GATE_VERDICT], verdict_cell(t, verdict));
    cell_text(t->book, &row[GATE_RULE], gate->in_words);
    cell_text(t->book, &row[GATE_WHY], verdict->why);
    cell_text(t->book, &row[GATE_TESTS], tested_words(t, verdict));
    if (verdict->kind != VERDICT_NOT_APPLICABLE) cell_count(t->book, &row[GATE_POINTS], verdict->triggered);
    put_leans(t, &row[GATE_LEANS], verdict);
    if (verdict->witness) {
        cell_text(t->book, &row[GATE_PATH], STR("the path"));
        cell_link(t->book, &row[GATE_PATH], row_of_path(t, index));
    }
    cell_text(t->book, &row[GATE_RANK], str_of(ranks[gate->severity]));
    cell_text(t->book, &row[GATE_SOURCE], why_source(t, gate_source(gate), true));
    cell_text(t->book, &row[GATE_BECAUSE], gate_because(t, gate));
    sheet_row_name(t->book, sheet, row_of_gate(t, index));
    t->workbook->verdicts[verdict->kind]++;
}

/* ---- paths ---- */
enum { PATH_TAIL, PATH_GATE, PATH_STEP, PATH_AT, PATH_WHO, PATH_WHAT, PATH_FACTS, PATH_ITEM, PATH_PLACE, PATH_COLUMNS };

static void path_columns(Workbook *workbook) {
    static const BookMark steps[] = {{BOOK_IS, TONE_ALARM, "broken", NULL, 0}, {BOOK_IS, TONE_OPEN, "wanted", NULL, 0}};
    const BookColumn columns[PATH_COLUMNS] = {
        [PATH_TAIL] = {.title = STR("Tail"), .width = 8},
        [PATH_GATE] = {.title = STR("Gate"), .width = 24},
        [PATH_STEP] = {.title = STR("Part"), .width = 9, .marks = steps, .n_marks = 2},
        [PATH_AT] = {.title = STR("At, s"), .width = 9},
        [PATH_WHO] = {.title = STR("Who"), .width = 9},
        [PATH_WHAT] = {.title = STR("What happens"), .width = 54},
        [PATH_FACTS] = {.title = STR("What stands then"), .width = 34},
        [PATH_ITEM] = {.title = STR("Item"), .width = 20},
        [PATH_PLACE] = {.title = STR("Line of the text"), .width = 26}};
    BookSheet *sheet = workbook_sheet(
        workbook, SHEET_PATHS, "Paths", "Paths on which rules are broken",
        "For each broken rule one path, told as steps at their earliest times; what would have satisfied the "
        "rule; and the nearest path that keeps it. Whether it is broken on others, too, is not said.",
        "No rule of this workbook's tails is broken.");
    sheet->frozen = PATH_STEP;
    sheet_columns(&workbook->book, sheet, columns, PATH_COLUMNS);
}

static BookCell *path_row(TailBook *t, uint32_t gate, const char *part) {
    BookCell *row = sheet_row(t->book, t->workbook->sheets[SHEET_PATHS]);
    cell_text(t->book, &row[PATH_TAIL], t->tail);
    cell_text(t->book, &row[PATH_GATE], gate_name(t, t->input->result->verdicts[gate].gate));
    cell_link(t->book, &row[PATH_GATE], row_of_gate(t, gate));
    cell_text(t->book, &row[PATH_STEP], str_of(part));
    return row;
}

static void step_rows(TailBook *t, uint32_t gate, TraceSteps steps, const char *part) {
    static const char *const actors[] = {"pilot", "engine", "world", "time", "person"};
    for (size_t i = 0; i < steps.n; i++) {
        const TraceStep *step = &steps.at[i];
        BookCell *row = path_row(t, gate, part);
        put_ms(t, &row[PATH_AT], step->at_ms);
        cell_text(t->book, &row[PATH_WHO], str_of(actors[step->actor]));
        cell_text(t->book, &row[PATH_WHAT], step->text);
        cell_text(t->book, &row[PATH_FACTS], step->facts);
        cell_text(t->book, &row[PATH_ITEM], step->item);
        cell_text(t->book, &row[PATH_PLACE], words_place(t, step->span));
    }
}

static void path_words(TailBook *t, uint32_t gate, const char *part, Str words) {
    if (words.len) cell_text(t->book, &path_row(t, gate, part)[PATH_WHAT], words);
}

static void path_rows(TailBook *t, uint32_t gate) {
    const Verdict *verdict = &t->input->result->verdicts[gate];
    if (!verdict->witness) return;
    path_words(t, gate, "broken", verdict->gate->in_words);
    sheet_row_name(t->book, t->workbook->sheets[SHEET_PATHS], row_of_path(t, gate));
    step_rows(t, gate, verdict->witness->steps, "step");
    path_words(t, gate, "wanted", verdict->witness->wanted);
    path_words(t, gate, "nearest", verdict->witness->nearest);
    step_rows(t, gate, verdict->witness->instead, "instead");
}

/* ---- what is taken for granted ---- */
enum { ASSUMED_TAIL, ASSUMED_ID, ASSUMED_FOR, ASSUMED_TEXT, ASSUMED_NUMBER, ASSUMED_UNIT, ASSUMED_COLUMNS };

static void assumption_columns(Workbook *workbook) {
    const BookColumn columns[ASSUMED_COLUMNS] = {[ASSUMED_TAIL] = {.title = STR("Tail"), .width = 8},
                                                 [ASSUMED_ID] = {.title = STR("Assumption"), .width = 14},
                                                 [ASSUMED_FOR] = {.title = STR("Taken for granted by"), .width = 30},
                                                 [ASSUMED_TEXT] = {.title = STR("In words"), .width = 90},
                                                 [ASSUMED_NUMBER] = {.title = STR("Number"), .width = 9},
                                                 [ASSUMED_UNIT] = {.title = STR("Unit"), .width = 6}};
    BookSheet *sheet =
        workbook_sheet(workbook, SHEET_ASSUMPTIONS, "Assumptions", "Assumptions",
                       "What the proofs take for granted. Where one of these is not so, what leans on it is "
                       "not proved.",
                       "Nothing is taken for granted, since nothing was proved.");
    sheet->frozen = ASSUMED_FOR;
    sheet_columns(&workbook->book, sheet, columns, ASSUMED_COLUMNS);
}

static void assumption_rows(TailBook *t) {
    BookSheet *sheet = t->workbook->sheets[SHEET_ASSUMPTIONS];
    for (uint32_t i = 0; i < t->input->result->n_assumptions; i++) {
        const Assumption *one = &t->input->result->assumptions[i];
        BookCell *row = sheet_row(t->book, sheet);
        cell_text(t->book, &row[ASSUMED_TAIL], t->tail);
        cell_text(t->book, &row[ASSUMED_ID], str_of(assumption_ids[one->kind]));
        cell_text(t->book, &row[ASSUMED_FOR],
                  one->every_rule ? STR("every rule") : STR("the rules that name it under \"Leans on\""));
        cell_text(t->book, &row[ASSUMED_TEXT], one->text);
        if (one->ms) put_ms(t, &row[ASSUMED_NUMBER], one->ms), cell_text(t->book, &row[ASSUMED_UNIT], STR("s"));
        sheet_row_name(t->book, sheet, row_of_assumption(t, one->kind));
    }
}

/* ---- what times have to spare ---- */
enum {
    SPARE_TAIL,
    SPARE_GATE,
    SPARE_WHAT,
    SPARE_BOUND,
    SPARE_TIME,
    SPARE_TIME_UNIT,
    SPARE_LEFT,
    SPARE_LEFT_UNIT,
    SPARE_HOW,
    SPARE_COLUMNS
};

static void spare_columns(Workbook *workbook) {
    static const BookMark left[] = {{BOOK_IS, TONE_OPEN, "0", NULL, 0}};
    const BookColumn columns[SPARE_COLUMNS] = {
        [SPARE_TAIL] = {.title = STR("Tail"), .width = 8},
        [SPARE_GATE] = {.title = STR("Gate"), .width = 26},
        [SPARE_WHAT] = {.title = STR("Time of the rule"), .width = 60},
        [SPARE_BOUND] = {.title = STR("It is"), .width = 9},
        [SPARE_TIME] = {.title = STR("Time"), .width = 9},
        [SPARE_TIME_UNIT] = {.title = STR("Unit"), .width = 6},
        [SPARE_LEFT] = {.title = STR("To spare"), .width = 9, .marks = left, .n_marks = 1},
        [SPARE_LEFT_UNIT] = {.title = STR("Unit of it"), .width = 6},
        [SPARE_HOW] = {.title = STR("How sure"), .width = 30}};
    BookSheet *sheet =
        workbook_sheet(workbook, SHEET_SPARE, "Margins", "Margins",
                       "By how much each time of a proved rule alone could be tightened with the rule still "
                       "proved as written, under the same assumptions: the worst case over all paths.",
                       "No proved rule has a time, or they were not asked for.");
    sheet->frozen = SPARE_WHAT;
    sheet_columns(&workbook->book, sheet, columns, SPARE_COLUMNS);
}

static void spare_rows(TailBook *t, uint32_t gate) {
    static const char *const how[] = {"exactly", "however tight it were", "at least so much; beyond it is not decided"};
    const Verdict *verdict = &t->input->result->verdicts[gate];
    for (uint32_t k = 0; k < verdict->n_limits; k++) {
        const TimeLimit *limit = &verdict->limits[k];
        BookCell *row = sheet_row(t->book, t->workbook->sheets[SHEET_SPARE]);
        cell_text(t->book, &row[SPARE_TAIL], t->tail);
        cell_text(t->book, &row[SPARE_GATE], gate_name(t, verdict->gate));
        cell_link(t->book, &row[SPARE_GATE], row_of_gate(t, gate));
        cell_text(t->book, &row[SPARE_WHAT], limit->what);
        cell_text(t->book, &row[SPARE_BOUND], limit->kind == TIME_AT_MOST ? STR("at most") : STR("at least"));
        put_ms(t, &row[SPARE_TIME], limit->ms);
        cell_text(t->book, &row[SPARE_TIME_UNIT], STR("s"));
        if (limit->spare != SPARE_ANY) {
            put_ms(t, &row[SPARE_LEFT], limit->spare_ms);
            cell_text(t->book, &row[SPARE_LEFT_UNIT], STR("s"));
        }
        cell_text(t->book, &row[SPARE_HOW], str_of(how[limit->spare]));
    }
}

/* ---- all of them ---- */

void gates_columns(Workbook *workbook) {
    gate_columns(workbook);
    path_columns(workbook);
    assumption_columns(workbook);
    spare_columns(workbook);
}

void gates_add(TailBook *t) {
    for (uint32_t i = 0; i < t->input->result->n_verdicts; i++) {
        gate_row(t, i);
        path_rows(t, i);
        spare_rows(t, i);
    }
    assumption_rows(t);
}
