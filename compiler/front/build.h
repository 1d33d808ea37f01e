/* The constructors that the grammar's actions call, one for each shape, and the foreseen slips: each reports one mistake
   and gives the node that was meant. */
#ifndef FRONT_BUILD_H
#define FRONT_BUILD_H
#include "front/parse.h"

Clause *clause_new(Parser *p, ClauseKind kind, Span span);
/* `more` NULL: the statement has nothing of it. Takes the clauses. */
Stmt *stmt_make(Parser *p, Span span, Stmt fields, const StmtMore *more, Clauses clauses);
void case_add(Parser *p, Stmts *cases, Span span, Cond *cond, Block *block, Clauses clauses);
Why *why_make(Parser *p, Clauses clauses); /* NULL: nothing written */
Block *block_make(Parser *p, Span span, Stmts stmts);

Cond *cond_make(Parser *p, Cond fields);
Cond *cond_pair(Parser *p, CondKind kind, Cond *first, Cond *last);
Cond *cond_more(Cond *join, Cond *last); /* a join under construction: its `next` is its last part */
Cond *cond_done(Cond *join);
Event *event_make(Parser *p, EventKind kind, Span span, Word ref, Word pos);

Word word_text(Parser *p, Span span); /* a section, a path: its name is its text as written, without quotes */
WordList *word_node(Parser *p, Word word);
void words_append(WordList **list, WordList *node);
void texts_append(TextList **list, TextList *node);

Decl *decl_make(Parser *p, Span span, Decl fields, const DeclMore *more); /* `more` NULL: it has nothing of it */
Decl *waive_make(Parser *p, Span span, Word gate, Word item, WordList *on, Clauses tells);
Craft *craft_make(Parser *p, Span span, Craft fields, Clauses clauses);
Edit *edit_omit_line(Parser *p, Span span, Word source, Word section, Amount line, Clauses clauses);
Craft *inoperative_make(Parser *p, Span span, WordList *words, Clauses tells);

void gate_line(Parser *p, Gate *gate, Gate line, Span span);
void gate_why(Parser *p, Gate *gate, Clause *first, Clauses rest);
Rule *rule_new(Parser *p, Rule fields, Span span, const Rule *except);
Rule *rule_except(Parser *p, WordList *drills, bool any);

/* Values on their way from one reduction to the next; the keep functions give them a place in the tree. */
Amount *amount_make(Parser *p, Span span, Span number, Word unit);
Measured *measured_make(Parser *p, const Amount *amount, Word name);
Range *range_make(Parser *p, const Amount *lo, const Amount *hi);
Action *action_make(Parser *p, Action fields);
Measured *measured_keep(Parser *p, const Measured *measured);
Range *range_keep(Parser *p, const Range *range);
Action *action_keep(Parser *p, const Action *action);
Timing *timing_make(Parser *p, const Measured *time, Event *after);
Timing *wait_make(Parser *p, const Measured *least, const Measured *most);

/* slip.c */
Word slip_position(Parser *p, Word word);
Word slip_name(Parser *p, Word word);
Word slip_two_words(Parser *p, Word first, Word second);
Amount *slip_no_unit(Parser *p, Span number);
Amount *slip_section_amount(Parser *p, Span section);
Range *slip_dash_range(Parser *p, Word section, Word unit);
void slip_no_number_word(Parser *p, Span span, const Amount *amount, bool wait);
void slip_no_comma(Parser *p, Span at, const char *before);
void slip_when_for_if(Parser *p, Span when);
void slip_for_at_least(Parser *p, Span at_least);
void slip_range_to(Parser *p, Span to, Span low, Span high);
void slip_no_compare(Parser *p, Span amount);
void slip_date(Parser *p, Span section);
void date_judge(Parser *p, Span date);
Cond *slip_mixed(Parser *p, Cond *join, Span word, Cond *last);
Block *slip_if_line(Parser *p, Span if_word, const Action *action);
#endif
