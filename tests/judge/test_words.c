/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Causes in words, and the tracing behind them: scenes in which the cause is known. */
#include "scene.h"

#include <stdio.h>

typedef struct desk {
    ebb_ctx *ctx;
    ebb_arena *arena;
    stage s;
    ebb_faults faults;
} desk;

static void desk_open(desk *d)
{
    memset(d, 0, sizeof *d);
    stage_make(&d->s, 1, 1);
    d->ctx = ebb_ctx_new();
    d->arena = ebb_arena_new(d->ctx);
}

static void desk_close(desk *d)
{
    ebb_arena_free(d->arena);
    ebb_ctx_free(d->ctx);
}

/* The single fault of a scene with this level at the cell nearest to hz. */
static const ebb_fault *fault_at(desk *d, double hz, double level)
{
    size_t best = 0;
    const double *cell = d->s.grid.hz + d->s.grid.first;
    for (size_t c = 0; c < d->s.grid.n_cells; c++) {
        d->s.level[c] = 0;
        if (fabs(log(cell[c] / hz)) < fabs(log(cell[best] / hz)))
            best = c;
    }
    d->s.level[best] = level;
    assert_int_equal(ebb_faults_list(d->ctx, d->arena, &d->s.scene, &d->s.reading, &d->faults),
                     EBB_OK);
    assert_int_equal(d->faults.n, 1);
    return &d->faults.fault[0];
}

static void says(const ebb_fault *fault, const char *words)
{
    if (!strstr(fault->cause, words))
        fail_msg("\"%s\" does not say \"%s\"", fault->cause, words);
}

/* Units are written as ebb_quantity_print writes them. */
static void says_quantity(const desk *d, const ebb_fault *fault, const char *before,
                          ebb_quantity_kind kind, double value, const char *after)
{
    char number[48], words[160];
    ebb_quantity_print(kind, value, d->s.job.units, number, sizeof number);
    snprintf(words, sizeof words, "%s%s%s", before, number, after);
    says(fault, words);
}

static void a_peak_names_mode_walls_and_places(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    d.s.source_at[0] = (ebb_vec3){0.1, 2, 1.5};
    d.s.receiver_at[0] = (ebb_vec3){2.5, 1, 0.8}; /* half length: maximum of 2-0-0 */
    stage_box_modes(&d.s, 0.8);
    const ebb_fault *f = fault_at(&d, 68.6, 5);
    says_quantity(&d, f, "mode 2-0-0 at ", EBB_Q_FREQUENCY, 68.6, ", along");
    says(f, "the length (between wall_4 and wall_2)");
    says(f, "the seat stands at its pressure maximum");
    says(f, "the speaker at its pressure maximum");
    d.s.receiver_at[0].x = 1.75; /* between: cos(0.7 pi) = 0.59 */
    d.s.modes.n = 0;
    stage_mode(&d.s, 2, 0, 0, 0.8);
    says(fault_at(&d, 68.6, 5), "the seat stands between its quiet plane and its maximum");
    desk_close(&d);
}

static void axes_are_called_by_their_length(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    stage_mode(&d.s, 0, 2, 0, 1);
    says(fault_at(&d, 85.8, 5), "along the width (between wall_1 and wall_3)");
    d.s.room.size[0] = 3.9; /* now y is the longer side */
    says(fault_at(&d, 85.8, 5), "along the length (between wall_1 and wall_3)");
    d.s.room.size[0] = 5;
    d.s.modes.n = 0;
    stage_mode(&d.s, 1, 0, 1, 1);
    const ebb_fault *f = fault_at(&d, 66.7, 5);
    says(f, "the length (between wall_4 and wall_2) and the height (between floor and ceiling)");
    desk_close(&d);
}

static void a_mode_that_resembles_nothing_is_called_mixed(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    stage_mode(&d.s, 2, 0, 0, 0.3);
    d.s.mode[0].likeness = 0.4;
    says(fault_at(&d, 68.6, 5), "a mixed mode, most like mode 2-0-0");
    d.s.mode[0].likeness = 1;
    d.s.mode[0].label[0] = 0;
    says(fault_at(&d, 68.6, 5), "the air of the whole room");
    desk_close(&d);
}

static void a_peak_without_a_mode_near_it_is_a_sum(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    stage_mode(&d.s, 1, 0, 0, 0.3);
    says(fault_at(&d, 120, 5), "several modes add up");
    d.s.modes.n = 0;
    says(fault_at(&d, 120, 5), "several modes add up");
    desk_close(&d);
}

/* A list of modes that ends below the peak has nothing to say about it, however near its last one.
 */
