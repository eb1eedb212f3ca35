/* SPDX-License-Identifier: GPL-3.0-or-later */
/* fixture.c - see fixture.h: invented numbers. Included by the tests that need it. */
#include "fixture.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NEW(f, type, n) ((type *)fixture_need(ebb_arena_alloc((f)->arena, (n), sizeof(type))))

const char FIXTURE_HOSTILE[] = "<script>alert(\"x\")</script> & 'quoted' \x1b[31mred";

static void *fixture_need(void *p)
{
    if (!p) {
        abort();
    }
    return p;
}

static const char *const FIXTURE_NAMES[FIXTURE_ROOMS] = {"Sail store", "Net loft", "Lamp room"};
static const double FIXTURE_SIZES[FIXTURE_ROOMS][3] = {
    {5.4, 4.1, 2.7}, {3.6, 2.9, 2.4}, {2.2, 1.8, 2.2}};

/* Box surfaces in the order and the frames of ebb/job.h. */
static void make_surfaces(fixture *f, ebb_room *room)
{
    const double l = room->size[0], w = room->size[1], h = room->size[2];
    const ebb_vec3 o = room->origin;
    room->n_surfaces = EBB_FACES;
    room->surfaces = NEW(f, ebb_surface, EBB_FACES);
    const ebb_surface made[EBB_FACES] = {
        {.name = "floor",
         .construction = 1,
         .origin = {0, 0, o.z},
         .along = {1, 0, 0},
         .up = {0, 1, 0},
         .range = {{o.x, o.x + l}, {o.y, o.y + w}},
         .axis = 2,
         .side = 0},
        {.name = "ceiling",
         .construction = 0,
         .origin = {0, 0, o.z + h},
         .along = {1, 0, 0},
         .up = {0, 1, 0},
         .range = {{o.x, o.x + l}, {o.y, o.y + w}},
         .axis = 2,
         .side = 1},
        {.name = "wall_1",
         .construction = 0,
         .origin = {o.x, o.y, o.z},
         .along = {1, 0, 0},
         .up = {0, 0, 1},
         .range = {{0, l}, {0, h}},
         .axis = 1,
         .side = 0},
        {.name = "wall_2",
         .construction = 0,
         .origin = {o.x + l, o.y, o.z},
         .along = {0, 1, 0},
         .up = {0, 0, 1},
         .range = {{0, w}, {0, h}},
         .axis = 0,
         .side = 1},
        {.name = "wall_3",
         .construction = 0,
         .origin = {o.x + l, o.y + w, o.z},
         .along = {-1, 0, 0},
         .up = {0, 0, 1},
         .range = {{0, l}, {0, h}},
         .axis = 1,
         .side = 1},
        {.name = "wall_4",
         .construction = 0,
         .origin = {o.x, o.y + w, o.z},
         .along = {0, -1, 0},
         .up = {0, 0, 1},
         .range = {{0, w}, {0, h}},
         .axis = 0,
         .side = 0},
    };
    memcpy(room->surfaces, made, sizeof made);
}

static void make_room(fixture *f, size_t i)
{
    ebb_room *room = &f->job.rooms[i];
    room->name = FIXTURE_NAMES[i];
    memcpy(room->size, FIXTURE_SIZES[i], sizeof room->size);
    make_surfaces(f, room);
    for (int axis = 0; axis < 3; axis++) {
        room->may_change[axis][0] = room->may_change[axis][1] = NAN;
    }
    const double l = room->size[0], w = room->size[1];
    room->n_openings = i == 0 ? 3 : 1;
    room->openings = NEW(f, ebb_opening, 3);
    room->openings[0] = (ebb_opening){EBB_OPENING_DOOR, 3, {0.6, 0.0}, {0.9, 2.0}, 2};
    room->openings[1] = (ebb_opening){EBB_OPENING_WINDOW, 4, {2.2, 1.0}, {1.0, 0.9}, 2};
    room->openings[2] = (ebb_opening){EBB_OPENING_VENT, 5, {3.5, 2.2}, {0.3, 0.3}, 2};
    room->n_seats = i == 0 ? 2 : 1;
    room->seats = NEW(f, ebb_station, 2);
    room->seats[0] = (ebb_station){"lead", {0.39 * l, 0.5 * w, 1.2}, i == 2 ? 0.0 : 0.4};
    room->seats[1] = (ebb_station){"sofa", {0.72 * l, 0.5 * w, 1.1}, 0.3};
    room->n_speakers = 2;
    room->speakers = NEW(f, ebb_station, 2);
    room->speakers[0] = (ebb_station){"left", {0.7, 0.68 * w, 1.2}, 0.2};
    room->speakers[1] = (ebb_station){"right", {0.7, 0.32 * w, 1.2}, 0.2};
    room->n_placed = i == 0 ? 1 : 0;
    room->placed = NEW(f, ebb_placed, 1);
    room->placed[0] = (ebb_placed){1, 3, {2.6, 0.4}, false};
}

