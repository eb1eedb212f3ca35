/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A rectangular room through finite elements against the same room in closed forms: all that the
 * reduced model is asked for must be the same.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

#include "meshed.h"

/* One room both ways, made once: tests only read it. */
typedef struct fixture {
    ebb_ctx *ctx;
    treated box;
    meshed mesh;
    ebb_reduced *exact, *shaped;
} fixture;

static int set_up(void **state)
{
    static fixture f;
    f.ctx = ebb_ctx_new();
    treated_make(&f.box, 1);
    treated_make(&f.mesh.room, 1);
    mesh_room(f.ctx, &f.mesh, 1.2);
    open_space(f.ctx, &f.mesh, 7);
    f.exact = project(f.ctx, &f.box.geometry);
    f.shaped = project(f.ctx, &f.mesh.room.geometry);
    *state = &f;
    return 0;
}

static int tear_down(void **state)
{
    fixture *f = *state;
    ebb_reduced_free(f->exact);
    ebb_reduced_free(f->shaped);
    meshed_free(&f->mesh);
    ebb_ctx_free(f->ctx);
    return 0;
}

static double p99_between(ebb_ctx *ctx, const ebb_reduced *a, const ebb_state *of_a,
                          const ebb_reduced *b, const ebb_state *of_b)
{
    size_t n, m;
    double _Complex *ha = respond(ctx, a, of_a, 1, &n), *hb = respond(ctx, b, of_b, 1, &m);
    assert_int_equal(n, m);
    double p99 = level_p99(n, ha, hb);
    free(ha);
    free(hb);
    return p99;
}

/* ---- answers --------------------------------------------------------------------------------- */

static void responses_agree(void **state)
{
    const fixture *f = *state;
    assert_int_equal(ebb_reduced_faces(f->shaped), 6);
    assert_below(p99_between(f->ctx, f->shaped, &f->mesh.room.state, f->exact, &f->box.state),
                 0.02);
    ebb_state bare[2] = {f->mesh.room.state, f->box.state};
    bare[0].n_used = bare[1].n_used = 0;
    assert_below(p99_between(f->ctx, f->shaped, &bare[0], f->exact, &bare[1]), 0.03);
}

/* Two of the points lie 0.6 m apart, where elements alone are 0.3 % off. */
static void near_fields_agree(void **state)
{
    const fixture *f = *state;
    ebb_state near[2] = {f->mesh.room.state, f->box.state};
    double _Complex h[2][3];
    const double hz[3] = {50, 111, 199};
    for (int i = 0; i < 2; i++) {
        near[i].n_sources = near[i].n_receivers = 1;
        near[i].sources = &f->box.point[1];
        near[i].receivers = &f->box.point[4];
        assert_ok(f->ctx, ebb_response(f->ctx, i ? f->exact : f->shaped, &near[i], 3, hz, h[i]));
    }
    for (int k = 0; k < 3; k++)
        assert_close(h[0][k], h[1][k], 1e-3);
}

/* By how much a response misses the room's closed form, as a part of the field in the open. */
static double miss(const fixture *f, const ebb_vec3 *from, const ebb_vec3 *to, double r)
{
    const double hz[3] = {50, 111, 199};
    ebb_state pair[2] = {f->mesh.room.state, f->box.state};
    double _Complex h[2][3];
    double most = 0;
    for (int i = 0; i < 2; i++) {
        pair[i].n_sources = pair[i].n_receivers = 1;
        pair[i].sources = from;
        pair[i].receivers = to;
        assert_ok(f->ctx, ebb_response(f->ctx, i ? f->exact : f->shaped, &pair[i], 3, hz, h[i]));
    }
    for (int k = 0; k < 3; k++)
        most =
            fmax(most, cabs(h[0][k] - h[1][k]) * 4 * PI * r / (2 * PI * hz[k] * test_air.density));
    return most;
}

/* Round a source, at points that the model was not made for: what a picture of the field shows. */
static void near_fields_agree_at_any_point(void **state)
{
    const fixture *f = *state;
    double most = 0;
    for (size_t p = 0; p < POINTS; p++)
        for (int way = 0; way < 12; way++) {
            const double r = 0.15 + 0.1 * (way % 4);
            ebb_vec3 to = f->box.point[p];
            to.x += r * cos(way);
            to.y += r * sin(way);
            if (to.x > 0 && to.y > 0)
                most = fmax(most, miss(f, &f->box.point[p], &to, r));
        }
    assert_below(most, 0.03);
}

static void rigid_modes_agree(void **state)
{
    const fixture *f = *state;
    size_t n[2];
    const int *label;
    const double *exact = ebb_reduced_rigid(f->exact, &n[0], NULL);
    const double *shaped = ebb_reduced_rigid(f->shaped, &n[1], &label);
    assert_true(n[1] >= n[0] && n[0] > 70);
    assert_true(shaped[0] == 0);
    for (size_t m = 0; m < n[0]; m++) {
        assert_near(shaped[m], exact[m], 1e-4 * exact[m]);
        assert_int_equal(label[3 * m], m);
        assert_int_equal(label[3 * m + 1], -1);
        assert_int_equal(label[3 * m + 2], -1);
    }
}

