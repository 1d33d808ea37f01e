#include "check/zones.h"
#include <string.h>

static int32_t sum(int32_t a, int32_t b) {
    return a >= ZONE_INF || b >= ZONE_INF ? ZONE_INF : a + b;
}

void zone_zero(Zone *zone, uint32_t n) {
    zone->n = n;
    memset(zone->d, 0, (size_t)n * n * sizeof zone->d[0]);
}

void zone_up(Zone *zone) {
    for (uint32_t i = 1; i < zone->n; i++) zone->d[i * zone->n] = ZONE_INF;
}

bool zone_limit(Zone *zone, uint32_t i, uint32_t j, int32_t most) {
    uint32_t n = zone->n;
    int32_t *d = zone->d;
    if (sum(d[j * n + i], most) < 0) return false;
    if (d[i * n + j] <= most) return true;
    d[i * n + j] = most;
    for (uint32_t k = 0; k < n; k++) {
        int32_t to_i = d[k * n + i], around = sum(to_i, most);
        if (around >= ZONE_INF) continue;
        for (uint32_t l = 0; l < n; l++) {
            int32_t through = sum(around, d[j * n + l]);
            if (through < d[k * n + l]) d[k * n + l] = through;
        }
    }
    return true;
}

bool zone_at_most(Zone *zone, uint32_t clock, int32_t ms) {
    return zone_limit(zone, clock, 0, ms);
}

bool zone_at_least(Zone *zone, uint32_t clock, int32_t ms) {
    return zone_limit(zone, 0, clock, -ms);
}

int32_t zone_highest(const Zone *zone, uint32_t clock) {
    return zone->d[clock * zone->n];
}

int32_t zone_lowest(const Zone *zone, uint32_t clock) {
    return -zone->d[clock];
}

void zone_pick(Zone *to, const Zone *from, const uint8_t *pick, uint32_t n) {
    to->n = n;
    for (uint32_t i = 0; i < n; i++) {
        const int32_t *row = from->d + (size_t)pick[i] * from->n;
        for (uint32_t j = 0; j < n; j++) to->d[i * n + j] = row[pick[j]];
    }
}

static void close_all(Zone *zone) {
    uint32_t n = zone->n;
    int32_t *d = zone->d;
    for (uint32_t k = 0; k < n; k++)
        for (uint32_t i = 0; i < n; i++) {
            int32_t first = d[i * n + k];
            if (first >= ZONE_INF) continue;
            for (uint32_t j = 0; j < n; j++) {
                int32_t through = sum(first, d[k * n + j]);
                if (through < d[i * n + j]) d[i * n + j] = through;
            }
        }
}

/* A bound is dropped where it, or how late its clock is, lies beyond all tests of that clock from below, or how late the other clock is beyond
   its tests from above. */
void zone_extrapolate(Zone *zone, const int32_t *lower, const int32_t *upper) {
    uint32_t n = zone->n;
    bool changed = false, late[ZONE_MAX];
    int32_t lowest[ZONE_MAX];
    for (uint32_t j = 0; j < n; j++) {
        lowest[j] = -zone->d[j];
        late[j] = j && lowest[j] > upper[j];
    }
    for (uint32_t i = 1; i < n; i++) {
        int32_t *row = zone->d + (size_t)i * n, most = lowest[i] > lower[i] ? INT32_MIN : lower[i];
        for (uint32_t j = 0; j < n; j++) {
            if (row[j] >= ZONE_INF || i == j || (row[j] <= most && !late[j])) continue;
            row[j] = ZONE_INF;
            changed = true;
        }
    }
    for (uint32_t j = 1; j < n; j++) {
        if (!late[j] || zone->d[j] == -(upper[j] + 1)) continue;
        zone->d[j] = -(upper[j] + 1);
        changed = true;
    }
    if (changed) close_all(zone);
}

bool zone_within(const int32_t *inner, const int32_t *outer, uint32_t n) {
    for (uint32_t k = 0; k < n * n; k++)
        if (inner[k] > outer[k]) return false;
    return true;
}
