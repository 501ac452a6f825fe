// Motions: SPEC.md 8 and 10
#include "stepper.h"
#include "session.h"

static long long position(struct session *session)
{
    return session_field(session_ask(session, "q0 look"), 3);
}

// Order, wait for rest; returns the notice
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

static void home_finds_the_switch_and_tells_how_wrong_the_count_was(struct session *session)
{
    session_ready(session);
    CHECK(session_find(session, 0, "n1 edge 0 home 1 ") != NULL);
    // The switch closes at and below 0
    CHECK(bench_get(session->bench, BENCH_TARGET) == 0.0);
    CHECK(rests(session, "q9 go 5000 20000 400000 0 0", " 9 there 5000 "));
    // Steps lost by hand: the target stands 7 steps lower than the count says
    bench_set(session->bench, BENCH_TARGET, 4993);
    size_t from = session->count;
    CHECK(rests(session, "q10 home 20000 800", " 10 homed 0 "));
    const char *edge = NULL;
    for (size_t i = from; i < session->count; i++) {
        if (strstr(session->lines[i], " edge ") != NULL) {
            CHECK(edge == NULL);
            edge = session->lines[i];
        }
    }
    CHECK(edge != NULL && session_field(edge, 5) == 7);
    CHECK(strstr(session_ask(session, "q0 look"), "look unfenced 0 ") != NULL);
}

static void home_from_the_closed_switch_leaves_it_first(struct session *session)
{
    bench_set(session->bench, BENCH_TARGET, -500);
    session_ready(session);
    CHECK(bench_get(session->bench, BENCH_TARGET) == 0.0);
}

static void home_without_a_switch_is_fault_3(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    bench_set(session->bench, BENCH_HOME_AT, -1e9);
    CHECK(rests(session, "q2 home 20000 400", " 2 fault -88000 "));
    CHECK(session_field(session_ask(session, "q3 tally"), 4) == RIG_FAULT_HOME_NOT_FOUND);
    CHECK(strstr(session->lines[session->count - 1], "tally") != NULL);
    CHECK(session_find(session, 0, "n1 fault 0 3 -88000 ") != NULL);
    CHECK(session_gets(session, "q4 rearm", "a4 rearm raw"));
}

static void home_switch_that_stays_closed_is_fault_4(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    bench_set(session->bench, BENCH_HOME_AT, 1e9);
    const char *rest = run(session, "q2 home 20000 400");
    CHECK(strstr(rest, " 2 fault ") != NULL && session_field(rest, 5) >= 4000
          && session_field(rest, 5) <= 4001);
    CHECK(session_field(session_ask(session, "q3 tally"), 4) == RIG_FAULT_HOME_STUCK);
}

static void home_switch_that_fails_later_is_a_fault(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_gets(session, "q2 home 16000 100", "a2 home"));
    while (host_rig(session->bench)->order.seek != RIG_SEEK_CLEAR) {
        session_send(session, "q0 look");
        session_wait(session, 0.01);
    }
    // Closes again on the way up
    bench_set(session->bench, BENCH_HOME_AT, 1e9);
    CHECK(strstr(session_rest(session, 9.0), " 2 fault ") != NULL);
    CHECK(session_field(session_ask(session, "q3 tally"), 4) == RIG_FAULT_HOME_STUCK);
    // Never closes on the last way down
    bench_set(session->bench, BENCH_HOME_AT, 0);
    CHECK(session_gets(session, "q4 rearm", "a4 rearm raw"));
    CHECK(session_gets(session, "q5 home 16000 400", "a5 home"));
    while (host_rig(session->bench)->order.seek != RIG_SEEK_LAST) {
        session_send(session, "q0 look");
        session_wait(session, 0.01);
    }
    bench_set(session->bench, BENCH_HOME_AT, -1e9);
    CHECK(strstr(session_rest(session, 19.0), " 5 fault ") != NULL);
    CHECK(session_field(session_ask(session, "q6 tally"), 4) == RIG_FAULT_HOME_NOT_FOUND);
}

static void home_switch_closed_unseen_before_the_last_part_is_a_fault(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_gets(session, "q5 home 16000 400", "a5 home"));
    while (host_rig(session->bench)->order.seek != RIG_SEEK_LAST) {
        session_send(session, "q0 look");
        session_wait(session, 0.001);
    }
    host_rig(session->bench)->levels[RIG_SOURCE_HOME] = true;
    CHECK(strstr(session_rest(session, 1.0), " 5 fault ") != NULL);
}

