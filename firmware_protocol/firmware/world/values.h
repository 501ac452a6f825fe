// What both benches do alike with bench_set and bench_get
#ifndef VALUES_H
#define VALUES_H

#include <stdbool.h>

#include "bench.h"

// Set a value of the world; false for one that is not the world's
bool world_set(struct world *world, int value, double to);

// Read one; false likewise
bool world_get(const struct world *world, int value, double *is);

#endif
