/* Which tails are one to a proof.
   takes   a Tail
   gives   a key of all that lowering and the proof read of it: two tails of one compile with the same key have the same model, the same
           verdicts and the same findings but for places in their own lines
   owns    nothing: the key is a value
   never   looks at names, titles, reasons and sources of the tail's own, nor at where its lines stand */
#ifndef SEMA_TAIL_KEY_H
#define SEMA_TAIL_KEY_H
#include "base/job.h"
#include "base/sha256.h"
#include "sema/tail.h"

/* Tails with the same key have the same mark, which is made in a tenth of the time; with the same mark, they most likely have the same key. It says
   nothing beyond this run. */
uint64_t tail_mark(const Job *job, const Tail *tail);
Sha256Digest tail_key(const Job *job, const Tail *tail);
#endif
