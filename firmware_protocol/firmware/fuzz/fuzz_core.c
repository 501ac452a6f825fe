// Fuzzing the core: bytes of the line, and time and world between them
//
// An input is what the host sends; bytes from 0x80 do not go over the line but let time
// pass or move the world. A random line hardly ever has a check that fits, so the
// mutator repairs checks, and writes requests with values at the ends of their ranges.
// For memmem
#define _GNU_SOURCE
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "stepper.h"

#define MUST(claim)                                                                    \
    do {                                                                               \
        if (!(claim)) {                                                                \
            fprintf(stderr, "%s:%d: %s\n", __FILE__, __LINE__, #claim);                \
            abort();                                                                   \
        }                                                                              \
    } while (0)

#define POLL_TICKS 2000u
// Pulses and polls that one input may take, so that many inputs can be tried
#define EVENTS 1500u
#define ABLE 191u
// Session that an input begins in; a greeting makes it one more
#define SESSION 4711u

struct fuzz_port fuzz_port;

static struct rig rig;
static unsigned events_left;
static struct {
    char text[80];
    size_t length;
} reply;

int LLVMFuzzerInitialize(int *count, char ***arguments);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t room, unsigned seed);
size_t LLVMFuzzerMutate(uint8_t *data, size_t size, size_t room);

/// World ///

uint8_t port_inputs(struct rig *unused)
{
    uint8_t inputs = fuzz_port.supply && fuzz_port.switched_on ? RIG_INPUT_SUPPLY : 0;
    inputs |= fuzz_port.drive ? RIG_INPUT_DRIVE : 0;
    (void)unused;
    inputs |= fuzz_port.place >= fuzz_port.out_at ? RIG_INPUT_OUT : 0;
    inputs |= fuzz_port.place >= fuzz_port.probe_at ? RIG_INPUT_PROBE : 0;
    inputs |= fuzz_port.place <= fuzz_port.home_at ? RIG_INPUT_HOME : 0;
    return inputs;
}

static void tell_edges(void)
{
    static const uint8_t bits[] = {RIG_INPUT_OUT, RIG_INPUT_PROBE, RIG_INPUT_HOME};
    uint8_t inputs = port_inputs(&rig);
    uint8_t changed = inputs ^ fuzz_port.inputs;
    fuzz_port.inputs = inputs;
    for (unsigned i = 0; i < RIG_SOURCE_COUNT; i++) {
        if ((changed & bits[i]) != 0) {
            rig_tick_t tick = port_timer(&rig);
            rig_on_edge(&rig, (enum rig_source)i, (inputs & bits[i]) != 0, tick,
                        port_turn(&rig, tick), port_time_us(&rig), port_scale(&rig));
        }
    }
}

/// What must hold ///

static void check_line(void)
{
    MUST(reply.length <= RIG_LONGEST_LINE_BYTES && reply.length > 6);
    MUST(reply.text[0] == '&' && strchr("axn", reply.text[1]) != NULL);
    uint16_t check = RIG_CHECK_START;
    for (size_t i = 1; i < reply.length - 5; i++) {
        MUST(reply.text[i] >= 0x20 && reply.text[i] <= 0x7E);
        check = rig_check_add(check, (uint8_t)reply.text[i]);
    }
    char digits[6];
    snprintf(digits, sizeof digits, " %04x", check);
    MUST(memcmp(digits, reply.text + reply.length - 5, 5) == 0);
}

static void take_output(void)
{
    uint8_t byte;
    while (rig_next_byte(&rig, &byte)) {
        if (byte == '\n') {
            check_line();
            reply.length = 0;
        } else {
            MUST(reply.length < sizeof reply.text);
            reply.text[reply.length++] = (char)byte;
        }
    }
}