static void home_switch_that_bounced_open_is_left_all_the_same(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_gets(session, "q5 home 16000 400", "a5 home"));
    while (host_rig(session->bench)->order.seek != RIG_SEEK_BRAKE) {
        session_send(session, "q0 look");
        session_wait(session, 0.001);
    }
    bench_set(session->bench, BENCH_HOME_AT, -3000);
    CHECK(strstr(session_rest(session, 9.0), " 5 homed 0 ") != NULL);
    CHECK(bench_get(session->bench, BENCH_TARGET) == -3000.0);
}

static void a_count_far_out_is_forgotten_by_home(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    host_rig(session->bench)->stepper.position = INT32_MIN;
    CHECK(session_gets(session, "q5 home 16000 400", "a5 home"));
    CHECK(strstr(session_rest(session, 9.0), " 5 homed 0 ") != NULL);
}

static void go_reaches_both_limits(struct session *session)
{
    session_ready(session);
    bench_set(session->bench, BENCH_PROBE_AT, 1e9);
    CHECK(rests(session, "q9 go 80000 20000 400000 0 0", " 9 there 80000 "));
    CHECK(bench_get(session->bench, BENCH_TARGET) == 80000.0);
    CHECK(rests(session, "q10 go 401 19999 2000 0 0", " 10 there 401 "));
    CHECK(rests(session, "q11 go 400 1 1 0 0", " 11 there 400 "));
    CHECK(bench_get(session->bench, BENCH_TARGET) == 400.0);
}

static void go_to_the_same_place_ends_at_once(struct session *session)
{
    session_ready(session);
    CHECK(rests(session, "q8 go 400 800 400000 0 0", " 8 there 400 "));
    double pulses = bench_get(session->bench, BENCH_PULSES_UP);
    CHECK(rests(session, "q9 go 400 20000 400000 1 0", " 9 there 400 "));
    CHECK(bench_get(session->bench, BENCH_PULSES_UP) == pulses);
    CHECK(strstr(session_ask(session, "q0 look"), "look ready 400 ") != NULL);
}

static void time_of_rest_is_that_of_the_last_step(struct session *session)
{
    uint64_t cycles[2000];
    session_ready(session);
    bench_log_pulses(session->bench, cycles, 2000);
    const char *rest = run(session, "q9 go 1000 900 1000 0 0");
    uint64_t last = cycles[bench_pulses_logged(session->bench) - 1];
    CHECK((uint64_t)session_field(rest, 6) == last / 16);
}

static void home_switch_in_a_go_is_fault_5(struct session *session)
{
    session_ready(session);
    CHECK(rests(session, "q9 go 9000 20000 400000 0 0", " 9 there "));
    bench_set(session->bench, BENCH_HOME_AT, 4000);
    const char *rest = run(session, "q10 go 400 1000 400000 0 0");
    CHECK(strstr(rest, " 10 fault 4000 ") != NULL);
    CHECK(session_find(session, 0, "n4 fault 0 5 4000 ") != NULL);
    CHECK(session_gets(session, "q11 rearm", "a11 rearm raw"));
}

static void touch_stops_on_the_probe(struct session *session)
{
    session_ready(session);
    bench_set(session->bench, BENCH_PROBE_AT, 2000);
    size_t from = session->count;
    CHECK(rests(session, "q9 touch 4000 800", " 9 touched 2000 "));
    CHECK(session_find(session, from, "n3 edge 0 probe 1 2000 ") != NULL);
    CHECK(strstr(session_ask(session, "q0 look"), "look ready 2000 ") != NULL);
    // Closed: up is refused, down is not
    CHECK(session_gets(session, "q10 touch 4000 800", "x10 no 12 0"));
    CHECK(session_gets(session, "q11 go 4000 800 1 0 0", "x11 no 12 0"));
    CHECK(rests(session, "q12 go 1000 800 1 0 0", " 12 there 1000 "));
    CHECK(session_find(session, from, "n5 edge 0 probe 0 1999 ") != NULL);
    CHECK(rests(session, "q13 touch 1500 800", " 13 there 1500 "));
    CHECK(rests(session, "q14 touch 1500 800", " 14 there 1500 "));
}

