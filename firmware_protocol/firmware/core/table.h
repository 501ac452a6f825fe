// Words and numbers of the protocol, from table.toml
//
// Written by `python -m firmware_protocol.generate`: change the table, not this.
#ifndef RIG_TABLE_H
#define RIG_TABLE_H

/// Constants ///

#define RIG_MAJOR 1u
#define RIG_MINOR 0u
#define RIG_START_BYTE 38u
#define RIG_STOP_BYTE 35u
#define RIG_END_BYTE 10u
#define RIG_LONGEST_LINE_BYTES 64u
#define RIG_CHECK_POLYNOMIAL 0x1021u
#define RIG_CHECK_START 0xFFFFu
#define RIG_FIRST_RATE_BITS_S 115200u
#define RIG_REQUEST_NUMBER_HIGH 255u
#define RIG_NOTICE_NUMBER_HIGH 65535u

/// Numbers ///

// Why a request was refused
enum rig_error {
    RIG_ERROR_UNKNOWN_VERB = 1,
    RIG_ERROR_WRONG_COUNT = 2,
    RIG_ERROR_BAD_ARGUMENT = 3,
    RIG_ERROR_OTHER_MAJOR = 4,
    RIG_ERROR_NOT_HOMED = 5,
    RIG_ERROR_NO_FENCE = 6,
    RIG_ERROR_BUSY = 7,
    RIG_ERROR_HELD = 8,
    RIG_ERROR_BEYOND_FENCE = 9,
    RIG_ERROR_GONE = 10,
    RIG_ERROR_NOT_ABLE = 11,
    RIG_ERROR_PROBE_CLOSED = 12,
    RIG_ERROR_NEEDS_NUMBER = 13,
    RIG_ERROR_OLD_NUMBER = 14,
    RIG_ERROR_TOO_FAST = 15,
    RIG_ERROR_NO_GREETING = 16,
    RIG_ERROR_DRIVE_OFF = 17,
    RIG_ERROR_OLD_SESSION = 18,
    RIG_ERROR_HOMED = 19
};

// What failed
enum rig_fault {
    RIG_FAULT_LATE_PULSE = 1,
    RIG_FAULT_STARVED = 2,
    RIG_FAULT_HOME_NOT_FOUND = 3,
    RIG_FAULT_HOME_STUCK = 4,
    RIG_FAULT_HOME_UNEXPECTED = 5,
    RIG_FAULT_SUPPLY_LOST = 6,
    RIG_FAULT_PROBE_UNEXPECTED = 7,
    RIG_FAULT_DRIVE_LOST = 8,
    RIG_FAULT_SETTINGS_LOST = 9
};

// Numbers of the traits
enum rig_trait {
    RIG_TRAIT_STEPS_PER_M = 0,
    RIG_TRAIT_TRAVEL_LOW = 1,
    RIG_TRAIT_TRAVEL_HIGH = 2,
    RIG_TRAIT_SPEED_LIMIT = 3,
    RIG_TRAIT_ACCELERATION_LIMIT = 4,
    RIG_TRAIT_START_SPEED = 5,
    RIG_TRAIT_RING_SIZE = 6,
    RIG_TRAIT_SILENCE_LIMIT = 7,
    RIG_TRAIT_ABILITIES = 8,
    RIG_TRAIT_TIME_TICK = 9,
    RIG_TRAIT_EDGE_RATE_LIMIT = 10,
    RIG_TRAIT_FAIL_SAFE = 11,
    RIG_TRAIT_MIN_PULSE = 12,
    RIG_TRAIT_ENABLE_REST = 13,
    RIG_TRAIT_HOME_CLEAR = 14,
    RIG_TRAIT_HOME_SEARCH = 15,
    RIG_TRAIT_BUILD = 16,
    RIG_TRAIT_HIGH_INPUTS = 17,
    RIG_TRAIT_SERIAL = 18,
    RIG_TRAIT_NAME_1 = 19,
    RIG_TRAIT_NAME_2 = 20,
    RIG_TRAIT_NAME_3 = 21,
    RIG_TRAIT_NAME_4 = 22,
    RIG_TRAIT_QUANTITIES = 23,
    RIG_TRAIT_CONTROLS = 24,
    RIG_TRAIT_SUPPLY_LOW = 25,
    RIG_TRAIT_SUPPLY_HIGH = 26,
    RIG_TRAIT_SUPPLY_START = 27,
    RIG_TRAIT_SCALE_PER_M = 28
};