static void make_job(fixture *f)
{
    ebb_job *job = &f->job;
    job->arena = f->arena;
    job->file = "harbour-house.yaml";
    job->name = "Harbour house";
    job->note = "An invented old harbour house gets one music room and one voice room.";
    job->use = EBB_USE_MUSIC;
    job->lowest = 40.0;
    job->units = EBB_UNITS_METRIC;
    job->air = (ebb_air){20.0, 0.5, 101325.0, 343.4, 1.2, 1.4, 1.8e-5, 0.71};
    job->allowance = (ebb_allowance){900.0, 0.4, 0.35, 9000.0, INFINITY, 1900.0};
    job->n_constructions = 3;
    job->constructions = NEW(f, ebb_construction, 3);
    job->constructions[0].name = "board-wall";
    job->constructions[0].source = "invented for a test";
    job->constructions[1].name = "brick";
    job->constructions[1].source = "";
    job->constructions[2].name = "door";
    job->constructions[2].source = "common practice, no source";
    job->constructions[2].preset = true;
    job->n_units = 3;
    job->absorbers = NEW(f, ebb_unit, 3);
    job->absorbers[0] = (ebb_unit){.name = "deep",
                                   .face = {0.6, 1.2},
                                   .depth = 0.3,
                                   .mass = 42.0,
                                   .cost = 320.0,
                                   .piston = true,
                                   .on_walls = true};
    job->absorbers[1] = (ebb_unit){.name = "mid",
                                   .face = {0.6, 0.6},
                                   .depth = 0.2,
                                   .mass = 18.0,
                                   .cost = 150.0,
                                   .piston = true,
                                   .on_walls = true};
    job->absorbers[2] = (ebb_unit){.name = "soft",
                                   .face = {0.6, 1.2},
                                   .depth = 0.15,
                                   .mass = 9.5,
                                   .cost = 70.0,
                                   .on_walls = true,
                                   .on_ceiling = true};
    job->n_rooms = FIXTURE_ROOMS;
    job->rooms = NEW(f, ebb_room, FIXTURE_ROOMS);
    for (size_t i = 0; i < FIXTURE_ROOMS; i++) {
        make_room(f, i);
    }
}

/* The project's defaults, written out again: the table is another module's. */
static ebb_limits make_limits(void)
{
    return (ebb_limits){.response_deviation = 3.0,
                        .response_worst = 5.0,
                        .response_inside = 0.9,
                        .response_highest = 200.0,
                        .decay_factor = 1.25,
                        .decay_highest = 125.0,
                        .decay_music_32 = 0.9,
                        .decay_music_63 = 0.51,
                        .decay_music_250 = 0.12,
                        .spread = 6.0,
                        .head_offset = 0.3,
                        .voice_lowest = 80.0,
                        .voice_mic = 0.3,
                        .voice_listener = 1.1,
                        .voice_move = 0.25,
                        .speech_index = 0.6,
                        .mid_upper = 1.2,
                        .mid_lower = 0.8};
}