static void damped_modes_agree(void **state)
{
    const fixture *f = *state;
    ebb_modes *exact, *shaped;
    assert_ok(f->ctx, ebb_modes_new(f->ctx, f->exact, &f->box.state, 20, 200, &exact));
    assert_ok(f->ctx, ebb_modes_new(f->ctx, f->shaped, &f->mesh.room.state, 20, 200, &shaped));
    assert_int_equal(exact->n, shaped->n);
    assert_true(exact->n > 30);
    for (size_t m = 0; m < exact->n; m++) {
        assert_near(shaped->mode[m].hz, exact->mode[m].hz, 5e-4 * exact->mode[m].hz);
        assert_near(shaped->mode[m].delta, exact->mode[m].delta, 1e-2 * exact->mode[m].delta);
        assert_near(shaped->mode[m].share, exact->mode[m].share, 1e-2);
        assert_near(shaped->mode[m].likeness, exact->mode[m].likeness, 3e-2);
    }
    ebb_modes_free(exact);
    ebb_modes_free(shaped);
}

/* Green functions between the ports of two patches, with what each port lacks of its own. */
static void patches_agree(void **state)
{
    const fixture *f = *state;
    const double hz[2] = {60, 180};
    double _Complex g[2][2 * 4];
    ebb_state bare[2] = {f->mesh.room.state, f->box.state};
    for (int i = 0; i < 2; i++) {
        const ebb_reduced *model = i ? f->exact : f->shaped;
        size_t size = ebb_reduced_size(model);
        double *port = malloc(2 * size * sizeof *port), lack[2];
        memcpy(port, ebb_reduced_port(model, 0, 0), size * sizeof *port);
        memcpy(port + size, ebb_reduced_port(model, 2, 2), size * sizeof *port);
        bare[i].n_used = 0;
        assert_ok(f->ctx, ebb_green(f->ctx, model, &bare[i], 2, hz, 2, port, g[i]));
        for (int k = 0; k < 2; k++)
            for (int q = 0; q < 2; q++) {
                double wave = 2 * PI * hz[k] / test_air.speed;
                ebb_reduced_port_lack(model, q ? 2 : 0, q ? 2 : 0, lack);
                g[i][k * 4 + q * 3] += lack[0] + wave * wave * lack[1];
            }
        free(port);
    }
    for (int k = 0; k < 8; k++)
        assert_below(cabs(g[0][k] - g[1][k]), 6e-3 * cabs(g[1][k / 4 * 4]));
}

/* Room for all surfaces and patches. */
#define SINKS (1 + EBB_FACES + PATCHES)

static void power_agrees_and_balances(void **state)
{
    const fixture *f = *state;
    for (double hz = 23; hz < 200; hz += 17) {
        double exact[SINKS], shaped[SINKS], sum = 0;
        assert_ok(f->ctx, ebb_power(f->ctx, f->exact, &f->box.state, hz, exact));
        assert_ok(f->ctx, ebb_power(f->ctx, f->shaped, &f->mesh.room.state, hz, shaped));
        for (size_t i = 1; i < SINKS; i++) {
            sum += shaped[i];
            assert_true(shaped[i] > -1e-9 * shaped[0]);
            assert_near(shaped[i], exact[i], 4e-3 * exact[0]);
        }
        assert_near(sum, shaped[0], 1e-6 * shaped[0]);
    }
}

/* Source and receiver may change places. */
static void it_is_reciprocal(void **state)
{
    const fixture *f = *state;
    ebb_state there = f->mesh.room.state, back = there;
    back.n_sources = 3;
    back.sources = there.receivers;
    back.n_receivers = 2;
    back.receivers = there.sources;
    size_t n;
    double _Complex *h = respond(f->ctx, f->shaped, &there, 4, &n);
    double _Complex *g = respond(f->ctx, f->shaped, &back, 4, &n);
    size_t n_hz = n / 6;
    for (size_t i = 0; i < 6; i++)
        for (size_t k = 0; k < n_hz; k++)
            assert_close(h[i * n_hz + k], g[(i % 3 * 2 + i / 3) * n_hz + k], 1e-9);
    free(h);
    free(g);
}

/* ---- changes --------------------------------------------------------------------------------- */

static void smaller_models_agree(void **state)
{
    const fixture *f = *state;
    ebb_reduced *small;
    const ebb_state *of = &f->mesh.room.state;
    assert_ok(f->ctx, ebb_reduced_around(f->ctx, f->shaped, of, NULL, 20, 200, &small));
    assert_true(ebb_reduced_size(small) < ebb_reduced_size(f->shaped));
    assert_int_equal(ebb_reduced_faces(small), 6);
    assert_below(p99_between(f->ctx, small, of, f->shaped, of), 0.05);
    ebb_vec3 outside = {-0.1, 1, 1};
    ebb_state bad = *of;
    bad.receivers = &outside;
    bad.n_receivers = 1;
    double _Complex h[2];
    const double hz = 50;
    assert_int_equal(ebb_response(f->ctx, small, &bad, 1, &hz, h), EBB_E_RANGE);
    ebb_reduced_free(small);
}

