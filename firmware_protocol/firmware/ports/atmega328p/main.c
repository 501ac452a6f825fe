// The ATmega328P: timers, pins, line, start and main loop
//
// Timer 1 runs freely at 2 MHz and never stops: it is the clock, it gives the steps by
// its compare A, and it latches the sensor's output by its input capture. Timer 2 wakes
// the main loop once a millisecond.
#include <avr/eeprom.h>
#include <avr/sleep.h>
#include <avr/wdt.h>

#include "stepper.h"

#if F_CPU != 16000000UL
#error "timer and line are set for 16 MHz"
#endif

// Non-volatile memory: a count of the starts, and behind it the settings
#define EEPROM_BOOT ((uint16_t *)0)
#define EEPROM_SETTINGS ((uint8_t *)2)

#ifndef PORT_ABILITIES
#define PORT_ABILITIES                                                                 \
    (RIG_ABILITY_FAST_RATE | RIG_ABILITY_TOUCH_PROBE | RIG_ABILITY_DRIVE_SENSE         \
     | RIG_ABILITY_ENABLE_OUTPUT | RIG_ABILITY_SETTINGS)
#endif

// With normally closed contacts at probe and home switch, and at the drive one that
// closes while all is well, a broken wire reads as what stops the axis
#ifndef PORT_HIGH
#define PORT_HIGH (RIG_INPUT_PROBE | RIG_INPUT_HOME)
#endif

// What is fitted around the sensor: a thermistor, and a switch in its supply
#ifndef PORT_QUANTITIES
#define PORT_QUANTITIES (1u << RIG_QUANTITY_TEMPERATURE)
#endif
#ifndef PORT_CONTROLS
#define PORT_CONTROLS (1u << RIG_CONTROL_SENSOR_SUPPLY)
#endif

#define KNOWN_ABILITIES                                                                \
    (RIG_ABILITY_FAST_RATE | RIG_ABILITY_TOUCH_PROBE | RIG_ABILITY_SUPPLY_SENSE        \
     | RIG_ABILITY_SIMULATED | RIG_ABILITY_DRIVE_SENSE | RIG_ABILITY_ENABLE_OUTPUT     \
     | RIG_ABILITY_SETTINGS)

#define INPUTS                                                                         \
    (RIG_INPUT_OUT | RIG_INPUT_PROBE | RIG_INPUT_HOME | RIG_INPUT_SUPPLY               \
     | RIG_INPUT_DRIVE)

_Static_assert((PORT_ABILITIES & ~KNOWN_ABILITIES) == 0, "PORT_ABILITIES must be a sum of those of SPEC.md");

_Static_assert((PORT_QUANTITIES & ~(1u << RIG_QUANTITY_TEMPERATURE)) == 0,
               "PORT_QUANTITIES must be what port_read can tell");
_Static_assert((PORT_CONTROLS & ~(1u << RIG_CONTROL_SENSOR_SUPPLY)) == 0,
               "PORT_CONTROLS must be what port_put can set");

_Static_assert((PORT_HIGH & ~INPUTS) == 0, "PORT_HIGH must be a sum of inputs");

static struct rig rig;
// End of the variables, by the linker
extern uint8_t __heap_start;

void port_keep_reset_flags(void) __attribute__((naked, used, section(".init3")));

/// Clock ///

// Clock at a tick of the step timer no more than half a turn ago. Interrupts are off.
static uint32_t time_us_at(uint16_t tick)
{
    uint32_t turns = rig.turns;
    if ((TIFR1 & _BV(TOV1)) != 0 && tick < 0x8000u) {
        turns++;
    }
    // Ticks are half microseconds. A shift by 15 takes a loop on this chip; by 16 none.
    uint32_t time_us = ((turns << 16) | tick) >> 1;
    return (turns & 0x10000u) == 0 ? time_us : time_us | 0x80000000u;
}

uint32_t port_time_us(struct rig *unused)
{
    port_lock_t lock = port_lock(unused);
    uint32_t time_us = time_us_at(TCNT1);
    port_unlock(unused, lock);
    return time_us;
}

ISR(TIMER1_OVF_vect)
{
    rig_on_overflow(&rig);
}

// Wakes the main loop
EMPTY_INTERRUPT(TIMER2_COMPA_vect)

/// Steps and edges ///

ISR(TIMER1_COMPA_vect)
{
    rig_on_match(&rig);
}

