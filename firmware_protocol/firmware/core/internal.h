// What the parts of the core ask of each other
#ifndef RIG_INTERNAL_H
#define RIG_INTERNAL_H

#include "port.h"
#include "rig.h"

/// Check and numbers ///

// Start with RIG_CHECK_START
uint16_t rig_check_add(uint16_t check, uint8_t byte);

// Read a decimal integer as SPEC.md 3 writes it
//
// Returns false for anything else and for what does not fit 32 bits with its sign.
bool rig_number_read(const char *text, uint8_t length, int32_t *value);

// Write one; returns the number of characters, at most 11. No end is written.
uint8_t rig_number_write(char *text, uint32_t magnitude, bool negative);

/// Lines in ///

// Take bytes until a line is whole or none are left; whether there were any
bool rig_line_poll(struct rig *rig);

// Drop the line being received
void rig_line_clear(struct rig *rig);

/// Lines out ///

// Bytes that can be put out at once
uint8_t rig_out_room(const struct rig *rig);

// A line: begin with its mark and number, add fields, end. There must be room.
void rig_out_begin(struct rig *rig, char mark, uint16_t number);
void rig_out_rom(struct rig *rig, const char *rom_word);
void rig_out_text(struct rig *rig, const char *text);
void rig_out_unsigned(struct rig *rig, uint32_t value);
void rig_out_signed(struct rig *rig, int32_t value);
void rig_out_end(struct rig *rig);

// Put out the remembered reply once more
void rig_out_again(struct rig *rig);

/// Notices ///

// Give the next number to a notice, and return its place in the ring. Interrupts are off.
struct rig_notice *rig_notice_add(struct rig *rig, uint8_t kind, uint8_t first, uint8_t second,
                                  int32_t position, uint32_t time_us);

// Oldest number in the ring
uint16_t rig_notice_oldest(const struct rig *rig);

// Make `recall` send a notice. Returns false when it is not in the ring.
bool rig_notice_recall(struct rig *rig, uint16_t number);

// Whether so many notices wait that some must go before the next reply
bool rig_notice_pressing(struct rig *rig);

// Put out at most one waiting notice, if there is room beside a reply; whether it did
bool rig_notice_poll(struct rig *rig);

/// Settings ///

// Take those that are kept, or those of the build; false where what is kept is damaged
bool rig_settings_load(struct rig *rig);

// The setting behind a trait; RIG_SETTING_COUNT for none
uint8_t rig_settings_of(uint8_t trait);

// Change one and keep it, if it fits the others; whether it does
bool rig_settings_set(struct rig *rig, uint8_t setting, int32_t value);

// Write the name, RIG_NAME_LENGTH characters at most, and its end
void rig_settings_name(const int32_t *settings, char *name);

// Sum of enum rig_ability
static inline uint8_t rig_abilities(const struct rig *rig)
{
    return (uint8_t)rig->settings[RIG_SETTING_ABILITIES];
}

/// Quantities and controls ///

// Whether a scale is counted; with it go its trait, its quantity and a field of `edge`
static inline bool rig_has_scale(const struct rig *rig)
{
    return (rig_abilities(rig) & RIG_ABILITY_SCALE) != 0;
}

// Sum of 2^number of those that are there
uint8_t rig_quantities(const struct rig *rig);

// One that is there, in its unit
int32_t rig_quantity(struct rig *rig, uint8_t quantity);

// Whether a number is that of one that is there
bool rig_has_quantity(const struct rig *rig, int32_t quantity);
bool rig_has_control(const struct rig *rig, int32_t control);

// Set a control that is there and tell when; false for a value that does not fit
bool rig_control_put(struct rig *rig, int32_t control, int32_t value, uint32_t *time_us);

// Set each as it is after a start
void rig_controls_start(struct rig *rig);

/// Requests ///

// Carry out the whole line and answer it
void rig_request_serve(struct rig *rig);

/// Motion ///

// Whether the touch probe is fitted and closed now
bool rig_probe_closed(struct rig *rig);

// The same of the home switch
bool rig_home_closed(struct rig *rig);

// Take the inputs as they are: at a start, and when their polarity was changed
void rig_take_levels(struct rig *rig);

// Whether the motor's drive is on, or not watched
bool rig_drive_on(struct rig *rig);

// Count the change of the output that waits for that if it has lasted long enough.
// Interrupts are off.
void rig_edge_settle(struct rig *rig);

// Seconds at rest after which the motor's current is taken away; 0 for never
uint16_t rig_enable_rest_s(const struct rig *rig);

// Take the motor's current away and give up home and soft limits
void rig_motion_free(struct rig *rig);

// enum rig_state
uint8_t rig_state(const struct rig *rig);

// Each starts a motion whose arguments were found good; false if a stop came first
bool rig_motion_go(struct rig *rig, uint8_t request, const int32_t *arguments);
bool rig_motion_touch(struct rig *rig, uint8_t request, const int32_t *arguments);
bool rig_motion_home(struct rig *rig, uint8_t request, const int32_t *arguments);

// Plan ahead, follow the parts of `home`, turn; whether a segment was planned
bool rig_motion_poll(struct rig *rig);

// End the motion where it is. Interrupts are off. `fault` is 0 for none; without a
// motion only a fault has an effect.
void rig_motion_end(struct rig *rig, uint8_t cause, uint8_t fault);

// The last pulse of what was planned has been given. Interrupts are off.
void rig_motion_arrived(struct rig *rig);

/// Planning ///

// Steps that the speed with this square needs down to the lowest one
uint32_t rig_plan_brake_steps(const struct rig_plan *plan);

// Begin a plan from rest
void rig_plan_begin(struct rig *rig, bool up, uint32_t steps, uint32_t speed,
                    uint32_t acceleration);

// Share out what is left to plan anew
void rig_plan_share(struct rig_plan *plan, uint32_t steps);

// Steps not yet in the queue
uint32_t rig_plan_left(const struct rig_plan *plan);

// Fill the queue; whether anything was added
bool rig_plan_fill(struct rig *rig);

// Come to rest at a place nearer than planned, or brake at once if that is too near;
// in either case not beyond what was planned
void rig_plan_stop_at(struct rig *rig, int32_t position);

/// Stepper ///

// The rarer parts of the step interrupt: whether a match is a pulse, and what follows
// the last pulse of the queue
bool rig_stepper_is_due(struct rig *rig);
void rig_stepper_ran_out(struct rig *rig);

// Let each match be a pulse again, if it is one
void rig_stepper_plain(struct rig_stepper *stepper);

// Take now for the time of the last pulse, and return it. Interrupts are off.
rig_tick_t rig_stepper_mark(struct rig *rig);

// Begin to give the pulses of a plan
void rig_stepper_start(struct rig *rig);

// Do no more than these steps if they are all in the queue. Interrupts are off; only
// for motions without ramps.
void rig_stepper_cap(struct rig *rig, uint32_t steps);

// Give no more pulses. Interrupts are off.
void rig_stepper_halt(struct rig *rig);

#endif
