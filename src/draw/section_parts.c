/* SPDX-License-Identifier: GPL-3.0-or-later */
/* section_parts.c - a unit taken apart into rectangles and words. */
#include "section.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define FRAME_DEPTH 0.02  /* m, drawn: the file gives the width of a frame alone */
#define MOUNT_WIDTH 0.008 /* m, drawn when there is no frame to tell */
#define SHEET_DEPTH 0.002 /* m, drawn for sheets without thickness */

const char *ebb_draw_measure(double metres, ebb_units units, char *text, size_t size)
{
    const double mm = 1000.0 * metres, inches = metres / 0.0254;
    if (units == EBB_UNITS_METRIC) {
        const bool whole = mm >= 9.95 || fabs(mm - round(mm)) <= 0.05;
        snprintf(text, size, whole ? "%.0f mm" : "%.1f mm", mm);
    } else if (inches >= 12.0) {
        ebb_quantity_print(EBB_Q_LENGTH, metres, units, text, size);
    } else {
        /* Boards differ by less than the tenth of an inch that rooms are told in. */
        snprintf(text, size, inches < 0.1 ? "%.3f in" : "%.2f in", inches);
    }
    return text;
}

/* ---- the list -------------------------------------------------------------------------------- */

/* Row of a text, new or known; the same thing twice is one row. Full lists lose their last rows,
 * never the drawing. */
static size_t item_of(ebb_draw_cut *s, ebb_draw_stuff stuff, const char *text)
{
    for (size_t i = 0; i < s->n_items; i++) {
        if (strcmp(s->item[i], text) == 0) {
            return i;
        }
    }
    if (s->n_items == EBB_DRAW_MOST_ITEMS) {
        return EBB_DRAW_MOST_ITEMS;
    }
    snprintf(s->item[s->n_items], EBB_DRAW_ITEM, "%s", text);
    s->stuff[s->n_items] = stuff;
    return s->n_items++;
}

/* Parts without width, as rims of a box without a frame, are none. */
static void add_part(ebb_draw_cut *s, ebb_draw_stuff stuff, const double across[2],
                     const double deep[2], size_t item)
{
    if (s->n_parts < EBB_DRAW_MOST_PARTS && across[1] > across[0]) {
        s->part[s->n_parts++] =
            (ebb_draw_part){stuff, {across[0], across[1]}, {deep[0], deep[1]}, item};
    }
}

/* Name of what a part was taken from, or what stands for it. */
static const char *name_of(const ebb_draw_cut *s, const void *part, const char *otherwise)
{
    const ebb_origin *origin = ebb_unit_origin(s->unit, part);
    return origin && origin->name ? origin->name : otherwise;
}

/* Short for the step that every description takes. */
static void quantity(const ebb_draw_cut *s, ebb_quantity_kind kind, double value, char out[48])
{
    ebb_quantity_print(kind, value, s->units, out, 48);
}

/* ---- layers ---------------------------------------------------------------------------------- */

/* What moves, what fills, what lets through: the reader needs no finer kinds. */
static ebb_draw_stuff stuff_of(ebb_layer_kind kind)
{
    switch (kind) {
    case EBB_LAYER_MASS:
    case EBB_LAYER_PANEL:
    case EBB_LAYER_LUMPED:
    case EBB_LAYER_FRONT:
        return EBB_DRAW_MOVING;
    case EBB_LAYER_POROUS:
        return EBB_DRAW_WOOL;
    case EBB_LAYER_GRANULAR:
        return EBB_DRAW_GRAINS;
    case EBB_LAYER_AIR:
        return EBB_DRAW_AIR;
    case EBB_LAYER_SCREEN:
    case EBB_LAYER_PERFORATED:
    case EBB_LAYER_SLITS:
        break;
    }
    return EBB_DRAW_SHEET;
}

/* What a fluid layer is. */
static void say_fluid(const ebb_draw_cut *s, const ebb_layer *l, char *out, size_t size)
{
    char deep[48], sigma[48], grain[48];
    ebb_draw_measure(l->thickness, s->units, deep, sizeof deep);
    if (l->kind == EBB_LAYER_POROUS) {
        quantity(s, EBB_Q_RESISTIVITY, l->resistivity, sigma);
        snprintf(out, size, "%s of %s, %s", deep, name_of(s, l, "porous fill"), sigma);
    } else if (l->kind == EBB_LAYER_GRANULAR) {
        ebb_draw_measure(l->grains.diameter, s->units, grain, sizeof grain);
        snprintf(out, size, "%s of %s, grains of %s", deep, name_of(s, l, "grains"), grain);
    } else {
        snprintf(out, size, "%s of air", deep);
    }
}

