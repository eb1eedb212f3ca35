/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scene.h"

typedef struct desk {
    ebb_ctx *ctx;
    ebb_arena *arena;
    stage s;
    ebb_faults faults;
} desk;

static void desk_open(desk *d, size_t n_sources, size_t n_receivers)
{
    memset(d, 0, sizeof *d);
    stage_make(&d->s, n_sources, n_receivers);
    d->ctx = ebb_ctx_new();
    d->arena = ebb_arena_new(d->ctx);
}

static void desk_close(desk *d)
{
    ebb_arena_free(d->arena);
    ebb_ctx_free(d->ctx);
}

static void desk_list(desk *d)
{
    assert_int_equal(ebb_faults_list(d->ctx, d->arena, &d->s.scene, &d->s.reading, &d->faults),
                     EBB_OK);
    for (size_t i = 0; i < d->faults.n; i++) {
        const ebb_fault *f = &d->faults.fault[i];
        assert_true(f->size > 1);
        assert_true(f->low <= f->hz && f->hz <= f->high);
        assert_true(f->cause && f->cause[0] && f->place && f->place[0]);
        assert_true(i == 0 || d->faults.fault[i - 1].size >= f->size);
    }
}

static double cell_hz(const desk *d, size_t c)
{
    return d->s.grid.hz[d->s.grid.first + c];
}

static void set_level(desk *d, size_t path, size_t c, double level)
{
    d->s.level[path * d->s.grid.n_cells + c] = level;
}

static void set_decay(desk *d, size_t path, size_t band, double t60)
{
    d->s.decay[path * d->s.grid.n_bands + band] = t60;
    d->s.reading.worst_decay = fmax(d->s.reading.worst_decay, t60 / d->s.decay_limit[band]);
}

static const ebb_fault *find(const desk *d, ebb_fault_kind kind)
{
    for (size_t i = 0; i < d->faults.n; i++)
        if (d->faults.fault[i].kind == kind)
            return &d->faults.fault[i];
    fail_msg("no fault of kind %s", ebb_fault_name(kind));
    return NULL;
}

static void a_good_room_has_no_fault(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 2, 2);
    stage_box_modes(&d.s, 0.3);
    for (size_t c = 0; c < d.s.grid.n_cells; c++)
        set_level(&d, 0, c, c % 2 ? 3 : -3); /* on the limit is inside */
    for (size_t b = 0; b < d.s.grid.n_bands; b++)
        set_decay(&d, 3, b, d.s.decay_limit[b]);
    d.s.limits.spread = 100;
    desk_list(&d);
    assert_int_equal(d.faults.n, 0);
    assert_int_equal(ebb_ctx_messages(d.ctx), 0);
    desk_close(&d);
}

/* Two paths overlap: one run from the first to the last cell of their union, size of the larger. */
static void a_peak_is_a_run_over_all_paths(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 2, 1);
    stage_box_modes(&d.s, 0.3);
    for (size_t c = 20; c <= 24; c++)
        set_level(&d, 0, c, 3.5);
    for (size_t c = 23; c <= 28; c++)
        set_level(&d, 1, c, c == 26 ? 7.5 : 4);
    set_level(&d, 0, 40, 4.2); /* a run of one cell */
    desk_list(&d);
    assert_int_equal(d.faults.n, 2);
    const ebb_fault *f = &d.faults.fault[0];
    assert_int_equal(f->kind, EBB_FAULT_PEAK);
    assert_near(f->low, cell_hz(&d, 20), 0);
    assert_near(f->high, cell_hz(&d, 28), 0);
    assert_near(f->hz, cell_hz(&d, 26), 0);
    assert_near(f->value, 7.5, 0);
    assert_near(f->limit, 3, 0);
    assert_near(f->size, 2.5, 1e-15);
    assert_int_equal(f->path, 1);
    assert_string_equal(f->place, "right to lead");
    assert_true(f->equalisable);
    assert_false(f->also_rings);
    assert_near(d.faults.fault[1].low, d.faults.fault[1].high, 0);
    assert_near(d.faults.fault[1].size, 1.4, 1e-15);
    desk_close(&d);
}

