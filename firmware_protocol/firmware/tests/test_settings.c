// Settings: what fits, what is kept, and what is damaged; SPEC.md 7
#include "port.h"
#include "session.h"

#include <stdio.h>
#include <string.h>

static int word_number = 1;

static bool sets(struct session *session, int trait, long value)
{
    char ask[48];
    char wanted[48];
    snprintf(ask, sizeof ask, "q%d set %d %ld", ++word_number, trait, value);
    snprintf(wanted, sizeof wanted, "a%d set %d %ld", word_number, trait, value);
    return strcmp(session_ask(session, ask), wanted) == 0;
}

static bool refuses(struct session *session, int trait, long value, const char *error)
{
    char ask[48];
    char wanted[48];
    snprintf(ask, sizeof ask, "q%d set %d %ld", ++word_number, trait, value);
    snprintf(wanted, sizeof wanted, "x%d no %s", word_number, error);
    return strcmp(session_ask(session, ask), wanted) == 0;
}

static void a_setting_is_in_force_and_outlives_a_restart(struct session *session)
{
    word_number = 1;
    (void)session_ask(session, "q1 hail 1");
    CHECK(sets(session, RIG_TRAIT_TRAVEL_HIGH, 50000));
    CHECK(session_gets(session, "q0 trait 2", "a0 trait 2 50000"));
    bench_restart(session->bench, RIG_START_REASON_POWER);
    session_wait(session, 0.01);
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_gets(session, "q0 trait 2", "a0 trait 2 50000"));
    CHECK(session_gets(session, "q0 tally", "a0 tally 0 0 0"));
}

static void home_goes_the_ways_that_were_set(struct session *session)
{
    word_number = 1;
    (void)session_ask(session, "q1 hail 1");
    CHECK(sets(session, RIG_TRAIT_HOME_CLEAR, 900));
    CHECK(sets(session, RIG_TRAIT_HOME_SEARCH, 1000));
    (void)session_ask(session, "q10 home 16000 800");
    double highest = 0.0;
    bool closed = false;
    for (int i = 0; i < 8000; i++) {
        session_wait(session, 0.001);
        if (i % 100 == 0) {
            session_send(session, "q0 look");
        }
        closed = closed || bench_get(session->bench, BENCH_TARGET) <= 0.0;
        double place = bench_get(session->bench, BENCH_TARGET);
        highest = closed && place > highest ? place : highest;
    }
    // The switch opens 40 steps above the place where it closes
    CHECK(highest >= 940.0 && highest <= 942.0);
}

static void what_does_not_fit_is_refused(struct session *session)
{
    word_number = 1;
    (void)session_ask(session, "q1 hail 1");
    CHECK(refuses(session, RIG_TRAIT_STEPS_PER_M, 1999, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_TRAVEL_LOW, 0, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_TRAVEL_LOW, 80000, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_TRAVEL_HIGH, 1L << 29, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_TRAVEL_HIGH, 3999, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_SPEED_LIMIT, RIG_SPEED_LIMIT + 1, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_SPEED_LIMIT, 799, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_ACCELERATION_LIMIT, 0, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_ACCELERATION_LIMIT, 400001, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_START_SPEED, 100, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_START_SPEED, 2001, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_HOME_CLEAR, 4000, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_HIGH_INPUTS, 32, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_SERIAL, -1, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_NAME_1, 0, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_NAME_4, 0x61, "3 2"));
    // What the board is stays as it is; what is fitted may change
    CHECK(refuses(session, RIG_TRAIT_ABILITIES, ABLE & ~RIG_ABILITY_SIMULATED, "3 2"));
    CHECK(refuses(session, RIG_TRAIT_ABILITIES, ABLE | 256, "3 2"));
    CHECK(sets(session, RIG_TRAIT_ABILITIES, ABLE & ~RIG_ABILITY_SUPPLY_SENSE));
    CHECK(refuses(session, RIG_TRAIT_RING_SIZE, 32, "11 0"));
    CHECK(refuses(session, RIG_TRAIT_BUILD, 1, "11 0"));
    CHECK(refuses(session, 23, 1, "11 0"));
}

static void the_polarity_of_an_input_is_a_setting(struct session *session)
{
    word_number = 1;
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_field(session_ask(session, "q0 look"), 5) == 24);
    CHECK(sets(session, RIG_TRAIT_HIGH_INPUTS, RIG_INPUT_PROBE));
    CHECK(session_field(session_ask(session, "q0 look"), 5) == 28);
    // No edge: nothing moved but the reading of it
    CHECK(session_find(session, 0, "n1 ") == NULL);
    CHECK(session_gets(session, "q0 trait 11", "a0 trait 11 26"));
}

static void nothing_is_set_while_homed_or_held(struct session *session)
{
    session_ready(session);
    word_number = 20;
    CHECK(refuses(session, RIG_TRAIT_HOME_CLEAR, 201, "19 0"));
    bench_feed(session->bench, (const uint8_t *)"#", 1);
    session_wait(session, 0.01);
    CHECK(refuses(session, RIG_TRAIT_HOME_CLEAR, 201, "8 0"));
}

static void damaged_settings_are_fault_9(struct session *session)
{
    struct rig *rig = host_rig(session->bench);
    port_keep(rig, 9, 0x55);
    bench_restart(session->bench, RIG_START_REASON_POWER);
    session_wait(session, 0.01);
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_find(session, 0, "n1 fault 0 9 ") != NULL);
    CHECK(strstr(session_ask(session, "q0 look"), "look held ") != NULL);
    CHECK(session_gets(session, "q0 trait 2", "a0 trait 2 80000"));
    CHECK(session_gets(session, "q0 trait 18", "a0 trait 18 0"));
    CHECK(session_gets(session, "q2 rearm", "a2 rearm raw"));
}

const struct test settings_tests[] = {
    {"a setting is in force and outlives a restart",
     a_setting_is_in_force_and_outlives_a_restart},
    {"home goes the ways that were set", home_goes_the_ways_that_were_set},
    {"what does not fit is refused", what_does_not_fit_is_refused},
    {"the polarity of an input is a setting", the_polarity_of_an_input_is_a_setting},
    {"nothing is set while homed or held", nothing_is_set_while_homed_or_held},
    {"damaged settings are fault 9", damaged_settings_are_fault_9},
    {NULL, NULL},
};
