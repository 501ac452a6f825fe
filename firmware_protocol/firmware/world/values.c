#include "values.h"

bool world_set(struct world *world, int value, double to)
{
    double *const places[] = {
        [BENCH_OPERATE_AT] = &world->operate_at, [BENCH_RELEASE_AT] = &world->release_at,
        [BENCH_NOISE] = &world->noise,           [BENCH_SEED] = 0,
        [BENCH_HOME_AT] = &world->home_at,       [BENCH_HOME_GAP] = &world->home_gap,
        [BENCH_PROBE_AT] = &world->probe_at,     [BENCH_BACKLASH] = &world->backlash,
    };
    switch (value) {
    case BENCH_SEED:
        world->seed = (uint64_t)to * 2u + 1u; // never 0
        return true;
    case BENCH_OUT_FORCED:
        world->out_forced = (int)to;
        return true;
    case BENCH_SUPPLY:
        world->supply = to > 0.0;
        return true;
    case BENCH_REVERSED:
        world->reversed = to > 0.0;
        return true;
    case BENCH_DRIVE:
        world->drive = to > 0.0;
        return true;
    case BENCH_BROKEN:
        world->broken = (uint8_t)to;
        return true;
    case BENCH_TARGET:
        world->target = to;
        world->command = to;
        return true;
    default:
        if (value >= BENCH_QUANTITY && value < BENCH_QUANTITY + (int)WORLD_QUANTITIES) {
            world->quantities[value - BENCH_QUANTITY] = to;
            return true;
        }
        if (value < 0 || value > BENCH_BACKLASH) {
            return false;
        }
        *places[value] = to;
        return true;
    }
}

bool world_get(const struct world *world, int value, double *is)
{
    const double all[] = {
        [BENCH_OPERATE_AT] = world->operate_at,
        [BENCH_RELEASE_AT] = world->release_at,
        [BENCH_NOISE] = world->noise,
        [BENCH_SEED] = (double)world->seed,
        [BENCH_HOME_AT] = world->home_at,
        [BENCH_HOME_GAP] = world->home_gap,
        [BENCH_PROBE_AT] = world->probe_at,
        [BENCH_BACKLASH] = world->backlash,
        [BENCH_OUT_FORCED] = world->out_forced,
        [BENCH_SUPPLY] = world->supply,
        [BENCH_REVERSED] = world->reversed,
        [BENCH_DRIVE] = world->drive,
        [BENCH_BROKEN] = world->broken,
        [BENCH_TARGET] = world->target,
        [BENCH_LINE_RATE] = 0.0,
        [BENCH_COMMAND] = world->command,
        [BENCH_PULSES_UP] = (double)world->pulses_up,
        [BENCH_PULSES_DOWN] = (double)world->pulses_down,
        [BENCH_EDGE_COUNT] = (double)world->edge_count,
        [BENCH_INPUTS] = world->inputs,
        [BENCH_ENABLED] = world->enabled,
        [BENCH_CYCLES] = 0.0,
        [BENCH_CONTROLLER_RATE] = 0.0,
        [BENCH_OVERRUNS] = 0.0,
        [BENCH_SWITCHED_ON] = world->switched_on,
        [BENCH_SWITCHED_CYCLES] = (double)world->switched_cycles,
        [BENCH_SET_MV] = world->set_mv,
        [BENCH_SCALE] = world_scale(world),
    };
    bool ours = (value >= 0 && value <= BENCH_ENABLED && value != BENCH_LINE_RATE)
                || (value >= BENCH_SWITCHED_ON && value <= BENCH_SCALE);
    if (!ours) {
        return false;
    }
    *is = all[value];
    return true;
}

int world_edge(const struct world *world, uint64_t index, struct world_edge *edge)
{
    uint64_t count = world->edge_count;
    if (index >= count || count - index > WORLD_EDGES) {
        return 0;
    }
    *edge = world->edges[index % WORLD_EDGES];
    return 1;
}

void world_log_pulses(struct world *world, uint64_t *cycles, uint64_t capacity)
{
    world->pulse_cycles = cycles;
    world->pulse_capacity = capacity;
    world->pulse_count = 0;
}
