// A controller on a simulated bench, in lock-step: time passes only in bench_advance
//
// One interface for the host build and for the AVR image; Python reaches both by
// ctypes.
#ifndef BENCH_H
#define BENCH_H

#include <stddef.h>
#include <stdint.h>

#include "world.h"

struct bench;

// What bench_set and bench_get know; steps and bits a second as in world.h
enum bench_value {
    BENCH_OPERATE_AT,
    BENCH_RELEASE_AT,
    BENCH_NOISE,
    BENCH_SEED,
    BENCH_HOME_AT,
    BENCH_HOME_GAP,
    BENCH_PROBE_AT,
    BENCH_BACKLASH,
    BENCH_OUT_FORCED,
    BENCH_SUPPLY,
    // 1: the motor turns the wrong way
    BENCH_REVERSED,
    // 0: emergency stop pressed, driver fault, or no motor supply
    BENCH_DRIVE,
    // Sum of the inputs whose wire is broken
    BENCH_BROKEN,
    // True place; setting it moves target and axis together, as by hand
    BENCH_TARGET,
    // Rate of the host's side of the line, bits/s; 0: always the controller's
    BENCH_LINE_RATE,
    // To read only
    BENCH_COMMAND,
    BENCH_PULSES_UP,
    BENCH_PULSES_DOWN,
    BENCH_EDGE_COUNT,
    BENCH_INPUTS,
    // Whether the controller gives the motor its current
    BENCH_ENABLED,
    BENCH_CYCLES,
    BENCH_CONTROLLER_RATE,
    // Bytes that came while the receiver was full
    BENCH_OVERRUNS,
    // Whether the controller has switched the sensor's supply on, the cycle of the last
    // change of that, and the voltage that it has set, mV
    BENCH_SWITCHED_ON,
    BENCH_SWITCHED_CYCLES,
    BENCH_SET_MV,
    // Count of the scale at the target
    BENCH_SCALE,
    // Quantities by their numbers in SPEC.md, in their units; to set
    BENCH_QUANTITY
};

// Make a bench; `image` is the path of an AVR image, NULL for the host build; the sums
// of quantities and controls count for the host build only, an image has its own. NULL if
// that fails.
struct bench *bench_new(const char *image, int abilities, int quantities, int controls);
void bench_free(struct bench *bench);

// Restart the controller for a reason (enum rig_start_reason); the world stays
void bench_restart(struct bench *bench, int reason);

// Give bytes to the line; they arrive at its rate
void bench_feed(struct bench *bench, const uint8_t *bytes, size_t count);

// Let time pass
void bench_advance(struct bench *bench, double seconds);

// Take what came out of the line; returns how many bytes
size_t bench_take(struct bench *bench, uint8_t *bytes, size_t room);

void bench_set(struct bench *bench, int value, double to);
double bench_get(const struct bench *bench, int value);

// A change of an input, from 0; false if it is no longer kept or has not been
int bench_edge(const struct bench *bench, uint64_t index, struct world_edge *edge);

// Where the time of each pulse goes from now on, in cycles of 62.5 ns
void bench_log_pulses(struct bench *bench, uint64_t *cycles, uint64_t capacity);
uint64_t bench_pulses_logged(const struct bench *bench);

#endif
