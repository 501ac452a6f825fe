// The AVR image on a simulated board: what tests measure beside bench.h
#ifndef BOARD_H
#define BOARD_H

#include "bench.h"

// What one interrupt routine took, in cycles from its entry to its return, those of the
// entry itself included
struct board_routine {
    uint64_t count;
    uint64_t total;
    uint64_t most;
};

// Numbers for a vector since the last call for it; vectors as in the data sheet less 1
void board_routine(struct bench *bench, int vector, struct board_routine *routine);

// Bytes of memory that the stack has not touched since the start, and those that
// variables take
int board_stack_free(const struct bench *bench);
int board_static_bytes(const struct bench *bench);

// Change a byte of the non-volatile memory
void board_write_eeprom(struct bench *bench, int at, uint8_t byte);

// Let the program hang with interrupts off, for the watchdog
void board_hang(struct bench *bench);

// Whether the cycles that the chip takes to enter an interrupt are added, which they are
// to begin with
void board_entry_cycles(struct bench *bench, int on);

#endif
