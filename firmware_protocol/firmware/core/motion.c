// Motions: their begin and end, and the parts of `home`; SPEC.md 8 and 10
#include "stepper.h"

// A count beyond this comes from searches that found nothing
#define COUNT_BOUND (INT32_C(1) << 29)

_Static_assert(0 < RIG_TRAVEL_LOW && RIG_TRAVEL_LOW < RIG_TRAVEL_HIGH
                   && RIG_TRAVEL_HIGH < (1L << 29),
               "sums of positions must fit 32 bits");

static uint32_t acceleration_limit(const struct rig *rig)
{
    return (uint32_t)rig->settings[RIG_SETTING_ACCELERATION_LIMIT];
}

static void give_up_home(struct rig *rig)
{
    rig->homed = false;
    rig->fenced = false;
}

// Give the motor its current, or take it away. Interrupts are off.
static void enable(struct rig *rig, bool on)
{
    rig->enabled = on;
    port_enable(rig, on);
}

/// Begin ///

// Start the pulses of a plan; false if a stop came meanwhile. `seek` is the part of
// `home`, or 0.
static bool start(struct rig *rig, uint8_t kind, uint8_t seek)
{
    (void)rig_plan_fill(rig);
    port_lock_t lock = port_lock(rig);
    bool allowed = !rig->held;
    if (allowed) {
        rig->order.kind = kind;
        rig->order.seek = seek;
        rig->order.part_over = false;
        rig->order.turn_taken = false;
        if (kind == RIG_MOTION_SEEK) {
            give_up_home(rig);
            enable(rig, true);
        }
        rig_stepper_start(rig);
    }
    port_unlock(rig, lock);
    return allowed;
}

static void begin(struct rig *rig, uint8_t request)
{
    struct rig_order *order = &rig->order;
    order->request = request;
    order->turned = false;
    order->edges = 0;
    order->pending = false;
    order->overrun = 0;
    // Without a step the time of rest is that of the order
    port_lock_t lock = port_lock(rig);
    (void)rig_stepper_mark(rig);
    port_unlock(rig, lock);
}

static bool move(struct rig *rig, uint8_t kind, int32_t target, uint32_t speed,
                 uint32_t acceleration)
{
    int32_t steps = target - rig->stepper.position;
    if (steps == 0) {
        port_lock_t lock = port_lock(rig);
        bool allowed = !rig->held;
        if (allowed) {
            rig->order.kind = kind;
            rig_motion_end(rig, RIG_REST_CAUSE_THERE, 0);
        }
        port_unlock(rig, lock);
        return allowed;
    }
    rig_plan_begin(rig, steps > 0, (uint32_t)(steps > 0 ? steps : -steps), speed,
                   acceleration);
    return start(rig, kind, 0);
}

bool rig_motion_go(struct rig *rig, uint8_t request, const int32_t *arguments)
{
    begin(rig, request);
    rig->order.edges = (uint8_t)arguments[3];
    rig->order.overrun = arguments[4];
    return move(rig, RIG_MOTION_GO, arguments[0], (uint32_t)arguments[1],
                (uint32_t)arguments[2]);
}

bool rig_motion_touch(struct rig *rig, uint8_t request, const int32_t *arguments)
{
    begin(rig, request);
    return move(rig, RIG_MOTION_TOUCH, arguments[0], (uint32_t)arguments[1],
                acceleration_limit(rig));
}

/// End ///

// Clock at the last pulse
static uint32_t last_pulse_us(struct rig *rig, uint32_t now_us)
{
    const struct rig_pulse *pulse = rig_stepper_last(&rig->stepper);
    rig_tick_t tick = port_timer(rig);
    rig_tick_t age = (rig_tick_t)(tick - pulse->tick);
    uint8_t turns = (uint8_t)(port_turn(rig, tick) - pulse->turn
                              - (tick < pulse->tick ? 1 : 0));
    rig_ticks_t ago = ((rig_ticks_t)turns << RIG_TIMER_BITS) + age;
    return now_us - (uint32_t)(ago / RIG_TICKS_PER_US);
}