static void make_layout(fixture *f, const ebb_room *room, bool treated, ebb_layout *layout)
{
    static const ebb_placed LARGE[] = {
        {0, 5, {0.1, 0.1}, false}, {0, 5, {0.1, 1.35}, false}, {0, 2, {0.1, 0.1}, false},
        {0, 2, {0.1, 1.4}, true},  {1, 4, {0.2, 0.2}, false},  {1, 4, {0.2, 0.9}, false},
        {2, 1, {0.3, 0.4}, false}, {2, 1, {1.0, 0.4}, false},  {2, 1, {0.3, 1.7}, true}};
    static const ebb_placed SMALL[] = {{0, 5, {0.1, 0.1}, false}, {0, 5, {0.1, 1.4}, true},
                                       {0, 2, {0.9, 0.1}, false}, {1, 4, {0.2, 0.2}, false},
                                       {1, 4, {0.2, 0.9}, false}, {2, 1, {0.3, 0.3}, true}};
    const bool small = room->size[0] < 4.0;
    const ebb_placed *list = small ? SMALL : LARGE;
    const size_t most = small ? sizeof SMALL / sizeof *SMALL : sizeof LARGE / sizeof *LARGE;
    const size_t wanted = treated ? most : 0;
    layout->n_placed = room->n_placed + wanted;
    layout->placed = NEW(f, ebb_placed, layout->n_placed);
    memcpy(layout->placed, room->placed, room->n_placed * sizeof *room->placed);
    memcpy(layout->placed + room->n_placed, list, wanted * sizeof *list);
    for (size_t p = 0; p < layout->n_placed; p++) {
        layout->mass += f->job.absorbers[layout->placed[p].unit].mass;
        layout->cost += f->job.absorbers[layout->placed[p].unit].cost;
    }
    layout->cover = treated ? 0.31 : 0.0;
    layout->seats = NEW(f, ebb_vec3, room->n_seats);
    layout->speakers = NEW(f, ebb_vec3, room->n_speakers);
    for (size_t i = 0; i < room->n_seats; i++) {
        layout->seats[i] = room->seats[i].at;
        layout->seats[i].x += treated ? 0.15 : -0.05;
    }
    for (size_t i = 0; i < room->n_speakers; i++) {
        layout->speakers[i] = room->speakers[i].at;
        layout->speakers[i].y += i ? -0.1 : 0.1;
    }
    for (int axis = 0; axis < 3; axis++) {
        layout->size[axis] = room->size[axis] - (treated ? 0.12 : 0.0);
    }
}

/* 24 points an octave, as docs/judging.md describes the grid. */
static void make_grid(double lowest, ebb_grid *grid)
{
    const long low = lround(80.0 * log10(lowest / 1000.0)), high = lround(80.0 * log10(0.2));
    grid->lowest = lowest;
    grid->highest = 200.0;
    grid->first = 4;
    grid->n_cells = (size_t)(high - low + 1);
    grid->n_hz = grid->n_cells + 8;
    for (size_t i = 0; i < grid->n_hz; i++) {
        grid->hz[i] = 1000.0 * pow(10.0, (double)(low - 4 + (long)i) / 80.0);
    }
    grid->n_bands = 6;
    for (size_t b = 0; b < grid->n_bands; b++) {
        grid->band_hz[b] = 1000.0 * pow(10.0, (double)b / 10.0 - 1.4);
    }
}

/* Modes of the rigid box below 210 Hz with decays that fall with frequency; invented damping. */
static void make_modes(fixture *f, const ebb_room *room, double t_at_50, ebb_modes *modes)
{
    modes->mode = NEW(f, ebb_mode, 600);
    for (int i = 0; i < 600; i++) {
        const int n[3] = {i % 10, i / 10 % 10, i / 100};
        double sum = 0.0;
        for (int axis = 0; axis < 3; axis++) {
            sum += pow(n[axis] / room->size[axis], 2.0);
        }
        const double hz = 343.4 / 2.0 * sqrt(sum);
        if (hz < 20.0 || hz > 210.0) {
            continue;
        }
        const double t60 = t_at_50 * pow(50.0 / hz, 0.5) * (1.0 + 0.15 * sin(7.0 * i));
        modes->mode[modes->n++] = (ebb_mode){.hz = hz,
                                             .delta = 6.908 / t60,
                                             .t60 = t60,
                                             .q = 3.14159 * hz * t60 / 6.908,
                                             .share = 0.9,
                                             .label = {n[0], n[1], n[2]},
                                             .likeness = 0.9};
    }
    modes->arena = f->arena;
}

/* Levels that swing by `swing` dB and decays t_at_50 * (50/f)^0.5, with the reading that follows.
 */
