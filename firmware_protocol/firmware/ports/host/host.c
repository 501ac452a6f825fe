// The host port: the core with simulated time, line and pins
//
// Events come one after another at whole ticks of the step timer: bytes at the rate of the line,
// matches and overflows of the step timer, and a turn of the main loop every 50 us.
#include "host.h"

#include <stdlib.h>
#include <string.h>

#include "stepper.h"
#include "values.h"

// A cycle of the benches is 62.5 ns
#define CYCLES_PER_TICK (16u / RIG_TICKS_PER_US)
#define POLL_TICKS (50u * RIG_TICKS_PER_US)
#define TURN_TICKS (UINT64_C(1) << RIG_TIMER_BITS)
#define WIRE_ROOM 65536u
#define NEVER UINT64_MAX
#define KEPT_BYTES 64u

struct wire {
    uint8_t bytes[WIRE_ROOM];
    size_t head;
    size_t tail;
};

struct bench {
    struct rig rig;
    struct world world;
    struct rig_identity identity;
    // What outlives a restart
    uint8_t kept[KEPT_BYTES];
    // Ticks since the bench was made, and when the controller was started
    uint64_t now;
    uint64_t started;
    uint64_t match_at;
    uint64_t overflow_at;
    uint64_t poll_at;
    // When the byte on its way has come, or gone; in ticks, fractions count up
    double arrives;
    double gone;
    bool sending;
    uint8_t sent_byte;
    bool compare_on;
    bool up;
    // Inputs that changed and whose events are still to come
    uint8_t changed;
    uint32_t rate;
    uint32_t line_rate;
    struct wire in;
    struct wire out;
};

/// Wire ///

static bool wire_get(struct wire *wire, uint8_t *byte)
{
    if (wire->tail == wire->head) {
        return false;
    }
    *byte = wire->bytes[wire->tail];
    wire->tail = (wire->tail + 1u) % WIRE_ROOM;
    return true;
}

static void wire_put(struct wire *wire, uint8_t byte)
{
    size_t next = (wire->head + 1u) % WIRE_ROOM;
    if (next != wire->tail) {
        wire->bytes[wire->head] = byte;
        wire->head = next;
    }
}

static double byte_ticks(const struct bench *bench)
{
    return 10.0 * RIG_TICKS_PER_S / bench->rate;
}

static bool rates_differ(const struct bench *bench)
{
    return bench->line_rate != 0 && bench->line_rate != bench->rate;
}

/// Port ///

static struct bench *bench_of(struct rig *rig)
{
    return rig->port;
}

static uint64_t timer_ticks(struct rig *rig)
{
    return bench_of(rig)->now - bench_of(rig)->started;
}

uint32_t port_time_us(struct rig *rig)
{
    return (uint32_t)(timer_ticks(rig) / RIG_TICKS_PER_US);
}

rig_tick_t port_timer(struct rig *rig)
{
    return (rig_tick_t)timer_ticks(rig);
}

uint8_t port_turn(struct rig *rig, rig_tick_t tick)
{
    uint64_t now = timer_ticks(rig);
    return (uint8_t)((now - (rig_tick_t)((rig_tick_t)now - tick)) >> RIG_TIMER_BITS);
}

void port_compare(struct rig *rig, rig_tick_t at)
{
    rig_tick_t ahead = (rig_tick_t)(at - port_timer(rig));
    bench_of(rig)->match_at = bench_of(rig)->now + (ahead == 0 ? TURN_TICKS : ahead);
}

void port_compare_on(struct rig *rig, bool on)
{
    bench_of(rig)->compare_on = on;
}

void port_step(struct rig *rig, bool level)
{
    struct bench *bench = bench_of(rig);
    if (level) {
        bench->changed |=
            world_pulse(&bench->world, bench->up, bench->now * CYCLES_PER_TICK);
    }
}

void port_direction(struct rig *rig, bool up)
{
    bench_of(rig)->up = up;
}

void port_enable(struct rig *rig, bool on)
{
    bench_of(rig)->world.enabled = on;
}

