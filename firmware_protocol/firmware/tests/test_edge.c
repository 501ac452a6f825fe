// Edges, turning, the ring, recall: SPEC.md 10 and 11
#include "internal.h"
#include "session.h"

static const char *run(struct session *session, const char *order)
{
    size_t from = session->count;
    const char *reply = session_ask(session, order);
    CHECK(reply[0] == 'a');
    for (size_t i = from; i < session->count; i++) {
        if (strstr(session->lines[i], " rest ") != NULL) {
            return session->lines[i];
        }
    }
    return session_rest(session, 60.0);
}

static bool rests(struct session *session, const char *order, const char *end)
{
    const char *line = run(session, order);
    if (strstr(line, end) == NULL) {
        fprintf(stderr, "`%s` ended as `%s`, not `%s`\n", order, line, end);
        return false;
    }
    return true;
}

static void edges_carry_the_count_and_the_clock(struct session *session)
{
    session_ready(session);
    CHECK(rests(session, "q9 go 25000 16000 400000 0 0", " there 25000 "));
    CHECK(rests(session, "q10 go 10000 16000 400000 0 0", " there 10000 "));
    CHECK(session_find(session, 0, "n3 edge 0 out 1 20000 ") != NULL);
    const char *back = session_find(session, 0, "n5 edge 0 out 0 19000 ");
    CHECK(back != NULL);
    struct world_edge truth;
    uint64_t last = (uint64_t)bench_get(session->bench, BENCH_EDGE_COUNT) - 1;
    CHECK(bench_edge(session->bench, last, &truth));
    CHECK((uint64_t)session_field(back, 6) == truth.cycles / 16);
}

static void a_slow_go_turns_on_the_very_step(struct session *session)
{
    session_ready(session);
    (void)run(session, "q8 go 19950 20000 400000 0 0");
    CHECK(rests(session, "q9 go 30000 800 400000 1 0", " 9 turn 20000 "));
    CHECK(rests(session, "q10 go 400 800 400000 1 0", " 10 turn 19000 "));
    CHECK(rests(session, "q11 go 30000 800 400000 1 3", " 11 turn 20003 "));
    CHECK(rests(session, "q12 go 400 700 400000 1 200", " 12 turn 18800 "));
    CHECK(bench_get(session->bench, BENCH_TARGET) == 18800.0);
}

// Change the output for a time while a `go` is under way
static void spike(struct session *session, double seconds)
{
    bench_set(session->bench, BENCH_OUT_FORCED, 1);
    bench_advance(session->bench, seconds);
    bench_set(session->bench, BENCH_OUT_FORCED, 0);
}

static void a_short_pulse_turns_nothing(struct session *session)
{
    session_ready(session);
    bench_set(session->bench, BENCH_OUT_FORCED, 0);
    CHECK(session_gets(session, "q9 go 2000 800 400000 1 0", "a9 go"));
    size_t from = session->count;
    for (int i = 0; i < 3; i++) {
        spike(session, (RIG_MIN_PULSE_US - 2) * 1e-6);
        session_wait(session, 0.1);
    }
    // Each change is told all the same, and the axis goes on
    CHECK(session_find(session, from, "n8 edge 0 out 0 ") != NULL);
    CHECK(strstr(session_ask(session, "q0 look"), "look moving ") != NULL);
    spike(session, (RIG_MIN_PULSE_US + 2) * 1e-6);
    const char *rest = session_rest(session, 5.0);
    const char *edge = session_find(session, from, "n9 edge 0 out 1 ");
    CHECK(edge != NULL && strstr(rest, " 9 turn ") != NULL);
    CHECK(session_field(rest, 5) - session_field(edge, 5) <= 1);
    // With ramps too
    CHECK(session_gets(session, "q10 go 60000 16000 400000 1 5000", "a10 go"));
    session_wait(session, 0.2);
    spike(session, (RIG_MIN_PULSE_US - 2) * 1e-6);
    session_wait(session, 0.1);
    from = session->count;
    spike(session, (RIG_MIN_PULSE_US + 2) * 1e-6);
    rest = session_rest(session, 5.0);
    edge = session_find(session, from, "n14 edge 0 out 1 ");
    CHECK(edge != NULL && strstr(rest, " 10 turn ") != NULL);
    CHECK(session_field(rest, 5) == session_field(edge, 5) + 5000);
}

