// An axis with backlash, a sensor, a probe and a home switch, for tests
//
// The truth behind a controller under test: it counts the pulses, moves the target and
// sets the inputs. Ideal but for what is asked for: no inertia, no lost steps.
#ifndef WORLD_H
#define WORLD_H

#include <stdbool.h>
#include <stdint.h>

#define WORLD_EDGES 4096u
#define WORLD_SCALE_AT_HOME 12345

// Inputs, as bits; the numbers of `inputs` in SPEC.md
#define WORLD_OUT 1u
#define WORLD_PROBE 2u
#define WORLD_HOME 4u
#define WORLD_SUPPLY 8u
#define WORLD_DRIVE 16u

// Those that the world is told; the scale follows the target
#define WORLD_QUANTITIES 4u
// Sums of 2^number of all of them, and of all controls
#define WORLD_ALL_QUANTITIES 31u
#define WORLD_ALL_CONTROLS 3u

// Inputs whose contact opens when they become 1: a broken wire reads as 1. At all others
// it reads as 0.
#define WORLD_OPENS (WORLD_PROBE | WORLD_HOME)

// A change of an input
struct world_edge {
    // Pulses given until then, up less down
    int64_t command;
    // Cycles of 62.5 ns
    uint64_t cycles;
    // Bit of the input, and its level after the change
    uint8_t input;
    uint8_t level;
    // Count of the scale then
    int32_t scale;
};

struct world {
    // Steps from where the target was put; all places in steps, counting up
    // toward the sensor
    double command;
    double target;
    double backlash;
    // The sensor operates at and above the first and releases at and below the second
    double operate_at;
    double release_at;
    // Standard deviation of each look of the sensor, one look a step
    double noise;
    uint64_t seed;
    // The home switch closes at and below, and opens at and above that plus the gap
    double home_at;
    double home_gap;
    // The probe closes at and above
    double probe_at;
    // -1: as the sensor sees it; 0 or 1: held there
    int out_forced;
    bool supply;
    // Emergency stop released, driver without fault, motor supply there
    bool drive;
    // What the controller makes of its controls: whether the sensor's supply is switched
    // on, when that changed last, and its voltage, mV
    bool switched_on;
    uint64_t switched_cycles;
    double set_mv;
    // By the numbers of SPEC.md, in their units; the supply's holds while it is on
    double quantities[WORLD_QUANTITIES];
    // Inputs whose wire is broken, as bits
    uint8_t broken;
    // What the controller makes of its enable output
    bool enabled;
    // The motor turns the wrong way: a pulse up moves the target down
    bool reversed;
    // Bits above
    uint8_t inputs;
    uint64_t pulses_up;
    uint64_t pulses_down;
    // Changes so far; the last WORLD_EDGES are kept
    uint64_t edge_count;
    struct world_edge edges[WORLD_EDGES];
    // Where the time of each pulse goes: the caller's array; NULL for none
    uint64_t *pulse_cycles;
    uint64_t pulse_capacity;
    uint64_t pulse_count;
};

// Put the target 3000 steps above the home switch, all inputs at rest
void world_init(struct world *world);

// A pulse; returns the bits of the inputs that changed
uint8_t world_pulse(struct world *world, bool up, uint64_t cycles);

// A quantity as it is now
double world_quantity(const struct world *world, uint8_t quantity);

// Count of the scale at the target: 5 for 4 steps, from WORLD_SCALE_AT_HOME on
int32_t world_scale(const struct world *world);

// Set a control; returns as above
uint8_t world_put(struct world *world, uint8_t control, double value, uint64_t cycles);

// Look anew after something was changed from outside; returns as above
uint8_t world_look(struct world *world, uint64_t cycles);

#endif
