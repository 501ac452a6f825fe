#include "session.h"

#include "internal.h"

void session_open(struct session *session, int abilities)
{
    bool all = abilities != 0;
    session->bench = bench_new(NULL, abilities, all ? WORLD_ALL_QUANTITIES : 0,
                               all ? WORLD_ALL_CONTROLS : 0);
    CHECK(session->bench != NULL);
    session->count = 0;
    session->length = 0;
    session->session = -1;
    session->silent_s = 0.0;
}

void session_close(struct session *session)
{
    bench_free(session->bench);
}

static unsigned check_of(const char *body, size_t length)
{
    uint16_t check = 0xFFFF;
    for (size_t i = 0; i < length; i++) {
        check = rig_check_add(check, (uint8_t)body[i]);
    }
    return check;
}

void session_send_bare(struct session *session, const char *body)
{
    char line[200];
    int length = snprintf(line, sizeof line, "&%s %04x\n", body,
                          check_of(body, strlen(body)));
    bench_feed(session->bench, (const uint8_t *)line, (size_t)length);
    session->silent_s = 0.0;
}

static bool is_order(const char *body)
{
    const char *const verbs[] = {"fence", "home", "go", "touch", "put",
                                 "rearm", "free", "set", "rate"};
    const char *verb = body + strcspn(body, " ");
    size_t length = *verb != 0 ? strcspn(verb + 1, " ") : 0;
    for (size_t i = 0; i < sizeof verbs / sizeof verbs[0]; i++) {
        if (length == strlen(verbs[i]) && memcmp(verb + 1, verbs[i], length) == 0) {
            return true;
        }
    }
    return false;
}

void session_send(struct session *session, const char *body)
{
    char order[150];
    if (!is_order(body)) {
        session_send_bare(session, body);
        return;
    }
    if (session->session >= 0 && session->silent_s > 0.3) {
        (void)session_ask(session, "q0 hail 1");
    }
    snprintf(order, sizeof order, "%s %ld", body, session->session >= 0 ? session->session : 0);
    session_send_bare(session, order);
}

static void take(struct session *session, char byte)
{
    if (byte != '\n') {
        CHECK(session->length < LINE_ROOM - 1);
        session->line[session->length++] = byte;
        return;
    }
    // No line is longer than 64 bytes, and each check fits
    CHECK(session->length <= 64 && session->length > 6 && session->line[0] == '&');
    size_t body = session->length - 6;
    char check[6];
    snprintf(check, sizeof check, " %04x", check_of(session->line + 1, body));
    CHECK(memcmp(check, session->line + 1 + body, 5) == 0);
    CHECK(session->count < LINES);
    memcpy(session->lines[session->count], session->line + 1, body);
    session->lines[session->count][body] = 0;
    const char *line = session->lines[session->count];
    if (line[0] == 'a' && strncmp(line + strcspn(line, " "), " hail ", 6) == 0) {
        session->session = session_field(line, 7);
    }
    session->count++;
    session->length = 0;
}

void session_wait(struct session *session, double seconds)
{
    uint8_t bytes[4096];
    bench_advance(session->bench, seconds);
    session->silent_s += seconds;
    size_t count = bench_take(session->bench, bytes, sizeof bytes);
    for (size_t i = 0; i < count; i++) {
        take(session, (char)bytes[i]);
    }
}

const char *session_find(struct session *session, size_t from, const char *beginning)
{
    for (size_t i = from; i < session->count; i++) {
        if (strncmp(session->lines[i], beginning, strlen(beginning)) == 0) {
            return session->lines[i];
        }
    }
    return NULL;
}

const char *session_ask(struct session *session, const char *body)
{
    size_t from = session->count;
    char answer[LINE_ROOM];
    char refusal[LINE_ROOM];
    int head = (int)strcspn(body, " ");
    snprintf(answer, sizeof answer, "a%.*s ", head - 1, body + 1);
    snprintf(refusal, sizeof refusal, "x%.*s ", head - 1, body + 1);
    session_send(session, body);
    for (int i = 0; i < 60; i++) {
        session_wait(session, 0.0005);
        const char *line = session_find(session, from, answer);
        line = line != NULL ? line : session_find(session, from, refusal);
        if (line != NULL) {
            return line;
        }
    }
    return "no reply";
}

bool session_gets(struct session *session, const char *body, const char *reply)
{
    const char *got = session_ask(session, body);
    if (strcmp(got, reply) != 0) {
        fprintf(stderr, "`%s` got `%s`, not `%s`\n", body, got, reply);
        return false;
    }
    return true;
}

static const char *find_rest(struct session *session, size_t from)
{
    for (size_t i = from; i < session->count; i++) {
        if (session->lines[i][0] == 'n' && strstr(session->lines[i], " rest ") != NULL) {
            return session->lines[i];
        }
    }
    return NULL;
}

const char *session_rest(struct session *session, double seconds)
{
    size_t from = session->count;
    const char *line = NULL;
    for (double gone = 0.0; gone < seconds && line == NULL; gone += 0.1) {
        session_send(session, "q0 look");
        session_wait(session, 0.1);
        line = find_rest(session, from);
    }
    CHECK(line != NULL);
    return line;
}

void session_ready(struct session *session)
{
    CHECK(strncmp(session_ask(session, "q1 hail 1"), "a1 hail 1 0 1 ", 14) == 0);
    CHECK(session_gets(session, "q2 home 16000 400", "a2 home"));
    const char *rest = session_rest(session, 10.0);
    CHECK(strstr(rest, " 2 homed 0 ") != NULL);
    CHECK(session_gets(session, "q3 fence 400 80000", "a3 fence 400 80000"));
}

long long session_field(const char *line, int field)
{
    for (; field > 0; field--) {
        line = strchr(line, ' ');
        CHECK(line != NULL);
        line++;
    }
    return strtoll(line, NULL, 10);
}
