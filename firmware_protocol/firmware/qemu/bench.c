// The board in the emulator, with the simulated world on its pins, in lock-step
//
// Part of the image for tests: the emulator knows the processor and its timers, but no
// pins, and a line without a rate. Both are made here, and raise the port's interrupts as
// hardware would. A second serial line steers: it says how far time may go on, gives and
// takes what the other line carries, and sets the world. While it waits there, every
// timer stands still, so nothing depends on how fast the emulator runs. The world takes
// no time either.
//
// Commands, each a letter and its arguments, low byte first; answers without a letter:
//   A us slice      go on for so long; with a slice above 0 until the end of one in which
//                   something came out: us that passed (32 bits), cycles of 62.5 ns since
//                   the first start (64), count of bytes that came out (16), the bytes
//   F count bytes   give the line so many bytes (16 bits)
//   S value number  set a value of bench.h (8 bits) to a double
//   G value         its double
//   E index         a change of an input: whether kept, command, cycles, input, level,
//                   count of the scale
//   R reason        restart for a reason (8 bits): one byte once that is done
//   B time notice   restart with the clock at a time (us, 32 bits), and with a number for
//                   the notice after that of the start (16 bits): one byte as with R
//   H               let the program hang
#include <string.h>

#include "port.h"
#include "values.h"

#define KEPT __attribute__((section(".kept")))

// More urgent than the rig's interrupts
#define BENCH_PRIORITY 0x20u
#define CONTROL_PRIORITY 0x00u

// The serial line that steers
#define CONTROL_DATA (*(volatile uint32_t *)0x40004000u)
#define CONTROL_STATE (*(volatile uint32_t *)0x40004004u)
#define CONTROL_CONTROL (*(volatile uint32_t *)0x40004008u)
#define CONTROL_INTERRUPT (*(volatile uint32_t *)0x4000400Cu)
#define CONTROL_DIVIDER (*(volatile uint32_t *)0x40004010u)
// Sender, receiver, receiver's interrupt
#define CONTROL_RUNS 0x0Bu
#define CONTROL_CAME 2u
#define CONTROL_LINE 0u

// The timer of the bench
#define EVENT_LOAD (*(volatile uint32_t *)0x40002000u)
#define EVENT_CONTROL (*(volatile uint32_t *)0x40002008u)
#define EVENT_CLEAR (*(volatile uint32_t *)0x4000200Cu)
// Counting once, 32 bits, with its interrupt
#define EVENT_RUNS 0xA3u
#define EVENT_LINE 10u

#define LINE(number) (UINT32_C(1) << (number))
#define TICKS_PER_S (25.0 * 1e6)
#define NEVER UINT64_MAX
#define WIRE_ROOM 4096u
#define MARK UINT32_C(0x52494721)
#define WATCHDOG_TICKS (UINT64_C(120000) * RIG_TICKS_PER_US)

struct wire {
    uint8_t bytes[WIRE_ROOM];
    uint16_t head;
    uint16_t tail;
};

// What a restart leaves as it is
struct bench {
    uint32_t mark;
    uint16_t boot;
    uint8_t reason;
    // Clock and number to begin with at the next start
    bool late;
    uint32_t late_us;
    uint16_t late_notice;
    struct world world;
    struct wire in;
    struct wire out;
    // Ticks since the first start
    uint64_t now;
    uint64_t slice_end;
    // From where and how far to go on, as the last order said; it is under way
    uint64_t go_begin;
    uint64_t go_end;
    uint32_t slice_ticks;
    bool going;
    // The host's side of the line, bits/s; 0: always the controller's
    uint32_t line_rate;
    uint32_t overruns;
    // The controller's settings
    uint8_t kept[64];
};

// What it does not
struct pins {
    // Clock's timer when `now` was counted
    uint32_t clock_seen;
    uint64_t alive;
    uint32_t rate;
    bool up;
    // Times on the line, ticks; NEVER while there is no byte
    double arrives;
    double gone;
    bool sending;
    bool receiving;
    uint8_t sent_byte;
    uint8_t received_byte;
    bool unread;
    bool overrun;
    bool hang;
    struct {
        bool waits;
        bool missed;
        bool level;
        uint32_t tick;
        uint32_t scale;
    } latches[RIG_SOURCE_COUNT];
};

