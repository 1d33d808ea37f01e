/* Where lines end; the filter itself is sw_lex, which the parser calls. */
#ifndef FRONT_FILTER_H
#define FRONT_FILTER_H
#include "front/parse.h"

/* A newline between these two kinds of token ends no line; 0 stands for the beginning of the file. */
bool filter_joins(int before, int after);
#endif
