// Requests: what they say, whether they may be carried out, the answer; SPEC.md 6 to 10
#include "internal.h"

struct verb_row {
    uint8_t hand;
    uint8_t arguments;
    uint8_t first;
};

struct argument_row {
    int32_t low;
    int32_t high;
};

static const char RIG_ROM verb_words[][RIG_VERB_SIZE] = RIG_VERB_WORDS;
static const struct verb_row RIG_ROM verb_rows[] = RIG_VERB_ROWS;
static const struct argument_row RIG_ROM argument_rows[] = RIG_ARGUMENT_ROWS;
static const char RIG_ROM state_words[][RIG_STATE_SIZE] = RIG_STATE_WORDS;
static const char RIG_ROM no_word[] = "no";
static const char RIG_ROM version[] = RIG_FIRMWARE_VERSION;

// A request taken apart; `error` and `argument` are the refusal that its form asks for
struct request {
    uint8_t number;
    // enum rig_verb; RIG_VERB_COUNT for none
    uint8_t verb;
    uint8_t error;
    uint8_t argument;
    // From the verb to the end of the line
    const char *words;
    uint8_t words_length;
    int32_t arguments[RIG_MOST_ARGUMENTS];
};

/// Taking apart ///

// Length up to the next blank or the end
static uint8_t word_length(const char *text, uint8_t length)
{
    uint8_t at = 0;
    while (at < length && text[at] != ' ') {
        at++;
    }
    return at;
}

static uint8_t verb_of(const char *text, uint8_t length)
{
    uint8_t verb = 0;
    for (; verb < RIG_VERB_COUNT; verb++) {
        const char *word = verb_words[verb];
        uint8_t at = 0;
        while (at < length && (char)port_rom_u8(word + at) == text[at]) {
            at++;
        }
        // A word is never longer than its row, whose last character is the end
        if (at == length && port_rom_u8(word + at) == 0) {
            break;
        }
    }
    return verb;
}

// Mark and number: false for a line that is no request
static bool read_head(const struct rig_line *line, struct request *request)
{
    uint8_t length = word_length(line->text, line->length);
    int32_t number;
    if (line->text[0] != 'q' || length == line->length
        || !rig_number_read(line->text + 1, (uint8_t)(length - 1u), &number)
        || number < 0 || number > (int32_t)RIG_REQUEST_NUMBER_HIGH) {
        return false;
    }
    request->number = (uint8_t)number;
    request->words = line->text + length + 1;
    request->words_length = (uint8_t)(line->length - (length + 1));
    return true;
}

static bool read_argument(struct request *request, uint8_t index, const char *text,
                          uint8_t length)
{
    int32_t value;
    uint8_t row = (uint8_t)(port_rom_u8(&verb_rows[request->verb].first) + index);
    if (!rig_number_read(text, length, &value)) {
        return false;
    }
    request->arguments[index] = value;
    return value >= (int32_t)port_rom_u32(&argument_rows[row].low)
           && value <= (int32_t)port_rom_u32(&argument_rows[row].high);
}

// Count the arguments, read them, and check what each may be
static void read_arguments(struct request *request, uint8_t at)
{
    uint8_t wanted = port_rom_u8(&verb_rows[request->verb].arguments);
    uint8_t count = 0;
    while (at < request->words_length) {
        const char *text = request->words + at + 1;
        uint8_t length = word_length(text, (uint8_t)(request->words_length - (at + 1)));
        if (count < wanted && request->argument == 0
            && !read_argument(request, count, text, length)) {
            request->argument = (uint8_t)(count + 1u);
        }
        count++;
        at = (uint8_t)(at + 1u + length);
    }
    if (count != wanted) {
        request->error = RIG_ERROR_WRONG_COUNT;
        request->argument = 0;
    } else if (request->argument != 0) {
        request->error = RIG_ERROR_BAD_ARGUMENT;
    }
}

// What is malformed though every number is in its range
static void check_pairs(struct request *request)
{
    const int32_t *arguments = request->arguments;
    if (request->error != 0) {
        return;
    }
    if (request->verb == RIG_VERB_FENCE && arguments[0] >= arguments[1]) {
        request->error = RIG_ERROR_BAD_ARGUMENT;
        request->argument = 2;
    } else if ((request->verb == RIG_VERB_RATE && arguments[0] != 115200
                && arguments[0] != 250000)
               || (request->verb == RIG_VERB_TRAIT
                   && arguments[0] > RIG_TRAIT_EDGE_RATE_LIMIT)) {
        request->error = RIG_ERROR_BAD_ARGUMENT;
        request->argument = 1;
    }
}