static struct bench bench KEPT;
static struct pins pins;
static const uint8_t source_bits[RIG_SOURCE_COUNT] = {WORLD_OUT, WORLD_PROBE, WORLD_HOME};

/// Time ///

// Ticks since the first start, at the timer's present reading
static uint64_t now(void)
{
    uint32_t clock = ~CLOCK_TIMER->value;
    bench.now += (uint32_t)(clock - pins.clock_seen);
    pins.clock_seen = clock;
    return bench.now;
}

static uint64_t cycles_now(void)
{
    return now() * 16u / RIG_TICKS_PER_US;
}

static void stop_time(void)
{
    CLOCK_TIMER->control = 0;
    STEP_TIMER->control = 0;
    EVENT_CONTROL = EVENT_RUNS & ~UINT32_C(0x80);
}

static void start_time(void)
{
    EVENT_CONTROL = EVENT_RUNS;
    STEP_TIMER->control = TIMER_RUNS;
    CLOCK_TIMER->control = TIMER_RUNS;
}

// Hold everything, the bench's own interrupt too
static uint32_t hold(void)
{
    uint32_t before;
    __asm__ volatile("mrs %0, basepri\n\tmsr basepri_max, %1"
                     : "=&r"(before)
                     : "r"(BENCH_PRIORITY)
                     : "memory");
    return before;
}

static void release(uint32_t before)
{
    __asm__ volatile("msr basepri, %0" ::"r"(before) : "memory");
}

// Let the bench's interrupt come when the next thing happens
static void plan_event(void)
{
    double next = (double)(pins.alive + WATCHDOG_TICKS);
    if ((double)bench.slice_end < next) {
        next = (double)bench.slice_end;
    }
    if (pins.receiving && pins.arrives < next) {
        next = pins.arrives;
    }
    if (pins.sending && pins.gone < next) {
        next = pins.gone;
    }
    double ahead = next - (double)now();
    EVENT_LOAD = ahead < 2.0 ? 2u : ahead > 4e9 ? UINT32_C(4000000000) : (uint32_t)ahead + 1u;
}

/// Pins ///

// Latch what changed, and raise the interrupts
static void latch(uint8_t changed)
{
    uint32_t tick = ~CLOCK_TIMER->value;
    for (uint8_t source = 0; source < RIG_SOURCE_COUNT; source++) {
        if ((changed & source_bits[source]) != 0) {
            pins.latches[source].missed = pins.latches[source].waits;
            pins.latches[source].waits = true;
            pins.latches[source].level = (board_inputs() & source_bits[source]) != 0;
            pins.latches[source].tick = tick;
            pins.latches[source].scale = board_scale();
            INTERRUPTS_PEND = INPUT_INTERRUPT;
        }
    }
    if ((changed & WORLD_DRIVE) != 0) {
        INTERRUPTS_PEND = DRIVE_INTERRUPT;
    }
}

void board_step(bool level)
{
    if (level) {
        uint32_t before = hold();
        stop_time();
        latch(world_pulse(&bench.world, pins.up, cycles_now()));
        start_time();
        release(before);
    }
}

void board_direction(bool up)
{
    pins.up = up;
}

void board_enable(bool on)
{
    bench.world.enabled = on;
}

// The setting of the polarities against that of the contacts
uint8_t board_inputs(void)
{
    uint8_t high = (uint8_t)port_rig.settings[RIG_SETTING_HIGH_INPUTS];
    return bench.world.inputs ^ high ^ WORLD_OPENS;
}

int32_t board_read(uint8_t quantity)
{
    return (int32_t)world_quantity(&bench.world, quantity);
}

void board_put(uint8_t control, int32_t value)
{
    uint32_t before = hold();
    stop_time();
    latch(world_put(&bench.world, control, value, cycles_now()));
    start_time();
    release(before);
}

uint32_t board_scale(void)
{
    return (uint32_t)world_scale(&bench.world);
}

