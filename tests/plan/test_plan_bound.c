/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The bound on decays: no placing beats it, it is worth stating, and it follows the allowance.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "../../src/plan/ceiling.h"
#include "trials.h"

#include <ebb/reach.h>

#define TRIES FULL_OR(10000, 400)
#define ROOMS 8
#define MOST_UNITS 8

static const char *const mixed_text =
    "  front: {face: [0.9 m, 1.0 m], depth: 280 mm, mass: 38 kg, layers: [{lumped: {mass: 3.6 "
    "kg/m2, resonance: 55 Hz, resistance: 413 Pa.s/m}}]}\n"
    "  sharp: {face: [0.9 m, 1.0 m], depth: 200 mm, mass: 30 kg, layers: [{lumped: {mass: 6 "
    "kg/m2, resonance: 70 Hz, resistance: 250 Pa.s/m}}]}\n"
    "  wool: {face: [0.9 m, 1.0 m], depth: 150 mm, mass: 11 kg, hangs: [walls, ceiling], "
    "layers: [{porous: 145 mm, resistivity: 10 kPa.s/m2}]}\n";

/* Weak and tuned: what the bound takes every unit for. */
static const char *const tuned_text =
    "  tuned: {face: [0.9 m, 1.0 m], depth: 200 mm, mass: 30 kg, layers: [{lumped: {mass: 6 "
    "kg/m2, resonance: 58 Hz, resistance: 1600 Pa.s/m}}]}\n";

/* ---- random placements -------------------------------------------------------------------------
 */

static ebb_modes *modes_with(const ebb_base *b, size_t n, const ebb_pick *picks)
{
    size_t used[MOST_UNITS];
    ebb_patch mounted[MOST_UNITS];
    ebb_state state = b->state;
    assert_int_equal(b->state.n_used, 0); /* the trials have no openings */
    for (size_t i = 0; i < n; i++) {
        const ebb_unit *unit = b->kind[picks[i].kind].unit;
        used[i] = picks[i].spot;
        mounted[i] = (ebb_patch){.piston = unit->piston, .assembly = &unit->assembly};
    }
    state.n_used = n;
    state.used = used;
    state.mounted = mounted;
    ebb_modes *modes;
    assert_int_equal(ebb_modes_new(NULL, b->modal, &state, 25, b->highest_mode, &modes), EBB_OK);
    return modes;
}

static double share_of(const ebb_modes *a, size_t i, const ebb_modes *x, size_t j)
{
    double _Complex sum = 0;
    double norm_a = 0, norm_x = 0;
    for (size_t k = 0; k < a->size; k++) {
        double _Complex p = a->vector[i * a->size + k], q = x->vector[j * x->size + k];
        sum += p * q;
        norm_a += creal(p * conj(p));
        norm_x += creal(q * conj(q));
    }
    return creal(sum * conj(sum)) / norm_a / norm_x;
}

/* ---- energy in the units -----------------------------------------------------------------------
 */

/* Mean of what the ports of one order lack over the picks of a kind, as the wave engine takes it.
 */
static void mean_lack(const ebb_base *b, size_t n, const ebb_pick *picks, size_t kind, size_t q,
                      double lack[2])
{
    double count = 0;
    lack[0] = lack[1] = 0;
    for (size_t i = 0; i < n; i++) {
        double one[2];
        if (picks[i].kind != kind)
            continue;
        ebb_reduced_port_lack(b->modal, picks[i].spot, q, one);
        count++;
        for (int j = 0; j < 2; j++)
            lack[j] += (one[j] - lack[j]) / count;
    }
}

/* Energy in the units over that in the air: what they lose at a steady tone less what they lose in
 * this decay, over what the air loses. */
