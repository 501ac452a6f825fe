// Refusals and answers: SPEC.md 6 to 8
#include "session.h"

static void before_the_greeting_all_is_refused(struct session *session)
{
    CHECK(session_gets(session, "q1 look", "x1 no 16 0"));
    CHECK(session_gets(session, "q0 look", "x0 no 16 0"));
    CHECK(session_gets(session, "q2 look 1", "x2 no 16 0"));
    CHECK(session_gets(session, "q3 nonsense", "x3 no 1 0"));
    CHECK(session_gets(session, "q0 go", "x0 no 13 0"));
    CHECK(session_gets(session, "q4 hail 0", "x4 no 4 1"));
    CHECK(session_gets(session, "q5 look", "x5 no 16 0"));
    CHECK(strcmp(session_ask(session, "q6 hail 1"), "a6 hail 1 0 1 0.1.0 unnamed 40504") == 0);
    CHECK(strncmp(session_ask(session, "q7 look"), "a7 look raw 0 ", 14) == 0);
}

static void form_is_checked_in_its_order(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_gets(session, "q2 ", "x2 no 1 0"));
    CHECK(session_gets(session, "q3 loo", "x3 no 1 0"));
    CHECK(session_gets(session, "q4 looks", "x4 no 1 0"));
    CHECK(session_gets(session, "q5  look", "x5 no 1 0"));
    CHECK(session_gets(session, "q6 look ", "x6 no 2 0"));
    CHECK(session_gets(session, "q7 go 1 2 3 4", "x7 no 2 0"));
    CHECK(session_gets(session, "q8 go 1 2 3 4 5 6", "x8 no 2 0"));
    CHECK(session_gets(session, "q9 go a b c d e f", "x9 no 2 0"));
    CHECK(session_gets(session, "q10 go 1 2 3 4 x", "x10 no 3 5"));
    CHECK(session_gets(session, "q11 go 1 0 3 4 x", "x11 no 3 2"));
    CHECK(session_gets(session, "q12 go 1 1000001 3 4 5", "x12 no 3 2"));
    CHECK(session_gets(session, "q13 go 1 2 3 256 5", "x13 no 3 4"));
    CHECK(session_gets(session, "q14 go 1  3 4 5", "x14 no 3 2"));
    CHECK(session_gets(session, "q15 go 2147483648 2 3 4 5", "x15 no 3 1"));
    CHECK(session_gets(session, "q16 trait 256", "x16 no 3 1"));
    CHECK(session_gets(session, "q17 trait 255", "x17 no 3 1"));
    CHECK(session_gets(session, "q18 fence 5 5", "x18 no 3 2"));
    CHECK(session_gets(session, "q0 fence 5 5", "x0 no 13 0"));
    CHECK(session_gets(session, "q19 recall 65536", "x19 no 3 1"));
}

static void traits_are_told(struct session *session)
{
    const long values[] = {1600000, 400, 80000, RIG_SPEED_LIMIT, 400000, 800, 32, 500, ABLE, 1000, 200,
                           30, 50, 1800, 200, 4000, RIG_BUILD, 6, 20260101,
                           0x616E6E75, 0x64656D, 0, 0};
    (void)session_ask(session, "q1 hail 1");
    for (int i = 0; i < 23; i++) {
        char ask[48];
        char wanted[64];
        snprintf(ask, sizeof ask, "q%d trait %d", i + 2, i);
        snprintf(wanted, sizeof wanted, "a%d trait %d %ld", i + 2, i, values[i]);
        CHECK(session_gets(session, ask, wanted));
    }
}