uint8_t board_kept(uint8_t at)
{
    return bench.kept[at];
}

void board_keep(uint8_t at, uint8_t byte)
{
    bench.kept[at] = byte;
}

uint32_t board_random(void)
{
    return UINT32_C(20260102); // each emulated board is the same one
}

bool board_take_change(struct board_change *change)
{
    uint32_t before = hold();
    bool found = false;
    for (uint8_t source = 0; source < RIG_SOURCE_COUNT && !found; source++) {
        if (pins.latches[source].waits) {
            found = true;
            pins.latches[source].waits = false;
            change->source = (enum rig_source)source;
            change->level = pins.latches[source].level;
            change->tick = pins.latches[source].tick;
            change->scale = pins.latches[source].scale;
            change->missed = pins.latches[source].missed;
        }
    }
    release(before);
    return found;
}

/// Line ///

static bool wire_get(struct wire *wire, uint8_t *byte)
{
    if (wire->tail == wire->head) {
        return false;
    }
    *byte = wire->bytes[wire->tail];
    wire->tail = (uint16_t)((wire->tail + 1u) % WIRE_ROOM);
    return true;
}

static void wire_put(struct wire *wire, uint8_t byte)
{
    uint16_t next = (uint16_t)((wire->head + 1u) % WIRE_ROOM);
    if (next != wire->tail) {
        wire->bytes[wire->head] = byte;
        wire->head = next;
    }
}

static double byte_ticks(void)
{
    return 10.0 * TICKS_PER_S / pins.rate;
}

static bool rates_differ(void)
{
    return bench.line_rate != 0 && bench.line_rate != pins.rate;
}

uint8_t board_received(bool *damaged)
{
    uint32_t before = hold();
    uint8_t byte = pins.received_byte;
    *damaged = pins.overrun || rates_differ();
    pins.unread = false;
    pins.overrun = false;
    release(before);
    return rates_differ() ? 0xFF : byte;
}

bool board_can_send(void)
{
    return !pins.sending;
}

void board_send(uint8_t byte)
{
    uint32_t before = hold();
    stop_time();
    pins.sent_byte = byte;
    // One right after another goes out without a pause
    double begin = (double)now();
    if (pins.gone < begin - byte_ticks() || pins.gone > begin) {
        pins.gone = begin;
    }
    pins.gone += byte_ticks();
    pins.sending = true;
    plan_event();
    start_time();
    release(before);
}

bool board_sent(void)
{
    return !pins.sending;
}

void board_rate(uint32_t bits_s)
{
    pins.rate = bits_s;
}

// A byte that comes while the last is unread takes its place
static void byte_comes(void)
{
    if (pins.unread) {
        pins.overrun = true;
        bench.overruns++;
    }
    pins.unread = true;
    pins.receiving = wire_get(&bench.in, &pins.received_byte);
    INTERRUPTS_PEND = RECEIVE_INTERRUPT;
    pins.arrives += byte_ticks();
    pins.receiving = bench.in.head != bench.in.tail;
}

static void byte_goes(void)
{
    wire_put(&bench.out, rates_differ() ? 0xFF : pins.sent_byte);
    pins.sending = false;
    INTERRUPTS_PEND = SEND_INTERRUPT;
}

/// Steering ///

void board_on_line_0(void)
{
    CONTROL_INTERRUPT = CONTROL_CAME;
    INTERRUPTS_OFF = LINE(CONTROL_LINE);
}

static uint8_t take(void)
{
    // The interrupt only wakes: polling would keep a processor of the host's busy. It is
    // held until the processor sleeps, and wakes it all the same.
    __asm__ volatile("cpsid i" ::: "memory");
    while ((CONTROL_STATE & CONTROL_CAME) == 0) {
        INTERRUPTS_ON = LINE(CONTROL_LINE);
        __asm__ volatile("wfi\n\tcpsie i\n\tisb\n\tcpsid i" ::: "memory");
    }
    __asm__ volatile("cpsie i" ::: "memory");
    return (uint8_t)CONTROL_DATA;
}

static void take_all(void *to, uint32_t count)
{
    uint8_t *bytes = to;
    for (uint32_t i = 0; i < count; i++) {
        bytes[i] = take();
    }
}