static void a_peak_above_the_listed_modes_blames_none(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    stage_mode(&d.s, 2, 0, 0, 0.3); /* 68.6 Hz */
    says(fault_at(&d, 68.8, 5), "mode 2-0-0");
    says(fault_at(&d, 73, 5), "several modes add up");
    stage_mode(&d.s, 2, 2, 1, 0.3); /* now the list goes on, weakly, to 123 Hz */
    d.s.residue[1] = 1e-3;
    says(fault_at(&d, 73, 5), "mode 2-0-0");
    desk_close(&d);
}

/* Far above its frequency's reach a mode works against its mirror image at negative frequency: the
 * larger residue at 140 Hz must not outweigh the nearer mode. */
static void the_strongest_mode_is_the_nearer_one(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    stage_mode(&d.s, 1, 1, 0, 1);
    stage_mode(&d.s, 4, 0, 0, 1);
    d.s.mode[0].hz = 54, d.s.mode[1].hz = 140;
    d.s.residue[0] = 500, d.s.residue[1] = 4500;
    says(fault_at(&d, 45, 5), "mode 1-1-0");
    desk_close(&d);
}

/* A room of 3 m: first mode 57 Hz, so 45 Hz lies in the pressure zone. */
static void the_pressure_zone_is_told_apart(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    d.s.room.size[0] = d.s.room.size[1] = d.s.room.size[2] = 3;
    d.s.receiver_at[0] = (ebb_vec3){2.2, 1.1, 1.2};
    d.s.source_at[0] = (ebb_vec3){0.4, 0.7, 1.2};
    stage_mode(&d.s, 1, 0, 0, 0.5);
    const ebb_fault *f = fault_at(&d, 45, 5);
    says_quantity(&d, f, "below the first mode (", EBB_Q_FREQUENCY, 343.0 / 6, ")");
    says(f, "real rooms leak");
    assert_true(f->equalisable);
    /* a resonance of the room as a whole down there is a mode like any other */
    d.s.modes.n = 0;
    stage_mode(&d.s, 1, 0, 0, 0.5);
    d.s.mode[0].hz = 44;
    memset(d.s.mode[0].label, 0, sizeof d.s.mode[0].label);
    says(fault_at(&d, 45, 5), "the air of the whole room");
    desk_close(&d);
}

/* Same room: nothing between the 57.2 Hz axial modes and the 80.9 Hz tangential ones. */
static void a_dip_between_distant_modes_is_a_gap(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    d.s.room.size[0] = d.s.room.size[1] = d.s.room.size[2] = 3;
    const ebb_fault *f = fault_at(&d, 68, -5);
    assert_int_equal(f->kind, EBB_FAULT_GAP);
    says(f, "no mode carries this stretch");
    says_quantity(&d, f, "1-0-0 at ", EBB_Q_FREQUENCY, 343.0 / 6, "");
    says_quantity(&d, f, "1-1-0 at ", EBB_Q_FREQUENCY, 343.0 / 6 * sqrt(2), "");
    assert_near(f->value, -5, 0);
    assert_near(f->limit, -3, 0);
    f = fault_at(&d, 45, -5);
    assert_int_equal(f->kind, EBB_FAULT_GAP);
    says(f, "below the first mode");
    /* within 10 % of a mode it is no gap, nor where a damped mode has moved in */
    assert_int_equal(fault_at(&d, 61, -5)->kind, EBB_FAULT_DIP);
    stage_mode(&d.s, 1, 0, 0, 0.5);
    d.s.mode[0].hz = 66;
    assert_int_equal(fault_at(&d, 68, -5)->kind, EBB_FAULT_DIP);
    desk_close(&d);
}

/* A shallow gap can be lifted by an equaliser unless its neighbours cancel in it. */
static void a_gap_can_be_lifted_when_nothing_cancels(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    d.s.room.size[0] = d.s.room.size[1] = d.s.room.size[2] = 3;
    stage_mode(&d.s, 1, 0, 0, 0.3);
    stage_mode(&d.s, 1, 1, 0, 0.3);
    /* opposite signs of the residues: the tails add between the modes */
    d.s.residue[0] = 1000;
    d.s.residue[1] = -1000;
    assert_true(fault_at(&d, 68, -5)->equalisable);
    assert_false(fault_at(&d, 68, -6.1)->equalisable); /* more than 3 dB of boost */
    d.s.residue[1] = 1000;                             /* same signs: they cancel */
    assert_false(fault_at(&d, 68, -5)->equalisable);
    desk_close(&d);
}