// Wait until `home` is in a part, without falling silent
static void until(struct session *session, uint8_t seek)
{
    while (host_rig(session->bench)->order.seek != seek) {
        CHECK(host_rig(session->bench)->order.kind == RIG_MOTION_SEEK);
        session_send(session, "q0 look");
        session_wait(session, 0.01);
    }
}

static void contact_in_any_part_of_home_is_fault_7(struct session *session)
{
    static const uint8_t parts[] = {RIG_SEEK_FAST, RIG_SEEK_LEAVE, RIG_SEEK_CLEAR,
                                    RIG_SEEK_LAST};
    for (size_t i = 0; i < sizeof parts; i++) {
        (void)session_ask(session, "q1 hail 1");
        bench_set(session->bench, BENCH_TARGET, 5000);
        CHECK(session_gets(session, "q2 home 16000 100", "a2 home"));
        until(session, parts[i]);
        session_wait(session, 0.01);
        double place = bench_get(session->bench, BENCH_COMMAND);
        bench_set(session->bench, BENCH_PROBE_AT, -1e9);
        CHECK(strstr(session_rest(session, 0.2), " fault ") != NULL);
        CHECK(bench_get(session->bench, BENCH_COMMAND) == place);
        CHECK(host_rig(session->bench)->fault == RIG_FAULT_PROBE_UNEXPECTED);
        CHECK(strstr(session_ask(session, "q0 look"), "look held ") != NULL);
        bench_set(session->bench, BENCH_PROBE_AT, 1e9);
        CHECK(session_gets(session, "q4 rearm", "a4 rearm raw"));
    }
}

static void home_from_the_face_goes_away_slowly_first(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    // Stands against the face, and 300 steps of play must be taken up
    bench_set(session->bench, BENCH_BACKLASH, 600);
    bench_set(session->bench, BENCH_PROBE_AT, 3000);
    CHECK(session_gets(session, "q2 home 16000 400", "a2 home"));
    session_wait(session, 0.4);
    // 400 steps/s: 160 steps
    CHECK(host_rig(session->bench)->order.seek == RIG_SEEK_AWAY);
    double gone = 3000 - bench_get(session->bench, BENCH_COMMAND);
    CHECK(gone >= 155 && gone <= 161);
    CHECK(strstr(session_rest(session, 30.0), " 2 homed 0 ") != NULL);
    CHECK(session_find(session, 0, "n2 edge 0 probe 0 -301 ") != NULL);
}

static void home_from_a_probe_that_stays_closed_is_fault_7(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    bench_set(session->bench, BENCH_PROBE_AT, -1e9);
    // 0.5 mm, however often
    CHECK(rests(session, "q2 home 16000 800", " 2 fault -800 "));
    CHECK(host_rig(session->bench)->fault == RIG_FAULT_PROBE_UNEXPECTED);
    CHECK(session_gets(session, "q3 rearm", "a3 rearm raw"));
    CHECK(rests(session, "q4 home 16000 800", " 4 fault -1600 "));
}

static void home_that_would_begin_toward_the_face_is_refused(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    bench_set(session->bench, BENCH_PROBE_AT, -1e9);
    bench_set(session->bench, BENCH_HOME_AT, 1e9);
    CHECK(session_gets(session, "q2 home 16000 800", "x2 no 12 0"));
    CHECK(session_gets(session, "q3 home 16000 801", "x3 no 15 2"));
    // The home switch opens: down is away
    bench_set(session->bench, BENCH_HOME_AT, 0);
    CHECK(rests(session, "q4 home 16000 800", " 4 fault -800 "));
}

static void a_probe_closed_unseen_ends_home(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_gets(session, "q2 home 16000 400", "a2 home"));
    // Without an edge
    host_rig(session->bench)->order.kind = RIG_MOTION_NONE;
    bench_set(session->bench, BENCH_PROBE_AT, -1e9);
    host_rig(session->bench)->order.kind = RIG_MOTION_SEEK;
    CHECK(strstr(session_rest(session, 0.2), " 2 fault ") != NULL);
    CHECK(host_rig(session->bench)->fault == RIG_FAULT_PROBE_UNEXPECTED);
}

