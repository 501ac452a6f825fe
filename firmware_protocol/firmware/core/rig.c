// Start and main loop
#include "internal.h"

// Time without supply that is no flicker of the contact
#define SUPPLY_LOST_US 20000u
// Time for a sound line after a change of rate
#define RATE_TRIAL_US 500000u
// Sessions from one start to the next: 65536 times the golden section, so that the
// greetings after a start meet no session of the starts before
#define SESSIONS_APART 40503u

void rig_take_levels(struct rig *rig)
{
    port_lock_t lock = port_lock(rig);
    uint8_t inputs = port_inputs(rig);
    rig->levels[RIG_SOURCE_OUT] = (inputs & RIG_INPUT_OUT) != 0;
    rig->levels[RIG_SOURCE_PROBE] = (inputs & RIG_INPUT_PROBE) != 0;
    rig->levels[RIG_SOURCE_HOME] = (inputs & RIG_INPUT_HOME) != 0;
    port_unlock(rig, lock);
}

void rig_init(struct rig *rig, void *port, const struct rig_identity *identity)
{
    unsigned char *bytes = (unsigned char *)rig;
    for (size_t i = 0; i < sizeof *rig; i++) {
        bytes[i] = 0;
    }
    rig->port = port;
    rig->identity = *identity;
    bool sound = rig_settings_load(rig);
    rig_controls_start(rig);
    rig_take_levels(rig);
    rig->supplied = (port_inputs(rig) & RIG_INPUT_SUPPLY) != 0;
    // Starting without it is its loss
    rig->driven = true;
    rig->stepper.complete = true;
    rig->session = (uint16_t)(identity->boot * SESSIONS_APART);
    rig->heard_us = port_time_us(rig);
    rig->supply_us = rig->heard_us;
    rig_notice_add(rig, RIG_NOTICE_KIND_START, identity->reason, 0,
                   (int32_t)identity->boot, 0);
    port_enable(rig, false);
    if (!sound) {
        rig_motion_end(rig, RIG_REST_CAUSE_FAULT, RIG_FAULT_SETTINGS_LOST);
    }
    rig_on_drive(rig);
}

bool rig_drive_on(struct rig *rig)
{
    return (rig_abilities(rig) & RIG_ABILITY_DRIVE_SENSE) == 0
           || (port_inputs(rig) & RIG_INPUT_DRIVE) != 0;
}

void rig_on_drive(struct rig *rig)
{
    bool on = rig_drive_on(rig);
    if (rig->driven && !on) {
        // Once for each loss
        rig_motion_end(rig, RIG_REST_CAUSE_FAULT, RIG_FAULT_DRIVE_LOST);
    }
    rig->driven = on;
}

// SPEC.md 10, silence
static void poll_silence(struct rig *rig)
{
    port_lock_t lock = port_lock(rig);
    uint32_t silent_us = port_time_us(rig) - rig->heard_us;
    if (silent_us >= (uint32_t)RIG_SILENCE_LIMIT_MS * 1000u) {
        // Whoever begins to speak again greets: what comes may be long under way
        rig->in_session = false;
        if (rig->order.kind != RIG_MOTION_NONE) {
            rig_motion_end(rig, RIG_REST_CAUSE_SILENT, 0);
        }
    }
    port_unlock(rig, lock);
}

static void poll_supply(struct rig *rig)
{
    if ((rig_abilities(rig) & RIG_ABILITY_SUPPLY_SENSE) == 0 || rig->supply_off) {
        return;
    }
    port_lock_t lock = port_lock(rig);
    uint32_t now_us = port_time_us(rig);
    if ((port_inputs(rig) & RIG_INPUT_SUPPLY) != 0) {
        rig->supply_us = now_us;
        rig->supplied = true;
    } else if (rig->supplied && now_us - rig->supply_us >= SUPPLY_LOST_US) {
        // Once for each loss
        rig->supplied = false;
        rig_motion_end(rig, RIG_REST_CAUSE_FAULT, RIG_FAULT_SUPPLY_LOST);
    }
    port_unlock(rig, lock);
}

static void poll_drive(struct rig *rig)
{
    // Looked at without a lock first: a lock at each turn would make pulses late
    if (rig_drive_on(rig) && rig->driven) {
        return;
    }
    port_lock_t lock = port_lock(rig);
    rig_on_drive(rig);
    port_unlock(rig, lock);
}

uint16_t rig_enable_rest_s(const struct rig *rig)
{
    bool able = (rig_abilities(rig) & RIG_ABILITY_ENABLE_OUTPUT) != 0;
    return able ? RIG_ENABLE_REST_S : 0;
}

// SPEC.md 8: nobody asks for the motor's current any more
static void poll_enable(struct rig *rig)
{
    if (rig_enable_rest_s(rig) != 0 && rig->enabled && rig->order.kind == RIG_MOTION_NONE
        && port_time_us(rig) - rig->heard_us >= rig_enable_rest_s(rig) * UINT32_C(1000000)) {
        rig_motion_free(rig);
    }
}

// SPEC.md 9
static void poll_rate(struct rig *rig)
{
    if (rig->rate_due != 0) {
        if (rig->out.head == rig->out.tail && port_sent(rig)) {
            port_rate(rig, rig->rate_due);
            rig->rate_untried = rig->rate_due != RIG_FIRST_RATE_BITS_S;
            rig->rate_due = 0;
            rig->rate_us = port_time_us(rig);
        }
    } else if (rig->rate_untried && port_time_us(rig) - rig->rate_us >= RATE_TRIAL_US) {
        rig->rate_untried = false;
        port_rate(rig, RIG_FIRST_RATE_BITS_S);
    }
}

bool rig_poll(struct rig *rig)
{
    bool busy = rig_line_poll(rig);
    // Before and after a request, so that an edge waits for one of the two lines only
    busy |= rig_motion_poll(rig);
    bool free = rig_out_room(rig) > RIG_LONGEST_LINE_BYTES && !rig->ring.recall_due
                && rig->rate_due == 0 && !rig_notice_pressing(rig);
    if (rig->line.whole && free) {
        rig_request_serve(rig);
        rig->ring.since_reply = 0;
        busy = true;
    }
    busy |= rig_motion_poll(rig);
    if (rig->rate_due == 0) {
        busy |= rig_notice_poll(rig);
    }
    poll_silence(rig);
    poll_supply(rig);
    poll_drive(rig);
    poll_enable(rig);
    poll_rate(rig);
    return busy;
}
