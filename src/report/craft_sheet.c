/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * craft_sheet.c - the build sheet of a picked box.
 *
 * In the order of the work: what is cut and bought, what is weighed before it is closed, how it
 * goes together, what should be read on the finished box, what those should know who carry and hang
 * it.
 */
#include "craft_sheet.h"

#include "craft_words.h"
#include "words.h"

#include <math.h>

typedef ebb_report_craft_writer writer;

static void heading(writer *w, const char *text)
{
    ebb_report_putf(&w->out, "  %s\n", text);
}

static void item(writer *w, const char *text)
{
    ebb_report_wrap(&w->out, "  - ", ebb_report_must(&w->out, text));
}

static const char *must(writer *w, const char *text)
{
    return ebb_report_must(&w->out, text);
}

static const char *measure(writer *w, double metres)
{
    return must(w, ebb_report_measure(w->arena, metres, w->units));
}

static const char *mass(writer *w, double kg)
{
    return must(w, ebb_report_quantity(w->arena, EBB_Q_MASS, kg, w->units));
}

/* ---- parts ----------------------------------------------------------------------------------- */

/* Boards are often a fraction of a millimetre off a whole one: 12.5 mm gypsum. */
static const char *thickness(writer *w, double metres)
{
    return must(w, w->units == EBB_UNITS_METRIC
                       ? ebb_arena_format(w->arena, "%.4g mm", 1000.0 * metres)
                       : ebb_report_measure(w->arena, metres, w->units));
}

static const char *sizes(writer *w, const ebb_craft_part *p)
{
    if (!(p->size[0] > 0)) {
        return "";
    }
    return must(w, ebb_arena_format(w->arena, "%s x %s x %s", measure(w, p->size[0]),
                                    measure(w, p->size[1]), thickness(w, p->size[2])));
}

static void put(writer *w, const char *text, size_t columns, bool right)
{
    ebb_report_puts(&w->out, "  ");
    ebb_report_field(&w->out, must(w, text), columns, right);
}

static void parts(writer *w, const ebb_craft_pick *pick)
{
    heading(w, "Cut and buy (sizes finished, long x wide x thick)");
    for (size_t i = 0; i < pick->n_parts; i++) {
        const ebb_craft_part *p = &pick->part[i];
        put(w, ebb_arena_format(w->arena, "%zu", p->count), 4, true);
        put(w, p->what, 34, false);
        put(w, ebb_report_clean(w->arena, p->material, ""), 16, false);
        put(w, sizes(w, p), 27, false);
        put(w, isfinite(p->mass) ? mass(w, p->mass) : "", 8, true);
        ebb_report_puts(&w->out, "\n");
    }
    const ebb_weights *kg = &pick->weights;
    item(w, ebb_arena_format(w->arena,
                             "frames of the fronts about %s, fixings, cloth and trays about %s: "
                             "assumed; complete %s",
                             mass(w, kg->frame), mass(w, kg->extra), mass(w, kg->total)));
}

/* ---- before and after ------------------------------------------------------------------------ */

static const char *front_name(writer *w, const ebb_craft_recipe *r, const ebb_craft_reading *x)
{
    const char *which = r->fronts == 1 ? "front" : x->front == 0 ? "outer front" : "inner front";
    return r->cells == 1 ? which
                         : must(w, ebb_arena_format(w->arena, "%s of cell %d", which, x->cell + 1));
}

static void before_closing(writer *w, const ebb_craft_pick *pick)
{
    heading(w, "Weigh and measure before closing");
    for (size_t i = 0; i < pick->n_readings; i++) {
        const ebb_craft_reading *x = &pick->reading[i];
        item(w, ebb_arena_format(w->arena,
                                 "%s: %s with its weights; on its rim with the back still open it "
                                 "swings at about %.1f Hz",
                                 front_name(w, &pick->recipe, x), mass(w, x->mass), x->mount_hz));
    }
    for (int c = 0; c < pick->recipe.cells; c++) {
        const ebb_craft_cell *cell = &pick->recipe.cell[c];
        if (cell->grains > 0) {
            item(w,
                 ebb_arena_format(w->arena, "grains, cell %d: %s", c + 1, mass(w, cell->grains)));
        }
        if (pick->recipe.fronts > 1) {
            item(w, ebb_arena_format(w->arena, "free depth between the fronts: %s",
                                     measure(w, cell->gap)));
        }
    }
}