static void contact_in_a_go_stops_and_gives_up_home(struct session *session)
{
    session_ready(session);
    bench_set(session->bench, BENCH_PROBE_AT, 10000);
    CHECK(rests(session, "q9 go 40000 20000 400000 0 0", " 9 contact 10000 "));
    CHECK(bench_get(session->bench, BENCH_TARGET) == 10000.0);
    CHECK(strstr(session_ask(session, "q0 look"), "look held 10000 ") != NULL);
    CHECK(session_gets(session, "q10 rearm", "a10 rearm raw"));
}

static void silence_stops_the_axis(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q9 go 40000 2000 400000 0 0", "a9 go"));
    double sent = bench_get(session->bench, BENCH_CYCLES);
    session_wait(session, 0.4);
    // Damaged lines do not count
    bench_feed(session->bench, (const uint8_t *)"&q0 look 8d94\n", 14);
    session_wait(session, 0.2);
    const char *rest = session->lines[session->count - 1];
    CHECK(strstr(rest, "rest 0 9 silent ") != NULL);
    double after_us = (double)session_field(rest, 6) - sent / 16.0;
    CHECK(after_us > 480e3 && after_us < 501e3);
    CHECK(session_gets(session, "q10 rearm", "a10 rearm raw"));
}

static void refused_lines_keep_the_axis_going(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q9 go 4000 2000 400000 0 0", "a9 go"));
    for (int i = 0; i < 30; i++) {
        session_wait(session, 0.1);
        session_send(session, "q0 nonsense");
    }
    session_wait(session, 0.1);
    CHECK(position(session) == 4000);
}

static void supply_lost_is_a_fault_once(struct session *session)
{
    session_ready(session);
    bench_set(session->bench, BENCH_SUPPLY, 0);
    session_wait(session, 0.015);
    bench_set(session->bench, BENCH_SUPPLY, 1);
    session_wait(session, 0.1);
    CHECK(strstr(session_ask(session, "q0 look"), "look ready") != NULL);
    // At rest: held, and home is kept; not again while it stays away
    bench_set(session->bench, BENCH_SUPPLY, 0);
    session_wait(session, 0.05);
    CHECK(session_find(session, 0, "n3 fault 0 6 0 ") != NULL);
    CHECK(session_gets(session, "q9 rearm", "a9 rearm ready"));
    session_wait(session, 0.1);
    CHECK(strstr(session_ask(session, "q0 look"), "look ready") != NULL);
    CHECK(session_find(session, 0, "n4") == NULL);
    // In motion: home is given up
    bench_set(session->bench, BENCH_SUPPLY, 1);
    CHECK(session_gets(session, "q10 go 40000 2000 400000 0 0", "a10 go"));
    bench_set(session->bench, BENCH_SUPPLY, 0);
    CHECK(strstr(session_rest(session, 1.0), " 10 fault ") != NULL);
    // Held: noticed, and nothing else
    bench_set(session->bench, BENCH_SUPPLY, 1);
    session_wait(session, 0.1);
    size_t from = session->count;
    bench_set(session->bench, BENCH_SUPPLY, 0);
    session_wait(session, 0.1);
    CHECK(session_find(session, from, "n6 fault 0 6 ") != NULL);
    CHECK(session->count == from + 1);
    CHECK(session_gets(session, "q11 rearm", "a11 rearm raw"));
    CHECK(session_field(session_ask(session, "q12 tally"), 4) == RIG_FAULT_SUPPLY_LOST);
}

static void a_start_without_supply_is_no_fault(struct session *session)
{
    bench_set(session->bench, BENCH_SUPPLY, 0);
    bench_restart(session->bench, RIG_START_REASON_POWER);
    session_wait(session, 0.5);
    (void)session_ask(session, "q1 hail 1");
    CHECK(strncmp(session_ask(session, "q2 look"), "a2 look raw 0 ", 14) == 0);
}

// Where the next pulses would show
static long long pulses(struct session *session)
{
    return (long long)(bench_get(session->bench, BENCH_PULSES_UP)
                       + bench_get(session->bench, BENCH_PULSES_DOWN));
}

