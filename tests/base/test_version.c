/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <ebb/version.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

static void test_text_and_numbers_agree(void **state)
{
    (void)state;
    char text[32];
    snprintf(text, sizeof text, "%d.%d.%d", EBB_VERSION_MAJOR, EBB_VERSION_MINOR,
             EBB_VERSION_PATCH);
    assert_string_equal(text, EBB_VERSION);
    assert_string_equal(ebb_version(), EBB_VERSION);
    assert_true(EBB_JSON_SCHEMA >= 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_text_and_numbers_agree)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
