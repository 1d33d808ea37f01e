/* The grammar of .start files: LALR(1), without conflicts or precedence. An action is one constructor call, or the
   report of a foreseen slip and the node that was meant. Lines end by the filter's rule (compiler/front/filter.c).

   Recovery: a bad line costs itself (junk), a block after it is passed over; KEYWORD error body keeps the body of a bad
   heading; what may end a line meets `nl` first, so that nothing already closed is opened again. */
%require "3.8"
%define api.pure full
%define api.prefix {sw_}
%define api.token.prefix {T_}
%define api.location.type {Span}
%define parse.error custom
%define parse.lac full
%expect 0
%param {Parser *p}

%code requires {
#include "front/build.h"
}
%code provides {
int sw_lex(SW_STYPE *value, Span *location, Parser *p);
void sw_error(Span *location, Parser *p, const char *text);
}
%code {
#define YYINITDEPTH 600
#define YYMAXDEPTH 20000
#define YYLLOC_DEFAULT(whole, parts, n)                                                                          \
    do {                                                                                                         \
        (whole).lo = (n) ? YYRHSLOC(parts, 1).lo : YYRHSLOC(parts, 0).hi;                                        \
        (whole).hi = YYRHSLOC(parts, n).hi;                                                                      \
    } while (0)
#define STMT(span, more, clauses, ...) stmt_make(p, (span), (Stmt){__VA_ARGS__}, (more), (clauses))
#define MORE(...) (&(const StmtMore){__VA_ARGS__})
#define NONE ((Clauses){NULL, NULL})
#define DECL(span, ...) decl_make(p, (span), (Decl){__VA_ARGS__}, NULL)
#define DECL_WITH(span, more, ...) decl_make(p, (span), (Decl){__VA_ARGS__}, (more))
#define WITH(...) (&(const DeclMore){__VA_ARGS__})
#define COND(...) cond_make(p, (Cond){__VA_ARGS__})
#define CRAFT(span, clauses, ...) craft_make(p, (span), (Craft){__VA_ARGS__}, (clauses))
#define NEW(Type, ...) ((Type *)arena_copy(p->job->arena, &(Type){__VA_ARGS__}, sizeof(Type)))
#define CLAUSE(into, kind_, at) ((into) = clause_new(p, (kind_), (at)))
#define RULE(...) ((Rule){__VA_ARGS__})
}

%union {
    Word word;
    Text text;
    Span span;
    bool flag;
    int number;
    Words words;
    Texts texts;
    Amount *amount;
    Measured *measured;
    Range *range;
    Cond *cond;
    Event *event;
    Events events;
    Timing *timing;
    Clause *clause;
    Clauses clauses;
    Stmt *stmt;
    Stmts stmts;
    Block *block;
    Action *action;
    Decl *decl;
    Decls decls;
    PositionDecl *position;
    Positions positions;
    Effect *effect;
    Effects effects;
    Craft *craft;
    Crafts crafts;
    DutyLimit *limit;
    Limits limits;
    BandPart *bandpart;
    BandParts bandparts;
    Rule *rule;
    Gate *gate;
    RuleStep *step;
    Steps steps;
    Standing *standing;
    Standings standings;
    Edit *edit;
    Edits edits;
    DocLine *docline;
    DocLines doclines;
    WordingEntry *entry;
    Wordings wordings;
    LineDecl *line;
    Lines lines;
}

%token END_OF_FILE 0 "the end of the file"
%token NL "the end of the line"
%token OPEN "{" CLOSE "}" LEFT "(" RIGHT ")" COMMA "," COLON ":" DOTDOT ".."
%token <word> NAME "a name" POS "a position in capitals" DOTTED "a name with an engine" SLASHED "a path of the library"
%token <word> MIXED "a word" NUM "a number" SECTION "a section" DATE "a date" TEXT "a text in quotes"

/* words that join: never names */
%token <word> AND "and" OR "or" NOT "not" IS "is" IF "if" IN "in" AS "as" TO "to" WITH "with" BY "by" ON "on"
%token <word> SINCE "since" THEN "then" MEANS "means" FOR "for" EACH "each" WHILE "while" BEFORE "before"
%token <word> AFTER "after" BELOW "below" ABOVE "above" WITHIN "within" UNTIL "until" FROM "from" BECAUSE "because"
%token <word> OTHERWISE "otherwise" AGAIN "again" WATCHING "watching" NO "no" FITTED "fitted" BECOMES "becomes"
%token <word> LEAVES "leaves" SEEN "seen" ANSWERED "answered" LASTS "lasts" KEPT "kept"
%token <word> SET "set" EXPECT "expect" CASES "cases" WHEN "when" TRY "try" DO "do" END "end"

/* words that are names wherever nothing else is meant */
%token <word> USE "use" CONTROL "control" GAUGE "gauge" LIGHT "light" SCENE "scene" PERSON "person" CALL "call"
%token <word> BRIEFING "briefing" SOURCE "source" EDITION "edition" AIRCRAFT "aircraft" TAIL "tail" ENGINES "engines"
%token <word> KIND "kind" LINES "lines" LINE "line" INOPERATIVE "inoperative" DUTY "duty" REST "rest" TRIES "tries"
%token <word> TIMES "times" BAND "band" VALUE "value" PRINT "print" PACE "pace" PROCEDURE "procedure" DRILL "drill"
%token <word> GROUP "group" APPLIES "applies" DRILLS "drills" CUE "cue" ARMED "armed" PHASE "phase" MEMORY "memory"
%token <word> CASE "case" EVENT "event" STATE "state" GATE "gate" SEVERITY "severity" STANDARD "standard"
%token <word> HOLDS "holds" RANK "rank" WAIVE "waive" AT "at" ADAPT "adapt" ADD "add" REPLACE "replace" MOVE "move"
%token <word> REWORD "reword" OMIT "omit" DOCUMENT "document" CONTAINS "contains" REVISION "revision"
%token <word> EFFECTIVE "effective" CHANGES "changes" PREPARED "prepared" APPROVED "approved" DISTRIBUTION "distribution" CARD "card" TYPE "type"
%token <word> ISSUE "issue" FLEET "fleet" WORDING "wording" STOPS "stops" TURNS "turns" POWERS "powers"
%token <word> COUNTED "counted" CHECK "check" LOOK "look" BRIEF "brief" WAIT "wait" CRANK "crank" HOLD "hold"
%token <word> RELEASE "release" WATCH "watch" PLAIN "plain" NOTE "note" CAUTION "caution" WARNING "warning"

/* phrases: one token each */
%token AT_LEAST "at least" AT_MOST "at most" UP_TO "up to" TURN_TO "turn to" NO_MORE_STARTS "no more starts"
%token NEXT_START_AFTER "next start after" START_AGAIN_AT "start again at" EACH_ENGINE "each engine"
%token EACH_ITEM "each item" THE_FIRST "the first" THE_LAST "the last" THE_LAST_REST_OF "the last rest of"
%token A_PAUSE_OF "a pause of" IN_ANY "in any" IN_ANY_DRILL "in any drill" EXCEPT_IN "except in"
%token ANY_DRILL "any drill" ALL_DRILLS "all drills" EVERY_END "every end" EVERY_END_OF "every end of"
%token EVERY_CASE "every case has exactly one procedure" CAN_REACH "can reach" KEEPS_CRANKING "keeps cranking"
%token NEVER_WAIVED "never waived" BEGINS_WITH "begins with" FROM_EACH "from each" AT_EACH "at each"
%token OVER_DUTY "over duty" BETWEEN_TRIES "between tries" REVIEW_BY "review by" READ_AT "read at"
%token ALSO_IN "also in" DUTY_OF "duty of"