void rig_motion_end(struct rig *rig, uint8_t cause, uint8_t fault)
{
    struct rig_order *order = &rig->order;
    int32_t position = rig->stepper.position;
    bool moving = order->kind != RIG_MOTION_NONE;
    rig_stepper_halt(rig);
    uint32_t now_us = port_time_us(rig);
    if (fault != 0) {
        rig->fault = fault;
        rig->held = true;
        rig_notice_add(rig, RIG_NOTICE_KIND_FAULT, fault, 0, position, now_us);
    }
    if (fault == RIG_FAULT_DRIVE_LOST) {
        // Without its drive the axis may have been turned, at rest too
        give_up_home(rig);
        enable(rig, false);
    }
    if (!moving) {
        return;
    }
    rig_notice_add(rig, RIG_NOTICE_KIND_REST, order->request, cause, position,
                   last_pulse_us(rig, now_us));
    order->kind = RIG_MOTION_NONE;
    order->edges = 0;
    order->pending = false;
    switch (cause) {
    case RIG_REST_CAUSE_THERE:
    case RIG_REST_CAUSE_TURN:
    case RIG_REST_CAUSE_TOUCHED:
        break;
    case RIG_REST_CAUSE_HOMED:
        rig->homed = true;
        break;
    default:
        // Stopped without a ramp: steps may have been lost
        give_up_home(rig);
        rig->held = true;
        break;
    }
}

void rig_motion_free(struct rig *rig)
{
    port_lock_t lock = port_lock(rig);
    if (rig->order.kind == RIG_MOTION_NONE) {
        give_up_home(rig);
        enable(rig, false);
    }
    port_unlock(rig, lock);
}

void rig_motion_arrived(struct rig *rig)
{
    if (rig->order.kind == RIG_MOTION_SEEK) {
        rig_stepper_halt(rig);
        rig->order.part_over = true;
    } else {
        rig_motion_end(rig, rig->order.turned ? RIG_REST_CAUSE_TURN : RIG_REST_CAUSE_THERE,
                       0);
    }
}

uint8_t rig_state(const struct rig *rig)
{
    if (rig->order.kind == RIG_MOTION_SEEK) {
        return RIG_STATE_SEEKING;
    }
    if (rig->order.kind != RIG_MOTION_NONE) {
        return RIG_STATE_MOVING;
    }
    if (rig->held) {
        return RIG_STATE_HELD;
    }
    if (!rig->homed) {
        return RIG_STATE_RAW;
    }
    return rig->fenced ? RIG_STATE_READY : RIG_STATE_UNFENCED;
}

/// Home ///

bool rig_probe_closed(struct rig *rig)
{
    return (rig_abilities(rig) & RIG_ABILITY_TOUCH_PROBE) != 0
           && (port_inputs(rig) & RIG_INPUT_PROBE) != 0;
}

bool rig_home_closed(struct rig *rig)
{
    return (port_inputs(rig) & RIG_INPUT_HOME) != 0;
}

// Begin one of the slow parts
static bool slow_part(struct rig *rig, uint8_t seek, uint32_t steps, bool up)
{
    rig_plan_begin(rig, up, steps, rig->order.slow, acceleration_limit(rig));
    rig->order.turned = false;
    return start(rig, RIG_MOTION_SEEK, seek);
}

static uint32_t home_clear(const struct rig *rig)
{
    return (uint32_t)rig->settings[RIG_SETTING_HOME_CLEAR];
}

static uint32_t home_search(const struct rig *rig)
{
    return (uint32_t)rig->settings[RIG_SETTING_HOME_SEARCH];
}

static bool leave(struct rig *rig)
{
    if (rig_home_closed(rig)) {
        // From here on the steps are counted, until the switch opens
        rig->order.rest_at = rig->stepper.position;
        return slow_part(rig, RIG_SEEK_LEAVE, home_search(rig) + home_clear(rig), true);
    }
    // Open again: the fast part ran through, or the switch bounced
    return slow_part(rig, RIG_SEEK_CLEAR, home_clear(rig), true);
}

static bool find_switch(struct rig *rig)
{
    if (rig_home_closed(rig)) {
        return leave(rig);
    }
    // Whole travel, from the switch to the upper end, and a tenth more
    uint32_t travel = (uint32_t)rig->settings[RIG_SETTING_TRAVEL_HIGH] / 10u * 11u;
    rig_plan_begin(rig, false, travel, rig->order.fast, acceleration_limit(rig));
    return start(rig, RIG_MOTION_SEEK, RIG_SEEK_FAST);
}

