// What both benches do alike with bench_set and bench_get
#ifndef VALUES_H
#define VALUES_H

#include <stdbool.h>

#include "bench.h"

// Set a value of the world; false for one that is not the world's
bool world_set(struct world *world, int value, double to);

// Read one; false likewise
bool world_get(const struct world *world, int value, double *is);

// As bench_edge and bench_log_pulses
int world_edge(const struct world *world, uint64_t index, struct world_edge *edge);
void world_log_pulses(struct world *world, uint64_t *cycles, uint64_t capacity);

#endif
