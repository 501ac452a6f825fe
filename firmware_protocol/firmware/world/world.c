#include "world.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

void world_init(struct world *world)
{
    memset(world, 0, sizeof *world);
    world->command = 3000.0;
    world->target = 3000.0;
    world->operate_at = 20000.0;
    world->release_at = 19000.0;
    world->seed = 1;
    world->home_gap = 40.0;
    world->probe_at = 60000.0;
    world->out_forced = -1;
    world->supply = true;
    world->drive = true;
    world->switched_on = true;
    world->set_mv = 24000.0;
    world->quantities[0] = 24000.0;
    world->quantities[1] = 10000.0;
    world->quantities[2] = 1200.0;
    world->quantities[3] = 21500.0;
    world->inputs = WORLD_SUPPLY | WORLD_DRIVE;
}

// 0 to 1, both excluded (xorshift64*, Vigna 2016)
static double uniform(struct world *world)
{
    uint64_t x = world->seed;
    x ^= x >> 12;
    x ^= x << 25;
    x ^= x >> 27;
    world->seed = x;
    return ((double)((x * UINT64_C(2685821657736338717)) >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(struct world *world)
{
    double radius = sqrt(-2.0 * log(uniform(world)));
    return radius * cos(6.283185307179586 * uniform(world));
}

static bool out_level(struct world *world)
{
    bool operated = (world->inputs & WORLD_OUT) != 0;
    if (!world->switched_on) {
        return false;
    }
    if (world->out_forced >= 0) {
        return world->out_forced != 0;
    }
    double seen = world->target;
    if (world->noise > 0.0) {
        seen += world->noise * normal(world);
    }
    return operated ? seen > world->release_at : seen >= world->operate_at;
}

static bool home_level(const struct world *world)
{
    bool closed = (world->inputs & WORLD_HOME) != 0;
    return world->target <= world->home_at
           || (closed && world->target < world->home_at + world->home_gap);
}

static void note(struct world *world, uint8_t input, uint64_t cycles)
{
    struct world_edge *edge = &world->edges[world->edge_count % WORLD_EDGES];
    edge->command = (int64_t)world->pulses_up - (int64_t)world->pulses_down;
    edge->cycles = cycles;
    edge->input = input;
    edge->level = (world->inputs & input) != 0;
    edge->scale = world_scale(world);
    world->edge_count++;
}

uint8_t world_look(struct world *world, uint64_t cycles)
{
    uint8_t before = world->inputs;
    uint8_t inputs = 0;
    inputs |= out_level(world) ? WORLD_OUT : 0u;
    inputs |= world->target >= world->probe_at ? WORLD_PROBE : 0u;
    inputs |= home_level(world) ? WORLD_HOME : 0u;
    inputs |= world->supply && world->switched_on ? WORLD_SUPPLY : 0u;
    inputs |= world->drive ? WORLD_DRIVE : 0u;
    inputs = (uint8_t)((inputs & ~world->broken) | (world->broken & WORLD_OPENS));
    world->inputs = inputs;
    uint8_t changed = inputs ^ before;
    for (uint8_t input = WORLD_OUT; input <= WORLD_HOME; input = (uint8_t)(input << 1)) {
        if ((changed & input) != 0) {
            note(world, input, cycles);
        }
    }
    return changed;
}

int32_t world_scale(const struct world *world)
{
    return (int32_t)floor(world->target * 1.25) + WORLD_SCALE_AT_HOME;
}

double world_quantity(const struct world *world, uint8_t quantity)
{
    return quantity == 0 && !world->switched_on ? 0.0 : world->quantities[quantity];
}

uint8_t world_put(struct world *world, uint8_t control, double value, uint64_t cycles)
{
    if (control != 0) {
        world->set_mv = value;
        return 0;
    }
    if (world->switched_on != (value > 0.0)) {
        world->switched_on = value > 0.0;
        world->switched_cycles = cycles;
    }
    return world_look(world, cycles);
}

uint8_t world_pulse(struct world *world, bool up, uint64_t cycles)
{
    if (up) {
        world->pulses_up++;
    } else {
        world->pulses_down++;
    }
    world->command += up != world->reversed ? 1.0 : -1.0;
    if (world->pulse_cycles != NULL && world->pulse_count < world->pulse_capacity) {
        world->pulse_cycles[world->pulse_count++] = cycles;
    }
    // Play: the target follows when the slack is taken up
    double low = world->command - world->backlash / 2.0;
    double high = world->command + world->backlash / 2.0;
    world->target = world->target < low ? low : world->target > high ? high : world->target;
    return world_look(world, cycles);
}
