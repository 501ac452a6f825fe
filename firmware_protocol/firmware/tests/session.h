// A host and its bench, for the tests
#ifndef SESSION_H
#define SESSION_H

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "host.h"

// End the test program where a claim does not hold
#define CHECK(claim)                                                                   \
    do {                                                                               \
        if (!(claim)) {                                                                \
            fprintf(stderr, "%s:%d: %s\n", __FILE__, __LINE__, #claim);                \
            exit(1);                                                                   \
        }                                                                              \
    } while (0)

// All abilities of the host build
#define ABLE 255

#define LINES 40000
#define LINE_ROOM 80

struct session {
    struct bench *bench;
    // Lines that came, without start byte, check and newline; checks were verified
    char lines[LINES][LINE_ROOM];
    size_t count;
    // Line being received
    char line[LINE_ROOM];
    size_t length;
    // What the last greeting gave; -1: none yet
    long session;
    // Since something was last sent
    double silent_s;
};

struct test {
    const char *name;
    void (*run)(struct session *session);
};

// Tests of each file, ended by an empty name
extern const struct test parts_tests[];
extern const struct test request_tests[];
extern const struct test settings_tests[];
extern const struct test quantity_tests[];
extern const struct test scale_tests[];
extern const struct test motion_tests[];
extern const struct test edge_tests[];
extern const struct test line_tests[];

void session_open(struct session *session, int abilities);
void session_close(struct session *session);

// Give a body as it stands; start byte, check and newline are added
void session_send_bare(struct session *session, const char *body);

// Give a body; an order gets its session, after another greeting where the last one may
// have lapsed
void session_send(struct session *session, const char *body);

// Let time pass and collect what comes
void session_wait(struct session *session, double seconds);

// Send a body and wait until a reply to its number comes; returns the reply
const char *session_ask(struct session *session, const char *body);

// Whether that is the reply
bool session_gets(struct session *session, const char *body, const char *reply);

// First line with this beginning at or after an index; NULL for none
const char *session_find(struct session *session, size_t from, const char *beginning);

// Wait for a `rest`, with a `look` each 0.1 s; returns its line
const char *session_rest(struct session *session, double seconds);

// Greet, home, fence 0 to 80000
void session_ready(struct session *session);

// Field of a line, from 0; as a number
long long session_field(const char *line, int field);

#endif
