/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whatever box is studied, what must hold holds: random boxes and stacks (study.c). */
#include "boxes.h"

#include <complex.h>

typedef struct dice {
    unsigned long long state;
} dice;

/* Uniform between low and high. */
static double roll(dice *d, double low, double high)
{
    d->state = d->state * 6364136223846793005ULL + 1442695040888963407ULL;
    return low + (high - low) * (double)(d->state >> 33) / 2147483648.0;
}

/* Laws that no passive unit may break, whatever it is made of. */
static void must_hold(const ebb_study *s)
{
    const double face = s->unit->face[0] * s->unit->face[1];
    const ebb_spectrum *both[2] = {&s->table, &s->fine};
    for (int k = 0; k < 2; k++) {
        for (size_t i = 0; i < both[k]->n; i++) {
            assert_true(creal(both[k]->z[i]) >= 0);
            assert_true(both[k]->normal[i] >= 0 && both[k]->normal[i] <= 1 + 1e-12);
            assert_true(both[k]->diffuse[i] >= 0 && both[k]->diffuse[i] <= 0.9512);
            assert_true(both[k]->conductance[i] >= 0);
            assert_true(both[k]->transmitted[i] <= both[k]->normal[i] + 1e-12);
            const double wavelength = s->air.speed / both[k]->hz[i];
            if (wavelength > 4 * fmax(s->unit->face[0], s->unit->face[1]))
                assert_true(both[k]->area[i] < 1.15 * wavelength * wavelength / 3.14159);
            near(both[k]->area[i], face * both[k]->patch[i], 1e-9 * both[k]->area[i]);
        }
    }
    const ebb_band *b = &s->band;
    assert_true(b->peak >= 0 && b->peak <= 1 + 1e-12 && b->mean <= b->peak + 1e-9);
    assert_true(!(b->half[0] > b->peak_hz) && !(b->half[1] < b->peak_hz));
    /* What is useful reaches beyond the half when the peak is at least twice the mark. */
    if (b->peak >= 2 * EBB_USEFUL && isfinite(b->useful[0]) && isfinite(b->half[0]))
        assert_true(b->useful[0] <= b->half[0] + 1e-6);
    assert_true(s->n_cautions >= 2);
}

static void test_random_stacks(void **state)
{
    (void)state;
    bench b = bench_open();
    dice d = {1};
    for (int i = 0; i < 40; i++) {
        const ebb_layer layers[3] = {
            resonator(&b, roll(&d, 1, 20), roll(&d, 2, 40), roll(&d, 0, 2)),
            {.kind = EBB_LAYER_AIR, .thickness = roll(&d, 0.005, 0.1), .loss = 0.005},
            wool(roll(&d, 0.02, 0.3), roll(&d, 1000, 30000))};
        /* With and without a front, on a rigid back and before a room. */
        ebb_unit unit = stack_unit(i % 2 ? 3 : 2, i % 2 ? layers : layers + 1);
        unit.assembly.back = i % 5 == 0 ? EBB_BACK_ROOM : EBB_BACK_RIGID;
        ebb_study *s = study_of(&b, &unit);
        must_hold(s);
        /* Viscous losses alone: the depth limit is a bound, to the accuracy of the integral. Wool
         * holds it too. */
        if (s->budget.unknown == NULL)
            assert_true(s->budget.used <= 1.01 * s->budget.available);
        ebb_study_free(s);
    }
    bench_close(&b);
}

static void test_random_boxes(void **state)
{
    (void)state;
    bench b = bench_open();
    dice d = {2};
    for (int i = 0; i < 10; i++) {
        joiner x;
        joiners_box(&x);
        x.cabinet.wall.thickness = roll(&d, 0.008, 0.03);
        x.cabinet.brace[1] = i % 3;
        x.cabinet.built_in = i % 2;
        x.cell.front[0].mass = roll(&d, 1.5, 15);
        x.cell.front[0].mount.stiffness *= roll(&d, 0.2, 10);
        x.cell.front[0].resistance = roll(&d, 0, 500);
        x.cell.leak = i % 4 == 0 ? 3e-4 : 0;
        x.cell.leak_path = 0.015;
        x.fill[0] = wool(roll(&d, 0.05, 0.2), roll(&d, 2000, 20000));
        x.fill[1] = carbon(roll(&d, 0.01, 0.06));
        x.cell.n_fill = 1 + (size_t)(i % 2);
        box_ready(&b, &x);
        ebb_study *s = study_of(&b, &x.unit);
        must_hold(s);
        const ebb_weights *w = &s->weights;
        near(w->walls + w->fronts + w->frame + w->porous + w->grains + w->extra, w->total, 1e-9);
        /* The mean of the table of slips is a difference to the mean of the band. */
        for (size_t k = 0; k < s->n_changes; k++)
            assert_true(fabs(s->change[k].mean) <= 1 && s->change[k].what[0] != '\0');
        ebb_study_free(s);
    }
    bench_close(&b);
}

/* The weight on the scale counts, not the sum of the parts. */
static void test_a_weighed_unit_keeps_its_weight(void **state)
{
    (void)state;
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    box_ready(&b, &x);
    x.unit.mass = 99;
    ebb_study *s = study_of(&b, &x.unit);
    near(s->weights.total, 99, 0);
    assert_true(s->weights.walls < 40);
    ebb_study_free(s);
    const ebb_layer layer = wool(0.2, 5000);
    const ebb_unit stack = stack_unit(1, &layer);
    s = study_of(&b, &stack);
    assert_true(isnan(s->weights.walls));
    near(s->weights.total, 20, 0);
    ebb_study_free(s);
    bench_close(&b);
}

/* The same unit, the same numbers to the last bit. */
static void test_the_same_each_time(void **state)
{
    (void)state;
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    box_ready(&b, &x);
    ebb_study *one = study_of(&b, &x.unit), *two = study_of(&b, &x.unit);
    assert_memory_equal(one->fine.normal, two->fine.normal, one->fine.n * sizeof(double));
    assert_memory_equal(one->fine.patch, two->fine.patch, one->fine.n * sizeof(double));
    assert_true(one->budget.used == two->budget.used);
    assert_int_equal(one->n_remarks, two->n_remarks);
    for (size_t i = 0; i < one->n_changes; i++)
        assert_true(one->change[i].mean == two->change[i].mean);
    ebb_study_free(one);
    ebb_study_free(two);
    bench_close(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_random_stacks),
        cmocka_unit_test(test_random_boxes),
        cmocka_unit_test(test_a_weighed_unit_keeps_its_weight),
        cmocka_unit_test(test_the_same_each_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