static double unit_energy(const ebb_ceiling *c, size_t n, const ebb_pick *picks,
                          double _Complex omega, const double _Complex *a)
{
    const ebb_base *b = c->base;
    double _Complex k = omega / b->state.air.speed;
    size_t size = ebb_reduced_size(b->modal);
    double sum = 0, norm = 0;
    for (size_t i = 0; i < size; i++)
        norm += creal(a[i] * conj(a[i]));
    for (size_t i = 0; i < n; i++) {
        const ebb_unit *unit = b->kind[picks[i].kind].unit;
        double r = ebb_ceiling_resistance(c, picks[i].kind, creal(omega));
        double _Complex beta = ebb_assembly_beta(&unit->assembly, &b->state.air, NULL, omega);
        size_t ports = unit->piston ? 1 : ebb_reduced_ports(b->modal, picks[i].spot);
        assert_true(ports <= 7); /* one cell: every pattern is an order of its own */
        for (size_t q = unit->piston ? 0 : 1; q < ports; q++) {
            const double *p = ebb_reduced_port(b->modal, picks[i].spot, q);
            double lack[2];
            double _Complex u = 0;
            mean_lack(b, n, picks, picks[i].kind, q, lack);
            double _Complex z = 1 / beta + I * k * (lack[0] + k * k * lack[1]);
            for (size_t j = 0; j < size; j++)
                u += p[j] * a[j];
            double v2 = creal(u * conj(u)) / creal(z * conj(z));
            sum += (cabs(k) * r - creal(k * conj(z))) * v2;
        }
    }
    return sum / norm / cimag(k * k);
}

/* ---- the bound against placements --------------------------------------------------------------
 */

/* What the random placements came to. */
typedef struct tally {
    size_t checked, silent, own, beaten;
    double nearest; /* largest decay rate over the bound's */
} tally;

static void check(ebb_ceiling *c, const ebb_decay_bound *bound, size_t n, const ebb_pick *picks,
                  tally *t)
{
    ebb_modes *with = modes_with(c->base, n, picks);
    for (size_t i = 0; i < with->n; i++) {
        double _Complex omega = 2 * PI * with->mode[i].hz + I * with->mode[i].delta;
        double units = unit_energy(c, n, picks, omega, with->vector + i * with->size);
        for (size_t j = 0; j < c->modes->n; j++) {
            double share = share_of(with, i, c->modes, j) / (1 + units);
            if (share < 0.1)
                continue;
            ebb_can can = ebb_ceiling_allows(c, j, omega, share);
            t->checked++;
            t->silent += can == EBB_CAN_NOT_SAY;
            t->beaten += can == EBB_CAN_NOT;
            const ebb_mode_reach *reach = &bound->mode[j];
            double t60 = with->mode[i].t60;
            if (share < 0.5 || reach->bound == 0 || t60 <= reach->bound_own)
                continue;
            t->own++;
            t->beaten += t60 < reach->bound;
            t->nearest = fmax(t->nearest, reach->bound / t60);
        }
    }
    ebb_modes_free(with);
}

static ebb_decay_bound *bound_of(trial *t)
{
    ebb_decay_bound *bound = NULL;
    double size[3];
    for (int i = 0; i < 3; i++)
        size[i] = t->base.state.scale[i] * t->job->rooms[0].size[i];
    assert_ok(t->ctx, ebb_decay_bound_new(t->ctx, t->job, &t->job->rooms[0], &t->limits,
                                          EBB_USE_MUSIC, size, &bound));
    return bound;
}

static void try_room(const recipe *r, size_t most, size_t tries, dice *d, tally *sum)
{
    trial t;
    ebb_ceiling c;
    open_trial(&t, r, d, 1000);
    assert_ok(t.ctx, ebb_ceiling_make(t.ctx, t.arena, &t.base, &c));
    ebb_decay_bound *bound = bound_of(&t);
    assert_int_equal(bound->n, c.modes->n);
    for (size_t i = 0; i < tries; i++) {
        ebb_pick picks[MOST_UNITS];
        size_t n = random_layout(&t.base, d, 100, most, picks);
        check(&c, bound, n, picks, sum);
    }
    ebb_decay_bound_free(bound);
    ebb_modes_free(c.modes);
    close_trial(&t);
}

static const double small[3][2] = {{2.8, 3.6}, {2.0, 2.6}, {2.1, 2.5}};

static recipe small_room(const char *allowance, const char *absorbers)
{
    recipe r = {allowance, absorbers, {{0}}, 40, 65, false, 0};
    memcpy(r.size, small, sizeof small);
    return r;
}

