// What the board keeps of the simulator, and the corrections to it
#ifndef CHIP_H
#define CHIP_H

#include "board.h"

#include <stdbool.h>

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wpedantic"
#pragma GCC diagnostic ignored "-Wconversion"
#include <simavr/avr_adc.h>
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
    avr_irq_t *drive_pin;
    // Voltage at the converter's input for the temperature, mV
    avr_irq_t *temperature_pin;
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

// Hook everything; once, after the image was loaded
void chip_watch(struct bench *bench);

// Bring the pins to the levels of the world
void chip_set_pins(struct bench *bench, uint8_t changed);
// Bring the voltage of the thermistor to the temperature of the world
void chip_set_temperature(struct bench *bench);

// The sensor's at once, without its filter
void chip_drive_out(struct bench *bench);

// Rate that the chip's line is set to, bits/s
uint32_t chip_rate(const struct bench *bench);

// Cycle timers: the next byte of the host begins; the end of a run
avr_cycle_count_t chip_begin_byte(avr_t *avr, avr_cycle_count_t when, void *param);
avr_cycle_count_t chip_stop_here(avr_t *avr, avr_cycle_count_t when, void *param);

#endif
