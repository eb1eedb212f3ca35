/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The build sheet: what is cut and bought, what is weighed, what should be read afterwards. */
#include "private.h"

#define MOST_PARTS 48
#define BAG 5.0          /* kg of grains that go into one bag; our choice */
#define BATTEN_WIDE 0.05 /* m: braces, as the weight of a cabinet counts them */
#define TWO_PI (2 * EBB_CRAFT_PI)

/* The list being written. */
typedef struct list {
    ebb_arena *arena;
    size_t n;
    ebb_craft_part *part;
    bool failed;
} list;

static void add(list *l, const char *what, const char *material, size_t count, const double size[3],
                double mass)
{
    if (count == 0 || l->n == MOST_PARTS)
        return;
    l->failed = l->failed || what == NULL;
    l->part[l->n++] = (ebb_craft_part){what, material, count, {size[0], size[1], size[2]}, mass};
}

/* A board; its weight follows. */
static void add_board(list *l, const char *what, const ebb_material *m, size_t count,
                      const double size[3])
{
    add(l, what, m->name, count, size,
        (double)count * m->board.density * size[0] * size[1] * size[2]);
}

/* Sides run through, top, bottom and back lie between them. */
static void add_cabinet(list *l, const ebb_craft_recipe *r)
{
    const double t = r->wall_thickness, w = r->face[0], h = r->face[1], d = r->depth;
    const ebb_material *m = r->wall;
    const size_t x = (size_t)r->brace[0], y = (size_t)r->brace[1];
    add_board(l, "sides", m, 2, (double[3]){h, d, t});
    add_board(l, "top and bottom", m, 2, (double[3]){w - 2 * t, d, t});
    add_board(l, "back", m, 1, (double[3]){h - 2 * t, w - 2 * t, t});
    add_board(l, "divider", m, (size_t)r->cells - 1, (double[3]){h - 2 * t, d - t, t});
    add_board(l, "brace on edge, upright on the back", m, x,
              (double[3]){h - 2 * t, BATTEN_WIDE, t});
    add_board(l, "brace on edge, on top and bottom", m, 2 * x, (double[3]){d - t, BATTEN_WIDE, t});
    add_board(l, "brace on edge, across the back", m, y, (double[3]){w - 2 * t, BATTEN_WIDE, t});
    add_board(l, "brace on edge, on the sides", m, 2 * y, (double[3]){d - t, BATTEN_WIDE, t});
}

static const char *front_name(list *l, const ebb_craft_recipe *r, const char *what, int c, int f)
{
    const char *which = r->fronts == 1 ? "" : f == 0 ? "outer " : "inner ";
    if (r->cells == 1)
        return ebb_arena_format(l->arena, "%s%s", which, what);
    return ebb_arena_format(l->arena, "%s%s, cell %d", which, what, c + 1);
}

static void add_fronts(list *l, const ebb_craft_recipe *r, int c)
{
    double side[2];
    ebb_craft_opening(r, c, side);
    const double area = side[0] * side[1], edge = 2 * (side[0] + side[1]);
    for (int f = 0; f < r->fronts; f++) {
        const ebb_craft_front *front = &r->cell[c].front[f];
        const ebb_strip *s = front->strip;
        add_board(l, front_name(l, r, "front", c, f), front->material, 1,
                  (double[3]){side[1], side[0], front->thickness});
        add(l, front_name(l, r, "weights glued on", c, f), "", front->trim > 0,
            (double[3]){0, 0, 0}, front->trim * area);
        add(l, front_name(l, r, s->pressed ? "rim, pressed" : "rim, in bending", c, f), s->name, 1,
            (double[3]){edge, s->width, s->thickness}, NAN);
    }
}

static void add_fill(list *l, const ebb_craft_recipe *r, int c)
{
    const ebb_craft_cell *cell = &r->cell[c];
    const double t = r->wall_thickness, high = r->face[1] - 2 * t;
    const double area = ebb_craft_cell_area(r, c), wide = area / high;
    const double density = r->wool ? r->wool->layer.frame_density : 0;
    const char *name = r->wool ? r->wool->name : "";
    const char *in = r->cells == 1 ? "" : c == 0 ? ", cell 1" : ", cell 2";
    add(l, ebb_arena_format(l->arena, "wool in the gap%s", in), name, cell->gap_wool > 0,
        (double[3]){high, wide, cell->gap_wool}, density * area * cell->gap_wool);
    add(l, ebb_arena_format(l->arena, "wool at the back%s", in), name, cell->wool > 0,
        (double[3]){high, wide, cell->wool}, density * area * cell->wool);
    const size_t bags = (size_t)ceil(cell->grains / BAG - 1e-9);
    const double bed = r->batch ? cell->grains / (area * r->batch->layer.grains.bed_density) : 0;
    add(l, ebb_arena_format(l->arena, "grains in bags at the back%s", in),
        r->batch ? r->batch->name : "", bags, (double[3]){high, wide, bed}, cell->grains);
}

/* ---- readings -------------------------------------------------------------------------------- */

static double speed_at(const ebb_cabinet *cabinet, const ebb_air *air, int c, int f, double hz)
{
    ebb_motion motion;
    ebb_cabinet_motion(cabinet, (size_t)c, air, NULL, TWO_PI * hz, &motion);
    return cabs(motion.velocity[f]);
}

static ebb_craft_reading read_front(const ebb_craft_pick *pick, const ebb_air *air, int c, int f)
{
    static const double at[3] = {30, 40, 50};
    const ebb_cabinet *cabinet = pick->unit.assembly.cabinet;
    const ebb_front *front = &cabinet->cell[c].front[f];
    double side[2];
    ebb_cabinet_opening(cabinet, (size_t)c, side);
    const double area = side[0] * side[1];
    const double mass = front->mass + front->board.density * front->board.thickness;
    const double stiffness = front->mount.stiffness * 2 * (side[0] + side[1]) / area;
    ebb_craft_reading r = {
        .cell = c, .front = f, .mass = mass * area, .mount_hz = sqrt(stiffness / mass) / TWO_PI};
    for (int i = 0; i < 3; i++)
        r.velocity[i] = speed_at(cabinet, air, c, f, at[i]);
    for (double hz = 10; hz <= 200; hz += 0.25) {
        const double v = speed_at(cabinet, air, c, f, hz);
        if (v > r.peak) {
            r.peak = v;
            r.peak_hz = hz;
        }
    }
    return r;
}

ebb_status ebb_craft_sheet_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_air *air,
                                ebb_craft_pick *pick)
{
    const ebb_craft_recipe *r = &pick->recipe;
    list l = {arena, 0, EBB_NEW(arena, ebb_craft_part, MOST_PARTS), false};
    ebb_craft_reading *reading = EBB_NEW(arena, ebb_craft_reading, EBB_CRAFT_CELLS * EBB_FRONTS);
    if (l.part == NULL || reading == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a build sheet");
    add_cabinet(&l, r);
    for (int c = 0; c < r->cells; c++) {
        add_fronts(&l, r, c);
        add_fill(&l, r, c);
        for (int f = 0; f < r->fronts; f++)
            reading[pick->n_readings++] = read_front(pick, air, c, f);
    }
    if (l.failed)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a build sheet");
    pick->n_parts = l.n;
    pick->part = l.part;
    pick->reading = reading;
    return EBB_OK;
}