static void a_fast_go_rests_where_it_was_told_to(struct session *session)
{
    session_ready(session);
    // Braking from 16000 at 400000 takes 320 steps
    CHECK(rests(session, "q9 go 50000 16000 400000 1 1000", " 9 turn 21000 "));
    CHECK(rests(session, "q10 go 400 16000 400000 1 500", " 10 turn 18500 "));
    CHECK(bench_get(session->bench, BENCH_TARGET) == 18500.0);
}

static void a_go_too_fast_for_its_overrun_brakes_at_once(struct session *session)
{
    session_ready(session);
    const char *rest = run(session, "q9 go 50000 16000 400000 1 10");
    CHECK(strstr(rest, " 9 turn ") != NULL);
    // 319 steps of braking, and what 4 ms of planning ahead take
    long long over = session_field(rest, 5) - 20000;
    CHECK(over >= 319 && over <= 319 + 64);
    (void)run(session, "q10 go 30000 20000 400000 0 0");
    rest = run(session, "q11 go 400 20000 100000 1 0");
    over = 19000 - session_field(rest, 5);
    CHECK(over >= 1997 && over <= 1997 + 80);
}

static void the_target_bounds_the_overrun(struct session *session)
{
    session_ready(session);
    CHECK(rests(session, "q9 go 20100 16000 400000 1 1000000", " 9 turn 20100 "));
    CHECK(rests(session, "q10 go 18990 800 400000 1 1000000", " 10 turn 18990 "));
    // An edge that never comes: there
    CHECK(rests(session, "q11 go 18000 16000 400000 1 5", " 11 there 18000 "));
    CHECK(rests(session, "q12 go 20010 16000 400000 2 5", " 12 there 20010 "));
}

static void the_kth_edge_turns(struct session *session)
{
    session_ready(session);
    (void)run(session, "q8 go 10000 20000 400000 0 0");
    CHECK(session_gets(session, "q9 go 60000 1000 400000 5 50", "a9 go"));
    for (int i = 0; i < 5; i++) {
        session_send(session, "q0 look");
        session_wait(session, 0.05);
        bench_set(session->bench, BENCH_OUT_FORCED, i % 2 == 0);
    }
    const char *rest = session_rest(session, 1.0);
    CHECK(strstr(rest, " 9 turn ") != NULL);
    CHECK(session_find(session, 0, "n9 rest") == rest);
    const char *edge = session_find(session, 0, "n8 edge 0 out 1 ");
    CHECK(edge != NULL && session_field(rest, 5) == session_field(edge, 5) + 50);
}

static void an_edge_on_the_last_step_still_turns(struct session *session)
{
    session_ready(session);
    CHECK(rests(session, "q9 go 20000 16000 400000 1 0", " 9 turn 20000 "));
}

static void each_pulse_after_the_edge_does_not_count(struct session *session)
{
    session_ready(session);
    struct rig *rig = host_rig(session->bench);
    CHECK(session_gets(session, "q9 go 20000 20000 400000 0 0", "a9 go"));
    session_wait(session, 0.3);
    struct rig_stepper *stepper = &rig->stepper;
    // As many pulses as are kept came since, and the one before them is forgotten
    uint8_t oldest = (uint8_t)((stepper->newest + 1u) % RIG_PULSES_KEPT);
    struct rig_pulse *pulse = &stepper->pulses[oldest];
    rig_tick_t tick = (rig_tick_t)(pulse->tick - 1u);
    rig_on_edge(rig, RIG_SOURCE_OUT, true, tick, port_turn(rig, tick), 1, 0);
    CHECK(rig->ring.slots[3].position == stepper->position - RIG_PULSES_KEPT);
    rig_on_edge(rig, RIG_SOURCE_OUT, false, pulse->tick, pulse->turn, 2, 0);
    CHECK(rig->ring.slots[4].position == stepper->position - (RIG_PULSES_KEPT - 1));
}

