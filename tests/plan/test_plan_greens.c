/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Units that come and go in the search against the same layout solved at once: by the wave engine
 * for rigid fronts, by one dense elimination over all their ports for the rest.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "../../src/plan/greens.h"
#include "rooms.h"

#define N_HZ 5
#define Q EBB_SPOT_PORTS
#define MOST_PORTS 12

typedef struct rig {
    scene *s;
    ebb_reduced *reduced;
    ebb_patch *patches;
    ebb_base base;
    ebb_greens greens;
    size_t paths;
} rig;

static const double test_hz[N_HZ] = {40, 63, 90, 130, 180};

/* Non-trivial options: the room for moves is used. */
static const size_t option[2] = {4, 7};

/* ---- a base of the room ------------------------------------------------------------------------
 */

static ebb_vec3 *points_of(const rig *r)
{
    const ebb_base *b = &r->base;
    ebb_vec3 *points = EBB_NEW(r->s->arena, ebb_vec3, b->n_sources + b->n_receivers);
    assert_non_null(points);
    memcpy(points, r->s->stations.source, b->n_sources * sizeof *points);
    memcpy(points + b->n_sources, r->s->stations.receiver, b->n_receivers * sizeof *points);
    return points;
}

static void project(rig *r, const ebb_vec3 *points)
{
    scene *s = r->s;
    r->patches = EBB_NEW(s->arena, ebb_patch, s->spots.n);
    for (size_t i = 0; i < s->spots.n; i++) {
        const ebb_spot *spot = &s->spots.spot[i];
        r->patches[i].assembly = &s->job->absorbers[FRONT].assembly;
        assert_ok(s->ctx, ebb_patch_on(s->ctx, s->room, spot->surface, spot->at, spot->size,
                                       &r->patches[i]));
    }
    const double band[2] = {40, 200};
    ebb_geometry geometry;
    assert_ok(s->ctx, ebb_geometry_of(s->ctx, s->job, s->room, band[1], band, &geometry));
    geometry.n_points = 8;
    geometry.points = points;
    geometry.n_patches = s->spots.n;
    geometry.patches = r->patches;
    geometry.richness = 0.2;
    assert_ok(s->ctx, ebb_reduced_new(s->ctx, &geometry, &r->reduced));
}

/* Admittances of units and walls at the test's frequencies. */
static void fill_admittances(rig *r)
{
    scene *s = r->s;
    ebb_base *b = &r->base;
    b->n_kinds = s->job->n_units;
    b->kind = EBB_NEW(s->arena, ebb_kind, b->n_kinds);
    for (size_t u = 0; u < b->n_kinds; u++) {
        const ebb_unit *unit = &s->job->absorbers[u];
        b->kind[u] = (ebb_kind){.unit = unit,
                                .ports = unit->piston ? 1 : Q,
                                .beta = EBB_NEW(s->arena, double _Complex, N_HZ)};
        for (size_t f = 0; f < N_HZ; f++)
            b->kind[u].beta[f] =
                ebb_assembly_beta(&unit->assembly, &b->state.air, NULL, 2 * PI * test_hz[f]);
    }
    b->face_beta = EBB_NEW(s->arena, double _Complex, s->room->n_surfaces *N_HZ);
    for (size_t i = 0; i < s->room->n_surfaces; i++)
        for (size_t f = 0; f < N_HZ; f++)
            b->face_beta[i * N_HZ + f] = ebb_assembly_beta(
                &s->job->constructions[s->room->surfaces[i].construction].assembly, &b->state.air,
                NULL, 2 * PI * test_hz[f]);
}

/* Responses of a state between all stations, [(source * n_receivers + receiver) * N_HZ + f]. */
static double _Complex *solve(const rig *r, const ebb_state *state)
{
    double _Complex *h =
        EBB_NEW(r->s->arena, double _Complex, r->base.n_sources * r->base.n_receivers * N_HZ);
    assert_non_null(h);
    assert_ok(r->s->ctx, ebb_response(r->s->ctx, r->reduced, state, N_HZ, test_hz, h));
    return h;
}

static double _Complex to_green(const ebb_base *b, size_t f, double _Complex h)
{
    return h * b->volume_scale / (I * 2 * PI * test_hz[f] * b->state.air.density);
}

