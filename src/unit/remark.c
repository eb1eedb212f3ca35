/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Warnings: where the numbers are weak, and where the box is.
 *
 * Thresholds are our choice; each sentence gives the number it was drawn from, so that the reader
 * can weigh it himself.
 */
#include "private.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { MOST_REMARKS = 24 };

#define RIM_SHARE 0.10 /* of the stiffness */
#define WALL_LOSS 0.02 /* of the mean coefficient, or this much at a resonance of the walls */
#define WALL_HZ 120.0  /* walls that resonate below are too soft */
#define TOUCH 0.003    /* m between front and fill */
#define AIR_SHARE 0.05 /* of the front's mass */
#define DAMPED 0.90    /* peak coefficient below which the match is worth a word */
#define LOSSY 0.3      /* loss factor that is no longer small */
#define OVERSPENT 1.02 /* times the depth limit: rounding apart */

/* The list while it is written. */
typedef struct writer {
    ebb_study *study;
    ebb_units units;
    ebb_remark *list;
    bool failed;
} writer;

static void add(writer *w, ebb_remark_kind kind, const char *format, ...) EBB_PRINTF(3, 4);
/* More remarks than fit would be read by nobody; the first are those about what the numbers rest
 * on. */
static void add(writer *w, ebb_remark_kind kind, const char *format, ...)
{
    char text[600];
    va_list values;
    if (w->study->n_remarks == MOST_REMARKS)
        return;
    va_start(values, format);
    vsnprintf(text, sizeof text, format, values);
    va_end(values);
    const char *kept = ebb_arena_text(w->study->arena, text);
    w->failed = w->failed || kept == NULL;
    w->list[w->study->n_remarks++] = (ebb_remark){kind, kept};
}

/* NULL for what is no box: most remarks are about boxes. */
static const ebb_cabinet *cabinet_of(const writer *w)
{
    const ebb_assembly *a = &w->study->unit->assembly;
    return a->kind == EBB_ASSEMBLY_CABINET ? a->cabinet : NULL;
}

/* The change of the mean that a slip makes; NAN when it is not in the table. */
static double mean_change(const ebb_study *study, const char *what)
{
    for (size_t i = 0; i < study->n_changes; i++)
        if (strncmp(study->change[i].what, what, strlen(what)) == 0)
            return study->change[i].mean;
    return NAN;
}

/* ---- what the numbers rest on ---------------------------------------------------------------- */

/* The table is what people quote, so its range is what the formulas are held against. */
static void on_range(writer *w)
{
    double low, high;
    const char *why = NULL;
    const ebb_spectrum *table = &w->study->table;
    ebb_assembly_range(&w->study->unit->assembly, &low, &high, &why);
    if (low > table->hz[0] || high < table->hz[table->n - 1])
        add(w, EBB_REMARK_RANGE, "%s holds from %.4g Hz to %.4g Hz; values outside are less sure",
            why != NULL ? why : "the data", low, high);
}

/* Batches differ by a factor of six in what they store. */
static void on_grains(writer *w, size_t n, const ebb_layer *layer)
{
    for (size_t i = 0; i < n; i++) {
        const ebb_origin *origin = ebb_unit_origin(w->study->unit, &layer[i]);
        if (layer[i].kind != EBB_LAYER_GRANULAR || (origin != NULL && origin->measured))
            continue;
        const double bad = mean_change(w->study, "grains of a poor"),
                     good = mean_change(w->study, "grains of a favourable");
        add(w, EBB_REMARK_GRAINS,
            "the grains%s%s were not tested: with a poor batch the mean from %.0f to %.0f Hz "
            "changes by "
            "%+.2f, with a favourable one by %+.2f. Test the batch before building",
            origin != NULL ? " of " : "", origin != NULL ? origin->name : "", EBB_DEEP_LOW,
            EBB_DEEP_HIGH, bad, good);
        return;
    }
}

/* One sentence for each place that holds grains. */
static void on_unmeasured(writer *w)
{
    const ebb_assembly *a = &w->study->unit->assembly;
    const ebb_cabinet *cabinet = cabinet_of(w);
    if (a->kind == EBB_ASSEMBLY_LAYERS)
        on_grains(w, a->n_layers, a->layers);
    for (size_t i = 0; cabinet != NULL && i < cabinet->n_cells; i++) {
        on_grains(w, cabinet->cell[i].n_between, cabinet->cell[i].between);
        on_grains(w, cabinet->cell[i].n_fill, cabinet->cell[i].fill);
    }
}