static void drive_lost_stops_at_once_and_holds(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q9 go 40000 20000 400000 0 0", "a9 go"));
    session_wait(session, 0.2);
    size_t from = session->count;
    bench_set(session->bench, BENCH_DRIVE, 0);
    long long before = pulses(session);
    session_wait(session, 0.1);
    CHECK(pulses(session) == before);
    CHECK(bench_get(session->bench, BENCH_ENABLED) == 0.0);
    CHECK(session_find(session, from, "n3 fault 0 8 ") != NULL);
    CHECK(strstr(session_find(session, from, "n4 rest 0 9 "), " fault ") != NULL);
    CHECK(session_gets(session, "q10 rearm", "x10 no 17 0"));
    CHECK(session_gets(session, "q11 home 800 400", "x11 no 8 0"));
    bench_set(session->bench, BENCH_DRIVE, 1);
    CHECK(session_gets(session, "q12 rearm", "a12 rearm raw"));
}

static void drive_lost_at_rest_gives_up_home(struct session *session)
{
    session_ready(session);
    bench_set(session->bench, BENCH_DRIVE, 0);
    session_wait(session, 0.01);
    CHECK(session_find(session, 0, "n3 fault 0 8 0 ") != NULL);
    bench_set(session->bench, BENCH_DRIVE, 1);
    session_wait(session, 0.01);
    CHECK(strstr(session_ask(session, "q0 look"), "look held ") != NULL);
    CHECK(session_gets(session, "q9 rearm", "a9 rearm raw"));
    // Held already: noticed, and home given up that a stop at rest keeps
    session_ready(session);
    bench_feed(session->bench, (const uint8_t *)"#", 1);
    size_t from = session->count;
    bench_set(session->bench, BENCH_DRIVE, 0);
    session_wait(session, 0.01);
    CHECK(session_find(session, from, "n6 fault 0 8 0 ") != NULL);
    bench_set(session->bench, BENCH_DRIVE, 1);
    CHECK(session_gets(session, "q9 rearm", "a9 rearm raw"));
}

static void a_start_without_drive_is_a_fault(struct session *session)
{
    bench_set(session->bench, BENCH_DRIVE, 0);
    bench_restart(session->bench, RIG_START_REASON_POWER);
    session_wait(session, 0.1);
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_find(session, 0, "n1 fault 0 8 0 ") != NULL);
    CHECK(strncmp(session_ask(session, "q2 look"), "a2 look held 0 ", 15) == 0);
    CHECK(session_gets(session, "q3 rearm", "x3 no 17 0"));
}

static void a_broken_wire_stops_the_axis(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q9 go 40000 2000 400000 0 0", "a9 go"));
    session_wait(session, 0.2);
    bench_set(session->bench, BENCH_BROKEN, RIG_INPUT_PROBE);
    CHECK(strstr(session_rest(session, 1.0), " 9 contact ") != NULL);
    bench_set(session->bench, BENCH_BROKEN, 0);
    CHECK(session_gets(session, "q10 rearm", "a10 rearm raw"));
    session_ready(session);
    CHECK(session_gets(session, "q11 go 40000 2000 400000 0 0", "a11 go"));
    session_wait(session, 0.2);
    bench_set(session->bench, BENCH_BROKEN, RIG_INPUT_HOME);
    CHECK(strstr(session_rest(session, 1.0), " 11 fault ") != NULL);
    CHECK(session_field(session_ask(session, "q12 tally"), 4) == RIG_FAULT_HOME_UNEXPECTED);
    bench_set(session->bench, BENCH_BROKEN, RIG_INPUT_DRIVE);
    session_wait(session, 0.01);
    CHECK(session_field(session_ask(session, "q13 tally"), 4) == RIG_FAULT_DRIVE_LOST);
    CHECK(session_gets(session, "q14 rearm", "x14 no 17 0"));
}

static void the_motor_has_current_from_home_to_free(struct session *session)
{
    CHECK(bench_get(session->bench, BENCH_ENABLED) == 0.0);
    session_ready(session);
    CHECK(bench_get(session->bench, BENCH_ENABLED) == 1.0);
    CHECK(session_gets(session, "q9 go 1000 800 400000 0 0", "a9 go"));
    CHECK(session_gets(session, "q10 free", "x10 no 7 0"));
    (void)session_rest(session, 5.0);
    CHECK(session_gets(session, "q11 free", "a11 free raw"));
    CHECK(bench_get(session->bench, BENCH_ENABLED) == 0.0);
    session_ready(session);
    bench_feed(session->bench, (const uint8_t *)"#", 1);
    session_wait(session, 0.01);
    CHECK(session_gets(session, "q12 free", "a12 free held"));
    CHECK(session_gets(session, "q13 rearm", "a13 rearm raw"));
}