static void peaks_and_dips_are_runs_of_their_own(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    stage_box_modes(&d.s, 0.3);
    for (size_t c = 20; c < 30; c++)
        set_level(&d, 0, c, c < 25 ? 4 : -4);
    desk_list(&d);
    assert_int_equal(d.faults.n, 2);
    const ebb_fault *peak = find(&d, EBB_FAULT_PEAK), *dip = find(&d, EBB_FAULT_DIP);
    assert_near(peak->high, cell_hz(&d, 24), 0);
    assert_near(dip->low, cell_hz(&d, 25), 0);
    assert_near(dip->value, -4, 0);
    assert_near(dip->limit, -3, 0);
    assert_near(dip->size, 4.0 / 3, 1e-15);
    assert_false(dip->equalisable);
    desk_close(&d);
}

static void a_ring_names_the_band_and_its_limit(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 2);
    stage_mode(&d.s, 2, 0, 0, 1.3); /* 68.6 Hz */
    set_decay(&d, 0, 2, 1.2);
    set_decay(&d, 1, 2, 1.3); /* 63 Hz band */
    set_decay(&d, 1, 3, 1.3); /* 80 Hz band, the same mode: the same fault */
    desk_list(&d);
    assert_int_equal(d.faults.n, 1);
    const ebb_fault *f = &d.faults.fault[0];
    assert_int_equal(f->kind, EBB_FAULT_RING);
    assert_near(f->hz, d.s.grid.band_hz[3], 0); /* the stricter limit */
    assert_near(f->low, d.s.grid.band_hz[2] / pow(10, 0.05), 1e-10);
    assert_near(f->high, d.s.grid.band_hz[3] * pow(10, 0.05), 1e-10);
    assert_near(f->value, 1.3, 0);
    assert_near(f->size, 1.3 / d.s.decay_limit[3], 1e-15);
    assert_string_equal(f->place, "left to guest");
    assert_false(f->equalisable);
    desk_close(&d);
}

/* Neighbouring bands carried by different modes are different causes. */
static void rings_part_where_another_mode_takes_over(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    stage_mode(&d.s, 0, 1, 0, 1.3); /* 42.9 Hz */
    stage_mode(&d.s, 0, 0, 1, 1.1); /* 57.2 Hz */
    stage_mode(&d.s, 0, 2, 0, 1.2); /* 85.8 Hz */
    for (size_t b = 0; b < 4; b++)
        set_decay(&d, 0, b, 1.2);
    desk_list(&d);
    assert_int_equal(d.faults.n, 3);
    for (size_t i = 0; i < 3; i++)
        assert_int_equal(d.faults.fault[i].kind, EBB_FAULT_RING);
    desk_close(&d);
}

/* The peak of a mode and its ring: one fault with two readings, under the larger one. */
static void a_peak_and_a_ring_of_one_mode_are_one_fault(void **state)
{
    (void)state;
    for (int ring_leads = 0; ring_leads < 2; ring_leads++) {
        desk d;
        desk_open(&d, 1, 1);
        stage_mode(&d.s, 2, 0, 0, 1.0);
        for (size_t c = 17; c <= 21; c++)
            set_level(&d, 0, c, 6); /* around 68 Hz */
        set_decay(&d, 0, 2, d.s.decay_limit[2] * (ring_leads ? 2.5 : 1.5));
        desk_list(&d);
        assert_int_equal(d.faults.n, 1);
        const ebb_fault *f = &d.faults.fault[0];
        assert_int_equal(f->kind, ring_leads ? EBB_FAULT_RING : EBB_FAULT_PEAK);
        assert_near(f->size, ring_leads ? 2.5 : 2, 1e-12);
        assert_true(f->also_rings);
        assert_true(f->equalisable);
        assert_non_null(
            strstr(f->cause, ring_leads ? "it also stands above" : "it also rings for"));
        assert_near(f->low, d.s.grid.band_hz[2] / pow(10, 0.05), 1e-9);
        desk_close(&d);
    }
}

/* Both lie in the 63 Hz band, but the peak is another mode's: two causes. */
static void a_peak_of_another_mode_stays_apart(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    stage_mode(&d.s, 0, 0, 1, 0.2); /* 57.2 Hz, at the peak, but soon gone */
    stage_mode(&d.s, 2, 0, 0, 1.5); /* 68.6 Hz, weak and long */
    d.s.residue[0] = 1000, d.s.residue[1] = 100;
    set_level(&d, 0, 13, 6); /* 57.9 Hz */
    set_decay(&d, 0, 2, 1.2);
    desk_list(&d);
    assert_int_equal(d.faults.n, 2);
    assert_false(d.faults.fault[0].also_rings || d.faults.fault[1].also_rings);
    desk_close(&d);
}