/* Constant loss factors answer before they are asked; harmless at one frequency, not in sums over
 * all of them. */
static void on_loss(writer *w)
{
    double most = 0;
    const ebb_assembly *a = &w->study->unit->assembly;
    const ebb_cabinet *cabinet = cabinet_of(w);
    for (size_t i = 0; a->kind == EBB_ASSEMBLY_LAYERS && i < a->n_layers; i++)
        most = fmax(most, a->layers[i].loss);
    for (size_t i = 0; cabinet != NULL && i < cabinet->n_cells; i++)
        for (size_t k = 0; k < cabinet->cell[i].n_fronts; k++)
            most = fmax(most, fmax(cabinet->cell[i].front[k].mount.loss,
                                   cabinet->cell[i].front[k].board.loss));
    if (most > LOSSY)
        add(w, EBB_REMARK_LOSS,
            "a loss factor of %.2g is taken as the same at all frequencies; real rubbers and foams "
            "change theirs, and no impulse response can be drawn from it",
            most);
}

/* More than the limit is no discovery but a sign of what the limit does not count. */
static void on_overspent(writer *w)
{
    const ebb_budget *b = &w->study->budget;
    if (!(b->used > OVERSPENT * b->available))
        return;
    add(w, EBB_REMARK_LOSS, "%.0f %% of the depth limit is used, more than it allows: %s",
        100 * b->used / b->available,
        ebb_unit_holds(w->study->unit, EBB_LAYER_GRANULAR)
            ? "grains take up more gas below 25 Hz than it counts, and constant loss factors and "
              "leaks are outside it too"
            : "loss factors that are the same at all frequencies are not causal, and leaks and "
              "walls that let sound past are outside it");
}

/* ---- the box --------------------------------------------------------------------------------- */

/* A planned slit is still a slit. */
static void on_leak(writer *w)
{
    const ebb_cabinet *cabinet = cabinet_of(w);
    double widest = 0;
    for (size_t i = 0; cabinet != NULL && i < cabinet->n_cells; i++)
        widest = fmax(widest, cabinet->cell[i].leak);
    if (widest <= 0)
        return;
    char width[48];
    if (w->units == EBB_UNITS_IMPERIAL)
        snprintf(width, sizeof width, "%.3f in", widest / 0.0254);
    else
        snprintf(width, sizeof width, "%.2g mm", 1000 * widest);
    add(w, EBB_REMARK_LEAK,
        "the fronts leak through a slit of %s; 0.5 mm (0.02 in) more changes the mean by %+.3f. A "
        "slit that nobody made on purpose does not stay as it is: seal it",
        width, mean_change(w->study, "0.5 mm"));
}

/* Stiffness of the mount adds to that of the cavity and gives nothing for it. */
static void on_rim(writer *w)
{
    const ebb_study *s = w->study;
    if (s->budget.mounts > RIM_SHARE)
        add(w, EBB_REMARK_RIM,
            "the mounts are stiff: they hold %.0f %% of the stiffness, and so much of the depth is "
            "lost. Twice as stiff, the mean changes by %+.3f",
            100 * s->budget.mounts, mean_change(s, "mounts twice"));
}

/* Lowest resonance of the walls, Hz; NAN when they are taken as rigid. */
static double wall_hz(const ebb_cabinet *cabinet)
{
    double lowest = NAN;
    const size_t n = 3 * cabinet->n_cells; /* back, sides, top and bottom of each cell */
    for (size_t i = 0; cabinet->wall_plate != NULL && !cabinet->rigid && i < n; i++)
        if (cabinet->wall_plate[i] != NULL && cabinet->wall_plate[i]->n > 0)
            lowest = fmin(lowest, sqrt(fmax(0, creal(cabinet->wall_plate[i]->lambda[0]))) /
                                      EBB_UNIT_TWO_PI);
    return lowest;
}

/* By what they cost, or by a resonance low enough that a little more span would bring it into the
 * band. */
