// Lines, the stop byte, remembered requests, the rate: SPEC.md 2, 5, 6, 9
#include "session.h"

static void feed(struct session *session, const char *text)
{
    bench_feed(session->bench, (const uint8_t *)text, strlen(text));
}

static bool is_answered(struct session *session, const char *line)
{
    size_t from = session->count;
    feed(session, line);
    session_wait(session, 0.02);
    for (size_t i = from; i < session->count; i++) {
        if (session->lines[i][0] != 'n') {
            return true;
        }
    }
    return false;
}

static long long dropped(struct session *session)
{
    return session_field(session_ask(session, "q0 tally"), 2);
}

static void examples_of_the_spec_are_answered(struct session *session)
{
    CHECK(is_answered(session, "&q1 hail 1 b29f\n"));
    CHECK(is_answered(session, "&q0 look 8d95\n"));
    CHECK(is_answered(session, "&q0 look 8d95\r\n"));
    CHECK(dropped(session) == 0);
}

static void damaged_lines_are_dropped_and_counted(struct session *session)
{
    const char *const bad[] = {
        "&q0 look 8d94\n",       // check
        "&q0 look 8D95\n",       // check in capitals
        "&q0 lo\x07k 8d95\n",    // a byte that is not printable
        "&q0 look 8d95\r \n",    // carriage return not at the end
        "&q0 look 8d95\r\r\n",   // two of them
        "&\n",                   // nothing
        "&8d95\n",               // nothing but a check
        "&q0 look\n",            // no check
        "&q0 look x8d95\n",      // no blank before the check
        "&q0 look 8\x80" "95\n", // high bit
        "&q0 look 8d9g\n",
    };
    (void)session_ask(session, "q1 hail 1");
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        CHECK(!is_answered(session, bad[i]));
        CHECK(dropped(session) == (long long)i + 1);
    }
}

static void start_byte_begins_anew(struct session *session)
{
    CHECK(is_answered(session, "garbage\n&q1 ha&q1 hail 1 b29f\n"));
    CHECK(dropped(session) == 1);
    CHECK(is_answered(session, "&&&&q0 look 8d95\n"));
    CHECK(dropped(session) == 4);
}

static void a_line_may_have_64_bytes_and_no_more(struct session *session)
{
    char body[80];
    (void)session_ask(session, "q1 hail 1");
    // "&", 58 of the body, blank, check: 64
    memset(body, 'z', sizeof body);
    memcpy(body, "q5 ", 3);
    body[58] = 0;
    CHECK(session_gets(session, body, "x5 no 1 0"));
    body[58] = 'z';
    body[59] = 0;
    CHECK(strcmp(session_ask(session, body), "no reply") == 0);
    CHECK(dropped(session) == 1);
}

static void sound_lines_that_are_no_requests_are_dropped(struct session *session)
{
    const char *const bad[] = {"a1 look",  "n1 look", "x1 no 1 0", "q256 look", "q-1 look",
                               "q01 look", "q look",  "q1",        "1 look",    "Q1 look"};
    (void)session_ask(session, "q1 hail 1");
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        size_t from = session->count;
        session_send(session, bad[i]);
        session_wait(session, 0.02);
        CHECK(session->count == from || session->lines[from][0] == 'n');
        CHECK(dropped(session) == (long long)i + 1);
    }
}

static void a_repeated_order_is_answered_and_not_carried_out(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q9 go 500 800 100000 0 0", "a9 go"));
    (void)session_rest(session, 3.0);
    double pulses = bench_get(session->bench, BENCH_PULSES_UP);
    CHECK(session_gets(session, "q9 go 500 800 100000 0 0", "a9 go"));
    session_wait(session, 0.2);
    CHECK(bench_get(session->bench, BENCH_PULSES_UP) == pulses);
    // A refusal is remembered too, and number 0 changes nothing
    CHECK(session_gets(session, "q10 go 80001 800 1 0 0", "x10 no 9 1"));
    (void)session_ask(session, "q0 look");
    CHECK(session_gets(session, "q10 go 80001 800 1 0 0", "x10 no 9 1"));
    CHECK(session_gets(session, "q10 go 80000 800 1 0 0", "x10 no 14 0"));
    CHECK(session_gets(session, "q9 go 500 800 100000 0 0", "x9 no 14 0"));
    // Malformed, so of no session; and what is refused so is not remembered
    CHECK(session_gets(session, "q10 go 80001 800 1 0", "x10 no 2 0"));
    CHECK(session_gets(session, "q10 nonsense", "x10 no 1 0"));
    CHECK(session_gets(session, "q10 go 80001 800 1 0 0", "x10 no 9 1"));
    // A reading is none: it takes the number of an order, and is carried out anew
    CHECK(strncmp(session_ask(session, "q10 look"), "a10 look ready 500 ", 19) == 0);
    CHECK(session_gets(session, "q10 go 80001 800 1 0 0", "x10 no 9 1"));
    CHECK(session_gets(session, "q255 rearm", "a255 rearm ready"));
    CHECK(session_gets(session, "q254 rearm", "x254 no 14 0"));
}

