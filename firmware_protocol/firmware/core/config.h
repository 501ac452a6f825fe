// What a rig is built like; a port or the compiler's command line may define its own
//
// config_check.c ends the compilation with a value that cannot work.
#ifndef RIG_CONFIG_H
#define RIG_CONFIG_H

#include "port_config.h"

/// Identity ///

// Version of this firmware: 1 to 10 of A-Z a-z 0-9 . -
#ifndef RIG_FIRMWARE_VERSION
#define RIG_FIRMWARE_VERSION "0.1.0"
#endif

// Name of a rig that was given none: 1 to 16 characters of a token
#ifndef RIG_NAME
#define RIG_NAME "unnamed"
#endif

// What it was built from, see the Makefile; 0: not told
#ifndef RIG_BUILD
#define RIG_BUILD 0
#endif

/// Mechanics ///

// Steps for one metre of travel
#ifndef RIG_STEPS_PER_M
#define RIG_STEPS_PER_M 1600000
#endif

// Steps from the home switch; both within +-2^29, so that no sum of two overflows. The
// lower one must lie above where the switch opens.
#ifndef RIG_TRAVEL_LOW
#define RIG_TRAVEL_LOW 400
#endif
#ifndef RIG_TRAVEL_HIGH
#define RIG_TRAVEL_HIGH 80000
#endif

// Steps up past the place where the home switch opened, in `home`: clear of its play
#ifndef RIG_HOME_CLEAR
#define RIG_HOME_CLEAR 200
#endif

// Steps up from a closed home switch that must open it, and steps down again from
// RIG_HOME_CLEAR above that must close it
#ifndef RIG_HOME_SEARCH
#define RIG_HOME_SEARCH 4000
#endif

// Steps a second; at most 30000 where the step timer has 16 bits, which decides how wide
// the sums are, and a sixteenth of its ticks in any case
#ifndef RIG_SPEED_LIMIT
#define RIG_SPEED_LIMIT 20000
#endif

// Steps a second squared; at most 10 times START_SPEED squared and 10000000
#ifndef RIG_ACCELERATION_LIMIT
#define RIG_ACCELERATION_LIMIT 400000
#endif

// Steps a second; enough for no interval of a ramp to pass half a timer turn (62 where
// that is 16 ms)
#ifndef RIG_START_SPEED
#define RIG_START_SPEED 800
#endif

/// Times ///

// Milliseconds without a sound line that stop a motion, 200 to 2000
#ifndef RIG_SILENCE_LIMIT_MS
#define RIG_SILENCE_LIMIT_MS 500
#endif

// Microseconds that a level of the sensor's output must last for a `go` to turn on it;
// what is shorter is taken for interference. At most 900, so that what the last pulse
// causes is known before rest is reported
#ifndef RIG_MIN_PULSE_US
#define RIG_MIN_PULSE_US 50
#endif

// Seconds at rest without a sound line after which the motor's current is taken away; 0
// for never, at most 3600
#ifndef RIG_ENABLE_REST_S
#define RIG_ENABLE_REST_S 1800
#endif

// Nanoseconds: times go out in whole microseconds
#ifndef RIG_TIME_TICK_NS
#define RIG_TIME_TICK_NS 1000
#endif

// Edges a second that the line carries at 115200 bits/s beside a few replies: an edge
// notice has at most 62 bytes, 5.4 ms
#ifndef RIG_EDGE_RATE_LIMIT
#define RIG_EDGE_RATE_LIMIT 200
#endif

// Microseconds that a pulse may come after its time before that is a fault; 40 are the
// most that was measured
#ifndef RIG_LATE_US
#define RIG_LATE_US 75
#endif

// Ticks ahead of the timer at which a compare value is sure to be met
#ifndef RIG_AHEAD_TICKS
#define RIG_AHEAD_TICKS 6
#endif

// Microseconds from the last pulse to the report of rest: what that pulse causes at the
// inputs still belongs to the motion
#ifndef RIG_SETTLE_US
#define RIG_SETTLE_US 1000
#endif

/// Scale, where one is counted ///

// Counts for one metre of travel
#ifndef RIG_SCALE_PER_M
#define RIG_SCALE_PER_M 2000000
#endif

/// Supply of the sensor, where its voltage is set ///

// Millivolts: what it may be set to, and what it is after a start
#ifndef RIG_SUPPLY_LOW_MV
#define RIG_SUPPLY_LOW_MV 10000
#endif
#ifndef RIG_SUPPLY_HIGH_MV
#define RIG_SUPPLY_HIGH_MV 30000
#endif
#ifndef RIG_SUPPLY_START_MV
#define RIG_SUPPLY_START_MV 24000
#endif

/// Sizes ///

// Notices kept; a power of two, at least 16
#ifndef RIG_RING_SIZE
#define RIG_RING_SIZE 32
#endif

// Notices that go before a reply when half the ring waits: else a host that asks without
// end would lose edges. Two and the reply take 15 ms at 115200.
#ifndef RIG_NOTICES_BEFORE_REPLY
#define RIG_NOTICES_BEFORE_REPLY 2
#endif

// Pulses whose time is kept for edges that are reported after them: as many as can come
// between an edge and its report, a power of two
#ifndef RIG_PULSES_KEPT
#define RIG_PULSES_KEPT 1
#endif

// Motion segments planned ahead, about 1 ms each, at the foot of a ramp one step each. A
// request and a notice may keep the main loop from planning for 3 ms. A power of two.
#ifndef RIG_QUEUE_SIZE
#define RIG_QUEUE_SIZE 16
#endif

// Bytes each; a whole request and its end must fit beside the one in work, a reply and
// a notice together must fit into what is sent; powers of two
#ifndef RIG_RX_SIZE
#define RIG_RX_SIZE 128
#endif
#ifndef RIG_TX_SIZE
#define RIG_TX_SIZE 128
#endif

#endif
