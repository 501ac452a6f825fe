// What the core needs from a port, for fuzzing: a timer that is moved by hand, inputs
// that follow the pulses, a line without a rate
#ifndef RIG_PORT_H
#define RIG_PORT_H

#include <stdbool.h>
#include <stdint.h>

#include "rig.h"

#define FUZZ_TURN (UINT64_C(1) << RIG_TIMER_BITS)

struct fuzz_port {
    // Ticks since the start
    uint64_t now;
    uint64_t match_at;
    bool compare_on;
    bool up;
    // Pulses up less pulses down, and where the inputs change
    int64_t place;
    int64_t home_at;
    int64_t probe_at;
    int64_t out_at;
    bool supply;
    bool drive;
    bool switched_on;
    int32_t supply_mv;
    bool enabled;
    uint8_t kept[64];
    // Levels that the core has been told of
    uint8_t inputs;
};

extern struct fuzz_port fuzz_port;

#define PORT_INLINE static inline __attribute__((always_inline))
#define RIG_ROM

static inline uint8_t port_rom_u8(const void *at)
{
    return *(const uint8_t *)at;
}

static inline uint32_t port_rom_u32(const void *at)
{
    return *(const uint32_t *)at;
}

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

static inline uint32_t port_time_us(struct rig *rig)
{
    (void)rig;
    return (uint32_t)(fuzz_port.now / RIG_TICKS_PER_US);
}

static inline rig_tick_t port_timer(struct rig *rig)
{
    (void)rig;
    return (rig_tick_t)fuzz_port.now;
}

static inline uint8_t port_turn(struct rig *rig, rig_tick_t tick)
{
    (void)rig;
    rig_tick_t ago = (rig_tick_t)((rig_tick_t)fuzz_port.now - tick);
    return (uint8_t)((fuzz_port.now - ago) >> RIG_TIMER_BITS);
}

static inline void port_compare(struct rig *rig, rig_tick_t at)
{
    (void)rig;
    rig_tick_t ahead = (rig_tick_t)(at - (rig_tick_t)fuzz_port.now);
    fuzz_port.match_at = fuzz_port.now + (ahead == 0 ? FUZZ_TURN : ahead);
}

static inline void port_compare_on(struct rig *rig, bool on)
{
    (void)rig;
    fuzz_port.compare_on = on;
}

static inline void port_step(struct rig *rig, bool level)
{
    (void)rig;
    if (level) {
        fuzz_port.place += fuzz_port.up ? 1 : -1;
    }
}

static inline void port_direction(struct rig *rig, bool up)
{
    (void)rig;
    fuzz_port.up = up;
}

static inline void port_enable(struct rig *rig, bool on)
{
    (void)rig;
    fuzz_port.enabled = on;
}

uint8_t port_inputs(struct rig *rig);

static inline int32_t port_read(struct rig *rig, uint8_t quantity)
{
    (void)rig;
    return quantity == 0 ? INT32_MIN : INT32_MAX;
}

// Near its ends, where a difference wraps
static inline uint32_t port_scale(struct rig *rig)
{
    (void)rig;
    return UINT32_C(0x7FFFFF00) + (uint32_t)fuzz_port.place * 3u;
}

static inline void port_put(struct rig *rig, uint8_t control, int32_t value)
{
    (void)rig;
    if (control == RIG_CONTROL_SENSOR_SUPPLY) {
        fuzz_port.switched_on = value != 0;
    } else {
        fuzz_port.supply_mv = value;
    }
}

static inline void port_sending(struct rig *rig)
{
    (void)rig;
}

static inline bool port_sent(struct rig *rig)
{
    (void)rig;
    return true;
}

static inline void port_rate(struct rig *rig, uint32_t bits_s)
{
    (void)rig;
    (void)bits_s;
}

static inline uint8_t port_kept(struct rig *rig, uint8_t at)
{
    (void)rig;
    return fuzz_port.kept[at];
}

static inline void port_keep(struct rig *rig, uint8_t at, uint8_t byte)
{
    (void)rig;
    fuzz_port.kept[at] = byte;
}

static inline uint32_t port_random(struct rig *rig)
{
    (void)rig;
    return 1;
}

#endif