static void velocities(writer *w, const ebb_craft_pick *pick)
{
    for (size_t i = 0; i < pick->n_readings; i++) {
        const ebb_craft_reading *x = &pick->reading[i];
        item(w, ebb_arena_format(w->arena,
                                 "%s, mean velocity per pressure at the face, mm/s per Pa: %.2f at "
                                 "30 Hz, %.2f at 40 Hz, %.2f at 50 Hz; most, %.2f, at %.1f Hz",
                                 front_name(w, &pick->recipe, x), 1000 * x->velocity[0],
                                 1000 * x->velocity[1], 1000 * x->velocity[2], 1000 * x->peak,
                                 x->peak_hz));
    }
}

static void afterwards(writer *w, const ebb_craft *craft, const ebb_craft_pick *pick)
{
    heading(w, "Measure on the finished box (microphone at the face, accelerometer on each front)");
    const char *text = "";
    for (size_t i = 0; i < pick->n && text; i++) {
        text = ebb_arena_format(w->arena, "%s%s%.2f at %.4g Hz", text, i ? ", " : "",
                                pick->alpha[i], pick->hz[i]);
    }
    item(w, ebb_arena_format(w->arena,
                             "absorption at normal incidence: %s; highest, %.2f, at %.1f "
                             "Hz",
                             must(w, text), pick->peak, pick->peak_hz));
    if (isfinite(pick->resonance_hz)) {
        item(w,
             ebb_arena_format(w->arena, "resonance: face pressure and velocity in step at %.1f Hz",
                              pick->resonance_hz));
    }
    velocities(w, pick);
    if (isfinite(pick->wave)) {
        item(w, ebb_arena_format(w->arena,
                                 "in the room the peak of the mode falls by %.1f dB by the "
                                 "single-mode model, %.1f dB with all modes coupled",
                                 pick->merit.absorption, pick->wave));
    }
    item(w,
         ebb_arena_format(w->arena,
                          "the worst of %zu boxes built badly (weights, rims, wool, "
                          "leaks, batches): %s",
                          pick->n_slips, must(w, ebb_report_craft_worst(w->arena, craft, pick))));
}

/* ---- the sheet ------------------------------------------------------------------------------- */

static void list(writer *w, size_t n, const char *const *text)
{
    for (size_t i = 0; i < n; i++) {
        item(w, text[i]);
    }
}

void ebb_report_craft_sheet(writer *w, const ebb_craft *craft, const ebb_craft_pick *pick)
{
    const ebb_craft_recipe *r = &pick->recipe;
    const char *note[EBB_REPORT_CRAFT_NOTES];
    ebb_report_putf(&w->out, "\nBuild sheet: %s\n", ebb_craft_aim_name(pick->aim));
    ebb_report_wrap(&w->out, "  ",
                    must(w, ebb_arena_format(w->arena, "%s x %s, %s deep, %s, %s",
                                             measure(w, r->face[0]), measure(w, r->face[1]),
                                             measure(w, r->depth), mass(w, pick->weights.total),
                                             ebb_report_craft_layout(r->cells, r->fronts))));
    ebb_report_wrap(&w->out,
                    "  how sure: ", must(w, ebb_report_craft_sure(w->arena, pick, w->units)));
    parts(w, pick);
    before_closing(w, pick);
    heading(w, "Put together");
    list(w, ebb_report_craft_steps(pick, note), note);
    afterwards(w, craft, pick);
    heading(w, "For those who build, carry and hang it");
    list(w, ebb_report_craft_cautions(pick, note), note);
}