static bool read_request(const struct rig *rig, struct request *request)
{
    request->error = 0;
    request->argument = 0;
    if (!read_head(&rig->line, request)) {
        return false;
    }
    uint8_t length = word_length(request->words, request->words_length);
    request->verb = verb_of(request->words, length);
    if (request->verb == RIG_VERB_COUNT) {
        request->error = RIG_ERROR_UNKNOWN_VERB;
        return true;
    }
    read_arguments(request, length);
    check_pairs(request);
    return true;
}

/// Whether it may be carried out ///

static void refuse(struct request *request, uint8_t error, uint8_t argument)
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
    if (request->number == 0 && port_rom_u8(&verb_rows[request->verb].hand) == 0) {
        form = RIG_ERROR_NEEDS_NUMBER;
    } else if (!rig->greeted && request->verb != RIG_VERB_HAIL) {
        form = RIG_ERROR_NO_GREETING;
    }
    if (form != request->error) {
        request->error = form;
        request->argument = 0;
    }
}

static void check_state(const struct rig *rig, struct request *request)
{
    uint8_t verb = request->verb;
    bool moves = verb == RIG_VERB_GO || verb == RIG_VERB_TOUCH;
    bool orders = moves || verb == RIG_VERB_HOME || verb == RIG_VERB_FENCE;
    bool busy = rig->order.kind != RIG_MOTION_NONE;
    if (orders && rig->held) {
        refuse(request, RIG_ERROR_HELD, 0);
    }
    if (busy && (orders || verb == RIG_VERB_REARM || verb == RIG_VERB_RATE)) {
        refuse(request, RIG_ERROR_BUSY, 0);
    }
    if ((moves || verb == RIG_VERB_FENCE) && !rig->homed) {
        refuse(request, RIG_ERROR_NOT_HOMED, 0);
    }
    if (moves && !rig->fenced) {
        refuse(request, RIG_ERROR_NO_FENCE, 0);
    }
}

static void check_ability(const struct rig *rig, struct request *request)
{
    uint8_t abilities = rig->identity.abilities;
    if (request->verb == RIG_VERB_TOUCH && (abilities & RIG_ABILITY_TOUCH_PROBE) == 0) {
        refuse(request, RIG_ERROR_NOT_ABLE, 0);
    }
    if (request->verb == RIG_VERB_RATE && request->arguments[0] != 115200
        && (abilities & RIG_ABILITY_FAST_RATE) == 0) {
        refuse(request, RIG_ERROR_NOT_ABLE, 1);
    }
}

