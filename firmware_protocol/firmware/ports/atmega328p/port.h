// What the core needs from a port, on the ATmega328P at 16 MHz
//
// Inline, so that the step interrupt holds no call. Pins are in README.md.
#ifndef RIG_PORT_H
#define RIG_PORT_H

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <stdbool.h>
#include <stdint.h>

#include "rig.h"

/// Pins ///

// Inputs have the chip's pull-ups: an optocoupler's transistor or a contact pulls them to
// 0 V, and a broken wire reads as high. Which level is 1 is a setting of each input.
#define PORT_OUT_BIT _BV(PB0)    // ICP1
#define PORT_PROBE_BIT _BV(PD2)  // INT0
#define PORT_HOME_BIT _BV(PD3)   // INT1
#define PORT_SUPPLY_BIT _BV(PC0)
#define PORT_DRIVE_BIT _BV(PC1)  // PCINT9
#define PORT_STEP PD4
#define PORT_DIRECTION PD5
#define PORT_ENABLE PD6
// High switches the sensor's supply off; the switch is on while the pin hangs free
#define PORT_SUPPLY_OFF PD7
// Thermistor to 0 V, with a resistor to the chip's supply
#define PORT_TEMPERATURE_CHANNEL 2u  // PC2

/// Compiler ///

// For the step interrupt
#define PORT_INLINE static inline __attribute__((always_inline))

/// Constant tables ///

#define RIG_ROM PROGMEM

static inline uint8_t port_rom_u8(const void *at)
{
    return pgm_read_byte(at);
}

static inline uint32_t port_rom_u32(const void *at)
{
    return pgm_read_dword(at);
}

/// Locks ///

typedef uint8_t port_lock_t;

static inline port_lock_t port_lock(struct rig *rig)
{
    uint8_t state = SREG;
    (void)rig;
    cli();
    return state;
}

static inline void port_unlock(struct rig *rig, port_lock_t lock)
{
    (void)rig;
    __asm__ volatile("" ::: "memory");
    SREG = lock;
    __asm__ volatile("" ::: "memory");
}

/// Clock and step timer ///

uint32_t port_time_us(struct rig *rig);

static inline rig_tick_t port_timer(struct rig *rig)
{
    (void)rig;
    return TCNT1;
}

PORT_INLINE uint8_t port_turn(struct rig *rig, rig_tick_t tick)
{
    uint8_t turn = (uint8_t)rig->turns;
    // The overflow may have come without its interrupt having run yet
    if ((TIFR1 & _BV(TOV1)) != 0 && tick < RIG_HALF_TURN) {
        turn++;
    }
    return turn;
}

static inline void port_compare(struct rig *rig, rig_tick_t at)
{
    (void)rig;
    OCR1A = at;
}

static inline void port_compare_on(struct rig *rig, bool on)
{
    (void)rig;
    if (on) {
        TIFR1 = _BV(OCF1A);
        TIMSK1 = (uint8_t)(TIMSK1 | _BV(OCIE1A));
    } else {
        TIMSK1 = (uint8_t)(TIMSK1 & ~_BV(OCIE1A));
    }
}

/// Outputs and inputs ///

static inline void port_step(struct rig *rig, bool level)
{
    (void)rig;
    if (level) {
        PORTD = (uint8_t)(PORTD | _BV(PORT_STEP));
    } else {
        PORTD = (uint8_t)(PORTD & ~_BV(PORT_STEP));
    }
}

static inline void port_direction(struct rig *rig, bool up)
{
    (void)rig;
    if (up) {
        PORTD = (uint8_t)(PORTD | _BV(PORT_DIRECTION));
    } else {
        PORTD = (uint8_t)(PORTD & ~_BV(PORT_DIRECTION));
    }
}

static inline void port_enable(struct rig *rig, bool on)
{
    (void)rig;
    if (on) {
        PORTD = (uint8_t)(PORTD | _BV(PORT_ENABLE));
    } else {
        PORTD = (uint8_t)(PORTD & ~_BV(PORT_ENABLE));
    }
}

uint8_t port_inputs(struct rig *rig);

/// Quantities and controls ///

int32_t port_read(struct rig *rig, uint8_t quantity);

static inline void port_put(struct rig *rig, uint8_t control, int32_t value)
{
    (void)rig;
    (void)control;
    if (value != 0) {
        PORTD = (uint8_t)(PORTD & ~_BV(PORT_SUPPLY_OFF));
    } else {
        PORTD = (uint8_t)(PORTD | _BV(PORT_SUPPLY_OFF));
    }
}

// No scale is counted here, see README.md
static inline uint32_t port_scale(struct rig *rig)
{
    (void)rig;
    return 0;
}

/// Memory that outlives the loss of power ///

uint8_t port_kept(struct rig *rig, uint8_t at);
void port_keep(struct rig *rig, uint8_t at, uint8_t byte);
uint32_t port_random(struct rig *rig);

/// Line ///

static inline void port_sending(struct rig *rig)
{
    (void)rig;
    UCSR0B = (uint8_t)(UCSR0B | _BV(UDRIE0));
}

static inline bool port_sent(struct rig *rig)
{
    (void)rig;
    return (UCSR0A & _BV(TXC0)) != 0;
}

void port_rate(struct rig *rig, uint32_t bits_s);

#endif