/* One line each; what a layer is called in the file comes first, what it is worth last. */
static void say_layer(const ebb_draw_cut *s, const ebb_layer *l, char *out, size_t size)
{
    char mass[48], deep[48], flow[48];
    quantity(s, EBB_Q_AREA_MASS, l->mass, mass);
    quantity(s, EBB_Q_RESISTANCE, l->resistance, flow);
    ebb_draw_measure(l->thickness, s->units, deep, sizeof deep);
    switch (l->kind) {
    case EBB_LAYER_MASS:
        snprintf(out, size, "limp mass, %s", mass);
        break;
    case EBB_LAYER_PANEL:
        snprintf(out, size, "panel of %s, %s", deep, mass);
        break;
    case EBB_LAYER_LUMPED:
        snprintf(out, size, "front on a spring, %s, resistance %s", mass, flow);
        break;
    case EBB_LAYER_FRONT:
        quantity(s, EBB_Q_AREA_MASS, l->plate->mass, mass);
        snprintf(out, size, "front on a rim, %s", mass);
        break;
    case EBB_LAYER_SCREEN:
        snprintf(out, size, "cloth or screen, %s", flow);
        break;
    case EBB_LAYER_PERFORATED:
    case EBB_LAYER_SLITS:
        snprintf(out, size, "%s of %s, %.3g %% open",
                 l->kind == EBB_LAYER_SLITS ? "slotted sheet" : "perforated sheet", deep,
                 100.0 * l->open_share);
        break;
    case EBB_LAYER_AIR:
    case EBB_LAYER_POROUS:
    case EBB_LAYER_GRANULAR:
        say_fluid(s, l, out, size);
        break;
    }
}

/* A mark on the dimension chain, unless there is one. */
static void add_step(ebb_draw_cut *s, double at)
{
    const bool known = s->n_steps > 0 && at - s->step[s->n_steps - 1] < 5e-4;
    if (!known && s->n_steps < EBB_DRAW_MOST_STEPS) {
        s->step[s->n_steps++] = at;
    }
}

/* Layers without thickness are drawn as thin as can be seen, and take no depth. */
static void layers_parts(ebb_draw_cut *s)
{
    const ebb_assembly *a = &s->unit->assembly;
    const double across[2] = {0.0, s->width};
    double at = 0.0;
    add_step(s, 0.0);
    for (size_t i = 0; i < a->n_layers; i++) {
        const ebb_layer *l = &a->layers[i];
        char text[EBB_DRAW_ITEM];
        say_layer(s, l, text, sizeof text);
        const ebb_draw_stuff stuff = stuff_of(l->kind);
        const double drawn = l->thickness > 0.0 ? l->thickness : SHEET_DEPTH;
        const double deep[2] = {at, at + drawn};
        add_part(s, stuff, across, deep, item_of(s, stuff, text));
        at += l->thickness;
        add_step(s, at);
    }
    if (s->depth - at > 5e-4) {
        char text[EBB_DRAW_ITEM], deep[48];
        const double rest[2] = {at, s->depth};
        ebb_draw_measure(s->depth - at, s->units, deep, sizeof deep);
        snprintf(text, sizeof text, "%s of the depth is not told", deep);
        add_part(s, EBB_DRAW_AIR, across, rest, item_of(s, EBB_DRAW_AIR, text));
    }
    add_step(s, s->depth);
}

/* ---- cabinets -------------------------------------------------------------------------------- */

/* A board that is not of a named material is told by its thickness alone. */
static void say_board(const ebb_draw_cut *s, const ebb_board *board, const char *what, char *out,
                      size_t size)
{
    char deep[48];
    ebb_draw_measure(board->thickness, s->units, deep, sizeof deep);
    snprintf(out, size, "%s%s%s%s", deep, board->name && board->name[0] ? " " : "",
             board->name ? board->name : "", what);
}