static void check_state(void)
{
    const struct rig_stepper *stepper = &rig.stepper;
    bool moving = rig.order.kind != RIG_MOTION_NONE;
    MUST(stepper->position > -(1L << 30) && stepper->position < (1L << 30));
    MUST(!(rig.held && moving));
    MUST(rig.homed || !rig.fenced);
    MUST(moving || !stepper->running);
    MUST(!fuzz_port.compare_on || stepper->running);
    MUST(rig.greeted || !moving);
    // Silence ends both, and nothing else ends a session
    MUST(rig.in_session || !moving);
    if (rig.order.kind == RIG_MOTION_GO || rig.order.kind == RIG_MOTION_TOUCH) {
        MUST(rig.fenced);
    }
    // No motion without current, nor with the drive off
    MUST(!moving || fuzz_port.enabled);
    MUST(fuzz_port.drive || (rig.held && !rig.homed && !fuzz_port.enabled));
    MUST(rig.ring.held <= RIG_RING_SIZE);
    MUST(rig.supply_off == !fuzz_port.switched_on);
    MUST(fuzz_port.supply_mv >= RIG_SUPPLY_LOW_MV && fuzz_port.supply_mv <= RIG_SUPPLY_HIGH_MV);
}

// No part of `home` but the one away from the face goes on with the probe closed
static void check_home(void)
{
    bool closed = (port_inputs(&rig) & RIG_INPUT_PROBE) != 0;
    MUST(!closed || rig.order.kind != RIG_MOTION_SEEK || rig.order.seek == RIG_SEEK_AWAY);
}

/// Time ///

static void pass(uint32_t ticks)
{
    uint64_t end = fuzz_port.now + ticks;
    uint64_t poll = fuzz_port.now;
    while (fuzz_port.now < end && events_left > 0) {
        events_left--;
        uint64_t overflow = (fuzz_port.now | (FUZZ_TURN - 1u)) + 1u;
        uint64_t next = poll < end ? poll : end;
        next = overflow < next ? overflow : next;
        if (fuzz_port.compare_on && fuzz_port.match_at < next) {
            next = fuzz_port.match_at;
        }
        fuzz_port.now = next;
        if (next == overflow) {
            rig_on_overflow(&rig);
        }
        if (fuzz_port.compare_on && next == fuzz_port.match_at) {
            fuzz_port.match_at += FUZZ_TURN;
            rig_on_match(&rig);
            tell_edges();
        }
        if (next == poll) {
            poll += POLL_TICKS;
            (void)rig_poll(&rig);
            check_home();
            take_output();
        }
    }
    check_state();
}

static void start(void)
{
    struct rig_identity identity = {
        .boot = 1,
        .abilities = ABLE,
        .quantities = 31u,
        .controls = 3u,
        .reason = RIG_START_REASON_POWER,
    };
    memset(&fuzz_port, 0, sizeof fuzz_port);
    fuzz_port.place = 300;
    fuzz_port.probe_at = 3000;
    fuzz_port.out_at = 1500;
    fuzz_port.supply = true;
    fuzz_port.drive = true;
    reply.length = 0;
    events_left = EVENTS;
    rig_init(&rig, NULL, &identity);
    fuzz_port.inputs = port_inputs(&rig);
    rig.session = SESSION;
}

// As after `hail`, `home` and `fence`, in no time
static void make_ready(void)
{
    if (rig.order.kind == RIG_MOTION_NONE && fuzz_port.drive) {
        rig.greeted = true;
        rig.in_session = true;
        rig.enabled = true;
        fuzz_port.enabled = true;
        rig.homed = true;
        rig.fenced = true;
        rig.fence_low = RIG_TRAVEL_LOW;
        rig.fence_high = RIG_TRAVEL_HIGH;
        rig.stepper.position = 300;
    }
}

