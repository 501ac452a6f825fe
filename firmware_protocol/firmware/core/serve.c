// Requests carried out, answered and remembered; SPEC.md 6
#include "request.h"

// Lead out of `held`, unless the drive was lost since that was checked: its event would
// otherwise be forgotten
static bool rearm(struct rig *rig)
{
    port_lock_t lock = port_lock(rig);
    rig->held = !rig_drive_on(rig);
    port_unlock(rig, lock);
    return true;
}

// What has to be done before the answer; false if a stop came first, and then there is
// no answer
static bool carry_out(struct rig *rig, struct request *request)
{
    const int32_t *arguments = request->arguments;
    switch (request->verb) {
    case RIG_VERB_HAIL:
        if (arguments[0] != (int32_t)RIG_MAJOR) {
            rig_request_refuse(request, RIG_ERROR_OTHER_MAJOR, 1);
        } else {
            // What was ordered before, and comes late, is void from now on
            rig->greeted = true;
            rig->in_session = true;
            rig->session++;
            rig->memory.number = 0;
        }
        return true;
    case RIG_VERB_SET:
        if (!rig_settings_set(rig, rig_settings_of((uint8_t)arguments[0]), arguments[1])) {
            rig_request_refuse(request, RIG_ERROR_BAD_ARGUMENT, 2);
        } else {
            rig_take_levels(rig);
        }
        return true;
    case RIG_VERB_PUT:
        if (!rig_control_put(rig, arguments[0], arguments[1], &request->time_us)) {
            rig_request_refuse(request, RIG_ERROR_BAD_ARGUMENT, 2);
        }
        return true;
    case RIG_VERB_FENCE:
        rig->fence_low = arguments[0];
        rig->fence_high = arguments[1];
        rig->fenced = true;
        return true;
    case RIG_VERB_HOME:
        return rig_motion_home(rig, request->number, arguments);
    case RIG_VERB_GO:
        return rig_motion_go(rig, request->number, arguments);
    case RIG_VERB_TOUCH:
        return rig_motion_touch(rig, request->number, arguments);
    case RIG_VERB_REARM:
        return rearm(rig);
    case RIG_VERB_FREE:
        rig_motion_free(rig);
        return true;
    case RIG_VERB_RECALL:
        if (!rig_notice_recall(rig, (uint16_t)arguments[0])) {
            rig_request_refuse(request, RIG_ERROR_GONE, 1);
        }
        return true;
    case RIG_VERB_RATE:
        rig->rate_due = (uint32_t)arguments[0];
        return true;
    default:
        return true;
    }
}

// Whether the words are those of the remembered order
static bool same_words(const struct rig_memory *memory, const struct request *request)
{
    if (memory->words_length != request->words_length) {
        return false;
    }
    for (uint8_t i = 0; i < request->words_length; i++) {
        if (memory->words[i] != request->words[i]) {
            return false;
        }
    }
    return true;
}

static void remember(struct rig *rig, const struct request *request)
{
    struct rig_memory *memory = &rig->memory;
    memory->number = request->number;
    memory->words_length = request->words_length;
    for (uint8_t i = 0; i < request->words_length; i++) {
        memory->words[i] = request->words[i];
    }
    memory->reply_length = 0;
    rig->keeping = true;
}

static void serve_new(struct rig *rig, struct request *request)
{
    rig_request_permit(rig, request);
    if (request->error == 0 && !carry_out(rig, request)) {
        return;
    }
    if (request->taken) {
        remember(rig, request);
    }
    rig_request_answer(rig, request);
}

void rig_request_serve(struct rig *rig)
{
    struct request request = {0};
    struct rig_memory *memory = &rig->memory;
    if (!rig_request_read(rig, &request)) {
        rig->dropped++;
    } else if (request.number != 0 && request.number == memory->number
               && same_words(memory, &request)) {
        rig_out_again(rig);
    } else {
        serve_new(rig, &request);
    }
    rig_line_clear(rig);
}