static void a_ring_far_from_a_peak_stays_alone(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    stage_mode(&d.s, 0, 1, 0, 1.0);
    stage_mode(&d.s, 0, 2, 0, 1.0);
    set_level(&d, 0, 27, 6); /* 86 Hz */
    set_decay(&d, 0, 0, 1.2);
    desk_list(&d);
    assert_int_equal(d.faults.n, 2);
    assert_false(d.faults.fault[0].also_rings);
    assert_false(d.faults.fault[1].also_rings);
    desk_close(&d);
}

/* Both seats inside their limits, yet far apart because their band means are. */
static void spread_counts_true_levels(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 2);
    stage_box_modes(&d.s, 0.3);
    set_level(&d, 0, 30, -2);
    set_level(&d, 1, 30, 2.9);
    desk_list(&d);
    assert_int_equal(d.faults.n, 0);
    d.s.mean[1] = 4.1;
    desk_list(&d);
    assert_int_equal(d.faults.n, 1);
    const ebb_fault *f = &d.faults.fault[0];
    assert_int_equal(f->kind, EBB_FAULT_SPREAD);
    assert_near(f->value, 9, 1e-12);
    assert_near(f->limit, 6, 0);
    assert_near(f->size, 1.5, 1e-12);
    assert_near(f->hz, cell_hz(&d, 30), 0);
    assert_int_equal(f->path, 0);
    assert_string_equal(f->place, "left to lead against guest");
    desk_close(&d);
}

/* A dip at one seat that explains the spread takes it in. */
static void a_spread_is_not_listed_beside_its_dip(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 2);
    stage_box_modes(&d.s, 0.3);
    set_level(&d, 0, 30, -7);
    desk_list(&d);
    assert_int_equal(d.faults.n, 1);
    assert_int_equal(d.faults.fault[0].kind, EBB_FAULT_DIP);
    assert_non_null(strstr(d.faults.fault[0].cause, "places differ by"));
    d.s.mean[1] = 12; /* now the spread is the larger of the two: 19 / 6 against 7 / 3 */
    desk_list(&d);
    assert_int_equal(d.faults.fault[0].kind, EBB_FAULT_SPREAD);
    assert_near(d.faults.fault[0].size, 19.0 / 6, 1e-12);
    desk_close(&d);
}

static void speakers_are_not_compared_with_each_other(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 2, 1);
    stage_box_modes(&d.s, 0.3);
    d.s.mean[1] = 20;
    desk_list(&d);
    assert_int_equal(d.faults.n, 0);
    desk_close(&d);
}

static void microphone_and_listener_are_meant_to_differ(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 2);
    stage_box_modes(&d.s, 0.3);
    d.s.mean[1] = 12;
    desk_list(&d);
    assert_int_equal(d.faults.n, 1);
    d.s.scene.use = EBB_USE_VOICE;
    desk_list(&d);
    assert_int_equal(d.faults.n, 0);
    desk_close(&d);
}

static void stage_mid(desk *d, double t60, double index)
{
    d->s.mid = (ebb_mid){.speech_index = index, .schroeder = 100};
    for (int k = 0; k < EBB_OCTAVES; k++) {
        d->s.mid.t60[k] = t60;
        d->s.mid.area[k] = 9.6 / t60;
    }
    d->s.scene.mid = &d->s.mid;
}

