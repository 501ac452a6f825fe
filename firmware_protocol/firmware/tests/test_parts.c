// Check, numbers, step times: what can be claimed without a session
#include <math.h>

#include "internal.h"
#include "session.h"

// The value that the CRC catalogues give for these nine characters
static void check_of_the_nine_digits(struct session *session)
{
    (void)session;
    uint16_t check = RIG_CHECK_START;
    for (const char *c = "123456789"; *c != 0; c++) {
        check = rig_check_add(check, (uint8_t)*c);
    }
    CHECK(check == 0x29B1);
}

static bool reads(const char *text, int32_t *value)
{
    return rig_number_read(text, (uint8_t)strlen(text), value);
}

static void numbers_have_one_way_to_be_written(struct session *session)
{
    (void)session;
    int32_t value = 7;
    CHECK(reads("0", &value) && value == 0);
    CHECK(reads("-1", &value) && value == -1);
    CHECK(reads("2147483647", &value) && value == INT32_MAX);
    CHECK(reads("-2147483648", &value) && value == INT32_MIN);
    const char *const bad[] = {"",   "-",   "-0", "00", "01", "-01",        "+1",
                               " 1", "1 ",  "1a", "a",  "1.", "2147483648", "-2147483649",
                               "--1", "4294967295", "4294967296", "99999999999999999999"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        CHECK(!reads(bad[i], &value));
    }
}

static void numbers_are_written_as_they_are_read(struct session *session)
{
    (void)session;
    const uint32_t all[] = {0, 1, 9, 10, 99, 100, 65535, 999999999, 1000000000, UINT32_MAX};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        char wanted[12];
        char text[12] = {0};
        snprintf(wanted, sizeof wanted, "%lu", (unsigned long)all[i]);
        CHECK(rig_number_write(text, all[i], false) == strlen(wanted));
        CHECK(strcmp(text, wanted) == 0);
    }
    char text[12] = {0};
    CHECK(rig_number_write(text, 2147483648u, true) == 11);
    CHECK(strcmp(text, "-2147483648") == 0);
}

/// Step times against constant acceleration ///

// Seconds from the start to the end of step k of n, from v squared = v0 squared + 2 a s
static double ideal_s(double k, double n, double low, double high, double acceleration)
{
    double ramp = (high * high - low * low) / (2.0 * acceleration);
    if (2.0 * ramp > n) {
        ramp = n / 2.0;
    }
    double top = sqrt(low * low + 2.0 * acceleration * ramp);
    double ramp_s = (top - low) / acceleration;
    if (k <= ramp) {
        return (sqrt(low * low + 2.0 * acceleration * k) - low) / acceleration;
    }
    if (k <= n - ramp) {
        return ramp_s + (k - ramp) / top;
    }
    double total_s = 2.0 * ramp_s + (n - 2.0 * ramp) / top;
    return total_s - (sqrt(low * low + 2.0 * acceleration * (n - k)) - low) / acceleration;
}

// Greatest distance of a pulse from its ideal time, seconds
static double worst_step_s(struct session *session, long target, long speed, long acceleration)
{
    static uint64_t cycles[100000];
    char body[64];
    double from = bench_get(session->bench, BENCH_COMMAND);
    bench_log_pulses(session->bench, cycles, 100000);
    snprintf(body, sizeof body, "q9 go %ld %ld %ld 0 0", target, speed, acceleration);
    (void)session_ask(session, "q0 hail 1");
    CHECK(strcmp(session_ask(session, body), "a9 go") == 0);
    (void)session_rest(session, 200.0);
    uint64_t count = bench_pulses_logged(session->bench);
    CHECK(fabs(bench_get(session->bench, BENCH_COMMAND) - from) == (double)count);
    double low = speed < RIG_START_SPEED ? (double)speed : RIG_START_SPEED;
    double worst = 0.0;
    double first = ideal_s(1.0, (double)count, low, (double)speed, (double)acceleration);
    for (uint64_t i = 1; i < count; i++) {
        double is = (double)(cycles[i] - cycles[0]) / 16e6;
        double ideal =
            ideal_s((double)i + 1.0, (double)count, low, (double)speed, (double)acceleration)
            - first;
        worst = fabs(is - ideal) > worst ? fabs(is - ideal) : worst;
    }
    return worst;
}

static void step_times_keep_to_constant_acceleration(struct session *session)
{
    session_ready(session);
    (void)worst_step_s(session, 400, 800, 400000);
    const long speeds[] = {1, 30, 31, 61, 800, 801, 1600, 5000, 12345, 20000, RIG_SPEED_LIMIT};
    const long accelerations[] = {2000, 160000, 400000};
    double worst = 0.0;
    for (size_t i = 0; i < sizeof speeds / sizeof speeds[0]; i++) {
        for (size_t j = 0; j < sizeof accelerations / sizeof accelerations[0]; j++) {
            long way = speeds[i] < 100 ? 2 * speeds[i] : 17000;
            long there = (long)session_field(session_ask(session, "q7 look"), 3);
            long target = there < 20000 ? 20000 + way : 20000 - way;
            if (speeds[i] < 100) {
                target = there + (there < 30000 ? way : -way);
            }
            double is = worst_step_s(session, target, speeds[i], accelerations[j]);
            printf("  %5ld steps/s, %6ld steps/s^2: %.1f us from the ideal time\n",
                   speeds[i], accelerations[j], is * 1e6);
            worst = is > worst ? is : worst;
        }
    }
    // README.md states 60 us
    CHECK(worst < 60e-6);
}

static void short_ways_are_symmetric(struct session *session)
{
    session_ready(session);
    (void)worst_step_s(session, 400, 800, 400000);
    for (long way = 1; way < 40; way++) {
        long there = (long)session_field(session_ask(session, "q7 look"), 3);
        CHECK(worst_step_s(session, there + way, 20000, 400000) < 60e-6);
    }
}

const struct test parts_tests[] = {
    {"check of the nine digits", check_of_the_nine_digits},
    {"numbers have one way to be written", numbers_have_one_way_to_be_written},
    {"numbers are written as they are read", numbers_are_written_as_they_are_read},
    {"step times keep to constant acceleration", step_times_keep_to_constant_acceleration},
    {"short ways are symmetric", short_ways_are_symmetric},
    {NULL, NULL},
};
