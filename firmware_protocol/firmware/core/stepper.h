// The step interrupt
//
// In a header and forced inline, so that a port's interrupt routine holds it without a
// call. Interrupts are off while it runs. Values are kept in locals, because each access
// to memory costs a small chip two cycles a byte.
#ifndef RIG_STEPPER_H
#define RIG_STEPPER_H

#include "internal.h"

// The last pulse; where only one is kept, its place is known when compiling
PORT_INLINE struct rig_pulse *rig_stepper_last(struct rig_stepper *stepper)
{
    return &stepper->pulses[RIG_PULSES_KEPT == 1 ? 0 : stepper->newest];
}

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
PORT_INLINE void rig_stepper_arm(struct rig *rig, rig_ticks_t due, rig_ticks_t interval)
{
    rig_tick_t at = (rig_tick_t)(due >> 16);
    if ((rig_tick_t)(interval >> 16) < RIG_HALF_TURN) {
        rig_tick_t now = port_timer(rig);
        if ((rig_span_t)(rig_tick_t)(at - now) < RIG_AHEAD_TICKS) {
            if (rig->stepper.turns_left != 0) {
                rig->stepper.turns_left--;
            } else {
                at = (rig_tick_t)(now + RIG_AHEAD_TICKS);
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
    rig_tick_t tick = port_timer(rig);
    rig_ticks_t due = stepper->due;
    rig_tick_t late = (rig_tick_t)(tick - (rig_tick_t)(due >> 16));
    if (RIG_PULSES_KEPT > 1) {
        stepper->newest = (uint8_t)((stepper->newest + 1u) & (RIG_PULSES_KEPT - 1u));
    }
    struct rig_pulse *pulse = rig_stepper_last(stepper);
    pulse->tick = tick;
    pulse->turn = port_turn(rig, tick);
    if (stepper->up) {
        stepper->position++;
    } else {
        stepper->position--;
    }
    if (--stepper->remaining != 0) {
        if (stepper->ramps) {
            stepper->interval += (rig_ticks_t)stepper->change;
        }
    } else if (!rig_stepper_load(stepper)) {
        rig_stepper_ran_out(rig);
        port_step(rig, false);
        return;
    }
    rig_ticks_t interval = stepper->interval;
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