static void make_reading(fixture *f, ebb_case *one, double swing, double t_at_50)
{
    ebb_reading *r = &one->reading;
    const ebb_grid *grid = &one->grid;
    r->n_sources = one->n_sources;
    r->n_receivers = one->n_receivers;
    r->n_paths = r->n_sources * r->n_receivers;
    r->level = NEW(f, double, r->n_paths * grid->n_cells);
    r->mean = NEW(f, double, r->n_paths);
    r->decay = NEW(f, double, r->n_paths * grid->n_bands);
    r->decay_limit = NEW(f, double, grid->n_bands);
    size_t inside = 0;
    for (size_t p = 0; p < r->n_paths; p++) {
        for (size_t c = 0; c < grid->n_cells; c++) {
            const double x = log2(grid->hz[grid->first + c] / 40.0);
            const double d = swing * (0.7 * sin(5.0 * x + 0.4 * (double)p) + 0.4 * cos(13.0 * x));
            r->level[p * grid->n_cells + c] = d;
            inside += fabs(d) <= 3.0;
            r->worst_level = fmax(r->worst_level, fabs(d));
        }
        for (size_t b = 0; b < grid->n_bands; b++) {
            r->decay_limit[b] = 0.55 * pow(50.0 / grid->band_hz[b], 0.4);
            const double t = t_at_50 * pow(50.0 / grid->band_hz[b], 0.5) * (1.0 - 0.02 * (double)p);
            r->decay[p * grid->n_bands + b] = p == 0 && b == 5 ? NAN : t;
            r->worst_decay = fmax(r->worst_decay, t / r->decay_limit[b]);
        }
    }
    r->inside = (double)inside / (double)(r->n_paths * grid->n_cells);
    r->wrong_level = 1.0 - r->inside;
    r->wrong_decay = r->worst_decay > 1.0 ? 0.7 : 0.0;
    r->wrong = fmin(1.0, r->wrong_level + 0.5 * r->wrong_decay);
    r->margin =
        fmin(r->inside / 0.9 - 1.0, fmin(1.0 - r->worst_level / 5.0, 1.0 - r->worst_decay / 1.25));
    r->right = r->margin >= 0.0;
    r->lowest_right = r->right ? grid->lowest : r->inside > 0.8 ? 63.1 : NAN;
}

static void make_mid(ebb_mid *mid, double t)
{
    static const double FALL[EBB_OCTAVES] = {1.3, 1.15, 1.0, 0.95, 0.9, 0.8};
    for (int i = 0; i < EBB_OCTAVES; i++) {
        mid->hz[i] = 125.0 * (1 << i);
        mid->t60[i] = t * FALL[i];
        mid->area[i] = 9.6 / mid->t60[i];
    }
    mid->speech_index = 1.0 / (1.0 + 0.7 * t);
    mid->schroeder = 2000.0 * sqrt(t / 60.0);
}

static ebb_fault a_fault(ebb_fault_kind kind, double hz, double value, double limit)
{
    return (ebb_fault){.kind = kind,
                       .low = hz / 1.12,
                       .high = hz * 1.12,
                       .hz = hz,
                       .value = value,
                       .limit = limit,
                       .size = value / limit,
                       .path = 0,
                       .place = "left to lead (ear left)",
                       .cause = "the first mode along the length carries too much here and the "
                                "seat stands near its end"};
}

static void make_faults(fixture *f, bool treated, ebb_use use, double how, ebb_faults *faults)
{
    faults->fault = NEW(f, ebb_fault, 12);
    faults->n = 0;
    if (!treated || how > 1.0) {
        faults->fault[faults->n++] = a_fault(EBB_FAULT_RING, 50.1, 0.55 * 3.1 * how, 0.55);
        faults->fault[0].also_rings = false;
        faults->fault[faults->n++] = a_fault(EBB_FAULT_PEAK, 63.0, 3.0 * 2.2 * how, 3.0);
        faults->fault[1].equalisable = true;
        faults->fault[1].also_rings = true;
    }
    faults->fault[faults->n++] = a_fault(EBB_FAULT_DIP, 79.0, -3.0 * 1.9 * how, -3.0);
    if (!treated) {
        faults->fault[faults->n++] = a_fault(EBB_FAULT_GAP, 100.0, -4.4, -3.0);
        faults->fault[faults->n++] = a_fault(EBB_FAULT_SPREAD, 125.0, 7.9, 6.0);
        faults->fault[faults->n++] = a_fault(EBB_FAULT_SLOW, 500.0, 0.61, 0.29);
        faults->fault[faults->n - 1].path = (size_t)-1;
        faults->fault[faults->n - 1].place = "the room";
        faults->fault[faults->n - 1].cause = "bare walls";
    }
    if (use == EBB_USE_VOICE && how > 1.0) {
        faults->fault[faults->n++] = a_fault(EBB_FAULT_SPEECH, 1000.0, 0.44, 0.6);
        faults->fault[faults->n - 1].size = 0.6 / 0.44;
        faults->fault[faults->n - 1].place = "the room";
    }
}

