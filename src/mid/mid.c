/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Statistical decay per octave.
 */
#include <ebb/mid.h>

#include <math.h>

#define DECAY (24 * 2.30258509299404568402) /* 60 dB of energy: T = 24 ln 10 V / (c A) */
#define POINTS 9 /* per octave where an assembly is averaged; a third octave has three */
#define HIGHEST_ALPHA 0.99

static const double octave_hz[EBB_OCTAVES] = {125, 250, 500, 1000, 2000, 4000};

/* Equal weight per part of the octave: octave bands of music and noise carry about equal energy in
 * each of its parts. */
double ebb_mid_alpha(const ebb_assembly *assembly, const double table[EBB_OCTAVES],
                     const ebb_air *air, int octave)
{
    if (table && !isnan(table[octave]))
        return table[octave];
    double sum = 0;
    for (int i = 0; i < POINTS; i++) {
        const double hz = octave_hz[octave] * exp2((i + 0.5) / POINTS - 0.5);
        const double omega = 2 * 3.14159265358979323846 * hz;
        sum += ebb_alpha_diffuse(ebb_assembly_beta(assembly, air, NULL, omega));
    }
    return sum / POINTS;
}

/* An assembly that absorbs on some area of the room. */
typedef struct absorber {
    const char *name;
    const ebb_assembly *assembly;
    const double *table;
} absorber;

/* Absorption per octave gathered over all areas. */
typedef struct gathered {
    ebb_ctx *ctx;
    const ebb_air *air;
    double *area; /* A per octave, m2 */
} gathered;

/* Layers made for the modal range may lie outside their formulas in the middle band. The user can
 * mend it with an octave table, so the warning names what lacks one. */
static void warn_range(const gathered *sum, const absorber *what, int octave)
{
    double low, high;
    const char *why;
    ebb_assembly_range(what->assembly, &low, &high, &why);
    const double from = octave_hz[octave] * sqrt(0.5), to = octave_hz[octave] * sqrt(2.0);
    if (from < low || to > high)
        ebb_warn_at(sum->ctx, NULL,
                    "%s has no octave table, and its layers are computed at %g Hz outside the "
                    "range of %s (%.0f to %.0f Hz)",
                    what->name, octave_hz[octave], why, low, high);
}

static void add(const gathered *sum, const absorber *what, double area)
{
    for (int i = 0; i < EBB_OCTAVES; i++) {
        if (isnan(what->table[i]))
            warn_range(sum, what, i);
        sum->area[i] += area * ebb_mid_alpha(what->assembly, what->table, sum->air, i);
    }
}

static absorber construction(const ebb_job *job, size_t index)
{
    const ebb_construction *found = &job->constructions[index];
    return (absorber){found->name, &found->assembly, found->alpha};
}

/* Openings of surface s; returns the area they take. */
static double add_openings(const gathered *sum, const ebb_job *job, const ebb_room *room, size_t s)
{
    double covered = 0;
    for (size_t i = 0; i < room->n_openings; i++) {
        const ebb_opening *opening = &room->openings[i];
        if (opening->surface != s)
            continue;
        const double area = opening->size[0] * opening->size[1];
        const absorber what = construction(job, opening->construction);
        add(sum, &what, area);
        covered += area;
    }
    return covered;
}

/* Units on surface s; returns the area they take. */
static double add_units(const gathered *sum, const ebb_job *job, size_t s, size_t n,
                        const ebb_placed *placed)
{
    double covered = 0;
    for (size_t i = 0; i < n; i++) {
        if (placed[i].surface != s)
            continue;
        const ebb_unit *unit = &job->absorbers[placed[i].unit];
        const absorber what = {unit->name, &unit->assembly, unit->alpha};
        const double area = unit->face[0] * unit->face[1];
        add(sum, &what, area);
        covered += area;
    }
    return covered;
}

