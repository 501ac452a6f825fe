// What the core must know of the step timer: as that of the ATmega328P, or one of 32 bits,
// which lets the tests try both widths
#ifndef RIG_PORT_CONFIG_H
#define RIG_PORT_CONFIG_H

#ifdef HOST_WIDE
#define RIG_TICKS_PER_US 16
#define RIG_TIMER_BITS 32
#define RIG_PULSES_KEPT 8
#else
#define RIG_TICKS_PER_US 2
#define RIG_TIMER_BITS 16
#endif

#endif