static void a_pulse_after_the_edge_does_not_count(struct session *session)
{
    session_ready(session);
    struct rig *rig = host_rig(session->bench);
    CHECK(session_gets(session, "q9 go 10000 1000 400000 0 0", "a9 go"));
    session_wait(session, 0.1);
    // A capture that the interrupt comes to 5 ticks after the pulse that followed it
    struct rig_pulse *last = &rig->stepper.pulses[rig->stepper.newest];
    rig_tick_t pulse = last->tick;
    uint8_t turn = last->turn;
    int32_t position = rig->stepper.position;
    rig_on_edge(rig, RIG_SOURCE_OUT, true, (rig_tick_t)(pulse - 3),
                (uint8_t)(turn - (pulse < 3 ? 1 : 0)), 1, 0);
    CHECK(rig->ring.slots[3].position == position - 1);
    rig_on_edge(rig, RIG_SOURCE_OUT, false, pulse, turn, 2, 0);
    CHECK(rig->ring.slots[4].position == position);
    // A pulse 3 ticks after, across the timer's end
    last->tick = 1;
    last->turn = 9;
    rig_on_edge(rig, RIG_SOURCE_OUT, true, (rig_tick_t)-2, 8, 3, 0);
    CHECK(rig->ring.slots[5].position == position - 1);
    rig_on_edge(rig, RIG_SOURCE_OUT, false, (rig_tick_t)-2, 7, 4, 0);
    CHECK(rig->ring.slots[6].position == position);
}

static void a_change_unseen_uses_up_a_number(struct session *session)
{
    session_ready(session);
    struct rig *rig = host_rig(session->bench);
    rig_on_edge(rig, RIG_SOURCE_OUT, true, 0, 0, 1, 0);
    rig_on_edge(rig, RIG_SOURCE_OUT, true, 0, 0, 2, 0);
    session_wait(session, 0.1);
    CHECK(session_find(session, 0, "n3 edge 0 out 1 0 1") != NULL);
    CHECK(session_find(session, 0, "n4 ") == NULL);
    CHECK(session_find(session, 0, "n5 edge 1 out 1 0 2") != NULL);
    CHECK(session_gets(session, "q9 recall 4", "x9 no 10 1"));
    CHECK(session_field(session_ask(session, "q10 tally"), 3) == 1);
}

static void a_change_unseen_is_too_short_to_turn_on(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q9 go 10000 1000 400000 2 0", "a9 go"));
    session_wait(session, 0.1);
    struct rig *rig = host_rig(session->bench);
    // There and back between the first two counts for nothing
    uint32_t now_us = port_time_us(rig);
    rig_on_edge(rig, RIG_SOURCE_OUT, true, port_timer(rig), 0, now_us - 200u, 0);
    rig_on_edge(rig, RIG_SOURCE_OUT, true, port_timer(rig), 0, now_us - 100u, 0);
    session_wait(session, 0.1);
    CHECK(strstr(session_ask(session, "q0 look"), "look moving ") != NULL);
    rig_on_edge(rig, RIG_SOURCE_OUT, false, port_timer(rig), 0, port_time_us(rig), 0);
    CHECK(strstr(session_rest(session, 1.0), " 9 turn ") != NULL);
}

static void the_ring_overwrites_and_counts(struct session *session)
{
    session_ready(session);
    size_t from = session->count;
    // 3 notices so far, all sent; 40 more than are sent at once
    for (int i = 0; i < 40; i++) {
        bench_set(session->bench, BENCH_OUT_FORCED, i % 2 == 0);
    }
    session_wait(session, 0.5);
    CHECK(session_field(session_ask(session, "q9 tally"), 3) == 8);
    // 3 to 10 are gone
    CHECK(session_find(session, from, "n10 ") == NULL);
    CHECK(session_find(session, from, "n11 edge 0 out 1 0 ") != NULL);
    CHECK(session_find(session, from, "n42 edge 8 out 0 0 ") != NULL);
    CHECK(session_gets(session, "q10 recall 10", "x10 no 10 1"));
    CHECK(session_gets(session, "q11 recall 43", "x11 no 10 1"));
    CHECK(session_gets(session, "q12 recall 65535", "x12 no 10 1"));
    from = session->count;
    CHECK(session_gets(session, "q13 recall 11", "a13 recall 11 43"));
    session_wait(session, 0.02);
    CHECK(session_find(session, from, "n11 edge 0 out 1 0 ") != NULL);
}

static void storm(struct session *session, int edges)
{
    for (int i = 0; i < edges; i++) {
        bench_set(session->bench, BENCH_OUT_FORCED, i % 2 == 0);
    }
}

