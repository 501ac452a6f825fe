// What the core must know of the step timer: that of the ATmega328P
#ifndef RIG_PORT_CONFIG_H
#define RIG_PORT_CONFIG_H

#define RIG_TICKS_PER_US 2
#define RIG_TIMER_BITS 16

#endif