// Bytes from 0x80: time, world
static void act(uint8_t byte)
{
    switch (byte >> 4) {
    case 0x8:
        pass(2000u << (byte & 7u)); // 1 to 128 ms
        break;
    case 0x9:
        fuzz_port.out_at = fuzz_port.place + 8 - (byte & 15);
        break;
    case 0xA:
        fuzz_port.probe_at = fuzz_port.place + 100 * (8 - (byte & 15));
        break;
    case 0xB:
        fuzz_port.home_at = fuzz_port.place + 100 * ((byte & 15) - 8);
        break;
    case 0xC:
        fuzz_port.supply = (byte & 1) != 0;
        fuzz_port.drive = (byte & 2) == 0;
        rig_on_drive(&rig);
        break;
    case 0xD:
        rig_on_edge_missed(&rig, (enum rig_source)(byte % RIG_SOURCE_COUNT),
                           (byte & 8) != 0);
        break;
    case 0xE:
        // The main loop is kept away: the queue may run empty
        fuzz_port.now += 3000u << (byte & 7u);
        break;
    default:
        if (byte == 0xFFu) {
            make_ready();
        } else {
            rig_on_byte(&rig, byte, true);
        }
        break;
    }
    tell_edges();
}

// What a host said reaches the controller once more, in a session that none of it names:
// nothing moves and nothing changes
static void replay(const uint8_t *data, size_t size)
{
    const uint16_t session = SESSION + 20000u;
    if (memmem(data, size, "hail", 4) != NULL || memmem(data, size, "24711", 5) != NULL) {
        return;
    }
    rig_on_byte(&rig, '#', false);
    events_left = EVENTS;
    pass(20u * POLL_TICKS);
    rig.greeted = true;
    rig.in_session = true;
    rig.session = session;
    rig.memory.number = 0;
    rig.held = !fuzz_port.drive;
    int64_t place = fuzz_port.place;
    bool homed = rig.homed, fenced = rig.fenced;
    int32_t low = rig.fence_low, high = rig.fence_high;
    for (size_t i = 0; i < size && events_left > 0; i++) {
        if (data[i] < 0x80 && data[i] != '#') {
            rig_on_byte(&rig, data[i], false);
            if (data[i] == '\n') {
                pass(POLL_TICKS);
            }
        }
    }
    pass(4u * POLL_TICKS);
    MUST(fuzz_port.place == place && rig.order.kind == RIG_MOTION_NONE);
    MUST(rig.homed == homed && rig.fenced == fenced && rig.held == !fuzz_port.drive);
    MUST(rig.fence_low == low && rig.fence_high == high);
    MUST(rig.memory.number == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    start();
    for (size_t i = 0; i < size; i++) {
        if (data[i] >= 0x80) {
            act(data[i]);
        } else {
            rig_on_byte(&rig, data[i], false);
            if (data[i] == '\n') {
                pass(POLL_TICKS);
            }
        }
    }
    pass(4u * POLL_TICKS);
    replay(data, size);
    return 0;
}

/// Requests with values at the ends ///

struct range {
    int32_t low;
    int32_t high;
};

struct verb {
    // cppcheck-suppress unusedStructMember; the table has it
    uint8_t hand;
    uint8_t order;
    uint8_t arguments;
    uint8_t first;
};

static const char words[][RIG_VERB_SIZE] = RIG_VERB_WORDS;
static const struct verb verbs[] = RIG_VERB_ROWS;
static const struct range ranges[] = RIG_ARGUMENT_ROWS;

#define ENDS 14u

// Value number `end` of the ends that an argument has
static long long end_of(const struct range *range, unsigned end)
{
    const long long all[ENDS] = {range->low,  range->low - 1LL, range->low + 1LL, range->high,
                                 range->high + 1LL, range->high - 1LL, 0, -1, 1, INT32_MIN,
                                 INT32_MAX, UINT32_MAX, UINT32_MAX + 1LL, 1500};
    return all[end % ENDS];
}

// Write a whole line; `pick` chooses the end for each argument
static size_t write_request(char *line, size_t room, unsigned number, unsigned verb,
                            unsigned (*pick)(void))
{
    int length = snprintf(line, room, "&q%u %s", number, words[verb]);
    for (unsigned i = 0; i < verbs[verb].arguments; i++) {
        bool session = verbs[verb].order != 0 && i + 1u == verbs[verb].arguments;
        unsigned end = pick();
        // Mostly that of the beginning, or of a greeting since
        long long value = session && end % ENDS < 10u
                              ? (long long)(SESSION + end % 3u)
                              : end_of(&ranges[verbs[verb].first + i], end);
        length += snprintf(line + length, room - (size_t)length, " %lld", value);
    }
    uint16_t check = RIG_CHECK_START;
    for (int i = 1; i < length; i++) {
        check = rig_check_add(check, (uint8_t)line[i]);
    }
    return (size_t)(length + snprintf(line + length, room - (size_t)length, " %04x\n", check));
}

static void feed(const char *line)
{
    for (; *line != 0; line++) {
        rig_on_byte(&rig, (uint8_t)*line, false);
    }
    pass(20u * POLL_TICKS);
}

// In the session after one greeting
#define GO_LINE "&q6 go 30000 1600 160000 1 200 4712 b562\n"

static unsigned chosen[RIG_MOST_ARGUMENTS];
static unsigned chosen_at;

static unsigned pick_chosen(void)
{
    return chosen[chosen_at++ % RIG_MOST_ARGUMENTS];
}

// Every argument of every verb at each of its ends, the others at a fair value, from
// `raw`, `ready` and while moving
static void run_ends(void)
{
    char line[200];
    for (unsigned verb = 0; verb < RIG_VERB_COUNT; verb++) {
        for (unsigned i = 0; i < verbs[verb].arguments * ENDS; i++) {
            for (unsigned state = 0; state < 3u; state++) {
                for (unsigned j = 0; j < RIG_MOST_ARGUMENTS; j++) {
                    chosen[j] = ENDS - 1u;
                }
                if (verbs[verb].order != 0) {
                    // That after the greeting
                    chosen[verbs[verb].arguments - 1u] = 1u;
                }
                chosen[i / ENDS] = i % ENDS;
                chosen_at = 0;
                start();
                feed("&q1 hail 1 b29f\n");
                if (state != 0) {
                    make_ready();
                }
                if (state == 2) {
                    feed(GO_LINE);
                }
                (void)write_request(line, sizeof line, 9, verb, pick_chosen);
                feed(line);
                pass(2000u * 40u);
                feed("#");
            }
        }
    }
}

int LLVMFuzzerInitialize(int *count, char ***arguments)
{
    (void)count;
    (void)arguments;
    run_ends();
    return 0;
}

/// Mutator ///

static unsigned pick_random(void)
{
    return (unsigned)rand();
}

// Give each line in the data the check that fits it; returns the size
static size_t repair(uint8_t *data, size_t size)
{
    for (size_t i = 0; i < size; i++) {
        if (data[i] != '&') {
            continue;
        }
        size_t end = i + 1;
        while (end < size && data[end] != '\n' && data[end] != '&') {
            end++;
        }
        if (end < size && data[end] == '\n' && end > i + 6) {
            char digits[6];
            uint16_t check = RIG_CHECK_START;
            for (size_t j = i + 1; j < end - 5; j++) {
                check = rig_check_add(check, data[j]);
            }
            snprintf(digits, sizeof digits, " %04x", check);
            memcpy(data + end - 5, digits, 5);
        }
        i = end - 1;
    }
    return size;
}

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t room, unsigned seed)
{
    srand(seed);
    if (rand() % 3 == 0) {
        char line[200];
        size_t length = write_request(line, sizeof line, (unsigned)rand() % (rand() % 2 == 0 ? 6u : 256u),
                                      (unsigned)rand() % RIG_VERB_COUNT, pick_random);
        size_t at = size == 0 ? 0 : (size_t)rand() % size;
        // Rather at the end of another line than within it
        while (at < size && at > 0 && data[at - 1] != '\n') {
            at++;
        }
        if (size + length <= room) {
            memmove(data + at + length, data + at, size - at);
            memcpy(data + at, line, length);
            return size + length;
        }
    }
    size = LLVMFuzzerMutate(data, size, room);
    return rand() % 8 == 0 ? size : repair(data, size);
}
