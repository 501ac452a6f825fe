// The controller without hardware
//
// Bytes, edges, timer events in; bytes and step pulses out. Knows no chip: what it needs
// from one is in the port's port.h (see PORTING in README.md). All state is in one
// struct rig that the caller provides and rig_init clears.
//
// The functions of "Events" run with interrupts off: from an interrupt routine, or in
// the simulated worlds between two polls. All others belong to the main loop.
#ifndef RIG_H
#define RIG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "config.h"
#include "table.h"

/// Step timer ///

#define RIG_TICKS_PER_S (UINT32_C(1000000) * RIG_TICKS_PER_US)
#define RIG_HALF_TURN (UINT32_C(1) << (RIG_TIMER_BITS - 1))
#define RIG_LATE_TICKS (UINT32_C(1) * RIG_LATE_US * RIG_TICKS_PER_US)
#define RIG_SETTLE_TICKS (UINT32_C(1) * RIG_SETTLE_US * RIG_TICKS_PER_US)

// A reading of the timer, the difference of two, ticks with 16 fraction bits and their
// change, and the square of a speed, (steps/s)^2: as wide as the timer, so that a small
// chip computes with no more than it needs
#if RIG_TIMER_BITS == 16
typedef uint16_t rig_tick_t;
typedef int16_t rig_span_t;
typedef uint32_t rig_ticks_t;
typedef int32_t rig_change_t;
typedef uint32_t rig_square_t;
#else
typedef uint32_t rig_tick_t;
typedef int32_t rig_span_t;
typedef uint64_t rig_ticks_t;
typedef int64_t rig_change_t;
typedef uint64_t rig_square_t;
#endif

/// Definitions ///

// Kind of a ring slot whose notice could not be latched: its number is used up
#define RIG_NOTICE_VOID 0xFFu

// One notice as it is kept; the line is made from it when it is sent
struct rig_notice {
    // enum rig_notice_kind or RIG_NOTICE_VOID
    uint8_t kind;
    // start: reason; edge: source; rest: request; fault: number
    uint8_t first;
    // edge: level; rest: cause
    uint8_t second;
    // Notices lost until this one was made, modulo 65536
    uint16_t lost;
    // Edge: the scale's count less the step count, modulo 65536
    uint16_t scale;
    // Steps; start: boot
    int32_t position;
    // Microseconds of the controller's clock
    uint32_t time_us;
};

// The last notice of a kind that no storm of edges may take away
struct rig_kept {
    struct rig_notice notice;
    uint16_t number;
    // There is one
    bool held;
    // The ring overwrote it before it was sent
    bool due;
};

struct rig_ring {
    struct rig_notice slots[RIG_RING_SIZE];
    // The last `rest` and the last `fault`, in this order
    struct rig_kept kept[2];
    // Number that the next notice gets
    uint16_t next;
    // Number of the first notice not sent yet; equals next when all are sent
    uint16_t unsent;
    // Numbers held in the ring, 0 to RIG_RING_SIZE
    uint8_t held;
    // Notices overwritten before they were sent, modulo 65536
    uint16_t lost;
    // Notices sent since the last reply; counts to RIG_NOTICES_BEFORE_REPLY
    uint8_t since_reply;
    // A notice asked for by `recall`, sent before all others
    struct rig_notice recalled;
    uint16_t recalled_number;
    bool recall_due;
};

// Steps at constant change of their interval
struct rig_segment {
    // 1 to 255
    uint8_t steps;
    // Ticks before the first step, 16 fraction bits
    rig_ticks_t interval;
    // Added to the interval after each step, 16 fraction bits
    rig_change_t change;
    // Square of the speed at the end, (steps/s)^2; brakes are computed from it
    rig_square_t end_square;
};

// When a pulse was given
struct rig_pulse {
    // Timer, and low byte of its overflow count
    rig_tick_t tick;
    uint8_t turn;
};

// What the step interrupt works on
struct rig_stepper {
    // Steps from home, counted with every pulse
    int32_t position;
    // Timer ticks of the next pulse, modulo a turn, and 16 fraction bits
    rig_ticks_t due;
    rig_ticks_t interval;
    rig_change_t change;
    // Steps still to do of the segment in work
    uint8_t remaining;
    // Whole timer turns in each interval beside `interval`, and those left to wait
    uint16_t turns;
    uint16_t turns_left;
    // The last pulses, and which of them is the newest
    struct rig_pulse pulses[RIG_PULSES_KEPT];
    uint8_t newest;
    // First segment and first free slot of the queue
    volatile uint8_t tail;
    volatile uint8_t head;
    bool up;
    // Pulses are being given
    volatile bool running;
    // The last pulse was given, the report of rest is due
    bool settling;
    // The queue was shortened to the step, and is not to be planned again
    volatile bool capped;
    // Nothing more will be added to the queue
    volatile bool complete;
    // Each match is a pulse: running, not settling, no whole turns to wait
    bool plain;
    // The interval changes within the segment
    bool ramps;
    struct rig_segment queue[RIG_QUEUE_SIZE];
};

