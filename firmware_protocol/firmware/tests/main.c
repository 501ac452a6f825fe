// Runs every test, each with a bench of its own
#include "session.h"

int main(void)
{
    const struct test *const files[] = {parts_tests, line_tests, request_tests,
                                        motion_tests, edge_tests, settings_tests,
                                        quantity_tests, scale_tests};
    static struct session session;
    int count = 0;
    for (size_t file = 0; file < sizeof files / sizeof files[0]; file++) {
        for (const struct test *test = files[file]; test->name != NULL; test++) {
            session_open(&session, ABLE);
            fprintf(stderr, "%s\n", test->name);
            test->run(&session);
            session_close(&session);
            count++;
        }
    }
    printf("%d tests passed\n", count);
    return 0;
}