/* Force per movement and length of rim. */
static void say_rim(const ebb_draw_cut *s, double stiffness, char out[48])
{
    if (s->units == EBB_UNITS_IMPERIAL) {
        snprintf(out, 48, "%.3g lbf/in per inch", stiffness / 6894.757);
    } else {
        snprintf(out, 48, "%.3g kN/m per metre", stiffness / 1000.0);
    }
}

/* The whole mass, since that is what goes on the scales. */
static void say_front(const ebb_draw_cut *s, const ebb_front *front, char *out, size_t size)
{
    char board[120] = "", mass[48];
    quantity(s, EBB_Q_AREA_MASS, front->board.thickness * front->board.density + front->mass, mass);
    if (front->board.thickness > 0.0) {
        say_board(s, &front->board, ", ", board, sizeof board);
    }
    snprintf(out, size, "front: %s%s in all", board, mass);
}

/* The stiffness is told even for a named strip: names change, and it decides the tuning. */
static void say_mount(const ebb_draw_cut *s, const ebb_mount *mount, char *out, size_t size)
{
    char rim[48];
    say_rim(s, mount->stiffness, rim);
    snprintf(out, size, "rim: %s, stiffness %s", name_of(s, mount, "not named"), rim);
}

/* Frame, mounts and board of one front; `span` is the cell inside the walls. */
static void front_parts(ebb_draw_cut *s, const ebb_front *front, const double span[2], double at)
{
    const double rim = s->unit->assembly.cabinet->rim;
    const double opening[2] = {span[0] + rim, span[1] - rim};
    const double thick = fmax(front->board.thickness, SHEET_DEPTH);
    const double mount = fmin(MOUNT_WIDTH, 0.1 * (opening[1] - opening[0]));
    const double deep[2] = {at, at + thick}, frame[2] = {at, at + fmax(thick, FRAME_DEPTH)};
    char text[EBB_DRAW_ITEM];
    if (rim > 0.0) {
        const size_t item = item_of(s, EBB_DRAW_BOARD,
                                    "frame around the front (its depth is not "
                                    "given)");
        add_part(s, EBB_DRAW_BOARD, (const double[2]){span[0], opening[0]}, frame, item);
        add_part(s, EBB_DRAW_BOARD, (const double[2]){opening[1], span[1]}, frame, item);
    }
    say_front(s, front, text, sizeof text);
    add_part(s, EBB_DRAW_MOVING, (const double[2]){opening[0] + mount, opening[1] - mount}, deep,
             item_of(s, EBB_DRAW_MOVING, text));
    add_part(s, EBB_DRAW_MOUNT, (const double[2]){opening[0], opening[0] + mount}, deep,
             EBB_DRAW_MOST_ITEMS);
    say_mount(s, &front->mount, text, sizeof text);
    add_part(s, EBB_DRAW_MOUNT, (const double[2]){opening[1] - mount, opening[1]}, deep,
             item_of(s, EBB_DRAW_MOUNT, text));
}

/* Fluid layers that end at `end`, the air that is left before them; returns nothing but parts. */
static void fluid_parts(ebb_draw_cut *s, size_t n, const ebb_layer *layer, const double span[2],
                        const double room[2], bool chain)
{
    double at = room[1];
    for (size_t i = 0; i < n; i++) {
        at -= layer[i].thickness;
    }
    if (at - room[0] > 5e-4) {
        char text[EBB_DRAW_ITEM], deep[48];
        ebb_draw_measure(at - room[0], s->units, deep, sizeof deep);
        snprintf(text, sizeof text, "%s of air", deep);
        add_part(s, EBB_DRAW_AIR, span, (const double[2]){room[0], at},
                 item_of(s, EBB_DRAW_AIR, text));
        if (chain) {
            add_step(s, at);
        }
    }
    for (size_t i = 0; i < n; i++) {
        char text[EBB_DRAW_ITEM];
        say_fluid(s, &layer[i], text, sizeof text);
        const ebb_draw_stuff stuff = stuff_of(layer[i].kind);
        add_part(s, stuff, span, (const double[2]){at, at + layer[i].thickness},
                 item_of(s, stuff, text));
        at += layer[i].thickness;
        if (chain) {
            add_step(s, at);
        }
    }
}