/* 60 m3: speech target 0.518 s, mask 0.414 .. 0.622 s at 250-2000 Hz. */
static void the_middle_band_is_measured_against_its_mask(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    d.s.scene.use = EBB_USE_VOICE;
    stage_mid(&d, 0.52, 0.7);
    desk_list(&d);
    assert_int_equal(d.faults.n, 0);
    double target = 0.37 * log10(60) - 0.14;
    d.s.mid.t60[2] = 0.8;
    d.s.mid.t60[3] = 0.9;
    desk_list(&d);
    assert_int_equal(d.faults.n, 1);
    const ebb_fault *f = &d.faults.fault[0];
    assert_int_equal(f->kind, EBB_FAULT_SLOW);
    assert_near(f->hz, 1000, 0);
    assert_near(f->low, 500 / sqrt(2), 1e-9);
    assert_near(f->high, 1000 * sqrt(2), 1e-9);
    assert_near(f->limit, target * 1.2, 1e-12);
    assert_near(f->size, 0.9 / (target * 1.2), 1e-12);
    assert_true(f->path == NONE);
    assert_string_equal(f->place, "the room");
    stage_mid(&d, 0.2, 0.7);
    desk_list(&d);
    assert_int_equal(d.faults.n, 1);
    assert_int_equal(d.faults.fault[0].kind, EBB_FAULT_DRY);
    assert_near(d.faults.fault[0].size, target * 0.8 / 0.2, 1e-12);
    assert_near(d.faults.fault[0].limit, target * 0.8, 1e-12);
    desk_close(&d);
}

static void speech_counts_for_voice_only(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    stage_mid(&d, 0.25, 0.5);
    d.s.scene.use = EBB_USE_MUSIC;
    desk_list(&d);
    assert_int_equal(d.faults.n, 0);
    d.s.scene.use = EBB_USE_VOICE;
    stage_mid(&d, 0.52, 0.5);
    desk_list(&d);
    assert_int_equal(d.faults.n, 1);
    assert_int_equal(d.faults.fault[0].kind, EBB_FAULT_SPEECH);
    assert_near(d.faults.fault[0].value, 0.5, 0);
    assert_near(d.faults.fault[0].limit, 0.6, 0);
    assert_near(d.faults.fault[0].size, 1.2, 1e-12);
    d.s.mid.speech_index = 0.6;
    desk_list(&d);
    assert_int_equal(d.faults.n, 0);
    desk_close(&d);
}

/* Many faults of all kinds at once: the list holds them all, sorted (checked in desk_list). */
static void a_bad_room_fills_the_list(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 2, 2);
    stage_box_modes(&d.s, 2);
    for (size_t p = 0; p < 4; p++)
        for (size_t c = 0; c < d.s.grid.n_cells; c += 2) {
            set_level(&d, p, c, (p % 2 ? 1 : -1) * (3.1 + (double)c / 10));
            set_level(&d, p, c + 1, 0);
        }
    for (size_t b = 0; b < d.s.grid.n_bands; b++)
        set_decay(&d, b % 4, b, 2);
    stage_mid(&d, 2, 0.3);
    d.s.mid.t60[1] = d.s.mid.t60[4] = 0.01;
    d.s.scene.use = EBB_USE_VOICE;
    d.s.limits.spread = 0.1; /* so that every spread outdoes its peak and dip */
    desk_list(&d);
    int count[EBB_FAULT_SPEECH + 1] = {0};
    for (size_t i = 0; i < d.faults.n; i++)
        count[d.faults.fault[i].kind]++;
    assert_int_equal(count[EBB_FAULT_SPREAD], 0);
    assert_int_equal(count[EBB_FAULT_DIP] + count[EBB_FAULT_GAP], 29);
    assert_true(count[EBB_FAULT_PEAK] > 20 && count[EBB_FAULT_PEAK] <= 29);
    assert_int_equal(count[EBB_FAULT_SLOW], 3);
    assert_int_equal(count[EBB_FAULT_DRY], 2);
    assert_int_equal(count[EBB_FAULT_SPEECH], 1);
    d.s.scene.use = EBB_USE_MUSIC;
    desk_list(&d);
    size_t spreads = 0;
    for (size_t i = 0; i < d.faults.n; i++)
        spreads += d.faults.fault[i].kind == EBB_FAULT_SPREAD;
    assert_int_equal(spreads, 29);
    desk_close(&d);
}

static void what_lies_outside_a_source_is_said(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    ebb_grid_make(&d.s.limits, 25, &d.s.grid);
    desk_list(&d);
    assert_int_equal(ebb_ctx_messages(d.ctx), 1);
    assert_int_equal(ebb_ctx_message(d.ctx, 0)->status, EBB_OK);
    d.s.scene.use = EBB_USE_VOICE;
    d.s.room.size[0] = 2; /* 24 m3 */
    desk_list(&d);
    desk_list(&d);
    assert_int_equal(ebb_ctx_messages(d.ctx), 2);
    assert_non_null(strstr(ebb_ctx_message(d.ctx, 1)->text, "30 to 5000 m3"));
    desk_close(&d);
}

