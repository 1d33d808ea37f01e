/* Every limit of the program, in one table. Passing one is an ordinary finding that names it. */
#ifndef BASE_LIMITS_H
#define BASE_LIMITS_H
#define LIMIT_FILE_BYTES (256u << 20) /* one source file */
#define LIMIT_NESTING 200             /* braces within braces, and brackets in a condition */
#define LIMIT_NUMBER_DIGITS 18        /* digits of a number as written, without sign and point */
#define LIMIT_NAME_BYTES 255          /* a name, a position, a unit */
#define LIMIT_FINDINGS 10000          /* kept in one run; the rest is counted */
#define LIMIT_FACT_VALUES 64          /* positions of a thing, steps of a gauge, tries */
#define LIMIT_PASSES 62          /* of a duty, passes of a try: counted with "none" and "or more" as values of a fact */
#define LIMIT_TIME_MS 259200000  /* three days: the longest time that a proof follows */
#define LIMIT_GUARD_TERMS 256    /* alternatives of one condition after expansion */
#define LIMIT_GROUP_DEPTH 32     /* a group that does a group that … */
#define LIMIT_ZONES 200000       /* zones of one search; past it: not decided */
#define LIMIT_TAIL_ZONES 3000000 /* zones of all searches of one tail; past it the rules left are not decided */
#define LIMIT_LIST_LINES 40      /* of one phase, past which `list-long` is told: the house's own number, no count is known */
#define LIMIT_CAPITALS 40        /* of one text, past which `long-capitals` is told: about a line */
#define LIMIT_ENGINES 8
#endif