static void each_state_refuses_what_it_must(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    // raw
    CHECK(session_gets(session, "q2 fence 0 40000", "x2 no 5 0"));
    CHECK(session_gets(session, "q3 go 1 1 1 0 0", "x3 no 5 0"));
    CHECK(session_gets(session, "q4 touch 1 1", "x4 no 5 0"));
    CHECK(session_gets(session, "q5 rearm", "a5 rearm raw"));
    CHECK(session_gets(session, "q6 home 200001 400", "x6 no 15 1"));
    CHECK(session_gets(session, "q7 home 16000 801", "x7 no 15 2"));
    // seeking
    CHECK(session_gets(session, "q8 home 16000 400", "a8 home"));
    const char *const verbs[] = {"fence 0 4", "home 1 1", "go 0 1 1 0 0",
                                 "touch 0 1", "rearm",    "rate 250000"};
    for (int i = 0; i < 6; i++) {
        char ask[64];
        char refusal[32];
        snprintf(ask, sizeof ask, "q%d %s", i + 10, verbs[i]);
        snprintf(refusal, sizeof refusal, "x%d no 7 0", i + 10);
        CHECK(session_gets(session, ask, refusal));
    }
    CHECK(strstr(session_ask(session, "q0 look"), "look seeking") != NULL);
    (void)session_rest(session, 10.0);
    // unfenced
    CHECK(strstr(session_ask(session, "q0 look"), "look unfenced 0 ") != NULL);
    CHECK(session_gets(session, "q20 go 1 1 1 0 0", "x20 no 6 0"));
    CHECK(session_gets(session, "q21 touch 1 1", "x21 no 6 0"));
    CHECK(session_gets(session, "q22 rearm", "a22 rearm unfenced"));
    CHECK(session_gets(session, "q23 fence 399 40000", "x23 no 9 1"));
    CHECK(session_gets(session, "q24 fence 400 80001", "x24 no 9 2"));
    CHECK(session_gets(session, "q25 fence 80001 80002", "x25 no 9 1"));
    CHECK(session_gets(session, "q26 fence 500 40000", "a26 fence 500 40000"));
    // ready
    CHECK(strstr(session_ask(session, "q0 look"), "look ready 0 ") != NULL);
    CHECK(session_gets(session, "q27 go 499 1 1 0 0", "x27 no 9 1"));
    CHECK(session_gets(session, "q28 touch 40001 1", "x28 no 9 1"));
    CHECK(session_gets(session, "q29 go 40001 200001 1 0 0", "x29 no 15 2"));
    CHECK(session_gets(session, "q30 go 40001 20000 400001 0 0", "x30 no 15 3"));
    CHECK(session_gets(session, "q31 touch 40001 801", "x31 no 15 2"));
    // held
    bench_feed(session->bench, (const uint8_t *)"#", 1);
    session_wait(session, 0.01);
    CHECK(session_gets(session, "q32 fence 0 4", "x32 no 8 0"));
    CHECK(session_gets(session, "q33 home 1 1", "x33 no 8 0"));
    CHECK(session_gets(session, "q34 go 0 1 1 0 0", "x34 no 8 0"));
    CHECK(session_gets(session, "q35 touch 0 1", "x35 no 8 0"));
    CHECK(session_gets(session, "q36 rearm", "a36 rearm ready"));
}

static void abilities_not_there_are_refused(struct session *session)
{
    session_close(session);
    session_open(session, 0);
    session_ready(session);
    CHECK(session_gets(session, "q10 touch 100 100", "x10 no 11 0"));
    CHECK(session_gets(session, "q11 rate 250000", "x11 no 11 0"));
    CHECK(session_gets(session, "q12 rate 115200", "a12 rate 115200"));
    session_wait(session, 0.01);
    // No probe: its input is neither told nor heeded; the supply counts as there
    bench_set(session->bench, BENCH_PROBE_AT, -100);
    bench_set(session->bench, BENCH_SUPPLY, 0);
    // as the motor's drive does
    CHECK(session_field(session_ask(session, "q13 look"), 5) == 28);
    CHECK(session_gets(session, "q15 free", "x15 no 11 0"));
    CHECK(session_gets(session, "q16 trait 13", "a16 trait 13 0"));
    // Of the inputs that are read, the home switch alone fails safe
    CHECK(session_gets(session, "q17 trait 11", "a17 trait 11 4"));
    CHECK(session_gets(session, "q18 go 500 800 1000 0 0", "a18 go"));
    CHECK(strstr(session_rest(session, 2.0), "18 there 500") != NULL);
}

static void look_tells_the_inputs(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_field(session_ask(session, "q2 look"), 5) == 24);
    bench_set(session->bench, BENCH_OUT_FORCED, 1);
    CHECK(session_field(session_ask(session, "q3 look"), 5) == 25);
    bench_set(session->bench, BENCH_PROBE_AT, 0);
    bench_set(session->bench, BENCH_HOME_AT, 9000);
    CHECK(session_field(session_ask(session, "q4 look"), 5) == 63);
    bench_set(session->bench, BENCH_SUPPLY, 0);
    CHECK(session_field(session_ask(session, "q5 look"), 5) == 55);
}

static void a_restart_loses_home_and_changes_boot(struct session *session)
{
    session_ready(session);
    bench_restart(session->bench, RIG_START_REASON_WATCHDOG);
    size_t from = session->count;
    session_wait(session, 0.05);
    CHECK(session_find(session, from, "n0 start 0 2 watchdog") != NULL);
    CHECK(session_gets(session, "q9 look", "x9 no 16 0"));
    CHECK(strncmp(session_ask(session, "q1 hail 1"), "a1 hail 1 0 2 ", 14) == 0);
    CHECK(strncmp(session_ask(session, "q2 look"), "a2 look raw 0 ", 14) == 0);
}

const struct test request_tests[] = {
    {"before the greeting all is refused", before_the_greeting_all_is_refused},
    {"form is checked in its order", form_is_checked_in_its_order},
    {"traits are told", traits_are_told},
    {"each state refuses what it must", each_state_refuses_what_it_must},
    {"abilities not there are refused", abilities_not_there_are_refused},
    {"look tells the inputs", look_tells_the_inputs},
    {"a restart loses home and changes boot", a_restart_loses_home_and_changes_boot},
    {NULL, NULL},
};