/* One mesh, stretched by the state, against the stretched room in closed forms. */
static void scaled_rooms_agree(void **state)
{
    const fixture *f = *state;
    treated longer;
    treated_make(&longer, 1);
    ebb_state scaled = f->mesh.room.state;
    scaled.n_used = longer.state.n_used = 0; /* patches do not stretch with their wall */
    scaled.scale[1] = 1.03;
    longer.geometry.size[1] *= 1.03;
    for (size_t p = 0; p < POINTS; p++)
        longer.point[p].y *= 1.03;
    longer.geometry.n_patches = 0;
    ebb_reduced *exact = project(f->ctx, &longer.geometry);
    assert_below(p99_between(f->ctx, f->shaped, &scaled, exact, &longer.state), 0.04);
    ebb_reduced_free(exact);
}

/* Elements made for 200 Hz serve a model for 110 Hz. */
static void lower_bands_agree(void **state)
{
    const fixture *f = *state;
    ebb_geometry low[2] = {f->mesh.room.geometry, f->box.geometry};
    low[0].highest = low[1].highest = 110;
    size_t n_hz;
    double *hz = sweep_hz(20, 110, 1, &n_hz);
    double _Complex *h[2];
    ebb_reduced *model[2];
    for (int i = 0; i < 2; i++) {
        model[i] = project(f->ctx, &low[i]);
        h[i] = malloc(n_hz * 6 * sizeof *h[i]);
        assert_ok(f->ctx, ebb_response(f->ctx, model[i], i ? &f->box.state : &f->mesh.room.state,
                                       n_hz, hz, h[i]));
    }
    assert_below(level_p99(n_hz * 6, h[0], h[1]), 0.04); /* the box's own error */
    for (int i = 0; i < 2; i++) {
        ebb_reduced_free(model[i]);
        free(h[i]);
    }
    free(hz);
}

/* ---- what the model says of itself ----------------------------------------------------------- */

static double relative_error(size_t n, const double _Complex *a, const double _Complex *b)
{
    double error = 0, sum = 0;
    for (size_t i = 0; i < n; i++) {
        error += pow(cabs(a[i] - b[i]), 2);
        sum += pow(cabs(b[i]), 2);
    }
    return sqrt(error / sum);
}

static void true_errors_lie_below_the_estimate(void **state)
{
    const fixture *f = *state;
    size_t n;
    double _Complex *exact = respond(f->ctx, f->exact, &f->box.state, 3, &n);
    double last = 0;
    for (double richness = 1; richness > 0.3; richness -= 0.3) {
        ebb_geometry geometry = f->mesh.room.geometry;
        geometry.richness = richness;
        ebb_reduced *model = project(f->ctx, &geometry);
        ebb_trust trust = ebb_reduced_trust(model);
        double _Complex *h = respond(f->ctx, model, &f->mesh.room.state, 3, &n);
        assert_below(relative_error(n, h, exact), trust.truncation);
        assert_true(trust.truncation > last); /* coarser is worse, and says so */
        assert_below(trust.truncation, 0.2);
        assert_true(trust.mesh > 0 && trust.mesh < 1e-3);
        last = trust.truncation;
        free(h);
        ebb_reduced_free(model);
    }
    free(exact);
}

static void boxes_estimate_their_errors_too(void **state)
{
    const fixture *f = *state;
    size_t n;
    double _Complex *exact = respond(f->ctx, f->exact, &f->box.state, 3, &n);
    assert_true(ebb_reduced_trust(f->exact).mesh == 0);
    for (double richness = 0.7; richness > 0.25; richness -= 0.2) {
        treated room;
        treated_make(&room, richness);
        ebb_reduced *model = project(f->ctx, &room.geometry);
        double _Complex *h = respond(f->ctx, model, &room.state, 3, &n);
        assert_below(relative_error(n, h, exact), ebb_reduced_trust(model).truncation);
        assert_below(ebb_reduced_trust(model).truncation, 0.1);
        free(h);
        ebb_reduced_free(model);
    }
    free(exact);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(responses_agree),
        cmocka_unit_test(near_fields_agree),
        cmocka_unit_test(near_fields_agree_at_any_point),
        cmocka_unit_test(rigid_modes_agree),
        cmocka_unit_test(damped_modes_agree),
        cmocka_unit_test(patches_agree),
        cmocka_unit_test(power_agrees_and_balances),
        cmocka_unit_test(it_is_reciprocal),
        cmocka_unit_test(smaller_models_agree),
        cmocka_unit_test(scaled_rooms_agree),
        cmocka_unit_test(lower_bands_agree),
        cmocka_unit_test(true_errors_lie_below_the_estimate),
        cmocka_unit_test(boxes_estimate_their_errors_too),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
