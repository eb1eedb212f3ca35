/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slips in building: change.c, copy.c. */
#include "boxes.h"

static void test_mass_moves_the_peak(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_layer layer = resonator(&b, 5, 45, 1);
    const ebb_unit unit = stack_unit(1, &layer);
    ebb_study *s = study_of(&b, &unit);
    near(change_of(s, "fronts 10 % heavier")->peak_hz, 45 / sqrt(1.1), 0.02);
    near(change_of(s, "fronts 10 % lighter")->peak_hz, 45 / sqrt(0.9), 0.02);
    /* Its only spring is the cavity, its only resistance no wool's: neither scatters. */
    assert_null(change_of(s, "mounts"));
    assert_null(change_of(s, "fill"));
    assert_null(change_of(s, "grains"));
    assert_null(change_of(s, "0.5 mm"));
    ebb_study_free(s);
    bench_close(&b);
}

/* The differences are those of a unit that was built so from the start. */
static void test_differences_are_those_of_the_changed_unit(void **state)
{
    (void)state;
    bench b = bench_open();
    ebb_layer layers[2] = {resonator(&b, 5, 15, 0.2), wool(0.25, 5000)};
    const ebb_unit unit = stack_unit(2, layers);
    ebb_study *s = study_of(&b, &unit);
    layers[1].resistivity *= 2;
    const ebb_change *flow = change_of(s, "fill of twice");
    for (int i = 0; i < EBB_CHANGE_HZ; i++) {
        const double now = ebb_assembly_alpha(&unit.assembly, &b.air, 30 + 10 * i);
        near(s->alpha[i] + flow->alpha[i], now, 1e-12);
    }
    layers[1].resistivity /= 2;
    layers[0].stiffness *= 2;
    const ebb_change *mount = change_of(s, "mounts twice");
    near(s->alpha[1] + mount->alpha[1], ebb_assembly_alpha(&unit.assembly, &b.air, 40), 1e-12);
    ebb_study_free(s);
    bench_close(&b);
}

static void test_a_cabinet_has_all_slips(void **state)
{
    (void)state;
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    box_ready(&b, &x);
    ebb_study *s = study_of(&b, &x.unit);
    assert_int_equal(s->n_changes, 11); /* all but the two of grains */
    for (size_t i = 0; i < s->n_changes; i++) {
        assert_true(isfinite(s->change[i].mean));
        assert_true(fabs(s->change[i].mean) < 0.2);
    }
    assert_true(change_of(s, "fronts 10 % heavier")->peak_hz < s->band.peak_hz);
    assert_true(change_of(s, "mounts twice")->peak_hz > s->band.peak_hz);
    ebb_study_free(s);

    /* What has no braces can not lose them; what stands rigid has walls that do not matter. */
    x.cabinet.brace[1] = 0;
    box_ready(&b, &x);
    s = study_of(&b, &x.unit);
    assert_null(change_of(s, "braces"));
    ebb_study_free(s);
    x.cabinet.rigid = true;
    box_ready(&b, &x);
    s = study_of(&b, &x.unit);
    assert_null(change_of(s, "walls"));
    assert_null(change_of(s, "if the walls"));
    ebb_study_free(s);
    bench_close(&b);
}

static void test_slips_of_a_cabinet_are_built_anew(void **state)
{
    (void)state;
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    box_ready(&b, &x);
    ebb_study *s = study_of(&b, &x.unit);
    x.cell.leak = 5e-4;
    x.cell.leak_path = 0.015;
    box_ready(&b, &x);
    for (int i = 0; i < EBB_CHANGE_HZ; i++) {
        const double now = ebb_assembly_alpha(&x.unit.assembly, &b.air, 30 + 10 * i);
        near(s->alpha[i] + change_of(s, "0.5 mm")->alpha[i], now, 1e-9);
    }
    x.cell.leak = 0;
    x.cabinet.wall.thickness *= 0.8;
    box_ready(&b, &x);
    near(s->alpha[1] + change_of(s, "walls 20 %")->alpha[1],
         ebb_assembly_alpha(&x.unit.assembly, &b.air, 40), 1e-9);
    ebb_study_free(s);
    bench_close(&b);
}

/* A good batch holds more gas, a poor one less: the peak goes down and up. */
static void test_batches(void **state)
{
    (void)state;
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    x.fill[0] = wool(0.17, 5000);
    x.fill[1] = carbon(0.05);
    x.cell.n_fill = 2;
    box_ready(&b, &x);
    ebb_study *s = study_of(&b, &x.unit);
    const ebb_change *poor = change_of(s, "grains of a poor"),
                     *good = change_of(s, "grains of a favourable");
    assert_true(poor->peak_hz > s->band.peak_hz && good->peak_hz < s->band.peak_hz);
    assert_true(good->mean > poor->mean);
    ebb_study_free(s);
    bench_close(&b);
}

/* A fill that hardly fits: thinner walls make room, nothing is refused; the unit itself stays. */
static void test_the_unit_itself_is_left_alone(void **state)
{
    (void)state;
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    box_ready(&b, &x);
    const joiner before = x;
    ebb_study *s = study_of(&b, &x.unit);
    assert_memory_equal(&before, &x, sizeof x);
    ebb_study_free(s);
    bench_close(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_mass_moves_the_peak),
        cmocka_unit_test(test_differences_are_those_of_the_changed_unit),
        cmocka_unit_test(test_a_cabinet_has_all_slips),
        cmocka_unit_test(test_slips_of_a_cabinet_are_built_anew),
        cmocka_unit_test(test_batches),
        cmocka_unit_test(test_the_unit_itself_is_left_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