/* Indices come from plans as well as from files, so they are not trusted here. */
static ebb_status check(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room, size_t n,
                        const ebb_placed *placed)
{
    for (size_t i = 0; i < room->n_surfaces; i++)
        if (room->surfaces[i].construction >= job->n_constructions)
            return ebb_fail(ctx, EBB_E_RANGE, "%s of room %s has no construction",
                            room->surfaces[i].name, room->name);
    for (size_t i = 0; i < room->n_openings; i++)
        if (room->openings[i].surface >= room->n_surfaces ||
            room->openings[i].construction >= job->n_constructions)
            return ebb_fail(ctx, EBB_E_RANGE,
                            "opening %zu of room %s has no surface or construction", i + 1,
                            room->name);
    for (size_t i = 0; i < n; i++)
        if (placed[i].unit >= job->n_units || placed[i].surface >= room->n_surfaces)
            return ebb_fail(ctx, EBB_E_RANGE, "placed unit %zu of room %s has no unit or surface",
                            i + 1, room->name);
    return EBB_OK;
}

/* Each surface in turn, so that what lies on it can be taken off its bare area. Overlaps of units
 * are the placing's business; here only the areas must fit. */
static ebb_status gather(const gathered *sum, const ebb_job *job, const ebb_room *room, size_t n,
                         const ebb_placed *placed)
{
    for (size_t s = 0; s < room->n_surfaces; s++) {
        const ebb_surface *surface = &room->surfaces[s];
        const double whole = ebb_surface_area(surface);
        const double covered = add_openings(sum, job, room, s) + add_units(sum, job, s, n, placed);
        if (covered > whole * (1 + 1e-9))
            return ebb_fail(sum->ctx, EBB_E_RANGE,
                            "%s of room %s has %.2f m2, but its openings and units need %.2f m2",
                            surface->name, room->name, whole, covered);
        const absorber bare = construction(job, surface->construction);
        if (whole > covered)
            add(sum, &bare, whole - covered);
    }
    return EBB_OK;
}

/* Eyring with the loss of the air. The logarithm has no value for a mean absorption of 1. */
static double eyring(const gathered *sum, const ebb_room *room, double surface, int octave)
{
    double mean = sum->area[octave] / surface;
    if (mean > HIGHEST_ALPHA) {
        ebb_warn_at(sum->ctx, NULL,
                    "room %s: mean absorption %.2f at %g Hz is above 0.99; its decay time was "
                    "computed with 0.99",
                    room->name, mean, octave_hz[octave]);
        mean = HIGHEST_ALPHA;
    }
    const double volume = ebb_room_volume(room);
    const double loss = 4 * ebb_air_loss(sum->air, octave_hz[octave]) * volume;
    return DECAY * volume / (sum->air->speed * (loss - surface * log1p(-mean)));
}

ebb_status ebb_mid_room(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room, size_t n,
                        const ebb_placed *placed, ebb_mid *mid)
{
    *mid = (ebb_mid){0};
    ebb_status status = check(ctx, job, room, n, placed);
    if (status != EBB_OK)
        return status;
    const gathered sum = {ctx, &job->air, mid->area};
    status = gather(&sum, job, room, n, placed);
    if (status != EBB_OK) {
        *mid = (ebb_mid){0};
        return status;
    }

    /* Eyring's mean is over all that bounds the air, covered or not */
    double surface = 0;
    for (size_t s = 0; s < room->n_surfaces; s++)
        surface += ebb_surface_area(&room->surfaces[s]);
    for (int i = 0; i < EBB_OCTAVES; i++) {
        mid->hz[i] = octave_hz[i];
        mid->t60[i] = eyring(&sum, room, surface, i);
    }
    mid->speech_index = ebb_speech_index(mid->t60, INFINITY);
    mid->schroeder = 2000 * sqrt((mid->t60[2] + mid->t60[3]) / 2 / ebb_room_volume(room));
    return EBB_OK;
}
