// The simulator, corrected and hooked to the world
//
// The simulator (1.6) differs from the chip in ways that would spoil measurements. What
// is put right here:
//   - a write to TIFR1 clears all its flags; on the chip those written as 1
//   - a byte takes 11 bits on the line at 8N1; 10 on the chip
//   - the receiver holds 64 bytes; on the chip 2 and the one being received
//   - an interrupt is entered in no time; the chip takes 4 cycles, 4 more from sleep
//   - the input capture sees an edge at once; the chip after 2 cycles of the
//     synchroniser and 4 of the noise canceller
//   - sleep goes on past the cycle at which the run is to end
#include "chip.h"

#include <math.h>
#include <string.h>

#include "table.h"

#define CAPTURE_CYCLES 6u
#define ENTRY_CYCLES 4u
#define RECEIVER_BYTES 3u

// Addresses in data space
#define TIFR1_ADDRESS 0x36u
#define UCSR0A_ADDRESS 0xC0u
#define UBRR0L_ADDRESS 0xC4u
#define UBRR0H_ADDRESS 0xC5u
#define U2X0_BIT 0x02u
// Pins of ports/atmega328p/port.h
#define OUT_PIN 0
#define PROBE_PIN 2
#define HOME_PIN 3
#define STEP_PIN 4
#define DIRECTION_PIN 5
#define SUPPLY_PIN 0
#define DRIVE_PIN 1
#define ENABLE_PIN 6
#define SUPPLY_OFF_PIN 7
#define TEMPERATURE_CHANNEL 2
#define CHIP_MV 5000.0

// Pins driven from outside, of ports B, C, D
static const uint8_t driven_pins[] = {1u << OUT_PIN,
                                      1u << SUPPLY_PIN | 1u << DRIVE_PIN,
                                      1u << PROBE_PIN | 1u << HOME_PIN};

/// Corrections ///

uint32_t chip_rate(const struct bench *bench)
{
    const uint8_t *data = bench->avr->data;
    uint32_t divider = ((uint32_t)data[UBRR0H_ADDRESS] << 8 | data[UBRR0L_ADDRESS]) + 1u;
    return (uint32_t)CLOCK_HZ / (divider * ((data[UCSR0A_ADDRESS] & U2X0_BIT) ? 8u : 16u));
}

static void correct_byte_time(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct bench *bench = param;
    (void)irq;
    (void)value;
    bench->uart->cycles_per_byte = 10u * (uint32_t)CLOCK_HZ / chip_rate(bench);
}

static void write_timer_flags(struct avr_t *avr, avr_io_addr_t address, uint8_t value,
                              void *param)
{
    avr_timer_t *timer = param;
    (void)address;
    avr_int_vector_t *const all[] = {&timer->overflow, &timer->icr,
                                     &timer->comp[AVR_TIMER_COMPA].interrupt,
                                     &timer->comp[AVR_TIMER_COMPB].interrupt};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        if ((value & (1u << all[i]->raised.bit)) != 0) {
            avr_clear_interrupt(avr, all[i]);
        }
    }
}

static void enter_or_leave(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct vector *vector = param;
    struct bench *bench = vector->bench;
    (void)irq;
    if (value != 0) {
        vector->entered = bench->avr->cycle;
        if (bench->entry_cycles) {
            bench->avr->cycle += bench->slept ? 2u * ENTRY_CYCLES : ENTRY_CYCLES;
        }
        bench->slept = false;
    } else {
        uint64_t took = bench->avr->cycle - vector->entered;
        vector->routine.count++;
        vector->routine.total += took;
        if (took > vector->routine.most) {
            vector->routine.most = took;
        }
    }
}

static void sleep_no_time(avr_t *avr, avr_cycle_count_t cycles)
{
    struct bench *bench = avr->custom.data;
    (void)cycles;
    bench->slept = true;
}

avr_cycle_count_t chip_stop_here(avr_t *avr, avr_cycle_count_t when, void *param)
{
    (void)avr;
    (void)param;
    return when + 1u;
}

/// Pins ///