ISR(TIMER1_CAPT_vect)
{
    uint16_t tick = ICR1;
    bool is_high = ((uint8_t)rig.settings[RIG_SETTING_HIGH_INPUTS] & RIG_INPUT_OUT) != 0;
    bool level = ((TCCR1B & _BV(ICES1)) != 0) == is_high;
    // The other edge next; the flag is cleared as the data sheet asks for
    TCCR1B = (uint8_t)(TCCR1B ^ _BV(ICES1));
    TIFR1 = _BV(ICF1);
    rig_on_edge(&rig, RIG_SOURCE_OUT, level, tick, port_turn(&rig, tick),
                time_us_at(tick), port_scale(&rig));
    bool now = ((PINB & PORT_OUT_BIT) != 0) == is_high;
    if (now != level && (TIFR1 & _BV(ICF1)) == 0) {
        // Changed back before the other edge was waited for
        TCCR1B = (uint8_t)(TCCR1B ^ _BV(ICES1));
        rig_on_edge_missed(&rig, RIG_SOURCE_OUT, now);
    }
}

static void pin_changed(enum rig_source source, bool level)
{
    uint16_t tick = TCNT1;
    rig_on_edge(&rig, source, level, tick, port_turn(&rig, tick), time_us_at(tick),
                port_scale(&rig));
}

ISR(INT0_vect)
{
    bool is_high = ((uint8_t)rig.settings[RIG_SETTING_HIGH_INPUTS] & RIG_INPUT_PROBE) != 0;
    pin_changed(RIG_SOURCE_PROBE, ((PIND & PORT_PROBE_BIT) != 0) == is_high);
}

ISR(INT1_vect)
{
    bool is_high = ((uint8_t)rig.settings[RIG_SETTING_HIGH_INPUTS] & RIG_INPUT_HOME) != 0;
    pin_changed(RIG_SOURCE_HOME, ((PIND & PORT_HOME_BIT) != 0) == is_high);
}

ISR(PCINT1_vect)
{
    rig_on_drive(&rig);
}

uint8_t port_inputs(struct rig *unused)
{
    uint8_t inputs = 0;
    (void)unused;
    if ((PINB & PORT_OUT_BIT) == 0) {
        inputs |= RIG_INPUT_OUT;
    }
    if ((PIND & PORT_PROBE_BIT) == 0) {
        inputs |= RIG_INPUT_PROBE;
    }
    if ((PIND & PORT_HOME_BIT) == 0) {
        inputs |= RIG_INPUT_HOME;
    }
    if ((PINC & PORT_SUPPLY_BIT) == 0) {
        inputs |= RIG_INPUT_SUPPLY;
    }
    if ((PINC & PORT_DRIVE_BIT) == 0) {
        inputs |= RIG_INPUT_DRIVE;
    }
    return inputs ^ (uint8_t)rig.settings[RIG_SETTING_HIGH_INPUTS];
}

/// Quantities ///

// Hundredths of a degree at each 64th count of the converter, from 64 on: a thermistor of
// 10 kohm at 25 degrees with B 3950 K, and 10 kohm to the voltage that the converter
// compares with, whose value so drops out
static const int16_t RIG_ROM temperatures[] = {10160, 7633, 6211, 5196, 4387, 3696, 3077, 2500,
                                               1945,  1393, 825,  217,  -471, -1318, -2560};
#define COUNTS_APART 64
#define LAST_PLACE ((int16_t)(sizeof temperatures / sizeof temperatures[0]) - 1)

static int16_t temperature_at(int16_t place)
{
    return (int16_t)pgm_read_word(&temperatures[place]);
}

int32_t port_read(struct rig *unused, uint8_t quantity)
{
    (void)unused;
    (void)quantity;
    // 13 cycles of an 128th of the clock: 104 us
    ADMUX = _BV(REFS0) | PORT_TEMPERATURE_CHANNEL;
    ADCSRA = _BV(ADEN) | _BV(ADSC) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0);
    while ((ADCSRA & _BV(ADSC)) != 0) {
    }
    int16_t above = (int16_t)(ADC - COUNTS_APART);
    if (above <= 0) {
        return temperature_at(0) * INT32_C(10);
    }
    int16_t place = above / COUNTS_APART;
    if (place >= LAST_PLACE) {
        return temperature_at(LAST_PLACE) * INT32_C(10);
    }
    int16_t here = temperature_at(place);
    int32_t way = (int32_t)(temperature_at((int16_t)(place + 1)) - here) * (above % COUNTS_APART);
    return (here + way / COUNTS_APART) * 10;
}

/// Line ///

ISR(USART_RX_vect)
{
    uint8_t damage = UCSR0A & (_BV(FE0) | _BV(DOR0));
    uint8_t byte = UDR0;
    rig_on_byte(&rig, byte, damage != 0);
}

ISR(USART_UDRE_vect)
{
    uint8_t byte;
    if (rig_next_byte(&rig, &byte)) {
        UDR0 = byte;
        // After the byte, so that the flag is that of this or a later one
        UCSR0A = _BV(U2X0) | _BV(TXC0);
    } else {
        UCSR0B = (uint8_t)(UCSR0B & ~_BV(UDRIE0));
    }
}