static void a_seat_in_a_quiet_plane_is_told(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    stage_box_modes(&d.s, 0.5);
    d.s.source_at[0] = (ebb_vec3){0.3, 0.5, 0.4};
    d.s.receiver_at[0] = (ebb_vec3){3.2, 2.05, 1.2}; /* half width: quiet plane of 0-1-0 */
    const ebb_fault *f = fault_at(&d, 42.9, -6);
    assert_int_equal(f->kind, EBB_FAULT_DIP);
    says_quantity(&d, f, "mode 0-1-0 at ", EBB_Q_FREQUENCY, 343.0 / 8, ", along");
    says(f, "the seat stands near its quiet plane");
    assert_false(f->equalisable);
    d.s.source_at[0].y = 2.0;
    d.s.receiver_at[0].y = 0.5;
    says(fault_at(&d, 42.9, -6), "the speaker stands near its quiet plane");
    d.s.scene.use = EBB_USE_VOICE;
    says(fault_at(&d, 42.9, -6), "the talker stands near its quiet plane");
    desk_close(&d);
}

/* Speaker 3 m before the seat, wall_2 1.0 m behind it: a quarter wave is 85.75 Hz. In a large room,
 * where no single mode is alone there. */
static void a_late_reflection_is_found_by_its_quarter_wave(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    d.s.room.size[0] = 9, d.s.room.size[1] = 7.3, d.s.room.size[2] = 5.1;
    stage_surfaces(&d.s);
    d.s.source_at[0] = (ebb_vec3){5, 3.1, 2.2};
    d.s.receiver_at[0] = (ebb_vec3){8, 3.1, 2.2};
    const ebb_fault *f = fault_at(&d, 85.75, -5);
    assert_int_equal(f->kind, EBB_FAULT_DIP);
    says_quantity(&d, f, "the reflection from wall_2, ", EBB_Q_LENGTH, 1, " from the seat");
    assert_false(f->equalisable);
    /* now 1 m from wall_4, which lies behind the speaker */
    d.s.source_at[0] = (ebb_vec3){1, 3.1, 2.55};
    d.s.receiver_at[0] = (ebb_vec3){5.2, 3.1, 2.55};
    for (int units = EBB_UNITS_METRIC; units <= EBB_UNITS_IMPERIAL; units++) {
        d.s.job.units = (ebb_units)units;
        says_quantity(&d, fault_at(&d, 85.75, -5), "the reflection from wall_4, ", EBB_Q_LENGTH, 1,
                      " from the speaker");
    }
    desk_close(&d);
}

static void opposed_modes_are_named(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    d.s.room.size[0] = 9, d.s.room.size[1] = 7.3, d.s.room.size[2] = 5.1;
    stage_surfaces(&d.s);
    d.s.source_at[0] = (ebb_vec3){4, 3, 1.1};
    d.s.receiver_at[0] = (ebb_vec3){4.6, 3.3, 1.2}; /* too near for any reflection to cancel */
    stage_mode(&d.s, 3, 1, 0, 0.5);                 /* 61.9 Hz */
    stage_mode(&d.s, 3, 2, 0, 0.5);                 /* 74.0 Hz */
    d.s.residue[0] = d.s.residue[1] = 1000;
    const ebb_fault *f = fault_at(&d, 68, -5);
    says(f, "mode 3-1-0");
    says(f, "mode 3-2-0");
    says(f, "pull against each other");
    d.s.modes.n = 0;
    says(fault_at(&d, 68, -5), "cancels here");
    desk_close(&d);
}

static void a_ring_names_its_modes(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    stage_mode(&d.s, 1, 0, 1, 1.1); /* 66.7 Hz */
    stage_mode(&d.s, 2, 0, 0, 1.4); /* 68.6 Hz */
    d.s.residue[0] = 500, d.s.residue[1] = 1000;
    d.s.decay[2] = 1.3;
    assert_int_equal(ebb_faults_list(d.ctx, d.arena, &d.s.scene, &d.s.reading, &d.faults), EBB_OK);
    assert_int_equal(d.faults.n, 1);
    says(&d.faults.fault[0], "mode 2-0-0 at ");
    says_quantity(&d, &d.faults.fault[0], "dies away in ", EBB_Q_TIME, 1.4, "");
    assert_null(strstr(d.faults.fault[0].cause, "with it rings")); /* brings less than a third */
    d.s.residue[0] = 1000;
    d.s.decay[2] = 1.3;
    assert_int_equal(ebb_faults_list(d.ctx, d.arena, &d.s.scene, &d.s.reading, &d.faults), EBB_OK);
    says(&d.faults.fault[0], "with it rings mode 1-0-1 at ");
    /* without modes it still is a fault, and the reader learns what is missing */
    d.s.scene.modes = NULL;
    d.s.reading.worst_decay = 2;
    assert_int_equal(ebb_faults_list(d.ctx, d.arena, &d.s.scene, &d.s.reading, &d.faults), EBB_OK);
    says(&d.faults.fault[0], "too slowly");
    assert_int_equal(ebb_ctx_messages(d.ctx), 1);
    desk_close(&d);
}