// As the controller reads them: its setting of the polarities against that of the contacts
static uint8_t levels(const struct bench *bench)
{
    uint8_t high = (uint8_t)bench->rig.settings[RIG_SETTING_HIGH_INPUTS];
    return bench->world.inputs ^ high ^ WORLD_OPENS;
}

uint8_t port_kept(struct rig *rig, uint8_t at)
{
    return bench_of(rig)->kept[at];
}

void port_keep(struct rig *rig, uint8_t at, uint8_t byte)
{
    bench_of(rig)->kept[at] = byte;
}

uint32_t port_random(struct rig *rig)
{
    (void)rig;
    return UINT32_C(20260101); // each bench is the same one
}

int32_t port_read(struct rig *rig, uint8_t quantity)
{
    return (int32_t)world_quantity(&bench_of(rig)->world, quantity);
}

void port_put(struct rig *rig, uint8_t control, int32_t value)
{
    struct bench *bench = bench_of(rig);
    bench->changed |=
        world_put(&bench->world, control, value, bench->now * CYCLES_PER_TICK);
}

uint32_t port_scale(struct rig *rig)
{
    return (uint32_t)world_scale(&bench_of(rig)->world);
}

uint8_t port_inputs(struct rig *rig)
{
    return levels(bench_of(rig));
}

void port_sending(struct rig *rig)
{
    struct bench *bench = bench_of(rig);
    if (!bench->sending && rig_next_byte(rig, &bench->sent_byte)) {
        bench->sending = true;
        bench->gone = (double)bench->now + byte_ticks(bench);
    }
}

bool port_sent(struct rig *rig)
{
    return !bench_of(rig)->sending;
}

void port_rate(struct rig *rig, uint32_t bits_s)
{
    bench_of(rig)->rate = bits_s;
}

/// Events ///

static void deliver_edges(struct bench *bench)
{
    uint8_t changed = bench->changed;
    bench->changed = 0;
    if ((changed & WORLD_DRIVE) != 0) {
        rig_on_drive(&bench->rig);
    }
    static const uint8_t bits[RIG_SOURCE_COUNT] = {WORLD_OUT, WORLD_PROBE, WORLD_HOME};
    for (uint8_t source = 0; source < RIG_SOURCE_COUNT; source++) {
        if ((changed & bits[source]) != 0) {
            rig_tick_t tick = port_timer(&bench->rig);
            rig_on_edge(&bench->rig, (enum rig_source)source,
                        (levels(bench) & bits[source]) != 0, tick,
                        port_turn(&bench->rig, tick), port_time_us(&bench->rig),
                        port_scale(&bench->rig));
        }
    }
}

static void byte_comes(struct bench *bench)
{
    uint8_t byte = 0;
    (void)wire_get(&bench->in, &byte);
    if (rates_differ(bench)) {
        rig_on_byte(&bench->rig, 0xFF, true);
    } else {
        rig_on_byte(&bench->rig, byte, false);
    }
    bench->arrives += byte_ticks(bench);
}

static void byte_goes(struct bench *bench)
{
    wire_put(&bench->out, rates_differ(bench) ? 0xFF : bench->sent_byte);
    bench->sending = rig_next_byte(&bench->rig, &bench->sent_byte);
    bench->gone += byte_ticks(bench);
}

static uint64_t ticks_up(double ticks)
{
    uint64_t whole = (uint64_t)ticks;
    return (double)whole < ticks ? whole + 1u : whole;
}

static uint64_t sooner(uint64_t a, uint64_t b)
{
    return a < b ? a : b;
}

// One event, if it comes until `end`
static bool next_event(struct bench *bench, uint64_t end)
{
    bool waiting = bench->in.head != bench->in.tail;
    uint64_t match = bench->compare_on ? bench->match_at : NEVER;
    uint64_t comes = waiting ? ticks_up(bench->arrives) : NEVER;
    uint64_t goes = bench->sending ? ticks_up(bench->gone) : NEVER;
    uint64_t next = sooner(sooner(match, comes), sooner(goes, bench->overflow_at));
    next = sooner(next, bench->poll_at);
    if (next > end) {
        bench->now = end;
        return false;
    }
    bench->now = next;
    if (next == comes) {
        byte_comes(bench);
    } else if (next == match) {
        bench->match_at += TURN_TICKS;
        rig_on_match(&bench->rig);
        deliver_edges(bench);
    } else if (next == bench->overflow_at) {
        bench->overflow_at += TURN_TICKS;
        rig_on_overflow(&bench->rig);
    } else if (next == goes) {
        byte_goes(bench);
    } else {
        bench->poll_at += POLL_TICKS;
        (void)rig_poll(&bench->rig);
        deliver_edges(bench);
    }
    return true;
}

