/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * craft_library.c - picked boxes as a library file.
 *
 * What they are made of is written down too, unless it is a preset: the file stands by itself. Nine
 * digits come back to what was calculated within the rounding of any board.
 */
#include "column.h"
#include "words.h"

#include <ebb/version.h>
#include <math.h>
#include <string.h>

/* Names already written in a list; designs use few things. */
enum { MOST_THINGS = 256 };

typedef struct writer {
    ebb_report_text_buffer out;
    ebb_arena *arena;
    const ebb_crafts *crafts;
    size_t n_seen;
    const char *seen[MOST_THINGS];
} writer;

/* By name: every target has a stock of its own. */
static bool is_new(writer *w, const char *name)
{
    for (size_t i = 0; i < w->n_seen; i++) {
        if (strcmp(w->seen[i], name) == 0) {
            return false;
        }
    }
    if (w->n_seen < MOST_THINGS) {
        w->seen[w->n_seen++] = name;
    }
    return true;
}

/* A double-quoted scalar: names may hold anything. */
static void quote(writer *w, const char *text)
{
    const char *clean = ebb_report_must(&w->out, ebb_report_clean(w->arena, text, ""));
    ebb_report_puts(&w->out, "\"");
    for (const char *c = clean; *c; c++) {
        if (*c == '"' || *c == '\\') {
            ebb_report_puts(&w->out, "\\");
        }
        ebb_report_put(&w->out, c, 1);
    }
    ebb_report_puts(&w->out, "\"");
}

/* ---- what boxes are made of ------------------------------------------------------------------ */

static void material(writer *w, const ebb_material *m)
{
    if (m->preset || !is_new(w, m->name)) {
        return;
    }
    ebb_report_puts(&w->out, "  ");
    quote(w, m->name);
    ebb_report_putf(&w->out,
                    ": {density: %.9g kg/m3, modulus: %.9g Pa, poisson: %.9g, loss: %.9g}\n",
                    m->board.density, m->board.modulus, m->board.poisson, m->board.loss);
}

static void wool(writer *w, const ebb_wool *x)
{
    static const char *const models[] = {"jca", "limp", "miki"};
    if (!x || x->preset || !is_new(w, x->name)) {
        return;
    }
    const ebb_layer *l = &x->layer;
    ebb_report_puts(&w->out, "  ");
    quote(w, x->name);
    ebb_report_putf(&w->out, ": {resistivity: %.9g Pa.s/m2, porosity: %.9g, tortuosity: %.9g",
                    l->resistivity, l->porosity, l->tortuosity);
    if (l->viscous_length > 0) {
        ebb_report_putf(&w->out, ", viscous_length: %.9g um", 1e6 * l->viscous_length);
    }
    if (l->thermal_length > 0) {
        ebb_report_putf(&w->out, ", thermal_length: %.9g um", 1e6 * l->thermal_length);
    }
    if (l->frame_density > 0) {
        ebb_report_putf(&w->out, ", density: %.9g kg/m3", l->frame_density);
    }
    ebb_report_putf(&w->out, ", model: %s}\n", models[l->model]);
}

static void batch(writer *w, const ebb_batch *b)
{
    if (!b || b->preset || !is_new(w, b->name)) {
        return;
    }
    const ebb_grains *g = &b->layer.grains;
    ebb_report_puts(&w->out, "  ");
    quote(w, b->name);
    ebb_report_putf(&w->out,
                    ": {grain: %.9g mm, uptake: %.9g, density: %.9g kg/m3, bed_porosity: %.9g, "
                    "pore_share: %.9g, pore_radius: %.9g um, tortuosity: %.9g, sorption: %.9g Hz",
                    1e3 * g->diameter, g->uptake, g->bed_density, g->bed_porosity, g->pore_share,
                    1e6 * g->pore_radius, g->tortuosity, g->sorption_hz);
    if (b->layer.resistivity > 0) {
        ebb_report_putf(&w->out, ", resistivity: %.9g Pa.s/m2", b->layer.resistivity);
    }
    ebb_report_putf(&w->out, ", measured: %s}\n", b->measured ? "yes" : "no");
}

static void strip(writer *w, const ebb_strip *s)
{
    if (s->preset || !is_new(w, s->name)) {
        return;
    }
    ebb_report_puts(&w->out, "  ");
    quote(w, s->name);
    ebb_report_putf(&w->out,
                    ": {width: %.9g mm, thickness: %.9g mm, modulus: %.9g Pa, works: %s, loss: "
                    "%.9g}\n",
                    1e3 * s->width, 1e3 * s->thickness, s->modulus,
                    s->pressed ? "pressed" : "bending", s->loss);
}

/* What to write of a recipe in one of the four lists. */
static void visit(writer *w, const ebb_craft_recipe *r, int list)
{
    if (list == 0) {
        material(w, r->wall);
    } else if (list == 1) {
        wool(w, r->wool);
    } else if (list == 2) {
        batch(w, r->batch);
    }
    for (int c = 0; c < r->cells; c++) {
        for (int f = 0; f < r->fronts; f++) {
            const ebb_craft_front *front = &r->cell[c].front[f];
            if (list == 0) {
                material(w, front->material);
            } else if (list == 3) {
                strip(w, front->strip);
            }
        }
    }
}

