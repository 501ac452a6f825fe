// Ramps as segments: the speed along the way, and the step times from it
//
// The square of the speed changes by twice the acceleration with each step, so it stays
// a whole number. At every joint of two segments the speed is the root of it; between
// them the interval changes evenly, and the segment as a whole takes the time that
// constant acceleration takes: twice its steps over the sum of the two speeds.
#include "internal.h"

#define ONE_STEP_S_SHIFT 12u // fraction bits of a speed
// Greatest shift with which the ticks of a second still fit 32 bits
#define FITS(shift) (((uint64_t)RIG_TICKS_PER_S << (shift)) <= UINT32_MAX)
#define TICKS_SHIFT                                                                    \
    (FITS(12) ? 12u : FITS(11) ? 11u : FITS(10) ? 10u : FITS(9) ? 9u : FITS(8) ? 8u       \
     : FITS(7) ? 7u : FITS(6) ? 6u : FITS(5) ? 5u : FITS(4) ? 4u : FITS(3) ? 3u           \
     : FITS(2) ? 2u : 1u)
#define SHIFTED_TICKS_S ((uint32_t)((uint64_t)RIG_TICKS_PER_S << TICKS_SHIFT))
// Ticks of what is kept that leave time to plan what follows: 2 ms
#define PLANNING_TICKS (2000u * RIG_TICKS_PER_US)
// Steps of a segment, and of a whole way; more fit no field
#define SEGMENT_STEPS 255u
#define WAY_STEPS (UINT32_C(1) << 30)

_Static_assert(RIG_TIMER_BITS == 32 || RIG_SPEED_LIMIT <= 30000,
               "squares must fit 32 bits");
_Static_assert(RIG_SPEED_LIMIT <= 1000000 && RIG_SPEED_LIMIT <= RIG_TICKS_PER_S / 16,
               "speeds must fit 20 bits, and a step 16 ticks");
_Static_assert(RIG_START_SPEED <= 2000, "single steps must last for the planning");
_Static_assert(RIG_START_SPEED >= 1 && RIG_TICKS_PER_S / RIG_START_SPEED < RIG_HALF_TURN,
               "a ramp's interval must fit half a timer turn");
_Static_assert(RIG_ACCELERATION_LIMIT <= 10000000, "squares must fit 32 bits");

/// Arithmetic ///

// Rounded root of 2^30 to 2^32 - 1
static uint16_t root_of(uint32_t square)
{
    uint32_t rest = square;
    uint32_t root = 0;
    for (uint32_t bit = UINT32_C(1) << 30; bit != 0; bit >>= 2) {
        if (rest >= root + bit) {
            rest -= root + bit;
            root = (root >> 1) + bit;
        } else {
            root >>= 1;
        }
    }
    if (rest > root && root < 0xFFFFu) {
        root++;
    }
    return (uint16_t)root;
}

// Rounded up, no more than the longest way
static uint32_t divide_up(rig_square_t value, uint32_t by)
{
    rig_square_t whole = value == 0 ? 0 : (value - 1u) / by + 1u;
    return (uint32_t)(whole < WAY_STEPS ? whole : WAY_STEPS);
}

// Set speed and interval at the end of what is planned from the square
static void set_end(struct rig_plan *plan, rig_square_t square)
{
    plan->square = square;
    uint8_t shift = 0;
    while (square < (UINT32_C(1) << 30)) {
        square <<= 2;
        shift++;
    }
    uint8_t down = 0;
    while ((square >> 16) > 0xFFFFu) {
        square >>= 2;
        down++;
    }
    uint16_t root = root_of((uint32_t)square);
    plan->speed = (uint32_t)(((rig_square_t)root << (ONE_STEP_S_SHIFT + down)) >> shift);
    plan->interval = (rig_ticks_t)((SHIFTED_TICKS_S + root / 2u) / root)
                     << (16u - TICKS_SHIFT + shift - down);
}

// Ticks a step at the mean of two speeds; 16 fraction bits
static rig_ticks_t mean_interval(rig_square_t sum)
{
    // 16 bits of the sum are as exact as the roots
    uint8_t shift = 0;
    while (sum > 0x1FFFFu) {
        sum >>= 1;
        shift++;
    }
    sum = (sum + 1u) >> 1;
    shift++;
    uint32_t by = (uint32_t)sum;
    return (rig_ticks_t)((SHIFTED_TICKS_S + by / 2u) / by) << (29u - TICKS_SHIFT - shift);
}

/// Phases ///

uint32_t rig_plan_brake_steps(const struct rig_plan *plan)
{
    return plan->flat ? 0 : divide_up(plan->square - plan->low_square, plan->per_step);
}