static void a_spread_names_the_mode_and_the_louder_place(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    stage_make(&d.s, 1, 2);
    d.s.receiver_at[0] = (ebb_vec3){3.1, 2.0, 1.2}; /* quiet plane of 0-1-0 */
    d.s.receiver_at[1] = (ebb_vec3){3.1, 0.5, 1.2};
    stage_box_modes(&d.s, 0.4);
    d.s.mean[0] = -7;
    for (size_t c = 4; c < d.s.grid.n_cells; c++)
        d.s.level[c] = 7; /* equal but for the lowest cells */
    d.s.limits.response_deviation = 10;
    assert_int_equal(ebb_faults_list(d.ctx, d.arena, &d.s.scene, &d.s.reading, &d.faults), EBB_OK);
    assert_int_equal(d.faults.n, 1);
    assert_int_equal(d.faults.fault[0].kind, EBB_FAULT_SPREAD);
    says(&d.faults.fault[0], "mode 0-1-0");
    says(&d.faults.fault[0], "between guest, the louder, and lead");
    desk_close(&d);
}

static void the_middle_band_says_how_much_is_missing(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    d.s.scene.use = EBB_USE_VOICE;
    d.s.mid.speech_index = 0.7;
    d.s.mid.schroeder = 100;
    double target = 0.37 * log10(60) - 0.14;
    for (int k = 0; k < EBB_OCTAVES; k++) {
        d.s.mid.t60[k] = target;
        d.s.mid.area[k] = 20;
    }
    d.s.mid.t60[3] = target * 1.2 * 1.5;
    d.s.scene.mid = &d.s.mid;
    assert_int_equal(ebb_faults_list(d.ctx, d.arena, &d.s.scene, &d.s.reading, &d.faults), EBB_OK);
    assert_int_equal(d.faults.n, 1);
    says_quantity(&d, &d.faults.fault[0], "absorbs ", EBB_Q_AREA, 20, " in the 1000 Hz octave");
    says_quantity(&d, &d.faults.fault[0], "about ", EBB_Q_AREA, 30, " would bring it inside");
    assert_null(strstr(d.faults.fault[0].cause, "rough guide"));
    d.s.mid.schroeder = 900;
    d.s.mid.t60[3] = target * 0.8 / 2;
    assert_int_equal(ebb_faults_list(d.ctx, d.arena, &d.s.scene, &d.s.reading, &d.faults), EBB_OK);
    says_quantity(&d, &d.faults.fault[0], "about ", EBB_Q_AREA, 10, " would be enough");
    says(&d.faults.fault[0], "rough guide");
    desk_close(&d);
}

static void speech_names_the_slowest_octave(void **state)
{
    (void)state;
    desk d;
    desk_open(&d);
    d.s.scene.use = EBB_USE_VOICE;
    double target = 0.37 * log10(60) - 0.14;
    for (int k = 0; k < EBB_OCTAVES; k++)
        d.s.mid.t60[k] = target * (k == 2 ? 1.1 : 1);
    d.s.mid.speech_index = 0.4;
    d.s.scene.mid = &d.s.mid;
    assert_int_equal(ebb_faults_list(d.ctx, d.arena, &d.s.scene, &d.s.reading, &d.faults), EBB_OK);
    assert_int_equal(d.faults.n, 1);
    says(&d.faults.fault[0], "the 500 Hz");
    says(&d.faults.fault[0], "octave takes longest");
    desk_close(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_peak_names_mode_walls_and_places),
        cmocka_unit_test(axes_are_called_by_their_length),
        cmocka_unit_test(a_mode_that_resembles_nothing_is_called_mixed),
        cmocka_unit_test(a_peak_without_a_mode_near_it_is_a_sum),
        cmocka_unit_test(a_peak_above_the_listed_modes_blames_none),
        cmocka_unit_test(the_strongest_mode_is_the_nearer_one),
        cmocka_unit_test(the_pressure_zone_is_told_apart),
        cmocka_unit_test(a_dip_between_distant_modes_is_a_gap),
        cmocka_unit_test(a_gap_can_be_lifted_when_nothing_cancels),
        cmocka_unit_test(a_seat_in_a_quiet_plane_is_told),
        cmocka_unit_test(a_late_reflection_is_found_by_its_quarter_wave),
        cmocka_unit_test(opposed_modes_are_named),
        cmocka_unit_test(a_ring_names_its_modes),
        cmocka_unit_test(a_spread_names_the_mode_and_the_louder_place),
        cmocka_unit_test(the_middle_band_says_how_much_is_missing),
        cmocka_unit_test(speech_names_the_slowest_octave),
    };
    return cmocka_run_group_tests_name("words", tests, NULL, NULL);
}
