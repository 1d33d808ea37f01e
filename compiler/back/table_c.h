/* Inside back: the functions that step a table in C, as text in which @ stands for the prefix of the names. */
#ifndef BACK_TABLE_C_H
#define BACK_TABLE_C_H

extern const char table_step_text[];
#endif
