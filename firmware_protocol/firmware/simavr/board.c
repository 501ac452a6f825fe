// The AVR image on a simulated board, in lock-step
//
// A test program of its own: the simulator's library is under the GPL, version 3 or
// later, and nothing that ships links it.
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
#include "board.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "values.h"

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wpedantic"
#pragma GCC diagnostic ignored "-Wconversion"
#include <simavr/avr_eeprom.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_timer.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_core.h>
#include <simavr/sim_elf.h>
#include <simavr/sim_time.h>
#pragma GCC diagnostic pop

#define CLOCK_HZ 16000000.0
#define VECTORS 26
#define WIRE_ROOM 65536u
#define CAPTURE_CYCLES 6u
#define ENTRY_CYCLES 4u
#define RECEIVER_BYTES 3u

// Addresses in data space
#define TIFR1_ADDRESS 0x36u
#define MCUSR_ADDRESS 0x54u
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

// Non-volatile memory, see ports/atmega328p/main.c
#define EEPROM_BYTES 20u
#define EEPROM_IS_NAMED 0x47u

#define STACK_PAINT 0xA5u

// Pins driven from outside, of ports B, C, D
static const uint8_t driven_pins[] = {1u << OUT_PIN, 1u << SUPPLY_PIN,
                                      1u << PROBE_PIN | 1u << HOME_PIN};

struct wire {
    uint8_t bytes[WIRE_ROOM];
    // Cycle at which each has gone over the line
    uint64_t at[WIRE_ROOM];
    size_t head;
    size_t tail;
};

struct vector {
    struct bench *bench;
    uint64_t entered;
    struct board_routine routine;
};

struct bench {
    avr_t *avr;
    avr_uart_t *uart;
    avr_timer_t *timer;
    avr_irq_t *uart_in;
    avr_irq_t *out_pin;
    avr_irq_t *probe_pin;
    avr_irq_t *home_pin;
    avr_irq_t *supply_pin;
    // What is outside at those pins
    uint8_t outside[3];
    struct world world;
    struct vector vectors[VECTORS];
    bool up;
    bool slept;
    bool entry_cycles;
    uint16_t static_end;
    // Cycle at which the line is free for the next byte of the host
    double line_free;
    uint32_t line_rate;
    uint64_t overruns;
    // Fraction of a cycle not yet run
    double rest;
    struct wire in;
    struct wire out;
};

/// Corrections ///

static uint32_t rate_of(const struct bench *bench)
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
    bench->uart->cycles_per_byte = 10u * (uint32_t)CLOCK_HZ / rate_of(bench);
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

static avr_cycle_count_t stop_here(avr_t *avr, avr_cycle_count_t when, void *param)
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

static void drive_out(struct bench *bench)
{
    drive(bench, 'B', OUT_PIN, bench->out_pin, (bench->world.inputs & WORLD_OUT) != 0);
}

static avr_cycle_count_t out_through_filter(avr_t *avr, avr_cycle_count_t when,
                                            void *param)
{
    (void)avr;
    (void)when;
    drive_out(param);
    return 0;
}

static void set_pins(struct bench *bench, uint8_t changed)
{
    uint8_t inputs = bench->world.inputs;
    if ((changed & WORLD_OUT) != 0) {
        avr_cycle_timer_register(bench->avr, CAPTURE_CYCLES, out_through_filter, bench);
    }
    if ((changed & WORLD_PROBE) != 0) {
        drive(bench, 'D', PROBE_PIN, bench->probe_pin, (inputs & WORLD_PROBE) != 0);
    }
    if ((changed & WORLD_HOME) != 0) {
        drive(bench, 'D', HOME_PIN, bench->home_pin, (inputs & WORLD_HOME) != 0);
    }
    if ((changed & WORLD_SUPPLY) != 0) {
        drive(bench, 'C', SUPPLY_PIN, bench->supply_pin, (inputs & WORLD_SUPPLY) != 0);
    }
}

static void direction_changed(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct bench *bench = param;
    (void)irq;
    bench->up = value != 0;
}

static void step_changed(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct bench *bench = param;
    (void)irq;
    if (value != 0) {
        set_pins(bench, world_pulse(&bench->world, bench->up, bench->avr->cycle));
    }
}