/* The wave engine adds to each port what a coarse model lacks of its own near field. */
static void add_near_fields(rig *r, size_t n)
{
    for (size_t f = 0; f < N_HZ; f++) {
        double k = 2 * PI * test_hz[f] / r->base.state.air.speed, lack[2];
        for (size_t p = 0; p < r->base.n_ports; p++) {
            ebb_reduced_port_lack(r->reduced, p / Q, p % Q + 1, lack);
            r->base.green[(f * n + p) * n + p] += lack[0] + k * k * lack[1];
        }
    }
}

static void fill_green(rig *r, const ebb_vec3 *points)
{
    ebb_base *b = &r->base;
    ebb_arena *arena = r->s->arena;
    size_t size = ebb_reduced_size(r->reduced), stations = b->n_sources + b->n_receivers;
    size_t n = b->n_ports + stations, pairs = b->n_sources * b->n_receivers;
    double *v = EBB_NEW(arena, double, n *size);
    b->green = EBB_NEW(arena, double _Complex, N_HZ *n *n);
    b->direct = EBB_NEW(arena, double _Complex, N_HZ *pairs);
    assert_true(v && b->green && b->direct);
    for (size_t p = 0; p < b->n_ports; p++)
        memcpy(v + p * size, ebb_reduced_port(r->reduced, p / Q, p % Q + 1), size * sizeof *v);
    for (size_t i = 0; i < stations; i++)
        assert_int_equal(
            ebb_reduced_points(NULL, r->reduced, 1, &points[i], v + (b->n_ports + i) * size),
            EBB_OK);
    assert_ok(r->s->ctx,
              ebb_green(r->s->ctx, r->reduced, &b->state, N_HZ, test_hz, n, v, b->green));
    add_near_fields(r, n);
    const double _Complex *h = solve(r, &b->state);
    for (size_t f = 0; f < N_HZ; f++)
        for (size_t i = 0; i < pairs; i++)
            b->direct[f * pairs + i] = to_green(b, f, h[i * N_HZ + f]);
}

static int set_up_walls(void **state, bool rigid)
{
    set_up_scene(state);
    rig *r = test_calloc(1, sizeof *r);
    scene *s = r->s = *state;
    *state = r;
    for (size_t i = 0; rigid && i < s->job->n_constructions; i++)
        s->job->constructions[i].assembly = (ebb_assembly){.kind = EBB_ASSEMBLY_CONSTANT};
    make_stations(s, EBB_USE_MUSIC);
    make_spots(s);
    ebb_base *b = &r->base;
    *b = (ebb_base){.job = s->job,
                    .room = s->room,
                    .stations = &s->stations,
                    .spots = &s->spots,
                    .n_hz = N_HZ,
                    .n_ports = Q * s->spots.n,
                    .n_sources = s->stations.n_sources * s->stations.source_options,
                    .n_receivers = s->stations.n_receivers * s->stations.receiver_options};
    b->hz = EBB_NEW(s->arena, double, N_HZ);
    memcpy(b->hz, test_hz, sizeof test_hz);
    ebb_vec3 *points = points_of(r);
    ebb_state_of(s->job, s->room, &b->state);
    b->state.scale[0] = 0.93; /* as if units had taken some of the room */
    b->state.scale[1] = 0.96;
    b->state.n_sources = b->n_sources;
    b->state.sources = points;
    b->state.n_receivers = b->n_receivers;
    b->state.receivers = points + b->n_sources;
    b->volume_scale = 0.93 * 0.96;
    r->paths = s->stations.n_paths;
    project(r, points);
    fill_admittances(r);
    fill_green(r, points);
    assert_true(ebb_greens_make(s->arena, b, &r->greens));
    ebb_greens_reset(&r->greens);
    return 0;
}

static int set_up(void **state)
{
    return set_up_walls(state, false);
}

static int set_up_rigid(void **state)
{
    return set_up_walls(state, true);
}

static int tear_down(void **state)
{
    rig *r = *state;
    scene *s = r->s;
    ebb_reduced_free(r->reduced);
    test_free(r);
    *state = s;
    return tear_down_scene(state);
}

/* ---- comparing ---------------------------------------------------------------------------------
 */

static double _Complex *room_for_paths(const rig *r)
{
    double _Complex *h = EBB_NEW(r->s->arena, double _Complex, r->paths *N_HZ);
    assert_non_null(h);
    return h;
}

static double _Complex *responses(const rig *r, const ebb_pick *pick, double sign)
{
    double _Complex *h = room_for_paths(r);
    ebb_greens_responses(&r->greens, pick, sign, option, h);
    return h;
}

