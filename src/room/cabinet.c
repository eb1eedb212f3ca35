/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Boxes with moving fronts. */
#include "build.h"

#include <math.h>

#define TWO_PI 6.28318530717958647692

/* ---- fronts ---------------------------------------------------------------------------------- */

/* What is not of use without a board, or without bending. */
static void refuse_board_keys(ebb_room_builder *builder, const ebb_room_record *record,
                              const char *why)
{
    ebb_room_refuse_key(builder, record, "modulus", why);
    ebb_room_refuse_key(builder, record, "poisson", why);
    ebb_room_refuse_key(builder, record, "loss", why);
}

/* A board bends unless it is said not to; a front of which only the mass is known cannot. */
static void build_panel(ebb_room_builder *builder, const ebb_room_record *record, ebb_front *front)
{
    const ebb_room_field *board = ebb_room_get(record, "board");
    front->bends = ebb_room_word(record, "bends", board->given) == 1;
    front->mass = ebb_room_number(record, "mass", 0);
    if (board->given) {
        (void)ebb_room_build_board(builder, record, "board", front->bends, &front->board);
        if (!front->bends) {
            refuse_board_keys(builder, record, "it has an effect only when the front bends");
            front->board.modulus = 0;
        }
        return;
    }
    refuse_board_keys(builder, record, "it goes with board");
    ebb_room_refuse_key(builder, record, "density", "it goes with board");
    front->board.name = "";
    if (front->bends)
        ebb_room_refuse_key(builder, record, "bends", "a front without a board cannot bend");
    if (!(front->mass > 0) && !board->meant && !ebb_room_get(record, "mass")->meant)
        ebb_room_fault(builder->reader, &record->place,
                       "a front needs a board, or a mass above 0 kg/m2");
}

/* A resonance waits until the opening is known: the stiffness follows from area and rim. */
static void build_mount(ebb_room_builder *builder, const ebb_room_record *record, ebb_mount *mount)
{
    static const char *const ways[] = {"strip", "stiffness", "resonance", NULL};
    const ebb_room_field *way = ebb_room_one_of(builder, record, ways);
    mount->stiffness = ebb_room_number(record, "stiffness", 0);
    mount->rotation = ebb_room_number(record, "rotation", 0);
    mount->loss = ebb_room_number(record, "loss", 0.1);
    if (way == NULL || way != ebb_room_get(record, "strip"))
        return;
    const ebb_strip *strip = ebb_room_strip(builder, way);
    if (strip == NULL)
        return;
    mount->stiffness = strip->pressed
                           ? ebb_mount_pressed(strip->modulus, strip->thickness, strip->width)
                           : ebb_mount_bending(strip->modulus, strip->thickness, strip->width);
    mount->loss = ebb_room_number(record, "loss", strip->loss);
    ebb_room_note_origin(builder, mount, strip->name, false);
}

/* The whole front as a stiff body on its rim: k P = w^2 m S, rim of length P around area S. */
static void tune_mount(const ebb_room_record *record, const double side[2], ebb_front *front)
{
    const ebb_room_field *resonance =
        ebb_room_get(ebb_room_get(record, "mount")->record, "resonance");
    if (!resonance->good)
        return;
    const double omega = TWO_PI * resonance->number[0];
    const double mass = front->mass + front->board.thickness * front->board.density;
    front->mount.stiffness = omega * omega * mass * side[0] * side[1] / (2 * (side[0] + side[1]));
}

static void build_fronts(ebb_room_builder *builder, const ebb_room_record *record, ebb_cell *cell)
{
    const ebb_room_field *fronts = ebb_room_get(record, "fronts");
    if (!fronts->good)
        return;
    cell->n_fronts = fronts->n;
    for (size_t i = 0; i < fronts->n; i++) {
        const ebb_room_record *front = &fronts->record[i];
        if (!ebb_room_is_whole(front))
            continue;
        build_panel(builder, front, &cell->front[i]);
        build_mount(builder, ebb_room_get(front, "mount")->record, &cell->front[i].mount);
        cell->front[i].resistance = ebb_room_number(front, "resistance", 0);
    }
}

/* ---- cells ----------------------------------------------------------------------------------- */