bool rig_motion_home(struct rig *rig, uint8_t request, const int32_t *arguments)
{
    struct rig_stepper *stepper = &rig->stepper;
    begin(rig, request);
    rig->order.fast = (uint32_t)arguments[0];
    rig->order.slow = (uint32_t)arguments[1];
    if (!rig->homed
        && (stepper->position > COUNT_BOUND || stepper->position < -COUNT_BOUND)) {
        stepper->position = 0;
    }
    if (rig_probe_closed(rig)) {
        // 0.5 mm down by which it must have opened
        uint32_t away = (uint32_t)rig->settings[RIG_SETTING_STEPS_PER_M] / 2000u;
        return slow_part(rig, RIG_SEEK_AWAY, away, false);
    }
    return find_switch(rig);
}

static void fail(struct rig *rig, uint8_t fault)
{
    port_lock_t lock = port_lock(rig);
    if (rig->order.kind == RIG_MOTION_SEEK) {
        rig_motion_end(rig, RIG_REST_CAUSE_FAULT, fault);
    }
    port_unlock(rig, lock);
}

// Take the awaited edge of the home switch and where it leads
static bool take_turn(struct rig *rig, int32_t *rest_at)
{
    port_lock_t lock = port_lock(rig);
    bool came = rig->order.turned && !rig->order.turn_taken;
    *rest_at = rig->order.rest_at;
    if (came) {
        rig->order.turn_taken = true;
    }
    port_unlock(rig, lock);
    return came;
}

static int32_t position_of(struct rig *rig)
{
    port_lock_t lock = port_lock(rig);
    int32_t position = rig->stepper.position;
    port_unlock(rig, lock);
    return position;
}

static void poll_edge_parts(struct rig *rig)
{
    struct rig_order *order = &rig->order;
    bool fast = order->seek == RIG_SEEK_FAST;
    int32_t rest_at;
    if (take_turn(rig, &rest_at)) {
        order->seek = fast ? RIG_SEEK_BRAKE : RIG_SEEK_CLEAR;
        rig_plan_stop_at(rig, rest_at);
    } else if (fast && order->part_over) {
        fail(rig, RIG_FAULT_HOME_NOT_FOUND);
    } else if (!fast && position_of(rig) - rest_at >= rig->settings[RIG_SETTING_HOME_SEARCH]) {
        fail(rig, RIG_FAULT_HOME_STUCK);
    }
}

static void poll_seek(struct rig *rig)
{
    if (rig->order.seek != RIG_SEEK_AWAY && rig_probe_closed(rig)) {
        // Closed between the request and the motion: an edge within it would have ended it
        fail(rig, RIG_FAULT_PROBE_UNEXPECTED);
        return;
    }
    switch (rig->order.seek) {
    case RIG_SEEK_AWAY:
        if (rig->order.part_over) {
            if (rig_probe_closed(rig)) {
                fail(rig, RIG_FAULT_PROBE_UNEXPECTED);
            } else {
                (void)find_switch(rig);
            }
        }
        break;
    case RIG_SEEK_FAST:
    case RIG_SEEK_LEAVE:
        poll_edge_parts(rig);
        break;
    case RIG_SEEK_BRAKE:
        if (rig->order.part_over) {
            (void)leave(rig);
        }
        break;
    case RIG_SEEK_CLEAR:
        if (rig->order.part_over) {
            if (rig_home_closed(rig)) {
                fail(rig, RIG_FAULT_HOME_STUCK);
            } else {
                (void)slow_part(rig, RIG_SEEK_LAST, home_search(rig), false);
            }
        }
        break;
    default:
        if (rig->order.part_over) {
            fail(rig, RIG_FAULT_HOME_NOT_FOUND);
        } else if (rig->levels[RIG_SOURCE_HOME]) {
            // Closed before this part began: an edge within it would have ended it
            fail(rig, RIG_FAULT_HOME_STUCK);
        }
        break;
    }
}

bool rig_motion_poll(struct rig *rig)
{
    int32_t rest_at;
    if (rig->order.kind == RIG_MOTION_NONE) {
        return false;
    }
    if (rig->order.pending) {
        port_lock_t lock = port_lock(rig);
        rig_edge_settle(rig);
        port_unlock(rig, lock);
    }
    if (rig->order.kind == RIG_MOTION_SEEK) {
        poll_seek(rig);
    } else if (take_turn(rig, &rest_at)) {
        rig_plan_stop_at(rig, rest_at);
    }
    return rig_plan_fill(rig);
}
