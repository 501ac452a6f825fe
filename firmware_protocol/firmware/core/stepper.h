// The step interrupt
//
// In a header, so that a port's interrupt routine holds it without a call. Interrupts
// are off while it runs.
#ifndef RIG_STEPPER_H
#define RIG_STEPPER_H

#include "internal.h"

// Take the next segment; false when there is none
static inline bool rig_stepper_load(struct rig_stepper *stepper)
{
    uint8_t tail = stepper->tail;
    if (tail == stepper->head) {
        return false;
    }
    const struct rig_segment *segment = &stepper->queue[tail];
    stepper->remaining = segment->steps;
    stepper->interval = segment->interval;
    stepper->change = segment->change;
    stepper->end_square = segment->end_square;
    stepper->tail = (uint8_t)((tail + 1u) % RIG_QUEUE_SIZE);
    return true;
}

// Set the compare to the time that is due
//
// A compare value that has gone by is met a whole timer turn later. Where that turn was
// to be waited for anyway it counts as waited; else the value is pushed ahead.
static inline void rig_stepper_arm(struct rig *rig)
{
    struct rig_stepper *stepper = &rig->stepper;
    uint16_t at = (uint16_t)(stepper->due >> 16);
    if ((uint16_t)(stepper->interval >> 16) < 0x8000u) {
        uint16_t now = port_timer(rig);
        if ((int16_t)(uint16_t)(at - now) < RIG_AHEAD_TICKS) {
            if (stepper->turns_left != 0) {
                stepper->turns_left--;
            } else {
                at = (uint16_t)(now + RIG_AHEAD_TICKS);
            }
        }
    }
    port_compare(rig, at);
}

// Report rest a little later
static inline void rig_stepper_settle(struct rig *rig)
{
    struct rig_stepper *stepper = &rig->stepper;
    stepper->settling = true;
    stepper->complete = true;
    stepper->turns_left = 0;
    stepper->interval = (uint32_t)RIG_SETTLE_TICKS << 16;
    stepper->due = ((uint32_t)port_timer(rig) << 16) + stepper->interval;
    rig_stepper_arm(rig);
}

// Prepare the next pulse, or the end
static inline void rig_stepper_next(struct rig *rig)
{
    struct rig_stepper *stepper = &rig->stepper;
    if (--stepper->remaining != 0) {
        stepper->interval += (uint32_t)stepper->change;
    } else if (!rig_stepper_load(stepper)) {
        if (stepper->complete) {
            rig_stepper_settle(rig);
        } else {
            rig_motion_end(rig, RIG_REST_CAUSE_FAULT, RIG_FAULT_STARVED);
        }
        return;
    }
    stepper->due += stepper->interval;
    stepper->turns_left = stepper->turns;
    rig_stepper_arm(rig);
}

// The timer met the compare value
static inline void rig_on_match(struct rig *rig)
{
    struct rig_stepper *stepper = &rig->stepper;
    if (!stepper->running) {
        return;
    }
    if (stepper->turns_left != 0) {
        stepper->turns_left--;
        return;
    }
    if (stepper->settling) {
        rig_motion_arrived(rig);
        return;
    }
    port_step(rig, true);
    uint16_t tick = port_timer(rig);
    uint16_t late = (uint16_t)(tick - (uint16_t)(stepper->due >> 16));
    stepper->pulse_tick = tick;
    stepper->pulse_turn = port_turn(rig, tick);
    stepper->pulsed = true;
    if (stepper->up) {
        stepper->position++;
    } else {
        stepper->position--;
    }
    rig_stepper_next(rig);
    port_step(rig, false);
    if (late > RIG_LATE_TICKS && stepper->running) {
        rig_motion_end(rig, RIG_REST_CAUSE_FAULT, RIG_FAULT_LATE_PULSE);
    }
}

#endif