static void a_storm_takes_neither_the_last_rest_nor_the_last_fault(struct session *session)
{
    session_ready(session);
    size_t from = session->count;
    CHECK(session_gets(session, "q9 go 5000 800 400000 0 0", "a9 go"));
    storm(session, 40);
    bench_feed(session->bench, (const uint8_t *)"#", 1);
    bench_advance(session->bench, 0.0002);
    // At rest, and a fault there
    bench_set(session->bench, BENCH_SUPPLY, 0);
    bench_advance(session->bench, 0.021);
    CHECK(host_rig(session->bench)->fault == RIG_FAULT_SUPPLY_LOST);
    storm(session, 200);
    session_wait(session, 1.0);
    const char *rest = session_find(session, from, "n43 rest ");
    const char *fault = session_find(session, from, "n44 fault ");
    const char *edge = session_find(session, from, "n244 edge ");
    CHECK(rest != NULL && strstr(rest, " 9 stopped ") != NULL);
    CHECK(fault != NULL && edge != NULL && rest < fault && fault < edge);
    // What came and what was counted are all there is
    size_t came = 0;
    for (size_t i = from; i < session->count; i++) {
        came += session->lines[i][0] == 'n';
    }
    CHECK((size_t)session_field(session_ask(session, "q10 tally"), 3) + came == 242);
    // They can be recalled, other notices of that age cannot
    CHECK(session_gets(session, "q11 recall 43", "a11 recall 213 245"));
    session_wait(session, 0.02);
    CHECK(strcmp(session->lines[session->count - 1], rest) == 0);
    CHECK(session_gets(session, "q12 recall 44", "a12 recall 213 245"));
    session_wait(session, 0.02);
    CHECK(strcmp(session->lines[session->count - 1], fault) == 0);
    CHECK(session_gets(session, "q13 recall 45", "x13 no 10 1"));
}

static void only_the_last_rest_outlives_a_storm(struct session *session)
{
    session_ready(session);
    size_t from = session->count;
    // Nothing goes out meanwhile: time stands still but for the orders
    struct rig *rig = host_rig(session->bench);
    for (int32_t request = 9; request <= 10; request++) {
        rig->order.kind = RIG_MOTION_GO;
        rig->order.request = (uint8_t)request;
        rig_motion_end(rig, RIG_REST_CAUSE_THERE, 0);
        storm(session, 40);
    }
    session_wait(session, 1.0);
    CHECK(session_find(session, from, "n3 rest ") == NULL);
    CHECK(session_find(session, from, "n44 rest ") != NULL);
    CHECK(session_field(session_ask(session, "q11 tally"), 3) == 82 - 33);
    CHECK(session_gets(session, "q12 recall 3", "x12 no 10 1"));
    // After half a round its number stands for what is to come
    rig->ring.next = (uint16_t)(44 + 0x8000);
    rig->ring.unsent = rig->ring.next;
    session_wait(session, 0.01);
    CHECK(session_gets(session, "q13 recall 44", "x13 no 10 1"));
}

static void a_recalled_notice_is_as_it_was(struct session *session)
{
    session_ready(session);
    for (int number = 0; number < 3; number++) {
        char ask[48];
        char beginning[16];
        snprintf(ask, sizeof ask, "q%d recall %d", 9 + number, number);
        snprintf(beginning, sizeof beginning, "n%d ", number);
        size_t from = session->count;
        CHECK(session_ask(session, ask)[0] == 'a');
        session_wait(session, 0.02);
        const char *first = session_find(session, 0, beginning);
        const char *again = session_find(session, from, beginning);
        CHECK(first != NULL && again != NULL && strcmp(first, again) == 0);
    }
}

static void numbers_wrap_after_65535(struct session *session)
{
    session_ready(session);
    struct rig *rig = host_rig(session->bench);
    rig->ring.next = 65534;
    rig->ring.unsent = 65534;
    rig->ring.held = RIG_RING_SIZE;
    for (int i = 0; i < 4; i++) {
        bench_set(session->bench, BENCH_OUT_FORCED, i % 2 == 0);
    }
    session_wait(session, 0.1);
    CHECK(session_find(session, 0, "n65535 edge") != NULL);
    CHECK(session_find(session, 4, "n0 edge") != NULL);
    CHECK(session_find(session, 4, "n1 edge") != NULL);
    CHECK(session_gets(session, "q9 recall 65535", "a9 recall 65506 2"));
    session_wait(session, 0.02);
    CHECK(session_gets(session, "q10 recall 2", "x10 no 10 1"));
    CHECK(session_gets(session, "q11 recall 1", "a11 recall 65506 2"));
}

