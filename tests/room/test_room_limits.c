/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "helper.h"

static void rows_are_complete_and_in_range(void **state)
{
    (void)state;
    size_t n;
    const ebb_limit *table = ebb_limit_table(&n);
    /* One row for every field of the struct, all of which are doubles. */
    assert_int_equal(n, sizeof(ebb_limits) / sizeof(double));
    for (size_t i = 0; i < n; i++) {
        assert_true(table[i].low < table[i].high);
        assert_true(table[i].value >= table[i].low && table[i].value <= table[i].high);
        assert_true(strlen(table[i].source) > 5 && strlen(table[i].meaning) > 5);
        assert_int_equal(ebb_limit_index(table[i].key), i);
        /* What is not ours names its source; what is ours does not pretend to have one. */
        const bool ours = strncmp(table[i].source, "our choice", 10) == 0;
        assert_int_equal(ours, table[i].origin == EBB_LIMIT_OWN);
    }
    assert_int_equal(ebb_limit_index("loudness"), (size_t)-1);
}

/* The numbers the verdict was designed with. */
static void defaults(void **state)
{
    (void)state;
    ebb_limits l;
    ebb_limits_of(NULL, &l);
    assert_true(l.response_deviation == 3 && l.response_worst == 5);
    assert_true(l.response_inside == 0.9 && l.response_highest == 200);
    assert_true(l.decay_factor == 1.25 && l.decay_highest == 125);
    assert_true(l.decay_music_32 == 0.9 && l.decay_music_63 == 0.51 && l.decay_music_250 == 0.12);
    assert_true(l.spread == 4 && l.head_offset == 0.3);
    assert_true(l.voice_lowest == 80 && l.voice_mic == 0.3);
    assert_true(l.voice_listener == 1.1 && l.voice_move == 0.25);
    assert_true(l.speech_index == 0.60 && l.mid_upper == 1.2 && l.mid_lower == 0.8);
}

/* Every key, overridden to the lower end of its range, changes its own field and no other. */
static void an_override_changes_its_field_alone(void **state)
{
    size_t n;
    const ebb_limit *table = ebb_limit_table(&n);
    static const char *const units[] = {
        [EBB_Q_NUMBER] = "",       [EBB_Q_FRACTION] = " %", [EBB_Q_LENGTH] = " m",
        [EBB_Q_FREQUENCY] = " Hz", [EBB_Q_TIME] = " s",     [EBB_Q_LEVEL] = " dB"};
    double plain[64], changed[64];
    ebb_limits_of(NULL, (ebb_limits *)plain);
    for (size_t i = 0; i < n; i++) {
        char text[1024];
        const double scale = table[i].kind == EBB_Q_FRACTION ? 100 : 1;
        snprintf(text, sizeof text, HEAD "limits: {%s: %.9g%s}\n" ROOM, table[i].key,
                 table[i].low * scale, units[table[i].kind]);
        const ebb_job *job = good_job(*state, text);
        assert_int_equal(job->n_overrides, 1);
        ebb_limits_of(job, (ebb_limits *)changed);
        for (size_t j = 0; j < n; j++)
            assert_near(changed[j], j == i ? table[i].low : plain[j]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_are_complete_and_in_range),
        cmocka_unit_test(defaults),
        TEST(an_override_changes_its_field_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
