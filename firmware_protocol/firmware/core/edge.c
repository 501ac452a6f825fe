// Changes of the inputs: what is noticed, and what it does to the motion; SPEC.md 10, 11
#include "internal.h"

static int32_t onward(const struct rig *rig, int32_t position, int32_t steps)
{
    return rig->stepper.up ? position + steps : position - steps;
}

// Whether a pulse was given after the timer stood at a tick
static bool came_after(const struct rig_pulse *pulse, rig_tick_t tick, uint8_t turn)
{
    rig_tick_t age = (rig_tick_t)(pulse->tick - tick);
    uint8_t turns = (uint8_t)(pulse->turn - turn - (pulse->tick < tick ? 1 : 0));
    return turns == 0 && age != 0 && age < RIG_HALF_TURN;
}

// Steps counted at the change: pulses after it do not belong to it
static int32_t latched(const struct rig *rig, rig_tick_t tick, uint8_t turn)
{
    const struct rig_stepper *stepper = &rig->stepper;
    int32_t position = stepper->position;
    uint8_t at = RIG_PULSES_KEPT == 1 ? 0 : stepper->newest;
    for (uint8_t i = 0; i < RIG_PULSES_KEPT && stepper->running; i++) {
        if (!came_after(&stepper->pulses[at], tick, turn)) {
            break;
        }
        position = onward(rig, position, -1);
        at = (uint8_t)((at - 1u) & (RIG_PULSES_KEPT - 1u));
    }
    return position;
}

// Count the change that waited
static void count_edge(struct rig *rig)
{
    struct rig_order *order = &rig->order;
    int32_t position = order->pending_position;
    order->pending = false;
    rig_stepper_plain(&rig->stepper);
    if (--order->edges != 0) {
        return;
    }
    order->turned = true;
    order->rest_at = onward(rig, position, order->overrun);
    if (rig->plan.flat) {
        int32_t done = rig->stepper.position - position;
        int32_t left = order->overrun - (rig->stepper.up ? done : -done);
        rig_stepper_cap(rig, left > 0 ? (uint32_t)left : 0);
    }
}

static bool has_lasted(const struct rig *rig, uint32_t now_us)
{
    return now_us - rig->order.pending_us >= RIG_MIN_PULSE_US;
}

void rig_edge_settle(struct rig *rig)
{
    if (rig->order.pending && has_lasted(rig, port_time_us(rig))) {
        count_edge(rig);
    }
}

static void out_changed(struct rig *rig, int32_t position, uint32_t time_us)
{
    struct rig_order *order = &rig->order;
    if (order->pending) {
        if (!has_lasted(rig, time_us)) {
            // There and back: neither counts
            order->pending = false;
            rig_stepper_plain(&rig->stepper);
            return;
        }
        count_edge(rig);
    }
    if (order->kind == RIG_MOTION_GO && order->edges != 0) {
        order->pending = true;
        order->pending_position = position;
        order->pending_us = time_us;
        // Each match asks first whether it counts by now
        rig->stepper.plain = false;
    }
}

static void probe_changed(struct rig *rig, bool closed)
{
    const struct rig_order *order = &rig->order;
    rig->probe_seen = true;
    if (!closed) {
        if (order->kind == RIG_MOTION_SEEK && order->seek == RIG_SEEK_AWAY) {
            rig_stepper_cap(rig, 0);
        }
    } else if (order->kind == RIG_MOTION_TOUCH) {
        rig_motion_end(rig, RIG_REST_CAUSE_TOUCHED, 0);
    } else if (order->kind == RIG_MOTION_GO) {
        rig_motion_end(rig, RIG_REST_CAUSE_CONTACT, 0);
    } else if (order->kind == RIG_MOTION_SEEK) {
        rig_motion_end(rig, RIG_REST_CAUSE_FAULT, RIG_FAULT_PROBE_UNEXPECTED);
    }
}

static void home_changed(struct rig *rig, bool closed, int32_t position, uint32_t scale)
{
    struct rig_order *order = &rig->order;
    if (order->kind == RIG_MOTION_GO || order->kind == RIG_MOTION_TOUCH) {
        if (closed) {
            rig_motion_end(rig, RIG_REST_CAUSE_FAULT, RIG_FAULT_HOME_UNEXPECTED);
        }
    } else if (order->kind == RIG_MOTION_SEEK) {
        if (order->seek == RIG_SEEK_LAST && closed) {
            rig->stepper.position = 0;
            rig->scale_zero = scale;
            rig_motion_end(rig, RIG_REST_CAUSE_HOMED, 0);
        } else if ((order->seek == RIG_SEEK_FAST && closed)
                   || (order->seek == RIG_SEEK_LEAVE && !closed)) {
            order->turned = true;
            order->rest_at = closed ? position : position + rig->settings[RIG_SETTING_HOME_CLEAR];
        }
    }
}

static bool is_noticed(const struct rig *rig, enum rig_source source)
{
    return source != RIG_SOURCE_HOME
           || (rig->order.kind == RIG_MOTION_SEEK && rig->order.seek == RIG_SEEK_LAST);
}

static bool is_fitted(const struct rig *rig, enum rig_source source)
{
    return source != RIG_SOURCE_PROBE
           || (rig_abilities(rig) & RIG_ABILITY_TOUCH_PROBE) != 0;
}

// What a change does to the motion
static void act(struct rig *rig, enum rig_source source, bool level, int32_t position,
                uint32_t time_us, uint32_t scale)
{
    if (source == RIG_SOURCE_OUT) {
        out_changed(rig, position, time_us);
    } else if (source == RIG_SOURCE_PROBE) {
        probe_changed(rig, level);
    } else {
        home_changed(rig, level, position, scale);
    }
}

static void missed(struct rig *rig, enum rig_source source, bool level, uint32_t time_us,
                   uint32_t scale)
{
    rig->levels[source] = level;
    if (is_noticed(rig, source)) {
        // Its number is used up, so that the host knows
        rig_notice_add(rig, RIG_NOTICE_VOID, 0, 0, 0, 0);
    }
    act(rig, source, level, rig->stepper.position, time_us, scale);
}

void rig_on_edge_missed(struct rig *rig, enum rig_source source, bool level)
{
    if (is_fitted(rig, source)) {
        missed(rig, source, level, port_time_us(rig), port_scale(rig));
    }
}

void rig_on_edge(struct rig *rig, enum rig_source source, bool level, rig_tick_t tick,
                 uint8_t turn, uint32_t time_us, uint32_t scale)
{
    if (!is_fitted(rig, source)) {
        return;
    }
    int32_t position = latched(rig, tick, turn);
    if (rig->levels[source] == level) {
        // There and back: the change there was not seen
        missed(rig, source, !level, time_us, scale);
    }
    rig->levels[source] = level;
    if (is_noticed(rig, source)) {
        struct rig_notice *notice = rig_notice_add(
            rig, RIG_NOTICE_KIND_EDGE, (uint8_t)source, level ? 1u : 0u, position, time_us);
        notice->scale = (uint16_t)(scale - rig->scale_zero - (uint32_t)position);
    }
    act(rig, source, level, position, time_us, scale);
}