/* Largest difference over the largest value. */
static double difference(size_t n, const double _Complex *a, const double _Complex *b)
{
    double apart = 0, largest = 0;
    for (size_t i = 0; i < n; i++) {
        apart = fmax(apart, cabs(a[i] - b[i]));
        largest = fmax(largest, cabs(b[i]));
        assert_true(isfinite(creal(a[i])) && isfinite(cimag(a[i])));
    }
    return apart / largest;
}

static void assert_same(const rig *r, const double _Complex *a, const double _Complex *b,
                        double tolerance)
{
    assert_near(difference(r->paths * N_HZ, a, b), 0, tolerance);
}

/* The same paths picked from responses between all stations. */
static double _Complex *paths_of(const rig *r, const double _Complex *all)
{
    const ebb_stations *st = &r->s->stations;
    double _Complex *h = room_for_paths(r);
    for (size_t p = 0; p < r->paths; p++)
        for (size_t f = 0; f < N_HZ; f++) {
            size_t source = option[0] * st->n_sources + st->path[p][0];
            size_t receiver = option[1] * st->n_receivers + st->path[p][1];
            h[p * N_HZ + f] =
                to_green(&r->base, f, all[(source * r->base.n_receivers + receiver) * N_HZ + f]);
        }
    return h;
}

/* The layout solved by the wave engine. Each unit has an assembly of its own, so that near fields
 * are not averaged over units of a kind. */
static double _Complex *solved(const rig *r, size_t n, const ebb_pick *picks)
{
    size_t used[8];
    ebb_patch mounted[8];
    ebb_assembly assembly[8];
    ebb_state state = r->base.state;
    for (size_t i = 0; i < n; i++) {
        const ebb_unit *unit = &r->s->job->absorbers[picks[i].kind];
        used[i] = picks[i].spot;
        mounted[i] = r->patches[picks[i].spot];
        mounted[i].piston = unit->piston;
        assembly[i] = unit->assembly;
        mounted[i].assembly = &assembly[i];
    }
    state.n_used = n;
    state.used = used;
    state.mounted = mounted;
    return paths_of(r, solve(r, &state));
}

/* Solves a x = y in place, n <= MOST_PORTS, with pivots. */
static void eliminate(size_t n, double _Complex a[MOST_PORTS][MOST_PORTS], double _Complex *y)
{
    for (size_t c = 0; c < n; c++) {
        size_t best = c;
        for (size_t i = c; i < n; i++)
            best = cabs(a[i][c]) > cabs(a[best][c]) ? i : best;
        for (size_t j = 0; j < n; j++) {
            double _Complex kept = a[c][j];
            a[c][j] = a[best][j];
            a[best][j] = kept;
        }
        double _Complex kept = y[c];
        y[c] = y[best];
        y[best] = kept;
        for (size_t i = 0; i < n; i++) {
            double _Complex factor = i == c ? 0 : a[i][c] / a[c][c];
            for (size_t j = c; j < n; j++)
                a[i][j] -= factor * a[c][j];
            y[i] -= factor * y[c];
        }
    }
    for (size_t i = 0; i < n; i++)
        y[i] /= a[i][i];
}

/* All ports of all units at once: h = direct - g_s (D^-1 + G)^-1 g_r. */
static double _Complex dense_path(const rig *r, size_t f, size_t path, size_t n_picks,
                                  const ebb_pick *picks)
{
    const ebb_base *b = &r->base;
    const ebb_stations *st = &r->s->stations;
    size_t n = b->n_ports + b->n_sources + b->n_receivers, k = 0, port[MOST_PORTS];
    size_t source = option[0] * st->n_sources + st->path[path][0];
    size_t receiver = option[1] * st->n_receivers + st->path[path][1];
    const double _Complex *g = b->green + f * n * n;
    double _Complex inverse[MOST_PORTS], a[MOST_PORTS][MOST_PORTS], y[MOST_PORTS];
    for (size_t i = 0; i < n_picks; i++)
        for (size_t q = 0; q < b->kind[picks[i].kind].ports; q++) {
            size_t surface = r->s->spots.spot[picks[i].spot].surface;
            double wave = 2 * PI * test_hz[f] / b->state.air.speed;
            port[k] = picks[i].spot * Q + q;
            inverse[k++] =
                b->volume_scale /
                (I * wave * (b->kind[picks[i].kind].beta[f] - b->face_beta[surface * N_HZ + f]));
        }
    for (size_t i = 0; i < k; i++) {
        for (size_t j = 0; j < k; j++)
            a[i][j] = g[port[i] * n + port[j]] + (i == j ? inverse[i] : 0);
        y[i] = g[port[i] * n + b->n_ports + b->n_sources + receiver];
    }
    eliminate(k, a, y);
    double _Complex h = b->direct[(f * b->n_sources + source) * b->n_receivers + receiver];
    for (size_t i = 0; i < k; i++)
        h -= g[(b->n_ports + source) * n + port[i]] * y[i];
    return h;
}

