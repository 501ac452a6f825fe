// The step interrupt
//
// In a header and forced inline, so that a port's interrupt routine holds it without a
// call. Interrupts are off while it runs. Values are kept in locals, because each access
// to memory costs a small chip two cycles a byte.
#ifndef RIG_STEPPER_H
#define RIG_STEPPER_H

#include "internal.h"

// Take the next segment; false when there is none
PORT_INLINE bool rig_stepper_load(struct rig_stepper *stepper)
{
    uint8_t tail = stepper->tail;
    if (tail == stepper->head) {
        return false;
    }
    const struct rig_segment *segment = &stepper->queue[tail];
    stepper->remaining = segment->steps;
    stepper->interval = segment->interval;
    stepper->change = segment->change;
    stepper->ramps = segment->change != 0;
    stepper->tail = (uint8_t)((tail + 1u) % RIG_QUEUE_SIZE);
    return true;
}

// Set the compare to the time that is due
//
// A compare value that has gone by is met a whole timer turn later. Where that turn was
// to be waited for anyway it counts as waited; else the value is pushed ahead.
PORT_INLINE void rig_stepper_arm(struct rig *rig, uint32_t due, uint32_t interval)
{
    uint16_t at = (uint16_t)(due >> 16);
    if ((uint16_t)(interval >> 16) < 0x8000u) {
        uint16_t now = port_timer(rig);
        if ((int16_t)(uint16_t)(at - now) < RIG_AHEAD_TICKS) {
            if (rig->stepper.turns_left != 0) {
                rig->stepper.turns_left--;
            } else {
                at = (uint16_t)(now + RIG_AHEAD_TICKS);
            }
        }
    }
    port_compare(rig, at);
}

// The timer met the compare value
PORT_INLINE void rig_on_match(struct rig *rig)
{
    struct rig_stepper *stepper = &rig->stepper;
    if (!stepper->plain && !rig_stepper_is_due(rig)) {
        return;
    }
    port_step(rig, true);
    uint16_t tick = port_timer(rig);
    uint32_t due = stepper->due;
    uint16_t late = (uint16_t)(tick - (uint16_t)(due >> 16));
    stepper->pulse_tick = tick;
    stepper->pulse_turn = port_turn(rig, tick);
    if (stepper->up) {
        stepper->position++;
    } else {
        stepper->position--;
    }
    if (--stepper->remaining != 0) {
        if (stepper->ramps) {
            stepper->interval += (uint32_t)stepper->change;
        }
    } else if (!rig_stepper_load(stepper)) {
        rig_stepper_ran_out(rig);
        port_step(rig, false);
        return;
    }
    uint32_t interval = stepper->interval;
    due += interval;
    stepper->due = due;
    if (!stepper->plain) {
        stepper->turns_left = stepper->turns;
    }
    rig_stepper_arm(rig, due, interval);
    port_step(rig, false);
    if (late > RIG_LATE_TICKS) {
        rig_motion_end(rig, RIG_REST_CAUSE_FAULT, RIG_FAULT_LATE_PULSE);
    }
}

#endif