%type <decls> file decls
%type <decl> decl gate
%type <word> name decl_name free ref xref pos path drill_path unit section section_name word_after rank_name
%type <words> names on_names paths drill_paths drill_names positions_or for_names
%type <text> title otitle otext
%type <flag> each thing_end each_opt
%type <span> date
%type <positions> positions answers body_positions
%type <position> position
%type <effects> effects
%type <effect> effect
%type <texts> paragraphs
%type <lines> line_list
%type <crafts> crafts craft_body
%type <craft> craft
%type <limits> limits
%type <limit> limit
%type <bandparts> bandparts
%type <bandpart> bandpart
%type <cond> when_opt cond cond_and cond_or cond_mixed unary atom until_opt
%type <number> compare craft_words effect_word
%type <stmts> parts body stmts case_list
%type <stmt> part stmt act only_part
%type <block> block
%type <block> block_opt
%type <clauses> rest call_rest whys tells
%type <clause> clause answered why_clause tell
%type <action> action go
%type <event> event after_opt set_event
%type <events> events
%type <timing> up_to wait_span times_opt
%type <text> over_duty
%type <measured> time count
%type <amount> quantity line_opt
%type <range> range
%type <rule> rule
%type <gate> gatelines gate_body
%type <steps> steps
%type <step> step
%type <words> outcomes_opt
%type <rule> except
%type <event> since_opt
%type <standings> standings standing_body
%type <standing> standing
%type <edits> edits edit_body
%type <edit> edit
%type <doclines> doclines doc_body
%type <docline> docline revision_line distribution_line card_line contained
%type <wordings> wordings
%type <words> fleet_names
%type <clause> tail

%%

input: file { p->file->first = $1.first; };
file: decls;
decls
    : %empty { $$ = (Decls){NULL, NULL}; }
    | decls decl { $$ = $1; list_add(&$$, $2); p->astray = false; }
    | decls junk { $$ = $1; }
    ;

/* ---- the ends of lines ---- */
nl: NL | junk;
junk: error NL { yyerrok; } | error skip nl;
skip: "{" bits "}";
bits: %empty | bits error | bits skip;
sep: NL | ",";
thing_end: nl { $$ = false; } | IF FITTED nl { $$ = true; };