static void give(const void *from, uint32_t count)
{
    const uint8_t *bytes = from;
    for (uint32_t i = 0; i < count; i++) {
        CONTROL_DATA = bytes[i];
    }
}

static void restart(uint8_t reason)
{
    bench.reason = reason;
    __asm__ volatile("dsb" ::: "memory");
    RESET_CONTROL = RESET_NOW;
    for (;;) {
    }
}

static void feed(void)
{
    uint16_t count;
    take_all(&count, sizeof count);
    double soonest = (double)now() + byte_ticks();
    if (!pins.receiving && pins.arrives < soonest) {
        pins.arrives = soonest;
    }
    for (; count > 0; count--) {
        wire_put(&bench.in, take());
    }
    pins.receiving = bench.in.head != bench.in.tail;
}

static void set(void)
{
    double to;
    uint8_t value = take();
    take_all(&to, sizeof to);
    if (value == BENCH_LINE_RATE) {
        bench.line_rate = (uint32_t)to;
    } else if (world_set(&bench.world, value, to)) {
        latch(world_look(&bench.world, cycles_now()));
    }
}

static void get(void)
{
    uint8_t value = take();
    double is = 0.0;
    switch (value) {
    case BENCH_LINE_RATE:
        is = bench.line_rate;
        break;
    case BENCH_CYCLES:
        is = (double)cycles_now();
        break;
    case BENCH_CONTROLLER_RATE:
        is = pins.rate;
        break;
    case BENCH_OVERRUNS:
        is = bench.overruns;
        break;
    default:
        (void)world_get(&bench.world, value, &is);
        break;
    }
    give(&is, sizeof is);
}

static void get_edge(void)
{
    struct world_edge edge = {0};
    uint32_t index;
    take_all(&index, sizeof index);
    uint8_t kept = (uint8_t)world_edge(&bench.world, index, &edge);
    give(&kept, 1);
    give(&edge.command, sizeof edge.command);
    give(&edge.cycles, sizeof edge.cycles);
    give(&edge.input, 1);
    give(&edge.level, 1);
    give(&edge.scale, sizeof edge.scale);
}

static uint16_t out_count(void)
{
    return (uint16_t)((uint16_t)(bench.out.head + WIRE_ROOM - bench.out.tail) % WIRE_ROOM);
}

static void report(void)
{
    uint32_t passed_us = (uint32_t)((bench.slice_end - bench.go_begin) / RIG_TICKS_PER_US);
    uint64_t cycles = cycles_now();
    uint16_t count = out_count();
    uint8_t byte = 0;
    give(&passed_us, sizeof passed_us);
    give(&cycles, sizeof cycles);
    give(&count, sizeof count);
    for (; count > 0; count--) {
        (void)wire_get(&bench.out, &byte);
        give(&byte, 1);
    }
}

// Do what the steering line says until it lets time go on
static void obey(void)
{
    for (;;) {
        uint32_t us[2];
        switch (take()) {
        case 'A':
            take_all(us, sizeof us);
            bench.slice_ticks = us[1] * RIG_TICKS_PER_US;
            // Where the last order ended, to the tick, whatever its interrupt took
            bench.go_begin = bench.slice_end;
            bench.go_end = bench.go_begin + (uint64_t)us[0] * RIG_TICKS_PER_US;
            bench.slice_end = us[1] == 0 || us[1] > us[0] ? bench.go_end : bench.go_begin + bench.slice_ticks;
            return;
        case 'F':
            feed();
            break;
        case 'S':
            set();
            break;
        case 'G':
            get();
            break;
        case 'E':
            get_edge();
            break;
        case 'R':
            restart(take());
            break;
        case 'B':
            take_all(&bench.late_us, sizeof bench.late_us);
            take_all(&bench.late_notice, sizeof bench.late_notice);
            bench.late = true;
            restart(RIG_START_REASON_POWER);
            break;
        case 'H':
            pins.hang = true;
            break;
        default:
            break;
        }
    }
}

