/* The numbers of one tail, one by one, so that two tails, or two revisions of one, can be compared.
   takes   a tail
   gives   each bound of its bands, each value, each time and count of its duties
   owns    all in the job's arena
   never   decides which of two numbers is right: only which of them lets more happen */
#ifndef SEMA_NUMBERS_H
#define SEMA_NUMBERS_H
#include "sema/program.h"

/* Which way a number gives more room: known from where it is used. */
typedef enum {
    ROOM_ABOVE, /* a higher number allows more: a time within which, a count of tries, the upper end of what is wanted */
    ROOM_BELOW,  /* a lower one does: a rest, a pause, the lower end of what is wanted */
    ROOM_UNKNOWN /* nothing uses it, or what uses it pulls both ways */
} NumberRoom;

typedef struct {
    Str key;  /* the same in every aircraft: "band oil-pressure limit at-least", with its case behind it */
    Str what; /* in words: "Oil pressure limit, at least" */
    NumberRoom room;
    Rational amount;        /* base units */
    const Measure *measure; /* NULL: a count */
    const Craft *craft;     /* the line that gives it */
    const Decl *given_by;   /* the aircraft or tail whose line that is */
} TailNumber;
typedef struct {
    TailNumber *at;
    size_t n;
} TailNumbers;

typedef enum { NUMBER_SAME, NUMBER_TIGHTER, NUMBER_LOOSER, NUMBER_OTHER } NumberChange;

TailNumbers tail_numbers(const Job *job, const Tail *tail);
const TailNumber *number_find(const TailNumbers *numbers, Str key); /* NULL: none */
NumberChange number_change(const TailNumber *from, const TailNumber *to);
/* "25 psi", "3" */
void buf_number(Buf *buf, const Measure *measure, Rational amount);
#endif