static void a_long_rest_takes_the_current_away(struct session *session)
{
    session_ready(session);
    session_wait(session, RIG_ENABLE_REST_S - 1.0);
    CHECK(strstr(session_ask(session, "q0 look"), "look ready ") != NULL);
    session_wait(session, RIG_ENABLE_REST_S - 1.0);
    CHECK(bench_get(session->bench, BENCH_ENABLED) == 1.0);
    session_wait(session, 2.0);
    CHECK(bench_get(session->bench, BENCH_ENABLED) == 0.0);
    CHECK(strstr(session_ask(session, "q0 look"), "look raw ") != NULL);
}

static void an_echo_keeps_no_axis_going(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q9 go 40000 2000 400000 0 0", "a9 go"));
    for (int i = 0; i < 6; i++) {
        session_wait(session, 0.1);
        session_send(session, "a0 look ready 0 0 0 0 0");
    }
    CHECK(strstr(session->lines[session->count - 1], "rest 0 9 silent ") != NULL);
}

/// Guards of the step interrupt ///

static void an_empty_queue_is_fault_2(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q9 go 40000 2000 400000 0 0", "a9 go"));
    session_wait(session, 0.1);
    struct rig *rig = host_rig(session->bench);
    // As if the main loop had not been there for a while
    rig->stepper.tail = rig->stepper.head;
    rig->stepper.remaining = 1;
    rig_on_match(rig);
    CHECK(strstr(session_rest(session, 1.0), " 9 fault ") != NULL);
    CHECK(session_field(session_ask(session, "q0 tally"), 4) == RIG_FAULT_STARVED);
    CHECK(session_gets(session, "q10 rearm", "a10 rearm raw"));
    // A match that comes after all is no pulse
    double pulses = bench_get(session->bench, BENCH_PULSES_UP);
    rig_on_match(rig);
    CHECK(bench_get(session->bench, BENCH_PULSES_UP) == pulses);
}

static void a_late_pulse_is_fault_1(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q9 go 40000 2000 400000 0 0", "a9 go"));
    session_wait(session, 0.1);
    struct rig *rig = host_rig(session->bench);
    // Due longer ago than is allowed
    rig->stepper.due -= (rig_ticks_t)(RIG_LATE_TICKS + 450u * RIG_TICKS_PER_US) << 16;
    CHECK(strstr(session_rest(session, 1.0), " 9 fault ") != NULL);
    CHECK(session_field(session_ask(session, "q0 tally"), 4) == RIG_FAULT_LATE_PULSE);
    CHECK(session_gets(session, "q10 rearm", "a10 rearm raw"));
}

static void a_compare_value_gone_by_is_pushed_ahead(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q9 go 2000 1000 400000 0 0", "a9 go"));
    session_wait(session, 0.1);
    struct rig *rig = host_rig(session->bench);
    double pulses = bench_get(session->bench, BENCH_PULSES_UP);
    rig->stepper.due = (rig_ticks_t)(rig_tick_t)(port_timer(rig) - 50u) << 16;
    rig_stepper_arm(rig, rig->stepper.due, rig->stepper.interval);
    session_wait(session, (double)(RIG_AHEAD_TICKS - 1) / RIG_TICKS_PER_S);
    CHECK(bench_get(session->bench, BENCH_PULSES_UP) == pulses);
    session_wait(session, 1.0 / RIG_TICKS_PER_S);
    CHECK(bench_get(session->bench, BENCH_PULSES_UP) == pulses + 1.0);
    CHECK(strstr(session_rest(session, 3.0), " 9 there 2000 ") != NULL);
}

static void a_turn_of_the_timer_that_is_waited_for_anyway_is_counted(struct session *session)
{
    struct rig *rig = host_rig(session->bench);
    rig->stepper.due = (rig_ticks_t)(rig_tick_t)(port_timer(rig) + 2u) << 16;
    rig->stepper.interval = (rig_ticks_t)2 << 16;
    rig->stepper.turns_left = 10;
    rig_stepper_arm(rig, rig->stepper.due, rig->stepper.interval);
    CHECK(rig->stepper.turns_left == 9);
}