/* ---- declarations ---- */
decl
    : USE path nl { $$ = DECL(@$, .kind = DECL_USE, .name = $2, .path_is_text = p->text[@2.lo - p->base] == '"'); }
    | CONTROL decl_name each title body_positions thing_end
      { $$ = DECL(@$, .kind = DECL_CONTROL, .name = $2, .each_engine = $3, .text = $4, .positions = $5.first, .if_fitted = $6); }
    | CONTROL decl_name error body_positions thing_end
      { $$ = DECL(@$, .kind = DECL_CONTROL, .name = $2, .positions = $4.first, .if_fitted = $5); }
    | CONTROL error body_positions thing_end { $$ = DECL(@$, .kind = DECL_BAD); }
    | CONTROL decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | CONTROL error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | SCENE decl_name each title body_positions thing_end
      { $$ = DECL(@$, .kind = DECL_SCENE, .name = $2, .each_engine = $3, .text = $4, .positions = $5.first, .if_fitted = $6); }
    | SCENE decl_name error body_positions thing_end
      { $$ = DECL(@$, .kind = DECL_SCENE, .name = $2, .positions = $4.first, .if_fitted = $5); }
    | SCENE error body_positions thing_end { $$ = DECL(@$, .kind = DECL_BAD); }
    | SCENE decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | SCENE error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | GAUGE decl_name each title unit thing_end
      { $$ = DECL_WITH(@$, WITH(.unit = $5), .kind = DECL_GAUGE, .name = $2, .each_engine = $3, .text = $4, .if_fitted = $6); }
    | GAUGE decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | LIGHT decl_name each title thing_end
      { $$ = DECL(@$, .kind = DECL_LIGHT, .name = $2, .each_engine = $3, .text = $4, .if_fitted = $5); }
    | LIGHT decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | PERSON decl_name title nl { $$ = DECL(@$, .kind = DECL_PERSON, .name = $2, .text = $3); }
    | PERSON decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | CALL decl_name each title answers thing_end
      { $$ = DECL(@$, .kind = DECL_CALL, .name = $2, .each_engine = $3, .text = $4, .positions = $5.first, .if_fitted = $6); }
    | CALL decl_name error body_positions thing_end
      { $$ = DECL(@$, .kind = DECL_CALL, .name = $2, .positions = $4.first, .if_fitted = $5); }
    | CALL decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | BRIEFING decl_name title "{" paragraphs "}" nl
      { $$ = DECL_WITH(@$, WITH(.paragraphs = $5.first), .kind = DECL_BRIEFING, .name = $2, .text = $3); }
    | BRIEFING decl_name error "{" paragraphs "}" nl
      { $$ = DECL_WITH(@$, WITH(.paragraphs = $5.first), .kind = DECL_BRIEFING, .name = $2); }
    | BRIEFING decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | KIND decl_name otitle nl { $$ = DECL(@$, .kind = DECL_KIND, .name = $2, .text = $3); }
    | SOURCE decl_name title nl { $$ = DECL(@$, .kind = DECL_SOURCE, .name = $2, .text = $3); }
    | SOURCE decl_name title EDITION TEXT nl
      { $$ = DECL_WITH(@$, WITH(.text2 = {@5}), .kind = DECL_SOURCE, .name = $2, .text = $3); }
    | SOURCE decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | LINES name section "{" line_list "}" nl
      { $$ = DECL_WITH(@$, WITH(.ref = $2, .ref2 = $3), .kind = DECL_LINES, .u.lines = $5.first); }
    | LINES error "{" line_list "}" nl { $$ = DECL(@$, .kind = DECL_BAD); }
    | LINES error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | AIRCRAFT decl_name title craft_body
      { $$ = DECL(@$, .kind = DECL_AIRCRAFT, .name = $2, .text = $3, .u.craft = $4.first); }
    | AIRCRAFT decl_name error craft_body { $$ = DECL(@$, .kind = DECL_AIRCRAFT, .name = $2, .u.craft = $4.first); }
    | AIRCRAFT error craft_body { $$ = DECL(@$, .kind = DECL_BAD); }
    | AIRCRAFT decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | AIRCRAFT error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | TAIL decl_name title IS name craft_body
      { $$ = DECL_WITH(@$, WITH(.ref = $5), .kind = DECL_TAIL, .name = $2, .text = $3, .u.craft = $6.first); }
    | TAIL decl_name error craft_body { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | TAIL error craft_body { $$ = DECL(@$, .kind = DECL_BAD); }
    | TAIL decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | TAIL error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | PROCEDURE decl_name title FOR names whys body
      { $$ = DECL_WITH(@$, WITH(.words = $5.first, .why = why_make(p, $6)), .kind = DECL_PROCEDURE, .name = $2, .text = $3,
             .u.parts = $7.first); }
    | PROCEDURE decl_name error body { $$ = DECL(@$, .kind = DECL_PROCEDURE, .name = $2, .u.parts = $4.first); }
    | PROCEDURE error body { $$ = DECL(@$, .kind = DECL_BAD); }
    | PROCEDURE decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | PROCEDURE error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | DRILL decl_name title for_names whys body
      { $$ = DECL_WITH(@$, WITH(.words = $4.first, .why = why_make(p, $5)), .kind = DECL_DRILL, .name = $2, .text = $3,
             .u.parts = $6.first); }
    | DRILL decl_name error body { $$ = DECL(@$, .kind = DECL_DRILL, .name = $2, .u.parts = $4.first); }
    | DRILL error body { $$ = DECL(@$, .kind = DECL_BAD); }
    | DRILL decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | DRILL error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | GROUP decl_name title whys body
      { $$ = DECL_WITH(@$, WITH(.why = why_make(p, $4)), .kind = DECL_GROUP, .name = $2, .text = $3, .u.parts = $5.first); }
    | GROUP decl_name error body { $$ = DECL(@$, .kind = DECL_GROUP, .name = $2, .u.parts = $4.first); }
    | GROUP error body { $$ = DECL(@$, .kind = DECL_BAD); }
    | GROUP decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | GROUP error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | EVENT decl_name MEANS events nl { $$ = DECL(@$, .kind = DECL_EVENT, .name = $2, .u.event = $4.first); }
    | EVENT decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | STATE decl_name MEANS cond nl { $$ = DECL(@$, .kind = DECL_STATE, .name = $2, .u.cond = $4); }
    | STATE decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | gate
    | STANDARD decl_name title standing_body
      { $$ = DECL(@$, .kind = DECL_STANDARD, .name = $2, .text = $3, .u.standing = $4.first); }
    | STANDARD decl_name error standing_body
      { $$ = DECL(@$, .kind = DECL_STANDARD, .name = $2, .u.standing = $4.first); }
    | STANDARD error standing_body { $$ = DECL(@$, .kind = DECL_BAD); }
    | STANDARD decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | STANDARD error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | WAIVE ref AT ref on_names tells nl { $$ = waive_make(p, @$, $2, $4, $5.first, $6); }
    | WAIVE error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | ADAPT decl_name FOR names whys edit_body
      { $$ = DECL_WITH(@$, WITH(.words = $4.first, .why = why_make(p, $5)), .kind = DECL_ADAPT, .name = $2, .u.edits = $6.first); }
    | ADAPT error edit_body { $$ = DECL(@$, .kind = DECL_BAD); }
    | ADAPT error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | DOCUMENT decl_name title doc_body
      { $$ = DECL(@$, .kind = DECL_DOCUMENT, .name = $2, .text = $3, .u.doclines = $4.first); }
    | DOCUMENT decl_name error doc_body { $$ = DECL(@$, .kind = DECL_DOCUMENT, .name = $2, .u.doclines = $4.first); }
    | DOCUMENT error doc_body { $$ = DECL(@$, .kind = DECL_BAD); }
    | DOCUMENT decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | DOCUMENT error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | FLEET decl_name otitle "{" fleet_names "}" nl
      { $$ = DECL_WITH(@$, WITH(.words = $5.first), .kind = DECL_FLEET, .name = $2, .text = $3); }
    | FLEET error "{" fleet_names "}" nl { $$ = DECL(@$, .kind = DECL_BAD); }
    | FLEET error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    | WORDING decl_name "{" wordings "}" nl
      { $$ = DECL(@$, .kind = DECL_WORDING, .name = $2, .u.wording = $4.first); }
    | WORDING error "{" wordings "}" nl { $$ = DECL(@$, .kind = DECL_BAD); }
    | WORDING error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    ;
gate
    : GATE decl_name title gate_body
      { $$ = DECL(@$, .kind = DECL_GATE, .name = $2, .text = $3, .u.gate = $4); }
    | GATE decl_name error gate_body { $$ = DECL(@$, .kind = DECL_GATE, .name = $2, .u.gate = $4); }
    | GATE error gate_body { $$ = DECL(@$, .kind = DECL_BAD); }
    | GATE decl_name error NL { $$ = DECL(@$, .kind = DECL_BAD, .name = $2); }
    | GATE error NL { $$ = DECL(@$, .kind = DECL_BAD); }
    ;

path: SLASHED | name | TEXT { $$ = word_text(p, @1); };
title: TEXT { $$ = (Text){@1}; };
otitle: %empty { $$ = (Text){{0, 0}}; } | title;
otext: %empty { $$ = (Text){{0, 0}}; } | TEXT { $$ = (Text){@1}; };
each: %empty { $$ = false; } | EACH_ENGINE { $$ = true; };
decl_name: name | POS { $$ = slip_name(p, $1); } | MIXED { $$ = slip_name(p, $1); };
for_names: %empty { $$ = (Words){NULL, NULL}; } | FOR names { $$ = $2; };
on_names: %empty { $$ = (Words){NULL, NULL}; } | ON names { $$ = $2; };
names
    : name { $$ = (Words){NULL, NULL}; list_add(&$$, word_node(p, $1)); }
    | names "," name { $$ = $1; list_add(&$$, word_node(p, $3)); }
    ;
fleet_names
    : %empty { $$ = (Words){NULL, NULL}; }
    | fleet_names name sep { $$ = $1; list_add(&$$, word_node(p, $2)); }
    | fleet_names error sep { $$ = $1; yyerrok; }
    ;
paths
    : path { $$ = (Words){NULL, NULL}; list_add(&$$, word_node(p, $1)); }
    | paths "," path { $$ = $1; list_add(&$$, word_node(p, $3)); }
    ;
drill_paths
    : drill_path { $$ = (Words){NULL, NULL}; list_add(&$$, word_node(p, $1)); }
    | drill_paths "," drill_path { $$ = $1; list_add(&$$, word_node(p, $3)); }
    ;
drill_path: SLASHED { $$ = word_text(p, @1); } | name;

body_positions: "{" positions "}" { $$ = $2; };
answers: %empty { $$ = (Positions){NULL, NULL}; } | body_positions;
positions
    : %empty { $$ = (Positions){NULL, NULL}; }
    | positions position sep { $$ = $1; list_add(&$$, $2); }
    | positions error sep { $$ = $1; yyerrok; }
    ;
position
    : pos otext effects { $$ = NEW(PositionDecl, .word = $1, .print = $2, .effects = $3.first); }
    | pos otext COUNTED effects { $$ = NEW(PositionDecl, .word = $1, .print = $2, .counted = true, .effects = $4.first); }
    ;
effects: %empty { $$ = (Effects){NULL, NULL}; } | effects effect { $$ = $1; list_add(&$$, $2); };
effect: effect_word ref { $$ = NEW(Effect, .kind = (uint8_t)$1, .span = @$, .ref = $2); };
effect_word: STOPS { $$ = EFFECT_STOPS; } | TURNS { $$ = EFFECT_TURNS; } | POWERS { $$ = EFFECT_POWERS; };
paragraphs
    : %empty { $$ = (Texts){NULL, NULL}; }
    | paragraphs TEXT { $$ = $1; list_add(&$$, NEW(TextList, .text = {@2})); }
    | paragraphs sep
    | paragraphs error sep { $$ = $1; yyerrok; }
    ;
line_list
    : %empty { $$ = (Lines){NULL, NULL}; }
    | line_list NUM TEXT sep
      { $$ = $1; list_add(&$$, NEW(LineDecl, .number = {@2, @2, {0, {0, 0}}}, .text = {@3})); }
    | line_list error sep { $$ = $1; yyerrok; }
    ;
wordings
    : %empty { $$ = (Wordings){NULL, NULL}; }
    | wordings ref TEXT sep { $$ = $1; list_add(&$$, NEW(WordingEntry, .ref = $2, .text = {@3})); }
    | wordings ref TEXT body_positions sep
      { $$ = $1; list_add(&$$, NEW(WordingEntry, .ref = $2, .text = {@3}, .positions = $4.first)); }
    | wordings error sep { $$ = $1; yyerrok; }
    | wordings error "{" positions "}" sep { $$ = $1; yyerrok; }
    ;

/* ---- aircraft and tails ---- */
craft_body: "{" crafts "}" nl { $$ = $2; };
crafts
    : %empty { $$ = (Crafts){NULL, NULL}; }
    | crafts craft { $$ = $1; if ($2 != NULL) list_add(&$$, $2); }
    | crafts junk { $$ = $1; }
    ;
craft
    : craft_words names whys nl { $$ = CRAFT(@$, $3, .kind = (uint8_t)$1, .words = $2.first); }
    | INOPERATIVE names tells nl { $$ = inoperative_make(p, @$, $2.first, $3); }
    | DUTY ref limits when_opt whys nl
      { $$ = CRAFT(@$, $5, .kind = CRAFT_DUTY, .ref = $2, .limits = $3.first, .when = $4); }
    | BAND ref bandparts when_opt whys nl
      { $$ = CRAFT(@$, $5, .kind = CRAFT_BAND, .ref = $2, .bands = $3.first, .when = $4); }
    | VALUE decl_name quantity when_opt whys nl
      { $$ = CRAFT(@$, $5, .kind = CRAFT_VALUE, .ref = $2, .amount = *$3, .when = $4); }
    | VALUE decl_name NUM when_opt whys nl
      { $$ = CRAFT(@$, $5, .kind = CRAFT_VALUE, .ref = $2, .amount = {@3, @3, {0, {0, 0}}}, .when = $4); }
    | PRINT ref pos TEXT whys nl
      { $$ = CRAFT(@$, $5, .kind = CRAFT_PRINT, .ref = $2, .pos = $3, .text = {@4}); }
    | PRINT ref TEXT whys nl { $$ = CRAFT(@$, $4, .kind = CRAFT_PRINT, .ref = $2, .text = {@3}); }
    | PACE EACH_ITEM AT_MOST time whys nl { $$ = CRAFT(@$, $5, .kind = CRAFT_PACE, .time = *$4); }
    | DRILLS drill_paths whys nl { $$ = CRAFT(@$, $3, .kind = CRAFT_DRILLS, .words = $2.first); }
    ;
craft_words
    : ENGINES { $$ = CRAFT_ENGINES; }
    | KIND { $$ = CRAFT_KIND; }
    | FITTED { $$ = CRAFT_FITTED; }
    | NOT FITTED { $$ = CRAFT_NOT_FITTED; }
    ;
when_opt: %empty { $$ = NULL; } | WHEN cond { $$ = $2; };
limits
    : limit { $$ = (Limits){NULL, NULL}; list_add(&$$, $1); }
    | limits "," limit { $$ = $1; list_add(&$$, $3); }
    ;
limit
    : UP_TO time ON { $$ = NEW(DutyLimit, .kind = LIMIT_UP_TO_ON, .span = @$, .time = *$2); }
    | quantity REST
      { $$ = NEW(DutyLimit, .kind = LIMIT_REST, .span = @$, .time = *measured_make(p, $1, (Word){0, {0, 0}})); }
    | NUM TRIES { $$ = NEW(DutyLimit, .kind = LIMIT_TRIES, .span = @$, .count = {@1, @1, {0, {0, 0}}}); }
    | THEN quantity REST
      { $$ = NEW(DutyLimit, .kind = LIMIT_THEN_REST, .span = @$, .time = *measured_make(p, $2, (Word){0, {0, 0}})); }
    | AT_MOST NUM IN quantity
      { $$ = NEW(DutyLimit, .kind = LIMIT_AT_MOST_IN, .span = @$, .count = {@2, @2, {0, {0, 0}}},
                 .time = *measured_make(p, $4, (Word){0, {0, 0}})); }
    ;
bandparts
    : bandpart { $$ = (BandParts){NULL, NULL}; list_add(&$$, $1); }
    | bandparts "," bandpart { $$ = $1; list_add(&$$, $3); }
    ;
bandpart
    : name range { $$ = NEW(BandPart, .name = $1, .range = *$2); }
    | name AT_LEAST quantity { $$ = NEW(BandPart, .name = $1, .range = {.lo = *$3}); }
    | name AT_MOST quantity { $$ = NEW(BandPart, .name = $1, .range = {.hi = *$3}); }
    | name AT_LEAST NUM { $$ = NEW(BandPart, .name = $1, .range = {.lo = *slip_no_unit(p, @3)}); }
    | name AT_MOST NUM { $$ = NEW(BandPart, .name = $1, .range = {.hi = *slip_no_unit(p, @3)}); }
    ;

/* ---- procedures, drills, groups ---- */
body: "{" parts "}" nl { $$ = $2; };
parts
    : %empty { $$ = (Stmts){NULL, NULL}; }
    | parts part { $$ = $1; list_add(&$$, $2); }
    | parts junk { $$ = $1; }
    ;
part: stmt | only_part;
only_part
    : BEGINS_WITH cond whys nl { $$ = STMT(@$, NULL, $3, .kind = STMT_BEGINS, .cond = $2); }
    | APPLIES WHEN cond whys nl { $$ = STMT(@$, NULL, $4, .kind = STMT_APPLIES, .cond = $3); }
    | DRILLS drill_paths nl { $$ = STMT(@$, MORE(.words = $2.first), NONE, .kind = STMT_DRILLS); }
    | CUE cond whys nl { $$ = STMT(@$, NULL, $3, .kind = STMT_CUE, .cond = $2); }
    | ARMED WHILE cond whys nl { $$ = STMT(@$, NULL, $4, .kind = STMT_ARMED, .cond = $3); }
    | KEEPS_CRANKING nl { $$ = STMT(@$, NULL, NONE, .kind = STMT_KEEPS_CRANKING); }
    | MEMORY block whys nl { $$ = STMT(@$, MORE(.block = $2), $3, .kind = STMT_MEMORY); }
    | MEMORY error block whys nl { $$ = STMT(@$, MORE(.block = $3), $4, .kind = STMT_MEMORY); }
    | MEMORY error NL { $$ = STMT(@$, NULL, NONE, .kind = STMT_BAD); }
    | PHASE decl_name title rest block nl
      { $$ = STMT(@$, MORE(.text = $3, .block = $5), $4, .kind = STMT_PHASE, .ref = $2); }
    | PHASE decl_name error block nl { $$ = STMT(@$, MORE(.block = $4), NONE, .kind = STMT_PHASE, .ref = $2); }
    | PHASE error block nl { $$ = STMT(@$, MORE(.block = $3), NONE, .kind = STMT_PHASE); }
    | PHASE decl_name error NL { $$ = STMT(@$, NULL, NONE, .kind = STMT_BAD); }
    | PHASE error NL { $$ = STMT(@$, NULL, NONE, .kind = STMT_BAD); }
    ;
block: "{" stmts "}" { $$ = block_make(p, @$, $2); };
block_opt: %empty { $$ = NULL; } | block;
stmts
    : %empty { $$ = (Stmts){NULL, NULL}; }
    | stmts stmt { $$ = $1; list_add(&$$, $2); }
    | stmts junk { $$ = $1; }
    ;
stmt
    : act
    | NAME ":" act { $$ = $3; $$->label = $1; $$->span.lo = $1.span.lo; }
    ;
act
    : SET xref pos rest nl { $$ = STMT(@$, NULL, $4, .kind = STMT_SET, .ref = $2, .pos = $3); }
    | SET xref pos WITHIN time after_opt rest nl
      { $$ = STMT(@$, MORE(.timing = timing_make(p, $5, $6)), $7, .kind = STMT_SET, .ref = $2, .pos = $3); }
    | SET xref NUM pos rest nl
      { $$ = STMT(@$, MORE(.amount = {@3, @3, {0, {0, 0}}}), $5, .kind = STMT_SET, .ref = $2, .pos = $4); }
    | SET xref NUM pos WITHIN time after_opt rest nl
      { $$ = STMT(@$, MORE(.amount = {@3, @3, {0, {0, 0}}}, .timing = timing_make(p, $6, $7)), $8,
                  .kind = STMT_SET, .ref = $2, .pos = $4); }
    | SET xref name POS rest nl
      { $$ = STMT(@$, NULL, $5, .kind = STMT_SET, .ref = slip_two_words(p, $2, $3), .pos = $4); }
    | CHECK cond rest nl { $$ = STMT(@$, NULL, $3, .kind = STMT_CHECK, .cond = $2); }
    | EXPECT cond WITHIN time after_opt rest nl
      { $$ = STMT(@$, MORE(.timing = timing_make(p, $4, $5)), $6, .kind = STMT_EXPECT, .cond = $2); }
    | EXPECT cond rest nl { $$ = STMT(@$, NULL, $3, .kind = STMT_EXPECT, .cond = $2); }
    | LOOK xref pos rest nl { $$ = STMT(@$, NULL, $4, .kind = STMT_LOOK, .ref = $2, .pos = $3); }
    | CALL xref call_rest nl { $$ = STMT(@$, NULL, $3, .kind = STMT_CALL, .ref = $2); }
    | BRIEF name rest nl { $$ = STMT(@$, NULL, $3, .kind = STMT_BRIEF, .ref = $2); }
    | WAIT wait_span after_opt otext rest nl
      { $2->after = $3; $$ = STMT(@$, MORE(.timing = $2, .text = $4), $5, .kind = STMT_WAIT); }
    | CRANK up_to over_duty block_opt until_opt rest nl
      { $$ = STMT(@$, MORE(.timing = $2, .over_duty = $3.span.hi != 0, .text2 = $3, .block = $4), $6,
                  .kind = STMT_CRANK, .cond = $5); }
    | CRANK UP_TO error block until_opt rest nl
      { $$ = STMT(@$, MORE(.block = $4), $6, .kind = STMT_CRANK, .cond = $5); }
    | CRANK UP_TO error NL { $$ = STMT(@$, NULL, NONE, .kind = STMT_BAD); }
    | TRY times_opt block UNTIL cond rest nl
      { $$ = STMT(@$, MORE(.timing = $2, .block = $3), $6, .kind = STMT_TRY, .cond = $5); }
    | TRY times_opt block error NL { $$ = STMT(@$, MORE(.block = $3), NONE, .kind = STMT_BAD); }
    | TRY times_opt block error skip nl { $$ = STMT(@$, MORE(.block = $3), NONE, .kind = STMT_BAD); }
    | TRY error block until_opt rest nl { $$ = STMT(@$, MORE(.block = $3), $5, .kind = STMT_TRY, .cond = $4); }
    | TRY error NL { $$ = STMT(@$, NULL, NONE, .kind = STMT_BAD); }
    | HOLD xref rest nl { $$ = STMT(@$, NULL, $3, .kind = STMT_HOLD, .ref = $2); }
    | HOLD xref pos rest nl { $$ = STMT(@$, NULL, $4, .kind = STMT_HOLD, .ref = $2, .pos = $3); }
    | RELEASE xref rest nl { $$ = STMT(@$, NULL, $3, .kind = STMT_RELEASE, .ref = $2); }
    | WATCH xref rest nl { $$ = STMT(@$, NULL, $3, .kind = STMT_WATCH, .ref = $2); }
    | PLAIN TEXT otext rest nl { $$ = STMT(@$, MORE(.text = {@2}, .text2 = $3), $4, .kind = STMT_PLAIN); }
    | NOTE TEXT rest nl { $$ = STMT(@$, MORE(.text = {@2}), $3, .kind = STMT_NOTE); }
    | CAUTION TEXT rest nl { $$ = STMT(@$, MORE(.text = {@2}), $3, .kind = STMT_CAUTION); }
    | WARNING TEXT rest nl { $$ = STMT(@$, MORE(.text = {@2}), $3, .kind = STMT_WARNING); }
    | WHEN cond block rest nl { $$ = STMT(@$, MORE(.block = $3), $4, .kind = STMT_WHEN, .cond = $2); }
    | WHEN error block rest nl { $$ = STMT(@$, MORE(.block = $3), $4, .kind = STMT_BAD); }
    | WHEN error NL { $$ = STMT(@$, NULL, NONE, .kind = STMT_BAD); }
    | IF cond action rest nl
      { $$ = STMT(@$, MORE(.block = slip_if_line(p, @1, $3)), $4, .kind = STMT_WHEN, .cond = $2); }
    | IF error block rest nl { $$ = STMT(@$, MORE(.block = $3), $4, .kind = STMT_BAD); }
    | IF error NL { $$ = STMT(@$, NULL, NONE, .kind = STMT_BAD); }
    | CASES "{" case_list "}" rest nl { $$ = STMT(@$, MORE(.parts = $3.first), $5, .kind = STMT_CASES); }
    | CASES error "{" case_list "}" rest nl { $$ = STMT(@$, MORE(.parts = $4.first), $6, .kind = STMT_CASES); }
    | CASES error NL { $$ = STMT(@$, NULL, NONE, .kind = STMT_BAD); }
    | FOR name block rest nl { $$ = STMT(@$, MORE(.block = $3), $4, .kind = STMT_FOR, .ref = $2); }
    | FOR EACH_ENGINE block rest nl { $$ = STMT(@$, MORE(.block = $3), $4, .kind = STMT_FOR); }
    | FOR error block rest nl { $$ = STMT(@$, MORE(.block = $3), $4, .kind = STMT_BAD); }
    | FOR error NL { $$ = STMT(@$, NULL, NONE, .kind = STMT_BAD); }
    | DO name rest nl { $$ = STMT(@$, NULL, $3, .kind = STMT_DO, .ref = $2); }
    | go rest nl { $$ = STMT(@$, MORE(.action = action_keep(p, $1)), $2, .kind = STMT_GO); }
    ;
case_list
    : %empty { $$ = (Stmts){NULL, NULL}; }
    | case_list CASE cond block rest nl { $$ = $1; case_add(p, &$$, @2, $3, $4, $5); }
    | case_list CASE error block rest nl { $$ = $1; }
    | case_list CASE error NL { $$ = $1; }
    | case_list junk { $$ = $1; }
    ;
go
    : TURN_TO name { $$ = action_make(p, (Action){.kind = ACTION_TURN_TO, .span = @$, .target = $2}); }
    | END pos { $$ = action_make(p, (Action){.kind = ACTION_END, .span = @$, .target = $2}); }
    | AGAIN { $$ = action_make(p, (Action){.kind = ACTION_AGAIN, .span = @$}); }
    | AGAIN AFTER time { $$ = action_make(p, (Action){.kind = ACTION_AGAIN, .span = @$, .after = *$3}); }
    ;
action: go | block { $$ = action_make(p, (Action){.kind = ACTION_BLOCK, .span = @$, .block = $1}); };
up_to
    : %empty { $$ = NULL; }
    | UP_TO time { $$ = timing_make(p, $2, NULL); }
    | quantity { slip_no_number_word(p, @1, $1, false); $$ = timing_make(p, measured_make(p, $1, (Word){0, {0, 0}}), NULL); }
    ;
over_duty: %empty { $$ = (Text){{0, 0}}; } | OVER_DUTY BECAUSE TEXT { $$ = (Text){@3}; };
until_opt: %empty { $$ = NULL; } | UNTIL cond { $$ = $2; };
times_opt: %empty { $$ = NULL; } | UP_TO count TIMES { $$ = timing_make(p, $2, NULL); };
wait_span
    : AT_LEAST time { $$ = wait_make(p, $2, NULL); }
    | UP_TO time { $$ = wait_make(p, NULL, $2); }
    | range { $$ = NEW(Timing, .span = *$1); }
    | quantity { slip_no_number_word(p, @1, $1, true); $$ = wait_make(p, measured_make(p, $1, (Word){0, {0, 0}}), NULL); }
    | name { slip_no_number_word(p, @1, NULL, true); $$ = wait_make(p, measured_make(p, NULL, $1), NULL); }
    | FOR quantity { slip_no_number_word(p, @$, $2, true); $$ = wait_make(p, measured_make(p, $2, (Word){0, {0, 0}}), NULL); }
    ;
after_opt: %empty { $$ = NULL; } | AFTER event { $$ = $2; };

/* What follows an item: one list in the order of the text; build.c gives each clause its place and reports what has none. */
rest: %empty { $$ = (Clauses){NULL, NULL}; } | rest clause { $$ = $1; list_add(&$$, $2); };
call_rest
    : %empty { $$ = (Clauses){NULL, NULL}; }
    | call_rest clause { $$ = $1; list_add(&$$, $2); }
    | call_rest answered { $$ = $1; list_add(&$$, $2); }
    ;
answered
    : ANSWERED pos { CLAUSE($$, CLAUSE_ANSWERED, @$); $$->word = $2; }
    | ANSWERED pos WITHIN time { CLAUSE($$, CLAUSE_ANSWERED, @$); $$->word = $2; $$->within = *$4; }
    ;
clause
    : why_clause
    | "," IF cond action { CLAUSE($$, CLAUSE_IF, @$); $$->span.lo = @2.lo; $$->cond = $3; $$->action = *$4; }
    | IF cond action
      { slip_no_comma(p, @1, "if"); CLAUSE($$, CLAUSE_IF, @$); $$->cond = $2; $$->action = *$3; }
    | "," WHEN cond action
      { slip_when_for_if(p, @2); CLAUSE($$, CLAUSE_IF, @$); $$->span.lo = @2.lo; $$->cond = $3; $$->action = *$4; }
    | "," OTHERWISE action { CLAUSE($$, CLAUSE_OTHERWISE, @$); $$->span.lo = @2.lo; $$->action = *$3; }
    | OTHERWISE action { CLAUSE($$, CLAUSE_OTHERWISE, @$); $$->action = *$2; }
    | "," tail { $$ = $2; }
    | tail { slip_no_comma(p, @1, NULL); $$ = $1; }
    | "," ANSWERED pos { CLAUSE($$, CLAUSE_ANSWERED, @$); $$->span.lo = @2.lo; $$->word = $3; }
    | "," ANSWERED pos WITHIN time
      { CLAUSE($$, CLAUSE_ANSWERED, @$); $$->span.lo = @2.lo; $$->word = $3; $$->within = *$5; }
    | "," BETWEEN_TRIES block { CLAUSE($$, CLAUSE_BETWEEN, @$); $$->span.lo = @2.lo; $$->block = $3; }
    | BETWEEN_TRIES block { CLAUSE($$, CLAUSE_BETWEEN, @$); $$->block = $2; }
    ;
tail
    : NO_MORE_STARTS { CLAUSE($$, CLAUSE_TAIL, @$); $$->tail = NEW(EndTail, .kind = TAIL_NO_MORE_STARTS, .span = @$); }
    | NEXT_START_AFTER time
      { CLAUSE($$, CLAUSE_TAIL, @$); $$->tail = NEW(EndTail, .kind = TAIL_NEXT_START_AFTER, .span = @$, .after = *$2); }
    | START_AGAIN_AT name
      { CLAUSE($$, CLAUSE_TAIL, @$); $$->tail = NEW(EndTail, .kind = TAIL_START_AGAIN_AT, .span = @$, .phase = $2); }
    ;
whys: %empty { $$ = (Clauses){NULL, NULL}; } | whys why_clause { $$ = $1; list_add(&$$, $2); };
why_clause
    : FROM name section line_opt
      { CLAUSE($$, CLAUSE_FROM, @$); $$->word = $2; $$->section = $3; if ($4 != NULL) $$->line = *$4; }
    | BECAUSE TEXT { CLAUSE($$, CLAUSE_BECAUSE, @$); $$->text = (Text){@2}; }
    | AS TEXT { CLAUSE($$, CLAUSE_AS, @$); $$->text = (Text){@2}; }
    | BY name { CLAUSE($$, CLAUSE_BY, @$); $$->word = $2; }
    | BY TEXT { CLAUSE($$, CLAUSE_BY, @$); $$->text = (Text){@2}; }
    ;
line_opt: %empty { $$ = NULL; } | LINE NUM { $$ = amount_make(p, @2, @2, (Word){0, {0, 0}}); };
tells: %empty { $$ = (Clauses){NULL, NULL}; } | tells tell { $$ = $1; list_add(&$$, $2); };
tell
    : UNTIL date { CLAUSE($$, CLAUSE_UNTIL, @$); $$->section.span = $2; }
    | BECAUSE TEXT { CLAUSE($$, CLAUSE_BECAUSE, @$); $$->text = (Text){@2}; }
    | BY TEXT { CLAUSE($$, CLAUSE_BY, @$); $$->text = (Text){@2}; }
    ;
section: section_name { $$ = word_text(p, @1); };
section_name: NUM | SECTION | DATE { date_judge(p, @1); $$ = $1; } | POS | TEXT;
date: DATE { date_judge(p, @1); $$ = @1; } | SECTION { slip_date(p, @1); $$ = @1; };

/* ---- conditions ---- */
cond: unary | cond_and { $$ = cond_done($1); } | cond_or { $$ = cond_done($1); } | cond_mixed { $$ = cond_done($1); };
cond_and
    : unary AND unary { $$ = cond_pair(p, COND_AND, $1, $3); }
    | cond_and AND unary { $$ = cond_more($1, $3); }
    ;
cond_or
    : unary OR unary { $$ = cond_pair(p, COND_OR, $1, $3); }
    | cond_or OR unary { $$ = cond_more($1, $3); }
    ;
cond_mixed
    : cond_and OR unary { $$ = slip_mixed(p, $1, @2, $3); }
    | cond_or AND unary { $$ = slip_mixed(p, $1, @2, $3); }
    | cond_mixed AND unary { $$ = slip_mixed(p, $1, @2, $3); }
    | cond_mixed OR unary { $$ = slip_mixed(p, $1, @2, $3); }
    ;
unary
    : NOT unary { $$ = COND(.kind = COND_NOT, .span = @$, .parts = $2); }
    | atom
    | atom FOR time { $$ = COND(.kind = COND_FOR, .span = @$, .parts = $1, .time = measured_keep(p, $3)); }
    | atom FOR AT_LEAST time
      { slip_for_at_least(p, @3); $$ = COND(.kind = COND_FOR, .span = @$, .parts = $1, .time = measured_keep(p, $4)); }
    ;
atom
    : ref { $$ = COND(.kind = COND_NAME, .span = @$, .ref = $1); }
    | ref POS { $$ = COND(.kind = COND_IS, .span = @$, .ref = $1, .word = $2); }
    | ref name { $$ = COND(.kind = COND_IS, .span = @$, .ref = $1, .word = $2); }
    | ref name POS { $$ = COND(.kind = COND_IS, .span = @$, .ref = slip_two_words(p, $1, $2), .word = $3); }
    | ref IS word_after { $$ = COND(.kind = COND_IS, .span = @$, .ref = $1, .word = $3, .says_is = true); }
    | ref IS NOT word_after
      { $$ = COND(.kind = COND_IS, .span = @$, .ref = $1, .word = $4, .says_is = true, .negated = true); }
    | ref compare quantity
      { $$ = COND(.kind = COND_COMPARE, .comparison = (uint8_t)$2, .span = @$, .ref = $1,
                  .measured = measured_keep(p, measured_make(p, $3, (Word){0, {0, 0}}))); }
    | ref compare name
      { $$ = COND(.kind = COND_COMPARE, .comparison = (uint8_t)$2, .span = @$, .ref = $1,
                  .measured = measured_keep(p, measured_make(p, NULL, $3))); }
    | ref compare NUM
      { $$ = COND(.kind = COND_COMPARE, .comparison = (uint8_t)$2, .span = @$, .ref = $1,
                  .measured = measured_keep(p, measured_make(p, slip_no_unit(p, @3), (Word){0, {0, 0}}))); }
    | ref range { $$ = COND(.kind = COND_RANGE, .span = @$, .ref = $1, .range = range_keep(p, $2)); }
    | ref quantity { slip_no_compare(p, @2); $$ = COND(.kind = COND_BAD, .span = @$, .ref = $1); }
    | FITTED name { $$ = COND(.kind = COND_FITTED, .span = @$, .ref = $2); }
    | WATCHING ref { $$ = COND(.kind = COND_WATCHING, .span = @$, .ref = $2); }
    | TEXT { $$ = COND(.kind = COND_TEXT, .span = @$, .text = {@1}); }
    | "(" cond ")" { $$ = $2; }
    ;
word_after: POS | name;
compare
    : AT_LEAST { $$ = COMPARE_AT_LEAST; }
    | AT_MOST { $$ = COMPARE_AT_MOST; }
    | BELOW { $$ = COMPARE_BELOW; }
    | ABOVE { $$ = COMPARE_ABOVE; }
    ;

/* ---- events and gates ---- */
events
    : event { $$ = (Events){NULL, NULL}; list_add(&$$, $1); }
    | events OR event { $$ = $1; list_add(&$$, $3); }
    ;
event
    : ref { $$ = event_make(p, EVENT_NAME, @$, $1, (Word){0, {0, 0}}); }
    | ref POS { $$ = event_make(p, EVENT_BECOMES, @$, $1, $2); }
    | ref BECOMES pos { $$ = event_make(p, EVENT_BECOMES, @$, $1, $3); $$->says_becomes = true; }
    | ref LEAVES pos { $$ = event_make(p, EVENT_LEAVES, @$, $1, $3); }
    | ref SEEN word_after { $$ = event_make(p, EVENT_SEEN, @$, $1, $3); }
    | ref ANSWERED pos { $$ = event_make(p, EVENT_ANSWERED, @$, $1, $3); }
    | set_event
    | LOOK ref pos { $$ = event_make(p, EVENT_LOOK, @$, $2, $3); }
    | CALL ref { $$ = event_make(p, EVENT_CALL, @$, $2, (Word){0, {0, 0}}); }
    | BRIEF name { $$ = event_make(p, EVENT_BRIEF, @$, $2, (Word){0, {0, 0}}); }
    ;
set_event: SET ref pos { $$ = event_make(p, EVENT_SET, @$, $2, $3); };
gate_body: "{" gatelines "}" nl { $$ = $2; };
gatelines
    : %empty { $$ = ARENA_NEW(p->job->arena, Gate); }
    | gatelines rule whys nl { $$ = $1; gate_line(p, $$, (Gate){.rule = *$2, .rule_why = why_make(p, $3)}, @2); }
    | gatelines IN name "," rule whys nl
      { $$ = $1; gate_line(p, $$, (Gate){.within = $3, .rule = *$5, .rule_why = why_make(p, $6)}, @5); }
    | gatelines IN_ANY_DRILL "," rule whys nl
      { $$ = $1; gate_line(p, $$, (Gate){.in_any_drill = true, .rule = *$4, .rule_why = why_make(p, $5)}, @4); }
    | gatelines NEVER_WAIVED nl { $$ = $1; gate_line(p, $$, (Gate){.never_waived = true}, @2); }
    | gatelines SEVERITY rank_name whys nl
      { $$ = $1; gate_line(p, $$, (Gate){.severity = $3, .severity_why = why_make(p, $4)}, @2); }
    | gatelines APPLIES WHEN cond whys nl
      { $$ = $1; gate_line(p, $$, (Gate){.applies = $4, .applies_why = why_make(p, $5)}, @2); }
    | gatelines why_clause whys nl { $$ = $1; gate_why(p, $$, $2, $3); }
    | gatelines junk { $$ = $1; }
    ;
rank_name: name;
rule
    : BEFORE EACH event since_opt except ":" steps
      { $$ = rule_new(p, RULE(.kind = RULE_BEFORE_EACH, .trigger = $3, .since = $4, .steps = $7.first), @$, $5); }
    | BEFORE THE_FIRST event except ":" steps
      { $$ = rule_new(p, RULE(.kind = RULE_BEFORE_FIRST, .trigger = $3, .steps = $6.first), @$, $4); }
    | AFTER each_opt event WITHIN time except ":" events
      { $$ = rule_new(p, RULE(.kind = RULE_RESPONSE, .says_each = $2, .trigger = $3, .time = *$5, .events = $8.first), @$, $6); }
    | AFTER each_opt event except ":" NO event
      { $$ = rule_new(p, RULE(.kind = RULE_NEVER_AFTER, .says_each = $2, .trigger = $3, .events = $7), @$, $4); }
    | AFTER each_opt event except ":" NO event FOR AT_LEAST time
      { $$ = rule_new(p, RULE(.kind = RULE_NEVER_AFTER, .says_each = $2, .trigger = $3, .events = $7, .time = *$10), @$, $4); }
    | AFTER each_opt event except ":" event BEFORE event
      { $$ = rule_new(p, RULE(.kind = RULE_ORDER, .says_each = $2, .trigger = $3, .events = $6, .before = $8), @$, $4); }
    | AT_EACH event except ":" cond
      { $$ = rule_new(p, RULE(.kind = RULE_AT_EACH, .trigger = $2, .cond = $5), @$, $3); }
    | FROM_EACH event UNTIL events except ":" cond
      { $$ = rule_new(p, RULE(.kind = RULE_FROM_UNTIL, .trigger = $2, .since = $4.first, .cond = $7), @$, $5); }
    | WHILE cond except ":" cond
      { $$ = rule_new(p, RULE(.kind = RULE_WHILE, .state = $2, .cond = $5), @$, $3); }
    | EACH name LASTS AT_MOST time { $$ = rule_new(p, RULE(.kind = RULE_LASTS, .ref = $2, .time = *$5), @$, NULL); }
    | EACH name CAN_REACH name { $$ = rule_new(p, RULE(.kind = RULE_CAN_REACH, .ref = $2, .target = $4), @$, NULL); }
    | AT_MOST count event SINCE THE_LAST event
      { $$ = rule_new(p, RULE(.kind = RULE_AT_MOST_SINCE, .count = *$2, .events = $3, .since = $6), @$, NULL); }
    | AT_MOST count event SINCE THE_LAST_REST_OF AT_LEAST time
      { $$ = rule_new(p, RULE(.kind = RULE_AT_MOST_REST, .count = *$2, .events = $3, .time = *$7), @$, NULL); }
    | IN_ANY time ":" AT_MOST count event
      { $$ = rule_new(p, RULE(.kind = RULE_WINDOW, .time = *$2, .count = *$5, .events = $6), @$, NULL); }
    | EVERY_END outcomes_opt ":" cond
      { $$ = rule_new(p, RULE(.kind = RULE_EVERY_END, .outcomes = $2.first, .cond = $4), @$, NULL); }
    | EVERY_END_OF name ":" cond { $$ = rule_new(p, RULE(.kind = RULE_END_OF, .target = $2, .cond = $4), @$, NULL); }
    | EVERY_END_OF ANY_DRILL ":" cond { $$ = rule_new(p, RULE(.kind = RULE_END_OF, .any_drill = true, .cond = $4), @$, NULL); }
    | DUTY_OF ref KEPT { $$ = rule_new(p, RULE(.kind = RULE_DUTY, .ref = $2), @$, NULL); }
    | EVERY_CASE { $$ = rule_new(p, RULE(.kind = RULE_CASES), @$, NULL); }
    ;
each_opt: %empty { $$ = false; } | EACH { $$ = true; };
since_opt: %empty { $$ = NULL; } | SINCE THE_LAST event { $$ = $3; };
except
    : %empty { $$ = NULL; }
    | EXCEPT_IN drill_names { $$ = rule_except(p, $2.first, false); }
    | EXCEPT_IN ANY_DRILL { $$ = rule_except(p, NULL, true); }
    ;
drill_names: names;
outcomes_opt: %empty { $$ = (Words){NULL, NULL}; } | positions_or;
positions_or
    : POS { $$ = (Words){NULL, NULL}; list_add(&$$, word_node(p, $1)); }
    | positions_or OR POS { $$ = $1; list_add(&$$, word_node(p, $3)); }
    ;
steps
    : step { $$ = (Steps){NULL, NULL}; list_add(&$$, $1); }
    | steps "," THEN step { $$ = $1; list_add(&$$, $4); }
    | steps THEN step { slip_no_comma(p, @2, "then"); $$ = $1; list_add(&$$, $3); }
    ;
step
    : event { $$ = NEW(RuleStep, .span = @$, .event = $1); }
    | A_PAUSE_OF range { $$ = NEW(RuleStep, .span = @$, .pause = *$2); }
    | A_PAUSE_OF AT_LEAST quantity { $$ = NEW(RuleStep, .span = @$, .pause = {.lo = *$3}); }
    | A_PAUSE_OF AT_LEAST name { $$ = NEW(RuleStep, .span = @$, .pause_name = $3); }
    | A_PAUSE_OF AT_LEAST NUM { $$ = NEW(RuleStep, .span = @$, .pause = {.lo = *slip_no_unit(p, @3)}); }
    ;

/* ---- standards, adaptations, documents ---- */
standing_body: "{" standings "}" nl { $$ = $2; };
standings
    : %empty { $$ = (Standings){NULL, NULL}; }
    | standings standing { $$ = $1; list_add(&$$, $2); }
    | standings junk { $$ = $1; }
    ;
standing
    : HOLDS paths whys nl
      { $$ = NEW(Standing, .kind = STANDING_HOLDS, .span = @$, .words = $2.first, .why = why_make(p, $3)); }
    | RANK names AS name whys nl
      { $$ = NEW(Standing, .kind = STANDING_RANK, .span = @$, .words = $2.first, .rank = $4, .why = why_make(p, $5)); }
    | gate { $$ = NEW(Standing, .kind = STANDING_GATE, .span = @$, .gate = $1); }
    ;
edit_body: "{" edits "}" nl { $$ = $2; };
edits
    : %empty { $$ = (Edits){NULL, NULL}; }
    | edits edit { $$ = $1; list_add(&$$, $2); }
    | edits junk { $$ = $1; }
    ;
edit
    : AFTER ref ADD block whys nl
      { $$ = NEW(Edit, .kind = EDIT_ADD_AFTER, .span = @$, .ref = $2, .block = $4, .why = why_make(p, $5)); }
    | BEFORE ref ADD block whys nl
      { $$ = NEW(Edit, .kind = EDIT_ADD_BEFORE, .span = @$, .ref = $2, .block = $4, .why = why_make(p, $5)); }
    | REPLACE ref WITH block whys nl
      { $$ = NEW(Edit, .kind = EDIT_REPLACE, .span = @$, .ref = $2, .block = $4, .why = why_make(p, $5)); }
    | MOVE ref AFTER ref whys nl
      { $$ = NEW(Edit, .kind = EDIT_MOVE_AFTER, .span = @$, .ref = $2, .to = $4, .why = why_make(p, $5)); }
    | MOVE ref BEFORE ref whys nl
      { $$ = NEW(Edit, .kind = EDIT_MOVE_BEFORE, .span = @$, .ref = $2, .to = $4, .why = why_make(p, $5)); }
    | REWORD ref AS TEXT whys nl
      { $$ = NEW(Edit, .kind = EDIT_REWORD, .span = @$, .ref = $2, .text = {@4}, .why = why_make(p, $5)); }
    | OMIT FROM name section LINE NUM whys nl
      { $$ = edit_omit_line(p, @$, $3, $4, *amount_make(p, @6, @6, (Word){0, {0, 0}}), $7); }
    | OMIT ref whys nl { $$ = NEW(Edit, .kind = EDIT_OMIT, .span = @$, .ref = $2, .why = why_make(p, $3)); }
    ;
doc_body: "{" doclines "}" nl { $$ = $2; };
doclines
    : %empty { $$ = (DocLines){NULL, NULL}; }
    | doclines docline { $$ = $1; list_add(&$$, $2); }
    | doclines junk { $$ = $1; }
    ;
docline
    : FOR names nl { $$ = NEW(DocLine, .kind = DOC_FOR, .span = @$, .words = $2.first); }
    | STANDARD names nl { $$ = NEW(DocLine, .kind = DOC_STANDARD, .span = @$, .words = $2.first); }
    | ISSUE names nl { $$ = NEW(DocLine, .kind = DOC_ISSUE, .span = @$, .words = $2.first); }
    | CONTAINS contained nl { $$ = $2; $$->span = @$; }
    | revision_line nl
    | CHANGES TEXT nl { $$ = NEW(DocLine, .kind = DOC_CHANGES, .span = @$, .text = {@2}); }
    | CHANGES TEXT SINCE REVISION NUM IN TEXT nl
      {
          $$ = NEW(DocLine, .kind = DOC_CHANGES, .span = @$, .text = {@2}, .text2 = {@7},
                   .amount = {@5, @5, {0, {0, 0}}});
      }
    | distribution_line nl { $$ = $1; $$->span = @$; }
    | PREPARED BY TEXT nl { $$ = NEW(DocLine, .kind = DOC_PREPARED, .span = @$, .text = {@3}); }
    | APPROVED BY TEXT ON date nl { $$ = NEW(DocLine, .kind = DOC_APPROVED, .span = @$, .text = {@3}, .date = $5); }
    | APPROVED BY TEXT ON date FOR code nl
      { $$ = NEW(DocLine, .kind = DOC_APPROVED, .span = @$, .text = {@3}, .date = $5, .ref = word_text(p, @7)); }
    | card_line nl
    ;
code: POS | SECTION | MIXED;
contained
    : name { $$ = NEW(DocLine, .kind = DOC_CONTAINS, .words = word_node(p, $1)); }
    | ALL_DRILLS { $$ = NEW(DocLine, .kind = DOC_CONTAINS, .all_drills = true); }
    | contained "," name { $$ = $1; words_append(&$$->words, word_node(p, $3)); }
    | contained "," ALL_DRILLS { $$ = $1; $$->all_drills = true; }
    ;
revision_line
    : REVISION NUM { $$ = NEW(DocLine, .kind = DOC_REVISION, .span = @$, .amount = {@2, @2, {0, {0, 0}}}); }
    | revision_line "," EFFECTIVE date { $$ = $1; $$->date = $4; $$->span = @$; }
    | revision_line "," REVIEW_BY date { $$ = $1; $$->date2 = $4; $$->span = @$; }
    ;
distribution_line
    : DISTRIBUTION TEXT { $$ = NEW(DocLine, .kind = DOC_DISTRIBUTION, .texts = NEW(TextList, .text = {@2})); }
    | distribution_line "," TEXT { $$ = $1; texts_append(&$$->texts, NEW(TextList, .text = {@3})); }
    ;
card_line
    : CARD name { $$ = NEW(DocLine, .kind = DOC_CARD, .span = @$, .ref = $2); }
    | card_line "," TYPE AT_LEAST quantity { $$ = $1; $$->amount = *$5; $$->span = @$; }
    | card_line "," READ_AT quantity { $$ = $1; $$->amount2 = *$4; $$->span = @$; }
    | card_line "," ALSO_IN unit { $$ = $1; words_append(&$$->words, word_node(p, $4)); $$->span = @$; }
    ;

/* ---- words and amounts ---- */
time
    : quantity { $$ = measured_make(p, $1, (Word){0, {0, 0}}); }
    | name { $$ = measured_make(p, NULL, $1); }
    | NUM { $$ = measured_make(p, slip_no_unit(p, @1), (Word){0, {0, 0}}); }
    | SECTION { $$ = measured_make(p, slip_section_amount(p, @1), (Word){0, {0, 0}}); }
    ;
count
    : NUM { $$ = measured_make(p, amount_make(p, @1, @1, (Word){0, {0, 0}}), (Word){0, {0, 0}}); }
    | name { $$ = measured_make(p, NULL, $1); }
    ;
quantity: NUM unit { $$ = amount_make(p, @$, @1, $2); };
range
    : NUM DOTDOT quantity { $$ = range_make(p, amount_make(p, @1, @1, (Word){0, {0, 0}}), $3); }
    | quantity DOTDOT quantity { $$ = range_make(p, $1, $3); }
    | NUM DOTDOT NUM { $$ = range_make(p, amount_make(p, @1, @1, (Word){0, {0, 0}}), slip_no_unit(p, @3)); }
    | NUM TO quantity { slip_range_to(p, @2, @1, @3); $$ = range_make(p, amount_make(p, @1, @1, (Word){0, {0, 0}}), $3); }
    | SECTION unit { $$ = slip_dash_range(p, $1, $2); }
    ;
unit: NAME | POS | MIXED | SLASHED;
pos: POS | name { $$ = slip_position(p, $1); } | MIXED { $$ = slip_position(p, $1); };
ref: name | DOTTED;
xref: ref | POS { $$ = slip_name(p, $1); } | MIXED { $$ = slip_name(p, $1); };
name: NAME | free;
free
    : USE | CONTROL | GAUGE | LIGHT | SCENE | PERSON | CALL | BRIEFING | SOURCE | EDITION | AIRCRAFT | TAIL | ENGINES
    | KIND | LINES | LINE | INOPERATIVE | DUTY | REST | TRIES | TIMES | BAND | VALUE | PRINT | PACE | PROCEDURE | DRILL
    | GROUP | APPLIES | DRILLS | CUE | ARMED | PHASE | MEMORY | CASE | EVENT | STATE | GATE | SEVERITY | STANDARD
    | HOLDS | RANK | WAIVE | AT | ADAPT | ADD | REPLACE | MOVE | REWORD | OMIT | DOCUMENT | CONTAINS | REVISION
    | EFFECTIVE | CHANGES | PREPARED | APPROVED | DISTRIBUTION | CARD | TYPE | ISSUE | FLEET | WORDING | STOPS | TURNS | POWERS
    | COUNTED | CHECK | LOOK | BRIEF | WAIT | CRANK | HOLD | RELEASE | WATCH | PLAIN | NOTE | CAUTION | WARNING
    ;

%%

static int token_of_symbol(yysymbol_kind_t kind)
{
    return (int)kind < (int)YYSYMBOL_NL ? 0 : T_NL + ((int)kind - (int)YYSYMBOL_NL);
}

static int yyreport_syntax_error(const yypcontext_t *context, Parser *p)
{
    _Static_assert((int)YYSYMBOL_DUTY_OF - (int)YYSYMBOL_NL == T_DUTY_OF - T_NL, "tokens are numbered as symbols are");
    yysymbol_kind_t kinds[YYNTOKENS];
    int tokens[YYNTOKENS];
    int n = yypcontext_expected_tokens(context, kinds, YYNTOKENS);
    if (n < 0) return n;
    size_t n_tokens = 0;
    for (int i = 0; i < n; i++) tokens[n_tokens++] = token_of_symbol(kinds[i]);
    SyntaxError error = {
        .token = token_of_symbol(yypcontext_token(context)),
        .span = *yypcontext_location(context),
        .expected = tokens,
        .n_expected = n_tokens,
    };
    syntax_error(p, &error);
    return 0;
}

/* Only the parser's own stack comes here. */
void sw_error(Span *location, Parser *p, const char *text)
{
    (void)text;
    parser_too_deep(p, *location);
}
