/* Small models and their gates written for an independent model checker: one process, ticks of one time unit, an assertion that
   fails where the rule is broken. Their times are few (ORACLE_TIME), so that clocks can stand still beyond the largest of them.
   Several stand in one text, since making a checker takes longer than running it; the variable PROMELA_WHICH of its environment
   chooses one, counted from 0. */
#ifndef ORACLE_PROMELA_H
#define ORACLE_PROMELA_H
#include "sema/model.h"
#include <stdio.h>

void promela_write(FILE *to, const Model *const *models, uint32_t n); /* each with the first gate of its tail */
#endif