static void time_wraps_after_71_minutes(struct session *session)
{
    session_ready(session);
    double wrap_s = 4294.967296 - 0.01;
    // Heard now and then, the motor keeps its current
    for (double now_s = bench_get(session->bench, BENCH_CYCLES) / 16e6; now_s < wrap_s;
         now_s = bench_get(session->bench, BENCH_CYCLES) / 16e6) {
        session_send(session, "q0 look");
        session_wait(session, wrap_s - now_s < 500.0 ? wrap_s - now_s : 500.0);
    }
    CHECK(session_gets(session, "q9 go 500 1000 400000 0 0", "a9 go"));
    const char *rest = session_rest(session, 1.0);
    CHECK(strstr(rest, " 9 there 500 ") != NULL);
    CHECK(session_field(rest, 6) < 600000);
    CHECK(session_field(session_ask(session, "q10 look"), 4) < 2000000);
}

static void replies_go_before_notices_that_wait(struct session *session)
{
    session_ready(session);
    for (int i = 0; i < 30; i++) {
        bench_set(session->bench, BENCH_OUT_FORCED, i % 2 == 0);
    }
    double asked = bench_get(session->bench, BENCH_CYCLES);
    CHECK(strncmp(session_ask(session, "q9 look"), "a9 look", 7) == 0);
    double waited_s = (bench_get(session->bench, BENCH_CYCLES) - asked) / 16e6;
    CHECK(waited_s < 0.020);
    session_wait(session, 0.5);
    CHECK(session_field(session_ask(session, "q10 tally"), 3) == 0);
}

static void endless_requests_lose_no_edge(struct session *session)
{
    session_ready(session);
    double worst_s = 0.0;
    for (int i = 0; i < 300; i++) {
        if (i % 3 == 0) {
            // Two at once, 100 times in 3 s
            bench_set(session->bench, BENCH_OUT_FORCED, 1);
            bench_set(session->bench, BENCH_OUT_FORCED, 0);
        }
        double asked = bench_get(session->bench, BENCH_CYCLES);
        CHECK(strncmp(session_ask(session, "q0 look"), "a0 look", 7) == 0);
        double waited_s = (bench_get(session->bench, BENCH_CYCLES) - asked) / 16e6;
        worst_s = waited_s > worst_s ? waited_s : worst_s;
    }
    // 20 ms, and a line that was begun
    CHECK(worst_s < 0.025);
    CHECK(session_field(session_ask(session, "q10 tally"), 3) == 0);
}

const struct test edge_tests[] = {
    {"edges carry the count and the clock", edges_carry_the_count_and_the_clock},
    {"a short pulse turns nothing", a_short_pulse_turns_nothing},
    {"a slow go turns on the very step", a_slow_go_turns_on_the_very_step},
    {"a fast go rests where it was told to", a_fast_go_rests_where_it_was_told_to},
    {"a go too fast for its overrun brakes at once",
     a_go_too_fast_for_its_overrun_brakes_at_once},
    {"the target bounds the overrun", the_target_bounds_the_overrun},
    {"the kth edge turns", the_kth_edge_turns},
    {"an edge on the last step still turns", an_edge_on_the_last_step_still_turns},
    {"a pulse after the edge does not count", a_pulse_after_the_edge_does_not_count},
    {"each pulse after the edge does not count", each_pulse_after_the_edge_does_not_count},
    {"a change unseen uses up a number", a_change_unseen_uses_up_a_number},
    {"a change unseen is too short to turn on",
     a_change_unseen_is_too_short_to_turn_on},
    {"the ring overwrites and counts", the_ring_overwrites_and_counts},
    {"a storm takes neither the last rest nor the last fault",
     a_storm_takes_neither_the_last_rest_nor_the_last_fault},
    {"only the last rest outlives a storm", only_the_last_rest_outlives_a_storm},
    {"a recalled notice is as it was", a_recalled_notice_is_as_it_was},
    {"numbers wrap after 65535", numbers_wrap_after_65535},
    {"time wraps after 71 minutes", time_wraps_after_71_minutes},
    {"replies go before notices that wait", replies_go_before_notices_that_wait},
    {"endless requests lose no edge", endless_requests_lose_no_edge},
    {NULL, NULL},
};