uint32_t rig_plan_left(const struct rig_plan *plan)
{
    return plan->accelerate + plan->cruise + plan->brake;
}

void rig_plan_share(struct rig_plan *plan, uint32_t steps)
{
    plan->accelerate = 0;
    plan->brake = 0;
    plan->cruise = steps;
    if (plan->flat) {
        return;
    }
    uint32_t brake = rig_plan_brake_steps(plan);
    uint32_t up = divide_up(plan->high_square - plan->square, plan->per_step);
    uint32_t down = divide_up(plan->high_square - plan->low_square, plan->per_step);
    if (steps >= up + down) {
        plan->accelerate = up;
        plan->brake = down;
    } else {
        // Too short for the full speed: an odd step in the middle is neither
        uint32_t spare = steps > brake ? steps - brake : 0;
        plan->accelerate = spare / 2u;
        plan->brake = (steps > brake ? brake : steps) + spare / 2u;
    }
    plan->cruise = steps - plan->accelerate - plan->brake;
}

static uint8_t segment_steps(uint32_t steps)
{
    return (uint8_t)(steps < SEGMENT_STEPS ? steps : SEGMENT_STEPS);
}

void rig_plan_begin(struct rig *rig, bool up, uint32_t steps, uint32_t speed,
                    uint32_t acceleration)
{
    struct rig_plan *plan = &rig->plan;
    struct rig_stepper *stepper = &rig->stepper;
    uint32_t whole = RIG_TICKS_PER_S / speed;
    uint32_t rest = RIG_TICKS_PER_S % speed;
    plan->cruise_interval = ((rig_ticks_t)whole << 16) | (((rig_ticks_t)rest << 16) / speed);
    uint32_t start = (uint32_t)rig->settings[RIG_SETTING_START_SPEED];
    plan->flat = speed <= start;
    // Single steps without ramps, so that rig_stepper_cap can count them
    plan->cruise_steps = segment_steps(plan->flat || speed < 2048u ? 1u : speed >> 10);
    plan->high_square = (rig_square_t)speed * speed;
    plan->low_square = plan->flat ? plan->high_square
                                  : (rig_square_t)start * start;
    plan->per_step = 2u * acceleration;
    set_end(plan, plan->low_square);
    rig_plan_share(plan, steps);
    plan->end = stepper->position;
    stepper->up = up;
    stepper->capped = false;
    stepper->turns = (uint16_t)((rig_square_t)whole >> RIG_TIMER_BITS);
    stepper->head = 0;
    stepper->tail = 0;
    stepper->complete = false;
}

/// Segments ///

// Steps of about a millisecond that change the speed by no more than an eighth
static uint8_t ramp_steps(const struct rig_plan *plan, uint32_t most)
{
    uint32_t steps = plan->speed >> (ONE_STEP_S_SHIFT + 10u);
    while ((rig_square_t)steps * plan->per_step > plan->square / 4u) {
        steps >>= 1;
    }
    if (steps == 0) {
        steps = 1;
    }
    return segment_steps(steps < most ? steps : most);
}

static void ramp(struct rig_plan *plan, struct rig_segment *segment, uint8_t steps,
                 rig_square_t square)
{
    uint32_t speed = plan->speed;
    rig_ticks_t interval = plan->interval;
    set_end(plan, square);
    rig_ticks_t mean = mean_interval((rig_square_t)speed + plan->speed);
    segment->steps = steps;
    segment->change = (rig_change_t)(plan->interval - interval) / (rig_change_t)steps;
    segment->interval =
        mean - (rig_ticks_t)(segment->change * (steps - 1) / 2);
    segment->end_square = square;
}

static void plan_accelerate(struct rig_plan *plan, struct rig_segment *segment)
{
    uint8_t steps = ramp_steps(plan, plan->accelerate);
    rig_square_t square = plan->square + (rig_square_t)steps * plan->per_step;
    plan->accelerate -= steps;
    ramp(plan, segment, steps,
         square < plan->high_square ? square : plan->high_square);
}

static void plan_cruise(struct rig_plan *plan, struct rig_segment *segment)
{
    uint8_t most = plan->cruise_steps;
    segment->steps = (uint8_t)(plan->cruise < most ? plan->cruise : most);
    plan->cruise -= segment->steps;
    // The odd step of a short way is done below the full speed
    segment->interval = plan->square == plan->high_square ? plan->cruise_interval
                                                          : plan->interval;
    segment->change = 0;
    segment->end_square = plan->square;
}