/// Bench ///

static void start(struct bench *bench)
{
    bench->started = bench->now;
    bench->in.tail = bench->in.head;
    bench->match_at = NEVER;
    bench->overflow_at = bench->now + TURN_TICKS;
    bench->poll_at = bench->now + POLL_TICKS;
    bench->sending = false;
    bench->compare_on = false;
    bench->rate = RIG_FIRST_RATE_BITS_S;
    // The switch is on while nothing holds it off
    (void)world_put(&bench->world, RIG_CONTROL_SENSOR_SUPPLY, 1.0,
                    bench->now * CYCLES_PER_TICK);
    rig_init(&bench->rig, bench, &bench->identity);
}

struct bench *bench_new(const char *image, int abilities, int quantities, int controls)
{
    struct bench *bench = calloc(1, sizeof *bench);
    if (bench == NULL || image != NULL) {
        free(bench);
        return NULL;
    }
    world_init(&bench->world);
    memset(bench->kept, 0xFF, sizeof bench->kept);
    bench->identity.boot = 1;
    bench->identity.abilities = (uint8_t)abilities;
    bench->identity.high_inputs = WORLD_OPENS;
    bench->identity.quantities = (uint8_t)quantities;
    bench->identity.controls = (uint8_t)controls;
    start(bench);
    return bench;
}

void bench_free(struct bench *bench)
{
    free(bench);
}

void bench_restart(struct bench *bench, int reason)
{
    bench->identity.boot++;
    bench->identity.reason = (uint8_t)reason;
    start(bench);
}

void bench_feed(struct bench *bench, const uint8_t *bytes, size_t count)
{
    double soonest = (double)bench->now + byte_ticks(bench);
    if (bench->in.head == bench->in.tail && bench->arrives < soonest) {
        bench->arrives = soonest;
    }
    for (size_t i = 0; i < count; i++) {
        wire_put(&bench->in, bytes[i]);
    }
}

void bench_advance(struct bench *bench, double seconds)
{
    uint64_t end = bench->now + (uint64_t)(seconds * RIG_TICKS_PER_S + 0.5);
    while (next_event(bench, end)) {
    }
}

size_t bench_take(struct bench *bench, uint8_t *bytes, size_t room)
{
    size_t count = 0;
    while (count < room && wire_get(&bench->out, &bytes[count])) {
        count++;
    }
    return count;
}

void bench_set(struct bench *bench, int value, double to)
{
    if (value == BENCH_LINE_RATE) {
        bench->line_rate = (uint32_t)to;
    } else if (world_set(&bench->world, value, to)) {
        bench->changed |= world_look(&bench->world, bench->now * CYCLES_PER_TICK);
        deliver_edges(bench);
    }
}

double bench_get(const struct bench *bench, int value)
{
    double is = 0.0;
    switch (value) {
    case BENCH_LINE_RATE:
        return bench->line_rate;
    case BENCH_CYCLES:
        return (double)(bench->now * CYCLES_PER_TICK);
    case BENCH_CONTROLLER_RATE:
        return bench->rate;
    default:
        (void)world_get(&bench->world, value, &is);
        return is;
    }
}

int bench_edge(const struct bench *bench, uint64_t index, struct world_edge *edge)
{
    return world_edge(&bench->world, index, edge);
}

void bench_log_pulses(struct bench *bench, uint64_t *cycles, uint64_t capacity)
{
    world_log_pulses(&bench->world, cycles, capacity);
}

uint64_t bench_pulses_logged(const struct bench *bench)
{
    return bench->world.pulse_count;
}

struct rig *host_rig(struct bench *bench)
{
    return &bench->rig;
}