/* A slit is far thinner than a line; it is marked where it sits, not drawn to scale. */
static void say_leak(ebb_draw_cut *s, const ebb_cell *cell, const double span[2])
{
    char text[EBB_DRAW_ITEM], slit[48];
    if (!(cell->leak > 0.0)) {
        return;
    }
    ebb_draw_measure(cell->leak, s->units, slit, sizeof slit);
    snprintf(text, sizeof text, "leak: a slit of %s around the outer front", slit);
    const double rim = s->unit->assembly.cabinet->rim;
    add_part(s, EBB_DRAW_SLIT, (const double[2]){span[0] + rim, span[0] + rim + 0.004},
             (const double[2]){0.0, 0.01}, item_of(s, EBB_DRAW_SLIT, text));
}

/* From the outer face inwards; the first cell gives the steps of the dimension chain. */
static void cell_parts(ebb_draw_cut *s, size_t index, const double span[2])
{
    const ebb_cabinet *cabinet = s->unit->assembly.cabinet;
    const ebb_cell *cell = &cabinet->cell[index];
    const bool chain = index == 0;
    const double back = cabinet->size[2] - cabinet->wall.thickness;
    const double behind = back - ebb_cabinet_cavity(cabinet, index);
    double at = 0.0;
    for (size_t k = 0; k < cell->n_fronts; k++) {
        front_parts(s, &cell->front[k], span, at);
        at += cell->front[k].board.thickness;
        if (chain) {
            add_step(s, at);
        }
        if (k + 1 < cell->n_fronts) {
            fluid_parts(s, cell->n_between, cell->between, span,
                        (const double[2]){at, at + cell->gap}, chain);
            at += cell->gap;
        }
    }
    fluid_parts(s, cell->n_fill, cell->fill, span, (const double[2]){behind, back}, chain);
    say_leak(s, cell, span);
}

/* Braces run out of the section's plane or along it, so they are told in words. */
static void say_walls(ebb_draw_cut *s, size_t *item)
{
    const ebb_cabinet *c = s->unit->assembly.cabinet;
    char text[EBB_DRAW_ITEM], board[120];
    say_board(s, &c->wall, "", board, sizeof board);
    if (c->brace[0] + c->brace[1] > 0) {
        snprintf(text, sizeof text, "walls: %s, braces: %d across the width, %d across the height",
                 board, c->brace[0], c->brace[1]);
    } else {
        snprintf(text, sizeof text, "walls: %s, no braces", board);
    }
    *item = item_of(s, EBB_DRAW_BOARD, text);
}

/* Cells from left to right, as they are listed in the file; the divider belongs to the cell before
 * it. */
static void cabinet_parts(ebb_draw_cut *s)
{
    const ebb_cabinet *c = s->unit->assembly.cabinet;
    const double t = c->wall.thickness;
    size_t walls;
    double left = t;
    add_step(s, 0.0);
    say_walls(s, &walls);
    for (size_t i = 0; i < c->n_cells; i++) {
        double opening[2];
        ebb_cabinet_opening(c, i, opening);
        const double span[2] = {left, left + opening[0] + 2.0 * c->rim};
        cell_parts(s, i, span);
        /* The divider, or the side at the end. */
        add_part(s, EBB_DRAW_BOARD, (const double[2]){span[1], span[1] + t},
                 (const double[2]){0.0, s->depth}, walls);
        left = span[1] + t;
    }
    add_part(s, EBB_DRAW_BOARD, (const double[2]){0.0, t}, (const double[2]){0.0, s->depth}, walls);
    add_part(s, EBB_DRAW_BOARD, (const double[2]){t, s->width - t},
             (const double[2]){s->depth - t, s->depth}, walls);
    add_step(s, s->depth);
}

/* A cabinet brings its own outer size; of a stack the unit's is all there is. */
bool ebb_draw_cut_make(ebb_draw_cut *section, const ebb_unit *unit, ebb_units units)
{
    *section =
        (ebb_draw_cut){.unit = unit, .units = units, .width = unit->face[0], .depth = unit->depth};
    switch (unit->assembly.kind) {
    case EBB_ASSEMBLY_CABINET:
        section->width = unit->assembly.cabinet->size[0];
        section->depth = unit->assembly.cabinet->size[2];
        cabinet_parts(section);
        return true;
    case EBB_ASSEMBLY_LAYERS:
        layers_parts(section);
        return true;
    case EBB_ASSEMBLY_CONSTANT:
    case EBB_ASSEMBLY_TABLE:
        break;
    }
    return false;
}
