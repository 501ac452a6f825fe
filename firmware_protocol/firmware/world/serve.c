// A controller on its bench in real time, on a pseudo-terminal or on its standard
// input and output
//
//   serve [--stdio] [--abilities SUM] [VALUE=NUMBER ...] [IMAGE]
//
// Prints the terminal's name. Values are the names in bench.h without BENCH_, in lower
// case: operate_at=20000. Ends when its standard input ends.
#define _XOPEN_SOURCE 600
#define _DEFAULT_SOURCE

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "bench.h"

// Longest time in one go: after a pause of the process the world is late, not hasty
#define LONGEST_S 0.25
#define POLL_MS 1
// Time to go on after the end of the input
#define LAST_S 0.1
// How long a hand keeps the probe away from its rest
#define TAP_S 0.1

static const char *const names[] = {"operate_at", "release_at", "noise",    "seed",
                                    "home_at",    "home_gap",   "probe_at", "backlash",
                                    "out_forced", "supply",     "reversed", "drive",
                                    "broken",     "target"};

struct options {
    const char *image;
    int abilities;
    int stdio;
};

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static int open_terminal(void)
{
    struct termios raw;
    int master = posix_openpt(O_RDWR | O_NOCTTY);
    if (master < 0 || grantpt(master) != 0 || unlockpt(master) != 0) {
        return -1;
    }
    // Kept open: without it the master reads an error after each client
    int slave = open(ptsname(master), O_RDWR | O_NOCTTY);
    if (slave < 0 || tcgetattr(slave, &raw) != 0) {
        return -1;
    }
    raw.c_iflag = 0;
    raw.c_oflag = 0;
    raw.c_lflag = 0;
    raw.c_cc[VMIN] = 1;
    raw.c_cc[VTIME] = 0;
    if (tcsetattr(slave, TCSANOW, &raw) != 0) {
        return -1;
    }
    printf("%s\n", ptsname(master));
    fflush(stdout);
    return master;
}

static int set_value(struct bench *bench, const char *text)
{
    const char *equals = strchr(text, '=');
    for (size_t i = 0; equals != NULL && i < sizeof names / sizeof names[0]; i++) {
        size_t length = (size_t)(equals - text);
        if (strlen(names[i]) == length && strncmp(names[i], text, length) == 0) {
            bench_set(bench, (int)i, strtod(equals + 1, NULL));
            return 1;
        }
    }
    return 0;
}

static int write_all(int file, const uint8_t *bytes, size_t count)
{
    while (count > 0) {
        ssize_t done = write(file, bytes, count);
        if (done < 0 && errno != EINTR && errno != EAGAIN) {
            return 0;
        }
        if (done > 0) {
            bytes += done;
            count -= (size_t)done;
        }
    }
    return 1;
}

// Whether standard input has ended, if it is only there to say so
static int input_ended(const struct options *options)
{
    struct pollfd ready = {.fd = STDIN_FILENO, .events = POLLIN};
    char byte;
    return !options->stdio && poll(&ready, 1, 0) > 0
           && read(STDIN_FILENO, &byte, 1) <= 0;
}

static void serve(struct bench *bench, const struct options *options, int in, int out)
{
    uint8_t bytes[4096];
    double last = now_s();
    while (!input_ended(options)) {
        struct pollfd ready = {.fd = in, .events = POLLIN};
        if (poll(&ready, 1, POLL_MS) > 0) {
            ssize_t count = read(in, bytes, sizeof bytes);
            if (count <= 0) {
                // What was asked last is still answered
                bench_advance(bench, LAST_S);
                size_t left = bench_take(bench, bytes, sizeof bytes);
                (void)write_all(out, bytes, left);
                return;
            }
            bench_feed(bench, bytes, (size_t)count);
        }
        double now = now_s();
        bench_advance(bench, now - last < LONGEST_S ? now - last : LONGEST_S);
        last = now;
        size_t count = bench_take(bench, bytes, sizeof bytes);
        if (!write_all(out, bytes, count)) {
            return;
        }
    }
}

// Whoever switches a rig on taps its probe: it shows then that its wire is whole
static void tap_probe(struct bench *bench)
{
    double broken = bench_get(bench, BENCH_BROKEN);
    unsigned tapped = (unsigned)broken ^ WORLD_PROBE;
    bench_advance(bench, TAP_S);
    bench_set(bench, BENCH_BROKEN, tapped);
    bench_advance(bench, TAP_S);
    bench_set(bench, BENCH_BROKEN, broken);
    bench_advance(bench, TAP_S);
}

static int read_options(int count, char **arguments, struct options *options)
{
    for (int i = 1; i < count; i++) {
        if (strcmp(arguments[i], "--stdio") == 0) {
            options->stdio = 1;
        } else if (strcmp(arguments[i], "--abilities") == 0 && i + 1 < count) {
            options->abilities = atoi(arguments[++i]);
        } else if (arguments[i][0] == '-') {
            return 0;
        } else if (strchr(arguments[i], '=') == NULL) {
            options->image = arguments[i];
        }
    }
    return 1;
}

int main(int count, char **arguments)
{
    struct options options = {.image = NULL, .abilities = 255, .stdio = 0};
    if (!read_options(count, arguments, &options)) {
        fprintf(stderr, "usage: serve [--stdio] [--abilities SUM] [VALUE=NUMBER ...] "
                        "[IMAGE]\n");
        return 2;
    }
    struct bench *bench = bench_new(options.image, options.abilities, WORLD_ALL_QUANTITIES,
                                    WORLD_ALL_CONTROLS);
    if (bench == NULL) {
        fprintf(stderr, "the controller could not be started\n");
        return 2;
    }
    for (int i = 1; i < count; i++) {
        if (strchr(arguments[i], '=') != NULL && !set_value(bench, arguments[i])) {
            fprintf(stderr, "no such value: %s\n", arguments[i]);
            return 2;
        }
    }
    tap_probe(bench);
    int terminal = options.stdio ? STDIN_FILENO : open_terminal();
    if (terminal < 0) {
        fprintf(stderr, "no pseudo-terminal: %s\n", strerror(errno));
        return 2;
    }
    serve(bench, &options, terminal, options.stdio ? STDOUT_FILENO : terminal);
    bench_free(bench);
    return 0;
}
