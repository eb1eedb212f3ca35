/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "unit_words.h"

#include "words.h"

#include <ebb/version.h>
#include <math.h>

const char *ebb_report_unit_trace(ebb_arena *arena, const ebb_library *library, ebb_units units)
{
    const char *file = ebb_report_clean(arena, library->file, "(no file)");
    const ebb_air *air = &library->air;
    const char *warm = ebb_report_quantity(arena, EBB_Q_TEMPERATURE, air->temperature, units);
    const char *fast = ebb_report_quantity(arena, EBB_Q_SPEED, air->speed, units);
    return file && warm && fast
               ? ebb_arena_format(arena, "Ebb %s, %s; air of %s, speed of sound %s", ebb_version(),
                                  file, warm, fast)
               : NULL;
}

/* Whole texts for each set of columns: put together from pieces they could not be translated. */
const char *ebb_report_unit_columns(bool inside, bool behind)
{
    if (inside && behind) {
        return "normal, random: coefficients at normal and random incidence, large area, locally "
               "reacting; inside: random, sound also running along inside; one unit: random, one "
               "unit alone in a wall, per face; area: the same as an area; g: Re(\u03c1c/Z), which "
               "damps a mode; behind: share of the power that leaves behind.";
    }
    if (inside) {
        return "normal, random: coefficients at normal and random incidence, large area, locally "
               "reacting; inside: random, sound also running along inside; one unit: random, one "
               "unit alone in a wall, per face; area: the same as an area; g: Re(\u03c1c/Z), which "
               "damps a mode.";
    }
    return "normal, random: coefficients at normal and random incidence, large area; one unit: "
           "random, one unit alone in a wall, per face; area: the same as an area; g: "
           "Re(\u03c1c/Z), which damps a mode.";
}

/* "from 35 to 62 Hz", with open ends where the curve does not come down. */
static const char *stretch(ebb_arena *arena, const double band[2])
{
    if (isfinite(band[0]) && isfinite(band[1])) {
        return ebb_arena_format(arena, "from %.0f to %.0f Hz", band[0], band[1]);
    }
    if (isfinite(band[0])) {
        return ebb_arena_format(arena, "from %.0f Hz up", band[0]);
    }
    if (isfinite(band[1])) {
        return ebb_arena_format(arena, "up to %.0f Hz", band[1]);
    }
    return ebb_arena_text(arena, "from 10 to 400 Hz throughout");
}

/* The peak alone would flatter; its width stands in the same breath. */
const char *ebb_report_unit_band(ebb_arena *arena, const ebb_study *study)
{
    const ebb_band *b = &study->band;
    const char *half = stretch(arena, b->half), *useful = stretch(arena, b->useful);
    const char *use = NULL;
    if (half && useful) {
        use = b->peak >= EBB_USEFUL
                  ? ebb_arena_format(arena, "Useful at all (%g or more) %s", EBB_USEFUL, useful)
                  : ebb_arena_format(arena, "Nowhere useful (%g or more)", EBB_USEFUL);
    }
    return use ? ebb_arena_format(
                     arena,
                     "Normal incidence: %.2f at most, at %.1f Hz. Half of that or more "
                     "%s. %s. Mean from %.0f to %.0f Hz: %.2f.",
                     b->peak, b->peak_hz, half, use, EBB_DEEP_LOW, EBB_DEEP_HIGH, b->mean)
               : NULL;
}

/* Metres of wavelength mean nothing to most; the share and the level coefficient do. */
const char *ebb_report_unit_budget(ebb_arena *arena, const ebb_study *study)
{
    const ebb_budget *b = &study->budget;
    if (b->unknown) {
        return ebb_arena_format(arena, "Not known: %s. Used: %.1f m.", b->unknown, b->used);
    }
    const char *mounts = b->mounts > 0.005
                             ? ebb_arena_format(arena, " The mounts hold %.0f %% of the stiffness.",
                                                100.0 * b->mounts)
                             : ebb_arena_text(arena, "");
    return mounts ? ebb_arena_format(arena,
                                     "Used %.1f m of %.1f m (%.0f %%), %.0f %% of it between %.0f "
                                     "and %.0f Hz. If all of it lay there, the coefficient would "
                                     "be %.2f throughout.%s",
                                     b->used, b->available, 100.0 * b->used / b->available,
                                     100.0 * b->deep, EBB_DEEP_LOW, EBB_DEEP_HIGH, b->flat, mounts)
                  : NULL;
}

/* The most important sentence of the command. */
const char *ebb_report_unit_closing(void)
{
    return "Calculated, not measured: nothing here was compared with a measured absorber at 30 to "
           "100 Hz. Random-incidence figures are notional in small rooms, where the field is not "
           "diffuse. docs/absorbers.md says what is calculated, from which sources, and what is "
           "not verified.";
}

/* ---- claims ---------------------------------------------------------------------------------- */

const char *ebb_report_claim_kind(ebb_figure_kind kind)
{
    switch (kind) {
    case EBB_FIGURE_NORMAL:
        return "coefficients at normal incidence";
    case EBB_FIGURE_DIFFUSE:
        return "coefficients from a reverberation room";
    case EBB_FIGURE_AREA:
        return "absorption areas of one unit";
    case EBB_FIGURE_UNSAID:
        break;
    }
    return "coefficients of unsaid kind";
}

