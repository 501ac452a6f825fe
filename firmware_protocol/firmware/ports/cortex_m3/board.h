// What the port needs of the board around the chip: pins, and the line to the host
//
// The board raises RECEIVE_LINE for each byte that came, SEND_LINE when another can be
// sent, INPUT_LINE for each change that it latched, and DRIVE_LINE when the input of the
// motor's drive changed (registers.h).
#ifndef BOARD_H
#define BOARD_H

#include <stdbool.h>
#include <stdint.h>

#include "rig.h"

// A change of an input that the board has latched
struct board_change {
    enum rig_source source;
    bool level;
    // Step timer at that instant
    rig_tick_t tick;
    // Count of the scale at that instant
    uint32_t scale;
    // It changed again before it was asked for: this is the latest change
    bool missed;
};

/// Start ///

// Before anything else of the board is used
void board_start(void);

// What is so until settings are kept, and why this start
void board_identity(struct rig_identity *identity);

// The main loop goes round: restart the watchdog
void board_alive(void);

/// Memory that outlives the loss of power ///

// As port_kept, port_keep and port_random of ports/host/port.h
uint8_t board_kept(uint8_t at);
void board_keep(uint8_t at, uint8_t byte);
uint32_t board_random(void);

/// Quantities and controls ///

// As port_read and port_put of ports/host/port.h
int32_t board_read(uint8_t quantity);
void board_put(uint8_t control, int32_t value);

/// Scale ///

// Its count now, up toward the face, modulo 2^32: a timer in its encoder mode, say, whose
// count the board latches with each change of an input
uint32_t board_scale(void);

/// Pins ///

void board_step(bool level);
void board_direction(bool up);
void board_enable(bool on);

// Sum of enum rig_input, as they stand now
uint8_t board_inputs(void);

// Take the next change; false for none
bool board_take_change(struct board_change *change);

/// Line ///

// The byte that came, and whether it is damaged or one before it was lost
uint8_t board_received(bool *damaged);

// Whether another byte can be sent; send it
bool board_can_send(void);
void board_send(uint8_t byte);

// Whether the last bit of what was sent has left
bool board_sent(void);

void board_rate(uint32_t bits_s);

/// Interrupts of its own ///

// Lines 0 and 10, if the board has a use for them; most urgent
void board_on_line_0(void);
void board_on_line_10(void);

#endif