static void no_placing_beats_the_bound(void **state)
{
    (void)state;
    static const char *const allowance[] = {"count: 1", "count: 2", "mass: 80 kg", "count: 4"};
    static const size_t most[] = {1, 2, 2, 4};
    dice d = {77};
    tally sum = {0};
    for (size_t i = 0; i < ROOMS; i++) {
        recipe r = small_room(allowance[i % 4], i < 4 ? mixed_text : tuned_text);
        r.left = i % 2 ? 1 : 0.93;
        try_room(&r, most[i % 4], TRIES / ROOMS, &d, &sum);
    }
    print_message("%zu pairs of modes, %zu of them the room's own before and after, the nearest at "
                  "%.2f of the bound's rate\n",
                  sum.checked, sum.own, sum.nearest);
    assert_int_equal(sum.beaten, 0);
    assert_int_equal(sum.silent, 0);
    assert_true(sum.own > TRIES);   /* the bound had something to say */
    assert_true(sum.nearest > 0.4); /* and not idly */
    assert_true(sum.nearest <= 1.0);
}

/* ---- how it follows the allowance --------------------------------------------------------------
 */

static void more_allowance_never_raises_the_bound(void **state)
{
    (void)state;
    static const char *const allowance[] = {"count: 1", "count: 2", "count: 3"};
    double last[64];
    for (size_t i = 0; i < 3; i++) {
        dice d = {5};
        const recipe r = small_room(allowance[i], mixed_text);
        trial t;
        open_trial(&t, &r, &d, 1000);
        ebb_decay_bound *bound = bound_of(&t);
        assert_in_range(bound->n, 2, 64);
        for (size_t m = 0; m < bound->n; m++) {
            const ebb_mode_reach *reach = &bound->mode[m];
            assert_true(reach->bound >= 0 && reach->bound < reach->t60);
            assert_true(reach->estimate > reach->bound);
            if (i > 0)
                assert_true(reach->bound <= last[m]);
            last[m] = reach->bound;
        }
        ebb_decay_bound_free(bound);
        close_trial(&t);
    }
}

/* Where not even one unit is allowed the room keeps its decays. */
static void nothing_allowed_leaves_the_decays(void **state)
{
    (void)state;
    dice d = {9};
    const recipe r = small_room("mass: 1 g", mixed_text);
    trial t;
    open_trial(&t, &r, &d, 1000);
    ebb_decay_bound *bound = bound_of(&t);
    for (size_t m = 0; m < bound->n; m++) {
        assert_true(fabs(bound->mode[m].estimate / bound->mode[m].t60 - 1) < 0.001);
        assert_true(bound->mode[m].bound > 0.6 * bound->mode[m].t60);
    }
    ebb_decay_bound_free(bound);
    close_trial(&t);
}

static void the_sentence_names_the_mode_that_stops(void **state)
{
    (void)state;
    static const char *const allowance[] = {"count: 1", "mass: 1 g"};
    for (size_t i = 0; i < 2; i++) {
        dice d = {9};
        const recipe r = small_room(allowance[i], mixed_text);
        trial t;
        open_trial(&t, &r, &d, 1000);
        ebb_decay_bound *bound = bound_of(&t);
        if (i == 0) { /* one unit might do, for all that can be shown */
            assert_int_equal(bound->stops, bound->n);
            assert_non_null(strstr(bound->sentence, "no mode"));
        } else {
            assert_true(bound->stops < bound->n);
            const ebb_mode_reach *worst = &bound->mode[bound->stops];
            char hz[32];
            snprintf(hz, sizeof hz, "%.0f Hz", worst->hz);
            assert_non_null(strstr(bound->sentence, hz));
            for (size_t m = 0; m < bound->n; m++)
                assert_false(bound->mode[m].bound / bound->mode[m].limit >
                             worst->bound / worst->limit);
        }
        ebb_decay_bound_free(bound);
        close_trial(&t);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_placing_beats_the_bound),
        cmocka_unit_test(more_allowance_never_raises_the_bound),
        cmocka_unit_test(nothing_allowed_leaves_the_decays),
        cmocka_unit_test(the_sentence_names_the_mode_that_stops),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
