/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Boxes for the tests of this module. Include after samples.h.
 */
#ifndef BOXES_H
#define BOXES_H

#include <ebb/cabinet.h>

#define BOX_CELLS 3
#define BOX_LAYERS 3

/* A box with room for its parts. */
typedef struct box {
    ebb_cabinet cabinet;
    ebb_cell cell[BOX_CELLS];
    ebb_layer between[BOX_CELLS][BOX_LAYERS], fill[BOX_CELLS][BOX_LAYERS];
} box;

static const ebb_board box_ply = {"ply", 0.006, 680, 6e9, 0.3, 0.02};
static const ebb_board box_wall = {"ply", 0.015, 680, 6e9, 0.3, 0.03};

/* One cell, one front of 4 kg/m2 on a soft rim, 200 mm of wool in it; not prepared. */
static inline void plain_box(box *b)
{
    memset(b, 0, sizeof *b);
    b->fill[0][0] = (ebb_layer){.kind = EBB_LAYER_POROUS,
                                .thickness = 0.2,
                                .resistivity = 5000,
                                .porosity = 0.97,
                                .tortuosity = 1.05,
                                .frame_density = 50};
    b->cell[0] = (ebb_cell){.share = 1,
                            .n_fronts = 1,
                            .front = {{.mass = 4, .mount = {2e3, 0, 0.2}, .resistance = 30}},
                            .n_fill = 1,
                            .fill = b->fill[0]};
    b->cabinet = (ebb_cabinet){.size = {0.6, 1.2, 0.3},
                               .wall = box_wall,
                               .brace = {0, 1},
                               .rim = 0.02,
                               .frame = 3,
                               .extra = 2,
                               .air_loss = 0.005,
                               .n_cells = 1,
                               .cell = b->cell};
}

/* The same with a bending front before it, 50 mm away. */
static inline void two_front_box(box *b)
{
    plain_box(b);
    b->cell[0].n_fronts = 2;
    b->cell[0].front[1] = b->cell[0].front[0];
    b->cell[0].front[0] = (ebb_front){
        .board = box_ply, .mass = 0.5, .bends = true, .mount = {3e3, 1, 0.15}, .resistance = 10};
    b->cell[0].gap = 0.05;
}

static inline ebb_front draw_front(uint64_t *state)
{
    ebb_front front = {.mass = draw_log(state, 0.5, 20),
                       .resistance = draw(state) < 0.5 ? 0 : draw_log(state, 1, 1000),
                       .mount = {draw_log(state, 1e2, 1e6), draw_log(state, 0.01, 1e3),
                                 draw(state) < 0.2 ? 0 : draw_log(state, 1e-3, 0.5)}};
    if (draw(state) < 0.3)
        return front;
    front.board = (ebb_board){"",
                              draw_log(state, 0.002, 0.015),
                              draw_log(state, 200, 8000),
                              draw_log(state, 1e9, 2e11),
                              0.4 * draw(state),
                              draw(state) < 0.2 ? 0 : draw_log(state, 1e-3, 0.2)};
    front.bends = draw(state) < 0.7;
    return front;
}

/* Up to three layers in `depth`, sometimes filling it. */
static inline size_t draw_fill(uint64_t *state, double depth, bool grains, ebb_layer *layers)
{
    const size_t n = (size_t)((BOX_LAYERS + 1) * draw(state));
    const double part = n ? depth * (draw(state) < 0.3 ? 1 : draw(state)) / (double)n : 0;
    for (size_t i = 0; i < n; i++) {
        layers[i] = (ebb_layer){.kind = EBB_LAYER_POROUS};
        if (grains && draw(state) < 0.4) {
            layers[i].kind = EBB_LAYER_GRANULAR;
            draw_granular(state, &layers[i]);
        } else {
            draw_porous(state, &layers[i]);
        }
        layers[i].thickness = fmax(part, 1e-4);
    }
    return part < 1e-4 ? 0 : n;
}

static inline void draw_cell(uint64_t *state, box *b, size_t i, bool grains)
{
    ebb_cell *cell = &b->cell[i];
    cell->share = 1 / (double)b->cabinet.n_cells;
    cell->n_fronts = draw(state) < 0.5 ? 1 : 2;
    for (size_t k = 0; k < cell->n_fronts; k++)
        cell->front[k] = draw_front(state);
    if (cell->n_fronts == 2) {
        cell->gap = b->cabinet.size[2] * (0.05 + 0.3 * draw(state));
        cell->n_between = draw_fill(state, cell->gap, grains, b->between[i]);
        cell->between = b->between[i];
    }
    if (draw(state) < 0.5) {
        cell->leak = draw_log(state, 5e-5, 5e-3);
        cell->leak_path = draw_log(state, 2e-3, 0.05);
    }
    cell->n_fill = draw_fill(state, ebb_cabinet_cavity(&b->cabinet, i) - 1e-4, grains, b->fill[i]);
    cell->fill = b->fill[i];
}

/* A random box, not prepared. `grains`: beds of grains may be in it. */
static inline void draw_box(uint64_t *state, bool grains, box *b)
{
    memset(b, 0, sizeof *b);
    b->cabinet = (ebb_cabinet){
        .size = {draw_log(state, 0.4, 1.5), draw_log(state, 0.3, 2), draw_log(state, 0.12, 0.6)},
        .wall = {"", draw_log(state, 0.004, 0.03), draw_log(state, 300, 3000),
                 draw_log(state, 5e8, 1e11), 0.3,
                 draw(state) < 0.2 ? 0 : draw_log(state, 1e-3, 0.1)},
        .rigid = draw(state) < 0.3,
        .brace = {(int)(3 * draw(state)), (int)(3 * draw(state))},
        .built_in = draw(state) < 0.4,
        .rim = 0.02 * draw(state),
        .air_loss = draw(state) < 0.3 ? 0 : 0.01 * draw(state),
        .n_cells = 1 + (size_t)(BOX_CELLS * draw(state)),
        .cell = b->cell};
    for (size_t i = 0; i < b->cabinet.n_cells; i++)
        draw_cell(state, b, i, grains);
}

#endif