// What a controller can do; a sum
enum rig_ability {
    RIG_ABILITY_FAST_RATE = 1,
    RIG_ABILITY_TOUCH_PROBE = 2,
    RIG_ABILITY_SUPPLY_SENSE = 4,
    RIG_ABILITY_SIMULATED = 8,
    RIG_ABILITY_DRIVE_SENSE = 16,
    RIG_ABILITY_ENABLE_OUTPUT = 32,
    RIG_ABILITY_SETTINGS = 64,
    RIG_ABILITY_SCALE = 128
};

// Inputs in the answer to `look`; a sum
enum rig_input {
    RIG_INPUT_OUT = 1,
    RIG_INPUT_PROBE = 2,
    RIG_INPUT_HOME = 4,
    RIG_INPUT_SUPPLY = 8,
    RIG_INPUT_DRIVE = 16,
    RIG_INPUT_PROBE_SEEN = 32
};

// What `read` tells
enum rig_quantity {
    RIG_QUANTITY_SUPPLY = 0,
    RIG_QUANTITY_LOAD_CURRENT = 1,
    RIG_QUANTITY_RESIDUAL_VOLTAGE = 2,
    RIG_QUANTITY_TEMPERATURE = 3,
    RIG_QUANTITY_SCALE = 4
};

// What `put` sets
enum rig_control {
    RIG_CONTROL_SENSOR_SUPPLY = 0,
    RIG_CONTROL_SUPPLY_VOLTAGE = 1
};

/// Words ///

// State; the words in the same order below
enum rig_state {
    RIG_STATE_RAW,
    RIG_STATE_SEEKING,
    RIG_STATE_UNFENCED,
    RIG_STATE_READY,
    RIG_STATE_MOVING,
    RIG_STATE_HELD,
    RIG_STATE_COUNT
};
#define RIG_STATE_WORDS {"raw", "seeking", "unfenced", "ready", "moving", "held"}
#define RIG_STATE_SIZE 9 // longest word and its end

// RestCause; the words in the same order below
enum rig_rest_cause {
    RIG_REST_CAUSE_THERE,
    RIG_REST_CAUSE_TURN,
    RIG_REST_CAUSE_TOUCHED,
    RIG_REST_CAUSE_HOMED,
    RIG_REST_CAUSE_STOPPED,
    RIG_REST_CAUSE_SILENT,
    RIG_REST_CAUSE_CONTACT,
    RIG_REST_CAUSE_FAULT,
    RIG_REST_CAUSE_COUNT
};
#define RIG_REST_CAUSE_WORDS {"there", "turn", "touched", "homed", "stopped", "silent", "contact", "fault"}
#define RIG_REST_CAUSE_SIZE 8 // longest word and its end

// Source; the words in the same order below
enum rig_source {
    RIG_SOURCE_OUT,
    RIG_SOURCE_PROBE,
    RIG_SOURCE_HOME,
    RIG_SOURCE_COUNT
};
#define RIG_SOURCE_WORDS {"out", "probe", "home"}
#define RIG_SOURCE_SIZE 6 // longest word and its end

// StartReason; the words in the same order below
enum rig_start_reason {
    RIG_START_REASON_POWER,
    RIG_START_REASON_BUTTON,
    RIG_START_REASON_WATCHDOG,
    RIG_START_REASON_BROWNOUT,
    RIG_START_REASON_COUNT
};
#define RIG_START_REASON_WORDS {"power", "button", "watchdog", "brownout"}
#define RIG_START_REASON_SIZE 9 // longest word and its end

// Verb; the words in the same order below
enum rig_verb {
    RIG_VERB_HAIL,
    RIG_VERB_TRAIT,
    RIG_VERB_LOOK,
    RIG_VERB_TALLY,
    RIG_VERB_FENCE,
    RIG_VERB_HOME,
    RIG_VERB_GO,
    RIG_VERB_TOUCH,
    RIG_VERB_REARM,
    RIG_VERB_FREE,
    RIG_VERB_SET,
    RIG_VERB_READ,
    RIG_VERB_PUT,
    RIG_VERB_RECALL,
    RIG_VERB_RATE,
    RIG_VERB_COUNT
};
#define RIG_VERB_WORDS {"hail", "trait", "look", "tally", "fence", "home", "go", "touch", "rearm", "free", "set", "read", "put", "recall", "rate"}
#define RIG_VERB_SIZE 7 // longest word and its end