static const char *fill_name(ebb_fill_kind fill)
{
    switch (fill) {
    case EBB_FILL_AIR:
        return "air inside";
    case EBB_FILL_WOOL:
        return "wool inside";
    case EBB_FILL_GRAINS:
        return "grains inside";
    case EBB_FILL_UNSAID:
        break;
    }
    return "fill not said";
}

/* A quantity, or that the label is silent. */
static const char *told(ebb_arena *arena, ebb_quantity_kind kind, double value, ebb_units units)
{
    return isfinite(value) ? ebb_report_quantity(arena, kind, value, units)
                           : ebb_arena_text(arena, "not said");
}

/* Where the label is silent, that is said: it is the first thing to ask for. */
const char *ebb_report_claim_head(ebb_arena *arena, const ebb_claim *claim, ebb_units units)
{
    const char *wide = told(arena, EBB_Q_LENGTH, claim->face[0], units);
    const char *high = told(arena, EBB_Q_LENGTH, claim->face[1], units);
    const char *deep = told(arena, EBB_Q_LENGTH, claim->depth, units);
    const char *mass = told(arena, EBB_Q_MASS, claim->mass, units);
    const char *front = told(arena, EBB_Q_AREA_MASS, claim->front_mass, units);
    if (!wide || !high || !deep || !mass || !front) {
        return NULL;
    }
    return ebb_arena_format(arena, "face: %s x %s; depth: %s; weight: %s; front: %s%s; %s; %s",
                            wide, high, deep, mass,
                            claim->front ? "" : "none, porous only; its mass ", front,
                            fill_name(claim->fill), ebb_report_claim_kind(claim->kind));
}

static const char *box_fill(ebb_arena *arena, const ebb_box *box, ebb_units units)
{
    const char *sigma = ebb_report_quantity(arena, EBB_Q_RESISTIVITY, box->resistivity, units);
    const char *wool =
        box->resistivity > 0.0
            ? ebb_arena_format(arena, "%s wool of %s", box->frame > 0.0 ? "limp" : "stiff", sigma)
            : ebb_arena_text(arena, "air");
    if (!sigma || !wool || !(box->grains > 0.0)) {
        return wool;
    }
    return ebb_arena_format(arena, "%s, %.0f %% of the depth grains of a favourable batch", wool,
                            100.0 * box->grains);
}

/* Enough to build it for a trial; masses first, since they decide most. */
const char *ebb_report_claim_box(ebb_arena *arena, const ebb_box *box, ebb_units units)
{
    const char *fill = box_fill(arena, box, units);
    const char *first = ebb_report_quantity(arena, EBB_Q_AREA_MASS, box->mass[0], units);
    const char *second = ebb_report_quantity(arena, EBB_Q_AREA_MASS, box->mass[1], units);
    if (!fill || !first || !second) {
        return NULL;
    }
    if (box->n_fronts == 0) {
        return ebb_arena_format(arena, "no front, cloth of %.0f Pa\u00b7s/m, %s",
                                box->resistance[0], fill);
    }
    if (box->n_fronts == 1) {
        return ebb_arena_format(arena, "one front of %s, %s", first, fill);
    }
    if (box->behind) {
        return ebb_arena_format(arena, "fronts of %s and, %.0f %% of the depth behind it, %s; %s",
                                first, 100.0 * box->gap, second, fill);
    }
    return ebb_arena_format(arena,
                            "two cells side by side, fronts of %s on %.0f %% of the face and %s on "
                            "the rest, %s",
                            first, 100.0 * box->share, second, fill);
}

/* ---- keys ------------------------------------------------------------------------------------ */

/* Keys are for programs and never change; names are for people and may. */
const char *ebb_report_figure_key(ebb_figure_kind kind)
{
    static const char *const KEYS[] = {[EBB_FIGURE_NORMAL] = "normal",
                                       [EBB_FIGURE_DIFFUSE] = "diffuse",
                                       [EBB_FIGURE_AREA] = "area",
                                       [EBB_FIGURE_UNSAID] = "unsaid"};
    return KEYS[kind];
}

const char *ebb_report_claim_key(ebb_claim_word word)
{
    static const char *const KEYS[] = {[EBB_CLAIM_POSSIBLE] = "possible",
                                       [EBB_CLAIM_ONLY_DIFFUSE] = "only_diffuse",
                                       [EBB_CLAIM_NOT_FOUND] = "not_found",
                                       [EBB_CLAIM_IMPOSSIBLE] = "impossible",
                                       [EBB_CLAIM_UNTOLD] = "untold"};
    return KEYS[word];
}

const char *ebb_report_remark_key(ebb_remark_kind kind)
{
    static const char *const KEYS[] = {
        [EBB_REMARK_RANGE] = "range", [EBB_REMARK_LEAK] = "leak",
        [EBB_REMARK_RIM] = "rim",     [EBB_REMARK_GRAINS] = "grains",
        [EBB_REMARK_WALLS] = "walls", [EBB_REMARK_CONTACT] = "contact",
        [EBB_REMARK_LOSS] = "loss",   [EBB_REMARK_RADIATION] = "radiation",
        [EBB_REMARK_MATCH] = "match", [EBB_REMARK_UNKNOWN] = "unknown"};
    return KEYS[kind];
}