void port_rate(struct rig *unused, uint32_t bits_s)
{
    (void)unused;
    // At 16 MHz and double speed: 117647 (2.1 % off) and 250000 (exact)
    UBRR0 = bits_s == 250000u ? 7u : 16u;
}

/// Start ///

void port_keep_reset_flags(void)
{
    GPIOR0 = MCUSR; // no variable yet: memory is cleared after this
    MCUSR = 0;
    // Runs on after the reset that it made, at its shortest time
    wdt_disable();
}

static uint8_t start_reason(void)
{
    if ((GPIOR0 & _BV(PORF)) != 0) {
        return RIG_START_REASON_POWER;
    }
    if ((GPIOR0 & _BV(WDRF)) != 0) {
        return RIG_START_REASON_WATCHDOG;
    }
    if ((GPIOR0 & _BV(BORF)) != 0) {
        return RIG_START_REASON_BROWNOUT;
    }
    return RIG_START_REASON_BUTTON;
}

static void read_identity(struct rig_identity *identity)
{
    identity->abilities = PORT_ABILITIES;
    identity->high_inputs = PORT_HIGH;
    identity->quantities = PORT_QUANTITIES;
    identity->controls = PORT_CONTROLS;
    identity->reason = start_reason();
    identity->boot = (uint16_t)(eeprom_read_word(EEPROM_BOOT) + 1u);
    eeprom_update_word(EEPROM_BOOT, identity->boot);
}

/// Settings ///

uint8_t port_kept(struct rig *unused, uint8_t at)
{
    (void)unused;
    return eeprom_read_byte(EEPROM_SETTINGS + at);
}

void port_keep(struct rig *unused, uint8_t at, uint8_t byte)
{
    (void)unused;
    // 3.4 ms for a byte that changes; sixteen and the check take half the watchdog's time
    eeprom_update_byte(EEPROM_SETTINGS + at, byte);
    wdt_reset();
}

// Memory comes up as chance and the chip have it, and between variables and stack nothing
// has been written since
uint32_t port_random(struct rig *unused)
{
    (void)unused;
    uint32_t noise = 5381u;
    for (const volatile uint8_t *at = &__heap_start; at < (const volatile uint8_t *)SP; at++) {
        noise = noise * 33u + *at;
    }
    return noise;
}

static void set_up_pins(void)
{
    PORTB = PORT_OUT_BIT;
    PORTC = PORT_SUPPLY_BIT | PORT_DRIVE_BIT;
    PORTD = PORT_PROBE_BIT | PORT_HOME_BIT;
    DDRD = _BV(PORT_STEP) | _BV(PORT_DIRECTION) | _BV(PORT_ENABLE) | _BV(PORT_SUPPLY_OFF);
    PCMSK1 = _BV(PCINT9);
    // Probe and home: any change
    EICRA = _BV(ISC00) | _BV(ISC10);
}

static void set_up_timers(void)
{
    // Clock over 8, noise canceller on; first edge: away from the level that is
    TCCR1B = _BV(ICNC1) | _BV(CS11);
    if ((PINB & PORT_OUT_BIT) == 0) {
        TCCR1B = (uint8_t)(TCCR1B | _BV(ICES1));
    }
    // Clear on compare, clock over 64: 1 ms
    TCCR2A = _BV(WGM21);
    OCR2A = 249;
    TCCR2B = _BV(CS22);
}

static void enable_interrupts(void)
{
    TIFR1 = _BV(ICF1) | _BV(TOV1);
    EIFR = _BV(INTF0) | _BV(INTF1);
    TIMSK1 = _BV(ICIE1) | _BV(TOIE1);
    TIMSK2 = _BV(OCIE2A);
    PCIFR = _BV(PCIF1);
    PCICR = _BV(PCIE1);
    EIMSK = _BV(INT0) | _BV(INT1);
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0A = _BV(U2X0);
    UCSR0B = _BV(RXCIE0) | _BV(RXEN0) | _BV(TXEN0);
    sei();
}

int main(void)
{
    struct rig_identity identity;
    set_up_pins();
    read_identity(&identity);
    set_up_timers();
    port_rate(&rig, RIG_FIRST_RATE_BITS_S);
    rig_init(&rig, NULL, &identity);
    wdt_enable(WDTO_120MS);
    enable_interrupts();
    // Sleep is idle: every interrupt wakes
    SMCR = _BV(SE);
    for (;;) {
        wdt_reset();
        if (!rig_poll(&rig)) {
            sleep_cpu();
        }
    }
}
