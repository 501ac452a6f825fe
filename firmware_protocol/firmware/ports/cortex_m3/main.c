// A Cortex-M3: vectors, timers, events and main loop
//
// One timer runs freely at 25 MHz and is the clock; another counts down to the next
// pulse. The system timer wakes the main loop once a millisecond.
#include "stepper.h"

#define TICKS_PER_MS (1000u * RIG_TICKS_PER_US)

struct rig port_rig;
volatile rig_tick_t port_match_at;

/// Clock ///

// Clock at a tick no more than half a turn ago. The rig's interrupts are off.
static uint32_t time_us_at(rig_tick_t tick)
{
    uint32_t turns = port_rig.turns;
    if (CLOCK_TIMER->interrupt != 0 && tick < RIG_HALF_TURN) {
        turns++;
    }
    return (uint32_t)((((uint64_t)turns << 32) | tick) / RIG_TICKS_PER_US);
}

uint32_t port_time_us(struct rig *unused)
{
    port_lock_t lock = port_lock(unused);
    uint32_t time_us = time_us_at(port_timer(unused));
    port_unlock(unused, lock);
    return time_us;
}

/// Events ///

static void on_clock(void)
{
    CLOCK_TIMER->interrupt = 1u;
    rig_on_overflow(&port_rig);
}

static void on_step(void)
{
    STEP_TIMER->interrupt = 1u;
    // Two timers need not count in step: no pulse comes before its time
    while ((rig_span_t)(port_match_at - port_timer(&port_rig)) > 0) {
    }
    rig_on_match(&port_rig);
}

static void on_input(void)
{
    struct board_change change;
    while (board_take_change(&change)) {
        if (change.missed) {
            rig_on_edge_missed(&port_rig, change.source, change.level);
        } else {
            rig_on_edge(&port_rig, change.source, change.level, change.tick,
                        port_turn(&port_rig, change.tick), time_us_at(change.tick),
                        change.scale);
        }
    }
}

static void on_drive(void)
{
    rig_on_drive(&port_rig);
}

static void on_receive(void)
{
    bool damaged;
    uint8_t byte = board_received(&damaged);
    rig_on_byte(&port_rig, byte, damaged);
}

static void on_send(void)
{
    uint8_t byte;
    if (board_can_send() && rig_next_byte(&port_rig, &byte)) {
        board_send(byte);
    }
}

// Wakes the main loop
static void on_tick(void)
{
}

// A failure of the program: a reset takes the motor's current away
static void on_failure(void)
{
    RESET_CONTROL = RESET_NOW;
    for (;;) {
    }
}

void board_on_line_0(void) __attribute__((weak, alias("on_failure")));
void board_on_line_10(void) __attribute__((weak, alias("on_failure")));

/// Start ///

// Places that image.ld gives
extern uint32_t image_stack_top[];
extern uint32_t image_data_begin[];
extern uint32_t image_data_end[];
extern const uint32_t image_data_kept[];
extern uint32_t image_bss_begin[];
extern uint32_t image_bss_end[];

void image_start(void);
int main(void);

void image_start(void)
{
    const uint32_t *kept = image_data_kept;
    for (uint32_t *at = image_data_begin; at < image_data_end; at++) {
        *at = *kept++;
    }
    for (uint32_t *at = image_bss_begin; at < image_bss_end; at++) {
        *at = 0;
    }
    (void)main();
}

union vector {
    void (*routine)(void);
    uint32_t *stack;
};

// Exceptions 2 to 14 are failures of the program
static const union vector vectors[] __attribute__((section(".vectors"), used)) = {
    [0].stack = image_stack_top,
    [1].routine = image_start,
    [2].routine = on_failure,
    [3].routine = on_failure,
    [4].routine = on_failure,
    [5].routine = on_failure,
    [6].routine = on_failure,
    [11].routine = on_failure,
    [12].routine = on_failure,
    [14].routine = on_failure,
    [15].routine = on_tick,
    [16 + 0].routine = board_on_line_0,
    [16 + STEP_LINE].routine = on_step,
    [16 + CLOCK_LINE].routine = on_clock,
    [16 + 10].routine = board_on_line_10,
    [16 + RECEIVE_LINE].routine = on_receive,
    [16 + SEND_LINE].routine = on_send,
    [16 + INPUT_LINE].routine = on_input,
    [16 + DRIVE_LINE].routine = on_drive,
};

static void set_up_timers(void)
{
    CLOCK_TIMER->reload = UINT32_MAX;
    CLOCK_TIMER->value = UINT32_MAX;
    CLOCK_TIMER->control = TIMER_RUNS;
    STEP_TIMER->reload = UINT32_MAX;
    STEP_TIMER->value = UINT32_MAX;
    STEP_TIMER->control = TIMER_RUNS;
    TICK_RELOAD = TICKS_PER_MS - 1u;
    TICK_VALUE = 0;
    TICK_CONTROL = TICK_RUNS;
}

static void enable_interrupts(void)
{
    for (uint32_t line = 0; line < 32u; line++) {
        if ((RIG_INTERRUPTS & (UINT32_C(1) << line)) != 0) {
            INTERRUPT_PRIORITY[line] = RIG_PRIORITY;
        }
    }
    TICK_PRIORITY = RIG_PRIORITY;
    INTERRUPTS_ON = RIG_INTERRUPTS & ~STEP_INTERRUPT;
}

int main(void)
{
    struct rig_identity identity;
    set_up_timers();
    board_start();
    board_identity(&identity);
    rig_init(&port_rig, NULL, &identity);
    board_rate(RIG_FIRST_RATE_BITS_S);
    enable_interrupts();
    for (;;) {
        board_alive();
        if (!rig_poll(&port_rig)) {
            __asm__ volatile("wfi" ::: "memory");
        }
    }
}