static void on_walls(writer *w)
{
    const ebb_cabinet *cabinet = cabinet_of(w);
    if (cabinet == NULL)
        return;
    const double hz = wall_hz(cabinet), gain = mean_change(w->study, "if the walls");
    if (cabinet->rigid)
        add(w, EBB_REMARK_WALLS, "the walls are taken as rigid; what they give way is not known");
    else if (hz < WALL_HZ || gain > WALL_LOSS)
        add(w, EBB_REMARK_WALLS,
            "the walls are too thin or want braces: the softest resonates at %.0f Hz, and rigid "
            "ones would change the mean by %+.3f. 12 to 15 mm with one brace to a span is usually "
            "enough (computed)",
            hz, gain);
}

/* Blankets that touch a front damp and stiffen it in ways no formula here knows. */
static void on_contact(writer *w)
{
    const ebb_cabinet *cabinet = cabinet_of(w);
    for (size_t i = 0; cabinet != NULL && i < cabinet->n_cells; i++) {
        const ebb_cell *cell = &cabinet->cell[i];
        double room = ebb_cabinet_cavity(cabinet, i);
        for (size_t k = 0; k < cell->n_fill; k++)
            room -= cell->fill[k].thickness;
        if (cell->n_fill > 0 && room < TOUCH) {
            add(w, EBB_REMARK_CONTACT,
                "the fill reaches the front: it must not touch what moves. Leave about 10 mm and "
                "hold it back with netting or cloth");
            return;
        }
    }
}

/* ---- the curve ------------------------------------------------------------------------------- */

/* The bench tunes as if the room pressed evenly; alone in a wall the front carries air with it. */
static void on_radiation(writer *w)
{
    for (size_t i = 0; i < w->study->n_fronts; i++) {
        const ebb_front_view *f = &w->study->front[i];
        const double share = f->radiation / f->mass;
        if (!(share > AIR_SHARE))
            continue;
        add(w, EBB_REMARK_RADIATION,
            "the air before the face moves with the front and weighs %.0f %% of it for one unit "
            "alone, more for a group: the tuning in a room lies about %.0f %% lower. A box that "
            "stands free has less",
            100 * share, 100 * (1 - 1 / sqrt(1 + share)));
        return;
    }
}

/* Which way to turn the resistance is worth more than how far off it is. */
static void on_match(writer *w)
{
    const ebb_band *b = &w->study->band;
    if (!b->inside) {
        add(w, EBB_REMARK_MATCH,
            "there is no peak between 10 and 400 Hz: it absorbs most at %.0f Hz, the end of the "
            "range looked at",
            b->peak_hz);
        return;
    }
    if (b->peak < DAMPED)
        add(w, EBB_REMARK_MATCH,
            "%s: at its peak the resistance is %.2g times that of air (1 takes everything)",
            b->match > 1 ? "it is damped more than the air can drive" : "it is damped too little",
            b->match);
}

/* Silence would be taken for a clean bill. */
static void on_unknown(writer *w)
{
    const ebb_study *s = w->study;
    if (s->budget.unknown != NULL)
        add(w, EBB_REMARK_UNKNOWN, "depth limit not known: %s", s->budget.unknown);
    switch (s->unit->assembly.kind) {
    case EBB_ASSEMBLY_CONSTANT:
    case EBB_ASSEMBLY_TABLE:
        add(w, EBB_REMARK_UNKNOWN,
            "given by its admittance: fronts, weight of the parts and build tolerances are not "
            "known");
        break;
    case EBB_ASSEMBLY_LAYERS:
        add(w, EBB_REMARK_UNKNOWN,
            "given as layers: walls, leaks and rims of the box, and the weight of its parts, are "
            "not known; it can only be better here than it is built");
        break;
    case EBB_ASSEMBLY_CABINET:
        break;
    }
}

/* First what the numbers rest on, then the box, then the curve, then what is not known. */
ebb_status ebb_unit_remarks(ebb_ctx *ctx, ebb_study *study, ebb_units units)
{
    writer w = {.study = study, .units = units};
    w.list = EBB_NEW(study->arena, ebb_remark, MOST_REMARKS);
    if (w.list == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the study of a unit");
    study->remark = w.list;
    on_range(&w);
    on_unmeasured(&w);
    on_leak(&w);
    on_rim(&w);
    on_walls(&w);
    on_contact(&w);
    on_radiation(&w);
    on_match(&w);
    on_loss(&w);
    on_overspent(&w);
    on_unknown(&w);
    return w.failed ? ebb_fail(ctx, EBB_E_NOMEM, "no memory for the study of a unit") : EBB_OK;
}