static void build_cell(ebb_room_builder *builder, const ebb_room_record *record,
                       const ebb_cabinet *cabinet, ebb_cell *cell)
{
    const ebb_room_field *between = ebb_room_get(record, "between");
    const ebb_room_field *fill = ebb_room_get(record, "fill");
    const ebb_room_field *leak = ebb_room_get(record, "leak");
    build_fronts(builder, record, cell);
    cell->gap = ebb_room_number(record, "gap", 0);
    if (cell->n_fronts == 2) {
        (void)ebb_room_need_key(builder, record, "gap");
    } else if (cell->n_fronts == 1) {
        ebb_room_refuse_key(builder, record, "gap", "a gap needs two fronts");
        ebb_room_refuse_key(builder, record, "between", "it needs two fronts");
    }
    if (between->good)
        (void)ebb_room_build_layers(builder, between, &cell->between, &cell->n_between);
    if (fill->good)
        (void)ebb_room_build_layers(builder, fill, &cell->fill, &cell->n_fill);
    if (leak->good && ebb_room_is_whole(leak->record)) {
        cell->leak = ebb_room_number(leak->record, "width", 0);
        cell->leak_path = ebb_room_number(leak->record, "path", cabinet->wall.thickness);
    }
}

static double thickness_of(const ebb_layer *layer, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += layer[i].thickness;
    return sum;
}

/* Does everything fit? These are slips of measure, and are told where they were written;
 * ebb_cabinet_check would only say which cell. */
static bool check_room(ebb_room_builder *builder, const ebb_room_record *record,
                       const ebb_cabinet *cabinet, size_t i)
{
    ebb_room_reader *reader = builder->reader;
    const ebb_cell *cell = &cabinet->cell[i];
    const double inside = cabinet->size[2] - cabinet->wall.thickness;
    const double cavity = ebb_cabinet_cavity(cabinet, i);
    const double between = thickness_of(cell->between, cell->n_between);
    const double fill = thickness_of(cell->fill, cell->n_fill);
    const size_t faults = reader->n_faults;
    if (between > cell->gap + 1e-6)
        ebb_room_fault(reader, &ebb_room_get(record, "between")->place,
                       "it is %.4g mm thick together, the gap is only %.4g mm", 1000 * between,
                       1000 * cell->gap);
    if (cell->gap >= inside)
        ebb_room_fault(reader, &ebb_room_get(record, "gap")->place,
                       "the gap is %.4g mm, the cabinet only %.4g mm deep inside", 1000 * cell->gap,
                       1000 * fmax(inside, 0));
    else if (!(cavity > 0))
        ebb_room_fault(reader, &ebb_room_get(record, "fronts")->place,
                       "fronts, gap and back take all of the depth of %.4g mm",
                       1000 * cabinet->size[2]);
    else if (fill > cavity + 1e-6)
        ebb_room_fault(reader, &ebb_room_get(record, "fill")->place,
                       "it is %.4g mm thick together, behind the fronts there are only %.4g mm",
                       1000 * fill, 1000 * cavity);
    return reader->n_faults == faults;
}

/* ---- the box --------------------------------------------------------------------------------- */

static void build_walls(ebb_room_builder *builder, const ebb_room_record *record,
                        ebb_cabinet *cabinet)
{
    const ebb_room_field *braces = ebb_room_get(record, "braces");
    cabinet->rigid = ebb_room_word(record, "rigid", 0) == 1;
    cabinet->built_in = ebb_room_word(record, "stands", 0) == 1;
    cabinet->rim = ebb_room_number(record, "rim", 0);
    cabinet->frame = ebb_room_number(record, "frame", 0);
    cabinet->extra = ebb_room_number(record, "extra", 0);
    cabinet->air_loss = ebb_room_number(record, "air_loss", 0.005);
    for (size_t i = 0; i < 2 && braces->good; i++)
        if (ebb_room_check_whole(builder, braces, braces->number[i]))
            cabinet->brace[i] = (int)braces->number[i];
    if (ebb_room_build_board(builder, record, "board", !cabinet->rigid, &cabinet->wall) &&
        isnan(cabinet->wall.modulus))
        cabinet->wall.modulus = 0;
}

