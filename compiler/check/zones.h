/* Zones: sets of clock valuations as difference-bound matrices with closed bounds in whole milliseconds.
   Row and column 0 are the constant 0; d[i * n + j] bounds clock i minus clock j from above.
   Every zone handed between functions is canonical (each bound the tightest) and not empty. */
#ifndef CHECK_ZONES_H
#define CHECK_ZONES_H
#include <stdbool.h>
#include <stdint.h>

#define ZONE_INF INT32_C(0x3fffffff)
#define ZONE_LONGEST \
    INT32_C(259200000) /* three days: the longest time a bound may have, so that sums cannot overflow */
#define ZONE_MAX 40    /* clocks of one zone, the constant included */

typedef struct {
    uint32_t n; /* clocks and the constant */
    int32_t d[ZONE_MAX * ZONE_MAX];
} Zone;

void zone_zero(Zone *zone, uint32_t n); /* every clock is 0 */
void zone_up(Zone *zone);               /* any time passes */
/* Keeps where clock i minus clock j is at most `most`; false: nothing is left (the zone is then useless). */
bool zone_limit(Zone *zone, uint32_t i, uint32_t j, int32_t most);
bool zone_at_most(Zone *zone, uint32_t clock, int32_t ms);
bool zone_at_least(Zone *zone, uint32_t clock, int32_t ms);
int32_t zone_highest(const Zone *zone, uint32_t clock); /* ZONE_INF: no bound */
int32_t zone_lowest(const Zone *zone, uint32_t clock);
/* Clock k of `to` is clock pick[k] of `from`; pick[k] == 0: it was set to 0 at this moment. pick[0] is 0. */
void zone_pick(Zone *to, const Zone *from, const uint8_t *pick, uint32_t n);
/* Forgets what no test can see: lower[i] and upper[i] are the largest numbers clock i is still tested against from below
   and from above, -1 for none. Sound as no two clocks are compared. */
void zone_extrapolate(Zone *zone, const int32_t *lower, const int32_t *upper);
bool zone_within(const int32_t *inner, const int32_t *outer, uint32_t n);
#endif