static double _Complex *dense(const rig *r, size_t n, const ebb_pick *picks)
{
    double _Complex *h = room_for_paths(r);
    for (size_t p = 0; p < r->paths; p++)
        for (size_t f = 0; f < N_HZ; f++)
            h[p * N_HZ + f] = dense_path(r, f, p, n, picks);
    return h;
}

static void apply(rig *r, size_t n, const ebb_pick *picks, double sign)
{
    for (size_t i = 0; i < n; i++)
        ebb_greens_apply(&r->greens, picks[i], sign);
}

/* ---- tests -------------------------------------------------------------------------------------
 */

static const ebb_pick fronts[3] = {{0, FRONT}, {5, FRONT}, {11, FRONT}};
static const ebb_pick mixed[4] = {{2, WOOL}, {7, FRONT}, {9, WOOL}, {0, WOOL}};

static void the_scene_has_both_kinds(void **state)
{
    const rig *r = *state;
    assert_int_equal(r->base.kind[FRONT].ports, 1);
    assert_int_equal(r->base.kind[WOOL].ports, Q);
    assert_true(r->s->spots.n > 12);
    for (size_t i = 0; i < r->s->spots.n; i++)
        assert_in_range(ebb_reduced_ports(r->reduced, i), Q + 1, 7);
}

static void the_bare_room_is_the_wave_engines(void **state)
{
    const rig *r = *state;
    assert_same(r, responses(r, NULL, 1), solved(r, 0, NULL), 1e-12);
}

/* With rigid walls behind the units nothing is left out: equal to rounding. */
static void fronts_are_the_wave_engines(void **state)
{
    rig *r = *state;
    double _Complex *bare = responses(r, NULL, 1);
    apply(r, 3, fronts, 1);
    double _Complex *with = responses(r, NULL, 1), *want = solved(r, 3, fronts);
    assert_same(r, with, want, 1e-9);
    assert_true(difference(r->paths * N_HZ, bare, want) > 0.01); /* they do something */
}

/* The search takes out the wall behind a front in one pattern, the wave engine in all: measured
 * apart by 1 % of the largest response, brick walls. */
static void walls_behind_fronts_hardly_matter(void **state)
{
    rig *r = *state;
    apply(r, 3, fronts, 1);
    double apart = difference(r->paths * N_HZ, responses(r, NULL, 1), solved(r, 3, fronts));
    assert_true(apart < 0.02);
}

/* Three ports of seven stand for an area that reacts at every point: close, not exact. */
static void wool_is_nearly_the_wave_engines(void **state)
{
    rig *r = *state;
    double _Complex *bare = responses(r, NULL, 1);
    apply(r, 4, mixed, 1);
    double _Complex *want = solved(r, 4, mixed);
    double moved = difference(r->paths * N_HZ, bare, want);
    double missed = difference(r->paths * N_HZ, responses(r, NULL, 1), want);
    assert_true(missed < 0.1 * moved);
}

static void any_layout_is_that_of_one_elimination(void **state)
{
    rig *r = *state;
    apply(r, 4, mixed, 1);
    assert_same(r, responses(r, NULL, 1), dense(r, 4, mixed), 1e-9);
}

/* A layout does not remember in which order its units came, nor what hung there in between. */
static void the_way_there_does_not_matter(void **state)
{
    rig *r = *state;
    apply(r, 2, fronts, 1);
    apply(r, 1, mixed, 1);
    apply(r, 2, fronts, -1);
    for (size_t i = 3; i > 0; i--)
        apply(r, 1, &mixed[i], 1);
    assert_same(r, responses(r, NULL, 1), dense(r, 4, mixed), 1e-9);
}

