// Whether a request may be carried out now, in the order of SPEC.md 6
#include "request.h"

void rig_request_refuse(struct request *request, uint8_t error, uint8_t argument)
{
    if (request->error == 0) {
        request->error = error;
        request->argument = argument;
    }
}

// Checks that come before those of the arguments
static void check_caller(const struct rig *rig, struct request *request)
{
    if (request->error == RIG_ERROR_UNKNOWN_VERB) {
        return;
    }
    uint8_t form = request->error;
    if (request->number == 0 && !rig_request_by_hand(request->verb)) {
        form = RIG_ERROR_NEEDS_NUMBER;
    } else if (!rig->greeted && request->verb != RIG_VERB_HAIL) {
        form = RIG_ERROR_NO_GREETING;
    }
    if (form != request->error) {
        request->error = form;
        request->argument = 0;
    }
}

// Whether an order is of this session and new in it
static void check_session(const struct rig *rig, struct request *request)
{
    if (!rig_request_is_order(request->verb)) {
        return;
    }
    if (!rig->in_session || rig_request_session(request) != rig->session) {
        rig_request_refuse(request, RIG_ERROR_OLD_SESSION, 0);
    } else if (request->number <= rig->memory.number) {
        rig_request_refuse(request, RIG_ERROR_OLD_NUMBER, 0);
    } else {
        request->taken = true;
    }
}

static void check_state(const struct rig *rig, struct request *request)
{
    uint8_t verb = request->verb;
    bool moves = verb == RIG_VERB_GO || verb == RIG_VERB_TOUCH;
    bool orders = moves || verb == RIG_VERB_HOME || verb == RIG_VERB_FENCE;
    bool busy = rig->order.kind != RIG_MOTION_NONE;
    if (orders && rig->held) {
        rig_request_refuse(request, RIG_ERROR_HELD, 0);
    }
    bool at_rest = verb == RIG_VERB_REARM || verb == RIG_VERB_FREE || verb == RIG_VERB_RATE
                   || verb == RIG_VERB_PUT;
    bool sets = verb == RIG_VERB_SET;
    if (sets && rig->held) {
        rig_request_refuse(request, RIG_ERROR_HELD, 0);
    }
    if (busy && (orders || at_rest || sets)) {
        rig_request_refuse(request, RIG_ERROR_BUSY, 0);
    }
    if ((moves || verb == RIG_VERB_FENCE) && !rig->homed) {
        rig_request_refuse(request, RIG_ERROR_NOT_HOMED, 0);
    }
    if (moves && !rig->fenced) {
        rig_request_refuse(request, RIG_ERROR_NO_FENCE, 0);
    }
    if (sets && rig->homed) {
        rig_request_refuse(request, RIG_ERROR_HOMED, 0);
    }
}

static void check_ability(const struct rig *rig, struct request *request)
{
    uint8_t abilities = rig_abilities(rig);
    if (request->verb == RIG_VERB_TOUCH && (abilities & RIG_ABILITY_TOUCH_PROBE) == 0) {
        rig_request_refuse(request, RIG_ERROR_NOT_ABLE, 0);
    }
    if (request->verb == RIG_VERB_FREE && (abilities & RIG_ABILITY_ENABLE_OUTPUT) == 0) {
        rig_request_refuse(request, RIG_ERROR_NOT_ABLE, 0);
    }
    if (request->verb == RIG_VERB_SET
        && ((abilities & RIG_ABILITY_SETTINGS) == 0
            || rig_settings_of((uint8_t)request->arguments[0]) == RIG_SETTING_COUNT)) {
        rig_request_refuse(request, RIG_ERROR_NOT_ABLE, 0);
    }
    if ((request->verb == RIG_VERB_READ && !rig_has_quantity(rig, request->arguments[0]))
        || (request->verb == RIG_VERB_PUT && !rig_has_control(rig, request->arguments[0]))) {
        rig_request_refuse(request, RIG_ERROR_NOT_ABLE, 0);
    }
    if (request->verb == RIG_VERB_RATE && request->arguments[0] != 115200
        && (abilities & RIG_ABILITY_FAST_RATE) == 0) {
        rig_request_refuse(request, RIG_ERROR_NOT_ABLE, 0);
    }
}

static void check_speeds(const struct rig *rig, struct request *request)
{
    const int32_t *arguments = request->arguments;
    switch (request->verb) {
    case RIG_VERB_GO:
        if (arguments[1] > rig->settings[RIG_SETTING_SPEED_LIMIT]) {
            rig_request_refuse(request, RIG_ERROR_TOO_FAST, 2);
        }
        if (arguments[2] > rig->settings[RIG_SETTING_ACCELERATION_LIMIT]) {
            rig_request_refuse(request, RIG_ERROR_TOO_FAST, 3);
        }
        break;
    case RIG_VERB_TOUCH:
        if (arguments[1] > rig->settings[RIG_SETTING_START_SPEED]) {
            rig_request_refuse(request, RIG_ERROR_TOO_FAST, 2);
        }
        break;
    case RIG_VERB_HOME:
        if (arguments[0] > rig->settings[RIG_SETTING_SPEED_LIMIT]) {
            rig_request_refuse(request, RIG_ERROR_TOO_FAST, 1);
        }
        if (arguments[1] > rig->settings[RIG_SETTING_START_SPEED]) {
            rig_request_refuse(request, RIG_ERROR_TOO_FAST, 2);
        }
        break;
    default:
        break;
    }
}

static void check_places(struct rig *rig, struct request *request)
{
    const int32_t *arguments = request->arguments;
    if (request->verb == RIG_VERB_FENCE) {
        if (arguments[0] < rig->settings[RIG_SETTING_TRAVEL_LOW] || arguments[0] > rig->settings[RIG_SETTING_TRAVEL_HIGH]) {
            rig_request_refuse(request, RIG_ERROR_BEYOND_FENCE, 1);
        }
        if (arguments[1] > rig->settings[RIG_SETTING_TRAVEL_HIGH]) {
            rig_request_refuse(request, RIG_ERROR_BEYOND_FENCE, 2);
        }
    } else if (request->verb == RIG_VERB_GO || request->verb == RIG_VERB_TOUCH) {
        if (arguments[0] < rig->fence_low || arguments[0] > rig->fence_high) {
            rig_request_refuse(request, RIG_ERROR_BEYOND_FENCE, 1);
        }
        if (arguments[0] > rig->stepper.position && rig_probe_closed(rig)) {
            rig_request_refuse(request, RIG_ERROR_PROBE_CLOSED, 0);
        }
    } else if (request->verb == RIG_VERB_HOME && rig_home_closed(rig)
               && rig_probe_closed(rig)) {
        // It would begin upward
        rig_request_refuse(request, RIG_ERROR_PROBE_CLOSED, 0);
    } else if (request->verb == RIG_VERB_REARM && !rig_drive_on(rig)) {
        rig_request_refuse(request, RIG_ERROR_DRIVE_OFF, 0);
    }
}

void rig_request_permit(struct rig *rig, struct request *request)
{
    check_caller(rig, request);
    if (request->error == 0) {
        check_session(rig, request);
    }
    if (request->error == 0) {
        check_state(rig, request);
        check_ability(rig, request);
        check_speeds(rig, request);
        check_places(rig, request);
    }
}