// As the queue of a serial server gives it when its host has died
static void a_late_copy_of_an_order_moves_nothing(struct session *session)
{
    char late[80];
    session_ready(session);
    snprintf(late, sizeof late, "q9 go 2000 800 1 0 0 %ld", session->session);
    double pulses = bench_get(session->bench, BENCH_PULSES_UP);
    // The host fell silent: its session is over, whatever else is said meanwhile
    session_wait(session, 0.49);
    CHECK(strncmp(session_ask(session, "q0 look"), "a0 look ready 0 ", 16) == 0);
    session_wait(session, 0.51);
    CHECK(strncmp(session_ask(session, "q0 look"), "a0 look ready 0 ", 16) == 0);
    session_send_bare(session, late);
    session_wait(session, 0.2);
    CHECK(session_find(session, 0, "x9 no 18 0") != NULL);
    // Another host greets and works; then the copy comes once more
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_gets(session, "q2 fence 400 70000", "a2 fence 400 70000"));
    size_t from = session->count;
    session_send_bare(session, late);
    session_wait(session, 0.2);
    CHECK(session_find(session, from, "x9 no 18 0") != NULL);
    CHECK(bench_get(session->bench, BENCH_PULSES_UP) == pulses);
    // It took no number from the session in force
    CHECK(session_gets(session, "q3 go 500 800 100000 0 0", "a3 go"));
    (void)session_rest(session, 3.0);
    CHECK(bench_get(session->bench, BENCH_PULSES_UP) == pulses + 500);
}

static void each_greeting_begins_a_session(struct session *session)
{
    (void)session_ask(session, "q7 hail 1");
    long first = session->session;
    CHECK(first == 40504);
    CHECK(session_gets(session, "q7 rearm", "a7 rearm raw"));
    (void)session_ask(session, "q7 hail 1");
    CHECK(session->session == first + 1);
    CHECK(session_gets(session, "q1 rearm", "a1 rearm raw"));
    // One that is refused begins none
    CHECK(session_gets(session, "q7 hail 2", "x7 no 4 1"));
    CHECK(session_gets(session, "q7 hail", "x7 no 2 0"));
    CHECK(session_gets(session, "q1 rearm", "a1 rearm raw"));
    CHECK(session_gets(session, "q2 rearm", "a2 rearm raw"));
    bench_restart(session->bench, RIG_START_REASON_BUTTON);
    session_wait(session, 0.01);
    (void)session_ask(session, "q7 hail 1");
    CHECK(session->session == (2 * 40503 + 1) % 65536);
}

static void orders_need_their_session(struct session *session)
{
    static const char *const orders[] = {"fence 400 500", "home 16000 400", "go 1 1 1 0 0",
                                         "touch 1 1", "rearm", "free", "rate 115200"};
    char ask[64];
    char refusal[32];
    (void)session_ask(session, "q1 hail 1");
    for (int i = 0; i < 7; i++) {
        snprintf(ask, sizeof ask, "q%d %s %ld", i + 2, orders[i], session->session - 1);
        snprintf(refusal, sizeof refusal, "x%d no 18 0", i + 2);
        size_t from = session->count;
        session_send_bare(session, ask);
        session_wait(session, 0.02);
        CHECK(session_find(session, from, refusal) != NULL);
    }
    CHECK(strncmp(session_ask(session, "q0 look"), "a0 look raw 0 ", 14) == 0);
}

static void two_requests_may_be_outstanding(struct session *session)
{
    session_ready(session);
    size_t from = session->count;
    session_send(session, "q11 fence -2147483648 2147483647");
    session_send(session, "q12 go 2147483647 1000000 10000000 255 1000000");
    session_wait(session, 0.1);
    CHECK(session_find(session, from, "x11 no 9 1") != NULL);
    CHECK(session_find(session, from, "x12 no 15 2") != NULL);
}

static void more_bytes_than_fit_spoil_lines_but_are_never_carried_out(struct session *session)
{
    struct rig *rig = host_rig(session->bench);
    for (int i = 0; i < 400; i++) {
        const char *line = "&q1 hail 1 b29f\n";
        rig_on_byte(rig, (uint8_t)line[i % 16], false);
    }
    session_wait(session, 0.2);
    CHECK(session_find(session, 0, "a1 hail") != NULL);
    CHECK(dropped(session) == 1);
    rig_on_byte(rig, '&', false);
    rig_on_byte(rig, 'q', true);
    rig_on_byte(rig, '\n', false);
    session_wait(session, 0.01);
    CHECK(dropped(session) == 2);
}

static void the_stop_byte_drops_its_line_uncounted(struct session *session)
{
    session_ready(session);
    CHECK(!is_answered(session, "&q0 lo#ok 8d95\n"));
    CHECK(strstr(session_ask(session, "q0 look"), "look held 0 ") != NULL);
    CHECK(dropped(session) == 0);
    // At rest home and soft limits stay, and there is no notice
    CHECK(session_find(session, session->count - 3, "n") == NULL);
    CHECK(session_gets(session, "q20 rearm", "a20 rearm ready"));
}