// Whether the order is done
static bool is_done(void)
{
    return bench.slice_end >= bench.go_end || out_count() != 0;
}

// Interrupts but those of the steering line are held
static void wait_for_order(void)
{
    TICK_CONTROL = 0;
    bench.going = false;
    obey();
    bench.going = true;
    TICK_CONTROL = TICK_RUNS;
}

void board_on_line_10(void)
{
    EVENT_CLEAR = 1u;
    stop_time();
    double at = (double)now();
    if (pins.receiving && pins.arrives <= at) {
        byte_comes();
    }
    if (pins.sending && pins.gone <= at) {
        byte_goes();
    }
    if (now() - pins.alive >= WATCHDOG_TICKS) {
        restart(RIG_START_REASON_WATCHDOG);
    }
    if (now() >= bench.slice_end) {
        if (is_done()) {
            report();
            wait_for_order();
        } else {
            bench.slice_end += bench.slice_ticks;
            bench.slice_end = bench.slice_end < bench.go_end ? bench.slice_end : bench.go_end;
        }
    }
    plan_event();
    start_time();
}

// Let a controller that has just started look as if it had run for long
static void begin_late(void)
{
    uint64_t ticks = (uint64_t)bench.late_us * RIG_TICKS_PER_US;
    uint32_t before = hold();
    stop_time();
    (void)now();
    port_rig.turns = (uint32_t)(ticks >> 32);
    CLOCK_TIMER->value = ~(uint32_t)ticks;
    pins.clock_seen = (uint32_t)ticks;
    port_rig.ring.next = bench.late_notice;
    port_rig.ring.unsent = bench.late_notice;
    port_rig.ring.held = 0;
    port_rig.heard_us = bench.late_us;
    bench.late = false;
    start_time();
    release(before);
}

void board_alive(void)
{
    if (bench.late) {
        begin_late();
    }
    uint32_t before = hold();
    pins.alive = now();
    release(before);
    if (pins.hang) {
        __asm__ volatile("msr basepri, %0" ::"r"(RIG_PRIORITY) : "memory");
        for (;;) {
        }
    }
}

/// Start ///

void board_start(void)
{
    stop_time();
    pins.clock_seen = ~CLOCK_TIMER->value;
    pins.rate = RIG_FIRST_RATE_BITS_S;
    if (bench.mark != MARK) {
        memset(&bench, 0, sizeof bench);
        bench.mark = MARK;
        bench.line_rate = 0;
        world_init(&bench.world);
        memset(bench.kept, 0xFF, sizeof bench.kept);
    }
    bench.in.tail = bench.in.head;
    bench.boot++;
    INTERRUPT_PRIORITY[CONTROL_LINE] = CONTROL_PRIORITY;
    INTERRUPT_PRIORITY[EVENT_LINE] = BENCH_PRIORITY;
    CONTROL_DIVIDER = 16u;
    CONTROL_CONTROL = CONTROL_RUNS;
    // The switch is on while nothing holds it off
    (void)world_put(&bench.world, RIG_CONTROL_SENSOR_SUPPLY, 1.0, cycles_now());
    INTERRUPTS_ON = LINE(EVENT_LINE);
    if (!bench.going) {
        if (bench.boot > 1u) {
            give(&bench.reason, 1);
        }
        wait_for_order();
    }
    pins.alive = now();
    plan_event();
    start_time();
}

void board_identity(struct rig_identity *identity)
{
    static const struct rig_identity simulated = {
        .abilities = RIG_ABILITY_FAST_RATE | RIG_ABILITY_TOUCH_PROBE
                     | RIG_ABILITY_SUPPLY_SENSE | RIG_ABILITY_SIMULATED
                     | RIG_ABILITY_DRIVE_SENSE | RIG_ABILITY_ENABLE_OUTPUT
                     | RIG_ABILITY_SETTINGS | RIG_ABILITY_SCALE,
        .high_inputs = WORLD_OPENS,
        .quantities = WORLD_ALL_QUANTITIES,
        .controls = WORLD_ALL_CONTROLS,
    };
    *identity = simulated;
    identity->boot = bench.boot;
    identity->reason = bench.reason;
}