/// Line ///

static bool rates_differ(const struct bench *bench)
{
    uint32_t rate = rate_of(bench);
    uint32_t line = bench->line_rate;
    // A twentieth is what a receiver bears
    return line != 0 && (line > rate + rate / 20u || line < rate - rate / 20u);
}

static double byte_cycles(const struct bench *bench)
{
    // The host keeps the exact rate, the chip the nearest it can make
    uint32_t rate = rate_of(bench) > 200000u ? 250000u : 115200u;
    return 10.0 * CLOCK_HZ / (bench->line_rate != 0 ? bench->line_rate : rate);
}

static unsigned unread_bytes(const avr_uart_t *uart)
{
    return (unsigned)(uart->input.write - uart->input.read) % uart_fifo_fifo_size;
}

// The start bit of a byte: the simulator receives it one byte time later
static avr_cycle_count_t begin_byte(avr_t *avr, avr_cycle_count_t when, void *param)
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

/// Start ///

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

static void start(struct bench *bench, uint8_t reset_flag)
{
    avr_t *avr = bench->avr;
    avr_reset(avr);
    memset(avr->data + bench->static_end, STACK_PAINT,
           (size_t)avr->ramend + 1u - bench->static_end);
    avr->data[MCUSR_ADDRESS] = reset_flag;
    bench->in.tail = bench->in.head;
    bench->line_free = 0.0;
    drive_out(bench);
    set_pins(bench, WORLD_PROBE | WORLD_HOME | WORLD_SUPPLY);
}

static void say_nothing(avr_t *avr, const int level, const char *format, va_list values)
{
    (void)avr;
    (void)level;
    (void)format;
    (void)values;
}

static bool load(struct bench *bench, const char *image)
{
    static elf_firmware_t firmware;
    memset(&firmware, 0, sizeof firmware);
    avr_global_logger_set(say_nothing);
    if (elf_read_firmware(image, &firmware) != 0) {
        return false;
    }
    strcpy(firmware.mmcu, "atmega328p");
    firmware.frequency = (uint32_t)CLOCK_HZ;
    bench->avr = avr_make_mcu_by_name(firmware.mmcu);
    if (bench->avr == NULL) {
        return false;
    }
    bench->avr->log = 0;
    avr_init(bench->avr);
    avr_load_firmware(bench->avr, &firmware);
    bench->static_end = (uint16_t)(0x100u + firmware.datasize + firmware.bsssize);
    bench->avr->sleep = sleep_no_time;
    bench->avr->custom.data = bench;
    return true;
}

static void name_it(struct bench *bench, int abilities)
{
    uint8_t bytes[EEPROM_BYTES] = {0xFF, 0xFF, EEPROM_IS_NAMED, 0};
    bytes[3] = (uint8_t)abilities;
    memcpy(bytes + 4, "simavr-1", 9);
    avr_eeprom_desc_t memory = {.ee = bytes, .offset = 0, .size = sizeof bytes};
    avr_ioctl(bench->avr, AVR_IOCTL_EEPROM_SET, &memory);
}

struct bench *bench_new(const char *image, int abilities)
{
    struct bench *bench = calloc(1, sizeof *bench);
    if (bench == NULL || image == NULL || !load(bench, image)) {
        free(bench);
        return NULL;
    }
    bench->uart = find_module(bench->avr, "uart", '0', offsetof(avr_uart_t, name));
    bench->timer = find_module(bench->avr, "timer", '1', offsetof(avr_timer_t, name));
    bench->entry_cycles = true;
    world_init(&bench->world);
    watch_pins(bench);
    watch_line(bench);
    watch_interrupts(bench);
    name_it(bench, abilities);
    start(bench, 1u);
    return bench;
}

void bench_free(struct bench *bench)
{
    avr_terminate(bench->avr);
    free(bench);
}

void bench_restart(struct bench *bench, int reason)
{
    // PORF, EXTRF, WDRF, BORF in the order of enum rig_start_reason
    static const uint8_t flags[] = {1u, 2u, 8u, 4u};
    start(bench, flags[reason & 3]);
}