static void strangers_are_refused(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 2);
    d.s.scene.n_receivers = 1;
    assert_int_equal(ebb_faults_list(d.ctx, d.arena, &d.s.scene, &d.s.reading, &d.faults),
                     EBB_E_RANGE);
    d.s.scene.n_receivers = 2;
    d.s.modes.n_sources = 2;
    assert_int_equal(ebb_faults_list(d.ctx, d.arena, &d.s.scene, &d.s.reading, &d.faults),
                     EBB_E_RANGE);
    assert_null(d.faults.fault);
    desk_close(&d);
}

static void running_out_of_memory_is_told(void **state)
{
    (void)state;
    static stage s; /* the arena below is made to fill up: many causes, long texts */
    stage_make(&s, 2, 2);
    stage_box_modes(&s, 2);
    for (size_t i = 0; i < 4 * s.grid.n_cells; i++)
        s.level[i] = i % 3 ? 3.2 : -8;
    for (size_t i = 0; i < 4 * s.grid.n_bands; i++)
        s.decay[i] = 2;
    bool done = false;
    int failed = 0;
    for (size_t n = 0; !done && n < 200; n++) {
        failing f = {.left = n};
        ebb_allocator allocator = {failing_resize, &f};
        ebb_ctx *ctx = ebb_ctx_new_with(&allocator);
        ebb_arena *arena = ctx ? ebb_arena_new(ctx) : NULL;
        if (arena) {
            ebb_faults faults;
            ebb_status status = ebb_faults_list(ctx, arena, &s.scene, &s.reading, &faults);
            done = status == EBB_OK;
            failed += !done;
            assert_true(done || (status == EBB_E_NOMEM && f.hit && !faults.fault && !faults.n));
        }
        ebb_arena_free(arena);
        ebb_ctx_free(ctx);
        assert_int_equal(f.held, 0);
    }
    assert_true(done && failed > 0);
}

static void kinds_have_names_and_meanings(void **state)
{
    (void)state;
    static const char *const name[] = {"ring",   "peak", "dip", "gap",
                                       "spread", "slow", "dry", "speech"};
    for (int k = EBB_FAULT_RING; k <= EBB_FAULT_SPEECH; k++) {
        assert_string_equal(ebb_fault_name((ebb_fault_kind)k), name[k]);
        assert_true(strlen(ebb_fault_meaning((ebb_fault_kind)k)) > 20);
    }
    assert_string_equal(ebb_fault_name((ebb_fault_kind)99), "unknown");
    assert_string_equal(ebb_fault_meaning((ebb_fault_kind)99), "unknown");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_good_room_has_no_fault),
        cmocka_unit_test(a_peak_is_a_run_over_all_paths),
        cmocka_unit_test(peaks_and_dips_are_runs_of_their_own),
        cmocka_unit_test(a_ring_names_the_band_and_its_limit),
        cmocka_unit_test(rings_part_where_another_mode_takes_over),
        cmocka_unit_test(a_peak_and_a_ring_of_one_mode_are_one_fault),
        cmocka_unit_test(a_peak_of_another_mode_stays_apart),
        cmocka_unit_test(a_ring_far_from_a_peak_stays_alone),
        cmocka_unit_test(spread_counts_true_levels),
        cmocka_unit_test(a_spread_is_not_listed_beside_its_dip),
        cmocka_unit_test(speakers_are_not_compared_with_each_other),
        cmocka_unit_test(microphone_and_listener_are_meant_to_differ),
        cmocka_unit_test(the_middle_band_is_measured_against_its_mask),
        cmocka_unit_test(speech_counts_for_voice_only),
        cmocka_unit_test(a_bad_room_fills_the_list),
        cmocka_unit_test(what_lies_outside_a_source_is_said),
        cmocka_unit_test(strangers_are_refused),
        cmocka_unit_test(running_out_of_memory_is_told),
        cmocka_unit_test(kinds_have_names_and_meanings),
    };
    return cmocka_run_group_tests_name("faults", tests, NULL, NULL);
}