static void make_case(fixture *f, const ebb_answer *answer, ebb_use use, double how, ebb_case *one)
{
    static const char *const SOURCES[] = {"left", "right"};
    static const char *const HEADS[] = {"lead", "lead (left ear side)", "lead (right ear side)"};
    const bool treated = how < 1.0 || one == &answer->music.after || one == &answer->voice.after;
    make_layout(f, answer->room, treated, &one->layout);
    make_grid(use == EBB_USE_VOICE ? 80.0 : 40.0, &one->grid);
    one->n_sources = 2;
    one->n_receivers = 3;
    one->source_names = NEW(f, const char *, 2);
    one->receiver_names = NEW(f, const char *, 3);
    memcpy(one->source_names, SOURCES, sizeof SOURCES);
    memcpy(one->receiver_names, HEADS, sizeof HEADS);
    one->sources = NEW(f, ebb_vec3, 2);
    one->receivers = NEW(f, ebb_vec3, 3);
    one->h = NEW(f, double _Complex, 6 * one->grid.n_hz);
    for (size_t i = 0; i < 6 * one->grid.n_hz; i++) {
        one->h[i] = 10.0 * cexp(0.1 * (double)i * I);
    }
    one->modes = NEW(f, ebb_modes, 1);
    make_modes(f, answer->room, treated ? 0.42 * (0.4 + how) : 1.9 * how, one->modes);
    make_reading(f, one, treated ? 4.5 * how : 9.0 * how, treated ? 0.5 * (0.4 + how) : 1.9 * how);
    make_mid(&one->mid, treated ? 0.24 : 0.62);
    make_faults(f, treated, use, how, &one->faults);
}

/* how < 1: the plan works; > 1: it does not. */
static void make_treatment(fixture *f, ebb_answer *answer, ebb_use use, double how,
                           ebb_treatment *t)
{
    t->asked = true;
    t->use = use;
    make_case(f, answer, use, 1.2, &t->before);
    make_case(f, answer, use, how, &t->after);
    t->odds = (ebb_odds){64,
                         how < 0.7   ? 0.94
                         : how < 1.0 ? 0.61
                                     : 0.03,
                         t->after.reading.margin - 0.02, "one dip"};
    t->mended = 1.0 - t->after.reading.wrong / t->before.reading.wrong;
    t->mended_level = 1.0 - t->after.reading.wrong_level / t->before.reading.wrong_level;
    t->mended_decay = how < 1.0 ? 1.0 : 0.4;
    t->best_start = t->after.reading.wrong;
    t->worst_start = t->after.reading.wrong + 0.04;
    t->relaxed_run = true;
    t->relaxed_right = how < 2.0;
    t->relaxed_wrong = 0.01;
    t->stopper = how < 1.0 ? "" : "the depth of the units stops it: they take too much of the room";
}

static const char **texts(fixture *f, size_t n, const char *const *from)
{
    const char **made = NEW(f, const char *, n);
    memcpy(made, from, n * sizeof *from);
    return made;
}

static void make_answer(fixture *f, size_t i)
{
    static const char *const REASONS[FIXTURE_ROOMS][2] = {
        {"In 60 of 64 draws the kept plan leaves at least 90 % of the cells inside \u00b13 dB, "
         "none "
         "beyond 5 dB, and no decay above 1.25 times its limit.",
         "The worst decay is 0.76 times its limit."},
        {"For voice the kept plan is right in 39 of 64 draws; a dip at 79 Hz decides.",
         "For music it is right in 2 of 64 draws: a dip at 79 Hz stays beyond 5 dB."},
        {"No plan we found within the allowance comes right for music or for voice.",
         "Below 90 Hz no mode carries the sound; absorbers can not add one."}};
    static const char *const STAYS[2] = {
        "A dip of 3.8 dB at 79 Hz from left to lead stays; it comes from cancellation, so an "
        "equaliser can not fill it.",
        "Below 45 Hz the room gives more level than the mean of the band."};
    static const double HOW[FIXTURE_ROOMS][2] = {{0.6, 0.5}, {1.3, 0.8}, {2.4, 1.6}};
    static const ebb_verdict VERDICTS[FIXTURE_ROOMS] = {EBB_MUSIC, EBB_VOICE, EBB_NO};
    ebb_answer *a = &f->answer[i];
    a->arena = f->arena;
    a->job = &f->job;
    a->room = &f->job.rooms[i];
    a->limits = make_limits();
    a->verdict = VERDICTS[i];
    make_treatment(f, a, EBB_USE_MUSIC, HOW[i][0], &a->music);
    make_treatment(f, a, EBB_USE_VOICE, HOW[i][1], &a->voice);
    a->shown = i == 1 ? &a->voice : &a->music;
    a->sure = fmax(a->shown->odds.share, 1.0 - a->shown->odds.share);
    a->near_border = a->sure < 0.8;
    a->decider = a->shown->odds.decider;
    a->margin = a->shown->odds.margin_median;
    a->n_reasons = 2;
    a->reasons = texts(f, 2, REASONS[i]);
    a->n_stays = i == 0 ? 2 : 1;
    a->stays = texts(f, 2, STAYS);
    f->list[i] = a;
}

