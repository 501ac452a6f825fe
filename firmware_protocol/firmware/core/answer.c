// Answers and refusals; SPEC.md 7
#include "request.h"

static const char RIG_ROM state_words[][RIG_STATE_SIZE] = RIG_STATE_WORDS;
static const char RIG_ROM no_word[] = "no";
static const char RIG_ROM version[] = RIG_FIRMWARE_VERSION;

static uint8_t inputs(struct rig *rig)
{
    uint8_t levels = port_inputs(rig);
    if ((rig_abilities(rig) & RIG_ABILITY_TOUCH_PROBE) == 0) {
        levels = (uint8_t)(levels & ~(uint8_t)RIG_INPUT_PROBE);
    }
    if ((rig_abilities(rig) & RIG_ABILITY_SUPPLY_SENSE) == 0) {
        levels = (uint8_t)(levels | RIG_INPUT_SUPPLY);
    }
    if (rig->supply_off) {
        levels = (uint8_t)(levels & ~(uint8_t)RIG_INPUT_SUPPLY);
    }
    if (rig_drive_on(rig)) {
        levels = (uint8_t)(levels | RIG_INPUT_DRIVE);
    }
    if (rig->probe_seen) {
        levels = (uint8_t)(levels | RIG_INPUT_PROBE_SEEN);
    }
    return levels;
}

static void answer_hail(struct rig *rig)
{
    rig_out_unsigned(rig, RIG_MAJOR);
    rig_out_unsigned(rig, RIG_MINOR);
    rig_out_unsigned(rig, rig->identity.boot);
    rig_out_rom(rig, version);
    char name[RIG_NAME_LENGTH + 1u];
    rig_settings_name(rig->settings, name);
    rig_out_text(rig, name);
    rig_out_unsigned(rig, rig->session);
}

// Of the inputs that are fitted and watched
static uint8_t fail_safe(const struct rig *rig)
{
    uint8_t fitted = RIG_INPUT_HOME;
    uint8_t abilities = rig_abilities(rig);
    if ((abilities & RIG_ABILITY_TOUCH_PROBE) != 0) {
        fitted |= RIG_INPUT_PROBE;
    }
    if ((abilities & RIG_ABILITY_SUPPLY_SENSE) != 0) {
        fitted |= RIG_INPUT_SUPPLY;
    }
    if ((abilities & RIG_ABILITY_DRIVE_SENSE) != 0) {
        fitted |= RIG_INPUT_DRIVE;
    }
    // A broken wire is high, since every input is pulled up
    uint8_t high = (uint8_t)rig->settings[RIG_SETTING_HIGH_INPUTS];
    uint8_t safe = (uint8_t)((high & (RIG_INPUT_PROBE | RIG_INPUT_HOME))
                             | (~high & (RIG_INPUT_SUPPLY | RIG_INPUT_DRIVE)));
    return safe & fitted;
}

// Of a control that sets the supply's voltage; 0 without one
static int32_t supply_mv(const struct rig *rig, int32_t value)
{
    return rig_has_control(rig, RIG_CONTROL_SUPPLY_VOLTAGE) ? value : 0;
}

static int32_t trait(const struct rig *rig, uint8_t index)
{
    uint8_t setting = rig_settings_of(index);
    if (setting != RIG_SETTING_COUNT) {
        return rig->settings[setting];
    }
    switch (index) {
    case RIG_TRAIT_RING_SIZE:
        return RIG_RING_SIZE;
    case RIG_TRAIT_SILENCE_LIMIT:
        return RIG_SILENCE_LIMIT_MS;
    case RIG_TRAIT_TIME_TICK:
        return RIG_TIME_TICK_NS;
    case RIG_TRAIT_EDGE_RATE_LIMIT:
        return RIG_EDGE_RATE_LIMIT;
    case RIG_TRAIT_FAIL_SAFE:
        return fail_safe(rig);
    case RIG_TRAIT_MIN_PULSE:
        return RIG_MIN_PULSE_US;
    case RIG_TRAIT_ENABLE_REST:
        return rig_enable_rest_s(rig);
    case RIG_TRAIT_QUANTITIES:
        return rig_quantities(rig);
    case RIG_TRAIT_CONTROLS:
        return rig->identity.controls;
    case RIG_TRAIT_SUPPLY_LOW:
        return supply_mv(rig, RIG_SUPPLY_LOW_MV);
    case RIG_TRAIT_SUPPLY_HIGH:
        return supply_mv(rig, RIG_SUPPLY_HIGH_MV);
    case RIG_TRAIT_SUPPLY_START:
        return supply_mv(rig, RIG_SUPPLY_START_MV);
    case RIG_TRAIT_SCALE_PER_M:
        return rig_has_scale(rig) ? RIG_SCALE_PER_M : 0;
    default:
        return RIG_BUILD;
    }
}