// A pin that is driven from outside, active low
//
// A write to the port sets every input with a pull-up to what its outside is said to be,
// so that has to be said along with each change.
static void drive(struct bench *bench, char port, int pin, avr_irq_t *irq, bool active)
{
    uint8_t bit = (uint8_t)(1u << pin);
    uint8_t *levels = &bench->outside[port - 'B'];
    *levels = (uint8_t)(active ? *levels & ~bit : *levels | bit);
    avr_ioport_external_t outside = {
        .name = (unsigned char)port & 0x7Fu,
        .mask = driven_pins[port - 'B'],
        .value = *levels,
    };
    avr_ioctl(bench->avr, (uint32_t)AVR_IOCTL_IOPORT_SET_EXTERNAL(port), &outside);
    avr_raise_irq(irq, !active);
}

void chip_drive_out(struct bench *bench)
{
    drive(bench, 'B', OUT_PIN, bench->out_pin, (bench->world.inputs & WORLD_OUT) != 0);
}

static avr_cycle_count_t out_through_filter(avr_t *avr, avr_cycle_count_t when,
                                            void *param)
{
    (void)avr;
    (void)when;
    chip_drive_out(param);
    return 0;
}

void chip_set_pins(struct bench *bench, uint8_t changed)
{
    uint8_t inputs = bench->world.inputs;
    if ((changed & WORLD_OUT) != 0) {
        avr_cycle_timer_register(bench->avr, CAPTURE_CYCLES, out_through_filter, bench);
    }
    if ((changed & WORLD_PROBE) != 0) {
        drive(bench, 'D', PROBE_PIN, bench->probe_pin, (inputs & WORLD_PROBE) == 0);
    }
    if ((changed & WORLD_HOME) != 0) {
        drive(bench, 'D', HOME_PIN, bench->home_pin, (inputs & WORLD_HOME) == 0);
    }
    if ((changed & WORLD_SUPPLY) != 0) {
        drive(bench, 'C', SUPPLY_PIN, bench->supply_pin, (inputs & WORLD_SUPPLY) != 0);
    }
    if ((changed & WORLD_DRIVE) != 0) {
        drive(bench, 'C', DRIVE_PIN, bench->drive_pin, (inputs & WORLD_DRIVE) != 0);
    }
}

static void direction_changed(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct bench *bench = param;
    (void)irq;
    bench->up = value != 0;
}

static void supply_off_changed(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct bench *bench = param;
    (void)irq;
    chip_set_pins(bench, world_put(&bench->world, RIG_CONTROL_SENSOR_SUPPLY,
                                   value != 0 ? 0.0 : 1.0, bench->avr->cycle));
}

void chip_set_temperature(struct bench *bench)
{
    // 10 kohm at 25 degrees, B 3950 K, and 10 kohm to the chip's supply
    double celsius = world_quantity(&bench->world, RIG_QUANTITY_TEMPERATURE) / 1000.0;
    double ratio = exp(3950.0 * (1.0 / (celsius + 273.15) - 1.0 / 298.15));
    avr_raise_irq(bench->temperature_pin, (uint32_t)(CHIP_MV * ratio / (1.0 + ratio) + 0.5));
}

static void enable_changed(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct bench *bench = param;
    (void)irq;
    bench->world.enabled = value != 0;
}

static void step_changed(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct bench *bench = param;
    (void)irq;
    if (value != 0) {
        chip_set_pins(bench, world_pulse(&bench->world, bench->up, bench->avr->cycle));
    }
}

/// Line ///

static bool rates_differ(const struct bench *bench)
{
    uint32_t rate = chip_rate(bench);
    uint32_t line = bench->line_rate;
    // A twentieth is what a receiver bears
    return line != 0 && (line > rate + rate / 20u || line < rate - rate / 20u);
}

static double byte_cycles(const struct bench *bench)
{
    // The host keeps the exact rate, the chip the nearest it can make
    uint32_t rate = chip_rate(bench) > 200000u ? 250000u : 115200u;
    return 10.0 * CLOCK_HZ / (bench->line_rate != 0 ? bench->line_rate : rate);
}

static unsigned unread_bytes(const avr_uart_t *uart)
{
    return (unsigned)(uart->input.write - uart->input.read) % uart_fifo_fifo_size;
}

