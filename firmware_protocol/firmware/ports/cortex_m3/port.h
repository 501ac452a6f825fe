// What the core needs from a port, on a Cortex-M3 with two timers of 32 bits at 25 MHz
//
// Pins and the line to the host are the board's, see board.h.
#ifndef RIG_PORT_H
#define RIG_PORT_H

#include <stdbool.h>
#include <stdint.h>

#include "board.h"
#include "registers.h"
#include "rig.h"

/// Compiler ///

// For the step interrupt
#define PORT_INLINE static inline __attribute__((always_inline))

/// Constant tables ///

// One address space: what is constant lies in flash as it is
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

typedef uint32_t port_lock_t;

// All interrupts of the rig have one priority, so none interrupts another; the lock
// holds that priority and those below
static inline port_lock_t port_lock(struct rig *rig)
{
    port_lock_t before;
    (void)rig;
    __asm__ volatile("mrs %0, basepri\n\tmsr basepri_max, %1"
                     : "=&r"(before)
                     : "r"(RIG_PRIORITY)
                     : "memory");
    return before;
}

static inline void port_unlock(struct rig *rig, port_lock_t lock)
{
    (void)rig;
    __asm__ volatile("msr basepri, %0" ::"r"(lock) : "memory");
}

/// Clock and step timer ///

// The controller: one, which the board may look into
extern struct rig port_rig;

uint32_t port_time_us(struct rig *rig);

// The clock's timer counts down
static inline rig_tick_t port_timer(struct rig *rig)
{
    (void)rig;
    return ~CLOCK_TIMER->value;
}

static inline uint8_t port_turn(struct rig *rig, rig_tick_t tick)
{
    uint8_t turn = (uint8_t)rig->turns;
    // The overflow may have come without its interrupt having run yet
    if (CLOCK_TIMER->interrupt != 0 && tick < RIG_HALF_TURN) {
        turn++;
    }
    return turn;
}

// Where the next match is
extern volatile rig_tick_t port_match_at;

// The step timer counts down to the match; one that has gone by is one tick away
static inline void port_compare(struct rig *rig, rig_tick_t at)
{
    rig_tick_t ahead = (rig_tick_t)(at - port_timer(rig));
    port_match_at = at;
    STEP_TIMER->value = (rig_span_t)ahead > 0 ? ahead : 1u;
}

static inline void port_compare_on(struct rig *rig, bool on)
{
    (void)rig;
    STEP_TIMER->interrupt = 1u;
    INTERRUPTS_CLEAR_PENDING = STEP_INTERRUPT;
    if (on) {
        INTERRUPTS_ON = STEP_INTERRUPT;
    } else {
        INTERRUPTS_OFF = STEP_INTERRUPT;
    }
}

/// Outputs and inputs ///

static inline void port_step(struct rig *rig, bool level)
{
    (void)rig;
    board_step(level);
}

static inline void port_direction(struct rig *rig, bool up)
{
    (void)rig;
    board_direction(up);
}

static inline void port_enable(struct rig *rig, bool on)
{
    (void)rig;
    board_enable(on);
}

static inline uint8_t port_inputs(struct rig *rig)
{
    (void)rig;
    return board_inputs();
}

/// Quantities and controls ///

static inline int32_t port_read(struct rig *rig, uint8_t quantity)
{
    (void)rig;
    return board_read(quantity);
}

static inline void port_put(struct rig *rig, uint8_t control, int32_t value)
{
    (void)rig;
    board_put(control, value);
}

static inline uint32_t port_scale(struct rig *rig)
{
    (void)rig;
    return board_scale();
}

/// Memory that outlives the loss of power ///

static inline uint8_t port_kept(struct rig *rig, uint8_t at)
{
    (void)rig;
    return board_kept(at);
}

static inline void port_keep(struct rig *rig, uint8_t at, uint8_t byte)
{
    (void)rig;
    board_keep(at, byte);
}

static inline uint32_t port_random(struct rig *rig)
{
    (void)rig;
    return board_random();
}

/// Line ///

static inline void port_sending(struct rig *rig)
{
    (void)rig;
    INTERRUPTS_PEND = SEND_INTERRUPT;
}

static inline bool port_sent(struct rig *rig)
{
    (void)rig;
    return board_sent();
}

static inline void port_rate(struct rig *rig, uint32_t bits_s)
{
    (void)rig;
    board_rate(bits_s);
}

#endif