static void check_speeds(struct request *request)
{
    const int32_t *arguments = request->arguments;
    switch (request->verb) {
    case RIG_VERB_GO:
        if (arguments[1] > RIG_SPEED_LIMIT) {
            refuse(request, RIG_ERROR_TOO_FAST, 2);
        }
        if (arguments[2] > RIG_ACCELERATION_LIMIT) {
            refuse(request, RIG_ERROR_TOO_FAST, 3);
        }
        break;
    case RIG_VERB_TOUCH:
        if (arguments[1] > RIG_START_SPEED) {
            refuse(request, RIG_ERROR_TOO_FAST, 2);
        }
        break;
    case RIG_VERB_HOME:
        if (arguments[0] > RIG_SPEED_LIMIT) {
            refuse(request, RIG_ERROR_TOO_FAST, 1);
        }
        if (arguments[1] > RIG_START_SPEED) {
            refuse(request, RIG_ERROR_TOO_FAST, 2);
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
        if (arguments[0] < RIG_TRAVEL_LOW) {
            refuse(request, RIG_ERROR_BEYOND_FENCE, 1);
        }
        if (arguments[1] > RIG_TRAVEL_HIGH) {
            refuse(request, RIG_ERROR_BEYOND_FENCE, 2);
        }
    } else if (request->verb == RIG_VERB_GO || request->verb == RIG_VERB_TOUCH) {
        if (arguments[0] < rig->fence_low || arguments[0] > rig->fence_high) {
            refuse(request, RIG_ERROR_BEYOND_FENCE, 1);
        }
        if (arguments[0] > rig->stepper.position
            && (rig->identity.abilities & RIG_ABILITY_TOUCH_PROBE) != 0
            && (port_inputs(rig) & RIG_INPUT_PROBE) != 0) {
            refuse(request, RIG_ERROR_PROBE_CLOSED, 0);
        }
    }
}

/// Answers ///

static uint8_t inputs(struct rig *rig)
{
    uint8_t levels = port_inputs(rig);
    if ((rig->identity.abilities & RIG_ABILITY_TOUCH_PROBE) == 0) {
        levels = (uint8_t)(levels & ~(uint8_t)RIG_INPUT_PROBE);
    }
    if ((rig->identity.abilities & RIG_ABILITY_SUPPLY_SENSE) == 0) {
        levels = (uint8_t)(levels | RIG_INPUT_SUPPLY);
    }
    return levels;
}

static void answer_hail(struct rig *rig)
{
    rig_out_unsigned(rig, RIG_MAJOR);
    rig_out_unsigned(rig, RIG_MINOR);
    rig_out_unsigned(rig, rig->identity.boot);
    rig_out_rom(rig, version);
    rig_out_text(rig, rig->identity.name);
}

static int32_t trait(const struct rig *rig, uint8_t index)
{
    switch (index) {
    case RIG_TRAIT_STEPS_PER_M:
        return RIG_STEPS_PER_M;
    case RIG_TRAIT_TRAVEL_LOW:
        return RIG_TRAVEL_LOW;
    case RIG_TRAIT_TRAVEL_HIGH:
        return RIG_TRAVEL_HIGH;
    case RIG_TRAIT_SPEED_LIMIT:
        return RIG_SPEED_LIMIT;
    case RIG_TRAIT_ACCELERATION_LIMIT:
        return RIG_ACCELERATION_LIMIT;
    case RIG_TRAIT_START_SPEED:
        return RIG_START_SPEED;
    case RIG_TRAIT_RING_SIZE:
        return RIG_RING_SIZE;
    case RIG_TRAIT_SILENCE_LIMIT:
        return RIG_SILENCE_LIMIT_MS;
    case RIG_TRAIT_ABILITIES:
        return rig->identity.abilities;
    case RIG_TRAIT_TIME_TICK:
        return RIG_TIME_TICK_NS;
    default:
        return RIG_EDGE_RATE_LIMIT;
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

static void answer_rearm(struct rig *rig)
{
    port_lock_t lock = port_lock(rig);
    rig->held = false;
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
    case RIG_VERB_FENCE:
        rig_out_signed(rig, arguments[0]);
        rig_out_signed(rig, arguments[1]);
        break;
    case RIG_VERB_REARM:
        answer_rearm(rig);
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

/// Carrying out ///

// What has to be done before the answer; false if a stop came first, and then there is
// no answer
static bool carry_out(struct rig *rig, struct request *request)
{
    const int32_t *arguments = request->arguments;
    switch (request->verb) {
    case RIG_VERB_HAIL:
        if (arguments[0] != (int32_t)RIG_MAJOR) {
            refuse(request, RIG_ERROR_OTHER_MAJOR, 1);
        } else {
            rig->greeted = true;
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
    case RIG_VERB_RECALL:
        if (!rig_notice_recall(rig, (uint16_t)arguments[0])) {
            refuse(request, RIG_ERROR_GONE, 1);
        }
        return true;
    case RIG_VERB_RATE:
        rig->rate_due = (uint32_t)arguments[0];
        return true;
    default:
        return true;
    }
}

static void reply(struct rig *rig, const struct request *request)
{
    if (request->error != 0) {
        rig_out_begin(rig, 'x', request->number);
        rig_out_rom(rig, no_word);
        rig_out_unsigned(rig, request->error);
        rig_out_unsigned(rig, request->argument);
    } else {
        rig_out_begin(rig, 'a', request->number);
        rig_out_rom(rig, verb_words[request->verb]);
        answer(rig, request);
    }
    rig_out_end(rig);
}

// Whether the words are those of the remembered request
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
    check_caller(rig, request);
    if (request->error == 0) {
        check_state(rig, request);
        check_ability(rig, request);
        check_speeds(request);
        check_places(rig, request);
    }
    if (request->error == 0 && !carry_out(rig, request)) {
        return;
    }
    if (request->number != 0 && request->verb != RIG_VERB_HAIL) {
        remember(rig, request);
    }
    reply(rig, request);
}

void rig_request_serve(struct rig *rig)
{
    struct request request;
    struct rig_memory *memory = &rig->memory;
    if (!read_request(rig, &request)) {
        rig->dropped++;
    } else if (request.verb == RIG_VERB_HAIL) {
        memory->number = 0;
        serve_new(rig, &request);
    } else if (request.number == 0 || request.number != memory->number) {
        serve_new(rig, &request);
    } else if (same_words(memory, &request)) {
        rig_out_again(rig);
    } else {
        request.error = RIG_ERROR_NUMBER_USED;
        request.argument = 0;
        reply(rig, &request);
    }
    rig_line_clear(rig);
}