static void the_stop_byte_stops_and_gives_up_home(struct session *session)
{
    session_ready(session);
    CHECK(session_gets(session, "q20 go 70000 20000 400000 0 0", "a20 go"));
    session_wait(session, 0.3);
    feed(session, "#");
    session_wait(session, 0.0001);
    double pulses = bench_get(session->bench, BENCH_PULSES_UP);
    session_wait(session, 0.1);
    CHECK(bench_get(session->bench, BENCH_PULSES_UP) == pulses);
    CHECK(strstr(session->lines[session->count - 1], "rest 0 20 stopped") != NULL);
    feed(session, "###");
    session_wait(session, 0.1);
    CHECK(strstr(session->lines[session->count - 1], "rest 0 20 stopped") != NULL);
    CHECK(session_gets(session, "q21 home 16000 400", "x21 no 8 0"));
    CHECK(session_gets(session, "q22 rearm", "a22 rearm raw"));
    CHECK(session_gets(session, "q23 rearm", "a23 rearm raw"));
}

static void requests_not_yet_begun_are_dropped_by_a_stop(struct session *session)
{
    session_ready(session);
    struct rig *rig = host_rig(session->bench);
    // Straight into the ring, so that the main loop has not seen them
    for (const char *c = "&q1 hail 1 b29f\n#"; *c != 0; c++) {
        rig_on_byte(rig, (uint8_t)*c, false);
    }
    size_t from = session->count;
    session_wait(session, 0.1);
    CHECK(session->count == from);
    // A line that is whole but waits for room goes too
    rig->line.whole = true;
    rig_on_byte(rig, '#', false);
    session_wait(session, 0.1);
    CHECK(session->count == from);
}

static void the_rate_changes_after_the_answer(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_gets(session, "q2 rate 200000", "x2 no 3 1"));
    CHECK(session_gets(session, "q3 rate 250000", "a3 rate 250000"));
    bench_set(session->bench, BENCH_LINE_RATE, 250000);
    session_wait(session, 0.005);
    CHECK(bench_get(session->bench, BENCH_CONTROLLER_RATE) == 250000);
    CHECK(strncmp(session_ask(session, "q4 look"), "a4 look", 7) == 0);
    session_wait(session, 1.0);
    CHECK(bench_get(session->bench, BENCH_CONTROLLER_RATE) == 250000);
    CHECK(session_gets(session, "q5 rate 115200", "a5 rate 115200"));
    bench_set(session->bench, BENCH_LINE_RATE, 115200);
    session_wait(session, 0.005);
    CHECK(strncmp(session_ask(session, "q6 look"), "a6 look", 7) == 0);
}

static void the_rate_goes_back_without_a_sound_line(struct session *session)
{
    (void)session_ask(session, "q1 hail 1");
    CHECK(session_gets(session, "q3 rate 250000", "a3 rate 250000"));
    bench_set(session->bench, BENCH_LINE_RATE, 115200);
    session_send(session, "q4 look");
    session_wait(session, 0.49);
    CHECK(bench_get(session->bench, BENCH_CONTROLLER_RATE) == 250000);
    session_wait(session, 0.02);
    CHECK(bench_get(session->bench, BENCH_CONTROLLER_RATE) == 115200);
    // What was sent at the wrong rate reads as rubbish to the host as well
    CHECK(strncmp(session_ask(session, "q5 look"), "a5 look", 7) == 0);
}

const struct test line_tests[] = {
    {"examples of the spec are answered", examples_of_the_spec_are_answered},
    {"damaged lines are dropped and counted", damaged_lines_are_dropped_and_counted},
    {"start byte begins anew", start_byte_begins_anew},
    {"a line may have 64 bytes and no more", a_line_may_have_64_bytes_and_no_more},
    {"sound lines that are no requests are dropped",
     sound_lines_that_are_no_requests_are_dropped},
    {"a repeated order is answered and not carried out",
     a_repeated_order_is_answered_and_not_carried_out},
    {"a late copy of an order moves nothing", a_late_copy_of_an_order_moves_nothing},
    {"each greeting begins a session", each_greeting_begins_a_session},
    {"orders need their session", orders_need_their_session},
    {"two requests may be outstanding", two_requests_may_be_outstanding},
    {"more bytes than fit spoil lines but are never carried out",
     more_bytes_than_fit_spoil_lines_but_are_never_carried_out},
    {"the stop byte drops its line uncounted", the_stop_byte_drops_its_line_uncounted},
    {"the stop byte stops and gives up home", the_stop_byte_stops_and_gives_up_home},
    {"requests not yet begun are dropped by a stop",
     requests_not_yet_begun_are_dropped_by_a_stop},
    {"the rate changes after the answer", the_rate_changes_after_the_answer},
    {"the rate goes back without a sound line", the_rate_goes_back_without_a_sound_line},
    {NULL, NULL},
};