// The start bit of a byte: the simulator receives it one byte time later
avr_cycle_count_t chip_begin_byte(avr_t *avr, avr_cycle_count_t when, void *param)
{
    struct bench *bench = param;
    struct wire *in = &bench->in;
    (void)when;
    if (in->tail == in->head) {
        return 0;
    }
    uint8_t byte = in->bytes[in->tail];
    in->tail = (in->tail + 1u) % WIRE_ROOM;
    if (unread_bytes(bench->uart) >= RECEIVER_BYTES) {
        bench->overruns++;
    } else if (rates_differ(bench)) {
        avr_raise_irq(bench->uart_in, 0xFFu | UART_INPUT_FE);
    } else {
        avr_raise_irq(bench->uart_in, byte);
    }
    bench->line_free += byte_cycles(bench);
    if (bench->line_free < (double)avr->cycle + 1.0) {
        bench->line_free = (double)avr->cycle + 1.0;
    }
    return in->tail == in->head ? 0 : (avr_cycle_count_t)bench->line_free;
}

static void byte_sent(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct bench *bench = param;
    struct wire *out = &bench->out;
    size_t last = (out->head + WIRE_ROOM - 1u) % WIRE_ROOM;
    size_t next = (out->head + 1u) % WIRE_ROOM;
    (void)irq;
    if (next == out->tail) {
        return;
    }
    uint64_t begins = bench->avr->cycle;
    if (out->head != out->tail && out->at[last] > begins) {
        begins = out->at[last];
    }
    out->bytes[out->head] = rates_differ(bench) ? 0xFFu : (uint8_t)value;
    out->at[out->head] = begins + bench->uart->cycles_per_byte;
    out->head = next;
}

/// Hooks ///

static void *find_module(avr_t *avr, const char *kind, int name, size_t name_offset)
{
    for (avr_io_t *io = avr->io_port; io != NULL; io = io->next) {
        if (strcmp(io->kind, kind) == 0 && ((const char *)io)[name_offset] == name) {
            return io;
        }
    }
    return NULL;
}

static void watch_pins(struct bench *bench)
{
    avr_t *avr = bench->avr;
    bench->out_pin = avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('B'), OUT_PIN);
    bench->probe_pin = avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('D'), PROBE_PIN);
    bench->home_pin = avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('D'), HOME_PIN);
    bench->supply_pin = avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('C'), SUPPLY_PIN);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('D'), STEP_PIN),
                            step_changed, bench);
    bench->drive_pin = avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('C'), DRIVE_PIN);
    avr_irq_register_notify(
        avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('D'), ENABLE_PIN), enable_changed, bench);
    avr_irq_register_notify(
        avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('D'), SUPPLY_OFF_PIN), supply_off_changed,
        bench);
    bench->temperature_pin =
        avr_io_getirq(avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_ADC0 + TEMPERATURE_CHANNEL);
    avr->vcc = (uint32_t)CHIP_MV;
    avr->avcc = (uint32_t)CHIP_MV;
    avr_irq_register_notify(
        avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('D'), DIRECTION_PIN),
        direction_changed, bench);
}

static void watch_line(struct bench *bench)
{
    avr_t *avr = bench->avr;
    static const unsigned rate_registers[] = {UCSR0A_ADDRESS, UBRR0L_ADDRESS,
                                              UBRR0H_ADDRESS};
    uint32_t flags = 0; // neither echo nor real time
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    bench->uart_in = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
    avr_irq_register_notify(
        avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), byte_sent, bench);
    for (size_t i = 0; i < sizeof rate_registers / sizeof rate_registers[0]; i++) {
        avr_irq_register_notify(avr_iomem_getirq(avr, (avr_io_addr_t)rate_registers[i],
                                                 NULL, AVR_IOMEM_IRQ_ALL),
                                correct_byte_time, bench);
    }
}

static void watch_interrupts(struct bench *bench)
{
    for (uint8_t i = 1; i < VECTORS; i++) {
        avr_irq_t *irq = avr_get_interrupt_irq(bench->avr, i);
        bench->vectors[i].bench = bench;
        if (irq != NULL) {
            avr_irq_register_notify(irq + AVR_INT_IRQ_RUNNING, enter_or_leave,
                                    &bench->vectors[i]);
        }
    }
    bench->avr->io[AVR_DATA_TO_IO(TIFR1_ADDRESS)].w.c = write_timer_flags;
    bench->avr->io[AVR_DATA_TO_IO(TIFR1_ADDRESS)].w.param = bench->timer;
}

void chip_watch(struct bench *bench)
{
    bench->uart = find_module(bench->avr, "uart", '0', offsetof(avr_uart_t, name));
    bench->timer = find_module(bench->avr, "timer", '1', offsetof(avr_timer_t, name));
    bench->avr->sleep = sleep_no_time;
    watch_pins(bench);
    watch_line(bench);
    watch_interrupts(bench);
}
