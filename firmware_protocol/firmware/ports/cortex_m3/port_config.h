// What the core must know of the step timer: 32 bits at 25 MHz
#ifndef RIG_PORT_CONFIG_H
#define RIG_PORT_CONFIG_H

#define RIG_TICKS_PER_US 25
#define RIG_TIMER_BITS 32

// Beyond what 16 bits can compute. An edge is reported within 100 us, 5 steps.
#define RIG_SPEED_LIMIT 50000
#define RIG_PULSES_KEPT 8

// Setting the timer takes a microsecond
#define RIG_AHEAD_TICKS 25

#endif
