// Requests taken apart: number, verb, arguments and what each may be; SPEC.md 6, 7
#include "request.h"

struct verb_row {
    uint8_t hand;
    uint8_t order;
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

const char *rig_request_word(uint8_t verb)
{
    return verb_words[verb];
}

bool rig_request_by_hand(uint8_t verb)
{
    return port_rom_u8(&verb_rows[verb].hand) != 0;
}

bool rig_request_is_order(uint8_t verb)
{
    return verb < RIG_VERB_COUNT && port_rom_u8(&verb_rows[verb].order) != 0;
}

uint16_t rig_request_session(const struct request *request)
{
    uint8_t arguments = port_rom_u8(&verb_rows[request->verb].arguments);
    return (uint16_t)request->arguments[arguments - 1u];
}

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
                   && arguments[0] > RIG_TRAIT_SCALE_PER_M)) {
        request->error = RIG_ERROR_BAD_ARGUMENT;
        request->argument = 1;
    }
}

bool rig_request_read(const struct rig *rig, struct request *request)
{
    request->error = 0;
    request->argument = 0;
    request->taken = false;
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
