/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bad job files as data, in bad/. */
#include "cases.h"

static ebb_status read_job(ebb_ctx *ctx, const char *text, size_t length, const char *folder)
{
    ebb_job *job = (ebb_job *)&length; /* anything but NULL */
    const ebb_status status = ebb_job_parse(ctx, text, length, "job.yaml", folder, &job);
    assert_null(job);
    return status;
}

static void every_bad_job_gives_its_messages(void **state)
{
    (void)state;
    run_cases("tests/room/bad", "job.yaml", 150, read_job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_bad_job_gives_its_messages)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