static void answer_look(struct rig *rig)
{
    port_lock_t lock = port_lock(rig);
    uint8_t state = rig_state(rig);
    int32_t position = rig->stepper.position;
    uint32_t time_us = port_time_us(rig);
    uint16_t next = rig->ring.next;
    port_unlock(rig, lock);
    rig_out_rom(rig, state_words[state]);
    rig_out_signed(rig, position);
    rig_out_unsigned(rig, time_us);
    rig_out_unsigned(rig, inputs(rig));
    rig_out_unsigned(rig, next);
    rig_out_unsigned(rig, rig->identity.boot);
}

static void answer_tally(struct rig *rig)
{
    port_lock_t lock = port_lock(rig);
    uint16_t lost = rig->ring.lost;
    uint8_t fault = rig->fault;
    port_unlock(rig, lock);
    rig_out_unsigned(rig, rig->dropped);
    rig_out_unsigned(rig, lost);
    rig_out_unsigned(rig, fault);
}

// The state that `rearm` or `free` led to
static void answer_state(struct rig *rig)
{
    port_lock_t lock = port_lock(rig);
    uint8_t state = rig_state(rig);
    port_unlock(rig, lock);
    rig_out_rom(rig, state_words[state]);
}

static void answer_recall(struct rig *rig)
{
    port_lock_t lock = port_lock(rig);
    uint16_t oldest = rig_notice_oldest(rig);
    uint16_t next = rig->ring.next;
    port_unlock(rig, lock);
    rig_out_unsigned(rig, oldest);
    rig_out_unsigned(rig, next);
}

static void answer(struct rig *rig, const struct request *request)
{
    const int32_t *arguments = request->arguments;
    switch (request->verb) {
    case RIG_VERB_HAIL:
        answer_hail(rig);
        break;
    case RIG_VERB_TRAIT:
        rig_out_signed(rig, arguments[0]);
        rig_out_signed(rig, trait(rig, (uint8_t)arguments[0]));
        break;
    case RIG_VERB_LOOK:
        answer_look(rig);
        break;
    case RIG_VERB_TALLY:
        answer_tally(rig);
        break;
    case RIG_VERB_READ:
        rig_out_signed(rig, arguments[0]);
        rig_out_signed(rig, rig_quantity(rig, (uint8_t)arguments[0]));
        break;
    case RIG_VERB_PUT:
        rig_out_signed(rig, arguments[0]);
        rig_out_signed(rig, arguments[1]);
        rig_out_unsigned(rig, request->time_us);
        break;
    case RIG_VERB_SET:
    case RIG_VERB_FENCE:
        rig_out_signed(rig, arguments[0]);
        rig_out_signed(rig, arguments[1]);
        break;
    case RIG_VERB_REARM:
    case RIG_VERB_FREE:
        answer_state(rig);
        break;
    case RIG_VERB_RECALL:
        answer_recall(rig);
        break;
    case RIG_VERB_RATE:
        rig_out_signed(rig, arguments[0]);
        break;
    default:
        break;
    }
}

void rig_request_answer(struct rig *rig, const struct request *request)
{
    if (request->error != 0) {
        rig_out_begin(rig, 'x', request->number);
        rig_out_rom(rig, no_word);
        rig_out_unsigned(rig, request->error);
        rig_out_unsigned(rig, request->argument);
    } else {
        rig_out_begin(rig, 'a', request->number);
        rig_out_rom(rig, rig_request_word(request->verb));
        answer(rig, request);
    }
    rig_out_end(rig);
}
