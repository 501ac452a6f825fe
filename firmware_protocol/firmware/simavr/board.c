// The AVR image on a simulated board, in lock-step
//
// A test program of its own: the simulator's library is under the GPL, version 3 or
// later, and nothing that ships links it. Where the simulator differs from the chip is
// put right in chip.c.
#include "chip.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "rig.h"
#include "values.h"

#define MCUSR_ADDRESS 0x54u

// Non-volatile memory, see ports/atmega328p/main.c and core/settings.c
#define EEPROM_SETTINGS 2u
#define SETTINGS_MARK 0x53u
#define SETTINGS_BYTES (1u + 4u * RIG_SETTING_COUNT)

#define STACK_PAINT 0xA5u
#define ALL_INPUTS (WORLD_OUT | WORLD_PROBE | WORLD_HOME | WORLD_SUPPLY | WORLD_DRIVE)

/// Start ///

static void start(struct bench *bench, uint8_t reset_flag)
{
    avr_t *avr = bench->avr;
    avr_reset(avr);
    memset(avr->data + bench->static_end, STACK_PAINT,
           (size_t)avr->ramend + 1u - bench->static_end);
    avr->data[MCUSR_ADDRESS] = reset_flag;
    bench->in.tail = bench->in.head;
    bench->line_free = 0.0;
    // The switch is on while nothing holds it off
    (void)world_put(&bench->world, RIG_CONTROL_SENSOR_SUPPLY, 1.0, avr->cycle);
    chip_set_temperature(bench);
    // The reset cleared the pins; each is set by a change alone
    for (int i = 0; i < 2; i++) {
        bench->world.inputs ^= ALL_INPUTS;
        chip_drive_out(bench);
        chip_set_pins(bench, ALL_INPUTS & ~WORLD_OUT);
    }
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
    bench->avr->custom.data = bench;
    return true;
}

// CRC-16 with polynomial 0x1021 from 0xFFFF; SPEC.md 4
static uint16_t check_of(const uint8_t *bytes, size_t count)
{
    uint16_t check = 0xFFFFu;
    for (size_t i = 0; i < count; i++) {
        check = (uint16_t)(check ^ (bytes[i] << 8));
        for (int bit = 0; bit < 8; bit++) {
            check = (uint16_t)((check & 0x8000u) != 0 ? (check << 1) ^ 0x1021 : check << 1);
        }
    }
    return check;
}

// Settings as the build has them, with a name, and with these abilities added but for a
// scale, which the chip cannot count
static void settle(struct bench *bench, int abilities)
{
    const int32_t settings[RIG_SETTING_COUNT] = {
        [RIG_SETTING_STEPS_PER_M] = RIG_STEPS_PER_M,
        [RIG_SETTING_TRAVEL_LOW] = RIG_TRAVEL_LOW,
        [RIG_SETTING_TRAVEL_HIGH] = RIG_TRAVEL_HIGH,
        [RIG_SETTING_SPEED_LIMIT] = RIG_SPEED_LIMIT,
        [RIG_SETTING_ACCELERATION_LIMIT] = RIG_ACCELERATION_LIMIT,
        [RIG_SETTING_START_SPEED] = RIG_START_SPEED,
        [RIG_SETTING_ABILITIES] = RIG_ABILITY_FAST_RATE | RIG_ABILITY_TOUCH_PROBE
                                  | RIG_ABILITY_DRIVE_SENSE | RIG_ABILITY_ENABLE_OUTPUT
                                  | RIG_ABILITY_SETTINGS | (abilities & ~RIG_ABILITY_SCALE),
        [RIG_SETTING_HOME_CLEAR] = RIG_HOME_CLEAR,
        [RIG_SETTING_HOME_SEARCH] = RIG_HOME_SEARCH,
        [RIG_SETTING_HIGH_INPUTS] = WORLD_OPENS,
        [RIG_SETTING_SERIAL] = 20260103,
        // "simavr-1"
        [RIG_SETTING_NAME_1] = 0x616D6973,
        [RIG_SETTING_NAME_2] = 0x312D7276,
    };
    uint8_t bytes[SETTINGS_BYTES + 2u] = {SETTINGS_MARK};
    for (size_t i = 1; i < SETTINGS_BYTES; i++) {
        bytes[i] = (uint8_t)((uint32_t)settings[(i - 1u) / 4u] >> (8u * ((i - 1u) % 4u)));
    }
    uint16_t check = check_of(bytes, SETTINGS_BYTES);
    bytes[SETTINGS_BYTES] = (uint8_t)(check >> 8);
    bytes[SETTINGS_BYTES + 1u] = (uint8_t)check;
    avr_eeprom_desc_t memory = {.ee = bytes, .offset = EEPROM_SETTINGS, .size = sizeof bytes};
    avr_ioctl(bench->avr, AVR_IOCTL_EEPROM_SET, &memory);
}

struct bench *bench_new(const char *image, int abilities, int quantities, int controls)
{
    (void)quantities;
    (void)controls;
    struct bench *bench = calloc(1, sizeof *bench);
    if (bench == NULL || image == NULL || !load(bench, image)) {
        free(bench);
        return NULL;
    }
    bench->entry_cycles = true;
    world_init(&bench->world);
    chip_watch(bench);
    settle(bench, abilities);
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
        avr_cycle_timer_register(bench->avr, (avr_cycle_count_t)wait, chip_begin_byte, bench);
    }
}

void bench_advance(struct bench *bench, double seconds)
{
    avr_t *avr = bench->avr;
    double cycles = seconds * CLOCK_HZ + bench->rest;
    // The chip may be ahead already by what its last instruction took
    if (cycles < 1.0) {
        bench->rest = cycles;
        return;
    }
    avr_cycle_count_t whole = (avr_cycle_count_t)cycles;
    avr_cycle_count_t end = avr->cycle + whole;
    bench->rest = cycles - (double)whole;
    avr_cycle_timer_register(avr, whole, chip_stop_here, bench);
    while (avr->cycle < end) {
        int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed) {
            break;
        }
    }
    avr_cycle_timer_cancel(avr, chip_stop_here, bench);
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
        chip_set_pins(bench, world_look(&bench->world, bench->avr->cycle));
        chip_set_temperature(bench);
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
        return chip_rate(bench);
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

void board_write_eeprom(struct bench *bench, int at, uint8_t byte)
{
    avr_eeprom_desc_t memory = {.ee = &byte, .offset = (uint16_t)at, .size = 1};
    avr_ioctl(bench->avr, AVR_IOCTL_EEPROM_SET, &memory);
}

void board_entry_cycles(struct bench *bench, int on)
{
    bench->entry_cycles = on != 0;
}
