// Quantities that are read and controls that are set; SPEC.md 7
#include "port.h"
#include "session.h"

#include <stdio.h>
#include <string.h>

static void each_quantity_is_read_as_it_is(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    bench_set(session->bench, BENCH_QUANTITY + RIG_QUANTITY_TEMPERATURE, -40125.0);
    CHECK(session_gets(session, "q0 read 0", "a0 read 0 24000"));
    CHECK(session_gets(session, "q0 read 1", "a0 read 1 10000"));
    CHECK(session_gets(session, "q0 read 2", "a0 read 2 1200"));
    CHECK(session_gets(session, "q0 read 3", "a0 read 3 -40125"));
    CHECK(session_gets(session, "q0 read 5", "x0 no 11 0"));
    CHECK(session_gets(session, "q0 read 255", "x0 no 11 0"));
    CHECK(session_gets(session, "q0 read 256", "x0 no 3 1"));
}

static void the_supply_is_switched_and_the_instant_told(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    const char *off = session_ask(session, "q2 put 0 0");
    long long off_us = session_field(off, 4);
    CHECK(strncmp(off, "a2 put 0 0 ", 11) == 0);
    CHECK(bench_get(session->bench, BENCH_SWITCHED_ON) < 0.5);
    // A cycle is 62.5 ns; the controller was started with the bench
    CHECK(off_us == (long long)(bench_get(session->bench, BENCH_SWITCHED_CYCLES) / 16.0));
    CHECK(session_gets(session, "q0 read 0", "a0 read 0 0"));
    CHECK((session_field(session_ask(session, "q0 look"), 5) & RIG_INPUT_SUPPLY) == 0);
    session_wait(session, 0.1);
    CHECK(session_gets(session, "q0 tally", "a0 tally 0 0 0"));
    const char *on = session_ask(session, "q3 put 0 1");
    CHECK(session_field(on, 4) > off_us + 100000);
    CHECK((session_field(session_ask(session, "q0 look"), 5) & RIG_INPUT_SUPPLY) != 0);
}

static void a_loss_after_the_switching_is_a_fault(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    (void)session_ask(session, "q2 put 0 0");
    bench_set(session->bench, BENCH_SUPPLY, 0.0);
    (void)session_ask(session, "q3 put 0 1");
    session_wait(session, 0.1);
    // It has not been there since
    CHECK(session_gets(session, "q0 tally", "a0 tally 0 0 0"));
    bench_set(session->bench, BENCH_SUPPLY, 1.0);
    session_wait(session, 0.1);
    bench_set(session->bench, BENCH_SUPPLY, 0.0);
    session_wait(session, 0.1);
    CHECK(session_gets(session, "q0 tally", "a0 tally 0 0 6"));
}

static void the_voltage_is_set_within_its_range(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    CHECK(strncmp(session_ask(session, "q2 put 1 10000"), "a2 put 1 10000 ", 15) == 0);
    CHECK(bench_get(session->bench, BENCH_SET_MV) == 10000.0);
    CHECK(session_gets(session, "q3 put 1 9999", "x3 no 3 2"));
    CHECK(session_gets(session, "q4 put 1 30001", "x4 no 3 2"));
    CHECK(bench_get(session->bench, BENCH_SET_MV) == 10000.0);
    CHECK(session_gets(session, "q0 trait 25", "a0 trait 25 10000"));
    CHECK(session_gets(session, "q0 trait 26", "a0 trait 26 30000"));
    CHECK(session_gets(session, "q0 trait 27", "a0 trait 27 24000"));
    CHECK(session_gets(session, "q0 trait 29", "x0 no 3 1"));
}

static void a_restart_brings_the_supply_back(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    (void)session_ask(session, "q2 put 0 0");
    (void)session_ask(session, "q3 put 1 12000");
    bench_restart(session->bench, RIG_START_REASON_BUTTON);
    session_wait(session, 0.01);
    CHECK(bench_get(session->bench, BENCH_SWITCHED_ON) > 0.5);
    CHECK(bench_get(session->bench, BENCH_SET_MV) == 24000.0);
}

static void nothing_is_there_unless_fitted(struct session *session)
{
    session_close(session);
    session_open(session, 0);
    (void)session_ask(session, "q1 hail 1");
    for (int trait = RIG_TRAIT_QUANTITIES; trait <= RIG_TRAIT_SUPPLY_START; trait++) {
        char ask[24];
        char wanted[24];
        snprintf(ask, sizeof ask, "q0 trait %d", trait);
        snprintf(wanted, sizeof wanted, "a0 trait %d 0", trait);
        CHECK(session_gets(session, ask, wanted));
    }
    CHECK(session_gets(session, "q0 read 3", "x0 no 11 0"));
    CHECK(session_gets(session, "q2 put 0 0", "x2 no 11 0"));
    CHECK(session_gets(session, "q3 put 1 24000", "x3 no 11 0"));
}

static void nothing_is_switched_in_motion(struct session *session)
{
    session_ready(session);
    (void)session_ask(session, "q20 go 5000 800 160000 0 0");
    CHECK(session_gets(session, "q21 put 0 0", "x21 no 7 0"));
    CHECK(bench_get(session->bench, BENCH_SWITCHED_ON) > 0.5);
    CHECK(session_gets(session, "q0 read 3", "a0 read 3 21500"));
}

const struct test quantity_tests[] = {
    {"each quantity is read as it is", each_quantity_is_read_as_it_is},
    {"the supply is switched and the instant told",
     the_supply_is_switched_and_the_instant_told},
    {"a loss after the switching is a fault", a_loss_after_the_switching_is_a_fault},
    {"the voltage is set within its range", the_voltage_is_set_within_its_range},
    {"a restart brings the supply back", a_restart_brings_the_supply_back},
    {"nothing is there unless fitted", nothing_is_there_unless_fitted},
    {"nothing is switched in motion", nothing_is_switched_in_motion},
    {NULL, NULL},
};