/* A list without entries is left out with its key. */
static void lists(writer *w)
{
    static const char *const keys[] = {"materials", "wools", "grains", "strips"};
    for (int list = 0; list < 4; list++) {
        const size_t before = w->out.length;
        ebb_report_putf(&w->out, "%s:\n", keys[list]);
        const size_t empty = w->out.length;
        w->n_seen = 0;
        for (size_t i = 0; i < w->crafts->n; i++) {
            for (size_t k = 0; k < w->crafts->craft[i]->n_picks; k++) {
                const ebb_craft_pick *pick = &w->crafts->craft[i]->pick[k];
                if (pick->passes) {
                    visit(w, &pick->recipe, list);
                }
            }
        }
        if (w->out.length == empty && !w->out.failed) {
            w->out.length = before;
            w->out.data[before] = '\0';
        }
    }
}

/* ---- boxes ----------------------------------------------------------------------------------- */

static void board(writer *w, const ebb_board *b)
{
    quote(w, ebb_arena_format(w->arena, "%.9g mm %s", 1e3 * b->thickness, b->name));
}

static void layers(writer *w, const ebb_craft_recipe *r, const char *key, size_t n,
                   const ebb_layer *layer, const char *indent)
{
    if (n == 0) {
        return;
    }
    ebb_report_putf(&w->out, "%s%s:\n", indent, key);
    for (size_t i = 0; i < n; i++) {
        const bool porous = layer[i].kind == EBB_LAYER_POROUS;
        ebb_report_putf(&w->out, "%s  - {%s: %.9g mm, %s: ", indent, porous ? "porous" : "granular",
                        1e3 * layer[i].thickness, porous ? "wool" : "batch");
        quote(w, porous ? r->wool->name : r->batch->name);
        ebb_report_puts(&w->out, "}\n");
    }
}

static void fronts(writer *w, const ebb_craft_recipe *r, int c, const ebb_cell *cell,
                   const char *indent)
{
    ebb_report_putf(&w->out, "%sfronts:\n", indent);
    for (size_t f = 0; f < cell->n_fronts; f++) {
        const ebb_craft_front *front = &r->cell[c].front[f];
        ebb_report_putf(&w->out, "%s  - {board: ", indent);
        board(w, &cell->front[f].board);
        if (front->trim > 0) {
            ebb_report_putf(&w->out, ", mass: %.9g kg/m2", front->trim);
        }
        ebb_report_puts(&w->out, ", mount: {strip: ");
        quote(w, front->strip->name);
        ebb_report_puts(&w->out, "}}\n");
    }
    if (cell->n_fronts > 1) {
        ebb_report_putf(&w->out, "%sgap: %.9g mm\n", indent, 1e3 * cell->gap);
    }
    layers(w, r, "between", cell->n_between, cell->between, indent);
    layers(w, r, "fill", cell->n_fill, cell->fill, indent);
}

static void cabinet(writer *w, const ebb_craft_recipe *r, const ebb_cabinet *c)
{
    ebb_report_puts(&w->out, "    cabinet:\n      {board: ");
    board(w, &c->wall);
    ebb_report_putf(&w->out,
                    ", braces: [%d, %d], rim: %.9g mm, frame: %.9g kg, extra: %.9g kg, air_loss: "
                    "%.9g}\n",
                    c->brace[0], c->brace[1], 1e3 * c->rim, c->frame, c->extra, c->air_loss);
    if (c->n_cells == 1) {
        fronts(w, r, 0, &c->cell[0], "    ");
        return;
    }
    ebb_report_puts(&w->out, "    cells:\n");
    for (size_t i = 0; i < c->n_cells; i++) {
        ebb_report_putf(&w->out, "      - share: %.9g %%\n", 100 * c->cell[i].share);
        fronts(w, r, (int)i, &c->cell[i], "        ");
    }
}

static void unit(writer *w, const ebb_craft_pick *pick)
{
    const ebb_craft_recipe *r = &pick->recipe;
    ebb_report_puts(&w->out, "  ");
    quote(w, pick->unit.name);
    ebb_report_putf(&w->out, ":\n    face: [%.9g m, %.9g m]\n    depth: %.9g mm\n", r->face[0],
                    r->face[1], 1e3 * r->depth);
    if (pick->merit.priced) {
        ebb_report_putf(&w->out, "    cost: %.9g\n", pick->merit.cost);
    }
    cabinet(w, r, pick->unit.assembly.cabinet);
}

ebb_status ebb_report_crafts_library(ebb_ctx *ctx, ebb_arena *arena, const ebb_crafts *crafts,
                                     const char **text)
{
    writer w = {.out = {.arena = arena}, .arena = arena, .crafts = crafts};
    bool some = false;
    *text = NULL;
    ebb_report_putf(&w.out, "# Designed by ebb %s.\nlibrary: ", ebb_version());
    quote(&w, ebb_arena_format(arena, "Designs for %s", crafts->library->name));
    ebb_report_puts(&w.out, "\n");
    lists(&w);
    ebb_report_puts(&w.out, "absorbers:\n");
    for (size_t i = 0; i < crafts->n; i++) {
        for (size_t k = 0; k < crafts->craft[i]->n_picks; k++) {
            if (crafts->craft[i]->pick[k].passes) {
                unit(&w, &crafts->craft[i]->pick[k]);
                some = true;
            }
        }
    }
    if (w.out.failed) {
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the library");
    }
    if (!some) {
        return ebb_fail(ctx, EBB_E_NOSOLUTION, "no box passes, so there is none to write");
    }
    *text = w.out.data;
    return EBB_OK;
}
