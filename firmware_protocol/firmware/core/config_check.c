// Whether the settings of config.h can work; those that one part alone relies on are
// checked there
#include "rig.h"

#define IS_POWER_OF_TWO(value) ((value) > 0 && ((value) & ((value) - 1)) == 0)
// An edge notice has at most 55 bytes of 10 bits
#define EDGES_S_AT_MOST (RIG_FIRST_RATE_BITS_S / 10 / 55)

/// Identity ///

_Static_assert(sizeof RIG_FIRMWARE_VERSION >= 2 && sizeof RIG_FIRMWARE_VERSION <= 11,
               "RIG_FIRMWARE_VERSION must have 1 to 10 characters");

_Static_assert(sizeof RIG_NAME >= 2 && sizeof RIG_NAME <= RIG_NAME_LENGTH + 1u,
               "RIG_NAME must have 1 to 16 characters");
_Static_assert(RIG_BUILD >= 0 && RIG_BUILD <= INT32_MAX, "RIG_BUILD must fit a trait");

/// Step timer ///

_Static_assert(RIG_TIMER_BITS == 16 || RIG_TIMER_BITS == 32,
               "RIG_TIMER_BITS must be 16 or 32");
_Static_assert(RIG_TICKS_PER_US >= 1 && RIG_TICKS_PER_US <= 2000,
               "RIG_TICKS_PER_US must be 1 to 2000: a tick is 1 us or less, and fits");
// 16 bits at more than this turn too fast for the times below
_Static_assert(RIG_TIMER_BITS == 32 || RIG_TICKS_PER_US <= 8,
               "RIG_TICKS_PER_US must be at most 8 with RIG_TIMER_BITS 16");

/// Mechanics ///

_Static_assert(RIG_STEPS_PER_M >= 2000 && RIG_STEPS_PER_M <= INT32_MAX,
               "RIG_STEPS_PER_M must be 2000 to 2147483647: 0.5 mm is one step or more");
_Static_assert(RIG_HOME_CLEAR >= 1 && RIG_HOME_SEARCH > RIG_HOME_CLEAR,
               "RIG_HOME_CLEAR must be 1 or more, and less than RIG_HOME_SEARCH");
_Static_assert(RIG_HOME_SEARCH <= RIG_TRAVEL_HIGH,
               "RIG_HOME_SEARCH must be no more than RIG_TRAVEL_HIGH");
_Static_assert(RIG_SPEED_LIMIT >= RIG_START_SPEED,
               "RIG_SPEED_LIMIT must not be below RIG_START_SPEED");
_Static_assert(RIG_ACCELERATION_LIMIT >= 1
                   && RIG_ACCELERATION_LIMIT <= INT64_C(10) * RIG_START_SPEED * RIG_START_SPEED,
               "RIG_ACCELERATION_LIMIT must be 1 to 10 times RIG_START_SPEED squared");

/// Times ///

_Static_assert(RIG_SILENCE_LIMIT_MS >= 200 && RIG_SILENCE_LIMIT_MS <= 2000,
               "RIG_SILENCE_LIMIT_MS must be 200 to 2000");
_Static_assert(RIG_MIN_PULSE_US >= 0
                   && RIG_MIN_PULSE_US <= RIG_SETTLE_US - RIG_SETTLE_US / 10,
               "RIG_MIN_PULSE_US must be 0 to nine tenths of the time before rest is told");
_Static_assert(RIG_ENABLE_REST_S >= 0 && RIG_ENABLE_REST_S <= 3600,
               "RIG_ENABLE_REST_S must be 0 to 3600: the clock wraps");
_Static_assert(RIG_TIME_TICK_NS >= 1000 && RIG_TIME_TICK_NS <= INT32_MAX,
               "RIG_TIME_TICK_NS must be 1000 or more: times go out in whole microseconds");
_Static_assert(RIG_SCALE_PER_M >= 1000 && RIG_SCALE_PER_M <= 1000000000,
               "RIG_SCALE_PER_M must be 1000 to 1000000000 counts");
_Static_assert(RIG_EDGE_RATE_LIMIT >= 1 && RIG_EDGE_RATE_LIMIT <= EDGES_S_AT_MOST,
               "RIG_EDGE_RATE_LIMIT must be what the line carries at the first rate");
_Static_assert(RIG_AHEAD_TICKS >= 1 && RIG_AHEAD_TICKS < RIG_LATE_TICKS,
               "RIG_AHEAD_TICKS must be 1 or more, and less than what is late");
_Static_assert(RIG_LATE_US >= 1 && RIG_LATE_TICKS < RIG_HALF_TURN,
               "RIG_LATE_US must be 1 or more, and less than half a turn");
_Static_assert(RIG_SETTLE_US >= 1 && RIG_SETTLE_TICKS < RIG_HALF_TURN,
               "RIG_SETTLE_US must be 1 or more, and less than half a turn");

/// Sizes ///

_Static_assert(RIG_RING_SIZE <= 128, "RIG_RING_SIZE must be at most 128: it is counted in bytes");
_Static_assert(RIG_NOTICES_BEFORE_REPLY >= 1 && RIG_NOTICES_BEFORE_REPLY <= RIG_RING_SIZE / 2,
               "RIG_NOTICES_BEFORE_REPLY must be 1 to half of RIG_RING_SIZE");
_Static_assert(IS_POWER_OF_TWO(RIG_PULSES_KEPT) && RIG_PULSES_KEPT <= 128,
               "RIG_PULSES_KEPT must be a power of two, at most 128");
_Static_assert(IS_POWER_OF_TWO(RIG_QUEUE_SIZE) && RIG_QUEUE_SIZE >= 4 && RIG_QUEUE_SIZE <= 128,
               "RIG_QUEUE_SIZE must be a power of two from 4 to 128");
_Static_assert(IS_POWER_OF_TWO(RIG_RX_SIZE) && RIG_RX_SIZE <= 256
                   && RIG_RX_SIZE > RIG_LONGEST_LINE_BYTES + 2,
               "RIG_RX_SIZE must be a power of two that holds a line, at most 256");
_Static_assert(IS_POWER_OF_TWO(RIG_TX_SIZE), "RIG_TX_SIZE must be a power of two");
