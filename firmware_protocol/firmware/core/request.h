// A request between its parts: taking it apart, permitting it, answering it
#ifndef RIG_REQUEST_H
#define RIG_REQUEST_H

#include "internal.h"

// A request taken apart; `error` and `argument` are the refusal that its form asks for
struct request {
    uint8_t number;
    // enum rig_verb; RIG_VERB_COUNT for none
    uint8_t verb;
    uint8_t error;
    uint8_t argument;
    // An order of this session whose number was not used: remembered, whatever comes of it
    bool taken;
    // From the verb to the end of the line
    const char *words;
    uint8_t words_length;
    int32_t arguments[RIG_MOST_ARGUMENTS];
    // When a control was set, us
    uint32_t time_us;
};

// Take the received line apart; false for one that is no request
bool rig_request_read(const struct rig *rig, struct request *request);

// The verb's word, in a constant table
const char *rig_request_word(uint8_t verb);

// Whether that verb may carry number 0
bool rig_request_by_hand(uint8_t verb);

// Whether that verb, RIG_VERB_COUNT too, moves or changes something
bool rig_request_is_order(uint8_t verb);

// Session of an order whose form is sound
uint16_t rig_request_session(const struct request *request);

// Refuse it, unless it is refused already
void rig_request_refuse(struct request *request, uint8_t error, uint8_t argument);

// Refuse it if it may not be carried out now
void rig_request_permit(struct rig *rig, struct request *request);

// Put out the answer, or the refusal that the request holds
void rig_request_answer(struct rig *rig, const struct request *request);

#endif
