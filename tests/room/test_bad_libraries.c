/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bad library files as data, in bad-library/. */
#include "cases.h"

#include <ebb/library.h>

static ebb_status read_library(ebb_ctx *ctx, const char *text, size_t length, const char *folder)
{
    ebb_library *library = (ebb_library *)&length; /* anything but NULL */
    const ebb_status status =
        ebb_library_parse(ctx, text, length, "library.yaml", folder, &library);
    assert_null(library);
    return status;
}

static void every_bad_library_gives_its_messages(void **state)
{
    (void)state;
    run_cases("tests/room/bad-library", "library.yaml", 40, read_library);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_bad_library_gives_its_messages)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