/* Records of the cells: those of `cells`, or the unit itself as the only one. */
static const ebb_room_record *cells_of(ebb_room_builder *builder, const ebb_room_record *unit,
                                       size_t *n)
{
    static const char *const keys[] = {"fronts", "gap", "between", "fill", "leak"};
    const ebb_room_field *cells = ebb_room_get(unit, "cells");
    *n = 1;
    if (!cells->given) {
        const ebb_room_field *fronts = ebb_room_get(unit, "fronts");
        if (!fronts->given && !fronts->meant && !cells->meant)
            ebb_room_fault(builder->reader, &unit->place,
                           "a cabinet needs fronts beside it, or cells with fronts");
        return unit;
    }
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
        ebb_room_refuse_key(builder, unit, keys[i], "with cells it belongs into each cell");
    *n = cells->good ? cells->n : 0;
    return cells->record;
}

static void build_cells(ebb_room_builder *builder, const ebb_room_record *unit,
                        ebb_cabinet *cabinet)
{
    const ebb_room_record *record = cells_of(builder, unit, &cabinet->n_cells);
    cabinet->cell = EBB_KEEP(builder, ebb_cell, cabinet->n_cells);
    if (cabinet->cell == NULL)
        return;
    double sum = 0;
    for (size_t i = 0; i < cabinet->n_cells; i++) {
        ebb_cell *cell = &cabinet->cell[i];
        if (record[i].form == NULL)
            return;
        cell->share = record == unit ? 1 : ebb_room_number(&record[i], "share", NAN);
        sum += cell->share;
        build_cell(builder, &record[i], cabinet, cell);
    }
    if (cabinet->n_cells > 0 && fabs(sum - 1) > 1e-6)
        ebb_room_fault(builder->reader, &ebb_room_get(unit, "cells")->place,
                       "the shares of the cells add to %.4g %%, not to 100 %%", 100 * sum);
}

/* Mounts given by a resonance, and whether all fits; needs a box without faults. */
static bool fit_cells(ebb_room_builder *builder, const ebb_room_record *unit,
                      const ebb_cabinet *cabinet)
{
    const ebb_room_field *cells = ebb_room_get(unit, "cells");
    bool fits = true;
    for (size_t i = 0; i < cabinet->n_cells; i++) {
        const ebb_room_record *record = cells->given ? &cells->record[i] : unit;
        const ebb_room_field *fronts = ebb_room_get(record, "fronts");
        double side[2];
        ebb_cabinet_opening(cabinet, i, side);
        if (!(side[0] > 0 && side[1] > 0)) {
            ebb_room_fault(builder->reader, &ebb_room_get(unit, "cabinet")->place,
                           "boards and rims leave no opening in a face of %.4g x %.4g mm",
                           1000 * cabinet->size[0], 1000 * cabinet->size[1]);
            return false;
        }
        for (size_t k = 0; k < fronts->n; k++)
            tune_mount(&fronts->record[k], side, &cabinet->cell[i].front[k]);
        fits = check_room(builder, record, cabinet, i) && fits;
    }
    return fits;
}

/* The plates are solved only when the file has been good so far: they take longer than all the
 * reading, and a file with faults is refused in any case. */
ebb_cabinet *ebb_room_build_cabinet(ebb_room_builder *builder, const ebb_room_record *unit,
                                    const double size[3])
{
    ebb_room_reader *reader = builder->reader;
    const ebb_room_field *field = ebb_room_get(unit, "cabinet");
    const size_t faults = reader->n_faults;
    ebb_cabinet *cabinet = EBB_KEEP(builder, ebb_cabinet, 1);
    if (cabinet == NULL)
        return NULL;
    for (size_t i = 0; i < 3; i++)
        cabinet->size[i] = size[i];
    const bool whole = field->good && ebb_room_is_whole(field->record);
    if (whole)
        build_walls(builder, field->record, cabinet);
    build_cells(builder, unit, cabinet);
    if (!whole || !ebb_room_is_whole(unit) || reader->n_faults > faults ||
        reader->status != EBB_OK || !(size[0] > 0 && size[1] > 0 && size[2] > 0) ||
        !fit_cells(builder, unit, cabinet))
        return NULL;
    if (reader->n_faults > 0)
        (void)ebb_cabinet_check(reader->aside, cabinet);
    else
        (void)ebb_cabinet_prepare(reader->aside, builder->arena, 0, cabinet);
    return ebb_room_take_aside(reader, &field->place) ? NULL : cabinet;
}