static void plan_brake(struct rig_plan *plan, struct rig_segment *segment)
{
    uint8_t steps = ramp_steps(plan, plan->brake);
    plan->brake -= steps;
    rig_square_t square =
        plan->low_square + (rig_square_t)plan->brake * plan->per_step;
    ramp(plan, segment, steps, square < plan->square ? square : plan->square);
}

static bool add_segment(struct rig *rig)
{
    struct rig_plan *plan = &rig->plan;
    struct rig_stepper *stepper = &rig->stepper;
    struct rig_segment segment;
    port_lock_t lock = port_lock(rig);
    uint8_t next = (uint8_t)((stepper->head + 1u) % RIG_QUEUE_SIZE);
    bool wanted = !stepper->complete && next != stepper->tail;
    port_unlock(rig, lock);
    if (!wanted) {
        return false;
    }
    if (plan->accelerate != 0) {
        plan_accelerate(plan, &segment);
    } else if (plan->cruise != 0) {
        plan_cruise(plan, &segment);
    } else {
        plan_brake(plan, &segment);
    }
    // The slot at the head is the main loop's
    stepper->queue[stepper->head] = segment;
    bool last = rig_plan_left(plan) == 0;
    lock = port_lock(rig);
    // A stop or a turn may have come meanwhile: then nothing more is wanted
    if (!stepper->complete) {
        stepper->head = next;
        stepper->complete = last;
    }
    port_unlock(rig, lock);
    plan->end += stepper->up ? segment.steps : -segment.steps;
    return true;
}

bool rig_plan_fill(struct rig *rig)
{
    bool any = false;
    // No more than a queue at a time: the main loop goes on whatever happens
    for (uint8_t i = 1; i < RIG_QUEUE_SIZE && add_segment(rig); i++) {
        any = true;
    }
    return any;
}

/// Stopping short ///

// Leave no more in the queue than the planning of what follows needs as time
//
// Returns the steps dropped. Interrupts are off for a few cycles only: the slots up to
// the head stay as they are. Until more is planned an empty queue is a fault, not an
// end.
static int32_t cut(struct rig *rig)
{
    struct rig_stepper *stepper = &rig->stepper;
    uint8_t head = stepper->head;
    uint8_t tail = stepper->tail;
    uint8_t keep = tail;
    uint32_t ticks = 0;
    while (ticks < PLANNING_TICKS && keep != head) {
        ticks += stepper->queue[keep].steps
                 * (uint32_t)(stepper->queue[keep].interval >> 16);
        keep = (uint8_t)((keep + 1u) % RIG_QUEUE_SIZE);
    }
    if (keep == head) {
        return 0;
    }
    port_lock_t lock = port_lock(rig);
    // cppcheck-suppress duplicateExpression; the interrupt has moved on meanwhile
    uint8_t taken = (uint8_t)((uint8_t)(stepper->tail - tail) % RIG_QUEUE_SIZE);
    uint8_t kept = (uint8_t)((uint8_t)(keep - tail) % RIG_QUEUE_SIZE);
    bool there = stepper->running && !stepper->settling && taken <= kept;
    if (there) {
        stepper->head = keep;
        stepper->complete = false;
    }
    port_unlock(rig, lock);
    if (!there) {
        return 0;
    }
    set_end(&rig->plan, stepper->queue[(keep - 1u) % RIG_QUEUE_SIZE].end_square);
    int32_t dropped = 0;
    for (; keep != head; keep = (uint8_t)((keep + 1u) % RIG_QUEUE_SIZE)) {
        dropped += stepper->queue[keep].steps;
    }
    rig->plan.end -= stepper->up ? dropped : -dropped;
    return dropped;
}

void rig_plan_stop_at(struct rig *rig, int32_t position)
{
    struct rig_plan *plan = &rig->plan;
    struct rig_stepper *stepper = &rig->stepper;
    int32_t left = (int32_t)rig_plan_left(plan);
    // Steps from the end of what is queued to the place; below 0: it lies before
    int32_t beyond = stepper->up ? position - plan->end : plan->end - position;
    if (stepper->capped || beyond >= left) {
        return;
    }
    if (beyond < (int32_t)rig_plan_brake_steps(plan)) {
        int32_t dropped = cut(rig);
        int32_t brake = (int32_t)rig_plan_brake_steps(plan);
        left += dropped;
        beyond += dropped;
        beyond = beyond > brake ? beyond : brake;
    }
    rig_plan_share(plan, (uint32_t)(beyond < left ? beyond : left));
    if (rig_plan_left(plan) == 0) {
        stepper->complete = true;
    }
}