// What the main loop plans from; speeds in steps/s, their squares in (steps/s)^2
struct rig_plan {
    // Place at the end of what is in the queue, steps from home
    int32_t end;
    // Steps of each phase not yet in the queue
    uint32_t accelerate;
    uint32_t cruise;
    uint32_t brake;
    // Square of the speed at the end of what is in the queue, of the lowest and of the
    // cruising speed
    rig_square_t square;
    rig_square_t low_square;
    rig_square_t high_square;
    // Twice the acceleration: by how much a step changes the square
    uint32_t per_step;
    // Steps/s at the end of what is in the queue; 12 fraction bits
    uint32_t speed;
    // Ticks a step at the end of what is in the queue, and while cruising; 16 fraction
    // bits
    rig_ticks_t interval;
    rig_ticks_t cruise_interval;
    // Steps of a cruising segment
    uint8_t cruise_steps;
    // No ramps: the speed is at most START_SPEED
    bool flat;
};

enum rig_motion_kind {
    RIG_MOTION_NONE,
    RIG_MOTION_GO,
    RIG_MOTION_TOUCH,
    RIG_MOTION_SEEK
};

// Parts of `home`
enum rig_seek {
    // Down, slowly, until the probe opens
    RIG_SEEK_AWAY,
    // Down, fast, until the switch closes
    RIG_SEEK_FAST,
    // Fast part braking
    RIG_SEEK_BRAKE,
    // Up, slowly, until the switch opens
    RIG_SEEK_LEAVE,
    // Up the rest of the way
    RIG_SEEK_CLEAR,
    // Down, slowly, until the switch closes
    RIG_SEEK_LAST
};

struct rig_order {
    // enum rig_motion_kind
    volatile uint8_t kind;
    // enum rig_seek
    volatile uint8_t seek;
    // Request that asked for it
    uint8_t request;
    // Edges of the sensor's output still to come before the turn; 0: none awaited
    uint8_t edges;
    // A change of the output that has not lasted long enough to count: where and when
    volatile bool pending;
    int32_t pending_position;
    uint32_t pending_us;
    // The last of them was latched; the place to rest at holds
    volatile bool turned;
    // The main loop has taken note of it
    bool turn_taken;
    // A part of `home` came to its end
    volatile bool part_over;
    // Steps to go on after the turn, and where that leads to
    int32_t overrun;
    int32_t rest_at;
    // `home`: its speeds, steps/s
    uint32_t fast;
    uint32_t slow;
};

struct rig_bytes_in {
    volatile uint8_t bytes[RIG_RX_SIZE];
    volatile uint8_t head;
    volatile uint8_t tail;
    // The stop byte came and the main loop has not seen it yet
    volatile bool stop;
};

struct rig_bytes_out {
    volatile uint8_t bytes[RIG_TX_SIZE];
    volatile uint8_t head;
    volatile uint8_t tail;
};

// The line being received, from after the start byte
struct rig_line {
    char text[RIG_LONGEST_LINE_BYTES];
    uint8_t length;
    bool inside;
    // A carriage return came: only the end may follow
    bool returned;
    // Whole: waits for room for its reply
    bool whole;
};

// The last order of the session
struct rig_memory {
    // 0: none yet
    uint8_t number;
    uint8_t words_length;
    uint8_t reply_length;
    char words[RIG_LONGEST_LINE_BYTES];
    char reply[RIG_LONGEST_LINE_BYTES + 1];
};

#define RIG_NAME_LENGTH 16u