void fixture_open(fixture *f)
{
    memset(f, 0, sizeof *f);
    f->ctx = fixture_need(ebb_ctx_new());
    f->arena = fixture_need(ebb_arena_new(f->ctx));
    make_job(f);
    for (size_t i = 0; i < FIXTURE_ROOMS; i++) {
        make_answer(f, i);
    }
    f->effort = (ebb_effort){.seed = 7, .starts = 4, .draws = 64, .swaps = 20, .relaxed = true};
    f->answers = (ebb_answers){&f->job, &f->effort, FIXTURE_ROOMS, f->list};
    ebb_warn_at(f->ctx, NULL, "porous layer \"fill\" is used below the range of its model");
}

void fixture_close(fixture *f)
{
    ebb_arena_free(f->arena);
    ebb_ctx_free(f->ctx);
}

static const char *long_text(fixture *f, size_t n)
{
    char *text = NEW(f, char, n + 1);
    memset(text, 'm', n);
    return text;
}

void fixture_nasty(fixture *f)
{
    ebb_job *job = &f->job;
    job->name = FIXTURE_HOSTILE;
    job->file = "a/very/long/folder/name/that/goes/on/and/on/and/on/<b>harbour</b>-house&co.yaml";
    job->note = long_text(f, 3000);
    job->rooms[0].name = long_text(f, 300);
    job->rooms[1].name = FIXTURE_HOSTILE;
    job->rooms[2].name = "";
    job->rooms[0].seats[0].name =
        "\u5f71\u97ff\u7814\u7a76\u5ba4 \u5317\u5074 \u05e9\u05dc\u05d5\u05dd";
    job->rooms[0].seats[1].name = "tab\there\nnew line";
    job->rooms[0].speakers[0].name = long_text(f, 120);
    job->rooms[0].speakers[1].name = "broken \xff\xfe utf-8";
    job->absorbers[0].name = FIXTURE_HOSTILE;
    job->absorbers[1].name = long_text(f, 200);
    job->absorbers[2].name = "";
    job->constructions[0].source = long_text(f, 500);
    for (size_t i = 0; i < FIXTURE_ROOMS; i++) {
        f->answer[i].reasons[0] = FIXTURE_HOSTILE;
        f->answer[i].reasons[1] = long_text(f, 2000);
        f->answer[i].stays[0] = "broken \xff\xfe utf-8";
        f->answer[i].music.after.source_names[0] = FIXTURE_HOSTILE;
        f->answer[i].music.after.faults.fault[0].cause = long_text(f, 1500);
        f->answer[i].music.before.faults.fault[0].place = FIXTURE_HOSTILE;
    }
}

void fixture_bare(fixture *f)
{
    for (size_t i = 0; i < FIXTURE_ROOMS; i++) {
        ebb_answer *a = &f->answer[i];
        a->n_reasons = a->n_stays = 0;
        a->margin = NAN;
        a->decider = NULL;
        a->voice = (ebb_treatment){.use = EBB_USE_VOICE};
        a->music.before.modes = NULL;
        a->music.after = (ebb_case){0};
        a->music.mended = a->music.mended_level = NAN;
        a->music.odds = (ebb_odds){0};
        a->music.stopper = NULL;
        a->shown = i == 0 ? &a->music : NULL;
        f->job.rooms[i].n_seats = f->job.rooms[i].n_speakers = 0;
        f->job.rooms[i].n_openings = 0;
    }
    f->job.note = "";
    f->job.allowance = (ebb_allowance){INFINITY, INFINITY, INFINITY, INFINITY, INFINITY, INFINITY};
    f->job.n_units = 0;
    f->effort.draws = 0;
}