/// Running ///

void bench_feed(struct bench *bench, const uint8_t *bytes, size_t count)
{
    struct wire *in = &bench->in;
    bool idle = in->tail == in->head;
    for (size_t i = 0; i < count; i++) {
        size_t next = (in->head + 1u) % WIRE_ROOM;
        if (next != in->tail) {
            in->bytes[in->head] = bytes[i];
            in->head = next;
        }
    }
    if (idle && count != 0) {
        double now = (double)bench->avr->cycle;
        double wait = bench->line_free > now + 1.0 ? bench->line_free - now : 1.0;
        bench->line_free = now + wait;
        avr_cycle_timer_register(bench->avr, (avr_cycle_count_t)wait, begin_byte, bench);
    }
}

void bench_advance(struct bench *bench, double seconds)
{
    avr_t *avr = bench->avr;
    double cycles = seconds * CLOCK_HZ + bench->rest;
    avr_cycle_count_t whole = (avr_cycle_count_t)cycles;
    avr_cycle_count_t end = avr->cycle + whole;
    bench->rest = cycles - (double)whole;
    avr_cycle_timer_register(avr, whole, stop_here, bench);
    while (avr->cycle < end) {
        int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed) {
            break;
        }
    }
    avr_cycle_timer_cancel(avr, stop_here, bench);
    bench->rest -= (double)(avr->cycle - end);
}

size_t bench_take(struct bench *bench, uint8_t *bytes, size_t room)
{
    struct wire *out = &bench->out;
    size_t count = 0;
    while (count < room && out->tail != out->head
           && out->at[out->tail] <= bench->avr->cycle) {
        bytes[count++] = out->bytes[out->tail];
        out->tail = (out->tail + 1u) % WIRE_ROOM;
    }
    return count;
}

void bench_set(struct bench *bench, int value, double to)
{
    if (value == BENCH_LINE_RATE) {
        bench->line_rate = (uint32_t)to;
    } else if (world_set(&bench->world, value, to)) {
        set_pins(bench, world_look(&bench->world, bench->avr->cycle));
    }
}

double bench_get(const struct bench *bench, int value)
{
    double is = 0.0;
    switch (value) {
    case BENCH_LINE_RATE:
        return bench->line_rate;
    case BENCH_CYCLES:
        return (double)bench->avr->cycle;
    case BENCH_CONTROLLER_RATE:
        return rate_of(bench);
    case BENCH_OVERRUNS:
        return (double)bench->overruns;
    default:
        (void)world_get(&bench->world, value, &is);
        return is;
    }
}

int bench_edge(const struct bench *bench, uint64_t index, struct world_edge *edge)
{
    return world_edge(&bench->world, index, edge);
}

void bench_log_pulses(struct bench *bench, uint64_t *cycles, uint64_t capacity)
{
    world_log_pulses(&bench->world, cycles, capacity);
}

uint64_t bench_pulses_logged(const struct bench *bench)
{
    return bench->world.pulse_count;
}

/// Measuring ///

void board_routine(struct bench *bench, int vector, struct board_routine *routine)
{
    *routine = bench->vectors[vector].routine;
    memset(&bench->vectors[vector].routine, 0, sizeof *routine);
}

int board_stack_free(const struct bench *bench)
{
    const uint8_t *data = bench->avr->data;
    int at = bench->static_end;
    while (at <= bench->avr->ramend && data[at] == STACK_PAINT) {
        at++;
    }
    return at - bench->static_end;
}

int board_static_bytes(const struct bench *bench)
{
    return bench->static_end - 0x100;
}

void board_hang(struct bench *bench)
{
    avr_t *avr = bench->avr;
    // `cli` and a jump to itself in the last words of the flash
    static const uint8_t loop[] = {0xF8, 0x94, 0xFF, 0xCF};
    avr_flashaddr_t at = avr->flashend + 1u - (avr_flashaddr_t)sizeof loop;
    memcpy(avr->flash + at, loop, sizeof loop);
    avr->pc = at;
}

void board_entry_cycles(struct bench *bench, int on)
{
    bench->entry_cycles = on != 0;
}