// NoticeKind; the words in the same order below
enum rig_notice_kind {
    RIG_NOTICE_KIND_START,
    RIG_NOTICE_KIND_EDGE,
    RIG_NOTICE_KIND_REST,
    RIG_NOTICE_KIND_FAULT,
    RIG_NOTICE_KIND_COUNT
};
#define RIG_NOTICE_KIND_WORDS {"start", "edge", "rest", "fault"}
#define RIG_NOTICE_KIND_SIZE 6 // longest word and its end

/// Requests ///

// For each verb: may carry number 0; is an order, whose last argument is
// its session; arguments; row of the first one below
#define RIG_VERB_ROWS { \
    {1u, 0u, 1u, 0u}, /* hail */ \
    {1u, 0u, 1u, 1u}, /* trait */ \
    {1u, 0u, 0u, 2u}, /* look */ \
    {1u, 0u, 0u, 2u}, /* tally */ \
    {0u, 1u, 3u, 2u}, /* fence */ \
    {0u, 1u, 3u, 5u}, /* home */ \
    {0u, 1u, 6u, 8u}, /* go */ \
    {0u, 1u, 3u, 14u}, /* touch */ \
    {0u, 1u, 1u, 17u}, /* rearm */ \
    {0u, 1u, 1u, 18u}, /* free */ \
    {0u, 1u, 3u, 19u}, /* set */ \
    {1u, 0u, 1u, 22u}, /* read */ \
    {0u, 1u, 3u, 23u}, /* put */ \
    {0u, 0u, 1u, 26u}, /* recall */ \
    {0u, 1u, 2u, 27u}, /* rate */ \
}

// Lowest and highest value of each argument
#define RIG_ARGUMENT_ROWS { \
    {INT32_C(0), INT32_C(255)}, /* hail: major */ \
    {INT32_C(0), INT32_C(255)}, /* trait: index */ \
    {INT32_MIN, INT32_C(2147483647)}, /* fence: low */ \
    {INT32_MIN, INT32_C(2147483647)}, /* fence: high */ \
    {INT32_C(0), INT32_C(65535)}, /* fence: session */ \
    {INT32_C(1), INT32_C(1000000)}, /* home: fast */ \
    {INT32_C(1), INT32_C(1000000)}, /* home: slow */ \
    {INT32_C(0), INT32_C(65535)}, /* home: session */ \
    {INT32_MIN, INT32_C(2147483647)}, /* go: target */ \
    {INT32_C(1), INT32_C(1000000)}, /* go: speed */ \
    {INT32_C(1), INT32_C(10000000)}, /* go: acceleration */ \
    {INT32_C(0), INT32_C(255)}, /* go: edges */ \
    {INT32_C(0), INT32_C(1000000)}, /* go: overrun */ \
    {INT32_C(0), INT32_C(65535)}, /* go: session */ \
    {INT32_MIN, INT32_C(2147483647)}, /* touch: target */ \
    {INT32_C(1), INT32_C(1000000)}, /* touch: speed */ \
    {INT32_C(0), INT32_C(65535)}, /* touch: session */ \
    {INT32_C(0), INT32_C(65535)}, /* rearm: session */ \
    {INT32_C(0), INT32_C(65535)}, /* free: session */ \
    {INT32_C(0), INT32_C(255)}, /* set: index */ \
    {INT32_MIN, INT32_C(2147483647)}, /* set: value */ \
    {INT32_C(0), INT32_C(65535)}, /* set: session */ \
    {INT32_C(0), INT32_C(255)}, /* read: index */ \
    {INT32_C(0), INT32_C(255)}, /* put: index */ \
    {INT32_MIN, INT32_C(2147483647)}, /* put: value */ \
    {INT32_C(0), INT32_C(65535)}, /* put: session */ \
    {INT32_C(0), INT32_C(65535)}, /* recall: notice */ \
    {INT32_C(115200), INT32_C(250000)}, /* rate: bits_s */ \
    {INT32_C(0), INT32_C(65535)}, /* rate: session */ \
}

#define RIG_MOST_ARGUMENTS 6u

#endif
