/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <ebb/mid.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "../expect.h"

static double even(double t60, double snr)
{
    const double t[EBB_OCTAVES] = {t60, t60, t60, t60, t60, t60};
    return ebb_speech_index(t, snr);
}

static void ideal_and_hopeless(void **unused)
{
    (void)unused;
    assert_near(even(0, INFINITY), 1, 1e-12);
    assert_near(even(0, 40), 1, 1e-12);
    assert_near(even(0, 0), 0.5, 1e-12); /* by the definition of the index */
    assert_near(even(0, -20), 0, 1e-12);
    assert_near(even(1e6, INFINITY), 0, 1e-12);
}

static void falls_with_decay_and_noise(void **unused)
{
    (void)unused;
    for (double t = 0.2; t < 5; t *= 1.2)
        for (double snr = -10; snr <= 20; snr += 5) {
            const double index = even(t, snr);
            assert_true(index > 0 && index < 1);
            assert_true(even(t * 1.2, snr) < index);
            assert_true(even(t, snr + 1) > index);
        }
}

/* Each octave counts by its weight less what it shares with its neighbours. With one octave dead
 * dry and the others dead, the index is that octave's weight alone. */
static void octaves_have_their_weights(void **unused)
{
    (void)unused;
    static const double weight[] = {0.085, 0.127, 0.230, 0.233, 0.309};
    for (int i = 0; i < 5; i++) {
        double t[EBB_OCTAVES] = {1e6, 1e6, 1e6, 1e6, 1e6, 1e6};
        t[i] = 0;
        assert_near(ebb_speech_index(t, INFINITY), weight[i], 1e-4);
    }
    /* the last octave stands for 8 kHz too: .224 + .173 - .095 */
    const double last[EBB_OCTAVES] = {1e6, 1e6, 1e6, 1e6, 1e6, 0};
    assert_near(ebb_speech_index(last, INFINITY), 0.302, 1e-4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ideal_and_hopeless),
        cmocka_unit_test(falls_with_decay_and_noise),
        cmocka_unit_test(octaves_have_their_weights),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
