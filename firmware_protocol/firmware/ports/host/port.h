// What the core needs from a port, here in simulated time
//
// Nothing interrupts: events and polls come one after another (see host.c), so a lock
// has nothing to do.
#ifndef RIG_PORT_H
#define RIG_PORT_H

#include <stdbool.h>
#include <stdint.h>

#include "rig.h"

/// Compiler ///

// For the step interrupt
#define PORT_INLINE static inline __attribute__((always_inline))

/// Constant tables ///

#define RIG_ROM

static inline uint8_t port_rom_u8(const void *at)
{
    return *(const uint8_t *)at;
}

static inline uint32_t port_rom_u32(const void *at)
{
    return *(const uint32_t *)at;
}

/// Locks ///

typedef uint8_t port_lock_t;

static inline port_lock_t port_lock(struct rig *rig)
{
    (void)rig;
    return 0;
}

static inline void port_unlock(struct rig *rig, port_lock_t lock)
{
    (void)rig;
    (void)lock;
}

/// Clock and step timer ///

// Clock in microseconds
uint32_t port_time_us(struct rig *rig);
// Step timer now, and the low byte of its overflow count when it stood at `tick`, which
// is no more than half a turn ago
rig_tick_t port_timer(struct rig *rig);
uint8_t port_turn(struct rig *rig, rig_tick_t tick);
// Compare value; whether a match is an event
void port_compare(struct rig *rig, rig_tick_t at);
void port_compare_on(struct rig *rig, bool on);

/// Pins ///

void port_step(struct rig *rig, bool level);
void port_direction(struct rig *rig, bool up);
// Whether the motor has its current
void port_enable(struct rig *rig, bool on);
// Sum of enum rig_input, as the pins stand now
uint8_t port_inputs(struct rig *rig);

/// Quantities and controls ///

// A quantity that the identity names, in its unit; may take 200 us
int32_t port_read(struct rig *rig, uint8_t quantity);
// Set a control that the identity names, to a value that fits. Interrupts are off.
void port_put(struct rig *rig, uint8_t control, int32_t value);

// Count of the scale now, up with the steps, modulo 2^32
uint32_t port_scale(struct rig *rig);

/// Memory that outlives the loss of power ///

// 63 bytes, 0xFF where none was ever written; writing takes as long as it takes
uint8_t port_kept(struct rig *rig, uint8_t at);
void port_keep(struct rig *rig, uint8_t at, uint8_t byte);
// Of no other board, as far as can be
uint32_t port_random(struct rig *rig);

/// Line ///

// There is something to send
void port_sending(struct rig *rig);
// The last bit of what was put out has left
bool port_sent(struct rig *rig);
void port_rate(struct rig *rig, uint32_t bits_s);

#endif