// Settings, in the order in which they are kept
enum rig_setting {
    RIG_SETTING_STEPS_PER_M,
    RIG_SETTING_TRAVEL_LOW,
    RIG_SETTING_TRAVEL_HIGH,
    RIG_SETTING_SPEED_LIMIT,
    RIG_SETTING_ACCELERATION_LIMIT,
    RIG_SETTING_START_SPEED,
    RIG_SETTING_ABILITIES,
    RIG_SETTING_HOME_CLEAR,
    RIG_SETTING_HOME_SEARCH,
    RIG_SETTING_HIGH_INPUTS,
    RIG_SETTING_SERIAL,
    RIG_SETTING_NAME_1,
    RIG_SETTING_NAME_2,
    RIG_SETTING_NAME_3,
    RIG_SETTING_NAME_4,
    RIG_SETTING_COUNT
};

// What a start gives the controller
struct rig_identity {
    // Changes with every start
    uint16_t boot;
    // To begin with, until settings are kept: sum of enum rig_ability, and of enum
    // rig_input for those that are 1 while their pin is high
    uint8_t abilities;
    uint8_t high_inputs;
    // Sums of 2^number of enum rig_quantity and of enum rig_control
    uint8_t quantities;
    uint8_t controls;
    // enum rig_start_reason
    uint8_t reason;
};

struct rig {
    // The port's own, handed back to it
    void *port;
    struct rig_identity identity;
    // By enum rig_setting
    int32_t settings[RIG_SETTING_COUNT];
    // Overflows of the step timer since the start
    uint32_t turns;
    // What the port's count of the scale was where the step count became 0
    uint32_t scale_zero;
    struct rig_stepper stepper;
    struct rig_order order;
    struct rig_bytes_in in;
    struct rig_bytes_out out;
    struct rig_ring ring;
    struct rig_plan plan;
    struct rig_line line;
    struct rig_memory memory;
    // Soft limits, steps
    int32_t fence_low;
    int32_t fence_high;
    // Time of the last sound line
    uint32_t heard_us;
    // Time when the supply was last seen; whether it has been there since its last loss
    uint32_t supply_us;
    bool supplied;
    // `put` switched it off
    bool supply_off;
    // Whether the motor's drive has been on since its last loss
    bool driven;
    // The motor has its current
    volatile bool enabled;
    // The touch probe has changed since the start
    volatile bool probe_seen;
    // Time of the last change of rate
    uint32_t rate_us;
    // Rate to change to once the answer is out; 0: none
    uint32_t rate_due;
    // No sound line yet since the rate was changed
    bool rate_untried;
    // Damaged lines from the host, modulo 65536
    uint16_t dropped;
    // Last fault, 0 for none
    uint8_t fault;
    // Last known level of each input, by enum rig_source
    bool levels[RIG_SOURCE_COUNT];
    bool greeted;
    // The session, and whether its orders are still taken
    uint16_t session;
    bool in_session;
    volatile bool held;
    volatile bool homed;
    volatile bool fenced;
    // While a line is put out: its check so far; whether it is kept as a reply
    uint16_t check;
    bool keeping;
};

/// Start and main loop ///

// Clear everything and begin as after power-on
//
// The port's timer runs and its inputs can be read already. No event may come before
// this returns.
void rig_init(struct rig *rig, void *port, const struct rig_identity *identity);

// One turn of the main loop: never waits
//
// Returns false when it found nothing to do: then the port may sleep until the next
// interrupt, for a millisecond at most.
bool rig_poll(struct rig *rig);

/// Events ///

// A byte came. `damaged`: the port saw a framing error or lost a byte around it.
void rig_on_byte(struct rig *rig, uint8_t byte, bool damaged);

// The sender is free: true and the next byte, or false for none
static inline bool rig_next_byte(struct rig *rig, uint8_t *byte)
{
    uint8_t tail = rig->out.tail;
    if (tail == rig->out.head) {
        return false;
    }
    *byte = rig->out.bytes[tail];
    rig->out.tail = (uint8_t)((tail + 1u) % RIG_TX_SIZE);
    return true;
}

// An input changed to `level` when the timer stood at `tick` in its turn `turn` (low
// byte of the overflow count), which is `time_us` on the clock, and the scale at `scale`;
// 0 on a port without one
void rig_on_edge(struct rig *rig, enum rig_source source, bool level, rig_tick_t tick,
                 uint8_t turn, uint32_t time_us, uint32_t scale);

// An input changed to `level`, too soon after another change to be latched
void rig_on_edge_missed(struct rig *rig, enum rig_source source, bool level);

// The input of the motor's drive changed; the level is read from the port. A port that
// cannot tell leaves it to the main loop, which looks at each turn.
void rig_on_drive(struct rig *rig);

// The timer went over its end. The match of the step timer is in stepper.h.
void rig_on_overflow(struct rig *rig);

#endif
