// A scale that is counted and latched with each edge; SPEC.md 7 and 11
#include "port.h"
#include "session.h"

#include <stdio.h>
#include <string.h>

static long long scale_read(struct session *session)
{
    return session_field(session_ask(session, "q0 read 4"), 3);
}

static void its_count_becomes_zero_where_the_steps_do(struct session *session)
{
    session_ready(session);
    // The switch closes at 0 steps of the world
    long long off = scale_read(session) - (long long)bench_get(session->bench, BENCH_SCALE);
    CHECK(off == -WORLD_SCALE_AT_HOME);
    const char *edge = session_find(session, 0, "n1 edge 0 home 1 ");
    // Before it became 0: what the steps were off by is not what the scale was off by
    CHECK(session_field(edge, 5) == -3000);
    CHECK(session_field(edge, 7) == WORLD_SCALE_AT_HOME + 3000);
}

static void each_edge_tells_it_at_that_instant(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q9 go 30000 20000 400000 0 0", "a9 go"));
    (void)session_rest(session, 5.0);
    struct world_edge truth;
    uint64_t last = (uint64_t)bench_get(session->bench, BENCH_EDGE_COUNT) - 1u;
    CHECK(bench_edge(session->bench, last, &truth) && truth.input == WORLD_OUT);
    const char *edge = session_find(session, 0, "n3 edge 0 out 1 20000 ");
    CHECK(edge != NULL && session_field(edge, 7) == 5000);
    CHECK(truth.scale == WORLD_SCALE_AT_HOME + 25000);
}

static void the_difference_wraps_and_the_count_does_not(struct session *session)
{
    session_ready(session);
    // 40000 steps by hand are 50000 counts
    bench_set(session->bench, BENCH_TARGET, 40000.0);
    CHECK(scale_read(session) == 50000);
    bench_set(session->bench, BENCH_OUT_FORCED, 0.0);
    session_wait(session, 0.05);
    const char *edge = session_find(session, 0, "n4 edge 0 out 0 0 ");
    CHECK(edge != NULL && session_field(edge, 7) == 50000 - 65536);
    bench_set(session->bench, BENCH_TARGET, -30000.0);
    bench_set(session->bench, BENCH_OUT_FORCED, 1.0);
    session_wait(session, 0.05);
    CHECK(scale_read(session) == -37500);
    edge = session_find(session, 0, "n5 edge 0 out 1 0 ");
    CHECK(edge != NULL && session_field(edge, 7) == 65536 - 37500);
}

static void it_is_counted_in_held(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    session_send_bare(session, "#");
    long long before = scale_read(session);
    bench_set(session->bench, BENCH_TARGET, 3400.0);
    CHECK(scale_read(session) == before + 500);
}

static void without_it_nothing_tells_of_it(struct session *session)
{
    session_close(session);
    session_open(session, ABLE & ~RIG_ABILITY_SCALE);
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_gets(session, "q0 trait 28", "a0 trait 28 0"));
    CHECK(session_gets(session, "q0 trait 23", "a0 trait 23 15"));
    CHECK(session_gets(session, "q0 read 4", "x0 no 11 0"));
    bench_set(session->bench, BENCH_OUT_FORCED, 1.0);
    session_wait(session, 0.05);
    const char *edge = session_find(session, 0, "n1 edge 0 out 1 0 ");
    CHECK(edge != NULL);
    int fields = 0;
    for (; *edge != 0; edge++) {
        fields += *edge == ' ' ? 1 : 0;
    }
    CHECK(fields == 6);
}

static void it_is_no_setting(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_gets(session, "q0 trait 28", "a0 trait 28 2000000"));
    CHECK(session_gets(session, "q2 set 28 1000000", "x2 no 11 0"));
    char ask[24];
    snprintf(ask, sizeof ask, "q3 set 8 %d", ABLE & ~RIG_ABILITY_SCALE);
    CHECK(session_gets(session, ask, "x3 no 3 2"));
}

const struct test scale_tests[] = {
    {"the scale's count becomes 0 where the steps do",
     its_count_becomes_zero_where_the_steps_do},
    {"each edge tells the scale at that instant", each_edge_tells_it_at_that_instant},
    {"the difference to the steps wraps and the count does not",
     the_difference_wraps_and_the_count_does_not},
    {"the scale is counted in held", it_is_counted_in_held},
    {"without a scale nothing tells of it", without_it_nothing_tells_of_it},
    {"a scale is no setting", it_is_no_setting},
    {NULL, NULL},
};
