// The step queue as the rest of the core sees it, and the rarer parts of the interrupt
#include "stepper.h"

/// Interrupt ///

bool rig_stepper_is_due(struct rig *rig)
{
    struct rig_stepper *stepper = &rig->stepper;
    if (!stepper->running) {
        return false;
    }
    if (stepper->turns_left != 0) {
        stepper->turns_left--;
        return false;
    }
    bool settling = stepper->settling;
    rig_edge_settle(rig);
    if (settling) {
        rig_motion_arrived(rig);
    }
    // An edge that counts from now on may have ended the motion
    return !stepper->settling && stepper->running;
}

// Report rest a little later
static void settle(struct rig *rig)
{
    struct rig_stepper *stepper = &rig->stepper;
    stepper->settling = true;
    stepper->plain = false;
    stepper->complete = true;
    stepper->turns_left = 0;
    stepper->interval = (rig_ticks_t)RIG_SETTLE_TICKS << 16;
    stepper->due = ((rig_ticks_t)port_timer(rig) << 16) + stepper->interval;
    rig_stepper_arm(rig, stepper->due, stepper->interval);
}

void rig_stepper_ran_out(struct rig *rig)
{
    if (rig->stepper.complete) {
        settle(rig);
    } else {
        rig_motion_end(rig, RIG_REST_CAUSE_FAULT, RIG_FAULT_STARVED);
    }
}

void rig_on_overflow(struct rig *rig)
{
    struct rig_stepper *stepper = &rig->stepper;
    rig->turns++;
    // Every interval of less than half a turn has a pulse in each whole turn
    uint8_t without = (uint8_t)((uint8_t)rig->turns - rig_stepper_last(stepper)->turn);
    if (stepper->plain && without > 1u
        && stepper->interval < (rig_ticks_t)RIG_HALF_TURN << 16) {
        rig_motion_end(rig, RIG_REST_CAUSE_FAULT, RIG_FAULT_LATE_PULSE);
    }
}

/// Queue ///

void rig_stepper_plain(struct rig_stepper *stepper)
{
    stepper->plain = stepper->running && !stepper->settling && stepper->turns == 0;
}

rig_tick_t rig_stepper_mark(struct rig *rig)
{
    struct rig_stepper *stepper = &rig->stepper;
    rig_tick_t now = port_timer(rig);
    // Those before the last lie so far back that no edge comes before them
    rig_tick_t back = (rig_tick_t)(now - RIG_HALF_TURN / 2u);
    for (uint8_t i = 0; i < RIG_PULSES_KEPT; i++) {
        stepper->pulses[i].tick = back;
        stepper->pulses[i].turn = port_turn(rig, back);
    }
    rig_stepper_last(stepper)->tick = now;
    rig_stepper_last(stepper)->turn = port_turn(rig, now);
    return now;
}

void rig_stepper_start(struct rig *rig)
{
    struct rig_stepper *stepper = &rig->stepper;
    port_lock_t lock = port_lock(rig);
    rig_tick_t now = rig_stepper_mark(rig);
    port_direction(rig, stepper->up);
    (void)rig_stepper_load(stepper);
    stepper->settling = false;
    stepper->due = ((rig_ticks_t)now << 16) + stepper->interval;
    stepper->turns_left = stepper->turns;
    stepper->plain = stepper->turns == 0;
    stepper->running = true;
    rig_stepper_arm(rig, stepper->due, stepper->interval);
    port_compare_on(rig, true);
    port_unlock(rig, lock);
}

void rig_stepper_halt(struct rig *rig)
{
    struct rig_stepper *stepper = &rig->stepper;
    port_compare_on(rig, false);
    stepper->running = false;
    stepper->plain = false;
    stepper->settling = false;
    stepper->complete = true;
    stepper->tail = stepper->head;
    stepper->remaining = 0;
}

void rig_stepper_cap(struct rig *rig, uint32_t steps)
{
    struct rig_stepper *stepper = &rig->stepper;
    if (!stepper->running || stepper->settling) {
        return;
    }
    if (steps == 0) {
        stepper->tail = stepper->head;
        stepper->remaining = 0;
        stepper->capped = true;
        settle(rig);
        return;
    }
    // One step waits, and each segment of the queue is one
    uint8_t queued = (uint8_t)((uint8_t)(stepper->head - stepper->tail) % RIG_QUEUE_SIZE);
    if (steps <= queued + 1u) {
        stepper->head = (uint8_t)((stepper->tail + steps - 1u) % RIG_QUEUE_SIZE);
        stepper->complete = true;
        stepper->capped = true;
    }
}