static void taken_away_is_as_never_hung(void **state)
{
    rig *r = *state;
    const ebb_base *b = &r->base;
    size_t blocks = N_HZ * r->s->spots.n * Q * Q, pairs = N_HZ * b->n_sources * b->n_receivers;
    size_t rows = N_HZ * (b->n_sources + b->n_receivers) * b->n_ports;
    double _Complex *block = EBB_NEW(r->s->arena, double _Complex, blocks);
    double _Complex *station = EBB_NEW(r->s->arena, double _Complex, rows);
    memcpy(block, r->greens.now.block, blocks * sizeof *block);
    memcpy(station, r->greens.now.station, rows * sizeof *station);
    apply(r, 4, mixed, 1);
    assert_true(difference(blocks, r->greens.now.block, block) > 1e-3);
    apply(r, 4, mixed, -1); /* first come, first gone */
    assert_near(difference(blocks, r->greens.now.block, block), 0, 1e-9);
    assert_near(difference(rows, r->greens.now.station, station), 0, 1e-9);
    assert_near(difference(pairs, r->greens.now.direct, b->direct), 0, 1e-9);
}

static void what_is_foretold_happens(void **state)
{
    rig *r = *state;
    for (size_t i = 0; i < 4; i++) {
        double _Complex *told = responses(r, &mixed[i], 1);
        ebb_greens_apply(&r->greens, mixed[i], 1);
        assert_same(r, told, responses(r, NULL, 1), 1e-12);
    }
    for (size_t i = 0; i < 4; i++) {
        double _Complex *told = responses(r, &mixed[i], -1);
        ebb_greens_apply(&r->greens, mixed[i], -1);
        assert_same(r, told, responses(r, NULL, 1), 1e-12);
    }
}

/* A trial undone leaves no trace, even in the last bit, and no rows on the stack. */
static void what_was_kept_returns(void **state)
{
    rig *r = *state;
    const ebb_base *b = &r->base;
    size_t blocks = N_HZ * r->s->spots.n * Q * Q;
    ebb_greens_apply(&r->greens, mixed[0], 1);
    double _Complex *told = responses(r, NULL, 1);
    double _Complex *block = EBB_NEW(r->s->arena, double _Complex, blocks);
    memcpy(block, r->greens.now.block, blocks * sizeof *block);
    size_t rank = r->greens.now.rank;
    ebb_greens_keep(&r->greens);
    ebb_greens_apply(&r->greens, mixed[0], -1);
    ebb_greens_apply(&r->greens, mixed[1], 1);
    assert_true(difference(blocks, r->greens.now.block, block) > 1e-3);
    ebb_greens_return(&r->greens);
    assert_int_equal(r->greens.now.rank, rank);
    assert_memory_equal(r->greens.now.block, block, blocks * sizeof *block);
    assert_same(r, responses(r, NULL, 1), told, 0);
    ebb_greens_apply(&r->greens, mixed[0], -1); /* and the stack still means the same */
    for (size_t i = 0; i < N_HZ * b->n_sources * b->n_receivers; i++)
        assert_near(cabs(r->greens.now.direct[i] - b->direct[i]), 0, 1e-9 * cabs(b->direct[i]));
}

static void a_full_stack_says_so_and_is_still_true(void **state)
{
    rig *r = *state;
    double _Complex *bare = responses(r, NULL, 1);
    size_t updates = 0;
    while (ebb_greens_has_room(&r->greens, 1)) {
        ebb_greens_apply(&r->greens, mixed[0], updates % 2 == 0 ? 1 : -1);
        updates++;
    }
    assert_true(updates >= r->s->spots.n); /* one full layout fits */
    assert_true(r->greens.now.rank <= r->greens.room);
    if (updates % 2 == 0)
        assert_same(r, responses(r, NULL, 1), bare, 1e-8);
    else
        assert_same(r, responses(r, NULL, 1), dense(r, 1, mixed), 1e-8);
    ebb_greens_reset(&r->greens);
    assert_true(ebb_greens_has_room(&r->greens, 1));
    assert_same(r, responses(r, NULL, 1), bare, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_scene_has_both_kinds, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_bare_room_is_the_wave_engines, set_up, tear_down),
        cmocka_unit_test_setup_teardown(fronts_are_the_wave_engines, set_up_rigid, tear_down),
        cmocka_unit_test_setup_teardown(walls_behind_fronts_hardly_matter, set_up, tear_down),
        cmocka_unit_test_setup_teardown(wool_is_nearly_the_wave_engines, set_up, tear_down),
        cmocka_unit_test_setup_teardown(any_layout_is_that_of_one_elimination, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_way_there_does_not_matter, set_up, tear_down),
        cmocka_unit_test_setup_teardown(taken_away_is_as_never_hung, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_foretold_happens, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_was_kept_returns, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_full_stack_says_so_and_is_still_true, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