static void a_missed_compare_is_fault_1(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q9 go 40000 2000 400000 0 0", "a9 go"));
    session_wait(session, 0.1);
    // The timer is not met, as if its value had gone by unseen
    port_compare(host_rig(session->bench),
                 (rig_tick_t)(port_timer(host_rig(session->bench)) - 1));
    for (int i = 0; i < 3; i++) {
        rig_on_overflow(host_rig(session->bench));
    }
    session_wait(session, 0.01);
    CHECK(session_find(session, 0, "n3 fault 0 1 ") != NULL);
}

static void a_slow_step_waits_whole_turns_of_the_timer(struct session *session)
{
    uint64_t cycles[10];
    session_ready(session);
    CHECK(rests(session, "q8 go 400 800 400000 0 0", " 8 there 400 "));
    bench_log_pulses(session->bench, cycles, 10);
    // With 16 bits 2000000 / 3 ticks: 10 turns and 11306
    CHECK(rests(session, "q9 go 404 3 1 0 0", " 9 there 404 "));
    for (int i = 1; i < 4; i++) {
        long long off = (long long)(cycles[i] - cycles[i - 1]) - 16000000 / 3;
        CHECK(off >= -8 && off <= 8);
    }
}

const struct test motion_tests[] = {
    {"home finds the switch and tells how wrong the count was",
     home_finds_the_switch_and_tells_how_wrong_the_count_was},
    {"home from the closed switch leaves it first",
     home_from_the_closed_switch_leaves_it_first},
    {"home without a switch is fault 3", home_without_a_switch_is_fault_3},
    {"home switch that stays closed is fault 4", home_switch_that_stays_closed_is_fault_4},
    {"home switch that fails later is a fault", home_switch_that_fails_later_is_a_fault},
    {"home switch closed unseen before the last part is a fault",
     home_switch_closed_unseen_before_the_last_part_is_a_fault},
    {"home switch that bounced open is left all the same",
     home_switch_that_bounced_open_is_left_all_the_same},
    {"a count far out is forgotten by home", a_count_far_out_is_forgotten_by_home},
    {"go reaches both limits", go_reaches_both_limits},
    {"go to the same place ends at once", go_to_the_same_place_ends_at_once},
    {"time of rest is that of the last step", time_of_rest_is_that_of_the_last_step},
    {"home switch in a go is fault 5", home_switch_in_a_go_is_fault_5},
    {"contact in any part of home is fault 7", contact_in_any_part_of_home_is_fault_7},
    {"home from the face goes away slowly first", home_from_the_face_goes_away_slowly_first},
    {"home from a probe that stays closed is fault 7",
     home_from_a_probe_that_stays_closed_is_fault_7},
    {"home that would begin toward the face is refused",
     home_that_would_begin_toward_the_face_is_refused},
    {"a probe closed unseen ends home", a_probe_closed_unseen_ends_home},
    {"touch stops on the probe", touch_stops_on_the_probe},
    {"contact in a go stops and gives up home", contact_in_a_go_stops_and_gives_up_home},
    {"silence stops the axis", silence_stops_the_axis},
    {"refused lines keep the axis going", refused_lines_keep_the_axis_going},
    {"supply lost is a fault once", supply_lost_is_a_fault_once},
    {"a start without supply is no fault", a_start_without_supply_is_no_fault},
    {"drive lost stops at once and holds", drive_lost_stops_at_once_and_holds},
    {"drive lost at rest gives up home", drive_lost_at_rest_gives_up_home},
    {"a start without drive is a fault", a_start_without_drive_is_a_fault},
    {"a broken wire stops the axis", a_broken_wire_stops_the_axis},
    {"the motor has current from home to free", the_motor_has_current_from_home_to_free},
    {"a long rest takes the current away", a_long_rest_takes_the_current_away},
    {"an echo keeps no axis going", an_echo_keeps_no_axis_going},
    {"an empty queue is fault 2", an_empty_queue_is_fault_2},
    {"a late pulse is fault 1", a_late_pulse_is_fault_1},
    {"a compare value gone by is pushed ahead", a_compare_value_gone_by_is_pushed_ahead},
    {"a turn of the timer that is waited for anyway is counted",
     a_turn_of_the_timer_that_is_waited_for_anyway_is_counted},
    {"a missed compare is fault 1", a_missed_compare_is_fault_1},
    {"a slow step waits whole turns of the timer", a_slow_step_waits_whole_turns_of_the_timer},
    {NULL, NULL},
};
